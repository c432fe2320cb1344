"""The page of a run: its pieces, how they moved, where they were fired, what it carries on."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import exists, func, or_, select
from sqlalchemy.orm import Session

from studiolog.journal.bench import read_rows
from studiolog.journal.bench_rows import BenchRow
from studiolog.journal.bench_work import RunWork, read_work
from studiolog.journal.form_choices import list_form_names
from studiolog.journal.loads import OpenLoad, open_loads
from studiolog.journal.orders import list_orders
from studiolog.journal.waiting_for import FormWork, same_work
from studiolog.journal.ways import list_ways
from studiolog.journal.writing import next_number
from studiolog.records.clays import Clay
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.inspections import Inspection
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.orders import Order, OrderLine
from studiolog.records.pieces import Piece, Placement, Run, RunSource, StageChange, Step


@dataclass(frozen=True)
class RunPiece:
    """A piece of a run; ``number`` None while it is only counted."""

    piece_id: int
    number: int | None
    title: str
    stage: str
    lost_why: str
    kept_where: str
    inspected: bool


@dataclass(frozen=True)
class StageMove:
    """So many pieces reached a stage at one time, with one note."""

    stage: str
    at: datetime
    pieces: int
    note: str


@dataclass(frozen=True)
class WorkDone:
    """A step done to so many pieces on a day; ``zone`` is the part, ``rework`` done over again."""

    name: str
    done_on: date
    pieces: int
    zone: str = ""
    rework: bool = False


@dataclass(frozen=True)
class StepSum:
    """All of one work on a run, at whatever day.

    ``minutes`` are those of the ``timed`` pieces together; ``planned`` what the form says for one
    piece, None where it says nothing; ``rework`` counts work done over, apart from ``pieces``.
    """

    name: str
    zone: str
    stage: str | None
    pieces: int
    timed: int
    minutes: float
    planned: float | None
    rework: int
    rework_minutes: float

    @property
    def each(self) -> float | None:
        """Minutes for one piece, of those that were timed."""
        return self.minutes / self.timed if self.timed else None


@dataclass(frozen=True)
class FiredIn:
    """A firing that pieces of the run were in, and on which levels."""

    firing_id: int
    number: int
    kind: str
    cone: str | None
    started_at: datetime
    pieces: int
    levels: tuple[str, ...]


@dataclass(frozen=True)
class Source:
    """A numbered piece the run carries on."""

    piece_id: int
    number: int | None
    name: str


@dataclass(frozen=True)
class RunPage:
    """Everything of one run."""

    row: BenchRow
    form_id: int | None
    clay_id: int | None
    order_line_id: int | None
    notes: str
    next_time: str
    pieces: tuple[RunPiece, ...]
    moves: tuple[StageMove, ...]
    steps: tuple[WorkDone, ...]
    firings: tuple[FiredIn, ...]
    came_from: tuple[Source, ...]
    way_id: int | None = None
    sums: tuple[StepSum, ...] = ()
    work: RunWork | None = None


@dataclass(frozen=True)
class NamedChoice:
    """A form, a clay or an order line to choose; a clay has a look, a form its standing."""

    row_id: int
    name: str
    colour: str = ""
    specks: str = "none"
    form_id: int | None = None
    short: int = 0
    note: str = ""


@dataclass(frozen=True)
class FiringChoice:
    """A firing into which pieces can be put, with the levels of its kiln from the top down."""

    firing_id: int
    number: int
    kind: str
    kiln: str
    started_at: datetime
    levels: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class RunChoices:
    """What can be chosen for a run."""

    next_number: int
    forms: tuple[NamedChoice, ...]
    clays: tuple[NamedChoice, ...]
    order_lines: tuple[NamedChoice, ...]
    firings: tuple[FiringChoice, ...]
    ways: tuple[NamedChoice, ...] = ()
    loads: tuple[OpenLoad, ...] = ()


def read_run_page(session: Session, run_id: int) -> RunPage | None:
    """The page of a run; None if it is gone."""
    run = session.get(Run, run_id)
    if run is None:
        return None
    looked = exists().where(Inspection.piece_id == Piece.id)
    # Numbered pieces first: SQLite and PostgreSQL sort missing numbers differently.
    pieces = session.execute(
        select(Piece, looked.label("looked"))
        .where(Piece.run_id == run_id)
        .order_by(Piece.number.is_(None), Piece.number, Piece.id)
    ).all()
    moves = session.execute(
        select(StageChange.stage, StageChange.at, func.count(), StageChange.note)
        .join(Piece, Piece.id == StageChange.piece_id)
        .where(Piece.run_id == run_id)
        .group_by(StageChange.stage, StageChange.at, StageChange.note)
        .order_by(StageChange.at.desc(), func.max(StageChange.id).desc())
    ).all()
    steps = session.execute(
        select(Step.name, Step.done_on, func.count(), Step.zone, Step.rework)
        .join(Piece, Piece.id == Step.piece_id)
        .where(Piece.run_id == run_id)
        .group_by(Step.name, Step.done_on, Step.zone, Step.rework)
        .order_by(Step.done_on.desc(), Step.name, Step.zone, Step.rework)
    ).all()
    came_from = session.execute(
        select(Piece.id, Piece.number, Piece.title, Form.name)
        .join(RunSource, RunSource.piece_id == Piece.id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(RunSource.run_id == run_id)
        .order_by(Piece.number)
    ).all()
    work = read_work(session, [run_id]).get(run_id)
    return RunPage(
        read_rows(session, [run_id])[0],
        run.form_id,
        run.clay_id,
        run.order_line_id,
        run.notes,
        run.next_time,
        tuple(
            RunPiece(
                piece.id,
                piece.number,
                piece.title,
                piece.stage,
                piece.lost_why,
                piece.kept_where,
                bool(inspected),
            )
            for piece, inspected in pieces
        ),
        tuple(StageMove(stage, at, how_many, note) for stage, at, how_many, note in moves),
        tuple(WorkDone(*row) for row in steps),
        _fired_in(session, run_id),
        tuple(Source(row.id, row.number, row.title or row.name or "piece") for row in came_from),
        run.way_id,
        _sum_steps(session, run_id, work.work if work is not None else FormWork()),
        work,
    )


def _sum_steps(session: Session, run_id: int, form: FormWork) -> tuple[StepSum, ...]:
    """The form's steps in order, done or not, then what was done beside them."""
    done: dict[tuple[str, str], list[tuple[str, int, int, float, int, float]]] = defaultdict(list)
    for name, zone, rework, pieces, timed, minutes in session.execute(
        select(
            Step.name,
            Step.zone,
            Step.rework,
            func.count(),
            func.count(Step.minutes),
            func.sum(Step.minutes),
        )
        .join(Piece, Piece.id == Step.piece_id)
        .where(Piece.run_id == run_id)
        .group_by(Step.name, Step.zone, Step.rework)
        .order_by(func.min(Step.done_on), Step.name, Step.zone, Step.rework)
    ):
        planned = next((step.name for step in form.steps if same_work(step.name, name)), name)
        again = (0, 0, 0.0, pieces, minutes or 0.0)
        first = (pieces, timed, minutes or 0.0, 0, 0.0)
        done[planned, zone].append((name, *(again if rework else first)))
    told = []
    for step in form.steps:
        zones = [zone for name, zone in done if name == step.name] or [""]
        told += [
            _one_sum(done.pop((step.name, zone), []), step.name, zone, step.stage, step.minutes)
            for zone in zones
        ]
    told += [_one_sum(lots, name, zone, None, None) for (name, zone), lots in done.items()]
    return tuple(told)


def _one_sum(
    lots: Sequence[tuple[str, int, int, float, int, float]],
    name: str,
    zone: str,
    stage: str | None,
    planned: float | None,
) -> StepSum:
    said = lots[0][0] if lots else name
    return StepSum(
        said,
        zone,
        stage,
        sum(lot[1] for lot in lots),
        sum(lot[2] for lot in lots),
        math.fsum(lot[3] for lot in lots),
        planned,
        sum(lot[4] for lot in lots),
        math.fsum(lot[5] for lot in lots),
    )


def _fired_in(session: Session, run_id: int) -> tuple[FiredIn, ...]:
    rows = session.execute(
        select(Firing, KilnLevel.name, func.count().label("pieces"))
        .join(Placement, Placement.firing_id == Firing.id)
        .join(Piece, Piece.id == Placement.piece_id)
        .outerjoin(KilnLevel, KilnLevel.id == Placement.level_id)
        .where(Piece.run_id == run_id)
        .group_by(Firing.id, KilnLevel.id, KilnLevel.name, KilnLevel.position)
        .order_by(Firing.started_at.desc(), Firing.id.desc(), KilnLevel.position)
    ).all()
    found: dict[int, FiredIn] = {}
    for firing, level, pieces in rows:
        before = found.get(firing.id)
        levels = (*(before.levels if before else ()), *((level,) if level else ()))
        found[firing.id] = FiredIn(
            firing.id,
            firing.number,
            firing.kind,
            firing.cone,
            firing.started_at,
            pieces + (before.pieces if before else 0),
            levels,
        )
    return tuple(found.values())


def read_run_choices(session: Session, run_id: int | None = None) -> RunChoices:
    """What a run can be given; what run ``run_id`` has is offered even if it was put away."""
    run = session.get(Run, run_id) if run_id is not None else None
    form_id, clay_id, order_line_id = (
        (run.form_id, run.clay_id, run.order_line_id) if run else (None, None, None)
    )
    forms = list_form_names(session, [form_id] if form_id is not None else ())
    clays = session.execute(
        select(Clay.id, Clay.name, Clay.colour, Clay.specks)
        .where(or_(~Clay.archived, Clay.id == clay_id))
        .order_by(Clay.name)
    ).all()
    lines = [
        NamedChoice(
            line.line_id,
            f"Order {order.number}, {order.whom}: {line.wanted} {line.title}",
            form_id=line.form_id,
            short=line.short,
        )
        for order in list_orders(session, "open").orders
        for line in order.lines
        if line.set_id is None  # its pieces are set aside for the parts of the set
    ]
    if order_line_id is not None and order_line_id not in {line.row_id for line in lines}:
        lines += _one_line(session, order_line_id)
    return RunChoices(
        next_number(session, Run.number),
        tuple(NamedChoice(form.form_id, form.name, note=form.note) for form in forms),
        tuple(NamedChoice(row.id, row.name, row.colour, row.specks) for row in clays),
        tuple(lines),
        _firing_choices(session),
        tuple(NamedChoice(way.way_id, way.name) for way in list_ways(session, form_id))
        if form_id is not None
        else (),
        open_loads(session),
    )


def _one_line(session: Session, line_id: int) -> list[NamedChoice]:
    row = session.execute(
        select(OrderLine, Order, Form.name)
        .join(Order, Order.id == OrderLine.order_id)
        .outerjoin(Form, Form.id == OrderLine.form_id)
        .where(OrderLine.id == line_id)
    ).first()
    if row is None:
        return []
    line, order, form = row
    words = f"Order {order.number}, {order.whom}: {line.wanted} {form or line.what}"
    return [NamedChoice(line.id, words, form_id=line.form_id)]


def _firing_choices(session: Session, limit: int = 12) -> tuple[FiringChoice, ...]:
    firings = session.execute(
        select(Firing.id, Firing.number, Firing.kind, Firing.kiln_id, Kiln.name, Firing.started_at)
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .order_by(Firing.started_at.desc(), Firing.id.desc())
        .limit(limit)
    ).all()
    levels: dict[int, list[tuple[int, str]]] = {}
    for level in session.scalars(
        select(KilnLevel)
        .where(KilnLevel.kiln_id.in_({row.kiln_id for row in firings}))
        .order_by(KilnLevel.position)
    ):
        levels.setdefault(level.kiln_id, []).append((level.id, level.name))
    return tuple(
        FiringChoice(
            row.id,
            row.number,
            row.kind,
            row.name,
            row.started_at,
            tuple(levels.get(row.kiln_id, ())),
        )
        for row in firings
    )
