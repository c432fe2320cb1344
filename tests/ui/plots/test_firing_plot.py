"""A potter reads a firing with mouse and keys, in °C and °F, light and dark."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QColor, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from studiolog.craft.units import MINUS
from studiolog.desktop import theme
from studiolog.ui.plots.firing_plot import FiringPlot, PlotFiring, PlottedCurve

Maker = Callable[..., PlotFiring]


@pytest.fixture
def plot(qtbot: QtBot, tern_yard: Maker) -> FiringPlot:
    made = FiringPlot()
    qtbot.addWidget(made)
    made.resize(943, 727)
    made.show_firing(tern_yard())
    made.show()
    return made


def press(qtbot: QtBot, plot: FiringPlot, key: Qt.Key, shift: bool = False) -> None:
    held = Qt.KeyboardModifier.ShiftModifier if shift else Qt.KeyboardModifier.NoModifier
    qtbot.keyClick(plot, key, held)


def read_s(plot: FiringPlot) -> float:
    readout = plot.readout()
    assert readout is not None
    return readout.at_s


def has_colour(plot: FiringPlot, x: float, y: float, name: str, reach: int = 3) -> bool:
    image = plot.grab().toImage()
    ratio = image.devicePixelRatio()
    wanted = QColor(theme.current().color(name))
    for dx in range(-reach, reach + 1):
        for dy in range(-reach, reach + 1):
            seen = image.pixelColor(int((x + dx) * ratio), int((y + dy) * ratio))
            apart = (seen.red() - wanted.red(), seen.green() - wanted.green())
            if max(*map(abs, apart), abs(seen.blue() - wanted.blue())) < 40:
                return True
    return False


def test_right_and_left_go_by_one_reading(qtbot: QtBot, plot: FiringPlot):
    press(qtbot, plot, Qt.Key.Key_Right)
    assert read_s(plot) == 0
    press(qtbot, plot, Qt.Key.Key_Right)
    press(qtbot, plot, Qt.Key.Key_Right)
    assert read_s(plot) == 30
    press(qtbot, plot, Qt.Key.Key_Left)
    assert read_s(plot) == 15
    press(qtbot, plot, Qt.Key.Key_End)
    press(qtbot, plot, Qt.Key.Key_Right)
    assert read_s(plot) == 24 * 3600


def test_shift_goes_by_segment_there_and_back(qtbot: QtBot, plot: FiringPlot):
    press(qtbot, plot, Qt.Key.Key_Home)
    stops = []
    for _ in range(7):
        press(qtbot, plot, Qt.Key.Key_Right, shift=True)
        stops.append(read_s(plot))
    ends = [s.end_s for s in plot.firing.segments]
    assert stops == pytest.approx(ends, abs=7.5)  # the nearest of readings 15 s apart
    press(qtbot, plot, Qt.Key.Key_Left, shift=True)
    assert read_s(plot) == stops[-2]


def test_the_readout_tells_time_clock_logged_program_and_rate(qtbot: QtBot, plot: FiringPlot):
    with qtbot.waitSignal(plot.cursor_moved) as told:
        plot.move_cursor_to(7.9 * 3600)
    readout = plot.readout()
    assert readout is not None
    firing = plot.firing
    assert readout.logged_c == firing.curve_c[1896]
    # 60 °C/h from 1080 °C at 6 h 20 (6.33 h): the program's own line.
    assert readout.program_c == pytest.approx(1080 + (7.9 - 6.33) * 128 / 2.14, abs=0.5)
    assert readout.program_rate_c_per_h == pytest.approx(59.8, abs=0.1)
    assert readout.rate_c_per_h == pytest.approx(57.7, abs=4)
    (sentence,) = told.args
    assert sentence.startswith("7 h 54, 15:04; logged 1158 °C; program 1174 °C " + MINUS + "16;")
    assert "of 60" in sentence
    assert plot.accessibleDescription() == sentence


def test_the_difference_is_that_of_the_figures_shown(plot: FiringPlot):
    for at_h in np.linspace(0.1, 23, 60):
        plot.move_cursor_to(at_h * 3600)
        readout = plot.readout()
        assert readout is not None
        for unit in ("C", "F"):
            rows = {name: (value, remark) for name, value, remark in readout.rows(unit)}
            logged = int(rows["logged"][0].split("\u202f")[0])
            program = int(rows["program"][0].split("\u202f")[0])
            told = int(rows["program"][1].replace(MINUS, "-"))
            assert told == logged - program


def test_fahrenheit_reaches_the_readout(plot: FiringPlot):
    plot.move_cursor_to(7.9 * 3600)
    plot.set_unit("F")
    sentence = plot.accessibleDescription()
    assert "logged 2116 °F" in sentence  # 1158 °C x 9/5 + 32
    assert "°F/h of 108" in sentence
    assert "°C" not in sentence


def test_the_mouse_moves_the_cursor(plot: FiringPlot):
    heat, _rate = plot.frames()
    at = QPointF(heat.x(12 * 3600), heat.rect.center().y())
    # Sent to it: a window that another test left may stand under the pointer.
    none, free = Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier
    move = QMouseEvent(QEvent.Type.MouseMove, at, at, none, none, free)
    QApplication.sendEvent(plot._view.viewport(), move)
    assert read_s(plot) == pytest.approx(12 * 3600, abs=90)


def test_a_gap_is_hatched_and_never_bridged(qtbot: QtBot, tern_yard: Maker):
    plot = FiringPlot()
    qtbot.addWidget(plot)
    plot.resize(1100, 700)
    plain = replace(tern_yard(gaps=True), earlier=(), program_s=(), program_c=(), segments=())
    plot.show_firing(replace(plain, quartz_crossings=()))
    heat, _rate = plot.frames()
    middle = heat.point(3.5 * 3600, np.interp(3.5 * 3600, plain.curve_s, plain.curve_c))
    before = heat.point(2.5 * 3600, np.interp(2.5 * 3600, plain.curve_s, plain.curve_c))
    assert has_colour(plot, before.x(), before.y(), "rust")
    assert not has_colour(plot, middle.x(), middle.y(), "rust")
    assert has_colour(plot, middle.x(), middle.y() + 60, "line2", reach=8)
    bridged = replace(plain, gaps=(), quartz_crossings=())
    plot.show_firing(bridged)
    assert has_colour(plot, middle.x(), middle.y(), "rust")


def test_the_rate_beside_a_gap_is_not_made_up(plot: FiringPlot, tern_yard: Maker):
    plot.show_firing(tern_yard(gaps=True))
    assert np.isnan(plot._curves.rate).sum() == 1
    inside = (plot._curves.rate_s > 3 * 3600 + 60) & (plot._curves.rate_s < 4 * 3600 - 60)
    assert not inside.any()


@pytest.mark.parametrize("width", [900, 1100, 1280, 1600, 1900])
@pytest.mark.parametrize("unit", ["C", "F"])
def test_labels_keep_apart_at_every_width(qtbot: QtBot, tern_yard: Maker, width: int, unit: Any):
    plot = FiringPlot()
    qtbot.addWidget(plot)
    plot.resize(width, 700)
    plot.show_firing(tern_yard())
    plot.set_unit(unit)
    plot.grab()
    room = plot._room
    assert room is not None
    boxes = room.taken
    card = plot.rect()
    assert len(boxes) >= 14
    for n, box in enumerate(boxes):
        if box.width() > 10:
            assert box.left() >= 8
            assert box.right() <= card.width() - 8
        assert not any(box.intersects(other) for other in boxes[n + 1 :] if other.width() > 10)


def test_z_shows_the_top_and_the_whole_again(qtbot: QtBot, plot: FiringPlot):
    whole = plot.frames()[0]
    press(qtbot, plot, Qt.Key.Key_Z)
    top = plot.frames()[0]
    assert top.low > 1000
    assert top.high_s - top.low_s < 6 * 3600
    press(qtbot, plot, Qt.Key.Key_Z)
    assert plot.frames()[0] == whole


def test_a_zoomed_view_follows_the_cursor(qtbot: QtBot, plot: FiringPlot):
    plot.zoom_to_top()
    plot.move_cursor_to(20 * 3600)
    heat, rate = plot.frames()
    assert heat.low_s < 20 * 3600 < heat.high_s
    assert (rate.low_s, rate.high_s) == pytest.approx((heat.low_s, heat.high_s))


def test_p_hides_the_earlier_firings(qtbot: QtBot, plot: FiringPlot):
    first = plot.grab().toImage()
    press(qtbot, plot, Qt.Key.Key_P)
    assert plot.grab().toImage() != first
    press(qtbot, plot, Qt.Key.Key_P)
    assert plot.grab().toImage() == first


def test_the_theme_switches_while_open(plot: FiringPlot):
    assert has_colour(plot, 300, 40, "sheet")
    theme.current().set_setting("dark")
    assert has_colour(plot, 300, 40, "sheet")
    assert QColor(theme.current().color("sheet")).lightness() < 60
    heat, _rate = plot.frames()
    at = heat.point(3 * 3600, np.interp(3 * 3600, plot.firing.curve_s, plot.firing.curve_c))
    assert has_colour(plot, at.x(), at.y(), "rust")


def test_without_a_log_the_program_can_be_read(qtbot: QtBot, plot: FiringPlot, tern_yard: Maker):
    plot.show_firing(tern_yard(with_log=False))
    assert "No log yet" in plot.accessibleDescription()
    plot.grab()
    press(qtbot, plot, Qt.Key.Key_Right)
    readout = plot.readout()
    assert readout is not None
    assert readout.logged_c is None
    assert readout.program_c == 20


def test_neither_program_nor_log(qtbot: QtBot, plot: FiringPlot):
    plot.show_firing(PlotFiring())
    plot.grab()
    press(qtbot, plot, Qt.Key.Key_Right)
    press(qtbot, plot, Qt.Key.Key_End)
    press(qtbot, plot, Qt.Key.Key_Z)
    assert plot.readout() is None
    assert plot.accessibleDescription() == "No program and no log yet."


def test_loading_shows_its_progress_and_ends(plot: FiringPlot):
    plot.set_loading(0.5)
    assert has_colour(plot, 100, plot.height() - 5, "cobalt", reach=1)
    plot.set_loading(None)
    assert not has_colour(plot, 100, plot.height() - 5, "cobalt", reach=1)


def test_a_log_of_one_reading_is_drawn_without_complaint(plot: FiringPlot):
    plot.show_firing(PlotFiring(curve_s=[0.0], curve_c=[20.0]))
    plot.grab()
    plot.zoom_to_top()
    plot.move_cursor_to(0)
    assert plot.readout() is not None


def test_times_without_temperatures_are_refused(plot: FiringPlot):
    with pytest.raises(ValueError, match="as many temperatures"):
        plot.show_firing(PlotFiring(curve_s=[0, 15], curve_c=[20]))


def test_many_earlier_firings_get_thin_pens(plot: FiringPlot, tern_yard: Maker):
    firing = tern_yard()
    many = tuple(
        PlottedCurve(str(n), firing.program_s, [c - n for c in firing.program_c]) for n in range(60)
    )
    plot.show_firing(replace(firing, earlier=many))
    assert plot._lines._log.opts["pen"].widthF() == 1.0
    plot.grab()


def test_the_cursor_costs_no_new_picture(plot: FiringPlot):
    plot.grab()
    picture = plot._picture
    plot.move_cursor_to(5 * 3600)
    plot.grab()
    assert plot._picture is picture


@pytest.mark.parametrize("at_h", [0.2, 7.9, 12.0, 23.9])
def test_moving_the_cursor_repaints_what_it_left_and_what_it_covers(plot: FiringPlot, at_h: float):
    plot.move_cursor_to(6 * 3600)
    before = plot.grab().toImage()
    left = plot._shown_cursor
    plot.move_cursor_to(at_h * 3600)
    after = plot.grab().toImage()
    there = plot._shown_cursor
    assert left is not None
    assert there is not None
    told = left.region() + there.region()
    changed = [
        QPoint(x, y)
        for x in range(0, before.width(), 2)
        for y in range(0, before.height(), 2)
        if before.pixel(x, y) != after.pixel(x, y)
    ]
    assert changed
    assert all(told.contains(spot) for spot in changed)


def test_a_span_can_be_shown_and_both_plots_follow(plot: FiringPlot):
    plot.show_span(2 * 3600, 5 * 3600)
    heat, rate = plot.frames()
    assert (heat.low_s, heat.high_s) == pytest.approx((2 * 3600, 5 * 3600))
    assert (rate.low_s, rate.high_s) == pytest.approx((heat.low_s, heat.high_s))


def test_the_wheel_zooms_and_a_double_click_shows_the_whole(qtbot: QtBot, plot: FiringPlot):
    whole, _rate = plot.frames()
    view = plot._view.viewport()
    at = whole.rect.center()
    turn = QWheelEvent(
        at,
        QPointF(view.mapToGlobal(at.toPoint())),
        QPoint(),
        QPoint(0, 240),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view, turn)
    near, rate = plot.frames()
    assert near.high_s - near.low_s < whole.high_s - whole.low_s
    assert (rate.low_s, rate.high_s) == pytest.approx((near.low_s, near.high_s))
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=at.toPoint())
    qtbot.mouseDClick(view, Qt.MouseButton.LeftButton, pos=at.toPoint())
    qtbot.waitUntil(lambda: plot.frames()[0] == whole, timeout=1000)


def test_dragging_a_box_zooms_to_it(qtbot: QtBot, plot: FiringPlot):
    heat, _rate = plot.frames()
    view = plot._view.viewport()
    start, end = heat.point(6 * 3600, 1250).toPoint(), heat.point(10 * 3600, 1000).toPoint()
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 6):
        qtbot.wait(5)
        qtbot.mouseMove(view, start + (end - start) * (step / 5))
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=end)
    near, _rate = plot.frames()
    assert near.high_s - near.low_s < 6 * 3600
    assert near.low_s > 5 * 3600


def test_a_closed_plot_leaves_nothing_running(qtbot: QtBot, tern_yard: Maker):
    plot = FiringPlot()
    plot.resize(943, 727)
    plot.show_firing(tern_yard())
    plot.grab()
    assert not [t for t in plot.findChildren(QTimer) if t.isActive()]
    with qtbot.waitSignal(plot.destroyed):
        plot.deleteLater()
    theme.current().set_setting("dark")  # tells only those still there


def test_text_twice_as_large_still_keeps_apart(plot: FiringPlot):
    try:
        theme.current().set_text_scale(200)
        plot.resize(1280, 900)
        plot.grab()
        assert plot._room is not None
        boxes = plot._room.taken
        for n, box in enumerate(boxes):
            assert not any(box.intersects(b) for b in boxes[n + 1 :] if b.width() > 10)
    finally:
        theme.current().set_text_scale(100)
