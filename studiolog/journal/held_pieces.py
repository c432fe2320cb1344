"""Which pieces count for which line of an order, and for which part of a set: the one rule.

A piece that was set aside (`Piece.order_line_id`, or `Piece.set_part_id` for a part of a set)
counts there and nowhere else. A piece of a run made for a line (`Run.order_line_id`) that was not
set aside counts for the run's line. A part's piece counts for the line that asks for its set. So
a piece counts for one line at most. A tool counts for none.

Of the pieces that count, a lost one is *lost*, whether or not it had left: what broke on the way
is owed again. One that left with a shipment is *shipped*. The others are *at hand*, by stage. What
is shipped and at hand beyond what is wanted is *spare*, and what is missing is to be *started*.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.journal.writing import get
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.orders import Order, OrderLine, SetPart, Shipment, WareSet
from studiolog.records.pieces import Piece, Run


@dataclass(frozen=True)
class Lot:
    """So many pieces of one run at one stage. ``own``: set aside one by one, not by their run.

    ``part_id`` is the part of a set they belong to, None for pieces of no set.
    """

    run_id: int | None
    part_id: int | None
    stage: str
    own: bool
    shipped: bool
    pieces: int


@dataclass(frozen=True)
class Progress:
    """How far what is ``wanted`` is, by the rule above."""

    wanted: int
    lots: tuple[Lot, ...] = ()

    @cached_property
    def counts(self) -> Mapping[str, int]:
        """Every piece by stage: those that left with the stage they left at, lost ones too."""
        return self._by_stage(lambda lot: True)

    @cached_property
    def at_hand(self) -> Mapping[str, int]:
        """Those neither shipped nor lost, by stage."""
        return self._by_stage(lambda lot: not lot.shipped and lot.stage != "lost")

    def _by_stage(self, counted: Callable[[Lot], bool]) -> Mapping[str, int]:
        found: Counter[str] = Counter()
        for lot in self.lots:
            if counted(lot):
                found[lot.stage] += lot.pieces
        return dict(found)

    @property
    def made(self) -> int:
        """All pieces that count for it, lost ones included."""
        return sum(self.counts.values())

    @property
    def lost(self) -> int:
        return self.counts.get("lost", 0)

    @cached_property
    def shipped(self) -> int:
        return sum(lot.pieces for lot in self.lots if lot.shipped and lot.stage != "lost")

    @property
    def finished(self) -> int:
        """Finished, those that have left included."""
        return self.shipped + self.ready

    @property
    def ready(self) -> int:
        """Finished and still here."""
        return self.at_hand.get("finished", 0)

    @property
    def in_work(self) -> int:
        """Neither finished nor lost nor gone."""
        return sum(self.at_hand.values()) - self.ready

    @cached_property
    def allocated(self) -> int:
        """Set aside one by one and still here."""
        return sum(
            lot.pieces for lot in self.lots if lot.own and not lot.shipped and lot.stage != "lost"
        )

    @property
    def left(self) -> int:
        """Still owed: wanted and not yet shipped."""
        return max(0, self.wanted - self.shipped)

    @property
    def to_start(self) -> int:
        """Still to be started, if none at hand is lost."""
        return max(0, self.wanted - self.shipped - sum(self.at_hand.values()))

    @property
    def spare(self) -> int:
        """At hand beyond what is still owed."""
        return max(0, self.shipped + sum(self.at_hand.values()) - self.wanted)

    @cached_property
    def by_run(self) -> Mapping[int | None, Mapping[str, int]]:
        """At hand by run (None for pieces of no run), then by stage."""
        found: dict[int | None, Counter[str]] = defaultdict(Counter)
        for lot in self.lots:
            if not lot.shipped and lot.stage != "lost":
                found[lot.run_id][lot.stage] += lot.pieces
        return {run_id: dict(counts) for run_id, counts in found.items()}


@dataclass(frozen=True)
class _Asked:
    """A count to run: which column names the holder, and which pieces are looked at."""

    holder: ColumnElement[Any]
    where: tuple[ColumnElement[bool], ...]
    own: bool
    run: bool = False
    part: bool = False


def count_for_lines(session: Session, line_ids: Iterable[int]) -> Mapping[int, tuple[Lot, ...]]:
    """The pieces that count for each of these lines; a line without any is not named."""
    ids = list(line_ids)
    if not ids:
        return {}
    free = and_(Piece.order_line_id.is_(None), Piece.set_part_id.is_(None))
    found: dict[int, list[Lot]] = defaultdict(list)
    asked = (
        _Asked(Piece.order_line_id.expression, (Piece.order_line_id.in_(ids),), own=True),
        _Asked(Run.order_line_id.expression, (Run.order_line_id.in_(ids), free), own=False,
               run=True),
        _Asked(OrderLine.id.expression, (OrderLine.id.in_(ids), Piece.order_line_id.is_(None)),
               own=True, part=True),
    )  # fmt: skip
    for one in asked:
        for row in session.execute(_grouped(one)):
            lot = Lot(row.run_id, row.part_id, row.stage, one.own, bool(row.gone), row.pieces)
            found[row.holder].append(lot)
    return {holder: tuple(lots) for holder, lots in found.items()}


def count_for_parts(session: Session, part_ids: Iterable[int]) -> Mapping[int, tuple[Lot, ...]]:
    """The pieces that belong to each of these parts of sets; a part without any is not named."""
    ids = list(part_ids)
    if not ids:
        return {}
    found: dict[int, list[Lot]] = defaultdict(list)
    asked = _Asked(Piece.set_part_id.expression, (Piece.set_part_id.in_(ids),), own=True)
    for row in session.execute(_grouped(asked)):
        lot = Lot(row.run_id, row.part_id, row.stage, True, bool(row.gone), row.pieces)
        found[row.holder].append(lot)
    return {holder: tuple(lots) for holder, lots in found.items()}


def _grouped(asked: _Asked) -> Select[Any]:
    gone = Piece.shipment_id.is_not(None)
    query = select(
        asked.holder.label("holder"),
        Piece.run_id,
        Piece.set_part_id.label("part_id"),
        Piece.stage,
        gone.label("gone"),
        func.count().label("pieces"),
    )
    if asked.run:
        query = query.join(Run, Run.id == Piece.run_id)
    if asked.part:
        query = query.join(SetPart, SetPart.id == Piece.set_part_id)
        query = query.join(OrderLine, OrderLine.set_id == SetPart.set_id)
    return query.where(*asked.where, Piece.kind == "ware").group_by(
        asked.holder, Piece.run_id, Piece.set_part_id, Piece.stage, gone
    )


def counting_for(line_ids: Sequence[int]) -> ColumnElement[bool]:
    """A condition on pieces: they count for one of these lines. The same rule, piece by piece."""
    serving = select(Run.id).where(Run.order_line_id.in_(line_ids))
    parts = (
        select(SetPart.id)
        .join(OrderLine, OrderLine.set_id == SetPart.set_id)
        .where(OrderLine.id.in_(line_ids))
    )
    free = and_(Piece.order_line_id.is_(None), Piece.set_part_id.is_(None))
    return and_(
        Piece.kind == "ware",
        Piece.order_line_id.in_(line_ids)
        | and_(free, Piece.run_id.in_(serving))
        | and_(Piece.order_line_id.is_(None), Piece.set_part_id.in_(parts)),
    )


def still_owed() -> ColumnElement[bool]:
    """A condition on pieces with their run joined: still here, and owed to an open order.

    The same rule; of what a run has beyond what its line asks for, none is owed once that has left.
    """
    opened = (Order.id == OrderLine.order_id, Order.state == "open")
    gone = (
        select(func.count())
        .select_from(Piece)
        .where(
            Piece.order_line_id == OrderLine.id,
            Piece.shipment_id.is_not(None),
            Piece.stage != "lost",
        )
        .correlate(OrderLine)
        .scalar_subquery()
    )
    # Asked piece by piece, by keys: lists of all that is open would be made anew at every question.
    own = exists().where(OrderLine.id == Piece.order_line_id, *opened)
    part = exists().where(
        SetPart.id == Piece.set_part_id, OrderLine.set_id == SetPart.set_id, *opened
    )
    # Of the run asked about, however deep this is asked: else any run that serves a line would do.
    served = (
        exists()
        .where(OrderLine.id == Run.order_line_id, *opened, OrderLine.wanted > gone)
        .correlate(Run)
    )
    free = and_(Piece.order_line_id.is_(None), Piece.set_part_id.is_(None))
    return and_(
        Piece.kind == "ware",
        Piece.shipment_id.is_(None),
        or_(
            own,
            and_(Piece.order_line_id.is_(None), part),
            and_(free, served),
        ),
    )


@dataclass(frozen=True)
class HeldFor:
    """What a piece is set aside for, or left with: its words, and the order or set to show."""

    words: str
    kind: str
    row_id: int


def read_held_for(session: Session, piece: Piece) -> HeldFor | None:
    """What one piece was set aside for, or which order it left with; None where for nothing."""
    if piece.order_line_id is not None:
        row = session.execute(
            select(Order.id, Order.number, Shipment.shipped_on)
            .join(OrderLine, OrderLine.order_id == Order.id)
            .outerjoin(Shipment, Shipment.id == piece.shipment_id)
            .where(OrderLine.id == piece.order_line_id)
        ).one()
        if row.shipped_on is not None:
            gone = f"Left with order {row.number} on {write_day(row.shipped_on)}"
            return HeldFor(gone, "order", row.id)
        return HeldFor(f"Set aside for order {row.number}", "order", row.id)
    if piece.set_part_id is not None:
        ware = session.execute(
            select(WareSet.id, WareSet.name)
            .join(SetPart, SetPart.set_id == WareSet.id)
            .where(SetPart.id == piece.set_part_id)
        ).one()
        return HeldFor(f"Belongs to the set “{ware.name}”", "set", ware.id)
    return None


def refuse_line_of_a_set(session: Session, line_id: int) -> None:
    """Refuse to make a run for a line that asks for a set: its pieces are of the set's parts.

    Raises `UserProblem`, also for a line that is gone.
    """
    line = get(session, OrderLine, line_id)
    if line.set_id is not None:
        raise UserProblem(
            "This line asks for a set: make the run for no order, then set its pieces aside for "
            "a part of the set."
        )


def refuse_if_shipped(session: Session, piece: Piece) -> None:
    """Refuse to delete a piece that left with an order: it is a record of what was sold.

    Raises `StillUsed` naming the order and the day.
    """
    if piece.shipment_id is None:
        return
    row = session.execute(
        select(Order.number, Shipment.shipped_on)
        .join(Shipment, Shipment.order_id == Order.id)
        .where(Shipment.id == piece.shipment_id)
    ).one()
    name = f"Piece {piece.number}" if piece.number is not None else "A piece of this run"
    raise StillUsed(
        f"{name} left with order {row.number} on {write_day(row.shipped_on)}, so it can't be "
        "deleted: it is a record of what was sold. Take that shipment back first, if it was a slip."
    )
