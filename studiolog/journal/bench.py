"""The bench: every run with work in hand, where its pieces are, and what is known to come next."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import and_, exists, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.words import STAGES
from studiolog.journal.bench_actions import RunWords
from studiolog.journal.bench_rows import (
    DONE,
    BenchRow,
    FormLook,
    LostLot,
    PackedIn,
    ServedOrder,
    in_order_of_loss,
)
from studiolog.journal.held_pieces import still_owed
from studiolog.journal.orders import OrderPage, list_orders
from studiolog.journal.profiles import profile_from_text
from studiolog.records.clays import Clay
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.inspections import Inspection
from studiolog.records.kilns import Kiln
from studiolog.records.orders import Order, OrderLine
from studiolog.records.pieces import Piece, Placement, Run, StageChange

MOST_RUNS = 500
_OUT_OF_THE_KILN = ("fired", "finished")


@dataclass(frozen=True)
class Waiting:
    """Pieces of one form that wait for a firing."""

    form: str
    pieces: int


@dataclass(frozen=True)
class RecentFiring:
    """A firing as the bench names it."""

    firing_id: int
    number: int
    kind: str
    cone: str | None
    kiln: str
    started_at: datetime
    pieces: int


@dataclass(frozen=True)
class Unlooked:
    """A numbered piece that was fired and that nobody has inspected."""

    piece_id: int
    number: int
    name: str
    fired_at: datetime | None


@dataclass(frozen=True)
class BenchPage:
    """Everything on the bench."""

    rows: tuple[BenchRow, ...]
    runs_in_hand: int
    runs_ever: int
    pieces_in_hand: int
    waiting_bisque: tuple[Waiting, ...]
    waiting_glaze: tuple[Waiting, ...]
    firings: tuple[RecentFiring, ...]
    unlooked: tuple[Unlooked, ...]
    unlooked_total: int
    due: tuple[OrderPage, ...]

    def run_words(self) -> list[RunWords]:
        """The runs as `read_bench_line` knows them."""
        return [RunWords(row.run_id, row.number, row.counted) for row in self.rows]


def read_bench(session: Session, every_run: bool = False) -> BenchPage:
    """The bench as it is; ``every_run`` lists runs that are done too."""
    working = exists().where(Piece.run_id == Run.id, Piece.stage.not_in(DONE))
    unstarted = ~exists().where(Piece.run_id == Run.id)
    # What is finished and owed is still to be packed and sent.
    owed = exists().where(Piece.run_id == Run.id, Piece.stage == "finished", still_owed())
    in_hand = or_(working, unstarted, owed)
    asked = select(Run.id).order_by(Run.number.desc()).limit(MOST_RUNS)
    run_ids = list(session.scalars(asked if every_run else asked.where(in_hand)))
    rows = read_rows(session, run_ids)
    if not every_run:
        # What is promised soonest stands first; without a promise, what was begun first.
        rows.sort(key=_urgency)
    unlooked, unlooked_total = _unlooked(session)
    due = list_orders(session, "open", limit=6).orders
    return BenchPage(
        tuple(rows),
        int(session.scalar(select(func.count()).select_from(Run).where(in_hand)) or 0),
        int(session.scalar(select(func.count()).select_from(Run)) or 0),
        sum(row.in_hand for row in rows),
        _waiting(session, "bone_dry", and_(Firing.kind == "bisque")),
        _waiting(session, "glazed", and_(Firing.kind != "bisque")),
        _recent_firings(session),
        unlooked,
        unlooked_total,
        due,
    )


def _urgency(row: BenchRow) -> tuple[date, int]:
    promised = row.order.promised_on if row.order and row.order.state == "open" else None
    return (promised or date.max, row.number)


def read_rows(session: Session, run_ids: Sequence[int]) -> list[BenchRow]:
    """Runs as rows of the bench, in the order of ``run_ids``; those gone are left out."""
    # Columns, not records: of five hundred runs that is half the time.
    found = session.execute(
        select(
            *(Run.id, Run.version, Run.number, Run.title, Run.purpose, Run.made_on),
            *(Form.name, Form.shape, Form.profile, Form.fired_height_mm, Form.fired_across_mm),
            Clay.name,
            *(Order.id, OrderLine.id, Order.number, Order.whom, Order.promised_on, Order.state),
        )
        .outerjoin(Form, Form.id == Run.form_id)
        .outerjoin(Clay, Clay.id == Run.clay_id)
        .outerjoin(OrderLine, OrderLine.id == Run.order_line_id)
        .outerjoin(Order, Order.id == OrderLine.order_id)
        .where(Run.id.in_(run_ids))
    ).all()
    lots = _count_lots(session, run_ids)
    since = _since(session, run_ids)
    packed = _packed(session, run_ids)
    rows: dict[int, BenchRow] = {}
    for run_id, version, number, title, purpose, made_on, *rest in found:
        form, shape, profile, height_mm, across_mm, clay, order_id, *served = rest
        lot = lots.get(run_id, _Lots({}, {}, []))
        youngest = next((s for s in STAGES if s not in DONE and lot.counts.get(s)), None)
        rows[run_id] = BenchRow(
            run_id,
            version,
            number,
            title,
            None
            if form is None
            else FormLook(form, shape, profile_from_text(profile), height_mm, across_mm),
            clay or "",
            purpose,
            made_on,
            None if order_id is None else ServedOrder(order_id, *served),
            lot.counts,
            lot.counted,
            in_order_of_loss(lot.losses),
            youngest,
            since.get((run_id, youngest)) if youngest else None,
            tuple(packed.get(run_id, ())),
        )
    return [rows[run_id] for run_id in run_ids if run_id in rows]


@dataclass
class _Lots:
    """The pieces of a run by stage, those without a number, and those lost."""

    counts: dict[str, int]
    counted: dict[str, int]
    losses: list[LostLot]


def _count_lots(session: Session, run_ids: Sequence[int]) -> Mapping[int, _Lots]:
    found: dict[int, _Lots] = defaultdict(lambda: _Lots({}, {}, []))
    counted = Piece.number.is_(None)
    lost: dict[tuple[int, str | None, str], int] = defaultdict(int)
    for run_id, stage, unnumbered, at, why, pieces in session.execute(
        select(Piece.run_id, Piece.stage, counted, Piece.lost_at, Piece.lost_why, func.count())
        .where(Piece.run_id.in_(run_ids))
        .group_by(Piece.run_id, Piece.stage, counted, Piece.lost_at, Piece.lost_why)
    ):
        if run_id is None:
            continue
        lots = found[run_id]
        lots.counts[stage] = lots.counts.get(stage, 0) + pieces
        if unnumbered:
            lots.counted[stage] = lots.counted.get(stage, 0) + pieces
        if stage == "lost":
            lost[run_id, at, why] += pieces
    for (run_id, at, why), pieces in lost.items():
        found[run_id].losses.append(LostLot(at, why, pieces))
    return found


def _since(session: Session, run_ids: Sequence[int]) -> Mapping[tuple[int, str], datetime]:
    rows = session.execute(
        select(Piece.run_id, Piece.stage, func.min(StageChange.at))
        .join(
            StageChange,
            and_(StageChange.piece_id == Piece.id, StageChange.stage == Piece.stage),
        )
        .where(Piece.run_id.in_(run_ids), Piece.stage.not_in(DONE))
        .group_by(Piece.run_id, Piece.stage)
    )
    return {(run_id, stage): at for run_id, stage, at in rows if run_id is not None}


def _packed(session: Session, run_ids: Sequence[int]) -> Mapping[int, list[PackedIn]]:
    """Firings in which pieces stand that have not yet the stage the firing gives."""
    found: dict[int, list[PackedIn]] = defaultdict(list)
    for run_id, firing_id, number, stage, pieces in session.execute(
        select(Piece.run_id, Firing.id, Firing.number, Piece.stage, func.count())
        .join(Placement, Placement.piece_id == Piece.id)
        .join(Firing, Firing.id == Placement.firing_id)
        .where(
            Piece.run_id.in_(run_ids),
            or_(
                and_(Piece.stage == "bone_dry", Firing.kind == "bisque"),
                and_(Piece.stage == "glazed", Firing.kind != "bisque"),
            ),
        )
        .group_by(Piece.run_id, Firing.id, Firing.number, Piece.stage)
        .order_by(Firing.number)
    ):
        if run_id is not None:
            found[run_id].append(PackedIn(firing_id, number, stage, pieces))
    return found


def _waiting(session: Session, stage: str, kind: object) -> tuple[Waiting, ...]:
    packed = exists().where(
        Placement.piece_id == Piece.id,
        Firing.id == Placement.firing_id,
        kind,  # type: ignore[arg-type]
    )
    rows = session.execute(
        select(Form.name, Piece.title, func.count().label("pieces"))
        .select_from(Piece)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(Piece.stage == stage, ~packed)
        .group_by(Form.name, Piece.title)
    )
    pieces: dict[str, int] = defaultdict(int)
    for form, title, how_many in rows:
        pieces[form or title or "other pieces"] += how_many
    by_most = sorted(pieces.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Waiting(form, how_many) for form, how_many in by_most)


def _recent_firings(session: Session, limit: int = 4) -> tuple[RecentFiring, ...]:
    inside = (
        select(func.count())
        .select_from(Placement)
        .where(Placement.firing_id == Firing.id)
        .correlate(Firing)
        .scalar_subquery()
    )
    return tuple(
        RecentFiring(*row)
        for row in session.execute(
            select(
                Firing.id,
                Firing.number,
                Firing.kind,
                Firing.cone,
                Kiln.name,
                Firing.started_at,
                inside,
            )
            .join(Kiln, Kiln.id == Firing.kiln_id)
            .order_by(Firing.started_at.desc(), Firing.id.desc())
            .limit(limit)
        )
    )


def _unlooked(session: Session, limit: int = 5) -> tuple[tuple[Unlooked, ...], int]:
    where = and_(
        Piece.number.is_not(None),
        Piece.kind == "ware",  # a stamp is not looked at for faults
        Piece.stage.in_(_OUT_OF_THE_KILN),
        ~exists().where(Inspection.piece_id == Piece.id),
    )
    total = int(session.scalar(select(func.count()).select_from(Piece).where(where)) or 0)
    rows = session.execute(
        select(Piece.id, Piece.number, Piece.title, Form.name)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(where)
        .order_by(Piece.number.desc())
        .limit(limit)
    ).all()
    fired = {
        row.piece_id: row.at
        for row in session.execute(
            select(StageChange.piece_id, func.max(StageChange.at).label("at"))
            .where(StageChange.piece_id.in_([row.id for row in rows]), StageChange.stage == "fired")
            .group_by(StageChange.piece_id)
        )
    }
    return (
        tuple(
            Unlooked(row.id, row.number or 0, row.title or row.name or "piece", fired.get(row.id))
            for row in rows
        ),
        total,
    )
