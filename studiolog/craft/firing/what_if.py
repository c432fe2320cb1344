"""What if: the top of a program changed, and the cone it would give; and the other way round.

Three things decide the cone of a program that a potter can turn: the top temperature, the hold at
it, and the rate of the last climb. :func:`solve` finds the one of them that gives a wanted cone,
by root finding on the same equivalent ramp that reads the logs, so that a program and its log
agree. Heat at the top rises with the temperature and the hold and falls with the rate.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

from studiolog.craft.firing import cones
from studiolog.craft.firing.program import (
    FULL_POWER_C_PER_H,
    HOTTEST_TARGET_C,
    ROOM_C,
    Segment,
    find_problems,
    planned_cone,
)
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import THIN, show_duration, show_rate, show_temperature
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from studiolog.craft.firing.calibration import LevelOffset
    from studiolog.craft.firing.heatwork import ConeEstimate

Handle = Literal["peak", "hold", "rate"]
HANDLES: Final[Mapping[Handle, str]] = {
    "peak": "top temperature",
    "hold": "hold",
    "rate": "last rate",
}
_NEAR: Final = 0.05  # of a cone: nearer than a tenth reads alike
_TOO_FAR: Final = 0.2  # of a cone: an answer that misses by more is none
_END: Final = 0.001


@dataclass(frozen=True, slots=True)
class Top:
    """The top of a program: which segment climbs to it, and how it stays there.

    ``segment`` counts from 0 and is the last climb; ``last`` is the last of those that stay at the
    same temperature. ``from_c`` is where the climb starts, ``floor_c`` the hottest of what comes
    before and after: the top must stay above it to be the top.
    """

    segment: int
    last: int
    peak_c: float
    hold_min: float
    rate_c_per_h: float | None
    from_c: float
    floor_c: float


@dataclass(frozen=True, slots=True)
class Answer:
    """A program changed in one thing, and the cone it then really gives.

    ``value`` is in whole °C, minutes or °C/h, as ``handle`` says; ``wanted`` the ordinal asked for.
    """

    handle: Handle
    value: float
    wanted: float
    segments: tuple[Segment, ...]
    estimate: ConeEstimate

    def say(self, scale: str = "C") -> str:
        """The value with its unit, for a reader."""
        return show_handle(self.handle, self.value, scale)


class OutOfReach(UserProblem):
    """No value of the handle gives the wanted cone; ``nearest`` is the best that can be had."""

    def __init__(self, sentence: str, nearest: Answer) -> None:
        super().__init__(sentence)
        self.nearest = nearest


def find_top(segments: Sequence[Segment], start_c: float = ROOM_C) -> Top:
    """The top of a program and the last climb to it.

    Raises `UserProblem` for a program with problems, and for one that nowhere climbs.
    """
    problems = find_problems(segments, start_c)
    if problems:
        raise UserProblem(next(iter(problems.values())), problems)
    targets = [segment.target_c for segment in segments]
    peak_c = max(targets)
    if peak_c <= start_c:
        raise UserProblem(
            "This program nowhere climbs above where it starts, so it has no top to change: "
            "give a segment a target above the room."
        )
    at = targets.index(peak_c)
    last = at
    while last + 1 < len(targets) and targets[last + 1] == peak_c:
        last += 1
    from_c = targets[at - 1] if at else start_c
    # A program may come back to the same top later; all of it moves together, down to what lies
    # between or around.
    others = [target for target in targets if target < peak_c]
    return Top(
        at,
        last,
        peak_c,
        sum(segment.hold_min for segment in segments[at : last + 1]),
        segments[at].rate_c_per_h,
        from_c,
        max([start_c, *others]),
    )


def with_peak(segments: Sequence[Segment], peak_c: float) -> tuple[Segment, ...]:
    """The program with another top temperature in °C."""
    top = find_top(segments)
    return tuple(
        replace(segment, target_c=peak_c) if segment.target_c == top.peak_c else segment
        for segment in segments
    )


def with_hold(segments: Sequence[Segment], hold_min: float) -> tuple[Segment, ...]:
    """The program with another hold at its top, in minutes all told.

    Holds that follow each other at the top become one.
    """
    top = find_top(segments)
    if hold_min == top.hold_min:
        return tuple(segments)
    held = replace(segments[top.segment], hold_min=hold_min)
    return (*segments[: top.segment], held, *segments[top.last + 1 :])


def with_last_rate(segments: Sequence[Segment], rate_c_per_h: float | None) -> tuple[Segment, ...]:
    """The program with another rate of the last climb, in °C/h; None: as fast as the kiln goes."""
    at = find_top(segments).segment
    return (
        *segments[:at],
        replace(segments[at], rate_c_per_h=rate_c_per_h),
        *segments[at + 1 :],
    )


_CHANGES: Final[Mapping[Handle, Callable[[Sequence[Segment], float], tuple[Segment, ...]]]] = {
    "peak": with_peak,
    "hold": with_hold,
    "rate": with_last_rate,
}


def with_handle(segments: Sequence[Segment], handle: Handle, value: float) -> tuple[Segment, ...]:
    """The program with one handle set: °C, minutes or °C/h."""
    return _CHANGES[handle](segments, value)


def value_of(top: Top, handle: Handle) -> float:
    """What a handle stands at: °C, minutes or °C/h, full power taken as it is planned with."""
    if handle == "peak":
        return top.peak_c
    if handle == "hold":
        return top.hold_min
    return FULL_POWER_C_PER_H if top.rate_c_per_h is None else top.rate_c_per_h


def reach_of(top: Top, handle: Handle, limits: Limits = SHIPPED) -> tuple[float, float]:
    """The lowest and the highest value a handle is turned to: °C, minutes or °C/h."""
    if handle == "peak":
        return float(int(top.floor_c) + 1), HOTTEST_TARGET_C
    if handle == "hold":
        return 0.0, limits["most_hold_min"]
    return limits["slow_c_per_h"], limits["fast_c_per_h"]


def show_handle(handle: Handle, value: float, scale: str = "C") -> str:
    """A value of a handle with its unit, in the scale the potter reads."""
    if handle == "peak":
        return show_temperature(value, scale)
    if handle == "hold":
        return show_duration(value * 60.0) if value else f"0{THIN}min"
    return show_rate(value, scale)


def say_cone(estimate: ConeEstimate) -> str:
    """The cone of an estimate in a sentence: "cone 6 −0.2", "above cone 14"."""
    for flag, words in (("below_chart", "below cone 022"), ("above_chart", "above cone 14")):
        if flag in estimate.flags:
            return words
    return f"cone {estimate.label}"


def cone_if(
    segments: Sequence[Segment], offset: LevelOffset | None = None, limits: Limits = SHIPPED
) -> ConeEstimate:
    """The cone a program would give, with its interval.

    With ``offset`` the program is taken as the controller of a kiln shows it, and the cone as the
    ware at that level of the kiln gets it. Raises `UserProblem` for a program with problems.
    """
    from studiolog.craft.firing.calibration import correct_cone

    estimate = planned_cone(segments, limits=limits)
    return estimate if offset is None else correct_cone(estimate, offset)


def solve(
    segments: Sequence[Segment],
    cone: str | float,
    handle: Handle,
    offset: LevelOffset | None = None,
    limits: Limits = SHIPPED,
    scale: str = "C",
) -> Answer:
    """The value of one handle that gives a wanted cone, in whole °C, minutes or °C/h.

    Raises `OutOfReach` with the nearest that can be had where no value does, told in the scale
    the potter reads, and `UserProblem` for a program with problems or an unknown cone.
    """
    from scipy.optimize import brentq

    wanted = cones.ordinal_of(cone) if isinstance(cone, str) else float(cone)
    top = find_top(segments)
    low, high = reach_of(top, handle, limits)

    def answer(value: float) -> Answer:
        changed = with_handle(segments, handle, value)
        return Answer(handle, value, wanted, changed, cone_if(changed, offset, limits))

    # The scale ends at cone 14: hotter reads alike, and the coolest of it is what is asked for.
    aim = min(wanted, cones.HIGHEST - _END)

    def miss(value: float) -> float:
        return answer(value).estimate.number - aim

    low_miss, high_miss = miss(low), miss(high)
    if low_miss * high_miss > 0.0:
        nearest = answer(low if abs(low_miss) <= abs(high_miss) else high)
        if abs(nearest.estimate.number - wanted) < _NEAR:
            return nearest
        raise OutOfReach(_say_out_of_reach(nearest, top, limits, scale), nearest)
    root = brentq(miss, low, high, xtol=0.01)
    found = answer(min(max(float(round(root)), low), high))
    if abs(found.estimate.number - wanted) > _TOO_FAR:
        # A whole step is more than a cone's tenths where a hold lasts for days, and at the end of
        # the scale a correction has nothing to hold on to.
        raise OutOfReach(
            f"The nearest to cone {cones.label_of(wanted)} that a {HANDLES[handle]} in whole "
            f"figures gives is {found.say(scale)}, {say_cone(found.estimate)}.",
            found,
        )
    return found


def _say_out_of_reach(nearest: Answer, top: Top, limits: Limits, scale: str) -> str:
    """Why there is no answer, and what would help."""
    aim = f"cone {cones.label_of(nearest.wanted)}"
    gives, at = say_cone(nearest.estimate), nearest.say(scale)
    too_hot = nearest.estimate.number > nearest.wanted
    if nearest.handle == "peak":
        if too_hot:
            floor = show_temperature(top.floor_c, scale)
            return (
                f"No top temperature above {floor}, where the other segments go, is cool enough "
                f"for {aim}: the nearest is {at}, {gives}. Lower the segment before the top."
            )
        hottest = show_temperature(HOTTEST_TARGET_C, scale)
        return f"No top up to {hottest} is hot enough for {aim}: the nearest is {at}, {gives}."
    if nearest.handle == "hold":
        if too_hot:
            return (
                f"No hold makes this cool enough for {aim}: with none at all it comes to {gives}. "
                "Lower the top temperature."
            )
        longest = show_duration(limits["most_hold_min"] * 60.0)
        return (
            f"Even {longest} of hold do not bring this to {aim}: they come to {gives}. "
            "Raise the top temperature."
        )
    if too_hot:
        return (
            f"No rate up to {at} is fast enough for {aim}: the nearest comes to {gives}. "
            "Shorten the hold or lower the top temperature."
        )
    return (
        f"No rate down to {at} is slow enough for {aim}: the nearest comes to {gives}. "
        "Lengthen the hold or raise the top temperature."
    )
