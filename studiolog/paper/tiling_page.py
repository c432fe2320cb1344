"""Tiles laid over an area, on one page: the plan to scale, the counts, the cuts by number."""

from dataclasses import dataclass
from typing import Final

from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.ware.polygons import Polygon, bounds, centre_of, narrowest
from studiolog.craft.ware.tiles import TILE_KINDS
from studiolog.craft.ware.tiling import Layout
from studiolog.paper.board import Board
from studiolog.paper.page import Page, PageSize

_PLAN_SHARE: Final = 0.55
_LEAST_NUMBER_MM: Final = 4.0
_HATCH_MM: Final = 1.6
_MOST_HATCHED: Final = 400
"""Cut pieces that are hatched; more are drawn thick only, or a page takes too long to print."""


@dataclass(frozen=True, slots=True)
class TilingWords:
    """What stands beside the plan: its title, the count, the sums, and the cuts."""

    title: str
    head: str
    lines: tuple[str, ...]
    cuts: str


def lay_out_tiling(layout: Layout, words: TilingWords, size: PageSize) -> Page:
    """The page of a layout; the plan fills the upper half, its scale is written under it."""
    board = Board(size)
    board.words(board.left, board.top + 6.0, words.title, board.wide, 15.0, bold=True)
    board.words(board.left, board.top + 13.0, words.head, board.wide, 12.0, bold=True)
    top = board.top + 17.0
    high = (board.bottom - board.top) * _PLAN_SHARE
    scale = _draw_plan(board, layout, top, high)
    y = top + high + 4.5
    board.words(
        board.left, y, f"Scale 1 : {show_number(1.0 / scale, 1)}. Whole tiles are plain, cut ones "
        "hatched; a number names the cut.", board.wide, 8.0, tone="soft",
    )  # fmt: skip
    y += 2.0
    for line in words.lines:
        y = board.paragraph(board.left, y, line, board.wide, 9.0) + 1.0
    if words.cuts:
        y = board.head(board.left, y + 2.0, board.right, "Cuts")
        board.paragraph(board.left, y, words.cuts, board.wide, 8.5, most=_room(board, y))
    kinds = TILE_KINDS[layout.tile.kind]
    area = show_quantity(layout.area_mm2 / 1e6, "m²", 2)
    return board.page(
        words.title,
        f"{layout.whole} whole {kinds} and {layout.cut} cut ones over {area}, drawn to scale.",
    )


def _room(board: Board, y: float) -> int:
    return max(1, int((board.bottom - y) / 4.4))


def _draw_plan(board: Board, layout: Layout, top: float, high: float) -> float:
    """Draws it within the margins; returns mm on paper for one mm of the floor."""
    left, lower, right, upper = bounds(layout.area)
    scale = min(board.wide / (right - left), high / (upper - lower))
    x0 = (board.left + board.right) / 2 - scale * (left + right) / 2
    y0 = top + high / 2 + scale * (lower + upper) / 2

    def place(points: Polygon) -> Polygon:
        return tuple((x0 + scale * x, y0 - scale * y) for x, y in points)

    hatched = 0
    for piece in layout.pieces:
        shape = place(piece.outline)
        board.path((*shape, shape[0]), 0.35 if piece.cut else 0.15)
        if piece.cut and hatched < _MOST_HATCHED:
            hatched += 1
            for line in hatch(shape, _HATCH_MM / (2.0 if piece.narrow else 1.0)):
                board.path(line, 0.12, "faint")
    edge = place(layout.area)
    board.path((*edge, edge[0]), 0.5)
    for piece in layout.pieces:
        if piece.cut:
            _number(board, place(piece.outline), str(piece.cut))
    return scale


def hatch(shape: Polygon, step: float) -> list[Polygon]:
    """Level lines across a simple polygon, ``step`` apart, each cut to what lies inside."""
    _, lower, _, upper = bounds(shape)
    found: list[Polygon] = []
    count = len(shape)
    level = lower + step / 2
    while level < upper:
        crossings = []
        for i in range(count):
            (x1, y1), (x2, y2) = shape[i], shape[(i + 1) % count]
            if (y1 > level) != (y2 > level):
                crossings.append(x1 + (x2 - x1) * (level - y1) / (y2 - y1))
        crossings.sort()
        found += [
            ((a, level), (b, level))
            for a, b in zip(crossings[::2], crossings[1::2], strict=False)
            if b - a > 0.05
        ]
        level += step
    return found


def _number(board: Board, shape: Polygon, words: str) -> None:
    if narrowest(shape) < _LEAST_NUMBER_MM:
        return
    x, y = centre_of(shape)
    board.words(x, y + 1.0, words, 6.0, 7.0, bold=True, align="centre")
