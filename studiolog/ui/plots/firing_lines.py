"""The curves of a firing plot as items of its scene, thinned to what its pixels can show."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtGui import QPen

from studiolog.ui.plots.curve_arrays import CurveArrays
from studiolog.ui.plots.curve_sums import Numbers, as_numbers, thin_between
from studiolog.ui.plots.plot_brushwork import Frame, pen
from studiolog.ui.plots.plotted_firing import PlotFiring

MANY_CURVES = 50
"""Beyond this a thick pen is too slow (measured: width 2 costs about nine times width 1)."""
_LONG = 8000
"""A curve of more points than this is thinned to the columns of the view."""


_DOTTED, _DOT_PX = 200, 7
"""So many readings taken by hand are dots of this size; more would run into one another."""


@dataclass
class _Line:
    item: Any
    at_s: Numbers
    values: Numbers
    drawn: QPen
    fits: bool
    """Whether it is drawn anew for every view: it is long, or holds what no view can."""
    fitted: tuple[float, ...] = ()


class FiringLines:
    """Program, log, earlier firings and channels in the temperature box; both rates below."""

    def __init__(self, heat_box: pg.ViewBox, rate_box: pg.ViewBox) -> None:
        self._heat_box = heat_box
        self._earlier = self._add(heat_box)
        self._program = self._add(heat_box)
        self._log = self._add(heat_box)
        self._program_rate = self._add(rate_box)
        self._rate = self._add(rate_box)
        self._channels: list[Any] = []
        self._lines: list[_Line] = []

    @staticmethod
    def _add(box: pg.ViewBox) -> Any:
        item = pg.PlotDataItem(connect="finite", antialias=True)
        box.addItem(item, ignoreBounds=True)
        return item

    def show_earlier(self, shown: bool) -> None:
        """Show or hide the earlier firings."""
        self._earlier.setVisible(shown)

    def dress(self, firing: PlotFiring, curves: CurveArrays, as_logged: bool) -> None:
        """Give the lines their curves, in the colours of the theme of now."""
        many = len(firing.earlier) + 1 > MANY_CURVES
        heat_pen = pen("rust", 1.0 if many else 2.25)
        log = (curves.joined_s, curves.joined_c)
        if as_logged:
            log, heat_pen = (curves.raw.joined_s, curves.raw.joined), pen("rust", 1.0)
        for item in self._channels:
            self._heat_box.removeItem(item)
        self._channels = [self._add(self._heat_box) for _channel in firing.extra_channels]
        lines = [
            (self._earlier, curves.earlier_s, curves.earlier_c, pen("prev", 1.0)),
            (self._program, curves.program_s, curves.program_c, pen("ink", 1.5, (5, 4))),
            (self._log, *log, heat_pen),
            (
                self._program_rate,
                curves.program_rate_s,
                curves.program_rate,
                pen("ink", 1.25, (5, 4)),
            ),
            (self._rate, curves.rate_s, curves.rate, pen("rust", 1.0 if many else 1.75)),
            *(
                (
                    item,
                    as_numbers(channel.at_s),
                    as_numbers(channel.temperature_c),
                    pen("rust", 1.0, (2, 3)),
                )
                for item, channel in zip(self._channels, firing.extra_channels, strict=True)
            ),
        ]
        self._lines = []
        for item, at_s, values, drawn in lines:
            # The earlier firings follow one after another in their array, each from its start.
            long = len(at_s) > _LONG and item is not self._earlier
            fits = long or (as_logged and item is self._log)
            self._lines.append(_Line(item, at_s, values, drawn, fits))
            if not fits:
                dots = firing.by_hand and item is self._log and len(at_s) <= _DOTTED
                item.setData(
                    at_s, values, pen=drawn, antialias=not many,
                    symbol="o" if dots else None, symbolSize=_DOT_PX, symbolPen=None,
                    symbolBrush=drawn.color(),
                )  # fmt: skip
        self._many = many

    def fit(self, heat: Frame, rate: Frame) -> None:
        """Thin the long curves to what the frames show; called before a picture is made."""
        for line in self._lines:
            frame = rate if line.item in (self._rate, self._program_rate) else heat
            seen = (frame.low_s, frame.high_s, frame.low, frame.high, frame.rect.width())
            if not line.fits or line.fitted == seen:
                continue
            line.fitted = seen
            at_s, values = thin_between(
                line.at_s, line.values, frame.low_s, frame.high_s, int(frame.rect.width())
            )
            if line.item is self._log:
                # What a broken thermocouple said would overflow the scene's sums.
                reach = frame.high - frame.low
                values = np.clip(values, frame.low - reach, frame.high + reach)
            line.item.setData(at_s, values, pen=line.drawn, antialias=not self._many)
