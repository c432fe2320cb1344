"""How the cone of a piece is known, as a mark told apart by its shape."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from studiolog.desktop import theme


def paint_cone_basis(painter: QPainter, box: QRectF, basis: str) -> None:
    """How a cone is known: a cobalt cone read, a rust triangle computed, an open diamond aimed."""
    look = theme.current()
    middle, tall = box.center(), box.height() * 0.28
    half = box.width() / 2 - 0.5
    corners = {
        "aimed": [(0.0, -tall), (half, 0.0), (0.0, tall), (-half, 0.0)],
        "computed": [(0.0, tall * 0.8), (half, -tall * 0.8), (-half, -tall * 0.8)],
        "read": [(0.0, -tall * 1.2), (half * 0.75, tall * 1.1), (-half * 0.75, tall * 1.1)],
    }
    points = corners[basis]
    token = "rust" if basis == "computed" else "cobalt"
    painter.setPen(QPen(look.color(token), 1.25))
    painter.setBrush(Qt.BrushStyle.NoBrush if basis == "aimed" else look.color(token))
    painter.drawPolygon(QPolygonF([middle + QPointF(x, y) for x, y in points]))
