"""A potter drops a folder of logs: told file by file, described one by one or together, undone."""

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl
from PySide6.QtGui import QDropEvent, QGuiApplication
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.firing_log import find_log, log_from_reading
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.waiting import count_waiting, list_waiting
from studiolog.transfer.temperature_log import LogReading, read_temperature_log
from studiolog.ui.firings.describe_together import DescribeTogether
from studiolog.ui.firings.describe_waiting import (
    DescribeWaiting,
    WaitingLogImport,
    kiln_of_folder,
)
from studiolog.ui.firings.folder_report import FolderReport
from studiolog.ui.firings.logger_folders import LoggerFolders
from studiolog.ui.firings.screen import FiringsScreen
from tests.journal.test_waiting import PHOTOS, csv_of
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen

LOGS = Path(__file__).parents[2] / "transfer" / "logs"
FIRST = datetime(2026, 8, 1, 8)


def day(number: int) -> datetime:
    return FIRST + timedelta(days=2 * number)


@pytest.fixture
def folder(desk: Desk, studio: SmallStudio, tmp_path: Path) -> Path:
    """Twelve files: nine logs, two of them known to the journal already, and a list of photos."""
    made = tmp_path / "from the logger"
    (made / "old").mkdir(parents=True)
    for number in range(1, 9):
        (made / f"log {number}.csv").write_bytes(csv_of(day(number)))
    shutil.copy(LOGS / "02_fahrenheit_unlabelled.csv", made / "old" / "log 9.csv")
    for number, name in ((20, "log 20.csv"), (21, "log 21.csv")):
        content = csv_of(day(number))
        (made / "old" / name).write_bytes(content)
        log = log_from_reading(read_temperature_log(content, name), content)
        draft = FiringDraft(kiln_id=studio.kiln, started_at=day(number), log=log)
        desk.edits.run("Log", lambda s, draft=draft: log_firing(s, draft))
    (made / "photos.csv").write_bytes(PHOTOS)
    return made


def drop(screen: FiringsScreen, path: Path) -> FolderReport:
    held = QMimeData()
    held.setUrls([QUrl.fromLocalFile(str(path))])
    screen.dropEvent(
        QDropEvent(
            QPoint(50, 50),
            Qt.DropAction.CopyAction,
            held,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
    )
    (report,) = [one for one in screen.findChildren(FolderReport) if one.isVisible()]
    return report


def sheet_of(screen: FiringsScreen, kind: type, qtbot: QtBot) -> object:
    found: list[object] = []

    def shown() -> bool:
        found[:] = [one for one in screen.findChildren(kind) if one.isVisible()]
        return len(found) == 1

    qtbot.waitUntil(shown, timeout=8000)
    return found[0]


def test_a_folder_is_told_file_by_file_and_described(
    desk: Desk, studio: SmallStudio, folder: Path, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(FiringsScreen)
    assert not screen.waiting.isVisible()
    report = drop(screen, folder)
    qtbot.waitUntil(lambda: not report.intake.running, timeout=8000)
    outcomes = [(one.path.name, one.outcome) for one in report.told()]
    assert outcomes == [
        *((f"log {number}.csv", "waits") for number in range(1, 9)),
        ("log 9.csv", "asks"), ("log 20.csv", "here"), ("log 21.csv", "here"),
        ("photos.csv", "unread"),
    ]  # fmt: skip
    assert "9 logs of 12 files came in." in report.said.text()
    assert report.counts.text() == (
        "8 wait to be described, 1 waits with a question, 2 were here already, 1 can't be read"
    )
    report.filter.pick("known")
    assert [one.firing for one in report.shown()] == [5, 6]
    report.copy()
    text = QGuiApplication.clipboard().text()
    assert "old/log 20.csv\there already\tThis very file is the log of firing 5." in text
    report.keep()

    # They stand above the list; the three of the first days are described together.
    waiting = screen.waiting
    assert waiting.isVisible()
    assert len(waiting.list.rows()) == 9
    model, selection = waiting.list.model(), waiting.list.selectionModel()
    waiting.list.setCurrentIndex(model.index(0, 0))
    for place in (1, 2):
        selection.select(model.index(place, 0), selection.SelectionFlag.Select)
    assert waiting.describe.text() == "Describe 3 together…"
    waiting.describe.click()
    together = sheet_of(screen, DescribeTogether, qtbot)
    assert isinstance(together, DescribeTogether)
    assert "Firings 7 to 9" in together.said.text()
    assert not together.left.isVisible()
    # Enter keeps what is proposed, and does not give it up.
    assert together.focusWidget() is together.keep_button
    together.kiln.choose(studio.kiln)
    together.program.choose(studio.glaze_six)
    together.keep()
    qtbot.waitUntil(lambda: desk.read(count_waiting) == (6, 0), timeout=8000)
    assert screen.table.model.total == 9

    # One is described by itself: Enter, the sheet is filled, Enter.
    waiting.list.setCurrentIndex(model.index(0, 0))
    QTest.keyClick(waiting.list, Qt.Key.Key_Return)
    sheet = sheet_of(screen, DescribeWaiting, qtbot)
    assert isinstance(sheet, DescribeWaiting)
    assert sheet.start_day.day() == day(4).date()
    assert sheet.number.value() == 10
    sheet.kiln.choose(studio.kiln)
    sheet.keep()
    assert screen.page is not None
    assert screen.page.number == 10
    assert desk.read(lambda s: find_log(s, read_log(folder / "log 4.csv").sha256)) == 10

    # All of it is undone, the taking in too.
    while desk.edits.undo_label() != "Log":
        desk.edits.undo()
    assert desk.read(count_waiting) == (0, 0)
    screen.show_thing(0)
    assert not waiting.isVisible()


def read_log(path: Path) -> LogReading:
    return read_temperature_log(path.read_bytes(), path.name)


def test_stopped_in_the_middle_what_came_in_stays(
    desk: Desk, tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("studiolog.desktop.log_intake._AT_ONCE", 3)
    for number in range(1, 9):
        (tmp_path / f"log {number}.csv").write_bytes(csv_of(day(number), rows=30))
    report = FolderReport(desk, sorted(tmp_path.glob("*.csv")))
    qtbot.addWidget(report)
    report.intake.told.connect(lambda _told: report.stop())
    report.open()
    report.begin()
    qtbot.waitUntil(lambda: not report.intake.running, timeout=8000)
    assert report.said.text().startswith("Stopped after 3 of 8 files. 3 logs came in")
    assert [line.name for line in desk.read(list_waiting)] == [
        "log 1.csv", "log 2.csv", "log 3.csv",
    ]  # fmt: skip
    report.keep()


def test_open_questions_are_answered_before_the_firing(
    desk: Desk, studio: SmallStudio, folder: Path, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(FiringsScreen)
    report = drop(screen, folder / "old" / "log 9.csv")
    qtbot.waitUntil(lambda: not report.intake.running, timeout=8000)
    report.keep()
    (line,) = screen.waiting.list.rows()
    screen.waiting_work.describe([line.waiting_id])
    asked = sheet_of(screen, WaitingLogImport, qtbot)
    assert isinstance(asked, WaitingLogImport)
    qtbot.waitUntil(lambda: not desk.jobs.is_running("read a log"), timeout=8000)
    assert asked.open_questions() == ["unit"]
    assert not asked.keep_button.isEnabled()
    asked.question("unit").pick("F")
    qtbot.waitUntil(lambda: not desk.jobs.is_running("read a log"), timeout=8000)
    asked.keep()
    sheet = sheet_of(screen, DescribeWaiting, qtbot)
    assert isinstance(sheet, DescribeWaiting)
    # Without a date in the file the start is told from when it was written.
    sheet.kiln.choose(studio.kiln)
    sheet.start_day.set_day(day(30).date())
    sheet.start_time.set_text("08:00")
    sheet.end_day.set_day(None)
    sheet.end_time.set_text("")
    sheet.keep()
    assert screen.page is not None
    assert screen.page.started_at == day(30)
    assert max(screen.view.plot.firing.curve_c) == pytest.approx(1221.7, abs=0.1)


def test_a_log_of_a_firing_without_one_is_offered_to_it(
    desk: Desk, studio: SmallStudio, folder: Path, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    empty = FiringDraft(kiln_id=studio.kiln, started_at=day(1) + timedelta(hours=1))
    firing_id = desk.edits.run("Log", lambda s: log_firing(s, empty))
    screen = open_screen(FiringsScreen)
    report = drop(screen, folder / "log 1.csv")
    qtbot.waitUntil(lambda: not report.intake.running, timeout=8000)
    report.keep()
    screen.show_thing(screen.waiting.list.rows()[0].waiting_id, "describe waiting")
    sheet = sheet_of(screen, DescribeWaiting, qtbot)
    assert isinstance(sheet, DescribeWaiting)
    (offer,) = sheet.offers
    offer.click()  # type: ignore[attr-defined]
    assert screen.page is not None
    assert screen.page.firing_id == firing_id
    assert desk.read(count_waiting) == (0, 0)

    # The folder it came from is that of a kiln's logger: named once, for this desk.
    screen.show_thing(0, "logger folders")
    folders = sheet_of(screen, LoggerFolders, qtbot)
    assert isinstance(folders, LoggerFolders)
    field = folders.fields[studio.kiln]
    field.line.setText("/nowhere/at all")
    field.line.editingFinished.emit()
    assert "can't be reached" in field.problem()
    field.set_text(str(folder))
    folders.keep()
    assert desk.settings.logger_folders(desk.journal.where) == {studio.kiln: str(folder)}
    assert kiln_of_folder(desk, str(folder / "old")) == studio.kiln
