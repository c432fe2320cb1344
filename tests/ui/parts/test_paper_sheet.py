"""A page is looked at before it is printed: chosen by keyboard, saved, and said what it is."""

from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtPrintSupport import QPrinterInfo
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.ui.firings.firing_sheet import FiringSheet
from studiolog.ui.firings.screen import FiringsScreen
from studiolog.ui.parts.firing_paper import open_sheet_of_program
from studiolog.ui.parts.paper_sheet import PaperSheet, file_stem
from studiolog.ui.programs.screen import ProgramsScreen
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def sheet(desk: Desk, studio: SmallStudio, qtbot: QtBot) -> Iterator[PaperSheet]:
    desk.edits.run("Add", lambda session: add_kiln(session, KilnDraft(name="Test kiln")))
    desk.settings.paper_name = "A4"
    under = QWidget()
    qtbot.addWidget(under)
    under.resize(1280, 800)
    under.show()
    made = open_sheet_of_program(desk, studio.glaze_six, under)
    with qtbot.waitActive(made):
        made.activateWindow()
    yield made
    under.close()


def words(sheet: PaperSheet) -> str:
    page = sheet.view.page
    assert page is not None
    return " ".join(page.words)


def test_a_sheet_is_chosen_and_saved(
    sheet: PaperSheet, desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    view = sheet.view
    assert "Firing sheet, Cone 6 slow cool, Big kiln" in view.accessibleName()
    assert "left to cool" in view.accessibleDescription()
    sheet.paper.setFocus()
    QTest.keyClick(sheet.paper, Qt.Key.Key_2)
    assert view.page is not None
    assert view.page.size.name == "US Letter"
    assert desk.settings.paper_name == "US Letter"  # for the next time

    kiln = sheet.findChildren(QWidget, "", Qt.FindChildOption.FindDirectChildrenOnly)
    kiln_field = next(one for one in kiln if one.accessibleName() == "Kiln")
    kiln_field.choose(2)  # type: ignore[attr-defined]
    kiln_field.picked.emit(2)  # type: ignore[attr-defined]
    assert "Test kiln" in words(sheet)

    # As wide as fits it is scrolled by keys.
    QTest.keyClick(sheet.shown, Qt.Key.Key_2)
    QApplication.processEvents()
    bar = sheet.reel.verticalScrollBar()
    assert bar.maximum() > 0
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_End)
    assert bar.value() == bar.maximum()
    QTest.keyClick(view, Qt.Key.Key_Up)
    assert bar.value() < bar.maximum()

    asked: list[str] = []

    def name_it(_parent: QWidget, _title: str, name: str, _kinds: str) -> tuple[str, str]:
        asked.append(name)
        return str(tmp_path / name), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", name_it)
    sheet.pdf_button.setFocus()
    QTest.keyClick(sheet.pdf_button, Qt.Key.Key_Return)
    sheet.html_button.click()
    assert asked[0] == "Firing sheet, Cone 6 slow cool.pdf"
    (page,) = pypdf.PdfReader(tmp_path / asked[0]).pages
    assert "Test" in page.extract_text()
    assert "Test kiln" in (tmp_path / asked[1]).read_text(encoding="utf-8")
    assert not sheet.save(tmp_path / "nowhere" / "sheet.pdf")
    assert "could not be written" in sheet.why_not.sentence()


def test_without_a_printer_a_pdf_is_offered(
    sheet: PaperSheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QPrinterInfo, "availablePrinterNames", list)
    assert QApplication.focusWidget() is sheet.print_button
    QTest.keyClick(sheet.print_button, Qt.Key.Key_Return)
    assert "No printer is set up" in sheet.why_not.sentence()
    assert QApplication.focusWidget() is sheet.pdf_button
    QTest.keyClick(sheet, Qt.Key.Key_Escape)
    assert not sheet.isVisible()


def test_a_title_becomes_a_name_every_system_takes() -> None:
    assert file_stem('Firing sheet, "6" <slow>: top/bottom?') == "Firing sheet, 6 slow top bottom"
    assert file_stem("///") == "page"
    assert len(file_stem("x" * 300)) == 80


def test_a_program_is_fired_now_from_its_page(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    programs = open_screen(ProgramsScreen)
    programs.show_thing(studio.bisque)
    asked: list[tuple[str, int, object]] = []
    desk.asked_for.connect(lambda *what: asked.append(what))
    programs.page.fire_button.click()  # type: ignore[attr-defined]
    assert asked == [("firings", 0, ("log firing", studio.bisque))]
    qtbot.waitUntil(programs.isActiveWindow)
    programs.page.head.name.setFocus()
    QTest.keyClick(programs.page.head.name, Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier)
    printed = next(one for one in programs.findChildren(PaperSheet) if one.isVisible())
    printed.reject()
    firings = open_screen(FiringsScreen)
    firings.show_thing(0, asked[0][2])
    QApplication.processEvents()
    sheet = next(one for one in firings.findChildren(FiringSheet) if one.isVisible())
    assert sheet.program.chosen() == studio.bisque
    assert (sheet.kind.chosen(), sheet.cone.text()) == ("bisque", "04")
    sheet.keep()
    # It was started a moment ago: it is read by hand at once.
    assert firings.page is not None
    assert firings.page.program_id == studio.bisque
    assert firings.view.live.isVisible()
