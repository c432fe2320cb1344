"""The programs screen: segments drawn as they are typed, with duration, cone and caution."""

from functools import partial

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.limits import set_limit
from studiolog.journal.program_page import ProgramPage, read_program_page
from studiolog.journal.programs import SegmentDraft
from studiolog.ui.parts.program_look import ProgramLook
from studiolog.ui.programs.program_view import ProgramView
from studiolog.ui.programs.screen import ProgramsScreen
from studiolog.ui.programs.segment_grid import cells_of, segments_of
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def screen(studio: SmallStudio, open_screen: OpenScreen) -> ProgramsScreen:
    return open_screen(ProgramsScreen)


def view_of(screen: ProgramsScreen) -> ProgramView:
    assert isinstance(screen.page, ProgramView)
    return screen.page


def page_of(desk: Desk, program_id: int) -> ProgramPage:
    page = desk.read(lambda session: read_program_page(session, program_id))
    assert page is not None
    return page


def said(view: ProgramView) -> tuple[str, str, str]:
    return (
        view.lasts._value.text(),
        view.peak._value.text(),
        view.amounts._value.text(),
    )


def test_what_is_typed_is_drawn_and_summed_before_it_is_kept(
    desk: Desk, studio: SmallStudio, screen: ProgramsScreen, qtbot: QtBot
) -> None:
    view = view_of(screen)
    # 20 to 120 at 60, to 600 at 110, to 1060 at 150 °C an hour: 1.67 + 4.36 + 3.07 h.
    assert said(view)[:2] == ("9\u202fh 06\u202fmin", "1060\u202f°C")
    before = said(view)[2]
    view.grid._hear_typing(2, 1, "1100")
    assert max(view.plot.firing.program_c) == 1100
    assert said(view)[1] == "1100\u202f°C"
    qtbot.waitUntil(lambda: said(view)[2] != before, timeout=3000)
    assert page_of(desk, studio.bisque).segments[2].target_c == 1060
    view.grid.type_cell(2, 1, "1100")
    assert page_of(desk, studio.bisque).segments[2].target_c == 1100


def test_a_letter_that_is_no_number_leaves_the_drawing(screen: ProgramsScreen) -> None:
    view = view_of(screen)
    view.grid._hear_typing(2, 1, "x")
    assert max(view.plot.firing.program_c) == 1060
    view.grid.type_cell(2, 1, "9000")
    assert "Segment 3: Target must be 1450 or less." in view.grid.problem()


def test_a_fast_start_is_cautioned_as_it_is_typed(
    desk: Desk, screen: ProgramsScreen, qtbot: QtBot
) -> None:
    view = view_of(screen)

    def told() -> dict[str, str]:
        return {row.caution.key: row.what.text() for row in view.cautions.rows()}

    assert "steam" not in told(), "60 °C/h to 120 °C is gentle"
    view.grid._hear_typing(0, 0, "160")
    qtbot.waitUntil(lambda: "steam" in told(), timeout=3000)
    assert told()["steam"].startswith("Segment 1 heats at 160\u202f°C/h through 100\u202f°C")
    assert "fumes" in told(), "a bisque wants air"
    # The limits are the potter's to change, and count at once.
    view.grid.type_cell(0, 0, "75")
    assert "steam" in told()
    desk.edits.run("Limit", partial(set_limit, key="gentle_c_per_h", value=80.0))
    assert "steam" not in told()


def test_fahrenheit_is_only_a_way_of_reading(
    desk: Desk, studio: SmallStudio, screen: ProgramsScreen, qapp: QApplication
) -> None:
    desk.settings.temperature_unit = "F"
    qapp.processEvents()
    view = view_of(screen)
    assert view.grid.rows()[0] == (108, 248, None)
    assert said(view)[1] == "1940\u202f°F"
    view.grid.type_cell(0, 1, "212")
    assert page_of(desk, studio.bisque).segments[0] == SegmentDraft(60, 100)


@pytest.mark.parametrize("unit", ["C", "F"])
def test_cells_and_segments_are_each_others_way_back(unit: str) -> None:
    legs = (SegmentDraft(60, 1222, 15), SegmentDraft(None, 780))
    found = segments_of(cells_of(legs, unit), unit)
    for one, other in zip(found, legs, strict=True):
        assert one.target_c == pytest.approx(other.target_c, abs=1e-5)
        assert one.rate_c_per_h == pytest.approx(other.rate_c_per_h, abs=1e-5)
        assert one.hold_min == other.hold_min


def test_a_new_program_waits_for_its_first_target(desk: Desk, screen: ProgramsScreen) -> None:
    screen.add_named("Test")
    view = view_of(screen)
    assert said(view) == ("–", "–", "–")
    view.grid.type_cell(0, 1, "1000")
    assert said(view)[1] == "1000\u202f°C"


def test_the_firings_done_with_it_are_told_with_their_peaks(
    studio: SmallStudio, screen: ProgramsScreen
) -> None:
    screen.show_thing(studio.glaze_six)
    assert view_of(screen).uses.quiet.text() == "4 firings, peaks 1205\u202f°C to 1208\u202f°C"


def test_a_program_stands_in_the_list_with_its_line(screen: ProgramsScreen) -> None:
    row = next(row for row in screen.side.rows() if row.ident == screen.page.ident)
    assert isinstance(row.look, ProgramLook)
    # 20 to 120 at 60, to 600 at 110, to 1060 at 150 °C an hour: a corner at each target.
    assert [round(temperature_c) for _, temperature_c in row.look.corners] == [20, 120, 600, 1060]


def test_programs_stand_by_cone_and_purpose_and_are_found_by_both(
    desk: Desk, screen: ProgramsScreen
) -> None:
    groups = [row.group for row in screen.side.rows()]
    assert groups == sorted(groups, key=groups.index), "each group stands together"
    assert groups[0] == "Bisque, cone 04"
    assert any(group == "Glaze, cone 6" for group in groups)
    shown = [str(screen.side.list.model().index(row, 0).data()) for row in range(2)]
    assert shown[0] == "Bisque, cone 04: 1"
    screen.side.filter.setText("glaze 6")
    assert {row.group for row in screen.side.rows()} == {"Glaze, cone 6"}
    screen.side.filter.setText("bisque 4")
    assert screen.side.rows() == (), "cone 04 is not cone 4"
    # The arrows pass over the headings.
    side = screen.side
    side.filter.clear()
    side.list.setFocus()
    first = side.list.current_row()
    for _ in side.rows():
        QTest.keyClick(side.list, Qt.Key.Key_Down)
    assert side.list.current_row() == side.rows()[-1]
    for _ in side.rows():
        QTest.keyClick(side.list, Qt.Key.Key_Up)
    assert side.list.current_row() == first


def test_a_new_program_may_start_from_a_usual_one(desk: Desk, screen: ProgramsScreen) -> None:
    screen.side.start_new()
    for _ in range(2):  # past the Add button
        QTest.keyClick(screen.window().focusWidget(), Qt.Key.Key_Tab)
    focused = screen.window().focusWidget()
    assert screen.usual.isAncestorOf(focused), "Tab leads from the name to what it starts from"
    screen.usual.pick.choose("glaze_6")
    screen.usual._tell("glaze_6")
    assert screen.side.new_name.text() == "Glaze cone 6"
    assert "check it against your kiln" in screen.usual.use.text()
    screen.side.add_button.click()
    page = page_of(desk, screen.page.ident)
    assert (page.name, page.kind, page.cone) == ("Glaze cone 6", "glaze", "6")
    assert said(view_of(screen))[2] == "6"
    assert "Common practice" in page.notes
    assert not screen.usual.isVisible()
    screen.side.start_new()
    assert screen.usual.chosen() is None
