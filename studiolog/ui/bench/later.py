"""What the bench reads once its rows stand: the work on each run, then what looks ahead.

The rows that are seen come first, at once; the others a few at a turn of the event loop, so that
five hundred runs never hold the window up. How long clay stays soft is told from the history of the
whole studio: that is read and worked out beside the window. When a promise is ready is asked of the
forecast that all screens share, once that is done and only if anything is owed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from studiolog.journal.bench_rows import BenchRow
from studiolog.journal.bench_work import RunWork, read_work
from studiolog.journal.session import Session

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.journal.before_leaving import BeforeLeaving
    from studiolog.journal.promises import RunPromise
    from studiolog.journal.working_time import Window

AT_ONCE = 15
"""Runs whose work is read in one turn: 10 ms at ten thousand open pieces."""

_AHEAD = "what is ahead of the bench"
_AFTER_MS = 250  # of quiet: somebody may be moving one piece after the other
_AT_START_MS = 1500  # other screens are being loaded
_AGAIN_MS = 5 * 60_000  # clay goes on drying while nothing is logged


@dataclass(frozen=True)
class Ahead:
    """What is ahead: how long clay stays workable, what to do before leaving, and whether
    anything is owed that could be foreseen."""

    windows: "Mapping[int, Window]"
    leaving: "BeforeLeaving"
    is_owing: bool


def read_ahead(session: Session, run_ids: Sequence[int], now: datetime) -> Ahead:
    """What the studio's history tells of these runs, read beside the window."""
    from studiolog.journal.before_leaving import MOST, plan_leaving
    from studiolog.journal.demand import is_anything_open
    from studiolog.journal.working_time import read_all_windows

    windows = read_all_windows(session, run_ids[:MOST], now)
    shown = {run_id: windows.of_run(run_id) for run_id in run_ids}
    known = {run_id: window for run_id, window in shown.items() if window is not None}
    return Ahead(known, plan_leaving(windows), is_anything_open(session))


class LaterReads(QObject):
    """Reads what belongs to the rows shown. ``work_read`` when some more of it is known, or when
    the promises are, ``done`` when all of the work is, ``ahead_read`` when the windows are."""

    work_read = Signal()
    done = Signal()
    ahead_read = Signal()

    def __init__(self, desk: "Desk", parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.work: dict[int, RunWork] = {}
        self.windows: Mapping[int, Window] = {}
        self.leaving: BeforeLeaving | None = None
        self.promises: Mapping[int, RunPromise] = {}
        self._rows: Sequence[BenchRow] = ()
        self._turns: Iterator[None] = iter(())
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._take_turn)
        self._quiet = QTimer(self, singleShot=True, interval=_AFTER_MS)
        self._quiet.timeout.connect(self._look_ahead)
        self._again = QTimer(self, interval=_AGAIN_MS)
        self._again.timeout.connect(self._look_ahead)
        desk.foresight.changed.connect(self._take_promises)

    def begin(self, rows: Sequence[BenchRow], first: Sequence[int], at_once: bool = True) -> None:
        """Read for these rows, the runs ``first`` before the others.

        Not ``at_once`` while a window opens: then each part waits for a turn of its own.
        """
        self._rows = rows
        named = set(first)
        ids = [*first, *(row.run_id for row in rows if row.run_id not in named)]
        self.work = {run_id: self.work[run_id] for run_id in ids if run_id in self.work}
        self._turns = self._read_work(ids, at_once)
        if at_once:
            self._take_turn()
        else:
            self._next.start()
        self._quiet.start(_AFTER_MS if at_once else _AT_START_MS)
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

    def _read_work(self, ids: Sequence[int], at_once: bool) -> Iterator[None]:
        for start in range(0, len(ids), AT_ONCE):
            if start:
                yield
            some = ids[start : start + AT_ONCE]
            self.work |= self.desk.read(partial(read_work, run_ids=some))
            self.work_read.emit()
        if not at_once:
            yield
        self.done.emit()

    def _look_ahead(self) -> None:
        ids = [row.run_id for row in self._rows]
        question = partial(read_ahead, run_ids=ids, now=datetime.now().replace(microsecond=0))
        read = self.desk.journal.read
        self.desk.jobs.start(_AHEAD, lambda _progress: read(question), self._take_ahead, self._fail)

    def _take_ahead(self, ahead: Ahead) -> None:
        self.windows, self.leaving = ahead.windows, ahead.leaving
        if ahead.is_owing:
            self.desk.foresight.want()
        self._take_promises()
        self.ahead_read.emit()

    def _take_promises(self) -> None:
        told = {row.run_id: self.desk.foresight.of_run(row.run_id) for row in self._rows}
        self.promises = {run_id: promise for run_id, promise in told.items() if promise}
        self.work_read.emit()

    @staticmethod
    def _fail(problem: Exception) -> None:
        raise problem
