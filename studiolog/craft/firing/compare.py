"""Firings side by side: laid on one clock, with their median and band.

Curves are cleaned, set by a moment they share (:data:`ALIGNMENTS`), and read off at every step of
one clock; a gap of a log stays a gap. The median and the band are taken step by step. Where a
firing differs from others is told in :mod:`.differences`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from studiolog.craft.firing.cleaning import clean_curve, longest_wait_s, trust_curve
from studiolog.craft.firing.curve import (
    QUARTZ_INVERSION_C,
    final_rate,
    time_above_s,
    when_at,
)
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats: TypeAlias = NDArray[np.float64]
    Singles: TypeAlias = NDArray[np.float32]

ALIGNMENTS: Final[Mapping[str, str]] = {
    "start": "Start",
    "passing": "A temperature",
    "peak": "Peak",
    "leaving": "End of the hold",
}
"""The moment that curves share: their start, first passing a temperature going up, the middle of
the time at the top, the last reading at the top."""

MIDDLE_SHARE: Final = 0.8
"""The band holds this middle share of the curves, once there are :data:`SHARE_FROM`."""
SHARE_FROM: Final = 10
# With fewer of the curves there the median would jump as one more begins or ends.
_ENOUGH: Final = 0.75
STEP_S: Final = 60.0
"""The clock's step; coarser where the curves together are longer than :data:`MOST_STEPS`."""
MOST_STEPS: Final = 4000

_LEVEL_STEP_C: Final = 10.0
_LOWEST_LEVEL_C: Final = 40.0
_HIGHEST_LEVEL_C: Final = 1440.0


def levels_c() -> Floats:
    """The temperatures at which passings are kept: every 10 °C, and 573 °C."""
    import numpy as np

    tens = np.arange(_LOWEST_LEVEL_C, _HIGHEST_LEVEL_C + 1.0, _LEVEL_STEP_C)
    return np.sort(np.append(tens, QUARTZ_INVERSION_C))


@dataclass(frozen=True, slots=True)
class FiringFigures:
    """What one curve comes to, in °C, seconds and °C/h; None where it is not logged."""

    peak_c: float
    to_top_s: float
    hold_min: float
    final_rate_c_per_h: float | None
    top_to_100_s: float | None


@dataclass(frozen=True, slots=True, eq=False)
class TakenCurve:
    """One cleaned curve, ready to be laid beside others.

    ``up_s`` and ``down_s`` are when it first passed each of :func:`levels_c`, going up and after
    the top; NaN where it did not, or in a gap. ``gaps`` is n x 2, seconds.
    """

    key: int
    elapsed_s: Floats
    temperature_c: Floats
    gaps: Floats
    up_s: Floats
    down_s: Floats
    top_reached_s: float
    top_left_s: float
    figures: FiringFigures


@dataclass(frozen=True, slots=True, eq=False)
class LaidTogether:
    """Curves on one clock: n keys, m steps, n x m °C with NaN where a curve has no reading.

    The clock counts from the shared moment; ``moment_s`` is when each curve had it. ``left_out``
    names curves that never had it, and why.
    """

    by: str
    level_c: float | None
    clock_s: Floats
    keys: tuple[int, ...]
    temperature_c: Singles
    moment_s: Floats
    left_out: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Middle:
    """Step by step: the median, and the band's edges; NaN where too few curves were logged.

    ``curves`` is how many took part; ``share`` the share of them the band holds, 1 for the whole
    range, 0 where they are too few for a band.
    """

    median_c: Floats
    low_c: Floats
    high_c: Floats
    curves: int
    share: float

    @property
    def words(self) -> str:
        """What the band is, in words."""
        if not self.share:
            return ""
        return "whole range" if self.share == 1.0 else f"middle {self.share:.0%}".replace("%", " %")


def take_curve(
    key: int,
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> TakenCurve:
    """Clean one curve (seconds, °C) and read off what it is compared by.

    ``typed`` readings are trusted as they stand, and joined by straight lines however far apart.
    Raises UserProblem for a curve that holds no usable reading.
    """
    import numpy as np

    clean = trust_curve if typed else clean_curve
    curve = clean(elapsed_s, temperature_c)
    t, c = curve.elapsed_s, curve.temperature_c
    gaps = np.empty((0, 2)) if typed else _gaps(t, limits)
    within = limits["near_peak_c"]
    peak_at = int(np.argmax(c))
    peak = float(c[peak_at])
    reached, left = _top(t, c, peak_at, peak - within)
    levels = levels_c()
    up = _passings(t[: peak_at + 1], c[: peak_at + 1], levels, gaps)
    down = _passings(t[peak_at:], -c[peak_at:], -levels, gaps)
    cool = float(down[np.searchsorted(levels, 100.0)])
    return TakenCurve(
        key=key,
        elapsed_s=t,
        temperature_c=c,
        gaps=gaps,
        up_s=up,
        down_s=down,
        top_reached_s=reached,
        top_left_s=left,
        figures=FiringFigures(
            peak_c=peak,
            to_top_s=reached - float(t[0]),
            hold_min=time_above_s(t, c, peak - within) / 60.0,
            final_rate_c_per_h=final_rate(t, c, typed=typed, limits=limits),
            top_to_100_s=None if math.isnan(cool) else cool - left,
        ),
    )


def _gaps(t: Floats, limits: Limits) -> Floats:
    """The log's silences, n x 2 seconds."""
    import numpy as np

    if t.size < 2:
        return np.empty((0, 2))
    steps = np.diff(t)
    at = np.flatnonzero(steps > longest_wait_s(t, limits))
    return np.column_stack([t[at], t[at + 1]])


def _top(t: Floats, c: Floats, peak_at: int, floor_c: float) -> tuple[float, float]:
    """When the curve first came this near its peak, and when it was last so near."""
    import numpy as np

    near = np.flatnonzero(c >= floor_c)
    first, last = int(near[0]), int(near[-1])
    reached = float(t[first])
    if first > 0:
        reached = when_at(t, c, first - 1, floor_c)
    left = float(t[last])
    if last + 1 < t.size:
        left = when_at(t, c, last, floor_c)
    return reached, left


def _passings(t: Floats, c: Floats, levels: Floats, gaps: Floats) -> Floats:
    """When a curve that starts below them first comes to each level; NaN if never, or in a gap."""
    import numpy as np

    highest = np.maximum.accumulate(c)
    at = np.searchsorted(highest, levels, side="left")
    found = np.full(levels.size, np.nan)
    fine = (at > 0) & (at < t.size)
    after = at[fine]
    before = after - 1
    share = (levels[fine] - c[before]) / (c[after] - c[before])
    when = t[before] + share * (t[after] - t[before])
    for start, end in gaps:
        when[(when > start) & (when < end)] = np.nan
    found[fine] = when
    return found


def find_moment(curve: TakenCurve, by: str, level_c: float | None = None) -> float | None:
    """Elapsed seconds of the moment named by a key of :data:`ALIGNMENTS`; None if never.

    Raises ValueError for another key, or for "passing" without a temperature.
    """
    if by == "start":
        return float(curve.elapsed_s[0])
    if by == "peak":
        return (curve.top_reached_s + curve.top_left_s) / 2.0
    if by == "leaving":
        return curve.top_left_s
    if by != "passing" or level_c is None:
        raise ValueError(f"curves are not aligned by {by!r}")
    import numpy as np

    at = int(np.argmax(curve.temperature_c)) + 1
    t, c = curve.elapsed_s[:at], curve.temperature_c[:at]
    found = float(_passings(t, c, np.array([float(level_c)]), curve.gaps)[0])
    return None if math.isnan(found) else found


def lay_together(
    curves: Sequence[TakenCurve], by: str = "start", level_c: float | None = None
) -> LaidTogether:
    """Lay curves on one clock that counts from the moment they share. Gaps are not bridged."""
    import numpy as np

    moments: list[float] = []
    laid: list[TakenCurve] = []
    left_out: list[tuple[int, str]] = []
    for curve in curves:
        moment = find_moment(curve, by, level_c)
        if moment is None:
            left_out.append((curve.key, _why_never(curve, level_c or 0.0)))
        else:
            laid.append(curve)
            moments.append(moment)
    moment_s = np.array(moments, dtype=np.float64)
    if not laid:
        empty = np.empty((0, 0), dtype=np.float32)
        return LaidTogether(by, level_c, np.empty(0), (), empty, moment_s, tuple(left_out))
    starts = np.array([float(one.elapsed_s[0]) for one in laid]) - moment_s
    ends = np.array([float(one.elapsed_s[-1]) for one in laid]) - moment_s
    span = float(ends.max() - starts.min())
    step = STEP_S * max(1, math.ceil(span / STEP_S / MOST_STEPS))
    first, last = math.floor(float(starts.min()) / step), math.ceil(float(ends.max()) / step)
    clock: Floats = np.arange(first, last + 1, dtype=np.float64) * step
    heats = np.full((len(laid), clock.size), np.nan, dtype=np.float32)
    slack = 1e-6  # a shift must not cost a reading at either end
    low = np.searchsorted(clock, starts - slack)
    high = np.searchsorted(clock, ends + slack, side="right")
    for row, one in enumerate(laid):
        own = clock[low[row] : high[row]] + moment_s[row]
        heats[row, low[row] : high[row]] = np.interp(own, one.elapsed_s, one.temperature_c)
        for start, end in one.gaps - moment_s[row]:
            inside = np.searchsorted(clock, start, side="right"), np.searchsorted(clock, end)
            heats[row, inside[0] : inside[1]] = np.nan
    keys = tuple(one.key for one in laid)
    return LaidTogether(by, level_c, clock, keys, heats, moment_s, tuple(left_out))


def _why_never(curve: TakenCurve, level_c: float) -> str:
    if float(curve.temperature_c[0]) >= level_c:
        return "its log starts above that temperature"
    if curve.figures.peak_c < level_c:
        return "it never came to that temperature"
    return "its log has a gap where it passed that temperature"


def middle_of(temperature_c: Singles, limits: Limits = SHIPPED) -> Middle:
    """Median and band of n x m °C (NaN: no reading), step by step.

    A step tells a median where at least three of four curves were logged. With fewer curves than
    the limit ``compare_band`` there is no band; from :data:`SHARE_FROM` on it is the middle 80 %,
    else the whole range.
    """
    import numpy as np

    curves, steps = temperature_c.shape
    fewest = int(limits["compare_band"])
    share = 0.0 if curves < fewest else MIDDLE_SHARE if curves >= SHARE_FROM else 1.0
    nothing = np.full(steps, np.nan)
    if not curves or not steps:
        return Middle(nothing, nothing.copy(), nothing.copy(), curves, share)
    ordered = np.sort(np.ascontiguousarray(temperature_c.T), axis=1)  # NaN goes last
    count = np.count_nonzero(~np.isnan(ordered), axis=1)
    enough = count >= max(1, math.ceil(curves * _ENOUGH))

    def at(part: float, told: Any) -> Floats:
        place = np.clip(count - 1, 0, None) * part
        low = place.astype(np.intp)
        high = np.minimum(low + 1, np.clip(count - 1, 0, None))
        rows = np.arange(steps)
        below = ordered[rows, low].astype(np.float64)
        above = ordered[rows, high].astype(np.float64)
        return np.where(told, below + (above - below) * (place - low), np.nan)

    edge = (1.0 - share) / 2.0
    banded = enough & (count >= fewest) if share else np.zeros(steps, dtype=np.bool_)
    return Middle(at(0.5, enough), at(edge, banded), at(1.0 - edge, banded), curves, share)


def usual_figures(figures: Sequence[FiringFigures]) -> FiringFigures:
    """The median of each figure, of those that have it. Raises ValueError without any firing."""
    from statistics import median

    if not figures:
        raise ValueError("no firing to take a median of")

    def known(values: list[float | None]) -> float | None:
        found = [one for one in values if one is not None]
        return median(found) if found else None

    return FiringFigures(
        peak_c=median(one.peak_c for one in figures),
        to_top_s=median(one.to_top_s for one in figures),
        hold_min=median(one.hold_min for one in figures),
        final_rate_c_per_h=known([one.final_rate_c_per_h for one in figures]),
        top_to_100_s=known([one.top_to_100_s for one in figures]),
    )
