"""Bring a journal's tables up to what this program knows, in one transaction or not at all."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, inspect

from studiolog.problems import JournalUnreadable
from studiolog.records.engine import back_up_file

if TYPE_CHECKING:
    from alembic.config import Config

NEWEST = "0004"
"""The revision this program writes: the last of the migrations. Said here too, because nearly every
journal is at it, and finding that out should not load what migrates."""

FACTS_SINCE = "0003"
"""The newest revision that changed what is derived. A journal older than it derives its facts anew;
one at it or later keeps them, which saves a large studio half a minute."""

_SCRIPTS = Path(__file__).resolve().parent / "migrations"


def _config() -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_SCRIPTS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def revision_of(connection: Connection) -> str | None:
    """The revision a journal is at; None for one that is new."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.exec_driver_sql(
        "SELECT version_num FROM alembic_version"
    ).scalar()
    return found


def check_revision(connection: Connection) -> bool:
    """Whether a journal is as this program writes it; False for an older or a new one.

    Raises `JournalUnreadable` if the journal was written by a newer program.
    """
    found = revision_of(connection)
    if found is None or found == NEWEST:
        return found is not None
    from alembic.script import ScriptDirectory

    script = ScriptDirectory.from_config(_config())
    if found not in {revision.revision for revision in script.walk_revisions()}:
        raise JournalUnreadable(
            "This journal was last opened by a newer version of the program "
            f"(its tables are at {found}). It is left as it was: "
            "install the newer version to open it."
        )
    return False


def upgrade(
    engine: Engine,
    file: Path | None = None,
    backups: Path | None = None,
    derive: Callable[[Connection], None] | None = None,
) -> Path | None:
    """Upgrade the journal behind ``engine``; returns the backup it made of an older one, if any.

    ``derive`` is asked in the same transaction to derive anew what an older journal's records say,
    where a revision since has changed what is derived (`FACTS_SINCE`).

    Raises `JournalUnreadable` if the journal was written by a newer program; the files are then
    left as they were.
    """
    with engine.connect() as connection:
        if check_revision(connection):
            return None
    # The write lock is taken before anything is decided: of two windows that open an older
    # journal at once, the second waits and then finds it upgraded.
    with engine.execution_options(writing=True).connect() as connection:
        sqlite = connection.dialect.name == "sqlite"
        if sqlite:
            # With foreign keys on, SQLite's way of changing a table (copy, drop, rename) empties
            # the tables that refer to it. The pragma only takes effect outside a transaction.
            _outside_transaction(connection, "PRAGMA foreign_keys=OFF")
        try:
            with connection.begin():
                if check_revision(connection):
                    return None
                before = revision_of(connection)
                backup = _back_up_older(connection, file, backups)
                _migrate(connection)
                if before is not None and before < FACTS_SINCE and derive is not None:
                    derive(connection)
        finally:
            if sqlite:
                _outside_transaction(connection, "PRAGMA foreign_keys=ON")
    return backup


def _back_up_older(connection: Connection, file: Path | None, backups: Path | None) -> Path | None:
    found = revision_of(connection)
    if found is None or file is None or backups is None:
        return None
    backup = backups / f"journal-before-{NEWEST}-was-{found}.sqlite"
    back_up_file(file, backup)
    return backup


def _migrate(connection: Connection) -> None:
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    if connection.dialect.name == "sqlite":
        _check_foreign_keys(connection)


def _outside_transaction(connection: Connection, statement: str) -> None:
    raw: Any = connection.connection.driver_connection
    raw.execute(statement)


def _check_foreign_keys(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if broken:
        raise JournalUnreadable(
            f"Upgrading the journal would leave {len(broken)} rows pointing at nothing "
            f"(first in table {broken[0][0]}). Nothing was changed."
        )
