"""Minutes a piece with their interval, on a scale that several share."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.evidence.medians import Middle
from studiolog.craft.units import THIN
from studiolog.desktop.tokens import SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, pen, write
from studiolog.ui.parts.rate_bar import FEWEST


def say_minutes(middle: Middle | None) -> str:
    """``32.5 min a piece, somewhere between 31 and 34; the least timed step on 12``."""
    if middle is None:
        return "no step was timed"
    told = f"{middle.value:g}{THIN}min a piece"
    if middle.fewest < FEWEST:
        return f"{told}, a step of it timed on {middle.fewest} only: too few to tell"
    return (
        f"{told}, somewhere between {middle.low:g} and {middle.high:g}, "
        f"every step of it timed on {middle.fewest} or more"
    )


class MinutesBar(Drawing):
    """A bar from nothing to the minutes, with a whisker; hollow where too few were timed."""

    def __init__(
        self, middle: Middle | None, longest: float, parent: QWidget | None = None
    ) -> None:
        super().__init__(say_minutes(middle), parent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._middle, self._longest = middle, max(longest, 1.0)
        self.tell()

    def sentence(self) -> str:
        return say_minutes(self._middle)

    def sizeHint(self) -> QSize:
        return self.asked(256, 32)

    def minimumSizeHint(self) -> QSize:
        return self.asked(190, 32)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        frame, middle = self.frame(), self._middle
        track = QRectF(frame.left() + 86, frame.center().y() - 8, frame.width() - 146, 16)
        left = QPointF(frame.left() + 14, frame.center().y())
        if middle is None:
            write(painter, left, "not timed", "ink3", SECONDARY)
            painter.end()
            return
        few = middle.fewest < FEWEST
        write(painter, left, f"{middle.fewest} timed", "ink2", SECONDARY)
        per_min = track.width() / self._longest
        bar = QRectF(track)
        bar.setWidth(max(2.0, middle.value * per_min))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour("sunk"))
        painter.drawRoundedRect(track, 2, 2)
        if few:
            painter.setPen(pen("line2", 1.25, (4, 3)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
        else:
            painter.setBrush(colour("ink3"))
        painter.drawRoundedRect(bar, 2, 2)
        if not few:
            y = track.center().y()
            ends = [track.left() + value * per_min for value in (middle.low, middle.high)]
            painter.setPen(pen("ink", 1.75))
            painter.drawLine(QPointF(ends[0], y), QPointF(ends[1], y))
            for x in ends:
                painter.drawLine(QPointF(x, y - 4.5), QPointF(x, y + 4.5))
        at = QPointF(frame.right() - 2, frame.center().y())
        write(painter, at, f"{middle.value:g}{THIN}min", "ink", SECONDARY, 600, "right")
        painter.end()
