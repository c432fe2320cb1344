"""The stages a piece passed, taken back: a line that never was, and what was not lost after all."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.writing import add, change, get, remove
from studiolog.records.pieces import Piece, StageChange


def delete_stage_change(session: Session, change_id: int) -> None:
    """Take back one line of the stage history; the piece then has the stage before it."""
    line = get(session, StageChange, change_id)
    piece_id = line.piece_id
    remove(session, line)
    settle_stage(session, piece_id)


def settle_stage(session: Session, piece_id: int) -> None:
    """Give a piece the stage it reached last, why and where it was lost if it is; without any, as
    is."""
    lines = session.scalars(
        select(StageChange)
        .where(StageChange.piece_id == piece_id)
        .order_by(StageChange.at.desc(), StageChange.id.desc())
    ).all()
    if not lines:
        return
    last = lines[0]
    lost = last.stage == "lost"
    lost_at = next((line.stage for line in lines if line.stage != "lost"), None) if lost else None
    change(
        session,
        Piece,
        piece_id,
        stage=last.stage,
        lost_why=last.note if lost else "",
        lost_at=lost_at,
    )


def find_piece_again(session: Session, piece_id: int) -> None:
    """A piece was not lost after all: it stands where it stood, and no line says otherwise."""
    piece = get(session, Piece, piece_id)
    stood, since = piece.lost_at or "wet", None
    for line in session.scalars(
        select(StageChange)
        .where(StageChange.piece_id == piece_id, StageChange.stage == "lost")
        .order_by(StageChange.at.desc(), StageChange.id.desc())
    ).all():
        since = line.at
        remove(session, line)
    settle_stage(session, piece_id)
    if piece.stage == "lost":
        # Nothing was logged of it before it was lost.
        if since is not None:
            add(session, StageChange(piece_id=piece_id, stage=stood, at=since))
        piece.stage = stood
    piece.lost_at, piece.lost_why = None, ""
    session.flush()
