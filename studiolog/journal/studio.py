"""The studio's name, and how much its journal holds."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.writing import add, count
from studiolog.records.firings import Firing
from studiolog.records.pieces import Piece
from studiolog.records.studio import Studio


@dataclass(frozen=True)
class StudioPage:
    """What the frame of the window says of the journal."""

    name: str
    pieces: int
    firings: int


def read_studio(session: Session) -> StudioPage:
    """Name and counts."""
    name = session.scalar(select(Studio.name).order_by(Studio.id).limit(1)) or ""
    pieces = int(session.scalar(select(func.count()).select_from(Piece)) or 0)
    return StudioPage(name, pieces, count(session, Firing))


def name_studio(session: Session, name: str) -> None:
    """Write the studio's name."""
    stored = session.scalars(select(Studio).order_by(Studio.id)).first()
    if stored is None:
        add(session, Studio(name=name.strip()))
    else:
        stored.name = name.strip()
        session.flush()
