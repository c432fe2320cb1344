"""Replacing what is added on top of a base: the base stays, the oxide is matched."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studiolog.craft.glaze.oxides import in_order
from studiolog.craft.glaze.substitution_on_top import (
    OnTopReplacement,
    judge_on_top,
    replace_on_top,
    round_on_top,
)
from studiolog.craft.glaze.target import Residual
from studiolog.craft.glaze.unity import UnityRules, rules_from, unity_formula
from studiolog.craft.limits import Limits
from studiolog.journal.recipe_search import RecipeStart, Shelf
from studiolog.problems import UserProblem
from studiolog.ui.glazes.target_shelf import ShelfRow

STEP = 0.01
"""What parts on top are rounded to first: a tenth of a part is a fifth of half a part of cobalt."""


@dataclass(frozen=True)
class OnTop:
    """Something added on top, as a choice of what is gone."""

    name: str


@dataclass(frozen=True)
class FoundOnTop:
    """What takes its place, as it would be kept; ``exact`` is before rounding.

    ``whole`` is the recipe with it, on a hundred of base. ``wanted`` and ``residual`` are of the
    whole formula and empty where the base has no flux.
    """

    exact: OnTopReplacement
    kept: OnTopReplacement
    whole: dict[str, float]
    analyses: dict[str, Mapping[str, float]]
    wanted: Mapping[str, float]
    residual: tuple[Residual, ...]

    @property
    def parts(self) -> dict[str, float]:
        return dict(self.kept.parts)

    @property
    def verdict(self) -> tuple[str, str]:
        """A sentence and its tone."""
        if not self.exact.met:
            return "As near as these materials come; it does not bring as much.", "rust"
        if not self.kept.met:
            return "It brings as much before rounding, but not rounded.", "ochre"
        return "It brings as much, and the base stays as it is.", "celadon"


def search_on_top(
    start: RecipeStart, gone: str, shelf: Shelf, rows: Sequence[ShelfRow], step: float
) -> FoundOnTop:
    """What stands for ``gone`` among the ticked rows. Raises `UserProblem` in a sentence."""
    analyses: dict[str, Mapping[str, float]] = {}
    bounds = {}
    for row in rows:
        if not row.used or row.name.casefold() == gone.casefold():
            continue
        one = shelf.find(row.name)
        analyses[row.name] = one.analysis.percents if one is not None else {}
        if row.bound is not None:
            bounds[row.name] = row.bound
    amount = sum(one.parts for one in start.additions if one.material == gone)
    lost = start.analyses.get(gone, {})
    limits = shelf.limits
    exact = replace_on_top(gone, amount, lost, analyses, bounds=bounds, limits=limits)
    parts = round_on_top(exact.parts, step)
    kept = judge_on_top(gone, amount, lost, parts, analyses, limits=limits)
    others = {one.material: one.parts for one in start.additions if one.material != gone}
    before = add_up(start.base, others, {gone: amount})
    whole = add_up(start.base, others, parts)
    known = {**analyses, **start.analyses}
    wanted = _formula(before, start.analyses, rules_from(limits))
    now = _formula(whole, known, rules_from(limits))
    residual = _residual(wanted, now, limits) if wanted and now else ()
    return FoundOnTop(exact, kept, whole, known, wanted, residual)


def add_up(*recipes: Mapping[str, float]) -> dict[str, float]:
    """Recipes on the same base as one: a material in several counts with all its parts."""
    whole: dict[str, float] = {}
    for recipe in recipes:
        for name, amount in recipe.items():
            whole[name] = whole.get(name, 0.0) + amount
    return whole


def _formula(
    parts: Mapping[str, float], analyses: Mapping[str, Mapping[str, float]], rules: UnityRules
) -> Mapping[str, float]:
    try:
        return unity_formula(parts, analyses, rules).oxides
    except UserProblem:
        return {}  # a base with a material nobody analysed: what is on top is still matched


def _residual(
    wanted: Mapping[str, float], got: Mapping[str, float], limits: Limits
) -> tuple[Residual, ...]:
    """Small amounts decide a colour, so only the share counts, not the moles a base may be off."""
    found = []
    for oxide in in_order({**wanted, **got}):
        if oxide == "F":
            continue
        want, have = wanted.get(oxide, 0.0), got.get(oxide, 0.0)
        near = abs(have - want) <= max(limits["target_off_share"] * want, 0.0005)
        found.append(Residual(oxide, want, have, near))
    return tuple(found)
