"""The firing plot: temperature over rate, program beside log, and a cursor for mouse and keys."""

from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QObject, QRect, QRectF, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QGraphicsView, QWidget

from studiolog.desktop import theme, tokens
from studiolog.ui.plots.cursor_repaint import repaint_moved
from studiolog.ui.plots.curve_arrays import arrange_curves, nearest, span_of
from studiolog.ui.plots.firing_cursor import FiringCursor, lay_out_cursor
from studiolog.ui.plots.firing_inset import top_span_s
from studiolog.ui.plots.firing_lines import FiringLines
from studiolog.ui.plots.firing_picture import (
    draw_ground,
    draw_headings,
    draw_marks,
    draw_time_axis,
    draw_words,
)
from studiolog.ui.plots.firing_readout import Readout
from studiolog.ui.plots.label_room import LabelRoom
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    draw_card,
    ink,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import Unit
from studiolog.ui.plots.plotted_firing import (
    ConePassing,
    PlotFiring,
    PlottedCurve,
    PlottedSegment,
    QuartzCrossing,
)

__all__ = [
    "ConePassing",
    "FiringPlot",
    "PlotFiring",
    "PlottedCurve",
    "PlottedSegment",
    "QuartzCrossing",
]

_LEFT, _RIGHT, _TOP, _FOOT = 58.0, 22.0, 62.0, 48.0
_BETWEEN = 58.0


class _ZoomBox(pg.ViewBox):  # type: ignore[misc, unused-ignore]
    """A view box that tells its plot when a drag changes what it shows."""

    def __init__(self, plot: "FiringPlot") -> None:
        super().__init__(enableMenu=False)
        self._plot = plot
        self.setMouseMode(pg.ViewBox.RectMode)

    def mouseDragEvent(self, ev: Any, axis: Any = None) -> None:
        super().mouseDragEvent(ev, axis=axis)
        self._plot.redraw()

    def mouseDoubleClickEvent(self, ev: Any) -> None:
        self._plot.show_whole()


class _Cover(QWidget):
    """Shows the finished picture and the cursor on it; opaque, so moving the cursor is cheap."""

    def __init__(self, plot: "FiringPlot") -> None:
        super().__init__(plot)
        self._plot = plot
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        self._plot.paint_on(painter, event.rect())
        painter.end()


class FiringPlot(QWidget):
    """One firing as temperature and rate over time.

    Keys: Left and Right move the cursor by a reading, with Shift by a segment, Home and End to
    the ends; Z zooms to the top of the firing and back; P shows or hides the earlier firings; R
    shows the readings as they were logged, and cleaned again.
    The wheel and dragging zoom, a double click shows the whole again.
    """

    cursor_moved = Signal(str)
    """What the cursor reads, as a sentence."""
    as_logged_changed = Signal(bool)
    """The log is drawn as it came, or cleaned again."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._firing = PlotFiring()
        self._curves = arrange_curves(self._firing)
        self._unit: Unit = "C"
        self._earlier_shown = True
        self._as_logged = False
        self._zoomed_to_top = False
        self._cursor: int | None = None
        self._read: tuple[int, Readout] | None = None
        self._shown_cursor: FiringCursor | None = None
        self._frames: tuple[Frame, Frame] | None = None
        self._loading: float | None = None
        self._picture: QPixmap | None = None
        self._room: LabelRoom | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Firing plot")
        self.setMinimumSize(480, 400)
        self._build()
        theme.current().changed.connect(self._restyle)

    # What others use

    @property
    def firing(self) -> PlotFiring:
        """What is shown."""
        return self._firing

    def show_firing(self, firing: PlotFiring) -> None:
        """Draw a firing in place of the one before; the view goes back to the whole."""
        self._firing = firing
        self._curves = arrange_curves(firing)
        self._cursor = self._read = None
        self._loading = None
        self._restyle()
        self.show_whole()
        self.setAccessibleDescription(self._describe())

    def set_unit(self, unit: Unit) -> None:
        """Write every temperature and rate in °C or °F."""
        self._unit = unit
        self.redraw()
        self._tell_cursor()

    def set_loading(self, done: float | None) -> None:
        """Show how much of the log is read, 0 to 1, as a thin line under the plot; None: all."""
        self._loading = done
        self._cover.update()

    def show_whole(self) -> None:
        """Show the firing from start to end."""
        self._zoomed_to_top = False
        self._set_range(self._whole_range())

    def zoom_to_top(self) -> None:
        """Show the top of the firing, or the whole again."""
        if self._zoomed_to_top:
            self.show_whole()
            return
        at_s, values = self._curves.any_curve()
        if len(at_s) < 2:
            return
        peak = float(values.max())
        floor = peak - min(150.0, (peak - float(values.min())) / 2)
        start, end = top_span_s(at_s, values, floor)
        pad = max((end - start) * 0.06, 300.0)
        self._zoomed_to_top = True
        self._set_range((start - pad, end + pad, floor, peak + (peak - floor) * 0.25))

    def show_span(self, start_s: float, end_s: float) -> None:
        """Show what happened from one time to another; the temperatures shown stay."""
        self._heat_box.setXRange(start_s, end_s, padding=0)
        self.redraw()

    def toggle_earlier(self) -> None:
        """Show or hide the earlier firings of the same program."""
        self._earlier_shown = not self._earlier_shown
        self._lines.show_earlier(self._earlier_shown)
        self.redraw()

    @property
    def as_logged(self) -> bool:
        """Whether the log is drawn and read as it came, with what was set aside."""
        return self._as_logged

    def set_as_logged(self, as_logged: bool) -> None:
        """Draw and read the log as it came, or as it was cleaned; the figures stay the same."""
        if as_logged == self._as_logged:
            return
        readout = self.readout()
        self._as_logged = as_logged
        self._cursor = self._read = None
        self._restyle()
        if readout is not None:
            self.move_cursor_to(readout.at_s)
        self.as_logged_changed.emit(as_logged)

    def toggle_as_logged(self) -> None:
        """Draw the log as it came, or cleaned again."""
        self.set_as_logged(not self._as_logged)

    def move_cursor_to(self, at_s: float) -> None:
        """Put the cursor on the reading nearest to a time, in seconds since the start."""
        times = self._curves.any_curve(self._as_logged)[0]
        if len(times):
            self._put_cursor(nearest(times, at_s))

    def readout(self) -> Readout | None:
        """What the cursor reads, or None before it was used."""
        if self._cursor is None:
            return None
        if self._read is None or self._read[0] != self._cursor:
            self._read = (
                self._cursor,
                self._curves.read_at(self._cursor, self._firing, self._as_logged),
            )
        return self._read[1]

    @property
    def surface(self) -> QWidget:
        """What the mouse is over: for handles that take it before the plot does."""
        viewport: QWidget = self._view.viewport()
        return viewport

    def frames(self) -> tuple[Frame, Frame]:
        """The pixels, times and values of the temperature and of the rate plot."""
        if self._frames is not None:
            return self._frames
        found: list[Frame] = []
        for box, rect in zip((self._heat_box, self._rate_box), self._rects(), strict=True):
            (low_s, high_s), (low, high) = box.viewRange()
            found.append(Frame(rect, low_s, high_s, low, high))
        self._frames = (found[0], found[1])
        return self._frames

    def redraw(self) -> None:
        """Throw the finished picture away; it is made anew when next painted."""
        self._picture = None
        self._shown_cursor = None
        self._frames = None
        self._cover.update()

    # Built and dressed

    def _build(self) -> None:
        self._view = pg.GraphicsView(self, background=None)
        self._view.setFrameShape(QGraphicsView.Shape.NoFrame)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.viewport().installEventFilter(self)
        self._view.viewport().setMouseTracking(True)
        self._view.viewport().setAutoFillBackground(False)
        self._heat_box, self._rate_box = _ZoomBox(self), _ZoomBox(self)
        for box in (self._heat_box, self._rate_box):
            box.disableAutoRange()
            box.setDefaultPadding(0)
            self._view.scene().addItem(box)
            box.sigRangeChanged.connect(self.redraw)
        self._rate_box.setMouseEnabled(x=True, y=False)
        self._rate_box.setXLink(self._heat_box)
        self._lines = FiringLines(self._heat_box, self._rate_box)
        self._cover = _Cover(self)
        self._cover.raise_()

    def _restyle(self) -> None:
        self._lay_out()
        self._lines.dress(self._firing, self._curves, self._as_logged)
        self.redraw()

    def _describe(self) -> str:
        if len(self._curves.log_s):
            count = len(self._curves.log_s)
            return f"Temperature and rate of a firing, {count} readings. Left and Right read them."
        if len(self._curves.program_s):
            return f"The program only. {self._firing.no_log_words}".strip()
        return "No program and no log yet."

    # Ranges

    def _rects(self) -> tuple[QRectF, QRectF]:
        left, top, between = px(_LEFT - 20) + 20, px(_TOP), px(_BETWEEN)
        width = max(100.0, self.width() - left - _RIGHT)
        rate_height = max(84.0, min(160.0, self.height() * 0.17))
        heat_height = max(60.0, self.height() - top - between - rate_height - px(_FOOT))
        heat = QRectF(left, top, width, heat_height)
        return heat, QRectF(left, heat.bottom() + between, width, rate_height)

    def _lay_out(self) -> None:
        self._frames = None
        for box, rect in zip((self._heat_box, self._rate_box), self._rects(), strict=True):
            box.setGeometry(rect)

    def _whole_range(self) -> tuple[float, float, float, float]:
        curves = self._curves
        start, end = span_of((curves.log_s, curves.program_s), (0.0, 3600.0 * 12))
        low, high = span_of((curves.log_c, curves.program_c), (0.0, 1250.0))
        return min(0.0, start), max(end, start + 60), min(0.0, low), high + (high - low) * 0.14 + 1

    def _set_range(self, whole: tuple[float, float, float, float]) -> None:
        start, end, low, high = whole
        self._heat_box.setLimits(minXRange=300, minYRange=5)
        self._heat_box.setRange(xRange=(start, end), yRange=(low, high), padding=0)
        self._rate_box.setRange(yRange=self._rate_range(), padding=0)
        self._rate_box.setXRange(start, end, padding=0)
        self.redraw()

    def _rate_range(self) -> tuple[float, float]:
        curves = self._curves
        low, high = span_of((curves.rate, curves.program_rate), (-200.0, 200.0))
        if len(curves.log_s):
            # A program may ask for the impossible (9999 °C/h): the log sets the scale.
            log_low, log_high = span_of((curves.rate,), (low, high))
            low, high = max(low, log_low * 2 - 50), min(high, log_high * 2 + 50)
        low, high = min(low, 0.0), max(high, 0.0)
        pad = max((high - low) * 0.1, 5.0)
        return low - pad, high + pad

    # Painting

    def paint_on(self, painter: QPainter, dirty: QRect) -> None:
        """Paint the finished picture, then what moves: cursor, readout, progress, focus."""
        ratio = self.devicePixelRatioF()
        if self._picture is None or self._picture.devicePixelRatio() != ratio:
            self._picture = self._make_picture(ratio)
        part = dirty
        if ratio != 1.0:
            part = QRect(dirty.topLeft() * ratio, dirty.size() * ratio)
        painter.drawPixmap(dirty, self._picture, part)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._shown_cursor is None:
            self._shown_cursor = self._lay_out_cursor()
        if self._shown_cursor is not None:
            self._shown_cursor.draw(painter, dirty)
        card = QRectF(self.rect())
        if self._loading is not None:
            left = self._rects()[0].left()
            track = QRectF(left, card.bottom() - 6, card.width() - left - _RIGHT, 2)
            painter.fillRect(track, ink("sunk"))
            track.setWidth(track.width() * max(0.02, min(1.0, self._loading)))
            painter.fillRect(track, ink("cobalt"))
        if self.hasFocus() and not self.rect().adjusted(4, 4, -4, -4).contains(dirty):
            painter.setPen(pen("cobalt", tokens.FOCUS_LINE))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(card.adjusted(1, 1, -1, -1), 6, 6)

    def _make_picture(self, ratio: float) -> QPixmap:
        picture = QPixmap(max(1, round(self.width() * ratio)), max(1, round(self.height() * ratio)))
        picture.setDevicePixelRatio(ratio)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        card = QRectF(self.rect())
        heat, rate = self.frames()
        firing = self._firing
        self._room = None
        if not len(self._curves.log_s) and not len(self._curves.program_s):
            draw_card(painter, card)
            draw_words(painter, card, firing.no_log_words or "No program and no log yet")
        else:
            self._lines.fit(heat, rate)
            draw_ground(painter, card, heat, rate, firing, self._unit)
            painter.setBrush(Qt.BrushStyle.NoBrush)  # the scene's lines would be filled with it
            self._view.render(painter, card, self.rect())
            draw_time_axis(painter, card, (heat, rate), firing)
            draw_headings(
                painter, card, heat, rate, firing, self._unit, self._earlier_shown, self._as_logged
            )
            self._room = draw_marks(
                painter,
                heat,
                firing,
                self._curves,
                self._unit,
                with_inset=self._shows_whole(heat),
                earlier_shown=self._earlier_shown,
            )
        painter.end()
        return picture

    def _shows_whole(self, heat: Frame) -> bool:
        start, end, _low, _high = self._whole_range()
        return heat.low_s <= start + 1 and heat.high_s >= end - 1

    def _lay_out_cursor(self) -> FiringCursor | None:
        readout = self.readout()
        if readout is None:
            return None
        return lay_out_cursor(readout, self.frames(), self._unit, self._room, self.width())

    # Cursor

    def _put_cursor(self, index: int) -> None:
        count = len(self._curves.any_curve(self._as_logged)[0])
        index = max(0, min(count - 1, index))
        if not count or index == self._cursor:
            return
        left = self._shown_cursor
        self._cursor = index
        self._shown_cursor = None
        self._follow_cursor()
        self._tell_cursor()
        if left is None or self._picture is None:
            self._cover.update()
            return
        self._shown_cursor = self._lay_out_cursor()
        now = self._shown_cursor
        repaint_moved(self._cover, left.parts(), now.parts() if now is not None else ())

    def _follow_cursor(self) -> None:
        """Slide a zoomed view so that the cursor never leaves it."""
        heat, _rate = self.frames()
        readout = self.readout()
        if readout is None or heat.low_s <= readout.at_s <= heat.high_s:
            return
        half = (heat.high_s - heat.low_s) / 2
        self.show_span(readout.at_s - half, readout.at_s + half)

    def _tell_cursor(self) -> None:
        readout = self.readout()
        if readout is not None:
            sentence = readout.sentence(self._unit)
            self.setAccessibleDescription(sentence)
            self.cursor_moved.emit(sentence)

    def _step_cursor(self, by: int, whole_segment: bool) -> None:
        times = self._curves.any_curve(self._as_logged)[0]
        if not len(times):
            return
        if self._cursor is None:
            self._put_cursor(0 if by > 0 else len(times) - 1)
        elif not whole_segment:
            self._put_cursor(self._cursor + by)
        else:
            bounds = {s.start_s for s in self._firing.segments}
            bounds |= {s.end_s for s in self._firing.segments}
            stops = np.unique([nearest(times, b) for b in bounds] or [0])
            stops = np.unique(np.concatenate([stops, [0, len(times) - 1]]))
            ahead = stops[stops > self._cursor] if by > 0 else stops[stops < self._cursor]
            if len(ahead):
                self._put_cursor(int(ahead[0] if by > 0 else ahead[-1]))

    # Events

    def keyPressEvent(self, event: QKeyEvent) -> None:
        held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        shift = held == Qt.KeyboardModifier.ShiftModifier
        if held and not shift:
            super().keyPressEvent(event)
            return
        key = event.key()
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self._step_cursor(1 if key == Qt.Key.Key_Right else -1, shift)
        elif key == Qt.Key.Key_Home:
            self._put_cursor(0)
        elif key == Qt.Key.Key_End:
            self._put_cursor(len(self._curves.any_curve(self._as_logged)[0]) - 1)
        elif key == Qt.Key.Key_Z:
            self.zoom_to_top()
        elif key == Qt.Key.Key_P:
            self.toggle_earlier()
        elif key == Qt.Key.Key_R:
            self.toggle_as_logged()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.MouseMove and isinstance(event, QMouseEvent):
            heat, rate = self.frames()
            at = event.position()
            inside = heat.rect.contains(at) or rate.rect.contains(at)
            if inside and not event.buttons():
                self.move_cursor_to(heat.time_at(at.x()))
        elif event.type() == QEvent.Type.MouseButtonPress:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._view.setGeometry(self.rect())
        self._cover.setGeometry(self.rect())
        self._lay_out()
        self.redraw()

    def focusInEvent(self, event: Any) -> None:
        super().focusInEvent(event)
        self._cover.update()

    def focusOutEvent(self, event: Any) -> None:
        super().focusOutEvent(event)
        self._cover.update()
