"""A review as pages of paper: figures, rows, what was said, and pictures two by two."""

from collections.abc import Sequence
from typing import Final

from studiolog.paper.board import Board
from studiolog.paper.flow import Flow
from studiolog.paper.lettering import LINE, MM_PER_PT, wrap
from studiolog.paper.page import Page, PageSize, Photo
from studiolog.paper.review_blocks import Block, Entry, PicturePair, ReviewPaper, Row, Side

_FOOT_MM: Final = 4.0
_GAP_MM: Final = 5.0
_ROW_MM, _ROW_PT = 5.4, 9.0
_FIGURE_MM: Final = 15.0
_BETWEEN_MM, _BESIDE_MM = 1.5, 7.0
_ACROSS: Final = 2
"""Pairs abreast."""
_LINE_PT, _WHERE_PT = 9.0, 7.5


def lay_out_review(paper: ReviewPaper, size: PageSize) -> tuple[Page, ...]:
    """The pages of a review; a section goes on over as many as it needs."""
    flow = Flow(paper.studio, size, _FOOT_MM)
    flow.turn()
    board = flow.board
    board.words(board.left, flow.y + 6.5, paper.title, board.wide, 18.0, bold=True)
    flow.y += 12.0
    for block in paper.blocks:
        _draw_block(flow, block)
    if not paper.blocks:
        flow.board.words(
            board.left, flow.y + 5, "Nothing was chosen to stand here.", board.wide, 10.0
        )
    for remark in paper.remarks:
        _draw_lines(flow, remark, _WHERE_PT)
    return flow.pages("Looking back", paper.title, _describe(paper))


def _describe(paper: ReviewPaper) -> str:
    titles = ", ".join(block.title.lower() for block in paper.blocks)
    return f"{paper.title}: {titles or 'nothing chosen'}"


def _draw_block(flow: Flow, block: Block) -> None:
    first = _FIGURE_MM if block.figures else _pair_high(flow.board) if block.pairs else 12.0
    flow.need(8.0 + first)  # a head never stands alone at the foot of a page
    board = flow.board
    flow.y = board.head(board.left, flow.y, board.right, block.title, block.quiet) + 1.0
    if block.figures:
        _draw_figures(flow, block.figures)
    for row in block.rows:
        _draw_row(flow, row)
    for entry in block.entries:
        _draw_entry(flow, entry)
    for start in range(0, len(block.pairs), _ACROSS):
        _draw_pairs(flow, block.pairs[start : start + _ACROSS])
    flow.y += _GAP_MM


def _draw_figures(flow: Flow, figures: Sequence[Row]) -> None:
    across = 3 if len(figures) > 4 else 4
    for start in range(0, len(figures), across):
        flow.need(_FIGURE_MM)
        board, wide = flow.board, flow.board.wide / across
        for place, one in enumerate(figures[start : start + across]):
            x = board.left + place * wide
            board.words(x, flow.y + 3.0, one.words, wide - 3, 8.0, tone="soft")
            board.words(x, flow.y + 9.2, one.value, wide - 3, 15.0, bold=True)
            board.words(x, flow.y + 12.8, one.quiet, wide - 3, 7.0, tone="soft")
        flow.y += _FIGURE_MM


def _draw_row(flow: Flow, row: Row) -> None:
    flow.need(_ROW_MM)
    board, y = flow.board, flow.y + 3.8
    board.words(board.left, y, row.words, board.wide * 0.46, _ROW_PT)
    board.words(
        board.left + board.wide * 0.64, y, row.value, board.wide * 0.17, _ROW_PT, bold=True,
        align="right",
    )  # fmt: skip
    x = board.left + board.wide * 0.66
    board.words(x, y, row.quiet, board.right - x, 8.0, tone="soft")
    board.rule(board.left, flow.y + _ROW_MM, board.right)
    flow.y += _ROW_MM


def _draw_entry(flow: Flow, entry: Entry) -> None:
    text = entry.text or entry.where
    where = " · ".join(filter(None, (entry.where if entry.text else "", entry.quiet)))
    flow.need(min(_high(flow.board, text, _LINE_PT), 40.0) + 5.0)
    _draw_lines(flow, text, _LINE_PT)
    if where:
        flow.board.words(
            flow.board.left, flow.y + 2.8, where, flow.board.wide, _WHERE_PT, tone="soft"
        )
        flow.y += 3.6
    flow.y += 1.8


def _high(board: Board, text: str, size_pt: float) -> float:
    return len(wrap(text, board.wide, size_pt)) * size_pt * MM_PER_PT * LINE


def _draw_lines(flow: Flow, text: str, size_pt: float) -> None:
    """A paragraph that goes on over pages."""
    step = size_pt * MM_PER_PT * LINE
    for line in wrap(text, flow.board.wide, size_pt):
        flow.need(step)
        board = flow.board
        board.words(board.left, flow.y + 0.74 * step, line, board.wide, size_pt)
        flow.y += step


def _picture_mm(board: Board) -> float:
    """How wide and high one picture is."""
    pair = (board.wide - (_ACROSS - 1) * _BESIDE_MM) / _ACROSS
    return (pair - _BETWEEN_MM) / 2


def _pair_high(board: Board) -> float:
    return _picture_mm(board) + 13.0


def _draw_pairs(flow: Flow, pairs: Sequence[PicturePair]) -> None:
    flow.need(_pair_high(flow.board))
    board, side = flow.board, _picture_mm(flow.board)
    wide = 2 * side + _BETWEEN_MM
    for place, pair in enumerate(pairs):
        x = board.left + place * (wide + _BESIDE_MM)
        for number, shown in enumerate((pair.before, pair.after)):
            left = x + number * (side + _BETWEEN_MM)
            _draw_side(board, left, flow.y, side, shown, pair.words)
        board.paragraph(x, flow.y + side + 4.2, pair.words, wide, 7.5, most=2)
    flow.y += _pair_high(board)


def _draw_side(board: Board, x: float, y: float, side: float, shown: Side, of_what: str) -> None:
    if shown.jpeg:
        says = f"{of_what}, {shown.words}"
        board.marks.append(Photo(x, y, side, side, shown.jpeg, says))
    else:
        corners = ((x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y))
        board.path(corners, 0.2, "faint", (1.6, 1.2))
        board.words(
            x + side / 2, y + side / 2, "photo missing", side - 4, 8.0, align="centre", tone="soft"
        )
    board.words(x, y + side + 3.2, shown.words, side, 7.0, tone="soft")
