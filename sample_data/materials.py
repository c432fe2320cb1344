"""The shelf of Tern Yard: its own lots of materials, what was bought, mixed and counted.

Every analysis and price here is invented. The frits are invented too: two made-up compositions of
the kind, so that every recipe of the demo can be computed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.analyses import find_material
from studiolog.journal.glazes import RecipePart
from studiolog.journal.materials import LotDraft, add_lot, add_material, change_material
from studiolog.journal.stock import StockDraft, add_stock_change, take_from_stock
from studiolog.records.glazes import Bucket

HARBOUR, INLAND = "Harbour pottery supplies", "The clay works inland"
_DATA_SHEET = "data sheet of the supplier"

_FRITS: dict[str, LotDraft] = {
    "Frit, boron": LotDraft(
        label="first sack", dated=date(2025, 10, 6), source=_DATA_SHEET,
        oxides={"SiO2": 50.2, "B2O3": 21.6, "CaO": 12.4, "Na2O": 9.7, "Al2O3": 5.1, "K2O": 0.6},
        loi_percent=0.4, price_per_kg=Decimal("3.60"),
    ),
    "Frit, calcium borate": LotDraft(
        label="first sack", dated=date(2025, 10, 6), source=_DATA_SHEET,
        oxides={"SiO2": 37.4, "B2O3": 30.8, "CaO": 24.6, "Al2O3": 6.3, "Na2O": 0.5},
        loi_percent=0.3, price_per_kg=Decimal("4.10"),
    ),
}  # fmt: skip

_SPRING: dict[str, LotDraft] = {
    "Potash feldspar": LotDraft(
        label="spring 2026", dated=date(2026, 4, 14), source=f"{_DATA_SHEET}, batch 0417",
        oxides={"SiO2": 66.3, "Al2O3": 18.3, "K2O": 11.2, "Na2O": 2.8, "CaO": 0.4, "Fe2O3": 0.12},
        loi_percent=0.5, price_per_kg=Decimal("1.24"),
    ),
    # A sheet as they come: it gives no loss on ignition, and says so by leaving the line out.
    "Nepheline syenite": LotDraft(
        label="spring 2026", dated=date(2026, 4, 14), source=_DATA_SHEET,
        oxides={"SiO2": 60.4, "Al2O3": 23.5, "Na2O": 10.1, "K2O": 4.6, "CaO": 0.4, "Fe2O3": 0.1},
        price_per_kg=Decimal("1.52"),
    ),
    "Kaolin": LotDraft(
        label="spring 2026", dated=date(2026, 4, 14), source=f"{_DATA_SHEET}, batch 0402",
        oxides={"SiO2": 47.1, "Al2O3": 37.4, "K2O": 1.1, "Fe2O3": 0.6, "MgO": 0.2, "TiO2": 0.1},
        loi_percent=12.9, price_per_kg=Decimal("1.08"),
    ),
}  # fmt: skip

# Low mark in grams, where it is bought, and each purchase: day, kilograms, paid.
_BOUGHT: dict[str, tuple[float, str, tuple[tuple[date, float, str], ...]]] = {
    "Silica": (5000, HARBOUR, (
        (date(2025, 10, 6), 25, "21.25"), (date(2026, 4, 14), 25, "22.00"))),
    "Nepheline syenite": (4000, HARBOUR, (
        (date(2025, 10, 6), 15, "22.50"), (date(2026, 4, 14), 10, "15.20"))),
    "Kaolin": (5000, INLAND, (
        (date(2025, 10, 13), 10, "10.40"), (date(2026, 4, 14), 10, "10.80"))),
    "Whiting": (4000, HARBOUR, ((date(2025, 10, 6), 25, "18.75"),)),
    "Potash feldspar": (4000, HARBOUR, (
        (date(2025, 10, 6), 10, "14.50"), (date(2026, 4, 14), 10, "12.40"))),
    "Soda feldspar": (3000, HARBOUR, ((date(2025, 10, 6), 15, "22.50"),)),
    "Frit, boron": (2000, HARBOUR, ((date(2025, 10, 6), 10, "36.00"),)),
    "Frit, calcium borate": (2000, HARBOUR, ((date(2025, 10, 6), 6, "24.60"),)),
    "Talc": (1000, INLAND, ((date(2025, 10, 13), 5, "7.25"),)),
    "Red iron oxide": (500, HARBOUR, ((date(2025, 10, 6), 5, "21.00"),)),
    "Zinc oxide": (800, HARBOUR, ((date(2025, 10, 6), 5, "34.00"),)),
    "Rutile": (500, HARBOUR, ((date(2025, 10, 6), 3, "25.50"),)),
    "Dolomite": (1000, INLAND, ((date(2025, 10, 13), 5, "4.50"),)),
    "Bone ash": (500, HARBOUR, ((date(2025, 10, 6), 3, "19.50"),)),
    "Zirconium silicate": (500, HARBOUR, ((date(2025, 10, 6), 2, "17.00"),)),
    "Bentonite": (300, INLAND, ((date(2025, 10, 13), 2, "3.20"),)),
    "Copper carbonate": (200, HARBOUR, ((date(2025, 10, 6), 1, "29.00"),)),
    "Cobalt carbonate": (100, HARBOUR, ((date(2025, 10, 6), 0.5, "38.00"),)),
}  # fmt: skip

_COUNTED: Mapping[str, float] = {"Silica": 23_600, "Whiting": 8_900, "Talc": 1_250}
"""Counted on the last day of October; the sacks say a little else than the sum does."""

_WORDS: Mapping[str, str] = {
    "Bone ash": "Goes lumpy in the bucket: sieve it in last.",
    "Nepheline syenite": "Settles hard if the bucket stands for a month.",
}


def enter_frits(session: Session) -> None:
    """The frits with their analyses, before the recipes that need them."""
    for name, draft in _FRITS.items():
        add_lot(session, add_material(session, name), draft)


def keep_shelf(
    session: Session,
    recipes: Mapping[str, Sequence[RecipePart]],
    buckets: Mapping[str, Sequence[int]],
) -> None:
    """Newer lots that no recipe has yet, purchases, every mix of the year, and a count."""
    for name, draft in _SPRING.items():
        add_lot(session, _material(session, name), draft)
    for name, (low_g, seller, purchases) in _BOUGHT.items():
        material = _material(session, name)
        change_material(session, material, low_g=low_g, bought_from=seller)
        for day, kilograms, paid in purchases:
            bought = StockDraft(kind="bought", grams=kilograms * 1000, on=day, paid=Decimal(paid))
            add_stock_change(session, material, bought)
    for name, words in _WORDS.items():
        change_material(session, _material(session, name), notes=words)
    for glaze, recipe in recipes.items():
        whole = sum(part.parts for part in recipe)
        rows = session.scalars(select(Bucket).where(Bucket.id.in_(buckets[glaze])))
        for bucket in sorted(rows, key=lambda one: one.mixed_on):
            assert bucket.dry_g is not None
            grams = {part.material: round(bucket.dry_g * part.parts / whole, 1) for part in recipe}
            take_from_stock(session, grams, bucket.mixed_on, bucket_id=bucket.id)
    for name, grams in _COUNTED.items():
        counted = StockDraft(kind="counted", grams=grams, on=date(2026, 10, 31))
        add_stock_change(session, _material(session, name), counted)


def _material(session: Session, name: str) -> int:
    found = find_material(session, name)
    return found.id if found is not None else add_material(session, name)
