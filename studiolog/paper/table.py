"""A table on a page: columns that share its width, rows of one height, ruled to be written in."""

from collections.abc import Sequence
from dataclasses import dataclass

from studiolog.paper.board import Board, stands_on
from studiolog.paper.page import Align

_INSET_MM = 1.2


@dataclass(frozen=True, slots=True)
class Column:
    """``share`` is its part of the width, against the shares of the others."""

    head: str
    share: float
    align: Align = "left"


@dataclass(frozen=True, slots=True)
class Look:
    """Row height, size of the letters, and whether there are upright lines to write between."""

    row_mm: float = 5.0
    size_pt: float = 8.5
    head_pt: float = 7.0
    head_mm: float = 5.0
    gridded: bool = False


def draw_table(
    board: Board,
    x: float,
    y: float,
    wide: float,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    look: Look,
) -> float:
    """Draw heads and rows; an empty cell is a blank to write in. Returns the y below."""
    edges = column_edges(x, wide, columns)
    _write_row(board, edges, columns, [one.head for one in columns], y, look.head_mm, look.head_pt)
    top = y + look.head_mm
    board.rule(x, top, x + wide, 0.25, "ink")
    for number, row in enumerate(rows):
        upper = top + number * look.row_mm
        _write_row(board, edges, columns, row, upper, look.row_mm, look.size_pt)
        board.rule(x, upper + look.row_mm, x + wide)
    bottom = top + len(rows) * look.row_mm
    if look.gridded:
        for edge in edges:
            board.upright(edge, top, bottom)
    return bottom


def column_edges(x: float, wide: float, columns: Sequence[Column]) -> list[float]:
    """Where columns begin, and where the last one ends."""
    whole = sum(column.share for column in columns)
    edges = [x]
    for column in columns:
        edges.append(edges[-1] + wide * column.share / whole)
    return edges


def _write_row(
    board: Board,
    edges: Sequence[float],
    columns: Sequence[Column],
    cells: Sequence[str],
    top: float,
    high: float,
    size_pt: float,
) -> None:
    is_head = cells == [one.head for one in columns]
    line = stands_on(top, high, size_pt)
    for place, (column, cell) in enumerate(zip(columns, cells, strict=True)):
        left, right = edges[place] + _INSET_MM, edges[place + 1] - _INSET_MM
        at = {"left": left, "centre": (left + right) / 2, "right": right}[column.align]
        board.words(
            at, line, cell, right - left, size_pt,
            align=column.align, tone="soft" if is_head else "ink",
        )  # fmt: skip
