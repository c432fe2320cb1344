"""What every database can hold, whatever was typed, pasted or read from a file."""

import unicodedata
from typing import Any

from sqlalchemy import Connection, event
from sqlalchemy.orm import Mapper

from studiolog.records.base import Record

LARGEST = 2**31 - 1
"""The largest whole number of a column: SQLite would take more, PostgreSQL would not."""


def storable(text: str) -> str:
    """A text without what no database holds (NULs, halves of letters), each letter in one piece.

    Unicode's form NFC: an é that was pasted as e and an accent is found by one that is typed.
    """
    if "\0" in text:
        text = text.replace("\0", "")
    if text.isascii():
        return text
    # A lone surrogate comes from a file name or a clipboard that was not decoded.
    return unicodedata.normalize("NFC", text.encode("utf-8", "ignore").decode("utf-8"))


@event.listens_for(Record, "before_insert", propagate=True)
@event.listens_for(Record, "before_update", propagate=True)
def _make_storable(_mapper: Mapper[Any], _connection: Connection, target: Record) -> None:
    for name, value in list(vars(target).items()):
        if isinstance(value, str):
            clean = storable(value)
            if clean != value:
                setattr(target, name, clean)
        elif isinstance(value, int) and abs(value) > LARGEST and name != "version":
            raise OverflowError(f"{name} can't be {value}")
