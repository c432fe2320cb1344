"""A run from an empty journal to packed, with keys alone and two lost on the way."""

import sys
from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QDialog
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.bench_rows import LostLot
from studiolog.journal.run_page import read_run_page
from studiolog.ui.bench.screen import BenchScreen
from studiolog.ui.bench.sheets import StartRunSheet
from studiolog.ui.frame.window import Window
from tests.flows.hands import SHIFT, Keys

Key = Qt.Key
MOST_PRESSES = 30
"""Keys but letters; it was 26 when this was written."""


@pytest.fixture
def window(desk: Desk, qtbot: QtBot) -> Iterator[Window]:
    made = Window(desk)
    qtbot.addWidget(made)
    made.resize(1440, 900)
    made.show()
    made.show_tab(0)
    with qtbot.waitActive(made):
        made.activateWindow()
    yield made
    desk.jobs.wait()
    for sheet in made.findChildren(QDialog):
        sheet.close()


def in_the_sheet(field: str) -> bool:
    """Whether a field of the sheet that starts a run has the keyboard."""
    here = QApplication.focusWidget()
    return (
        here is not None
        and isinstance(here.window(), StartRunSheet)
        and here.accessibleName() == field
    )


def test_twelve_mugs_are_packed_by_keys_alone(window: Window, desk: Desk, qtbot: QtBot) -> None:
    keys = Keys()
    bench = window.screen_of("bench")
    assert isinstance(bench, BenchScreen)
    bench.setFocus()
    with keys.step("start a run of twelve"):
        keys.press(Key.Key_N)
        qtbot.waitUntil(lambda: in_the_sheet("Title, if the form's name is not enough"))
        keys.type("Mugs")
        keys.press(Key.Key_Tab)
        keys.type("12")
        keys.press(Key.Key_Return)
        # Without a window manager nobody gives the window its turn back.
        window.activateWindow()
        qtbot.waitUntil(bench.list.hasFocus)
    with keys.step("all leather-hard"):
        keys.press(Key.Key_BracketRight, with_=SHIFT)
    with keys.step("five trimmed, another split"):
        keys.press(Key.Key_Slash)
        keys.type("1: 5 trimmed in 40 min, another split")
        assert bench.line.reading.leaves == ("11 leather-hard left", "6 not yet trimmed")
        keys.press(Key.Key_Return)
        keys.type("1 trimmed, 4 handled, wrapped")
        keys.press(Key.Key_Return, Key.Key_Escape)
    with keys.step("four bone dry, then the rest"):
        keys.press(Key.Key_4, Key.Key_BracketRight, Key.Key_A, Key.Key_BracketRight)
    with keys.step("bisque, one lost by its foot"):
        keys.press(Key.Key_A, Key.Key_BracketRight, Key.Key_X)
        keys.type("foot cracked")
        keys.press(Key.Key_Return, Key.Key_Escape)
    with keys.step("glazed and fired"):
        keys.press(Key.Key_A, Key.Key_BracketRight, Key.Key_A, Key.Key_BracketRight)
    with keys.step("look what waits for packing"):
        keys.press(Key.Key_F, Key.Key_1, Key.Key_Down)
        assert bench.board.filter.chosen == "packing"
    with keys.step("finished and packed"):
        keys.press(Key.Key_Slash)
        keys.type("1 all finished, packed 10 in 30 min")
        keys.press(Key.Key_Return)
    page = desk.read(lambda session: read_run_page(session, 1))
    assert page is not None
    assert page.row.counts == {"finished": 10, "lost": 2}
    assert page.row.losses == (
        LostLot("leather_hard", "split", 1),
        LostLot("bisque", "foot cracked", 1),
    )
    sums = {one.name: (one.pieces, one.each) for one in page.sums}
    assert sums["packed"] == (10, 3.0)
    assert sums["trimmed"][0] == 11
    sys.stdout.write(f"{keys.table()}\n")
    assert keys.acts <= MOST_PRESSES
    # And all of it undone, line by line, to the empty journal.
    while desk.edits.undo_label():
        desk.edits.undo()
    assert bench.page is not None
    assert bench.page.runs_ever == 0
