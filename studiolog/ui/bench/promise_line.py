"""The promise of a run as the bench draws it: its line of days above, and words below.

All rows share one axis of days that begins today, so that one sees across them what is late.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFontMetricsF, QPainter

from studiolog.craft.days import write_day
from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.bench_rows import BenchRow
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.painted_list import write
from studiolog.ui.parts.promise_line import (
    DayAxis,
    PromiseMarks,
    paint_promise_line,
    paint_tone_sign,
    sign_of,
    tone_of,
)

if TYPE_CHECKING:
    from studiolog.journal.promises import RunPromise

_FEWEST_DAYS, _MOST_DAYS = 21, 182


def axis_of_rows(
    today: date, rows: Iterable[BenchRow], promises: "Iterable[RunPromise]"
) -> DayAxis:
    """From today on, as many days as the promises and what is likely reach."""
    named = [row.order.promised_on for row in rows if row.order and row.order.state == "open"]
    named += [promise.high_on for promise in promises]
    ahead = max(((day - today).days for day in named if day is not None), default=0)
    days = max(_FEWEST_DAYS, min(_MOST_DAYS, ahead + 4))
    return DayAxis(today, today + timedelta(days=days))


def ticks_of(axis: DayAxis) -> list[date]:
    """Mondays to write along the top, four to six of them; "today" has room beside the first."""
    mondays = [day for day in axis.mondays() if day > axis.first]
    step = max(1, round((axis.last - axis.first).days / 7 / 5))
    return [day for day in mondays[step // 2 :: step] if (axis.last - day).days > 3]


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


def days_words(promise: "RunPromise", today: date, short: bool = False) -> str:
    """``due Sat 23 Jan 2027, ready Fri 15 Jan 2027``; ``short``: ``due 23 Jan, ready 15 Jan``."""
    days = (("due", promise.promised_on), ("ready", promise.middle_on))
    return ", ".join(
        f"{word} {write_day(day, day) if short else say_day(day, today)}"
        for word, day in days
        if day is not None
    )


def promise_words(promise: "RunPromise", today: date) -> str:
    """The promise in words, for a screen reader."""
    return ", ".join(part for part in (days_words(promise, today), slack_words(promise)) if part)


def paint_promise(
    painter: QPainter, room: QRectF, promise: "RunPromise", axis: DayAxis, today: date
) -> None:
    """The line of days above, the words below in two lines."""
    look = theme.current()
    line = QRectF(room.left() + 4, room.top(), room.width() - 20, look.px(34))
    marks = PromiseMarks(
        promise.promised_on, promise.low_on, promise.middle_on, promise.high_on, promise.tone
    )
    paint_promise_line(painter, line, axis, marks, today, ticks_of(axis))
    _paint_words(painter, room, promise, today)


def _paint_words(painter: QPainter, room: QRectF, promise: "RunPromise", today: date) -> None:
    look = theme.current()
    high = look.px(17)
    first = QRectF(room.left() + 4, room.top() + look.px(38), room.width() - 12, high)
    words = days_words(promise, today)
    if QFontMetricsF(look.font(SECONDARY)).horizontalAdvance(words) > first.width():
        words = days_words(promise, today, short=True)
    write(painter, first, words, tone="ink2", size=SECONDARY)
    second = first.translated(0, high)
    at = QPointF(second.left(), second.center().y() - look.px(14) / 2)
    second = second.adjusted(paint_tone_sign(painter, at, promise.tone), 0, 0, 0)
    weight = 600 if sign_of(promise.tone) else 400
    write(painter, second, slack_words(promise), weight, tone_of(promise.tone), SECONDARY)
