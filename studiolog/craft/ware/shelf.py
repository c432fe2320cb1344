"""Kiln shelves and what stands on them, seen from above.

Everything is in mm, measured from the middle of the whole shelf: x to the right, y towards the
door. Every outline of a shelf is convex: the meeting of half planes and, for a round one, a disk.
Every footprint is a convex core with a rim around it: a circle is a point with a radius, a box or
a tile its corners with none. A half shelf is the left or the right half of a whole one, its
straight edge along x = 0 (a hexagon is cut from corner to corner).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement
from typing import Final

from studiolog.craft.units import show_quantity
from studiolog.craft.words import SHELF_PARTS, SHELF_SHAPES, join_words
from studiolog.problems import UserProblem

Point = tuple[float, float]

FOOTPRINTS: Final = ("circle", "rectangle", "hexagon")
LARGEST_MM: Final = 5000.0
"""No shelf and no ware is taken to be larger than this."""
_AROUND: Final = 360  # straight pieces by which a round outline is drawn
_ALTERNATE_CORNERS: Final = (-90.0, 30.0, 150.0)  # one at the back, two towards the door
_FOUR_CORNERS: Final = (-135.0, -45.0, 45.0, 135.0)


def check_size(value_mm: float, words: str) -> float:
    """A size as it is. Raises `UserProblem` naming ``words`` if it is 0, less, or no number."""
    if not (math.isfinite(value_mm) and 0.0 < value_mm <= LARGEST_MM):
        told = f"{value_mm:g}" if math.isfinite(value_mm) else "what was given"
        most = show_quantity(LARGEST_MM, "mm")
        raise UserProblem(f"{words} must be more than 0 and at most {most}; {told} is not.")
    return value_mm


@dataclass(frozen=True, slots=True)
class Footprint:
    """What ware takes of a shelf: its widest outline seen from above.

    ``shape`` is "circle" (``across_mm`` its diameter), "rectangle" (``across_mm`` by ``deep_mm``,
    as deep as wide if None) or "hexagon" (``across_mm`` across flats, which lie left and right
    when it is not turned). Raises `UserProblem` for sizes that can't be.
    """

    shape: str
    across_mm: float
    deep_mm: float | None = None

    def __post_init__(self) -> None:
        if self.shape not in FOOTPRINTS:
            raise UserProblem(f"“{self.shape}” is no footprint: {join_words(FOOTPRINTS, 'or')}.")
        check_size(self.across_mm, "What stands in a kiln is so wide: it")
        if self.deep_mm is not None:
            check_size(self.deep_mm, "What stands in a kiln is so deep: it")

    @property
    def other_mm(self) -> float:
        """The way across that ``across_mm`` is not; the same but for a rectangle."""
        if self.shape == "rectangle" and self.deep_mm is not None:
            return self.deep_mm
        return self.across_mm

    @property
    def radius_mm(self) -> float:
        """Width of the rim around the core: a circle's radius, 0 for what has corners."""
        return self.across_mm / 2.0 if self.shape == "circle" else 0.0

    @property
    def reach_mm(self) -> float:
        """From the middle to the farthest point."""
        if self.shape == "circle":
            return self.across_mm / 2.0
        if self.shape == "hexagon":
            return self.across_mm / math.sqrt(3.0)
        return math.hypot(self.across_mm, self.other_mm) / 2.0

    @property
    def narrowest_mm(self) -> float:
        """The least room it passes through."""
        return min(self.across_mm, self.other_mm)

    @property
    def area_mm2(self) -> float:
        """The ground it covers."""
        if self.shape == "circle":
            return math.pi * self.across_mm**2 / 4.0
        if self.shape == "hexagon":
            return math.sqrt(3.0) / 2.0 * self.across_mm**2
        return self.across_mm * self.other_mm

    def ground_mm2(self, gap_mm: float) -> float:
        """The ground it takes with half a gap all round, as it does in the densest rows.

        A circle takes the hexagon around it: nine tenths is the densest that circles stand.
        """
        half = gap_mm / 2.0
        if self.shape == "circle":
            return 2.0 * math.sqrt(3.0) * (self.across_mm / 2.0 + half) ** 2
        if self.shape == "hexagon":
            return math.sqrt(3.0) / 2.0 * (self.across_mm + gap_mm) ** 2
        return (self.across_mm + gap_mm) * (self.other_mm + gap_mm)

    def rounded_area_mm2(self, margin_mm: float) -> float:
        """The area of all points no farther away than ``margin_mm``."""
        around = {
            "circle": math.pi * self.across_mm,
            "hexagon": 2.0 * math.sqrt(3.0) * self.across_mm,
            "rectangle": 2.0 * (self.across_mm + self.other_mm),
        }[self.shape]
        return self.area_mm2 + around * margin_mm + math.pi * margin_mm**2

    def widened(self, by_mm: float) -> "Footprint":
        """The footprint of the tile under it that reaches ``by_mm`` beyond it on every side."""
        if by_mm == 0.0:
            return self
        deep = None if self.deep_mm is None else self.deep_mm + 2.0 * by_mm
        return Footprint(self.shape, self.across_mm + 2.0 * by_mm, deep)

    def core(self, turned_deg: float = 0.0) -> tuple[Point, ...]:
        """The corners of its core around its middle, in order around it; a circle's is one point.

        ``turned_deg`` turns it clockwise as seen from above.
        """
        return _core(self.shape, self.across_mm, self.other_mm, turned_deg % 360.0)

    @property
    def turns_deg(self) -> tuple[float, ...]:
        """The ways it is worth turning, from as it is."""
        if self.shape == "circle":
            return (0.0,)
        if self.shape == "hexagon":
            return (0.0, 30.0)
        return (0.0,) if self.across_mm == self.other_mm else (0.0, 90.0)


@lru_cache(maxsize=4096)
def _core(shape: str, across_mm: float, other_mm: float, turned_deg: float) -> tuple[Point, ...]:
    if shape == "circle":
        return ((0.0, 0.0),)
    if shape == "hexagon":
        reach = across_mm / math.sqrt(3.0)
        return tuple(_at(reach, turned_deg + 30.0 + 60.0 * n) for n in range(6))
    half, other = across_mm / 2.0, other_mm / 2.0
    angle = math.radians(turned_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    corners = ((-half, -other), (half, -other), (half, other), (-half, other))
    return tuple((x * cos - y * sin, x * sin + y * cos) for x, y in corners)


def _at(reach: float, degrees: float) -> Point:
    angle = math.radians(degrees)
    return reach * math.cos(angle), reach * math.sin(angle)


@dataclass(frozen=True, slots=True)
class Outline:
    """A shelf seen from above.

    ``edges`` are half planes (nx, ny, reach): a point is on the shelf where nx·x + ny·y ≤ reach.
    ``radius_mm`` is that of a round one around (0, 0), else None. Make it with `shelf_outline`.
    """

    shape: str
    part: str
    across_mm: float
    deep_mm: float
    edges: tuple[tuple[float, float, float], ...]
    radius_mm: float | None

    @property
    def middle(self) -> Point:
        """A point well inside: the middle of a whole shelf, about that of a half."""
        if self.part == "full":
            return 0.0, 0.0
        aside = 0.42 if self.radius_mm is not None else 0.46
        x = aside * self.across_mm / 2.0
        return (-x, 0.0) if self.part == "left" else (x, 0.0)

    @property
    def area_mm2(self) -> float:
        """Its area."""
        whole = {
            "round": math.pi / 4.0 * self.across_mm**2,
            "hexagon": math.sqrt(3.0) / 2.0 * self.across_mm**2,
            "octagon": 2.0 * (math.sqrt(2.0) - 1.0) * self.across_mm**2,
            "rectangle": self.across_mm * self.deep_mm,
        }[self.shape]
        return whole if self.part == "full" else whole / 2.0

    def points(self, inset_mm: float = 0.0) -> tuple[Point, ...]:
        """Its corners in order around it, to be drawn; a round edge in short straight pieces.

        ``inset_mm`` keeps so far from every edge. Empty if nothing is left.
        """
        span = 2.0 * LARGEST_MM
        kept: list[Point] = [(-span, -span), (span, -span), (span, span), (-span, span)]
        for edge in self.edges:
            kept = _cut(kept, edge[0], edge[1], edge[2] - inset_mm)
        if self.radius_mm is not None:
            reach = self.radius_mm - inset_mm
            for n in range(_AROUND):
                nx, ny = _at(1.0, 360.0 / _AROUND * n)
                kept = _cut(kept, nx, ny, reach)
        return tuple(kept)

    def room_mm2(self, inset_mm: float) -> float:
        """The area of what keeps ``inset_mm`` from every edge (round ones a hair too much)."""
        return _room_mm2(self, inset_mm)

    def inside_by_mm(self, footprint: Footprint, x: float, y: float, turned_deg: float) -> float:
        """How far a footprint keeps from the nearest edge; less than 0 where it hangs over."""
        corners = [(x + u, y + v) for u, v in footprint.core(turned_deg)]
        found = min(
            (reach - nx * u - ny * v for nx, ny, reach in self.edges for u, v in corners),
            default=math.inf,
        )
        if self.radius_mm is not None:
            found = min(found, self.radius_mm - max(math.hypot(u, v) for u, v in corners))
        return found - footprint.radius_mm


@lru_cache(maxsize=256)
def _room_mm2(outline: Outline, inset_mm: float) -> float:
    corners = outline.points(inset_mm)
    turned = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(x * v - u * y for (x, y), (u, v) in turned)) / 2.0


def _cut(corners: list[Point], nx: float, ny: float, reach: float) -> list[Point]:
    """A convex polygon without what lies beyond a line."""
    kept: list[Point] = []
    for n, (x, y) in enumerate(corners):
        u, v = corners[n - 1]
        here, before = nx * x + ny * y - reach, nx * u + ny * v - reach
        if (here < 0.0 < before) or (before < 0.0 < here):
            share = before / (before - here)
            kept.append((u + share * (x - u), v + share * (y - v)))
        if here <= 0.0:
            kept.append((x, y))
    return kept


@lru_cache(maxsize=256)
def shelf_outline(
    shape: str, across_mm: float, deep_mm: float | None = None, part: str = "full"
) -> Outline:
    """The outline of a shelf by its shape (`SHELF_SHAPES`) and part (`SHELF_PARTS`).

    ``across_mm`` is a round one's diameter, a many-sided one's width across flats (they lie left
    and right), a rectangular one's width; ``deep_mm`` is a rectangular one's depth, else it is
    passed over. Raises `UserProblem` for what can't be.
    """
    if shape not in SHELF_SHAPES or part not in SHELF_PARTS:
        shapes = join_words(tuple(SHELF_SHAPES.values()), "or")
        raise UserProblem(f"A shelf is {shapes}, whole or half of it; “{shape} {part}” is not.")
    check_size(across_mm, "The shelf's width")
    deep = across_mm
    if shape == "rectangle" and deep_mm is not None:
        deep = check_size(deep_mm, "The shelf's depth")
    half = across_mm / 2.0
    sides = {"round": 0, "hexagon": 6, "octagon": 8, "rectangle": 4}[shape]
    edges = []
    for n in range(sides):
        nx, ny = _at(1.0, 360.0 / sides * n)
        edges.append((nx, ny, deep / 2.0 if shape == "rectangle" and n % 2 else half))
    if part == "left":
        edges.append((1.0, 0.0, 0.0))
    elif part == "right":
        edges.append((-1.0, 0.0, 0.0))
    return Outline(shape, part, across_mm, deep, tuple(edges), half if shape == "round" else None)


@dataclass(frozen=True, slots=True)
class Kept:
    """A place on a shelf that is kept clear. ``gap_mm`` is the room ware keeps from it."""

    what: str
    footprint: Footprint
    x_mm: float
    y_mm: float
    gap_mm: float = 0.0
    turned_deg: float = 0.0


@lru_cache(maxsize=256)
def post_places(outline: Outline, posts: int, post_mm: float) -> tuple[Point, ...]:
    """Where the posts of the shelf above stand: at the edge, three or four of them.

    Three: one in the middle of the back and two towards the door; on a half shelf the ends of the
    straight edge and the middle of the other. Four: the corners. All shelves of a load have theirs
    above each other.
    """
    foot = Footprint("circle", post_mm)
    if outline.part != "full":
        aside = -1.0 if outline.part == "left" else 1.0
        ends = [
            _pushed(outline, foot, _pushed(outline, foot, outline.middle, (-aside, 0.0)), (0.0, y))
            for y in (-1.0, 1.0)
        ]
        far = (aside * 0.7, 0.7), (aside * 0.7, -0.7)
        if posts >= 4:
            return (*ends, *(_pushed(outline, foot, outline.middle, way) for way in far))
        return (*ends, _pushed(outline, foot, outline.middle, (aside, 0.0)))
    if outline.shape != "rectangle":
        ways = _FOUR_CORNERS if posts >= 4 else _ALTERNATE_CORNERS
        return tuple(_pushed(outline, foot, (0.0, 0.0), _at(1.0, way)) for way in ways)
    x, y = (outline.across_mm - post_mm) / 2.0, (outline.deep_mm - post_mm) / 2.0
    back = ((-x, -y), (x, -y)) if posts >= 4 else ((0.0, -y),)
    return (*back, (x, y), (-x, y))


@lru_cache(maxsize=256)
def pack_place(
    outline: Outline,
    footprint: Footprint,
    edge_gap_mm: float,
    clear_of: tuple[Kept, ...] = (),
) -> Point:
    """Where a cone pack stands while nobody said: at the door, as near the edge as may be.

    It moves aside, as little as will do, from what is kept clear already (round places).
    """
    x, y = outline.middle
    # A way aside at a time, left and right in turn; the first that is clear is the nearest.
    ways = [0.0, *(side * step for step in range(5, int(outline.across_mm), 5) for side in (1, -1))]
    for way in ways:
        start = x + way, y
        if outline.inside_by_mm(footprint, *start, 0.0) < edge_gap_mm:
            continue
        place = _pushed(outline, footprint, start, (0.0, 1.0))
        place = place[0], place[1] - edge_gap_mm
        if all(_clear_of(footprint, place, kept) for kept in clear_of):
            return place
    place = _pushed(outline, footprint, (x, y), (0.0, 1.0))
    return place[0], place[1] - edge_gap_mm


def _clear_of(footprint: Footprint, place: Point, kept: Kept) -> bool:
    """Whether an upright box keeps away from a round place."""
    dx = max(0.0, abs(place[0] - kept.x_mm) - footprint.across_mm / 2.0)
    dy = max(0.0, abs(place[1] - kept.y_mm) - footprint.other_mm / 2.0)
    return math.hypot(dx, dy) >= kept.footprint.reach_mm


def _pushed(outline: Outline, footprint: Footprint, start: Point, way: Point) -> Point:
    """The farthest a footprint goes from a place inside in one direction without hanging over."""
    low, high = 0.0, 2.0 * LARGEST_MM
    for _ in range(50):
        mid = (low + high) / 2.0
        x, y = start[0] + mid * way[0], start[1] + mid * way[1]
        if outline.inside_by_mm(footprint, x, y, 0.0) >= 0.0:
            low = mid
        else:
            high = mid
    return start[0] + low * way[0], start[1] + low * way[1]


@lru_cache(maxsize=256)
def clear_heights(posts_mm: tuple[float, ...], most_stacked: int = 3) -> tuple[float, ...]:
    """Heights that posts at hand make, from low to high: one, or up to so many on each other."""
    for height in posts_mm:
        check_size(height, "A post's height")
    sums = {
        round(sum(chosen), 3)
        for count in range(1, most_stacked + 1)
        for chosen in combinations_with_replacement(sorted(set(posts_mm)), count)
    }
    return tuple(sorted(sums))


def lowest_clear(heights_mm: Sequence[float], needed_mm: float) -> float | None:
    """The lowest of the heights posts make that is high enough; None if none is."""
    return next((height for height in heights_mm if height >= needed_mm - 1e-6), None)
