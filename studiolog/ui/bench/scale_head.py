"""The head of the column of promises: what it shows, and the days over the lines."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.painted_list import write
from studiolog.ui.parts.typed import write_day

if TYPE_CHECKING:
    # A window stands before it is needed.
    from studiolog.ui.parts.promise_line import DayAxis

LINE_WIDE = 200
"""What a promise line needs, in px; where there is less, the day is told in words."""
BESIDE = 8
"""How much wider the head is than the column under it, in px."""


class ScaleHead(QWidget):
    """The head of the column: what it shows, and the days over the lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._axis: DayAxis | None = None
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Promised")
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def show_axis(self, axis: "DayAxis | None") -> None:
        """Write these days; None while no plan is known."""
        self._axis = axis
        self.setAccessibleName("Promised, and ready by this plan" if axis else "Promised")
        self.update()

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(self.width(), look.px(34 if self._has_room() else 18))

    def _has_room(self) -> bool:
        """Whether the rows have the room to draw the lines these days are for."""
        return self.width() - BESIDE >= theme.current().px(LINE_WIDE)

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        top = QRectF(4, 0, self.width() - 4, look.px(18))
        drawn = self._axis is not None and self._has_room()
        words = "Promised, and ready by this plan" if drawn else "Promised"
        write(painter, top, words, tone="ink2", size=SECONDARY)
        if self._axis is not None and drawn:
            self._write_days(painter, self._axis)
        painter.end()

    def _write_days(self, painter: QPainter, axis: "DayAxis") -> None:
        from studiolog.ui.bench.promise_line import ticks_of

        look = theme.current()
        line = QRectF(4, look.px(18), self.width() - 20 - 8, look.px(15))
        font = look.font(CAPTION)
        painter.setFont(font)
        measure = QFontMetricsF(font)
        painter.setPen(look.color("cobalt"))
        painter.drawText(line, int(Qt.AlignmentFlag.AlignVCenter), "today")
        free = line.left() + measure.horizontalAdvance("today") + 8
        painter.setPen(look.color("ink3"))
        for day in ticks_of(axis):
            words = write_day(day, axis.first)
            wide = measure.horizontalAdvance(words)
            left = axis.x(day, line.left(), line.width()) - wide / 2
            if left < free or left + wide > self.width():
                continue
            painter.drawText(
                QRectF(left, line.top(), wide + 1, line.height()),
                int(Qt.AlignmentFlag.AlignVCenter),
                words,
            )
            free = left + wide + 8
