"""Tiles and how they are laid: kinds, sizes, joints, where laying starts, and the area itself.

Sizes are fired sizes in mm. Regular hexagon of side s: area 3√3/2 s², flat to flat √3 s
(elementary geometry).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.ware.polygons import (
    EPS,
    Point,
    Polygon,
    area_of,
    bounds,
    counter_clockwise,
    crosses_itself,
    inset,
    tidy,
)
from studiolog.problems import UserProblem

TileKind = Literal["hexagon", "square", "rectangle"]
Bond = Literal["straight", "half", "third", "points up", "flats up"]
Start = Literal["even", "corner", "tile", "joint"]
Edges = Literal["cut", "whole"]

TILE_KINDS: Final[dict[TileKind, str]] = {
    "hexagon": "hexagons",
    "square": "squares",
    "rectangle": "rectangles",
}
BONDS: Final[dict[TileKind, dict[Bond, str]]] = {
    "hexagon": {"points up": "points up", "flats up": "flats up"},
    "square": {"straight": "straight joints", "half": "each row by half"},
    "rectangle": {
        "straight": "straight joints",
        "half": "each row by half",
        "third": "each row by a third",
    },
}
STARTS: Final[dict[Start, str]] = {
    "even": "where the cuts come out widest",
    "corner": "a whole tile in the lower left corner",
    "tile": "a tile in the middle",
    "joint": "a joint in the middle",
}
EDGES: Final[dict[Edges, str]] = {
    "cut": "tiles are cut to the edge",
    "whole": "whole tiles only, the rest left free",
}

_LEAST_TILE_MM: Final = 5.0
_MOST_TILE_MM: Final = 1500.0
_MOST_AREA_MM: Final = 100_000.0


@dataclass(frozen=True, slots=True)
class Tile:
    """A fired tile. ``across_mm`` is flat to flat of a hexagon, the side of a square, the length
    of a rectangle; ``deep_mm`` the other side of a rectangle."""

    kind: TileKind
    across_mm: float
    deep_mm: float | None = None

    @property
    def size(self) -> tuple[float, float]:
        """The two pitches without a joint: across, and deep (flat to flat both for a hexagon)."""
        deep = self.across_mm if self.deep_mm is None else self.deep_mm
        return self.across_mm, deep if self.kind == "rectangle" else self.across_mm

    @property
    def side_mm(self) -> float:
        """The side of a hexagon or a square; the longer side of a rectangle."""
        return self.across_mm / math.sqrt(3.0) if self.kind == "hexagon" else max(self.size)

    @property
    def area_mm2(self) -> float:
        if self.kind == "hexagon":
            return 1.5 * math.sqrt(3.0) * self.side_mm**2
        wide, deep = self.size
        return wide * deep

    @property
    def turns(self) -> tuple[int, ...]:
        """By how many degrees it may be turned and lies as before, glazed side up."""
        step = {"hexagon": 60, "square": 90, "rectangle": 180}[self.kind]
        if self.kind == "rectangle" and abs(self.size[0] - self.size[1]) < EPS:
            step = 90
        return tuple(range(0, 360, step))

    def outline(self, bond: Bond) -> Polygon:
        """Its corners about (0, 0), counter-clockwise."""
        if self.kind == "hexagon":
            first = 30.0 if bond == "points up" else 0.0
            return tuple(
                (
                    self.side_mm * math.cos(math.radians(first + 60.0 * k)),
                    self.side_mm * math.sin(math.radians(first + 60.0 * k)),
                )
                for k in range(6)
            )
        x, y = self.size[0] / 2.0, self.size[1] / 2.0
        return ((-x, -y), (x, -y), (x, y), (-x, y))


@dataclass(frozen=True, slots=True)
class Laying:
    """How tiles are laid. ``edge_mm`` is kept free along all edges (a joint that gives)."""

    bond: Bond
    joint_mm: float = 3.0
    start: Start = "even"
    edges: Edges = "cut"
    edge_mm: float = 0.0


def rectangle(wide_mm: float, deep_mm: float) -> Polygon:
    """An area with four right corners. Raises UserProblem for a side that can't be."""
    _check_side(wide_mm, "wide")
    _check_side(deep_mm, "deep")
    return ((0.0, 0.0), (wide_mm, 0.0), (wide_mm, deep_mm), (0.0, deep_mm))


def corner_area(wide_mm: float, deep_mm: float, out_wide_mm: float, out_deep_mm: float) -> Polygon:
    """An L: a rectangle with a rectangle taken out of its upper right corner.

    Raises UserProblem where what is taken out is not smaller than the rectangle.
    """
    rectangle(wide_mm, deep_mm)
    _check_side(out_wide_mm, "out_wide")
    _check_side(out_deep_mm, "out_deep")
    if out_wide_mm >= wide_mm or out_deep_mm >= deep_mm:
        told = "What is taken out of the corner must be smaller than the area, both ways."
        raise UserProblem(told, {"out_wide": told})
    x, y = wide_mm - out_wide_mm, deep_mm - out_deep_mm
    return ((0.0, 0.0), (wide_mm, 0.0), (wide_mm, y), (x, y), (x, deep_mm), (0.0, deep_mm))


def polygon_area(points: Sequence[Point]) -> Polygon:
    """An area by its corners in turn, counter-clockwise then.

    Raises UserProblem for fewer than three corners, an area of nothing, one that is too large,
    or sides that cross.
    """
    if any(not (math.isfinite(x) and math.isfinite(y)) for x, y in points):
        raise UserProblem("A corner is two numbers in mm, like 0 0.", {"points": "two numbers"})
    cleaned = tidy(tuple(points))
    if len(cleaned) < 3:
        told = "An area has at least three corners that do not lie on one line."
        raise UserProblem(told, {"points": told})
    left, lower, right, upper = bounds(cleaned)
    if max(right - left, upper - lower) > _MOST_AREA_MM:
        told = f"An area is {_MOST_AREA_MM / 1000:.0f} m across at most: corners are in mm."
        raise UserProblem(told, {"points": told})
    if len(cleaned) > 200:
        told = f"An area has up to 200 corners; this one has {len(cleaned)}."
        raise UserProblem(told, {"points": told})
    if crosses_itself(cleaned):
        told = "The sides of the area cross or touch each other: give the corners in turn."
        raise UserProblem(told, {"points": told})
    if area_of(cleaned) < 1.0:
        raise _no_size()
    return counter_clockwise(cleaned)


def lattice_of(tile: Tile, laying: Laying) -> tuple[Point, Point]:
    """From one tile to the next in its row, and to the next row."""
    wide, deep = tile.size[0] + laying.joint_mm, tile.size[1] + laying.joint_mm
    rise = wide * math.sqrt(3.0) / 2.0
    match laying.bond:
        case "points up":
            return (wide, 0.0), (wide / 2.0, rise)
        case "flats up":
            return (0.0, wide), (rise, wide / 2.0)
        case "half":
            return (wide, 0.0), (wide / 2.0, deep)
        case "third":
            return (wide, 0.0), (wide / 3.0, deep)
        case _:
            return (wide, 0.0), (0.0, deep)


def anchor_of(tile: Tile, laying: Laying, start: Start, floor: Polygon) -> Point:
    """The middle of one tile."""
    left, lower, right, upper = bounds(floor)
    if start == "corner":
        x0, y0, _, _ = bounds(tile.outline(laying.bond))
        return left - x0, lower - y0
    middle = (left + right) / 2.0, (lower + upper) / 2.0
    if start == "joint":
        a, b = lattice_of(tile, laying)
        # Half a tile along its row; with straight joints half a row too, so that four meet there.
        up = b[1] / 2.0 if laying.bond == "straight" else 0.0
        return middle[0] + a[0] / 2.0, middle[1] + a[1] / 2.0 + up
    return middle


def anchors_to_try(
    tile: Tile, laying: Laying, floor: Polygon, uneven: bool = False
) -> list[tuple[Start, Point]]:
    """Where laying may start so that the cuts may come out wide.

    First those that lie alike on both sides, then, if ``uneven``, others a quarter of a tile on.
    """
    (ax, ay), (bx, by) = lattice_of(tile, laying)
    x, y = anchor_of(tile, laying, "tile", floor)
    halves = [(0.0, 0.0), (0.5, 0.5), (0.5, 0.0), (0.0, 0.5)]
    quarters = [(i / 4, j / 4) for i in range(4) for j in range(4) if i % 2 or j % 2]
    found: list[tuple[Start, Point]] = [
        ("joint" if i or j else "tile", (x + i * ax + j * bx, y + i * ay + j * by))
        for i, j in halves
    ]
    found.append(("corner", anchor_of(tile, laying, "corner", floor)))
    if uneven:
        found += [("even", (x + i * ax + j * bx, y + i * ay + j * by)) for i, j in quarters]
    return found


def floor_of(area: Polygon, edge_mm: float) -> Polygon:
    """The area within its free edge. Raises UserProblem where that leaves nothing of a side."""
    if not math.isfinite(edge_mm) or edge_mm < 0.0:
        raise UserProblem("The free edge is 0 mm or more.", {"edge_mm": "0 or more"})
    if area_of(area) < 1.0:
        raise _no_size()
    floor = inset(area, edge_mm)
    if floor is None or area_of(floor) < 1.0:
        told = f"A free edge of {show_quantity(edge_mm, 'mm')} leaves nothing of a side: take less."
        raise UserProblem(told, {"edge_mm": told})
    return floor


def check_tile(tile: Tile, laying: Laying) -> None:
    """Raise UserProblem for a tile or a joint that can't be."""
    for side, field in zip(tile.size, ("across_mm", "deep_mm"), strict=True):
        if not math.isfinite(side) or not _LEAST_TILE_MM <= side <= _MOST_TILE_MM:
            told = (
                f"A tile is {_LEAST_TILE_MM:.0f} mm to {_MOST_TILE_MM / 1000:.1f} m across; "
                f"{show_number(side, 1) if math.isfinite(side) else 'this'} mm is not."
            )
            raise UserProblem(told, {field: told})
    if laying.bond not in BONDS[tile.kind]:
        ways = ", ".join(BONDS[tile.kind].values())
        raise UserProblem(f"{TILE_KINDS[tile.kind].capitalize()} are laid {ways}.")
    if not math.isfinite(laying.joint_mm) or not 0.0 <= laying.joint_mm <= min(tile.size):
        told = "A joint is 0 mm or more, and not wider than the tile."
        raise UserProblem(told, {"joint_mm": told})


def _check_side(side_mm: float, field: str) -> None:
    if not math.isfinite(side_mm) or not 0.0 < side_mm <= _MOST_AREA_MM:
        told = f"A side of the area is more than 0 mm and {_MOST_AREA_MM / 1000:.0f} m at most."
        raise UserProblem(told, {field: told})


def _no_size() -> UserProblem:
    told = "The area has next to no size: it is given in mm."
    return UserProblem(told, {"points": told})
