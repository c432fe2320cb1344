"""The request to a laboratory on one page: the words, the pieces, and what a result is held to."""

from typing import Final

from studiolog.craft.glaze.cautions import NO_PROOF
from studiolog.craft.glaze.food_contact import (
    KINDS,
    LOCAL_RULES,
    ONLY_A_TEST,
    ContactLimit,
    LaboratoryRequest,
)
from studiolog.paper.board import Board
from studiolog.paper.page import Page, PageSize
from studiolog.paper.table import Column, Look, draw_table

_COLUMNS: Final = (
    Column("Rule", 4.6),
    Column("For", 3.4),
    Column("Metal", 1.2),
    Column("Figure", 1.5, "right"),
    Column("What it is", 3.2),
)
_LOOK: Final = Look(row_mm=5.2, size_pt=8.0)
_FOOT_MM: Final = 34.0


def lay_out_laboratory_request(request: LaboratoryRequest, size: PageSize) -> Page:
    """The page to send with the pieces. Raises UserProblem as `LaboratoryRequest.words` does."""
    board = Board(size)
    board.words(board.left, board.top + 6.0, "Leach test wanted", board.wide, 16.0, bold=True)
    y = board.paragraph(board.left, board.top + 10.0, request.words, board.wide, 10.5)
    y = board.head(board.left, y + 5.0, board.right, "Pieces sent") + 3.0
    half = board.left + board.wide / 2
    for label, x, to_x, line in (
        ("How many", board.left, half - 4.0, 0),
        ("Marked", half, board.right, 0),
        ("Sent on", board.left, half - 4.0, 1),
        ("From", half, board.right, 1),
    ):
        board.blank(x, y + 5.0 + 8.0 * line, to_x, label, 9.0)
    y += 19.0
    y = board.head(board.left, y, board.right, "What a result is held against") + 1.0
    floor = board.bottom - _FOOT_MM
    most = max(1, int((floor - y - _LOOK.head_mm) / _LOOK.row_mm))
    limits = request.limits
    rows = [_row(one) for one in limits[:most]]
    y = draw_table(board, board.left, y, board.wide, _COLUMNS, rows, _LOOK)
    days = sorted({one.read_on.isoformat() for one in limits})
    left_out = f" {len(limits) - most} more are in the program." if len(limits) > most else ""
    told = f"Figures read on {', '.join(days)}. {LOCAL_RULES} {ONLY_A_TEST} {NO_PROOF}{left_out}"
    board.paragraph(board.left, y + 3.0, told, board.wide, 8.0, tone="soft")
    return board.page(
        f"Leach test of {request.glaze}",
        f"Request to a laboratory: leach test of {request.glaze}, with {len(rows)} figures a "
        "result is held against.",
    )


def _row(one: ContactLimit) -> tuple[str, ...]:
    return (one.rule, one.article, one.metal_word, f"{one.limit} {one.unit}", KINDS[one.kind])
