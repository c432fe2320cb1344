"""What the runs on the bench wait for, and the work done to them: read once the rows stand.

Two questions for as many runs as are asked for; what comes of them is plain values. A piece counts
with the others that are alike: at one stage, with the same work done and the same zones glazed.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.words import STAGES
from studiolog.journal.bench_actions import RunWords, WorkLot
from studiolog.journal.bench_rows import BenchRow
from studiolog.journal.covers import CoverLine, read_covers
from studiolog.journal.held_pieces import still_owed
from studiolog.journal.run_loads import PlannedIn, read_planned
from studiolog.journal.waiting_for import (
    WAITING_FOR,
    FormWork,
    Next,
    how_pressing,
    is_making,
    next_step,
    plan_steps,
    roots_of,
    same_work,
    zones_bare,
)
from studiolog.records.forms import Form, FormStep, FormZone
from studiolog.records.pieces import Layer, Piece, Run, StageChange, Step

_PARTED = "\x1f"  # between names that may hold any other sign
_ZONED = "\x1e"  # between a step and its zone
_STAGE_PLACE = {stage: place for place, stage in enumerate(STAGES)}
_WAITS_PLACE = {waits: place for place, waits in enumerate(WAITING_FOR)}


@dataclass(frozen=True)
class WaitingLot:
    """So many pieces of a run that wait for one thing; ``since`` when the first of them began to.

    ``waits`` is a key of `WAITING_FOR`, ``step`` the form's own name of the work, ``zones_left``
    are the zones without glaze, ``zones_done`` those with.
    """

    waits: str
    stage: str
    step: str
    pieces: int
    counted: int
    since: datetime | None
    zones_left: tuple[str, ...] = ()
    zones_done: tuple[str, ...] = ()


@dataclass(frozen=True)
class StepShare:
    """Of the pieces at a stage, so many have had a step of that stage."""

    name: str
    stage: str
    done: int
    of: int


@dataclass(frozen=True)
class RunWork:
    """What is known of the work on a run. ``lots`` are its counted pieces, for reading a line."""

    run_id: int
    waiting: tuple[WaitingLot, ...]
    shares: tuple[StepShare, ...]
    lots: tuple[WorkLot, ...]
    work: FormWork
    cover: CoverLine | None = None
    planned: tuple[PlannedIn, ...] = ()

    def waits_for(self, waits: str) -> int:
        """How many pieces wait for this."""
        return sum(lot.pieces for lot in self.waiting if lot.waits == waits)

    @property
    def pressing(self) -> WaitingLot | None:
        """The lot to take in hand next: what can't wait, what was begun, what waited longest."""
        return min(
            self.waiting,
            key=lambda lot: (
                how_pressing(lot.stage, lot.waits),
                not lot.zones_done,
                lot.since or datetime.max,
            ),
            default=None,
        )


@dataclass(frozen=True)
class _Piece:
    stage: str
    counted: bool
    done: frozenset[str]
    glazed: frozenset[str]
    promised: bool
    since: datetime | None


def read_work(session: Session, run_ids: Sequence[int]) -> dict[int, RunWork]:
    """The work on runs, by their ids; those gone are left out."""
    forms = read_form_work(session, run_ids)
    pieces = _read_pieces(session, run_ids, {run for run, work in forms.items() if work.zones})
    covers = read_covers(session, run_ids)
    planned = read_planned(session, run_ids)
    return {
        run_id: replace(
            _tell_work(run_id, work, pieces.get(run_id, ()), covers.get(run_id, ())),
            planned=planned.get(run_id, ()),
        )
        for run_id, work in forms.items()
    }


def words_of(rows: Iterable[BenchRow], known: Mapping[int, RunWork]) -> list[RunWords]:
    """Runs as `read_bench_line` knows them, with the work where it was read."""
    found = []
    for row in rows:
        work = known.get(row.run_id)
        found.append(
            RunWords(row.run_id, row.number, row.counted)
            if work is None
            else RunWords(row.run_id, row.number, row.counted, work.lots, work.work)
        )
    return found


def count_waiting(known: Iterable[RunWork]) -> dict[str, int]:
    """How many pieces wait for what, in the order they pass through it."""
    counts: dict[str, int] = defaultdict(int)
    for work in known:
        for lot in work.waiting:
            counts[lot.waits] += lot.pieces
    return {waits: counts[waits] for waits in WAITING_FOR if counts[waits]}


def read_form_work(session: Session, run_ids: Sequence[int]) -> dict[int, FormWork]:
    """How each run's form is made; a run without a form has none of it."""
    runs = session.execute(
        select(Run.id, Run.form_id, Form.shape)
        .outerjoin(Form, Form.id == Run.form_id)
        .where(Run.id.in_(run_ids))
    ).all()
    form_ids = {form_id for _, form_id, _ in runs if form_id is not None}
    steps: dict[int, list[tuple[str, str | None, float | None, int]]] = defaultdict(list)
    for form_id, name, stage, minutes, persons in session.execute(
        select(FormStep.form_id, FormStep.name, FormStep.stage, FormStep.minutes, FormStep.persons)
        .where(FormStep.form_id.in_(form_ids))
        .order_by(FormStep.position)
    ):
        steps[form_id].append((name, stage, minutes, persons))
    zones: dict[int, list[str]] = defaultdict(list)
    for form_id, name in session.execute(
        select(FormZone.form_id, FormZone.name)
        .where(FormZone.form_id.in_(form_ids))
        .order_by(FormZone.position)
    ):
        zones[form_id].append(name)
    made = {
        form_id: FormWork(shape or "", plan_steps(steps[form_id]), tuple(zones[form_id]))
        for _, form_id, shape in runs
        if form_id is not None
    }
    return {run_id: made.get(form_id or 0, FormWork()) for run_id, form_id, _ in runs}


def _read_pieces(
    session: Session, run_ids: Sequence[int], zoned: set[int]
) -> Mapping[int, list[_Piece]]:
    reached = (
        select(func.max(StageChange.at))
        .where(StageChange.piece_id == Piece.id, StageChange.stage == Piece.stage)
        .correlate(Piece)
        .scalar_subquery()
    )
    steps = (
        select(
            func.aggregate_strings(Step.name + _ZONED + Step.zone, _PARTED),
        )
        .where(Step.piece_id == Piece.id)
        .correlate(Piece)
        .scalar_subquery()
    )
    worked_on = (
        select(func.max(Step.done_on))
        .where(Step.piece_id == Piece.id)
        .correlate(Piece)
        .scalar_subquery()
    )
    rows = session.execute(
        select(
            Piece.id, Piece.run_id, Piece.stage, Piece.number, steps, worked_on, reached,
        )
        .join(Run, Run.id == Piece.run_id)
        .where(
            Piece.run_id.in_(run_ids),
            Piece.stage != "lost",
            or_(Piece.stage != "finished", still_owed()),
        )
    ).all()  # fmt: skip
    laid = _layers_of(session, [row[0] for row in rows if row[1] in zoned and row[2] == "bisque"])
    parted: dict[str | None, tuple[frozenset[str], frozenset[str]]] = {}
    found: dict[int, list[_Piece]] = defaultdict(list)
    for piece_id, run_id, stage, number, said, worked, at in rows:
        if said not in parted:
            parted[said] = _part_steps(said)
        done, glazed = parted[said]
        if piece_id in laid:
            glazed = glazed | laid[piece_id]
        # What is finished was asked for only where it is owed.
        promised = stage == "finished"
        found[run_id].append(
            _Piece(stage, number is None, done, glazed, promised, _since(at, worked))
        )
    return found


def _layers_of(session: Session, piece_ids: Sequence[int]) -> Mapping[int, frozenset[str]]:
    zones: dict[int, set[str]] = defaultdict(set)
    for start in range(0, len(piece_ids), 5_000):  # SQLite takes no more in one question
        for piece_id, zone in session.execute(
            select(Layer.piece_id, Layer.zone)
            .distinct()
            .where(Layer.piece_id.in_(piece_ids[start : start + 5_000]))
        ):
            zones[piece_id].add(zone)
    return {piece_id: frozenset(named) for piece_id, named in zones.items()}


def _part_steps(said: str | None) -> tuple[frozenset[str], frozenset[str]]:
    """Steps done to the whole, and zones glazed, from what the database strung together."""
    done, glazed = set(), set()
    for one in (said or "").split(_PARTED):
        name, _, zone = one.partition(_ZONED)
        if zone and same_work(name, "glazed"):
            glazed.add(zone)
        elif name:
            done.add(name)
    return frozenset(done), frozenset(glazed)


def _since(at: datetime | None, worked: date | None) -> datetime | None:
    """When a piece began to wait: when it came to its stage, or was worked on there last."""
    if worked is None or at is None or worked <= at.date():
        return at
    return datetime.combine(worked, time())


def _tell_work(
    run_id: int, work: FormWork, pieces: Sequence[_Piece], covers: Sequence[CoverLine]
) -> RunWork:
    answers: dict[tuple[str, frozenset[str], frozenset[str], bool], Next | None] = {}
    waiting: dict[tuple[str, Next], list[_Piece]] = defaultdict(list)
    lots: dict[tuple[str, frozenset[str], frozenset[str]], int] = defaultdict(int)
    for piece in pieces:
        key = (piece.stage, piece.done, piece.glazed, piece.promised)
        if key not in answers:
            answers[key] = next_step(piece.stage, work, piece.done, piece.glazed, piece.promised)
        waits = answers[key]
        if waits is not None:
            waiting[piece.stage, waits].append(piece)
        if piece.counted:
            lots[key[:3]] += 1
    told = [
        WaitingLot(
            waits.waits,
            stage,
            waits.step,
            len(alike),
            sum(piece.counted for piece in alike),
            min((piece.since for piece in alike if piece.since), default=None),
            waits.zones_left,
            tuple(zone for zone in work.zones if zone not in waits.zones_left)
            if waits.waits == "glaze"
            else (),
        )
        for (stage, waits), alike in waiting.items()
    ]
    told.sort(key=lambda lot: (_STAGE_PLACE[lot.stage], _WAITS_PLACE[lot.waits], lot.zones_left))
    return RunWork(
        run_id,
        tuple(told),
        _shares(work, pieces),
        tuple(WorkLot(*key, how_many) for key, how_many in sorted(lots.items(), key=_lot_order)),
        work,
        covers[-1] if covers else None,
    )


def _lot_order(
    lot: tuple[tuple[str, frozenset[str], frozenset[str]], int],
) -> tuple[int, list[str], list[str]]:
    stage, done, glazed = lot[0]
    return _STAGE_PLACE[stage], sorted(done), sorted(glazed)


def _shares(work: FormWork, pieces: Sequence[_Piece]) -> tuple[StepShare, ...]:
    """Steps of the stages where pieces are: the form's own, and what was logged beside them."""
    found = []
    for stage in STAGES:
        at = [piece for piece in pieces if piece.stage == stage]
        if not at or stage == "finished":
            continue
        names = [
            step.name
            for step in work.steps
            if step.stage == stage
            and not (stage == "wet" and is_making(step.name))
            # Glazed is a stage, and told zone by zone below.
            and roots_of(step.name) != {"glaze"}
        ]
        for name in names:
            done = sum(any(same_work(name, one) for one in piece.done) for piece in at)
            found.append(StepShare(name, stage, done, len(at)))
        if stage == "bisque":
            for zone in work.zones:
                done = sum(not zones_bare([zone], piece.glazed) for piece in at)
                found.append(StepShare(f"{zone} glazed", stage, done, len(at)))
    return tuple(found)
