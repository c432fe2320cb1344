"""A reminder to read the pyrometer comes when it is due, once, whatever the clock does."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QAbstractButton, QApplication

from studiolog.craft.firing.program import Segment
from studiolog.desktop.desk import Desk
from studiolog.desktop.edits import Edits
from studiolog.desktop.notices import Notice, Notices
from studiolog.desktop.reminders import Reminders
from studiolog.desktop.settings import Settings
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.hand_readings import (
    RunningFiring,
    add_reading,
    end_firing,
    set_reminder,
)
from studiolog.journal.history import Touched
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.reading_words import HandReading
from studiolog.journal.session import Session
from studiolog.ui.frame.notice_bar import NoticeBar

T = TypeVar("T")
LIT = datetime(2026, 11, 20, 8, 0)


@dataclass
class Shed:
    """A kiln shed with a clock that is turned by hand, and what is being fired in it."""

    settings: Settings
    now: datetime = LIT
    fired: dict[int, RunningFiring] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)
    opened: list[int] = field(default_factory=list)
    beeps: int = 0

    def __post_init__(self) -> None:
        self.notices = Notices()
        self.notices.said.connect(self.hear)
        journal: Any = self
        self.edits = Edits(journal, self.notices)
        self.reminders = self.start_anew()

    def start_anew(self) -> Reminders:
        """The desk's clock, as a new start of the program makes it."""
        return Reminders(
            self, self.edits, self.notices, self.settings, self.opened.append, lambda: self.now
        )

    def read(self, question: Callable[[Session], T]) -> T:
        """What the journal would answer."""
        answer: Any = tuple(self.fired.values())
        return answer  # type: ignore[no-any-return]

    def hear(self, notice: Notice) -> None:
        if not notice.stays:
            return
        self.last = notice
        self.said.append(notice.sentence.replace("\u202f", " "))

    def touch(self) -> None:
        self.edits.edited.emit(Touched(frozenset({"curve"}), frozenset({("curve", 1)})))

    def light(self, number: int = 1, every_min: int = 30, at: datetime = LIT) -> None:
        steps = (Segment(100, 1000),)
        self.fired[number] = RunningFiring(10 + number, number, "", at, every_min, None, steps)
        self.touch()

    def read_off(self, number: int, heat_c: float) -> None:
        at_s = (self.now - self.fired[number].started_at).total_seconds()
        self.fired[number] = replace(self.fired[number], last=HandReading(at_s, heat_c))
        self.touch()

    def at(self, clock: str, day: int = 0) -> None:
        """It is so late, and the timer has run out."""
        hour, minute = clock.split(":")
        self.now = LIT.replace(hour=int(hour), minute=int(minute)) + timedelta(days=day)
        self.reminders.look()


@pytest.fixture
def shed(qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shed]:
    store = QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat)
    made = Shed(Settings(store))
    monkeypatch.setattr(QApplication, "beep", lambda: setattr(made, "beeps", made.beeps + 1))
    made.reminders.start()
    yield made
    made.reminders.stop()


def test_it_comes_when_it_is_due_and_goes_once_it_is_read(shed: Shed) -> None:
    bar = NoticeBar(shed.notices)
    bar.show()
    shed.light()
    assert shed.said == []
    assert shed.reminders.waits_s == 60.0
    shed.at("8:29")
    assert shed.said == []
    shed.at("8:30")
    # 100 °C/h from 20 °C: half an hour later the program asks 70 °C.
    assert shed.said == [
        "Read the pyrometer: firing 1, lit 08:00, not read yet, program asks 70 °C now."
    ]
    assert bar.sentence() != ""
    assert shed.beeps == 1
    shed.at("8:31")
    assert len(shed.said) == 1  # not every minute
    shed.now = LIT.replace(hour=8, minute=40)
    shed.read_off(1, 82)
    assert bar.sentence() == ""
    shed.at("9:09")
    assert len(shed.said) == 1
    shed.at("9:10")
    assert shed.said[1] == (
        "Read the pyrometer: firing 1, last 08:40 at 82 °C, program asks 137 °C now."
    )
    assert shed.last.action is not None
    shed.last.action()
    assert shed.opened == [11]
    bar.close()


def test_what_is_said_over_a_reminder_does_not_lose_it(shed: Shed) -> None:
    bar = NoticeBar(shed.notices)
    bar.show()
    shed.light()
    shed.at("8:30")
    reminder = bar.sentence()
    shed.notices.say("Kept “Bisque 04” among the programs.")
    assert bar.sentence().startswith("Kept")
    close = next(
        one for one in bar.findChildren(QAbstractButton) if "Close" in one.accessibleName()
    )
    close.click()
    assert bar.sentence() == reminder
    close.click()
    assert bar.sentence() == ""
    bar.close()


def test_unread_it_comes_again_every_time_it_would_be_due(shed: Shed) -> None:
    shed.light()
    for clock in ("8:30", "8:45", "9:00", "9:15", "9:30"):
        shed.at(clock)
    assert len(shed.said) == 3


def test_a_night_asleep_is_one_reminder(shed: Shed) -> None:
    shed.light()
    shed.at("8:30")
    shed.at("6:45", day=1)
    assert len(shed.said) == 2
    shed.at("6:50", day=1)
    assert len(shed.said) == 2
    shed.at("7:00", day=1)
    assert len(shed.said) == 3


def test_a_clock_set_back_and_on_again_piles_nothing_up(shed: Shed) -> None:
    shed.light()
    shed.at("9:05")
    assert len(shed.said) == 1
    shed.at("8:10")  # set back by an hour: summer time ends
    assert len(shed.said) == 1
    shed.at("8:30")
    assert len(shed.said) == 2
    shed.at("7:00")  # before it was lit at all
    assert len(shed.said) == 2


def test_it_outlives_a_restart(shed: Shed) -> None:
    shed.light()
    shed.read_off(1, 21)
    shed.reminders.stop()
    assert shed.reminders.waits_s is None
    shed.now = LIT.replace(minute=50)
    again = shed.start_anew()
    again.start()
    assert shed.said == [
        "Read the pyrometer: firing 1, last 08:00 at 21 °C, program asks 103 °C now."
    ]
    again.stop()


def test_two_kilns_are_told_in_one_notice(shed: Shed) -> None:
    shed.light(1)
    shed.light(2, 20, LIT + timedelta(minutes=5))
    shed.at("8:32")
    assert len(shed.said) == 1
    assert [line.partition(",")[0] for line in shed.said[0].split("\n")] == [
        "Read the pyrometer: firing 1", "Read the pyrometer: firing 2",
    ]  # fmt: skip
    assert shed.last.action_text == "Open firing 2"  # due since 08:25
    assert shed.beeps == 1


def test_it_can_be_seen_without_being_heard(shed: Shed) -> None:
    shed.settings.reminder_beeps = False
    shed.light()
    shed.at("8:30")
    assert len(shed.said) == 1
    assert shed.beeps == 0
    assert not shed.settings.reminder_beeps


def test_it_looks_again_when_the_next_is_due_or_after_a_minute(shed: Shed) -> None:
    shed.now = LIT + timedelta(minutes=29, seconds=40)
    shed.light()
    assert shed.reminders.waits_s == 20.0
    shed.fired.clear()
    shed.touch()
    assert shed.reminders.waits_s is None


def test_at_a_desk_it_ends_with_the_firing_or_when_asked_for_no_more(desk: Desk) -> None:
    now = [LIT]
    said: list[str] = []
    desk.notices.said.connect(lambda notice: said.append(notice.sentence))
    desk.settings.reminder_beeps = False
    clock = Reminders(
        desk.journal, desk.edits, desk.notices, desk.settings, lambda _id: None, lambda: now[0]
    )
    clock.start()

    def enter(session: Session) -> int:
        kiln = add_kiln(session, KilnDraft(name="Big kiln"))
        firing = log_firing(session, FiringDraft(kiln_id=kiln, started_at=LIT))
        set_reminder(session, firing, 30)
        add_reading(session, firing, LIT, 18)
        return firing

    firing = desk.edits.run("Light", enter)
    end = LIT + timedelta(minutes=20)
    desk.edits.run("End", lambda session: end_firing(session, firing, end))
    now[0] = LIT + timedelta(hours=1, minutes=10)
    clock.look()
    assert said == []
    assert clock.waits_s is None
    desk.edits.undo()  # it was the wrong firing
    assert "last 08:00 at 18" in said[0]
    assert len([words for words in said if words.startswith("Read the")]) == 1
    desk.edits.run("No more", lambda session: set_reminder(session, firing, None))
    now[0] += timedelta(hours=1)
    clock.look()
    assert len([words for words in said if words.startswith("Read the")]) == 1
    assert clock.waits_s is None
    clock.stop()
