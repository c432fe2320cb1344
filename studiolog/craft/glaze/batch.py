"""A batch to weigh out: grams by line, rounded to the scale's step, with the error that makes.

A recipe's base makes up the hundred, whatever its parts add up to; additions stand on top of it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate
from typing import Final

from studiolog.craft.glaze.slurry import USUAL_SOLID_DENSITY, dry_mass_g
from studiolog.craft.limits import SHIPPED
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem

USUAL_STEP_G: Final = SHIPPED["scale_step_g"]
USUAL_ERROR: Final = SHIPPED["weighing_error"]
_MOST_G: Final = 1_000_000.0
"""A tonne: more is a slip of the finger."""


@dataclass(frozen=True, slots=True)
class BatchPart:
    """So many parts of a material; an addition stands on top of the hundred."""

    material: str
    parts: float
    addition: bool = False


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One weighing. ``running_g`` is what the scale shows then if nothing is taken off it."""

    material: str
    addition: bool
    share: float
    """Of the whole batch, additions too."""
    wanted_g: float
    weighed_g: float
    running_g: float
    step_g: float
    tolerance: float

    @property
    def error_g(self) -> float:
        """What rounding adds or takes away."""
        return self.weighed_g - self.wanted_g

    @property
    def error_share(self) -> float:
        """The error as a part of what was wanted."""
        return self.error_g / self.wanted_g

    @property
    def doubt_share(self) -> float:
        """Half a step of the scale as a part of what is wanted: what the scale can't tell."""
        return self.step_g / 2.0 / self.wanted_g

    @property
    def breaks(self) -> bool:
        """Whether rounding makes an error above the tolerance."""
        return abs(self.error_share) > self.tolerance + 1e-9

    @property
    def too_coarse(self) -> bool:
        """Whether the scale is too coarse for it, even where rounding happens to fall well."""
        return self.doubt_share > self.tolerance + 1e-9


@dataclass(frozen=True)
class Batch:
    """What is weighed, in the order of the recipe."""

    lines: tuple[BatchLine, ...]
    step_g: float
    tolerance: float

    @cached_property
    def wanted_g(self) -> float:
        """All that the recipe asks for, dry."""
        return math.fsum(line.wanted_g for line in self.lines)

    @cached_property
    def weighed_g(self) -> float:
        """All that is weighed, dry: the last running total."""
        return self.lines[-1].running_g

    @property
    def too_coarse(self) -> tuple[BatchLine, ...]:
        """The lines the scale is too coarse for, even where rounding happens to fall well."""
        return tuple(line for line in self.lines if line.too_coarse)

    @cached_property
    def least_g(self) -> float:
        """The least batch, dry, in which no line is too little for the scale."""
        return max(least_batch_g(line.share, self.step_g, self.tolerance) for line in self.lines)


def batch_of_base(
    parts: Sequence[BatchPart],
    base_g: float,
    step_g: float = USUAL_STEP_G,
    tolerance: float = USUAL_ERROR,
) -> Batch:
    """A batch whose base weighs so much; additions come on top.

    ``tolerance`` is the largest error a weighing may make, as a part of it. Raises `UserProblem`
    for a recipe without a base, parts or amounts that can't be, and a scale without a step.
    """
    base, _ = _sums(parts)
    _check_amount(base_g)
    return _weigh(parts, base_g / base, step_g, tolerance)


def batch_of_dry(
    parts: Sequence[BatchPart],
    dry_g: float,
    step_g: float = USUAL_STEP_G,
    tolerance: float = USUAL_ERROR,
) -> Batch:
    """A batch that weighs so much dry with its additions. Raises as `batch_of_base` does."""
    _, whole = _sums(parts)
    _check_amount(dry_g)
    return _weigh(parts, dry_g / whole, step_g, tolerance)


def batch_of_slurry(
    parts: Sequence[BatchPart],
    volume_ml: float,
    specific_gravity: float,
    solid_density: float = USUAL_SOLID_DENSITY,
    step_g: float = USUAL_STEP_G,
    tolerance: float = USUAL_ERROR,
) -> Batch:
    """A batch for so much slurry at a specific gravity.

    Raises as `batch_of_base` and `slurry.dry_mass_g` do.
    """
    dry_g = dry_mass_g(volume_ml, specific_gravity, solid_density)
    return batch_of_dry(parts, dry_g, step_g, tolerance)


def with_weighed(batch: Batch, weighed_g: Mapping[int, float]) -> Batch:
    """The batch with what really lay on the scale: line, counted from 0 -> grams.

    Raises `UserProblem` for grams under nothing.
    """
    for place, grams in weighed_g.items():
        if not (math.isfinite(grams) and 0 <= grams <= _MOST_G):
            raise UserProblem(
                f"{batch.lines[place].material}: what was weighed must be 0 g or more, and "
                f"{show_quantity(_MOST_G / 1000.0, 'kg')} at most."
            )
    grams_of = [weighed_g.get(place, line.weighed_g) for place, line in enumerate(batch.lines)]
    lines = tuple(
        replace(line, weighed_g=grams, running_g=round(running, 9))
        for line, grams, running in zip(batch.lines, grams_of, accumulate(grams_of), strict=True)
    )
    return Batch(lines, batch.step_g, batch.tolerance)


def least_batch_g(
    share: float, step_g: float = USUAL_STEP_G, tolerance: float = USUAL_ERROR
) -> float:
    """The least batch in which a line of so great a share is weighed within the tolerance.

    ``d / (2 t f)``: 0.25 per cent within 5 per cent on a scale of 0.1 g needs 400 g. Raises
    `UserProblem` for a share or a tolerance of nothing.
    """
    _check_scale(step_g, tolerance)
    if not 0 < share <= 1:
        raise UserProblem("The share of a line in its batch lies between 0 and 100 %.")
    return step_g / (2.0 * tolerance * share)


def round_to_step(grams: float, step_g: float) -> float:
    """Grams as the scale shows them: the nearest of its steps, the upper of two as near."""
    return _grams(_steps(grams, step_g), step_g)


def decimals_of(step_g: float) -> int:
    """The places a scale of this step shows: 1 for 0.1 g and 0.5 g, 0 for 5 g."""
    for places in range(4):
        if math.isclose(step_g * 10**places, round(step_g * 10**places), rel_tol=1e-9):
            return places
    return 4


def show_weight(grams: float, step_g: float) -> str:
    """Grams with the places of the scale: "12.5 g"."""
    return show_quantity(grams, "g", decimals_of(step_g))


def _steps(grams: float, step_g: float) -> int:
    # 0.15 g is one and a half steps of 0.1 g in decimal, and a hair less in binary.
    return math.floor(grams / step_g * (1.0 + 1e-12) + 0.5)


def _grams(steps: int, step_g: float) -> float:
    return round(steps * step_g, 9)


def _weigh(parts: Sequence[BatchPart], each_g: float, step_g: float, tolerance: float) -> Batch:
    _check_scale(step_g, tolerance)
    whole = math.fsum(part.parts for part in parts)
    wanted = [part.parts * each_g for part in parts]
    steps = [_steps(grams, step_g) for grams in wanted]
    return Batch(
        tuple(
            BatchLine(
                part.material,
                part.addition,
                part.parts / whole,
                grams,
                _grams(count, step_g),
                _grams(running, step_g),
                step_g,
                tolerance,
            )
            for part, grams, count, running in zip(
                parts, wanted, steps, accumulate(steps), strict=True
            )
        ),
        step_g,
        tolerance,
    )


def _sums(parts: Sequence[BatchPart]) -> tuple[float, float]:
    """Parts of the base, and of all."""
    for part in parts:
        if not (math.isfinite(part.parts) and part.parts > 0):
            raise UserProblem(
                f"{part.material}: {show_number(part.parts, 2)} parts can't be weighed; give more "
                "than 0, or take the line out of the recipe."
            )
    base = math.fsum(part.parts for part in parts if not part.addition)
    if not parts:
        raise UserProblem("There is no recipe to mix from: enter its materials and parts first.")
    if base <= 0:
        raise UserProblem(
            "The recipe has additions only. Additions stand on top of a base: enter that first."
        )
    return base, math.fsum(part.parts for part in parts)


def _check_amount(grams: float) -> None:
    if not (math.isfinite(grams) and grams > 0):
        raise UserProblem("Give how much to mix: more than 0.")
    if grams > _MOST_G:
        raise UserProblem(
            f"{show_quantity(grams / 1000.0, 'kg')} is more than a studio mixes at once; "
            f"{show_quantity(_MOST_G / 1000.0, 'kg')} at most."
        )


def _check_scale(step_g: float, tolerance: float) -> None:
    if not (math.isfinite(step_g) and step_g > 0):
        raise UserProblem("The step of the scale must be more than 0 g.")
    if not 0 < tolerance < 1:
        raise UserProblem("The error a weighing may make lies between 0 and 100 %.")
