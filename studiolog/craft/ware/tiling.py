"""Tiles of one fired size laid over an area with a joint: how many, which are cut, and how.

Sizes are fired sizes in mm. The tiles with half a joint around each fill the plane; the area cuts
them. Regular hexagon of side s: area 3√3/2 s², flat to flat √3 s (elementary geometry).
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.ware.polygons import (
    EPS,
    Point,
    Polygon,
    apart,
    area_of,
    bounds,
    clip,
    contains,
    counter_clockwise,
    crosses_itself,
    hull,
    inset,
    move,
    narrowest,
    tidy,
    turn,
)
from studiolog.problems import UserProblem

TileKind = Literal["hexagon", "square", "rectangle"]
Bond = Literal["straight", "half", "third", "points up", "flats up"]
Start = Literal["even", "corner", "tile", "joint"]
Edges = Literal["cut", "whole"]

TILE_KINDS: Final = {"hexagon": "hexagons", "square": "squares", "rectangle": "rectangles"}
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
_WHOLE: Final = 1e-9  # of a tile: what rounding may take off a whole one
_LOOK_BACK: Final = 80  # opened tiles in which room is looked for


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


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """A tile, or a part of one, where it lies. ``cut`` is the number of its way of cutting, 0 for
    a whole tile; ``tile`` numbers the tile it is cut from where none serves twice."""

    outline: Polygon
    tile: int
    cut: int
    narrow: bool


@dataclass(frozen=True, slots=True)
class Cut:
    """One way of cutting: how many such pieces, their shape about the middle of the tile."""

    number: int
    count: int
    shape: Polygon
    share: float
    narrow: bool

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the box around it, mm."""
        left, lower, right, upper = bounds(self.shape)
        return right - left, upper - lower


@dataclass(frozen=True)
class Layout:
    """Tiles laid over an area. ``floor`` is the area within the free edge, or the area itself."""

    tile: Tile
    laying: Laying
    area: Polygon
    floor: Polygon
    pieces: tuple[LaidPiece, ...]
    cuts: tuple[Cut, ...]
    saw_mm: float
    start: Start
    to_the_joint: int = 0
    """Gaps at the edge narrower than a joint, where no tile is cut."""

    @cached_property
    def whole(self) -> int:
        """Tiles laid whole."""
        return sum(piece.cut == 0 for piece in self.pieces)

    @cached_property
    def cut(self) -> int:
        """Tiles that are cut, where each gives what one place needs."""
        return len({piece.tile for piece in self.pieces if piece.cut})

    @property
    def needed(self) -> int:
        """Tiles needed if no offcut serves again: what is sure to do."""
        return self.whole + self.cut

    @cached_property
    def needed_with_offcuts(self) -> int:
        """Tiles needed if offcuts serve where a straight saw cut frees them (see `share_tiles`)."""
        return self.whole + share_tiles(self)

    @cached_property
    def narrow(self) -> int:
        """Cut pieces that are narrow."""
        return sum(piece.narrow for piece in self.pieces)

    @cached_property
    def area_mm2(self) -> float:
        return area_of(self.area)

    @cached_property
    def tiles_mm2(self) -> float:
        """What the tiles cover."""
        return sum(area_of(piece.outline) for piece in self.pieces)

    @property
    def joints_mm2(self) -> float:
        """The rest: joints, the free edge, and what whole tiles leave."""
        return self.area_mm2 - self.tiles_mm2

    @property
    def tile_is_larger(self) -> bool:
        """Whether one tile is more than the whole area."""
        return self.tile.area_mm2 >= self.area_mm2


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
    if len(cleaned) < 3 or area_of(cleaned) < 1.0:
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
    return counter_clockwise(cleaned)


def lay_tiles(tile: Tile, laying: Laying, area: Polygon, limits: Limits = SHIPPED) -> Layout:
    """Lay tiles over an area (from `rectangle`, `corner_area` or `polygon_area`).

    Raises UserProblem for tiles, joints and areas that can't be, and for more tiles than
    ``tile_most``.
    """
    _check_tile(tile, laying)
    floor = _floor(area, laying.edge_mm)
    many = area_of(floor) / tile.area_mm2
    if many > limits["tile_most"]:
        raise UserProblem(
            f"That would be about {_show_many(many)} tiles: up to {limits['tile_most']:.0f} are "
            "laid out one by one. Look at the sizes, or lay out a part of the area."
        )
    if laying.start != "even":
        return _lay(tile, laying, laying.start, _anchor(tile, laying, laying.start, floor),
                    area, floor, limits)  # fmt: skip
    tried = [
        _lay(tile, laying, start, anchor, area, floor, limits)
        for start, anchor in _even_anchors(tile, laying, floor)
    ]
    if laying.edges == "whole":
        return max(tried, key=lambda layout: layout.whole)
    return min(tried, key=lambda layout: (layout.narrow, layout.needed, -_least_width(layout)))


def share_tiles(layout: Layout) -> int:
    """How many tiles the cut pieces need, if an offcut may serve at another place.

    A piece keeps the factory edges it has: it stays where it lies in its tile, which may be turned
    (not turned over: one side is glazed). Two pieces come from one tile only where a straight saw
    cut of ``saw_mm`` passes between them. First fit, largest first, so there may be a better way;
    what is counted can be sawn.
    """
    by_tile: dict[int, list[Polygon]] = defaultdict(list)
    shapes = {cut.number: cut.shape for cut in layout.cuts}
    for piece in layout.pieces:
        if piece.cut:
            by_tile[piece.tile].append(shapes[piece.cut])
    turned: dict[Polygon, tuple[Polygon, ...]] = {}
    for shape in shapes.values():
        around = hull(shape)
        turned[shape] = tuple(turn(around, degrees) for degrees in layout.tile.turns)
    memo: dict[tuple[Polygon, Polygon], bool] = {}

    def pass_by(one: Polygon, two: Polygon) -> bool:
        known = memo.get((one, two))
        if known is None:
            known = memo[(one, two)] = apart(one, two) >= layout.saw_mm - EPS
        return known

    alone = [shapes for shapes in by_tile.values() if len(shapes) == 1]
    opened: list[list[Polygon]] = []
    for (shape,) in sorted(alone, key=lambda some: -area_of(some[0])):
        for taken in reversed(opened[-_LOOK_BACK:]):
            way = next(
                (way for way in turned[shape] if all(pass_by(way, one) for one in taken)), None
            )
            if way is not None:
                taken.append(way)
                break
        else:
            opened.append([turned[shape][0]])
    return len(opened) + len(by_tile) - len(alone)


def say_cut(cut: Cut, tile: Tile) -> str:
    """A way of cutting in words: "64 × 100 mm", "half, 50 × 87 mm", "5 corners, 61 %"."""
    wide, high = cut.size
    size = f"{_short(wide)} × {show_quantity(high, 'mm', 0 if high == round(high) else 1)}"
    if tile.kind != "hexagon" and _is_box(cut.shape):
        return size
    if abs(cut.share - 0.5) < 0.005:
        return f"half a tile, {size}"
    share = show_quantity(cut.share * 100.0, "%")
    return f"{len(cut.shape)} corners, {share} of a tile, {size}"


def _lay(
    tile: Tile,
    laying: Laying,
    start: Start,
    anchor: Point,
    area: Polygon,
    floor: Polygon,
    limits: Limits,
) -> Layout:
    shape = tile.outline(laying.bond)
    reach = max(math.hypot(x, y) for x, y in shape)
    narrow_mm = limits["tile_narrow_share"] * min(tile.size)
    pieces: list[LaidPiece] = []
    kinds: dict[tuple[tuple[int, int], ...], int] = {}
    cuts: list[Cut] = []
    number = slivers = 0
    least_mm = max(laying.joint_mm, 1.0)
    for x, y, touches in _centres(tile, laying, anchor, floor, reach):
        here = move(shape, x, y)
        parts = [here] if not touches else clip(floor, here)
        left = sum(area_of(part) for part in parts)
        if left >= tile.area_mm2 * (1.0 - _WHOLE) - 1e-3:
            number += 1
            pieces.append(LaidPiece(here, number, 0, False))
            continue
        if laying.edges == "whole":
            continue
        wide_enough = [part for part in parts if narrowest(part) >= least_mm]
        slivers += len(parts) - len(wide_enough)
        parts = wide_enough
        number += bool(parts)
        for part in parts:
            key, own = _same_cut(move(part, -x, -y), tile.turns)
            if key not in kinds:
                kinds[key] = len(cuts)
                share = area_of(own) / tile.area_mm2
                is_narrow = narrowest(own) < narrow_mm - 1e-6
                cuts.append(Cut(len(cuts) + 1, 0, own, share, is_narrow))
            place = kinds[key]
            old = cuts[place]
            cuts[place] = Cut(old.number, old.count + 1, old.shape, old.share, old.narrow)
            pieces.append(LaidPiece(part, number, old.number, old.narrow))
    return Layout(
        tile, laying, area, floor, tuple(pieces), tuple(cuts), limits["tile_saw_mm"], start, slivers
    )


def _centres(
    tile: Tile, laying: Laying, anchor: Point, floor: Polygon, reach: float
) -> list[tuple[float, float, bool]]:
    """Where tiles may lie, row by row, and whether an edge of the area may touch them."""
    import numpy as np

    (ax, ay), (bx, by) = _lattice(tile, laying)
    left, lower, right, upper = bounds(floor)
    det = ax * by - ay * bx
    corners = [(x - anchor[0], y - anchor[1])
               for x in (left - reach, right + reach)
               for y in (lower - reach, upper + reach)]  # fmt: skip
    steps_a = [(x * by - y * bx) / det for x, y in corners]
    steps_b = [(ax * y - ay * x) / det for x, y in corners]
    i = np.arange(math.floor(min(steps_a)), math.ceil(max(steps_a)) + 1)
    j = np.arange(math.floor(min(steps_b)), math.ceil(max(steps_b)) + 1)
    jj, ii = np.meshgrid(j, i, indexing="ij")
    x = (anchor[0] + ii * ax + jj * bx).ravel()
    y = (anchor[1] + ii * ay + jj * by).ravel()
    near = (x > left - reach) & (x < right + reach) & (y > lower - reach) & (y < upper + reach)
    x, y = x[near], y[near]
    away = np.full(x.shape, np.inf)
    for k in range(len(floor)):
        (x1, y1), (x2, y2) = floor[k], floor[(k + 1) % len(floor)]
        dx, dy = x2 - x1, y2 - y1
        t = np.clip(((x - x1) * dx + (y - y1) * dy) / (dx * dx + dy * dy), 0.0, 1.0)
        away = np.minimum(away, np.hypot(x - x1 - t * dx, y - y1 - t * dy))
    touches = away < reach + 1e-6
    order = np.lexsort((x.round(3), y.round(3)))
    found = []
    for k in order:
        if touches[k] or contains(floor, float(x[k]), float(y[k])):
            found.append((float(x[k]), float(y[k]), bool(touches[k])))
    return found


def _lattice(tile: Tile, laying: Laying) -> tuple[Point, Point]:
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


def _anchor(tile: Tile, laying: Laying, start: Start, floor: Polygon) -> Point:
    """The middle of one tile."""
    left, lower, right, upper = bounds(floor)
    if start == "corner":
        x0, y0, _, _ = bounds(tile.outline(laying.bond))
        return left - x0, lower - y0
    middle = (left + right) / 2.0, (lower + upper) / 2.0
    if start == "joint":
        a, b = _lattice(tile, laying)
        # Half a tile along its row; with straight joints half a row too, so that four meet there.
        up = b[1] / 2.0 if laying.bond == "straight" else 0.0
        return middle[0] + a[0] / 2.0, middle[1] + a[1] / 2.0 + up
    return middle


def _even_anchors(tile: Tile, laying: Laying, floor: Polygon) -> list[tuple[Start, Point]]:
    (ax, ay), (bx, by) = _lattice(tile, laying)
    x, y = _anchor(tile, laying, "tile", floor)
    return [
        ("tile", (x, y)),
        ("joint", (x + ax / 2.0, y + ay / 2.0)),
        ("joint", (x + bx / 2.0, y + by / 2.0)),
        ("joint", (x + (ax + bx) / 2.0, y + (ay + by) / 2.0)),
        ("corner", _anchor(tile, laying, "corner", floor)),
    ]


def _least_width(layout: Layout) -> float:
    return min((narrowest(cut.shape) for cut in layout.cuts), default=math.inf)


def _same_cut(part: Polygon, turns: Sequence[int]) -> tuple[tuple[tuple[int, int], ...], Polygon]:
    """A key that is the same for pieces cut alike, however their tile is turned; and the piece as
    it is with that key."""
    ways = []
    for degrees in turns:
        turned = turn(part, degrees)
        # Shifted off the halves: what differs by rounding alone must not fall on two sides of one.
        rounded = [(round(x * 10 + 0.137), round(y * 10 + 0.137)) for x, y in turned]
        first = min(range(len(rounded)), key=lambda k: rounded[k])
        ways.append((tuple(rounded[first:] + rounded[:first]), turned[first:] + turned[:first]))
    return min(ways)


def _floor(area: Polygon, edge_mm: float) -> Polygon:
    if not math.isfinite(edge_mm) or edge_mm < 0.0:
        raise UserProblem("The free edge is 0 mm or more.", {"edge_mm": "0 or more"})
    floor = inset(area, edge_mm)
    if floor is None or area_of(floor) < 1.0:
        told = f"A free edge of {show_quantity(edge_mm, 'mm')} leaves nothing of a side: take less."
        raise UserProblem(told, {"edge_mm": told})
    return floor


def _check_tile(tile: Tile, laying: Laying) -> None:
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


def _is_box(shape: Polygon) -> bool:
    left, lower, right, upper = bounds(shape)
    return abs(area_of(shape) - (right - left) * (upper - lower)) < 1e-3


def _short(value: float) -> str:
    return show_number(value, 0 if abs(value - round(value)) < 0.05 else 1)


def _show_many(many: float) -> str:
    return f"{many / 1e6:.1f} million" if many >= 1e6 else f"{many:.0f}"
