"""The loading sheet: what stands on each shelf, drawn from above, with a list to load by.

The first page tells the load as a whole from the floor up; then a page for each shelf, its pieces
numbered in the order they are set: from the back to the door, so that no hand reaches over ware.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Final

from studiolog.craft.days import write_day
from studiolog.craft.units import show_quantity
from studiolog.craft.ware.load_plan import PACK, POST, LoadPlan, Place, PlannedShelf
from studiolog.craft.ware.shelf import Footprint, Kept
from studiolog.journal.load_page import LoadPage, LoadPiece
from studiolog.paper.board import Board
from studiolog.paper.flow import Flow
from studiolog.paper.lettering import MM_PER_PT
from studiolog.paper.page import Page, PageSize, Words
from studiolog.paper.table import Column, Look, draw_table

_ROUND: Final = 36  # straight pieces by which a circle is drawn
_SHELVES: Final = (
    Column("Shelf", 1.0),
    Column("Level", 2.4),
    Column("Posts above it", 2.0, "right"),
    Column("Pieces", 1.2, "right"),
    Column("Full", 1.2, "right"),
    Column("Cones", 1.4),
    Column("Set", 1.0, "centre"),
)
_PIECES: Final = (
    Column("", 0.7, "right"),
    Column("Piece", 3.6),
    Column("Glazes", 5.0),
    Column("Mind", 2.6),
)
_LOOK: Final = Look(4.6, 8.0, 7.0, 4.6)
_FOOT_MM: Final = 6.0
_PLAN_SHARE: Final = 0.46
"""Of the height of a page, for the drawing of a shelf."""
_SAME_AFTER: Final = {"circle": 0.001, "hexagon": 60.0, "rectangle": 180.0}
"""Turned so far, a piece stands as before."""


@dataclass(frozen=True, slots=True)
class _Stand:
    """A piece on a shelf with its number in the list, and those stacked on it."""

    number: int
    place: Place
    piece: LoadPiece


def lay_out_load_sheet(page: LoadPage, size: PageSize, studio: str = "") -> tuple[Page, ...]:
    """The load on paper: the whole first, then shelf by shelf from the floor up."""
    flow = Flow(studio, size, _FOOT_MM)
    flow.turn()
    _draw_whole(flow, page)
    for shelf in page.plan.shelves:
        if shelf.places:
            _draw_shelf(flow, page, shelf)
    count = page.placed
    pieces = "1 piece" if count == 1 else f"{count} pieces"
    title = f"Load, {page.title}"
    return flow.pages("Loading sheet", title, f"{title}: {pieces} on {_shelves(page)}")


def _shelves(page: LoadPage) -> str:
    count = len(page.shelves)
    return "1 shelf" if count == 1 else f"{count} shelves"


# The load as a whole -------------------------------------------------------------------------


def _draw_whole(flow: Flow, page: LoadPage) -> None:
    board = flow.board
    board.words(board.left, flow.y + 5.0, page.title, board.wide, 17.0, bold=True)
    flow.y = board.paragraph(board.left, flow.y + 7.0, _say_whole(page), board.wide, 9.0, most=4)
    flow.y += 3.0
    rows = []
    for shelf, line in reversed(list(zip(page.plan.shelves, page.shelves, strict=True))):
        part = {"left": " left half", "right": " right half"}.get(shelf.part, "")
        top = shelf.position == len(page.plan.shelves) or shelf.part != "full"
        posts = "up to the lid" if top and _is_top(page.plan, shelf) else ""
        rows.append(
            (
                f"{shelf.position}{part}",
                line.level,
                posts or show_quantity(shelf.clear_mm, "mm"),
                str(line.pieces),
                show_quantity(100 * line.fill.by_area, "%"),
                "pack" if shelf.pack_mm is not None else "none",
                "",
            )
        )
    flow.need(len(rows) * _LOOK.row_mm + 16.0)
    y = flow.board.head(flow.board.left, flow.y, flow.board.right, "Shelves, the top one first")
    bottom = draw_table(flow.board, flow.board.left, y, flow.board.wide, _SHELVES, rows, _LOOK)
    side = 2.8
    for number in range(len(rows)):
        top_y = y + _LOOK.head_mm + number * _LOOK.row_mm + (_LOOK.row_mm - side) / 2
        flow.board.tick_box(flow.board.right - 10.0, top_y, side)
    flow.y = bottom + 5.0
    _draw_sentences(flow, "Look at first", [one.words for one in page.warnings])
    left = Counter(f"{piece.label}, {piece.ware.name}" for piece in page.unplaced)
    if left:
        told = [f"{count} × {words}" if count > 1 else words for words, count in left.items()]
        shown = "; ".join(told[:40])
        if len(told) > 40:
            shown += f"; and {left.total() - sum(list(left.values())[:40])} more"
        _draw_sentences(flow, f"Left out: {left.total()}", [shown])
    _draw_sentences(flow, "Notes", [page.notes] if page.notes.strip() else [])


def _is_top(plan: LoadPlan, shelf: PlannedShelf) -> bool:
    """Whether no shelf stands above it on any of its sides."""
    above = [one for one in plan.shelves if one.position > shelf.position]
    return not any(shelf.part == "full" or one.part in ("full", shelf.part) for one in above)


def _say_whole(page: LoadPage) -> str:
    parts = []
    if page.program:
        parts.append(page.program)
    if page.planned_on is not None:
        parts.append(f"planned for {write_day(page.planned_on)}")
    if page.firing is not None:
        parts.append(f"lit as firing {page.firing[1]}")
    parts.append(
        f"{page.placed} pieces, {100 * page.fill.by_area:.0f} % full by area, "
        f"{100 * page.fill.by_volume:.0f} % by volume"
    )
    words = "; ".join(parts)
    foot = show_quantity(page.plan.rules.foot_mm, "mm")
    return f"{words[:1].upper()}{words[1:]}. The lowest shelf stands on stilts of {foot}."


def _draw_sentences(flow: Flow, head: str, sentences: Sequence[str]) -> None:
    if not sentences:
        return
    flow.need(14.0)
    flow.y = flow.board.head(flow.board.left, flow.y, flow.board.right, head)
    for sentence in sentences:
        flow.need(9.0)
        flow.y = flow.board.paragraph(
            flow.board.left, flow.y, sentence, flow.board.wide, 8.0, most=5
        )
        flow.y += 1.2
    flow.y += 2.5


# One shelf -----------------------------------------------------------------------------------


def _draw_shelf(flow: Flow, page: LoadPage, shelf: PlannedShelf) -> None:
    flow.turn()
    board = flow.board
    level = page.plan.kiln.level_name(shelf.level_id)
    title = f"Shelf {shelf.position}{f', {level}' if level else ''}"
    told = f"{show_quantity(shelf.clear_mm, 'mm')} above it; {len(shelf.places)} pieces"
    board.words(board.left, flow.y + 5.0, title, board.wide * 0.6, 15.0, bold=True)
    board.words(board.right, flow.y + 5.0, told, board.wide * 0.38, 9.0, align="right", tone="soft")
    flow.y += 9.0
    stands = number_pieces(page, shelf)
    high = (board.bottom - board.top) * _PLAN_SHARE
    _draw_plan(board, flow.y, high, page.plan, shelf, stands)
    flow.y += high + 5.0
    _list_pieces(flow, page, stands)


def number_pieces(page: LoadPage, shelf: PlannedShelf) -> tuple[_Stand, ...]:
    """Pieces in the order they are set: from the back to the door, a stack from below."""
    under = sorted(
        (place for place in shelf.places if place.on_key is None),
        key=lambda place: (round(place.y_mm / 60.0), place.x_mm),
    )
    order: list[Place] = []
    for place in under:
        order.append(place)
        order += _stacked_on(place.key, shelf.places)
    rest = [place for place in shelf.places if place not in order]
    return tuple(
        _Stand(number, place, page.pieces[place.key])
        for number, place in enumerate((*order, *rest), start=1)
        if place.key in page.pieces
    )


def _stacked_on(key: int, places: Sequence[Place]) -> list[Place]:
    found = []
    for place in places:
        if place.on_key == key:
            found.append(place)
            found += _stacked_on(place.key, places)
    return found


def _draw_plan(
    board: Board,
    top: float,
    high: float,
    plan: LoadPlan,
    shelf: PlannedShelf,
    stands: Sequence[_Stand],
) -> None:
    points = shelf.outline.points()
    xs, ys = [x for x, _ in points], [y for _, y in points]
    scale = min(board.wide / (max(xs) - min(xs)), (high - 6.0) / (max(ys) - min(ys)))
    middle_x = (board.left + board.right) / 2 - scale * (max(xs) + min(xs)) / 2
    middle_y = top + (high - 5.0) / 2 - scale * (max(ys) + min(ys)) / 2

    def at(x: float, y: float) -> tuple[float, float]:
        return middle_x + x * scale, middle_y + y * scale

    outline = [at(x, y) for x, y in points[:: 5 if len(points) > 60 else 1]]
    board.path((*outline, outline[0]), 0.5)
    for kept in shelf.kept:
        _draw_kept(board, kept, at, scale)
    by_place = {stand.place.key: stand for stand in stands}
    for stand in stands:
        if stand.place.on_key is not None:
            continue
        ware = plan.wares[stand.place.key]
        if ware.on_tile:
            tile = _around(ware.stands_on(plan.rules), stand.place, at)
            board.path((*tile, tile[0]), 0.25, "soft", (1.0, 0.8))
        edge = _around(ware.footprint, stand.place, at)
        board.path((*edge, edge[0]), 0.35)
        stacked = [by_place[one.key] for one in _stacked_on(stand.place.key, shelf.places)]
        _write_number(board, ware.footprint, stand, stacked, at, scale)
    board.words(middle_x, top + high - 0.5, "door", 30.0, 7.5, align="centre", tone="soft")


def _draw_kept(board: Board, kept: Kept, at: object, scale: float) -> None:
    assert callable(at)
    x, y = at(kept.x_mm, kept.y_mm)
    if kept.what == PACK:
        wide, deep = kept.footprint.across_mm * scale, kept.footprint.other_mm * scale
        board.box(x - wide / 2, y - deep / 2, wide, deep, thick_mm=0.25, fill="wash")
        for n in (-1, 0, 1):
            board.path(
                (
                    (x + n * wide / 3.4 - wide / 12, y + deep / 4),
                    (x + n * wide / 3.4, y - deep / 3),
                    (x + n * wide / 3.4 + wide / 12, y + deep / 4),
                ),
                0.25,
            )
        return
    radius = kept.footprint.across_mm / 2 * scale
    board.ring(x, y, radius if kept.what == POST else min(radius, 1.2))
    if kept.what == POST:
        arm = radius * 0.6
        board.path(((x - arm, y), (x + arm, y)), 0.2)
        board.path(((x, y - arm), (x, y + arm)), 0.2)


def _around(footprint: Footprint, place: Place, at: object) -> tuple[tuple[float, float], ...]:
    """The outline of a piece on the page."""
    assert callable(at)
    if footprint.shape == "circle":
        reach = footprint.across_mm / 2
        return tuple(
            at(
                place.x_mm + reach * cos(2 * pi * n / _ROUND),
                place.y_mm + reach * sin(2 * pi * n / _ROUND),
            )
            for n in range(_ROUND)
        )
    return tuple(at(place.x_mm + x, place.y_mm + y) for x, y in footprint.core(place.turned_deg))


def _write_number(
    board: Board,
    footprint: Footprint,
    stand: _Stand,
    stacked: Sequence[_Stand],
    at: object,
    scale: float,
) -> None:
    assert callable(at)
    x, y = at(stand.place.x_mm, stand.place.y_mm)
    words = str(stand.number)
    if stacked:
        words += f"–{stacked[-1].number}"
    room = footprint.narrowest_mm * scale * 0.9
    size = min(9.0, max(4.0, room * 1.4))
    board.marks.append(Words(x, y + 0.36 * size * MM_PER_PT, words, size, room, True, "centre"))


def _list_pieces(flow: Flow, page: LoadPage, stands: Sequence[_Stand]) -> None:
    rows = [_row(page, stand, stands) for stand in stands]
    while rows:
        room = flow.floor - flow.y - _LOOK.head_mm - 7.0
        fits = max(0, int(room / _LOOK.row_mm))
        if fits < min(3, len(rows)):
            flow.turn()
            continue
        board = flow.board
        y = board.head(board.left, flow.y, board.right, "In the order they are set")
        some, rows = rows[:fits], rows[fits:]
        flow.y = draw_table(board, board.left, y, board.wide, _PIECES, some, _LOOK) + 4.0


def _row(page: LoadPage, stand: _Stand, stands: Sequence[_Stand]) -> tuple[str, ...]:
    ware = stand.piece.ware
    name = f"{ware.label}, {ware.name}"
    mind = []
    if stand.piece.on_tile:
        mind.append("on a catch tile")
    if stand.place.on_key is not None:
        under = next((one.number for one in stands if one.place.key == stand.place.on_key), None)
        mind.append(f"on {under}" if under is not None else "stacked")
    turned = stand.place.turned_deg % _SAME_AFTER.get(ware.shape, 360.0)
    if turned:
        mind.append(f"turned {turned:.0f}°")
    return str(stand.number), name[:1].upper() + name[1:], ware.glaze_words, ", ".join(mind)
