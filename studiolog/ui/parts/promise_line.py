"""A promise line on an axis of days: the flag of the promise, and the likely span of being ready.

The capsule is the span that leaves out one future in ten at either end, the diamond its middle.
Its colour is never alone: a tick, an exclamation or a cross says the same, and so do words.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION
from studiolog.ui.parts.due import paint_flag
from studiolog.ui.parts.icon import paint_icon

_TONES = {"met": "celadon", "tight": "ochre", "late": "rust", "none": "ink2"}
_WASHES = {"met": "celadonwash", "tight": "ochrewash", "late": "rustwash", "none": "sunk"}
_SIGNS = {"met": "check", "tight": "warning", "late": "cross", "none": ""}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_LEAST_DAYS = 42
_MOST_DAYS = 300


@dataclass(frozen=True)
class PromiseMarks:
    """What a promise line shows: days, None where there is none or it lies beyond all telling."""

    promised_on: date | None
    low_on: date | None
    middle_on: date | None
    high_on: date | None
    tone: str
    words: str = ""


def tone_of(tone: str) -> str:
    """The colour of a tone: "met" is celadon."""
    return _TONES[tone]


def sign_of(tone: str) -> str:
    """The sign that says the same; "" where nothing is promised."""
    return _SIGNS[tone]


@dataclass(frozen=True)
class DayAxis:
    """Days from the left of a rectangle to its right."""

    first: date
    last: date

    def x(self, day: date, left: float, width: float) -> float:
        """Where a day begins, held within the axis."""
        span = max(1, (self.last - self.first).days)
        share = (day - self.first).days / span
        return left + width * min(1.0, max(0.0, share))

    def months(self) -> list[tuple[date, str]]:
        """The first of each month on it, with its name; the year with each January."""
        found = []
        day = self.first.replace(day=1)
        while day <= self.last:
            if day >= self.first:
                name = _MONTHS[day.month - 1]
                found.append((day, f"{name} {day.year}" if day.month == 1 else name))
            day = (day + timedelta(days=32)).replace(day=1)
        return found

    def mondays(self) -> list[date]:
        """Every Monday on it."""
        day = self.first + timedelta(days=-self.first.weekday() % 7)
        return [day + timedelta(days=7 * week) for week in range((self.last - day).days // 7 + 1)]


def axis_for(marks: Iterable[PromiseMarks], today: date) -> DayAxis:
    """An axis that holds today and every mark, at least six weeks long and at most ten months."""
    days = [today]
    for one in marks:
        days += [day for day in (one.promised_on, one.low_on, one.middle_on, one.high_on) if day]
    first = max(min(days), today - timedelta(days=60)) - timedelta(days=4)
    last = min(max(days) + timedelta(days=6), first + timedelta(days=_MOST_DAYS))
    return DayAxis(first, max(last, first + timedelta(days=_LEAST_DAYS)))


def paint_axis(painter: QPainter, box: QRectF, axis: DayAxis, today: date) -> None:
    """Months in words, weeks as ticks, today named; at the foot of ``box``."""
    look = theme.current()
    font = look.font(CAPTION)
    measure = QFontMetricsF(font)
    foot = box.bottom()
    painter.save()
    painter.setFont(font)
    painter.setPen(QPen(look.color("line2"), 1))
    painter.drawLine(QPointF(box.left(), foot - 0.5), QPointF(box.right(), foot - 0.5))
    for day in axis.mondays():
        x = axis.x(day, box.left(), box.width())
        painter.drawLine(QPointF(x, foot - 4), QPointF(x, foot))
    now = axis.x(today, box.left(), box.width())
    words = "today"
    here = measure.horizontalAdvance(words)
    left = min(max(box.left(), now - here / 2), box.right() - here)
    painter.setPen(look.color("cobalt"))
    level = foot - look.px(7)
    painter.drawText(QPointF(left, level), words)
    taken = (left - 8, left + here + 8)
    for day, name in axis.months():
        x = axis.x(day, box.left(), box.width())
        painter.setPen(QPen(look.color("line2"), 1))
        painter.drawLine(QPointF(x, foot - look.px(6)), QPointF(x, foot))
        wide = measure.horizontalAdvance(name)
        fits = x + 3 + wide <= box.right() and not (x + 3 < taken[1] and x + 3 + wide > taken[0])
        if fits:
            painter.setPen(look.color("ink3"))
            painter.drawText(QPointF(x + 3, level), name)
    painter.restore()


def paint_promise_line(
    painter: QPainter,
    box: QRectF,
    axis: DayAxis,
    marks: PromiseMarks,
    today: date,
    grid: Iterable[date] = (),
) -> None:
    """The line of one promise in ``box``; hairlines at the days of ``grid``."""
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    middle = box.center().y()

    def at(day: date) -> float:
        return axis.x(day, box.left(), box.width())

    painter.setPen(QPen(look.color("line"), 1))
    painter.drawLine(QPointF(box.left(), middle), QPointF(box.right(), middle))
    for day in grid:
        painter.drawLine(QPointF(at(day), box.top()), QPointF(at(day), box.bottom()))
    if marks.middle_on is not None:
        painter.setPen(QPen(look.color("ink2"), 1.25))
        painter.drawLine(QPointF(at(today), middle), QPointF(at(marks.middle_on), middle))
    painter.setPen(QPen(look.color("cobalt"), 1.25))
    painter.drawLine(QPointF(at(today), box.top()), QPointF(at(today), box.bottom()))
    _paint_span(painter, box, axis, marks)
    if marks.promised_on is not None:
        high = min(look.px(19), box.height() - 4)
        foot = QPointF(at(marks.promised_on), middle + high / 2)
        paint_flag(painter, foot, "ink", high)
    painter.restore()


def _paint_span(painter: QPainter, box: QRectF, axis: DayAxis, marks: PromiseMarks) -> None:
    if marks.low_on is None:
        return
    look = theme.current()
    middle, half = box.center().y(), look.px(5)
    left = axis.x(marks.low_on, box.left(), box.width())
    beyond = marks.high_on is None or marks.high_on > axis.last
    last = axis.last if marks.high_on is None else marks.high_on
    right = max(axis.x(last, box.left(), box.width()), left + 2 * half)
    painter.setPen(QPen(look.color(_TONES[marks.tone]), 1.25))
    painter.setBrush(look.color(_WASHES[marks.tone]))
    painter.drawRoundedRect(QRectF(left, middle - half, right - left, 2 * half), half, half)
    if beyond:
        # It goes on to the right of all that is drawn.
        tip, reach = box.right(), look.px(4)
        arrow = [QPointF(tip - reach, middle - reach), QPointF(tip, middle)]
        painter.drawPolyline(QPolygonF([*arrow, QPointF(tip - reach, middle + reach)]))
    if marks.middle_on is not None and marks.middle_on <= axis.last:
        x, reach = axis.x(marks.middle_on, box.left(), box.width()), look.px(6)
        ways = ((0, -reach), (reach, 0), (0, reach), (-reach, 0))
        painter.setBrush(look.color(_TONES[marks.tone]))
        painter.setPen(QPen(look.color("paper"), 1))
        painter.drawPolygon(QPolygonF([QPointF(x + dx, middle + dy) for dx, dy in ways]))


def paint_tone_sign(painter: QPainter, at: QPointF, tone: str) -> float:
    """The sign of a tone with its top left at ``at``; returns how wide it is, its gap included."""
    sign = _SIGNS[tone]
    if not sign:
        return 0.0
    look = theme.current()
    side = look.px(14)
    paint_icon(painter, QRectF(at.x(), at.y(), side, side), sign, look.color(_TONES[tone]))
    return side + 6.0


class PromiseLine(QWidget):
    """One promise line with its own axis, to stand on a page; its words are read out."""

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._about = about
        self._marks: PromiseMarks | None = None
        self._axis: DayAxis | None = None
        self._today = date.min
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(about)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def show_marks(
        self, marks: PromiseMarks | None, today: date, axis: DayAxis | None = None
    ) -> None:
        """Show a promise; without an axis, one that fits it."""
        self._marks, self._today = marks, today
        self._axis = axis or (axis_for([marks], today) if marks else None)
        words = marks.words if marks else "not told yet"
        self.setAccessibleName(f"{self._about}: {words}")
        self.setToolTip(words)
        self.update()

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(240), look.px(46))

    def minimumSizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(120), look.px(46))

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._marks is None or self._axis is None:
            return
        painter = QPainter(self)
        look = theme.current()
        edge = look.px(8)
        room = QRectF(self.rect()).adjusted(edge, 0, -edge, 0)
        high = look.px(24)
        line = QRectF(room.left(), room.top(), room.width(), room.height() - high + 4)
        paint_promise_line(painter, line, self._axis, self._marks, self._today)
        foot = QRectF(room.left(), room.bottom() - high, room.width(), high)
        paint_axis(painter, foot, self._axis, self._today)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.end()
