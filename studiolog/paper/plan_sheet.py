"""The mixing sheet of a test plan: corners to weigh and tick, then what each tile takes of them.

It goes on over as many pages as it needs, and leaves no tile out. A plan that is glazed from
buckets as they are gets a table of layers instead.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.glaze.cautions import LOCAL_RULES, Caution
from studiolog.craft.glaze.weighings import CornerMix, MixLine, PlanMixing
from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.words import PLAN_KINDS
from studiolog.paper.board import Board, stands_on
from studiolog.paper.flow import Flow
from studiolog.paper.page import Extent, Page, PageSize
from studiolog.paper.plan_places import TilePlace, draw_places
from studiolog.paper.table import Column, column_edges
from studiolog.problems import UserProblem

DUST: Final = (
    "Dry glaze is fine dust with silica in it: weigh it with a fitted respirator, wipe up wet and "
    "never sweep dry. " + LOCAL_RULES
)
"""The usual caution (common practice)."""

_FOOT_MM = 8.0
_GUTTER_MM = 6.0
_LEFT_SHARE = 0.58
_HEAD_MM = 6.0
_LAYOUT_MM = 44.0
_TALL_MM = 84.0
"""How high the small drawing of the layout may be, and that of one much higher than wide."""
_WORTH_ROWS = 4
"""Fewer rows than this aren't begun at the foot of a page."""
_NAME_PT = 4.5
"""A material's name is made as small as this before it is cut."""


@dataclass(frozen=True, slots=True)
class _Fit:
    """How high rows are, and their letters."""

    row_mm: float
    row_pt: float


_FITS: Final = (_Fit(5.8, 9.0), _Fit(4.8, 8.0), _Fit(4.2, 7.5))


@dataclass(frozen=True, slots=True)
class SheetTile:
    """A tile by its code, its words, and its layers from the clay outward in words."""

    code: str
    words: str
    spot: tuple[float, float]
    layers: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlanSheet:
    """What the sheet of a plan tells."""

    studio: str = ""
    code: str
    name: str
    kind: str
    clay: str = ""
    cone: str = ""
    question: str = ""
    tiles: tuple[SheetTile, ...] = ()
    mixing: PlanMixing | None = None
    cautions: tuple[Caution, ...] = ()
    """For all that is weighed."""
    wet_grams: bool = False
    """Pour by weight: grams of slurry in place of millilitres."""


def lay_out_plan_sheet(sheet: PlanSheet, size: PageSize) -> tuple[Page, ...]:
    """The pages of the sheet. Raises UserProblem for a plan without tiles."""
    if not sheet.tiles:
        raise UserProblem("This plan has no tiles yet: there is nothing to mix.")
    tried = [_draw(sheet, size, fit) for fit in _FITS]
    fewest = min(len(flow.boards) for flow in tried)
    # The most comfortable of those that save paper.
    flow = next(flow for flow in tried if len(flow.boards) == fewest)
    return flow.pages(_kind_of_sheet(sheet), _title(sheet), _describe(sheet))


def _draw(sheet: PlanSheet, size: PageSize, fit: _Fit) -> Flow:
    flow = Flow(sheet.studio, size, _FOOT_MM)
    flow.turn()
    _draw_title(flow, sheet)
    _draw_first(flow, sheet, fit)
    _draw_tiles(flow, sheet, fit)
    for board in flow.boards:
        _draw_foot(board)
    return flow


def _kind_of_sheet(sheet: PlanSheet) -> str:
    return "Mixing sheet" if sheet.mixing is not None else "Glazing sheet"


def _title(sheet: PlanSheet) -> str:
    return f"{_kind_of_sheet(sheet)}, plan {sheet.code}, {sheet.name}"


def _draw_title(flow: Flow, sheet: PlanSheet) -> None:
    board = flow.board
    y = board.top + 11.0
    blanks = board.right - 58.0
    board.words(
        board.left, y, f"{sheet.code}  {sheet.name}", blanks - board.left - 4, 15, bold=True
    )
    kind = PLAN_KINDS[sheet.kind]
    count = len(sheet.tiles)
    facts = [kind[0].upper() + kind[1:], f"{count} tile{'' if count == 1 else 's'}"]
    if sheet.mixing is not None:
        facts.append(f"{show_quantity(sheet.mixing.tile_dry_g, 'g')} dry each")
    facts += [sheet.clay, f"cone {show_cone(sheet.cone)}" if sheet.cone else ""]
    words = " · ".join(filter(None, facts))
    board.words(board.left, y + 5.4, words, blanks - board.left - 4, 9.0)
    board.blank(blanks, y, board.right, "Mixed on")
    board.blank(blanks, y + 6.0, board.right, "By")
    flow.y = y + 9.0
    if sheet.question:
        flow.y = board.paragraph(board.left, flow.y - 1.0, sheet.question, board.wide, 8.5, most=2)
        flow.y += 2.5


def _draw_first(flow: Flow, sheet: PlanSheet, fit: _Fit) -> None:
    """The corners at the left; the layout, what must hold and the cautions beside them."""
    board, top = flow.board, flow.y
    split = board.left + board.wide * (_LEFT_SHARE if sheet.mixing is not None else 0.4)
    right = split + _GUTTER_MM
    beside = _draw_beside(board, top, right, flow.floor, sheet)
    if sheet.mixing is None:
        flow.y = beside + 3.0
        return
    first = len(flow.boards)
    flow.y = board.head(board.left, top, split, _weigh_words(sheet.mixing), sheet.mixing.words)
    for corner in sheet.mixing.corners:
        _draw_corner(flow, corner, split, fit)
    if len(flow.boards) == first:
        flow.y = max(flow.y, beside)
    flow.y += 3.0


def _weigh_words(mixing: PlanMixing) -> str:
    return "Weigh the corners" if len(mixing.corners) > 1 else "Weigh the base"


def _draw_corner(flow: Flow, corner: CornerMix, to_x: float, fit: _Fit) -> None:
    """A corner's lines, each with a box to tick; what is no longer on the page goes on."""
    flow.need((_WORTH_ROWS + 1) * fit.row_mm)
    decimals = _decimals([line.grams for line in corner.lines])
    board = flow.board
    line = stands_on(flow.y, _HEAD_MM, 9.0)
    dry = f"{show_quantity(corner.dry_g, 'g', _decimals([corner.dry_g]))} dry"
    told = board.words(to_x, line, dry, 40.0, 8.5, align="right")
    room = (told.extent.left_mm if told else to_x) - board.left - 3.0
    board.words(board.left, line, corner.label, room, 9.0, bold=True, smallest_pt=_NAME_PT)
    flow.y += _HEAD_MM
    for mix in corner.lines:
        flow.need(fit.row_mm)
        _draw_weighing(flow, mix, decimals, to_x, fit)
    if corner.water_g is not None and corner.specific_gravity is not None:
        flow.need(fit.row_mm)
        gravity = show_number(corner.specific_gravity, 2)
        makes = f", makes {show_quantity(corner.volume_ml, 'ml')}" if corner.volume_ml else ""
        words = f"Water, to specific gravity {gravity}{makes}"
        _ticked(flow, words, show_quantity(corner.water_g, "g"), to_x, fit)
        # What is found is typed on the plan's page, and the volumes follow it.
        flow.need(fit.row_mm)
        line = stands_on(flow.y, fit.row_mm, fit.row_pt)
        flow.board.blank(flow.board.left + 5.2, line, to_x, "Stands at, once stirred and weighed")
        flow.y += fit.row_mm
    flow.y += 2.0


def _draw_weighing(flow: Flow, mix: MixLine, decimals: int, to_x: float, fit: _Fit) -> None:
    added = "+ " if mix.addition else ""
    _ticked(flow, f"{added}{mix.material}", show_quantity(mix.grams, "g", decimals), to_x, fit)


def _ticked(flow: Flow, words: str, amount: str, to_x: float, fit: _Fit) -> None:
    board, y = flow.board, flow.y
    side = 2.8
    board.tick_box(board.left + 0.4, y + (fit.row_mm - side) / 2, side)
    line = stands_on(y, fit.row_mm, fit.row_pt)
    told = board.words(to_x - 0.6, line, amount, 30.0, fit.row_pt, align="right", bold=True)
    left = board.left + side + 2.4
    room = (told.extent.left_mm if told else to_x) - left - 2.0
    board.words(left, line, words, room, fit.row_pt, smallest_pt=_NAME_PT)
    board.rule(board.left, y + fit.row_mm, to_x)
    flow.y = y + fit.row_mm


def _draw_beside(board: Board, top: float, x: float, floor: float, sheet: PlanSheet) -> float:
    """The layout drawn small, then conditions, remarks and cautions as far as there is room."""
    right = board.right
    y = board.head(x, top, right, "As they lie")
    places = [TilePlace(tile.code, tile.spot) for tile in sheet.tiles]
    high = _TALL_MM if sheet.kind == "pyramid" else _LAYOUT_MM
    y = draw_places(board, Extent(x, y + 1.0, right, y + 1.0 + high), places) + 3.0
    told: list[tuple[bool, str]] = []
    if sheet.mixing is not None:
        told += [(False, words) for words in sheet.mixing.conditions]
        told += [(True, words) for words in sheet.mixing.remarks]
    for caution in sheet.cautions:
        told.append((True, caution.sentence))
    if told:
        y = board.head(x, y, right, "Mind")
    for number, (warns, words) in enumerate(told):
        before = len(board.marks)
        if warns:
            board.warning(x, y + 0.7, 7.5)
        end = board.paragraph(x + 4.0, y, words, right - x - 4.0, 7.5) + 0.6
        if end > floor - 4.0:
            del board.marks[before:]
            left = len(told) - number
            more = f"and {left} more: see the page of the plan."
            return board.paragraph(x + 4.0, y, more, right - x - 4.0, 7.5, most=1)
        y = end
    return y


def _draw_tiles(flow: Flow, sheet: PlanSheet, fit: _Fit) -> None:
    """A row a tile: what it takes, and a box to tick when it is glazed."""
    columns, rows = _table_of(sheet)
    head = _HEAD_MM + 5.0
    flow.need(head + min(_WORTH_ROWS, len(rows)) * fit.row_mm)
    _begin_table(flow, sheet, columns)
    for row in rows:
        if flow.need(fit.row_mm):
            _begin_table(flow, sheet, columns)
        _draw_row(flow.board, flow.y, columns, row, fit)
        flow.y += fit.row_mm


def _begin_table(flow: Flow, sheet: PlanSheet, columns: Sequence[Column]) -> None:
    board, mixing = flow.board, sheet.mixing
    title, quiet = "Glaze each tile", "from the clay outward"
    if mixing is not None:
        title, quiet = "Then for each tile", _amounts_in(sheet, mixing)
    flow.y = board.head(board.left, flow.y, board.right, title, quiet)
    edges = column_edges(board.left, board.wide, columns)
    line = stands_on(flow.y, 5.0, 7.0)
    for place, column in enumerate(columns):
        _write(board, edges, place, column, line, column.head, 7.0, soft=True)
    flow.y += 5.0
    board.rule(board.left, flow.y, board.right, 0.25, "ink")


def _amounts_in(sheet: PlanSheet, mixing: PlanMixing) -> str:
    if mixing.unit == "g":
        return "grams of dry glaze"
    return "grams of slurry" if sheet.wet_grams else "millilitres of slurry"


def _draw_row(
    board: Board, y: float, columns: Sequence[Column], row: Sequence[str], fit: _Fit
) -> None:
    edges = column_edges(board.left, board.wide, columns)
    board.tick_box(board.left + 0.4, y + (fit.row_mm - 2.8) / 2, 2.8)
    line = stands_on(y, fit.row_mm, fit.row_pt)
    for place, (column, cell) in enumerate(zip(columns, row, strict=True)):
        _write(board, edges, place, column, line, cell, fit.row_pt, soft=False)
    board.rule(board.left, y + fit.row_mm, board.right)


def _write(
    board: Board, edges: Sequence[float], place: int, column: Column, line: float, words: str,
    size_pt: float, *, soft: bool,
) -> None:  # fmt: skip
    left, right = edges[place] + 1.0, edges[place + 1] - 1.0
    at = {"left": left, "centre": (left + right) / 2, "right": right}[column.align]
    board.words(
        at, line, words, right - left, size_pt, align=column.align,
        tone="soft" if soft else "ink", bold=column.head == "Tile" and not soft,
        smallest_pt=_NAME_PT,
    )  # fmt: skip


def _table_of(sheet: PlanSheet) -> tuple[list[Column], list[list[str]]]:
    mixing = sheet.mixing
    tick = Column("", 0.5)
    if mixing is None:
        deepest = max(len(tile.layers) for tile in sheet.tiles)
        columns = [tick, Column("Tile", 1.0)]
        columns += [Column("First" if n == 0 else "Then", 4.0) for n in range(deepest)]
        rows = [
            ["", tile.code, *tile.layers, *[""] * (deepest - len(tile.layers))]
            for tile in sheet.tiles
        ]
        return columns, rows
    words = {tile.code: tile.words for tile in sheet.tiles}
    wet = sheet.wet_grams and mixing.unit == "ml"
    unit = "g" if wet else mixing.unit
    amounts = [tile.slurry_g if wet else tile.amounts for tile in mixing.tiles]
    decimals = 1 if wet else _decimals([one for tile in amounts for one in tile])
    corners = _corner_labels(mixing)
    columns = [tick, Column("Tile", 1.0), Column("", 3.2)]
    columns += [Column(f"{label}, {unit}", 1.7, "right") for label in corners]
    with_additions = any(tile.additions for tile in mixing.tiles)
    if with_additions:
        columns.append(Column("Add", 3.6))
    rows = []
    for tile, taken in zip(mixing.tiles, amounts, strict=True):
        row = ["", tile.code, words.get(tile.code, tile.words)]
        row += [show_number(one, decimals) if one > 0 else "–" for one in taken]
        if with_additions:
            row.append(", ".join(
                f"{one.material} {show_quantity(one.grams, 'g', _decimals([one.grams]))}"
                for one in tile.additions
            ) or "–")  # fmt: skip
        rows.append(row)
    return columns, rows


def _corner_labels(mixing: PlanMixing) -> list[str]:
    """The corners the amounts are in; one that no tile takes any of is not mixed at all."""
    deepest = max((len(tile.amounts) for tile in mixing.tiles), default=0)
    taken = [any(tile.amounts[n] > 0 for tile in mixing.tiles) for n in range(deepest)]
    labels = iter(corner.label for corner in mixing.corners)
    return [next(labels, "") if used else "" for used in taken]


def _decimals(amounts: Sequence[float]) -> int:
    """How many places amounts in steps of a scale need: at most two."""
    for places in (0, 1):
        if all(abs(amount - round(amount, places)) < 1e-6 for amount in amounts):
            return places
    return 2


def _draw_foot(board: Board) -> None:
    floor = board.bottom - _FOOT_MM
    board.rule(board.left, floor + 1.0, board.right)
    board.paragraph(board.left, floor + 1.6, DUST, board.wide, 6.5, most=2, tone="soft")


def _describe(sheet: PlanSheet) -> str:
    words = f"{_title(sheet)}: {len(sheet.tiles)} tiles"
    if sheet.mixing is not None:
        words += f", {len(sheet.mixing.corners)} corners, {sheet.mixing.words}"
    return f"{words}."
