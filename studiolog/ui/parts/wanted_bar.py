"""What there is of so many that are wanted: a stage bar, and an empty track for what is missing."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import RADIUS_CHIP
from studiolog.ui.parts.stage_bar import StageBar


class _Track(QWidget):
    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        theme.current().changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        # In the dark the track is hardly darker than the paper: its outline shows where it ends.
        painter.setPen(QPen(look.color("line"), 1))
        painter.setBrush(look.color("sunk"))
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.drawRoundedRect(box, RADIUS_CHIP, RADIUS_CHIP)
        painter.end()


class WantedBar(QWidget):
    """As long as what is wanted; the bar takes the share of it that there is."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bar, self._track = StageBar({}), _Track()
        self._across = QHBoxLayout(self)
        self._across.setContentsMargins(0, 0, 0, 0)
        self._across.setSpacing(2)
        self._across.addWidget(self.bar)
        self._across.addWidget(self._track)

    def show_counts(self, counts: Mapping[str, int], missing: int) -> None:
        """Pieces by stage, and how many nobody has begun; hidden where there is nothing to show."""
        made = sum(counts.values())
        self.setVisible(bool(made))
        self.bar.set_counts(counts)
        self._across.setStretch(0, made)
        self._across.setStretch(1, missing)
        self._track.setVisible(bool(missing))
        self._track.setToolTip(f"{missing} still to start")
