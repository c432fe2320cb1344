"""One measure of a kiln's wear over its firings, with what it was when new and where to worry."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme, tokens
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_card,
    draw_line_of_text,
    ink,
    pen,
    px,
)
from studiolog.ui.plots.plot_ticks import nice_step

_NEAR = 16.0


@dataclass(frozen=True)
class PlotPoint:
    """One firing: its place among the kiln's firings since the change (0 and below before it)."""

    firing_id: int
    place: int
    value: float
    words: str


@dataclass(frozen=True)
class PlotLine:
    """A level line with its words: what it was when new, where to warn, where to change."""

    value: float
    words: str
    colour: str
    dash: tuple[float, ...] = ()


class KilnWearPlot(QWidget):
    """Left and Right go from firing to firing, Enter opens one.

    ``opened`` carries "firing" and the id; ``told`` the words of the firing stood on.
    """

    opened = Signal(str, int)
    told = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._points: tuple[PlotPoint, ...] = ()
        self._lines: tuple[PlotLine, ...] = ()
        self._trend: tuple[QPointF, QPointF] | None = None
        self._changed = ""
        self._unit = ""
        self._at: int | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Wear over the firings")
        theme.current().changed.connect(self._rescale)
        self._rescale()

    def show_series(
        self,
        points: Sequence[PlotPoint],
        lines: Sequence[PlotLine],
        trend: tuple[tuple[float, float], tuple[float, float]] | None,
        *,
        unit: str,
        changed: str,
        sentence: str,
    ) -> None:
        """Draw the firings, oldest first; ``trend`` is a line by two (place, value).

        ``changed`` are the words at the change, "" where there was none.
        """
        self._points, self._lines = tuple(points), tuple(lines)
        self._trend = None
        if trend is not None:
            (x0, y0), (x1, y1) = trend
            self._trend = QPointF(x0, y0), QPointF(x1, y1)
        self._changed, self._unit = changed, unit
        if self._at is not None and self._at >= len(self._points):
            self._at = None
        self._sentence = sentence
        self._describe()
        self.update()

    def selected(self) -> PlotPoint | None:
        """The firing that is stood on."""
        return self._points[self._at] if self._at is not None else None

    def sizeHint(self) -> QSize:
        return QSize(480, round(px(176)))

    def minimumSizeHint(self) -> QSize:
        return QSize(round(px(240)), round(px(176)))

    def _rescale(self) -> None:
        self.setFixedHeight(round(px(176)))
        self.update()

    def _describe(self) -> None:
        chosen = self.selected()
        told = f"{chosen.words} {self._sentence}" if chosen is not None else self._sentence
        self.setAccessibleDescription(told)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        last = len(self._points) - 1
        chosen = self.selected()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and chosen is not None:
            self.opened.emit("firing", chosen.firing_id)
        elif key == Qt.Key.Key_Home and last >= 0:
            self._stand(0)
        elif key == Qt.Key.Key_End and last >= 0:
            self._stand(last)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and last >= 0:
            way = 1 if key == Qt.Key.Key_Right else -1
            self._stand(last if self._at is None else min(max(self._at + way, 0), last))
        else:
            super().keyPressEvent(event)

    def _stand(self, place: int) -> None:
        self._at = place
        self.told.emit(self._points[place].words)
        self._describe()
        self.update()

    def focusInEvent(self, event: object) -> None:
        self.update()

    def focusOutEvent(self, event: object) -> None:
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self._under(event.position())
        if found is not None:
            self._stand(found)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        found = self._under(event.position())
        if found is not None:
            self.opened.emit("firing", self._points[found].firing_id)

    def _under(self, spot: QPointF) -> int | None:
        if not self._points:
            return None
        frame = self._frame()
        apart = [
            abs(frame.x(one.place) - spot.x()) + abs(frame.y(one.value) - spot.y())
            for one in self._points
        ]
        best = min(range(len(apart)), key=apart.__getitem__)
        return best if apart[best] < _NEAR else None

    def _frame(self) -> Frame:
        values = [one.value for one in self._points] + [line.value for line in self._lines]
        low, high = min(values), max(values)
        room = max((high - low) * 0.12, high * 0.02, 1e-9)
        first, last = self._points[0].place, self._points[-1].place
        caption = TextLine("", "ink3", tokens.CAPTION).height()
        rect = QRectF(self.rect()).adjusted(px(48), px(12), -px(12), -caption - px(6))
        return Frame(rect, first - 0.7, max(last + 0.7, first + 1.3), low - room, high + room)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_card(painter, QRectF(self.rect()))
        if self._points:
            frame = self._frame()
            self._draw_axis(painter, frame)
            self._draw_lines(painter, frame)
            self._draw_points(painter, frame)
        else:
            text = TextLine("no firing to compare yet", "ink3")
            at = QRectF(self.rect()).center()
            draw_line_of_text(painter, at.x() - text.width() / 2, at.y() - text.height() / 2, text)
        if self.hasFocus():
            painter.setPen(pen("cobalt", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)
        painter.end()

    def _draw_axis(self, painter: QPainter, frame: Frame) -> None:
        rect = frame.rect
        step = nice_step(frame.high - frame.low, max(2, int(rect.height() / px(34))))
        n = int(frame.low // step) + 1
        while n * step < frame.high:
            y = frame.y(n * step)
            painter.setPen(pen("line", 1.0))
            painter.drawLine(QPointF(rect.left(), y), QPointF(rect.right(), y))
            digits = 0 if step >= 1 else 1
            text = TextLine(f"{n * step:.{digits}f}", "ink3", tokens.CAPTION)
            draw_line_of_text(painter, rect.left() - text.width() - 6, y - text.height() / 2, text)
            n += 1
        unit = TextLine(self._unit, "ink3", tokens.CAPTION)
        draw_line_of_text(painter, px(6), px(3), unit)
        painter.setPen(pen("ink", 1.0))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        if self._points[0].place <= 0 < self._points[-1].place and self._changed:
            x = frame.x(0.5)
            painter.setPen(pen("ink2", 1.25, (1, 3)))
            painter.drawLine(QPointF(x, rect.top()), QPointF(x, rect.bottom()))
            text = TextLine(self._changed, "ink2", tokens.CAPTION)
            left = min(max(x - text.width() / 2, rect.left()), rect.right() - text.width())
            draw_line_of_text(painter, left, rect.bottom() + 3, text)
        last = TextLine("firings of the kiln →", "ink3", tokens.CAPTION)
        draw_line_of_text(painter, rect.right() - last.width(), rect.bottom() + 3, last)

    def _draw_lines(self, painter: QPainter, frame: Frame) -> None:
        rect = frame.rect
        start = frame.x(0.5) if self._points[0].place <= 0 else rect.left()
        for line in self._lines:
            y = frame.y(line.value)
            painter.setPen(pen(line.colour, 1.25, line.dash))
            painter.drawLine(QPointF(start, y), QPointF(rect.right(), y))
            text = TextLine(line.words, line.colour, tokens.CAPTION)
            # What was when new lies under the later firings: its words go below them, right.
            new = line is self._lines[0]
            left = rect.right() - text.width() - 4 if new else max(start, rect.left()) + 6
            top = y + 1 if new else y - text.height() - 1
            draw_line_of_text(painter, left, top, text, "sheet")
        if self._trend is not None:
            painter.setPen(pen("ink", 1.5, (8, 3, 2, 3)))
            first, last = self._trend
            painter.drawLine(frame.point(first.x(), first.y()), frame.point(last.x(), last.y()))

    def _draw_points(self, painter: QPainter, frame: Frame) -> None:
        for one in self._points:
            spot = frame.point(one.place, one.value)
            before = one.place <= 0
            painter.setPen(pen("prev" if before else "rust", 1.25))
            painter.setBrush(ink("sheet" if before else "rust"))
            painter.drawEllipse(spot, 3.0, 3.0)
        chosen = self.selected()
        if chosen is not None:
            painter.setPen(pen("cobalt", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(frame.point(chosen.place, chosen.value), 7, 7)
