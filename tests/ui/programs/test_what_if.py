"""What if: turning the top of a program, solving for a cone, keeping the answer, undoing it."""

from decimal import Decimal

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from studiolog.craft.firing.cones import ordinal_of
from studiolog.craft.firing.energy import planned_heating_h
from studiolog.craft.firing.program import planned_cone
from studiolog.craft.firing.what_if import find_top
from studiolog.craft.units import MINUS, THIN
from studiolog.desktop.desk import Desk
from studiolog.journal.kilns import change_kiln
from studiolog.journal.program_page import ProgramPage, read_program_page
from studiolog.journal.programs import list_programs
from studiolog.ui.programs import what_if_section
from studiolog.ui.programs.program_view import ProgramView
from studiolog.ui.programs.screen import ProgramsScreen
from studiolog.ui.programs.segment_grid import planned
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(studio: SmallStudio, open_screen: OpenScreen) -> ProgramsScreen:
    opened = open_screen(ProgramsScreen, wide=1500, high=900)
    opened.show_thing(studio.glaze_six)
    return opened


@pytest.fixture
def view(screen: ProgramsScreen) -> ProgramView:
    assert isinstance(screen.page, ProgramView)
    return screen.page


def page_of(desk: Desk, program_id: int) -> ProgramPage:
    page = desk.read(lambda session: read_program_page(session, program_id))
    assert page is not None
    return page


def test_turning_a_handle_asks_and_keeps_nothing(
    desk: Desk, studio: SmallStudio, view: ProgramView
) -> None:
    own = page_of(desk, studio.glaze_six).segments
    what_if = view.what_if
    before = what_if.amounts._value.text()
    assert not what_if.keep_here.isEnabled()
    rows = what_if.rows
    rows["peak"].slider.setFocus()
    QTest.keyClick(rows["peak"].slider, Qt.Key.Key_PageUp)
    QTest.keyClick(rows["peak"].slider, Qt.Key.Key_Right)
    top = max(one.target_c for one in own)
    assert rows["peak"].field.text() == f"{top + 11:.0f}"
    assert what_if.amounts._value.text() != before
    assert what_if.quiet.text() == "not kept"
    assert f"As the program is: cone {before}" in what_if.told.text()
    assert view.handles._line is not None
    assert view.handles._line.changed
    assert max(view.handles._line.temperature_c) == top + 11
    assert page_of(desk, studio.glaze_six).segments == own
    # A page that is read again, as another edit has it, leaves the question standing.
    view.show_page(page_of(desk, studio.glaze_six))
    assert what_if.is_changed()
    what_if.back.click()
    assert what_if.amounts._value.text() == before
    assert not view.handles._line.changed

    # Numbers are typed too, and refused in a sentence.
    row = view.what_if.rows["hold"]
    row.field.line.setText("35")
    row.field._finish()
    assert row.slider.value() == 35
    QTest.keyClick(row.field.line, Qt.Key.Key_Up)
    assert (row.field.text(), row.slider.value()) == ("36", 36)
    row.field.line.setText("5000")
    row.field._finish()
    assert "The hold is tried from 0 to 240 min here." in row.field.problem()
    assert row.slider.value() == 36


def test_an_answer_changes_this_program_or_makes_a_new_one_once_kept(
    desk: Desk, studio: SmallStudio, view: ProgramView
) -> None:
    own = page_of(desk, studio.glaze_six)
    what_if = view.what_if
    what_if.kiln.choose((0, 0))
    for handle in ("peak", "rate"):
        what_if.solving.wanted.set_text("5½")
        what_if.solving.handle.pick(handle)
        what_if.solving.button.click()
        assert (
            "comes to cone 5 +0.5" in what_if.solving.answer.text()
            or "6 −0.5" in what_if.solving.answer.text()
        )
        what_if.keep_here.click()
        changed = page_of(desk, studio.glaze_six).segments
        assert changed != own.segments
        assert planned_cone(planned(changed)).number == pytest.approx(ordinal_of("5.5"), abs=0.06)
        assert not what_if.is_changed()
        assert page_of(desk, studio.glaze_six).cone == "5.5", "what was solved for is aimed at"
        desk.edits.undo()
        assert page_of(desk, studio.glaze_six) == own
    what_if.turn("hold", 30)
    what_if.keep_new.click()
    proposed = what_if.name.text()
    assert proposed.startswith(f"{own.name}, ")
    # A rate that was turned is in the name, and the time is that between those shown.
    rate = own.segments[find_top(planned(own.segments)).segment].rate_c_per_h
    assert rate is not None
    what_if.turn("rate", rate + 7.0)
    assert f"{round(rate + 7.0)} °C/h" in what_if._proposed_name()
    assert what_if_section._difference(9.2417 * 3600, 9.575 * 3600) == f"{MINUS}20{THIN}min"
    what_if.turn("rate", rate)
    what_if.name.set_text(own.name)
    what_if.name_button.click()
    assert "There is a program named" in what_if.name.problem()
    what_if.name.set_text(proposed)
    what_if.name_button.click()
    (kept,) = [one for one in desk.read(list_programs) if one.name == proposed]
    assert (kept.kind, kept.cone) == (own.kind, own.cone)
    assert any(one.hold_min == 30 for one in kept.segments)
    assert page_of(desk, studio.glaze_six).segments == own.segments
    assert not what_if.is_changed()


def test_what_is_out_of_reach_or_out_of_date_is_told(desk: Desk, view: ProgramView) -> None:
    what_if = view.what_if
    what_if.solving.wanted.set_text("14")
    what_if.solving.handle.pick("hold")
    what_if.solving.button.click()
    assert "do not bring this to cone 14" in what_if.solving.problem.sentence()
    what_if.solving.nearest.click()
    assert what_if.rows["hold"].slider.value() == 240
    what_if.solving.wanted.set_text("six")
    what_if.solving.button.click()
    assert "There is no cone “six”" in what_if.solving.problem.sentence()
    what_if.go_back()
    # 1222 °C at 150 °C/h is cone 6 of the chart of large cones replaced in 1996.
    view.what_if.solving.wanted.set_text("6")
    view.what_if.turn("peak", 1222)
    assert "that was replaced in 1996" in view.what_if.old_chart.sentence()
    view.what_if.turn("peak", 1223)
    assert view.what_if.old_chart.sentence() == ""

    # A program with no segments has nothing to turn.
    view.show_page(page_of(desk, view.ident))
    view.what_if.show_typed([])
    assert view.what_if.nothing.isVisible()
    assert not view.what_if.keep_new.isVisible()


def test_the_top_is_dragged_on_the_plot_and_read_in_fahrenheit(
    desk: Desk, studio: SmallStudio, view: ProgramView, qapp: QApplication
) -> None:
    qapp.processEvents()
    handles, viewport = view.handles, view.plot._view.viewport()
    own_c = handles._line.top_c if handles._line else 0.0

    def mouse(kind: QEvent.Type, at: QPointF) -> None:
        button = Qt.MouseButton.LeftButton
        held = button if kind == QEvent.Type.MouseMove else Qt.MouseButton.NoButton
        event = QMouseEvent(kind, at, at, button, held, Qt.KeyboardModifier.NoModifier)
        QApplication.sendEvent(viewport, event)

    at = handles.grips()["top"]
    mouse(QEvent.Type.MouseButtonPress, at)
    mouse(QEvent.Type.MouseMove, at - QPointF(0, 6))
    mouse(QEvent.Type.MouseButtonRelease, at - QPointF(0, 6))
    assert view.what_if.is_changed()
    line = handles._line
    assert line is not None
    assert line.top_c > own_c
    at = handles.grips()["hold"]
    mouse(QEvent.Type.MouseButtonPress, at)
    mouse(QEvent.Type.MouseMove, at + QPointF(10, 0))
    mouse(QEvent.Type.MouseButtonRelease, at + QPointF(10, 0))
    assert handles._line is not None
    assert handles._line.hold_end_s > line.hold_end_s
    view.what_if.go_back()
    desk.settings.temperature_unit = "F"
    qapp.processEvents()
    row = view.what_if.rows["peak"]
    top = max(one.target_c for one in page_of(desk, studio.glaze_six).segments)
    assert row.field.text() == f"{top * 1.8 + 32:.0f}"
    assert not view.what_if.is_changed()
    row.field.line.setText("2246")
    row.field._finish()
    assert handles._line is not None
    assert handles._line.top_c == pytest.approx(1230.0)


def test_what_it_will_use_is_told_for_a_kiln_with_how_that_is_known(
    desk: Desk, studio: SmallStudio, screen: ProgramsScreen, view: ProgramView
) -> None:
    expected = view.expected
    assert view.what_if.chosen_kiln()[0] == studio.kiln, "the kiln it was fired in last"
    assert "by the meter" in expected.words.text(), "four firings of it were metered"
    screen.show_thing(studio.bisque)
    desk.edits.run(
        "Power",
        lambda session: change_kiln(
            session, studio.kiln, power_kw=8, tariff_per_kwh=Decimal("0.25")
        ),
    )
    heating_h = planned_heating_h(planned(page_of(desk, studio.bisque).segments))
    # Worked by hand: power × heating hours × 0.5 (common practice), a quarter either way.
    assert f"about {8 * heating_h * 0.5:.0f}" in expected.energy._value.text()
    assert f"{8 * heating_h * 0.5 * 0.25:.2f}" == expected.cost._value.text()
    assert "common practice, to 25\u202f% either way" in expected.words.text()
    desk.edits.run(
        "No tariff", lambda session: change_kiln(session, studio.kiln, tariff_per_kwh=None)
    )
    assert not expected.cost.isVisible()
    assert "price" in expected.missing.text() or "tariff" in expected.missing.text()
    desk.edits.run("No power", lambda session: change_kiln(session, studio.kiln, power_kw=None))
    assert not expected.energy.isVisible()
    assert "needs the kiln's power" in expected.missing.text()
    assert view.lasts._value.text() != "–", "times are told without it"
    view.what_if.kiln.choose((0, 0))
    view.what_if._choose_kiln(None)
    assert "choose one under What if" in expected.missing.text()
