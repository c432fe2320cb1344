"""What stands on the shelf: what was last counted, and what came and went since.

Nothing is known before a material was first bought or counted: what was used until then came from a
bag nobody wrote down, and is kept without making the stock less than nothing.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import isfinite
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.materials import find_shipped, fold_name
from studiolog.craft.words import STOCK_CHANGES
from studiolog.journal.analyses import add_shipped, find_material, lot_in_force
from studiolog.journal.writing import add, change, clean_name, get, remove
from studiolog.problems import UserProblem
from studiolog.records.materials import Material, MaterialLot, StockChange

_MOST_G = 100_000_000.0
_COMES = ("bought", "counted")


@dataclass(frozen=True)
class StockLine:
    """The stock of a material. ``grams`` None: never bought or counted, so nobody knows.

    ``price_per_kg`` is what was last paid or what the newest priced lot says, whichever is later.
    """

    material_id: int
    name: str
    grams: float | None
    low_g: float | None
    price_per_kg: Decimal | None
    archived: bool = False

    @property
    def is_low(self) -> bool:
        """At its low mark or under it."""
        return self.grams is not None and self.low_g is not None and self.grams <= self.low_g

    def cost(self, grams: float) -> Decimal | None:
        """What so many grams of it cost; None without a price."""
        if self.price_per_kg is None:
            return None
        return self.price_per_kg * Decimal(str(grams)) / 1000


@dataclass(frozen=True, kw_only=True)
class StockDraft:
    """Material that came or went, as it is entered: ``grams`` without a sign.

    ``paid`` is the price of all of it, for what was bought.
    """

    kind: str
    grams: float
    on: date
    paid: Decimal | None = None
    note: str = ""


def add_stock_change(session: Session, material_id: int, draft: StockDraft) -> int:
    """Enter what came, went or was counted; returns its id. Raises `UserProblem`."""
    get(session, Material, material_id)
    return add(session, StockChange(material_id=material_id, **_fields(draft)))


def change_stock_change(
    session: Session, change_id: int, version: int | None, draft: StockDraft
) -> None:
    """Correct a row of the ledger. Raises `UserProblem`, also for one that came of a bucket."""
    _refuse_elsewhere(session, change_id)
    change(session, StockChange, change_id, version, **_fields(draft))


def delete_stock_change(session: Session, change_id: int) -> None:
    """Take a row out of the ledger. Raises `UserProblem` for one that came of a bucket."""
    _refuse_elsewhere(session, change_id)
    remove(session, get(session, StockChange, change_id))


def _refuse_elsewhere(session: Session, change_id: int) -> None:
    row = get(session, StockChange, change_id)
    if row.bucket_id is not None or row.plan_id is not None:
        what = "mixing of a bucket" if row.bucket_id is not None else "weighing for a test plan"
        if row.bucket_change_id is not None:
            what = "history of a bucket"
        raise UserProblem(
            f"This line came of the {what} and stays with it. If the shelf says otherwise, "
            "enter what you counted."
        )


def _fields(draft: StockDraft) -> dict[str, Any]:
    if draft.kind not in STOCK_CHANGES:
        known = ", ".join(STOCK_CHANGES.values())
        raise UserProblem(f"“{draft.kind}” is nothing that happens to stock; it is {known}.")
    least = 0.0 if draft.kind == "counted" else 1e-6
    if not (isfinite(draft.grams) and least <= draft.grams <= _MOST_G):
        what = "0 or more" if draft.kind == "counted" else "more than 0"
        raise UserProblem(f"Grams {STOCK_CHANGES[draft.kind]} must be {what}.")
    if draft.paid is not None and draft.kind != "bought":
        raise UserProblem("A price is paid only for what was bought.")
    if draft.paid is not None and not (draft.paid.is_finite() and draft.paid >= 0):
        raise UserProblem("What was paid must be 0 or more.")
    signed = draft.grams if draft.kind in _COMES else -draft.grams
    return {
        "kind": draft.kind,
        "grams": signed,
        "changed_on": draft.on,
        "paid": draft.paid,
        "note": draft.note,
    }


def take_from_stock(
    session: Session,
    grams_of: Mapping[str, float],
    on: date,
    *,
    bucket_id: int | None = None,
    bucket_change_id: int | None = None,
    plan_id: int | None = None,
    kind: str = "mixed",
    note: str = "",
) -> tuple[int, ...]:
    """Take what was weighed off the shelf; returns the ids of the rows written.

    ``grams_of``: material -> grams. One the journal does not have yet is entered. Raises
    `UserProblem` for grams less than 0 or a kind that does not take away.
    """
    if kind in _COMES or kind not in STOCK_CHANGES:
        raise ValueError(f"{kind!r} takes nothing from the stock")
    written = []
    for name, grams in grams_of.items():
        if not (isfinite(grams) and 0.0 <= grams <= _MOST_G):
            raise UserProblem(f"{name}: grams taken from the shelf must be 0 or more.")
        if grams == 0.0:
            continue
        change_row = StockChange(
            material_id=_material_for(session, name),
            changed_on=on,
            kind=kind,
            grams=-grams,
            bucket_id=bucket_id,
            bucket_change_id=bucket_change_id,
            plan_id=plan_id,
            note=note,
        )
        written.append(add(session, change_row))
    return tuple(written)


def _material_for(session: Session, name: str) -> int:
    found = find_material(session, name)
    if found is not None:
        return found.id
    kept = clean_name(name, noun="material")
    shipped = find_shipped(kept)
    if shipped is None:
        return add(session, Material(name=kept))
    material_id = add_shipped(session, kept, shipped)
    lot_in_force(session, kept)
    return material_id


def read_stock(session: Session) -> dict[str, StockLine]:
    """The stock of every material of the journal, by its name, in order of names."""
    changes: dict[int, list[StockChange]] = defaultdict(list)
    for row in session.scalars(
        select(StockChange).order_by(StockChange.changed_on, StockChange.id)
    ):
        changes[row.material_id].append(row)
    lots: dict[int, list[MaterialLot]] = defaultdict(list)
    for lot in session.scalars(select(MaterialLot).where(MaterialLot.price_per_kg.is_not(None))):
        lots[lot.material_id].append(lot)
    materials = session.scalars(select(Material)).all()
    left = {material_id: running_stock(rows)[-1] for material_id, rows in changes.items()}
    return {
        one.name: StockLine(
            one.id,
            one.name,
            left.get(one.id),
            one.low_g,
            price_of(changes[one.id], lots[one.id]),
            one.archived,
        )
        for one in sorted(materials, key=lambda one: (one.name.casefold(), one.id))
    }


def find_stock(stock: Mapping[str, StockLine], name: str) -> StockLine | None:
    """The stock of a material as a recipe names it, whatever its case."""
    if name in stock:
        return stock[name]
    wanted = fold_name(name)
    return next((line for one, line in stock.items() if fold_name(one) == wanted), None)


def running_stock(changes: Sequence[StockChange]) -> list[float | None]:
    """What was left after each row of a ledger in order of days.

    A count says what there is, the others add to it; None before anything was bought or counted.
    """
    left: float | None = None
    found = []
    for row in changes:
        if row.kind == "counted" or (left is None and row.kind == "bought"):
            left = row.grams
        elif left is not None:
            left = round(left + row.grams, 6)  # sums of tenths of a gram end in tenths
        found.append(left)
    return found


def price_of(changes: Sequence[StockChange], lots: Sequence[MaterialLot]) -> Decimal | None:
    """The price of a kilogram: what was last paid, or the newest priced lot if that is later."""
    paid = [
        (row.changed_on, 1, row.id, row.paid * 1000 / Decimal(str(row.grams)))
        for row in changes
        if row.kind == "bought" and row.paid is not None and row.grams > 0
    ]
    listed = [
        (lot.dated or date.min, 0, lot.id, lot.price_per_kg)
        for lot in lots
        if lot.price_per_kg is not None
    ]
    newest = max(paid + listed, key=lambda one: one[:3], default=None)
    return None if newest is None else newest[3]
