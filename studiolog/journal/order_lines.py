"""The lines of an order: what is asked for, written as a whole, each kept where it can be."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.money import MOST
from studiolog.journal.allocation import let_go_of_line
from studiolog.journal.held_pieces import Progress, count_for_lines
from studiolog.journal.set_counts import count_sets
from studiolog.journal.writing import add, change, count, get, remove
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.orders import Order, OrderLine, SetPart, WareSet
from studiolog.records.pieces import Piece, Run

MOST_WANTED = 100_000
"""Pieces of one line; more is a slip of the finger."""


@dataclass(frozen=True, kw_only=True)
class OrderLineDraft:
    """So many of a form, of a set, or of what ``what`` says. ``line_id`` names the line it changes.

    ``clay_id`` and ``glaze_id`` say what of; None leaves it open.
    """

    wanted: int
    form_id: int | None = None
    what: str = ""
    price: Decimal | None = None
    line_id: int | None = None
    clay_id: int | None = None
    glaze_id: int | None = None
    set_id: int | None = None


def set_order_lines(session: Session, order_id: int, lines: Sequence[OrderLineDraft]) -> list[int]:
    """Write the lines of an order in place of those it had; returns their ids in order.

    A draft keeps the line it names by ``line_id``, else the first free line that asks for the
    same, since runs and pieces refer to lines. What was set aside for a line that goes is free
    again. Raises `StillUsed` if a line would go that a run serves or of which pieces have left.
    """
    get(session, Order, order_id)
    stored = {
        line.id: line
        for line in session.scalars(
            select(OrderLine)
            .where(OrderLine.order_id == order_id)
            .order_by(OrderLine.position, OrderLine.id)
        )
    }
    kept = _match_lines(lines, stored)
    for line, kept_id in zip(lines, kept, strict=True):
        _check_line(session, line, kept_id)
    for line_id, old in stored.items():
        if line_id not in kept:
            _refuse_served(session, old)
            let_go_of_line(session, line_id)
            remove(session, old)
    ids: list[int] = []
    for position, (draft, kept_id) in enumerate(zip(lines, kept, strict=True), start=1):
        fields: dict[str, Any] = {
            "position": position,
            "wanted": draft.wanted,
            "form_id": draft.form_id,
            "what": draft.what.strip(),
            "price": draft.price,
            "clay_id": draft.clay_id,
            "glaze_id": draft.glaze_id,
            "set_id": draft.set_id,
        }
        if kept_id is None:
            ids.append(add(session, OrderLine(order_id=order_id, **fields)))
        else:
            change(session, OrderLine, kept_id, None, **fields)
            ids.append(kept_id)
    return ids


def _check_line(session: Session, line: OrderLineDraft, kept_id: int | None) -> None:
    if line.wanted < 1:
        raise UserProblem("A line asks for one piece or more.", {"wanted": "1 or more"})
    if line.wanted > MOST_WANTED:
        raise UserProblem(
            f"A line asks for {MOST_WANTED} pieces at most: look at the count again.",
            {"wanted": f"{MOST_WANTED} at most"},
        )
    if line.price is not None and not (line.price.is_finite() and 0 <= line.price < MOST):
        raise UserProblem("A price is 0 or more.", {"price": "0 or more"})
    if line.form_id is None and line.set_id is None and not line.what.strip():
        raise UserProblem("Say what the line asks for.", {"what": "a form, or words"})
    if line.form_id is not None:
        get(session, Form, line.form_id)
    if line.clay_id is not None:
        get(session, Clay, line.clay_id)
    if line.glaze_id is not None:
        get(session, Glaze, line.glaze_id)
    if line.set_id is not None:
        _check_set(session, line, kept_id)
    if kept_id is not None:
        _refuse_fewer_than_shipped(session, line, kept_id)


def _check_set(session: Session, line: OrderLineDraft, kept_id: int | None) -> None:
    assert line.set_id is not None
    ware = get(session, WareSet, line.set_id)
    if line.form_id is not None or line.clay_id is not None or line.glaze_id is not None:
        raise UserProblem(
            "A line asks for a form or for a set: the parts of the set say its forms, clays and "
            "glazes."
        )
    if not count(session, SetPart, SetPart.set_id == ware.id):
        sentence = f"The set “{ware.name}” has no parts yet: say first what belongs to it."
        raise UserProblem(sentence, {"set": sentence})
    # By the rule of `held_pieces` a part's piece counts for the line that asks for its set.
    other = session.execute(
        select(Order.number)
        .join(OrderLine, OrderLine.order_id == Order.id)
        .where(OrderLine.set_id == ware.id, OrderLine.id != (kept_id or 0))
    ).scalar()
    if other is not None:
        sentence = (
            f"The set “{ware.name}” is asked for by order {other} already: copy the set, and ask "
            "for the copy."
        )
        raise UserProblem(sentence, {"set": sentence})
    if kept_id is not None and count(
        session, Piece, Piece.order_line_id == kept_id, Piece.set_part_id.is_(None)
    ):
        raise UserProblem(
            "Pieces are set aside for this line: take them back before it asks for a set."
        )
    numbers = session.scalars(
        select(Run.number).where(Run.order_line_id == kept_id).order_by(Run.number)
    ).all()
    if kept_id is not None and numbers:
        raise UserProblem(
            f"This line is served by run {', '.join(map(str, numbers))}. Say in the run that it "
            "serves another, or none, before the line asks for a set."
        )


def _refuse_fewer_than_shipped(session: Session, line: OrderLineDraft, kept_id: int) -> None:
    if line.set_id is not None:
        gone = count_sets(session, [line.set_id])[line.set_id].shipped
    else:
        lots = count_for_lines(session, [kept_id]).get(kept_id, ())
        gone = Progress(line.wanted, lots).shipped
    if gone > line.wanted:
        sentence = f"{gone} of it have left already: it asks for {gone} or more."
        raise UserProblem(sentence, {"wanted": sentence})


def _match_lines(
    drafts: Sequence[OrderLineDraft], stored: Mapping[int, OrderLine]
) -> list[int | None]:
    named = [draft.line_id for draft in drafts if draft.line_id is not None]
    if len(set(named)) != len(named) or not set(named) <= set(stored):
        raise UserProblem("These lines changed in the meantime: look at the order again.")
    free = [line for line_id, line in stored.items() if line_id not in named]
    kept: list[int | None] = []
    for draft in drafts:
        found = draft.line_id
        if found is None:
            same = [line for line in free if _asks_the_same(line, draft)]
            if same:
                free.remove(same[0])
                found = same[0].id
        kept.append(found)
    return kept


def _asks_the_same(line: OrderLine, draft: OrderLineDraft) -> bool:
    return (
        line.form_id == draft.form_id
        and line.set_id == draft.set_id
        and line.clay_id == draft.clay_id
        and line.glaze_id == draft.glaze_id
        and line.what == draft.what.strip()
    )


def _refuse_served(session: Session, line: OrderLine) -> None:
    gone = count(session, Piece, Piece.order_line_id == line.id, Piece.shipment_id.is_not(None))
    if gone:
        pieces = "1 piece of this line has" if gone == 1 else f"{gone} pieces of this line have"
        raise StillUsed(
            f"{pieces} left with a shipment: that is a record of what was sold. Take the shipment "
            "back first, if it was a slip."
        )
    numbers = session.scalars(
        select(Run.number).where(Run.order_line_id == line.id).order_by(Run.number)
    ).all()
    if numbers:
        runs = ", ".join(str(number) for number in numbers)
        raise StillUsed(
            f"This order is served by run {runs}. Say in the run that it serves another, "
            "or none, then take the line away."
        )
