"""Tiles that are cut: which cuts are alike, in words, and what offcuts still serve for."""

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.ware.polygons import EPS, Polygon, apart, area_of, bounds, hull, turn

if TYPE_CHECKING:
    from studiolog.craft.ware.tiles import Tile
    from studiolog.craft.ware.tiling import Cut, Layout

_LOOK_BACK: Final = 80
"""Opened tiles in which room is looked for."""


def share_tiles(layout: "Layout") -> int:
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


def say_cut(cut: "Cut", tile: "Tile") -> str:
    """A way of cutting in words: "64 × 100 mm", "half, 50 × 87 mm", "5 corners, 61 %"."""
    wide, high = cut.size
    size = f"{_short(wide)} × {show_quantity(high, 'mm', 0 if high == round(high) else 1)}"
    if tile.kind != "hexagon" and _is_box(cut.shape):
        return size
    if abs(cut.share - 0.5) < 0.005:
        return f"half a tile, {size}"
    share = show_quantity(cut.share * 100.0, "%")
    return f"{len(cut.shape)} corners, {share} of a tile, {size}"


def same_cut(part: Polygon, turns: Sequence[int]) -> tuple[tuple[tuple[int, int], ...], Polygon]:
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


def _is_box(shape: Polygon) -> bool:
    left, lower, right, upper = bounds(shape)
    return abs(area_of(shape) - (right - left) * (upper - lower)) < 1e-3


def _short(value: float) -> str:
    return show_number(value, 0 if abs(value - round(value)) < 0.05 else 1)
