"""The sheet on which versions stand side by side, worked from the keyboard."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from studiolog.desktop.desk import Desk
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, add_version, change_glaze
from studiolog.journal.session import Session
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.glazes.version_compare_sheet import VersionCompareSheet
from tests.ui.conftest import OpenScreen


def recipe(feldspar: float, silica: float) -> tuple[RecipePart, ...]:
    return (
        RecipePart("Potash feldspar", feldspar),
        RecipePart("Silica", silica),
        RecipePart("Whiting", 20),
    )


@pytest.fixture
def screen(desk: Desk, open_screen: OpenScreen) -> GlazesScreen:
    def enter(session: Session) -> int:
        first = add_glaze(session, GlazeDraft(name="Chalk", recipe=recipe(50, 30)))
        second = add_version(session, first, recipe(46, 34))
        add_glaze(session, GlazeDraft(name="Kelp", recipe=recipe(38, 40)))
        return add_version(session, second, recipe(42, 38))

    desk.edits.run("Three versions", enter)
    return open_screen(GlazesScreen)


def sheet_of(screen: GlazesScreen) -> VersionCompareSheet:
    (sheet,) = [one for one in screen.findChildren(VersionCompareSheet) if one.isVisible()]
    return sheet


def test_one_key_sets_the_versions_side_by_side(screen: GlazesScreen) -> None:
    screen.show_thing(4)
    QTest.keyClick(screen.side.list, Qt.Key.Key_V)
    sheet = sheet_of(screen)
    assert sheet.windowTitle() == "Versions of Chalk"
    assert [box.isChecked() for box in sheet.boxes.values()] == [True, True, True]
    assert len(sheet.sentences()) == 2
    assert sheet.sentences()[0].startswith("Version 2 against version 1: ")
    assert "+4 Silica" in sheet.sentences()[0]

    table = sheet.table
    assert sheet.focusWidget() is table
    changed = table.item(2, 2)
    assert changed is not None
    assert changed.text() == "34 (+4)"
    assert changed.font().bold(), "and not by its weight alone: the step is written out"
    spoken = changed.data(Qt.ItemDataRole.AccessibleTextRole)
    assert spoken == "Silica, Chalk, version 2: 34 (+4)"

    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert "Recipe: Silica\t30\t34 (+4)\t38 (+4)" in QApplication.clipboard().text()

    second = list(sheet.boxes.values())[1]
    second.setFocus()
    QTest.keyClick(second, Qt.Key.Key_Space)
    assert len(sheet.sentences()) == 1
    assert sheet.sentences()[0].startswith("Version 3 against version 1: ")

    table.setFocus()
    table.setCurrentCell(1, 1)
    QTest.keyClick(table, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert not screen.findChildren(VersionCompareSheet)
    assert isinstance(screen.page, GlazeView)
    assert screen.page.ident == 1


def test_one_version_alone_asks_for_another_and_edits_are_seen(
    screen: GlazesScreen, desk: Desk
) -> None:
    assert isinstance(screen.page, GlazeView)
    screen.page.versions.compare()
    sheet = sheet_of(screen)
    desk.edits.run("Rename", lambda session: change_glaze(session, 1, name="Shell"))
    assert sheet.windowTitle() == "Versions of Shell"
    for box in list(sheet.boxes.values())[1:]:
        box.click()
    assert sheet.sentences() == ["Tick another version or name another glaze to compare it with."]
    QTest.keyClick(sheet, Qt.Key.Key_Escape)
    assert not sheet.isVisible()


def test_another_glaze_is_fetched_beside_the_only_version(screen: GlazesScreen) -> None:
    screen.show_thing(3)
    QTest.keyClick(screen.side.list, Qt.Key.Key_V)
    sheet = sheet_of(screen)
    assert sheet.windowTitle() == "Versions of Kelp"
    sheet.other.setFocus()
    QTest.keyClicks(sheet.other.lineEdit(), "chalk, version 3")
    QTest.keyClick(sheet.other.lineEdit(), Qt.Key.Key_Return)
    QApplication.processEvents()
    assert sheet.windowTitle() == "Glazes side by side"
    assert sheet.sentences()[0].startswith("Chalk, version 3 against Kelp: +4 Potash feldspar")
    assert [box.text() for box in sheet.boxes.values()] == ["Version 1", "Chalk, version 3"]
