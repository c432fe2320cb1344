"""The shopping list: one page to take to the shop, by seller, with a box to tick for each line."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from studiolog.craft.money import show_price
from studiolog.journal.shopping import ShoppingLine, ShoppingList, say_amount
from studiolog.paper.board import Board, stands_on
from studiolog.paper.page import Page, PageSize
from studiolog.paper.table import Column, Look, column_edges, draw_table

_COLUMNS: Final = (
    Column("", 0.5),
    Column("Material", 4.0),
    Column("Buy", 1.7, "right"),
    Column("Because", 6.0),
    Column("Price a kg", 1.4, "right"),
    Column("About", 1.3, "right"),
)
_FOOT_MM = 14.0
_HEAD_MM = 11.5
"""The head of a seller and that of its columns, and the gap below."""


@dataclass(frozen=True, slots=True)
class _Fit:
    row_mm: float
    size_pt: float


_FITS: Final = (_Fit(7.0, 9.5), _Fit(5.6, 8.5), _Fit(4.6, 7.5))


def lay_out_shopping_list(shopping: ShoppingList, size: PageSize, studio: str = "") -> Page:
    """The list on one page of a size; lines with no room on it are counted at its foot."""
    board = Board(size)
    y = _draw_head(board, shopping, studio)
    floor = board.bottom - _FOOT_MM
    groups = [
        (seller, list(lines))
        for seller, lines in groupby(shopping.lines, key=lambda one: one.bought_from)
    ]
    room = floor - y - len(groups) * _HEAD_MM
    fit = next((one for one in _FITS if len(shopping.lines) * one.row_mm <= room), _FITS[-1])
    left_out = 0
    for seller, lines in groups:
        fits = max(0, int((floor - y - _HEAD_MM) / fit.row_mm))
        left_out += max(0, len(lines) - fits)
        if fits:
            y = _draw_group(board, y, seller, lines[:fits], fit)
    if not shopping.lines:
        board.words(board.left, y + 6, "Nothing to buy.", board.wide, 10.0)
    _draw_foot(board, floor, shopping, left_out)
    return board.page(_title(shopping), _describe(shopping))


def _title(shopping: ShoppingList) -> str:
    return f"Shopping list, {shopping.on.isoformat()}"


def _describe(shopping: ShoppingList) -> str:
    count = len(shopping.lines)
    materials = "1 material" if count == 1 else f"{count} materials"
    total = shopping.told_total
    return f"{_title(shopping)}: {materials}" + (
        f", {total[:1].lower()}{total[1:]}" if total else ""
    )


def _draw_head(board: Board, shopping: ShoppingList, studio: str) -> float:
    y = board.top
    board.words(board.left, y + 2.8, studio, board.wide * 0.7, 8.5, tone="soft")
    board.words(board.right, y + 2.8, shopping.on.isoformat(), 40, 8.5, align="right", tone="soft")
    board.words(board.left, y + 11.0, "Materials to buy", board.wide, 17.0, bold=True)
    y += 14.0
    if shopping.mixes:
        y = board.paragraph(
            board.left, y, f"So that these can be mixed: {'; '.join(shopping.mixes)}.",
            board.wide, 8.5, most=3,
        )  # fmt: skip
    return y + 3.0


def _draw_group(
    board: Board, y: float, seller: str, lines: Sequence[ShoppingLine], fit: _Fit
) -> float:
    below = board.head(board.left, y, board.right, seller or "No shop noted")
    look = Look(fit.row_mm, fit.size_pt, 7.0, 4.5)
    rows = [_row(line) for line in lines]
    end = draw_table(board, board.left, below, board.wide, _COLUMNS, rows, look)
    side = min(3.6, fit.row_mm - 1.4)
    left = column_edges(board.left, board.wide, _COLUMNS)[0] + 1.2
    for number in range(len(lines)):
        top = below + look.head_mm + number * fit.row_mm
        board.tick_box(left, top + (fit.row_mm - side) / 2, side)
    return end + 1.0


def _row(line: ShoppingLine) -> tuple[str, ...]:
    return (
        "",
        line.name,
        say_amount(line),
        line.why,
        "" if line.price_per_kg is None else show_price(line.price_per_kg),
        "" if line.cost is None else f"{line.cost:.2f}",
    )


def _draw_foot(board: Board, floor: float, shopping: ShoppingList, left_out: int) -> None:
    board.rule(board.left, floor, board.right, 0.3, "ink")
    total = shopping.told_total
    board.words(board.right, stands_on(floor, 6.0, 9.5), total, 60, 9.5, bold=True, align="right")
    told = []
    if left_out:
        more = "1 more material" if left_out == 1 else f"{left_out} more materials"
        told.append(f"{more} with no room here: see the screen.")
    if shopping.unpriced:
        told.append(f"Without a price: {', '.join(shopping.unpriced)}.")
    if shopping.uncounted:
        told.append(f"Never counted: {', '.join(shopping.uncounted)}.")
    told += shopping.remarks
    board.paragraph(
        board.left, floor + 0.8, " ".join(told), board.wide - 64, 7.0, most=4, tone="soft"
    )
