"""A folder of logs taken in: read off the window's thread, kept in small edits, told by file."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from studiolog.desktop.jobs import Progress
from studiolog.journal.log_intake import IncomingFile, read_incoming
from studiolog.journal.waiting import Kept, find_file, keep_waiting, read_known_files
from studiolog.problems import UserProblem
from studiolog.transfer.log_folder import FoundFiles, find_log_files

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk

_AT_ONCE = 20
"""Files that are read before what came of them is kept: no more bytes than theirs are held."""


@dataclass(frozen=True)
class Told:
    """What became of one file. ``outcome`` as in `Kept`, or "unread" or "skipped"."""

    path: Path
    outcome: str
    words: str
    firing: int | None = None
    waiting_id: int | None = None


class LogIntake(QObject):
    """Takes in folders and files, one taking at a time.

    ``found`` carries how many files there are; ``told`` a tuple of `Told` as they come; ``ended``
    whether it was stopped before the last file. What came in until then stays.
    """

    found = Signal(int)
    told = Signal(object)
    ended = Signal(bool)

    def __init__(self, desk: Desk, key: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._jobs, self._edits, self._key = desk.jobs, desk.edits, key
        self._journal = desk.journal
        self._stop = threading.Event()
        self._left: list[Path] = []
        self._known: frozenset[str] = frozenset()
        self._from = ""
        self._running = False

    @property
    def running(self) -> bool:
        """Whether files are being taken in."""
        return self._running

    def take_in(self, places: Sequence[Path]) -> None:
        """Take in these files, and all files of these folders, in the order of their names."""
        self._stop = threading.Event()
        self._running = True
        self._from = places[0].name if len(places) == 1 else f"{len(places)} places"
        self._jobs.start(
            self._key, partial(_find, tuple(places), self._stop), self._take_up, self._fail
        )

    def take_files(self, files: Sequence[Path], origin: str) -> None:
        """Take in these very files, known to be readable; ``origin`` names them in the history."""
        self._stop = threading.Event()
        self._running = True
        self._from = origin
        self._take_up(FoundFiles(tuple(files), ()))

    def stop(self) -> None:
        """Stop after the file at hand; what was read until then is kept."""
        self._stop.set()

    def _take_up(self, found: FoundFiles) -> None:
        self._left = list(found.files)
        self._known = self._journal.read(read_known_files)
        self.found.emit(len(found.files) + len(found.skipped))
        if found.skipped:
            self.told.emit(tuple(Told(one.path, "skipped", one.reason) for one in found.skipped))
        self._go_on()

    def _go_on(self) -> None:
        if self._stop.is_set() or not self._left:
            self._finish()
            return
        batch, self._left = self._left[:_AT_ONCE], self._left[_AT_ONCE:]
        self._jobs.start(
            self._key, partial(_read, batch, self._known, self._stop), self._keep, self._fail
        )

    def _keep(self, read: list[IncomingFile]) -> None:
        logs = [one.log for one in read if one.log is not None]
        kept: tuple[Kept, ...] = ()
        if logs:
            label = f"Take in {len(logs)} log{'s' if len(logs) > 1 else ''} of {self._from}"
            try:
                kept = self._edits.run(label, partial(keep_waiting, logs=logs, now=datetime.now()))
            except UserProblem as problem:
                self._left = []
                self._stop.set()
                self.told.emit(tuple(Told(one.path, "unread", problem.sentence) for one in read))
                self._finish()
                return
        outcomes = iter(kept)
        self.told.emit(
            tuple(
                self._tell_unkept(one) if one.log is None else _tell(one.path, next(outcomes))
                for one in read
            )
        )
        self._go_on()

    def _tell_unkept(self, one: IncomingFile) -> Told:
        if one.known:
            here = self._journal.read(partial(find_file, sha256=one.known))
            if here is not None:
                return _tell(one.path, here)
        return Told(one.path, "skipped" if one.skipped else "unread", one.problem)

    def _finish(self) -> None:
        stopped = self._stop.is_set()
        self._left = []
        self._running = False
        self.ended.emit(stopped)

    def _fail(self, problem: Exception) -> None:
        self._running = False
        self.ended.emit(True)
        raise problem


def _tell(path: Path, kept: Kept) -> Told:
    return Told(path, kept.outcome, kept.words, kept.firing, kept.waiting_id)


def _find(places: Sequence[Path], stop: threading.Event, progress: Progress) -> FoundFiles:
    return find_log_files(places, lambda: stop.is_set() or progress.cancelled())


def _read(
    batch: Sequence[Path], known: frozenset[str], stop: threading.Event, progress: Progress
) -> list[IncomingFile]:
    read: list[IncomingFile] = []
    for at, path in enumerate(batch):
        if stop.is_set() or progress.cancelled():
            break
        progress.step(at, len(batch), path.name)
        read.append(read_incoming(path, known))
    return read
