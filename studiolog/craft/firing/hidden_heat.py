"""What a log hides: the hottest course that a gap could hold, and a firing interrupted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from studiolog.craft.firing.cleaning import HOTTEST_C, Gap
from studiolog.craft.firing.equivalent_ramp import whole_model, work_s
from studiolog.craft.firing.program import ROOM_C
from studiolog.craft.firing.softening import KELVIN
from studiolog.craft.limits import SHIPPED, Limits

# 20 °C before its end point a cone begins to lean (the bend table).
SOFTENS_BEFORE_C: Final = 20.0
_ROUNDING_C: Final = 0.01
_GAP_POINTS: Final = 60
# Cooling is quickest at first, and its start is what a gap hides.
_STEEPER_COOLING: Final = 1.5


def fill_gaps(t: Any, c: Any, gaps: Sequence[Gap]) -> tuple[Any, Any]:
    """The curve with the hottest course each gap could plausibly hide put into it.

    On from before the gap at the rate it had, back from after it along the cooling found there,
    to where the two meet. A kiln left to itself cools by a share of its excess over the room, so
    cooling was quicker the further back, and half as much again is allowed for.
    """
    import numpy as np

    times, temps = [t], [c]
    for gap in gaps:
        span = gap.end_s - gap.start_s
        into = np.linspace(0.0, span, _GAP_POINTS + 2)[1:-1]
        up = gap.start_c + max(_rate_near(t, c, gap.start_s, -1), 0.0) * into
        after = _rate_near(t, c, gap.end_s, +1)
        if after < 0.0:
            excess = max(gap.end_c - ROOM_C, 1.0)
            share = -after * _STEEPER_COOLING / excess
            back = ROOM_C + excess * np.exp(np.minimum(share * (span - into), 20.0))
        else:
            back = gap.end_c - after * (span - into)
        chord = gap.start_c + (gap.end_c - gap.start_c) * into / span
        course = np.maximum(np.minimum(up, back), chord)
        if bool((course > chord + _ROUNDING_C).any()):
            times.append(gap.start_s + into)
            temps.append(np.minimum(course, HOTTEST_C))
    if len(times) == 1:
        return t, c
    all_t = np.concatenate(times)
    order = np.argsort(all_t, kind="stable")
    return all_t[order], np.concatenate(temps)[order]


def _rate_near(t: Any, c: Any, at_s: float, side: int) -> float:
    """°C per second over the quarter of an hour before (−1) or after (+1) a reading."""
    import numpy as np

    reach = 900.0
    if side < 0:
        near = np.flatnonzero((t <= at_s) & (t >= at_s - reach))
        near = near if near.size > 1 else np.flatnonzero(t <= at_s)[-2:]
    else:
        near = np.flatnonzero((t >= at_s) & (t <= at_s + reach))
        near = near if near.size > 1 else np.flatnonzero(t >= at_s)[:2]
    if near.size < 2:
        return 0.0
    slopes = np.diff(c[near]) / np.diff(t[near])
    return float(np.median(slopes))


def was_interrupted(t: Any, c: Any, number: float, limits: Limits = SHIPPED) -> bool:
    """True if the heat fell (by the limit ``fall_c``) and came back after the cone ``number``
    (ordinal) had begun to lean. Cleaned readings: seconds, °C."""
    import numpy as np

    peak_c = float(c.max())
    before = np.maximum.accumulate(c)
    after = np.maximum.accumulate(c[::-1])[::-1]
    dips = np.flatnonzero(np.minimum(before, after) - c > limits["fall_c"])
    if dips.size == 0:
        return False
    activation = whole_model().activation_at(number)
    peak = peak_c + KELVIN
    work = np.cumsum(work_s(t, c + KELVIN, np.array([[activation]]), peak)[0])
    share = work[np.maximum(dips - 1, 0)] / work[-1]
    leaning = float(np.exp(-SOFTENS_BEFORE_C * activation / (peak * peak)))
    # Work done while cooling for good counts for nothing here: the dip must be left again for a
    # heat that still bends the cone.
    return bool(((share > leaning) & (after[dips] > peak_c - 4.0 * SOFTENS_BEFORE_C)).any())
