"""What the importer understood of a log file, drawn before anything is saved."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPixmap, QResizeEvent
from PySide6.QtWidgets import QGraphicsView, QWidget

from studiolog.desktop import theme
from studiolog.ui.plots.curve_arrays import span_of
from studiolog.ui.plots.curve_sums import (
    as_numbers,
    cut_at_gaps,
    join_with_breaks,
)
from studiolog.ui.plots.firing_picture import draw_time_axis, draw_values, draw_words
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_card,
    draw_hatching,
    draw_line_of_text,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import Unit
from studiolog.ui.plots.plotted_firing import PlotFiring, PlottedCurve, Span

_DASHES: tuple[tuple[float, ...], ...] = ((), (6, 3), (2, 3), (8, 3, 2, 3))
_COLOURS = ("rust", "ink", "celadon", "ochre")


@dataclass(frozen=True)
class PlotLog:
    """A log as read: channels, the readings left out of each, and the silences."""

    channels: tuple[PlottedCurve, ...] = ()
    dropped: Sequence[tuple[float, float]] = ()
    """(seconds, °C as written) of readings that were left out."""
    gaps: tuple[Span, ...] = ()
    started_at: datetime | None = None


class LogPreviewPlot(QWidget):
    """Channels as lines that differ in colour and dash, gaps hatched, left-out readings crossed.

    A left-out reading far outside the scale is marked at the edge: the scale is the kept ones'.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._log = PlotLog()
        self._unit: Unit = "C"
        self._picture: QPixmap | None = None
        self.setMinimumSize(320, 200)
        self.setAccessibleName("Preview of the log")
        self._view = pg.GraphicsView(self, background=None)
        self._view.setFrameShape(QGraphicsView.Shape.NoFrame)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.hide()  # the scene is drawn into the picture, never shown by itself
        self._box = pg.ViewBox(enableMenu=False, enableMouse=False)
        self._box.disableAutoRange()
        self._view.scene().addItem(self._box)
        self._lines: list[Any] = []
        theme.current().changed.connect(self._restyle)

    def show_log(self, log: PlotLog) -> None:
        """Draw a log in place of the one before."""
        self._log = log
        names = ", ".join(c.name for c in log.channels) or "no readings"
        gaps = len(log.gaps)
        self.setAccessibleDescription(
            f"Channels: {names}. Readings left out: {len(log.dropped)}. Gaps: {gaps}."
        )
        self._restyle()

    def set_unit(self, unit: Unit) -> None:
        """Write the scale in °C or °F."""
        self._unit = unit
        self._redraw()

    def _redraw(self) -> None:
        self._picture = None
        self.update()

    def _restyle(self) -> None:
        self._box.setGeometry(self.frame().rect)
        for item in self._lines:
            self._box.removeItem(item)
        self._lines = []
        for place, channel in enumerate(self._log.channels):
            at_s, values = as_numbers(channel.at_s), as_numbers(channel.temperature_c)
            joined = join_with_breaks(cut_at_gaps(at_s, values, self._log.gaps))
            item = pg.PlotDataItem(connect="finite", antialias=True)
            self._box.addItem(item, ignoreBounds=True)
            item.setData(*joined, pen=self._pen(place))
            self._lines.append(item)
        start, end = span_of([as_numbers(c.at_s) for c in self._log.channels], (0.0, 3600.0))
        low, high = span_of([as_numbers(c.temperature_c) for c in self._log.channels], (0, 1250))
        low = min(low, 0.0)
        self._box.setRange(
            xRange=(start, max(end, start + 60)),
            yRange=(low, high + (high - low) * 0.06 + 1),
            padding=0,
        )
        self._redraw()

    @staticmethod
    def _pen(place: int) -> Any:
        width = 1.75 if place == 0 else 1.25
        return pen(_COLOURS[place % 4], width, _DASHES[place % 4])

    def frame(self) -> Frame:
        """The pixels, seconds and °C shown."""
        rect = QRectF(
            20 + px(32),
            px(40),
            max(60.0, self.width() - px(32) - 40),
            max(40.0, self.height() - px(84)),
        )
        (low_s, high_s), (low, high) = self._box.viewRange()
        return Frame(rect, low_s, high_s, low, high)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._view.setGeometry(self.rect())
        self._box.setGeometry(self.frame().rect)
        self._redraw()

    def paintEvent(self, _event: QPaintEvent) -> None:
        ratio = self.devicePixelRatioF()
        if self._picture is None or self._picture.devicePixelRatio() != ratio:
            self._picture = self._make_picture(ratio)
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._picture)
        painter.end()

    def _make_picture(self, ratio: float) -> QPixmap:
        picture = QPixmap(max(1, round(self.width() * ratio)), max(1, round(self.height() * ratio)))
        picture.setDevicePixelRatio(ratio)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        card, frame = QRectF(self.rect()), self.frame()
        draw_card(painter, card)
        if not any(len(c.at_s) for c in self._log.channels):
            draw_words(painter, card, "No readings understood yet")
            painter.end()
            return picture
        for gap in self._log.gaps:
            draw_hatching(painter, frame.span(*gap))
        draw_values(painter, frame, self._unit, rates=False)
        painter.setBrush(Qt.BrushStyle.NoBrush)  # the scene's lines would be filled with it
        self._view.resize(self.size())
        self._view.render(painter, card, self.rect())
        draw_time_axis(painter, card, (frame,), PlotFiring(started_at=self._log.started_at))
        self._draw_dropped(painter, frame)
        self._draw_key(painter, card)
        painter.end()
        return picture

    def _draw_dropped(self, painter: QPainter, frame: Frame) -> None:
        painter.setPen(pen("rust", 1.5))
        for at_s, value in self._log.dropped:
            if not frame.low_s <= at_s <= frame.high_s:
                continue
            middle = frame.point(at_s, max(frame.low, min(frame.high, value)))
            for slant in (-1, 1):
                painter.drawLine(middle + QPointF(-4, -4 * slant), middle + QPointF(4, 4 * slant))

    def _draw_key(self, painter: QPainter, card: QRectF) -> None:
        left = draw_line_of_text(
            painter, card.left() + 16, card.top() + px(12), TextLine(f"°{self._unit}", "ink3")
        )
        left += 20
        for place, channel in enumerate(self._log.channels):
            line = TextLine(channel.name, "ink2")
            if left + 30 + line.width() > card.right() - 16:
                break
            painter.setPen(self._pen(place))
            painter.drawLine(
                QPointF(left, card.top() + px(20)), QPointF(left + 22, card.top() + px(20))
            )
            left = draw_line_of_text(painter, left + 30, card.top() + px(12), line) + 24
        many = len(self._log.dropped)
        if many:
            word = "1 reading" if many == 1 else f"{many} readings"
            line = TextLine(f"× {word} left out", "rust")
            if left + line.width() < card.right() - 16:
                draw_line_of_text(
                    painter, card.right() - 16 - line.width(), card.top() + px(12), line
                )
