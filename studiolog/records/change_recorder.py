"""The one recorder: every insert, update and delete of a record, as row images.

It serves history, refresh and undo alike. Row images are read through the flush's own
connection; attribute history would miss defaults and what the database itself made of a value.
"""

import base64
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from sqlalchemy import Connection, Row, Select, Table, bindparam, event, select
from sqlalchemy.orm import Mapper, ORMExecuteState, Session, UOWTransaction, object_session

from studiolog.records.base import Record

_RECORDING = "studiolog_recording"

RowImage = dict[str, Any]


@dataclass(frozen=True)
class RowChange:
    """One row before and after; ``before`` is None for a new row, ``after`` for a deleted one."""

    table_name: str
    row_id: int
    before: RowImage | None
    after: RowImage | None


@dataclass
class Recording:
    """The changes of one edit, in the order the database saw them."""

    changes: list[RowChange] = field(default_factory=list)
    _inserted: list[tuple[int, Table, int]] = field(default_factory=list)
    _before: dict[tuple[str, int], RowImage | None] = field(default_factory=dict)


@contextmanager
def recording(session: Session) -> Iterator[Recording]:
    """Record what ``session`` changes. Records may be changed in no other way."""
    if _RECORDING in session.info:
        raise RuntimeError("an edit is already being recorded in this session")
    record = Recording()
    session.info[_RECORDING] = record
    try:
        yield record
    finally:
        del session.info[_RECORDING]


@cache
def _one_row(table: Table) -> Select[Any]:
    return select(table).where(table.c.id == bindparam("row_id"))


@cache
def _some_rows(table: Table) -> Select[Any]:
    return select(table).where(table.c.id.in_(bindparam("row_ids", expanding=True)))


def read_row(connection: Connection, table: Table, row_id: int) -> RowImage | None:
    """The image of one row as plain values, or None if there is no such row."""
    row = connection.execute(_one_row(table), {"row_id": row_id}).one_or_none()
    return None if row is None else _image(row)


def _image(row: Row[Any]) -> RowImage:
    return dict(row._mapping)


def image_to_text(image: RowImage | None) -> str | None:
    """A row image as JSON text; bytes, times and money keep their kind by their column."""
    if image is None:
        return None
    return json.dumps(
        {name: _plain(value) for name, value in image.items()}, ensure_ascii=False, sort_keys=True
    )


def _plain(value: Any) -> Any:
    if isinstance(value, bytes):
        return base64.b64encode(value).decode("ascii")
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    return value


def image_from_text(table: Table, text: str | None) -> RowImage | None:
    """The row image that ``image_to_text`` wrote. Columns added since keep their default."""
    if text is None:
        return None
    stored = json.loads(text)
    return {
        column.name: _typed(column.type.python_type, stored[column.name])
        for column in table.columns
        if column.name in stored
    }


def _typed(kind: type, value: Any) -> Any:
    if value is None:
        return None
    if kind is bytes:
        return base64.b64decode(value)
    if kind is datetime:
        return datetime.fromisoformat(value)
    if kind is date:
        return date.fromisoformat(value)
    if kind is Decimal:
        # Prices were floats once: their shortest spelling is what was typed.
        return Decimal(str(value))
    return value


def _active(target: Record) -> Recording:
    session = object_session(target)
    record = session.info.get(_RECORDING) if session is not None else None
    if not isinstance(record, Recording):
        raise RuntimeError(f"{type(target).__name__} was changed outside an edit")
    return record


def _table(mapper: Mapper[Any]) -> Table:
    table = mapper.local_table
    assert isinstance(table, Table)
    return table


@event.listens_for(Record, "after_insert", propagate=True)
def _after_insert(mapper: Mapper[Any], connection: Connection, target: Record) -> None:
    table = _table(mapper)
    record = _active(target)
    # Its image is read with those of the other new rows, once this flush has written them all.
    record._inserted.append((len(record.changes), table, target.id))
    record.changes.append(RowChange(table.name, target.id, None, None))


@event.listens_for(Record, "before_update", propagate=True)
def _before_update(mapper: Mapper[Any], connection: Connection, target: Record) -> None:
    table = _table(mapper)
    record = _active(target)
    record._before[table.name, target.id] = read_row(connection, table, target.id)


@event.listens_for(Record, "after_update", propagate=True)
def _after_update(mapper: Mapper[Any], connection: Connection, target: Record) -> None:
    table = _table(mapper)
    record = _active(target)
    before = record._before.pop((table.name, target.id), None)
    after = read_row(connection, table, target.id)
    # SQLAlchemy calls this for every row it looked at, also where nothing came out different.
    if before != after:
        record.changes.append(RowChange(table.name, target.id, before, after))


@event.listens_for(Record, "before_delete", propagate=True)
def _before_delete(mapper: Mapper[Any], connection: Connection, target: Record) -> None:
    table = _table(mapper)
    before = read_row(connection, table, target.id)
    _active(target).changes.append(RowChange(table.name, target.id, before, None))


@event.listens_for(Session, "after_flush")
def _after_flush(session: Session, _context: UOWTransaction) -> None:
    record = session.info.get(_RECORDING)
    if not isinstance(record, Recording) or not record._inserted:
        return
    connection = session.connection()
    of_table: dict[Table, dict[int, int]] = {}
    for place, table, row_id in record._inserted:
        of_table.setdefault(table, {})[row_id] = place
    record._inserted.clear()
    for table, places in of_table.items():
        for row in connection.execute(_some_rows(table), {"row_ids": list(places)}):
            image = _image(row)
            place = places[image["id"]]
            record.changes[place] = RowChange(table.name, image["id"], None, image)


@event.listens_for(Session, "do_orm_execute")
def _refuse_bulk_changes(state: ORMExecuteState) -> None:
    """Bulk statements pass the recorder by, so they are refused for records."""
    changes = state.is_insert or state.is_update or state.is_delete
    if changes and state.bind_mapper is not None:
        raise RuntimeError("records are changed one by one, so that the history sees them")
