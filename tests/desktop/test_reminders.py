"""A reminder to read the pyrometer comes when it is due, once, whatever the clock does."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest
from PySide6.QtWidgets import QApplication

from studiolog.desktop.desk import Desk
from studiolog.desktop.notices import Notice
from studiolog.desktop.reminders import Reminders
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.hand_readings import add_reading, end_firing, set_reminder
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.session import Session
from studiolog.ui.frame.notice_bar import NoticeBar

LIT = datetime(2026, 11, 20, 8, 0)


@dataclass
class Shed:
    """A kiln shed with a clock that is turned by hand."""

    desk: Desk
    now: datetime = LIT
    said: list[str] = field(default_factory=list)
    opened: list[tuple[str, int]] = field(default_factory=list)
    beeps: int = 0

    def __post_init__(self) -> None:
        self.reminders = self.start_anew()
        self.desk.notices.said.connect(self.hear)

    def start_anew(self) -> Reminders:
        """The desk's clock, as a new start of the program makes it."""
        desk = self.desk
        return Reminders(
            desk.journal, desk.edits, desk.notices, desk.settings,
            lambda kind, row: self.opened.append((kind, row)), lambda: self.now,
        )  # fmt: skip

    def hear(self, notice: Notice) -> None:
        if notice.stays:
            self.said.append(notice.sentence.replace("\u202f", " "))
            self.last = notice

    def at(self, clock: str, day: int = 0) -> None:
        """It is so late, and the timer has run out."""
        hour, minute = clock.split(":")
        self.now = LIT.replace(hour=int(hour), minute=int(minute)) + timedelta(days=day)
        self.reminders.look()

    def read(self, firing: int, heat_c: float) -> None:
        now = self.now
        self.desk.edits.run("Read", lambda session: add_reading(session, firing, now, heat_c))


@pytest.fixture
def shed(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shed]:
    made = Shed(desk)
    monkeypatch.setattr(QApplication, "beep", lambda: setattr(made, "beeps", made.beeps + 1))
    made.reminders.start()
    yield made
    made.reminders.stop()


def light(shed: Shed, every_min: int | None = 30, started_at: datetime = LIT) -> int:
    def enter(session: Session) -> int:
        kiln = add_kiln(session, KilnDraft(name=f"Kiln {len(shed.opened)} {started_at:%H%M}"))
        steps = (SegmentDraft(100, 1000),)
        firing = log_firing(
            session, FiringDraft(kiln_id=kiln, started_at=started_at, segments=steps)
        )
        set_reminder(session, firing, every_min)
        return firing

    return shed.desk.edits.run("Light", enter)


def test_it_comes_when_it_is_due_and_goes_once_it_is_read(shed: Shed) -> None:
    bar = NoticeBar(shed.desk.notices)
    bar.show()
    firing = light(shed)
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
    shed.read(firing, 82)
    assert bar.sentence() == ""
    shed.at("9:09")
    assert len(shed.said) == 1
    shed.at("9:10")
    assert shed.said[1] == (
        "Read the pyrometer: firing 1, last 08:40 at 82 °C, program asks 137 °C now."
    )
    assert shed.last.action is not None
    shed.last.action()
    assert shed.opened == [("firing", firing)]
    bar.hide()


def test_unread_it_comes_again_every_time_it_would_be_due(shed: Shed) -> None:
    light(shed)
    for clock in ("8:30", "8:45", "9:00", "9:15", "9:30"):
        shed.at(clock)
    assert len(shed.said) == 3


def test_a_night_asleep_is_one_reminder(shed: Shed) -> None:
    light(shed)
    shed.at("8:30")
    shed.at("6:45", day=1)
    assert len(shed.said) == 2
    shed.at("6:50", day=1)
    assert len(shed.said) == 2
    shed.at("7:00", day=1)
    assert len(shed.said) == 3


def test_a_clock_set_back_and_on_again_piles_nothing_up(shed: Shed) -> None:
    light(shed)
    shed.at("9:05")
    assert len(shed.said) == 1
    shed.at("8:10")  # set back by an hour: summer time ends
    assert len(shed.said) == 1
    shed.at("8:30")
    assert len(shed.said) == 2
    shed.at("7:00")  # before it was lit at all
    assert len(shed.said) == 2


def test_it_outlives_a_restart(shed: Shed) -> None:
    firing = light(shed)
    shed.read(firing, 21)
    shed.reminders.stop()
    assert shed.reminders.waits_s is None
    shed.at("8:50")
    shed.said.clear()
    again = shed.start_anew()
    again.start()
    assert len(shed.said) == 1
    assert "last 08:00 at 21 °C" in shed.said[0]
    again.stop()


def test_it_ends_with_the_firing_or_when_it_is_asked_for_no_more(shed: Shed) -> None:
    firing = light(shed)
    at = LIT + timedelta(hours=1)
    shed.desk.edits.run("End", lambda session: end_firing(session, firing, at))
    shed.at("9:30")
    assert shed.said == []
    assert shed.reminders.waits_s is None
    shed.desk.edits.undo()  # it was the wrong firing
    assert len(shed.said) == 1
    shed.desk.edits.run("No more", lambda session: set_reminder(session, firing, None))
    shed.at("10:30")
    assert len(shed.said) == 1
    assert shed.reminders.waits_s is None


def test_two_kilns_are_told_in_one_notice(shed: Shed) -> None:
    first = light(shed, 30)
    light(shed, 20, LIT + timedelta(minutes=5))
    shed.at("8:32")
    assert len(shed.said) == 1
    assert [line.partition(",")[0] for line in shed.said[0].split("\n")] == [
        "Read the pyrometer: firing 1", "Read the pyrometer: firing 2",
    ]  # fmt: skip
    assert shed.last.action_text == "Open firing 2"  # due since 08:25
    shed.read(first, 60)
    assert shed.beeps == 1


def test_it_can_be_seen_without_being_heard(shed: Shed) -> None:
    shed.desk.settings.reminder_beeps = False
    light(shed)
    shed.at("8:30")
    assert len(shed.said) == 1
    assert shed.beeps == 0
    assert not shed.desk.settings.reminder_beeps


def test_it_looks_again_when_the_next_is_due_or_after_a_minute(shed: Shed) -> None:
    light(shed)
    shed.now = LIT + timedelta(minutes=29, seconds=40)
    shed.reminders.look()
    assert shed.reminders.waits_s == 20.0
