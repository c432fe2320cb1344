"""Orders: what is owed, to whom, by when, and what has been made of it so far."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from studiolog.craft.money import add_up
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.journal.writing import add, change, clean_name, count, get, next_number, remove
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.forms import Form
from studiolog.records.orders import Order, OrderLine
from studiolog.records.pieces import Piece, Run

ORDER_STATES: Mapping[str, str] = {
    "open": "open",
    "delivered": "delivered",
    "dropped": "dropped",
}
"""State stored and the word shown. Dropped: no longer owed."""


@dataclass(frozen=True, kw_only=True)
class OrderLineDraft:
    """So many of a form, or of what ``what`` says. ``line_id`` names the line it changes."""

    wanted: int
    form_id: int | None = None
    what: str = ""
    price: Decimal | None = None
    line_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class OrderDraft:
    """An order as it is entered. ``number`` None takes the next free one."""

    whom: str
    number: int | None = None
    promised_on: date | None = None
    state: str = "open"
    notes: str = ""
    lines: tuple[OrderLineDraft, ...] = ()


@dataclass(frozen=True)
class ServingRun:
    """A run made for an order line. ``counts`` are its pieces by stage."""

    run_id: int
    number: int
    title: str
    counts: Mapping[str, int]


@dataclass(frozen=True)
class OrderLinePage:
    """A line with what has been made for it.

    ``made`` counts every piece of its runs, lost ones included; ``counts`` are the same by stage.
    ``height_mm`` and ``across_mm`` are the form's, fired.
    """

    line_id: int
    form_id: int | None
    form_name: str
    profile: Profile | None
    shape: str
    height_mm: float | None
    across_mm: float | None
    what: str
    wanted: int
    price: Decimal | None
    runs: tuple[ServingRun, ...]
    counts: Mapping[str, int]

    @property
    def title(self) -> str:
        """What the line asks for, in words."""
        if self.form_name and self.what:
            return f"{self.form_name}, {self.what}"
        return self.form_name or self.what or "not said what"

    @property
    def made(self) -> int:
        return sum(self.counts.values())

    @property
    def finished(self) -> int:
        return self.counts.get("finished", 0)

    @property
    def lost(self) -> int:
        return self.counts.get("lost", 0)

    @property
    def in_work(self) -> int:
        """Made, neither finished nor lost."""
        return self.made - self.finished - self.lost

    @property
    def short(self) -> int:
        """How many still have to be started, if none in work is lost."""
        return max(0, self.wanted - self.finished - self.in_work)


@dataclass(frozen=True)
class OrderPage:
    """Everything of one order; a list shows the same."""

    order_id: int
    version: int
    number: int
    whom: str
    promised_on: date | None
    state: str
    notes: str
    lines: tuple[OrderLinePage, ...]

    @property
    def wanted(self) -> int:
        return sum(line.wanted for line in self.lines)

    @property
    def finished(self) -> int:
        """Finished pieces, at most as many as each line wants."""
        return sum(min(line.finished, line.wanted) for line in self.lines)

    @property
    def price(self) -> Decimal | None:
        """The sum of the lines; None while a line has no price."""
        if not self.lines or any(line.price is None for line in self.lines):
            return None
        return add_up((line.price or Decimal(0)) * line.wanted for line in self.lines)


@dataclass(frozen=True)
class OrderList:
    """One page of orders, those open first by their promise."""

    total: int
    start: int
    orders: tuple[OrderPage, ...]
    by_state: Mapping[str, int] = field(default_factory=dict)


def add_order(session: Session, draft: OrderDraft) -> int:
    """Enter an order with its lines; returns its id."""
    number = draft.number if draft.number is not None else next_number(session, Order.number)
    _check_number(session, number)
    _check_state(draft.state)
    order_id = add(
        session,
        Order(
            number=number,
            whom=clean_name(draft.whom, "whom", "name or label of who ordered"),
            promised_on=draft.promised_on,
            state=draft.state,
            notes=draft.notes,
        ),
    )
    set_order_lines(session, order_id, draft.lines)
    return order_id


def change_order(
    session: Session, order_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of an order (its lines: see `set_order_lines`)."""
    if "whom" in fields:
        fields["whom"] = clean_name(fields["whom"], "whom", "name or label of who ordered")
    if "number" in fields:
        _check_number(session, fields["number"], but=order_id)
    if "state" in fields:
        _check_state(fields["state"])
    change(session, Order, order_id, version, **fields)


def _check_number(session: Session, number: int, but: int = 0) -> None:
    if number <= 0:
        raise UserProblem("An order number is 1 or more.", {"number": "1 or more"})
    if count(session, Order, Order.number == number, Order.id != but):
        sentence = f"There is an order {number} already."
        raise UserProblem(sentence, {"number": sentence})


def _check_state(state: str) -> None:
    if state not in ORDER_STATES:
        raise UserProblem(f"“{state}” is not a state: {', '.join(ORDER_STATES.values())}.")


def set_order_lines(session: Session, order_id: int, lines: Sequence[OrderLineDraft]) -> list[int]:
    """Write the lines of an order in place of those it had; returns their ids in order.

    A draft keeps the line it names by ``line_id``, else the first free line that asks for the
    same, since runs refer to lines. Raises `StillUsed` if a line that a run serves would go.
    """
    get(session, Order, order_id)
    for line in lines:
        _check_line(session, line)
    stored = {
        line.id: line
        for line in session.scalars(
            select(OrderLine)
            .where(OrderLine.order_id == order_id)
            .order_by(OrderLine.position, OrderLine.id)
        )
    }
    kept = _match_lines(lines, stored)
    for line_id, old in stored.items():
        if line_id not in kept:
            _refuse_served(session, old)
            remove(session, old)
    ids: list[int] = []
    for position, (draft, kept_id) in enumerate(zip(lines, kept, strict=True), start=1):
        fields: dict[str, Any] = {
            "position": position,
            "wanted": draft.wanted,
            "form_id": draft.form_id,
            "what": draft.what.strip(),
            "price": draft.price,
        }
        if kept_id is None:
            ids.append(add(session, OrderLine(order_id=order_id, **fields)))
        else:
            change(session, OrderLine, kept_id, None, **fields)
            ids.append(kept_id)
    return ids


def _check_line(session: Session, line: OrderLineDraft) -> None:
    if line.wanted < 1:
        raise UserProblem("A line asks for one piece or more.", {"wanted": "1 or more"})
    if line.price is not None and line.price < 0:
        raise UserProblem("A price is 0 or more.", {"price": "0 or more"})
    if line.form_id is None and not line.what.strip():
        raise UserProblem("Say what the line asks for.", {"what": "a form, or words"})
    if line.form_id is not None:
        get(session, Form, line.form_id)


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
            same = [
                line
                for line in free
                if line.form_id == draft.form_id and line.what == draft.what.strip()
            ]
            if same:
                free.remove(same[0])
                found = same[0].id
        kept.append(found)
    return kept


def _refuse_served(session: Session, line: OrderLine) -> None:
    numbers = session.scalars(
        select(Run.number).where(Run.order_line_id == line.id).order_by(Run.number)
    ).all()
    if numbers:
        runs = ", ".join(str(number) for number in numbers)
        raise StillUsed(
            f"This order is served by run {runs}. Say in the run that it serves another, "
            "or none, then take the line away."
        )


def delete_order(session: Session, order_id: int) -> None:
    """Delete an order no run serves. Raises `StillUsed` naming the runs."""
    order = get(session, Order, order_id)
    set_order_lines(session, order_id, ())
    remove(session, order)


def list_orders(
    session: Session, state: str | None = None, start: int = 0, limit: int = 200
) -> OrderList:
    """Orders with their lines: open ones first, by promised date, those without one last."""
    by_state = {
        str(row[0]): int(row[1])
        for row in session.execute(select(Order.state, func.count()).group_by(Order.state))
    }
    # Closed orders run from the newest; their promise matters no more.
    opened = Order.state == "open"
    asked = select(Order).order_by(
        case((opened, 0), else_=1),
        case((opened & Order.promised_on.is_(None), 1), else_=0),
        case((opened, Order.promised_on), else_=None),
        case((opened, Order.number), else_=-Order.number),
    )
    total = sum(by_state.values())
    if state is not None:
        asked = asked.where(Order.state == state)
        total = by_state.get(state, 0)
    orders = session.scalars(asked.offset(start).limit(limit)).all()
    return OrderList(total, start, _pages(session, orders), by_state)


def read_order_page(session: Session, order_id: int) -> OrderPage | None:
    """The page of an order; None if it is gone."""
    order = session.get(Order, order_id)
    return None if order is None else _pages(session, [order])[0]


def _pages(session: Session, orders: Sequence[Order]) -> tuple[OrderPage, ...]:
    lines: dict[int, list[OrderLinePage]] = defaultdict(list)
    rows = session.execute(
        select(OrderLine, Form)
        .outerjoin(Form, Form.id == OrderLine.form_id)
        .where(OrderLine.order_id.in_([order.id for order in orders]))
        .order_by(OrderLine.position, OrderLine.id)
    ).all()
    serving = _serving_runs(session, [line.id for line, _ in rows])
    for line, form in rows:
        runs = serving.get(line.id, ())
        counts: Counter[str] = Counter()
        for run in runs:
            counts.update(run.counts)
        lines[line.order_id].append(
            OrderLinePage(
                line.id,
                line.form_id,
                form.name if form else "",
                profile_from_text(form.profile) if form else None,
                form.shape if form else "thrown",
                form.fired_height_mm if form else None,
                form.fired_across_mm if form else None,
                line.what,
                line.wanted,
                line.price,
                runs,
                dict(counts),
            )
        )
    return tuple(
        OrderPage(
            order.id,
            order.version,
            order.number,
            order.whom,
            order.promised_on,
            order.state,
            order.notes,
            tuple(lines[order.id]),
        )
        for order in orders
    )


def _serving_runs(
    session: Session, line_ids: Iterable[int]
) -> Mapping[int, tuple[ServingRun, ...]]:
    rows = session.execute(
        select(Run.id, Run.number, Run.title, Form.name, Run.order_line_id)
        .outerjoin(Form, Form.id == Run.form_id)
        .where(Run.order_line_id.in_(list(line_ids)))
        .order_by(Run.number)
    ).all()
    counts = count_stages(session, [row.id for row in rows])
    found: dict[int, tuple[ServingRun, ...]] = {}
    for row in rows:
        run = ServingRun(row.id, row.number, row.title or row.name or "", counts.get(row.id, {}))
        found[row.order_line_id] = (*found.get(row.order_line_id, ()), run)
    return found


def count_stages(session: Session, run_ids: Sequence[int]) -> Mapping[int, Mapping[str, int]]:
    """The pieces of runs by stage, numbered ones included, lost ones too."""
    counts: dict[int, dict[str, int]] = defaultdict(dict)
    for run_id, stage, pieces in session.execute(
        select(Piece.run_id, Piece.stage, func.count())
        .where(Piece.run_id.in_(list(run_ids)))
        .group_by(Piece.run_id, Piece.stage)
    ):
        if run_id is not None:
            counts[run_id][stage] = pieces
    return counts
