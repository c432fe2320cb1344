"""How far a level's cone lies from the aim, with its interval, as a small whisker."""

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QWidget

from studiolog.ui.parts.drawing import Drawing, colour, pen


class AimWhisker(Drawing):
    """A line one cone either way of the aim, or wider: the interval, and a dot at the cone."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Cone against the aim", parent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._span: tuple[float, float, float, float] | None = None
        self.tell()

    def show_span(self, cone: float, low: float, high: float, aimed: float) -> None:
        """The cone with its interval, and the aim; all ordinals."""
        self._span = (cone, low, high, aimed)
        self.tell()

    def sentence(self) -> str:
        """ "+0.2 cones from the aim, between −0.1 and +0.4."."""
        if self._span is None:
            return "No cone known."
        cone, low, high, aimed = self._span
        return (
            f"{cone - aimed:+.1f} cones from the aim, between {low - aimed:+.1f} and "
            f"{high - aimed:+.1f}."
        ).replace("-", "−")

    def sizeHint(self) -> QSize:
        return self.asked(72, 16)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._span is None:
            return
        cone, low, high, aimed = self._span
        painter = self.painter()
        middle, y = self.wide() / 2, self.tall() / 2
        reach = max(1.0, abs(low - aimed), abs(high - aimed))
        scale = (middle - 5) / reach

        def x(value: float) -> float:
            return middle + (value - aimed) * scale

        painter.setPen(pen("line2", 1.0))
        painter.drawLine(QPointF(2, y), QPointF(self.wide() - 2, y))
        painter.drawLine(QPointF(middle, y - 6), QPointF(middle, y + 6))
        painter.setPen(pen("ink", 2.0))
        painter.drawLine(QPointF(x(low), y), QPointF(x(high), y))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour("ink"))
        painter.drawEllipse(QPointF(x(cone), y), 3.5, 3.5)
        painter.end()
