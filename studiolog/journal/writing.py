"""The few ways an edit writes a record, so that every noun does it alike."""

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, TypeVar

from sqlalchemy import Float, func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from studiolog.problems import EditConflict, UserProblem
from studiolog.records import Record
from studiolog.records.values import storable

R = TypeVar("R", bound=Record)

_NO_COUNT = 1_000_000_000
_LARGEST = 1e12  # nothing a potter weighs, measures or counts comes near it
_LONGEST_NAME = 200
# Control signs, and those that turn the direction of all that follows them in a sentence. The
# joiners that emoji and Persian need are none of these.
_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e]")


def add(session: Session, record: Record) -> int:
    """Write a new record and return its id. Raises `UserProblem` for a number that is none."""
    _refuse_no_number(record)
    session.add(record)
    session.flush()
    return record.id


def add_all(session: Session, records: Sequence[Record]) -> None:
    """Write new records that do not need each other's ids, in one go. Raises as `add` does."""
    for record in records:
        _refuse_no_number(record)
    session.add_all(records)
    session.flush()


_CALLED: Mapping[str, str] = {
    "orders": "order",
    "ware_set": "set",
    "kiln_load": "load",
    "away": "time away",
}
"""What a record is called where the name of its table is not the potter's word."""


def get(session: Session, kind: type[R], row_id: int, version: int | None = None) -> R:
    """The record to change. ``version``, if given, is the one the desk last saw.

    Raises `UserProblem` if it is gone and `EditConflict` if it has changed since.
    """
    record = session.get(kind, row_id)
    table = kind.__tablename__
    noun = _CALLED.get(table, table.replace("_", " "))
    if record is None:
        raise UserProblem(f"This {noun} is no longer in the journal: it was deleted or undone.")
    if version is not None and record.version != version:
        raise EditConflict(
            f"This {noun} was changed somewhere else in the meantime. "
            "Look at it as it is now, then make the change again."
        )
    return record


def change(
    session: Session, kind: type[R], row_id: int, version: int | None = None, /, **fields: Any
) -> R:
    """Set fields of a record and write it. Some records have a field ``kind`` of their own.

    Raises as `get` does, and AttributeError for a field the record does not have.
    """
    record = get(session, kind, row_id, version)
    for name, value in fields.items():
        if not hasattr(record, name):
            raise AttributeError(f"{kind.__name__} has no field {name}")
        setattr(record, name, value)
    _refuse_no_number(record)
    session.flush()
    return record


def _refuse_no_number(record: Record) -> None:
    # SQLite would keep what is no number as nothing at all, and say nothing.
    for name in _numbers_of(type(record)):
        value = getattr(record, name)
        if value is not None and not abs(value) < _LARGEST:
            told = "This number is too large to be kept, or no number at all: write it again."
            raise UserProblem(told, {name: told})


@lru_cache(maxsize=128)
def _numbers_of(kind: type[Record]) -> tuple[str, ...]:
    """The fields that keep a number with a point."""
    return tuple(column.key for column in kind.__table__.columns if isinstance(column.type, Float))


def remove(session: Session, record: Record) -> None:
    """Delete a record; what belongs to it must have been removed before."""
    session.delete(record)
    session.flush()


def remove_all(session: Session, kind: type[R], *where: Any) -> int:
    """Delete the records that match, one by one, so that the history sees each."""
    found = list(session.scalars(select(kind).where(*where).order_by(kind.id.desc())))
    for record in found:
        session.delete(record)
    session.flush()
    return len(found)


def next_number(session: Session, column: InstrumentedAttribute[Any]) -> int:
    """The next free number of a numbered noun: one past the highest.

    A slip of the finger far above all others (a telephone number) is not counted on from.
    """
    highest = session.scalar(select(func.max(column)).where(column < _NO_COUNT))
    return int(highest or 0) + 1


def count(session: Session, kind: type[R], *where: Any) -> int:
    """How many records match."""
    return int(session.scalar(select(func.count()).select_from(kind).where(*where)) or 0)


def clean_name(text: str, field: str = "name", noun: str = "name") -> str:
    """A name without stray spaces and signs that can't be seen; an empty one is refused."""
    kept = (sign for sign in storable(text) if sign.isspace() or not _UNSEEN.match(sign))
    name = " ".join("".join(kept).split())
    if not any(sign.isprintable() for sign in name):
        raise UserProblem(f"Give the {noun}.", {field: f"Give the {noun}."})
    if len(name) > _LONGEST_NAME:
        sentence = (
            f"The {noun} has {len(name)} letters; {_LONGEST_NAME} at most, the rest as a note."
        )
        raise UserProblem(sentence, {field: sentence})
    return name
