"""Opening a journal: a folder, or a shared studio's database."""

import errno
import os
import shutil
import socket
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import ArgumentError, DatabaseError, DataError, IntegrityError, OperationalError
from sqlalchemy.orm import Session

from studiolog.journal.facts import rebuild_facts
from studiolog.journal.history import (
    Done,
    HistoryLine,
    redo,
    redo_line,
    run_edit,
    undo,
    undo_line,
)
from studiolog.problems import JournalUnreadable, UserProblem
from studiolog.records.engine import may_write, open_engine, open_engine_to_look, sqlite_url
from studiolog.records.upgrade import check_revision, upgrade

T = TypeVar("T")

FILE = "journal.sqlite"
PHOTOS = "photos"
BACKUPS = "backups"


def desk_name() -> str:
    """What this desk is called in the history: the machine's own name."""
    return os.environ.get("STUDIOLOG_DESK") or socket.gethostname() or "desk"


class Journal:
    """An open journal. Reads and edits run in short sessions on the caller's thread.

    ``only_read`` says in a sentence that nothing can be kept in it; it is empty where it can.
    """

    def __init__(
        self, engine: Engine, where: str, photo_folder: Path, desk: str, only_read: str = ""
    ) -> None:
        self.engine = engine
        self.only_read = only_read
        self.where = where
        self.photo_folder = photo_folder
        self.desk = desk
        self._writing = engine.execution_options(writing=True)

    @property
    def is_a_file(self) -> bool:
        """Whether it is a folder of this computer, not a database that several desks share."""
        return "://" not in self.where

    def read(self, question: Callable[[Session], T]) -> T:
        """Answer a question from one consistent view of the journal; nothing is changed."""
        with _told_in_a_sentence(self.where), Session(self.engine) as session:
            return question(session)

    def edit(self, label: str, edit: Callable[[Session], T]) -> Done[T]:
        """Run one edit: kept whole with its history entry, or not at all."""
        with self._write() as session:
            return run_edit(session, label, self.desk, edit)

    def rewrite(self, work: Callable[[Connection], T]) -> T:
        """Change what is kept past the history, whole or not at all: for wiping, and nothing else.

        Nothing of it can be undone.
        """
        with self._write() as session:
            value = work(session.connection())
            session.commit()
            return value

    def undo(self) -> Done[None] | None:
        """Take back this desk's newest edit; None if there is none."""
        with self._write() as session:
            return undo(session, self.desk)

    def redo(self) -> Done[None] | None:
        """Do again what this desk undid last; None if there is nothing."""
        with self._write() as session:
            return redo(session, self.desk)

    @contextmanager
    def _write(self) -> Iterator[Session]:
        if self.only_read:
            raise UserProblem(self.only_read)
        with _told_in_a_sentence(self.where), Session(self._writing) as session:
            yield session

    def undo_line(self) -> HistoryLine | None:
        """What `undo` would take back."""
        return self.read(lambda session: undo_line(session, self.desk))

    def redo_line(self) -> HistoryLine | None:
        """What `redo` would do again."""
        return self.read(lambda session: redo_line(session, self.desk))

    def close(self) -> None:
        """Let go of the database; nothing is left to save, every edit was."""
        self.engine.dispose()


def is_journal(folder: Path) -> bool:
    """Whether a folder holds a journal."""
    return (folder / FILE).is_file()


def open_journal(where: str | Path, *, create: bool = True, photos: Path | None = None) -> Journal:
    """Open the journal in a folder, or at a database URL (then ``photos`` names its folder).

    An older journal is backed up, then upgraded. Raises `JournalUnreadable` with a sentence for
    a journal that is newer, damaged or not to be reached; its files are left as they were.
    """
    text = str(where)
    try:
        if "://" in text:
            return _open_shared(text, photos)
        return _open_folder(Path(where), create=create)
    except OSError as problem:
        raise JournalUnreadable(_say_unreachable(text, problem)) from problem
    # A damaged text can already end SQLite's own message in the middle of a letter.
    except (DatabaseError, sqlite3.DatabaseError, UnicodeDecodeError) as problem:
        raise JournalUnreadable(_say_damaged(text, problem)) from problem


def _open_folder(folder: Path, *, create: bool) -> Journal:
    file = folder / FILE
    if not file.is_file():
        if not create:
            raise JournalUnreadable(
                f"There is no journal in {folder}. Choose the folder that holds {FILE}."
            )
        folder.mkdir(parents=True, exist_ok=True)
        others = [path.name for path in folder.iterdir() if not path.name.startswith(".")]
        if others:
            raise JournalUnreadable(
                f"{folder} holds other files ({', '.join(sorted(others)[:3])}) and no journal. "
                "Choose an empty folder for a new journal."
            )
    _refuse_emptied(folder, create=create)
    if file.is_file() and not may_write(file):
        return _open_to_look(folder)
    engine = open_engine(sqlite_url(file))
    try:
        upgrade(engine, file, folder / BACKUPS, rebuild_facts)
        # Only now: what ends while it is made leaves no folder that seems to be something else.
        for inside in (PHOTOS, BACKUPS):
            (folder / inside).mkdir(exist_ok=True)
    except BaseException:
        engine.dispose()
        raise
    return Journal(engine, str(folder), folder / PHOTOS, desk_name())


def _refuse_emptied(folder: Path, *, create: bool) -> None:
    """A file of no bytes is the start of a new journal, or all that is left of an old one."""
    file = folder / FILE
    wal = file.with_name(file.name + "-wal")
    if not file.is_file() or file.stat().st_size or (wal.is_file() and wal.stat().st_size):
        return
    lived_in = any(any((folder / inside).glob("*")) for inside in (PHOTOS, BACKUPS))
    if lived_in or not create:
        raise JournalUnreadable(
            f"{file} is empty (0 bytes): what was in it is gone. It is left as it was: "
            f"copy the folder somewhere safe, then try the newest file in its {BACKUPS} folder."
        )


def _open_to_look(folder: Path) -> Journal:
    engine = open_engine_to_look(folder / FILE)
    only_read = (
        f"The journal in {folder} may only be read: look at it, but nothing can be changed. "
        "To work in it, give yourself permission to write there, or copy the folder."
    )
    try:
        with engine.connect() as connection:
            if not check_revision(connection):
                raise JournalUnreadable(
                    f"The journal in {folder} is from an older version and may only be read, so it "
                    "can't be brought up to date. It is left as it was: give yourself permission "
                    "to write there, or copy the folder, then open it again."
                )
    except OperationalError as problem:
        raise JournalUnreadable(
            f"The journal in {folder} may only be read, and what was written last is still beside "
            f"it ({' '.join(str(problem.orig).split())}). It is left as it was: give yourself "
            "permission to write there, or copy the folder, then open it again."
        ) from problem
    return Journal(engine, str(folder), folder / PHOTOS, desk_name(), only_read)


def _open_shared(url: str, photos: Path | None) -> Journal:
    if photos is None:
        raise JournalUnreadable(
            "A shared studio keeps its photos in a shared folder: name it with --photos FOLDER."
        )
    try:
        engine = open_engine(url)
    except (ArgumentError, ImportError, ValueError) as problem:
        raise JournalUnreadable(
            "A shared studio is named as postgresql://user@host/studio (see README); "
            f"this can't be opened: {' '.join(str(problem).split())}."
        ) from problem
    try:
        upgrade(engine, derive=rebuild_facts)
        # Only now: a mistyped address should leave no empty folder behind.
        photos.mkdir(parents=True, exist_ok=True)
    except BaseException:
        engine.dispose()
        raise
    return Journal(engine, engine.url.render_as_string(hide_password=True), photos, desk_name())


@contextmanager
def _told_in_a_sentence(where: str) -> Iterator[None]:
    """A disk that fills, a file that rots or a server that goes is nobody's bug."""
    try:
        yield
    except IntegrityError:
        raise
    except (OverflowError, DataError) as problem:
        raise UserProblem(
            "A number of that size can't be kept; nothing was changed. Use a smaller number."
        ) from problem
    except (DatabaseError, UnicodeDecodeError) as problem:
        raise UserProblem(_say_failed(where, problem)) from problem
    except UnicodeEncodeError as problem:
        raise UserProblem(
            "There are signs in the text that are no letters; nothing was changed. Type it again."
        ) from problem
    except ValueError as problem:
        if not _is_of_the_database(problem):
            raise
        raise UserProblem(_say_failed(where, problem)) from problem


def _is_of_the_database(problem: ValueError) -> bool:
    """Whether a value that no program wrote was met in a row (a date that is none)."""
    at = problem.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    return at is not None and "sqlalchemy/engine" in at.tb_frame.f_code.co_filename.replace(
        os.sep, "/"
    )


def _say_failed(where: str, problem: DatabaseError | ValueError) -> str:
    cause = _cause(problem)
    if "locked" in cause:
        return _say_busy(where)
    if _is_full(where, cause):
        advice = "The disk is full: free some space and do it again."
    elif "readonly" in cause:
        advice = "The journal may only be read: give yourself permission to write there."
    elif "://" in where:
        advice = "Check the network and the server, then do it again."
    elif isinstance(problem, DatabaseError) and _is_about_the_disk(problem.orig, cause):
        advice = "Check the disk and the permissions of its folder, then do it again."
    else:
        advice = (
            f"Copy the folder somewhere safe, then try the newest file in its {BACKUPS} folder."
        )
    return f"The journal in {where} could not do that ({cause}); nothing was changed. {advice}"


def _say_unreachable(where: str, problem: OSError) -> str:
    reason = problem.strerror or str(problem)
    advice = "Check the folder and its permissions."
    if problem.errno in (errno.ENOSPC, errno.EDQUOT):
        advice = "It is left as it was: free some space, then open it again."
    return f"The journal in {where} can't be opened: {reason}. {advice}"


def _say_damaged(where: str, problem: Exception) -> str:
    cause = _cause(problem)
    if "locked" in cause:
        return _say_busy(where)
    if "://" in where:
        return (
            f"The journal in {where} can't be reached ({cause}). "
            "Check the address, the network and the server, then try again."
        )
    said = f"The journal in {where} can't be read ({cause}). It is left as it was: "
    if _is_full(where, cause):
        return said + "the disk is full, so free some space, then open it again."
    if "unable to open" in cause or "readonly" in cause:
        return said + "check the folder and its permissions, then open it again."
    return said + (
        f"copy the folder somewhere safe, then try the newest file in its {BACKUPS} folder."
    )


def _say_busy(where: str) -> str:
    return f"The journal in {where} is busy in another program. Try again in a moment."


def _is_about_the_disk(problem: BaseException | None, cause: str) -> bool:
    """SQLite tells damage of texts and of the schema by the same kind of error."""
    damaged = any(word in cause for word in ("malformed", "decode", "no such"))
    return isinstance(problem, sqlite3.OperationalError) and not damaged


def _cause(problem: Exception) -> str:
    told = " ".join(str(getattr(problem, "orig", None) or problem).split())
    return told if len(told) <= 160 else told[:159] + "…"


def _is_full(where: str, cause: str) -> bool:
    """Whether the disk is full; SQLite calls it an I/O error where its shared file has no room."""
    if "full" in cause or "No space" in cause:
        return True
    try:
        return "I/O error" in cause and shutil.disk_usage(where).free < 100_000
    except OSError:
        return False
