"""Where a log followed its program: each leg and each hold, when it happened and how fast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing.curve import RATE_WINDOW_S, rates_along
from studiolog.craft.firing.program import ROOM_C, Segment

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

# A leg counts as done this close to its target, a hold lasts while the kiln stays so close; its
# ends are taken nearer, or a slow leg would lend it minutes.
REACHED_C: Final = 3.0
HELD_C: Final = 6.0
NEAR_C: Final = 1.5
# Can't keep up: under so much of the programmed rate for so long (judgement).
SHORT_OF_RATE: Final = 0.8
SHORT_FOR_S: Final = 1200.0


@dataclass(frozen=True, slots=True)
class FollowedStep:
    """One leg or one hold of a program as the log shows it.

    ``segment`` counts from 0. ``rate_c_per_h`` is the logged rate of a leg, None for a hold or
    where the log says too little; ``held_min`` is set for a hold. ``reached`` is False if the log
    ends, or turns back, before the target.
    """

    segment: int
    hold: bool
    start_s: float
    end_s: float
    rate_c_per_h: float | None
    held_min: float | None
    reached: bool


def follow_program(
    segments: Sequence[Segment], elapsed_s: ArrayLike, temperature_c: ArrayLike
) -> tuple[FollowedStep, ...]:
    """Match a program to a cleaned curve, leg by leg, in order of time.

    Legs that the log no longer holds are left out. Seconds and °C.
    """
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    steps: list[FollowedStep] = []
    at, here = 0, ROOM_C
    for number, segment in enumerate(segments):
        if at >= t.size - 1:
            break
        end, reached = at, True
        left = at
        if segment.target_c != here:
            end, reached = _reach(c, at, segment.target_c, rising=segment.target_c > here)
            if segment.hold_min and reached:
                end, left = _hold_ends(c, end, segment.target_c)
            if end > at:
                steps.append(
                    FollowedStep(
                        number,
                        False,
                        float(t[at]),
                        float(t[end]),
                        _mean_rate(t, c, at, end),
                        None,
                        reached,
                    )
                )
        elif segment.hold_min:
            end, left = _hold_ends(c, at, segment.target_c)
        at, here = end, segment.target_c
        if segment.hold_min and reached and left > at:
            held_min = float(t[left] - t[at]) / 60.0
            steps.append(
                FollowedStep(number, True, float(t[at]), float(t[left]), None, held_min, True)
            )
            at = left
    return tuple(steps)


def find_shortfall_c(
    segments: Sequence[Segment], elapsed_s: ArrayLike, temperature_c: ArrayLike
) -> float | None:
    """°C above which the kiln stayed under 0.8 of the programmed rate for 20 minutes, or None."""
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    if t.size < 3:
        return None
    rates = rates_along(t, c)
    for step in follow_program(segments, t, c):
        planned = segments[step.segment].rate_c_per_h
        if step.hold or planned is None or step.rate_c_per_h is None or step.rate_c_per_h <= 0:
            continue
        # The window of the rate reaches over the ends of the leg: half of it says nothing.
        inside = (t >= step.start_s + RATE_WINDOW_S / 2) & (t <= step.end_s - RATE_WINDOW_S / 2)
        short = inside & (rates < SHORT_OF_RATE * planned)
        since: int | None = None
        for place in np.flatnonzero(inside):
            if not short[place]:
                since = None
            elif since is None:
                since = int(place)
            elif t[place] - t[since] >= SHORT_FOR_S:
                return float(c[since])
    return None


def _reach(c: Any, at: int, target_c: float, rising: bool) -> tuple[int, bool]:
    """The first reading at the target, and whether it was reached at all."""
    import numpy as np

    rest = c[at:]
    there = rest >= target_c - REACHED_C if rising else rest <= target_c + REACHED_C
    if there.any():
        return at + int(np.flatnonzero(there)[0]), True
    return at + int(np.argmax(rest) if rising else np.argmin(rest)), False


def _hold_ends(c: Any, at: int, target_c: float) -> tuple[int, int]:
    """First and last reading of a hold that begins about ``at``: those near the target."""
    import numpy as np

    away = np.flatnonzero(np.abs(c[at:] - target_c) > HELD_C)
    last = at + int(away[0]) if away.size else int(c.size)
    near = np.flatnonzero(np.abs(c[at:last] - target_c) <= NEAR_C)
    if near.size < 2:  # the kiln never settled at it
        return at, max(at, last - 1)
    return at + int(near[0]), at + int(near[-1])


def _mean_rate(t: Any, c: Any, at: int, end: int) -> float | None:
    span_s = float(t[end] - t[at])
    if span_s < RATE_WINDOW_S:
        return None
    return float(c[end] - c[at]) / span_s * 3600.0
