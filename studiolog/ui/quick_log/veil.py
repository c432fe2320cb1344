"""Ink at 46 % over the window while the sheet is open."""

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from studiolog.desktop.tokens import LIGHT

_ALPHA = 0.46


def veiled(ground: QColor) -> QColor:
    """How a colour looks under the veil."""
    ink = QColor(LIGHT.ink)

    def mixed(under: float, over: float) -> float:
        return (1 - _ALPHA) * under + _ALPHA * over

    return QColor.fromRgbF(
        mixed(ground.redF(), ink.redF()),
        mixed(ground.greenF(), ink.greenF()),
        mixed(ground.blueF(), ink.blueF()),
    )


class Veil(QWidget):
    """Covers its window and grows with it."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.setGeometry(window.rect())
        window.installEventFilter(self)
        self.show()
        self.raise_()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize and isinstance(watched, QWidget):
            self.setGeometry(watched.rect())
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:
        ink = QColor(LIGHT.ink)
        ink.setAlphaF(_ALPHA)
        QPainter(self).fillRect(self.rect(), ink)
