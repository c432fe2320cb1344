"""Reminders to read the pyrometer: one clock for the desk, computed from what was read last.

Nothing of a reminder is stored but how often it is asked for: when it is due follows from the last
reading, so it outlives a restart, and a computer that slept says it once. ``now`` can be any clock.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol, TypeVar

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QApplication

from studiolog.craft.units import show_temperature
from studiolog.desktop.edits import Edits
from studiolog.desktop.notices import Notices
from studiolog.desktop.settings import Settings
from studiolog.journal.hand_readings import RunningFiring, ask_program, list_watched, say_clock
from studiolog.journal.session import Session

T = TypeVar("T")
_LOOK_AGAIN_S = 60.0
"""The clock may be set, and the computer may sleep: never wait longer without a look at it."""
_TOUCHING = frozenset({"firing", "curve", "firing_segment", "program"})


@dataclass(frozen=True, slots=True)
class _Said:
    """Which reminder of a firing was said: the n-th since a reading."""

    last_at: datetime
    every_min: int
    times: int


class Reads(Protocol):
    """Answers questions from the journal, as `Journal` does."""

    def read(self, question: Callable[[Session], T]) -> T: ...


class Reminders(QObject):
    """``due`` carries the firing that wants to be read; the notice is said here already.

    ``start`` it once the journal is open and there is something to say notices in.
    """

    due = Signal(object)

    def __init__(
        self,
        journal: Reads,
        edits: Edits,
        notices: Notices,
        settings: Settings,
        show: Callable[[int], None],
        now: Callable[[], datetime] = datetime.now,
    ) -> None:
        super().__init__()
        self._journal, self._edits, self._notices = journal, edits, notices
        self._settings, self._show, self._now = settings, show, now
        self._said: dict[int, _Said] = {}
        self._looked_at: datetime | None = None
        self._showing: set[int] = set()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.look)
        self._started = False

    def start(self) -> None:
        """Look at the clock from now on."""
        if not self._started:
            self._started = True
            self._edits.edited.connect(self._hear)
            self.look()

    def stop(self) -> None:
        """Look no more."""
        self._timer.stop()
        if self._started:
            self._started = False
            self._edits.edited.disconnect(self._hear)

    @property
    def waits_s(self) -> float | None:
        """Seconds until it looks again; None while nothing is watched."""
        return self._timer.interval() / 1000.0 if self._timer.isActive() else None

    def look(self) -> None:
        """Say what is due, once, and wait for the next."""
        now = self._now()
        if self._looked_at is not None and now < self._looked_at - timedelta(minutes=1):
            self._said.clear()  # the clock was set back
        self._looked_at = now
        watched = self._journal.read(lambda session: list_watched(session, now))
        self._forget(watched)
        due = [firing for firing in watched if self._is_due(firing, now)]
        if due:
            self._remind(due, now)
        self._wait(watched, now)

    def _is_due(self, firing: RunningFiring, now: datetime) -> bool:
        """Whether it wants to be read, and this was not said yet; from here on it is."""
        times = int((now - firing.last_at) // timedelta(minutes=firing.every_min))
        said = self._said.get(firing.firing_id)
        asked = (firing.last_at, firing.every_min)
        if said is not None and (said.last_at, said.every_min) == asked and times <= said.times:
            return False
        if times < 1:
            return False
        self._said[firing.firing_id] = _Said(*asked, times)
        return True

    def _remind(self, due: list[RunningFiring], now: datetime) -> None:
        unit = self._settings.temperature_unit
        longest = min(due, key=lambda firing: firing.due_at)
        self._showing = {firing.firing_id for firing in due}
        self._notices.remind(
            "\n".join(say_due(firing, now, unit) for firing in due),
            f"Open firing {longest.number}",
            lambda: self._show(longest.firing_id),
        )
        self._sound()
        for firing in due:
            self.due.emit(firing)

    def _forget(self, watched: tuple[RunningFiring, ...]) -> None:
        """What was read meanwhile, or is over, is due no more: its notice goes too."""
        last = {firing.firing_id: firing for firing in watched}
        for firing_id, said in list(self._said.items()):
            firing = last.get(firing_id)
            if firing is None or firing.last_at != said.last_at:
                del self._said[firing_id]
                self._showing.discard(firing_id)
                if not self._showing:
                    self._notices.end_reminder()

    def _sound(self) -> None:
        """Be noticed where the window is behind others: its place blinks, and a beep if wanted."""
        window = QApplication.activeWindow() or next(
            (one for one in QApplication.topLevelWidgets() if one.isVisible()), None
        )
        if window is not None:
            QApplication.alert(window)
        if self._settings.reminder_beeps:
            QApplication.beep()

    def _wait(self, watched: tuple[RunningFiring, ...], now: datetime) -> None:
        self._timer.stop()
        if not watched or not self._started:
            return
        waits: list[float] = []
        for firing in watched:
            every_s = firing.every_min * 60.0
            since_s = (now - firing.last_at).total_seconds()
            waits.append(every_s - since_s % every_s)
        self._timer.start(round(1000 * max(1.0, min([_LOOK_AGAIN_S, *waits]))))

    def _hear(self, touched: object) -> None:
        kinds: frozenset[str] = getattr(touched, "kinds", frozenset())
        if kinds & _TOUCHING:
            self.look()


def say_due(firing: RunningFiring, now: datetime, unit: str) -> str:
    """ "Read the pyrometer: firing 95, last 14:20 at 820 °C, program asks 861 °C now"."""
    words = [f"firing {firing.number}"]
    if firing.last is None:
        words.append(f"lit {say_clock(firing.started_at, now)}, not read yet")
    else:
        heat = show_temperature(firing.last.temperature_c, unit)
        words.append(f"last {say_clock(firing.last_at, now)} at {heat}")
    asked = ask_program(firing.segments, firing.started_at, now)
    if asked is not None:
        words.append(f"program asks {show_temperature(asked.temperature_c, unit)} now")
    return f"Read the pyrometer: {', '.join(words)}."
