"""The results of a test plan on paper: its tiles as they lay, with what was seen, to pin up.

A sign is never all there is: an open ring for looked for and none seen, bars for how much, a dash
for not looked, and the words in the table under it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from studiolog.craft.words import PLAN_KINDS
from studiolog.paper.board import Board, stands_on
from studiolog.paper.flow import Flow
from studiolog.paper.lettering import LINE, MM_PER_PT, cut, width_mm, wrap
from studiolog.paper.page import Page, PageSize, Photo, Words
from studiolog.paper.table import Column, column_edges
from studiolog.problems import UserProblem

KEY: Final = "ring: looked for, none seen · bars: slight, marked, severe · dash: not looked"

_FOOT_MM = 4.0
_GAP_MM = 1.6
_INSET_MM = 1.2
_WIDEST_MM, _HIGHEST_MM = 58.0, 26.0
_PHOTO_SHAPE, _UNDER_PHOTO_MM = 0.68, 15.2
"""How high a photo is, of its width; and what stands under it."""
_LEAST_MM = 11.0
_LONGEST_LINE = 7
"""Tiles of a line that stand abreast."""
_CODE_PT, _WORDS_PT = 8.0, 6.5
_ROW_PT = 7.5


@dataclass(frozen=True, slots=True)
class ResultTile:
    """A tile as it came out: ``worst`` severity of any fault looked for, None if nobody looked."""

    code: str
    words: str
    spot: tuple[float, float]
    cone: str = ""
    worst: int | None = None
    faults: str = ""
    surface: str = ""
    note: str = ""
    stage: str = ""
    photo: bytes = b""
    """Its newest photo as JPEG."""


@dataclass(frozen=True, kw_only=True)
class PlanResults:
    """What the results sheet of a plan tells."""

    studio: str = ""
    code: str
    name: str
    kind: str
    clay: str = ""
    cone: str = ""
    question: str = ""
    lesson: str = ""
    next_time: str = ""
    tiles: tuple[ResultTile, ...] = ()


def lay_out_plan_results(results: PlanResults, size: PageSize) -> tuple[Page, ...]:
    """The pages: the grid first, then a row a tile. Raises UserProblem for a plan without tiles."""
    if not results.tiles:
        raise UserProblem("This plan has no tiles yet: there is nothing to show.")
    flow = Flow(results.studio, size, _FOOT_MM)
    flow.turn()
    _draw_head(flow, results)
    _draw_grid(flow, results.tiles)
    _draw_learned(flow, results)
    _draw_table(flow, results.tiles)
    looked = sum(tile.worst is not None for tile in results.tiles)
    title = f"Results, plan {results.code}, {results.name}"
    return flow.pages(
        "Results of a test plan", title,
        f"{title}: {len(results.tiles)} tiles as they lay, {looked} of them looked at.",
    )  # fmt: skip


def _draw_head(flow: Flow, results: PlanResults) -> None:
    board = flow.board
    y = board.top + 11.0
    title = f"{results.code}  {results.name}"
    board.words(board.left, y, title, board.wide, 15, bold=True)
    kind = PLAN_KINDS[results.kind]
    facts = [kind[0].upper() + kind[1:], results.clay, results.cone]
    board.words(board.left, y + 5.4, " · ".join(filter(None, facts)), board.wide, 9.0)
    flow.y = y + 8.0
    if results.question:
        flow.y = board.paragraph(board.left, flow.y - 0.5, results.question, board.wide, 8.5) + 2.0


def _draw_grid(flow: Flow, tiles: Sequence[ResultTile]) -> None:
    """The tiles in their places, as large as the page is wide; too many rows go on."""
    board = flow.board
    flow.y = board.head(board.left, flow.y, board.right, "As they lay", KEY)
    tiles = _wrapped(tiles)
    across = max(tile.spot[0] + 0.5 for tile in tiles)
    down = max(tile.spot[1] + 0.5 for tile in tiles)
    wide = min(_WIDEST_MM, (board.wide + _GAP_MM) / across - _GAP_MM)
    room = flow.floor - flow.y
    wanted = min(_HIGHEST_MM, wide * 0.6)
    if any(tile.photo for tile in tiles):
        wanted = wide * _PHOTO_SHAPE + _UNDER_PHOTO_MM
    high = max(_LEAST_MM, min(wanted, (room + _GAP_MM) / down - _GAP_MM))
    row_of: dict[float, list[ResultTile]] = {}
    for tile in tiles:
        row_of.setdefault(tile.spot[1], []).append(tile)
    for _spot, row in sorted(row_of.items()):
        flow.need(high)
        for tile in row:
            x = board.left + (tile.spot[0] - 0.5) * (wide + _GAP_MM)
            _draw_tile(flow.board, x, flow.y, wide, high, tile)
        flow.y += high + _GAP_MM
    flow.y += 2.0


def _wrapped(tiles: Sequence[ResultTile]) -> Sequence[ResultTile]:
    """A line too long for the page goes on in rows under it, in its order; the rest as they lay."""
    if len({tile.spot[1] for tile in tiles}) > 1 or len(tiles) <= _LONGEST_LINE:
        return tiles
    rows = -(-len(tiles) // _LONGEST_LINE)
    along = -(-len(tiles) // rows)
    return [
        replace(tile, spot=(place % along + 0.5, place // along + 0.5))
        for place, tile in enumerate(tiles)
    ]


def _draw_tile(
    board: Board, x: float, y: float, wide: float, high: float, tile: ResultTile
) -> None:
    corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high), (x, y))
    board.path(corners, 0.2, "soft")
    photo_mm = high - _UNDER_PHOTO_MM
    if tile.photo and photo_mm > 4.0:
        board.marks.append(Photo(x, y, wide, photo_mm, tile.photo, f"Photo of {tile.code}"))
        y, high = y + photo_mm, _UNDER_PHOTO_MM
    room = wide - 2 * _INSET_MM
    size = min(_CODE_PT, room / max(width_mm(tile.code, 1.0, bold=True), 0.01))
    step = size * MM_PER_PT * LINE
    at = y + 0.4 + step
    board.marks.append(Words(x + _INSET_MM, at - 0.26 * step, tile.code, size, room, bold=True))
    floor = y + high - 4.4
    signed = _draw_sign(board, x + _INSET_MM, floor + 0.4, room, tile.worst)
    told = tile.faults if tile.worst else "none seen" if tile.worst == 0 else tile.stage
    left = x + _INSET_MM + signed + 1.0
    board.words(left, floor + 2.8, told, x + wide - _INSET_MM - left, _WORDS_PT, smallest_pt=5.0)
    # As much as there is room for: the table under it has all of it.
    step = _WORDS_PT * MM_PER_PT * LINE
    said = " · ".join(filter(None, (tile.words, tile.surface)))
    lines = wrap(said, room, _WORDS_PT)
    most = max(0, int((floor - at) / step))
    if len(lines) > most:
        lines = [*lines[: most - 1], cut(" ".join(lines[most - 1 :]) + " ", room, _WORDS_PT)]
    for line in lines[:most]:
        at += step
        board.marks.append(Words(x + _INSET_MM, at - 0.26 * step, line, _WORDS_PT, room))


def _draw_sign(board: Board, x: float, y: float, room: float, worst: int | None) -> float:
    """How bad the worst fault was: as on screen, a ring, bars or a dash. Returns its width."""
    middle = y + 1.5
    if worst is None:
        board.path(((x, middle), (x + 2.4, middle)), 0.35, "soft")
        return 2.4
    if worst == 0:
        board.ring(x + 1.3, middle, 1.1)
        return 2.6
    wide = min(1.4, room / 4.5)
    for bar in range(3):
        left = x + bar * wide * 1.45
        board.box(left, y, wide, 3.0, thick_mm=0.2, fill="ink" if bar < worst else None)
    return wide * 3.9


def _draw_learned(flow: Flow, results: PlanResults) -> None:
    for title, words in (("Lesson", results.lesson), ("Next time", results.next_time)):
        if not words.strip():
            continue
        lines = len(wrap(words, flow.board.wide, 8.5))
        flow.need(8.0 + min(lines, 40) * 8.5 * MM_PER_PT * LINE)
        board = flow.board
        flow.y = board.head(board.left, flow.y, board.right, title)
        flow.y = board.paragraph(board.left, flow.y, words, board.wide, 8.5, most=40) + 2.5


def _draw_table(flow: Flow, tiles: Sequence[ResultTile]) -> None:
    """A row a tile with all its words, as high as they need."""
    columns = (
        Column("Tile", 1.0), Column("Glaze", 3.2), Column("Cone", 1.4), Column("Faults", 3.4),
        Column("Surface", 2.4), Column("Note", 2.6),
    )  # fmt: skip
    step = _ROW_PT * MM_PER_PT * LINE
    edges = column_edges(flow.board.left, flow.board.wide, columns)
    began = False
    for tile in tiles:
        faults = tile.faults or ("" if tile.worst is not None else tile.stage or "not looked")
        cells = (tile.code, tile.words, tile.cone, faults, tile.surface, tile.note)
        lines = [
            wrap(cell, edges[n + 1] - edges[n] - 2.0, _ROW_PT, bold=n == 0)
            for n, cell in enumerate(cells)
        ]
        high = max(len(one) for one in lines) * step + 1.2
        if flow.need(high if began else high + 11.5) or not began:
            began = True
            _begin_table(flow, columns, edges)
        for n, cell_lines in enumerate(lines):
            at = flow.y + 0.3
            for line in cell_lines:
                at += step
                room = edges[n + 1] - edges[n] - 2.0
                mark = Words(edges[n] + 1.0, at - 0.26 * step, line, _ROW_PT, room, bold=n == 0)
                flow.board.marks.append(mark)
        flow.y += high
        flow.board.rule(flow.board.left, flow.y, flow.board.right)


def _begin_table(flow: Flow, columns: Sequence[Column], edges: Sequence[float]) -> None:
    board = flow.board
    flow.y = board.head(board.left, flow.y, board.right, "Tile by tile")
    line = stands_on(flow.y, 5.0, 7.0)
    for n, column in enumerate(columns):
        room = edges[n + 1] - edges[n] - 2.0
        board.words(edges[n] + 1.0, line, column.head, room, 7.0, tone="soft")
    flow.y += 5.0
    board.rule(board.left, flow.y, board.right, 0.25, "ink")
