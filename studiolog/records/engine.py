"""The database of a journal: SQLite in a folder, or a shared studio's PostgreSQL."""

import os
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

_BUSY_MS = 5000


def sqlite_url(file: Path) -> str:
    """The database URL of a journal file."""
    return f"sqlite:///{file}"


def connect_to_look(file: Path) -> sqlite3.Connection:
    """A connection that only reads, also where nothing at all may be written."""
    wal, shared = (file.with_name(file.name + end) for end in ("-wal", "-shm"))
    # Reading beside a writer needs its -shm file, which can't be made in a folder that is only
    # read. Where nobody has left anything in the -wal, the file alone is the whole journal.
    alone = not (wal.exists() and wal.stat().st_size) and not shared.exists()
    mode = "immutable=1" if alone and not may_write(file) else "mode=ro"
    return sqlite3.connect(f"{file.resolve().as_uri()}?{mode}", uri=True, check_same_thread=False)


def may_write(file: Path) -> bool:
    """Whether a journal file, and new files beside it, may be written."""
    return _may(file.parent, os.W_OK | os.X_OK) and (not file.exists() or _may(file, os.W_OK))


def _may(path: Path, what: int) -> bool:
    return os.access(path, what, effective_ids=os.access in os.supports_effective_ids)


def open_engine_to_look(file: Path) -> Engine:
    """An engine that only reads a journal file. Each connection looks anew at what is beside it."""
    engine = create_engine("sqlite://", poolclass=NullPool, creator=lambda: connect_to_look(file))

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout={_BUSY_MS}")
        connection.execute("PRAGMA query_only=ON")

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def open_engine(url: str) -> Engine:
    """Open the database at ``url``; nothing is read or created yet.

    SQLite runs in WAL mode with ``synchronous=FULL`` and foreign keys on. Transactions begin
    explicitly: left to itself the driver would begin late and leave half a migration behind.
    """
    if not url.startswith("sqlite"):
        # "postgresql://" alone would ask for a driver that is not shipped.
        return create_engine(url.replace("postgresql://", "postgresql+psycopg://", 1))
    engine = create_engine(url)

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={_BUSY_MS}")
        cursor.execute("PRAGMA foreign_keys=ON")
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
    """Copy a journal file whole, through SQLite's own backup, then put it in place at once.

    What fails leaves nothing behind.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    half = target.with_suffix(".half")
    _drop_half(half)
    try:
        reading = connect_to_look(source)
        try:
            writing = sqlite3.connect(half)
            try:
                reading.backup(writing)
            finally:
                writing.close()
        finally:
            reading.close()
        half.replace(target)
    except BaseException:
        with suppress(OSError):
            _drop_half(half)
        raise


def _drop_half(half: Path) -> None:
    """A half-made copy, and what SQLite keeps beside it while it writes."""
    for end in ("", "-journal", "-wal", "-shm"):
        half.with_name(half.name + end).unlink(missing_ok=True)
