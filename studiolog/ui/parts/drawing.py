"""What every drawing shares: it repaints with the theme and says itself in a sentence."""

from abc import abstractmethod
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import FOCUS_LINE


class Drawing(QWidget):
    """A painted widget. ``sentence()`` is its description, tool-tip and what Ctrl+C copies."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        theme.current().changed.connect(self.grow)

    # A drawing grows as a whole with the text: it is laid out in units of 1 px at 100 per cent.

    def grown(self) -> float:
        """Widget pixels per unit of the drawing."""
        return theme.current().text_scale / 100

    def wide(self) -> float:
        """Width in units."""
        return self.width() / self.grown()

    def tall(self) -> float:
        """Height in units."""
        return self.height() / self.grown()

    def frame(self) -> QRectF:
        """The whole widget in units."""
        return QRectF(0, 0, self.wide(), self.tall())

    def spot(self, at: QPointF) -> QPointF:
        """A place of the widget, such as the pointer's, in units."""
        return at / self.grown()

    def asked(self, wide: float, tall: float) -> QSize:
        """A size in units as widget pixels."""
        return QSize(round(wide * self.grown()), round(tall * self.grown()))

    def ratio(self) -> float:
        """Device pixels per unit, for pattern tiles and pictures."""
        return self.devicePixelRatioF() * self.grown()

    def painter(self) -> QPainter:
        """A painter in units."""
        made = QPainter(self)
        made.setRenderHint(QPainter.RenderHint.Antialiasing)
        made.scale(self.grown(), self.grown())
        return made

    @abstractmethod
    def sentence(self) -> str:
        """The drawing in words."""

    def grow(self) -> None:
        """Colours or text size changed."""
        self.updateGeometry()
        self.update()

    def tell(self) -> None:
        """Give the sentence to screen readers and the tool-tip, and paint anew."""
        words = self.sentence()
        self.setAccessibleDescription(words)
        self.setToolTip(words)
        self.updateGeometry()
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.sentence())
            event.accept()
            return
        super().keyPressEvent(event)

    def paint_focus(self, painter: QPainter, radius: float = 6.0) -> None:
        """The 2 px cobalt outline, when the drawing has the keyboard."""
        if not self.hasFocus():
            return
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen("cobalt", FOCUS_LINE))
        painter.drawRoundedRect(self.frame().adjusted(1, 1, -1, -1), radius, radius)


def colour(name: str) -> QColor:
    """A token of the theme in use, as a colour."""
    return theme.current().color(name)


def pen(name: str, width: float, dash: Sequence[float] | None = None) -> QPen:
    """A line in a token colour; ``dash`` in pixels."""
    made = QPen(colour(name), width)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    if dash:
        made.setDashPattern([part / width for part in dash])
    return made


def font(size: tuple[int, int], weight: int = 400) -> QFont:
    """A font of the theme by size token, in units of a drawing: the painter grows it."""
    face = theme.current().font(size, weight)
    face.setPixelSize(size[0])
    return face


def path_of(points: Sequence[tuple[float, float]], closed: bool = True) -> QPainterPath:
    """A painter path through points."""
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x, y) for x, y in points]))
    if closed:
        path.closeSubpath()
    return path


def write(
    painter: QPainter,
    at: QPointF,
    words: str,
    token: str,
    size: tuple[int, int],
    weight: int = 400,
    align: str = "left",
) -> float:
    """Write one line with its middle height at ``at``; gives its width in pixels."""
    face = font(size, weight)
    metrics = QFontMetricsF(face)
    width = metrics.horizontalAdvance(words)
    shift = {"left": 0.0, "centre": -width / 2, "right": -width}[align]
    painter.setFont(face)
    painter.setPen(colour(token))
    base = at.y() + (metrics.ascent() - metrics.descent()) / 2
    painter.drawText(QPointF(at.x() + shift, base), words)
    return width


def width_of(words: str, size: tuple[int, int], weight: int = 400) -> float:
    """How wide a line is, in pixels."""
    return QFontMetricsF(font(size, weight)).horizontalAdvance(words)


def wrapped(words: str, size: tuple[int, int], width: float, weight: int = 400) -> list[str]:
    """Words broken into lines no wider than ``width``; a single long word is elided."""
    metrics = QFontMetricsF(font(size, weight))
    lines: list[str] = []
    line = ""
    for word in words.split():
        trial = f"{line} {word}".strip()
        if line and metrics.horizontalAdvance(trial) > width:
            lines.append(line)
            line = word
        else:
            line = trial
    if line:
        lines.append(line)
    return [metrics.elidedText(one, Qt.TextElideMode.ElideRight, width) for one in lines]


def elided(words: str, size: tuple[int, int], width: float, weight: int = 400) -> str:
    """One line cut with an ellipsis to ``width``."""
    return QFontMetricsF(font(size, weight)).elidedText(
        words, Qt.TextElideMode.ElideRight, max(width, 0.0)
    )


def paper_patch(painter: QPainter, rect: QRectF, token: str, radius: float) -> None:
    """A plain rounded ground with no line."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(colour(token)))
    painter.drawRoundedRect(rect, radius, radius)
