"""A changed program drawn over the plot of a program, with two handles to drag its top by.

The round handle is the top: up and down for the temperature, left and right for the rate of the
climb. The square one ends the hold. What is dragged is told in °C, °C/h and minutes; whoever
listens answers with the line anew. The keyboard has the sliders beside the plot.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from studiolog.ui.plots.firing_plot import FiringPlot
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_curve,
    draw_line_of_text,
    ink,
    pen,
    px,
)

_REACH = 12.0  # px round a handle that catch the pointer
_APART = 20.0  # px the square handle stands beside the round one where there is no hold
_DECIDED = 4.0  # px of drag that decide between temperature and rate

Grip = Literal["top", "hold"]


@dataclass(frozen=True)
class WhatIfLine:
    """The program as it would be, and where its top stands on it.

    Seconds and °C; ``climb_s`` is when the last climb starts, at ``climb_c``. ``changed`` False:
    it is the program's own line, and only the handles are drawn.
    """

    at_s: tuple[float, ...]
    temperature_c: tuple[float, ...]
    climb_s: float
    climb_c: float
    top_s: float
    top_c: float
    hold_end_s: float
    changed: bool


class WhatIfHandles(QWidget):
    """Lies over a plot and lets the mouse through, but for the handles.

    ``peak_dragged`` °C, ``rate_dragged`` °C/h and ``hold_dragged`` minutes.
    """

    peak_dragged = Signal(float)
    rate_dragged = Signal(float)
    hold_dragged = Signal(float)

    def __init__(self, plot: FiringPlot) -> None:
        super().__init__(plot)
        self._plot = plot
        self._line: WhatIfLine | None = None
        self._grip: Grip | None = None
        self._near: Grip | None = None
        self._from: tuple[QPointF, WhatIfLine, Frame] | None = None
        self._way = ""
        self._stretched = False
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setGeometry(plot.rect())
        plot.installEventFilter(self)
        plot.surface.installEventFilter(self)
        self.show()

    def show_line(self, line: WhatIfLine | None) -> None:
        """Draw a changed program, or nothing."""
        self._line = line
        changed = line is not None and line.changed
        if line is not None and changed and self._grip is None:
            heat = self._plot.frames()[0]
            if line.at_s[-1] > heat.high_s:
                self._plot.show_span(heat.low_s, line.at_s[-1])
                self._stretched = True
        elif not changed and self._stretched:
            self._stretched = False
            self._plot.show_whole()
        self.raise_()
        self.update()

    def grips(self) -> dict[Grip, QPointF]:
        """Where the handles stand, in pixels of the plot; those out of sight are left out."""
        line, heat = self._line, self._plot.frames()[0]
        if line is None or not heat.shows(line.top_s, line.top_c):
            return {}
        top = heat.point(line.top_s, line.top_c)
        end = heat.point(line.hold_end_s, line.top_c)
        if end.x() - top.x() < px(_APART):
            end = QPointF(top.x() + px(_APART), top.y())
            if end.x() > heat.rect.right() + px(8):  # a program that ends at its top: under it
                end = QPointF(top.x(), top.y() + px(_APART))
        return {"top": top, "hold": end}

    def paintEvent(self, event: QPaintEvent) -> None:
        line = self._line
        if line is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        heat = self._plot.frames()[0]
        if line.changed:
            at_s, values = np.array(line.at_s), np.array(line.temperature_c)
            draw_curve(painter, heat, at_s, values, pen("sheet", 4.0))
            draw_curve(painter, heat, at_s, values, pen("cobalt", 2.0, (7, 4)))
            self._draw_key(painter, heat)
        for grip, at in self.grips().items():
            held = grip in (self._grip, self._near)
            painter.setPen(QPen(ink("cobalt"), 2.0))
            painter.setBrush(ink("cobalt" if held else "sheet"))
            side = px(5.0)
            if grip == "top":
                painter.drawEllipse(at, side, side)
            else:
                painter.drawRect(QRectF(at.x() - side, at.y() - side, 2 * side, 2 * side))
        painter.end()

    def _draw_key(self, painter: QPainter, heat: Frame) -> None:
        """What the line is, at the foot of the temperatures, where no curve runs."""
        words = TextLine("what if, not kept", "cobalt")
        left = heat.rect.right() - words.width() - px(8)
        top = heat.rect.bottom() - px(8) - words.height()
        painter.setPen(pen("cobalt", 2.0, (7, 4)))
        middle = top + words.height() / 2
        painter.drawLine(QPointF(left - px(34), middle), QPointF(left - px(8), middle))
        draw_line_of_text(painter, left, top, words, "sheet")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: take the mouse where a handle is, and grow with the plot."""
        if watched is self._plot:
            if event.type() == QEvent.Type.Resize:
                self.setGeometry(self._plot.rect())
            return False
        if self._line is None or not isinstance(event, QMouseEvent):
            return False
        at, kind = event.position(), event.type()
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            self._grip = self._grip_at(at)
            if self._grip is None:
                return False
            self._from, self._way = (at, self._line, self._plot.frames()[0]), ""
            return True
        if kind == QEvent.Type.MouseMove:
            if self._grip is not None:
                self._drag(at)
                return True
            self._point(self._grip_at(at))
            return False
        if kind == QEvent.Type.MouseButtonRelease and self._grip is not None:
            self._grip = self._from = None
            self.show_line(self._line)
            return True
        return False

    def _grip_at(self, at: QPointF) -> Grip | None:
        for grip, place in self.grips().items():
            if (place - at).manhattanLength() <= px(_REACH):
                return grip
        return None

    def _point(self, grip: Grip | None) -> None:
        if grip != self._near:
            self._near = grip
            shape = {
                None: Qt.CursorShape.ArrowCursor,
                "top": Qt.CursorShape.SizeAllCursor,
                "hold": Qt.CursorShape.SizeHorCursor,
            }[grip]
            self._plot.surface.setCursor(shape)
            self.update()

    def _drag(self, at: QPointF) -> None:
        assert self._from is not None
        begun, line, heat = self._from
        moved = at - begun
        by_s = moved.x() / heat.rect.width() * (heat.high_s - heat.low_s)
        if self._grip == "hold":
            self.hold_dragged.emit(max(round((line.hold_end_s - line.top_s + by_s) / 60.0), 0.0))
            return
        if not self._way:
            if moved.manhattanLength() < _DECIDED:
                return
            self._way = "up" if abs(moved.y()) >= abs(moved.x()) else "along"
        if self._way == "up":
            by_c = -moved.y() / heat.rect.height() * (heat.high - heat.low)
            self.peak_dragged.emit(float(round(line.top_c + by_c)))
        else:
            climb_s = max(line.top_s - line.climb_s + by_s, 60.0)
            rate = (line.top_c - line.climb_c) / climb_s * 3600.0
            self.rate_dragged.emit(float(max(round(rate), 1)))
