"""Which analysis each line of a recipe is computed with.

A line written with a lot keeps it for good. A line without one (an old recipe, or a material nobody
knew yet) is computed with the analysis that ships under its name, else with the oldest lot of the
journal's material of that name. So a new lot never changes what a recipe came to.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.materials import Analysis, ShippedMaterial, find_shipped, fold_name
from studiolog.journal.letters import reads_as
from studiolog.journal.writing import add, clean_name
from studiolog.records.glazes import RecipeLine
from studiolog.records.materials import LotOxide, Material, MaterialLot


@dataclass(frozen=True)
class RecipeAnalyses:
    """A recipe as sums take it.

    ``parts`` (with what is added on top) and ``base_parts`` are material -> parts, in the order of
    the recipe; ``analyses`` is material -> oxide or "LOI" -> per cent by weight; ``lots`` the same
    analyses with their basis and the lot's name; ``missing`` names the materials without one.
    A material in two lines of different lots stands under two names: ``lines`` has, for each line
    of a kept recipe in its order, its material and the name it stands under.
    """

    parts: Mapping[str, float] = field(default_factory=dict)
    base_parts: Mapping[str, float] = field(default_factory=dict)
    analyses: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    lots: Mapping[str, Analysis] = field(default_factory=dict)
    lot_ids: Mapping[str, int] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    lines: tuple[tuple[str, str], ...] = ()


def lot_words(label: str, dated: date | None) -> str:
    """How a lot is called: "spring bag, 2026-04-12"; a lot that names nothing is empty."""
    return ", ".join(filter(None, (label, dated.isoformat() if dated else "")))


def newest_first(lots: Iterable[MaterialLot]) -> list[MaterialLot]:
    """Lots by date and then by entry, the newest first; one without a date is older than any."""
    return sorted(lots, key=lambda lot: (lot.dated or date.min, lot.id), reverse=True)


def find_material(session: Session, name: str) -> Material | None:
    """The journal's material of a name, whatever its case."""
    return session.scalar(select(Material).where(reads_as(Material.name, name)).limit(1))


def lot_in_force(session: Session, material_name: str) -> int | None:
    """The lot a recipe written now is computed with; None for a material without an analysis.

    A shipped material that the journal does not have yet, or has without any lot, is copied into
    it, so that the recipe keeps what it was computed with whatever ships later.
    """
    name = clean_name(material_name, noun="material")
    material = find_material(session, name)
    shipped = find_shipped(name)
    if material is not None:
        lots = session.scalars(select(MaterialLot).where(MaterialLot.material_id == material.id))
        newest = newest_first(lots)
        if newest:
            return newest[0].id
        if material.shipped:
            shipped = find_shipped(material.shipped) or shipped
    if shipped is None or not shipped.analysis.is_given:
        return None
    material_id = material.id if material is not None else add_shipped(session, name, shipped)
    return add_shipped_lot(session, material_id, shipped)


def add_shipped(session: Session, name: str, shipped: ShippedMaterial) -> int:
    """Enter a shipped material under a name of the potter's choice, without its lot."""
    return add(
        session,
        Material(name=name, shipped=shipped.name, solid_density=shipped.solid_density),
    )


def add_shipped_lot(session: Session, material_id: int, shipped: ShippedMaterial) -> int:
    """Copy the analysis of a shipped material as a lot; returns the lot's id."""
    lot_id = add(
        session,
        MaterialLot(
            material_id=material_id,
            basis=shipped.basis,
            label="",
            loi_percent=shipped.loi_percent,
            notes=shipped.note,
        ),
    )
    for oxide, percent in shipped.oxides.items():
        add(session, LotOxide(lot_id=lot_id, oxide=oxide, percent=percent))
    return lot_id


def read_analyses(session: Session, glaze_ids: Collection[int]) -> dict[int, RecipeAnalyses]:
    """What each glaze's recipe is computed with; a glaze without a recipe has an empty one."""
    lines = session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id.in_(glaze_ids))
        .order_by(RecipeLine.addition, RecipeLine.position)
    ).all()
    loose = {fold_name(line.material) for line in lines if line.lot_id is None}
    oldest = _oldest_lots(session, {name for name in loose if not _ships(name)})
    wanted = {line.lot_id for line in lines if line.lot_id is not None} | set(oldest.values())
    lots = read_lot_analyses(session, wanted)
    by_glaze: dict[int, list[RecipeLine]] = defaultdict(list)
    for line in lines:
        by_glaze[line.glaze_id].append(line)
    return {glaze_id: _gather(by_glaze.get(glaze_id, []), oldest, lots) for glaze_id in glaze_ids}


def read_lot_analyses(session: Session, lot_ids: Collection[int]) -> dict[int, Analysis]:
    """The analyses of lots, by id."""
    oxides: dict[int, dict[str, float]] = defaultdict(dict)
    for one in session.scalars(
        select(LotOxide).where(LotOxide.lot_id.in_(lot_ids)).order_by(LotOxide.id)
    ):
        oxides[one.lot_id][one.oxide] = one.percent
    rows = session.execute(
        select(MaterialLot, Material.name)
        .join(Material, Material.id == MaterialLot.material_id)
        .where(MaterialLot.id.in_(lot_ids))
    )
    return {
        lot.id: Analysis(
            name, lot.basis, oxides[lot.id], lot.loi_percent, lot_words(lot.label, lot.dated)
        )
        for lot, name in rows
    }


def _ships(name: str) -> bool:
    shipped = find_shipped(name)
    return shipped is not None and shipped.analysis.is_given


def _oldest_lots(session: Session, names: Collection[str]) -> dict[str, int]:
    """Folded name -> the oldest lot of the journal's material of that name."""
    if not names:
        return {}
    found: dict[str, list[MaterialLot]] = defaultdict(list)
    for lot, name in session.execute(
        select(MaterialLot, Material.name).join(Material, Material.id == MaterialLot.material_id)
    ):
        if fold_name(name) in names:
            found[fold_name(name)].append(lot)
    return {name: newest_first(lots)[-1].id for name, lots in found.items()}


def _gather(
    lines: Iterable[RecipeLine], oldest: Mapping[str, int], lots: Mapping[int, Analysis]
) -> RecipeAnalyses:
    parts: dict[str, float] = {}
    base: dict[str, float] = {}
    used: dict[str, Analysis] = {}
    ids: dict[str, int] = {}
    missing: dict[str, None] = {}
    lot_of: dict[str, int | None] = {}
    keys: list[tuple[str, str]] = []
    for line in lines:
        name, lot_id = line.material, line.lot_id
        if lot_id is None and not _ships(name):
            lot_id = oldest.get(fold_name(name))
        key = _name_apart(name, lot_id, lot_of)
        lot_of[key] = lot_id
        keys.append((name, key))
        parts[key] = parts.get(key, 0.0) + line.parts
        if not line.addition:
            base[key] = base.get(key, 0.0) + line.parts
        if lot_id is not None:
            analysis = lots.get(lot_id)
        else:
            shipped = find_shipped(name)
            analysis = shipped.analysis if shipped is not None else None
        if analysis is None or not analysis.is_given:
            missing[key] = None
            continue
        used[key] = analysis
        if lot_id is not None:
            ids[key] = lot_id
    analyses = {name: analysis.percents for name, analysis in used.items()}
    return RecipeAnalyses(parts, base, analyses, used, ids, tuple(missing), tuple(keys))


def _name_apart(name: str, lot_id: int | None, taken: Mapping[str, int | None]) -> str:
    """The name of a line, told from an earlier line of the same material with another lot."""
    key = next((one for one in taken if fold_name(one) == fold_name(name)), name)
    number = 2
    while key in taken and taken[key] != lot_id:
        key = f"{name} (lot {number})"
        number += 1
    return key
