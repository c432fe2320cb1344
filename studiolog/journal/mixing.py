"""Mixing a bucket: what is to be weighed, and keeping what was weighed.

`read_mix_bench` reads all that a mix needs, `lay_out_mix` makes the weighings of an amount asked
for, as often as it is asked and without the journal, and `mix` keeps them in one edit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.batch import (
    Batch,
    BatchPart,
    batch_of_base,
    batch_of_dry,
    batch_of_slurry,
    with_weighed,
)
from studiolog.craft.glaze.cautions import Caution, find_cautions
from studiolog.craft.glaze.formula_words import SEEN_MOL
from studiolog.craft.glaze.materials import find_shipped, fold_name
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.slurry import SolidDensity, recipe_density, volume_of, water_for
from studiolog.craft.glaze.unity import rules_from, unity_formula
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number
from studiolog.journal.analyses import RecipeAnalyses, lot_words, read_analyses
from studiolog.journal.glazes import title_of
from studiolog.journal.limits import read_limits
from studiolog.journal.material_cost import MaterialCost, cost_recipe
from studiolog.journal.stock import StockLine, find_stock, read_stock, take_from_stock
from studiolog.journal.studio import read_currency, read_studio
from studiolog.journal.writing import add, add_all, get
from studiolog.problems import UserProblem
from studiolog.records.glazes import Bucket, BucketLine, Glaze, RecipeLine
from studiolog.records.materials import Material, MaterialLot

USUAL_GRAVITY = 1.45
"""Offered where a glaze has no usual specific gravity of its own (common practice for dipping)."""


@dataclass(frozen=True)
class RecipeWeighing:
    """A line of the recipe with the lot it is computed with; ``lot`` is what the lot is called."""

    material: str
    parts: float
    addition: bool
    lot_id: int | None = None
    lot: str = ""


@dataclass(frozen=True, kw_only=True)
class MixBench:
    """What a mix needs: the recipe, densities, the shelf, cautions and the limits in force."""

    glaze_id: int
    title: str
    studio: str = ""
    recipe: tuple[RecipeWeighing, ...] = ()
    specific_gravity: float | None = None
    densities: Mapping[str, float | None] = field(default_factory=dict)
    stock: Mapping[str, StockLine] = field(default_factory=dict)
    analyses: RecipeAnalyses = field(default_factory=RecipeAnalyses)
    cautions: tuple[Caution, ...] = ()
    limits: Limits = SHIPPED
    currency: str = ""

    @property
    def has_additions(self) -> bool:
        """Whether something stands on top of the hundred."""
        return any(line.addition for line in self.recipe)

    @property
    def density(self) -> SolidDensity:
        """The density of the dry recipe, of its materials or the usual one."""
        return recipe_density(
            _summed(self.recipe), self.densities, usual=self.limits["solid_density"]
        )

    @property
    def loi_percent(self) -> float | None:
        """What the recipe loses in the fire, of 100; None where an analysis is missing."""
        found = self.analyses
        if found.missing or not found.parts:
            return None
        try:
            return unity_formula(found.parts, found.analyses).loi_percent
        except UserProblem:
            return None

    @property
    def cost(self) -> MaterialCost:
        """What its material costs."""
        return cost_recipe(_summed(self.recipe), self.stock, self.currency)


@dataclass(frozen=True, kw_only=True)
class MixAsk:
    """How much is asked for.

    ``amount`` is grams of the base (``of`` "base"), grams dry with the additions ("dry") or
    millilitres of slurry ("slurry"). ``weighed_g`` is what really lay on the scale, by line from 0.
    """

    amount: float
    of: str = "dry"
    specific_gravity: float = USUAL_GRAVITY
    solid_density: float | None = None
    step_g: float | None = None
    weighed_g: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Mix:
    """The weighings of a mix, and what comes of them.

    ``stock_after`` is by line, None where nobody knows the stock; ``short`` names the materials
    there is too little of. ``formula_off`` says by how much rounding moves the formula.
    """

    bench: MixBench
    batch: Batch
    density: SolidDensity
    specific_gravity: float
    water_g: float
    volume_ml: float
    stock_after: tuple[float | None, ...]
    short: tuple[str, ...]
    formula_off: str = ""

    def draft(self, on: date, note: str = "") -> "MixDraft":
        """What is kept of it."""
        return MixDraft(
            mixed_on=on,
            lines=tuple(
                MixedLine(line.material, line.wanted_g, line.weighed_g, part.lot_id)
                for line, part in zip(self.batch.lines, self.bench.recipe, strict=True)
            ),
            water_g=round(self.water_g, 1),
            specific_gravity=self.specific_gravity,
            note=note,
        )


@dataclass(frozen=True)
class MixedLine:
    """What was wanted of a material and what was weighed, of one lot."""

    material: str
    wanted_g: float
    weighed_g: float
    lot_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class MixDraft:
    """A bucket as it was mixed. Its dry weight is the sum of what was weighed."""

    mixed_on: date
    lines: tuple[MixedLine, ...]
    water_g: float | None = None
    specific_gravity: float | None = None
    note: str = ""


def read_mix_bench(session: Session, glaze_id: int) -> MixBench | None:
    """All that a mix of this glaze needs; None if the glaze is gone."""
    glaze = session.get(Glaze, glaze_id)
    if glaze is None:
        return None
    rows = session.execute(
        select(RecipeLine, MaterialLot.label, MaterialLot.dated)
        .outerjoin(MaterialLot, MaterialLot.id == RecipeLine.lot_id)
        .where(RecipeLine.glaze_id == glaze_id)
        .order_by(RecipeLine.addition, RecipeLine.position)
    )
    recipe = tuple(
        RecipeWeighing(
            line.material, line.parts, line.addition, line.lot_id, lot_words(label or "", dated)
        )
        for line, label, dated in rows
    )
    analyses = read_analyses(session, [glaze_id])[glaze_id]
    return MixBench(
        glaze_id=glaze_id,
        title=title_of(glaze.name, glaze.version_number),
        studio=read_studio(session).name,
        recipe=recipe,
        specific_gravity=glaze.specific_gravity,
        densities=read_densities(session, [line.material for line in recipe]),
        stock=read_stock(session),
        analyses=analyses,
        cautions=find_cautions((line.material for line in recipe), analyses.analyses),
        limits=read_limits(session),
        currency=read_currency(session),
    )


def read_densities(session: Session, materials: Sequence[str]) -> dict[str, float | None]:
    """Material -> its solid density in g/ml: the journal's own, else the shipped one, else None."""
    own = {
        fold_name(name): density
        for name, density in session.execute(select(Material.name, Material.solid_density))
    }
    found: dict[str, float | None] = {}
    for name in materials:
        density = own.get(fold_name(name))
        if density is None:
            shipped = find_shipped(name)
            density = shipped.solid_density if shipped is not None else None
        found[name] = density
    return found


def lay_out_mix(bench: MixBench, ask: MixAsk) -> Mix:
    """The weighings of an amount.

    Raises `UserProblem` for a recipe that can't be mixed and an amount or a specific gravity that
    can't be.
    """
    limits = bench.limits
    density = bench.density
    if ask.solid_density is not None:
        density = SolidDensity(ask.solid_density, "typed")
    parts = [BatchPart(line.material, line.parts, line.addition) for line in bench.recipe]
    step_g = limits["scale_step_g"] if ask.step_g is None else ask.step_g
    tolerance = limits["weighing_error"]
    if ask.of == "slurry":
        batch = batch_of_slurry(
            parts, ask.amount, ask.specific_gravity, density.g_per_ml, step_g, tolerance
        )
    else:
        weigh = {"base": batch_of_base, "dry": batch_of_dry}[ask.of]
        batch = weigh(parts, ask.amount, step_g, tolerance)
    if ask.weighed_g:
        batch = with_weighed(batch, ask.weighed_g)
    if batch.weighed_g <= 0:
        raise UserProblem(
            "Nothing is weighed: every line is less than half a step of the scale. Mix more, or "
            "use a finer scale."
            if not ask.weighed_g
            else "Nothing is weighed: give at least one line more than 0 g."
        )
    water_g = water_for(batch.weighed_g, ask.specific_gravity, density.g_per_ml)
    after, short = _stock_after(bench.stock, batch)
    return Mix(
        bench=bench,
        batch=batch,
        density=density,
        specific_gravity=ask.specific_gravity,
        water_g=water_g,
        volume_ml=volume_of(batch.weighed_g, water_g, density.g_per_ml),
        stock_after=after,
        short=short,
        formula_off=_say_formula_off(bench, batch),
    )


def mix(session: Session, glaze_id: int, draft: MixDraft) -> int:
    """Keep a bucket with what was weighed into it, and take that from the stock; returns its id.

    More than there is on the shelf may be taken: what was weighed was weighed. Raises
    `UserProblem` if nothing was.
    """
    get(session, Glaze, glaze_id)
    dry_g = sum(line.weighed_g for line in draft.lines)
    if dry_g <= 0:
        raise UserProblem("Nothing was weighed, so there is no bucket to keep.")
    bucket_id = add(
        session,
        Bucket(
            glaze_id=glaze_id,
            mixed_on=draft.mixed_on,
            dry_g=round(dry_g, 6),
            water_g=draft.water_g,
            specific_gravity=draft.specific_gravity,
            adjustments=draft.note.strip(),
        ),
    )
    add_all(
        session,
        [
            BucketLine(
                bucket_id=bucket_id,
                position=position,
                material=line.material,
                wanted_g=line.wanted_g,
                weighed_g=line.weighed_g,
                lot_id=line.lot_id,
            )
            for position, line in enumerate(draft.lines, start=1)
        ],
    )
    taken: dict[str, float] = {}
    for line in draft.lines:
        taken[line.material] = taken.get(line.material, 0.0) + line.weighed_g
    take_from_stock(session, taken, draft.mixed_on, bucket_id=bucket_id)
    return bucket_id


def _summed(recipe: Sequence[RecipeWeighing]) -> dict[str, float]:
    found: dict[str, float] = {}
    for line in recipe:
        found[line.material] = found.get(line.material, 0.0) + line.parts
    return found


def _stock_after(
    stock: Mapping[str, StockLine], batch: Batch
) -> tuple[tuple[float | None, ...], tuple[str, ...]]:
    """What is left on the shelf after each line, and of what there is too little."""
    left: dict[str, float | None] = {}
    after: list[float | None] = []
    for line in batch.lines:
        name = fold_name(line.material)
        if name not in left:
            known = find_stock(stock, line.material)
            left[name] = known.grams if known is not None else None
        here = left[name]
        left[name] = here - line.weighed_g if here is not None else None
        after.append(left[name])
    short = {
        line.material: None
        for line in batch.lines
        if (left[fold_name(line.material)] or 0.0) < -1e-6
    }
    return tuple(after), tuple(short)


def _say_formula_off(bench: MixBench, batch: Batch) -> str:
    """By how much the weighed batch differs from the recipe; "" where that can't be computed."""
    found = bench.analyses
    if found.missing or not found.parts:
        return ""
    as_weighed: dict[str, float] = {}
    for (_, name), line in zip(found.lines, batch.lines, strict=True):
        as_weighed[name] = as_weighed.get(name, 0.0) + line.weighed_g
    rules = rules_from(bench.limits)
    try:
        asked = unity_formula(found.parts, found.analyses, rules)
        made = unity_formula(as_weighed, found.analyses, rules)
    except UserProblem:
        return ""  # its own page says why this recipe has no formula
    before, after = asked.oxides, made.oxides
    unit = "mol"
    if not (asked.is_defined and made.is_defined):
        before, after, unit = asked.mole_percent, made.mole_percent, "mol %"
    oxide = max(before, key=lambda one: abs(after.get(one, 0.0) - before[one]))
    was, is_now = before[oxide], after.get(oxide, 0.0)
    if abs(is_now - was) < SEEN_MOL:
        return (
            f"As weighed, the formula stays within {show_number(SEEN_MOL, 3)} {unit} of the recipe."
        )
    return (
        f"As weighed, {pretty(oxide)} is {show_number(is_now, 3)} {unit} where the recipe has "
        f"{show_number(was, 3)}; everything else is nearer."
    )
