"""The history: every edit, and the row images that undo it."""

from sqlalchemy import Column, DateTime, ForeignKey, Index, Integer, String, Table, Text

from studiolog.records.base import Record

history_entry = Table(
    "history_entry",
    Record.metadata,
    Column("id", Integer, primary_key=True),
    Column("at_utc", DateTime, nullable=False),
    Column("desk", String, nullable=False),
    Column("label", String, nullable=False),
    Column("state", String, nullable=False),  # done, undone, passed (undone, then overtaken), kept
    Index("ix_history_entry_desk", "desk", "state"),
    sqlite_autoincrement=True,
)

history_change = Table(
    "history_change",
    Record.metadata,
    Column("id", Integer, primary_key=True),
    Column("entry_id", ForeignKey("history_entry.id"), nullable=False, index=True),
    Column("table_name", String, nullable=False),
    Column("row_id", Integer, nullable=False),
    Column("before", Text),  # JSON row image; nothing if the row was new
    Column("after", Text),  # JSON row image; nothing if the row was deleted
    Index("ix_history_change_row", "table_name", "row_id"),
    sqlite_autoincrement=True,
)

HISTORY_TABLES = (history_entry, history_change)
