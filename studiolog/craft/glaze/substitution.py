"""A material that can't be had any more: the recipe without it, and what changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from studiolog.craft.glaze.formula_words import SEEN_MOL
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.target import Bound, Residual, TargetRecipe, Wishes, recipe_for_formula
from studiolog.craft.glaze.target_problem import materials_in
from studiolog.craft.glaze.unity import USUAL, UnityFormula, UnityRules, unity_formula
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number
from studiolog.problems import UserProblem

ALKALIS: Final = ("K2O", "Na2O")


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
        """How far each oxide is from the formula before."""
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
    swaps = say_swaps(before.oxides, found.formula.oxides)
    return Replacement(gone, MappingProxyType(scaled), before, found.formula, found, swaps)


def say_swaps(before: Mapping[str, float], after: Mapping[str, float]) -> tuple[str, ...]:
    """Which alkali took the other's place, in a sentence; nothing where neither did."""
    moved = {oxide: after.get(oxide, 0.0) - before.get(oxide, 0.0) for oxide in ALKALIS}
    less = min(moved, key=lambda oxide: moved[oxide])
    more = max(moved, key=lambda oxide: moved[oxide])
    if moved[less] > -SEEN_MOL or moved[more] < SEEN_MOL:
        return ()
    told = [
        f"{pretty(oxide)} {show_number(before.get(oxide, 0.0), 3)} to "
        f"{show_number(after.get(oxide, 0.0), 3)}"
        for oxide in (less, more)
    ]
    amount = show_number(min(-moved[less], moved[more]), 3)
    return (f"{amount} mol of {pretty(less)} became {pretty(more)}: {', '.join(told)}.",)
