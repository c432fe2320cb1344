"""What can be read off a temperature curve: rates, peak, holds, crossings, durations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.evidence.theil_sen import fit_trend
from studiolog.craft.firing.cleaning import (
    WHY,
    CleanCurve,
    Gap,
    clean_curve,
    find_gaps,
    longest_wait_s,
)
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "WHY",
    "CleanCurve",
    "Crossing",
    "CurveSummary",
    "Gap",
    "clean_curve",
    "cooling_rates",
    "curve_summary",
    "final_rate",
    "find_crossings",
    "find_gaps",
    "hold_near_peak_min",
    "rate_at",
    "rates_along",
    "summarize",
    "time_above_s",
    "when_at",
]

QUARTZ_INVERSION_C: Final = 573.0
LAST_CLIMB_C: Final = 100.0
_COME_AWAY_C: Final = 2.0
COOLING_BANDS_C: Final = (
    ("peak to 1000", None, 1000.0),
    ("1000 to 760", 1000.0, 760.0),
    ("620 to 540", 620.0, 540.0),
    ("300 to 100", 300.0, 100.0),
)


@dataclass(frozen=True, slots=True)
class Crossing:
    """The curve passing a temperature: when, which way (+1 up, −1 down), and how fast."""

    temperature_c: float
    elapsed_s: float
    direction: int
    rate_c_per_h: float | None


@dataclass(frozen=True, slots=True)
class CurveSummary:
    """What a curve says at a glance. Rates are None where the log is too short or has a gap."""

    duration_s: float
    peak_c: float
    peak_elapsed_s: float
    time_to_peak_s: float
    hold_min: float
    final_rate_c_per_h: float | None
    above_100_s: float
    above_573_s: float
    above_1000_s: float
    near_top_s: float
    quartz_crossings: tuple[Crossing, ...]
    cooling_c_per_h: tuple[tuple[str, float | None], ...]
    gaps: tuple[Gap, ...]
    readings: int
    dropped: int
    ends_at_peak: bool

    @property
    def quartz_up(self) -> Crossing | None:
        """The first passing of 573 °C while heating."""
        return next((c for c in self.quartz_crossings if c.direction > 0), None)

    @property
    def quartz_down(self) -> Crossing | None:
        """The last passing of 573 °C while cooling."""
        return next((c for c in reversed(self.quartz_crossings) if c.direction < 0), None)


def curve_summary(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    target_c: float | None = None,
    limits: Limits = SHIPPED,
) -> CurveSummary:
    """Clean a curve and say what it holds; ``target_c`` is the peak aimed at, if known.

    Raises UserProblem for a curve that holds no usable reading.
    """
    return summarize(clean_curve(elapsed_s, temperature_c), target_c, limits=limits)


def summarize(
    curve: CleanCurve,
    target_c: float | None = None,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> CurveSummary:
    """:func:`curve_summary` of a curve that is already cleaned.

    Readings ``typed`` by hand have no gaps: straight lines between them are what is meant.
    """
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    peak_at = int(np.argmax(c))
    peak = float(c[peak_at])
    top = peak if target_c is None else target_c
    return CurveSummary(
        duration_s=float(t[-1] - t[0]),
        peak_c=peak,
        peak_elapsed_s=float(t[peak_at]),
        time_to_peak_s=float(t[peak_at] - t[0]),
        hold_min=hold_near_peak_min(t, c, limits),
        final_rate_c_per_h=final_rate(t, c, typed=typed, limits=limits),
        above_100_s=time_above_s(t, c, 100.0),
        above_573_s=time_above_s(t, c, QUARTZ_INVERSION_C),
        above_1000_s=time_above_s(t, c, 1000.0),
        near_top_s=time_above_s(t, c, top - 50.0),
        quartz_crossings=find_crossings(t, c, QUARTZ_INVERSION_C, typed=typed, limits=limits),
        cooling_c_per_h=cooling_rates(t, c, typed=typed, limits=limits),
        gaps=() if typed else find_gaps(t, c, limits),
        readings=int(t.size),
        dropped=int(curve.kept.size - t.size),
        ends_at_peak=bool(c[-1] > peak - limits["near_peak_c"]),
    )


def rate_at(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    at_s: float,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> float | None:
    """°C/h of a cleaned curve around a moment: the median of all slopes within the window.

    (Theil–Sen: P. K. Sen, J. Am. Stat. Assoc. 63, 1968, p. 1379.) The window is moved aside at
    either end and at a gap, never cut: None where the log has no whole window there, as within a
    gap, or fewer than three readings within an hour.
    """
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    window_s = limits["rate_window_min"] * 60.0
    first, last = (0, t.size - 1) if typed else _stretch_around(t, at_s, limits)
    if last - first < 2 or t[last] - t[first] < window_s:
        return None
    half = window_s / 2.0
    middle = min(max(at_s, float(t[first]) + half), float(t[last]) - half)
    start = max(first, int(np.searchsorted(t, middle - half + 1e-6, side="right")) - 1)
    end = min(last, int(np.searchsorted(t, middle + half - 1e-6, side="left")))
    if end - start < 2:
        # A thin log: its nearest three readings, if they lie within an hour.
        near = first + np.argsort(np.abs(t[first : last + 1] - at_s), kind="stable")[:3]
        start, end = int(near.min()), int(near.max())
        if t[end] - t[start] > 3600.0:
            return None
    stride = max(1, (end - start) // 60)  # pairs grow with the square; a fast log is thinned
    taken = slice(start, end + 1, stride)
    return fit_trend(t[taken] - t[start], c[taken]).slope * 3600.0


def rates_along(
    elapsed_s: ArrayLike, temperature_c: ArrayLike, window_s: float
) -> NDArray[np.float64]:
    """°C/h at every reading of a cleaned curve, from straight lines fitted within the window.

    Least squares, quick over thousands of windows; NaN where the window is empty.
    """
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    origin, level = float(t[0]), float(c[0])
    x, y = t - origin, c - level
    first = np.searchsorted(t, t - window_s / 2.0, side="left")
    last = np.searchsorted(t, t + window_s / 2.0, side="right")

    def over(values: Any) -> Any:
        sums = np.concatenate(([0.0], np.cumsum(values)))
        return sums[last] - sums[first]

    count = (last - first).astype(np.float64)
    sx, sy = over(x), over(y)
    spread = over(x * x) - sx * sx / count
    rates = np.full(t.size, np.nan)
    fine = (count >= 2) & (spread > 1e-6)
    rates[fine] = (over(x * y) - sx * sy / count)[fine] / spread[fine] * 3600.0
    return rates


def find_crossings(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    level_c: float,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> tuple[Crossing, ...]:
    """Each time a cleaned curve passes a temperature, to the second, with the rate there.

    A curve that trembles about the level passes once: it must come away by 2 °C.
    """
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    found: list[Crossing] = []
    clear = np.flatnonzero(np.abs(c - level_c) >= _COME_AWAY_C)
    above = c >= level_c
    for place in np.flatnonzero(above[clear][1:] != above[clear][:-1]):
        first, last = int(clear[place]), int(clear[place + 1])
        # The last change of side before the curve comes away from the level.
        at = first + int(np.flatnonzero(above[first + 1 : last + 1] != above[first:last])[-1])
        crossed_s = when_at(t, c, at, level_c)
        rate = rate_at(t, c, crossed_s, typed=typed, limits=limits)
        found.append(Crossing(level_c, crossed_s, 1 if above[last] else -1, rate))
    return tuple(found)


def time_above_s(elapsed_s: ArrayLike, temperature_c: ArrayLike, level_c: float) -> float:
    """Seconds that a cleaned curve spends above a temperature, crossings interpolated."""
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    if t.size < 2:
        return 0.0
    spans, over = np.diff(t), c - level_c
    first, second = over[:-1], over[1:]
    change = np.abs(second - first)
    both = (first > 0.0) & (second > 0.0)
    one = (first > 0.0) != (second > 0.0)
    share = np.where(one, np.maximum(first, second) / np.where(change > 0.0, change, 1.0), 0.0)
    return float(np.sum(spans * np.where(both, 1.0, share)))


def hold_near_peak_min(
    elapsed_s: ArrayLike, temperature_c: ArrayLike, limits: Limits = SHIPPED
) -> float:
    """Minutes that a cleaned curve stays near its peak (the limit ``near_peak_c``: 5 °C)."""
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    return time_above_s(t, c, float(np.max(c)) - limits["near_peak_c"]) / 60.0


def final_rate(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> float | None:
    """°C/h over the last 100 °C before the top, which cones are charted by.

    From the last time the curve came up through 100 °C under its top to the first time it came
    within 5 °C of it, so that a hold does not count. None if the curve does not span it, a gap
    hides an end of it, or it took less than a quarter of an hour.
    """
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    peak_at = int(np.argmax(c))
    peak = float(c[peak_at])
    start_level, top_level = peak - LAST_CLIMB_C, peak - limits["near_peak_c"]
    below = np.flatnonzero(c[: peak_at + 1] <= start_level)
    if below.size == 0:
        return None
    at = int(below[-1])
    reach = np.flatnonzero(c[at : peak_at + 1] >= top_level)
    top = at + int(reach[0])
    start_s = when_at(t, c, at, start_level)
    top_s = when_at(t, c, top - 1, top_level)
    hidden = not typed and (_is_hidden(t, at, limits) or _is_hidden(t, top - 1, limits))
    if hidden or top_s - start_s < limits["rate_window_min"] * 60.0:
        return None
    return float((top_level - start_level) / (top_s - start_s) * 3600.0)


def cooling_rates(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> tuple[tuple[str, float | None], ...]:
    """Mean cooling rate in °C/h (negative) in each band after the peak.

    None if an end of the band was not logged or lies in a gap, or it was passed in less than a
    quarter of an hour.
    """
    import numpy as np

    t, c = _arrays(elapsed_s, temperature_c)
    peak_at = int(np.argmax(c))
    t, c = t[peak_at:], c[peak_at:]
    found: list[tuple[str, float | None]] = []
    for name, upper, lower in COOLING_BANDS_C:
        start = float(c[0]) if upper is None else upper
        if c[0] < start or start <= lower or float(c.min()) > lower:
            found.append((name, None))
            continue
        first = float(t[0]) if upper is None else _when_down(t, c, start, typed, limits)
        last = _when_down(t, c, lower, typed, limits)
        if first is None or last is None or last - first < limits["rate_window_min"] * 60.0:
            found.append((name, None))
        else:
            found.append((name, (lower - start) / (last - first) * 3600.0))
    return tuple(found)


def _arrays(elapsed_s: ArrayLike, temperature_c: ArrayLike) -> tuple[Any, Any]:
    import numpy as np

    return np.asarray(elapsed_s, dtype=np.float64), np.asarray(temperature_c, dtype=np.float64)


def _is_hidden(t: Any, at: int, limits: Limits) -> bool:
    """Whether the log was silent between reading ``at`` and the next."""
    return bool(t[at + 1] - t[at] > longest_wait_s(t, limits))


def _stretch_around(t: Any, at_s: float, limits: Limits) -> tuple[int, int]:
    """First and last reading of the unbroken stretch a moment lies in; the same one in a gap."""
    import numpy as np

    cuts = np.flatnonzero(np.diff(t) > longest_wait_s(t, limits))
    firsts = np.concatenate(([0], cuts + 1))
    lasts = np.concatenate((cuts, [t.size - 1]))
    at = int(np.clip(np.searchsorted(t[firsts], at_s, side="right") - 1, 0, firsts.size - 1))
    if at_s > t[lasts[at]] and at < firsts.size - 1:
        return int(lasts[at]), int(lasts[at])
    return int(firsts[at]), int(lasts[at])


def when_at(t: Any, c: Any, at: int, level_c: float) -> float:
    """The moment between reading ``at`` and the next at which the curve is at the level."""
    share = (level_c - c[at]) / (c[at + 1] - c[at])
    return float(t[at] + share * (t[at + 1] - t[at]))


def _when_down(t: Any, c: Any, level_c: float, typed: bool, limits: Limits) -> float | None:
    """When a falling curve first comes down to a level; None where a gap hides it."""
    import numpy as np

    at = int(np.flatnonzero(c <= level_c)[0])
    if at == 0:
        return float(t[0])
    hidden = not typed and _is_hidden(t, at - 1, limits)
    return None if hidden else when_at(t, c, at - 1, level_c)
