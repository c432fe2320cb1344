"""A blank grid for those who watch a pyrometer: when to read, and what the program asks then."""

from collections.abc import Sequence
from typing import Final

from studiolog.craft.firing.program import Segment, planned_points
from studiolog.craft.firing.set_point import set_point_c
from studiolog.craft.units import show_duration, show_temperature
from studiolog.paper.board import Board
from studiolog.paper.table import Column, Look, draw_table

EVERY_MIN: Final = (15, 30, 60, 120, 180, 240, 360, 480, 720, 1440)
"""The grid asks for a reading so often: the first that fits."""
_COLUMNS: Final = (
    Column("After", 1.15, "right"),
    Column("Clock", 1.5),
    Column("Set point", 1.6, "right"),
    Column("Pyrometer", 1.8),
    Column("Switches", 1.5),
    Column("Note", 2.1),
)
_BLANK: Final = ("", "", "", "", "", "")
_GUTTER_MM: Final = 6.0
_HEAD_MM: Final = 4.8


def draw_log(
    board: Board,
    y: float,
    floor: float,
    steps: Sequence[Segment],
    scale: str,
    *,
    row_mm: float,
    size_pt: float,
) -> tuple[int, int]:
    """Draw the grid in two halves from y down to ``floor``; rows are at least ``row_mm`` high.

    Returns the minutes between its readings and the rows of a half.
    """
    room = floor - y - 6.0 - _HEAD_MM
    rows = max(1, int(room / row_mm))
    look = Look(max(row_mm, room / rows), size_pt, 7.0, _HEAD_MM, gridded=True)
    every_min, asked, whole = plan_readings(steps, 2 * rows, scale)
    quiet = f"a reading every {show_duration(every_min * 60.0)}" if asked else "to write on"
    if not whole:
        quiet += ", as far as there is room"
    below = board.head(board.left, y, board.right, "Read by hand", quiet)
    cells = [(after, "", asks, "", "", "") for after, asks in asked]
    cells += [_BLANK] * (2 * rows - len(cells))
    half = (board.wide - _GUTTER_MM) / 2
    for part, x in ((cells[:rows], board.left), (cells[rows:], board.left + half + _GUTTER_MM)):
        draw_table(board, x, below, half, _COLUMNS, part, look)
    return every_min, rows


def plan_readings(
    steps: Sequence[Segment], room: int, scale: str
) -> tuple[int, list[tuple[str, str]], bool]:
    """How often to read so that it fits into ``room`` rows, and the rows: the time after the start
    and what the program asks then; and whether the whole program is on them.

    They end where the kiln is left to itself for good. Without a program there are none.
    """
    watched = list(steps)
    while len(watched) > 1 and _left_to_cool(watched):
        watched.pop()
    if not watched:
        return EVERY_MIN[1], [], True
    whole_s = float(planned_points(watched)[0][-1])
    every = next((m for m in EVERY_MIN if whole_s / (m * 60.0) + 1 <= room), EVERY_MIN[-1])
    rows: list[tuple[str, str]] = []
    for number in range(room):
        asks_c = set_point_c(watched, number * every * 60.0)
        if asks_c is None:
            break
        rows.append((write_hours(number * every * 60.0), show_temperature(asks_c, scale)))
    return every, rows, whole_s < room * every * 60.0


def write_hours(seconds: float) -> str:
    """Time since the start as a log has it: "13:05"."""
    minutes = round(seconds / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}"


def _left_to_cool(steps: Sequence[Segment]) -> bool:
    last = steps[-1]
    return last.rate_c_per_h is None and last.target_c < steps[-2].target_c
