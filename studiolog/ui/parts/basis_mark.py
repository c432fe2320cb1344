"""Where an analysis comes from, as a mark: told apart by its shape, and always beside its words.

A mineral's formula is a clear crystal, a figure from memory a broken outline, an analysis of the
potter's own lot a filled one.
"""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.words import ANALYSIS_BASES
from studiolog.desktop import theme

_CORNERS = ((0.5, 0.0), (0.95, 0.27), (0.95, 0.73), (0.5, 1.0), (0.05, 0.73), (0.05, 0.27))
_FACETS = ((0.05, 0.27), (0.5, 0.5), (0.95, 0.27))


@dataclass(frozen=True)
class BasisLook:
    """The basis of an analysis, for a list that draws its mark."""

    basis: str


def paint_basis(painter: QPainter, box: QRectF, basis: str) -> None:
    """Draw the mark of a basis into a square; nothing for one that is not known."""
    if basis not in ANALYSIS_BASES:
        return
    look = theme.current()
    inner = box.adjusted(1, 1, -1, -1)

    def at(x: float, y: float) -> QPointF:
        return QPointF(inner.left() + x * inner.width(), inner.top() + y * inner.height())

    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(look.color("ink2"), 1.25)
    if basis == "typical":
        pen.setDashPattern([2.0, 2.0])
    painter.setPen(pen)
    painter.setBrush(look.color("ink2") if basis == "analysis" else Qt.BrushStyle.NoBrush)
    painter.drawPolygon(QPolygonF([at(x, y) for x, y in _CORNERS]))
    if basis == "theoretical":
        painter.drawPolyline(QPolygonF([at(x, y) for x, y in _FACETS]))
        painter.drawLine(at(0.5, 0.5), at(0.5, 1.0))
    painter.restore()


class BasisMark(QWidget):
    """The mark beside the words; a screen reader is told the words."""

    def __init__(self, basis: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._basis = ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.set_basis(basis)
        theme.current().changed.connect(self.updateGeometry)

    def set_basis(self, basis: str) -> None:
        self._basis = basis
        words = ANALYSIS_BASES.get(basis, "")
        self.setToolTip(words)
        self.setAccessibleName(words)
        self.update()

    def sizeHint(self) -> QSize:
        side = theme.current().px(18)
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_basis(painter, QRectF(self.rect()), self._basis)
