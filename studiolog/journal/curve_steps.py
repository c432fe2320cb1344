"""What the kiln did: the curve of a firing taken apart, and its program laid on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from studiolog.craft.firing.cleaning import clean_curve, trust_curve
from studiolog.craft.firing.followed import (
    VERDICTS,
    CurveAnalysis,
    FollowedStep,
    Trouble,
    analyse_curve,
)
from studiolog.craft.firing.lids import LidOpening
from studiolog.craft.firing.program import Segment, find_problems
from studiolog.craft.firing.segments import FoundSegment, Rate, join_slowing
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.journal.firing_log import TYPED
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = [
    "VERDICTS",
    "CurveAnalysis",
    "CurveSteps",
    "FollowedStep",
    "FoundSegment",
    "LidOpening",
    "Rate",
    "Trouble",
    "lay_program",
]


class Channel(Protocol):
    """A stored channel, as the page of a firing has it."""

    @property
    def channel(self) -> str: ...
    @property
    def role(self) -> str: ...
    @property
    def main(self) -> bool: ...
    @property
    def elapsed_s(self) -> NDArray[np.float64]: ...
    @property
    def temperature_c(self) -> NDArray[np.float64]: ...


@dataclass(frozen=True, eq=False)
class CurveSteps:
    """The analysis of the main curve; None without one, ``problem`` where it can't be read.

    ``program_problem`` says why the program could not be laid on it; ``top_c`` is the target of
    the program, and ``limits`` what was judged by.
    """

    analysis: CurveAnalysis | None
    problem: str
    program_problem: str
    top_c: float | None
    limits: Limits

    @property
    def steps(self) -> tuple[FollowedStep, ...]:
        """The program's steps on the log; empty without a log or a program."""
        return self.analysis.steps if self.analysis is not None else ()

    @property
    def stretches(self) -> tuple[FoundSegment, ...]:
        """The curve's own straight stretches, told where there is no program to tell it by."""
        return join_slowing(self.analysis.found) if self.analysis is not None else ()


def lay_program(
    curves: Sequence[Channel], segments: Sequence[Segment], limits: Limits = SHIPPED
) -> CurveSteps:
    """Take the main curve apart and lay a program on it; a logged set point is used as it is."""
    problems = find_problems(segments) if segments else {}
    plan = () if problems else tuple(segments)
    top_c = max((segment.target_c for segment in plan), default=None)
    told = next(iter(problems.values()), "")
    main = next((curve for curve in curves if curve.main), None)
    if main is None:
        return CurveSteps(None, "", told, top_c, limits)
    typed = main.channel == TYPED
    try:
        clean = trust_curve if typed else clean_curve
        curve = clean(main.elapsed_s, main.temperature_c)
    except UserProblem as problem:
        return CurveSteps(None, problem.sentence, told, top_c, limits)
    asked = next((c for c in curves if c.role == "setpoint" and c.elapsed_s.size), None)
    analysis = analyse_curve(
        plan,
        curve.elapsed_s,
        curve.temperature_c,
        setpoint=None if asked is None else (asked.elapsed_s, asked.temperature_c),
        typed=typed,
        limits=limits,
    )
    return CurveSteps(analysis, "", told, top_c, limits)
