"""The page of an order: what is owed, by when, what there is of it, and what has left."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from studiolog.craft.money import add_up
from studiolog.journal.glazes import title_of
from studiolog.journal.held_pieces import Lot, Progress, count_for_lines
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.journal.set_counts import SetCount, count_sets
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.orders import Order, OrderLine, Shipment, WareSet
from studiolog.records.pieces import Piece, Run


@dataclass(frozen=True)
class ServingRun:
    """A run whose pieces count for an order line. ``counts`` are those pieces by stage.

    ``made_for`` says that the whole run is made for the line; else only some of it is set aside.
    """

    run_id: int
    number: int
    title: str
    counts: Mapping[str, int]
    made_for: bool = True


@dataclass(frozen=True)
class HeldLot:
    """So many pieces at one stage that were set aside one by one, and are still here.

    The ids of those with a number come first, in the order of ``numbers``.
    """

    run_id: int | None
    run_number: int | None
    stage: str
    pieces: int
    numbers: tuple[int, ...]
    piece_ids: tuple[int, ...]


@dataclass(frozen=True)
class OrderLinePage:
    """A line with what counts for it, by the rule of `held_pieces`.

    ``made`` counts every piece, lost ones included; ``counts`` are the same by stage.
    ``height_mm`` and ``across_mm`` are the form's, fired. Of a line that asks for a set ``wanted``
    is how many sets, ``pieces_wanted`` how many pieces they are, and ``of_set`` how they stand.
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
    progress: Progress
    clay_id: int | None = None
    clay_name: str = ""
    glaze_id: int | None = None
    glaze_title: str = ""
    set_id: int | None = None
    set_name: str = ""
    of_set: SetCount | None = None
    held: tuple[HeldLot, ...] = ()

    @property
    def title(self) -> str:
        """What the line asks for, in words."""
        named = [part for part in (self.set_name or self.form_name, self.what) if part]
        return ", ".join(named) or "not said what"

    @property
    def made_of(self) -> str:
        """Its clay and glaze in words: "Buff stoneware, Chalk"."""
        return ", ".join(part for part in (self.clay_name, self.glaze_title) if part)

    @property
    def pieces_wanted(self) -> int:
        return self.progress.wanted

    @property
    def counts(self) -> Mapping[str, int]:
        return self.progress.counts

    @property
    def made(self) -> int:
        return self.progress.made

    @property
    def finished(self) -> int:
        """Finished, those that have left included."""
        return self.progress.finished

    @property
    def shipped(self) -> int:
        return self.progress.shipped

    @property
    def ready(self) -> int:
        """What may leave now: finished pieces, or whole sets of them, at most as many as owed."""
        if self.of_set is not None:
            return max(0, min(self.of_set.ready, self.wanted - self.of_set.shipped))
        return min(self.progress.ready, self.progress.left)

    @property
    def left(self) -> int:
        """Still to leave: pieces, or sets."""
        if self.of_set is not None:
            return max(0, self.wanted - self.of_set.shipped)
        return self.progress.left

    @property
    def lost(self) -> int:
        return self.progress.lost

    @property
    def in_work(self) -> int:
        """Made, neither finished nor lost."""
        return self.progress.in_work

    @property
    def short(self) -> int:
        """How many still have to be started, if none in work is lost."""
        if self.of_set is not None:
            return self.of_set.to_start
        return self.progress.to_start

    @property
    def spare(self) -> int:
        """At hand beyond what is still owed."""
        return self.progress.spare


@dataclass(frozen=True)
class ShippedItem:
    """So many pieces of a line that left together; those with a number, by it. ``lost`` of them
    broke on the way."""

    line_id: int
    title: str
    pieces: int
    numbers: tuple[int, ...]
    lost: int


@dataclass(frozen=True)
class ShipmentPage:
    """What left on a day."""

    shipment_id: int
    version: int
    shipped_on: date
    note: str
    items: tuple[ShippedItem, ...]

    @property
    def pieces(self) -> int:
        return sum(item.pieces for item in self.items)


@dataclass(frozen=True)
class OrderPage:
    """Everything of one order; a list shows the same without shipments, profiles and what is set
    aside."""

    order_id: int
    version: int
    number: int
    whom: str
    promised_on: date | None
    state: str
    notes: str
    lines: tuple[OrderLinePage, ...]
    kind: str = "pre_order"
    contact: str = ""
    ordered_on: date | None = None
    promised_from: date | None = None
    promise_words: str = ""
    shipments: tuple[ShipmentPage, ...] = ()

    @property
    def wanted(self) -> int:
        """Pieces, those of sets included."""
        return sum(line.pieces_wanted for line in self.lines)

    @property
    def finished(self) -> int:
        """Finished pieces, at most as many as each line wants; those that left included."""
        return sum(min(line.finished, line.pieces_wanted) for line in self.lines)

    @property
    def shipped(self) -> int:
        return sum(line.shipped for line in self.lines)

    @property
    def left(self) -> int:
        """Pieces still to leave."""
        return sum(line.progress.left for line in self.lines)

    @property
    def may_leave(self) -> bool:
        """Whether something finished of an open order is here and owed."""
        return self.state == "open" and any(line.ready for line in self.lines)

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
    """The page of an order, with its shipments and what is set aside; None if it is gone."""
    order = session.get(Order, order_id)
    return None if order is None else _pages(session, [order], whole=True)[0]


def _pages(
    session: Session, orders: Sequence[Order], *, whole: bool = False
) -> tuple[OrderPage, ...]:
    lines: dict[int, list[OrderLinePage]] = defaultdict(list)
    # Columns, not records: a list of hundreds of orders is read at every change.
    rows = session.execute(
        select(
            OrderLine.id, OrderLine.order_id, OrderLine.wanted, OrderLine.what, OrderLine.price,
            OrderLine.form_id, OrderLine.clay_id, OrderLine.glaze_id, OrderLine.set_id,
            Form.name.label("form"), Form.shape, Form.fired_height_mm, Form.fired_across_mm,
            Clay.name.label("clay"), Glaze.name.label("glaze"), Glaze.version_number,
            WareSet.name.label("ware"),
        )
        .outerjoin(Form, Form.id == OrderLine.form_id)
        .outerjoin(Clay, Clay.id == OrderLine.clay_id)
        .outerjoin(Glaze, Glaze.id == OrderLine.glaze_id)
        .outerjoin(WareSet, WareSet.id == OrderLine.set_id)
        .where(OrderLine.order_id.in_([order.id for order in orders]))
        .order_by(OrderLine.position, OrderLine.id)
    ).all()  # fmt: skip
    ids = [row.id for row in rows]
    held = count_for_lines(session, ids)
    runs = _serving_runs(session, held, ids)
    set_ids = [row.set_id for row in rows if row.set_id is not None]
    sets = count_sets(session, set_ids) if set_ids else {}
    aside = _set_aside(session, ids) if whole else {}
    profiles = _profiles(session, {row.form_id for row in rows}) if whole else {}
    for row in rows:
        of_set = sets[row.set_id].wanting(row.wanted) if row.set_id is not None else None
        pieces = of_set.pieces_each * row.wanted if of_set else row.wanted
        lines[row.order_id].append(
            OrderLinePage(
                line_id=row.id,
                form_id=row.form_id,
                form_name=row.form or "",
                profile=profiles.get(row.form_id),
                shape=row.shape or "thrown",
                height_mm=row.fired_height_mm,
                across_mm=row.fired_across_mm,
                what=row.what,
                wanted=row.wanted,
                price=row.price,
                runs=runs.get(row.id, ()),
                progress=Progress(pieces, held.get(row.id, ())),
                clay_id=row.clay_id,
                clay_name=row.clay or "",
                glaze_id=row.glaze_id,
                glaze_title=title_of(row.glaze, row.version_number) if row.glaze else "",
                set_id=row.set_id,
                set_name=row.ware or "",
                of_set=of_set,
                held=aside.get(row.id, ()),
            )
        )
    return tuple(
        OrderPage(
            order_id=order.id,
            version=order.version,
            number=order.number,
            whom=order.whom,
            promised_on=order.promised_on,
            state=order.state,
            notes=order.notes,
            lines=tuple(lines[order.id]),
            kind=order.kind,
            contact=order.contact,
            ordered_on=order.ordered_on,
            promised_from=order.promised_from,
            promise_words=order.promise_words,
            shipments=_shipments(session, order.id, lines[order.id]) if whole else (),
        )
        for order in orders
    )


def _profiles(session: Session, form_ids: Iterable[int | None]) -> Mapping[int, Profile | None]:
    rows = session.execute(
        select(Form.id, Form.profile).where(Form.id.in_([one for one in form_ids if one]))
    )
    return {form_id: profile_from_text(profile) for form_id, profile in rows}


def _serving_runs(
    session: Session, held: Mapping[int, tuple[Lot, ...]], line_ids: Iterable[int]
) -> Mapping[int, tuple[ServingRun, ...]]:
    """The runs made for each line, pieces or none, and those some of whose pieces are set aside."""
    counts: dict[int, dict[int, dict[str, int]]] = defaultdict(lambda: defaultdict(dict))
    for line_id, lots in held.items():
        for lot in lots:
            if lot.run_id is not None:
                stages = counts[lot.run_id][line_id]
                stages[lot.stage] = stages.get(lot.stage, 0) + lot.pieces
    rows = session.execute(
        select(Run.id, Run.number, Run.title, Form.name, Run.order_line_id)
        .outerjoin(Form, Form.id == Run.form_id)
        .where(Run.order_line_id.in_(list(line_ids)) | Run.id.in_(list(counts)))
        .order_by(Run.number)
    ).all()
    found: dict[int, list[ServingRun]] = defaultdict(list)
    for row in rows:
        for line_id in {*counts[row.id], row.order_line_id} - {None}:
            found[line_id].append(
                ServingRun(
                    row.id,
                    row.number,
                    row.title or row.name or "",
                    dict(counts[row.id].get(line_id, {})),
                    row.order_line_id == line_id,
                )
            )
    return {line_id: tuple(runs) for line_id, runs in found.items()}


def _set_aside(session: Session, line_ids: Sequence[int]) -> Mapping[int, tuple[HeldLot, ...]]:
    rows = session.execute(
        select(Piece.order_line_id, Piece.run_id, Run.number, Piece.stage, Piece.number, Piece.id)
        .outerjoin(Run, Run.id == Piece.run_id)
        .where(
            Piece.order_line_id.in_(line_ids), Piece.shipment_id.is_(None), Piece.stage != "lost"
        )
        .order_by(Run.number, Piece.number.is_(None), Piece.number, Piece.id)
    ).all()
    lots: dict[tuple[int, int | None, int | None, str], list[tuple[int | None, int]]] = {}
    for held_for, run_id, of_run, stage, number, piece_id in rows:
        if held_for is not None:
            key = (held_for, run_id, of_run, stage)
            lots.setdefault(key, []).append((number, piece_id))
    found: dict[int, tuple[HeldLot, ...]] = {}
    for (for_line, at_run, run_number, stage), pieces in lots.items():
        numbers = tuple(number for number, _ in pieces if number is not None)
        ids = tuple(piece_id for _, piece_id in pieces)
        lot = HeldLot(at_run, run_number, stage, len(pieces), numbers, ids)
        found[for_line] = (*found.get(for_line, ()), lot)
    return found


def _shipments(
    session: Session, order_id: int, lines: Sequence[OrderLinePage]
) -> tuple[ShipmentPage, ...]:
    titles = {line.line_id: line.title for line in lines}
    shipments = session.scalars(
        select(Shipment)
        .where(Shipment.order_id == order_id)
        .order_by(Shipment.shipped_on, Shipment.id)
    ).all()
    gone = session.execute(
        select(Piece.shipment_id, Piece.order_line_id, Piece.number, Piece.stage)
        .where(Piece.shipment_id.in_([shipment.id for shipment in shipments]))
        .order_by(Piece.number, Piece.id)
    ).all()
    loads: dict[tuple[int, int], list[tuple[int | None, str]]] = defaultdict(list)
    for shipment_id, line_id, number, stage in gone:
        if shipment_id is not None and line_id is not None:
            loads[shipment_id, line_id].append((number, stage))
    return tuple(
        ShipmentPage(
            shipment.id,
            shipment.version,
            shipment.shipped_on,
            shipment.note,
            tuple(
                ShippedItem(
                    line_id,
                    titles[line_id],
                    len(pieces),
                    tuple(number for number, _ in pieces if number is not None),
                    sum(stage == "lost" for _, stage in pieces),
                )
                for line_id in titles
                if (pieces := loads.get((shipment.id, line_id)))
            ),
        )
        for shipment in shipments
    )


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
