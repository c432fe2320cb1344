"""The planned curve, drawn small: temperature over hours, with its axes and the steps' numbers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor
from typing import TypeAlias

from studiolog.craft.units import (
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    show_number,
    show_temperature,
)
from studiolog.paper.board import CAP, HAIR_MM, Board
from studiolog.paper.lettering import MM_PER_PT, width_mm
from studiolog.paper.page import Extent, Words

_AXIS_PT = 6.5
_QUARTZ_C = 573.0
_BESIDE = ((-1, -0.6), (1, -0.6), (0, -1), (-1, 0.6), (1, 0.6), (0, 1))
"""Where a number may stand by its line, the best first."""

_Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True)
class Plan:
    """The planned curve: seconds and °C of its corners, and when each step ends."""

    at_s: tuple[float, ...]
    at_c: tuple[float, ...]
    step_ends_s: tuple[float, ...]


def draw_plan(board: Board, frame: Extent, plan: Plan, scale: str) -> None:
    """Draw a planned curve within a frame; temperatures in the scale that is read, "C" or "F"."""
    size = _AXIS_PT * MM_PER_PT
    tall = width_mm("2400°", _AXIS_PT) + 1.2
    left, right = frame.left_mm + tall, frame.right_mm - 1.5
    top, bottom = frame.top_mm + 2.5, frame.bottom_mm - size - 2.0
    if right - left < 10 or bottom - top < 8 or len(plan.at_s) < 2:
        return
    hours = plan.at_s[-1] / 3600.0
    heats = _heats(max(plan.at_c), scale)
    most_c = max(max(plan.at_c) * 1.04, heats[-1][0])

    def across(seconds: float) -> float:
        return left + (right - left) * seconds / (hours * 3600.0)

    def down(heat_c: float) -> float:
        return bottom - (bottom - top) * max(heat_c, 0.0) / most_c

    for heat_c, label in heats:
        board.rule(left, down(heat_c), right, HAIR_MM)
        board.words(
            left - 1.0, down(heat_c) + CAP * size / 2, label, tall - 1.0, _AXIS_PT,
            align="right", tone="soft",
        )  # fmt: skip
    points = zip(plan.at_s, plan.at_c, strict=True)
    line = tuple((across(at_s), down(at_c)) for at_s, at_c in points)
    if max(plan.at_c) > _QUARTZ_C * 1.1:
        _mark_quartz(board, left, right, down(_QUARTZ_C), scale, line)
    _write_hours(board, hours, across, bottom, frame)
    board.upright(left, top, bottom, 0.25, "ink")
    board.rule(left, bottom, right, 0.25, "ink")
    board.path(line, 0.5)
    middles = [(a + b) / 2 for a, b in pairwise((0.0, *plan.step_ends_s))]
    spots = [(across(middle_s), down(_heat_at(plan, middle_s))) for middle_s in middles]
    _number_steps(board, spots, line, Extent(left, top - 2.5, right, bottom))


def _heats(peak_c: float, scale: str) -> list[tuple[float, str]]:
    """Round temperatures from the first above 0 to the peak, in °C, each with its label."""
    peak = fahrenheit_from_celsius(peak_c) if scale == "F" else peak_c
    step = next((s for s in (20, 50, 100, 200, 400, 500) if peak / s <= 6.5), 1000)
    marks = [step * n for n in range(1, max(1, floor(peak / step)) + 1)]
    to_c = celsius_from_fahrenheit if scale == "F" else float
    return [(to_c(mark), f"{show_number(mark)}°") for mark in marks]


def _write_hours(
    board: Board, hours: float, across: Callable[[float], float], bottom: float, frame: Extent
) -> None:
    steps = (0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0)
    step = next((s for s in steps if hours / s <= 8.5), 24.0 * ceil(hours / 24.0 / 8))
    count = floor(hours / step + 1e-9)
    line = bottom + _AXIS_PT * MM_PER_PT + 1.0
    for number in range(count + 1):
        x = across(number * step * 3600.0)
        board.upright(x, bottom, bottom + 1.0, HAIR_MM, "ink")
        at = f"{number * step:g}" + (" h" if number == count else "")
        wide = width_mm(at, _AXIS_PT)
        x = min(x, frame.right_mm - wide / 2)
        board.words(x, line, at, wide + 0.1, _AXIS_PT, align="centre", tone="soft")


def _mark_quartz(
    board: Board, left: float, right: float, y: float, scale: str, line: Sequence[_Point]
) -> None:
    """A dotted line where quartz inverts, named where the curve does not cross the words."""
    board.path(((left, y), (right, y)), 0.2, "soft", (0.3, 1.0))
    words = f"quartz {show_temperature(_QUARTZ_C, scale)}"
    wide = width_mm(words, 6.0)
    for x in (right - wide, left + 1.0, (left + right - wide) / 2):
        mark = Words(x, y + 2.4, words, 6.0, wide, tone="soft")
        if not _crosses(line, mark.extent):
            board.marks.append(mark)
            return


def _number_steps(
    board: Board, spots: Sequence[_Point], line: Sequence[_Point], room: Extent
) -> None:
    """The number of each step beside the middle of its line, where it meets nothing else."""
    near = [mark.extent for mark in board.marks if isinstance(mark, Words)]
    taken = [spot for spot in near if spot.meets(room)]
    high = _AXIS_PT * MM_PER_PT * CAP
    for number, (x, y) in enumerate(spots, start=1):
        label = str(number)
        wide = width_mm(label, _AXIS_PT, bold=True)
        for dx, dy in _BESIDE:
            mark = Words(
                x + dx * (wide / 2 + 0.9), y + high / 2 + dy * (high / 2 + 1.0),
                label, _AXIS_PT, wide, bold=True, align="centre",
            )  # fmt: skip
            spot = mark.extent
            free = not any(spot.meets(other) for other in taken) and not _crosses(line, spot)
            if free and spot.within(room):
                board.marks.append(mark)
                taken.append(spot)
                break


def _crosses(line: Sequence[_Point], spot: Extent) -> bool:
    """Whether a line from point to point comes into a rectangle."""
    return any(_enters(start, end, spot) for start, end in pairwise(line))


def _enters(start: _Point, end: _Point, spot: Extent) -> bool:
    (x, y), (dx, dy) = start, (end[0] - start[0], end[1] - start[1])
    first, last = 0.0, 1.0  # the part of the line that may lie within
    for at, along, low, high in (
        (x, dx, spot.left_mm, spot.right_mm),
        (y, dy, spot.top_mm, spot.bottom_mm),
    ):
        if along == 0.0:
            if not low < at < high:
                return False
            continue
        one, other = sorted(((low - at) / along, (high - at) / along))
        first, last = max(first, one), min(last, other)
    return first < last


def _heat_at(plan: Plan, seconds: float) -> float:
    corners: Sequence[tuple[float, float]] = list(zip(plan.at_s, plan.at_c, strict=True))
    for (from_s, from_c), (to_s, to_c) in pairwise(corners):
        if from_s <= seconds <= to_s:
            return from_c + (to_c - from_c) * (seconds - from_s) / (to_s - from_s)
    return corners[-1][1]
