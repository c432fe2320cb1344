"""Opening a journal: a folder, or a shared studio's database."""

import os
import socket
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Engine
from sqlalchemy.exc import ArgumentError, DatabaseError, DataError, IntegrityError, OperationalError
from sqlalchemy.orm import Session

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
from studiolog.records.engine import open_engine, sqlite_url
from studiolog.records.upgrade import upgrade

T = TypeVar("T")

FILE = "journal.sqlite"
PHOTOS = "photos"
BACKUPS = "backups"


def desk_name() -> str:
    """What this desk is called in the history: the machine's own name."""
    return os.environ.get("STUDIOLOG_DESK") or socket.gethostname() or "desk"


class Journal:
    """An open journal. Reads and edits run in short sessions on the caller's thread."""

    def __init__(self, engine: Engine, where: str, photo_folder: Path, desk: str) -> None:
        self.engine = engine
        self.where = where
        self.photo_folder = photo_folder
        self.desk = desk
        self._writing = engine.execution_options(writing=True)

    def read(self, question: Callable[[Session], T]) -> T:
        """Answer a question from one consistent view of the journal; nothing is changed."""
        with _told_in_a_sentence(self.where), Session(self.engine) as session:
            return question(session)

    def edit(self, label: str, edit: Callable[[Session], T]) -> Done[T]:
        """Run one edit: kept whole with its history entry, or not at all."""
        with (
            _told_in_a_sentence(self.where),
            Session(self._writing, autoflush=True) as session,
        ):
            return run_edit(session, label, self.desk, edit)

    def undo(self) -> Done[None] | None:
        """Take back this desk's newest edit; None if there is none."""
        with _told_in_a_sentence(self.where), Session(self._writing) as session:
            return undo(session, self.desk)

    def redo(self) -> Done[None] | None:
        """Do again what this desk undid last; None if there is nothing."""
        with _told_in_a_sentence(self.where), Session(self._writing) as session:
            return redo(session, self.desk)

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
    except (DatabaseError, sqlite3.DatabaseError) as problem:
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
    for inside in (PHOTOS, BACKUPS):
        (folder / inside).mkdir(exist_ok=True)
    engine = open_engine(sqlite_url(file))
    try:
        upgrade(engine, file, folder / BACKUPS)
    except BaseException:
        engine.dispose()
        raise
    return Journal(engine, str(folder), folder / PHOTOS, desk_name())


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
        upgrade(engine)
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
    except DatabaseError as problem:
        raise UserProblem(_say_failed(where, problem)) from problem


def _say_failed(where: str, problem: DatabaseError) -> str:
    cause = " ".join(str(problem.orig).split())
    if "full" in cause:
        advice = "The disk is full: free some space and do it again."
    elif "readonly" in cause:
        advice = "The journal may only be read: give yourself permission to write there."
    elif "locked" in cause:
        return f"The journal in {where} is busy in another program. Try again in a moment."
    elif "://" in where:
        advice = "Check the network and the server, then do it again."
    elif isinstance(problem.orig, sqlite3.OperationalError):
        advice = "Check the disk and the permissions of its folder, then do it again."
    else:
        advice = (
            f"Copy the folder somewhere safe, then try the newest file in its {BACKUPS} folder."
        )
    return f"The journal in {where} could not do that ({cause}); nothing was changed. {advice}"


def _say_unreachable(where: str, problem: OSError) -> str:
    reason = problem.strerror or str(problem)
    return (
        f"The journal in {where} can't be opened: {reason}. Check the folder and its permissions."
    )


def _say_damaged(where: str, problem: Exception) -> str:
    if isinstance(problem, OperationalError) and "locked" in str(problem):
        return f"The journal in {where} is busy in another program. Try again in a moment."
    cause = " ".join(str(getattr(problem, "orig", None) or problem).split())
    if "://" in where:
        return (
            f"The journal in {where} can't be reached ({cause}). "
            "Check the address, the network and the server, then try again."
        )
    return (
        f"The journal in {where} can't be read ({cause}). It is left as it was: "
        f"copy the folder somewhere safe, then try the newest file in its {BACKUPS} folder."
    )
