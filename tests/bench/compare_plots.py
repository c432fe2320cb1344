"""The plot of compared firings with two hundred curves: panned, read with the mouse, laid anew."""

import statistics
from collections.abc import Callable

from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication

from studiolog.craft.firing.compare import LaidTogether, TakenCurve, take_curve
from studiolog.craft.limits import SHIPPED
from studiolog.desktop import theme
from studiolog.ui.firings.compare_reading import tell_firings
from studiolog.ui.plots.compare_lines import ComparedLine, ComparedLines
from studiolog.ui.plots.compare_plot import ComparePlot
from tests.bench.curve_plots import CURVES, SIZE, PlainPlot, make_curves, time_of
from tests.bench.result import Result

_PAN_S = 300.0


def _lines(curves: list[TakenCurve], by: str) -> tuple[ComparedLines, LaidTogether]:
    ids = frozenset(one.key for one in curves)
    told = tell_firings(curves, ids, curves[0].key, by, None, SHIPPED)
    laid, middle = told.laid, told.middle
    assert middle is not None
    return (
        ComparedLines(
            clock_s=laid.clock_s,
            lines=tuple(ComparedLine(key, key, "2 Oct 2026") for key in laid.keys),
            temperature_c=laid.temperature_c,
            chosen=told.chosen,
            usual_c=middle.median_c,
            usual_words=f"the median of {len(curves)}",
            low_c=middle.low_c,
            high_c=middle.high_c,
            band_words=middle.words,
        ),
        laid,
    )


def count_wrong(plot: ComparePlot, laid: LaidTogether) -> int:
    """Whether the curve named under the mouse is the nearest one, at a number of spots."""
    heat, _off = plot.frames()
    wrong = 0
    for step in range(12):
        at_s = 3600.0 * (1 + step)
        place = round(at_s / plot.lines.step_s)
        row = (37 * step) % len(laid.keys)
        value = float(laid.temperature_c[row, place])
        plot.move_cursor_to(at_s, value)
        reading = plot.reading()
        if reading is None:
            wrong += 1
            continue
        # It may be another that runs through the same pixels.
        pixel = (heat.high - heat.low) / heat.rect.height()
        wrong += abs(reading.value_c - value) > 3 * pixel
    return wrong


def measure_compare(rounds: int = 15) -> tuple[list[Result], int]:
    """Pan, hover and another alignment, this plot and pyqtgraph's own in turn."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    theme.current().apply(app)
    raw = make_curves()
    curves = [take_curve(number, *one) for number, one in enumerate(raw, 1)]
    plot, plain = ComparePlot(), PlainPlot(raw)
    plot.resize(SIZE)
    lines, laid = _lines(curves, "start")
    plot.show_lines(lines)
    plot.show()
    QApplication.processEvents()
    wrong = count_wrong(plot, laid)
    heat = plot.frames()[0]
    box = plain.getPlotItem().getViewBox()
    box.setXRange(heat.low_s, heat.high_s, padding=0)
    box.setYRange(heat.low, heat.high, padding=0)
    QApplication.processEvents()
    times: dict[str, list[float]] = {}

    def take(name: str, work: Callable[[], object]) -> None:
        times.setdefault(name, []).append(time_of(work))

    others = [(s, [c + 1.0 for c in heats]) for s, heats in raw]
    for turn in range(rounds + 2):
        by = _PAN_S * (turn + 1) * (1 if turn % 2 else -1)
        start, end = heat.low_s + by, heat.high_s + by
        take("pan", lambda a=start, b=end: plot.show_span(a, b))
        take("plain pan", lambda a=start, b=end: box.setXRange(a, b, padding=0))
    plot.show_whole()
    box.setXRange(heat.low_s, heat.high_s, padding=0)
    for turn in range(rounds + 2):  # the mouse moves many times over one picture
        spot = QPointF(160 + 45 * turn, 200 + 9 * turn)
        take("hover", lambda at=spot: plot.point_at(at))
        at_s = 3600.0 * (2 + turn)
        take("plain hover", lambda s=at_s: plain.move_cursor_to(s))
    for turn in range(max(3, rounds // 3)):
        by_what = "peak" if turn % 2 else "leaving"
        take("laid anew", lambda w=by_what: plot.show_lines(_lines(curves, w)[0]))
        moved = others if turn % 2 else raw
        take("plain laid anew", lambda m=moved: plain.set_curves(m))
    took = {name: statistics.median(found[2:]) for name, found in times.items()}
    plot.close()
    plain.close()
    told = ", ".join(f"{name} {seconds * 1000:.1f} ms" for name, seconds in took.items())
    results = []
    for name, what, target in (
        ("pan", "pan with axes", "≤ 0.5"),
        ("hover", "hover", "≤ 0.02"),
        ("laid anew", "another alignment, with median and band", "≤ 1"),
    ):
        results.append(
            Result(
                f"{CURVES} firings compared, {what}",
                took[name] / took[f"plain {name}"],
                target,
                "pyqtgraph as it comes",
                rounds,
                told if name == "pan" else "",
            )
        )
    return results, wrong
