"""Shrinkage and absorption on the page of a clay: told with their sums, typed in a row each."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.absorption import read_absorption
from studiolog.journal.bars import read_bars
from studiolog.journal.sizes import read_shrinkage
from studiolog.ui.clays.clay_view import ClayView
from studiolog.ui.clays.screen import ClaysScreen
from studiolog.ui.parts.make_size_sheet import MakeSizeSheet
from tests.clay_bars import measure_clay
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def view(studio: SmallStudio, open_screen: OpenScreen) -> ClayView:
    screen = open_screen(ClaysScreen)
    screen.show_thing(studio.buff)
    assert isinstance(screen.page, ClayView)
    return screen.page


@pytest.fixture
def measured(desk: Desk, studio: SmallStudio, view: ClayView) -> ClayView:
    desk.edits.run("Measure", lambda session: measure_clay(session, studio.buff, 1))
    return view


def words(widget: QLabel) -> str:
    return widget.text().replace("\u202f", " ")


def test_a_clay_nobody_measured_says_what_it_is_taken_for(view: ClayView) -> None:
    assert "12.5 %" in words(view.shrinkage.known)
    assert "Nothing measured yet: the 12.5 % stated" in words(view.shrinkage.basis)
    assert not view.shrinkage.strips.isVisible()
    assert view.absorption.bands.count() == 1


def test_measured_bars_tell_the_mean_the_sum_and_the_one_far_out(measured: ClayView) -> None:
    section = measured.shrinkage
    assert "Measured on 7 pieces" in words(section.basis)
    assert "(1 − 6.0 %) × (1 −" in words(section.composed)
    remarks = [
        item.widget().text().replace("\u202f", " ")
        for item in map(section.remarks.itemAt, range(section.remarks.count()))
    ]
    assert any("(19.0 %). Counted all the same; without: 1" in one for one in remarks)
    assert "wet to fired: 13.0 ± 2.7 % (7 pieces)" in section.strips.sentence().replace(
        "\u202f", " "
    )


def test_a_dot_that_is_stood_on_tells_its_own_sum_and_enter_opens_the_piece(
    measured: ClayView, desk: Desk
) -> None:
    strips, asked = measured.shrinkage.strips, []
    desk.asked_for.connect(lambda noun, ident, _more: asked.append((noun, ident)))
    strips.setFocus()
    QTest.keyClick(strips, Qt.Key.Key_Right)
    one = strips.selected()
    assert one is not None
    told = words(measured.shrinkage.stood.words)
    assert f"= {100 * one.shrinkage:.1f} %" in told
    assert "by its marks" in told
    QTest.keyClick(strips, Qt.Key.Key_Return)
    assert asked == [("piece", one.piece_id)]


def test_a_bar_is_typed_in_and_measured_again_later(
    view: ClayView, desk: Desk, studio: SmallStudio
) -> None:
    grid = view.shrinkage.bars.grid
    grid.type_cell(0, 1, "100")
    (bar,) = desk.read(lambda session: read_bars(session, studio.buff))
    assert bar.marks == (100, None, None, None)
    assert grid.rows()[0][0] == bar.number, "its number is shown at once"
    grid.type_cell(0, 4, "88")
    total = desk.read(lambda session: read_shrinkage(session, studio.buff)).stage("total")
    assert [one.shrinkage for one in total.pieces] == [pytest.approx(0.12)]
    grid.type_cell(0, 4, "108")
    assert "clay shrinks" in grid.problem()
    desk.edits.undo()
    desk.edits.undo()
    assert grid.rows() == []


def test_a_test_is_kept_once_both_weights_are_there_and_says_its_sum(
    view: ClayView, desk: Desk, studio: SmallStudio
) -> None:
    section = view.absorption
    section.grid.type_cell(0, 3, "200")
    assert "give the boiled" in section.grid.problem()
    section.grid.type_cell(0, 4, "206")
    section.grid.type_cell(0, 5, "118")
    (line,) = desk.read(lambda session: read_absorption(session, studio.buff)).lines
    assert (line.dry_g, line.saturated_g, line.suspended_g) == (200, 206, 118)
    told = words(section.sums)
    assert "(206 − 200) / 200 = 3.00 %" in told
    assert "(206 − 200) / (206 − 118) = 6.82 %" in told
    assert "200 / (206 − 118) = 2.273 g/ml" in told
    section.grid.type_cell(0, 4, "190")
    assert "takes up water" in section.grid.problem()


def test_m_opens_the_make_sizes_of_this_clay(
    view: ClayView, studio: SmallStudio, qtbot: QtBot
) -> None:
    screen = view.window()
    QTest.keyClick(screen, Qt.Key.Key_M)
    (sheet,) = screen.findChildren(MakeSizeSheet)
    assert sheet.clay.chosen() == studio.buff
    sheet.close()
