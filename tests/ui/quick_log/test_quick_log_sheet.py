"""The sheet's controls: named for a screen reader, worked by keys, readable in both themes."""

from functools import partial

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QPushButton, QWidget
from shiboken6 import isValid

from studiolog.desktop import theme
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.quick_log import open_sheet
from studiolog.ui.parts.choice import SegmentedChoice
from studiolog.ui.parts.severity import SeverityPicker
from studiolog.ui.quick_log.sheet import QuickLogSheet
from studiolog.ui.quick_log.veil import Veil


@pytest.fixture
def window(qtbot, desk):
    def enter(session):
        for name in ("Buff stoneware", "Iron-red stoneware"):
            add_clay(session, ClayDraft(name=name))
        for name in ("Kelp", "Chalk"):
            add_glaze(session, GlazeDraft(name=name))

    desk.journal.edit("Set up", enter)
    made = QWidget()
    made.resize(1280, 800)
    made.show()
    yield made
    desk.jobs.wait()
    made.close()
    made.deleteLater()
    QTest.qWait(1)


@pytest.fixture
def sheet(qtbot, desk, window):
    made = QuickLogSheet(desk, window)
    made.open_for()
    qtbot.waitUntil(lambda: made.isActiveWindow() and QApplication.focusWidget() is not None)
    yield made
    if isValid(made):
        made.close()


def test_every_control_has_a_name(sheet):
    kinds = (QLineEdit, QComboBox, QPushButton, SegmentedChoice, SeverityPicker)
    controls = [child for kind in kinds for child in sheet.findChildren(kind)]

    assert len(controls) > 12
    assert [type(c).__name__ for c in controls if c.isVisible() and not c.accessibleName()] == []


@pytest.mark.parametrize("setting", ["light", "dark"])
def test_the_sheet_fits_its_window_and_dims_it(qtbot, window, sheet, setting):
    theme.current().set_setting(setting)
    qtbot.wait(20)

    assert sheet.height() <= window.height()
    assert sheet.body.reel.verticalScrollBar().maximum() == 0, "nothing to scroll at 1280 × 800"
    corner = window.grab().toImage().pixelColor(4, 4)
    paper = theme.current().color("paper")
    assert corner.lightness() < paper.lightness() or setting == "dark"
    assert window.findChildren(Veil)
    sheet.close()
    qtbot.waitUntil(lambda: not window.findChildren(Veil))


def test_faults_by_letter_number_and_zone(sheet):
    faults = sheet.body.faults
    faults.go_first()

    def press(keys: str) -> None:
        for key in keys:
            QTest.keyClick(QApplication.focusWidget(), key)

    press("r2zz")
    press("c0")
    press("k1")

    said = {row.fault: (row.severity, row.zone) for row in faults.rows()}
    assert said["running"] == (2, "inside")
    assert said["crazing"] == (0, "")
    assert said["crack"] == (1, "")
    assert said["pinhole"] == (None, "")
    assert len(said) == 13
    assert "not looked for yet" in sheet.body.unknown.text()


def test_tab_goes_through_the_fields_and_past_the_faults_at_once(sheet):
    body = sheet.body
    body.layers.line.setFocus()
    seen = []
    for _ in range(5):
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        seen.append(QApplication.focusWidget())

    assert body.faults.isAncestorOf(seen[1])
    assert seen[2] is body.surface
    assert seen[3] is body.next_time
    assert seen[4] is body.photos


def test_the_answer_and_the_drawing_follow_what_is_typed(sheet):
    sheet.body.clay.row.pick(1)
    sheet.body.layers.line.setFocus()
    QTest.keyClicks(sheet.body.layers.line, "kelp 4s, chalk 3s")

    assert sheet.body.answer.text() == (
        "This is the first piece in the cell Chalk over Kelp, Buff stoneware."
    )
    assert "Chalk, dip 3 s, over Kelp, dip 4 s" in sheet.body.drawing.sentence()
    assert sheet.body.state.text() == "new, glazed"


def test_a_run_says_clay_and_form_where_nothing_was_chosen(desk, sheet):
    run = desk.journal.edit(
        "Log run",
        partial(log_run, draft=RunDraft(made_on=sheet.page.draft.looked_on, clay_id=2, how_many=3)),
    ).value
    sheet.open_for(prefill={"run_id": run})
    assert sheet.body.clay.clay_id() is None, "a prefill is taken as it is"
    sheet.body.run.picked.emit(run)

    assert sheet.body.clay.clay_id() == 2
    assert "1 of 3 left without a number" in sheet.body.state.text()
    sheet.save()
    assert desk.read(partial(open_sheet, number=1)).draft.run_id == run


def test_tab_from_the_last_button_goes_to_the_number(sheet):
    sheet.body.save_next.setFocus()
    seen = []
    while sheet.body.number not in seen and len(seen) < 4:
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        seen.append(QApplication.focusWidget())

    assert seen == [sheet.body.number]


def test_the_only_form_there_is_stands_in_grey_for_a_first_piece(desk, window, qtbot):
    desk.journal.edit("Add form", lambda s: add_form(s, FormDraft(name="Ripple tumbler")))
    sheet = QuickLogSheet(desk, window)
    qtbot.addWidget(sheet)
    sheet.open_for()

    assert sheet.body.form.lineEdit().placeholderText() == "Ripple tumbler"
    assert sheet.body.form.chosen() is None
    sheet.take_offer()
    assert sheet.body.form.currentText() == "Ripple tumbler"
    sheet.close()


def test_a_fault_read_on_an_unfired_piece_asks_for_its_firing(sheet):
    asked = sheet.body.firing
    assert asked.pick.accessibleDescription() == ""
    sheet.body.faults.go_first()
    for key in "c2":
        QTest.keyClick(QApplication.focusWidget(), key)

    assert asked.pick.accessibleDescription().startswith("Choose the firing")


def test_clays_have_their_whole_names_where_there_is_room(sheet):
    row = sheet.body.clay.row
    sheet.body.clay.resize(900, 32)
    assert row.accessibleDescription() == "1 Buff stoneware, 2 Iron-red stoneware"
    sheet.body.clay.resize(250, 32)
    assert row.accessibleDescription() == "1 Buff, 2 Iron-red"
