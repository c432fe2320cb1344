"""The mixing sheet: one page to weigh by, with a box to tick for each line.

However long the recipe it is one page: rows grow smaller and notes shorter until all stands on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, TypeAlias

from studiolog.craft.glaze.batch import BatchLine, decimals_of, show_weight
from studiolog.craft.glaze.cautions import LOCAL_RULES, Caution
from studiolog.craft.units import show_number, show_quantity
from studiolog.journal.mixing import Mix, RecipeWeighing
from studiolog.paper.board import Board, stands_on
from studiolog.paper.lettering import width_mm, wrap
from studiolog.paper.page import Page, PageSize
from studiolog.paper.table import Column, Look, column_edges, draw_table

SAFETY: Final = (
    "Dry glaze is dust that harms the lungs. Wear a fitted respirator and gloves, weigh without "
    "raising dust, put the powder into the water and wipe up wet. The supplier's safety data sheet "
    "and local rules go first."
)
"""The usual caution (common practice)."""

STEPS: Final = (
    "Water first, then the powder into it; let it slake",
    "Stirred, and sieved through mesh",
    "Stood, stirred again, and 100 ml weighed",
)
"""What usually follows the weighing (common practice)."""

_FOOT_MM = 9.0
_SUM_MM = 6.4
_NOTE_MM = 7.0
_LEAST_LOT_MM = 8.0

_Row: TypeAlias = tuple[BatchLine, RecipeWeighing, float | None]
_COLUMNS: Final = (
    Column("", 0.55),
    Column("Material", 5.2),
    Column("Parts", 1.0, "right"),
    Column("Weigh", 1.8, "right"),
    Column("On the scale then", 2.0, "right"),
    Column("Off by", 1.5, "right"),
    Column("On the shelf then", 1.9, "right"),
)


@dataclass(frozen=True, slots=True)
class _Fit:
    """How close things stand: tried from the most comfortable on."""

    row_mm: float
    size_pt: float
    most_lines: int
    caution_lines: int


_FITS: Final = (
    _Fit(8.0, 10.0, 12, 14),
    _Fit(6.6, 9.5, 17, 11),
    _Fit(5.4, 8.5, 23, 8),
    _Fit(4.4, 7.5, 31, 5),
)


def lay_out_mixing_sheet(mix: Mix, size: PageSize, on: date | None = None) -> Page:
    """The mixing sheet of a mix, on one page of a size; without a day there is a blank for it."""
    lines = len(mix.batch.lines)
    fit = next((one for one in _FITS if lines <= one.most_lines), _FITS[-1])
    board = Board(size)
    y = _draw_head(board, mix, on)
    y = _draw_lines(board, y, mix, fit)
    y = _draw_water(board, y, mix)
    y = _draw_steps(board, y)
    floor = board.bottom - _FOOT_MM
    y = _draw_cautions(board, y, mix.bench.cautions, fit, floor)
    _draw_notes(board, y, floor)
    board.rule(board.left, floor, board.right)
    board.paragraph(board.left, floor + 0.8, SAFETY, board.wide, 6.5, most=3, tone="soft")
    return board.page(_title(mix), _describe(mix))


def _title(mix: Mix) -> str:
    return f"Mixing sheet, {mix.bench.title}"


def _describe(mix: Mix) -> str:
    count = len(mix.batch.lines)
    lines = "1 line" if count == 1 else f"{count} lines"
    return f"{_title(mix)}: {lines}, {say_amount(mix)}"


def say_amount(mix: Mix) -> str:
    """``5200.0 g dry, 6.91 l of slurry at specific gravity 1.45``."""
    dry = show_weight(mix.batch.weighed_g, mix.batch.step_g)
    litres = show_quantity(mix.volume_ml / 1000.0, "l", 2)
    gravity = show_number(mix.specific_gravity, 2)
    return f"{dry} dry, {litres} of slurry at specific gravity {gravity}"


def _draw_head(board: Board, mix: Mix, on: date | None) -> float:
    y = board.top
    board.words(board.left, y + 2.8, mix.bench.studio, board.wide * 0.7, 8.5, tone="soft")
    board.words(board.right, y + 2.8, "Mixing sheet", 40, 8.5, align="right", tone="soft")
    blanks = board.right - 62.0
    room = blanks - 4.0 - board.left
    board.words(board.left, y + 11.0, mix.bench.title, room, 17.0, bold=True)
    board.words(board.left, y + 16.6, say_amount(mix), room, 9.5)
    if on is None:
        board.blank(blanks, y + 10.0, board.right, "Date")
    else:
        board.words(blanks, y + 10.0, f"Date: {on.isoformat()}", 62.0, 8.0)
    board.blank(blanks, y + 16.6, board.right, "Mixed by")
    return y + 20.5


def _draw_lines(board: Board, y: float, mix: Mix, fit: _Fit) -> float:
    batch = mix.batch
    scale = f"scale to {show_weight(batch.step_g, batch.step_g)}; tick each line as it is weighed"
    below = board.head(board.left, y, board.right, "Dry", scale)
    shown = list(zip(batch.lines, mix.bench.recipe, mix.stock_after, strict=True))
    left_out = max(0, len(shown) - fit.most_lines)
    if left_out:
        shown = shown[: fit.most_lines - 1]
    rows = [_row(line, part, after) for line, part, after in shown]
    look = Look(fit.row_mm, fit.size_pt, 7.0, 5.0)
    end = draw_table(board, board.left, below, board.wide, _COLUMNS, rows, look)
    edges = column_edges(board.left, board.wide, _COLUMNS)
    side = min(3.6, fit.row_mm - 1.4)
    for number in range(len(rows)):
        top = below + look.head_mm + number * fit.row_mm
        board.tick_box(edges[0] + 1.2, top + (fit.row_mm - side) / 2, side)
        _draw_lot(board, (edges[1], edges[2]), top, shown[number], fit)
    if left_out:
        words = f"… and {left_out + 1} more lines with no room here: weigh those from the screen"
        board.words(
            edges[1] + 1.2, stands_on(end, fit.row_mm, fit.size_pt), words, board.wide * 0.8,
            fit.size_pt, bold=True,
        )  # fmt: skip
        end += fit.row_mm
    line = stands_on(end, _SUM_MM, 9.0)
    total = show_weight(batch.weighed_g, batch.step_g)
    board.words(edges[1] + 1.2, line, "All dry", edges[2] - edges[1], 9.0, bold=True)
    board.words(edges[4] - 1.2, line, total, edges[4] - edges[3], 9.0, bold=True, align="right")
    end += _SUM_MM
    for sentence in _say_doubts(mix):
        end = board.paragraph(board.left, end, sentence, board.wide, 7.5, most=2, tone="soft")
    return end + 2.0


def _draw_lot(board: Board, span: tuple[float, float], top: float, row: _Row, fit: _Fit) -> None:
    """The lot small behind the name of the material, where there is room for it."""
    line, part, _after = row
    x = span[0] + 1.2 + width_mm(_name(line), fit.size_pt) + 2.0
    room = span[1] - 1.2 - x
    if part.lot and room > _LEAST_LOT_MM:
        board.words(x, stands_on(top, fit.row_mm, fit.size_pt), part.lot, room, 7.0, tone="soft")


def _name(line: BatchLine) -> str:
    return f"+ {line.material}" if line.addition else line.material


def _row(line: BatchLine, part: RecipeWeighing, after: float | None) -> tuple[str, ...]:
    return (
        "",
        _name(line),
        _parts(part.parts),
        show_weight(line.weighed_g, line.step_g),
        show_weight(line.running_g, line.step_g),
        say_error(line),
        "not known" if after is None else show_quantity(after, "g"),
    )


def say_error(line: BatchLine) -> str:
    """``+0.05 g, 20 %``: what a weighing is off from the recipe; a dash where it is not."""
    decimals = decimals_of(line.step_g) + 1
    if abs(line.error_g) < 0.5 * 10.0**-decimals:
        return "–"
    sign = "+" if line.error_g > 0 else ""
    share = 100.0 * abs(line.error_share)
    grams = f"{sign}{show_quantity(line.error_g, 'g', decimals)}"
    if share < 0.1:
        return grams
    return f"{grams}, {show_quantity(share, '%', 0 if share >= 10 else 1)}"


def _say_doubts(mix: Mix) -> list[str]:
    """What the scale can't do, and what there is too little of."""
    batch, told = mix.batch, []
    if batch.too_coarse:
        names = ", ".join(dict.fromkeys(line.material for line in batch.too_coarse))
        told.append(
            f"Too little for this scale to be within "
            f"{show_quantity(100 * batch.tolerance, '%', 0)}: {names}. Use a finer scale, or mix "
            f"{show_quantity(batch.least_g, 'g')} dry at the least."
        )
    if mix.short:
        told.append(f"More than there is on the shelf: {', '.join(mix.short)}.")
    return told


def _parts(parts: float) -> str:
    decimals = next((n for n in (0, 1, 2) if abs(parts - round(parts, n)) < 1e-9), 3)
    return show_number(parts, decimals)


def _draw_water(board: Board, y: float, mix: Mix) -> float:
    below = board.head(board.left, y, board.right, "Water")
    board.tick_box(board.left + 1.2, below + 1.4, 3.6)
    x = board.left + 7.0
    line = stands_on(below, 6.4, 11.0)
    told = board.words(x, line, f"{show_quantity(mix.water_g, 'g')} of water", 60, 11.0, bold=True)
    if told is not None:
        x = told.extent.right_mm + 4.0
    weighs = show_quantity(100.0 * mix.specific_gravity, "g", 1)
    words = f"100 ml of the slurry then weigh {weighs}; solid density {mix.density.words}"
    end = below + 6.4
    return (
        board.paragraph(
            board.left + 7.0,
            end - 0.4,
            words,
            board.right - board.left - 7.0,
            7.5,
            most=2,
            tone="soft",
        )
        + 2.0
    )


def _draw_steps(board: Board, y: float) -> float:
    below = board.head(board.left, y, board.right, "Then")
    thirds = board.wide / len(STEPS)
    for number, step in enumerate(STEPS):
        x = board.left + number * thirds
        board.tick_box(x + 1.2, below + 1.2, 3.2)
        room = thirds - 8.5
        board.paragraph(x + 6.4, below + 0.4, step, room, 8.0, most=2)
        if number:
            blank = x + 6.4
            board.blank(blank, below + 12.6, blank + room, "", 8.0, "mesh" if number == 1 else "g")
    return below + 16.0


def _draw_cautions(
    board: Board, y: float, cautions: Sequence[Caution], fit: _Fit, floor: float
) -> float:
    if not cautions:
        return y
    below = board.head(board.left, y, board.right, "Take care")
    indent, size_pt, lines = 4.0, 7.5, fit.caution_lines
    end = below
    room = board.wide - indent
    for number, one in enumerate(cautions):
        words = one.sentence
        needed = len(wrap(words, room, size_pt))
        if needed > lines or end + needed * 3.6 > floor - 8.0:
            more = f"and {len(cautions) - number} more: see the page of the glaze."
            end = board.paragraph(board.left + indent, end, more, room, size_pt, most=1)
            break
        lines -= needed
        board.warning(board.left, end + 0.7, size_pt)
        end = board.paragraph(board.left + indent, end, words, room, size_pt) + 0.5
    end = board.paragraph(board.left + indent, end, LOCAL_RULES, room, size_pt, most=1, tone="soft")
    return end + 2.0


def _draw_notes(board: Board, y: float, floor: float) -> None:
    """Ruled room for what is done otherwise, as far as there is any."""
    if floor - y < 6.0 + _NOTE_MM:
        return
    line = board.head(board.left, y, board.right, "Notes") + _NOTE_MM - 1.0
    while line < floor - 2.0:
        board.rule(board.left, line, board.right)
        line += _NOTE_MM
