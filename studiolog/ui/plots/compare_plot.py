"""The plot of compared firings: any number of curves over their differences from what is usual."""

from typing import Any

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication, QWidget

from studiolog.desktop import theme, tokens
from studiolog.ui.plots.compare_cursor import CompareCursor, CursorLook, lay_out_cursor
from studiolog.ui.plots.compare_lines import ComparedLine, ComparedLines, ComparedReading
from studiolog.ui.plots.compare_picture import ReadFrame, draw_comparison, read_frame
from studiolog.ui.plots.compare_sums import nearest_curve
from studiolog.ui.plots.cursor_repaint import repaint_moved
from studiolog.ui.plots.firing_picture import draw_words
from studiolog.ui.plots.plot_brushwork import Frame, draw_card, pen, px
from studiolog.ui.plots.plot_ticks import Unit

__all__ = ["ComparePlot", "ComparedLine", "ComparedLines", "ComparedReading"]

_LEFT, _RIGHT, _TOP, _FOOT, _BETWEEN = 58.0, 22.0, 56.0, 32.0, 58.0
_TOP_SPAN_C = 150.0
_LEAST_OFF_C = 12.0
_SHORTEST_S = 600.0
_ZOOM = 1.25
_FAR_STEP = 10


class ComparePlot(QWidget):
    """Curves of firings on one clock, and below them how far each is from what is usual.

    Keys: Left and Right move the cursor, with Shift ten steps, Home and End to the ends; Up and
    Down go to the curve above or below; Enter makes the curve at the cursor the one that stands
    out; Z zooms to the top and back; + and − zoom. A click chooses, the wheel and dragging zoom,
    a double click shows the whole again.
    """

    picked = Signal(int)
    """The id of the firing that should stand out."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines = ComparedLines()
        self._unit: Unit = "C"
        self._empty = "Nothing to compare yet"
        self._view = (0.0, 1.0, 0.0, 1.0)
        self._zoomed_to_top = False
        self._at_s: float | None = None
        self._row: int | None = None
        self._cursor: CompareCursor | None = None
        self._look: CursorLook | None = None
        self._read: tuple[ReadFrame, ReadFrame] | None = None
        self._picture: QPixmap | None = None
        self._canvas: QPixmap | None = None
        self._pressed: QPointF | None = None
        self._dragged: QRectF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMouseTracking(True)
        self.setAccessibleName("Plot of the firings compared")
        self.setMinimumSize(420, 360)
        theme.current().changed.connect(self.redraw)

    # What others use

    @property
    def lines(self) -> ComparedLines:
        """What is shown."""
        return self._lines

    def show_lines(self, lines: ComparedLines, keep_view: bool = False) -> None:
        """Draw these firings; the whole of them, or the part that was looked at."""
        held = None if self._row is None else self._lines.lines[self._row].firing_id
        self._lines = lines
        self._row = lines.row_of(held)
        if self._row is None:
            self._at_s = None
        if keep_view:
            self.redraw()
        else:
            self.show_whole()
        self._describe()

    def set_unit(self, unit: Unit) -> None:
        """Write every temperature in °C or °F."""
        if unit != self._unit:
            self._unit = unit
            self.redraw()

    def set_empty(self, words: str) -> None:
        """What is said where there is no curve."""
        self._empty = words
        self.redraw()
        self._describe()

    def show_whole(self) -> None:
        """Show all curves from their first reading to their last."""
        self._zoomed_to_top = False
        clock, heats = self._lines.clock_s, self._lines.temperature_c
        if heats.size and not np.isnan(heats).all():
            low, high = float(np.nanmin(heats)), float(np.nanmax(heats))
            self._set_view(float(clock[0]), float(clock[-1]), min(0.0, low), high * 1.04 + 5)
        else:
            self._set_view(0.0, 12 * 3600.0, 0.0, 1250.0)

    def zoom_to_top(self) -> None:
        """Show the top of the firings, or the whole again."""
        if self._zoomed_to_top:
            self.show_whole()
            return
        row = self._lines.row_of(self._lines.chosen)
        heats = self._lines.temperature_c
        if not heats.size:
            return
        one = heats[row] if row is not None else np.nanmax(heats, axis=0)
        if np.isnan(one).all():
            return
        peak = float(np.nanmax(one))
        floor = peak - min(_TOP_SPAN_C, (peak - float(np.nanmin(one))) / 2)
        near = self._lines.clock_s[one >= floor]
        pad = max(900.0, (float(near[-1]) - float(near[0])) * 0.15)
        self._zoomed_to_top = True
        self._set_view(float(near[0]) - pad, float(near[-1]) + pad, floor, peak + 25)

    def show_span(self, start_s: float, end_s: float) -> None:
        """Show one stretch of time; the temperatures shown stay."""
        self._set_view(start_s, end_s, *self._view[2:])

    def frames(self) -> tuple[Frame, Frame]:
        """The pixels, times and values of the upper and of the lower plot."""
        heat, off = self.read_frames()
        return heat.frame, off.frame

    def reading(self) -> ComparedReading | None:
        """What the cursor reads, None where it does not stand on a curve."""
        lines = self._lines
        if self._row is None or self._at_s is None:
            return None
        value = lines.value(self._row, self._at_s)
        if value is None:
            return None
        chosen = lines.row_of(lines.chosen)
        beside = chosen is not None and chosen != self._row
        return ComparedReading(
            line=lines.lines[self._row],
            at_s=self._at_s,
            time=lines.write_time(self._at_s),
            value_c=value,
            usual_c=lines.usual_at(self._at_s),
            usual_words=lines.usual_words,
            chosen=lines.lines[chosen] if beside and chosen is not None else None,
            chosen_c=lines.value(chosen, self._at_s) if beside and chosen is not None else None,
        )

    def move_cursor_to(self, at_s: float, temperature_c: float | None = None) -> None:
        """Put the cursor at a time, on the curve nearest to a temperature, or on the one held."""
        heat, _off = self.frames()
        if temperature_c is not None:
            self.point_at(heat.point(at_s, temperature_c))
        elif self._row is not None or self._take_a_row():
            self._put(at_s, self._row)

    def point_at(self, spot: QPointF) -> None:
        """Put the cursor on the curve nearest to a pixel."""
        heat, off = self.read_frames()
        read = off if off.frame.rect.contains(spot) and self._lines.has_usual else heat
        frame = read.frame
        row = nearest_curve(
            read.columns,
            spot.x() - frame.rect.left(),
            spot.y() - frame.rect.top(),
            frame.high,
            frame.low,
            frame.rect.height(),
        )
        if row is not None:
            self._put(frame.time_at(spot.x()), row)

    def redraw(self) -> None:
        """Throw the finished picture away; it is made anew when next painted."""
        self._picture = self._read = self._cursor = self._look = None
        self.update()

    # Ranges

    def _set_view(self, start_s: float, end_s: float, low: float, high: float) -> None:
        if end_s - start_s < _SHORTEST_S:
            middle = (start_s + end_s) / 2
            start_s, end_s = middle - _SHORTEST_S / 2, middle + _SHORTEST_S / 2
        if high - low < 5:
            high = low + 5
        self._view = (start_s, end_s, low, high)
        self.redraw()

    def read_frames(self) -> tuple[ReadFrame, ReadFrame]:
        """Both plots with their curves in columns of pixels."""
        if self._read is None:
            start, end, low, high = self._view
            left = px(_LEFT - 20) + 20
            width = max(100.0, float(round(self.width() - left - _RIGHT)))
            below = float(round(max(84.0, min(220.0, self.height() * 0.26))))
            room = self.height() - px(_TOP) - px(_BETWEEN) - px(_FOOT) - below
            upper = QRectF(left, px(_TOP), width, max(60.0, float(round(room))))
            lower = QRectF(left, upper.bottom() + px(_BETWEEN), width, below)
            heat = read_frame(Frame(upper, start, end, low, high), self._lines, False)
            reach = self._reach(start, end)
            off = read_frame(Frame(lower, start, end, -reach, reach), self._lines, True)
            self._read = (heat, off)
        return self._read

    def _reach(self, start_s: float, end_s: float) -> float:
        """How far the lower plot goes either way: the chosen curve and the band, with some room."""
        lines = self._lines
        if not lines.has_usual:
            return _LEAST_OFF_C
        seen = (lines.clock_s >= start_s) & (lines.clock_s <= end_s)
        row = lines.row_of(lines.chosen)
        parts = [] if row is None else [np.abs(lines.difference_c[row][seen])]
        if lines.has_band:
            parts += [np.abs(e[seen] - lines.usual_c[seen]) for e in (lines.low_c, lines.high_c)]
        if not parts:
            parts = [np.abs(lines.difference_c[:, seen]).ravel()]
        values = np.concatenate(parts)
        values = values[~np.isnan(values)]
        return max(_LEAST_OFF_C, float(values.max()) * 1.12) if values.size else _LEAST_OFF_C

    # Cursor

    def _take_a_row(self) -> bool:
        """Start on the chosen curve, else on the first."""
        row = self._lines.row_of(self._lines.chosen)
        self._row = row if row is not None else 0 if self._lines.lines else None
        return self._row is not None

    def _put(self, at_s: float, row: int | None) -> None:
        if row is None or (at_s == self._at_s and row == self._row):
            return
        left = self._cursor
        self._at_s, self._row = at_s, row
        self._cursor = None
        self._follow()
        if self._picture is None:
            self.update()
            return
        self._cursor = self._lay_out_cursor()
        repaint_moved(
            self,
            left.parts() if left is not None else (),
            self._cursor.parts() if self._cursor is not None else (),
        )

    def _follow(self) -> None:
        start, end, low, high = self._view
        if self._at_s is not None and not start <= self._at_s <= end:
            half = (end - start) / 2
            self._set_view(self._at_s - half, self._at_s + half, low, high)

    def _lay_out_cursor(self) -> CompareCursor | None:
        reading = self.reading()
        if reading is None:
            return None
        frames = heat, off = self.frames()
        if not heat.low_s <= reading.at_s <= heat.high_s:
            return None
        dots = []
        if heat.shows(reading.at_s, reading.value_c):
            dots.append(heat.point(reading.at_s, reading.value_c))
        if reading.usual_c is not None:
            less = reading.value_c - reading.usual_c
            if off.shows(reading.at_s, less):
                dots.append(off.point(reading.at_s, less))
        if self._look is None:
            self._look = CursorLook(heat, self._main_rows(), self.width())
        rows = reading.rows(self._unit)
        return lay_out_cursor(heat.x(reading.at_s), tuple(dots), rows, frames, self._look)

    def _main_rows(self) -> Any:
        """Where the chosen curve and what is usual run in the upper plot, in rows of pixels."""
        read = self.read_frames()[0]
        chosen = self._lines.row_of(self._lines.chosen)
        rows = [read.usual.edges[0]]
        if chosen is not None:
            rows.append(read.columns.edges[chosen])
        frame = read.frame
        return (frame.high - np.stack(rows)) * (frame.rect.height() / (frame.high - frame.low))

    def _describe(self) -> None:
        reading = self.reading()
        if reading is not None:
            self.setAccessibleDescription(reading.sentence(self._unit))
            return
        count = len(self._lines.lines)
        self.setAccessibleDescription(
            f"{count} curves. The arrows read them, Enter makes one stand out."
            if count
            else self._empty
        )

    def _step(self, by: int) -> None:
        """By as many steps of the clock as one can see; on the curve that is held."""
        if self._row is None and not self._take_a_row():
            return
        lines = self._lines
        known = np.flatnonzero(~np.isnan(lines.temperature_c[self._row]))
        if not known.size:
            return
        start, end = self._view[:2]
        stride = max(1, round((end - start) / lines.step_s / 240))
        if self._at_s is None:
            first = int(np.searchsorted(lines.clock_s[known], start))
            at = min(first, known.size - 1) if by > 0 else known.size - 1
        else:
            at = int(np.searchsorted(lines.clock_s[known], self._at_s)) + by * stride
        at = max(0, min(known.size - 1, at))
        self._put(float(lines.clock_s[known[at]]), self._row)

    def _climb(self, up: bool) -> None:
        """To the curve next above or below at the cursor's time."""
        if self._row is None or self._at_s is None:
            self._step(1)
            return
        values = [self._lines.value(row, self._at_s) for row in range(len(self._lines.lines))]
        order = sorted((v, row) for row, v in enumerate(values) if v is not None)
        rows = [row for _value, row in order]
        if self._row in rows:
            place = rows.index(self._row) + (1 if up else -1)
            if 0 <= place < len(rows):
                self._put(self._at_s, rows[place])

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        ratio = self.devicePixelRatioF()
        if self._picture is None or self._picture.devicePixelRatio() != ratio:
            self._picture = self._make_picture(ratio)
            self._cursor = self._lay_out_cursor()
        # One rectangle, whatever the region: see `cursor_repaint`.
        rect = part = event.rect()
        if ratio != 1.0:
            part = QRect(rect.topLeft() * ratio, rect.size() * ratio)
        painter.drawPixmap(rect, self._picture, part)
        if self._cursor is not None:
            self._cursor.draw(painter, rect)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._dragged is not None:
            painter.setPen(pen("cobalt", 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self._dragged)
        if self.hasFocus() and not self.rect().adjusted(4, 4, -4, -4).contains(event.rect()):
            painter.setPen(pen("cobalt", tokens.FOCUS_LINE))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)
        painter.end()

    def _make_picture(self, ratio: float) -> QPixmap:
        size = QSize(max(1, round(self.width() * ratio)), max(1, round(self.height() * ratio)))
        if self._canvas is None or self._canvas.size() != size:
            self._canvas = QPixmap(size)
        picture = self._canvas  # the same memory again: new memory costs more than its paint
        picture.setDevicePixelRatio(ratio)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        card = QRectF(self.rect())
        if not self._lines.lines:
            draw_card(painter, card)
            draw_words(painter, card, self._empty)
        else:
            draw_comparison(painter, card, *self.read_frames(), self._lines, self._unit)
        painter.end()
        return picture

    # Events

    def keyPressEvent(self, event: QKeyEvent) -> None:
        held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        shift = held == Qt.KeyboardModifier.ShiftModifier
        key = event.key()
        if held and not shift:
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self._step((1 if key == Qt.Key.Key_Right else -1) * (_FAR_STEP if shift else 1))
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._climb(key == Qt.Key.Key_Up)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._step(10**6 if key == Qt.Key.Key_End else -(10**6))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._pick()
        elif key == Qt.Key.Key_Z:
            self.zoom_to_top()
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus):
            self._zoom(1 / _ZOOM if key != Qt.Key.Key_Minus else _ZOOM, None)
        else:
            super().keyPressEvent(event)
            return
        self._describe()  # the mouse is not followed in words

    def _pick(self) -> None:
        if self._row is not None:
            self.picked.emit(self._lines.lines[self._row].firing_id)

    def _zoom(self, by: float, about: QPointF | None) -> None:
        """Closer or farther in time and temperature, about a pixel, the cursor or the middle."""
        heat, _off = self.frames()
        start, end, low, high = self._view
        reading = self.reading()
        if about is not None and heat.rect.contains(about):
            at_s = heat.time_at(about.x())
            value = heat.high - (about.y() - heat.rect.top()) / heat.rect.height() * (high - low)
        elif about is None and reading is not None:
            at_s, value = reading.at_s, reading.value_c
        else:
            at_s = heat.time_at(about.x()) if about is not None else (start + end) / 2
            value = (low + high) / 2
        self._zoomed_to_top = False
        self._set_view(
            at_s - (at_s - start) * by,
            at_s + (end - at_s) * by,
            value - (value - low) * by,
            value + (high - value) * by,
        )

    def wheelEvent(self, event: QWheelEvent) -> None:
        turns = event.angleDelta().y() / 120
        if turns:
            self._zoom(_ZOOM**-turns, event.position())
            event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        spot = event.position()
        heat, off = self.frames()
        if self._pressed is not None:
            far = (spot - self._pressed).manhattanLength()
            if far >= QApplication.startDragDistance() and heat.rect.contains(self._pressed):
                self._dragged = QRectF(self._pressed, spot).normalized().intersected(heat.rect)
                self.update()
        elif heat.rect.contains(spot) or off.rect.contains(spot):
            self.point_at(spot)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        pressed, dragged = self._pressed, self._dragged
        self._pressed = self._dragged = None
        if dragged is not None:
            heat, _off = self.frames()
            if dragged.width() > 8 and dragged.height() > 8:
                span = heat.high - heat.low
                top = heat.high - (dragged.top() - heat.rect.top()) / heat.rect.height() * span
                foot = heat.high - (dragged.bottom() - heat.rect.top()) / heat.rect.height() * span
                start, end = heat.time_at(dragged.left()), heat.time_at(dragged.right())
                self._zoomed_to_top = False
                self._set_view(start, end, foot, top)
            self.update()
        elif pressed is not None and self._lines.lines:
            self.point_at(event.position())
            self._pick()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self._pressed = None
        self.show_whole()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.redraw()

    def focusInEvent(self, event: Any) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: Any) -> None:
        super().focusOutEvent(event)
        self.update()
