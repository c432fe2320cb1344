"""The load of a firing: which pieces stood at which level, put in and taken out by number."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import FAULTS, faults_in
from studiolog.journal.pieces import PlacementDraft, place_piece, unplace_piece
from studiolog.problems import UserProblem
from studiolog.records.facts import piece_fact
from studiolog.records.forms import Form
from studiolog.records.pieces import Measurement, Piece, Placement, Run

_USUAL_ACROSS_MM = 90.0
_MOST = 400
_PART = re.compile(
    r"runs?\s*(?P<run>\d{1,9})|(?:pieces?\s*)?(?P<first>\d{1,9})(?:\s*(?:-|–|to)\s*(?P<last>\d{1,9}))?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class LoadPiece:
    """A piece where it stood. ``across_mm`` is fired size, as far as known; ``faults`` in words.

    ``shelf_x`` and ``shelf_y`` run from 0 to 1, door at the bottom; None lays it out by itself.
    """

    piece_id: int
    number: int | None
    run_id: int | None
    run_number: int | None
    name: str
    shape: str
    across_mm: float
    shelf_x: float | None
    shelf_y: float | None
    position: str
    faults: str

    @property
    def label(self) -> str:
        """ "Piece 412" or "one of run 57"."""
        if self.number is not None:
            return f"Piece {self.number}"
        return f"one of run {self.run_number}"


def read_load(session: Session, firing_id: int) -> dict[int | None, tuple[LoadPiece, ...]]:
    """The pieces of a firing by level id; None holds those whose level nobody told."""
    across: Mapping[int, float] = {
        row.piece_id: row.across_mm
        for row in session.execute(
            select(Measurement.piece_id, Measurement.across_mm)
            .join(Placement, Placement.piece_id == Measurement.piece_id)
            .where(
                Placement.firing_id == firing_id,
                Measurement.across_mm.is_not(None),
                Measurement.stage.in_(("fired", "finished")),
            )
        )
    }
    found: dict[int | None, list[LoadPiece]] = {}
    for row in session.execute(
        select(
            Placement.level_id,
            Placement.shelf_x,
            Placement.shelf_y,
            Placement.position,
            Piece.id,
            Piece.number,
            Piece.title,
            Run.id.label("run_id"),
            Run.number.label("run_number"),
            Form.name.label("form_name"),
            Form.shape,
            Form.fired_across_mm,
            piece_fact.c.firing_id.label("fact_firing"),
            piece_fact.c.seen_mask,
        )
        .join(Piece, Piece.id == Placement.piece_id)
        .outerjoin(Run, Run.id == Piece.run_id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .outerjoin(piece_fact, piece_fact.c.piece_id == Piece.id)
        .where(Placement.firing_id == firing_id)
        .order_by(Piece.number, Piece.id)
    ):
        # A fault belongs to the firing that made the glaze: a bisque firing is not blamed.
        seen = row.seen_mask if row.seen_mask and row.fact_firing == firing_id else 0
        found.setdefault(row.level_id, []).append(
            LoadPiece(
                row.id,
                row.number,
                row.run_id,
                row.run_number,
                row.title or row.form_name or "",
                row.shape or "thrown",
                across.get(row.id) or row.fired_across_mm or _USUAL_ACROSS_MM,
                row.shelf_x,
                row.shelf_y,
                row.position,
                ", ".join(FAULTS[fault] for fault in faults_in(seen)),
            )
        )
    return {level: tuple(pieces) for level, pieces in found.items()}


def read_numbers(text: str) -> tuple[list[int], list[int]]:
    """Piece numbers and run numbers as typed: "388, 390-395, run 57".

    Raises UserProblem naming the part that is neither.
    """
    pieces: list[int] = []
    runs: list[int] = []
    done = 0
    for part in _PART.finditer(text):
        _refuse_between(text[done : part.start()])
        done = part.end()
        if part["run"]:
            runs.append(int(part["run"]))
            continue
        first, last = int(part["first"]), int(part["last"] or part["first"])
        if not 0 <= last - first < _MOST:
            raise UserProblem(
                f"“{part[0].strip()}” runs backwards or is too long: write it like 390-395."
            )
        pieces.extend(range(first, last + 1))
    _refuse_between(text[done:])
    if not pieces and not runs:
        raise UserProblem("Type the numbers of the pieces, like 388, 390-395, or run 57.")
    return pieces, runs


def _refuse_between(text: str) -> None:
    said = text.strip(" ,;\t\n")
    if said and said.lower() != "and":
        raise UserProblem(f"“{said}” is no piece number: write them like 388, 390-395, or run 57.")


def find_numbered(session: Session, numbers: Sequence[int]) -> list[int]:
    """The ids of numbered pieces, in that order. Raises UserProblem naming those there are not."""
    known = {
        number: piece_id
        for piece_id, number in session.execute(
            select(Piece.id, Piece.number).where(Piece.number.in_(numbers))
        )
    }
    missing = [str(number) for number in numbers if number not in known]
    if missing:
        what = f"pieces {', '.join(missing[:6])}" if len(missing) > 1 else f"piece {missing[0]}"
        raise UserProblem(f"There is no {what}: check the number on the foot.")
    return [known[number] for number in numbers]


def find_pieces(session: Session, text: str) -> list[int]:
    """The ids of the pieces typed. Raises UserProblem naming those there are not."""
    numbers, run_numbers = read_numbers(text)
    found = find_numbered(session, numbers)
    for run_number in run_numbers:
        of_run = session.scalars(
            select(Piece.id)
            .join(Run, Run.id == Piece.run_id)
            .where(Run.number == run_number, Piece.stage != "lost")
            .order_by(Piece.id)
        ).all()
        if not of_run:
            raise UserProblem(f"Run {run_number} has no pieces that could stand in a kiln.")
        found.extend(of_run)
    return list(dict.fromkeys(found))


def put_in_load(session: Session, firing_id: int, level_id: int | None, text: str) -> int:
    """Put the pieces typed on a level; one that stood elsewhere in it moves. Returns how many."""
    return place_all(session, firing_id, level_id, find_pieces(session, text))


def place_all(
    session: Session, firing_id: int, level_id: int | None, piece_ids: Sequence[int]
) -> int:
    """Put pieces on a level of a firing; returns how many."""
    for piece_id in piece_ids:
        place_piece(session, piece_id, PlacementDraft(firing_id=firing_id, level_id=level_id))
    return len(piece_ids)


def take_out_of_load(session: Session, firing_id: int, text: str) -> int:
    """Take the pieces typed out of a load. Raises UserProblem for one that is not in it."""
    inside = set(
        session.scalars(select(Placement.piece_id).where(Placement.firing_id == firing_id))
    )
    numbers, _runs = read_numbers(text)
    chosen = [piece_id for piece_id in find_pieces(session, text) if piece_id in inside]
    if not chosen:
        said = ", ".join(str(number) for number in numbers) or text.strip()
        raise UserProblem(f"{said}: not in this load.")
    for piece_id in chosen:
        unplace_piece(session, piece_id, firing_id)
    return len(chosen)
