"""Folders that loggers write to, watched: a log that was written out comes in by itself.

A file counts once its size has been still for a while: a logger may write for hours. What was seen
is remembered by size and time of change, so that a restart reads nothing again; the journal knows
the bytes besides.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from studiolog.desktop.drafts import Drafts
from studiolog.desktop.jobs import Jobs, Progress
from studiolog.desktop.log_intake import LogIntake, Told
from studiolog.problems import UserProblem
from studiolog.transfer.log_folder import natural_order

STILL_S = 8.0
_ROWS_APART_S = 900.0
"""Changes nearer than this are rows as they are logged, and tell how long to wait for the next."""
_WAITS_FOR = 3.0
_LONGEST_S = 1800.0
POLL_S = 30.0
_LOOK_SOON_MS = 400
_REMEMBERED = "seen logs"
_MOST_REMEMBERED = 20_000
_KEY = "look for logs"

Listing = Mapping[str, tuple[int, int]]
"""Size and time of change (ns) of every file of a folder, by its path."""


@dataclass
class _Growing:
    size: int
    changed_ns: int
    since_s: float


class FolderLook:
    """What a folder held at the last look, and which of its files stand still since. No Qt.

    ``seen`` maps a path to the size and time of change it was taken in with.
    """

    def __init__(self, seen: Mapping[str, tuple[int, int]] | None = None) -> None:
        self.seen: dict[str, tuple[int, int]] = dict(seen or {})
        self.gone = False
        self._growing: dict[str, _Growing] = {}
        self._changed_s: dict[str, float] = {}
        self._apart_s: dict[str, float] = {}

    @property
    def waits(self) -> bool:
        """Whether a file is being written."""
        return bool(self._growing)

    def next_look_s(self, now_s: float) -> float:
        """How long to wait until a file may have been still for long enough, seconds."""
        left = [
            self._still_s(path) - (now_s - growing.since_s)
            for path, growing in self._growing.items()
        ]
        return max(STILL_S / 2, min([POLL_S, *left]))

    def _still_s(self, path: str) -> float:
        """How long a file has to be still: a logger that writes a row a minute is not done."""
        return min(_LONGEST_S, max(STILL_S, _WAITS_FOR * self._apart_s.get(path, 0.0)))

    def _note_change(self, path: str, now_s: float) -> None:
        before = self._changed_s.get(path)
        if before is not None:
            apart_s = now_s - before
            self._apart_s[path] = apart_s if apart_s <= _ROWS_APART_S else 0.0
        self._changed_s[path] = now_s

    def look(self, listing: Listing | None, now_s: float) -> list[str]:
        """The files that stand still and were not seen so; None says that the folder is away.

        ``now_s`` only ever goes forward. A folder that is away forgets nothing.
        """
        self.gone = listing is None
        if listing is None:
            self._growing.clear()
            return []
        ready: list[str] = []
        for path, (size, changed_ns) in listing.items():
            if self.seen.get(path) == (size, changed_ns) or not size:
                self._growing.pop(path, None)
                continue
            known = self._growing.get(path)
            if known is None or (known.size, known.changed_ns) != (size, changed_ns):
                self._growing[path] = _Growing(size, changed_ns, now_s)
                self._note_change(path, now_s)
            elif now_s - known.since_s >= self._still_s(path):
                del self._growing[path]
                self.seen[path] = (size, changed_ns)
                ready.append(path)
        for path in [path for path in self._growing if path not in listing]:
            del self._growing[path]
        return sorted(ready, key=lambda path: natural_order(Path(path)))


def list_folder(folder: str) -> Listing | None:
    """Every file of a folder and of the folders in it that may be a log; None if it is away."""
    if not Path(folder).is_dir():
        return None
    listing: dict[str, tuple[int, int]] = {}
    try:
        for inner, folders, names in os.walk(folder):
            folders[:] = [name for name in folders if not name.startswith(".")]
            for name in names:
                path = Path(inner, name)
                if name.startswith((".", "~")) or name.endswith((".part", ".tmp")):
                    continue
                try:
                    stat = path.stat()
                except OSError:
                    continue  # moved away between the two looks
                listing[str(path)] = (stat.st_size, stat.st_mtime_ns)
    except OSError:
        return None
    return listing


class WatchedFolders(QObject):
    """Watches the folders of one journal's loggers.

    ``arrived`` carries the `Told` of logs that wait by themselves now; ``unread`` those of files
    that came and could not be read, each once; ``went`` and ``back`` a folder that cannot be
    reached, and can be again; ``looked`` says that all were looked at.
    """

    arrived = Signal(object)
    unread = Signal(object)
    went = Signal(str)
    back = Signal(str)
    looked = Signal()

    def __init__(
        self,
        jobs: Jobs,
        intake: LogIntake,
        memory: Drafts,
        parent: QObject | None = None,
        clock: Callable[[], float] = time.monotonic,
        lister: Callable[[str], Listing | None] = list_folder,
    ) -> None:
        super().__init__(parent)
        self._jobs, self._intake, self._memory = jobs, intake, memory
        self._clock, self._list = clock, lister
        self._looks: dict[str, FolderLook] = {}
        self._ready: list[str] = []
        self._watcher = QFileSystemWatcher(self)
        self._watcher.directoryChanged.connect(lambda _folder: self._look_in(_LOOK_SOON_MS))
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.look)
        intake.told.connect(self._hear)
        intake.ended.connect(self._hear_end)

    @property
    def folders(self) -> tuple[str, ...]:
        """The folders that are watched."""
        return tuple(self._looks)

    def watch(self, folders: tuple[str, ...]) -> None:
        """Watch these folders in place of those before; none stops the watch."""
        remembered = self._remembered()
        kept = {folder: look for folder, look in self._looks.items() if folder in folders}
        self._looks = {
            folder: kept.get(folder) or FolderLook(remembered.get(folder)) for folder in folders
        }
        watched = self._watcher.directories()
        if watched:
            self._watcher.removePaths(watched)
        if folders:
            self._look_in(0)
        else:
            self.stop()

    def stop(self) -> None:
        """Look no more."""
        self._timer.stop()
        self._jobs.cancel(_KEY)

    def look(self) -> None:
        """Look at every folder now, off the window's thread: a folder of a network may be slow."""
        folders = tuple(self._looks)
        if not folders or self._jobs.is_running(_KEY):
            return
        self._jobs.start(_KEY, partial(_list_all, folders, self._list), self._compare, self._fail)

    def _fail(self, problem: Exception) -> None:
        self._look_in(round(POLL_S * 1000))
        raise problem

    def _look_in(self, milliseconds: int) -> None:
        if not self._timer.isActive() or self._timer.remainingTime() > milliseconds:
            self._timer.start(milliseconds)

    def _compare(self, listings: dict[str, Listing | None]) -> None:
        now_s = self._clock()
        for folder, listing in listings.items():
            look = self._looks.get(folder)
            if look is None:
                continue
            was_gone = look.gone
            self._ready.extend(look.look(listing, now_s))
            if look.gone != was_gone:
                (self.went if look.gone else self.back).emit(folder)
            if not look.gone and folder not in self._watcher.directories():
                self._watcher.addPath(folder)  # lost while the folder was away
        self._take_ready()
        soonest = min((look.next_look_s(now_s) for look in self._looks.values()), default=POLL_S)
        self._look_in(round(soonest * 1000))
        self.looked.emit()

    def _hear_end(self, stopped: bool) -> None:
        if not stopped:
            # Not before: what could not be kept comes in after the next start.
            self._remember()
        self._take_ready()

    def _take_ready(self) -> None:
        if self._ready and not self._intake.running:
            files, self._ready = self._ready, []
            self._intake.take_files([Path(file) for file in files], "the loggers' folder")

    def _hear(self, told: tuple[Told, ...]) -> None:
        came = tuple(one for one in told if one.outcome in ("waits", "asks", "grown"))
        if came:
            self.arrived.emit(came)
        unread = tuple(one for one in told if one.outcome == "unread")
        if unread:
            self.unread.emit(unread)

    def _remember(self) -> None:
        """What was seen, kept for the next start: forgotten, the journal would know the bytes."""
        content: dict[str, Any] = {
            folder: dict(list(look.seen.items())[-_MOST_REMEMBERED:])
            for folder, look in self._looks.items()
        }
        try:
            self._memory.keep(_REMEMBERED, content)
        except UserProblem:
            return  # the disk is full: the files are looked at once more after the next start

    def _remembered(self) -> dict[str, dict[str, tuple[int, int]]]:
        kept = self._memory.read(_REMEMBERED) or {}
        read: dict[str, dict[str, tuple[int, int]]] = {}
        for folder, files in kept.items():
            if isinstance(files, dict):
                read[folder] = {
                    path: (int(look[0]), int(look[1]))
                    for path, look in files.items()
                    if isinstance(look, list) and len(look) == 2
                }
        return read


def _list_all(
    folders: tuple[str, ...], lister: Callable[[str], Listing | None], _progress: Progress
) -> dict[str, Listing | None]:
    return {folder: lister(folder) for folder in folders}
