"""Where on a shelf there is room for a footprint, beside what stands there already.

For one footprint in one turning, everything that stands on the shelf becomes a region in which its
middle must not lie: the Minkowski sum of both cores with a rim as wide as both rims and the gap.
The places worth trying are where two such rims, or a rim and an edge of the shelf, meet: there the
piece touches two things at once. All of them are found and tried together with NumPy, which is why
this module is only loaded by what packs or checks a load, never at start.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.shelf import Footprint, Kept, Outline, Point

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

TOUCH_MM: Final = 1e-6
"""Footprints nearer than their gap by less than this stand beside each other."""
_AROUND: Final = 24  # places tried along a round edge nothing else touches
_CHUNK: Final = 200_000  # distances worked out at a time


@dataclass(frozen=True, slots=True)
class Shape:
    """A footprint in one turning, with the gap it wants: what the sums are made with."""

    core: tuple[Point, ...]
    radius_mm: float
    gap_mm: float

    @property
    def reach_mm(self) -> float:
        """From the middle to the farthest point."""
        return self.radius_mm + max(math.hypot(x, y) for x, y in self.core)


def shape_of(footprint: Footprint, turned_deg: float, gap_mm: float) -> Shape:
    """A footprint as the sums need it."""
    return Shape(footprint.core(turned_deg), footprint.radius_mm, gap_mm)


@dataclass(frozen=True, slots=True)
class Stand:
    """Something that stands on the shelf, or is kept clear there."""

    shape: Shape
    x_mm: float
    y_mm: float


def stand_of(kept: Kept) -> Stand:
    """A place kept clear, as something that stands there."""
    shape = shape_of(kept.footprint, kept.turned_deg, kept.gap_mm)
    return Stand(shape, kept.x_mm, kept.y_mm)


@lru_cache(maxsize=4096)
def _meeting(one: tuple[Point, ...], other: tuple[Point, ...]) -> tuple[Point, ...]:
    """Corners of the region around ``one`` in which ``other``'s middle would make them overlap."""
    if len(one) == 1 and len(other) == 1:
        return ((one[0][0] - other[0][0], one[0][1] - other[0][1]),)
    return _hull([(x - u, y - v) for x, y in one for u, v in other])


def _hull(points: list[Point]) -> tuple[Point, ...]:
    """The convex hull, counter-clockwise in x, y (Andrew's monotone chain)."""
    ordered = sorted({(round(x, 9), round(y, 9)) for x, y in points})
    if len(ordered) < 3:
        return tuple(ordered)
    halves: list[list[Point]] = []
    for way in (ordered, ordered[::-1]):
        chain: list[Point] = []
        for point in way:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 1e-9:
                chain.pop()
            chain.append(point)
        halves.append(chain[:-1])
    return tuple(halves[0] + halves[1])


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@lru_cache(maxsize=4096)
def meeting(one: tuple[Point, ...], other: tuple[Point, ...]) -> Floats:
    """`_meeting` as an array of corners (k, 2), counter-clockwise; to be read only."""
    corners = np.array(_meeting(one, other), dtype=np.float64)
    corners.setflags(write=False)
    return corners


@lru_cache(maxsize=4096)
def _reaches(one: tuple[Point, ...], other: tuple[Point, ...]) -> tuple[float, float]:
    """From the middle of a meeting to its nearest side and its farthest corner."""
    corners = meeting(one, other)
    return float(-distance(np.zeros((1, 2)), corners)[0]), float(np.hypot(*corners.T).max())


def distance(points: Floats, corners: Floats) -> Floats:
    """Distances of points (n, 2) to a convex region, less than 0 inside it (to its nearest edge).

    ``corners`` (k, 2) are in order around it; of one corner the region is that point.
    """
    if len(corners) == 1:
        alone: Floats = np.hypot(points[:, 0] - corners[0, 0], points[:, 1] - corners[0, 1])
        return alone
    sides = np.roll(corners, -1, axis=0) - corners
    squares = (sides**2).sum(axis=1)
    dx = points[:, None, 0] - corners[None, :, 0]
    dy = points[:, None, 1] - corners[None, :, 1]
    along = np.clip((dx * sides[:, 0] + dy * sides[:, 1]) / squares, 0.0, 1.0)
    nearest = np.hypot(dx - along * sides[:, 0], dy - along * sides[:, 1]).min(axis=1)
    beyond = ((dx * sides[:, 1] - dy * sides[:, 0]) / np.sqrt(squares)).max(axis=1)
    found: Floats = np.where(beyond > 0.0, nearest, beyond)
    return found


class Inside:
    """The part of a shelf in which the middle of one shape may lie, as lines and circles."""

    def __init__(self, outline: Outline, shape: Shape, edge_gap_mm: float) -> None:
        core = np.array(shape.core, dtype=np.float64)
        inset = edge_gap_mm + shape.radius_mm
        edges = np.array(outline.edges, dtype=np.float64).reshape(-1, 3)
        self.normals = edges[:, :2]
        self.reaches = edges[:, 2] - inset
        if len(edges):
            self.reaches = self.reaches - (edges[:, :2] @ core.T).max(axis=1)
        self.centres = -core if outline.radius_mm is not None else np.empty((0, 2))
        self.radius = (outline.radius_mm or 0.0) - inset

    def room(self, points: Floats) -> Floats:
        """How far each point may move before an edge is met; less than 0 outside."""
        found = np.full(len(points), np.inf)
        if len(self.normals):
            # Not a matrix product: its threads cost more than they save, several times over.
            x, y = points[:, None, 0], points[:, None, 1]
            along = x * self.normals[:, 0] + y * self.normals[:, 1]
            found = np.minimum(found, (self.reaches - along).min(axis=1))
        if len(self.centres):
            apart = points[:, None, :] - self.centres[None, :, :]
            found = np.minimum(found, self.radius - np.hypot(apart[..., 0], apart[..., 1]).max(1))
        return found

    def lines(self) -> Floats:
        """Edges as lines (px, py, dx, dy, length) without end."""
        span = 1e5
        along = np.column_stack((-self.normals[:, 1], self.normals[:, 0]))
        start = self.normals * self.reaches[:, None] - along * span
        return np.column_stack((start, along, np.full(len(along), 2.0 * span)))

    def circles(self) -> Floats:
        """Round edges as circles (x, y, r)."""
        if self.radius <= 0.0:
            return np.empty((0, 3))
        return np.column_stack((self.centres, np.full(len(self.centres), self.radius)))

    def seeds(self) -> Floats:
        """Places to begin with where nothing stands: around a round edge, and the middle."""
        found = [np.zeros((1, 2))]
        angles = np.arange(_AROUND) * (2.0 * math.pi / _AROUND)
        for x, y, r in self.circles():
            found.append(np.column_stack((x + r * np.cos(angles), y + r * np.sin(angles))))
        return np.vstack(found)


class Room:
    """The places free for one shape on one shelf; kept up as things are set there.

    ``places`` (n, 2) are where the shape would touch two things, or a thing and the edge.
    """

    def __init__(self, outline: Outline, shape: Shape, edge_gap_mm: float) -> None:
        self.shape = shape
        self.inside = Inside(outline, shape, edge_gap_mm)
        self._lines = self.inside.lines()
        self._circles = self.inside.circles()
        self._spots: dict[tuple[Point, ...], Floats] = {}  # by core: (x, y, rim) of each
        own = [
            self.inside.seeds(),
            _line_line(self._lines, self._lines),
            _line_circle(self._lines, self._circles),
            _circle_circle(self._circles, self._circles),
        ]
        self.places = np.vstack(own)
        self.places = self.places[self.inside.room(self.places) >= -TOUCH_MM]

    def add(self, stands: Sequence[Stand]) -> None:
        """More things stand on the shelf."""
        if not stands:
            return
        lines: list[Floats] = []
        circles: list[Floats] = []
        corners_alone: list[Floats] = []
        fresh = self._by_core(stands)
        for core, spots in fresh.items():
            corners = meeting(core, self.shape.core)
            around = (spots[:, None, :2] + corners[None, :, :]).reshape(-1, 2)
            rims = np.repeat(spots[:, 2], len(corners))
            rounded = rims > 0.0
            circles.append(np.column_stack((around, rims))[rounded])
            corners_alone.append(around[~rounded])
            if len(corners) > 1:
                lines.append(_sides(spots, corners))
            known = self._spots.get(core)
            self._spots[core] = spots if known is None else np.vstack((known, spots))
        new_lines = np.vstack(lines) if lines else np.empty((0, 5))
        new_circles = np.vstack(circles) if circles else np.empty((0, 3))
        all_lines = np.vstack((self._lines, new_lines))
        all_circles = np.vstack((self._circles, new_circles))
        found = [
            _line_line(new_lines, all_lines),
            _line_circle(new_lines, all_circles),
            _line_circle(self._lines, new_circles),
            _circle_circle(new_circles, all_circles),
            *corners_alone,
        ]
        kept = self.places
        if len(kept):
            fine = np.ones(len(kept), dtype=np.bool_)
            for core, spots in fresh.items():
                fine &= self._is_clear_of(kept, core, spots)
            kept = kept[fine]
        fresh_places = np.vstack(found)
        self._lines, self._circles = all_lines, all_circles
        if len(fresh_places):
            fresh_places = fresh_places[self.fits(fresh_places)]
        self.places = np.vstack((kept, fresh_places))

    def rim_mm(self, other: Shape) -> float:
        """How far from the meeting of both cores the middle has to keep."""
        return self.shape.radius_mm + other.radius_mm + max(self.shape.gap_mm, other.gap_mm)

    def _by_core(self, stands: Sequence[Stand]) -> dict[tuple[Point, ...], Floats]:
        """Things by their core: where each stands and its rim (n, 3)."""
        found: dict[tuple[Point, ...], list[tuple[float, float, float]]] = {}
        for stand in stands:
            spot = (stand.x_mm, stand.y_mm, self.rim_mm(stand.shape))
            found.setdefault(stand.shape.core, []).append(spot)
        return {core: np.array(spots, dtype=np.float64) for core, spots in found.items()}

    def _clear_of(self, points: Floats, core: tuple[Point, ...], spots: Floats) -> Floats:
        """The room of each point (n,) to the nearest of things with one core, spots (m, 3)."""
        corners = meeting(core, self.shape.core)
        if len(corners) == 1:
            dx = points[:, None, 0] - (spots[:, 0] + corners[0, 0])
            dy = points[:, None, 1] - (spots[:, 1] + corners[0, 1])
            alone: Floats = (np.sqrt(dx * dx + dy * dy) - spots[:, 2]).min(axis=1)
            return alone
        found = np.full(len(points), np.inf)
        step = max(1, _CHUNK // max(1, len(spots) * len(corners)))
        for start in range(0, len(points), step):
            some = points[start : start + step]
            apart = (some[:, None, :] - spots[None, :, :2]).reshape(-1, 2)
            away = distance(apart, corners).reshape(len(some), len(spots))
            found[start : start + step] = (away - spots[:, 2]).min(axis=1)
        return found

    def room(self, points: Floats) -> Floats:
        """How far each point is from what would touch the shape there; less than 0: no room."""
        found = self.inside.room(points)
        for core, spots in self._spots.items():
            found = np.minimum(found, self._clear_of(points, core, spots))
        return found

    def fits(self, points: Floats) -> Bools:
        """Which points are free."""
        fine = self.inside.room(points) >= -TOUCH_MM
        for core, spots in self._spots.items():
            some = points[fine]
            if not len(some):
                break
            fine[fine] = self._is_clear_of(some, core, spots)
        return fine

    def _is_clear_of(self, points: Floats, core: tuple[Point, ...], spots: Floats) -> Bools:
        """Whether `_clear_of` is 0 or more. Most are told by how far they are from the middle."""
        corners = meeting(core, self.shape.core)
        found: Bools
        if len(corners) == 1:
            found = self._clear_of(points, core, spots) >= -TOUCH_MM
            return found
        dx = points[:, None, 0] - spots[:, 0]
        dy = points[:, None, 1] - spots[:, 1]
        square = dx * dx + dy * dy
        inner, outer = _reaches(core, self.shape.core)
        found = np.all(square >= (inner + spots[:, 2] - TOUCH_MM) ** 2, axis=1)
        near = (square < (outer + spots[:, 2]) ** 2) & found[:, None]
        which, whom = np.nonzero(near)
        if len(which):
            apart = np.column_stack((dx[near], dy[near]))
            away = distance(apart, corners) - spots[whom, 2]
            found[which[away < -TOUCH_MM]] = False
        return found

    def nearest(self, x: float, y: float) -> Point | None:
        """The free place nearest to a point: itself, else on a rim or edge, else where two meet."""
        here = np.array([[x, y]], dtype=np.float64)
        if self.fits(here)[0]:
            return x, y
        tried = [self.places]
        if len(self._circles):
            away = here - self._circles[:, :2]
            far = np.hypot(away[:, 0], away[:, 1])
            safe = np.where(far > 1e-9, far, 1.0)
            way = np.where((far > 1e-9)[:, None], away / safe[:, None], np.array([[1.0, 0.0]]))
            tried.append(self._circles[:, :2] + way * self._circles[:, 2:3])
        if len(self._lines):
            start, along, long = self._lines[:, :2], self._lines[:, 2:4], self._lines[:, 4]
            t = np.clip(((here - start) * along).sum(axis=1), 0.0, long)
            tried.append(start + along * t[:, None])
        points = np.vstack(tried)
        # A rim that is met just so is kept by rounding to one side of it or the other.
        points = points[self.fits(points)]
        if not len(points):
            return None
        away = np.hypot(points[:, 0] - x, points[:, 1] - y)
        best = int(away.argmin())
        return float(points[best, 0]), float(points[best, 1])


def _sides(spots: Floats, corners: Floats) -> Floats:
    """The straight parts of the rims (px, py, dx, dy, length) of things at spots (n, 3)."""
    sides = np.roll(corners, -1, axis=0) - corners
    long = np.hypot(sides[:, 0], sides[:, 1])
    along = sides / long[:, None]
    outward = np.column_stack((along[:, 1], -along[:, 0]))
    count = len(spots)
    start = spots[:, None, :2] + corners[None, :, :] + spots[:, None, 2:] * outward[None, :, :]
    return np.column_stack((start.reshape(-1, 2), np.tile(along, (count, 1)), np.tile(long, count)))


def _line_line(some: Floats, others: Floats) -> Floats:
    if not (len(some) and len(others)):
        return np.empty((0, 2))
    a, b = some[:, None, :], others[None, :, :]
    cross = a[..., 2] * b[..., 3] - a[..., 3] * b[..., 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        dx, dy = b[..., 0] - a[..., 0], b[..., 1] - a[..., 1]
        s = (dx * b[..., 3] - dy * b[..., 2]) / cross
        t = (dx * a[..., 3] - dy * a[..., 2]) / cross
        good = (
            (np.abs(cross) > 1e-9)
            & (s >= -TOUCH_MM)
            & (s <= a[..., 4] + TOUCH_MM)
            & (t >= -TOUCH_MM)
            & (t <= b[..., 4] + TOUCH_MM)
        )
    s = np.where(good, s, 0.0)
    x, y = a[..., 0] + s * a[..., 2], a[..., 1] + s * a[..., 3]
    return np.column_stack((x[good], y[good]))


def _line_circle(lines: Floats, circles: Floats) -> Floats:
    if not (len(lines) and len(circles)):
        return np.empty((0, 2))
    a, c = lines[:, None, :], circles[None, :, :]
    dx, dy = c[..., 0] - a[..., 0], c[..., 1] - a[..., 1]
    along = dx * a[..., 2] + dy * a[..., 3]
    off = dx * a[..., 3] - dy * a[..., 2]
    square = c[..., 2] ** 2 - off**2
    half = np.sqrt(np.maximum(square, 0.0))
    found = []
    for t in (along - half, along + half):
        good = (square >= -TOUCH_MM) & (t >= -TOUCH_MM) & (t <= a[..., 4] + TOUCH_MM)
        x, y = a[..., 0] + t * a[..., 2], a[..., 1] + t * a[..., 3]
        found.append(np.column_stack((x[good], y[good])))
    return np.vstack(found)


def _circle_circle(some: Floats, others: Floats) -> Floats:
    if not (len(some) and len(others)):
        return np.empty((0, 2))
    a, b = some[:, None, :], others[None, :, :]
    dx, dy = b[..., 0] - a[..., 0], b[..., 1] - a[..., 1]
    square = dx**2 + dy**2
    far = np.sqrt(square)
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (square + a[..., 2] ** 2 - b[..., 2] ** 2) / (2.0 * far)
        height = a[..., 2] ** 2 - along**2
        good = (far > 1e-9) & (height >= -1e-7)
        half = np.sqrt(np.maximum(height, 0.0))
        ux, uy = dx / far, dy / far
        x, y = a[..., 0] + along * ux, a[..., 1] + along * uy
    both = [
        np.column_stack(((x - half * uy)[good], (y + half * ux)[good])),
        np.column_stack(((x + half * uy)[good], (y - half * ux)[good])),
    ]
    return np.vstack(both)
