"""A chance between none and all, never without the span it may have."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.glaze.fit import Chance
from studiolog.craft.glaze.fit_words import show_chance, show_chance_interval
from studiolog.craft.units import THIN
from studiolog.desktop import theme


class ChanceBar(QWidget):
    """A track from 0 to 100 %, the interval as a whisker, the chance as a diamond on it."""

    def __init__(self, about: str, chance: Chance, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chance = chance
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        words = f"{show_chance(chance.mean)}, 90{THIN}% interval {show_chance_interval(chance)}"
        self.setAccessibleName(f"{about}: {words}")
        self.setToolTip(words)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(140), look.px(20))

    def minimumSizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(80), look.px(20))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        high = look.px(12)
        track = QRectF(7, (self.height() - high) / 2, self.width() - 14, high)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("sunk"))
        painter.drawRoundedRect(track, 2, 2)

        def at(share: float) -> QPointF:
            return QPointF(track.left() + share * track.width(), track.center().y())

        low, high_end = at(self._chance.low), at(self._chance.high)
        painter.setPen(QPen(look.color("ink"), 1.75))
        painter.drawLine(low, high_end)
        for end in (low, high_end):
            painter.drawLine(end - QPointF(0, 4.5), end + QPointF(0, 4.5))
        middle, reach = at(self._chance.mean), 5.5
        painter.setBrush(look.color("sheet"))
        ways = (QPointF(0, -reach), QPointF(reach, 0), QPointF(0, reach), QPointF(-reach, 0))
        painter.drawPolygon(QPolygonF([middle + way for way in ways]))
