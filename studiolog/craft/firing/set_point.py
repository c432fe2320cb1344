"""What a program asks at a moment."""

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
