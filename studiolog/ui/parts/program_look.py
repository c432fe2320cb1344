"""A firing program as a small line: how its temperature goes, before its name in a list."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from studiolog.desktop import theme


@dataclass(frozen=True)
class ProgramLook:
    """Corners as (elapsed_s, temperature_c); fewer than two draw the empty axis."""

    corners: tuple[tuple[float, float], ...] = ()


def paint_program(painter: QPainter, box: QRectF, line: ProgramLook) -> None:
    """The axis and the line over it; a hotter program does not reach higher: shape is told."""
    look = theme.current()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(look.color("line2"), 1))
    painter.drawLine(box.bottomLeft(), box.bottomRight())
    if len(line.corners) > 1:
        longest = line.corners[-1][0] or 1.0
        lowest = min(temperature_c for _, temperature_c in line.corners)
        span = max(temperature_c for _, temperature_c in line.corners) - lowest or 1.0
        points = [
            QPointF(
                box.left() + elapsed_s / longest * box.width(),
                box.bottom() - 2 - (temperature_c - lowest) / span * (box.height() - 4),
            )
            for elapsed_s, temperature_c in line.corners
        ]
        pen = QPen(look.color("ink"), 1.5)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPolyline(QPolygonF(points))
    painter.restore()
