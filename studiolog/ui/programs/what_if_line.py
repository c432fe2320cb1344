"""The line that a what-if draws over the plot, put together from segments."""

from collections.abc import Sequence

from studiolog.craft.firing.program import Segment, duration_s, find_problems, planned_points
from studiolog.craft.firing.what_if import find_top
from studiolog.problems import UserProblem
from studiolog.ui.plots.what_if_handles import WhatIfLine


def line_of(segments: Sequence[Segment], changed: bool) -> WhatIfLine | None:
    """The line of a program and where its top stands; None for one that has no top."""
    if not segments or find_problems(segments):
        return None
    try:
        top = find_top(segments)
    except UserProblem:
        return None
    at_s, at_c = planned_points(segments)
    climb_s = duration_s(segments[: top.segment]) if top.segment else 0.0
    hold_s = segments[top.segment].hold_min * 60.0
    top_s = duration_s(segments[: top.segment + 1]) - hold_s
    return WhatIfLine(
        tuple(at_s.tolist()),
        tuple(at_c.tolist()),
        climb_s,
        top.from_c,
        top_s,
        top.peak_c,
        top_s + top.hold_min * 60.0,
        changed,
    )
