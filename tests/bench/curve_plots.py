"""The plot of a firing with two hundred curves: panning it, and reading it with the cursor."""

import statistics
import time
from collections.abc import Callable
from datetime import datetime

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QSize
from PySide6.QtWidgets import QApplication

from studiolog.desktop import theme
from studiolog.ui.plots.firing_plot import FiringPlot, PlotFiring, PlottedCurve
from tests.bench.result import Result

CURVES, READINGS = 200, 800
SIZE = QSize(1000, 760)
_PAN_S = 300.0


def make_curves() -> list[tuple[list[float], list[float]]]:
    """Two hundred logged firings: seconds and °C."""
    chance = np.random.default_rng(3)
    at_s = np.arange(READINGS) * 90.0
    found = []
    for _ in range(CURVES):
        peak_s = 9.5 * 3600 * (1 + 0.06 * chance.standard_normal())
        rise = 20 + 1200 * np.clip(at_s / peak_s, 0, 1) ** 0.8
        fall = 20 + 1200 * np.exp(-np.clip(at_s - peak_s, 0, None) / 14_000)
        curve_c = np.where(at_s < peak_s, rise, fall) + chance.normal(0, 1.2, READINGS)
        found.append((at_s.tolist(), np.round(curve_c, 1).tolist()))
    return found


def show_own(curves: list[tuple[list[float], list[float]]]) -> FiringPlot:
    """The program's plot: one firing, and all the others as those before it."""
    plot = FiringPlot()
    plot.resize(SIZE)
    (at_s, curve_c), *earlier = curves
    plot.show_firing(
        PlotFiring(
            curve_s=at_s,
            curve_c=curve_c,
            program_s=(0.0, 9.5 * 3600, 10 * 3600, 20 * 3600),
            program_c=(20.0, 1220.0, 1220.0, 20.0),
            started_at=datetime(2026, 10, 4, 7, 10),
            earlier=tuple(PlottedCurve(str(n), s, c) for n, (s, c) in enumerate(earlier)),
            number="200",
        )
    )
    plot.show()
    return plot


class PlainPlot(pg.PlotWidget):  # type: ignore[misc]
    """pyqtgraph as it comes: axes, an item a curve, a cross of lines and a text at the mouse."""

    def __init__(self, curves: list[tuple[list[float], list[float]]]) -> None:
        super().__init__()
        self.resize(SIZE)
        self._items = [
            self.plot(at_s, curve_c, pen=pg.intColor(number))
            for number, (at_s, curve_c) in enumerate(curves)
        ]
        self._first = curves[0]
        self._upright, self._level = pg.InfiniteLine(angle=90), pg.InfiniteLine(angle=0)
        self._text = pg.TextItem()
        for item in (self._upright, self._level, self._text):
            self.addItem(item, ignoreBounds=True)
        self.show()

    def set_curves(self, curves: list[tuple[list[float], list[float]]]) -> None:
        """Draw other curves in place of these."""
        for item, (at_s, curve_c) in zip(self._items, curves, strict=True):
            item.setData(at_s, curve_c)

    def move_cursor_to(self, at_s: float) -> None:
        """Show the first curve's value at a time."""
        value = float(np.interp(at_s, *self._first))
        self._upright.setPos(at_s)
        self._level.setPos(value)
        self._text.setPos(at_s, value)
        self._text.setText(f"{at_s / 3600:.2f} h  {value:.0f} °C")


def time_of(work: Callable[[], object]) -> float:
    """Seconds until a change is on the screen."""
    for _ in range(3):
        QApplication.processEvents()
    begin = time.perf_counter()
    work()
    QApplication.processEvents()
    return time.perf_counter() - begin


def measure_curves(rounds: int = 15) -> list[Result]:
    """Pan and hover, the program's plot and pyqtgraph's own in turn."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    theme.current().apply(app)
    curves = make_curves()
    own, plain = show_own(curves), PlainPlot(curves)
    heat = own.frames()[0]
    box = plain.getPlotItem().getViewBox()
    box.setXRange(heat.low_s, heat.high_s, padding=0)
    box.setYRange(heat.low, heat.high, padding=0)
    QApplication.processEvents()
    times: dict[str, list[float]] = {
        name: [] for name in ("pan", "plain pan", "hover", "plain hover")
    }
    for turn in range(rounds + 2):
        by = _PAN_S * (turn + 1) * (1 if turn % 2 else -1)
        start, end = heat.low_s + by, heat.high_s + by
        times["pan"].append(time_of(lambda a=start, b=end: own.show_span(a, b)))
        times["plain pan"].append(time_of(lambda a=start, b=end: box.setXRange(a, b, padding=0)))
    own.show_span(heat.low_s, heat.high_s)
    box.setXRange(heat.low_s, heat.high_s, padding=0)
    for turn in range(rounds + 2):  # the mouse moves many times over one picture
        at_s = 3600.0 * (2 + turn)
        times["hover"].append(time_of(lambda s=at_s: own.move_cursor_to(s)))
        times["plain hover"].append(time_of(lambda s=at_s: plain.move_cursor_to(s)))
    took = {name: statistics.median(found[2:]) for name, found in times.items()}
    own.close()
    plain.close()
    told = ", ".join(f"{name} {seconds * 1000:.1f} ms" for name, seconds in took.items())
    return [
        Result(
            "200 curves of 800 readings, pan with axes",
            took["pan"] / took["plain pan"],
            "≤ 0.5",
            "pyqtgraph as it comes",
            rounds,
            told,
        ),
        Result(
            "200 curves of 800 readings, hover",
            took["hover"] / took["plain hover"],
            "≤ 0.02",
            "pyqtgraph as it comes",
            rounds,
        ),
    ]
