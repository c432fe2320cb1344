"""Where one firing differs from others: in words, and no smaller than the limits tell.

Told by the time it took from temperature to temperature, which no choice of a shared moment can
move. The thresholds are of ``limits`` and a judgement, the potter's to change.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing.compare import TakenCurve, levels_c
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_degrees, show_duration, show_temperature

if TYPE_CHECKING:
    from studiolog.craft.firing.compare import Floats

UP_EDGES_C: Final = (100.0, 300.0, 573.0, 800.0, 1000.0, 1150.0)
DOWN_EDGES_C: Final = (1000.0, 760.0, 573.0, 300.0, 100.0)
# An edge this near the top says nothing that the top itself does not.
_CLEAR_OF_TOP_C: Final = 20.0
# A step of the program that waits at an edge would be counted now on this side, now on that.
_WAITS_TIMES: Final = 3.0


@dataclass(frozen=True, slots=True)
class Difference:
    """One way in which a firing differs from others.

    ``kind`` is "up", "down" (time between two temperatures), "hold" (both in seconds) or "peak"
    (°C). ``from_c`` None is the top, ``to_c`` None reaching it. ``weight`` is how many times the
    smallest that is told; ``mostly_c`` where most of a difference going up lies, if it lies close.
    """

    kind: str
    own: float
    usual: float
    weight: float
    from_c: float | None = None
    to_c: float | None = None
    mostly_c: tuple[float, float] | None = None

    @property
    def amount(self) -> float:
        """Own less usual, in seconds or °C."""
        return self.own - self.usual

    def say(self, unit: str = "C") -> str:
        """What it is, to follow "Firing 70": "was 22 min longer between 1000 and 1150 °C"."""
        if self.kind == "peak":
            way = "higher" if self.amount > 0 else "lower"
            step = show_degrees(self.amount, unit)
            return f"peaked {step} {way}"
        time = show_duration(abs(round(self.amount / 60.0) * 60.0))
        way = "longer" if self.amount > 0 else "shorter"
        if self.kind == "hold":
            return f"held its top {time} {way}"
        return f"was {time} {way} {self.where(unit)}"

    def say_mostly(self, unit: str = "C") -> str:
        """Where most of it lies, to follow what it is compared with; empty if it is spread."""
        if self.mostly_c is None:
            return ""
        low, high = (show_temperature(one, unit) for one in self.mostly_c)
        return f", most of it between {low[:-3]} and {high}"

    def where(self, unit: str = "C") -> str:
        """ "between 1000 and 1150 °C", "cooling from the top to 1000 °C"."""
        first = "the top" if self.from_c is None else show_temperature(self.from_c, unit)
        last = "the top" if self.to_c is None else show_temperature(self.to_c, unit)
        if self.from_c is not None and self.to_c is not None:
            first = first[:-3]  # the unit is said once
        if self.kind == "down":
            return f"cooling from {first} to {last}"
        return f"between {first} and {last}"


def find_differences(
    own: TakenCurve, others: Sequence[TakenCurve], limits: Limits = SHIPPED
) -> tuple[Difference, ...]:
    """How a firing differs from the median of others, the biggest first; empty if nowhere.

    ``others`` may hold the firing itself. A difference is told from its limit on, or from the
    group's own scatter (1.48 median absolute deviations) where that is wider.
    """
    import numpy as np

    if not others:
        return ()
    found: list[Difference] = []

    def judge(
        kind: str, mine: float, theirs: Any, floor: float, ends: tuple[float | None, float | None]
    ) -> Difference | None:
        known = np.asarray(theirs, dtype=np.float64)
        known = known[~np.isnan(known)]
        if math.isnan(mine) or known.size < max(1, math.ceil(len(others) / 2)):
            return None
        usual = float(np.median(known))
        scatter = 1.4826 * float(np.median(np.abs(known - usual))) if known.size > 2 else 0.0
        weight = abs(mine - usual) / max(floor, scatter)
        return Difference(kind, mine, usual, weight, *ends) if weight >= 1.0 else None

    levels = levels_c()
    peaks = [one.figures.peak_c for one in others]
    usual_peak = float(np.median(peaks))
    up = np.array([one.up_s for one in others])
    # A gap of the firing's own log joins two stretches, it hides neither.
    edges = [
        edge
        for edge in _clear_edges(up, levels, usual_peak)
        if not math.isnan(own.up_s[int(np.searchsorted(levels, edge))])
    ]
    # A curve that never left the room has passed no edge.
    for low, high in zip(edges, [*edges[1:], None][: len(edges)], strict=True):
        theirs = _time_up(others, up, levels, low, high)
        mine = float(_time_up([own], own.up_s[None, :], levels, low, high)[0])
        told = judge("up", mine, theirs, limits["compare_heating_min"] * 60.0, (low, high))
        if told is not None:
            found.append(_say_where(told, own, others, up, levels))
    holds = [60.0 * one.figures.hold_min for one in others]
    floor_s = limits["compare_hold_min"] * 60.0
    judged = [judge("hold", 60.0 * own.figures.hold_min, holds, floor_s, (None, None))]
    judged.append(judge("peak", own.figures.peak_c, peaks, limits["compare_peak_c"], (None, None)))
    falls: list[float | None] = [None]
    falls += [
        edge
        for edge in DOWN_EDGES_C
        if edge < usual_peak - _CLEAR_OF_TOP_C
        and not math.isnan(own.down_s[int(np.searchsorted(levels, edge))])
    ]
    for upper, lower in pairwise(falls):
        floor_s = limits["compare_cooling_min"] * 60.0
        mine = _time_down(own, levels, upper, lower)
        times = [_time_down(one, levels, upper, lower) for one in others]
        judged.append(judge("down", mine, times, floor_s, (upper, lower)))
    found += [one for one in judged if one is not None]
    return tuple(sorted(found, key=lambda one: -one.weight))


def _clear_edges(up: Any, levels: Floats, usual_peak_c: float) -> list[float]:
    """Edges below the top, each moved off a temperature at which the firings wait."""
    import numpy as np

    edges: list[float] = []
    for edge in UP_EDGES_C:
        if edge >= usual_peak_c - _CLEAR_OF_TOP_C:
            break
        best = edge
        for moved in (0.0, 10.0, 20.0, -10.0, -20.0):
            at = int(np.searchsorted(levels, edge + moved - 0.01))
            if at < 3 or at + 3 >= levels.size:
                continue
            beside = max(_pace(up, levels, at - 3, at - 1), _pace(up, levels, at + 1, at + 3))
            if _pace(up, levels, at - 1, at + 1) <= _WAITS_TIMES * beside:
                best = float(levels[at])
                break
        edges.append(best)
    return edges


def _pace(up: Any, levels: Floats, low: int, high: int) -> float:
    """The median seconds a degree between two levels."""
    import numpy as np

    times = up[:, high] - up[:, low]
    times = times[~np.isnan(times)]
    span = float(levels[high] - levels[low])
    return float(np.median(times)) / span if times.size else 0.0


def _time_up(
    curves: Sequence[TakenCurve], up: Any, levels: Floats, low: float, high: float | None
) -> Any:
    """Seconds from one level to another, or to the top, of each curve."""
    import numpy as np

    first = up[:, int(np.searchsorted(levels, low))]
    if high is None:
        return np.array([one.top_reached_s for one in curves]) - first
    return up[:, int(np.searchsorted(levels, high))] - first


def _time_down(curve: TakenCurve, levels: Floats, high: float | None, low: float | None) -> float:
    import numpy as np

    def when(level: float | None) -> float:
        if level is None:
            return curve.top_left_s
        return float(curve.down_s[int(np.searchsorted(levels, level))])

    return when(low) - when(high)


def _say_where(
    told: Difference, own: TakenCurve, others: Sequence[TakenCurve], up: Any, levels: Floats
) -> Difference:
    """The same, with the narrow stretch that most of it lies in, if there is one."""
    import numpy as np

    top = told.to_c if told.to_c is not None else float(np.nanmax(levels[~np.isnan(own.up_s)]))
    first = int(np.searchsorted(levels, told.from_c or 0.0))
    last = int(np.searchsorted(levels, top))
    if last - first < 6:
        return told
    usual = _medians(np.diff(up[:, first : last + 1], axis=1))
    more = np.nan_to_num(np.diff(own.up_s[first : last + 1]) - usual)
    wide = max(1, (last - first) // 4)
    sums = np.convolve(more, np.ones(wide), mode="valid") * np.sign(told.amount)
    at = int(np.argmax(sums))
    if sums[at] < 0.7 * abs(told.amount):
        return told
    mostly = (float(levels[first + at]), float(levels[first + at + wide]))
    return Difference(told.kind, told.own, told.usual, told.weight, told.from_c, told.to_c, mostly)


def _medians(values: Any) -> Any:
    """The median of each column, NaN apart; NaN for a column with nothing else."""
    import numpy as np

    ordered = np.sort(values, axis=0)
    count = np.count_nonzero(~np.isnan(ordered), axis=0)
    rows = np.clip(count - 1, 0, None)
    columns = np.arange(values.shape[1])
    middle = (ordered[rows // 2, columns] + ordered[(rows + 1) // 2, columns]) / 2.0
    return np.where(count > 0, middle, np.nan)


def tell_difference(
    number: int,
    differences: Sequence[Difference],
    against: str,
    unit: str = "C",
    *,
    of_several: bool = True,
) -> str:
    """The biggest of a firing's differences from ``against`` ("the median of 14"), in words.

    ``of_several``: whether that is a median, or one other firing.
    """
    if differences:
        biggest = differences[0]
        return f"Firing {number} {biggest.say(unit)} than {against}{biggest.say_mostly(unit)}."
    if of_several:
        how = "it differs no more than they do among themselves"
    else:
        how = "peak, hold and times are alike"
    return f"Firing {number} goes with {against}: {how}."
