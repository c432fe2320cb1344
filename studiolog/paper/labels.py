"""Labels for test tiles: a grid to cut apart, each with code, glaze, clay, cone and day.

No text is cut: letters grow smaller, lines break, and where that is not enough every label of the
sheet grows taller, so that all can be cut along the same lines.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from studiolog.craft.firing.cones import show_cone
from studiolog.paper.board import Board
from studiolog.paper.lettering import LINE, MM_PER_PT, width_mm, wrap
from studiolog.paper.page import Page, PageSize, Words
from studiolog.problems import UserProblem

_INSET_MM = 2.2
_HEAD_MM = 8.0
_CROSS_MM = 1.6
"""Half an arm of the cut marks: they stay clear of the words."""
_SMALLEST_PT = 5.0
_GAP_MM = 0.8


@dataclass(frozen=True, slots=True)
class LabelSize:
    """A size of label as it is offered, and the largest letters on it."""

    name: str
    wide_mm: float
    high_mm: float
    code_pt: float
    words_pt: float


LABEL_SIZES: Final = (
    LabelSize("Small", 31.0, 17.0, 11.0, 6.5),
    LabelSize("Middle", 46.5, 24.0, 14.0, 7.5),
    LabelSize("Large", 62.0, 36.0, 18.0, 9.0),
)


@dataclass(frozen=True, slots=True)
class TileLabel:
    """What stands on the label of a tile; ``glaze`` is its recipe or its layers in short."""

    code: str
    glaze: str = ""
    clay: str = ""
    cone: str = ""
    on: date | None = None
    number: int | None = None
    """The piece's own number, if it has one."""


@dataclass(frozen=True, slots=True)
class _Fit:
    """How the labels of a sheet are lettered: sizes, and how high the tallest came out."""

    code_pt: float
    words_pt: float
    high_mm: float


def lay_out_labels(
    labels: Sequence[TileLabel], size: PageSize, label: LabelSize, heading: str = ""
) -> tuple[Page, ...]:
    """Labels on as many pages as they take, with cut marks where four of them meet.

    Raises UserProblem where there is nothing to label, or where one label's words would fill more
    than a page.
    """
    if not labels:
        raise UserProblem("There are no tiles to label yet: make the plan first.")
    fit = _fit_all(labels, size, label)
    per_page = _per_page(size, label, fit)
    title = f"Labels, {heading}" if heading else "Labels"
    pages = [labels[start : start + per_page] for start in range(0, len(labels), per_page)]
    made = []
    for number, shown in enumerate(pages, start=1):
        board = Board(size)
        which = f", page {number} of {len(pages)}" if len(pages) > 1 else ""
        count = f"{len(labels)} label{'' if len(labels) == 1 else 's'}{which}"
        _draw_head(board, title, count)
        _draw_labels(board, shown, label, fit)
        codes = f"{shown[0].code} to {shown[-1].code}" if len(shown) > 1 else shown[0].code
        made.append(
            board.page(
                f"{title}{which}",
                f"{title}: {codes}, {len(shown)} of them to cut apart, {label.wide_mm:g} by "
                f"{fit.high_mm:g} mm each.",
            )
        )
    return tuple(made)


def _draw_head(board: Board, title: str, count: str) -> None:
    told = board.words(board.right, board.top + 4.0, count, 60.0, 8.0, align="right", tone="soft")
    room = (told.extent.left_mm if told else board.right) - board.left - 4.0
    board.words(board.left, board.top + 4.0, title, room, 8.0, tone="soft")


def _draw_labels(board: Board, shown: Sequence[TileLabel], label: LabelSize, fit: _Fit) -> None:
    across, top = _across(board.size, label), board.top + _HEAD_MM
    for place, one in enumerate(shown):
        row, column = divmod(place, across)
        x, y = board.left + column * label.wide_mm, top + row * fit.high_mm
        _draw_label(board, x, y, label.wide_mm, one, fit)
    _draw_cut_marks(board, top, label, fit.high_mm, len(shown), across)


def _across(size: PageSize, label: LabelSize) -> int:
    return max(1, int((Board(size).wide + 0.01) // label.wide_mm))


def _per_page(size: PageSize, label: LabelSize, fit: _Fit) -> int:
    board = Board(size)
    down = int((board.bottom - board.top - _HEAD_MM + 0.01) // fit.high_mm)
    if down < 1:
        raise UserProblem(
            "One of the labels has more words than a page has room for: shorten its glaze names."
        )
    return down * _across(size, label)


def _fit_all(labels: Sequence[TileLabel], size: PageSize, label: LabelSize) -> _Fit:
    """Letters as large as all labels have room for; smaller than that, the labels grow."""
    room = label.wide_mm - 2 * _INSET_MM
    code_pt = label.code_pt
    for one in labels:
        # A code stands on one line of its own.
        wide = width_mm(one.code, code_pt, bold=True)
        if wide > room:
            code_pt = max(_SMALLEST_PT, code_pt * room / wide)
    words_pt = label.words_pt
    while True:
        tall = max((_height(one, room, code_pt, words_pt) for one in labels), default=0.0)
        if tall <= label.high_mm:
            return _Fit(code_pt, words_pt, label.high_mm)
        if words_pt <= _SMALLEST_PT:
            return _Fit(code_pt, words_pt, tall)
        words_pt = max(_SMALLEST_PT, words_pt - 0.5)


def _lines(
    one: TileLabel, room: float, code_pt: float, words_pt: float
) -> list[tuple[str, float, bool]]:
    """The lines of a label from the top, each with its size and whether it is the code."""
    lines = [(text, code_pt, True) for text in wrap(one.code, room, code_pt, bold=True)]
    for words in (one.glaze, _facts(one)):
        lines += [(text, words_pt, False) for text in wrap(words, room, words_pt) if text.strip()]
    return lines


def _facts(one: TileLabel) -> str:
    parts = [one.clay, f"cone {show_cone(one.cone)}" if one.cone else ""]
    parts.append(f"{one.on.day}\u00a0{one.on:%b}\u00a0{one.on.year}" if one.on else "")
    parts.append(f"piece {one.number}" if one.number is not None else "")
    return " · ".join(filter(None, parts))


def _height(one: TileLabel, room: float, code_pt: float, words_pt: float) -> float:
    lines = _lines(one, room, code_pt, words_pt)
    return 2 * _INSET_MM + _GAP_MM + sum(size * MM_PER_PT * LINE for _, size, _code in lines)


def _draw_label(board: Board, x: float, y: float, wide: float, one: TileLabel, fit: _Fit) -> None:
    room = wide - 2 * _INSET_MM
    at = y + _INSET_MM
    coded = True
    for text, size, is_code in _lines(one, room, fit.code_pt, fit.words_pt):
        if coded and not is_code:
            at, coded = at + _GAP_MM, False
        step = size * MM_PER_PT * LINE
        at += step
        mark = Words(x + _INSET_MM, at - 0.26 * step, text, size, room, bold=is_code)
        board.marks.append(mark)


def _draw_cut_marks(
    board: Board, top: float, label: LabelSize, high: float, count: int, across: int
) -> None:
    """A small cross at every corner of a label, whole inside the margins."""
    corners: set[tuple[int, int]] = set()
    for place in range(count):
        row, column = divmod(place, across)
        corners |= {(row + down, column + right) for down in (0, 1) for right in (0, 1)}
    for row, column in sorted(corners):
        x, y = board.left + column * label.wide_mm, top + row * high
        left, right = max(x - _CROSS_MM, board.left), min(x + _CROSS_MM, board.right)
        upper, lower = max(y - _CROSS_MM, board.top), min(y + _CROSS_MM, board.bottom)
        board.rule(left, y, right, 0.15, "soft")
        board.upright(x, upper, lower, 0.15, "soft")
