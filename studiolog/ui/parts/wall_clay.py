"""The clay of a cut wall: a profile in millimetres enlarged to points.

Drawn space: x to the right with 0 at the middle of the lip, y downward with 0 at the top of the
lip and ``height_px`` at the foot. The outside of the pot is to the right.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

Point = tuple[float, float]

WALL_PX = 34.0
SAMPLES = 240
"""How finely a wall is sampled from foot to lip."""
_RIPPLE_LIMIT_PX = 5.5
_LIP_PX = 15.0
_STUB_PX = 34.0


@dataclass(frozen=True)
class WallProfile:
    """Half of a turned pot: ``(radius_mm, height_mm)`` points, outside and inside."""

    outside: tuple[Point, ...]
    inside: tuple[Point, ...]


PLAIN_CUP = WallProfile(
    outside=((28.0, 0.0), (31.0, 8.0), (35.0, 50.0), (39.0, 95.0)),
    inside=((0.0, 7.0), (27.0, 7.0), (31.2, 50.0), (35.5, 95.0)),
)
"""Drawn when a form has no profile of its own."""


def checked_profile(profile: WallProfile | None) -> WallProfile:
    """The profile if a wall can be cut from it, else the plain cup."""
    if profile is None:
        return PLAIN_CUP
    outside = [p for p in profile.outside if math.isfinite(p[0]) and math.isfinite(p[1])]
    inside = [p for p in profile.inside if math.isfinite(p[0]) and math.isfinite(p[1])]
    if len(outside) < 2:
        return PLAIN_CUP
    heights = [h for _, h in outside]
    if max(heights) - min(heights) < 1.0 or max(r for r, _ in outside) <= 0:
        return PLAIN_CUP
    base = min(heights)
    top = max(heights) - base
    outer = tuple((max(r, 0.0), h - base) for r, h in outside)
    if len(inside) < 2:
        floor = min(6.0, top / 4)
        inner = tuple((max(r - 4.0, 0.0), max(h, floor)) for r, h in outer)
    else:
        inner = tuple((max(r, 0.0), min(max(h - base, 0.0), top)) for r, h in inside)
    return WallProfile(outer, inner)


def radius_at(points: Sequence[Point], height_mm: float) -> float:
    """The greatest radius of a polyline at a height; beyond its ends that of the nearer end."""
    found: list[float] = []
    for (r1, h1), (r2, h2) in pairwise(points):
        if min(h1, h2) <= height_mm <= max(h1, h2):
            if h1 == h2:
                found.append(max(r1, r2))
            else:
                found.append(r1 + (r2 - r1) * (height_mm - h1) / (h2 - h1))
    if found:
        return max(found)
    return min(points, key=lambda p: abs(p[1] - height_mm))[0]


def radii_at(points: Sequence[Point], heights_mm: Sequence[float]) -> list[float]:
    """`radius_at` for many heights at once, given from low to high: one pass over the polyline."""
    found = [-math.inf] * len(heights_mm)
    for (r1, h1), (r2, h2) in pairwise(points):
        low, high = (h1, h2) if h1 <= h2 else (h2, h1)
        start, end = bisect_left(heights_mm, low), bisect_right(heights_mm, high)
        if low == high:
            widest = max(r1, r2)
            for i in range(start, end):
                found[i] = max(found[i], widest)
            continue
        slope = (r2 - r1) / (h2 - h1)
        for i in range(start, end):
            radius = r1 + slope * (heights_mm[i] - h1)
            if radius > found[i]:
                found[i] = radius
    return [
        radius if radius > -math.inf else radius_at(points, height)
        for radius, height in zip(found, heights_mm, strict=True)
    ]


class ClayWall:
    """The clay alone, sampled from the foot (index 0) to just under the lip."""

    def __init__(self, profile: WallProfile, height_px: float, lean_px: float) -> None:
        self.height_px = height_px
        self.height_mm = max(h for _, h in profile.outside)
        self.px_per_mm = height_px / self.height_mm
        floor = min(h for _, h in profile.inside)
        floor_px = min(max(floor * self.px_per_mm, 18.0), height_px * 0.18)
        self.floor_y = height_px - floor_px
        self.floor_mm = min(max(floor, 0.0), self.height_mm * 0.5)
        self.lip_px = min(_LIP_PX, height_px * 0.1)
        self.ys = [height_px - (height_px - self.lip_px) * i / SAMPLES for i in range(SAMPLES + 1)]
        heights = [self.height_mm * (1 - y / height_px) for y in self.ys]
        outer_mm = radii_at(profile.outside, heights)
        inner_mm = radii_at(profile.inside, [max(h, floor) for h in heights])
        trend_mm = smoothed(smoothed(outer_mm, SAMPLES // 11), SAMPLES // 15)
        lean_mm = max(trend_mm) - min(trend_mm)
        lean = min(self.px_per_mm, lean_px / lean_mm) if lean_mm > 0 else 1.0
        bare = [r - t for r, t in zip(outer_mm, trend_mm, strict=True)]
        deepest = max(abs(b) for b in bare)
        ripple_px = min(self.px_per_mm * 1.8, _RIPPLE_LIMIT_PX / deepest) if deepest > 0 else 0.0
        self.ripple = [b * ripple_px for b in bare]
        thick = [max(o - i, 0.3) for o, i in zip(trend_mm, inner_mm, strict=True)]
        usual = sorted(thick)[len(thick) // 2]
        wanted = [min(max(WALL_PX * t / usual, WALL_PX * 0.7), WALL_PX * 1.5) for t in thick]
        self.thick = smoothed(wanted, SAMPLES // 16)
        self.half_lip = self.thick[-1] / 2
        top = trend_mm[-1]
        self.trend = [self.half_lip + (t - top) * lean for t in trend_mm]
        self.trend = [t - self.ripple[-1] for t in self.trend]
        self.inner = [t - w for t, w in zip(self.trend, self.thick, strict=True)]
        self.cut_x = self.inner_at(self.floor_y) - min(_STUB_PX, lean_px + 12.0)

    def y_of(self, height_mm: float) -> float:
        return self.height_px * (1 - height_mm / self.height_mm)

    def index_of(self, y: float) -> int:
        part = (self.height_px - y) / (self.height_px - self.lip_px)
        return min(max(round(part * SAMPLES), 0), SAMPLES)

    def inner_at(self, y: float) -> float:
        return self.inner[self.index_of(y)]

    def inside_line(self, offset: Sequence[float], cut_x: float) -> list[Point]:
        """Along the floor from the break, round the corner and up the inside, ``offset`` off."""
        start = self.index_of(self.floor_y)
        floor_off = offset[start]
        corner = max(26.0 - floor_off * 0.5, 6.0)
        floor_y = self.floor_y - floor_off
        join = self.index_of(floor_y - corner)
        wall = [(self.inner[i] - offset[i], self.ys[i]) for i in range(join, SAMPLES + 1)]
        to = wall[0]
        bend = (self.inner[start] - floor_off, floor_y)
        turn = bent((bend[0] - corner, floor_y), bend, to)
        return [(cut_x, floor_y), *turn[:-1], *wall]

    def lip_arc(
        self,
        left: float,
        right: float,
        rise: float,
        start: float,
        end: float,
        left_rise: float | None = None,
        right_rise: float | None = None,
    ) -> list[Point]:
        """Over the lip by angle in degrees, 0 outside and 180 inside, with half widths.

        It rises by ``rise`` in the middle, and may be flatter towards a side.
        """
        sides = (
            rise if right_rise is None else right_rise,
            rise if left_rise is None else left_rise,
        )
        points = []
        steps = max(int(abs(end - start) / 6), 2)
        for step in range(steps + 1):
            angle = math.radians(start + (end - start) * step / steps)
            reach = right if math.cos(angle) >= 0 else left
            off = abs(math.cos(angle))
            side = sides[0] if math.cos(angle) >= 0 else sides[1]
            here = rise + (side - rise) * off**4
            points.append((reach * math.cos(angle), self.lip_px - here * math.sin(angle)))
        return points

    def clay(self) -> list[Point]:
        outer = [(t + r, y) for t, r, y in zip(self.trend, self.ripple, self.ys, strict=True)]
        lip = self.lip_arc(self.half_lip, self.half_lip, self.lip_px, 0, 180)
        inside = self.inside_line([0.0] * (SAMPLES + 1), self.cut_x)
        foot_x, foot_y = outer[0]
        recess = min(11.0, (self.height_px - self.floor_y) * 0.4)
        mid_y = (self.floor_y + foot_y - recess) / 2
        ring = self.thick[0] * 0.75
        broken = [
            (self.cut_x - 4, self.floor_y + 7),
            (self.cut_x + 5, mid_y),
            (self.cut_x - 4, mid_y + 5),
            (self.cut_x, foot_y - recess),
        ]
        under = [
            (foot_x - ring - 14, foot_y - recess),
            (foot_x - ring - 7, foot_y),
            (foot_x - 12, foot_y),
        ]
        # The outer corner is turned off a little, as a trimmed foot is.
        turned = self.index_of(foot_y - 8)
        return [*outer[turned:], *lip, *reversed(inside), *broken, *under]


def bent(start: Point, control: Point, end: Point, steps: int = 8) -> list[Point]:
    """A quadratic curve as points."""
    points = []
    for step in range(steps + 1):
        t = step / steps
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        points.append(
            (a * start[0] + b * control[0] + c * end[0], a * start[1] + b * control[1] + c * end[1])
        )
    return points


def mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def smoothed(values: Sequence[float], reach: int) -> list[float]:
    """Moving mean; the ends are turned about their last point so that a lean keeps leaning."""
    reach = max(1, min(reach, len(values) - 1))
    head = [2 * values[0] - values[i] for i in range(reach, 0, -1)]
    tail = [2 * values[-1] - values[-1 - i] for i in range(1, reach + 1)]
    sums = [0.0, *accumulate([*head, *values, *tail])]
    width = 2 * reach + 1
    return [(sums[i + width] - sums[i]) / width for i in range(len(values))]
