"""Edits, undo and redo: one transaction, one history entry, one account of what was touched."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Generic, TypeVar

from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session
from sqlalchemy.orm.exc import StaleDataError

from studiolog.journal.facts import refresh_facts
from studiolog.problems import EditConflict, UndoRefused, UserProblem
from studiolog.records import Record
from studiolog.records.change_recorder import (
    RowChange,
    image_from_text,
    image_to_text,
    read_row,
    recording,
)
from studiolog.records.engine import defer_foreign_keys
from studiolog.records.history import history_change, history_entry
from studiolog.records.values import storable

T = TypeVar("T")

KIND_OF_TABLE = {
    "studio": "studio",
    "clay": "clay",
    "glaze": "glaze",
    "recipe_line": "glaze",
    "bucket": "glaze",
    "bucket_line": "glaze",
    "bucket_change": "glaze",
    "material": "material",
    "material_lot": "material",
    "lot_oxide": "material",
    "stock_change": "material",
    "test_plan": "plan",
    "plan_corner": "plan",
    "plan_tile": "plan",
    "plan_layer": "plan",
    "form": "form",
    "form_step": "form",
    "kiln": "kiln",
    "kiln_level": "kiln",
    "kiln_task": "kiln",
    "tariff": "kiln",
    "program": "program",
    "program_segment": "program",
    "firing": "firing",
    "firing_segment": "firing",
    "log_file": "firing",
    "curve": "firing",
    "waiting_log": "waiting",
    "cone_pack": "firing",
    "cone_reading": "firing",
    "placement": "firing",
    "run": "run",
    "run_source": "run",
    "piece": "piece",
    "stage_change": "piece",
    "step": "piece",
    "measurement": "piece",
    "layer": "piece",
    "inspection": "piece",
    "fault_reading": "piece",
    "surface_reading": "piece",
    "photo": "photo",
    "picture": "photo",
    "orders": "order",
    "order_line": "order",
    "shipment": "order",
    "ware_set": "set",
    "set_part": "set",
    "idea": "idea",
    "idea_picture": "idea",
    "form_zone": "form",
    "form_decision": "form",
    "way": "form",
    "absorption_test": "clay",
    "cover_change": "run",
    "tool_use": "piece",
    "away": "studio",
    "kiln_load": "load",
    "load_shelf": "load",
    "load_place": "load",
    "kept_question": "question",
    "limit_changed": "limit",
}
"""Which noun a table belongs to; screens name the nouns they show."""


@dataclass(frozen=True)
class Touched:
    """What an edit changed: nouns for refreshing screens, rows for those that want to know."""

    kinds: frozenset[str]
    rows: frozenset[tuple[str, int]]


@dataclass(frozen=True)
class Done(Generic[T]):
    """The outcome of an edit, undo or redo."""

    value: T
    label: str
    touched: Touched
    entry_id: int | None


@dataclass(frozen=True)
class HistoryLine:
    """One entry as the history page shows it.

    ``state`` is done, undone, passed (undone, then overtaken), or kept (a wiping: it stays).
    """

    entry_id: int
    at_utc: datetime
    desk: str
    label: str
    state: str


def run_edit(session: Session, label: str, desk: str, edit: Callable[[Session], T]) -> Done[T]:
    """Run ``edit`` in ``session`` (open, empty, writing) and commit it with its history entry.

    Either everything is kept or nothing. Raises `EditConflict` if another desk changed a row in
    the meantime, and whatever `UserProblem` the edit raises.
    """
    label = storable(label)
    try:
        with recording(session) as record:
            value = edit(session)
            session.flush()
        entry_id = None
        if record.changes:
            connection = session.connection()
            entry_id = _write_entry(connection, label, desk, record.changes)
            refresh_facts(connection, record.changes)
        session.commit()
    except StaleDataError as stale:
        session.rollback()
        raise EditConflict(
            f"“{label}” was not saved: somebody changed the same record in the meantime. "
            "Look at it as it is now, then make the change again."
        ) from stale
    except IntegrityError as broken:
        session.rollback()
        raise UserProblem(_say_broken_rule(label, broken)) from broken
    except BaseException:
        session.rollback()
        raise
    return Done(value, label, touched_by(record.changes), entry_id)


def _say_broken_rule(label: str, broken: IntegrityError) -> str:
    cause = str(broken.orig)
    if "UNIQUE" in cause.upper():
        return f"“{label}” was not saved: another record already has this name or number."
    if "FOREIGN KEY" in cause.upper():
        return (
            f"“{label}” was not saved: something it refers to is gone, or is still used elsewhere."
        )
    return f"“{label}” was not saved: a value is outside what can be ({cause})."


def touched_by(changes: Iterable[RowChange]) -> Touched:
    """The nouns and rows that ``changes`` touched."""
    rows = frozenset((change.table_name, change.row_id) for change in changes)
    return Touched(frozenset(KIND_OF_TABLE[table] for table, _ in rows), rows)


def _write_entry(connection: Connection, label: str, desk: str, changes: list[RowChange]) -> int:
    # What was undone on this desk and then overtaken by a new edit can't be redone any more.
    connection.execute(
        update(history_entry)
        .where(history_entry.c.desk == desk, history_entry.c.state == "undone")
        .values(state="passed")
    )
    at = datetime.now(UTC).replace(tzinfo=None)
    result = connection.execute(
        insert(history_entry).values(at_utc=at, desk=desk, label=label, state="done")
    )
    assert result.inserted_primary_key is not None
    entry_id: int = result.inserted_primary_key[0]
    connection.execute(
        insert(history_change),
        [
            {
                "entry_id": entry_id,
                "table_name": change.table_name,
                "row_id": change.row_id,
                "before": image_to_text(change.before),
                "after": image_to_text(change.after),
            }
            for change in changes
        ],
    )
    return entry_id


def undo_line(session: Session, desk: str) -> HistoryLine | None:
    """What undo would take back on this desk."""
    return _line(session, desk, "done", newest_first=True)


def redo_line(session: Session, desk: str) -> HistoryLine | None:
    """What redo would do again on this desk."""
    return _line(session, desk, "undone", newest_first=False)


def _line(session: Session, desk: str, state: str, *, newest_first: bool) -> HistoryLine | None:
    order = history_entry.c.id.desc() if newest_first else history_entry.c.id.asc()
    row = session.execute(
        select(history_entry)
        .where(history_entry.c.desk == desk, history_entry.c.state == state)
        .order_by(order)
        .limit(1)
    ).one_or_none()
    return None if row is None else HistoryLine(*row)


def read_history(
    session: Session, limit: int = 200, before_id: int | None = None
) -> list[HistoryLine]:
    """The newest entries of every desk, a page at a time."""
    query = select(history_entry).order_by(history_entry.c.id.desc()).limit(limit)
    if before_id is not None:
        query = query.where(history_entry.c.id < before_id)
    return [HistoryLine(*row) for row in session.execute(query)]


def undo(session: Session, desk: str) -> Done[None] | None:
    """Take back the newest edit of this desk; None if there is none.

    Raises `UndoRefused` if that would overwrite a newer change.
    """
    return _turn(session, undo_line(session, desk), back=True)


def redo(session: Session, desk: str) -> Done[None] | None:
    """Do again what was undone last on this desk; None if there is nothing to redo."""
    return _turn(session, redo_line(session, desk), back=False)


def _turn(session: Session, line: HistoryLine | None, *, back: bool) -> Done[None] | None:
    if line is None:
        return None
    connection = session.connection()
    order = history_change.c.id.desc() if back else history_change.c.id.asc()
    rows = connection.execute(
        select(history_change).where(history_change.c.entry_id == line.entry_id).order_by(order)
    ).all()
    word = "undone" if back else "redone"
    try:
        defer_foreign_keys(connection)
        turned = [
            _turn_row(connection, line, row.table_name, row.row_id, *images, word)
            for row in rows
            for images in [(row.after, row.before) if back else (row.before, row.after)]
        ]
        connection.execute(
            update(history_entry)
            .where(history_entry.c.id == line.entry_id)
            .values(state="undone" if back else "done")
        )
        refresh_facts(connection, turned)
        session.commit()
    except IntegrityError as broken:
        session.rollback()
        raise UndoRefused(
            f"“{line.label}” can't be {word}: something made since then depends on it."
        ) from broken
    except BaseException:
        session.rollback()
        raise
    label = f"Undone: {line.label}" if back else f"Done again: {line.label}"
    return Done(None, label, touched_by(turned), line.entry_id)


def _turn_row(
    connection: Connection,
    line: HistoryLine,
    table_name: str,
    row_id: int,
    expected_text: str | None,
    wanted_text: str | None,
    word: str,
) -> RowChange:
    table = Record.metadata.tables[table_name]
    found = read_row(connection, table, row_id)
    expected = image_from_text(table, expected_text)
    # Columns added to the table since the edit are no reason to refuse.
    if (found is None) != (expected is None) or any(
        found[name] != value for name, value in (expected or {}).items() if found is not None
    ):
        raise UndoRefused(
            f"“{line.label}” can't be {word}: the same {KIND_OF_TABLE[table_name]} was changed "
            f"again since{_later_label(connection, line, table_name, row_id)}. "
            "Undo that first, or change it by hand."
        )
    wanted = image_from_text(table, wanted_text)
    if wanted is None:
        connection.execute(delete(table).where(table.c.id == row_id))
    elif found is None:
        connection.execute(insert(table).values(wanted))
    else:
        connection.execute(update(table).where(table.c.id == row_id).values(wanted))
    return RowChange(table_name, row_id, found, wanted)


def _later_label(connection: Connection, line: HistoryLine, table_name: str, row_id: int) -> str:
    later = connection.execute(
        select(history_entry.c.label)
        .join(history_change, history_change.c.entry_id == history_entry.c.id)
        .where(
            history_change.c.table_name == table_name,
            history_change.c.row_id == row_id,
            history_entry.c.id > line.entry_id,
            history_entry.c.state == "done",
        )
        .order_by(history_entry.c.id.desc())
        .limit(1)
    ).scalar_one_or_none()
    return f", by “{later}”" if later else ""
