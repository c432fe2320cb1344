"""The small plots: a curve on a piece's page, a log before it is saved, dots by cone."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from studiolog.desktop import theme
from studiolog.ui.plots.dot_strip import DotStrip, InspectedPiece, stack_dots, write_cone
from studiolog.ui.plots.firing_plot import PlotFiring
from studiolog.ui.plots.log_preview import LogPreviewPlot, PlotLog
from studiolog.ui.plots.plotted_firing import PlottedCurve
from studiolog.ui.plots.small_curve import SmallCurve

Maker = Callable[..., PlotFiring]


def count_colour(widget: QWidget, name: str) -> int:
    image = widget.grab().toImage()
    wanted = QColor(theme.current().color(name)).rgb()
    return sum(
        image.pixel(x, y) == wanted for x in range(image.width()) for y in range(image.height())
    )


def test_the_small_curve_shows_the_log_and_says_its_peak(qtbot: QtBot, tern_yard: Maker):
    curve = SmallCurve()
    qtbot.addWidget(curve)
    curve.resize(240, 96)
    curve.show_firing(tern_yard())
    assert count_colour(curve, "rust") > 100
    assert "1209" in curve.toolTip()
    curve.set_unit("F")
    assert "°F" in curve.accessibleDescription()
    curve.show_firing(tern_yard(with_log=False))
    assert count_colour(curve, "rust") == 0
    assert "no log yet" in curve.toolTip()
    curve.show_firing(PlotFiring())
    curve.grab()


def test_the_preview_draws_channels_marks_what_it_left_out_and_hatches_gaps(
    qtbot: QtBot, tern_yard: Maker
):
    firing = tern_yard(gaps=True)
    colder = [c * 0.9 for c in firing.curve_c]
    log = PlotLog(
        (
            PlottedCurve("probe 1", firing.curve_s, firing.curve_c),
            PlottedCurve("probe 2", firing.curve_s, colder),
        ),
        dropped=[(20_000, 0.0), (60_000, 1999.0)],
        gaps=firing.gaps,
        started_at=firing.started_at,
    )
    plot = LogPreviewPlot()
    qtbot.addWidget(plot)
    plot.resize(700, 380)
    plot.show_log(replace(log, dropped=(), gaps=()))
    clean, unhatched = count_colour(plot, "rust"), count_colour(plot, "line2")
    plot.show_log(log)
    assert "Readings left out: 2. Gaps: 1." in plot.accessibleDescription()
    assert count_colour(plot, "line2") > unhatched
    assert clean > 200
    # The gap is not bridged: between its two sides there is no rust.
    frame = plot.frame()
    image = plot.grab().toImage()
    x = round(frame.x(3.5 * 3600))
    y = round(frame.y(float(np.interp(3.5 * 3600, firing.curve_s, firing.curve_c))))
    rust = QColor(theme.current().color("rust")).rgb()
    assert all(image.pixel(x, y + dy) != rust for dy in range(-4, 5))
    theme.current().set_setting("dark")
    assert count_colour(plot, "rust") > 200
    plot.set_unit("F")
    plot.show_log(PlotLog())
    plot.grab()


@pytest.mark.parametrize(
    ("cone", "name"),
    [(-4, "05"), (-1, "02"), (0, "01"), (1, "1"), (5.5, "5½"), (6, "6"), (-4.5, "05½")],
)
def test_cones_are_named_from_the_even_scale(cone: float, name: str):
    assert write_cone(cone) == name


def test_every_piece_has_its_own_dot_near_its_cone():
    rng = np.random.default_rng(5)
    pieces = [InspectedPiece(float(c), bool(c < 5.6)) for c in rng.normal(6, 0.4, 80)]
    placed = stack_dots(pieces, 4.5, 7.5, 400, 8)
    assert len(placed) == 80
    assert len({(x, row) for x, row, _p in placed}) == 80
    assert max(row for _x, row, _p in placed) < 8
    for x, _row, piece in placed:
        assert abs(x - (piece.cone - 4.5) / 3 * 400) < 40


def test_a_fault_and_none_seen_differ_in_shape_and_colour(qtbot: QtBot):
    strip = DotStrip()
    qtbot.addWidget(strip)
    strip.resize(320, 112)
    strip.show_pieces([InspectedPiece(6.0, False)])
    assert count_colour(strip, "rust") == 0
    strip.show_pieces([InspectedPiece(6.0, True)])
    assert count_colour(strip, "rust") >= 49  # a filled square of 8 pixels, its rim blended
    strip.show_pieces([InspectedPiece(5.5, True), InspectedPiece(6.0, False)])
    assert strip.toolTip() == "2 pieces inspected, cone 5½ to 6: 1 with the fault."
    strip.show_pieces([])
    strip.grab()
    assert strip.accessibleDescription() == "No piece was inspected."
