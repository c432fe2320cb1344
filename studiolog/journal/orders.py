"""Orders as they are taken and changed: whom for, what kind, promised by when, how they stand."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.craft.ware.promise_words import PromiseWindow, read_promise
from studiolog.craft.words import ORDER_KINDS
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.order_page import (
    OrderLinePage,
    OrderList,
    OrderPage,
    ServingRun,
    count_stages,
    list_orders,
    read_order_page,
)
from studiolog.journal.writing import add, change, clean_name, count, get, next_number, remove
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.orders import Order, Shipment

__all__ = [
    "ORDER_STATES",
    "OrderDraft",
    "OrderLineDraft",
    "OrderLinePage",
    "OrderList",
    "OrderPage",
    "ServingRun",
    "add_order",
    "change_order",
    "count_stages",
    "delete_order",
    "list_orders",
    "read_order_page",
    "set_order_lines",
    "set_promise",
]

ORDER_STATES: Mapping[str, str] = {
    "open": "open",
    "delivered": "delivered",
    "dropped": "dropped",
}
"""State stored and the word shown. Dropped: no longer owed."""


@dataclass(frozen=True, kw_only=True)
class OrderDraft:
    """An order as it is entered. ``number`` None takes the next free one.

    The promise is given as its days, or as ``promise_words`` alone, from which they are read.
    """

    whom: str
    number: int | None = None
    promised_on: date | None = None
    state: str = "open"
    notes: str = ""
    lines: tuple[OrderLineDraft, ...] = ()
    kind: str = "pre_order"
    contact: str = ""
    ordered_on: date | None = None
    promised_from: date | None = None
    promise_words: str = ""


def add_order(session: Session, draft: OrderDraft, today: date | None = None) -> int:
    """Enter an order with its lines; returns its id.

    A promise in words counts from the day the order was taken, else from ``today``. Raises
    `UserProblem` for a promise that ends before the day it was given, where that day is known.
    """
    number = draft.number if draft.number is not None else next_number(session, Order.number)
    _check_number(session, number)
    _check_state(draft.state)
    _check_kind(draft.kind)
    given_on = draft.ordered_on or today
    window = PromiseWindow(draft.promised_from, draft.promised_on) if draft.promised_on else None
    if window is None and draft.promise_words.strip():
        if given_on is None:
            raise UserProblem("Say on which day the order was taken: its promise counts from it.")
        window = read_promise(draft.promise_words, given_on)
    if draft.ordered_on and today:
        _check_taken(draft.ordered_on, today)
    if window is not None and given_on is not None:
        _check_given(window.last, given_on)
    order_id = add(
        session,
        Order(
            number=number,
            whom=clean_name(draft.whom, "whom", "name or label of who ordered"),
            promised_on=window.last if window else None,
            state=draft.state,
            notes=draft.notes,
            kind=draft.kind,
            contact=draft.contact.strip(),
            ordered_on=draft.ordered_on,
            promised_from=window.first if window else None,
            promise_words=" ".join(draft.promise_words.split()),
        ),
    )
    set_order_lines(session, order_id, draft.lines)
    return order_id


def change_order(
    session: Session,
    order_id: int,
    version: int | None = None,
    *,
    today: date | None = None,
    **fields: Any,
) -> None:
    """Change fields of an order (its lines: see `set_order_lines`; its promise: `set_promise`).

    A day given as ``promised_on`` is a promise of that one day. A promise that is overdue is no
    reason to refuse a change of anything else.
    """
    if "whom" in fields:
        fields["whom"] = clean_name(fields["whom"], "whom", "name or label of who ordered")
    if "number" in fields:
        _check_number(session, fields["number"], but=order_id)
    if "state" in fields:
        _check_state(fields["state"])
    if "kind" in fields:
        _check_kind(fields["kind"])
    if "contact" in fields:
        fields["contact"] = fields["contact"].strip()
    if fields.get("ordered_on") is not None:
        if today is not None:
            _check_taken(fields["ordered_on"], today)
        promised_on = get(session, Order, order_id).promised_on
        if promised_on is not None and fields["ordered_on"] > promised_on:
            sentence = (
                f"The order is promised by {write_day(promised_on)}: it can't have been taken "
                "after that."
            )
            raise UserProblem(sentence, {"ordered_on": sentence})
    if "promised_on" in fields:
        fields = {"promised_from": None, "promise_words": ""} | fields
        if fields["promised_on"] is not None and today is not None:
            _check_given(fields["promised_on"], today)
        first, last = fields["promised_from"], fields["promised_on"]
        if first is not None and (last is None or first > last):
            sentence = "A promise begins before it ends: give its first and its last day in order."
            raise UserProblem(sentence, {"promised_from": sentence})
    change(session, Order, order_id, version, **fields)


def set_promise(
    session: Session, order_id: int, words: str, today: date, version: int | None = None
) -> PromiseWindow | None:
    """Give an order a promise in words, in place of the one it had; no words take it away.

    The first promise counts from the day the order was taken, if that is known; a later one from
    ``today``, the day it is given. Raises `UserProblem` as `read_promise` does.
    """
    order = get(session, Order, order_id, version)
    first = order.promised_on is None and order.ordered_on is not None
    window = read_promise(words, order.ordered_on if first and order.ordered_on else today)
    change(
        session,
        Order,
        order_id,
        version,
        promised_from=window.first if window else None,
        promised_on=window.last if window else None,
        promise_words=" ".join(words.split()),
    )
    return window


def _check_number(session: Session, number: int, but: int = 0) -> None:
    if number <= 0:
        raise UserProblem("An order number is 1 or more.", {"number": "1 or more"})
    if count(session, Order, Order.number == number, Order.id != but):
        sentence = f"There is an order {number} already."
        raise UserProblem(sentence, {"number": sentence})


def _check_state(state: str) -> None:
    if state not in ORDER_STATES:
        raise UserProblem(f"“{state}” is not a state: {', '.join(ORDER_STATES.values())}.")


def _check_kind(kind: str) -> None:
    if kind not in ORDER_KINDS:
        raise UserProblem(f"“{kind}” is no kind of order: {', '.join(ORDER_KINDS.values())}.")


def _check_taken(ordered_on: date, today: date) -> None:
    if ordered_on > today:
        sentence = f"{write_day(ordered_on)} is still to come: an order is taken today or before."
        raise UserProblem(sentence, {"ordered_on": sentence})


def _check_given(last: date, given_on: date) -> None:
    if last < given_on:
        sentence = (
            f"{write_day(last)} is before {write_day(given_on)}, the day the promise is given: a "
            "promise lies ahead."
        )
        raise UserProblem(sentence, {"promised_on": sentence})


def delete_order(session: Session, order_id: int) -> None:
    """Delete an order no run serves and of which nothing has left. Raises `StillUsed`."""
    order = get(session, Order, order_id)
    days = session.scalars(
        select(Shipment.shipped_on)
        .where(Shipment.order_id == order_id)
        .order_by(Shipment.shipped_on)
    ).all()
    if days:
        more = "once more" if len(days) == 2 else f"{len(days) - 1} times more"
        when = write_day(days[0]) + (f" and {more}" if len(days) > 1 else "")
        raise StillUsed(
            f"Order {order.number} can't be deleted: pieces left with it on {when}. Take its "
            "shipments back first if that was a slip; to forget who ordered, wipe the customer."
        )
    set_order_lines(session, order_id, ())
    remove(session, order)
