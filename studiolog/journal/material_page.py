"""The page of a material: its lots and what is computed with them, its stock, its usual cautions.

A material that ships and is not on the shelf has a page too, with its analysis alone.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.cautions import Caution, find_cautions
from studiolog.craft.glaze.materials import (
    Analysis,
    ShippedMaterial,
    check_analysis,
    find_shipped,
    shipped_materials,
)
from studiolog.journal.analyses import lot_words, newest_first, read_lot_analyses
from studiolog.journal.glazes import title_of
from studiolog.journal.letters import reads_as
from studiolog.journal.limits import read_limits
from studiolog.journal.materials import fixed_glazes, ships_with_program
from studiolog.journal.stock import StockLine, price_of, running_stock
from studiolog.journal.studio import read_currency
from studiolog.records.glazes import Bucket, Glaze, RecipeLine
from studiolog.records.materials import Material, MaterialLot, StockChange
from studiolog.records.plans import TestPlan


@dataclass(frozen=True)
class LotUse:
    """A recipe computed with a lot. ``fixed``: pieces or plans go by it, so it stays as it is."""

    glaze_id: int
    title: str
    fixed: bool
    archived: bool


@dataclass(frozen=True)
class LotPage:
    """One lot. ``told`` is what to know of its figures; ``ships`` that it is not the potter's.

    ``like_before`` names the lot before it whose figures it still has, empty if it has its own.
    """

    lot_id: int
    version: int
    words: str
    label: str
    dated: date | None
    source: str
    price_per_kg: Decimal | None
    notes: str
    analysis: Analysis
    told: tuple[str, ...]
    ships: bool
    in_force: bool
    like_before: str
    uses: tuple[LotUse, ...]

    @property
    def is_fixed(self) -> bool:
        """Whether its figures stay: it ships, or pieces carry a glaze computed with it."""
        return self.ships or any(use.fixed for use in self.uses)


@dataclass(frozen=True)
class LedgerLine:
    """Material that came or went, with what was left after it. ``for_what`` names a bucket."""

    change_id: int
    version: int
    on: date
    kind: str
    grams: float
    paid: Decimal | None
    note: str
    left_g: float | None
    for_what: str
    glaze_id: int | None
    plan_id: int | None


@dataclass(frozen=True)
class MaterialPage:
    """Everything of one material. ``material_id`` 0: it ships and is not on the shelf.

    ``loose`` are recipes without a lot, which the program computes with ``loose_with``.
    """

    material_id: int
    version: int
    name: str
    archived: bool
    shipped: ShippedMaterial | None
    solid_density: float | None
    low_g: float | None
    hazards: str
    bought_from: str
    notes: str
    lots: tuple[LotPage, ...]
    loose: tuple[LotUse, ...]
    stock: StockLine
    ledger: tuple[LedgerLine, ...]
    cautions: tuple[Caution, ...]
    currency: str = ""

    @property
    def on_shelf(self) -> bool:
        return self.material_id > 0


def shipped_ident(place: int) -> int:
    """The id under which a list shows the shipped material at a place of the table."""
    return -1 - place


def read_material_page(session: Session, ident: int) -> MaterialPage | None:
    """The page of a material, or of a shipped one by its `shipped_ident`; None if it is gone."""
    if ident < 0:
        return _shipped_page(session, -1 - ident)
    material = session.get(Material, ident)
    if material is None:
        return None
    changes = list(
        session.scalars(
            select(StockChange)
            .where(StockChange.material_id == ident)
            .order_by(StockChange.changed_on, StockChange.id)
        )
    )
    lots = list(session.scalars(select(MaterialLot).where(MaterialLot.material_id == ident)))
    left = running_stock(changes)
    stock = StockLine(
        material.id,
        material.name,
        left[-1] if left else None,
        material.low_g,
        price_of(changes, lots),
        material.archived,
    )
    shipped = find_shipped(material.shipped or material.name)
    pages = _lots(session, lots)
    known = {material.name: pages[0].analysis.percents} if pages else {}
    return MaterialPage(
        material.id,
        material.version,
        material.name,
        material.archived,
        shipped,
        material.solid_density,
        material.low_g,
        material.hazards,
        material.bought_from,
        material.notes,
        pages,
        _loose(session, material.name),
        stock,
        _ledger(session, changes, left),
        find_cautions(filter(None, (material.name, material.shipped)), known),
        read_currency(session),
    )


def _shipped_page(session: Session, place: int) -> MaterialPage | None:
    if place >= len(shipped_materials()):
        return None
    shipped = shipped_materials()[place]
    if session.scalar(select(func.count()).where(Material.shipped == shipped.name)):
        return None
    lots: tuple[LotPage, ...] = ()
    if shipped.analysis.is_given:
        told = check_analysis(shipped.analysis, read_limits(session))
        lot = LotPage(
            0, 0, "", "", None, "", None, shipped.note, shipped.analysis, told, True, False, "", ()
        )
        lots = (lot,)
    return MaterialPage(
        0,
        0,
        shipped.name,
        False,
        shipped,
        shipped.solid_density,
        None,
        "",
        "",
        "",
        lots,
        (),
        StockLine(0, shipped.name, None, None, None),
        (),
        find_cautions((shipped.name, *shipped.also), {shipped.name: shipped.analysis.percents}),
    )


def _lots(session: Session, lots: list[MaterialLot]) -> tuple[LotPage, ...]:
    ordered = newest_first(lots)
    analyses = read_lot_analyses(session, [lot.id for lot in ordered])
    uses = _uses(session, [lot.id for lot in ordered])
    limits = read_limits(session)
    pages = []
    for place, lot in enumerate(ordered):
        analysis = analyses[lot.id]
        before = ordered[place + 1] if place + 1 < len(ordered) else None
        like = ""
        if before is not None and analyses[before.id].percents == analysis.percents:
            like = lot_words(before.label, before.dated) or "what ships with the program"
        pages.append(
            LotPage(
                lot.id,
                lot.version,
                lot_words(lot.label, lot.dated),
                lot.label,
                lot.dated,
                lot.source,
                lot.price_per_kg,
                lot.notes,
                analysis,
                check_analysis(analysis, limits),
                ships_with_program(lot.basis, lot.dated),
                place == 0,
                like,
                tuple(uses[lot.id]),
            )
        )
    return tuple(pages)


def _uses(session: Session, lot_ids: list[int]) -> dict[int, list[LotUse]]:
    found: dict[int, list[LotUse]] = defaultdict(list)
    rows = session.execute(
        select(RecipeLine.lot_id, Glaze)
        .join(Glaze, Glaze.id == RecipeLine.glaze_id)
        .where(RecipeLine.lot_id.in_(lot_ids), Glaze.trial.is_(False))
        .distinct()
        .order_by(Glaze.name, Glaze.version_number)
    ).all()
    fixed = fixed_glazes(session, [glaze.id for _, glaze in rows])
    for lot_id, glaze in rows:
        if lot_id is not None:
            found[lot_id].append(_use(glaze, fixed))
    return found


def _loose(session: Session, name: str) -> tuple[LotUse, ...]:
    rows = session.scalars(
        select(Glaze)
        .join(RecipeLine, RecipeLine.glaze_id == Glaze.id)
        .where(
            reads_as(RecipeLine.material, name),
            RecipeLine.lot_id.is_(None),
            Glaze.trial.is_(False),
        )
        .distinct()
        .order_by(Glaze.name, Glaze.version_number)
    ).all()
    fixed = fixed_glazes(session, [glaze.id for glaze in rows])
    return tuple(_use(glaze, fixed) for glaze in rows)


def _use(glaze: Glaze, fixed: set[int]) -> LotUse:
    title = title_of(glaze.name, glaze.version_number)
    return LotUse(glaze.id, title, glaze.id in fixed, glaze.archived)


def _ledger(
    session: Session, changes: list[StockChange], left: list[float | None]
) -> tuple[LedgerLine, ...]:
    buckets = {
        row.id: row
        for row in session.execute(
            select(Bucket.id, Bucket.mixed_on, Glaze.id.label("glaze_id"), Glaze.name)
            .add_columns(Glaze.version_number)
            .join(Glaze, Glaze.id == Bucket.glaze_id)
            .where(Bucket.id.in_({one.bucket_id for one in changes} - {None}))
        )
    }
    plans = {
        row.id: row.name
        for row in session.execute(
            select(TestPlan.id, TestPlan.name).where(
                TestPlan.id.in_({one.plan_id for one in changes} - {None})
            )
        )
    }
    lines = []
    for row, rest in zip(changes, left, strict=True):
        bucket = buckets.get(row.bucket_id) if row.bucket_id is not None else None
        for_what = ""
        if bucket is not None:
            for_what = title_of(bucket.name, bucket.version_number)
        elif row.plan_id is not None:
            for_what = plans.get(row.plan_id, "")
        lines.append(
            LedgerLine(
                row.id,
                row.version,
                row.changed_on,
                row.kind,
                row.grams,
                row.paid,
                row.note,
                rest,
                for_what,
                bucket.glaze_id if bucket is not None else None,
                row.plan_id,
            )
        )
    return tuple(reversed(lines))
