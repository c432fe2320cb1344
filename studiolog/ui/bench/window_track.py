"""The leather-hard window of a run: a track that drains as the clay stiffens."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from studiolog.desktop import theme
from studiolog.ui.parts.pattern import stage_fill

if TYPE_CHECKING:
    from studiolog.journal.working_time import Window

TRACK_WIDE = 96


def paint_track(painter: QPainter, rect: QRectF, window: "Window") -> None:
    """What is left of the hours, from the left; in rust where few are left for the work."""
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.color("sunk"))
    painter.drawRoundedRect(rect, 3, 3)
    left = QRectF(rect)
    left.setWidth(rect.width() * window.share_left)
    if left.width() > 1:
        late = window.short or window.dries_first
        painter.setBrush(look.color("rustfill") if late else stage_fill(window.stage))
        painter.drawRoundedRect(left, 3, 3)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.color("line2"), 1))
    painter.drawRoundedRect(rect.adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
    painter.restore()
