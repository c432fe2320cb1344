"""A potter looks at a firing, reads its cones, loads it, and changes its program."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QLineEdit

from studiolog.craft.units import THIN
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.programs import list_programs
from studiolog.journal.reading_words import HandReading, read_lines
from studiolog.ui.firings.firing_sheet import FiringSheet
from studiolog.ui.firings.typed_readings import TypedReadings
from studiolog.ui.firings.written import write_span


def stored(yard: Any, firing_id: int) -> Any:
    return yard.desk.read(lambda s: read_firing_page(s, firing_id))


def test_the_list_shows_every_firing_and_enter_opens_one(yard: Any, qtbot: Any) -> None:
    model = yard.screen.table.model
    assert model.rowCount() == 2
    assert model.data(model.index(0, 4), Qt.ItemDataRole.DisplayRole) == "–"
    assert model.data(model.index(1, 4), Qt.ItemDataRole.DisplayRole) == f"1222{THIN}°C"
    yard.screen.table.table.selectRow(1)
    qtbot.keyClick(yard.screen.table.table, Qt.Key.Key_Return)
    assert yard.screen.page.firing_id == yard.logged


def test_a_narrowed_list_says_when_nothing_fits(yard: Any) -> None:
    table = yard.screen.table
    table.words.setText("slow")
    assert table.model.rowCount() == 2
    table.words.setText("raku")
    assert table.nothing.isVisible()
    assert not table.table.isVisible()


def test_the_curve_and_the_figures_are_those_stored(yard: Any) -> None:
    yard.screen.show_thing(yard.logged)
    plot = yard.screen.view.plot
    curve = stored(yard, yard.logged).main_curve
    np.testing.assert_array_equal(plot.firing.curve_c, curve.temperature_c)
    assert plot.firing.started_at.hour == 7
    figures = yard.screen.view.figures
    assert figures.peak.accessibleName() == f"Peak: 1222{THIN}°C, asked 1222{THIN}°C"
    assert "17.52" in figures.cost.accessibleName()
    assert [s.planned_text for s in plot.firing.segments if s.planned_text] == [
        f"hold 15{THIN}min",
        "left to cool",
    ]
    hold = next(s for s in plot.firing.segments if s.planned_text.startswith("hold"))
    # A reading every two minutes tells a hold of 15 minutes no better than so.
    assert hold.logged_text in ("held 14", "held 15", "held 16")


def test_a_firing_without_a_log_shows_its_program_alone(yard: Any) -> None:
    yard.screen.show_thing(yard.planned)
    view = yard.screen.view
    assert view.empty.isVisible()
    assert len(view.plot.firing.program_s) > 4
    assert len(view.plot.firing.curve_s) == 0
    assert view.heat.said.text().startswith("No log yet")


def test_fahrenheit_reaches_every_figure_and_typed_values(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.logged)
    yard.desk.settings.temperature_unit = "F"
    view = yard.screen.view
    assert f"2232{THIN}°F" in view.figures.peak.accessibleName()
    table = view.program.table
    assert table.line(2, "target_c").text() == "2232"
    assert table.line(2, "rate_c_per_h").text() == "108"
    line = table.line(2, "hold_min")
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "20")
    qtbot.keyClick(line, Qt.Key.Key_Return)
    segment = stored(yard, yard.logged).segments[2]
    # What was not typed anew keeps its value to the last digit.
    assert (segment.target_c, segment.rate_c_per_h, segment.hold_min) == (1222, 60, 20)
    line = table.line(0, "target_c")
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "212")
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert stored(yard, yard.logged).segments[0].target_c == pytest.approx(100)


def test_the_program_redraws_as_it_is_typed_and_is_kept_once(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.planned)
    view = yard.screen.view
    line = view.program.table.line(2, "target_c")
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "1240")
    assert max(view.plot.firing.program_c) == 1240
    assert max(s.target_c for s in stored(yard, yard.planned).segments) == 1222
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert max(s.target_c for s in stored(yard, yard.planned).segments) == 1240
    assert yard.desk.edits.undo_label() == "Change the program of firing 2"
    yard.desk.edits.undo()
    assert view.program.table.line(2, "target_c").text() == "1222"
    assert max(view.plot.firing.program_c) == 1222


def test_a_segment_that_cannot_be_says_so_beside_it_and_is_not_kept(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.planned)
    table = yard.screen.view.program.table
    line = table.line(2, "target_c")
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "2232")
    assert "°F" in table.row_problem(2)
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert max(s.target_c for s in stored(yard, yard.planned).segments) == 1222
    qtbot.keyClick(line, Qt.Key.Key_Escape)
    assert table.line(2, "target_c").text() == "1222"
    assert table.row_problem(2) == ""


def test_leaving_a_row_keeps_it_and_rows_come_and_go_by_key(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.planned)
    table = yard.screen.view.program.table
    line = table.line(0, "rate_c_per_h")
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, "80")
    qtbot.keyClick(line, Qt.Key.Key_Down)
    assert stored(yard, yard.planned).segments[0].rate_c_per_h == 80
    line = table.line(0, "target_c")
    line.setFocus()
    qtbot.keyClick(line, Qt.Key.Key_Delete, Qt.KeyboardModifier.ControlModifier)
    assert len(stored(yard, yard.planned).segments) == 3


def test_the_segments_are_kept_as_a_program_of_their_own(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.planned)
    section = yard.screen.view.program
    section.ask_name()
    section.name.line.setText("Slow 6")
    qtbot.keyClick(section.name.line, Qt.Key.Key_Return)
    assert "already" in section.name.problem()
    section.name.line.setText("Slower 6")
    qtbot.keyClick(section.name.line, Qt.Key.Key_Return)
    names = [line.name for line in yard.desk.read(list_programs)]
    assert names == ["Slow 6", "Slower 6"]


def test_cones_are_proposed_and_read_in_degrees_clock_and_words(yard: Any) -> None:
    yard.screen.show_thing(yard.logged)
    row = yard.screen.view.cones.row(yard.top)
    assert [cone.cone for cone in row.cones()] == ["5", "6", "7"]
    assert stored(yard, yard.logged).levels[0].heat.basis == "computed"
    row.say("5", "tip touching")
    row.say("6", "2 o'clock")
    row.say("7", "10°")
    level = stored(yard, yard.logged).levels[0]
    assert {c.cone: c.said for c in level.cones} == {
        "5": "tip touching",
        "6": "2 o'clock",
        "7": "10°",
    }
    assert level.heat.basis == "read"
    assert level.heat.low < level.heat.cone < level.heat.high
    assert row.cone.text() == level.heat.label
    row.say("6", "purple")
    assert "no reading of a cone" in row._lines["6"].field.problem()


def test_esc_leads_back_to_the_list_and_c_always_to_a_cone(yard: Any, qtbot: Any) -> None:
    screen = yard.screen
    screen.show_thing(yard.logged)
    qtbot.keyClick(screen.view, Qt.Key.Key_Escape)
    assert screen.stack.currentWidget() is screen.table
    assert [row.firing_id for row in screen.table.chosen_firings()] == [yard.logged]
    # With the lines still open on the next firing, C stands in the first of them.
    for firing in (yard.logged, yard.planned):
        screen.show_thing(firing)
        screen.view.setFocus()
        screen._press_c()
        assert screen.view.cones.reading
        assert screen.focusWidget() in screen.view.cones.row(yard.top).lines()
    screen.view.read_cones.click()
    assert not screen.view.cones.reading


def test_a_cone_bent_by_key_is_kept_once_the_hand_rests(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.logged)
    row = yard.screen.view.cones.row(yard.top)
    stand = row.pack.stand(1)
    stand.setFocus()
    for _ in range(6):
        qtbot.keyClick(stand, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert stored(yard, yard.logged).levels[0].cones == ()
    qtbot.waitUntil(lambda: bool(stored(yard, yard.logged).levels[0].cones), timeout=3000)
    (cone,) = stored(yard, yard.logged).levels[0].cones
    assert (cone.cone, cone.said, cone.low_deg, cone.high_deg) == ("6", "68°", 63, 73)
    # The two that nobody read are still proposed, and are not kept as readings.
    assert [c.cone for c in row.cones()] == ["5", "6", "7"]
    yard.desk.edits.undo()
    assert stored(yard, yard.logged).levels[0].cones == ()


def test_cones_go_in_and_out_of_a_pack_and_contradictions_are_said(yard: Any) -> None:
    yard.screen.show_thing(yard.logged)
    row = yard.screen.view.cones.row(yard.bottom)
    row.add_cone("4")
    assert [cone.cone for cone in row.cones()] == ["4", "5", "6", "7"]
    row.say("4", "standing")
    row.say("7", "flat")
    assert not row.contradiction.isHidden()
    assert "swapped" in row.contradiction.text()
    kept = stored(yard, yard.logged).levels[2].cones
    row.say("7", "190")
    assert row.lines()[-1].accessibleDescription().startswith("A cone cannot be bent 190°")
    assert stored(yard, yard.logged).levels[2].cones == kept, "refused, and nothing is lost"
    row.remove_cone("4")
    assert [c.cone for c in stored(yard, yard.logged).levels[2].cones] == ["7"]
    assert row.contradiction.isHidden()
    row.add_cone("99")
    assert row.adder.problem()


def test_pieces_are_put_on_a_level_by_number_and_open_on_a_click(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.logged)
    load = yard.screen.view.load
    load.level.choose(yard.middle)
    load.numbers.line.setText("388, 390-391")
    load.put_in.click()
    assert [p.number for p in stored(yard, yard.logged).levels[1].pieces] == [388, 390, 391]
    assert load.numbers.text() == ""
    asked: list[tuple[str, int]] = []
    yard.desk.asked_for.connect(lambda kind, row_id, _more: asked.append((kind, row_id)))
    shelf = load.shelf(yard.middle)
    shelf.setFocus()
    qtbot.keyClick(shelf, Qt.Key.Key_Right)
    qtbot.keyClick(shelf, Qt.Key.Key_Return)
    assert asked == [("piece", yard.pieces[0])]
    load.numbers.line.setText("388")
    load.take_out.click()
    assert [p.number for p in stored(yard, yard.logged).levels[1].pieces] == [390, 391]
    load.numbers.line.setText("400")
    load.put_in.click()
    assert "no piece 400" in load.numbers.problem()


def test_a_firing_with_pieces_is_not_deleted_and_an_empty_one_comes_back(yard: Any) -> None:
    said: list[Any] = []
    yard.desk.notices.said.connect(said.append)
    yard.screen.show_thing(yard.logged)
    load = yard.screen.view.load
    load.numbers.line.setText("388")
    load.put_in.click()
    yard.screen.delete()
    assert "pieces stood in it" in said[-1].sentence
    yard.screen.show_thing(yard.planned)
    yard.screen.delete()
    assert yard.screen.table.isVisible()
    assert yard.screen.table.model.rowCount() == 1
    said[-1].action()
    assert yard.screen.table.model.rowCount() == 2


def test_a_firing_is_logged_from_the_keyboard(
    yard: Any, qtbot: Any, opened: Callable[..., Any]
) -> None:
    yard.screen.show_thing(0, "log firing")
    qtbot.waitUntil(
        lambda: any(d.isVisible() for d in yard.screen.findChildren(FiringSheet)), timeout=2000
    )
    sheet = opened(yard.screen, FiringSheet)
    assert sheet.number.text() == "3"
    assert sheet.cone.text() == "6"
    sheet.cone.line.setText("66")
    sheet.keep()
    assert "66" in sheet.cone.problem()
    sheet.cone.set_text("5½")
    sheet.start_day.set_text("2 Nov 2026")
    sheet.start_time.set_text("25:00")
    sheet.keep()
    assert "time of day" in sheet.start_time.problem()
    sheet.start_time.set_text("06:40")
    qtbot.keyClick(sheet, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    page = yard.screen.page
    assert (page.number, page.cone, page.program_name) == (3, "5.5", "Slow 6")
    assert len(page.segments) == 4
    assert f"{page.started_at:%Y-%m-%d %H:%M}" == "2026-11-02 06:40"


def test_energy_is_added_later_and_a_firing_never_ends_before_it_starts(
    yard: Any, opened: Callable[..., Any]
) -> None:
    yard.screen.show_thing(yard.planned)
    yard.screen.change()
    sheet = opened(yard.screen, FiringSheet)
    sheet.kwh.set_text("61,5")
    sheet.end_day.set_text("8 Oct 2026")
    sheet.end_time.set_text("06:00")
    sheet.keep()
    assert "ends before" in sheet.end_time.problem()
    sheet.end_day.set_text("10 Oct 2026")
    sheet.keep()
    assert not sheet.isVisible()
    page = yard.screen.page
    assert page.kwh == 61.5
    assert float(page.energy.cost_value or 0) == pytest.approx(18.45)
    assert write_span(page.started_at, page.ended_at) == "9 Oct 2026 07:30 to 10 Oct 06:00"


def test_readings_noted_by_hand_become_the_curve(yard: Any, opened: Callable[..., Any]) -> None:
    yard.screen.show_thing(yard.planned)
    yard.screen.type_readings()
    sheet = opened(yard.screen, TypedReadings)
    sheet.lines.setPlainText("0:00 20\n2 h 220\nwarm")
    assert "Line 3" in sheet.why_not.sentence()
    sheet.keep()
    assert sheet.isVisible()
    sheet.lines.setPlainText("0:00 20\n2 h 220\n@15:30 1000\n12:00 1210 °C\n@02:30 400")
    sheet.keep()
    curve = yard.screen.page.main_curve
    assert (curve.elapsed_s / 3600).tolist() == [0, 2, 8, 12, 19]
    assert curve.temperature_c.tolist() == [20, 220, 1000, 1210, 400]
    assert "of the firing" not in yard.screen.view.log_line.text()


def test_hand_written_lines_follow_the_unit_of_the_desk(yard: Any) -> None:
    start = stored(yard, yard.planned).started_at
    (reading,) = read_lines("1:00 212", start, "F")
    assert (reading.at_s, reading.temperature_c) == (3600, pytest.approx(100))
    assert read_lines("1:00 100 C", start, "F") == [HandReading(3600, 100)]


def test_the_arrows_read_the_curve_from_the_page(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.logged)
    plot = yard.screen.view.plot
    told: list[str] = []
    plot.cursor_moved.connect(told.append)
    yard.screen.view.setFocus()
    qtbot.keyClick(yard.screen.view, Qt.Key.Key_End)
    qtbot.keyClick(yard.screen.view, Qt.Key.Key_Left)
    assert len(told) == 2
    assert "logged" in told[-1]
    # Reading a cone leaves the cursor where it stands.
    yard.screen.view.cones.row(yard.top).say("6", "60")
    assert plot.readout() is not None


def test_earlier_firings_of_the_program_stand_behind_the_curve(yard: Any, qtbot: Any) -> None:
    yard.screen.show_thing(yard.planned)
    qtbot.waitUntil(lambda: bool(yard.screen._earlier), timeout=2000)
    assert [e.number for e in yard.screen._earlier] == [1]
    assert "usual 58.4" in yard.screen.view.figures.energy.accessibleName()


def test_every_control_of_the_page_has_a_name(yard: Any) -> None:
    yard.screen.show_thing(yard.logged)
    yard.screen.view.cones.set_reading(True)
    nameless = [
        widget
        for kind in (QAbstractButton, QLineEdit)
        for widget in yard.screen.view.findChildren(kind)
        if widget.isVisible() and not (widget.accessibleName() or getattr(widget, "text", str)())
    ]
    assert nameless == []
