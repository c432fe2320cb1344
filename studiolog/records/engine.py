"""The database of a journal: SQLite in a folder, or a shared studio's PostgreSQL."""

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

_BUSY_MS = 5000


def sqlite_url(file: Path) -> str:
    """The database URL of a journal file."""
    return f"sqlite:///{file}"


def open_engine(url: str, *, read_only: bool = False) -> Engine:
    """Open the database at ``url``; nothing is read or created yet.

    SQLite runs in WAL mode with ``synchronous=FULL`` and foreign keys on. Transactions begin
    explicitly: left to itself the driver would begin late and leave half a migration behind.
    """
    if not url.startswith("sqlite"):
        # "postgresql://" alone would ask for a driver that is not shipped.
        return create_engine(url.replace("postgresql://", "postgresql+psycopg://", 1))
    engine = create_engine(url, poolclass=NullPool if read_only else None)

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={_BUSY_MS}")
        cursor.execute("PRAGMA foreign_keys=ON")
        if read_only:
            cursor.execute("PRAGMA query_only=ON")
        else:
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        # A reader that turns writer half-way can be refused for a snapshot grown old, so an
        # edit takes the write lock before it reads.
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def defer_foreign_keys(connection: Connection) -> None:
    """Check foreign keys at the end of this transaction, so that rows can go back in any order."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
    else:
        connection.exec_driver_sql("SET CONSTRAINTS ALL DEFERRED")


def back_up_file(source: Path, target: Path) -> None:
    """Copy a journal file whole, through SQLite's own backup, then put it in place at once."""
    target.parent.mkdir(parents=True, exist_ok=True)
    half = target.with_suffix(".half")
    half.unlink(missing_ok=True)
    reading = sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)
    try:
        writing = sqlite3.connect(half)
        try:
            reading.backup(writing)
        finally:
            writing.close()
    finally:
        reading.close()
    half.replace(target)
