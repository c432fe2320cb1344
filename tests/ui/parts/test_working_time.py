"""Working time on the screen: how many at once, how a run stands, what to do before leaving."""

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot
from sqlalchemy.orm import Session

from studiolog.desktop.desk import Desk
from studiolog.journal.before_leaving import read_before_leaving
from studiolog.journal.covers import cover_run, read_covers
from studiolog.journal.form_steps import MakingStep
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.runs import add_pieces, move_pieces
from studiolog.ui.bench.leaving_section import LeavingSection
from studiolog.ui.bench.screen import BenchScreen
from studiolog.ui.forms.working_time_section import WorkingTimeSection
from studiolog.ui.parts.cover_section import CoverSection
from studiolog.ui.parts.how_many_sheet import HowManySheet
from studiolog.ui.parts.text import Text
from tests.ui.conftest import OpenScreen

MONDAY = datetime(2026, 11, 9, 9)
MUG = (
    MakingStep("thrown", 9, "wet"),
    MakingStep("trimmed", 6, "leather_hard"),
    MakingStep("panels pressed", 64, "leather_hard"),
)
BOWL = (MakingStep("thrown", 8, "wet"), MakingStep("trimmed", 7, "leather_hard"))


@pytest.fixture
def forms(desk: Desk) -> dict[str, int]:
    def enter(session: Session) -> dict[str, int]:
        return {
            name: add_form(session, FormDraft(name=name, steps=steps))
            for name, steps in (("Panel mug", MUG), ("Soup bowl", BOWL), ("Bare form", ()))
        }

    return desk.journal.edit("Forms", enter).value


@pytest.fixture
def bowls(desk: Desk, forms: dict[str, int]) -> int:
    """Twelve bowls, leather-hard in the open since Tuesday at nine."""

    def enter(session: Session) -> int:
        run_id = log_run(session, RunDraft(made_on=MONDAY.date(), form_id=forms["Soup bowl"]))
        add_pieces(session, run_id, 12, MONDAY)
        cover_run(session, run_id, "open", MONDAY)
        tuesday = MONDAY + timedelta(days=1)
        move_pieces(session, run_id, "wet", "leather_hard", 12, tuesday)
        return run_id

    return desk.journal.edit("Bowls", enter).value


@pytest.fixture
def window(desk: Desk, qtbot: QtBot) -> Iterator[QWidget]:
    under = QWidget()
    under.resize(1200, 800)
    qtbot.addWidget(under)
    under.show()
    yield under
    desk.jobs.wait()


def lines(part: QWidget) -> str:
    return part.accessibleName()


def test_a_handful_of_a_slow_form_and_what_would_change_it(
    desk: Desk, forms: dict[str, int], window: QWidget
) -> None:
    sheet = HowManySheet(desk, forms["Panel mug"], window)
    assert sheet.at_once.accessibleName().startswith("At once: 5")
    assert "“panels pressed” takes longest" in sheet.binding.text()
    assert "trimmed 6\u202fmin + panels pressed 1\u202fh 04\u202fmin" in lines(sheet.sum)
    assert "too late" in lines(sheet.sum)
    assert "open: 3" in lines(sheet.covers)
    assert "with one more at the bench: 10" in lines(sheet.changes)
    sheet.cover.choose("open")
    sheet.refresh()
    assert sheet.at_once.accessibleName().startswith("At once: 3")
    sheet.hands.line.setText("2")
    assert not sheet.at_once.accessibleName().startswith("At once: 3")
    sheet.hands.line.setText("")
    sheet.beside.choose(forms["Soup bowl"])
    sheet.refresh()
    assert "of each" in sheet.at_once.accessibleName()
    assert not sheet.keep_button.isEnabled()  # a run is of one form


def test_what_can_not_be_told_is_said_and_nothing_shown(
    desk: Desk, forms: dict[str, int], window: QWidget
) -> None:
    sheet = HowManySheet(desk, forms["Bare form"], window)
    assert sheet.why_not.sentence().startswith("No steps are given")
    assert not sheet.keep_button.isEnabled()
    sheet.form.choose(forms["Soup bowl"])
    sheet.hours.line.setText("0")
    assert "0.5 h or more" in sheet.why_not.sentence()
    sheet.hours.line.setText("8")
    assert sheet.at_once.accessibleName().startswith("At once: 60")
    asked: list[object] = []
    sheet.start_asked.connect(asked.append)
    sheet.keep()
    assert asked == [{"form_id": forms["Soup bowl"], "how_many": 60}]


def test_the_page_of_a_form_has_its_working_time(
    desk: Desk, forms: dict[str, int], window: QWidget, qtbot: QtBot
) -> None:
    section = WorkingTimeSection(desk, window)
    section.show_form(forms["Panel mug"])
    qtbot.waitUntil(lambda: section.at_once.accessibleName().endswith(": 5"), timeout=5000)
    assert section.quiet.text() == "common practice, no run of yours yet"
    section.show_form(forms["Bare form"])
    qtbot.waitUntil(lambda: section.problem.text().startswith("No steps"), timeout=5000)


def test_how_a_run_stands_is_said_and_taken_out_again(
    desk: Desk, bowls: int, window: QWidget
) -> None:
    section = CoverSection(desk, window)
    section.show_run(bowls, 1, MONDAY + timedelta(days=1))
    assert section.now.text().startswith("In the open, since Mon")
    section.cover.choose("loose")
    section.note.set_text("for the night")
    section.keep()
    changes = desk.read(lambda session: read_covers(session, [bowls]))[bowls]
    assert [(one.cover, one.note) for one in changes] == [("open", ""), ("loose", "for the night")]
    section.show_run(bowls, 1, datetime.now())
    assert section.now.text().startswith("Loosely in plastic, since ")
    out = next(b for b in section.findChildren(QPushButton)
               if "for the night" in b.accessibleName())  # fmt: skip
    out.click()
    assert len(desk.read(lambda session: read_covers(session, [bowls]))[bowls]) == 1


def test_what_is_wrapped_before_leaving_is_noted_and_can_be_undone(
    desk: Desk, bowls: int, window: QWidget
) -> None:
    section = LeavingSection(desk, window)
    now = datetime(2026, 11, 10, 14, 20)

    def show() -> str:
        section.show_page(desk.read(lambda session: read_before_leaving(session, now)))
        return " ".join(text.text() for text in section.findChildren(Text) if not text.isHidden())

    told = show()
    assert "Soup bowl now" in told  # one in ten is too stiff already
    assert "Trim 5, then put the other 7 in a damp box" in told
    assert "min of work, common practice, no run of yours yet" in told
    done = next(b for b in section.findChildren(QPushButton) if "stands" in b.accessibleName())
    done.click()
    changes = desk.read(lambda session: read_covers(session, [bowls]))[bowls]
    assert changes[-1].cover == "damp_box"
    desk.edits.undo()
    assert len(desk.read(lambda session: read_covers(session, [bowls]))[bowls]) == 1


def test_h_at_the_bench_asks_how_many(desk: Desk, bowls: int, open_screen: OpenScreen) -> None:
    bench = open_screen(BenchScreen)
    QTest.keyClick(bench.list, Qt.Key.Key_H)
    sheet = next(one for one in bench.findChildren(HowManySheet) if one.isVisible())
    assert sheet.at_once.accessibleName().startswith("At once: ")
    sheet.reject()
