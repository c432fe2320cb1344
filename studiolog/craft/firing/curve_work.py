"""What a firing's curve says of the work its kiln did: time at heat, pace near the top, power used.

One pass over the main curve, and over the log of its duty where there is one. The figures are
kept beside the firing, so that wear and energy over years are told without unpacking a curve.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing.cleaning import CLOCK_SLACK_S, CleanCurve
from studiolog.craft.firing.curve import time_above_s, when_at
from studiolog.craft.limits import SHIPPED

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

CLIMB_C: Final = (1000.0, 1150.0)
QUARTER_S: Final = 900.0
"""Power is gathered by quarter hours of the wall clock: prices change at none but these."""

# A reading every half-hour by hand is a thin log; a longer silence hides what happened in it.
_THINNEST_S: Final = 1800.0
_SHORTEST_HOLD_S: Final = 600.0
# The room warms a little overnight while a delayed program waits.
_STILL_C: Final = 3.0
_WARM_C: Final = 40.0
# Under this an element is off: what is logged is the controller's rounding.
_OFF_SHARE: Final = 0.02
_PERCENT_ABOVE: Final = 1.5
_MOST_PERCENT: Final = 105.0
# A duty log that leaves out more of the heating than this says nothing of the whole.
_UNSEEN_SHARE: Final = 0.1


@dataclass(frozen=True, slots=True)
class CurveWork:
    """Hours and shares of one firing; None where the log does not say.

    ``begins_h`` from the log's start until the kiln begins to heat, ``heating_h`` from there until
    the top is left, ``cooling_h`` under power after that. ``climb_min`` from 1000 to 1150 °C going
    up, and ``climb_demand`` the mean share of full power on that way; ``hold_duty`` the share while
    the top was held. ``duty_h`` are the hours of full power that the logged duty amounts to, of
    which ``duty_gap_h`` are joined over silences; ``by_quarter`` the seconds of full power in each
    quarter hour of the wall clock, from the quarter in which the firing started. ``above_100_h``
    and ``above_1000_h`` are how long the kiln was hotter than that, cooling included.
    """

    begins_h: float
    heating_h: float
    cooling_h: float | None = None
    climb_min: float | None = None
    climb_demand: float | None = None
    hold_duty: float | None = None
    duty_h: float | None = None
    duty_gap_h: float | None = None
    by_quarter: tuple[int, ...] = ()
    above_100_h: float | None = None
    above_1000_h: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Duty:
    """A duty log as shares of full power, with its integral in seconds of full power."""

    t: Any
    share: Any
    spent_s: Any

    def between(self, start_s: float, end_s: float) -> float:
        """Seconds of full power between two moments."""
        import numpy as np

        spent = np.interp([start_s, end_s], self.t, self.spent_s)
        return float(spent[1] - spent[0])

    def mean(self, start_s: float, end_s: float) -> float | None:
        """The mean share, if the log speaks of the whole time and is silent for none of it."""
        import numpy as np

        gap_s = _gap_s()
        if end_s <= start_s or start_s < self.t[0] - gap_s or end_s > self.t[-1] + gap_s:
            return None
        steps = np.diff(self.t)
        over = (self.t[:-1] < end_s) & (self.t[1:] > start_s)
        if bool((over & (steps > _silence_s(self.t))).any()):
            return None
        share = self.between(start_s, end_s) / (end_s - start_s)
        return min(1.0, max(0.0, share))


def tell_curve_work(
    curve: CleanCurve,
    duties: Sequence[tuple[ArrayLike, ArrayLike]] = (),
    started_at: datetime | None = None,
) -> CurveWork | None:
    """The work that a cleaned curve tells of; None for one of less than three readings.

    ``duties`` are logs of the share of full power (seconds, and a share up to 1 or a percentage);
    of several, as of a kiln with zones, the mean counts, as if each zone had the same power.
    ``started_at`` is the wall clock at second 0.
    """
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    if t.size < 3:
        return None
    begins_s, leaves_s = _heating(t, c)
    climb = _climb(t, c)
    duty = _join_duties(duties)
    work = CurveWork(
        begins_h=begins_s / 3600.0,
        heating_h=(leaves_s - begins_s) / 3600.0,
        climb_min=(climb[1] - climb[0]) / 60.0 if climb is not None else None,
        above_100_h=time_above_s(t, c, 100.0) / 3600.0,
        above_1000_h=time_above_s(t, c, 1000.0) / 3600.0,
    )
    if duty is None or _unseen_s(duty, begins_s, leaves_s) > _UNSEEN_SHARE * (leaves_s - begins_s):
        return work
    top = float(np.max(c)) - _near_top_c()
    reached_s = float(t[int(np.flatnonzero(c >= top)[0])])
    held = leaves_s - reached_s >= _SHORTEST_HOLD_S
    steps = np.diff(duty.t)
    return CurveWork(
        begins_h=work.begins_h,
        heating_h=work.heating_h,
        cooling_h=_cooling_s(duty, leaves_s) / 3600.0,
        climb_min=work.climb_min,
        climb_demand=duty.mean(*climb) if climb is not None else None,
        hold_duty=duty.mean(reached_s, leaves_s) if held else None,
        duty_h=float(duty.spent_s[-1]) / 3600.0,
        duty_gap_h=float(np.sum(steps[steps > _silence_s(duty.t)])) / 3600.0,
        by_quarter=_by_quarter(duty, started_at),
        above_100_h=work.above_100_h,
        above_1000_h=work.above_1000_h,
    )


def _heating(t: Any, c: Any) -> tuple[float, float]:
    """When the kiln begins to heat, and when it leaves its top (the log's end if it never does)."""
    import numpy as np

    peak_at = int(np.argmax(c))
    peak = float(c[peak_at])
    near = np.flatnonzero(c >= peak - _near_top_c())
    last = int(near[-1])
    leaves_s = float(t[last])
    if last + 1 < t.size:
        leaves_s = when_at(t, c, last, peak - _near_top_c())
    if float(c[0]) > _WARM_C and 0.0 < float(t[0]) < 4 * 3600.0:
        return 0.0, leaves_s  # the first reading by hand comes when the kiln is warm already
    rising = c[: int(near[0]) + 1]
    halfway = int(np.flatnonzero(rising >= (float(rising.min()) + peak) / 2.0)[0])
    cold = c[: halfway + 1]
    begins_at = int(np.flatnonzero(cold <= float(cold.min()) + _STILL_C)[-1])
    return float(t[begins_at]), leaves_s


def _climb(t: Any, c: Any) -> tuple[float, float] | None:
    """When 1000 °C was left for good and 1150 °C first reached; None if a silence hides it."""
    import numpy as np

    low, high = CLIMB_C
    above = np.flatnonzero(c >= high)
    if above.size == 0 or above[0] == 0:
        return None
    end = int(above[0])
    below = np.flatnonzero(c[:end] < low)
    if below.size == 0:
        return None
    start = int(below[-1])
    if bool((np.diff(t[start : end + 1]) > _silence_s(t)).any()):
        return None
    return when_at(t, c, start, low), when_at(t, c, end - 1, high)


def _join_duties(duties: Sequence[tuple[ArrayLike, ArrayLike]]) -> _Duty | None:
    import numpy as np

    found: list[tuple[Any, Any]] = []
    for times, values in duties:
        t, share = np.asarray(times, dtype=np.float64), np.asarray(values, dtype=np.float64)
        fine = np.isfinite(t) & np.isfinite(share)
        t, share = t[fine], share[fine]
        if t.size < 3 or not bool(np.all(np.diff(t) > 0.0)):
            continue
        most = float(share.max())
        if most > _MOST_PERCENT:
            continue  # watts or amperes: no share of anything
        share = share / 100.0 if most > _PERCENT_ABOVE else share
        found.append((t, np.clip(share, 0.0, 1.0)))
    if not found:
        return None
    t = found[0][0]
    share = np.mean([np.interp(t, times, shares) for times, shares in found], axis=0)
    spent = np.concatenate(([0.0], np.cumsum((share[1:] + share[:-1]) / 2.0 * np.diff(t))))
    return _Duty(t, share, spent)


def _unseen_s(duty: _Duty, start_s: float, end_s: float) -> float:
    """Seconds of the heating before the duty's log begins or after it ends."""
    return max(0.0, float(duty.t[0]) - start_s) + max(0.0, end_s - float(duty.t[-1]))


def _cooling_s(duty: _Duty, leaves_s: float) -> float:
    """Seconds under power after the top was left: a slow cooling, a hold on the way down."""
    import numpy as np

    middle = (duty.share[1:] + duty.share[:-1]) / 2.0
    after = np.maximum(duty.t[1:] - np.maximum(duty.t[:-1], leaves_s), 0.0)
    quiet = np.diff(duty.t) > _silence_s(duty.t)
    return float(np.sum(after[(middle > _OFF_SHARE) & ~quiet]))


def _by_quarter(duty: _Duty, started_at: datetime | None) -> tuple[int, ...]:
    """Whole seconds of full power by quarter hour, as many as there are until it ends."""
    import numpy as np

    into = 0.0
    if started_at is not None:
        into = (started_at.minute % 15) * 60.0 + started_at.second
    last = float(duty.t[-1]) + into
    edges = np.arange(0.0, last + QUARTER_S, QUARTER_S) - into
    spent = np.rint(np.interp(edges, duty.t, duty.spent_s)).astype(np.int64)
    quarters = np.diff(spent)
    used = np.flatnonzero(quarters)
    return tuple(int(value) for value in quarters[: int(used[-1]) + 1]) if used.size else ()


def _silence_s(t: Any) -> float:
    """A wait longer than this between two readings hides what happened in it."""
    import numpy as np

    typical = float(np.median(np.diff(t))) if t.size > 1 else 0.0
    return min(max(_gap_s(), 1.5 * typical), _THINNEST_S) + CLOCK_SLACK_S


# Figures that are kept beside a firing are told by the limits as shipped: years are compared by
# them, and they must not depend on what the limits were when a log came in.


def _gap_s() -> float:
    return SHIPPED["gap_min"] * 60.0


def _near_top_c() -> float:
    return SHIPPED["near_peak_c"]
