"""Tiles of one fired size laid over an area with a joint: how many, which are cut, and how.

The tiles with half a joint around each fill the plane; the area cuts them.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.ware.offcuts import same_cut, share_tiles
from studiolog.craft.ware.polygons import (
    Point,
    Polygon,
    area_of,
    bounds,
    clip,
    contains,
    move,
    narrowest,
)
from studiolog.craft.ware.tiles import (
    Laying,
    Start,
    Tile,
    anchor_of,
    anchors_to_try,
    check_tile,
    floor_of,
    lattice_of,
)
from studiolog.problems import UserProblem

_TRY_MORE: Final = 1500
"""Up to so many tiles, starts that are not even on both sides are tried as well."""
_WHOLE: Final = 1e-9
"""Of a tile: what rounding may take off a whole one."""


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
    """Gaps at the edge too narrow to cut a tile for."""

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


def lay_tiles(tile: Tile, laying: Laying, area: Polygon, limits: Limits = SHIPPED) -> Layout:
    """Lay tiles over an area (from `rectangle`, `corner_area` or `polygon_area`).

    Raises UserProblem for tiles, joints and areas that can't be, and for more tiles than
    ``tile_most``.
    """
    check_tile(tile, laying)
    floor = floor_of(area, laying.edge_mm)
    many = area_of(floor) / tile.area_mm2
    if many > limits["tile_most"]:
        raise UserProblem(
            f"That would be about {_show_many(many)} tiles: up to {limits['tile_most']:.0f} are "
            "laid out one by one. Look at the sizes, or lay out a part of the area."
        )
    if laying.start != "even":
        return _lay(tile, laying, laying.start, anchor_of(tile, laying, laying.start, floor),
                    area, floor, limits)  # fmt: skip
    tried = [
        _lay(tile, laying, start, anchor, area, floor, limits)
        for start, anchor in anchors_to_try(tile, laying, floor, many <= _TRY_MORE)
    ]
    if laying.edges == "whole":
        return max(tried, key=lambda layout: layout.whole)
    return min(tried, key=lambda layout: (layout.narrow, layout.needed, -_least_width(layout)))


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
    least_mm = limits["tile_least_cut_mm"]
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
            key, own = same_cut(move(part, -x, -y), tile.turns)
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

    (ax, ay), (bx, by) = lattice_of(tile, laying)
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


def _least_width(layout: Layout) -> float:
    return min((narrowest(cut.shape) for cut in layout.cuts), default=math.inf)


def _show_many(many: float) -> str:
    return f"{many / 1e6:.1f} million" if many >= 1e6 else f"{many:.0f}"
