"""How the orders were taken and promised, what left of them, what is set aside, and two sets."""

from __future__ import annotations

from datetime import date, datetime, time

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from studiolog.journal.allocation import ForLine, ForPart, allocate_from_stock, allocate_pieces
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.order_page import OrderPage, list_orders, read_order_page
from studiolog.journal.orders import OrderDraft, add_order, change_order
from studiolog.journal.pieces import change_piece
from studiolog.journal.set_page import read_set_page
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.journal.shipments import ToShip, ship
from studiolog.journal.stock_pieces import is_stock
from studiolog.records.forms import Form
from studiolog.records.pieces import Piece, StageChange

from .demo_writer import Writer
from .studio_setup import BUFF, SetUp
from .work_year import TODAY

# By number: what kind of order, when it was taken, and its promise as it was said.
_TAKEN: dict[int, tuple[str, date, str, date | None]] = {
    24: ("wholesale", date(2026, 4, 3), "six to eight weeks", date(2026, 5, 15)),
    26: ("wholesale", date(2026, 5, 29), "seven to eight weeks", date(2026, 7, 17)),
    27: ("pre_order", date(2026, 7, 3), "eight weeks", None),
    29: ("pre_order", date(2026, 9, 25), "six to eight weeks", date(2026, 11, 6)),
    30: ("house", date(2026, 9, 28), "by 18 Dec", None),
    31: ("pre_order", date(2026, 10, 9), "six to eight weeks", date(2026, 11, 20)),
    33: ("wholesale", date(2026, 10, 2), "eight weeks", None),
    35: ("restock", date(2026, 10, 12), "by 5 Dec", None),
}


def write_orders(writer: Writer) -> None:
    """Tell of the orders what a year's work tells, an edit for each thing that was done."""
    edit, set_up = writer.journal.edit, writer.set_up
    edit("Note how the orders were taken", _take)
    edit("Put ware on the shelves", _shelve)
    edit("Ship of order 24", lambda s: _send(s, 24, 12, date(2026, 5, 26), "Fetched by the cook."))
    edit("Ship of order 26", lambda s: _send(s, 26, 9, date(2026, 7, 14), "By the carrier."))
    edit("Ship of order 26", lambda s: _send(s, 26, 7, date(2026, 7, 23), "The rest, by hand."))
    edit("Add bowls to order 31", lambda s: _add_bowls(s, set_up))
    edit("Set aside for order 31", lambda s: _aside(s, 31, 1, 8))
    edit("Ship of order 31", lambda s: _send(s, 31, 5, date(2026, 10, 30), "To open with.", at=1))
    edit("Take an order for Lane end", lambda s: _lane_end(s, set_up))
    edit("Set aside for order 36", lambda s: _aside(s, 36, 0, 4))
    edit("Add the table for ten", lambda s: _table(s, set_up))
    edit("Add the lamps on one string", lambda s: _lamps(s, set_up))


def _form(session: Session, name: str) -> int:
    return session.scalars(select(Form.id).where(Form.name == name)).one()


def _orders(session: Session) -> dict[int, OrderPage]:
    return {order.number: order for order in list_orders(session).orders}


def _page(session: Session, number: int) -> OrderPage:
    page = read_order_page(session, _orders(session)[number].order_id)
    assert page is not None
    return page


def _take(session: Session) -> None:
    for number, order in _orders(session).items():
        if number in _TAKEN:
            kind, ordered_on, words, promised_from = _TAKEN[number]
            change_order(
                session, order.order_id, kind=kind, ordered_on=ordered_on,
                promised_on=order.promised_on, promised_from=promised_from, promise_words=words,
            )  # fmt: skip


def _shelve(session: Session) -> None:
    stock = session.scalars(
        select(Piece.id).where(is_stock(), Piece.number.is_(None)).order_by(Piece.id)
    ).all()
    for place, piece_id in enumerate(stock):
        if place % 3:
            where = "shelf by the door" if place % 3 == 1 else "crate under the stairs"
            change_piece(session, piece_id, kept_where=where)


def _send(session: Session, number: int, how_many: int, day: date, note: str, at: int = 0) -> None:
    """Pieces that were finished by then leave with an order."""
    page = _page(session, number)
    line = page.lines[at]
    if line.ready < how_many:
        if page.state != "open":
            change_order(session, page.order_id, state="open")
        finished = exists().where(
            StageChange.piece_id == Piece.id, StageChange.stage == "finished",
            StageChange.at <= datetime.combine(day, time(18)),
        )  # fmt: skip
        ids = session.scalars(
            select(Piece.id)
            .where(is_stock(), Piece.form_id == line.form_id, Piece.number.is_(None), finished)
            .order_by(Piece.id.desc())  # some of it made since the order was taken
            .limit(how_many)
        ).all()
        allocate_pieces(session, ForLine(line.line_id), ids)
    ship(session, page.order_id, day, [ToShip(line.line_id, how_many)], note, TODAY.date())


def _aside(session: Session, number: int, line: int, how_many: int) -> None:
    allocate_from_stock(session, ForLine(_page(session, number).lines[line].line_id), how_many)


def _add_bowls(session: Session, set_up: SetUp) -> None:
    page = _page(session, 31)
    first = page.lines[0]
    kept = OrderLineDraft(
        wanted=first.wanted, form_id=first.form_id, what=first.what, price=first.price,
        line_id=first.line_id,
    )  # fmt: skip
    bowls = OrderLineDraft(
        wanted=10, form_id=set_up.forms["soup_bowl"], clay_id=set_up.clays[BUFF], price=first.price
    )
    set_order_lines(session, page.order_id, (kept, bowls))


def _lane_end(session: Session, set_up: SetUp) -> None:
    lines = (
        OrderLineDraft(
            wanted=6, form_id=_form(session, "Panel mug"), clay_id=set_up.clays[BUFF],
            what="each another panel",
        ),
    )  # fmt: skip
    draft = OrderDraft(
        whom="Lane end", number=36, contact="note under the blue gate", lines=lines,
        ordered_on=date(2026, 11, 9), promise_words="six to eight weeks",
        notes="A present: not before Christmas, no price in the box.",
    )  # fmt: skip
    add_order(session, draft, TODAY.date())


def _table(session: Session, set_up: SetUp) -> None:
    """For the house itself: bowls, tumblers and mugs stand in part, the jars are to come."""
    clay = set_up.clays[BUFF]
    parts = (
        SetPartDraft(each=10, form_id=set_up.forms["soup_bowl"], clay_id=clay),
        SetPartDraft(each=10, form_id=set_up.forms["ripple_tumbler"], clay_id=clay),
        SetPartDraft(each=10, form_id=_form(session, "Panel mug"), clay_id=clay),
        SetPartDraft(each=2, form_id=set_up.forms["lidded_jar"], clay_id=clay, what="for bread"),
    )
    draft = SetDraft(
        name="Table for ten", due_on=date(2026, 12, 20), parts=parts,
        notes="Ours, for the long evening. Seconds will do, if they stand level.",
    )  # fmt: skip
    page = read_set_page(session, add_set(session, draft))
    assert page is not None
    for part, how_many in zip(page.parts, (10, 7, 4, 0), strict=True):
        if how_many:
            allocate_from_stock(session, ForPart(part.part_id), how_many)


def _lamps(session: Session, set_up: SetUp) -> None:
    """Twelve small lanterns on one string, for the hall that lights them in Advent."""
    parts = (
        SetPartDraft(
            each=12, form_id=set_up.forms["lantern_house"], clay_id=set_up.clays[BUFF],
            what="small, a hole for the cord",
        ),
        SetPartDraft(each=1, what="string with its lamps, bought"),
    )  # fmt: skip
    set_id = add_set(session, SetDraft(name="Twelve lamps on one string", parts=parts))
    page = read_set_page(session, set_id)
    assert page is not None
    allocate_from_stock(session, ForPart(page.parts[0].part_id), 5)
    order = OrderDraft(
        whom="Chapel hall", number=37, ordered_on=date(2026, 10, 26), promise_words="by 18 Dec",
        lines=(OrderLineDraft(wanted=1, set_id=set_id, what="hung by us"),),
    )  # fmt: skip
    add_order(session, order, TODAY.date())
