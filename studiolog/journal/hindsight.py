"""What would have been told of orders on the day they were taken, against the day they were ready.

For each delivered order the studio is put back as it stood that morning: the times, losses and
firings known by then, the orders open then, and every piece at the stage it had. What pieces were
set aside for later, days away noted later, and the day promised by now are taken as they are now.
An order is ready when the last piece that left with it was finished; when it was fetched is not
what is foretold. One filled from what stood finished tells nothing, and is left out.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.craft.ware.count_words import say_counted
from studiolog.craft.ware.promise import ENTERS, STAYS, Line, Lot, Minutes, PromiseProblem, simulate
from studiolog.journal.held_pieces import counting_for
from studiolog.journal.limits import read_limits
from studiolog.journal.promise_plan import (
    FormPlan,
    kiln_plan,
    lots_to_throw,
    read_form_plans,
    read_kilns,
)
from studiolog.journal.stage_times import StageTimes, read_stage_times
from studiolog.journal.studio_days import read_studio_times
from studiolog.records.orders import Order, OrderLine, Shipment
from studiolog.records.pieces import Piece, Run, StageChange

MOST_ORDERS = 24
"""The newest delivered orders are looked back on."""

LOW, HIGH = 0.1, 0.9
"""The likely span leaves out one future in ten at either end."""

_FUTURES = 2_000
_ENOUGH = 10
_MORNING = time(9)
_OTHER_KEY = 1 << 60


@dataclass(frozen=True)
class PastOrder:
    """A delivered order with the problem as it was on the day it was taken; ``keys`` its lines.

    ``ready_on`` is when the last piece that left was finished; ``left_on`` where nobody noted that.
    """

    order_id: int
    number: int
    whom: str
    taken_on: date
    ready_on: date
    left_on: date
    problem: PromiseProblem
    keys: tuple[int, ...]


@dataclass(frozen=True)
class Hindsight:
    """What would have been told of an order, by its slowest line; None lies beyond all telling."""

    order_id: int
    number: int
    whom: str
    taken_on: date
    ready_on: date
    left_on: date
    low_on: date | None
    middle_on: date | None
    high_on: date | None

    @property
    def fell(self) -> str:
        """Where its day lies: "sooner" than the likely span, "within" it or "later"."""
        if self.low_on is None or self.ready_on < self.low_on:
            return "sooner"
        return "later" if self.high_on is not None and self.ready_on > self.high_on else "within"


def read_past_orders(session: Session) -> tuple[PastOrder, ...]:
    """Delivered orders of which the day they were taken and the day they left are known.

    The newest first. An order that asks for a set is left out: of what it was made is told part by
    part, and parts change.
    """
    limits = read_limits(session)
    orders = _read_orders(session)
    known = sorted(
        (one for one in orders if one.state == "delivered" and one.left_on and not one.has_set),
        key=lambda one: (one.left_on or date.min, one.order_id),
        reverse=True,
    )
    if not known:
        return ()
    pieces = _read_pieces(session, [line.line_id for one in orders for line in one.lines])
    kilns = read_kilns(session)
    ready = _ready_days(known, pieces)
    chosen = [one for one in known if ready[one.order_id] > one.taken_on][:MOST_ORDERS]
    return tuple(
        _put_back(session, one, ready[one.order_id], orders, pieces, kilns, limits)
        for one in chosen
    )


def tell_hindsight(
    past: Sequence[PastOrder], going: Callable[[int, int], bool] | None = None
) -> tuple[Hindsight, ...] | None:
    """Draw the futures each order had on its day; None if it was called off."""
    found = []
    for done, one in enumerate(past):
        if going is not None and not going(done, len(past)):
            return None
        forecast = simulate(one.problem)
        if forecast is None:
            return None
        lines = [forecast.of(key) for key in one.keys]
        days = [_last(line.date_at(chance) for line in lines) for chance in (LOW, 0.5, HIGH)]
        found.append(
            Hindsight(one.order_id, one.number, one.whom, one.taken_on, one.ready_on, one.left_on,
                      *days)
        )  # fmt: skip
    return tuple(found)


def say_hindsight(told: Sequence[Hindsight]) -> str:
    """How many were ready within the likely span: "Of 8 delivered orders, 7 were ready within the
    span that would have been called likely on the day each was taken, 1 later."
    """
    if not told:
        return (
            "No delivered order tells of it yet: the day it was taken and the day it left must be "
            "known, and something of it made in between."
        )
    counts = Counter(one.fell for one in told)
    orders = say_counted(len(told), "delivered order")
    within = counts["within"]
    parts = [
        f"{within or 'none'} {'were' if within > 1 else 'was'} ready within the span that would "
        "have been called likely on the day each was taken"
    ]
    parts += [f"{counts[fell]} {fell}" for fell in ("sooner", "later") if counts[fell]]
    more = (
        "" if len(told) >= _ENOUGH else " That is too few to judge by: of ten, about eight should."
    )
    return f"Of {orders}, {', '.join(parts)}.{more}"


def _last(days: Iterable[date | None]) -> date | None:
    known = list(days)
    return None if None in known else max(day for day in known if day is not None)


@dataclass(frozen=True)
class _Line:
    line_id: int
    wanted: int
    form_id: int | None
    clay_id: int | None


@dataclass
class _Order:
    order_id: int
    number: int
    whom: str
    state: str
    taken_on: date
    promised_on: date | None
    left_on: date | None
    lines: list[_Line]
    has_set: bool = False

    def is_open_on(self, day: date) -> bool:
        """Whether it had been taken by then, and had not left."""
        if self.taken_on > day or self.state == "dropped":
            return False
        return self.state == "open" or (self.left_on is not None and self.left_on > day)


@dataclass(frozen=True)
class _Piece:
    """A piece with the stages it reached, in time; ``line_id`` is the line it counts for."""

    line_id: int | None
    run_id: int | None
    shipped_on: date | None
    stages: tuple[str, ...]
    at: tuple[datetime, ...]

    def stood(self, now: datetime) -> tuple[str, datetime] | None:
        """Its stage at a moment and since when; None before it was made."""
        place = bisect_right(self.at, now)
        return (self.stages[place - 1], self.at[place - 1]) if place else None


def _read_orders(session: Session) -> list[_Order]:
    left = (
        select(Shipment.order_id, func.max(Shipment.shipped_on).label("on"))
        .group_by(Shipment.order_id)
        .subquery()
    )
    found: dict[int, _Order] = {}
    for order, left_on, line in session.execute(
        select(Order, left.c.on, OrderLine)
        .join(OrderLine, OrderLine.order_id == Order.id)
        .outerjoin(left, left.c.order_id == Order.id)
        .where(Order.ordered_on.is_not(None))
        .order_by(Order.id, OrderLine.position)
    ):
        one = found.setdefault(
            order.id,
            _Order(order.id, order.number, order.whom, order.state, order.ordered_on,
                   order.promised_on, left_on, []),
        )  # fmt: skip
        if line.set_id is not None:
            one.has_set = True
        else:
            one.lines.append(_Line(line.id, line.wanted, line.form_id, line.clay_id))
    return list(found.values())


def _read_pieces(session: Session, line_ids: Sequence[int]) -> list[_Piece]:
    changes: dict[int, list[tuple[str, datetime]]] = defaultdict(list)
    for piece_id, stage, at in session.execute(
        select(StageChange.piece_id, StageChange.stage, StageChange.at)
        .join(Piece, Piece.id == StageChange.piece_id)
        .where(Piece.kind == "ware")
        .order_by(StageChange.piece_id, StageChange.at, StageChange.id)
    ):
        changes[piece_id].append((stage, at))
    counting = session.execute(
        select(Piece.id, func.coalesce(Piece.order_line_id, Run.order_line_id))
        .outerjoin(Run, Run.id == Piece.run_id)
        .where(counting_for(line_ids))
    )
    lines: dict[int, int | None] = {row[0]: row[1] for row in counting}
    shipped = session.execute(
        select(Piece.id, Piece.run_id, Shipment.shipped_on)
        .outerjoin(Shipment, Shipment.id == Piece.shipment_id)
        .where(Piece.kind == "ware")
    )
    return [
        _Piece(
            lines.get(piece_id),
            run_id,
            shipped_on,
            tuple(stage for stage, _ in changes[piece_id]),
            tuple(at for _, at in changes[piece_id]),
        )
        for piece_id, run_id, shipped_on in shipped
        if piece_id in changes
    ]


def _ready_days(orders: Sequence[_Order], pieces: Sequence[_Piece]) -> Mapping[int, date]:
    """When the last piece of each order that left was finished; else the day the order left."""
    order_of = {line.line_id: one for one in orders for line in one.lines}
    found: dict[int, date] = {}
    for piece in pieces:
        one = order_of.get(piece.line_id or 0)
        if one is None or piece.shipped_on is None:
            continue
        last = max(
            (at.date() for stage, at in zip(piece.stages, piece.at, strict=True)
             if stage == "finished"),
            default=piece.shipped_on,
        )  # fmt: skip
        found[one.order_id] = max(found.get(one.order_id, date.min), last)
    return {one.order_id: found.get(one.order_id, one.left_on or one.taken_on) for one in orders}


@dataclass
class _Day:
    """The studio on the morning of a day: pieces in hand by line, then by run and stage."""

    in_hand: Mapping[int | None, Mapping[tuple[int | None, str], tuple[int, datetime]]]
    shipped: Mapping[int, int]


def _stand(pieces: Sequence[_Piece], now: datetime, open_lines: set[int]) -> _Day:
    hand: dict[int | None, dict[tuple[int | None, str], tuple[int, datetime]]] = defaultdict(dict)
    shipped: dict[int, int] = defaultdict(int)
    for piece in pieces:
        stood = piece.stood(now)
        if stood is None or stood[0] not in ENTERS:
            continue
        line_id = piece.line_id if piece.line_id in open_lines else None
        if piece.shipped_on is not None and piece.shipped_on < now.date():
            if line_id is not None:
                shipped[line_id] += 1
            continue
        stage, since = stood
        count, youngest = hand[line_id].get((piece.run_id, stage), (0, since))
        hand[line_id][piece.run_id, stage] = (count + 1, max(youngest, since))
    return _Day(hand, shipped)


def _put_back(
    session: Session,
    order: _Order,
    ready_on: date,
    orders: Sequence[_Order],
    pieces: Sequence[_Piece],
    kilns: Mapping[int, set[str]],
    limits: Limits,
) -> PastOrder:
    day = order.taken_on
    now = datetime.combine(day, _MORNING)
    times = read_stage_times(session, limits, now)
    forms, any_form = read_form_plans(session, times, limits)
    by_form = {plan.form_id: plan for plan in forms}
    owed = sorted(
        (one for one in orders if one.is_open_on(day)),
        key=lambda one: (one.promised_on or date.max, one.number),
    )
    stands = _stand(pieces, now, {line.line_id for one in owed for line in one.lines})
    lines = [
        _line_then(line, one, by_form.get(line.form_id, any_form), stands, times, now, limits)
        for one in owed
        for line in one.lines
    ]
    problem = PromiseProblem(
        day,
        (*lines, *_others(stands, any_form)),
        kiln_plan(times.rhythm("bisque"), kilns, now),
        kiln_plan(times.rhythm("glaze"), kilns, now),
        read_studio_times(session, day, limits).work(limits["promise_pace"]),
        now.hour,
        min(_FUTURES, int(limits["promise_futures"])),
        1,
        int(limits["promise_horizon_days"]),
        limits["promise_confidence"],
    )
    keys = tuple(_key(line) for line in order.lines)
    return PastOrder(
        order.order_id, order.number, order.whom, day, ready_on, order.left_on or ready_on,
        problem, keys,
    )  # fmt: skip


def _key(line: _Line) -> int:
    return line.line_id << 24


def _line_then(
    line: _Line,
    order: _Order,
    plan: FormPlan,
    stands: _Day,
    times: StageTimes,
    now: datetime,
    limits: Limits,
) -> Line:
    key = _key(line)
    hand = stands.in_hand.get(line.line_id, {})
    wanted = max(0, line.wanted - stands.shipped.get(line.line_id, 0))
    stays = plan.line.stays
    if line.clay_id is not None:
        stays = tuple(times.usual(stage, plan.form_id, line.clay_id) for stage in STAYS)
    base = replace(plan.line, key=key, wanted=0, lots=(), stays=stays, promised_day=None)
    lots = tuple(
        Lot(_luck(key, run_id, stage), stage, count, (now - since).total_seconds() / 3600)
        for (run_id, stage), (count, since) in hand.items()
    )
    at_hand = sum(lot.pieces for lot in lots)
    thrown = lots_to_throw(
        key,
        max(0, wanted - at_hand),
        base,
        limits["promise_confidence"],
        int(limits["promise_run_pieces"]),
    )
    promised = None if order.promised_on is None else (order.promised_on - now.date()).days
    return replace(base, wanted=wanted, lots=(*lots, *thrown), promised_day=promised)


def _luck(key: int, run_id: int | None, stage: str) -> int:
    return (key * 1_000_003 + (run_id or 0) * 16 + ENTERS.index(stage) * 2) & (1 << 58) - 1


def _others(stands: _Day, plan: FormPlan) -> tuple[Line, ...]:
    """Ware in work that no open order waited for: it fills the kilns."""
    counts: dict[str, int] = defaultdict(int)
    for (_, stage), (count, _) in stands.in_hand.get(None, {}).items():
        if stage in ENTERS[1:6]:
            counts[stage] += count
    lots = tuple(Lot(_OTHER_KEY + ENTERS.index(s), s, count) for s, count in counts.items())
    if not lots:
        return ()
    return (replace(plan.line, key=_OTHER_KEY, wanted=0, lots=lots, minutes=Minutes(0.0)),)
