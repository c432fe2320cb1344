"""What was left out of a log is seen on its plot, and the log can be drawn as it came."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from pytestqt.qtbot import QtBot

from studiolog.craft.units import THIN
from studiolog.desktop import theme
from studiolog.ui.plots.curve_sums import thin_between
from studiolog.ui.plots.firing_picture import say_left_out
from studiolog.ui.plots.firing_plot import FiringPlot, PlotFiring
from studiolog.ui.plots.plotted_firing import HeatSoFar, LeftOutReadings, SteadyRise

Maker = Callable[..., PlotFiring]
HOUR = 3600.0


@pytest.fixture
def spiky(qtbot: QtBot, tern_yard: Maker) -> FiringPlot:
    """A firing of which one reading was a leap, two were absurd and one was no number."""
    plot = FiringPlot()
    qtbot.addWidget(plot)
    plot.resize(943, 727)
    firing = tern_yard()
    aside = LeftOutReadings(
        [5 * HOUR + 5, 12 * HOUR + 5, 16 * HOUR + 5, 20 * HOUR + 5],
        [400.0, 32767.0, -200.0, float("nan")],
        ["a leap", "no kiln is so hot", "no kiln is so cold", "no reading"],
    )
    plot.show_firing(replace(firing, left_out=aside, dropped_count=4))
    plot.show()
    return plot


def ink_at(plot: FiringPlot, x: float, y: float, name: str, reach: int = 4) -> bool:
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


def test_each_reading_left_out_is_marked_where_it_was_and_stretches_no_axis(
    spiky: FiringPlot, tern_yard: Maker
) -> None:
    heat, _rate = spiky.frames()
    assert heat.high < 1500
    assert heat.low > -60
    cross = heat.point(5 * HOUR + 5, 400.0)
    assert ink_at(spiky, cross.x(), cross.y(), "ink2")
    for at_s, edge in ((12 * HOUR + 5, heat.rect.top() + 4), (16 * HOUR + 5, heat.rect.bottom())):
        assert ink_at(spiky, heat.x(at_s), edge, "ink2", 5)
    assert ink_at(spiky, heat.x(20 * HOUR + 5), heat.rect.bottom() - 3, "ink2", 3)
    assert say_left_out(spiky.firing) == "4 readings left out, marked ×"
    blank = LeftOutReadings([60.0], [float("nan")], ["no reading"])
    assert "without a value" in say_left_out(PlotFiring(left_out=blank))
    assert say_left_out(PlotFiring(dropped_count=2)) == "2 readings left out"
    spiky.show_firing(tern_yard())
    assert not ink_at(spiky, cross.x(), cross.y(), "ink2")


def test_the_readout_says_what_was_left_out_beside_a_reading_and_why(spiky: FiringPlot) -> None:
    spiky.move_cursor_to(5 * HOUR)
    readout = spiky.readout()
    assert readout is not None
    assert readout.remarks("C") == [f"left out beside it: 400{THIN}°C, a leap"]
    assert readout.remarks("F") == [f"left out beside it: 752{THIN}°F, a leap"]
    assert "no kiln" not in readout.sentence("C")
    spiky.move_cursor_to(20 * HOUR)
    assert "left out beside it: no reading" in spiky.accessibleDescription()


def test_r_draws_and_reads_the_log_as_it_came_and_back(qtbot: QtBot, spiky: FiringPlot) -> None:
    told: list[bool] = []
    spiky.as_logged_changed.connect(told.append)
    before = spiky.frames()
    count = len(spiky.firing.curve_s)
    spiky.move_cursor_to(12 * HOUR)
    cleaned = spiky.readout()
    qtbot.keyClick(spiky, Qt.Key.Key_R)
    assert spiky.as_logged
    assert spiky.frames() == before
    qtbot.keyClick(spiky, Qt.Key.Key_Right)
    readout = spiky.readout()
    assert readout is not None
    assert readout.logged_c == 32767.0
    assert readout.rows("C")[0] == ("as logged", f"32767{THIN}°C", "")
    assert readout.remarks("C") == ["left out: no kiln is so hot"]
    heat, _rate = spiky.frames()
    # The line runs off the top of the plot, where the cleaned log is far below.
    assert ink_at(spiky, heat.x(12 * HOUR + 4), heat.rect.top() + 60, "rust", 5)
    spiky.move_cursor_to(20 * HOUR + 5)
    assert "as logged –" in spiky.accessibleDescription()
    qtbot.keyClick(spiky, Qt.Key.Key_End)
    assert spiky._cursor == count + 4 - 1
    spiky.move_cursor_to(12 * HOUR)
    qtbot.keyClick(spiky, Qt.Key.Key_R)
    assert told == [True, False]
    assert spiky.readout() == cleaned


def test_any_number_a_broken_logger_gave_can_be_drawn(
    qtbot: QtBot, spiky: FiringPlot, tern_yard: Maker
) -> None:
    wild = [float("inf"), -float("inf"), 1e300, float("nan"), 1e6]
    aside = LeftOutReadings([HOUR * n + 7 for n in range(5)], wild, ["absurd"] * 5)
    spiky.show_firing(replace(tern_yard(), left_out=aside))
    spiky.set_as_logged(True)
    qtbot.keyClick(spiky, Qt.Key.Key_Z)
    for n in range(5):
        spiky.move_cursor_to(HOUR * n + 7)
        assert "absurd" in spiky.accessibleDescription()
        spiky.grab()
    assert f"a million{THIN}°C" in spiky.readout().rows("C")[0][1]  # type: ignore[union-attr]


def test_heat_so_far_stands_in_the_readout_and_the_steady_rise_in_the_inset(
    spiky: FiringPlot, tern_yard: Maker
) -> None:
    firing = tern_yard()
    so_far = HeatSoFar([0.0, 6 * HOUR, 8 * HOUR], [float("nan"), -3.0, 5.3])
    spiky.resize(1300, 760)
    spiky.show_firing(
        replace(firing, heat_so_far=so_far, steady_rise=SteadyRise(52.0, 8.9 * HOUR, 1208.0))
    )
    spiky.move_cursor_to(8 * HOUR)
    readout = spiky.readout()
    assert readout is not None
    assert ("heat-work", "cone 5 +0.3", "") in readout.rows("C")
    spiky.move_cursor_to(3 * HOUR)
    assert "heat-work" not in spiky.accessibleDescription()
    spiky.grab()


def test_a_very_long_log_is_drawn_by_what_its_pixels_can_show(
    qtbot: QtBot, spiky: FiringPlot, tern_yard: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    count = 300_000
    at_s = np.linspace(0, 24 * HOUR, count)
    heat = np.interp(at_s, [0, 8 * HOUR, 24 * HOUR], [20.0, 1222.0, 80.0])
    heat[150_000] += 9.0
    drawn: list[int] = []
    log_line: Any = spiky._lines._log
    plain = log_line.setData
    monkeypatch.setattr(
        log_line, "setData", lambda s, c, **more: (drawn.append(len(s)), plain(s, c, **more))
    )
    spiky.show_firing(PlotFiring(curve_s=at_s, curve_c=heat))
    spiky.grab()
    assert drawn
    assert max(drawn) < 5000
    spiky.show_span(4 * HOUR, 5 * HOUR)
    spiky.grab()
    assert max(drawn) < 5000
    # The lowest and the highest of each column are seen, so a single leap is.
    _thin_s, thin = thin_between(at_s, heat, 0.0, 24 * HOUR, 900)
    assert heat[150_000] in thin
    assert (thin.min(), thin.max()) == (heat.min(), heat.max())
