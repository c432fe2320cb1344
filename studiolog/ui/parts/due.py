"""A promise and how near it is: a flag, the day, and the same in words, never by colour alone."""

from dataclasses import dataclass
from datetime import date, datetime

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.ui.parts.icon import paint_icon
from studiolog.ui.parts.typed import write_day

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
HIGH = 36  # px before scaling: two lines
WIDE = 176


def say_day(day: date | datetime, today: date | None = None) -> str:
    """``Fri 4 Dec``, with the year if it is another."""
    plain = day.date() if isinstance(day, datetime) else day
    return f"{_WEEKDAYS[plain.weekday()]} {write_day(plain, today or date.today())}"


@dataclass(frozen=True)
class Due:
    """A promise in words: the day, how near it is, a tone and a sign for what is late."""

    day: str
    near: str
    tone: str
    sign: str = ""

    @property
    def words(self) -> str:
        return f"{self.day}, {self.near}" if self.near else self.day


def tell_due(promised_on: date | None, today: date, state: str = "open") -> Due:
    """What is to be said of a promise on ``today``."""
    if state == "delivered":
        return Due(f"due {say_day(promised_on, today)}" if promised_on else "no promise",
                   "delivered", "celadon", "check")  # fmt: skip
    if state == "dropped":
        return Due("no longer owed", "dropped", "ink3", "cross")
    if promised_on is None:
        return Due("no promise", "", "ink3")
    day = f"due {say_day(promised_on, today)}"
    left = (promised_on - today).days
    if left < 0:
        late = -left
        return Due(day, f"{late} day{'' if late == 1 else 's'} overdue", "rust", "warning")
    if left == 0:
        return Due(day, "due today", "ochre", "clock")
    if left == 1:
        return Due(day, "due tomorrow", "ochre", "clock")
    return Due(day, f"in {left} days", "ink2")


def paint_flag(painter: QPainter, foot: QPointF, token: str, high: float = 18) -> None:
    """A flag on its pole, standing on ``foot``."""
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(look.color(token), 1.5))
    top = foot - QPointF(0, high)
    painter.drawLine(foot, top)
    painter.setBrush(QBrush(look.color(token)))
    painter.setPen(Qt.PenStyle.NoPen)
    wide, tall = high * 0.72, high * 0.46
    painter.drawPolygon(
        QPolygonF(
            [
                top,
                top + QPointF(wide, 0),
                top + QPointF(wide * 0.72, tall / 2),
                top + QPointF(wide, tall),
                top + QPointF(0, tall),
            ]
        )
    )
    painter.restore()


def paint_due(painter: QPainter, rect: QRectF, due: Due) -> None:
    """Flag, day and words in two lines from the top left of ``rect``."""
    look = theme.current()
    painter.save()
    line = look.px(18)
    promised = due.day.startswith("due")
    left = rect.left()
    if promised:
        paint_flag(painter, QPointF(left + 2, rect.top() + line - 1), "ink", look.px(15))
    left += look.px(22)
    middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
    font = look.font(SECONDARY)
    painter.setFont(font)
    painter.setPen(look.color("ink" if promised else "ink3"))
    room = rect.right() - left
    elide = Qt.TextElideMode.ElideRight
    day = QFontMetricsF(font).elidedText(due.day, elide, room)
    painter.drawText(QRectF(left, rect.top(), room, line), middle, day)
    below = rect.top() + line
    if due.sign:
        side = look.px(14)
        place = QRectF(rect.left(), below + (line - side) / 2, side, side)
        paint_icon(painter, place, due.sign, look.color(due.tone))
    font = look.font(SECONDARY, 600 if due.sign else 400)
    painter.setFont(font)
    painter.setPen(look.color(due.tone))
    near = QFontMetricsF(font).elidedText(due.near, elide, room)
    painter.drawText(QRectF(left, below, room, line), middle, near)
    painter.restore()


class DueFlag(QWidget):
    """A promise as a widget, to read only."""

    def __init__(self, due: Due | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._due = due or Due("no promise", "", "ink3")
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.show_due(self._due)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def show_due(self, due: Due) -> None:
        self._due = due
        self.setAccessibleName(due.words)
        self.setToolTip(due.words)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(theme.current().px(WIDE), theme.current().px(HIGH))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_due(painter, QRectF(self.rect()), self._due)
        painter.end()
