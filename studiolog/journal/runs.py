"""Runs on the bench: pieces moved on, lost, worked on, packed and singled out by the count."""

from collections.abc import Collection, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from studiolog.craft.words import PURPOSES, STAGES
from studiolog.journal.bench_words import Loss, Move, Reading, StepDone
from studiolog.journal.pieces import (
    MOST_PIECES,
    PieceDraft,
    PlacementDraft,
    change_run,
    delete_piece,
    delete_stage_change,
    log_piece,
    log_step,
    move_to_stage,
    place_piece,
    single_out,
)
from studiolog.journal.writing import add, change, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.orders import OrderLine
from studiolog.records.pieces import Piece, Placement, Run, RunSource, StageChange, Step
from studiolog.records.plans import TestPlan

_ORDER = tuple(STAGES)


def move_pieces(
    session: Session,
    run_id: int,
    from_stage: str,
    to_stage: str,
    how_many: int,
    at: datetime,
    note: str = "",
    first: Collection[int] = (),
) -> tuple[int, ...]:
    """Move so many counted pieces of a run from one stage to another; returns their ids.

    On is a new line of their history. Back is a correction: clay does not return to an earlier
    state, so the lines after ``to_stage`` are taken out. ``first`` names the pieces to take first.
    """
    if to_stage == "lost":
        return lose_pieces(session, run_id, from_stage, how_many, note, at, first)
    back = _ORDER.index(to_stage) < _ORDER.index(from_stage)
    chosen = _choose(session, run_id, from_stage, how_many, first, newest=back)
    for piece in chosen:
        if back:
            _take_back(session, piece, to_stage, at, note)
        else:
            move_to_stage(session, piece.id, to_stage, at, note)
    return tuple(piece.id for piece in chosen)


def lose_pieces(
    session: Session,
    run_id: int,
    from_stage: str,
    how_many: int,
    why: str,
    at: datetime,
    first: Collection[int] = (),
) -> tuple[int, ...]:
    """Lose so many counted pieces of a run, and say why; returns their ids.

    Raises `UserProblem` without a reason, or with fewer pieces at that stage.
    """
    if not why.strip():
        raise UserProblem("Say why: what was lost teaches most.", {"why": "Say why."})
    chosen = _choose(session, run_id, from_stage, how_many, first)
    for piece in chosen:
        move_to_stage(session, piece.id, "lost", at, why.strip())
    return tuple(piece.id for piece in chosen)


def find_again(session: Session, run_id: int) -> int:
    """The piece lost last was not lost after all: it stands where it stood; returns its id.

    Raises `UserProblem` if none is lost.
    """
    lost_last = (
        select(StageChange.id)
        .join(Piece, Piece.id == StageChange.piece_id)
        .where(
            Piece.run_id == run_id,
            Piece.number.is_(None),
            Piece.stage == "lost",
            StageChange.stage == "lost",
        )
        .order_by(StageChange.at.desc(), StageChange.id.desc())
        .limit(1)
    )
    change_id = session.scalar(lost_last)
    if change_id is None:
        raise UserProblem("No counted piece of this run is lost.")
    piece = get(session, Piece, get(session, StageChange, change_id).piece_id)
    delete_stage_change(session, change_id)
    if piece.stage == "lost":
        # Nothing was logged of it before it was lost.
        move_to_stage(session, piece.id, "wet", datetime.now().replace(microsecond=0))
    piece.lost_why = ""
    session.flush()
    return piece.id


def log_steps(
    session: Session,
    run_id: int,
    name: str,
    stage: str,
    how_many: int,
    done_on: date,
) -> tuple[int, ...]:
    """Log work done to so many counted pieces at a stage, those without it first."""
    done = exists().where(Step.piece_id == Piece.id, Step.name == name)
    chosen = _choose(session, run_id, stage, how_many, unlike=done)
    for piece in chosen:
        log_step(session, piece.id, name, done_on)
    return tuple(piece.id for piece in chosen)


def place_pieces(
    session: Session,
    run_id: int,
    stage: str,
    how_many: int,
    firing_id: int,
    level_id: int | None = None,
) -> tuple[int, ...]:
    """Put so many counted pieces at a stage into a firing, on a level if that is known."""
    inside = exists().where(Placement.piece_id == Piece.id, Placement.firing_id == firing_id)
    chosen = _choose(session, run_id, stage, how_many, without=inside)
    for piece in chosen:
        place_piece(session, piece.id, PlacementDraft(firing_id=firing_id, level_id=level_id))
    return tuple(piece.id for piece in chosen)


def single_out_one(session: Session, run_id: int, stage: str) -> tuple[int, int]:
    """Give one counted piece at a stage the next number; returns its id and number."""
    piece = _choose(session, run_id, stage, 1)[0]
    return piece.id, single_out(session, piece.id)


def do_bench_line(session: Session, reading: Reading, at: datetime) -> None:
    """Do what a typed line of the bench was read as, in one edit.

    Pieces named by an earlier part of the line come first: in “trimmed 5, one rim split” the split
    one was being trimmed. Raises `UserProblem` if any part of it was not understood.
    """
    if reading.run_id is None or not reading.ready:
        raise UserProblem("Not everything in this line was understood: nothing was done.")
    named: list[int] = []
    for action in reading.actions:
        match action:
            case StepDone(name, stage, how_many):
                named += log_steps(session, reading.run_id, name, stage, how_many, at.date())
            case Move(from_stage, to_stage, how_many):
                named += move_pieces(
                    session, reading.run_id, from_stage, to_stage, how_many, at, first=named
                )
            case Loss(stage, how_many, why):
                lose_pieces(session, reading.run_id, stage, how_many, why, at, named)


def add_pieces(
    session: Session, run_id: int, how_many: int, at: datetime, stage: str = "wet"
) -> None:
    """Count more pieces under a run.

    Raises `UserProblem` where a run would have too many.
    """
    run = get(session, Run, run_id)
    if how_many < 1 or count(session, Piece, Piece.run_id == run_id) + how_many > MOST_PIECES:
        raise UserProblem(f"A run has at most {MOST_PIECES} pieces.", {"how_many": "too many"})
    draft = PieceDraft(
        numbered=False,
        run_id=run_id,
        form_id=run.form_id,
        clay_id=run.clay_id,
        made_on=run.made_on,
        stage=stage,
        stages=((stage, at),),
    )
    for _ in range(how_many):
        log_piece(session, draft)


def drop_pieces(session: Session, run_id: int, stage: str, how_many: int) -> None:
    """Take away pieces that were counted by mistake; a piece that was lost is not a mistake."""
    for piece in _choose(session, run_id, stage, how_many, newest=True):
        delete_piece(session, piece.id)


def change_run_facts(
    session: Session, run_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a run; its pieces follow in form, clay and day where they agreed."""
    if fields.get("purpose", "stock") not in PURPOSES:
        raise UserProblem(f"A run is made for one of these: {', '.join(PURPOSES.values())}.")
    if fields.get("order_line_id") is not None:
        get(session, OrderLine, fields["order_line_id"])
    number = fields.get("number")
    if number is not None and count(session, Run, Run.number == number, Run.id != run_id):
        sentence = f"There is a run {number} already."
        raise UserProblem(sentence, {"number": sentence})
    run = get(session, Run, run_id, version)
    shared = {name: getattr(run, name) for name in ("form_id", "clay_id", "made_on")}
    change_run(session, run_id, version, **fields)
    followed = [name for name in shared if name in fields and fields[name] != shared[name]]
    if followed:
        for piece in session.scalars(select(Piece).where(Piece.run_id == run_id)):
            for name in followed:
                if getattr(piece, name) == shared[name]:
                    setattr(piece, name, fields[name])
        session.flush()


def set_run_sources(session: Session, run_id: int, piece_numbers: Sequence[int]) -> None:
    """Say from which numbered pieces a run carries on."""
    get(session, Run, run_id)
    ids: list[int] = []
    for number in dict.fromkeys(piece_numbers):
        piece_id = session.scalar(select(Piece.id).where(Piece.number == number))
        if piece_id is None:
            sentence = f"There is no piece {number}."
            raise UserProblem(sentence, {"came_from": sentence})
        ids.append(piece_id)
    remove_all(
        session, RunSource, RunSource.run_id == run_id, RunSource.piece_id.not_in(ids or [0])
    )
    kept = set(session.scalars(select(RunSource.piece_id).where(RunSource.run_id == run_id)))
    for piece_id in ids:
        if piece_id not in kept:
            add(session, RunSource(run_id=run_id, piece_id=piece_id))


def delete_run(session: Session, run_id: int) -> None:
    """Delete a run with its counted pieces.

    Raises `StillUsed` while numbered pieces belong to it, or while its pieces were in a firing:
    then it is evidence, not a slip.
    """
    run = get(session, Run, run_id)
    numbers = session.scalars(
        select(Piece.number)
        .where(Piece.run_id == run_id, Piece.number.is_not(None))
        .order_by(Piece.number)
    ).all()
    if numbers:
        few = ", ".join(str(number) for number in numbers[:6])
        more = f" and {len(numbers) - 6} more" if len(numbers) > 6 else ""
        raise StillUsed(
            f"Run {run.number} can't be deleted: piece {few}{more} belongs to it. "
            "Delete those pieces first, or lose what was lost."
        )
    counted = select(Piece.id).where(Piece.run_id == run_id)
    if count(session, Placement, Placement.piece_id.in_(counted)):
        raise StillUsed(
            f"Run {run.number} can't be deleted: its pieces were in a firing. "
            "Lose those that were lost, with why, so that the record stays true."
        )
    remove_all(session, RunSource, RunSource.run_id == run_id)
    for piece_id in session.scalars(counted).all():
        delete_piece(session, piece_id)
    for plan in session.scalars(select(TestPlan).where(TestPlan.run_id == run_id)).all():
        change(session, TestPlan, plan.id, run_id=None)
    remove(session, run)


def _choose(
    session: Session,
    run_id: int,
    stage: str,
    how_many: int,
    first: Collection[int] = (),
    *,
    newest: bool = False,
    unlike: Any = None,
    without: Any = None,
) -> list[Piece]:
    """So many counted pieces of a run at a stage; refused if there are fewer."""
    run = get(session, Run, run_id)
    if stage not in STAGES:
        raise UserProblem(f"“{stage}” is not a stage: {', '.join(STAGES.values())}.")
    if how_many < 1:
        raise UserProblem("Move one piece or more.", {"how_many": "1 or more"})
    asked = select(Piece).where(
        Piece.run_id == run_id, Piece.stage == stage, Piece.number.is_(None)
    )
    if without is not None:
        asked = asked.where(~without)
    orders: list[Any] = [Piece.id.desc() if newest else Piece.id]
    if unlike is not None:
        orders.insert(0, unlike)
    if first:
        orders.insert(0, Piece.id.not_in(first))
    chosen = list(session.scalars(asked.order_by(*orders).limit(how_many)))
    if len(chosen) < how_many:
        have = f"only {len(chosen)}" if chosen else "no"
        noun = "piece" if len(chosen) == 1 else "pieces"
        sentence = (
            f"Run {run.number} has {have} counted {noun} {STAGES[stage]}. "
            "Pieces with a number of their own are moved on their own page."
        )
        raise UserProblem(sentence, {"how_many": sentence})
    return chosen


def _take_back(session: Session, piece: Piece, stage: str, at: datetime, note: str) -> None:
    later = _ORDER[_ORDER.index(stage) + 1 :]
    remove_all(session, StageChange, StageChange.piece_id == piece.id, StageChange.stage.in_(later))
    if piece.stage == "lost":
        piece.lost_why = ""
    piece.stage = stage
    if not count(
        session, StageChange, StageChange.piece_id == piece.id, StageChange.stage == stage
    ):
        add(session, StageChange(piece_id=piece.id, stage=stage, at=at, note=note))
    session.flush()
