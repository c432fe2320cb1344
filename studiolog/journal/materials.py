"""Raw materials on the studio's shelf, and their analyses in dated lots.

A recipe keeps the lot it was computed with. So the analysis of a lot that ware was glazed by stays
as it is, and a new analysis is a new lot.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.materials import (
    Analysis,
    find_mistakes,
    find_shipped,
    fold_name,
    shipped_materials,
)
from studiolog.craft.words import ANALYSIS_BASES, join_words
from studiolog.journal.analyses import (
    add_shipped,
    add_shipped_lot,
    lot_words,
    newest_first,
    read_lot_analyses,
)
from studiolog.journal.glaze_formula import newest_analyses
from studiolog.journal.glazes import RecipePart, add_version, title_of
from studiolog.journal.letters import reads_as
from studiolog.journal.plan_renaming import rename_in_plans
from studiolog.journal.stock import StockLine, read_stock
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.glazes import BucketLine, Glaze, RecipeLine
from studiolog.records.materials import LotOxide, Material, MaterialLot, StockChange
from studiolog.records.pieces import Layer
from studiolog.records.plans import PlanCorner, PlanLayer

_MOST_PRICE = 1_000_000
_MOST_NAMED = 4


@dataclass(frozen=True, kw_only=True)
class LotDraft:
    """An analysis as it is entered: oxides in per cent by weight, as the supplier gives them."""

    label: str = ""
    dated: date | None = None
    source: str = ""
    basis: str = "analysis"
    oxides: Mapping[str, float] = field(default_factory=dict)
    loi_percent: float | None = None
    price_per_kg: Decimal | None = None
    notes: str = ""


@dataclass(frozen=True)
class MaterialLine:
    """A material in a list. ``basis`` is that of its newest lot, empty without an analysis.

    ``idle``: it ships, no recipe names it, nothing of it ever came or went, and nobody wrote
    anything down of it: as after it was typed into a recipe and replaced.
    """

    material_id: int
    version: int
    name: str
    basis: str
    lots: int
    recipes: int
    stock: StockLine
    archived: bool
    idle: bool = False


# On the shelf


def add_material(session: Session, name: str) -> int:
    """Put a material on the shelf; returns its id. One that ships brings its analysis along.

    Raises `UserProblem` for a name that stands there already.
    """
    kept = clean_name(name, noun="name of the material")
    _refuse_taken_name(session, kept)
    shipped = find_shipped(kept)
    if shipped is None:
        return add(session, Material(name=kept))
    material_id = add_shipped(session, kept, shipped)
    if shipped.analysis.is_given:
        add_shipped_lot(session, material_id, shipped)
    return material_id


def _refuse_taken_name(session: Session, name: str, but: int = 0) -> None:
    taken = session.scalar(
        select(Material.id).where(reads_as(Material.name, name), Material.id != but).limit(1)
    )
    if taken is not None:
        sentence = f"There is a material named {name} on the shelf already."
        raise UserProblem(sentence, {"name": sentence})


def change_material(
    session: Session, material_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a material. A new name goes to the recipes and plans that name it."""
    if "name" in fields:
        name = clean_name(fields.pop("name"), noun="name of the material")
        material = get(session, Material, material_id, version)
        _refuse_taken_name(session, name, but=material_id)
        _rename_in_recipes(session, material, name)
        rename_in_plans(session, material.name, name)
        change(session, Material, material_id, name=name)
        version = None
    if fields:
        change(session, Material, material_id, version, **fields)


def _rename_in_recipes(session: Session, material: Material, name: str) -> None:
    """Name the material anew in every recipe, and keep what each was computed with."""
    lines = session.scalars(
        select(RecipeLine).where(reads_as(RecipeLine.material, material.name))
    ).all()
    shipped = find_shipped(material.name)
    as_shipped: int | None = None
    for line in lines:
        lot_id = line.lot_id
        if lot_id is None and shipped is not None and shipped.analysis.is_given:
            # Without a lot it was found by its name: from now on the lot says it.
            if as_shipped is None:
                as_shipped = _shipped_lot(session, material.id)
            if as_shipped is None:
                as_shipped = add_shipped_lot(session, material.id, shipped)
            lot_id = as_shipped
        change(session, RecipeLine, line.id, material=name, lot_id=lot_id)


def _shipped_lot(session: Session, material_id: int) -> int | None:
    lots = session.scalars(select(MaterialLot).where(MaterialLot.material_id == material_id))
    return next((lot.id for lot in lots if ships_with_program(lot.basis, lot.dated)), None)


def ships_with_program(basis: str, dated: date | None) -> bool:
    """Whether a lot is the analysis that came with the program: not the potter's to change."""
    return basis != "analysis" and dated is None


def delete_material(session: Session, material_id: int) -> None:
    """Delete a material no recipe and no bucket names. Raises `StillUsed` naming them."""
    material = get(session, Material, material_id)
    lots = list(
        session.scalars(select(MaterialLot.id).where(MaterialLot.material_id == material_id))
    )
    named = reads_as(RecipeLine.material, material.name) | RecipeLine.lot_id.in_(lots)
    used = _glazes_with(session, named)
    if used:
        raise StillUsed(
            f"{material.name} can't be deleted: {_say_glazes(used)} "
            f"{'has' if len(used) == 1 else 'have'} it in the recipe. Archive it to hide it."
        )
    if _weighed(session, lots) or count(
        session,
        StockChange,
        StockChange.material_id == material_id,
        StockChange.bucket_id.is_not(None) | StockChange.plan_id.is_not(None),
    ):
        raise StillUsed(
            f"{material.name} can't be deleted: it was weighed into a bucket or a test. "
            "Archive it to hide it."
        )
    remove_all(session, StockChange, StockChange.material_id == material_id)
    for lot_id in lots:
        _remove_lot(session, lot_id)
    remove(session, get(session, Material, material_id))


def _glazes_with(session: Session, where: Any) -> list[str]:
    rows = session.execute(
        select(Glaze.name, Glaze.version_number)
        .join(RecipeLine, RecipeLine.glaze_id == Glaze.id)
        .where(where)
        .distinct()
        .order_by(Glaze.name, Glaze.version_number)
    )
    return [title_of(row.name, row.version_number) for row in rows]


def _say_glazes(titles: Sequence[str]) -> str:
    named = list(titles[:_MOST_NAMED])
    if len(titles) > _MOST_NAMED:
        return f"{', '.join(named)} and {len(titles) - _MOST_NAMED} more"
    return join_words(named)


def _weighed(session: Session, lot_ids: Collection[int]) -> int:
    return count(session, BucketLine, BucketLine.lot_id.in_(lot_ids))


# Lots


def add_lot(session: Session, material_id: int, draft: LotDraft) -> int:
    """Enter an analysis as a new lot; recipes written from now on are computed with it.

    Recipes that are written keep theirs. Raises `UserProblem` for an analysis that can't be; one
    whose sum is off or whose loss on ignition is missing is kept as it is.
    """
    material = get(session, Material, material_id)
    _check(material.name, draft.basis, draft.oxides, draft.loi_percent)
    if ships_with_program(draft.basis, draft.dated):
        raise UserProblem(_GIVE_DAY, {"dated": "Give the day."})
    _check_price(draft.price_per_kg)
    lot_id = add(
        session,
        MaterialLot(
            material_id=material_id,
            basis=draft.basis,
            label=" ".join(draft.label.split()),
            dated=draft.dated,
            source=draft.source,
            loi_percent=draft.loi_percent,
            price_per_kg=draft.price_per_kg,
            notes=draft.notes,
        ),
    )
    _write_oxides(session, lot_id, draft.oxides)
    return lot_id


def copy_newest_lot(session: Session, material_id: int, on: date) -> int:
    """A new lot of a day that starts from the figures of the newest; returns its id.

    Without a lot before it, it starts empty.
    """
    newest = _newest_lot(session, material_id)
    if newest is None:
        return add_lot(session, material_id, LotDraft(dated=on))
    analysis = read_lot_analyses(session, [newest.id])[newest.id]
    draft = LotDraft(
        dated=on,
        oxides=analysis.oxides,
        loi_percent=analysis.loi_percent,
        price_per_kg=newest.price_per_kg,
    )
    return add_lot(session, material_id, draft)


def _newest_lot(session: Session, material_id: int) -> MaterialLot | None:
    lots = session.scalars(select(MaterialLot).where(MaterialLot.material_id == material_id))
    return next(iter(newest_first(lots)), None)


def _check_price(price: Decimal | None) -> None:
    if price is not None and not (price.is_finite() and 0 <= price < _MOST_PRICE):
        told = "A price must be 0 or more, and less than a million."
        raise UserProblem(told, {"price_per_kg": told})


def _check(name: str, basis: str, oxides: Mapping[str, float], loi_percent: float | None) -> None:
    if basis not in ANALYSIS_BASES:
        raise UserProblem(f"The basis of an analysis is {', '.join(ANALYSIS_BASES)}.")
    mistakes = find_mistakes(Analysis(name, basis, oxides, loi_percent))
    if mistakes:
        raise UserProblem(" ".join(mistakes))


def _write_oxides(session: Session, lot_id: int, oxides: Mapping[str, float]) -> None:
    for oxide, percent in oxides.items():
        add(session, LotOxide(lot_id=lot_id, oxide=oxide, percent=percent))


def change_lot(session: Session, lot_id: int, version: int | None = None, **fields: Any) -> None:
    """Change what is said of a lot: label, day, source, basis, price, notes.

    Its figures are changed by `set_analysis`. Raises `UserProblem`.
    """
    lot = get(session, MaterialLot, lot_id, version)
    if ships_with_program(lot.basis, lot.dated) and {"basis", "dated"} & set(fields):
        raise UserProblem(_SHIPS)
    _check_price(fields.get("price_per_kg"))
    if fields.get("basis", lot.basis) not in ANALYSIS_BASES:
        raise UserProblem(f"The basis of an analysis is {', '.join(ANALYSIS_BASES)}.")
    basis, dated = fields.get("basis", lot.basis), fields.get("dated", lot.dated)
    if ships_with_program(basis, dated) and not ships_with_program(lot.basis, lot.dated):
        raise UserProblem(_GIVE_DAY, {"dated": _GIVE_DAY, "basis": _GIVE_DAY})
    change(session, MaterialLot, lot_id, version, **fields)


_GIVE_DAY = "Give the day of this lot: only what ships with the program has none."
_SHIPS = (
    "This is the analysis that ships with the program, and it stays as it is. Make a new lot for "
    "figures of your own."
)


def set_analysis(
    session: Session, lot_id: int, oxides: Mapping[str, float], loi_percent: float | None
) -> None:
    """Write the figures of a lot.

    Raises `UserProblem` for figures that can't be, and for an analysis that ships with the
    program; `StillUsed` once pieces or plans go by a glaze that was computed with it.
    """
    lot = get(session, MaterialLot, lot_id)
    material = get(session, Material, lot.material_id)
    if ships_with_program(lot.basis, lot.dated):
        raise UserProblem(_SHIPS)
    fixed = fixed_recipes(session, lot_id)
    if fixed:
        raise StillUsed(
            f"{_say_glazes(fixed)} {'was' if len(fixed) == 1 else 'were'} computed with this lot, "
            "and pieces or test plans go by that. Make a new lot for other figures."
        )
    _check(material.name, lot.basis, oxides, loi_percent)
    kept = {}
    for row in session.scalars(select(LotOxide).where(LotOxide.lot_id == lot_id)).all():
        if row.oxide in oxides:
            kept[row.oxide] = row
        else:
            remove(session, row)
    for oxide, percent in oxides.items():
        if oxide not in kept:
            add(session, LotOxide(lot_id=lot_id, oxide=oxide, percent=percent))
        elif kept[oxide].percent != percent:
            change(session, LotOxide, kept[oxide].id, percent=percent)
    change(session, MaterialLot, lot_id, loi_percent=loi_percent)


def fixed_recipes(session: Session, lot_id: int) -> list[str]:
    """Titles of the glazes computed with a lot that stay as they are (`fixed_glazes`)."""
    ids = set(session.scalars(select(RecipeLine.glaze_id).where(RecipeLine.lot_id == lot_id)))
    fixed = fixed_glazes(session, ids)
    return _glazes_with(session, (RecipeLine.lot_id == lot_id) & RecipeLine.glaze_id.in_(fixed))


def fixed_glazes(session: Session, glaze_ids: Collection[int]) -> set[int]:
    """Those of the glazes that pieces carry or test plans go by: what they come to stays."""
    fixed: set[int] = set()
    for column in (Layer.glaze_id, PlanCorner.glaze_id, PlanLayer.glaze_id):
        fixed |= set(session.scalars(select(column).where(column.in_(glaze_ids)).distinct()))
    return fixed


def delete_lot(session: Session, lot_id: int) -> None:
    """Delete a lot no recipe was computed with. Raises `StillUsed` naming what was."""
    lot = get(session, MaterialLot, lot_id)
    named = lot_words(lot.label, lot.dated) or "This analysis"
    used = _glazes_with(session, RecipeLine.lot_id == lot_id)
    if used:
        raise StillUsed(
            f"{named} can't be deleted: {_say_glazes(used)} "
            f"{'is' if len(used) == 1 else 'are'} computed with it."
        )
    if _weighed(session, [lot_id]):
        raise StillUsed(f"{named} can't be deleted: it was weighed into a bucket.")
    _remove_lot(session, lot_id)


def _remove_lot(session: Session, lot_id: int) -> None:
    remove_all(session, LotOxide, LotOxide.lot_id == lot_id)
    remove(session, get(session, MaterialLot, lot_id))


def add_version_with_lot(session: Session, glaze_id: int, lot_id: int) -> int:
    """A new version of a glaze in which one material has this lot; returns the new glaze's id.

    Every other line keeps its lot, and the recipe it came from stays as it is. Raises
    `UserProblem` if the recipe does not have the material.
    """
    lot = get(session, MaterialLot, lot_id)
    material = get(session, Material, lot.material_id)
    names = {material.name.casefold()}
    mine = set(
        session.scalars(select(MaterialLot.id).where(MaterialLot.material_id == material.id))
    )
    lines = session.scalars(
        select(RecipeLine).where(RecipeLine.glaze_id == glaze_id).order_by(RecipeLine.position)
    ).all()
    touched = [one for one in lines if one.lot_id in mine or one.material.casefold() in names]
    if not touched:
        raise UserProblem(f"This recipe has no {material.name}.")
    recipe = [
        RecipePart(one.material, one.parts, one.addition, lot_id if one in touched else one.lot_id)
        for one in lines
    ]
    return add_version(session, glaze_id, recipe)


# Lists


def list_materials(session: Session, *, archived: bool = False) -> list[MaterialLine]:
    """The materials on the shelf, in order of names; archived ones only if asked for."""
    stock = read_stock(session)
    lots: dict[int, list[MaterialLot]] = defaultdict(list)
    for lot in session.scalars(select(MaterialLot)):
        lots[lot.material_id].append(lot)
    recipes: dict[str, set[int]] = defaultdict(set)
    named: set[str] = set()
    for row in session.execute(
        select(RecipeLine.material, RecipeLine.glaze_id, Glaze.trial).join(
            Glaze, Glaze.id == RecipeLine.glaze_id
        )
    ):
        named.add(row.material.casefold())
        if not row.trial:
            recipes[row.material.casefold()].add(row.glaze_id)
    moved = set(session.scalars(select(StockChange.material_id).distinct()))
    lines = []
    for one in session.scalars(select(Material)):
        if one.archived and not archived:
            continue
        newest = next(iter(newest_first(lots[one.id])), None)
        lines.append(
            MaterialLine(
                one.id,
                one.version,
                one.name,
                newest.basis if newest is not None else "",
                len(lots[one.id]),
                len(recipes[one.name.casefold()]),
                stock[one.name],
                one.archived,
                one.name.casefold() not in named
                and one.id not in moved
                and _is_as_shipped(one, lots[one.id]),
            )
        )
    return sorted(lines, key=lambda line: (line.archived, line.name.casefold()))


def _is_as_shipped(material: Material, lots: Sequence[MaterialLot]) -> bool:
    """Whether nobody wrote anything down of it but that it is there."""
    written = material.low_g is not None or material.hazards or material.bought_from
    priced = any(lot.price_per_kg is not None for lot in lots)
    as_shipped = all(ships_with_program(lot.basis, lot.dated) for lot in lots)
    return bool(material.shipped) and as_shipped and not (written or priced or material.notes)


def shipped_not_on_shelf(session: Session) -> list[int]:
    """Places in `shipped_materials` of those the journal does not have, under any name."""
    known = {row.casefold() for row in session.scalars(select(Material.name))}
    copied = set(session.scalars(select(Material.shipped)))
    return [
        place
        for place, one in enumerate(shipped_materials())
        if one.name not in copied and one.name.casefold() not in known
    ]


def put_on_shelf(session: Session, place: int) -> int:
    """Put the shipped material at a place of its table on the shelf; returns its id.

    It goes by its short name where it has one that is free.
    """
    shipped = shipped_materials()[place]
    short = next((name for name in shipped.also if find_shipped(name) is shipped), shipped.name)
    taken = session.scalar(select(Material.id).where(reads_as(Material.name, short)).limit(1))
    return add_material(session, shipped.name if taken is not None else short)


def known_names(session: Session) -> list[str]:
    """Every name a recipe may use: what is on the shelf first, then what ships."""
    mine = sorted(
        session.scalars(select(Material.name).where(Material.archived.is_(False))),
        key=str.casefold,
    )
    taken = {name.casefold() for name in mine}
    shipped = [name for one in shipped_materials() for name in (*one.also, one.name)]
    others = {name.casefold(): name for name in reversed(shipped) if name.casefold() not in taken}
    return mine + sorted(others.values(), key=str.casefold)


def without_analysis(session: Session, names: Collection[str]) -> list[str]:
    """Those of the names that nothing could be computed with if a recipe were written now."""
    known = newest_analyses(session, names)
    return [
        name
        for name in dict.fromkeys(names)
        if (found := known.get(fold_name(name))) is None or not found.is_given
    ]
