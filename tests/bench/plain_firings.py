"""Sums about firings in plain Python loops: slow, and easy to trust."""

import math
import statistics
from collections.abc import Sequence
from itertools import pairwise

Numbers = Sequence[float]


def clean(at_s: Numbers, at_c: Numbers) -> tuple[list[float], list[float]]:
    """Without what no kiln can be, and without single spikes against the seven minutes about."""
    rows = [(s, c) for s, c in zip(at_s, at_c, strict=True) if -40 <= c <= 1450]
    kept = []
    for place, (s, c) in enumerate(rows):
        near = [
            other
            for when, other in rows[max(0, place - 8) : place + 9]
            if when != s and abs(when - s) <= 420
        ]
        if not near or abs(c - statistics.median(near)) <= 60:
            kept.append((s, c))
    return [s for s, _ in kept], [c for _, c in kept]


def time_above(at_s: Numbers, at_c: Numbers, level: float) -> float:
    """Seconds above a temperature, crossings interpolated."""
    total = 0.0
    for (s0, s1), (c0, c1) in zip(pairwise(at_s), pairwise(at_c), strict=True):
        if c0 > level and c1 > level:
            total += s1 - s0
        elif (c0 > level) != (c1 > level):
            total += (s1 - s0) * (max(c0, c1) - level) / abs(c1 - c0)
    return total


def work_along(at_s: Numbers, at_c: Numbers, activation: float, reference_k: float) -> list[float]:
    """Seconds at the reference temperature, added up along the curve."""
    found = [0.0]
    powers = [-activation * (1.0 / (c + 273.15) - 1.0 / reference_k) for c in at_c]
    for (s0, s1), (p0, p1) in zip(pairwise(at_s), pairwise(powers), strict=True):
        p0, p1 = max(p0, -700.0), max(p1, -700.0)
        rise = p1 - p0
        if abs(rise) < 1e-4:
            mean = (math.exp(p0) + math.exp(p1)) / 2.0
        else:
            mean = (math.exp(p1) - math.exp(p0)) / rise
        found.append(found[-1] + mean * (s1 - s0))
    return found


def median_slope(at: Numbers, values: Numbers) -> float:
    """The median of the slopes of all pairs (Theil–Sen)."""
    return statistics.median(
        (values[j] - values[i]) / (at[j] - at[i])
        for i in range(len(at))
        for j in range(i + 1, len(at))
    )


def two_minute_medians(at_s: Numbers, at_c: Numbers) -> tuple[list[float], list[float]]:
    """Medians of blocks of two minutes, as many as there are."""
    blocks: dict[int, list[tuple[float, float]]] = {}
    for s, c in zip(at_s, at_c, strict=True):
        blocks.setdefault(int((s - at_s[0]) // 120), []).append((s, c))
    return (
        [statistics.median(s for s, _ in rows) for rows in blocks.values()],
        [statistics.median(c for _, c in rows) for rows in blocks.values()],
    )


def merge(at: Numbers, values: Numbers, most: float) -> list[int]:
    """Bottom-up merging of short lines, each cost told anew each time: where the lines begin."""

    def off(first: int, last: int) -> float:
        xs, ys = at[first:last], values[first:last]
        mean_x, mean_y = sum(xs) / len(xs), sum(ys) / len(ys)
        sxx = sum((x - mean_x) ** 2 for x in xs)
        sxy = sum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True))
        syy = sum((y - mean_y) ** 2 for y in ys)
        return syy - (sxy * sxy / sxx if sxx else 0.0)

    bounds = [*range(0, len(at) - 1, 2), len(at)]
    costs = [off(a, c) - off(a, b) - off(b, c) for a, b, c in _threes(bounds)]
    while costs and min(costs) < most:
        place = costs.index(min(costs))
        del bounds[place + 1]
        del costs[place]
        for near in (place - 1, place):
            if 0 <= near < len(costs):
                a, b, c = bounds[near : near + 3]
                costs[near] = off(a, c) - off(a, b) - off(b, c)
    return bounds


def _threes(bounds: list[int]) -> list[tuple[int, int, int]]:
    return list(zip(bounds, bounds[1:], bounds[2:], strict=False))


def climb_min(at_s: Numbers, at_c: Numbers, low: float, high: float) -> float:
    """Minutes from first passing one temperature to first passing another."""
    found = []
    for level in (low, high):
        for (s0, s1), (c0, c1) in zip(pairwise(at_s), pairwise(at_c), strict=True):
            if c0 < level <= c1:
                found.append(s0 + (s1 - s0) * (level - c0) / (c1 - c0))
                break
    return (found[1] - found[0]) / 60.0


def value_at(at_s: Numbers, at_c: Numbers, when: float) -> float:
    """°C at a time, straight between the readings."""
    for (s0, s1), (c0, c1) in zip(pairwise(at_s), pairwise(at_c), strict=True):
        if s0 <= when <= s1:
            return c0 + (c1 - c0) * (when - s0) / (s1 - s0)
    return math.nan
