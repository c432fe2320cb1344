"""What a piece's page offers to choose from."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.records.firings import Firing
from studiolog.records.glazes import Bucket
from studiolog.records.pieces import Piece


@dataclass(frozen=True)
class BucketLine:
    """A bucket to choose from."""

    bucket_id: int
    glaze_id: int
    mixed_on: date
    used_up: bool


@dataclass(frozen=True)
class FiringChoice:
    """A firing to choose from."""

    firing_id: int
    number: int
    title: str
    kind: str
    cone: str | None
    kiln_id: int
    started_at: datetime


def list_buckets(session: Session) -> list[BucketLine]:
    """Buckets, the newest first."""
    rows = session.scalars(select(Bucket).order_by(Bucket.mixed_on.desc(), Bucket.id.desc()))
    return [BucketLine(row.id, row.glaze_id, row.mixed_on, row.used_up) for row in rows]


def list_firing_choices(session: Session, limit: int = 500) -> list[FiringChoice]:
    """Firings a piece may have been in, the newest first."""
    rows = session.scalars(select(Firing).order_by(Firing.started_at.desc()).limit(limit))
    return [
        FiringChoice(row.id, row.number, row.title, row.kind, row.cone, row.kiln_id, row.started_at)
        for row in rows
    ]


def find_piece_numbered(session: Session, number: int) -> int | None:
    """The id of the piece with this number."""
    return session.scalar(select(Piece.id).where(Piece.number == number))
