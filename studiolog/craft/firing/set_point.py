"""What a program asks at a moment, and how far a reading is behind it."""

from __future__ import annotations

from collections.abc import Sequence

from studiolog.craft.firing.program import ROOM_C, Segment, planned_points


def set_point_c(
    segments: Sequence[Segment], elapsed_s: float, start_c: float = ROOM_C
) -> float | None:
    """The temperature a program asks so many seconds after its start; None once it has ended.

    Free heating and cooling are estimates. Raises UserProblem if the program has problems.
    """
    import numpy as np

    at_s, at_c = planned_points(segments, start_c)
    if not 0.0 <= elapsed_s <= float(at_s[-1]):
        return None
    return float(np.interp(elapsed_s, at_s, at_c))


def step_at(segments: Sequence[Segment], elapsed_s: float, start_c: float = ROOM_C) -> int | None:
    """Which segment is being fired so many seconds after the start, counted from 0; None after.

    Raises UserProblem if the program has problems.
    """
    for number in range(1, len(segments) + 1):
        if elapsed_s < float(planned_points(segments[:number], start_c)[0][-1]):
            return number - 1
    return None
