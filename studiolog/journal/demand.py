"""What is owed: every open line of an order and every part of a set, with what there is for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import and_, or_, select
from sqlalchemy.orm import Session

from studiolog.journal.held_pieces import Progress, count_for_lines, count_for_parts
from studiolog.records.forms import Form
from studiolog.records.orders import Order, OrderLine, SetPart, WareSet


@dataclass(frozen=True)
class Demand:
    """So many of a form in a clay and a glaze, and how far they are.

    A line that asks for a set is told part by part: each has the ``line_id`` of that line and its
    own ``part_id``. A set nobody ordered has no line; its ``promised_on`` is the day it is due.
    ``wanted`` counts pieces. ``progress`` has every count of ``held_pieces``: ``at_hand`` by stage,
    ``by_run`` by run and stage, ``shipped``, ``lost``, ``allocated``, ``to_start``, ``spare``.
    """

    line_id: int | None
    part_id: int | None
    order_id: int | None
    order_number: int | None
    whom: str
    kind: str
    ordered_on: date | None
    promised_from: date | None
    promised_on: date | None
    promise_words: str
    set_id: int | None
    set_name: str
    form_id: int | None
    form_name: str
    clay_id: int | None
    glaze_id: int | None
    what: str
    progress: Progress
    overdue: bool

    @property
    def wanted(self) -> int:
        return self.progress.wanted

    @property
    def is_made_elsewhere(self) -> bool:
        """Whether it is bought or lent: a part of a set without a form, of which nothing was made.

        "String with its lamps, bought" belongs to the set, but takes no clay, hands or kiln.
        """
        return self.part_id is not None and self.form_id is None and not self.progress.made

    @property
    def by_stage(self) -> Mapping[str, int]:
        """Pieces at hand by stage."""
        return self.progress.at_hand

    @property
    def to_start(self) -> int:
        """Pieces nobody has begun."""
        return self.progress.to_start

    @property
    def title(self) -> str:
        """What is owed, in words."""
        return ", ".join(part for part in (self.form_name, self.what) if part) or "not said what"

    @property
    def for_whom(self) -> str:
        """What it is for, in words: "order 31, Quay café", or the name of a set."""
        if self.order_number is None:
            return self.set_name
        return f"order {self.order_number}, {self.whom}"


def read_demand(session: Session, today: date) -> tuple[Demand, ...]:
    """Every line of an open order and every part of a set in work that is not all shipped.

    The soonest promise comes first, what has none last. A set that stands whole and finished and
    was ordered by nobody is owed no more. What is overdue on ``today`` says so.
    """
    lines = session.execute(
        select(
            OrderLine.id, OrderLine.wanted, OrderLine.form_id, OrderLine.clay_id,
            OrderLine.glaze_id, OrderLine.set_id, OrderLine.what, Form.name.label("form"),
            Order.id.label("order_id"), Order.number, Order.whom, Order.kind, Order.ordered_on,
            Order.promised_from, Order.promised_on, Order.promise_words,
        )
        .join(Order, Order.id == OrderLine.order_id)
        .outerjoin(Form, Form.id == OrderLine.form_id)
        .where(Order.state == "open")
    ).all()  # fmt: skip
    asking = {row.set_id: row for row in lines if row.set_id is not None}
    plain = [row for row in lines if row.set_id is None]
    held = count_for_lines(session, [row.id for row in plain])
    found = []
    for row in plain:
        progress = Progress(row.wanted, held.get(row.id, ()))
        if progress.left:
            found.append(_demand(row, progress, today))
    found += _of_sets(session, asking, today)
    return tuple(sorted(found, key=_soonest))


def is_anything_open(session: Session) -> bool:
    """Whether an open order asks for anything, or a set is in work: else nothing is owed."""
    lines = select(OrderLine.id).join(Order, Order.id == OrderLine.order_id)
    parts = select(SetPart.id).join(WareSet, WareSet.id == SetPart.set_id)
    asked = lines.where(Order.state == "open").limit(1)
    in_work = parts.where(WareSet.archived.is_(False)).limit(1)
    return session.scalar(asked) is not None or session.scalar(in_work) is not None


def _soonest(one: Demand) -> tuple[date, int, int, int]:
    never = date.max
    return (one.promised_on or never, one.order_number or 0, one.line_id or 0, one.part_id or 0)


def _is_past(day: date | None, today: date) -> bool:
    return day is not None and day < today


def _demand(row: Any, progress: Progress, today: date) -> Demand:
    return Demand(
        row.id, None, row.order_id, row.number, row.whom, row.kind, row.ordered_on,
        row.promised_from, row.promised_on, row.promise_words, None, "",
        row.form_id, row.form or "", row.clay_id, row.glaze_id, row.what, progress,
        _is_past(row.promised_on, today),
    )  # fmt: skip


def _of_sets(session: Session, asking: Mapping[int, Any], today: date) -> list[Demand]:
    closed = select(OrderLine.set_id).join(Order, Order.id == OrderLine.order_id).where(
        Order.state != "open", OrderLine.set_id.is_not(None)
    )  # fmt: skip
    in_work = and_(WareSet.archived.is_(False), WareSet.id.not_in(closed))
    rows = session.execute(
        select(SetPart, WareSet, Form.name)
        .join(WareSet, WareSet.id == SetPart.set_id)
        .outerjoin(Form, Form.id == SetPart.form_id)
        .where(or_(in_work, WareSet.id.in_(asking)))
        .order_by(SetPart.set_id, SetPart.position, SetPart.id)
    ).all()
    held = count_for_parts(session, [part.id for part, _, _ in rows])
    found = []
    for part, ware, form in rows:
        line = asking.get(ware.id)
        sets = max(ware.wanted, line.wanted if line else 0)
        progress = Progress(part.each * sets, held.get(part.id, ()))
        stands = line is None and progress.finished >= progress.wanted
        if not progress.left or stands:
            continue
        due_on = (line.promised_on if line else None) or ware.due_on
        found.append(
            Demand(
                line.id if line else None,
                part.id,
                line.order_id if line else None,
                line.number if line else None,
                line.whom if line else "",
                line.kind if line else "house",
                line.ordered_on if line else None,
                line.promised_from if line else None,
                due_on,
                line.promise_words if line else "",
                ware.id,
                ware.name,
                part.form_id,
                form or "",
                part.clay_id,
                part.glaze_id,
                part.what,
                progress,
                _is_past(due_on, today),
            )
        )
    return found
