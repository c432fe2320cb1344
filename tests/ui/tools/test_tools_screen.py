"""The tools screen: a stamp in sizes, with what it was used on."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from studiolog.desktop.desk import Desk
from studiolog.journal.tool_page import ToolPage, read_tool_page
from studiolog.journal.tools import list_tools
from studiolog.ui.tools.screen import ToolsScreen
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(studio: SmallStudio, open_screen: OpenScreen) -> ToolsScreen:
    made = open_screen(ToolsScreen)
    made.add_named("Wave stamp")
    return made


def shown(screen: ToolsScreen) -> ToolPage:
    page = screen.desk.read(lambda session: read_tool_page(session, screen.view.ident))
    assert page is not None
    return page


def test_its_sizes_tell_how_much_it_shrank(screen: ToolsScreen) -> None:
    grid = screen.view.sizes.grid
    for row, (stage, across) in enumerate((("wet", "46"), ("fired", "40"))):
        grid.type_cell(row, 0, stage)
        grid.type_cell(row, 1, across)
    assert shown(screen).shrunk == pytest.approx(6 / 46)
    assert screen.view.sizes.quiet.text() == "shrank 13.0\u202f%"
    grid.type_cell(2, 0, "glossy")
    assert "Size 3: the stage is one of wet, leather-hard" in grid.problem()
    grid.type_cell(2, 0, "wet")
    assert "two sizes for wet" in grid.problem()
    assert len(shown(screen).sizes) == 2


def test_what_it_was_used_on_is_added_by_number_and_taken_away(
    desk: Desk, studio: SmallStudio, screen: ToolsScreen
) -> None:
    uses = screen.view.uses
    QTest.keyClick(screen, Qt.Key.Key_U)
    assert uses.line.line.hasFocus()
    for said in ("3", "run 1"):
        uses.line.line.setText(said)
        QTest.keyClick(uses.line.line, Qt.Key.Key_Return)
    assert [(use.kind, use.number) for use in shown(screen).uses] == [("run", 1), ("piece", 3)]
    assert uses.quiet.text() == "1 run, 1 piece"
    uses.line.line.setText("run 99")
    uses.keep()
    assert uses.line.problem() == "There is no run 99."
    uses._drop(shown(screen).uses[0].use_id, "run 1")
    assert len(shown(screen).uses) == 1
    screen.delete_shown()
    assert "can't be deleted" in screen.page.head.problem.sentence()


def test_another_size_is_a_piece_of_its_own_and_a_broken_one_is_put_aside(
    desk: Desk, screen: ToolsScreen
) -> None:
    QTest.keyClick(screen, Qt.Key.Key_S)
    first, second = desk.read(list_tools)
    assert (first.title, first.number + 1) == (second.title, second.number)
    assert [mark.tool_id for mark in shown(screen).sisters] == [first.tool_id]
    screen.toggle_archived()
    assert len(screen.side.rows()) == 1, "a broken one is shown only if it is asked for"
    assert screen.view.head.archive.text() == "It turned up"
    screen.toggle_archived()
    assert len(screen.side.rows()) == 2
