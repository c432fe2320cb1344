"""An order of a crowded journal with much to it: shipments, pieces set aside, stock, and a set."""

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.allocation import ForLine, ForPart, allocate_from_stock
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.order_page import read_order_page
from studiolog.journal.orders import change_order
from studiolog.journal.pieces import PieceDraft, RunDraft, log_piece, log_run
from studiolog.journal.set_page import read_set_page
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.journal.shipments import ToShip, ship
from studiolog.records.pieces import Piece

LONG_SET = "The long table of the boat club, ten of each of five forms, with two jars for bread"


def crowd_orders(session: Session, order_id: int, form: int, clay: int) -> int:
    """Ship of an order, set aside for it, and let it ask for a set; returns the set's id.

    The order's first line asks for the form.
    """
    run = log_run(
        session,
        RunDraft(
            made_on=date(2026, 8, 3), form_id=form, clay_id=clay, how_many=30, stage="finished"
        ),
    )
    for piece in session.scalars(select(Piece).where(Piece.run_id == run)).all():
        piece.kept_where = "the crate under the third shelf beside the window on the yard"
    for number in range(5001, 5009):
        log_piece(session, PieceDraft(number=number, form_id=form, clay_id=clay, stage="finished"))
    ware = add_set(
        session,
        SetDraft(
            name=LONG_SET,
            due_on=date(2026, 12, 20),
            parts=(
                SetPartDraft(each=10, form_id=form, clay_id=clay),
                SetPartDraft(each=2, what="for bread, the lid with a knob that one hand can lift"),
            ),
            notes="Seconds will do, if they stand level. " * 6,
        ),
    )
    page = read_order_page(session, order_id)
    assert page is not None
    first, *others = page.lines
    kept = OrderLineDraft(
        wanted=first.wanted, form_id=first.form_id, what=first.what, price=first.price,
        line_id=first.line_id, clay_id=clay,
    )  # fmt: skip
    asked = OrderLineDraft(wanted=1, set_id=ware, what="before the feast, all of it at once")
    rest = (OrderLineDraft(wanted=one.wanted, what=one.what, line_id=one.line_id) for one in others)
    set_order_lines(session, order_id, (kept, *rest, asked))
    change_order(
        session, order_id, ordered_on=date(2026, 7, 1), promised_on=date(2026, 12, 11),
        promised_from=date(2026, 11, 27), promise_words="twenty-one to twenty-three weeks",
        contact="by letter only, to the third house behind the harbour office",
    )  # fmt: skip
    allocate_from_stock(session, ForLine(first.line_id), 9)
    day = date(2026, 11, 9)
    sent = [ToShip(first.line_id, 3)]
    note = "Fetched by the brother, who also took the two seconds for the kitchen. "
    ship(session, order_id, day, sent, note * 2)
    parts = read_set_page(session, ware)
    assert parts is not None
    allocate_from_stock(session, ForPart(parts.parts[0].part_id), 6)
    return ware
