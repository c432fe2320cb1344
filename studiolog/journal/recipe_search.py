"""A recipe for a formula: the shelf it may use, where it starts from, and how it is kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.expansion import linear_expansion
from studiolog.craft.glaze.materials import Analysis, find_shipped, fold_name, shipped_materials
from studiolog.craft.glaze.unity import UnityFormula, rules_from, unity_formula
from studiolog.craft.limits import Limits
from studiolog.journal.analyses import newest_first, read_analyses, read_lot_analyses
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_glaze,
    add_version,
    set_recipe,
    title_of,
)
from studiolog.journal.limits import read_limits
from studiolog.journal.material_cost import MaterialCost, cost_recipe
from studiolog.journal.stock import StockLine, read_stock
from studiolog.journal.studio import read_currency
from studiolog.journal.writing import count, get
from studiolog.problems import UserProblem
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.materials import Material, MaterialLot

USUAL_SHELF = (
    "Potash feldspar",
    "Soda feldspar",
    "Nepheline syenite",
    "Silica",
    "Kaolin",
    "Ball clay",
    "Whiting",
    "Dolomite",
    "Talc",
    "Zinc oxide",
)
"""What most studios have (common practice): offered where the journal has no materials yet."""


@dataclass(frozen=True)
class ShelfMaterial:
    """A material a recipe may have, with the analysis a recipe written now would get.

    ``lot_id`` None: it ships with the program and the journal has no lot of it yet.
    """

    name: str
    analysis: Analysis
    lot_id: int | None
    mine: bool


@dataclass(frozen=True)
class RecipeStart:
    """A glaze to start from: its base as a hundred parts, what stands on top, and its formula.

    ``formula`` is that of the base alone: what is added on top stays on top. ``has_recipe`` and
    ``is_fixed`` say whether a recipe found is its first, or must be a new version.
    """

    glaze_id: int
    name: str
    title: str
    base: Mapping[str, float]
    additions: tuple[RecipePart, ...]
    analyses: Mapping[str, Mapping[str, float]]
    formula: UnityFormula | None
    problem: str
    has_recipe: bool


@dataclass(frozen=True)
class Shelf:
    """All a recipe may be made of. ``limits`` and rules are those of the studio.

    ``put_away`` are archived materials: not offered, but a recipe that has one goes by its lot.
    """

    materials: tuple[ShelfMaterial, ...]
    limits: Limits
    stock: Mapping[str, StockLine] = field(default_factory=dict)
    put_away: tuple[ShelfMaterial, ...] = ()
    currency: str = ""

    def find(self, name: str) -> ShelfMaterial | None:
        """A material by its name, whatever its case; one that ships by any of its names."""
        folded = fold_name(name)
        mine = (*self.materials, *self.put_away)
        found = next((one for one in mine if fold_name(one.name) == folded), None)
        if found is not None:
            return found
        shipped = find_shipped(name)
        if shipped is None or not shipped.analysis.is_given:
            return None
        return ShelfMaterial(" ".join(name.split()), shipped.analysis, None, False)

    def cost(self, parts: Mapping[str, float]) -> MaterialCost:
        """What a kilogram of a recipe costs, from the prices of the shelf."""
        return cost_recipe(parts, self.stock, self.currency)


def read_shelf(session: Session) -> Shelf:
    """The materials of the journal with their newest lots, then what ships."""
    rows = session.execute(
        select(Material.id, Material.name, Material.shipped, Material.archived)
    ).all()
    lots: dict[int, list[MaterialLot]] = {row.id: [] for row in rows}
    for lot in session.scalars(select(MaterialLot).where(MaterialLot.material_id.in_(lots))):
        lots[lot.material_id].append(lot)
    newest = {ident: newest_first(some)[0].id for ident, some in lots.items() if some}
    analyses = read_lot_analyses(session, set(newest.values()))
    found: list[ShelfMaterial] = []
    away: list[ShelfMaterial] = []
    for row in sorted(rows, key=lambda one: one.name.casefold()):
        lot_id = newest.get(row.id)
        shipped = find_shipped(row.shipped or row.name)
        if lot_id is not None:
            analysis = analyses[lot_id]
        elif shipped is not None:
            analysis = shipped.analysis
        else:
            analysis = Analysis(row.name, "analysis")
        one = ShelfMaterial(row.name, analysis, lot_id, not row.archived)
        (away if row.archived else found).append(one)
    here = [row for row in rows if not row.archived]
    taken = {fold_name(name) for row in here for name in (row.name, row.shipped)}
    taken |= {fold_name(one.name) for one in away}
    for shipped in shipped_materials():
        if fold_name(shipped.name) not in taken:
            found.append(ShelfMaterial(shipped.name, shipped.analysis, None, False))
    return Shelf(
        tuple(found), read_limits(session), read_stock(session), tuple(away), read_currency(session)
    )


def read_start(session: Session, glaze_id: int) -> RecipeStart:
    """Where a search from a glaze starts; ``problem`` says why there is no formula, if so."""
    glaze = get(session, Glaze, glaze_id)
    recipe = read_analyses(session, [glaze_id])[glaze_id]
    total = sum(recipe.base_parts.values())
    base = {name: 100.0 * parts / total for name, parts in recipe.base_parts.items()}
    lines = session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id == glaze_id, RecipeLine.addition.is_(True))
        .order_by(RecipeLine.position)
    )
    per_hundred = 100.0 / total if total else 1.0
    additions = tuple(
        RecipePart(line.material, line.parts * per_hundred, True, line.lot_id) for line in lines
    )
    formula, problem = _formula(base, recipe.analyses, recipe.missing, read_limits(session))
    return RecipeStart(
        glaze_id,
        glaze.name,
        title_of(glaze.name, glaze.version_number),
        base,
        additions,
        recipe.analyses,
        formula,
        problem,
        count(session, RecipeLine, RecipeLine.glaze_id == glaze_id) > 0,
    )


def _formula(
    base: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    missing: Sequence[str],
    limits: Limits,
) -> tuple[UnityFormula | None, str]:
    if not base:
        return None, "It has no recipe yet: type the formula that is wanted."
    lacking = [name for name in missing if name in base]
    if lacking:
        named = ", ".join(lacking)
        return None, f"No analysis of {named} is known, so its formula is not: add it in Materials."
    try:
        formula = unity_formula(base, analyses, rules_from(limits))
    except UserProblem as problem:
        return None, problem.sentence
    if not formula.is_defined:
        return None, "Its recipe has no flux, so it has no unity formula."
    return formula, ""


def expansion_of(
    parts: Mapping[str, float], analyses: Mapping[str, Mapping[str, float]]
) -> float | None:
    """The calculated expansion of a recipe in 1e-6/K; None where it can't be told."""
    try:
        return linear_expansion(unity_formula(parts, analyses).mole_percent)
    except UserProblem:
        return None


def cost_words(cost: MaterialCost) -> tuple[Decimal | None, str]:
    """A cost per kilogram, and what to say of prices that are missing."""
    if cost.per_kg is None or not cost.missing:
        return cost.per_kg, ""
    return cost.per_kg, f"at least: no price of {', '.join(cost.missing)}"


def found_recipe(
    parts: Mapping[str, float], shelf: Shelf, additions: Sequence[RecipePart] = ()
) -> tuple[RecipePart, ...]:
    """A recipe as it is kept: base with the lots it was computed with, then what is on top.

    Raises `UserProblem` for a recipe with no parts or parts that are not more than 0.
    """
    if not parts:
        raise UserProblem("There is no recipe yet, so nothing can be kept.")
    lines = []
    for name, amount in parts.items():
        if not amount > 0.0:
            raise UserProblem(f"{name}: parts must be more than 0.")
        one = shelf.find(name)
        lines.append(RecipePart(name, amount, False, one.lot_id if one is not None else None))
    return (*lines, *additions)


def recipe_with_on_top(
    session: Session, glaze_id: int, gone: str, parts: Mapping[str, float], shelf: Shelf
) -> tuple[RecipePart, ...]:
    """The recipe of a glaze with ``parts`` (on a hundred of base) on top in the place of ``gone``.

    The base, as a hundred, and what else is on top keep their lots. What is on top already takes
    up more of the same. Raises `UserProblem` where there is nothing to take its place.
    """
    if not parts:
        raise UserProblem("There is no recipe yet, so nothing can be kept.")
    rows = session.scalars(
        select(RecipeLine).where(RecipeLine.glaze_id == glaze_id).order_by(RecipeLine.position)
    ).all()
    total = sum(row.parts for row in rows if not row.addition)
    scale = 100.0 / total if total else 1.0
    lines: list[RecipePart] = []
    waiting = dict(parts)
    for row in rows:
        if row.addition and fold_name(row.material) == fold_name(gone):
            continue
        amount = row.parts * scale
        if row.addition:
            more = next(
                (name for name in waiting if fold_name(name) == fold_name(row.material)), None
            )
            amount += waiting.pop(more) if more is not None else 0.0
        lines.append(RecipePart(row.material, amount, row.addition, row.lot_id))
    for name, amount in waiting.items():
        one = shelf.find(name)
        lines.append(RecipePart(name, amount, True, one.lot_id if one is not None else None))
    return tuple(lines)


def keep_as_version(session: Session, glaze_id: int, recipe: Sequence[RecipePart]) -> int:
    """Keep a recipe found as the glaze's first, or as a new version; returns the glaze's id.

    A line without a lot keeps what the glaze has of its material, as what is on top does.
    """
    if count(session, RecipeLine, RecipeLine.glaze_id == glaze_id):
        return add_version(session, glaze_id, recipe)
    set_recipe(session, glaze_id, recipe)
    return glaze_id


def keep_as_glaze(session: Session, name: str, recipe: Sequence[RecipePart], notes: str) -> int:
    """Keep a recipe found as a glaze of its own; returns its id. Raises `UserProblem`."""
    return add_glaze(session, GlazeDraft(name=name, notes=notes, recipe=tuple(recipe)))
