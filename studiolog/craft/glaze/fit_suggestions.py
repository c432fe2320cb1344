"""Which small change of a recipe would bring a glaze to the safe side of a clay.

Two ways are tried in the direction that is wanted: more silica (or less, against shivering), and a
swap of flux between alkalies (Na₂O, K₂O) and others (CaO, MgO, ZnO, SrO) that keeps the rest of
the formula. Each is as small as will do, rounded to what can be weighed, and judged anew as it
would be mixed. Nothing is promised: a suggestion is a version to test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from studiolog.craft.glaze.expansion import linear_expansion
from studiolog.craft.glaze.fit import Chance, GlazeStanding, Threshold
from studiolog.craft.glaze.fit_warnings import is_kaolin, warn_of_clay, warn_of_formula
from studiolog.craft.glaze.oxides import FLUXES, MOLAR_MASSES_G, R2O, pretty
from studiolog.craft.glaze.target import TargetRecipe, recipe_for_formula, round_parts
from studiolog.craft.glaze.unity import UnityFormula, rules_from, unity_formula
from studiolog.craft.limits import Limits
from studiolog.problems import UserProblem

Way = Literal["silica", "flux"]
Analyses = Mapping[str, Mapping[str, float]]

STEP_PARTS: Final = 0.5  # of the material that is added or taken away
_ROUND_PARTS: Final = 0.1  # of a hundred, as recipes are written
_SWAP_STEPS: Final = 40
_TRACE_PERCENT: Final = 1.5  # of what a flux material must not bring along
_MOST_SWAPS: Final = 3
_OTHER_FLUXES: Final = ("CaO", "MgO", "ZnO", "SrO")
_UNWANTED: Final = ("Li2O", "BaO", "PbO", "B2O3", "P2O5", "F", "Fe2O3", "FeO", "TiO2", "ZrO2")


@dataclass(frozen=True)
class FitRecipe:
    """A recipe and the shelf it may be changed from.

    ``base`` and ``additions``: parts by material; ``analyses`` of them and of all on the ``shelf``
    (weight per cent, "LOI"), whose materials may come in beside those of the base.
    """

    base: Mapping[str, float]
    additions: Mapping[str, float]
    analyses: Analyses
    shelf: tuple[str, ...] = ()


@dataclass(frozen=True)
class GlazeState:
    """A recipe as fit sees it."""

    formula: UnityFormula
    expansion_ppm_k: float
    chance: Chance


@dataclass(frozen=True)
class Suggestion:
    """A changed recipe, as it would be mixed.

    ``parts``: the new base, of as many parts as the old one. ``amount``: parts of ``material``
    added (less than 0: taken away), or for "flux" the share of all flux that is swapped for that
    of the material. ``change_error_ppm_k``: how far the calculated change may be off (one standard
    deviation). ``reached``: the chance is under the limit "safe_chance". ``warnings``: what else
    the change does. ``other``: the chance of the other fault of fit, before and after.
    """

    way: Way
    material: str
    amount: float
    parts: Mapping[str, float]
    before: GlazeState
    after: GlazeState
    change_error_ppm_k: float
    reached: bool
    warnings: tuple[str, ...]
    other: tuple[Chance, Chance] | None = None

    @property
    def change_ppm_k(self) -> float:
        """How the calculated expansion moves, in 1e-6/K."""
        return self.after.expansion_ppm_k - self.before.expansion_ppm_k


@dataclass(frozen=True)
class FitSuggestions:
    """All that was found, those that reach the safe side first, and why some ways are closed."""

    safe_already: bool
    found: tuple[Suggestion, ...]
    not_possible: tuple[str, ...]


def suggest_changes(
    recipe: FitRecipe, standing: GlazeStanding, other: Threshold | None = None
) -> FitSuggestions:
    """What would bring a glaze under the limit "safe_chance" of the fault it stands with.

    ``standing``: the glaze as it is now; what sets it apart from others of its expansion is taken
    to stay with its new version. ``other``: the threshold of the other fault, to tell what the
    change does to it. The limits are those of the threshold. Raises UserProblem for a recipe that
    can't be computed or has no flux.
    """
    return _Search(recipe, standing, other).run()


class _Search:
    def __init__(self, recipe: FitRecipe, standing: GlazeStanding, other: Threshold | None) -> None:
        self.recipe, self.standing, self.other = recipe, standing, other
        self.limits: Limits = standing.known.limits
        self.rules = rules_from(self.limits)
        self.total = sum(recipe.base.values())
        self.lower = standing.known.fault == "crazing"
        formula = self.formula_of(recipe.base)
        if not formula.is_defined:
            raise UserProblem("This recipe has no flux, so there is no glaze to bring to fit.")
        alpha = linear_expansion(formula.mole_percent)
        self.before = GlazeState(formula, alpha, standing.chance())

    def run(self) -> FitSuggestions:
        safe = self.limits["safe_chance"]
        if self.before.chance.mean <= safe:
            return FitSuggestions(True, (), ())
        found: list[Suggestion] = []
        closed: list[str] = []
        for way in (self.by_silica, self.by_flux):
            some, why = way()
            found += some
            closed += why
        found.sort(
            key=lambda one: (
                not one.reached,
                one.after.chance.mean if not one.reached else 0.0,
                len(one.warnings),
                one.way,
            )
        )
        return FitSuggestions(False, tuple(found), tuple(closed))

    def formula_of(self, base: Mapping[str, float]) -> UnityFormula:
        """Of a base with the recipe's additions, which stay so many on a hundred."""
        total = sum(base.values())
        parts = dict(base)
        for material, amount in self.recipe.additions.items():
            parts[material] = parts.get(material, 0.0) + amount * total / self.total
        return unity_formula(parts, self.recipe.analyses, self.rules)

    def chance_at(self, mole_percent: Mapping[str, float]) -> Chance:
        """Of a new version of the glaze."""
        change = linear_expansion(mole_percent) - self.before.expansion_ppm_k
        error = _error(self.before.formula.mole_percent, mole_percent, self.limits)
        return self.standing.chance(change, error)

    # More silica, or less

    def by_silica(self) -> tuple[list[Suggestion], list[str]]:
        material = self.silica_material()
        if material is None:
            return [], ["Silica: there is none in the recipe and none on the shelf."]
        own = self.recipe.base.get(material, 0.0)
        most = self.limits["most_added_parts"] * self.total / 100.0
        if not self.lower:
            most = min(most, own)
            if most < STEP_PARTS:
                return [], ["Silica: the recipe has no silica of its own to take away."]
        sign = 1.0 if self.lower else -1.0

        def changed(steps: int) -> dict[str, float]:
            base = {**self.recipe.base, material: own + sign * steps * STEP_PARTS}
            return {name: parts for name, parts in base.items() if parts > 0.0}

        last = math.floor(most / STEP_PARTS)
        steps = self.least(last, lambda n: self.chance_at(self.formula_of(changed(n)).mole_percent))
        while True:
            one = self.finish("silica", material, sign * steps * STEP_PARTS, changed(steps))
            # What can be weighed may fall just short of what was asked for.
            if one.reached or steps == last:
                return [one], []
            steps += 1

    def silica_material(self) -> str | None:
        """The recipe's own, else one of the shelf: nearly nothing but SiO₂."""
        names = [*self.recipe.base, *self.recipe.shelf]
        pure = [n for n in names if self.recipe.analyses.get(n, {}).get("SiO2", 0.0) > 95.0]
        return pure[0] if pure else None

    def least(self, most: int, chance: Callable[[int], Chance]) -> int:
        """The least number of steps that reaches the safe side, ``most`` where none does."""
        safe = self.limits["safe_chance"]
        if chance(most).mean > safe:
            return most
        low, high = 0, most
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if chance(middle).mean <= safe else (middle, high)
        return high

    # A swap of flux

    def by_flux(self) -> tuple[list[Suggestion], list[str]]:
        base = unity_formula(self.recipe.base, self.recipe.analyses, self.rules)
        given = R2O if self.lower else _OTHER_FLUXES
        there = sum(base.oxides.get(oxide, 0.0) for oxide in given if oxide != "Li2O")
        words = "Na₂O or K₂O" if self.lower else "CaO, MgO, ZnO or SrO"
        if there < 0.02:
            return [], [f"Flux: the base has next to no {words} to swap."]
        found: list[Suggestion] = []
        closed: list[str] = []
        for material, brings in self.flux_materials().items():
            try:
                one = self.swap(
                    base, material, brings, min(there, self.limits["most_swapped_flux"])
                )
            except UserProblem as problem:
                closed.append(f"{material}: {problem.sentence}")
                continue
            if isinstance(one, str):
                closed.append(one)
            elif all(one.parts != other.parts for other in found):
                found.append(one)
        if not found and not closed:
            kind = _OTHER_FLUXES if self.lower else ("a feldspar",)
            named = ", ".join(pretty(oxide) for oxide in kind)
            closed.append(f"Flux: no material on the shelf brings {named} without much else.")
        found.sort(key=lambda one: (not one.reached, abs(one.amount), one.after.chance.mean))
        return found[:_MOST_SWAPS], closed

    def flux_materials(self) -> dict[str, dict[str, float]]:
        """Materials that bring the flux wanted and little else, with its oxides as shares of one.

        How much else is too much is a judgement. Alkalies are wanted from a feldspar: soda and
        potash alone dissolve in the bucket.
        """
        names = dict.fromkeys([*self.recipe.base, *self.recipe.shelf])
        found = {}
        for name in names:
            analysis = self.recipe.analyses.get(name, {})
            if any(analysis.get(oxide, 0.0) > _TRACE_PERCENT for oxide in _UNWANTED):
                continue
            moles = {oxide: analysis.get(oxide, 0.0) / MOLAR_MASSES_G[oxide] for oxide in FLUXES}
            flux = sum(moles.values())
            wanted = _OTHER_FLUXES if self.lower else ("Na2O", "K2O")
            brought = sum(moles[oxide] for oxide in wanted)
            if flux <= 0.05 or brought < 0.85 * flux:
                continue
            if self.lower and analysis.get("Al2O3", 0.0) > 5.0:
                continue
            if not self.lower and analysis.get("Al2O3", 0.0) < 5.0:
                continue
            found[name] = {o: moles[o] / brought for o in wanted if moles[o] > 0.01 * brought}
        return found

    def swap(
        self, base: UnityFormula, material: str, brings: Mapping[str, float], most: float
    ) -> Suggestion | str:
        def target(steps: int) -> dict[str, float]:
            return _swapped(base.oxides, brings, most * steps / _SWAP_STEPS, self.lower)

        def chance(steps: int) -> Chance:
            return self.chance_at(self.mole_percent_of(base, target(steps)))

        # Swapped for a flux of much the same factor, next to nothing would be gained.
        gained = self.before.chance.mean - chance(_SWAP_STEPS).mean
        if gained < 0.05 * self.before.chance.mean:
            return f"{material}: the swap would change the chance by next to nothing."
        steps = self.least(_SWAP_STEPS, chance)
        kept, answer = self.solve(target, material, steps)
        while answer is not None:
            parts = {name: amount * self.total / 100.0 for name, amount in answer.parts.items()}
            one = self.finish("flux", material, most * kept / _SWAP_STEPS, parts)
            # What can be weighed may fall just short of what was asked for.
            if one.reached or kept < steps or kept == _SWAP_STEPS:
                return one
            steps += 1
            kept, answer = self.solve(target, material, steps)
        return f"{material}: with this shelf no swap would keep the rest of the formula."

    def solve(
        self, target: Callable[[int], dict[str, float]], material: str, steps: int
    ) -> tuple[int, TargetRecipe | None]:
        """The recipe after so many steps, or after as many as keep the rest of the formula."""
        names = self.materials_for(material)
        analyses = {name: self.recipe.analyses[name] for name in names}

        def answer(n: int) -> TargetRecipe:
            return recipe_for_formula(target(n), analyses, rules=self.rules, limits=self.limits)

        found = answer(steps)
        if found.reached:
            return steps, found
        low, high, best = 0, steps, None
        while high - low > 1:
            middle = (low + high) // 2
            found = answer(middle)
            if found.reached:
                low, best = middle, found
            else:
                high = middle
        return low, best

    def mole_percent_of(self, base: UnityFormula, target: Mapping[str, float]) -> dict[str, float]:
        """Mole per cent of a target for the base, with the recipe's additions on top of it."""
        scale = base.flux_moles
        moles = {oxide: n * scale for oxide, n in target.items()}
        # The formula counts iron as the rules have it; what is added is what the whole has more.
        whole = self.before.formula
        added = {
            oxide: n * _raw_share(self.recipe) - base.moles.get(oxide, 0.0)
            for oxide, n in whole.moles.items()
        }
        for oxide, n in added.items():
            if n > 1e-9:
                moles[oxide] = moles.get(oxide, 0.0) + n
        moles.pop("F", None)
        total = sum(moles.values())
        return {oxide: 100.0 * n / total for oxide, n in moles.items()}

    def materials_for(self, material: str) -> list[str]:
        """The base's materials, the one that is to come in, and silica and a kaolin to make up."""
        names = dict.fromkeys([*self.recipe.base, material])
        silica = self.silica_material()
        if silica is not None:
            names[silica] = None
        shelf = [*names, *self.recipe.shelf]
        kaolins = [name for name in shelf if is_kaolin(self.recipe.analyses.get(name))]
        if kaolins:
            names[kaolins[0]] = None
        return list(names)

    # What comes of it

    def finish(
        self, way: Way, material: str, amount: float, parts: Mapping[str, float]
    ) -> Suggestion:
        total = sum(parts.values())
        scaled = {name: 100.0 * part / total for name, part in parts.items()}
        rounded = round_parts(scaled, _ROUND_PARTS) if total > 0.0 else scaled
        whole = self.total / 100.0
        new = {name: _neat(rounded[name] * whole) for name in _in_order(rounded, self.recipe.base)}
        formula = self.formula_of(new)
        alpha = linear_expansion(formula.mole_percent)
        error = change_error(self.before.formula, formula, self.limits)
        after = GlazeState(formula, alpha, self.chance_at(formula.mole_percent))
        other = None
        if self.other is not None:
            other = (
                self.other.chance(self.before.expansion_ppm_k),
                self.other.chance(alpha, error),
            )
        return Suggestion(
            way,
            material,
            amount,
            new,
            self.before,
            after,
            error,
            after.chance.mean <= self.limits["safe_chance"],
            (
                *warn_of_formula(self.before.formula, formula, self.limits),
                *warn_of_clay(self.recipe.base, new, self.recipe.analyses, self.limits),
            ),
            other,
        )


def change_error(before: UnityFormula, after: UnityFormula, limits: Limits) -> float:
    """How far a calculated change of expansion may be off, in 1e-6/K (one standard deviation).

    Most of what a calculated expansion is off by stays the same when a recipe changes a little.
    What is left is taken as the limit "factor_error" of each oxide's own part of the change, the
    parts being independent (judgement).
    """
    return _error(before.mole_percent, after.mole_percent, limits)


def _error(before: Mapping[str, float], after: Mapping[str, float], limits: Limits) -> float:
    start = linear_expansion(before)
    square = 0.0
    for oxide in {*before, *after}:
        moved = {**before, oxide: after.get(oxide, 0.0)}
        total = sum(moved.values())
        alone = linear_expansion({o: 100.0 * n / total for o, n in moved.items()})
        square += (alone - start) ** 2
    return limits["factor_error"] * math.sqrt(square)


def _swapped(
    oxides: Mapping[str, float], brings: Mapping[str, float], amount: float, lower: bool
) -> dict[str, float]:
    gives = ("Na2O", "K2O") if lower else _OTHER_FLUXES
    there = sum(oxides.get(oxide, 0.0) for oxide in gives)
    found = dict(oxides)
    for oxide in gives:
        if oxide in found:
            found[oxide] *= max(0.0, 1.0 - amount / there)
    for oxide, share in brings.items():
        found[oxide] = found.get(oxide, 0.0) + amount * share
    return {oxide: n for oxide, n in found.items() if n > 1e-9}


def _raw_share(recipe: FitRecipe) -> float:
    """Grams of the whole recipe to 100 g of its base, over 100."""
    return 1.0 + sum(recipe.additions.values()) / sum(recipe.base.values())


def _in_order(parts: Mapping[str, float], base: Mapping[str, float]) -> dict[str, float]:
    """In the order of the old recipe, what is new at its end."""
    names = [name for name in base if name in parts]
    names += [name for name in parts if name not in base]
    return {name: parts[name] for name in names}


def _neat(parts: float) -> float:
    return round(parts, 4)
