"""A logged curve taken apart into its straight stretches: ramps, holds, falls.

Two-minute block medians, then bottom-up merging of short lines (E. Keogh, S. Chu, D. Hart,
M. Pazzani, Proc. IEEE ICDM 2001, p. 289), then each knot is moved to where the two lines beside it
fit best. The rate of a stretch is a Theil–Sen slope with its interval. A silence of the log is
never bridged, and no rate is told from under a quarter of an hour.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from studiolog.craft.evidence.theil_sen import fit_trend
from studiolog.craft.firing.cleaning import longest_wait_s
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats: TypeAlias = NDArray[np.float64]

BLOCK_S: Final = 120.0
# Judgement, tried on drawn and on logged curves: two lines stay apart when one instead of them
# would cost so much more squared deviation (°C² times two-minute blocks), or so many times the
# log's own noise; and a log of a month is taken apart in longer blocks.
_WORTH_A_KNOT: Final = 400.0
_NOISE_TIMES: Final = 12.0
_MOST_BLOCKS: Final = 5000
_TAPS_PER_BLOCK: Final = 31
_SLOPE_POINTS: Final = 60
_LEAST_FALLS: Final = 3


@dataclass(frozen=True, slots=True)
class Rate:
    """°C/h with its 95 % interval (None where two readings decide all)."""

    c_per_h: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class FoundSegment:
    """One straight stretch of a curve, between two knots.

    ``kind`` is "up", "down" or "hold"; "slowing" is a fall that slows all the way, which has no
    one rate. ``rate`` is None under 15 minutes of data. ``after_gap``: the log was silent just
    before it.
    """

    kind: str
    start_s: float
    end_s: float
    start_c: float
    end_c: float
    rate: Rate | None
    after_gap: bool

    @property
    def minutes(self) -> float:
        """How long it lasts."""
        return (self.end_s - self.start_s) / 60.0


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """A curve as block medians: seconds, °C, and the unbroken piece that each belongs to.

    ``bounds_s`` are the first and last reading of each piece; ``step_s`` the usual wait from one
    block to the next; ``width_s`` how long a block is, 0 where each is one reading.
    """

    at_s: Floats
    temperature_c: Floats
    piece: NDArray[np.intp]
    bounds_s: tuple[tuple[float, float], ...]
    step_s: float
    width_s: float = 0.0

    def pieces(self) -> list[slice]:
        """The unbroken pieces, as slices of the blocks."""
        import numpy as np

        edges = np.searchsorted(self.piece, np.arange(len(self.bounds_s) + 1))
        return [slice(int(a), int(b)) for a, b in itertools.pairwise(edges)]


def take_blocks(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> Blocks:
    """Two-minute medians of a cleaned curve (seconds rising, °C); a thinner log stays as it is.

    Readings ``typed`` by hand have no gaps: straight lines between them are what is meant.
    """
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    if t.size == 0:
        return Blocks(t, c, np.empty(0, dtype=np.intp), (), BLOCK_S)
    waits = np.diff(t)
    usual = float(np.median(waits)) if waits.size else BLOCK_S
    longest = longest_wait_s(t, limits)
    cuts = np.zeros(0, dtype=np.intp) if typed else np.flatnonzero(waits > longest) + 1
    starts = np.concatenate(([0], cuts))
    ends = np.concatenate((cuts, [t.size]))
    piece = np.repeat(np.arange(starts.size), ends - starts)
    bounds = tuple((float(t[a]), float(t[b - 1])) for a, b in zip(starts, ends, strict=True))
    length_s = max(BLOCK_S, float(np.sum(t[ends - 1] - t[starts])) / _MOST_BLOCKS)
    if usual >= length_s:
        return Blocks(t, c, piece, bounds, usual)
    # Blocks are counted from the start of their piece: a shifted clock changes nothing.
    place = np.floor((t - t[starts][piece]) / length_s).astype(np.int64)
    new = np.concatenate(([True], (np.diff(place) != 0) | (np.diff(piece) != 0)))
    first = np.flatnonzero(new)
    counts = np.diff(np.concatenate((first, [t.size])))
    block = np.repeat(np.arange(first.size), counts)
    if int(counts.max()) > _TAPS_PER_BLOCK:  # a dense log is tasted, not swallowed
        stride = -(-counts // _TAPS_PER_BLOCK)
        taken = (np.arange(t.size) - first[block]) % stride[block] == 0
        t, c, block = t[taken], c[taken], block[taken]
        counts = np.bincount(block)
        first = np.concatenate(([0], np.cumsum(counts)[:-1]))
    ordered = c[np.lexsort((c, block))]
    low, high = first + (counts - 1) // 2, first + counts // 2
    return Blocks(
        (t[low] + t[high]) / 2.0,
        (ordered[low] + ordered[high]) / 2.0,
        piece[np.flatnonzero(new)],
        bounds,
        length_s,
        length_s,
    )


def find_segments(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> tuple[FoundSegment, ...]:
    """Take a cleaned curve (seconds rising, °C) apart; empty for fewer than two readings."""
    return segments_of_blocks(
        take_blocks(elapsed_s, temperature_c, typed=typed, limits=limits), limits
    )


def segments_of_blocks(blocks: Blocks, limits: Limits = SHIPPED) -> tuple[FoundSegment, ...]:
    """:func:`find_segments` of a curve that is already taken into blocks."""
    found: list[FoundSegment] = []
    for number, part in enumerate(blocks.pieces()):
        t, c = blocks.at_s[part], blocks.temperature_c[part]
        if t.size < 2:
            continue
        bounds = merge_lines(t, c)
        knots = _knots(t, c, bounds, blocks.bounds_s[number])
        for place, (a, b) in enumerate(itertools.pairwise(bounds)):
            (start_s, start_c), (end_s, end_c) = knots[place], knots[place + 1]
            if end_s <= start_s:
                continue
            rate = rate_of(t[a:b], c[a:b], blocks.width_s, limits)
            slope = rate.c_per_h if rate else (end_c - start_c) / (end_s - start_s) * 3600.0
            found.append(
                FoundSegment(
                    _kind(slope, rate, abs(end_c - start_c), limits),
                    start_s,
                    end_s,
                    start_c,
                    end_c,
                    rate,
                    number > 0 and place == 0,
                )
            )
    return tuple(found)


def join_slowing(found: Sequence[FoundSegment]) -> tuple[FoundSegment, ...]:
    """The stretches, with three or more falls of which each is slower than the last as one.

    A closed kiln cools by itself ever more slowly: where that is cut into lines says nothing.
    """
    told: list[FoundSegment] = []
    run: list[FoundSegment] = []

    def close() -> None:
        if len(run) < _LEAST_FALLS:
            told.extend(run)
        else:
            a, b = run[0], run[-1]
            told.append(
                FoundSegment("slowing", a.start_s, b.end_s, a.start_c, b.end_c, None, a.after_gap)
            )
        run.clear()

    for place, line in enumerate(found):
        slope = _slope_of(line)
        # The tail of a log may be as level as a hold.
        falls = line.kind == "down" or (place == len(found) - 1 and slope < 0.0)
        if run and (not falls or line.after_gap or slope < _slope_of(run[-1])):
            close()
        if falls:
            run.append(line)
        else:
            told.append(line)
    close()
    return tuple(told)


def _slope_of(line: FoundSegment) -> float:
    return (line.end_c - line.start_c) / (line.end_s - line.start_s)


def rate_of(t: Any, c: Any, width_s: float, limits: Limits = SHIPPED) -> Rate | None:
    """The rate of one stretch without a gap; None under 15 minutes of it.

    Blocks of ``width_s`` seconds by their middles reach half of that beyond the first and the
    last; 0 for plain readings.
    """
    if t.size < 2 or t[-1] - t[0] + width_s < limits["rate_window_min"] * 60.0:
        return None
    stride = -(-t.size // _SLOPE_POINTS)  # pairs grow with the square
    trend = fit_trend((t[::stride] - t[0]) / 3600.0, c[::stride])
    return Rate(trend.slope, trend.low, trend.high)


def merge_lines(t: Any, c: Any) -> list[int]:
    """Where the lines of one unbroken piece begin, and the end: places, rising.

    Bottom-up: neighbours are joined, the cheapest first, until joining costs too much.
    """
    n = int(t.size)
    if n < 4:
        return [0, n]
    import numpy as np

    sums = _Sums(t, c)
    worth = _worth(t, c)
    first = np.arange(0, n - 1, 2)
    last = np.append(first[1:], n)
    own = sums.off_many(first, last)
    joining = sums.off_many(first[:-1], last[1:]) - own[:-1] - own[1:]
    starts, ends, off = first.tolist(), last.tolist(), own.tolist()
    follow = [*range(1, len(starts)), -1]
    before = [-1, *range(len(starts) - 1)]
    alive, stamp = [True] * len(starts), [0] * len(starts)
    queue = [(cost, left, 0, 0) for left, cost in enumerate(joining.tolist()) if cost < worth]
    heapq.heapify(queue)
    while queue:
        cost, left, seen, seen_right = heapq.heappop(queue)
        right = follow[left]
        if not alive[left] or right < 0 or stamp[left] != seen or stamp[right] != seen_right:
            continue
        ends[left] = ends[right]
        off[left] += off[right] + cost
        alive[right] = False
        follow[left] = follow[right]
        if follow[left] >= 0:
            before[follow[left]] = left
        stamp[left] += 1
        for one in (before[left], left):
            other = follow[one] if one >= 0 else -1
            if other >= 0:
                cost = sums.off(starts[one], ends[other]) - off[one] - off[other]
                if cost < worth:
                    heapq.heappush(queue, (cost, one, stamp[one], stamp[other]))
    bounds = [a for a, lives in zip(starts, alive, strict=True) if lives] + [n]
    return _refine(sums, bounds)


class _Sums:
    """Running sums of a piece: the squared deviation from the best line of any stretch, at once."""

    def __init__(self, t: Any, c: Any) -> None:
        import numpy as np

        x, y = (t - t.mean()) / 3600.0, c - c.mean()
        self._arrays = [
            np.concatenate(([0.0], np.cumsum(values))) for values in (x, y, x * x, x * y, y * y)
        ]
        self._x, self._y, self._xx, self._xy, self._yy = (a.tolist() for a in self._arrays)

    def off(self, a: int, b: int) -> float:
        """Squared deviation (°C²) of the points from ``a`` up to ``b`` from their best line."""
        n = b - a
        sx, sy = self._x[b] - self._x[a], self._y[b] - self._y[a]
        spread = self._xx[b] - self._xx[a] - sx * sx / n
        shared = self._xy[b] - self._xy[a] - sx * sy / n
        left: float = self._yy[b] - self._yy[a] - sy * sy / n
        return left - shared * shared / spread if spread > 1e-12 else left

    def off_many(self, a: Any, b: Any) -> Any:
        """:meth:`off` of many stretches, or of one point with many."""
        import numpy as np

        sx, sy, sxx, sxy, syy = (values[b] - values[a] for values in self._arrays)
        n = b - a
        spread = np.maximum(sxx - sx * sx / n, 1e-12)
        return syy - sy * sy / n - (sxy - sx * sy / n) ** 2 / spread


def _worth(t: Any, c: Any) -> float:
    """What a knot must save, in °C² times points, for this piece's spacing and noise."""
    import numpy as np

    spacing = max(1.0, float(np.median(np.diff(t))) / BLOCK_S)
    bends = c[:-2] - 2.0 * c[1:-1] + c[2:]
    noise = float(np.median(np.abs(bends))) / 0.6745 / 6.0**0.5
    noisy: float = _NOISE_TIMES * noise * noise * float(np.log(t.size))
    return max(_WORTH_A_KNOT / spacing, noisy)


def _refine(sums: _Sums, bounds: list[int]) -> list[int]:
    """Move every knot to where the two lines beside it fit best, until none moves."""
    import numpy as np

    restless = set(range(1, len(bounds) - 1))
    for _ in range(4):
        moved: set[int] = set()
        for place in sorted(restless):
            a, b = bounds[place - 1], bounds[place + 1]
            tried = np.arange(a + 1, b)
            off = sums.off_many(a, tried) + sums.off_many(tried, b)
            best = int(tried[int(np.argmin(off))])
            if best != bounds[place]:
                bounds[place] = best
                moved |= {place - 1, place + 1}
        restless = {place for place in moved if 0 < place < len(bounds) - 1}
        if not restless:
            break
    return bounds


def _knots(
    t: Any, c: Any, bounds: list[int], ends_s: tuple[float, float]
) -> list[tuple[float, float]]:
    """Where the lines meet: seconds and °C of every knot, the piece's own ends included."""
    lines = [best_line(t[a:b], c[a:b]) for a, b in itertools.pairwise(bounds)]
    knots = [(ends_s[0], _at(lines[0], ends_s[0]))]
    for place, bound in enumerate(bounds[1:-1]):
        before, after = lines[place], lines[place + 1]
        low, high = float(t[bound - 1]), float(t[bound])
        slack = high - low
        meet = (low + high) / 2.0
        if abs(before[1] - after[1]) > 1e-12:
            meet = (after[0] - before[0]) / (before[1] - after[1])
        meet = min(max(meet, low - slack, knots[-1][0]), high + slack, ends_s[1])
        knots.append((meet, (_at(before, meet) + _at(after, meet)) / 2.0))
    knots.append((ends_s[1], _at(lines[-1], ends_s[1])))
    return knots


def best_line(t: Any, c: Any) -> tuple[float, float]:
    """Level at zero and slope a second of the least-squares line through readings."""
    x = t - t.mean()
    spread = float((x * x).sum())
    slope = float((x * (c - c.mean())).sum()) / spread if spread > 0.0 else 0.0
    return float(c.mean()) - slope * float(t.mean()), slope


def _at(line: tuple[float, float], at_s: float) -> float:
    return line[0] + line[1] * at_s


def _kind(slope_c_per_h: float, rate: Rate | None, moved_c: float, limits: Limits) -> str:
    """A stretch is a hold if it is level, or hardly moved and may well be level."""
    level = limits["hold_c_per_h"]
    if rate is not None and rate.low is not None and rate.high is not None:
        may_be = rate.low < level and rate.high > -level
        if may_be and moved_c <= limits["near_peak_c"]:
            return "hold"
    if abs(slope_c_per_h) < level:
        return "hold"
    return "up" if slope_c_per_h > 0 else "down"
