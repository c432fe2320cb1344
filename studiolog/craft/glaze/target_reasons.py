"""Why a recipe misses its formula, in sentences a potter can act on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.glaze.materials import shipped_materials
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.target_problem import Problem
from studiolog.craft.units import show_number
from studiolog.craft.words import join_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SUGGESTED: Final = 3
_TRACE: Final = 0.1  # of what the richest source has of an oxide; less is none
_MUCH: Final = 0.2  # of what a recipe has of an oxide; less is not worth naming


@dataclass(frozen=True)
class Miss:
    """An oxide that is not as wanted; ``off`` is what there is less what is wanted, moles."""

    oxide: str
    wanted: float
    off: float


def find_reasons(
    problem: Problem, amounts: NDArray[Any], misses: Sequence[Miss]
) -> tuple[str, ...]:
    """A sentence for each miss, the gravest first."""
    ordered = sorted(
        misses, key=lambda miss: -abs(miss.off) * problem.weights[problem.row_of(miss.oxide)]
    )
    return tuple(dict.fromkeys(_reason(problem, amounts, miss, misses) for miss in ordered))


def _reason(problem: Problem, amounts: NDArray[Any], miss: Miss, misses: Sequence[Miss]) -> str:
    row = problem.row_of(miss.oxide)
    if miss.off < 0.0:
        return _short(problem, amounts, miss, row, _sources(problem, row))
    lacking = [one.oxide for one in misses if one.off < 0.0 and one.oxide in problem.fluxes]
    if miss.oxide in problem.fluxes and miss.wanted > 0.0 and lacking:
        return (
            f"{_moles(miss.off)} mol too much {pretty(miss.oxide)} makes up for the missing "
            f"{join_words([pretty(oxide) for oxide in lacking])}, so that the fluxes come to one."
        )
    brings = [at for at in range(len(problem.names)) if problem.moles[row, at] > 0.0]
    return _over(problem, amounts, miss, row, brings)


def _sources(problem: Problem, row: int) -> list[int]:
    """Places of materials that are a source of it, and don't just hold a trace."""
    least = _TRACE * float(problem.moles[row].max(initial=0.0))
    return [
        at
        for at in range(len(problem.names))
        if problem.moles[row, at] > 0.0 and problem.moles[row, at] >= least
    ]


def _short(
    problem: Problem, amounts: NDArray[Any], miss: Miss, row: int, sources: Sequence[int]
) -> str:
    oxide = pretty(miss.oxide)
    if not sources:
        could = suggest_sources(miss.oxide)
        way = f": {join_words(could, 'or')} would" if could else ""
        return f"No material chosen brings {oxide}{way}."
    missing = f"{oxide} is {_moles(-miss.off)} mol short"
    capped = [at for at in sources if _at_most(problem, amounts, at)]
    if len(capped) == len(sources):
        verb = "is" if len(capped) == 1 else "are"
        named = join_words([problem.names[at] for at in capped])
        return f"{missing}: {named} {verb} held at the most you allow."
    pure = [at for at in sources if at not in capped and _brings_only(problem, at, row)]
    if pure:
        named = join_words([problem.names[at] for at in pure])
        return (
            f"{missing}: {named} would bring it, but what is "
            f"held ({join_words(_held(problem, amounts))}) leaves no room for more."
        )
    blocks = {at: _blocked_by(problem, amounts, row, at) for at in sources if at not in capped}
    if len(blocks) == 1:
        ((at, block),) = blocks.items()
        return (
            f"{missing}: {problem.names[at]}, the only source of it, brings too much {block} "
            "with it."
        )
    shared = set(blocks.values())
    if len(shared) == 1:
        named = join_words([problem.names[at] for at in blocks])
        return f"{missing}: every source of it ({named}) brings too much {shared.pop()} with it."
    told = join_words([f"{problem.names[at]} brings {block}" for at, block in blocks.items()])
    return f"{missing}: every source of it brings too much of something else; {told}."


def _over(
    problem: Problem, amounts: NDArray[Any], miss: Miss, row: int, sources: Sequence[int]
) -> str:
    oxide = pretty(miss.oxide)
    brings = {at: float(problem.moles[row, at] * amounts[at]) for at in sources if amounts[at] > 0}
    total = sum(brings.values())
    main = sorted((at for at in brings if brings[at] >= _MUCH * total), key=lambda at: -brings[at])
    amount = f"{_moles(miss.off)} mol too much {oxide}"
    if miss.wanted <= 0.0:
        amount = f"{_moles(miss.off)} mol of {oxide}, which is not asked for,"
    held = [at for at in main if _at_least(problem, amounts, at)]
    if held:
        return f"{amount} comes with {join_words([problem.names[at] for at in held])}, held by you."
    if _clay_is_held(problem, amounts) and any(at in problem.clays for at in main):
        clays = [problem.names[at] for at in main if at in problem.clays]
        return f"{amount} comes with {join_words(clays)}: so much clay was asked for."
    needs = {at: _needed_for(problem, amounts, row, at) for at in main}
    told = [
        f"{problem.names[at]}, {need}" if need else problem.names[at] for at, need in needs.items()
    ]
    return f"{amount} comes with {'; and '.join(told) if len(told) > 1 else ''.join(told)}."


def _blocked_by(problem: Problem, amounts: NDArray[Any], row: int, at: int) -> str:
    """What would be too much if there were more of a material."""
    left = problem.left_over(amounts)
    pull = problem.weights**2 * left
    pull[:-1] *= problem.moles[:, at]
    pull[-1] *= problem.flux[at]
    pull[row] = 0.0
    worst = int(pull.argmin())
    if pull[worst] >= 0.0:
        # Nothing stands against it alone: what it brings most of by weight of the formula.
        share = problem.weights[:-1] * problem.moles[:, at]
        share[row] = 0.0
        worst = int(share.argmax())
    if worst == len(problem.rows):
        return "flux"
    return " + ".join(pretty(oxide) for oxide in problem.rows[worst])


def _needed_for(problem: Problem, amounts: NDArray[Any], row: int, at: int) -> str:
    """Which wanted oxide a material can't be spared for, and whether it is the only source."""
    totals = problem.moles @ amounts
    best, most = "", 0.0
    for other, oxides in enumerate(problem.rows):
        wanted = sum(problem.wanted.get(oxide, 0.0) for oxide in oxides)
        if other == row or wanted <= 0.0 or totals[other] <= 0.0:
            continue
        share = float(problem.moles[other, at] * amounts[at] / totals[other])
        alone = _sources(problem, other) == [at]
        weight = share * (2.0 if alone else 1.0)
        if weight > most:
            named = " + ".join(pretty(oxide) for oxide in oxides)
            only = "the only source of" if alone else "needed for"
            best, most = f"{only} {named}", weight
    return best if most >= 0.5 else ""


def _brings_only(problem: Problem, at: int, row: int) -> bool:
    brought = problem.weights[:-1] * problem.moles[:, at]
    return bool(brought[row] >= 0.99 * brought.sum())


def _held(problem: Problem, amounts: NDArray[Any]) -> list[str]:
    """What a potter holds that the recipe stands against."""
    held = [
        f"{_parts(problem.room.least[at])} of {problem.names[at]}"
        for at in range(len(problem.names))
        if _at_least(problem, amounts, at)
    ]
    if _clay_is_held(problem, amounts):
        held.append(f"{_parts(problem.room.clay_least)} of clay")
    held += [
        f"at most {_parts(problem.room.most[at])} of {problem.names[at]}"
        for at in range(len(problem.names))
        if _at_most(problem, amounts, at) and not _at_least(problem, amounts, at)
    ]
    return held or ["the flux sum"]


def _at_most(problem: Problem, amounts: NDArray[Any], at: int) -> bool:
    most = problem.room.most[at]
    return most < 1.0 and float(amounts[at] / amounts.sum()) >= most - 1e-6


def _at_least(problem: Problem, amounts: NDArray[Any], at: int) -> bool:
    least = problem.room.least[at]
    return least > 0.0 and float(amounts[at] / amounts.sum()) <= least + 1e-6


def _clay_is_held(problem: Problem, amounts: NDArray[Any]) -> bool:
    clay = sum(float(amounts[at]) for at in problem.clays) / float(amounts.sum())
    return problem.room.clay_least > 0.0 and clay <= problem.room.clay_least + 1e-6


def suggest_sources(oxide: str) -> tuple[str, ...]:
    """Shipped materials that bring an oxide, the richest first; none that is marked toxic."""
    found = [
        (material.oxides[oxide], _shortest(material.name, material.also))
        for material in shipped_materials()
        if material.oxides.get(oxide, 0.0) >= 3.0 and "toxic" not in material.note.casefold()
    ]
    return tuple(name for _, name in sorted(found, key=lambda one: -one[0]))[:_SUGGESTED]


def _shortest(name: str, also: Sequence[str]) -> str:
    chosen = min((name, *also), key=len)
    return chosen[0].lower() + chosen[1:]


def _parts(share: float) -> str:
    parts = 100.0 * share
    whole = abs(parts - round(parts)) < 0.05
    return f"{show_number(parts, 0 if whole else 1)} parts"


def _moles(amount: float) -> str:
    return show_number(amount, 2 if amount >= 0.0995 else 3)
