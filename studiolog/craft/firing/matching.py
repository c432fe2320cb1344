"""Which stretch of a log is which leg and which hold of the program.

The steps of a program happen in their order, each once, some of them not at all. Every block of
the log is given to one step so that the whole costs least: a block costs what it lies outside the
step's temperatures, and what its slope is unlike the step's. That is a shortest path through steps
and blocks, exact, in one sweep a step; so a log that starts late, breaks off or falls back on its
way still lies on its program.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing.program import ROOM_C, Segment
from studiolog.craft.firing.segments import BLOCK_S, Blocks, FoundSegment

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# What a block of two minutes costs, in °C; judgement, tried on drawn and on logged firings.
_FREE_C: Final = 2.0
_MOST_C: Final = 60.0
_WRONG_WAY: Final = 10.0
_STANDS: Final = 5.0
_OTHER_RATE: Final = 3.0
_ARRIVED: Final = 3.0
_MOVES_IN_HOLD: Final = 1.5
_BEYOND_PROGRAM: Final = 1.5
# A step's end is moved to a knot of the curve this near, by time and by temperature.
_KNOT_S: Final = 420.0
_CORNER_S: Final = 1500.0
_CORNER_C: Final = 15.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a program: a leg "up" or "down", a "hold", or what comes "after" the program.

    ``segment`` counts from 0; ``from_c`` is the target before.
    """

    segment: int
    kind: str
    from_c: float
    target_c: float
    rate_c_per_h: float | None
    hold_min: float


@dataclass(frozen=True, slots=True)
class Place:
    """Where a step lies on the log: its blocks ``first`` up to ``last``, its start and end.

    ``there`` is False where it lies nowhere; ``silent``: the log has a gap where it would lie.
    """

    first: int
    last: int
    start_s: float
    end_s: float
    there: bool
    silent: bool


def steps_of(segments: Sequence[Segment], start_c: float = ROOM_C) -> tuple[Step, ...]:
    """The legs and holds of a program, in order."""
    steps: list[Step] = []
    here = start_c
    for number, segment in enumerate(segments):
        target, rate = segment.target_c, segment.rate_c_per_h
        if target != here:
            steps.append(Step(number, "up" if target > here else "down", here, target, rate, 0.0))
        if segment.hold_min > 0.0:
            steps.append(Step(number, "hold", target, target, None, segment.hold_min))
        here = target
    return tuple(steps)


def match_steps(
    steps: Sequence[Step], blocks: Blocks, found: Sequence[FoundSegment]
) -> tuple[Place, ...]:
    """Where each step lies on the log, and last of all what came after the program.

    Raises ValueError without steps or without readings.
    """
    import numpy as np

    if not steps or blocks.at_s.size == 0:
        raise ValueError("A match needs steps and readings.")
    slopes = _slopes(blocks, found)
    costs = [_before(blocks, slopes)]
    costs += [
        _cost(step, place, steps, blocks.temperature_c, slopes) for place, step in enumerate(steps)
    ]
    costs.append(_after(steps[-1], blocks.temperature_c, slopes))
    # edges[n] is the first block of stage n; the first stage is the wait before the program.
    edges = _cheapest(np.array(costs) * _weights(blocks))
    corners = [None, None, *(step.from_c for step in steps[1:]), steps[-1].target_c, None]
    times = [_edge_s(blocks, edge, corner_c) for edge, corner_c in zip(edges, corners, strict=True)]
    marks = [times[0][1]]
    for stage in range(1, len(edges) - 1):
        marks.append(_to_knot(times[stage], stage, edges, steps, found, marks[-1]))
    marks.append(times[-1][0])
    places: list[Place] = []
    for stage in range(1, len(edges) - 1):
        first, last = edges[stage], edges[stage + 1]
        silent = is_gap(blocks, first)
        start = times[stage][1] if silent else marks[stage]
        end = times[stage + 1][0] if is_gap(blocks, last) else marks[stage + 1]
        there = last > first and end > start
        places.append(Place(first, last, start, end, there, silent and last == first))
    return tuple(places)


def _slopes(blocks: Blocks, found: Sequence[FoundSegment]) -> NDArray[np.float64]:
    """°C/h at every block, of the straight stretch it lies in."""
    import numpy as np

    if not found:
        return np.zeros(blocks.at_s.size)
    starts = np.array([s.start_s for s in found])
    spans = np.array([max(s.end_s - s.start_s, 1.0) for s in found])
    rises = np.array([s.end_c - s.start_c for s in found])
    inside = np.clip(np.searchsorted(starts, blocks.at_s, side="right") - 1, 0, None)
    slopes: NDArray[np.float64] = (rises / spans * 3600.0)[inside]
    return slopes


def _weights(blocks: Blocks) -> Any:
    """How much each block counts: its share of time, so that a thinner log weighs the same."""
    import numpy as np

    waits = np.diff(blocks.at_s, append=blocks.at_s[-1] + blocks.step_s)
    return np.minimum(waits, 2.0 * blocks.step_s) / BLOCK_S


def _outside(c: Any, low: float, high: float) -> Any:
    import numpy as np

    return np.clip(np.maximum(low - c, c - high) - _FREE_C, 0.0, _MOST_C)


def _cost(step: Step, place: int, steps: Sequence[Step], c: Any, slopes: Any) -> Any:
    import numpy as np

    if step.kind == "hold":
        off = _outside(c, step.target_c, step.target_c) / 2.0
        return off + _MOVES_IN_HOLD * np.minimum(1.0, np.abs(slopes) / 30.0)
    up = step.kind == "up"
    # A kiln may start warm, or colder than the room is taken for.
    low, high = sorted((step.from_c, step.target_c))
    if place == 0:
        low, high = (-np.inf, high) if up else (low, np.inf)
    right_way = slopes if up else -slopes
    unlike = np.full(c.size, 2.0)
    if step.rate_c_per_h is not None:
        unlike = _OTHER_RATE * np.minimum(
            1.0, np.abs(right_way - step.rate_c_per_h) / step.rate_c_per_h
        )
    moved = np.where(right_way < -5.0, _WRONG_WAY, np.where(right_way < 5.0, _STANDS, unlike))
    cost = _outside(c, low, high) + moved
    following = steps[place + 1] if place + 1 < len(steps) else None
    if following is not None and following.kind == "hold":
        left = step.target_c - c if up else c - step.target_c
        cost = cost + np.where(left < _FREE_C, _ARRIVED, 0.0)
    return cost


def _before(blocks: Blocks, slopes: Any) -> Any:
    """The kiln waits, as cold or warm as the log begins, before the program starts."""
    import numpy as np

    start_c = float(np.median(blocks.temperature_c[:5]))
    off = _outside(blocks.temperature_c, start_c, start_c)
    return off + 6.0 * np.minimum(1.0, np.abs(slopes) / 30.0) + 0.5


def _after(last: Step, c: Any, slopes: Any) -> Any:
    import numpy as np

    moved = np.where(slopes > 5.0, _WRONG_WAY, _BEYOND_PROGRAM)
    return _outside(c, -np.inf, last.target_c) + moved


def _cheapest(costs: Any) -> list[int]:
    """How the blocks are shared out: the first block of every stage, and the end."""
    import numpy as np

    stages, count = costs.shape
    spent = np.concatenate((np.zeros((stages, 1)), np.cumsum(costs, axis=1)), axis=1)
    best = spent[0]
    came_from = np.zeros((stages, count + 1), dtype=np.intp)
    here = np.arange(count + 1)
    for stage in range(1, stages):
        entered = best - spent[stage]
        least = np.minimum.accumulate(entered)
        came_from[stage] = np.maximum.accumulate(np.where(entered <= least, here, 0))
        best = spent[stage] + least
    edges = [count]
    for stage in range(stages - 1, 0, -1):
        edges.append(int(came_from[stage, edges[-1]]))
    edges.append(0)
    return edges[::-1]


def is_gap(blocks: Blocks, edge: int) -> bool:
    """Whether the log is silent between the block before an edge and the one after it."""
    return 0 < edge < blocks.at_s.size and bool(blocks.piece[edge - 1] != blocks.piece[edge])


def _edge_s(blocks: Blocks, edge: int, corner_c: float | None) -> tuple[float, float]:
    """The moment of an edge between blocks: twice the same, or both ends of a silence.

    Between the readings of a thin log it is where the curve passes the corner of the program, or
    the reading that is nearer to it.
    """
    if edge == 0:
        return blocks.bounds_s[0][0], blocks.bounds_s[0][0]
    if edge == blocks.at_s.size:
        return blocks.bounds_s[-1][1], blocks.bounds_s[-1][1]
    before, after = int(blocks.piece[edge - 1]), int(blocks.piece[edge])
    if before != after:
        return blocks.bounds_s[before][1], blocks.bounds_s[after][0]
    start_s, end_s = float(blocks.at_s[edge - 1]), float(blocks.at_s[edge])
    share = 0.5
    if corner_c is not None and blocks.step_s > BLOCK_S:
        left = float(blocks.temperature_c[edge - 1]) - corner_c
        right = float(blocks.temperature_c[edge]) - corner_c
        share = left / (left - right) if left * right < 0.0 else float(abs(right) < abs(left))
    moment = start_s + share * (end_s - start_s)
    return moment, moment


def _to_knot(
    edge_s: tuple[float, float],
    stage: int,
    edges: Sequence[int],
    steps: Sequence[Step],
    found: Sequence[FoundSegment],
    least_s: float,
) -> float:
    """An edge between two stages, moved to the knot of the curve that it is meant to be."""
    at_s = max(edge_s[0], least_s)
    if edges[stage] == edges[0] or edges[stage] == edges[-1]:
        return at_s
    before = steps[stage - 2] if stage >= 2 else None
    after = steps[stage - 1] if stage - 1 < len(steps) else None
    best, nearest = at_s, _KNOT_S
    if before is not None and after is not None and "hold" not in (before.kind, after.kind):
        nearest = _CORNER_S
    for line, following in pairwise(found):
        off_s = abs(following.start_s - edge_s[0])
        if off_s >= nearest or following.start_s < least_s or following.after_gap:
            continue
        if nearest == _CORNER_S and after is not None:
            fits = abs(following.start_c - after.from_c) <= _CORNER_C
        else:
            # A short hold may lie within a line: its ends are no knots then, but where the kiln
            # came to its target and left it.
            fits = (before is None or before.kind != "hold" or line.kind == "hold") and (
                after is None or after.kind != "hold" or following.kind == "hold"
            )
        if fits:
            best, nearest = following.start_s, off_s
    return best
