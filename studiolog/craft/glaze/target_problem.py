"""The equations of a recipe that is wanted: a row for each oxide, a column for each material."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.glaze.oxides import LOI, in_order, pretty, read_oxide
from studiolog.craft.glaze.target_solver import Room, best_amounts
from studiolog.craft.glaze.unity import UnityRules, place_of, unity_formula
from studiolog.craft.limits import Limits
from studiolog.craft.units import show_number
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from numpy.typing import NDArray

_CLAY_WORDS: Final = re.compile(r"\b(clay|kaolin|bentonite|fireclay)", re.IGNORECASE)
_BURNT: Final = re.compile(r"calcined|metakaolin|grog|molochite|fired", re.IGNORECASE)
_TRACE: Final = 1e-9
_SWAP: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Bound:
    """The least and most parts of a hundred a material may have; both the same holds it there."""

    least: float = 0.0
    most: float = 100.0


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a potter would like of the answer where more than one will do.

    ``fewest``: as few materials as meet the formula as well. ``clay_parts``: so many parts of clay
    at the least, to keep the glaze in suspension. ``together``: oxides matched by their sum, as
    K₂O and Na₂O where one feldspar stands for another.
    """

    fewest: bool = False
    clay_parts: float = 0.0
    together: tuple[str, ...] = ()


@dataclass(frozen=True)
class Problem:
    """Moles per 100 g of each material (``moles``, a row for each of ``rows``), and what is wanted.

    A row is one oxide, or several that are matched by their sum. ``weights`` has one more than
    ``rows``: the last is that of the flux sum.
    """

    names: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    wanted: Mapping[str, float]
    moles: NDArray[Any]
    flux: NDArray[Any]
    weights: NDArray[Any]
    room: Room
    clays: tuple[int, ...]
    fluxes: frozenset[str]

    @property
    def sought(self) -> NDArray[Any]:
        """What each row should come to, the flux sum last."""
        import numpy as np

        sums = [sum(self.wanted.get(oxide, 0.0) for oxide in row) for row in self.rows]
        return np.array([*sums, 1.0])

    def columns(self) -> NDArray[Any]:
        """All rows, the flux sum last, each with its weight."""
        import numpy as np

        columns: NDArray[Any] = np.vstack([self.moles, self.flux]) * self.weights[:, None]
        return columns

    def left_over(self, amounts: NDArray[Any]) -> NDArray[Any]:
        """What is still missing in each row (less than 0: too much), the flux sum last."""
        import numpy as np

        left: NDArray[Any] = self.sought - np.vstack([self.moles, self.flux]) @ amounts
        return left

    def unity_of(self, amounts: NDArray[Any]) -> dict[str, float]:
        """Moles by oxide per mole of flux; empty if there is no flux."""
        flux = float(self.flux @ amounts)
        if not flux > 0.0:
            return {}
        made = self.moles @ amounts / flux
        return {
            row[0]: float(moles)
            for row, moles in zip(self.rows, made, strict=True)
            if len(row) == 1 and moles > 0.0
        }

    def row_of(self, oxide: str) -> int:
        """The row an oxide is matched in."""
        return next(at for at, row in enumerate(self.rows) if oxide in row)


def is_clay(name: str, analysis: Mapping[str, float]) -> bool:
    """Whether a material keeps a glaze in suspension: by its name, or by what it is made of.

    A clay under a trade name is told by a lot of alumina with silica and bound water (judgement).
    """
    if _BURNT.search(name):
        return False
    if _CLAY_WORDS.search(name):
        return True
    loss = analysis.get(LOI, 0.0)
    return (
        analysis.get("Al2O3", 0.0) >= 15.0
        and analysis.get("SiO2", 0.0) >= 35.0
        and 7.0 <= loss <= 16.0
    )


def on_unity(target: Mapping[str, float], rules: UnityRules) -> dict[str, float]:
    """A formula with its fluxes at one together. Raises UserProblem for what can't be one."""
    moles: dict[str, float] = {}
    for name, amount in target.items():
        oxide = read_oxide(name)
        if oxide == LOI:
            raise UserProblem("A formula has no loss on ignition: leave LOI out.")
        if not math.isfinite(amount):
            raise UserProblem(f"{pretty(oxide)}: the moles are no number.")
        if amount < 0.0:
            raise UserProblem(f"{pretty(oxide)} can't be less than 0 moles.")
        moles[oxide] = moles.get(oxide, 0.0) + float(amount)
    if not rules.iron_with_alumina and "Fe2O3" in moles:
        moles["FeO"] = moles.get("FeO", 0.0) + 2.0 * moles.pop("Fe2O3")
    flux = sum(amount for oxide, amount in moles.items() if place_of(oxide, rules) == "flux")
    if not flux > 0.0:
        raise UserProblem(
            "The formula has no flux yet: give at least one of K₂O, Na₂O, Li₂O, CaO, MgO, SrO, "
            "BaO or ZnO."
        )
    unity = {oxide: amount / flux for oxide, amount in moles.items() if amount > 0.0}
    if not all(math.isfinite(amount) for amount in unity.values()):
        raise UserProblem("The formula has too little flux to be brought to one.")
    return in_order(unity)


def materials_in(
    analyses: Mapping[str, Mapping[str, float]], rules: UnityRules
) -> tuple[dict[str, dict[str, float]], tuple[str, ...]]:
    """Moles per 100 g by material, iron as the rules count it; and those with nothing to give."""
    found: dict[str, dict[str, float]] = {}
    empty = []
    for name, analysis in analyses.items():
        named = {read_oxide(oxide): percent for oxide, percent in analysis.items()}
        if not any(percent > 0.0 for oxide, percent in named.items() if oxide not in (LOI, "F")):
            empty.append(name)
            continue
        formula = unity_formula({name: 1.0}, {name: named}, rules)
        counted = formula.moles
        if formula.is_defined:
            counted = {oxide: n * formula.flux_moles for oxide, n in formula.oxides.items()}
        found[name] = {oxide: n for oxide, n in counted.items() if oxide != "F"}
    return found, tuple(empty)


def state(
    wanted: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    bounds: Mapping[str, Bound],
    importance: Mapping[str, float],
    wishes: Wishes,
    rules: UnityRules,
    limits: Limits,
) -> Problem:
    """Set up the equations. Raises UserProblem for a shelf or a wish that leaves no recipe."""
    import numpy as np

    brought, _ = materials_in(analyses, rules)
    for name in bounds:
        if name not in brought:
            why = "has no analysis" if name in analyses else "is not among the materials chosen"
            raise UserProblem(f"{name} {why}, so it can't be held at so many parts.")
    if not brought:
        raise UserProblem("Choose the materials the recipe may have: none with an analysis is.")
    names = tuple(brought)
    together = tuple(read_oxide(oxide) for oxide in wishes.together)
    present = in_order({o: 1.0 for moles in (wanted, *brought.values()) for o in moles})
    rows: list[tuple[str, ...]] = [(oxide,) for oxide in present if oxide not in together]
    shared = [oxide for oxide in present if oxide in together]
    if shared:
        rows = [together, *rows, *((oxide,) for oxide in shared)]
    moles = np.array(
        [[sum(brought[n].get(o, 0.0) for o in row) for n in names] for row in rows], dtype=float
    )
    flux = np.array(
        [
            sum(n for oxide, n in brought[name].items() if place_of(oxide, rules) == "flux")
            for name in names
        ]
    )
    if not flux.any():
        raise UserProblem(
            "None of the materials chosen brings a flux, and the formula asks for "
            + ", ".join(pretty(o) for o in wanted if place_of(o, rules) == "flux")
            + "."
        )
    sums = np.array([sum(wanted.get(oxide, 0.0) for oxide in row) for row in rows])
    matters = np.array([min(_importance(importance, oxide) for oxide in row) for row in rows])
    weights = matters / np.maximum(sums, limits["target_floor_mol"])
    if shared:
        # Of recipes alike in the sum, the one that swaps the least.
        weights[-len(shared) :] *= _SWAP
    clays = tuple(at for at, name in enumerate(names) if is_clay(name, analyses[name]))
    room = Room(
        tuple(bounds.get(name, Bound()).least / 100.0 for name in names),
        tuple(min(bounds.get(name, Bound()).most, 100.0) / 100.0 for name in names),
        clays,
        wishes.clay_parts / 100.0,
    )
    _refuse_empty_room(room, names, wishes)
    return Problem(
        names,
        tuple(rows),
        dict(wanted),
        moles,
        flux,
        # Against the weightiest oxide: one that is not asked for must not outweigh the flux sum.
        np.append(weights, limits["target_flux_weight"] * weights.max()),
        room,
        clays,
        frozenset(oxide for oxide in present if place_of(oxide, rules) == "flux"),
    )


def _importance(importance: Mapping[str, float], oxide: str) -> float:
    value = importance.get(oxide, 1.0)
    if not (math.isfinite(value) and value > 0.0):
        raise UserProblem(f"{pretty(oxide)}: how much it matters must be a number above 0.")
    return value


def _refuse_empty_room(room: Room, names: tuple[str, ...], wishes: Wishes) -> None:
    for name, low, high in zip(names, room.least, room.most, strict=True):
        if not (0.0 <= low <= 1.0 and 0.0 <= high <= 1.0):
            raise UserProblem(f"{name}: parts of a hundred lie between 0 and 100.")
        if low > high:
            raise UserProblem(f"{name}: the least parts are more than the most.")
    if not 0.0 <= room.clay_least <= 1.0:
        raise UserProblem("Clay: parts of a hundred lie between 0 and 100.")
    if not room.is_empty:
        return
    if sum(room.least) > 1.0:
        told = show_number(100.0 * sum(room.least), 1)
        raise UserProblem(f"What is held comes to {told} parts; it can't be more than 100.")
    if sum(room.most) < 1.0:
        told = show_number(100.0 * sum(room.most), 1)
        raise UserProblem(f"The most of all materials together is {told} parts; 100 are needed.")
    if not room.clays:
        raise UserProblem(
            "No clay is among the materials chosen: add one, or ask for no parts of clay."
        )
    raise UserProblem(
        f"{show_number(wishes.clay_parts, 1)} parts of clay and what else is held leave no recipe "
        "of 100 parts."
    )


def solve(problem: Problem, but: Iterable[int] = ()) -> NDArray[Any] | None:
    """Hundreds of grams of each material for one mole of flux; None if the room is empty.

    ``but``: places of materials to leave out.
    """
    import numpy as np

    out = set(but)
    kept = [place for place in range(len(problem.names)) if place not in out]
    if not kept or any(problem.room.least[place] > 0.0 for place in out):
        return None
    room = problem.room.of(kept)
    if room.is_empty:
        return None
    columns = problem.columns()[:, kept]
    amounts = np.zeros(len(problem.names))
    amounts[kept] = best_amounts(columns, problem.sought * problem.weights, room)
    amounts[amounts < _TRACE * amounts.max(initial=0.0)] = 0.0
    return amounts if amounts.any() else None


def other_ways(problem: Problem, amounts: NDArray[Any]) -> tuple[int, ...]:
    """Places of unused materials that could come in without changing the formula at all.

    One can if what it brings can be had from those in use as well: then some of them give way.
    """
    import numpy as np

    columns = problem.columns()
    shares = amounts / amounts.sum()
    low, high = np.array(problem.room.least), np.array(problem.room.most)
    moving = np.flatnonzero((shares > low + 1e-9) & (shares < high - 1e-9) & (amounts > 0.0))
    found = []
    for place in np.flatnonzero(amounts <= 0.0):
        if high[place] <= 0.0:
            continue
        column = columns[:, place]
        if not moving.size:
            continue
        best, *_ = np.linalg.lstsq(columns[:, moving], column, rcond=None)
        if np.linalg.norm(columns[:, moving] @ best - column) <= 1e-7 * np.linalg.norm(column):
            found.append(int(place))
    return tuple(found)
