"""The formula of a glaze as the journal has it: with which analyses, and what is missing.

A recipe whose every material has an analysis has a ``formula``. If one has none there is no
formula, only ``partial``: that of the rest, to be shown with what it lacks.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.expansion import linear_expansion, out_of_range
from studiolog.craft.glaze.materials import Analysis, check_analysis, find_shipped, fold_name
from studiolog.craft.glaze.unity import UnityFormula, rules_from, unity_formula
from studiolog.craft.limits import Limits
from studiolog.craft.words import join_words
from studiolog.journal.analyses import (
    RecipeAnalyses,
    find_material,
    newest_first,
    read_analyses,
    read_lot_analyses,
)
from studiolog.journal.glazes import RecipePart
from studiolog.journal.limits import read_limits
from studiolog.problems import UserProblem
from studiolog.records.glazes import Glaze
from studiolog.records.materials import Material, MaterialLot


@dataclass(frozen=True)
class FormulaLot:
    """The analysis that a material of the recipe was computed with.

    ``basis`` is a key of ``ANALYSIS_BASES``; ``lot`` names the lot, empty for one without a name;
    ``told`` is what a person should know of it, a sentence each.
    """

    material: str
    basis: str
    lot: str
    told: tuple[str, ...] = ()


@dataclass(frozen=True)
class GlazeFormula:
    """What a recipe comes to. ``problem`` says in a sentence why there is no ``formula``.

    ``expansion_ppm_k``: 1e-6/K by Appen's factors, None without a formula; it may be off by
    ``expansion_error_ppm_k`` either way, and ``expansion_warnings`` say where it is not reliable.
    ``missing`` are the materials without analysis; ``partial`` is the formula of the others.
    """

    glaze_id: int
    parts: Mapping[str, float]
    formula: UnityFormula | None
    partial: UnityFormula | None
    expansion_ppm_k: float | None
    expansion_error_ppm_k: float
    expansion_warnings: tuple[str, ...]
    missing: tuple[str, ...]
    lots: tuple[FormulaLot, ...]
    problem: str = ""

    @property
    def shown(self) -> UnityFormula | None:
        """The formula, or that of the materials whose analysis is known."""
        return self.formula or self.partial


def read_formula(session: Session, glaze_id: int) -> GlazeFormula:
    """The formula of one glaze; a glaze without a recipe has none and says so."""
    return read_formulas(session, [glaze_id])[glaze_id]


def read_formulas(
    session: Session, ids: Collection[int] | None = None, limits: Limits | None = None
) -> dict[int, GlazeFormula]:
    """The formulas of some glazes, or of all; a few queries, however many glazes."""
    if ids is None:
        ids = list(session.scalars(select(Glaze.id).order_by(Glaze.id)))
    in_force = limits or read_limits(session)
    return {
        glaze_id: compute_formula(glaze_id, recipe, in_force)
        for glaze_id, recipe in read_analyses(session, ids).items()
    }


def read_typed_formula(
    session: Session, glaze_id: int, typed: Sequence[RecipePart]
) -> GlazeFormula:
    """The formula of a recipe while it is being typed, as it would be if it were kept."""
    recipe = read_typed_analyses(session, glaze_id, typed)
    return compute_formula(glaze_id, recipe, read_limits(session))


def read_typed_analyses(
    session: Session, glaze_id: int, typed: Sequence[RecipePart]
) -> RecipeAnalyses:
    """What a recipe that is being typed would be computed with.

    A material the kept recipe has stays with its analysis (on several lines, each with that of the
    line it was), another gets the newest of its name: as `glazes.set_recipe` writes it.
    """
    kept = read_analyses(session, [glaze_id])[glaze_id]
    names: dict[str, list[str]] = defaultdict(list)
    for material, key in kept.lines:
        names[fold_name(material)].append(key)
    new = {part.material for part in typed if fold_name(part.material) not in names}
    newest = newest_analyses(session, new)
    parts: dict[str, float] = {}
    found: dict[str, Analysis] = {}
    for part in typed:
        here = names.get(fold_name(part.material), [part.material])
        name = here.pop(0) if len(here) > 1 else here[0]
        parts[name] = parts.get(name, 0.0) + part.parts
        analysis = kept.lots.get(name) or newest.get(fold_name(name))
        if analysis is not None and analysis.is_given:
            found[name] = analysis
    return RecipeAnalyses(
        parts=parts,
        analyses={name: analysis.percents for name, analysis in found.items()},
        lots=found,
        missing=tuple(name for name in parts if name not in found),
    )


def material_named(session: Session, name: str) -> int | None:
    """The material on the shelf under a name; None if there is none."""
    material = find_material(session, name)
    return material.id if material is not None else None


def compute_formula(glaze_id: int, recipe: RecipeAnalyses, limits: Limits) -> GlazeFormula:
    """What a recipe with its analyses comes to, under the studio's rules."""
    blank = GlazeFormula(
        glaze_id=glaze_id,
        parts=recipe.parts,
        formula=None,
        partial=None,
        expansion_ppm_k=None,
        expansion_error_ppm_k=limits["expansion_error_ppm_k"],
        expansion_warnings=(),
        missing=recipe.missing,
        lots=tuple(_lot(name, analysis, limits) for name, analysis in recipe.lots.items()),
    )
    if not recipe.parts:
        return replace(blank, problem="There is no recipe yet, so there is nothing to compute.")
    known = {name: parts for name, parts in recipe.parts.items() if name in recipe.analyses}
    try:
        formula = unity_formula(known, recipe.analyses, rules_from(limits)) if known else None
    except UserProblem as problem:
        return replace(blank, problem=problem.sentence)
    if recipe.missing or formula is None:
        return replace(blank, partial=formula, problem=_say_missing(recipe.missing))
    return replace(
        blank,
        formula=formula,
        expansion_ppm_k=_expansion(formula),
        expansion_warnings=out_of_range(formula.mole_percent, limits=limits),
    )


def _expansion(formula: UnityFormula) -> float | None:
    try:
        return linear_expansion(formula.mole_percent)
    except UserProblem:
        return None  # of such a glaze `out_of_range` tells that no factor is known


def _say_missing(missing: Sequence[str]) -> str:
    if len(missing) == 1:
        return f"No analysis of {missing[0]} is known: add one in Materials."
    return f"No analyses of {join_words(missing)} are known: add them in Materials."


def _lot(material: str, analysis: Analysis, limits: Limits) -> FormulaLot:
    return FormulaLot(material, analysis.basis, analysis.lot, check_analysis(analysis, limits))


def newest_analyses(session: Session, names: Collection[str]) -> dict[str, Analysis]:
    """Folded name -> the analysis a recipe written now would get, without writing anything."""
    if not names:
        return {}
    wanted = {fold_name(name) for name in names}
    rows = session.execute(select(Material.id, Material.name, Material.shipped)).all()
    materials = {fold_name(row.name): row for row in rows if fold_name(row.name) in wanted}
    lots = session.scalars(
        select(MaterialLot).where(
            MaterialLot.material_id.in_([one.id for one in materials.values()])
        )
    ).all()
    newest: dict[str, int] = {}
    for name, material in materials.items():
        own = newest_first(lot for lot in lots if lot.material_id == material.id)
        if own:
            newest[name] = own[0].id
    found = read_lot_analyses(session, set(newest.values())) if newest else {}
    analyses = {name: found[lot_id] for name, lot_id in newest.items()}
    for name in wanted - set(analyses):
        material_row = materials.get(name)
        shipped = find_shipped((material_row.shipped if material_row else "") or name)
        if shipped is not None:
            analyses[name] = shipped.analysis
    return analyses
