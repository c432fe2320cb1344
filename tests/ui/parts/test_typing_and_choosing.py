"""What is typed is understood or answered with a sentence; what is chosen is chosen by keys."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QWidget
from pytestqt.qtbot import QtBot

from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, FlowLayout, PickOne, SegmentedChoice, TokenButton
from studiolog.ui.parts.fields import DayField, EditableNote, EditableText, LineField, NumberField
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import (
    EmptyState,
    ErrorState,
    Figure,
    FootLine,
    KeyHint,
    PageTitle,
    Section,
    spoken_keys,
)
from studiolog.ui.parts.typed import read_day, read_number, write_day, write_number

THURSDAY = date(2026, 11, 12)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("412", 412.0),
        ("12.5", 12.5),
        ("12,5", 12.5),
        (" 1 209 °C ", 1209.0),
        ("−4", -4.0),
        ("-4", -4.0),
        ("5½", 5.5),
        (",5", 0.5),
        ("", None),
        ("°C", None),
    ],
)
def test_a_number_is_read_with_comma_or_point(typed: str, meant: float | None) -> None:
    assert read_number(typed, "°C") == meant


@pytest.mark.parametrize("typed", ["1,209.5", "twelve", "1.2.3", "12 kg", "nan", "1e5", "--3"])
def test_what_is_no_number_is_answered_with_a_sentence(typed: str) -> None:
    with pytest.raises(UserProblem, match=r"number") as told:
        read_number(typed, "g")
    assert typed in told.value.sentence


@given(st.floats(-9999, 9999, allow_nan=False).map(lambda value: round(value, 2)))
def test_a_number_written_is_read_back(value: float) -> None:
    assert read_number(write_number(value, 2)) == pytest.approx(value)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("today", date(2026, 11, 12)),
        ("Yesterday", date(2026, 11, 11)),
        ("3 Oct", date(2026, 10, 3)),
        ("3 oct.", date(2026, 10, 3)),
        ("3 October 2025", date(2025, 10, 3)),
        ("Sat 3 Oct", date(2026, 10, 3)),
        ("20 Dec", date(2025, 12, 20)),  # what was done lies in the past
        ("2026-10-03", date(2026, 10, 3)),
        ("3.10.2026", date(2026, 10, 3)),
        ("3.10.", date(2026, 10, 3)),
        ("29 Feb", date(2024, 2, 29)),
        ("Mon", date(2026, 11, 9)),
        ("thursday", date(2026, 11, 5)),
        ("", None),
    ],
)
def test_a_day_is_read_as_people_write_it(typed: str, meant: date | None) -> None:
    assert read_day(typed, THURSDAY) == meant


def test_a_promise_lies_in_the_future() -> None:
    assert read_day("20 Dec", THURSDAY, "future") == date(2026, 12, 20)
    assert read_day("3 Oct", THURSDAY, "future") == date(2027, 10, 3)
    assert read_day("tomorrow", THURSDAY, "future") == date(2026, 11, 13)
    assert read_day("Thu", THURSDAY, "future") == date(2026, 11, 19)
    assert read_day("Fri", THURSDAY, "future") == date(2026, 11, 13)


@pytest.mark.parametrize("typed", ["31 Feb 2026", "soon", "3/10", "32 Oct", "10", "2026-13-01"])
def test_what_is_no_day_is_answered_with_a_sentence(typed: str) -> None:
    with pytest.raises(UserProblem, match="not a day"):
        read_day(typed, THURSDAY)


@given(st.dates(date(1950, 1, 1), date(2150, 1, 1)))
def test_a_day_written_is_read_back(day: date) -> None:
    assert read_day(write_day(day), THURSDAY) == day


def test_a_wrong_number_is_told_beneath_the_field(qtbot: QtBot) -> None:
    field = NumberField("Water", "ml", lowest=0)
    qtbot.addWidget(field)
    field.show()
    qtbot.keyClicks(field.line, "4,2.1")
    with qtbot.assertNotEmitted(field.value_changed):
        qtbot.keyClick(field.line, Qt.Key.Key_Return)
    assert "comma and a point" in field.problem()
    assert field.line.accessibleDescription() == field.problem()
    field.line.clear()
    qtbot.keyClicks(field.line, "400 ml")
    assert field.problem() == ""  # typing on takes the sentence away
    with qtbot.waitSignal(field.value_changed) as changed:
        qtbot.keyClick(field.line, Qt.Key.Key_Return)
    assert changed.args == [400.0]


def test_a_number_out_of_bounds_is_told_with_the_bound(qtbot: QtBot) -> None:
    field = NumberField("Peak", "°C", lowest=0, highest=1400)
    qtbot.addWidget(field)
    field.set_text("1500")
    with pytest.raises(UserProblem, match="Peak must be 1400 °C or less"):
        field.value()
    field.set_value(1209)
    assert field.value() == 1209
    assert field.problem() == ""


def test_a_day_field_shows_back_what_it_understood(qtbot: QtBot) -> None:
    field = DayField("Fired on", today=lambda: THURSDAY)
    qtbot.addWidget(field)
    qtbot.keyClicks(field.line, "3.10.")
    with qtbot.waitSignal(field.day_changed) as changed:
        qtbot.keyClick(field.line, Qt.Key.Key_Return)
    assert changed.args == [date(2026, 10, 3)]
    assert field.text() == "3 Oct 2026"


def test_a_line_field_tells_once_what_was_typed(qtbot: QtBot) -> None:
    field = LineField("Name", "Tumbler")
    qtbot.addWidget(field)
    heard: list[str] = []
    field.edited.connect(heard.append)
    qtbot.keyClicks(field.line, " wide")
    qtbot.keyClick(field.line, Qt.Key.Key_Return)
    qtbot.keyClick(field.line, Qt.Key.Key_Return)
    assert heard == ["Tumbler wide"]
    assert field.line.accessibleName() == "Name"


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_F2])
def test_words_are_changed_where_they_stand(qtbot: QtBot, key: Qt.Key) -> None:
    words = EditableText("Name of the piece", "Ripple tumbler")
    qtbot.addWidget(words)
    words.show()
    qtbot.keyClick(words, key)
    assert words.is_editing()
    qtbot.keyClicks(words._line, "Wide tumbler")
    with qtbot.waitSignal(words.edited) as edited:
        qtbot.keyClick(words._line, Qt.Key.Key_Return)
    assert edited.args == ["Wide tumbler"]
    assert not words.is_editing()
    assert words.accessibleName() == "Name of the piece: Wide tumbler"


def test_escape_gives_the_old_words_back(qtbot: QtBot) -> None:
    words = EditableText("Name", "Ripple tumbler")
    qtbot.addWidget(words)
    words.show()
    qtbot.mouseClick(words, Qt.MouseButton.LeftButton)
    qtbot.keyClicks(words._line, "Oops")
    with qtbot.assertNotEmitted(words.edited):
        qtbot.keyClick(words._line, Qt.Key.Key_Escape)
    assert words.text() == "Ripple tumbler"


def test_a_note_of_two_lines_is_kept_with_control_enter(qtbot: QtBot) -> None:
    note = EditableNote("Next time")
    qtbot.addWidget(note)
    note.show()
    note.edit()
    qtbot.keyClicks(note._note, "Dip Chalk 2 s.")
    qtbot.keyClick(note._note, Qt.Key.Key_Return)
    qtbot.keyClicks(note._note, "Middle shelf only.")
    with qtbot.waitSignal(note.edited) as edited:
        qtbot.keyClick(note._note, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert edited.args == ["Dip Chalk 2 s.\nMiddle shelf only."]


CLAYS = [Choice(11, "Buff"), Choice(12, "Iron-red"), Choice(13, "Porcelain")]


def test_a_clay_is_chosen_by_its_digit_or_by_arrows(qtbot: QtBot) -> None:
    choice = SegmentedChoice("Clay", CLAYS)
    qtbot.addWidget(choice)
    with qtbot.waitSignal(choice.picked) as picked:
        qtbot.keyClick(choice, Qt.Key.Key_2)
    assert picked.args == [12]
    qtbot.keyClick(choice, Qt.Key.Key_Right)
    qtbot.keyClick(choice, Qt.Key.Key_Right)
    assert choice.chosen() == 13
    qtbot.keyClick(choice, Qt.Key.Key_9)
    assert choice.chosen() == 13
    assert choice.accessibleName() == "Clay: Porcelain"


def test_a_shelf_is_chosen_by_its_letter(qtbot: QtBot) -> None:
    levels = [Choice("top", "Top"), Choice("middle", "Middle"), Choice("bottom", "Bottom")]
    choice = SegmentedChoice("Shelf", levels, keys="TMB")
    qtbot.addWidget(choice)
    qtbot.keyClick(choice, Qt.Key.Key_B)
    assert choice.chosen() == "bottom"


def test_a_glaze_is_found_by_part_of_its_name(qtbot: QtBot) -> None:
    field = PickOne("Glaze", [Choice(1, "Kelp"), Choice(2, "Deep Tide"), Choice(3, "Rust Shore")])
    qtbot.addWidget(field)
    line = field.lineEdit()
    assert line is not None
    line.setText("tid")
    with qtbot.waitSignal(field.picked) as picked:
        line.editingFinished.emit()
    assert picked.args == [2]
    assert field.currentText() == "Deep Tide"


def test_a_form_that_is_no_go_says_so_and_is_still_found_by_its_name(qtbot: QtBot) -> None:
    forms = [Choice(1, "Soup bowl", note="on trial"), Choice(2, "Deep soup bowl", note="no-go")]
    field = PickOne("Form", forms)
    qtbot.addWidget(field)
    line = field.lineEdit()
    assert line is not None
    line.setText("soup bowl")  # all of one name, a part of the other
    with qtbot.waitSignal(field.picked) as picked:
        line.editingFinished.emit()
    assert picked.args == [1]
    assert field.currentText() == "Soup bowl (on trial)"
    line.editingFinished.emit()
    assert field.chosen() == 1
    field.choose(2)
    assert field.currentText() == "Deep soup bowl (no-go)"


def test_a_glaze_is_taken_with_real_keys(qtbot: QtBot) -> None:
    field = PickOne("Glaze", [Choice(1, "Kelp"), Choice(2, "Deep Tide"), Choice(3, "Rust Shore")])
    qtbot.addWidget(field)
    field.show()
    line = field.lineEdit()
    assert line is not None
    line.setFocus()
    qtbot.keyClicks(line, "sho")
    with qtbot.waitSignal(field.picked) as picked:
        qtbot.keyClick(line, Qt.Key.Key_Return)
    assert picked.args == [3]


def test_a_glaze_is_taken_from_the_list_with_arrows(qtbot: QtBot) -> None:
    field = PickOne("Glaze", [Choice(1, "Kelp"), Choice(2, "Deep Tide"), Choice(3, "Rust Shore")])
    qtbot.addWidget(field)
    field.choose(3)
    field.show()
    line, completer = field.lineEdit(), field.completer()
    assert line is not None
    assert completer is not None
    popup = completer.popup()
    assert popup is not None
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "e")  # all three have one
    qtbot.keyClick(popup, Qt.Key.Key_Down)
    qtbot.keyClick(popup, Qt.Key.Key_Down)
    qtbot.keyClick(popup, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: field.chosen() == 2)
    assert field.currentText() == "Deep Tide"


def test_the_wheel_changes_nothing(qtbot: QtBot) -> None:
    field = PickOne("Glaze", [Choice(1, "Kelp"), Choice(2, "Deep Tide")])
    qtbot.addWidget(field)
    field.choose(1)
    turn = QWheelEvent(
        QPointF(5, 5),
        QPointF(5, 5),
        QPoint(0, -120),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(field, turn)
    assert field.chosen() == 1


def test_a_name_that_fits_nothing_is_put_back(qtbot: QtBot) -> None:
    field = PickOne("Glaze", [Choice(1, "Kelp"), Choice(2, "Deep Tide")])
    qtbot.addWidget(field)
    field.choose(1)
    line = field.lineEdit()
    assert line is not None
    line.setText("celadon")
    with qtbot.assertNotEmitted(field.picked):
        line.editingFinished.emit()
    assert field.chosen() == 1
    assert field.currentText() == "Kelp"


def test_escape_puts_a_name_back_and_then_is_the_sheets(qtbot: QtBot) -> None:
    sheet = QDialog()
    field = PickOne("Glaze", [Choice(1, "Kelp"), Choice(2, "Deep Tide")], parent=sheet)
    qtbot.addWidget(sheet)
    sheet.show()
    field.choose(1)
    line = field.lineEdit()
    assert line is not None
    line.setText("celadon")
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert field.currentText() == "Kelp"
    assert sheet.isVisible()
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert not sheet.isVisible()


def test_new_choices_keep_what_was_chosen(qtbot: QtBot) -> None:
    field = PickOne("Glaze", [Choice(1, "Kelp")])
    qtbot.addWidget(field)
    field.choose(1)
    field.set_choices([Choice(0, "Ash"), Choice(1, "Kelp 2")])
    assert field.chosen() == 1
    assert field.currentText() == "Kelp 2"
    field.set_choices([Choice(0, "Ash")])
    assert field.chosen() is None


@pytest.mark.parametrize("key", [Qt.Key.Key_Delete, Qt.Key.Key_Backspace, Qt.Key.Key_Return])
def test_a_part_of_the_question_is_removed_by_key(qtbot: QtBot, key: Qt.Key) -> None:
    token = TokenButton("outside, lower")
    qtbot.addWidget(token)
    assert token.accessibleName() == "Remove outside, lower"
    with qtbot.waitSignal(token.removed):
        qtbot.keyClick(token, key)


def test_a_sentence_of_tokens_wraps_like_words(qtbot: QtBot) -> None:
    bar = QWidget()
    qtbot.addWidget(bar)
    flow = FlowLayout(bar, spacing=10, line_spacing=4)
    for _ in range(4):
        word = QLabel()
        word.setFixedSize(100, 20)
        flow.addWidget(word)
    assert flow.heightForWidth(430) == 20
    assert flow.heightForWidth(429) == 44
    assert flow.heightForWidth(90) == 92
    flow.clear()
    assert flow.count() == 0


def test_a_button_that_was_there_goes_behind_the_new_words(qtbot: QtBot) -> None:
    """As the question of the findings does it: its words are put anew, its last button stays."""
    bar = QWidget()
    qtbot.addWidget(bar)
    flow = FlowLayout(bar, spacing=10, line_spacing=4)
    button = QLabel(bar)
    button.setFixedSize(100, 20)
    bar.setFixedWidth(430)
    bar.show()
    for words in (2, 4):
        while (item := flow.takeAt(0)) is not None:
            if item.widget() is not button:
                item.widget().hide()
                item.widget().deleteLater()
        for _ in range(words):
            word = QLabel()
            word.setFixedSize(100, 20)
            flow.addWidget(word)
            word.show()
            assert flow.heightForWidth(430)  # asked for in the middle, as a page does
        flow.addWidget(button)
        QApplication.processEvents()
    assert flow.heightForWidth(430) == 44
    assert button.geometry().topLeft() == QPoint(0, 24)


def test_a_section_tells_when_its_link_is_used(qtbot: QtBot) -> None:
    section = Section("Inspections", link="Inspect again")
    qtbot.addWidget(section)
    assert section.link.accessibleName() == "Inspect again: Inspections"
    with qtbot.waitSignal(section.link_opened):
        section.link.click()
    section.set_link("")
    assert section.link.isHidden()


def test_the_states_of_a_page_speak(qtbot: QtBot) -> None:
    empty = EmptyState("Nothing on the bench.", "Throw something first.", "Start a run")
    qtbot.addWidget(empty)
    assert empty.accessibleName() == "Nothing on the bench. Throw something first."
    with qtbot.waitSignal(empty.acted):
        empty.action.click()
    error = ErrorState("Line 214 is not a reading.")
    qtbot.addWidget(error)
    assert error.action.isHidden()


def test_figures_and_key_hints_have_names(qtbot: QtBot) -> None:
    figure = Figure("Peak", "1209 °C", "asked 1208")
    hint = KeyHint(("A", "D"), "move divider")
    foot = FootLine([(("S",), "true scale")], "Saved 14:06")
    for widget in (figure, hint, foot):
        qtbot.addWidget(widget)
    assert figure.accessibleName() == "Peak: 1209 °C, asked 1208"
    assert hint.accessibleName() == "A or D: move divider"
    assert spoken_keys(("Ctrl", "K")) == "Control K"
    foot.set_hints([(("I",), "inspect again"), (("N",), "next-time note")])
    assert foot._hints.count() == 2


def test_a_page_shows_the_mark_of_the_piece_it_is_on(qtbot: QtBot) -> None:
    title = PageTitle("Ripple tumbler")
    qtbot.addWidget(title)
    title.set_mark(NumberMark("piece", 411, 1, 48))
    title.set_mark(NumberMark("piece", 412, 2, 48))
    assert title._mark_place.count() == 1
