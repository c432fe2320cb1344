"""The plot of compared firings: what its cursor repaints, and that any number of curves draw."""

from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF
from pytestqt.qtbot import QtBot

from studiolog.desktop import theme
from studiolog.ui.plots.compare_lines import ComparedLine, ComparedLines
from studiolog.ui.plots.compare_plot import ComparePlot

STEPS = 300


def lines(count: int, **more: Any) -> ComparedLines:
    """Firings to 1222 °C, each a little behind the one before it, over their median and range."""
    clock = 120.0 * np.arange(STEPS)
    rises = np.interp(clock[None, :] - 90.0 * np.arange(count)[:, None], *_curve())
    heats = rises.astype(np.float32)
    usual = np.median(rises, axis=0)
    given: dict[str, Any] = {
        "clock_s": clock,
        "lines": tuple(ComparedLine(n, n, "2 Oct 2026") for n in range(1, count + 1)),
        "temperature_c": heats,
        "chosen": 1,
        "usual_c": usual,
        "usual_words": f"the median of {count}",
        "low_c": rises.min(axis=0),
        "high_c": rises.max(axis=0),
        "band_words": "whole range",
    }
    return ComparedLines(**{**given, **more})


def _curve() -> tuple[list[float], list[float]]:
    hours = [0.0, 1, 6, 8.5, 8.8, 10]
    return [3600 * h for h in hours], [20.0, 120, 1000, 1222, 1222, 900]


@pytest.fixture
def plot(qtbot: QtBot) -> ComparePlot:
    look = theme.current()
    look.set_setting("light")
    made = ComparePlot()
    qtbot.addWidget(made)
    made.resize(760, 520)
    made.show_lines(lines(5))
    return made


@pytest.mark.parametrize("at_h", [0.4, 3.1, 9.7])
def test_moving_the_cursor_repaints_what_it_left_and_what_it_covers(
    plot: ComparePlot, at_h: float
) -> None:
    plot.move_cursor_to(6 * 3600)
    before = plot.grab().toImage()
    left = plot._cursor
    plot.move_cursor_to(at_h * 3600)
    after = plot.grab().toImage()
    there = plot._cursor
    assert left is not None
    assert there is not None
    told = [*left.parts(), *there.parts()]
    changed = [
        QPoint(x, y)
        for x in range(0, before.width(), 2)
        for y in range(0, before.height(), 2)
        if before.pixel(x, y) != after.pixel(x, y)
    ]
    assert len(changed) > 50
    assert all(any(part.contains(spot) for part in told) for spot in changed)


def test_the_words_stand_beside_the_curves(plot: ComparePlot) -> None:
    plot.move_cursor_to(5 * 3600)
    plot.grab()
    cursor = plot._cursor
    assert cursor is not None
    heat, _off = plot.frames()
    for row in range(5):
        for at_s in np.arange(0, 10 * 3600, 600.0):
            value = plot.lines.value(row, float(at_s))
            assert value is not None
            assert not cursor.box.contains(heat.point(float(at_s), value))


def test_the_curve_under_the_mouse_is_named(plot: ComparePlot) -> None:
    heat, off = plot.frames()
    for row in (0, 2, 4):
        value = plot.lines.value(row, 5 * 3600.0)
        assert value is not None
        plot.point_at(heat.point(5 * 3600.0, value))
        reading = plot.reading()
        assert reading is not None
        assert reading.line.number == row + 1
        usual = plot.lines.usual_at(5 * 3600.0)
        assert usual is not None
        plot.point_at(QPointF(off.point(5 * 3600.0, value - usual)))
        below = plot.reading()
        assert below is not None
        assert below.line.number == row + 1


@pytest.mark.parametrize("count", [1, 2, 60, 400])
def test_any_number_of_curves_is_drawn_as_it_is_coloured(plot: ComparePlot, count: int) -> None:
    none = np.empty(0)
    more = {"low_c": none, "high_c": none} if count < 3 else {}
    plot.show_lines(lines(count, **more))
    image = plot.grab().toImage()
    heat, _off = plot.frames()
    spot = heat.point(5 * 3600.0, plot.lines.value(0, 5 * 3600.0) or 0.0).toPoint()
    rust = theme.current().color("rust")
    near = [image.pixelColor(spot + QPoint(x, y)) for x in (-1, 0, 1) for y in (-1, 0, 1)]
    assert any(abs(one.red() - rust.red()) < 40 and one.red() > one.green() + 60 for one in near)


def test_times_before_the_shared_moment_are_told_as_before(plot: ComparePlot) -> None:
    told = lines(3, moment="1000 °C")
    assert told.write_time(-1800).endswith("before 1000 °C")
    assert lines(3, moment="peak").write_time(600).endswith("after the peak")
