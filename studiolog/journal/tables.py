"""The tables of the records, for questions and facts asked in SQL instead of record by record."""

from collections.abc import Iterator, Sequence
from typing import Final

from sqlalchemy import Table

from studiolog.records import Record

_CHUNK: Final = 400  # values in one statement: well below what any database allows


def table(name: str) -> Table:
    """A record's table by its name. Raises KeyError if there is none."""
    return Record.metadata.tables[name]


def in_chunks(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    """Ids in their order, a statement's worth at a time."""
    for start in range(0, len(ids), _CHUNK):
        yield ids[start : start + _CHUNK]
