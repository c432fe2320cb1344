"""A planned firing: segments of rate, target and hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_rate, show_temperature
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from studiolog.craft.firing.heatwork import ConeEstimate

HOTTEST_TARGET_C: Final = 1400.0
# What "as fast as it goes" is planned with, judgement: a small electric kiln's best, and a
# closed kiln cooling by itself, which loses a share of its excess over the room every hour.
FULL_POWER_C_PER_H: Final = 300.0
COOLING_SHARE_PER_H: Final = 0.22
ROOM_C: Final = 20.0


@dataclass(frozen=True, slots=True)
class Segment:
    """One leg: go to ``target_c`` at ``rate_c_per_h``, then hold.

    The rate is a speed, always above zero, up or down as the target lies. None means as fast as
    the kiln goes upwards, and natural cooling downwards.
    """

    rate_c_per_h: float | None
    target_c: float
    hold_min: float = 0.0


def find_problems(
    segments: Sequence[Segment], start_c: float = ROOM_C, scale: str = "C"
) -> dict[str, str]:
    """What is wrong with a program, by field: "segments.0.target_c" -> a sentence. Empty: fine.

    Temperatures are told in ``scale``, "C" or "F".
    """
    problems: dict[str, str] = {}
    if not segments:
        problems["segments"] = "A program needs at least one segment: add a rate and a target."
    here = start_c
    for index, segment in enumerate(segments):
        at, name = f"segments.{index}", f"Segment {index + 1}"
        rate, target, hold = segment.rate_c_per_h, segment.target_c, segment.hold_min
        if rate is not None and not (math.isfinite(rate) and rate > 0.0):
            problems[f"{at}.rate_c_per_h"] = (
                f"{name}: the rate must be above zero; its target says whether it heats or cools."
            )
        elif rate is not None and rate > 2000.0:
            problems[f"{at}.rate_c_per_h"] = (
                f"{name}: no kiln reaches {show_rate(rate, scale)}; check it."
            )
        if not math.isfinite(target) or target < 0.0:
            problems[f"{at}.target_c"] = (
                f"{name}: give a target temperature from {show_temperature(0.0, scale)} up."
            )
        elif target > HOTTEST_TARGET_C:
            problems[f"{at}.target_c"] = (
                f"{name}: {show_temperature(target, scale)} is beyond "
                f"{show_temperature(HOTTEST_TARGET_C, scale)}; "
                f"{'' if scale == 'F' else 'is it meant in °F? '}check it against your kiln's "
                "rating."
            )
        elif target == here and not hold:
            problems[f"{at}.target_c"] = (
                f"{name}: it starts at {show_temperature(target, scale)} already and holds "
                "nothing; change the target or give a hold."
            )
        elif rate is None and target < here and target <= ROOM_C - 5.0:
            problems[f"{at}.target_c"] = f"{name}: a kiln does not cool below the room by itself."
        if not math.isfinite(hold) or hold < 0.0:
            problems[f"{at}.hold_min"] = f"{name}: a hold cannot be shorter than nothing."
        elif hold > 7 * 24 * 60:
            problems[f"{at}.hold_min"] = f"{name}: a hold of over a week; is it meant in minutes?"
        here = target
    return problems


def planned_points(
    segments: Sequence[Segment], start_c: float = ROOM_C
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The planned curve as (elapsed_s, temperature_c): corners, and points along free cooling.

    Raises UserProblem with its fields if the program has problems.
    """
    import numpy as np

    problems = find_problems(segments, start_c)
    if problems:
        raise UserProblem(next(iter(problems.values())), problems)
    times, temps = [0.0], [start_c]

    def go(seconds: float, temperature_c: float) -> None:
        if seconds > 0.0:
            times.append(times[-1] + seconds)
            temps.append(temperature_c)

    for segment in segments:
        here, target, rate = temps[-1], segment.target_c, segment.rate_c_per_h
        if rate is None and target < here:
            for seconds, temperature_c in _cool_freely(here, target):
                go(seconds, temperature_c)
        elif target != here:
            speed = FULL_POWER_C_PER_H if rate is None else rate
            go(abs(target - here) / speed * 3600.0, target)
        go(segment.hold_min * 60.0, target)
    return np.array(times), np.array(temps)


def duration_s(segments: Sequence[Segment], start_c: float = ROOM_C) -> float:
    """How long a program takes, in seconds; free heating and cooling are estimates."""
    return float(planned_points(segments, start_c)[0][-1])


def planned_cone(
    segments: Sequence[Segment], start_c: float = ROOM_C, limits: Limits = SHIPPED
) -> ConeEstimate:
    """The cone that a program amounts to if the kiln follows it, as far as the program goes.

    Raises UserProblem with its fields if the program has problems.
    """
    import numpy as np

    from studiolog.craft.firing.cleaning import trust_curve
    from studiolog.craft.firing.heatwork import estimate_cone

    t, c = planned_points(segments, start_c)
    # Corners may lie hours apart; the sums join them by straight lines, but so thin a curve would
    # be taken for one full of gaps. A plan has no bad readings, however steep: none is set aside.
    apart_s = min(300.0, limits["gap_min"] * 30.0)
    dense = np.union1d(t, np.arange(0.0, float(t[-1]), apart_s))
    return estimate_cone(trust_curve(dense, np.interp(dense, t, c)), limits=limits)


def peak_c(segments: Sequence[Segment], start_c: float = ROOM_C) -> float:
    """The highest temperature a program goes to."""
    return max([start_c, *(segment.target_c for segment in segments)])


def _cool_freely(from_c: float, to_c: float) -> list[tuple[float, float]]:
    """(seconds, °C) steps of a closed kiln cooling by itself, by a constant share an hour."""
    # A kiln never quite reaches the room; the last few degrees would take for ever.
    room = min(ROOM_C, to_c - 10.0)
    steps: list[tuple[float, float]] = []
    here = from_c
    while here - to_c > 1e-9:
        following = max(to_c, here - max(10.0, (here - to_c) / 40.0))
        hours = math.log((here - room) / (following - room)) / COOLING_SHARE_PER_H
        steps.append((hours * 3600.0, following))
        here = following
    return steps
