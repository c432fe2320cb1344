"""A candling bisque is watched by hand: six readings as it goes, one corrected, and the end."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from studiolog.desktop.desk import Desk
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.ui.firings.live_readings import LiveReadings
from studiolog.ui.firings.screen import FiringsScreen
from studiolog.ui.firings.typed_readings import TypedReadings
from studiolog.ui.parts.paper_sheet import PaperSheet
from tests.ui.conftest import OpenScreen

LIT = datetime(2026, 11, 20, 8, 0)


@dataclass
class Watch:
    """The potter's clock, the page, and the section that is typed into."""

    now: datetime
    desk: Desk
    screen: FiringsScreen
    firing: int

    @property
    def live(self) -> LiveReadings:
        return self.screen.view.live

    def type_in(self, clock: str, heat: str, note: str = "", when: str = "") -> None:
        """At this time of day, type a reading and press Enter."""
        hour, minute = clock.split(":")
        self.now = LIT.replace(hour=int(hour), minute=int(minute), second=20)
        self.live.when.line.setText(when)
        self.live.heat.line.setText(heat)
        self.live.note.line.setText(note)
        QTest.keyClick(self.live.heat.line, Qt.Key.Key_Return)

    def heats(self) -> list[float]:
        page = self.screen.page
        assert page is not None
        curve = page.main_curve
        return [] if curve is None else curve.temperature_c.tolist()

    def told(self) -> str:
        return self.live.told.text().replace("\u202f", " ")


@pytest.fixture
def watch(desk: Desk, open_screen: OpenScreen) -> Watch:
    def enter(session: Any) -> int:
        kiln = add_kiln(session, KilnDraft(name="Big kiln"))
        program = add_program(
            session,
            ProgramDraft(
                name="Candled bisque",
                kind="bisque",
                cone="04",
                segments=(
                    SegmentDraft(60, 80, 120),
                    SegmentDraft(100, 600),
                    SegmentDraft(150, 1060, 15),
                ),
            ),
        )
        draft = FiringDraft(kiln_id=kiln, program_id=program, started_at=LIT, kind="bisque")
        return log_firing(session, draft)

    firing = desk.edits.run("Log firing 1", enter)
    screen = open_screen(FiringsScreen)
    made = Watch(LIT, desk, screen, firing)
    screen.view.live.now = lambda: made.now
    screen.show_thing(firing)
    return made


def test_a_candling_bisque_is_read_six_times(watch: Watch) -> None:
    assert watch.live.isVisible()
    assert watch.told() == "The program asks 20 °C now. Not read yet."
    watch.type_in("8:00", "18")
    watch.type_in("9:00", "75", "lid on a bung")
    # The program holds 80 °C by then.
    assert watch.told() == (
        "The program asks 80 °C now. Last read: 75 °C at 09:00, 5 °C behind the program, "
        "lid on a bung."
    )
    assert watch.heats() == [18, 75]
    # The plot has it at once, beside the program.
    assert list(watch.screen.view.plot.firing.curve_c) == [18, 75]
    watch.type_in("11:05", "82", "candled, lid shut", when="11:00")
    watch.type_in("13:00", "28o", "switches medium")
    assert "“28o” is not a temperature" in watch.live.heat.problem()
    assert QApplication.focusWidget() is watch.live.heat.line
    assert watch.live.note.text() == "switches medium"  # what is right is not typed twice
    watch.type_in("13:00", "280", "switches medium")
    watch.type_in("15:00", "84")
    watch.type_in("16:20", "600", when="-5 min")
    assert watch.heats() == [18, 75, 82, 280, 84, 600]
    assert watch.live.last.text().startswith("Before: 84\u202f°C at 15:00, ")

    # 84 was 480, read off the wrong line: it is corrected in the list of all.
    watch.live.link.click()
    sheet = next(s for s in watch.screen.findChildren(TypedReadings) if s.isVisible())
    lines = sheet.lines.toPlainText()
    assert "3:00 82 candled, lid shut" in lines
    sheet.lines.setPlainText(lines.replace("7:00 84", "7:00 480"))
    sheet.keep()
    assert watch.heats() == [18, 75, 82, 280, 480, 600]
    assert "candled, lid shut" in watch.live.last.text()

    # A seventh was a slip: undo takes it back.
    watch.type_in("16:30", "999")
    assert len(watch.heats()) == 7
    watch.desk.edits.undo()
    assert watch.heats() == [18, 75, 82, 280, 480, 600]

    watch.now = LIT.replace(hour=20, minute=5)
    watch.live.end_button.click()
    page = watch.screen.page
    assert page is not None
    assert page.ended_at == LIT.replace(hour=20, minute=5)
    assert not watch.live.isVisible()
    watch.desk.edits.undo()
    assert watch.live.isVisible()


def test_what_cannot_be_read_is_said_where_it_was_typed(watch: Watch) -> None:
    watch.type_in("9:00", "80")
    watch.type_in("9:30", "1460")
    assert "is no kiln's temperature" in watch.live.heat.problem()
    watch.type_in("9:30", "90", when="10:00")
    assert "10:00 is still to come" in watch.live.when.problem()
    watch.type_in("9:30", "90", when="8:40")
    assert "08:40 is before the last reading" in watch.live.why_not.sentence()
    watch.type_in("9:30", "")
    assert watch.live.heat.problem() == "Type what the pyrometer shows."
    watch.type_in("9:30", "90", "x" * 130)
    assert "120 at most" in watch.live.note.problem()
    assert watch.heats() == [80]
    watch.type_in("9:31", "91", "lid shut")
    assert watch.heats() == [80, 91]
    assert watch.live.why_not.sentence() == ""


def test_the_page_of_a_running_firing(watch: Watch) -> None:
    # How often to be reminded is kept with the firing.
    watch.live.every.line.setText("30")
    QTest.keyClick(watch.live.every.line, Qt.Key.Key_Return)
    assert watch.screen.page is not None
    assert watch.screen.page.read_every_min == 30
    watch.live.every.line.setText("")
    QTest.keyClick(watch.live.every.line, Qt.Key.Key_Return)
    assert watch.screen.page.read_every_min is None
    watch.live.every.line.setText("3000")
    QTest.keyClick(watch.live.every.line, Qt.Key.Key_Return)
    assert "1440 min or less" in watch.live.every.problem()
    assert watch.screen.page.read_every_min is None

    # In °F it is typed and told in °F.
    watch.desk.settings.temperature_unit = "F"
    watch.type_in("9:00", "167")
    assert watch.heats() == [pytest.approx(75)]
    assert "167 °F at 09:00, 9 °F behind the program" in watch.told()
    assert watch.live.heat.label.text() == "Pyrometer, °F"

    # A reminder that is opened leads to where the reading is typed.
    watch.screen.show_thing(watch.firing, "read by hand")
    QApplication.processEvents()
    assert QApplication.focusWidget() is watch.live.heat.line

    # Its sheet is looked at before it is printed.
    actions = watch.screen.view.menu.actions()
    next(one for one in actions if one.text().startswith("Print a firing")).trigger()
    sheet = next(s for s in watch.screen.findChildren(PaperSheet) if s.isVisible())
    assert "Candled bisque, firing 1" in sheet.view.accessibleName()
    sheet.reject()

    # Nobody ended it: some days later it is over.
    watch.now = LIT + timedelta(days=6)
    watch.screen.mark_stale()
    assert not watch.live.isVisible()
