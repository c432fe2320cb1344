"""The window: tabs, find, undo, notices, and that every control has a name."""

from collections.abc import Iterator
from functools import partial

import pytest
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTabBar,
    QTextEdit,
    QWidget,
)
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.clays import ClayDraft, add_clay, list_clays
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.studio import name_studio
from studiolog.ui.frame.history_sheet import HistorySheet
from studiolog.ui.frame.keys_sheet import KeysSheet
from studiolog.ui.frame.places import PLACES, TABS
from studiolog.ui.frame.settings_sheet import SettingsSheet
from studiolog.ui.frame.start_sheet import StartSheet
from studiolog.ui.frame.window import Window
from tests.journal.conftest import enter_studio

CONTROLS = (
    QAbstractButton,
    QLineEdit,
    QTextEdit,
    QPlainTextEdit,
    QAbstractItemView,
    QComboBox,
    QAbstractSpinBox,
    QTabBar,
)


@pytest.fixture
def window(desk: Desk, qtbot: QtBot) -> Iterator[Window]:
    made = Window(desk)
    qtbot.addWidget(made)
    made.resize(1280, 800)
    made.show()
    made.show_tab(0)
    with qtbot.waitActive(made):
        made.activateWindow()
    yield made
    desk.jobs.wait()


def unnamed(root: QWidget) -> list[str]:
    """Controls that can be used and say nothing to a screen reader."""
    found = []
    for control in root.findChildren(QWidget):
        if not isinstance(control, CONTROLS) or not control.isVisibleTo(root):
            continue
        if control.objectName().startswith("qt_") or isinstance(control.parent(), CONTROLS):
            continue  # the inner parts of Qt's own controls speak through their owner
        text = control.text() if isinstance(control, QAbstractButton) else ""
        if not (control.accessibleName() or text):
            found.append(f"{type(control).__name__} in {type(control.parent()).__name__}")
    return found


@pytest.mark.parametrize("key", PLACES)
def test_every_screen_of_an_empty_journal_says_what_it_is_for(window: Window, key: str) -> None:
    screen = window.show_place(key)
    assert screen.isVisible()
    assert unnamed(window) == []
    words = [w.accessibleName() for w in screen.findChildren(QWidget) if w.isVisibleTo(screen)]
    assert any(len(word) > 12 for word in words), "an empty screen offers the first step"


def test_the_six_tabs_answer_to_their_keys(window: Window) -> None:
    for number, tab in enumerate(TABS, start=1):
        QTest.keyClick(
            window, getattr(Qt.Key, f"Key_{number}"), Qt.KeyboardModifier.ControlModifier
        )
        assert window.top.tabs.currentIndex() == number - 1
        assert window.stack.currentWidget() is window.screen_of(tab.places[0].key)


def test_no_tab_loses_letters_whichever_is_chosen(window: Window) -> None:
    """The chosen tab is set heavier, so each choice is another width."""
    bar = window.findChild(QTabBar)
    assert bar is not None
    for key in ("bench", "findings", "programs"):
        window.show_place(key)
        QCoreApplication.processEvents()
        assert bar.width() >= bar.sizeHint().width()


def test_the_numbers_beside_glazes_clays_and_kilns_are_keys(window: Window) -> None:
    glazes = window.show_place("glazes")
    QTest.keyClick(glazes, Qt.Key.Key_6)
    assert window.stack.currentWidget() is window.screen_of("kilns")
    assert ["1–7"] in [keys for keys, _does in window.current_hints()]
    assert window.focusWidget() is not None
    assert window.screen_of("kilns").isAncestorOf(window.focusWidget())
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_4)
    assert window.stack.currentWidget() is window.screen_of("clays")


def test_the_first_window_fits_its_screen(window: Window) -> None:
    window.desk.settings.window_geometry = None
    window.restore_place()
    room = window.screen().availableGeometry()
    assert window.height() <= max(room.height() - 40, window.minimumHeight())
    assert window.width() <= max(room.width(), window.minimumWidth())


def test_a_piece_is_found_by_its_number(window: Window, desk: Desk) -> None:
    desk.edits.run("Log", partial(log_piece, draft=PieceDraft(number=412, title="Ripple tumbler")))
    QTest.keyClick(window, Qt.Key.Key_K, Qt.KeyboardModifier.ControlModifier)
    box = window.top.find_box
    assert box.hasFocus()
    QTest.keyClicks(box, "412")
    assert [(found.kind, found.number) for found in box.answers()] == [("piece", 412)]
    QTest.keyClick(box, Qt.Key.Key_Return)
    assert window.stack.currentWidget() is window.screen_of("pieces")


def test_digits_that_are_no_number_bring_nothing_down(window: Window) -> None:
    for words in ("²", "9" * 5000):
        window.top.find_box.setText("")
        QTest.keyClicks(window.top.find_box, words[:1])
        window.top.find_box.textEdited.emit(words)
        assert window.top.find_box.answers() == []


def test_a_name_with_a_per_cent_sign_is_taken_as_it_is(window: Window, desk: Desk) -> None:
    desk.edits.run("Add", partial(add_clay, draft=ClayDraft(name="Grog 40 %")))
    desk.edits.run("Add", partial(add_clay, draft=ClayDraft(name="Grog 4000")))
    QTest.keyClicks(window.top.find_box, "40 %")
    assert [found.title for found in window.top.find_box.answers()] == ["Grog 40 %"]


def test_undo_and_redo_from_the_menu_say_what_they_did(window: Window, desk: Desk) -> None:
    assert not window.actions_by_key["undo"].isEnabled()
    desk.edits.run("Add Buff", partial(add_clay, draft=ClayDraft(name="Buff")))
    assert window.actions_by_key["undo"].text() == "Undo “Add Buff”"
    QTest.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.read(list_clays) == []
    assert window.notice.sentence() == "Undone: Add Buff"
    QTest.keyClick(window, Qt.Key.Key_Y, Qt.KeyboardModifier.ControlModifier)
    assert [clay.name for clay in desk.read(list_clays)] == ["Buff"]


def test_a_refusal_is_said_where_it_happens(window: Window, desk: Desk) -> None:
    desk.edits.run("Add", partial(add_clay, draft=ClayDraft(name="Buff")))
    kept = desk.edits.try_run("Add", partial(add_clay, draft=ClayDraft(name="buff")))
    assert not kept
    assert "already" in window.notice.sentence()


def test_the_studio_names_the_window(window: Window, desk: Desk) -> None:
    desk.edits.run("Name", partial(name_studio, name="Tern Yard"))
    window.show_place("pieces")
    assert window.windowTitle() == "Pieces · Tern Yard"


def test_every_control_of_a_filled_journal_has_a_name(window: Window, desk: Desk) -> None:
    studio = enter_studio(desk.journal)
    draft = PieceDraft(clay_id=studio.buff, form_id=studio.tumbler, stage="fired")
    piece_id = desk.edits.run("Log", partial(log_piece, draft=draft))
    for noun, row_id in {
        "piece": piece_id,
        "firing": studio.firing,
        "glaze": studio.kelp,
        "clay": studio.buff,
        "kiln": studio.kiln,
        "form": studio.tumbler,
    }.items():
        desk.show(noun, row_id)
        assert unnamed(window) == [], noun


def test_the_sheets_of_the_frame_are_named_too(window: Window, desk: Desk, qtbot: QtBot) -> None:
    for sheet in (
        SettingsSheet(desk, window),
        HistorySheet(desk, window),
        KeysSheet(window, [(["A", "D"], "move divider")]),
        StartSheet("The journal in /old is gone."),
    ):
        qtbot.addWidget(sheet)
        sheet.show()
        assert unnamed(sheet) == [], type(sheet).__name__
        sheet.close()


def test_the_unit_chosen_once_holds_everywhere(window: Window, desk: Desk, qtbot: QtBot) -> None:
    heard: list[str] = []
    desk.settings.changed.connect(heard.append)
    sheet = SettingsSheet(desk, window)
    qtbot.addWidget(sheet)
    sheet.unit.picked.emit(1)
    assert desk.settings.temperature_unit == "F"
    assert heard == ["temperature_unit"]


def test_problems_gather_until_they_are_read(window: Window, desk: Desk) -> None:
    desk.notices.warn("one.jpg is empty (0 bytes).")
    desk.notices.warn("two.png is cut short.")
    assert window.notice.sentence() == "one.jpg is empty (0 bytes).\ntwo.png is cut short."
    desk.notices.say("Piece 412 logged.")
    assert window.notice.sentence() == "Piece 412 logged."
