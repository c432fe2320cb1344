"""Keeping a journal for decades: check it, back it up, export it to plain files."""

import csv
import errno
import io
import os
import shutil
import sqlite3
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, StaticPool, create_engine, select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from studiolog.journal.curve_export import write_curves
from studiolog.journal.facts import rebuild_facts
from studiolog.journal.opening import FILE, PHOTOS, Journal
from studiolog.photos.store import PhotoStore
from studiolog.problems import UserProblem
from studiolog.records import Record
from studiolog.records.engine import back_up_file
from studiolog.records.facts import FACT_TABLES
from studiolog.records.history import HISTORY_TABLES
from studiolog.records.photos import Photo

Tell = Callable[[int, int, str], None]


@dataclass(frozen=True)
class CheckReport:
    """What a check looked at, and each thing that needs looking at in a sentence."""

    rows: int
    photos: int
    problems: tuple[str, ...]


def check_journal(journal: Journal, tell: Tell | None = None) -> CheckReport:
    """Check the database, its references, the derived facts, and every original photo.

    Nothing is changed. Facts that differ from their records are named; `mend_facts` rebuilds them.
    """
    problems: list[str] = []
    try:
        rows = _check_database(journal, problems)
    except DatabaseError as damage:
        cause = " ".join(str(damage.orig).split())
        problems.append(
            f"The database can't be read to its end ({cause}): copy the folder somewhere safe, "
            "then take the newest backup."
        )
        return CheckReport(0, 0, tuple(problems))
    try:
        return CheckReport(rows, *_check_photos(journal, tell, problems))
    except UserProblem as damage:
        return CheckReport(rows, 0, (*problems, damage.sentence))


def _check_database(journal: Journal, problems: list[str]) -> int:
    with _at_hand(journal) as connection:
        rows: int = sum(
            connection.execute(text(f'SELECT count(*) FROM "{table.name}"')).scalar_one()
            for table in Record.metadata.sorted_tables
        )
        if connection.dialect.name == "sqlite":
            found = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
            problems += [f"Database: {line}" for line in found if line != "ok"]
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
            problems += [
                f"Table {row[0]}: row {row[1]} refers to a missing row of {row[2]}."
                for row in broken
            ]
        problems += _unreadable_rows(connection)
        if not problems:
            problems += _differing_facts(connection)
        connection.rollback()
    return rows


def _unreadable_rows(connection: Connection) -> list[str]:
    """Tables whose rows are there, but hold what no program wrote: garbled letters, no dates."""
    garbled = []
    for table in Record.metadata.sorted_tables:
        try:
            for _ in connection.execute(select(table).execution_options(yield_per=1000)):
                pass
        except (DatabaseError, ValueError, TypeError, LookupError) as problem:
            cause = " ".join(str(getattr(problem, "orig", None) or problem).split())[:160]
            garbled.append(
                f"Table {table.name} holds what can't be read ({cause}): "
                "copy the folder somewhere safe, then take the newest backup."
            )
    return garbled


@contextmanager
def _at_hand(journal: Journal) -> Iterator[Connection]:
    """A connection in which facts can be derived to compare them; a copy where nothing may be."""
    if not journal.only_read:
        with journal.engine.connect() as connection:
            yield connection
        return
    copy = create_engine("sqlite://", poolclass=StaticPool)
    try:
        with journal.engine.connect() as source, copy.connect() as connection:
            original: sqlite3.Connection = source.connection.driver_connection  # type: ignore[assignment]
            original.backup(connection.connection.driver_connection)  # type: ignore[arg-type]
            yield connection
    finally:
        copy.dispose()


def _differing_facts(connection: Connection) -> list[str]:
    """Rebuild the facts inside this transaction and compare; the caller rolls it back."""

    def take() -> dict[str, set[tuple[object, ...]]]:
        return {
            table.name: {tuple(row) for row in connection.execute(select(table))}
            for table in FACT_TABLES
        }

    kept = take()
    rebuild_facts(connection)
    fresh = take()
    return [
        f"Facts in {name} differ from the records ({len(kept[name] ^ fresh[name])} rows): "
        "run check with --mend."
        for name in kept
        if kept[name] != fresh[name]
    ]


def _check_photos(
    journal: Journal, tell: Tell | None, problems: list[str]
) -> tuple[int, tuple[str, ...]]:
    store = PhotoStore(journal.photo_folder)
    named = journal.read(
        lambda session: {
            row.sha256: row.name for row in session.execute(select(Photo.sha256, Photo.name))
        }
    )
    for sha256 in store.missing(named):
        problems.append(f"The original of {named[sha256]} is missing ({sha256[:12]}…).")
    for at, verdict in enumerate(store.verify(), start=1):
        if tell is not None:
            tell(at, len(named), verdict.path.name)
        if not verdict.sound:
            problems.append(verdict.sentence)
    return len(named), tuple(problems)


def mend_facts(journal: Journal) -> None:
    """Derive all facts anew."""
    if journal.only_read:
        raise UserProblem(journal.only_read)
    try:
        with journal.engine.begin() as connection:
            rebuild_facts(connection)
    except (DatabaseError, ValueError) as damage:
        cause = " ".join(str(getattr(damage, "orig", None) or damage).split())[:160]
        raise UserProblem(
            f"The facts can't be derived anew ({cause}); nothing was changed. Copy the folder "
            "somewhere safe, then take the newest backup."
        ) from damage


def back_up(journal: Journal, target: Path, tell: Tell | None = None) -> Path:
    """Copy a journal in a folder, whole, into a new folder inside ``target``; returns it.

    The database is copied through its own backup, so it may be in use meanwhile. Raises
    `UserProblem` if that could not be done, or if what was copied is damaged.
    """
    source = Path(journal.where)
    if not (source / FILE).is_file():
        raise UserProblem(
            "A shared studio's database is backed up with PostgreSQL's own tools; "
            "its photos are in a folder that can be copied."
        )
    if _is_within(target, journal.photo_folder):
        raise UserProblem(
            f"{target} is where the journal keeps its photos: choose another place for the backup."
        )
    made = target / f"studiolog-{datetime.now():%Y-%m-%d-%H%M%S}"
    # A backup gets its name once it is whole: what a full disk cut short must not look like one.
    half = made.with_name(made.name + ".half")
    try:
        if made.exists():
            raise FileExistsError(errno.EEXIST, "a backup of this second is there already")
        half.mkdir(parents=True)
        _clear_halves(target)
        back_up_file(source / FILE, half / FILE)
        originals = _originals(journal.photo_folder)
        for at, path in enumerate(originals, start=1):
            to = half / PHOTOS / path.relative_to(journal.photo_folder)
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, to)
            if tell is not None:
                tell(at, len(originals), path.name)
        _sync_all()
        half.rename(made)
    except (OSError, sqlite3.Error) as problem:
        shutil.rmtree(half, ignore_errors=True)
        reason = getattr(problem, "strerror", None) or problem
        named = getattr(problem, "filename", None)
        if named and not _is_within(Path(named), half):
            reason = f"{reason} ({named})"
        raise UserProblem(
            f"The backup in {made} was not complete and is taken away again: {reason}. "
            "Free some space or choose another place, then make it again."
        ) from problem
    damage = _damage_of(made / FILE)
    if damage:
        raise UserProblem(
            f"The backup in {made} is made, but the journal itself is damaged ({damage}), and so "
            "is this copy: keep every older backup, and look at the journal with check."
        )
    return made


def _damage_of(file: Path) -> str:
    """What SQLite finds wrong with a database file; nothing if it is sound."""
    connection = sqlite3.connect(f"{file.resolve().as_uri()}?immutable=1", uri=True)
    try:
        found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    except sqlite3.DatabaseError as problem:
        return str(problem)
    finally:
        connection.close()
    return "" if found == "ok" else " ".join(str(found).split())[:160]


def _clear_halves(target: Path) -> None:
    """Take away what backups that were ended suddenly left; a young one may be at work."""
    for left in target.glob("studiolog-*.half"):
        if time.time() - left.stat().st_mtime > 3600:
            shutil.rmtree(left, ignore_errors=True)


def _sync_all() -> None:
    """What has its name is on the disk, also if the power goes now; Windows has no call for it."""
    if hasattr(os, "sync"):
        os.sync()


def _is_within(place: Path, folder: Path) -> bool:
    return place.resolve().is_relative_to(folder.resolve())


def _originals(folder: Path) -> list[Path]:
    return sorted(
        path
        for path in folder.rglob("*")
        if path.is_file()
        and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    )


def export(journal: Journal, file: Path, tell: Tell | None = None) -> Path:
    """Write every record as CSV and every original photo into one ZIP archive; returns it.

    CSV is UTF-8 with a header line, a file a table (RFC 4180); bytes are written as hex. Every
    curve is a file of its own besides, with the readings left out of it, and so is every log as it
    came.
    """
    if _is_within(file, Path(journal.where)) and file.suffix.lower() != ".zip":
        raise UserProblem(f"{file} belongs to the journal: choose another place for the archive.")
    if not file.name or (file.is_file() and not zipfile.is_zipfile(file)):
        raise UserProblem(
            f"{file} is there already and is no ZIP archive, so it was left as it is: "
            "name another file, ending in .zip."
        )
    half = file.with_name(file.name + ".half")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(half, "w", zipfile.ZIP_DEFLATED) as archive:
            journal.read(lambda session: _write_tables(session, archive))
            journal.read(lambda session: write_curves(session, archive, tell))
            originals = _originals(journal.photo_folder)
            for at, path in enumerate(originals, start=1):
                inside = f"{PHOTOS}/{path.relative_to(journal.photo_folder).as_posix()}"
                archive.write(path, inside, zipfile.ZIP_STORED)
                if tell is not None:
                    tell(at, len(originals), path.name)
        half.replace(file)
    except UserProblem:
        with suppress(OSError):
            half.unlink(missing_ok=True)
        raise
    except OSError as problem:
        with suppress(OSError):
            half.unlink(missing_ok=True)
        advice = "Choose a place where you have permission to write."
        if problem.errno in (errno.ENOSPC, errno.EDQUOT):
            advice = "Free some space or choose another place."
        raise UserProblem(
            f"{file} was not written: {problem.strerror or problem}. {advice}"
        ) from problem
    return file


def _write_tables(session: Session, archive: zipfile.ZipFile) -> None:
    for table in Record.metadata.sorted_tables:
        if table in FACT_TABLES or table in HISTORY_TABLES:
            continue
        page = io.StringIO(newline="")
        writer = csv.writer(page)
        writer.writerow([column.name for column in table.columns])
        for row in session.execute(select(table).order_by(table.c.id)):
            writer.writerow([_cell(value) for value in row])
        archive.writestr(f"{table.name}.csv", page.getvalue())


def _cell(value: object) -> object:
    return value.hex() if isinstance(value, bytes) else value
