"""A material that can't be had any more: the recipe without it, and what changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.target import Bound, Residual, TargetRecipe, Wishes, recipe_for_formula
from studiolog.craft.glaze.target_problem import materials_in
from studiolog.craft.glaze.unity import USUAL, UnityFormula, UnityRules, unity_formula
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number
from studiolog.problems import UserProblem

ALKALIS: Final = ("K2O", "Na2O")
_SAME: Final = 0.005  # moles; less of a swap is not worth a sentence


@dataclass(frozen=True)
class Replacement:
    """A recipe with a material replaced.

    ``parts`` by material come to what the base came to before. ``found`` tells how near the
    formula is; ``swaps`` are sentences on alkalis that took each other's place.
    """

    gone: str
    parts: Mapping[str, float]
    before: UnityFormula
    after: UnityFormula
    found: TargetRecipe
    swaps: tuple[str, ...]

    @property
    def residual(self) -> tuple[Residual, ...]:
        return self.found.residual


def replace_material(
    parts: Mapping[str, float],
    gone: str,
    analyses: Mapping[str, Mapping[str, float]],
    shelf: Mapping[str, Mapping[str, float]],
    *,
    alkalis_together: bool = False,
    fewest: bool = True,
    clay_parts: float = 0.0,
    bounds: Mapping[str, Bound] | None = None,
    rules: UnityRules = USUAL,
    limits: Limits = SHIPPED,
) -> Replacement:
    """The base of a recipe without ``gone``, its formula kept as well as the shelf allows.

    ``parts``: the base, without what is added on top. ``analyses``: of the recipe, ``gone`` among
    them. ``shelf``: what the new recipe may have; ``gone`` is left out of it.
    ``alkalis_together``: K₂O and Na₂O matched by their sum, as where a feldspar of the one takes
    the place of a feldspar of the other. Raises UserProblem where the recipe has no formula.
    """
    if not parts.get(gone, 0.0) > 0.0:
        raise UserProblem(f"{gone} is not in the recipe, so there is nothing to replace.")
    before = unity_formula(parts, analyses, rules)
    if not before.is_defined:
        raise UserProblem(
            "This recipe has no flux, so it has no unity formula that could be kept. "
            "Replace the material by one like it, weight for weight, and test."
        )
    allowed = {name: one for name, one in shelf.items() if name != gone}
    kept = bool(materials_in(allowed, rules)[0])
    if not kept:
        raise UserProblem(f"Choose what may take the place of {gone}.")
    found = recipe_for_formula(
        before.oxides,
        allowed,
        bounds=bounds,
        wishes=Wishes(fewest, clay_parts, ALKALIS if alkalis_together else ()),
        rules=rules,
        limits=limits,
    )
    base = sum(parts.values())
    scaled = {name: amount * base / 100.0 for name, amount in found.parts.items()}
    swaps = _swaps(before, found.formula)
    return Replacement(gone, MappingProxyType(scaled), before, found.formula, found, swaps)


def replace_addition(
    parts: float,
    gone: Mapping[str, float],
    instead: Mapping[str, float],
    rules: UnityRules = USUAL,
) -> tuple[str, float]:
    """The oxide that matters most in an addition, and the parts of another that bring as much.

    ``gone`` and ``instead`` are analyses. Raises UserProblem where the other brings none of it.
    """
    names = {"gone": gone, "instead": instead}
    brought, _ = materials_in(names, rules)
    if "gone" not in brought:
        raise UserProblem("What is replaced has no analysis, so nothing can be matched.")
    oxide, moles = max(brought["gone"].items(), key=lambda one: one[1])
    has = brought.get("instead", {}).get(oxide, 0.0)
    if has <= 0.0:
        raise UserProblem(f"It brings no {pretty(oxide)}, which is what the addition is there for.")
    return oxide, parts * moles / has


def _swaps(before: UnityFormula, after: UnityFormula) -> tuple[str, ...]:
    moved = {
        oxide: after.oxides.get(oxide, 0.0) - before.oxides.get(oxide, 0.0) for oxide in ALKALIS
    }
    less = min(moved, key=lambda oxide: moved[oxide])
    more = max(moved, key=lambda oxide: moved[oxide])
    if moved[less] > -_SAME or moved[more] < _SAME:
        return ()
    amount = min(-moved[less], moved[more])
    return (
        f"{show_number(amount, 3)} mol of {pretty(less)} became {pretty(more)}: "
        f"{pretty(less)} {show_number(before.oxides.get(less, 0.0), 3)} to "
        f"{show_number(after.oxides.get(less, 0.0), 3)}, {pretty(more)} "
        f"{show_number(before.oxides.get(more, 0.0), 3)} to "
        f"{show_number(after.oxides.get(more, 0.0), 3)}.",
    )
