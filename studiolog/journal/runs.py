"""Runs on the bench: pieces moved on, lost, worked on, packed and singled out by the count."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from studiolog.craft.words import PURPOSES, STAGES
from studiolog.journal.bench_actions import Loss, Move, Reading, StepDone, Wrap
from studiolog.journal.counted_pieces import choose_pieces
from studiolog.journal.covers import remove_covers
from studiolog.journal.held_pieces import refuse_line_of_a_set
from studiolog.journal.pieces import (
    MOST_PIECES,
    PieceDraft,
    PlacementDraft,
    change_run,
    delete_piece,
    log_piece,
    move_to_stage,
    place_piece,
    single_out,
)
from studiolog.journal.run_work import has_step, lay_on_zone, log_steps, move_on_glazed, wrap_run
from studiolog.journal.stage_history import find_piece_again
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.forms import Way
from studiolog.records.pieces import (
    Piece,
    Placement,
    Run,
    RunSource,
    StageChange,
    ToolUse,
)
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
    for stage in (from_stage, to_stage):
        if stage not in STAGES:
            raise UserProblem(f"“{stage}” is not a stage: {', '.join(STAGES.values())}.")
    back = _ORDER.index(to_stage) < _ORDER.index(from_stage)
    chosen = choose_pieces(session, run_id, from_stage, how_many, first, newest=back)
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
    never: Collection[int] = (),
    lacking: str = "",
) -> tuple[int, ...]:
    """Lose so many counted pieces of a run, and say why; returns their ids.

    ``first`` names those to take before others, ``never`` those that were not lost, and a work
    ``lacking`` is one that the lost ones would rather not have had.

    Raises `UserProblem` without a reason, or with fewer pieces at that stage.
    """
    if not why.strip():
        raise UserProblem("Say why: what was lost teaches most.", {"why": "Say why."})
    cause = clean_name(why, "why", "cause of the loss")
    chosen = choose_pieces(
        session,
        run_id,
        from_stage,
        how_many,
        first,
        unlike=[has_step(session, run_id, lacking)] if lacking else (),
        without=Piece.id.in_(never) if never else None,
    )
    for piece in chosen:
        move_to_stage(session, piece.id, "lost", at, cause)
    return tuple(piece.id for piece in chosen)


def find_again(session: Session, run_id: int) -> int:
    """The piece lost last was not lost after all: it stands where it stood; returns its id.

    Raises `UserProblem` if none is lost.
    """
    lost_last = (
        select(StageChange.piece_id)
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
    piece_id = session.scalar(lost_last)
    if piece_id is None:
        raise UserProblem("No counted piece of this run is lost.")
    find_piece_again(session, piece_id)
    return piece_id


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
    chosen = choose_pieces(session, run_id, stage, how_many, without=inside)
    for piece in chosen:
        place_piece(session, piece.id, PlacementDraft(firing_id=firing_id, level_id=level_id))
    return tuple(piece.id for piece in chosen)


def single_out_one(session: Session, run_id: int, stage: str) -> tuple[int, int]:
    """Give one counted piece at a stage the next number; returns its id and number."""
    piece = choose_pieces(session, run_id, stage, 1)[0]
    return piece.id, single_out(session, piece.id)


def do_bench_line(session: Session, reading: Reading, at: datetime) -> None:
    """Do what a typed line of the bench was read as, in one edit.

    Pieces named by an earlier part of the line come first: in “trimmed 5, one rim split” the split
    one was being trimmed. Raises `UserProblem` if any part of it was not understood.
    """
    if reading.run_id is None or not reading.ready:
        raise UserProblem("Not everything in this line was understood: nothing was done.")
    run_id = reading.run_id
    named: list[int] = []
    work = ""
    for action in reading.actions:
        match action:
            case StepDone(name=name, stage=stage, how_many=how_many):
                worked = log_steps(
                    session,
                    run_id,
                    name,
                    stage,
                    how_many,
                    at.date(),
                    action.minutes,
                    action.zone,
                    action.rework,
                )
                named += worked
                work = "" if action.zone else name
                lay_on_zone(session, worked, action.zone, action.layers)
                if action.then_glazed:
                    move_on_glazed(session, run_id, worked, at)
            case Move(from_stage, to_stage, how_many):
                named += move_pieces(
                    session, run_id, from_stage, to_stage, how_many, at, first=named
                )
            case Loss(stage, how_many, why, other=True):
                lose_pieces(session, run_id, stage, how_many, why, at, (), named, work)
            case Loss(stage, how_many, why):
                lose_pieces(session, run_id, stage, how_many, why, at, named)
            case Wrap(cover, weather):
                wrap_run(session, run_id, cover, at, weather)


def add_pieces(
    session: Session, run_id: int, how_many: int, at: datetime, stage: str = "wet"
) -> None:
    """Count more pieces under a run; where all of it is for a part of a set, they are too.

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
        set_part_id=_part_of_all(session, run_id) if run.order_line_id is None else None,
    )
    for _ in range(how_many):
        log_piece(session, draft)


def _part_of_all(session: Session, run_id: int) -> int | None:
    """The part of a set that every piece of a run is set aside for; None where they differ."""
    held = select(Piece.set_part_id, Piece.order_line_id).where(Piece.run_id == run_id).distinct()
    found = session.execute(held.limit(2)).all()
    return found[0].set_part_id if len(found) == 1 else None


def drop_pieces(session: Session, run_id: int, stage: str, how_many: int) -> None:
    """Take away pieces that were counted by mistake; a piece that was lost is not a mistake."""
    for piece in choose_pieces(session, run_id, stage, how_many, newest=True):
        delete_piece(session, piece.id)


def change_run_facts(
    session: Session, run_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a run; its pieces follow in form, clay and day where they agreed."""
    if fields.get("purpose", "stock") not in PURPOSES:
        raise UserProblem(f"A run is made for one of these: {', '.join(PURPOSES.values())}.")
    if fields.get("order_line_id") is not None:
        refuse_line_of_a_set(session, fields["order_line_id"])
    number = fields.get("number")
    if number is not None and count(session, Run, Run.number == number, Run.id != run_id):
        sentence = f"There is a run {number} already."
        raise UserProblem(sentence, {"number": sentence})
    run = get(session, Run, run_id, version)
    form_id = fields.get("form_id", run.form_id)
    if fields.get("way_id") is not None:
        if get(session, Way, fields["way_id"]).form_id != form_id:
            raise UserProblem("This is a way of making another form.")
    elif run.way_id is not None and form_id != run.form_id:
        fields["way_id"] = None  # it was a way of making the form it had
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
        one = len(numbers) == 1
        belong = f"piece {few} belongs to it" if one else f"pieces {few}{more} belong to it"
        raise StillUsed(
            f"Run {run.number} can't be deleted: {belong}. "
            "Delete them first, or lose what was lost."
        )
    counted = select(Piece.id).where(Piece.run_id == run_id)
    if count(session, Placement, Placement.piece_id.in_(counted)):
        raise StillUsed(
            f"Run {run.number} can't be deleted: its pieces were in a firing. "
            "Lose those that were lost, with why, so that the record stays true."
        )
    remove_all(session, RunSource, RunSource.run_id == run_id)
    remove_covers(session, run_id)
    remove_all(session, ToolUse, ToolUse.run_id == run_id)
    for piece_id in session.scalars(counted).all():
        delete_piece(session, piece_id)
    for plan in session.scalars(select(TestPlan).where(TestPlan.run_id == run_id)).all():
        change(session, TestPlan, plan.id, run_id=None)
    remove(session, run)


def _take_back(session: Session, piece: Piece, stage: str, at: datetime, note: str) -> None:
    later = _ORDER[_ORDER.index(stage) + 1 :]
    remove_all(session, StageChange, StageChange.piece_id == piece.id, StageChange.stage.in_(later))
    if piece.stage == "lost":
        piece.lost_why, piece.lost_at = "", None
    piece.stage = stage
    if not count(
        session, StageChange, StageChange.piece_id == piece.id, StageChange.stage == stage
    ):
        add(session, StageChange(piece_id=piece.id, stage=stage, at=at, note=note))
    session.flush()
