"""The clays screen: properties kept as they are typed, with problems at their fields."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.clay_page import ClayPage, read_clay_page
from studiolog.ui.clays.clay_view import ClayView
from studiolog.ui.clays.screen import ClaysScreen
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.text import Text
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(studio: SmallStudio, open_screen: OpenScreen) -> ClaysScreen:
    return open_screen(ClaysScreen)


def view_of(screen: ClaysScreen) -> ClayView:
    assert isinstance(screen.page, ClayView)
    return screen.page


def page_of(desk: Desk, clay_id: int) -> ClayPage:
    page = desk.read(lambda session: read_clay_page(session, clay_id))
    assert page is not None
    return page


def type_into(field: NumberField, text: str) -> None:
    field.line.setText(text)
    field.line.setModified(True)
    QTest.keyClick(field.line, Qt.Key.Key_Return)


def test_shrinkage_is_kept_when_typed_and_an_impossible_one_is_said_there(
    desk: Desk, studio: SmallStudio, screen: ClaysScreen
) -> None:
    field = view_of(screen).sheet.field("shrinkage_percent")
    assert isinstance(field, NumberField)
    type_into(field, "12,8")
    assert page_of(desk, studio.buff).shrinkage_percent == 12.8
    type_into(field, "80")
    assert "59.9" in field.problem()
    assert page_of(desk, studio.buff).shrinkage_percent == 12.8
    desk.edits.undo()
    assert field.text() == "12.5", "undo is shown at once"


def test_a_new_name_is_typed_where_it_stands(
    desk: Desk, studio: SmallStudio, screen: ClaysScreen
) -> None:
    name = screen.page.head.name
    name.edit()
    QTest.keyClicks(name._line, "Buff 2")
    QTest.keyClick(name._line, Qt.Key.Key_Return)
    assert page_of(desk, studio.buff).name == "Buff 2"
    assert screen.side.rows()[0].title == "Buff 2"


def test_a_taken_name_is_refused_and_the_old_one_shown_again(screen: ClaysScreen) -> None:
    assert not screen.page.keep("name", "iron-red stoneware")
    assert "clay named iron-red stoneware already" in screen.page.head.problem.sentence()


def test_a_mark_asks_the_frame_for_its_piece(
    desk: Desk, studio: SmallStudio, screen: ClaysScreen, qtbot: QtBot
) -> None:
    marks = [mark for mark in view_of(screen).uses.findChildren(NumberMark) if mark.isVisible()]
    assert [mark.text for mark in marks[:2]] == ["23", "21"]
    with qtbot.waitSignal(desk.asked_for) as asked:
        marks[0].open()
    assert asked.args[:2] == ["piece", studio.pieces[22]]
    with qtbot.waitSignal(desk.asked_for) as asked:
        marks[-1].open()
    assert asked.args[0] == "run"


def test_what_was_not_inspected_is_never_drawn_as_sound(screen: ClaysScreen) -> None:
    texts = [
        label.text() for label in view_of(screen).bands.findChildren(Text) if label.isVisible()
    ]
    assert "no cone known" in texts
    assert "not looked" in texts


def test_an_edit_elsewhere_is_shown_here(
    desk: Desk, studio: SmallStudio, screen: ClaysScreen
) -> None:
    from studiolog.journal.clays import change_clay

    desk.edits.run("Note", lambda session: change_clay(session, studio.buff, notes="batch 9"))
    assert view_of(screen).note.text() == "batch 9"
