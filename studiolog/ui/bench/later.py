"""What the bench reads once its rows stand: the work on each run, then how long clay stays soft.

The rows that are seen come first, at once; the others a few at a turn of the event loop, so that
five hundred runs never hold the window up. What looks through the history of the whole studio is
read beside the window.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from studiolog.journal.bench_rows import BenchRow
from studiolog.journal.bench_work import RunWork, read_work
from studiolog.journal.session import Session

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.journal.working_time import Window

AT_ONCE = 25
"""Runs whose work is read in one turn: 16 ms at ten thousand open pieces."""

_WINDOWS = "the bench's leather-hard windows"
_AFTER_MS = 250  # of quiet: somebody may be moving one piece after the other
_AGAIN_MS = 5 * 60_000  # clay goes on drying while nothing is logged
_DRYING = ("wet", "leather_hard")


def read_windows_of(session: Session, run_ids: Sequence[int], now: datetime) -> "dict[int, Window]":
    """How long the clay of runs stays workable."""
    from studiolog.journal.working_time import read_windows

    return read_windows(session, run_ids, now)


class LaterReads(QObject):
    """Reads what belongs to the rows shown. ``work_read`` when some more of it is known, ``done``
    when all of the work is, ``windows_read`` when the windows are."""

    work_read = Signal()
    done = Signal()
    windows_read = Signal()

    def __init__(self, desk: "Desk", parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.work: dict[int, RunWork] = {}
        self.windows: Mapping[int, Window] = {}
        self._rows: Sequence[BenchRow] = ()
        self._turns: Iterator[None] = iter(())
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._take_turn)
        self._quiet = QTimer(self, singleShot=True, interval=_AFTER_MS)
        self._quiet.timeout.connect(self._read_windows)
        self._again = QTimer(self, interval=_AGAIN_MS)
        self._again.timeout.connect(self._read_windows)

    def begin(self, rows: Sequence[BenchRow], first: Sequence[int]) -> None:
        """Read for these rows, the runs ``first`` before the others."""
        self._rows = rows
        named = set(first)
        ids = [*first, *(row.run_id for row in rows if row.run_id not in named)]
        self.work = {run_id: self.work[run_id] for run_id in ids if run_id in self.work}
        self._turns = self._read_work(ids)
        self._take_turn()
        self._quiet.start()
        self._again.start()

    def stop(self) -> None:
        """Read nothing more."""
        self._next.stop()
        self._quiet.stop()
        self._again.stop()

    def finish(self) -> None:
        """Read all the work now, as a test does."""
        for _ in self._turns:
            pass

    def _take_turn(self) -> None:
        if next(self._turns, "ended") is None:
            self._next.start()

    def _read_work(self, ids: Sequence[int]) -> Iterator[None]:
        for start in range(0, len(ids), AT_ONCE):
            if start:
                yield
            some = ids[start : start + AT_ONCE]
            self.work |= self.desk.read(partial(read_work, run_ids=some))
            self.work_read.emit()
        self.done.emit()

    def _read_windows(self) -> None:
        ids = [row.run_id for row in self._rows if any(row.counts.get(stage) for stage in _DRYING)]
        if not ids:
            self._take_windows({})
            return
        question = partial(read_windows_of, run_ids=ids, now=datetime.now())
        read = self.desk.journal.read
        self.desk.jobs.start(
            _WINDOWS, lambda _progress: read(question), self._take_windows, self._fail
        )

    def _take_windows(self, windows: "Mapping[int, Window]") -> None:
        self.windows = windows
        self.windows_read.emit()

    @staticmethod
    def _fail(problem: Exception) -> None:
        raise problem
