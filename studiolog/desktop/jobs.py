"""Long work off the window's thread: pure functions of paths, bytes and values."""

import threading
from collections.abc import Callable
from typing import Any, TypeVar

from PySide6.QtCore import QObject, QThreadPool, Signal, Slot
from shiboken6 import isValid

T = TypeVar("T")


class Progress:
    """Handed to the work: says how far it is, and whether it should stop."""

    def __init__(self, tell: Callable[[int, int, str], None]) -> None:
        self._tell = tell
        self._stop = threading.Event()

    def step(self, done: int, total: int, what: str = "") -> None:
        """``done`` of ``total`` is done; ``what`` is at hand."""
        self._tell(done, total, what)

    def cancelled(self) -> bool:
        """Whether the work was asked to stop."""
        return self._stop.is_set()

    def cancel(self) -> None:
        """Ask the work to stop."""
        self._stop.set()


class Jobs(QObject):
    """Runs work on a thread pool and brings its outcome back to the window's thread.

    A job is named by its ``key``: starting another under the same key cancels the first, and a
    result that comes too late is dropped.
    """

    progressed = Signal(str, int, int, str)
    started = Signal(str)
    ended = Signal(str)
    _arrived = Signal(str, int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool()
        self._count = 0
        self._running: dict[
            str, tuple[int, Progress, Callable[..., None], Callable[..., None]]
        ] = {}
        self._arrived.connect(self._deliver)

    def start(
        self,
        key: str,
        work: Callable[[Progress], T],
        done: Callable[[T], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """Run ``work``; then ``done`` with its value, or ``failed`` with what it raised."""
        self.cancel(key)
        self._count += 1
        ticket = self._count
        progress = Progress(lambda at, total, what: self.progressed.emit(key, at, total, what))
        self._running[key] = (ticket, progress, done, failed)

        def run() -> None:
            value: object = None
            problem: Exception | None = None
            try:
                value = work(progress)
            except Exception as caught:  # noqa: BLE001 - handed to the one who asked
                problem = caught
            self._arrived.emit(key, ticket, value, problem)

        self.started.emit(key)
        self._pool.start(run)

    def cancel(self, key: str) -> None:
        """Ask the job under ``key`` to stop and drop what it brings."""
        running = self._running.pop(key, None)
        if running is not None:
            running[1].cancel()
            self.ended.emit(key)

    def is_running(self, key: str) -> bool:
        """Whether a job under ``key`` is still wanted."""
        return key in self._running

    def wait(self, timeout_ms: int = 30_000) -> bool:
        """Stop wanting all jobs and wait for their threads; used at closing."""
        for key in list(self._running):
            self.cancel(key)
        return self._pool.waitForDone(timeout_ms)

    @Slot(str, int, object, object)
    def _deliver(self, key: str, ticket: int, value: Any, problem: Any) -> None:
        running = self._running.get(key)
        if running is None or running[0] != ticket:
            return
        del self._running[key]
        self.ended.emit(key)
        if _is_gone(running[2]):
            return
        if problem is not None:
            running[3](problem)
        else:
            running[2](value)


def _is_gone(answer: Callable[..., None]) -> bool:
    """Whether the screen that asked was closed for good meanwhile."""
    asker = getattr(getattr(answer, "func", answer), "__self__", None)
    return isinstance(asker, QObject) and not isValid(asker)
