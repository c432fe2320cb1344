"""The recipes of a test plan: of the glazes it starts from, of corners computed for it, of tiles.

Everything here is worked out from the journal as it stands and stores nothing; a plan that is made
(`plans.add_plan`) writes just what is found here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.blend import (
    BlendPart,
    add_to_recipe,
    blend_recipe,
    mix_colours,
)
from studiolog.craft.glaze.materials import Analysis, fold_name
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.plans import LayoutTile, PlanOptions, grid_aims, write_aim
from studiolog.craft.glaze.slurry import USUAL_SOLID_DENSITY, recipe_density
from studiolog.craft.glaze.target import Bound, TargetRecipe, recipe_for_formula, round_parts
from studiolog.craft.glaze.unity import rules_from, unity_formula
from studiolog.craft.glaze.weighings import MixCorner
from studiolog.craft.limits import Limits
from studiolog.journal.analyses import RecipeAnalyses, read_analyses
from studiolog.journal.glaze_formula import GlazeFormula, compute_formula, newest_analyses
from studiolog.journal.glazes import title_of
from studiolog.journal.mixing import read_densities
from studiolog.problems import UserProblem
from studiolog.records.glazes import Glaze, RecipeLine

_STEP = 0.01
_HARDLY = 0.02
"""How much an oxide matters that only rides along: a trace of a clay, what an addition brings."""
_KEPT = ("SiO2", "Al2O3", "B2O3", "Li2O", "Na2O", "K2O", "MgO", "CaO", "SrO", "BaO", "ZnO", "PbO")
_ADDED = " (added)"


@dataclass(frozen=True)
class TileFormula:
    """The formula of a tile's glaze in figures; None where an analysis is missing.

    ``silica`` and ``alumina`` are moles per mole of flux, as all of ``oxides``.
    """

    silica: float | None = None
    alumina: float | None = None
    silica_alumina: float | None = None
    expansion_ppm_k: float | None = None
    oxides: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    missing: tuple[str, ...] = ()


def tile_formula(found: GlazeFormula) -> TileFormula:
    """The figures of a formula that a tile is shown with."""
    formula = found.formula
    if formula is None:
        return TileFormula(missing=found.missing)
    return TileFormula(
        formula.oxides.get("SiO2"),
        formula.oxides.get("Al2O3"),
        formula.silica_alumina,
        found.expansion_ppm_k,
        formula.oxides,
    )


@dataclass(frozen=True)
class PlanGlaze:
    """A glaze a plan works with. ``glaze_id`` is None while it is only computed.

    ``flux_grams`` are grams of its dry recipe for a mole of flux, None where that is not known.
    """

    label: str
    glaze_id: int | None
    recipe: tuple[BlendPart, ...]
    analyses: RecipeAnalyses
    colour: str
    pattern: int
    kind: str = "glaze"
    specific_gravity: float | None = None
    solid_density: float = USUAL_SOLID_DENSITY
    flux_grams: float | None = None
    notes: tuple[str, ...] = ()

    def as_mixed(self) -> MixCorner:
        """As the mixing of a plan takes it."""
        return MixCorner(self.label, self.recipe, self.specific_gravity, self.solid_density)


def read_plan_glazes(
    session: Session,
    wanted: Sequence[tuple[int, str, float | None]],
    limits: Limits,
) -> tuple[PlanGlaze, ...]:
    """The glazes a plan starts from, in order: (glaze id, label, specific gravity) of each.

    Without a label a glaze has its own name, without a gravity its usual one. Raises `UserProblem`
    for a glaze that is gone.
    """
    ids = [glaze_id for glaze_id, _, _ in wanted]
    rows = {row.id: row for row in session.scalars(select(Glaze).where(Glaze.id.in_(ids)))}
    lines: dict[int, list[BlendPart]] = {glaze_id: [] for glaze_id in ids}
    for line in session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id.in_(ids))
        .order_by(RecipeLine.addition, RecipeLine.position)
    ):
        part = BlendPart(line.material, line.parts, line.addition, line.lot_id)
        lines[line.glaze_id].append(part)
    analyses = read_analyses(session, ids)
    densities = read_densities(session, list({p.material for one in lines.values() for p in one}))
    found = []
    for glaze_id, label, gravity in wanted:
        row = rows.get(glaze_id)
        if row is None:
            raise UserProblem("This glaze is no longer in the journal: it was deleted or undone.")
        recipe = tuple(lines[glaze_id])
        found.append(
            PlanGlaze(
                label.strip() or title_of(row.name, row.version_number),
                glaze_id,
                recipe,
                analyses[glaze_id],
                row.colour,
                row.pattern,
                row.kind,
                gravity if gravity is not None else row.specific_gravity,
                _density(recipe, densities, limits),
                _flux_grams(analyses[glaze_id], limits),
            )
        )
    return tuple(found)


def _density(
    recipe: Sequence[BlendPart], densities: Mapping[str, float | None], limits: Limits
) -> float:
    parts: dict[str, float] = {}
    for part in recipe:
        parts[part.material] = parts.get(part.material, 0.0) + part.parts
    return recipe_density(parts, densities, limits["solid_density"]).g_per_ml


def _flux_grams(recipe: RecipeAnalyses, limits: Limits) -> float | None:
    if recipe.missing or not recipe.parts:
        return None
    try:
        return unity_formula(recipe.parts, recipe.analyses, rules_from(limits)).raw_g
    except UserProblem:
        return None


def compute_corners(
    session: Session, base: PlanGlaze, options: PlanOptions, limits: Limits
) -> tuple[PlanGlaze, ...]:
    """The four corners of a silica by alumina grid, from the formula of ``base``.

    Fluxes and boron stay as they are; what stands on top of the hundred stays at its parts, and
    counts in the formula. The materials are those of the base's recipe and of the shelf named in
    ``options``. Raises `UserProblem` for a base without a formula, and for a corner that the
    materials can't reach.
    """
    found = compute_formula(base.glaze_id or 0, base.analyses, limits)
    if found.formula is None or not found.formula.is_defined:
        why = found.problem or "It has no flux, so it has no unity formula."
        raise UserProblem(f"{base.label} can't be taken as a base. {why}", {"corners": why})
    materials = _Materials(base, _read_shelf(session, options.shelf))
    densities = read_densities(
        session, [part.material for part in base.recipe] + list(options.shelf)
    )
    corners = []
    for silica, alumina in grid_aims(options):
        words = f"SiO₂ {write_aim(silica)}, Al₂O₃ {write_aim(alumina)}"
        target = {**found.formula.oxides, "SiO2": silica, "Al2O3": alumina}
        recipe, analyses = _reach(words, target, materials, limits)
        corners.append(
            PlanGlaze(
                words,
                None,
                recipe,
                analyses,
                base.colour,
                base.pattern,
                base.kind,
                base.specific_gravity,
                _density(recipe, densities, limits),
                _flux_grams(analyses, limits),
            )
        )
    return tuple(corners)


def _read_shelf(session: Session, names: Sequence[str]) -> dict[str, Analysis]:
    """What may be used besides the base's own materials, by name as typed."""
    found = read_newest(session, names)
    lacking = [name for name in names if name not in found]
    if lacking:
        sentence = (
            f"No analysis of {', '.join(lacking)} is known, so no corner can be computed with it: "
            "add one in Materials, or take it off the list."
        )
        raise UserProblem(sentence, {"shelf": sentence})
    return found


class _Materials:
    """What a computed corner may be made of, and what stands on its hundred as in the base."""

    def __init__(self, base: PlanGlaze, shelf: Mapping[str, Analysis]) -> None:
        self.base = base
        self.added = {
            name: parts - base.analyses.base_parts.get(name, 0.0)
            for name, parts in base.analyses.parts.items()
            if parts - base.analyses.base_parts.get(name, 0.0) > 1e-9
        }
        own = {fold_name(material) for material, _ in base.analyses.lines}
        proper = sum(base.analyses.base_parts.values())
        self.added = {name: parts * 100.0 / proper for name, parts in self.added.items()}
        self.lots = {
            **{name: base.analyses.lots[name] for name in base.analyses.base_parts},
            **{name: one for name, one in shelf.items() if fold_name(name) not in own},
        }
        whole = 100.0 + sum(self.added.values())
        self.bounds = {
            name + _ADDED: Bound(100.0 * parts / whole, 100.0 * parts / whole)
            for name, parts in self.added.items()
        }
        self.analyses = {name: one.percents for name, one in self.lots.items()}
        for name in self.added:
            self.analyses[name + _ADDED] = base.analyses.lots[name].percents

    def recipe_of(self, parts: Mapping[str, float]) -> tuple[tuple[BlendPart, ...], RecipeAnalyses]:
        """A recipe of a hundred with the additions on top, with the lots of the base."""
        lines = [self._line(name, amount, False) for name, amount in parts.items()]
        lines += [self._line(name, amount, True) for name, amount in self.added.items()]
        summed = dict(parts)
        lots = {name: self.lots[name] for name in parts}
        for name, amount in self.added.items():
            summed[name] = summed.get(name, 0.0) + amount
            lots[name] = self.base.analyses.lots[name]
        return tuple(lines), RecipeAnalyses(
            summed, dict(parts), {name: one.percents for name, one in lots.items()}, lots
        )

    def _line(self, name: str, parts: float, addition: bool) -> BlendPart:
        """A line under the name its material has in the base, with the lot it has there."""
        lines = zip(self.base.analyses.lines, self.base.recipe, strict=True)
        for (material, key), part in lines:
            if key == name and part.addition == addition:
                return BlendPart(material, parts, addition, part.lot_id)
        return BlendPart(name, parts, addition)


def _reach(
    words: str, target: Mapping[str, float], materials: _Materials, limits: Limits
) -> tuple[tuple[BlendPart, ...], RecipeAnalyses]:
    brought = {*target, *(oxide for one in materials.analyses.values() for oxide in one)} - {"LOI"}
    riding = {oxide: _HARDLY for oxide in brought if oxide not in _KEPT}
    found = recipe_for_formula(
        target,
        materials.analyses,
        bounds=materials.bounds,
        weights=riding,
        rules=rules_from(limits),
        limits=limits,
    )
    missed = [one for one in found.residual if one.oxide in _KEPT and not one.within]
    if missed:
        raise UserProblem(_say_missed(words, found, materials), {"silica": "can't be reached"})
    proper = {name: parts for name, parts in found.parts.items() if not name.endswith(_ADDED)}
    return materials.recipe_of(round_parts(proper, _STEP))


def _say_missed(words: str, found: TargetRecipe, materials: _Materials) -> str:
    off = "; ".join(
        f"{pretty(one.oxide)} {one.words}"
        for one in found.residual
        if one.oxide in _KEPT and not one.within
    )
    names = ", ".join(materials.lots)
    return (
        f"The corner {words} can't be reached from {names} ({off}). Take a narrower range, or add "
        "a material that brings what is missing."
    )


@dataclass(frozen=True)
class TileGlaze:
    """What is laid on a blended tile: ``corner`` counts from 0 where it is a corner as it is."""

    corner: int | None
    recipe: tuple[BlendPart, ...]
    analyses: RecipeAnalyses
    colour: str
    pattern: int


def tile_glaze(
    tile: LayoutTile, corners: Sequence[PlanGlaze], added: Mapping[str, Analysis]
) -> TileGlaze:
    """The glaze of a tile that is a blend of corners, or a base with additions.

    ``added`` are the analyses of what is added, by name.
    """
    shares = tile.shares or (1.0,)
    only = tile.only_corner if tile.shares else (None if tile.additions else 0)
    if only is not None:
        corner = corners[only]
        return TileGlaze(only, corner.recipe, corner.analyses, corner.colour, corner.pattern)
    recipe = blend_recipe([corner.recipe for corner in corners], shares)
    recipe = add_to_recipe(recipe, tile.additions, {})
    analyses = blend_analyses([corner.analyses for corner in corners], shares)
    most = max(range(len(shares)), key=lambda place: shares[place])
    return TileGlaze(
        None,
        recipe,
        _with_additions(analyses, tile.additions, added),
        mix_colours([corner.colour for corner in corners], shares),
        corners[most].pattern,
    )


def blend_analyses(corners: Sequence[RecipeAnalyses], shares: Sequence[float]) -> RecipeAnalyses:
    """A blend as sums take it, of a hundred proper; a material of two lots has two names."""
    parts: dict[str, float] = {}
    base: dict[str, float] = {}
    lots: dict[str, Analysis] = {}
    missing: dict[str, None] = {}
    for corner, share in zip(corners, shares, strict=True):
        total = sum(corner.parts.values())
        if share <= 0 or total <= 0:
            continue
        for name, amount in corner.parts.items():
            analysis = corner.lots.get(name)
            key, number = name, 2
            while key in parts and lots.get(key) != analysis:
                key, number = f"{name} (lot {number})", number + 1
            parts[key] = parts.get(key, 0.0) + share * amount / total
            proper = corner.base_parts.get(name, 0.0)
            if proper:
                base[key] = base.get(key, 0.0) + share * proper / total
            if analysis is None:
                missing[key] = None
            else:
                lots[key] = analysis
    whole = sum(base.values()) / 100.0 or 1.0
    return RecipeAnalyses(
        {name: amount / whole for name, amount in parts.items()},
        {name: amount / whole for name, amount in base.items()},
        {name: one.percents for name, one in lots.items()},
        lots,
        missing=tuple(missing),
    )


def _with_additions(
    recipe: RecipeAnalyses,
    additions: Sequence[tuple[str, float]],
    added: Mapping[str, Analysis],
) -> RecipeAnalyses:
    parts, lots = dict(recipe.parts), dict(recipe.lots)
    missing = list(recipe.missing)
    by_name = {name.casefold(): name for name in parts}
    for material, amount in additions:
        name = by_name.get(material.casefold())
        if name is None:
            name = material
            analysis = added.get(material)
            if analysis is not None:
                lots[name] = analysis
            else:
                missing.append(name)
        parts[name] = parts.get(name, 0.0) + amount
    return replace(
        recipe,
        parts=parts,
        lots=lots,
        analyses={name: one.percents for name, one in lots.items()},
        missing=tuple(missing),
    )


def read_newest(session: Session, names: Sequence[str]) -> dict[str, Analysis]:
    """The analyses materials would be computed with now, by name as typed; what is not known is
    left out."""
    newest = newest_analyses(session, names)
    folded = {name: fold_name(name) for name in names}
    return {
        name: newest[key] for name, key in folded.items() if key in newest and newest[key].is_given
    }
