"""When what is owed will be ready: drawn once off the window's thread, for every screen."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from studiolog.desktop.edits import Edits
from studiolog.desktop.jobs import Jobs, Progress
from studiolog.journal.opening import Journal
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from studiolog.journal.history import Touched
    from studiolog.journal.promises import Promises, RunPromise

KINDS = frozenset(
    {"order", "set", "run", "piece", "form", "firing", "kiln", "studio", "limit", "clay"}
)
"""Nouns that a forecast is made of."""

KEY = "foresee promises"
_WAIT_MS = 150


class Foresight(QObject):
    """The forecast of what is owed. A screen that shows it asks with `want` and hears ``changed``.

    An edit makes the forecast stale; it is drawn anew once a screen wants it again, and the old
    one stands meanwhile. ``problem`` says in a sentence why there is none.
    """

    changed = Signal()

    def __init__(
        self,
        journal: Journal,
        edits: Edits,
        jobs: Jobs,
        now: Callable[[], datetime] = datetime.now,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._journal, self._jobs, self.now = journal, jobs, now
        self.promises: Promises | None = None
        self.problem = ""
        self.called_off = False
        self._runs: Mapping[int, RunPromise] = {}
        self._stale = True
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_WAIT_MS)
        self._soon.timeout.connect(self._draw)
        edits.edited.connect(self._hear_edit)

    @property
    def is_drawing(self) -> bool:
        """Whether an answer is on its way."""
        return self._soon.isActive() or self._jobs.is_running(KEY)

    def want(self) -> None:
        """Draw the forecast if there is none for the journal as it is now."""
        told = self.promises
        if told is not None and told.plan.today != self.now().date():
            self._stale = True
        if self._stale and not self._soon.isActive():
            self._stale = False
            self.called_off = False
            self._soon.start()
            self.changed.emit()

    def again(self) -> None:
        """Draw it anew, whatever there is."""
        self._stale = True
        self.want()

    def cancel(self) -> None:
        """Call the drawing off; the forecast before it stands."""
        self._soon.stop()
        self._jobs.cancel(KEY)
        self.called_off = True
        self.changed.emit()

    def stop(self) -> None:
        """Want nothing any more: the desk is closing."""
        self._soon.stop()
        self._jobs.cancel(KEY)

    def of_run(self, run_id: int) -> "RunPromise | None":
        """The promise of the line a run serves; None if it serves none, or nothing is told yet."""
        return self._runs.get(run_id)

    def _hear_edit(self, touched: "Touched") -> None:
        if touched.kinds & KINDS:
            self._stale = True

    def _draw(self) -> None:
        now, journal = self.now(), self._journal

        def work(progress: Progress) -> "tuple[Promises, Mapping[int, RunPromise]] | None":
            # Loaded and read in the worker, with a session of its own: of ten thousand pieces it
            # takes a quarter of a second, and the bench asks while a window opens.
            from studiolog.journal.promises import foresee, foresee_runs, read_promises

            plan = journal.read(lambda session: read_promises(session, now))

            def going(done: int, total: int) -> bool:
                progress.step(done, total)
                return not progress.cancelled()

            told = foresee(plan, going)
            return None if told is None else (told, foresee_runs(told))

        self._jobs.start(KEY, work, self._take, self._fail)

    def _take(self, told: "tuple[Promises, Mapping[int, RunPromise]] | None") -> None:
        if told is not None:
            self.promises, self._runs = told
            self.problem = ""
        self.changed.emit()

    def _fail(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem):
            self.problem = "The forecast could not be drawn."
            self.changed.emit()
            raise problem
        self.problem = problem.sentence
        self.changed.emit()
