"""From a unity formula and a shelf of materials to a recipe, and how near it comes.

Least squares on moles per gram with no negative amounts; an oxide's error is weighed by how much of
it is wanted (small amounts by a floor), and a row heavier than any of them holds the flux sum at 1,
without which the unity formula of the answer misses SiO₂ by 0.3 to 0.4. What a potter holds (a
material at so many parts, clay enough to keep the glaze in suspension) is kept exactly.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.glaze.oxides import in_order, read_oxide
from studiolog.craft.glaze.target_problem import (
    Bound,
    Problem,
    Wishes,
    materials_in,
    on_unity,
    other_ways,
    solve,
    state,
)
from studiolog.craft.glaze.target_reasons import Miss, find_reasons
from studiolog.craft.glaze.unity import USUAL, UnityFormula, UnityRules, unity_formula
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import THIN, show_number
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "Alternative",
    "Bound",
    "Residual",
    "TargetRecipe",
    "Wishes",
    "judge_recipe",
    "recipe_for_formula",
    "round_parts",
]

_MOST_ALTERNATIVES: Final = 6
_NO_WISHES: Final = Wishes()
_MOST_TRIED: Final = 12  # materials whose rounding up or down is tried in every combination


@dataclass(frozen=True, slots=True)
class Residual:
    """How far one oxide is from what was wanted, in moles per mole of flux.

    ``off`` is got less wanted, ``share`` that part of what was wanted (None where none was).
    ``within``: near enough by the limits; oxides matched by their sum are judged by it.
    """

    oxide: str
    wanted: float
    got: float
    within: bool

    @property
    def off(self) -> float:
        """Moles per mole of flux too much, less than 0 where it is short."""
        return self.got - self.wanted

    @property
    def share(self) -> float | None:
        """`off` as a part of what was wanted."""
        return self.off / self.wanted if self.wanted > 0.0 else None

    @property
    def words(self) -> str:
        """``as wanted``, ``0.12 short (30 %)``, ``0.03 not asked for``."""
        size = abs(self.off)
        told = show_number(size, 2 if size >= 0.0995 else 3)
        if float(told) == 0.0:
            return "as wanted"
        if self.share is None:
            return f"{told} not asked for"
        part = show_number(100.0 * abs(self.share), 0 if abs(self.share) >= 0.0995 else 1)
        side = "short" if self.off < 0.0 else "too much"
        return f"{told} {side} ({part}{THIN}%)"


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another recipe that meets the formula as well: without ``leaves`` and with ``brings``."""

    leaves: tuple[str, ...]
    brings: tuple[str, ...]
    parts: Mapping[str, float]


@dataclass(frozen=True)
class TargetRecipe:
    """A recipe found for a formula.

    ``parts`` of a hundred by material, those in use only, the most first. ``target`` is the
    formula on the flux unity, ``formula`` what the parts give. ``reached``: every oxide is near
    enough; else ``reasons`` say why not. ``no_analysis``: materials there is nothing to compute
    from. ``unique``: no other recipe from this shelf does as well; ``could_join``: unused ones that
    could come in without any change of formula.
    """

    parts: Mapping[str, float]
    target: Mapping[str, float]
    formula: UnityFormula
    residual: tuple[Residual, ...]
    reached: bool
    reasons: tuple[str, ...]
    no_analysis: tuple[str, ...]
    unique: bool
    could_join: tuple[str, ...]
    alternatives: tuple[Alternative, ...]

    def off(self, oxide: str) -> float:
        """How far an oxide is off, moles per mole of flux; 0 for one nobody speaks of."""
        return next((one.off for one in self.residual if one.oxide == oxide), 0.0)


def recipe_for_formula(
    target: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    *,
    bounds: Mapping[str, Bound] | None = None,
    weights: Mapping[str, float] | None = None,
    wishes: Wishes = _NO_WISHES,
    rules: UnityRules = USUAL,
    limits: Limits = SHIPPED,
) -> TargetRecipe:
    """The recipe from a shelf that comes nearest to a formula.

    ``target``: moles by oxide, brought to a flux sum of 1 if it is another. ``analyses``: the
    materials the recipe may have, weight per cent by oxide and "LOI". ``bounds``: parts of a
    hundred by material. ``weights``: how much an oxide matters, 1 by default.
    Raises UserProblem for a formula without flux, a shelf that can't answer at all, and bounds
    or wishes that leave no recipe.
    """
    wanted = on_unity(target, rules)
    importance = {read_oxide(oxide): value for oxide, value in (weights or {}).items()}
    problem = state(wanted, analyses, bounds or {}, importance, wishes, rules, limits)
    amounts = solve(problem)
    if amounts is None:
        raise UserProblem(
            "None of the materials chosen brings what the formula asks for: choose others."
        )
    judge = _Judge(problem, wishes, limits)
    if wishes.fewest:
        amounts = judge.with_fewest(amounts)
    residual = judge.residual(amounts)
    reached = all(one.within for one in residual)
    misses = [Miss(one.oxide, one.wanted, one.off) for one in residual if not one.within]
    parts = judge.parts(amounts)
    joining = tuple(problem.names[place] for place in other_ways(problem, amounts))
    alternatives = judge.alternatives(amounts) if reached else ()
    return TargetRecipe(
        MappingProxyType(parts),
        MappingProxyType(wanted),
        unity_formula(parts, analyses, rules),
        residual,
        reached,
        () if reached else find_reasons(problem, amounts, misses),
        materials_in(analyses, rules)[1],
        not joining and not alternatives,
        joining,
        alternatives,
    )


def judge_recipe(
    parts: Mapping[str, float],
    target: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    *,
    together: Sequence[str] = (),
    rules: UnityRules = USUAL,
    limits: Limits = SHIPPED,
) -> tuple[Residual, ...]:
    """How far a recipe is from a formula, oxide by oxide; of a rounded one, for example."""
    wanted = on_unity(target, rules)
    got = unity_formula(parts, analyses, rules).oxides
    if not got:
        raise UserProblem("This recipe has no flux, so it has no unity formula to compare.")
    return _residual(wanted, got, tuple(read_oxide(oxide) for oxide in together), limits)


def _residual(
    wanted: Mapping[str, float],
    got: Mapping[str, float],
    together: Sequence[str],
    limits: Limits,
) -> tuple[Residual, ...]:
    def near(want: float, have: float) -> bool:
        most = max(limits["target_off_mol"], limits["target_off_share"] * want)
        return abs(have - want) <= most

    sums = near(
        sum(wanted.get(oxide, 0.0) for oxide in together),
        sum(got.get(oxide, 0.0) for oxide in together),
    )
    found = []
    for oxide in in_order({**wanted, **got}):
        if oxide == "F":
            continue
        want, have = wanted.get(oxide, 0.0), got.get(oxide, 0.0)
        within = sums if oxide in together else near(want, have)
        found.append(Residual(oxide, want, have, within))
    return tuple(found)


@dataclass(frozen=True)
class _Judge:
    """Tells how good some amounts are, and looks for others as good."""

    problem: Problem
    wishes: Wishes
    limits: Limits

    def parts(self, amounts: NDArray[Any]) -> dict[str, float]:
        """Parts of a hundred, the most first."""
        total = float(amounts.sum())
        found = {
            name: 100.0 * float(amount) / total
            for name, amount in zip(self.problem.names, amounts, strict=True)
            if amount > 0.0
        }
        return dict(sorted(found.items(), key=lambda one: -one[1]))

    def residual(self, amounts: NDArray[Any]) -> tuple[Residual, ...]:
        """Raises UserProblem where there is no flux to bring to one."""
        got = self.problem.unity_of(amounts)
        if not got:
            raise UserProblem("With what is held, the recipe has no flux: hold less, or allow one.")
        together = tuple(read_oxide(oxide) for oxide in self.wishes.together)
        return _residual(self.problem.wanted, got, together, self.limits)

    def as_good(self, amounts: NDArray[Any], as_these: Sequence[Residual]) -> bool:
        """Whether no oxide is off by more than it may be, or than it was."""
        if float(self.problem.flux @ amounts) <= 0.0:
            return False
        before = {one.oxide: abs(one.off) for one in as_these}
        return all(
            one.within or abs(one.off) <= before.get(one.oxide, 0.0) + 1e-9
            for one in self.residual(amounts)
        )

    def misfit(self, amounts: NDArray[Any]) -> float:
        left = self.problem.left_over(amounts) * self.problem.weights
        return float(left @ left)

    def with_fewest(self, amounts: NDArray[Any]) -> NDArray[Any]:
        """Leave out one material after the other while the formula is met as well."""
        first = self.residual(amounts)
        out: set[int] = set()
        while True:
            used = [int(place) for place in amounts.nonzero()[0]]
            tried = []
            for place in used:
                other = solve(self.problem, (*out, place))
                if other is None or not self.as_good(other, first):
                    continue
                if int((other > 0.0).sum()) < len(used):
                    tried.append((self.misfit(other), place, other))
            if not tried:
                return amounts
            _, place, amounts = min(tried, key=lambda one: one[:2])
            out.add(place)

    def alternatives(self, amounts: NDArray[Any]) -> tuple[Alternative, ...]:
        """Recipes that do without one of the materials in use, the best first."""
        first = self.residual(amounts)
        used = self.parts(amounts)
        found: dict[frozenset[str], tuple[float, Alternative]] = {}
        for place in amounts.nonzero()[0]:
            other = solve(self.problem, (int(place),))
            if other is None or not self.as_good(other, first):
                continue
            parts = self.parts(other)
            one = Alternative(
                tuple(name for name in used if name not in parts),
                tuple(name for name in parts if name not in used),
                MappingProxyType(parts),
            )
            found.setdefault(frozenset(parts), (self.misfit(other), one))
        ordered = sorted(found.values(), key=lambda one: one[0])
        return tuple(one for _, one in ordered)[:_MOST_ALTERNATIVES]


def round_parts(
    parts: Mapping[str, float],
    step: float,
    target: Mapping[str, float] | None = None,
    analyses: Mapping[str, Mapping[str, float]] | None = None,
    *,
    rules: UnityRules = USUAL,
    limits: Limits = SHIPPED,
) -> dict[str, float]:
    """Parts of a hundred in whole steps, together still a hundred.

    Each is rounded up or down so that the formula suffers least, if it is given with the analyses;
    else those nearest to the next step go up. What comes to nothing is left out. Raises
    UserProblem for a step that is not more than 0 or does not divide a hundred.
    """
    steps = round(100.0 / step) if step > 0.0 and math.isfinite(step) else 0
    if steps < 1 or abs(steps * step - 100.0) > 1e-6:
        raise UserProblem(
            f"Parts can't be rounded to steps of {step:g}: give a step that divides 100."
        )
    total = sum(parts.values())
    if not (math.isfinite(total) and total > 0.0):
        raise UserProblem("There are no parts to round.")
    exact = {name: amount / total * steps for name, amount in parts.items()}
    down = {name: math.floor(amount + 1e-9) for name, amount in exact.items()}
    up = steps - sum(down.values())
    nearest = sorted(exact, key=lambda name: (down[name] - exact[name], name))
    chosen: Sequence[str] = nearest[:up]
    if target is not None and analyses is not None and len(exact) <= _MOST_TRIED:
        moving = [name for name in nearest if exact[name] - down[name] > 1e-9]
        chosen = _round_well(down, moving, up, target, analyses, rules, limits) or chosen
    counted = {name: down[name] + (name in chosen) for name in parts}
    decimals = max(0, math.ceil(-math.log10(step) - 1e-9) + 1)
    return {name: round(n * step, decimals) for name, n in counted.items() if n > 0}


def _round_well(
    down: Mapping[str, int],
    moving: Sequence[str],
    up: int,
    target: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    rules: UnityRules,
    limits: Limits,
) -> tuple[str, ...]:
    """Which materials to round up so that the formula suffers least; none if it can't be told."""
    import numpy as np

    wanted = on_unity(target, rules)
    problem = state(wanted, analyses, {}, {}, Wishes(), rules, limits)
    if not set(down) <= set(problem.names) or len(moving) < up:
        return ()
    places = {name: at for at, name in enumerate(problem.names)}
    base = np.zeros(len(problem.names))
    for name, n in down.items():
        base[places[name]] = n
    best: tuple[float, tuple[str, ...]] = (math.inf, ())
    for some in combinations(moving, up):
        amounts = base.copy()
        amounts[[places[name] for name in some]] += 1.0
        flux = float(problem.flux @ amounts)
        if flux <= 0.0:
            continue
        left = (problem.left_over(amounts / flux) * problem.weights)[:-1]
        best = min(best, (float(left @ left), some))
    return best[1]
