"""Shrinkage bars: numbered pieces of a clay with two marks, measured wet, dry, bisque and fired.

The marks are sizes of pieces like any others; this is only a short way to write them down.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.shrinkage import linear
from studiolog.craft.words import STAGES
from studiolog.journal.piece_changes import measure
from studiolog.journal.pieces import (
    PieceDraft,
    PlacementDraft,
    change_piece,
    delete_piece,
    log_piece,
    move_to_stage,
    place_piece,
    unplace_piece,
)
from studiolog.journal.writing import count, get
from studiolog.problems import UserProblem
from studiolog.records.clays import Clay
from studiolog.records.facts import piece_fact
from studiolog.records.firings import Firing
from studiolog.records.inspections import Inspection
from studiolog.records.photos import Picture
from studiolog.records.pieces import Layer, Measurement, Piece, Placement

TITLE: Final = "Shrinkage bar"
BAR_STAGES: Final = ("wet", "bone_dry", "bisque", "fired")
MOST_BARS: Final = 60
"""The newest are shown to be typed into; all of them are counted."""

_RANK: Final = {stage: place for place, stage in enumerate(STAGES)}


@dataclass(frozen=True)
class BarDraft:
    """A bar as a row of the table has it. ``number`` None: a new piece with the next number."""

    number: int | None
    marks: tuple[float | None, ...]
    """The distance of the marks at each of `BAR_STAGES`, mm."""
    firing: int | None = None
    """The number of the firing it was fired in."""


@dataclass(frozen=True)
class BarLine:
    """A bar as it is, with the versions of its four sizes (None where none was measured)."""

    piece_id: int
    number: int | None
    name: str
    marks: tuple[float | None, ...]
    versions: tuple[int | None, ...]
    firing: int | None
    cone10: int | None
    cone_basis: str | None

    @property
    def draft(self) -> BarDraft:
        """As a row of the table has it."""
        return BarDraft(self.number, self.marks, self.firing)


def read_bars(session: Session, clay_id: int) -> tuple[BarLine, ...]:
    """The numbered pieces of a clay with marks, the oldest of the newest `MOST_BARS` first."""
    marked = select(Measurement.piece_id).where(Measurement.mark_mm.is_not(None))
    rows = session.execute(
        select(Piece, Firing.number, piece_fact.c.cone10, piece_fact.c.cone_basis)
        .outerjoin(piece_fact, piece_fact.c.piece_id == Piece.id)
        .outerjoin(Firing, Firing.id == piece_fact.c.firing_id)
        .where(Piece.clay_id == clay_id, Piece.number.is_not(None), Piece.id.in_(marked))
        .order_by(Piece.number.desc())
        .limit(MOST_BARS)
    ).all()
    sizes: dict[tuple[int, str], Measurement] = {}
    ids = [piece.id for piece, *_ in rows]
    for size in session.scalars(select(Measurement).where(Measurement.piece_id.in_(ids))):
        sizes[size.piece_id, size.stage] = size
    found = []
    for piece, firing, cone10, basis in reversed(rows):
        of_bar = [sizes.get((piece.id, stage)) for stage in BAR_STAGES]
        found.append(
            BarLine(
                piece.id,
                piece.number,
                piece.title or "Piece",
                tuple(None if size is None else size.mark_mm for size in of_bar),
                tuple(None if size is None else size.version for size in of_bar),
                firing,
                cone10,
                basis,
            )
        )
    return tuple(found)


def set_bars(
    session: Session,
    clay_id: int,
    seen: Sequence[BarLine],
    drafts: Sequence[BarDraft],
    now: datetime,
) -> None:
    """Write the bars of a clay as the table shows them; ``seen`` is what it showed before.

    A new row is a new numbered piece, or one of this clay that is named by its number. A row that
    is gone takes its marks with it, and a bar that is nothing but a bar. Raises UserProblem naming
    the row for what can't be, and EditConflict if a size is another by now.
    """
    get(session, Clay, clay_id)
    by_number = {bar.number: bar for bar in seen}
    numbers = [draft.number for draft in drafts if draft.number is not None]
    twice = next((number for number in numbers if numbers.count(number) > 1), None)
    if twice is not None:
        raise UserProblem(f"Piece {twice} stands in two rows: keep one of them.")
    for bar in seen:
        if bar.number not in numbers:
            _let_go(session, bar)
    for place, draft in enumerate(drafts):
        try:
            _write(session, clay_id, by_number.get(draft.number), draft, now)
        except UserProblem as problem:
            where = f"Piece {draft.number}" if draft.number else f"Row {place + 1}"
            raise type(problem)(f"{where}: {problem.sentence}") from problem


def _write(
    session: Session, clay_id: int, bar: BarLine | None, draft: BarDraft, now: datetime
) -> None:
    if bar is not None and bar.draft == draft:
        return
    _check(draft)
    firing = None if draft.firing is None else _firing(session, draft.firing)
    if bar is None:
        bar = _bar_of(session, clay_id, draft, now)
        # What a new row leaves open stays as the piece has it.
        marks = tuple(
            old if new is None else new for old, new in zip(bar.marks, draft.marks, strict=True)
        )
        draft = replace(draft, marks=marks, firing=draft.firing or bar.firing)
        _check(draft)
    for stage, before, after, version in zip(
        BAR_STAGES, bar.marks, draft.marks, bar.versions, strict=True
    ):
        if before != after:
            measure(session, bar.piece_id, stage, version, "mark_mm", after)
    if draft.firing != bar.firing:
        old = None if bar.firing is None else _firing(session, bar.firing)
        if old is not None:
            unplace_piece(session, bar.piece_id, old.id)
        if firing is not None:
            place_piece(session, bar.piece_id, PlacementDraft(firing_id=firing.id))
    _move_on(session, bar.piece_id, draft, now)


def _bar_of(session: Session, clay_id: int, draft: BarDraft, now: datetime) -> BarLine:
    """The piece of a new row: named by its number, or made."""
    piece = None
    if draft.number is not None:
        piece = session.scalar(select(Piece).where(Piece.number == draft.number))
    if piece is None:
        piece_id = log_piece(
            session,
            PieceDraft(
                number=draft.number,
                clay_id=clay_id,
                title=TITLE,
                made_on=now.date(),
                stages=(("wet", now),),
            ),
        )
        nothing = (None,) * len(BAR_STAGES)
        return BarLine(piece_id, draft.number, TITLE, nothing, nothing, None, None, None)
    if piece.clay_id is None:
        change_piece(session, piece.id, None, clay_id=clay_id)
    elif piece.clay_id != clay_id:
        clay = get(session, Clay, piece.clay_id)
        raise UserProblem(f"it is of {clay.name}: measure it on that clay's page.")
    sizes = {
        size.stage: size
        for size in session.scalars(select(Measurement).where(Measurement.piece_id == piece.id))
    }
    of_bar = [sizes.get(stage) for stage in BAR_STAGES]
    return BarLine(
        piece.id,
        piece.number,
        piece.title,
        tuple(None if size is None else size.mark_mm for size in of_bar),
        tuple(None if size is None else size.version for size in of_bar),
        _firing_of(session, piece.id),
        None,
        None,
    )


def _firing_of(session: Session, piece_id: int) -> int | None:
    return session.scalar(
        select(Firing.number)
        .join(piece_fact, piece_fact.c.firing_id == Firing.id)
        .where(piece_fact.c.piece_id == piece_id)
    )


def _check(draft: BarDraft) -> None:
    wet = draft.marks[0]
    for stage, mark in zip(BAR_STAGES, draft.marks, strict=True):
        if mark is not None and mark <= 0:
            raise UserProblem(f"the marks lie more than 0 mm apart, {STAGES[stage]} too.")
        if wet is not None and mark is not None:
            linear(wet, mark)


def _firing(session: Session, number: int) -> Firing:
    firing = session.scalar(select(Firing).where(Firing.number == number))
    if firing is None:
        raise UserProblem(f"there is no firing {number}: log it first, or leave it empty.")
    return firing


def _move_on(session: Session, piece_id: int, draft: BarDraft, now: datetime) -> None:
    """A bar stands at the last stage it was measured at; ware keeps the stage it has."""
    piece = get(session, Piece, piece_id)
    reached = [stage for stage, mark in zip(BAR_STAGES, draft.marks, strict=True) if mark]
    bare = piece.form_id is None and piece.run_id is None
    if bare and reached and _RANK[reached[-1]] > _RANK[piece.stage]:
        move_to_stage(session, piece_id, reached[-1], now)


def _let_go(session: Session, bar: BarLine) -> None:
    piece = get(session, Piece, bar.piece_id)
    for stage, mark, version in zip(BAR_STAGES, bar.marks, bar.versions, strict=True):
        if mark is not None:
            measure(session, bar.piece_id, stage, version, "mark_mm", None)
    ties = (Layer, Inspection, Picture, Measurement)
    if (
        piece.title == TITLE
        and piece.form_id is None
        and piece.run_id is None
        and not any(count(session, kind, kind.piece_id == piece.id) for kind in ties)
        and count(session, Placement, Placement.piece_id == piece.id) <= 1
    ):
        delete_piece(session, piece.id)
