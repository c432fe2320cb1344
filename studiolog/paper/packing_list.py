"""The packing list of a shipment: what is in the box, and what of the order is still to come.

Of who ordered it has the label of the order, and nothing else: it lies in a box that others open.
"""

from collections.abc import Sequence
from typing import Final

from studiolog.craft.days import write_day
from studiolog.journal.shipments import PackedLine, PackingList
from studiolog.paper.board import Board
from studiolog.paper.flow import Flow
from studiolog.paper.page import Page, PageSize
from studiolog.paper.table import Column, Look, column_edges, draw_table

_COLUMNS: Final = (
    Column("", 0.45),
    Column("Packed", 1.2, "right"),
    Column("What", 4.2),
    Column("Of", 3.4),
    Column("Numbers", 3.0),
    Column("Still to come", 1.4, "right"),
)
_LOOK: Final = Look(row_mm=7.6, size_pt=10.0, head_pt=7.5, head_mm=5.5)
_FOOT_MM: Final = 16.0
_MOST_NUMBERS: Final = 12


def lay_out_packing_list(
    packing: PackingList, size: PageSize, studio: str = ""
) -> tuple[Page, ...]:
    """The list on as many pages of a size as it needs."""
    flow = Flow(studio, size, _FOOT_MM)
    flow.turn()
    flow.y = _draw_head(flow.board, packing, flow.y)
    # What is in the box first, then what of the order is still to come.
    lines = sorted(packing.lines, key=lambda line: not line.packed)
    while lines:
        fits = int((flow.floor - flow.y - _LOOK.head_mm) / _LOOK.row_mm)
        if fits < 1:
            flow.turn()
            continue
        some, lines = lines[:fits], lines[fits:]
        flow.y = _draw_lines(flow.board, flow.y, some)
    _draw_foot(flow.board, flow.floor, packing)
    return flow.pages("Packing list", _title(packing), _describe(packing))


def _title(packing: PackingList) -> str:
    return f"Packing list, order {packing.order_number}, {packing.shipped_on.isoformat()}"


def _describe(packing: PackingList) -> str:
    pieces = "1 piece" if packing.pieces == 1 else f"{packing.pieces} pieces"
    rest = f", {packing.still_to_come} still to come" if packing.still_to_come else ""
    return f"{_title(packing)}: {pieces}{rest}"


def _draw_head(board: Board, packing: PackingList, y: float) -> float:
    board.words(board.left, y + 8.0, packing.whom, board.wide, 17.0, bold=True)
    part = f", shipment {packing.part}" if packing.part > 1 or packing.still_to_come else ""
    told = f"Order {packing.order_number}{part}, {write_day(packing.shipped_on)}"
    board.words(board.left, y + 14.5, told, board.wide, 10.0, tone="soft")
    return y + 20.0


def _draw_lines(board: Board, y: float, lines: Sequence[PackedLine]) -> float:
    rows = [_row(line) for line in lines]
    end = draw_table(board, board.left, y, board.wide, _COLUMNS, rows, _LOOK)
    left = column_edges(board.left, board.wide, _COLUMNS)[0] + 1.2
    for place, line in enumerate(lines):
        if line.packed:
            top = y + _LOOK.head_mm + place * _LOOK.row_mm
            board.tick_box(left, top + (_LOOK.row_mm - 3.6) / 2, 3.6)
    return end + 4.0


def _row(line: PackedLine) -> tuple[str, ...]:
    shown = ", ".join(str(number) for number in line.numbers[:_MOST_NUMBERS])
    more = len(line.numbers) - _MOST_NUMBERS
    return (
        "",
        str(line.packed or ""),
        line.title,
        line.made_of,
        f"{shown} and {more} more" if more > 0 else shown,
        str(line.still_to_come or ""),
    )


def _draw_foot(board: Board, floor: float, packing: PackingList) -> None:
    board.rule(board.left, floor + 2.0, board.right, 0.3, "ink")
    pieces = "1 piece" if packing.pieces == 1 else f"{packing.pieces} pieces"
    board.words(
        board.left, floor + 7.0, f"{pieces} in this shipment", board.wide / 2, 10.0, bold=True
    )
    rest = (
        f"{packing.still_to_come} still to come"
        if packing.still_to_come
        else "Nothing is left: the order is complete."
    )
    board.words(board.right, floor + 7.0, rest, board.wide / 2, 10.0, align="right")
    board.blank(board.left, floor + 13.0, board.left + board.wide * 0.45, "Packed by")
