"""The promise of a run as a line of days: a flag where it is due, a capsule where it may be ready.

All rows share one scale of days, so that one sees across them what is late. Always with words.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.bench_rows import BenchRow
from studiolog.ui.parts.due import paint_flag, say_day
from studiolog.ui.parts.icon import paint_icon
from studiolog.ui.parts.painted_list import write

if TYPE_CHECKING:
    from studiolog.journal.promises import RunPromise

_TONES = {
    "met": ("celadon", "celadonwash", "check"),
    "tight": ("ochre", "ochrewash", "warning"),
    "late": ("rust", "rustwash", "cross"),
    "none": ("ink3", "sunk", ""),
}
_FEWEST_DAYS, _MOST_DAYS = 21, 182


@dataclass(frozen=True)
class DayScale:
    """The days that all promise lines show: from ``today`` on, so many."""

    today: date
    days: int

    def x(self, day: date, room: QRectF) -> float:
        """Where a day stands in the room; days beyond it at its edge."""
        share = (day - self.today).days / self.days
        return room.left() + max(0.0, min(1.0, share)) * room.width()

    def ticks(self) -> list[date]:
        """Mondays to write along the top, four to six of them."""
        first = self.today + timedelta(days=7 - self.today.weekday())
        step = 7 * max(1, round(self.days / 7 / 5))
        return [first + timedelta(days=ahead) for ahead in range(0, self.days - 3, step)]


def scale_for(today: date, rows: Iterable[BenchRow], promises: "Iterable[RunPromise]") -> DayScale:
    """As many days as the promises and what is likely reach."""
    named = [row.order.promised_on for row in rows if row.order and row.order.state == "open"]
    named += [promise.high_on for promise in promises]
    ahead = max(((day - today).days for day in named if day is not None), default=0)
    return DayScale(today, max(_FEWEST_DAYS, min(_MOST_DAYS, ahead + 4)))


def slack_words(promise: "RunPromise") -> str:
    """``2 days to spare, 94 %``; ``no slack, 61 %``; ``3 days late, 8 %``."""
    if promise.promised_on is None or promise.chance is None:
        return "no promise"
    chance = f", {100 * promise.chance:.0f}\u202f%"
    if promise.middle_on is None:
        return f"not within half a year{chance}"
    spare = (promise.promised_on - promise.middle_on).days
    if promise.tone == "tight":
        return f"no slack{chance}"
    days = f"{abs(spare)} day{'' if abs(spare) == 1 else 's'}"
    if promise.tone == "late":
        return f"{days} late{chance}" if spare < 0 else f"likely late{chance}"
    return f"{days} to spare{chance}"


def promise_words(promise: "RunPromise", today: date) -> str:
    """The promise in words, for a screen reader."""
    due = f"due {say_day(promise.promised_on, today)}" if promise.promised_on else ""
    ready = f"ready {say_day(promise.middle_on, today)}" if promise.middle_on else ""
    return ", ".join(part for part in (due, ready, slack_words(promise)) if part)


def paint_promise(painter: QPainter, room: QRectF, promise: "RunPromise", scale: DayScale) -> None:
    """The line of days above, the words below in two lines."""
    look = theme.current()
    tone, wash, sign = _TONES[promise.tone]
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    line = QRectF(room.left() + 4, room.top(), room.width() - 20, look.px(34))
    middle = line.top() + line.height() * 0.62
    painter.setPen(QPen(look.color("line"), 1))
    for day in scale.ticks():
        x = scale.x(day, line)
        painter.drawLine(QPointF(x, line.top()), QPointF(x, line.bottom()))
    painter.setPen(QPen(look.color("cobalt"), 1.25))
    painter.drawLine(line.topLeft(), line.bottomLeft())
    low, high = promise.low_on, promise.high_on
    if promise.middle_on is not None:
        x = scale.x(promise.middle_on, line)
        painter.setPen(QPen(look.color("ink2"), 1.25))
        painter.drawLine(QPointF(line.left(), middle), QPointF(x, middle))
        start = scale.x(low, line) if low else line.left()
        end = scale.x(high, line) if high else line.right()
        capsule = QRectF(start - 4, middle - 5, max(10.0, end - start + 8), 10)
        painter.setPen(QPen(look.color(tone), 1.25))
        painter.setBrush(look.color(wash))
        painter.drawRoundedRect(capsule, 5, 5)
        painter.setBrush(look.color(tone))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawPolygon(
            QPolygonF(
                [QPointF(x, middle - 5.5), QPointF(x + 5.5, middle),
                 QPointF(x, middle + 5.5), QPointF(x - 5.5, middle)]
            )
        )  # fmt: skip
    if promise.promised_on is not None:
        foot = QPointF(scale.x(promise.promised_on, line), middle + 8)
        paint_flag(painter, foot, "ink", look.px(20))
    painter.restore()
    _paint_words(painter, room, promise, scale.today, tone, sign)


def _paint_words(
    painter: QPainter, room: QRectF, promise: "RunPromise", today: date, tone: str, sign: str
) -> None:
    look = theme.current()
    high = look.px(17)
    first = QRectF(room.left() + 4, room.top() + look.px(38), room.width() - 12, high)
    parts = []
    if promise.promised_on:
        parts.append(f"due {say_day(promise.promised_on, today)}")
    if promise.middle_on:
        parts.append(f"ready {say_day(promise.middle_on, today)}")
    write(painter, first, ", ".join(parts), tone="ink2", size=SECONDARY)
    second = first.translated(0, high)
    side = look.px(14)
    if sign:
        place = QRectF(second.left(), second.center().y() - side / 2, side, side)
        paint_icon(painter, place, sign, look.color(tone))
        second = second.adjusted(side + 6, 0, 0, 0)
    write(painter, second, slack_words(promise), 600 if sign else 400, tone, SECONDARY)
