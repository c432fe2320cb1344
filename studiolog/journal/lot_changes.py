"""What a newer lot of a material does to the formula of a recipe: looked at before it is done."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.formula_words import SEEN_MOL, write_moles, write_ratio
from studiolog.craft.glaze.materials import fold_name
from studiolog.craft.glaze.oxides import OXIDES, pretty
from studiolog.craft.units import show_number
from studiolog.journal.analyses import (
    RecipeAnalyses,
    newest_first,
    read_analyses,
    read_lot_analyses,
)
from studiolog.journal.glaze_formula import GlazeFormula, compute_formula
from studiolog.journal.limits import read_limits
from studiolog.records.materials import Material, MaterialLot


@dataclass(frozen=True)
class LotChange:
    """The formula of a glaze as it is, and as it would be with another lot."""

    glaze_id: int
    before: GlazeFormula
    after: GlazeFormula

    @property
    def words(self) -> str:
        """What changes: "SiO₂ 3.21 → 3.18, SiO₂:Al₂O₃ 7.8 → 7.6, expansion 6.9 → 7.0"."""
        return say_change(self.before, self.after)


def read_lot_changes(
    session: Session, material_id: int, lot_id: int, glaze_ids: Sequence[int]
) -> dict[int, LotChange]:
    """What each recipe's formula would be with this lot of the material, and nothing else new."""
    material, lot = session.get(Material, material_id), session.get(MaterialLot, lot_id)
    if material is None or lot is None:
        return {}
    limits = read_limits(session)
    mine = set(
        session.scalars(select(MaterialLot.id).where(MaterialLot.material_id == material_id))
    )
    analysis = read_lot_analyses(session, [lot_id])[lot_id]
    changes = {}
    for glaze_id, recipe in read_analyses(session, glaze_ids).items():
        names = [
            name
            for name in recipe.parts
            if recipe.lot_ids.get(name) in mine or fold_name(name) == fold_name(material.name)
        ]
        analyses: Mapping[str, Mapping[str, float]] = {
            **recipe.analyses,
            **dict.fromkeys(names, analysis.percents),
        }
        other: RecipeAnalyses = replace(
            recipe,
            analyses=analyses,
            lots={**recipe.lots, **dict.fromkeys(names, analysis)},
            missing=tuple(name for name in recipe.missing if name not in names),
        )
        changes[glaze_id] = LotChange(
            glaze_id,
            compute_formula(glaze_id, recipe, limits),
            compute_formula(glaze_id, other, limits),
        )
    return changes


@dataclass(frozen=True)
class NewerLot:
    """A material of a recipe that has other figures now than the recipe was computed with."""

    material_id: int
    material: str
    lot: str


def read_newer_lots(session: Session, glaze_id: int) -> tuple[NewerLot, ...]:
    """The materials of a recipe whose newest lot says something else, in order of the recipe."""
    recipe = read_analyses(session, [glaze_id])[glaze_id]
    materials = {fold_name(one.name): one for one in session.scalars(select(Material))}
    used_of = {
        name: materials.get(fold_name(used.name)) or materials.get(fold_name(name))
        for name, used in recipe.lots.items()
    }
    ids = {material.id for material in used_of.values() if material is not None}
    lots: dict[int, list[MaterialLot]] = defaultdict(list)
    for lot in session.scalars(select(MaterialLot).where(MaterialLot.material_id.in_(ids))):
        lots[lot.material_id].append(lot)
    newest = {material_id: newest_first(some)[0].id for material_id, some in lots.items()}
    analyses = read_lot_analyses(session, list(newest.values()))
    found = []
    for name, used in recipe.lots.items():
        material = used_of[name]
        if material is None or material.id not in newest:
            continue
        lot_id = newest[material.id]
        analysis = analyses[lot_id]
        if lot_id == recipe.lot_ids.get(name) or not analysis.is_given:
            continue
        if analysis.percents != used.percents:
            found.append(NewerLot(material.id, material.name, analysis.lot))
    return tuple(found)


def say_change(before: GlazeFormula, after: GlazeFormula) -> str:
    """What of a formula changes, in words; why not, if one of the two has no formula."""
    one, other = before.formula, after.formula
    if one is None or other is None:
        return after.problem or before.problem
    told = []
    if one.oxides and other.oxides:
        for oxide in OXIDES:
            was, is_now = one.oxides.get(oxide, 0.0), other.oxides.get(oxide, 0.0)
            shown = (write_moles(was), write_moles(is_now))
            if abs(was - is_now) >= SEEN_MOL and shown[0] != shown[1]:
                told.append(f"{pretty(oxide)} {shown[0]} → {shown[1]}")
    ratio = (write_ratio(one.silica_alumina), write_ratio(other.silica_alumina))
    if ratio[0] != ratio[1]:
        told.append(f"SiO₂:Al₂O₃ {ratio[0]} → {ratio[1]}")
    if before.expansion_ppm_k is not None and after.expansion_ppm_k is not None:
        was_ppm, now_ppm = before.expansion_ppm_k, after.expansion_ppm_k
        if abs(was_ppm - now_ppm) >= 0.05:
            told.append(f"expansion {show_number(was_ppm, 1)} → {show_number(now_ppm, 1)}")
    return ", ".join(told) or "no change of the formula to be seen"
