"""A span looked back on: what was made, fired, sold and lost, and what was learned.

Customers are left out unless they are asked for: no label, no contact, no note of an order; and
sentences that name one go too, counted in ``Review.left_out``.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final

from sqlalchemy import and_, exists, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.money import add_up
from studiolog.craft.spans import Span
from studiolog.craft.words import FIRING_KINDS, STAGES
from studiolog.journal.customer_names import CustomerNames, read_customer_names
from studiolog.journal.firing_energy import read_energy_of
from studiolog.journal.review_notes import (
    AskedQuestion,
    Note,
    TestedPlan,
    read_lessons,
    read_open_questions,
    read_tests,
)
from studiolog.journal.review_pairs import Pair, read_pairs
from studiolog.journal.studio import read_currency, read_studio
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.orders import Order, OrderLine, SetPart, Shipment
from studiolog.records.pieces import Piece, Placement, Run, StageChange

_NO_FORM: Final = "other pieces"
_CENT: Final = Decimal("0.01")


@dataclass(frozen=True)
class Compared:
    """A figure of the span beside that of the span before."""

    now: int
    before: int


@dataclass(frozen=True)
class MadeForm:
    """Ware begun of one form, in so many runs, and how many were begun in the span before."""

    form: str
    pieces: int
    runs: int
    before: int


@dataclass(frozen=True)
class FiredKind:
    """Firings of one kind. ``kwh`` is the energy of those of which it is known (``metered``)."""

    kind: str
    firings: int
    pieces: int
    kwh: float | None
    metered: int


@dataclass(frozen=True)
class SoldForm:
    """Pieces of one form that left with a shipment, those that broke on the way left out: they are
    owed again, and told as lost. ``amount`` is by the prices of the order lines; ``unpriced``
    pieces had none. ``whom`` is empty unless customers are asked for."""

    form: str
    pieces: int
    amount: Decimal | None
    unpriced: int
    whom: tuple[str, ...] = ()


@dataclass(frozen=True)
class LostPieces:
    """So many lost at one stage for one cause."""

    stage: str
    why: str
    pieces: int


@dataclass(frozen=True)
class Review:
    """A span and all that happened in it. ``left_out`` counts what named a customer."""

    studio: str
    currency: str
    span: Span
    before: Span
    made: tuple[MadeForm, ...]
    tests_made: Compared
    fired: tuple[FiredKind, ...]
    sold: tuple[SoldForm, ...]
    lost: tuple[LostPieces, ...]
    pieces_made: Compared
    firings: Compared
    pieces_fired: Compared
    pieces_sold: Compared
    pieces_lost: Compared
    taken: Decimal | None
    taken_before: Decimal | None
    pairs: tuple[Pair, ...]
    more_pairs: int
    notes: tuple[Note, ...]
    questions: tuple[AskedQuestion, ...]
    tests: tuple[TestedPlan, ...]
    customers: bool
    left_out: int

    @property
    def empty(self) -> bool:
        """Whether nothing at all happened in the span; what is still open does not count."""
        counts = (self.pieces_made, self.tests_made, self.firings, self.pieces_fired,
                  self.pieces_sold, self.pieces_lost)  # fmt: skip
        settled = any(not one.open for one in self.questions)
        return not (
            any(one.now for one in counts) or self.pairs or self.notes or self.tests or settled
        )


def read_review(
    session: Session, first_on: date, last_on: date, *, customers: bool = False
) -> Review:
    """Look back on a span, both days included. Raises `UserProblem` where it has no days."""
    span = Span(first_on, last_on)
    earlier = span.before()
    names = CustomerNames() if customers else read_customer_names(session)
    made, made_before = _made(session, span), _made(session, earlier)
    tests, tests_before = _tests(session, span), _tests(session, earlier)
    fired, fired_before = _fired(session, span), _fired(session, earlier, with_energy=False)
    sold = _sold(session, span, names, customers)
    sold_before = _sold(session, earlier, CustomerNames(), False)
    lost, lost_before = _lost(session, span, names), _lost(session, earlier, CustomerNames())
    pairs, more = read_pairs(session, span, names)
    notes = read_lessons(session, span, names)
    questions = read_open_questions(session, span, names)
    plans = read_tests(session, span, names)
    return Review(
        read_studio(session).name,
        read_currency(session),
        span,
        earlier,
        tuple(
            MadeForm(names.masked(form), pieces, runs, made_before.get(form, (0, 0))[0])
            for form, (pieces, runs) in sorted(made.items(), key=lambda one: (-one[1][0], one[0]))
        ),
        Compared(tests, tests_before),
        fired,
        sold,
        lost,
        Compared(_sum(made), _sum(made_before)),
        Compared(sum(one.firings for one in fired), sum(one.firings for one in fired_before)),
        Compared(sum(one.pieces for one in fired), sum(one.pieces for one in fired_before)),
        Compared(sum(one.pieces for one in sold), sum(one.pieces for one in sold_before)),
        Compared(sum(one.pieces for one in lost), sum(one.pieces for one in lost_before)),
        _taken(sold),
        _taken(sold_before),
        pairs,
        more,
        notes,
        questions,
        plans,
        customers,
        names.left_out,
    )


def _sum(made: dict[str, tuple[int, int]]) -> int:
    return sum(pieces for pieces, _ in made.values())


def _taken(sold: Sequence[SoldForm]) -> Decimal | None:
    amounts = [one.amount for one in sold if one.amount is not None]
    return add_up(amounts) if amounts else None


def moments(span: Span) -> tuple[datetime, datetime]:
    """From the first moment of a span to the first after it."""
    return (
        datetime.combine(span.first_on, time()),
        datetime.combine(span.last_on + timedelta(days=1), time()),
    )


def _made_in(span: Span) -> Any:
    on = func.coalesce(Piece.made_on, Run.made_on)
    return and_(on >= span.first_on, on <= span.last_on)


def _made(session: Session, span: Span) -> dict[str, tuple[int, int]]:
    """Ware begun by form, or by its own title: pieces and runs. Tests and tools are no ware."""
    # Grouped by its label: PostgreSQL takes two placeholders for two expressions.
    name = func.coalesce(Form.name, func.nullif(Piece.title, ""), _NO_FORM).label("ware_name")
    rows = session.execute(
        select(name, func.count(Piece.id), func.count(Piece.run_id.distinct()))
        .select_from(Piece)
        .outerjoin(Run, Run.id == Piece.run_id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(_made_in(span), Piece.kind == "ware", _no_test())
        .group_by("ware_name")
    )
    return {form: (pieces, runs) for form, pieces, runs in rows}


def _no_test() -> Any:
    return or_(Run.id.is_(None), Run.purpose != "test")


def _tests(session: Session, span: Span) -> int:
    asked = (
        select(func.count(Piece.id))
        .join(Run, Run.id == Piece.run_id)
        .where(_made_in(span), Run.purpose == "test")
    )
    return int(session.scalar(asked) or 0)


def _fired(session: Session, span: Span, with_energy: bool = True) -> tuple[FiredKind, ...]:
    since, until = moments(span)
    rows = session.execute(
        select(Firing.id, Firing.kind, func.count(Placement.id))
        .outerjoin(Placement, Placement.firing_id == Firing.id)
        .where(Firing.started_at >= since, Firing.started_at < until)
        .group_by(Firing.id, Firing.kind)
    ).all()
    energy = read_energy_of(session, [row.id for row in rows]) if with_energy and rows else {}
    found = []
    for kind in FIRING_KINDS:
        here = [(firing_id, pieces) for firing_id, of_kind, pieces in rows if of_kind == kind]
        if not here:
            continue
        used = [
            told.used.kwh
            for firing_id, _ in here
            if (told := energy.get(firing_id)) is not None and told.used is not None
        ]
        found.append(
            FiredKind(
                kind,
                len(here),
                sum(pieces for _, pieces in here),
                sum(used) if used else None,
                len(used),
            )
        )
    return tuple(found)


def _sold(
    session: Session, span: Span, names: CustomerNames, customers: bool
) -> tuple[SoldForm, ...]:
    """What left with shipments, by form, with what its order lines ask for it."""
    rows = session.execute(
        select(
            func.coalesce(Form.name, func.nullif(OrderLine.what, ""), _NO_FORM).label("sold_form"),
            OrderLine.price,
            OrderLine.set_id,
            Order.whom,
            func.count(Piece.id).label("pieces"),
        )
        .select_from(Piece)
        .join(Shipment, Shipment.id == Piece.shipment_id)
        .join(Order, Order.id == Shipment.order_id)
        .outerjoin(OrderLine, OrderLine.id == Piece.order_line_id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(
            Shipment.shipped_on >= span.first_on,
            Shipment.shipped_on <= span.last_on,
            Piece.stage != "lost",
        )
        .group_by("sold_form", OrderLine.price, OrderLine.set_id, Order.whom)
    ).all()
    sets = {row.set_id for row in rows if row.set_id is not None}
    in_set = {
        set_id: int(pieces)
        for set_id, pieces in session.execute(
            select(SetPart.set_id, func.sum(SetPart.each))
            .where(SetPart.set_id.in_(sets))
            .group_by(SetPart.set_id)
        )
    }
    amounts: dict[str, list[Decimal]] = defaultdict(list)
    counts: dict[str, int] = defaultdict(int)
    unpriced: dict[str, int] = defaultdict(int)
    whom: dict[str, dict[str, None]] = defaultdict(dict)
    for row in rows:
        counts[row.sold_form] += row.pieces
        whom[row.sold_form][row.whom] = None
        if row.price is None:
            unpriced[row.sold_form] += row.pieces
            continue
        # A set has one price; a piece of it is its share by count.
        each = row.price / in_set.get(row.set_id, 1) if row.set_id is not None else row.price
        amounts[row.sold_form].append(each * row.pieces)
    return tuple(
        SoldForm(
            names.masked(form),
            pieces,
            add_up(amounts[form]).quantize(_CENT) if amounts[form] else None,
            unpriced[form],
            tuple(sorted(whom[form])) if customers else (),
        )
        for form, pieces in sorted(counts.items(), key=lambda one: (-one[1], one[0]))
    )


def _lost(session: Session, span: Span, names: CustomerNames) -> tuple[LostPieces, ...]:
    """Ware that was lost, by stage and cause: a test tile that broke is no ware."""
    since, until = moments(span)
    order = list(STAGES)
    in_span = exists().where(
        StageChange.piece_id == Piece.id,
        StageChange.stage == "lost",
        StageChange.at >= since,
        StageChange.at < until,
    )
    rows = session.execute(
        select(Piece.lost_at, Piece.lost_why, func.count(Piece.id))
        .outerjoin(Run, Run.id == Piece.run_id)
        .where(Piece.stage == "lost", Piece.kind == "ware", _no_test(), in_span)
        .group_by(Piece.lost_at, Piece.lost_why)
    ).all()
    found: dict[tuple[str, str], int] = defaultdict(int)
    for stage, why, pieces in rows:
        found[stage or "", names.without(why.strip())] += pieces
    return tuple(
        LostPieces(stage, why, pieces)
        for (stage, why), pieces in sorted(
            found.items(),
            key=lambda one: (order.index(one[0][0]) if one[0][0] else -1, -one[1], one[0][1]),
        )
    )
