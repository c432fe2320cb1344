"""Date by date, the chance that a line is ready: a step for each day, the promise as a flag."""

from bisect import bisect_left
from collections.abc import Sequence
from datetime import date, timedelta

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.days import write_day
from studiolog.craft.units import THIN
from studiolog.craft.ware.count_words import say_chance
from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.due import paint_flag
from studiolog.ui.parts.promise_line import DayAxis, paint_axis
from studiolog.ui.plots.plot_brushwork import draw_dot, font, ink, metrics, pen, px

_SURELY = 0.995
_LEAST_DAYS = 21


class ReadySteps(QWidget):
    """The chance to be ready by the end of each day. Left and Right, or the mouse, read a day."""

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._about = about
        self._by_day: tuple[float, ...] = ()
        self._today = date.min
        self._promised: date | None = None
        self._confidence = 0.9
        self.day: int | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(about)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def show_days(
        self,
        by_day: Sequence[float],
        today: date,
        promised_on: date | None,
        confidence: float,
    ) -> None:
        """Show the chances of the days from today on; the day read is the promise's, if ahead."""
        self._by_day, self._today = tuple(by_day), today
        self._promised, self._confidence = promised_on, confidence
        self.day = None
        if promised_on is not None and 0 <= (promised_on - today).days < len(self._by_day):
            self.day = (promised_on - today).days
        elif self._by_day:
            self.day = min(bisect_left(self._by_day, confidence), len(self._by_day) - 1)
        self._say()
        self.update()

    def said(self) -> str:
        """The day that is read, in words."""
        if self.day is None or not self._by_day:
            return "nothing to be told"
        day = self._today + timedelta(days=self.day)
        return f"ready by {write_day(day, self._today)}: {say_chance(self._by_day[self.day])}"

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(420), look.px(190))

    def minimumSizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(220), look.px(190))

    def _say(self) -> None:
        self.setAccessibleName(f"{self._about}: {self.said()}")
        self.setToolTip(self.said())

    def _axis(self) -> DayAxis:
        last = min(bisect_left(self._by_day, _SURELY), len(self._by_day) - 1)
        days = [last + 3, _LEAST_DAYS]
        if self._promised is not None:
            days.append((self._promised - self._today).days + 5)
        first = self._today
        if self._promised is not None and self._promised < first:
            first = max(self._promised, first - timedelta(days=60))
        return DayAxis(first, self._today + timedelta(days=min(max(days), len(self._by_day))))

    def _room(self) -> QRectF:
        left = metrics(CAPTION).horizontalAdvance(f"100{THIN}%") + px(10)
        top = px(24)
        return QRectF(left, top, self.width() - left - px(10), self.height() - top - px(28))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if not self._by_day:
            painter.end()
            return
        room, axis = self._room(), self._axis()
        self._paint_grid(painter, room)
        foot = QRectF(room.left(), room.bottom(), room.width(), px(26))
        steps = self._steps(room, axis)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ink("celadonwash"))
        corners = [QPointF(steps[-1].x(), room.bottom()), QPointF(steps[0].x(), room.bottom())]
        painter.drawPolygon(QPolygonF([*steps, *corners]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen("ink", 1.75))
        painter.drawPolyline(QPolygonF(steps))
        paint_axis(painter, foot, axis, self._today)
        if self._promised is not None:
            x = axis.x(self._promised + timedelta(days=1), room.left(), room.width())
            painter.setPen(pen("ink", 1.0, (3, 3)))
            painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))
            paint_flag(painter, QPointF(x, room.top()), "ink", px(16))
        self._paint_read(painter, room, axis)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("cobalt", 2.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_grid(self, painter: QPainter, room: QRectF) -> None:
        painter.setFont(font(CAPTION))
        half = metrics(CAPTION).height() / 2
        right = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        for share in (0.0, 0.5, 1.0):
            y = room.bottom() - share * room.height()
            painter.setPen(pen("line"))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            painter.setPen(ink("ink3"))
            place = QRectF(0, y - half, room.left() - px(6), 2 * half)
            painter.drawText(place, right, f"{100 * share:.0f}{THIN}%")
        y = room.bottom() - self._confidence * room.height()
        painter.setPen(pen("celadon", 1.0, (4, 3)))
        painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))

    def _steps(self, room: QRectF, axis: DayAxis) -> list[QPointF]:
        points = [QPointF(axis.x(self._today, room.left(), room.width()), room.bottom())]
        for place, chance in enumerate(self._by_day):
            day = self._today + timedelta(days=place)
            if day > axis.last:
                break
            y = room.bottom() - chance * room.height()
            # A day's chance stands from its own evening on.
            x = axis.x(day + timedelta(days=1), room.left(), room.width())
            points += [QPointF(x, points[-1].y()), QPointF(x, y)]
        points.append(QPointF(room.right(), points[-1].y()))
        return points

    def _paint_read(self, painter: QPainter, room: QRectF, axis: DayAxis) -> None:
        if self.day is None:
            return
        day = self._today + timedelta(days=self.day)
        x = axis.x(day + timedelta(days=1), room.left(), room.width())
        y = room.bottom() - self._by_day[self.day] * room.height()
        painter.setPen(pen("cobalt", 1.25))
        painter.drawLine(QPointF(x, y), QPointF(x, room.bottom()))
        draw_dot(painter, QPointF(x, y), "cobalt")
        words = self.said()
        painter.setFont(font(SECONDARY, 600))
        wide = metrics(SECONDARY, 600).horizontalAdvance(words)
        beside = x + px(18)  # past the flag that may stand here
        left = beside if beside + wide <= self.width() - 4 else max(4.0, x - wide - px(8))
        painter.setPen(ink("ink"))
        level = metrics(SECONDARY, 600).ascent() + px(2)
        painter.drawText(QPointF(left, level), words)

    # What a person does

    def read_day(self, day: int) -> None:
        """Read a day, counted from today."""
        if self._by_day:
            self.day = min(max(0, day), len(self._by_day) - 1)
            self._say()
            self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is None or self.day is None:
            super().keyPressEvent(event)
            return
        week = 7 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
        self.read_day(self.day + step * week)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._read_at(event.position().x())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self._read_at(event.position().x())

    def _read_at(self, x: float) -> None:
        room = self._room()
        if not self._by_day or not room.left() <= x <= room.right():
            return
        axis = self._axis()
        span = (axis.last - axis.first).days
        at = round((x - room.left()) / room.width() * span) - 1
        self.read_day(at - (self._today - axis.first).days)

    def event(self, event: QEvent) -> bool:
        """Qt: the tool-tip says the day that is read."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            self.setToolTip(self.said())
        return super().event(event)
