"""What a window needs and is slow to load, loaded beside it in one thread."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEventLoop, QObject, QTimer, Signal, SignalInstance

from studiolog.ui.frame.places import PLACES

if TYPE_CHECKING:
    from studiolog.desktop.jobs import Progress
    from studiolog.journal.bench import BenchPage
    from studiolog.journal.opening import Journal

_OVERDUE_MS = 250

# What the first screen is made of, and what opens from anywhere.
_FIRST = (
    "studiolog.desktop.desk",
    "studiolog.desktop.logger_watch",
    "studiolog.journal.bench_words",
    "studiolog.journal.bench_work",
    "studiolog.journal.runs",
    "studiolog.ui.bench.screen",
    "studiolog.ui.bench.later",
    "studiolog.ui.bench.promise_line",
    "studiolog.ui.bench.side",
    "studiolog.ui.bench.stage_drag",
    "studiolog.ui.bench.window_track",
    "studiolog.ui.frame.notice_bar",
)
_SHEETS = (
    "studiolog.journal.find",
    "studiolog.journal.working_time",
    "studiolog.ui.bench.run_view",
    "studiolog.ui.bench.sheets",
    "studiolog.ui.quick_log.sheet",
    "studiolog.ui.frame.history_sheet",
    "studiolog.ui.frame.keys_sheet",
    "studiolog.ui.frame.limits_sheet",
    "studiolog.ui.frame.settings_sheet",
)

# What a screen asks for only when a sum is first done on it.
_LIBRARIES = ("scipy.optimize",)


@dataclass(frozen=True)
class Opened:
    """A journal that is open, and its bench."""

    journal: "Journal"
    bench: "BenchPage"


def open_journal_whole(
    where: str, photos: Path | None, *, create: bool, said: Callable[[str], None]
) -> Opened:
    """Load what works on a journal, open it, and read what its window shows first.

    Raises `JournalUnreadable` with a sentence. Every question the window asks first is asked here
    once, so that it is quick to answer there.
    """
    from studiolog.journal.bench import read_bench
    from studiolog.journal.bench_work import read_work
    from studiolog.journal.hand_readings import list_watched
    from studiolog.journal.opening import open_journal
    from studiolog.journal.studio import read_studio

    said("Opening the journal…")
    journal = open_journal(where, create=create, photos=photos)
    try:
        for name in _FIRST:
            import_module(name)
        bench = journal.read(read_bench)
        few = [row.run_id for row in bench.rows[:25]]
        journal.read(lambda session: read_work(session, few))
        journal.read(read_studio)
        journal.read(lambda session: list_watched(session, datetime.now()))
        journal.undo_line()
        journal.redo_line()
    except BaseException:
        journal.close()
        raise
    return Opened(journal, bench)


def load_the_rest(progress: "Progress") -> None:
    """Load the screens that were not seen yet, so that each comes at once when it is asked for."""
    for name in (*_SHEETS, *(place.module for place in PLACES.values()), *_LIBRARIES):
        if progress.cancelled():
            return
        import_module(name)


class Waiting(QObject):
    """Waits for a thread while the window's own events go on."""

    _said = Signal(str)
    _ended = Signal()

    def __init__(self, said: Callable[[str], None]) -> None:
        super().__init__()
        self._value: Any = None
        self._problem: BaseException | None = None
        self._loop = QEventLoop()
        self._said.connect(said)
        self._ended.connect(self._loop.quit)

    def leave(self) -> None:
        """Wait no longer than the thread needs to end."""
        self._loop.quit()

    def wait_for(
        self, work: Callable[[Callable[[str], None]], Any], until: SignalInstance | None = None
    ) -> Any:
        """The value of ``work``; raises what it raised. ``work`` is given where to say things.

        It begins when ``until`` fires, or is overdue: a window that is not seen opens nonetheless.
        """

        def run() -> None:
            try:
                self._value = work(self._said.emit)
            except BaseException as problem:  # noqa: BLE001 - raised again where it is waited for
                self._problem = problem
            self._ended.emit()

        thread = threading.Thread(target=run, name="opening")
        begun = QTimer(self)
        begun.setSingleShot(True)
        begun.timeout.connect(thread.start)
        if until is not None:
            until.connect(lambda: begun.setInterval(0))
        begun.start(_OVERDUE_MS if until is not None else 0)
        self._loop.exec()
        begun.stop()
        if thread.ident is None:
            return None
        thread.join()
        if self._problem is not None:
            raise self._problem
        return self._value
