"""The head of a field of the sheet: whether it is filled, its name, a quiet word, its key."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.ui.parts.section import KeyCap
from studiolog.ui.parts.text import Elided, Words


class FilledRing(QWidget):
    """An open ring while empty, a dot while being filled, a tick once filled."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = "empty"
        self._grow()
        theme.current().changed.connect(self._grow)

    def _grow(self) -> None:
        self.setFixedSize(theme.current().px(16), theme.current().px(16))
        self.update()

    def set_state(self, state: str) -> None:
        """``empty``, ``here`` or ``filled``."""
        if state != self._state:
            self._state = state
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(self.width() / 16, self.height() / 16)
        ring = QRectF(1, 1, 14, 14)
        if self._state == "here":
            painter.setPen(QPen(look.color("cobalt"), 4))
            painter.drawEllipse(ring.adjusted(2, 2, -2, -2))
        elif self._state == "filled":
            painter.setPen(QPen(look.color("celadon"), 1.25))
            painter.setBrush(look.color("celadonwash"))
            painter.drawEllipse(ring)
            painter.setPen(QPen(look.color("celadon"), 1.75))
            painter.drawPolyline([QPointF(4.8, 8.2), QPointF(7.2, 10.6), QPointF(11.4, 5.8)])
        else:
            painter.setPen(QPen(look.color("ink3"), 1.25))
            painter.drawEllipse(ring)


class FieldHead(QWidget):
    """Ring, name, quiet words and the key that leads to the field."""

    def __init__(self, name: str, key: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = name
        self.ring = FilledRing()
        self.title = Words(name, "body", 600)
        self.quiet = Elided("", "caption", tone="ink3")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.ring)
        row.addWidget(self.title)
        row.addStretch(1)
        row.addWidget(self.quiet)
        if key:
            row.addWidget(KeyCap(key), 0, Qt.AlignmentFlag.AlignVCenter)
        self.say(filled=False)

    def say(self, *, filled: bool, here: bool = False, quiet: str = "") -> None:
        """Show whether the field is filled or being filled, and a quiet word."""
        self.ring.set_state("here" if here else "filled" if filled else "empty")
        self.quiet.setText(quiet)
        self.quiet.setVisible(bool(quiet))
        state = "filled" if filled else "empty"
        self.setAccessibleName(f"{self._name}: {state}" + (f", {quiet}" if quiet else ""))
