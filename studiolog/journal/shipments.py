"""Part shipments: so many of each line leave on a day; what is left; and back, if it was a slip.

Only what is finished leaves, and no more than a line still asks for: whoever sends more along
raises what is wanted first, so that the order says what was sold. An order is delivered by itself
when nothing of it is left, and open again when a shipment is taken back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.craft.words import STAGES, join_words
from studiolog.journal.allocation import held_piece_ids
from studiolog.journal.order_page import OrderLinePage, OrderPage, read_order_page
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.forms import Form
from studiolog.records.orders import Order, SetPart, Shipment
from studiolog.records.pieces import Piece


@dataclass(frozen=True)
class ToShip:
    """So many of a line: pieces, or whole sets where it asks for a set.

    ``piece_ids`` name which ones, where that matters; else those set aside go first.
    """

    line_id: int
    how_many: int
    piece_ids: tuple[int, ...] = ()


@dataclass(frozen=True)
class Shipped:
    """A shipment that was made. ``delivered``: nothing of the order is left, and it says so."""

    shipment_id: int
    pieces: int
    delivered: bool


def ship(
    session: Session,
    order_id: int,
    shipped_on: date,
    lines: Sequence[ToShip],
    note: str = "",
    today: date | None = None,
) -> Shipped:
    """Pieces of an order leave together.

    Raises `UserProblem` for none, for more than are finished and here, for more than are still
    asked for, for a closed order, and for a day to come or before the order was taken.
    """
    order = get(session, Order, order_id)
    if order.state != "open":
        raise UserProblem(
            f"Order {order.number} is {order.state}: open it again to ship more of it."
        )
    _check_day(order, shipped_on, today)
    wanted = [line for line in lines if line.how_many]
    if not wanted:
        raise UserProblem("Say how many leave.", {"how_many": "how many?"})
    page = read_order_page(session, order_id)
    assert page is not None
    pages = {line.line_id: line for line in page.lines}
    if len({line.line_id for line in wanted}) != len(wanted) or any(
        line.line_id not in pages for line in wanted
    ):
        raise UserProblem("The lines changed in the meantime: look at the order again.")
    shipment_id = add(
        session, Shipment(order_id=order_id, shipped_on=shipped_on, note=note.strip())
    )
    pieces = 0
    for line in wanted:
        for piece in _leaving(session, pages[line.line_id], line):
            piece.shipment_id, piece.order_line_id = shipment_id, line.line_id
            pieces += 1
    session.flush()
    after = read_order_page(session, order_id)
    assert after is not None
    delivered = all(line.left == 0 for line in after.lines)
    if delivered:
        change(session, Order, order_id, state="delivered")
    return Shipped(shipment_id, pieces, delivered)


def change_shipment(
    session: Session,
    shipment_id: int,
    version: int | None = None,
    *,
    today: date | None = None,
    **fields: Any,
) -> None:
    """Change the day or the note of a shipment."""
    if "shipped_on" in fields:
        order = get(session, Order, get(session, Shipment, shipment_id).order_id)
        if fields["shipped_on"] is None:
            raise UserProblem("A shipment has a day.", {"shipped_on": "which day?"})
        _check_day(order, fields["shipped_on"], today)
    change(session, Shipment, shipment_id, version, **fields)


def take_shipment_back(session: Session, shipment_id: int) -> bool:
    """A shipment did not leave after all: its pieces are here again, set aside for their lines.

    Returns whether the order, delivered until then, is open again.
    """
    shipment = get(session, Shipment, shipment_id)
    for piece in session.scalars(select(Piece).where(Piece.shipment_id == shipment_id)):
        piece.shipment_id = None
        if piece.set_part_id is not None:
            # A part's piece counts for the line by its set.
            piece.order_line_id = None
    session.flush()
    order = get(session, Order, shipment.order_id)
    remove(session, shipment)
    if order.state == "delivered":
        change(session, Order, order.id, state="open")
        return True
    return False


def _check_day(order: Order, shipped_on: date, today: date | None) -> None:
    sentence = ""
    if today is not None and shipped_on > today:
        sentence = f"{write_day(shipped_on)} is still to come: ship on the day it leaves."
    elif order.ordered_on is not None and shipped_on < order.ordered_on:
        sentence = (
            f"Order {order.number} was taken on {write_day(order.ordered_on)}: nothing of it left "
            f"on {write_day(shipped_on)}."
        )
    if sentence:
        raise UserProblem(sentence, {"shipped_on": sentence})


def _leaving(session: Session, line: OrderLinePage, asked: ToShip) -> list[Piece]:
    """The very pieces that leave."""
    if asked.how_many < 0:
        raise UserProblem("A shipment counts 0 or more of a line.", {"how_many": "0 or more"})
    what = "sets" if line.set_id is not None else "pieces"
    if line.set_id is not None:
        chosen = _of_whole_sets(session, line, asked.how_many)
    else:
        chosen = _of_a_line(session, line, asked)
    gone = line.of_set.shipped if line.of_set else line.shipped
    if gone + asked.how_many > line.wanted:
        left = line.left
        rest = f"{left} {'is' if left == 1 else 'are'} still to leave" if left else "none is left"
        sentence = (
            f"“{line.title}” asks for {line.wanted} {what} and {gone or 'none'} have left: {rest}. "
            "Raise what is wanted if more go along."
        )
        raise UserProblem(sentence, {"how_many": sentence})
    return chosen


def _of_a_line(session: Session, line: OrderLinePage, asked: ToShip) -> list[Piece]:
    ready = held_piece_ids(session, line.line_id, "finished")
    if asked.piece_ids:
        strange = [ident for ident in asked.piece_ids if ident not in ready]
        if strange:
            piece = get(session, Piece, strange[0])
            name = f"Piece {piece.number}" if piece.number is not None else "One of these pieces"
            raise UserProblem(
                f"{name} can't leave with “{line.title}”: it is {STAGES[piece.stage]}, has left "
                "already, or counts for something else."
            )
        ready = tuple(dict.fromkeys(asked.piece_ids))
    if len(ready) < asked.how_many:
        raise _too_few(line.title, len(ready), asked.how_many, line.progress.at_hand)
    return [get(session, Piece, ident) for ident in ready[: asked.how_many]]


def _too_few(title: str, ready: int, asked: int, at_hand: Any) -> UserProblem:
    there = f"only {ready} {'is' if ready == 1 else 'are'}" if ready else "none is"
    others = [
        f"{at_hand[stage]} {word}"
        for stage, word in reversed(list(STAGES.items()))
        if stage not in ("finished", "lost") and at_hand.get(stage)
    ]
    rest = f" Of the others {join_words(others)} are not finished yet." if others else ""
    sentence = f"Of “{title}” {there} finished and here: {asked} can't leave.{rest}"
    return UserProblem(sentence, {"how_many": sentence})


def _of_whole_sets(session: Session, line: OrderLinePage, sets: int) -> list[Piece]:
    chosen: list[Piece] = []
    parts = session.scalars(
        select(SetPart).where(SetPart.set_id == line.set_id).order_by(SetPart.position, SetPart.id)
    ).all()
    for part in parts:
        ready = session.scalars(
            select(Piece)
            .where(
                Piece.set_part_id == part.id,
                Piece.stage == "finished",
                Piece.shipment_id.is_(None),
            )
            .order_by(Piece.number.is_(None), Piece.id)
            .limit(part.each * sets)
        ).all()
        if len(ready) < part.each * sets:
            name = say_part(session, part)
            sentence = (
                f"{sets} {'set needs' if sets == 1 else 'sets need'} {part.each * sets} of {name}: "
                f"{len(ready) or 'none'} {'is' if len(ready) < 2 else 'are'} finished and here."
            )
            raise UserProblem(sentence, {"how_many": sentence})
        chosen += ready
    return chosen


def say_part(session: Session, part: SetPart) -> str:
    """A part of a set by its form or its words, in quotes."""
    form = session.get(Form, part.form_id) if part.form_id is not None else None
    named = ", ".join(one for one in (form.name if form else "", part.what) if one)
    return f"“{named or 'a part not said what'}”"


@dataclass(frozen=True)
class PackedLine:
    """A line of a packing list: what is in the box, and how much of the line then is still to come.

    ``what`` counts pieces; ``numbers`` are those cut into a foot.
    """

    title: str
    made_of: str
    packed: int
    numbers: tuple[int, ...]
    wanted: int
    still_to_come: int


@dataclass(frozen=True)
class PackingList:
    """What leaves together, for the box. Of who ordered it names the label, and nothing else."""

    order_number: int
    whom: str
    shipped_on: date
    part: int
    lines: tuple[PackedLine, ...]

    @property
    def pieces(self) -> int:
        return sum(line.packed for line in self.lines)

    @property
    def still_to_come(self) -> int:
        return sum(line.still_to_come for line in self.lines)


def read_packing_list(session: Session, shipment_id: int) -> PackingList | None:
    """The packing list of a shipment; None if it was taken back.

    What is still to come is counted as the order stood after it: later shipments do not count.
    """
    shipment = session.get(Shipment, shipment_id)
    page = read_order_page(session, shipment.order_id) if shipment is not None else None
    if page is None:
        return None
    ids = [one.shipment_id for one in page.shipments]
    part = ids.index(shipment_id) + 1
    lines = []
    for line in page.lines:
        items = [
            item
            for one in page.shipments[:part]
            for item in one.items
            if item.line_id == line.line_id
        ]
        this = next((i for i in page.shipments[part - 1].items if i.line_id == line.line_id), None)
        by_then = sum(item.pieces - item.lost for item in items)
        if this is not None or line.pieces_wanted > by_then:
            lines.append(
                PackedLine(
                    line.title,
                    line.made_of,
                    this.pieces if this else 0,
                    this.numbers if this else (),
                    line.pieces_wanted,
                    max(0, line.pieces_wanted - by_then),
                )
            )
    shipped_on = page.shipments[part - 1].shipped_on
    return PackingList(page.number, page.whom, shipped_on, part, tuple(lines))


def say_left(page: OrderPage) -> str:
    """What is left of an order, in words: "12 of 34 have left, 6 more may leave now"."""
    if not page.lines:
        return ""
    if not page.left:
        return f"all {page.wanted} have left"
    told = [f"{page.shipped} of {page.wanted} have left" if page.shipped else "nothing has left"]
    ready = sum(
        min(line.progress.ready, line.progress.left) if line.of_set is None
        else line.ready * line.of_set.pieces_each
        for line in page.lines
    )  # fmt: skip
    if ready and page.state == "open":
        told.append(f"{ready} may leave now")
    return ", ".join(told)
