"""Pieces go into a planned load, and out of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import FIRING_KINDS, STAGES, join_words
from studiolog.journal.firing_load import find_numbered, read_numbers
from studiolog.journal.load_ware import MAY_GO, READY, in_open_load, waiting_ids
from studiolog.journal.loads import open_load, remove_places, so_many, title_of
from studiolog.journal.writing import add, count, get
from studiolog.problems import UserProblem
from studiolog.records.kilns import Kiln
from studiolog.records.loads import KilnLoad, LoadPlace
from studiolog.records.orders import OrderLine
from studiolog.records.pieces import Piece, Run

MOST_IN_A_LOAD: Final = 1000


def add_to_load(
    session: Session, load_id: int, run_id: int, stage: str | None, how_many: int
) -> tuple[int, ...]:
    """Put so many pieces of a run into a load, those without a number first; returns their ids.

    ``stage`` None takes the stage the load waits for. Raises `UserProblem` if there are fewer that
    are in no load.
    """
    load = open_load(session, load_id)
    run = get(session, Run, run_id)
    wanted = stage or READY[load.kind]
    if how_many < 1:
        raise UserProblem("Say how many pieces go in: 1 or more.")
    free = session.scalars(
        select(Piece.id)
        .where(Piece.run_id == run_id, Piece.stage == wanted, ~in_open_load(Piece.id))
        .order_by(Piece.number.is_not(None), Piece.number, Piece.id)
    ).all()
    if len(free) < how_many:
        told = (
            f"Run {run.number} has {so_many(len(free))} {STAGES[wanted]} in no load yet, "
            f"not {how_many}."
        )
        raise UserProblem(told, {"how_many": told})
    return add_pieces(session, load_id, free[:how_many])


def add_typed(session: Session, load_id: int, text: str) -> tuple[int, ...]:
    """Put in pieces typed by number, and all of a run that wait: "388, 390-395, run 57"."""
    load = open_load(session, load_id)
    numbers, run_numbers = read_numbers(text)
    chosen = find_numbered(session, numbers)
    for run_number in run_numbers:
        of_run = session.scalars(
            select(Piece.id)
            .join(Run, Run.id == Piece.run_id)
            .where(
                Run.number == run_number, Piece.stage == READY[load.kind], ~in_open_load(Piece.id)
            )
            .order_by(Piece.id)
        ).all()
        if not of_run:
            raise UserProblem(
                f"No piece of run {run_number} is {STAGES[READY[load.kind]]} and in no load yet."
            )
        chosen.extend(of_run)
    return add_pieces(session, load_id, list(dict.fromkeys(chosen)))


def add_of_order(session: Session, load_id: int, order_id: int) -> tuple[int, ...]:
    """Put in all that waits for an order. Raises `UserProblem` if nothing does."""
    load = open_load(session, load_id)
    lines = set(session.scalars(select(OrderLine.id).where(OrderLine.order_id == order_id)))
    waiting = waiting_ids(session, load.kind)
    runs = set(session.scalars(select(Run.id).where(Run.order_line_id.in_(lines))))
    chosen = [
        piece_id
        for piece_id, line_id, run_id in session.execute(
            select(Piece.id, Piece.order_line_id, Piece.run_id).where(Piece.id.in_(waiting))
        )
        if line_id in lines or (line_id is None and run_id in runs)
    ]
    if not chosen:
        raise UserProblem("Nothing of this order waits for such a firing.")
    return add_pieces(session, load_id, chosen)


def add_pieces(session: Session, load_id: int, piece_ids: Sequence[int]) -> tuple[int, ...]:
    """Put pieces into a load; they have no place yet. Returns their ids.

    Raises `UserProblem` for a piece that is lost or not at a stage for it, and for one that is in
    another load.
    """
    load = open_load(session, load_id)
    takes = MAY_GO[load.kind]
    pieces = [get(session, Piece, piece_id) for piece_id in piece_ids]
    for piece in pieces:
        if piece.stage not in takes:
            wants = join_words([STAGES[stage] for stage in takes], "or")
            raise UserProblem(
                f"{_label(session, piece)} is {STAGES[piece.stage]}: a {FIRING_KINDS[load.kind]} "
                f"firing takes ware that is {wants}."
            )
    held = session.execute(
        select(LoadPlace.piece_id, LoadPlace.load_id)
        .join(KilnLoad, KilnLoad.id == LoadPlace.load_id)
        .where(LoadPlace.piece_id.in_(piece_ids), KilnLoad.firing_id.is_(None))
        .limit(1)
    ).first()
    if held is not None:
        where = "this load" if held.load_id == load_id else _say_load(session, held.load_id)
        piece = get(session, Piece, held.piece_id)
        raise UserProblem(f"{_label(session, piece)} is in {where} already.")
    inside = count(session, LoadPlace, LoadPlace.load_id == load_id)
    if inside + len(pieces) > MOST_IN_A_LOAD:
        raise UserProblem(f"A load has {MOST_IN_A_LOAD} pieces at most.")
    for piece in pieces:
        add(session, LoadPlace(load_id=load_id, piece_id=piece.id))
    return tuple(piece_ids)


def _say_load(session: Session, load_id: int) -> str:
    load = get(session, KilnLoad, load_id)
    kiln = get(session, Kiln, load.kiln_id)
    return f"the load {title_of(load.kind, load.cone, kiln.name)}"


def _label(session: Session, piece: Piece) -> str:
    if piece.number is not None:
        return f"Piece {piece.number}"
    run = session.get(Run, piece.run_id) if piece.run_id is not None else None
    return f"A piece of run {run.number}" if run is not None else "A piece"


def take_out(session: Session, load_id: int, piece_ids: Iterable[int]) -> int:
    """Take pieces out of a load: they wait again. Returns how many."""
    open_load(session, load_id)
    wanted = list(piece_ids)
    gone = remove_places(session, LoadPlace.load_id == load_id, LoadPlace.piece_id.in_(wanted))
    if not gone:
        raise UserProblem("These pieces are not in this load any more.")
    return gone
