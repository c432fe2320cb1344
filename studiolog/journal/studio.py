"""The studio: its name, what its money is called, when it works, and how much its journal holds."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.writing import add, count
from studiolog.problems import UserProblem
from studiolog.records.firings import Firing
from studiolog.records.pieces import Piece
from studiolog.records.studio import Studio

_LONGEST_CURRENCY = 8


@dataclass(frozen=True)
class StudioPage:
    """What the frame of the window says of the journal."""

    name: str
    pieces: int
    firings: int


@dataclass(frozen=True)
class StudioTerms:
    """What the studio counts in and works by.

    ``currency`` is what is written after an amount, "" where nobody said; ``hour_rate`` what an
    hour of the potter's work is to earn; ``work_days`` the days of a usual week, Monday as 1.
    """

    currency: str = ""
    hour_rate: Decimal | None = None
    work_days: str = ""
    hours_a_day: float | None = None


def read_studio(session: Session) -> StudioPage:
    """Name and counts."""
    name = session.scalar(select(Studio.name).order_by(Studio.id).limit(1)) or ""
    pieces = int(session.scalar(select(func.count()).select_from(Piece)) or 0)
    return StudioPage(name, pieces, count(session, Firing))


def read_terms(session: Session) -> StudioTerms:
    """What the studio counts in and works by."""
    row = session.scalars(select(Studio).order_by(Studio.id)).first()
    if row is None:
        return StudioTerms()
    return StudioTerms(row.currency, row.hour_rate, row.work_days, row.hours_a_day)


def read_currency(session: Session) -> str:
    """What is written after an amount of money; "" where nobody said."""
    return session.scalar(select(Studio.currency).order_by(Studio.id).limit(1)) or ""


def name_studio(session: Session, name: str) -> None:
    """Write the studio's name."""
    _change(session, name=name.strip())


def set_terms(session: Session, **fields: Any) -> None:
    """Change what `StudioTerms` holds: some of ``currency``, ``hour_rate``, ``work_days`` and
    ``hours_a_day``.

    Raises `UserProblem` for what can't be: a currency that is a number, a day with 25 hours.
    """
    if "currency" in fields:
        fields["currency"] = _checked_currency(fields["currency"])
    rate = fields.get("hour_rate")
    if rate is not None and not (rate.is_finite() and rate >= 0):
        raise _problem("hour_rate", "An hour of work earns 0 or more.")
    hours = fields.get("hours_a_day")
    if hours is not None and not 0 < hours <= 24:
        raise _problem("hours_a_day", "A day of work has more than 0 hours, and at most 24.")
    if "work_days" in fields:
        days = fields["work_days"]
        if set(days) - set("1234567") or len(set(days)) != len(days):
            raise ValueError(f"days of the week are figures from 1 to 7, each once: {days!r}")
        fields["work_days"] = "".join(sorted(days))
    _change(session, **fields)


def _change(session: Session, **fields: Any) -> None:
    stored = session.scalars(select(Studio).order_by(Studio.id)).first()
    if stored is None:
        add(session, Studio(**fields))
        return
    for name, value in fields.items():
        setattr(stored, name, value)
    session.flush()


def _checked_currency(text: str) -> str:
    written = " ".join(text.split())
    if len(written) > _LONGEST_CURRENCY or any(sign.isdigit() for sign in written):
        raise _problem(
            "currency",
            f"“{written}” is no currency: write its sign or its letters, like € or SEK.",
        )
    return written


def _problem(key: str, sentence: str) -> UserProblem:
    return UserProblem(sentence, {key: sentence})
