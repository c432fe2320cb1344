"""A day from midnight to midnight with its prices: a band each, with pattern and number."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.firing.tariff import DAY_MIN, DayPrices, say_minute
from studiolog.craft.money import show_price
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, elided, pen, width_of, write

_BAR = 26.0
_ROW = 58.0
_LABEL = 18.0
_TICKS = (0, 6, 12, 18, 24)
_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def say_days(days: Sequence[int]) -> str:
    """Days of the week in words, runs of them from first to last: "Monday to Friday"."""
    if len(days) == 7:
        return "Every day"
    runs: list[list[int]] = []
    for day in days:
        if runs and day == runs[-1][-1] + 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    words = []
    for run in runs:
        words.append(_NAMES[run[0]] if len(run) == 1 else f"{_NAMES[run[0]]} to {_NAMES[run[-1]]}")
    return ", ".join(words)


def say_week(week: Sequence[DayPrices]) -> str:
    """The prices of the week in a sentence a group of days."""
    sentences = []
    for group in week:
        parts = [
            f"{say_minute(start)} to {say_minute(end)} "
            + (show_price(price) if price is not None else "no price")
            for start, end, price in group.stretches
        ]
        sentences.append(f"{say_days(group.days)}: {', '.join(parts)}.")
    return " ".join(sentences)


class DayStrip(Drawing):
    """The hours of the day, a bar for each group of days that are alike."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Prices by hour of the day", parent)
        self._week: tuple[DayPrices, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_week(self, week: Sequence[DayPrices]) -> None:
        """Show the prices of a week."""
        self._week = tuple(week)
        self.tell()

    def sentence(self) -> str:
        return say_week(self._week)

    def sizeHint(self) -> QSize:
        """Qt: a bar for each group of days, and the hours under the last."""
        return self.asked(420, _ROW * len(self._week) + _LABEL)

    def minimumSizeHint(self) -> QSize:
        """Qt: the hours can still be told apart."""
        return self.asked(240, _ROW * len(self._week) + _LABEL)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        prices = sorted(
            {price for group in self._week for _, _, price in group.stretches if price is not None}
        )
        track = QRectF(10, 0, self.wide() - 20, _BAR)
        top = 2.0
        for group in self._week:
            words = elided(say_days(group.days), SECONDARY, self.wide() - 12)
            write(painter, QPointF(track.left(), top + 9), words, "ink2", SECONDARY)
            bar = track.translated(0, top + 22)
            for start, end, price in group.stretches:
                left = bar.left() + bar.width() * start / DAY_MIN
                right = bar.left() + bar.width() * end / DAY_MIN
                self._paint_band(
                    painter, QRectF(left, bar.top(), right - left, _BAR), price, prices
                )
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("line2", 1))
            painter.drawRect(bar)
            top += _ROW
        foot = top - _ROW + 22 + _BAR
        for hour in _TICKS:
            x = track.left() + track.width() * hour / 24
            painter.setPen(pen("line2", 1))
            painter.drawLine(QPointF(x, foot), QPointF(x, foot + 4))
            align = "left" if hour == 0 else "right" if hour == 24 else "centre"
            write(painter, QPointF(x, foot + 12), f"{hour}:00", "ink3", CAPTION, align=align)
        self.paint_focus(painter)

    def _paint_band(
        self, painter: QPainter, box: QRectF, price: Decimal | None, prices: Sequence[Decimal]
    ) -> None:
        """Dearer is denser and darker; the number stands on it where it has the room."""
        if price is None:
            painter.fillRect(box, colour("sheet"))
            words = "no price"
        else:
            rank = prices.index(price) / max(1, len(prices) - 1) if len(prices) > 1 else 0.0
            painter.fillRect(box, colour("sunk" if rank < 0.5 else "rustwash"))
            _hatch(painter, box, rank)
            words = show_price(price)
        painter.setPen(pen("line2", 1))
        painter.drawLine(box.topLeft(), box.bottomLeft())
        room = width_of(words, SECONDARY, 600)
        if room + 10 <= box.width():
            ground = QRectF(0, 0, room + 8, 16)
            ground.moveCenter(box.center())
            painter.fillRect(ground, colour("sheet"))
            write(painter, box.center(), words, "ink", SECONDARY, 600, "centre")


def _hatch(painter: QPainter, box: QRectF, rank: float) -> None:
    """Slanting lines: none for the cheapest, closer the dearer."""
    if rank <= 0.0:
        return
    step = 14.0 - 8.0 * rank
    painter.save()
    painter.setClipRect(box)
    painter.setPen(pen("rust", 1))
    x = box.left() - box.height()
    while x < box.right():
        painter.drawLine(QPointF(x, box.bottom()), QPointF(x + box.height(), box.top()))
        x += step
    painter.restore()
