"""A fault rate, never without its count and its whisker.

Below five pieces the cell is hollow and says *too few*; with none it says *never tried*.
"""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.units import THIN
from studiolog.desktop import theme
from studiolog.desktop.theme import Theme
from studiolog.desktop.tokens import CAPTION, RADIUS_CARD, SECONDARY

FEWEST = 5  # pieces a cell needs to be drawn solid
CELL = (256, 48)


def track_of(rect: QRectF) -> QRectF:
    """Where 0 to 100 per cent lies within a cell, so that a head can put its ticks above."""
    look = theme.current()
    left = rect.left() + 14 + look.px(72)
    right = rect.right() - look.px(60)
    high = look.px(16)
    return QRectF(left, rect.center().y() - high / 2, max(24.0, right - left), high)


def describe_rate(seen: int, inspected: int, low: float, high: float) -> str:
    """The cell in words: its accessible description, tool-tip and copied text."""
    if inspected == 0:
        return "never tried"
    if inspected < FEWEST:
        return f"seen on {seen} of {inspected}: too few to tell"
    return (
        f"seen on {seen} of {inspected}, "
        f"somewhere between {round(100 * low)} and {round(100 * high)} in 100"
    )


def paint_rate(
    painter: QPainter,
    rect: QRectF,
    look: Theme,
    seen: int,
    inspected: int,
    low: float,
    high: float,
    selected: bool = False,
    stale: bool = False,
    neutral: bool = False,
) -> None:
    """Paint one rate cell. ``low`` and ``high`` bound the rate as fractions, 0 to 1.

    ``stale`` dims a value that is being worked out anew. ``neutral`` is for what is neither wrong
    nor sound: how often a glaze came out matt.
    """
    track = track_of(rect)
    left = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if selected:
        painter.setPen(QPen(look.color("cobalt"), 2))
        painter.setBrush(look.color("cobaltwash"))
        painter.drawRoundedRect(rect.adjusted(2, 3, -2, -3), RADIUS_CARD, RADIUS_CARD)
    few = inspected < FEWEST
    ink = look.color("ink3" if few or stale else "ink")
    words = QRectF(rect.left() + 14, rect.top(), track.left() - rect.left() - 18, rect.height())
    if inspected == 0:
        painter.setFont(look.font(SECONDARY))
        painter.setPen(look.color("ink3"))
        painter.drawText(words.adjusted(0, 0, 60, 0), left, "never tried")
        _paint_plus(painter, QPointF(rect.right() - 30, rect.center().y()), look)
        painter.restore()
        return
    strong, plain = look.font(SECONDARY, 400 if few else 600), look.font(SECONDARY)
    painter.setFont(strong)
    painter.setPen(ink)
    count = str(seen)
    painter.drawText(words, left, count)
    shift = painter.fontMetrics().horizontalAdvance(count)
    painter.setFont(plain)
    painter.setPen(ink if few or stale else look.color("ink2"))
    painter.drawText(words.adjusted(shift, 0, 8, 0), left, f" of {inspected}")
    right = QRectF(track.right() + 10, rect.top(), rect.right() - track.right() - 12, rect.height())
    if few:
        _paint_hollow(painter, track, look, seen / inspected, low, high)
        painter.setFont(look.font(CAPTION))
        painter.setPen(look.color("ink3"))
        painter.drawText(right, left, "too few")
    else:
        _paint_solid(painter, track, look, seen / inspected, low, high, stale, selected, neutral)
        painter.setFont(look.font(SECONDARY, 600))
        none = seen == 0 and not neutral
        painter.setPen(look.color("ink3" if stale else "celadon" if none else "ink"))
        painter.drawText(right, left, f"{round(100 * seen / inspected)}{THIN}%")
    painter.restore()


def _paint_plus(painter: QPainter, middle: QPointF, look: Theme) -> None:
    painter.setPen(QPen(look.color("ink3"), 1.25))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(middle, 9, 9)
    painter.drawLine(middle - QPointF(4, 0), middle + QPointF(4, 0))
    painter.drawLine(middle - QPointF(0, 4), middle + QPointF(0, 4))


def _paint_hollow(
    painter: QPainter, track: QRectF, look: Theme, rate: float, low: float, high: float
) -> None:
    pen = QPen(look.color("ink3"), 1)
    pen.setDashPattern([3, 3])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(track.adjusted(0.5, 0.5, -0.5, -0.5), 2, 2)
    dotted = QPen(look.color("ink3"), 1.5)
    dotted.setCapStyle(Qt.PenCapStyle.FlatCap)
    dotted.setDashPattern([1, 2])
    painter.setPen(dotted)
    y = track.center().y()
    painter.drawLine(
        QPointF(track.left() + low * track.width(), y),
        QPointF(track.left() + high * track.width(), y),
    )
    painter.setPen(QPen(look.color("ink3"), 1.5))
    painter.setBrush(look.color("paper"))
    painter.drawEllipse(QPointF(track.left() + rate * track.width(), y), 3.5, 3.5)


def _paint_solid(
    painter: QPainter,
    track: QRectF,
    look: Theme,
    rate: float,
    low: float,
    high: float,
    stale: bool,
    selected: bool,
    neutral: bool,
) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.color("sheet" if selected else "sunk"))
    painter.drawRoundedRect(track, 2, 2)
    if rate > 0:
        bar = QRectF(track)
        bar.setWidth(max(2.0, rate * track.width()))
        painter.setBrush(look.color("ink3" if stale or neutral else "rustfill"))
        painter.drawRoundedRect(bar, 2, 2)
    else:
        painter.fillRect(
            QRectF(track.left() - 1, track.top() - 1, 3, track.height() + 2),
            look.color("ink3" if neutral else "celadon"),
        )
    whisker = QPen(look.color("ink3" if stale else "ink"), 1.75)
    whisker.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(whisker)
    y = track.center().y()
    x1 = track.left() + low * track.width()
    x2 = track.left() + high * track.width()
    painter.drawLine(QPointF(x1, y), QPointF(x2, y))
    for x in (x1, x2) if rate > 0 else (x2,):
        painter.drawLine(QPointF(x, y - 4.5), QPointF(x, y + 4.5))


class RateBar(QWidget):
    """One rate to read, outside a matrix."""

    def __init__(
        self,
        seen: int,
        inspected: int,
        low: float = 0.0,
        high: float = 1.0,
        parent: QWidget | None = None,
        neutral: bool = False,
    ) -> None:
        super().__init__(parent)
        self._neutral = neutral
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.set_rate(seen, inspected, low, high)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def set_rate(self, seen: int, inspected: int, low: float, high: float) -> None:
        self._rate = (seen, inspected, low, high)
        said = describe_rate(seen, inspected, low, high)
        self.setAccessibleName(said)
        self.setToolTip(said)
        self.update()

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(CELL[0]), look.px(CELL[1]))

    def minimumSizeHint(self) -> QSize:
        """Qt: the count, the per cent, and a track still to be read."""
        look = theme.current()
        return QSize(look.px(190), look.px(32))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, box = QPainter(self), QRectF(self.rect())
        paint_rate(painter, box, theme.current(), *self._rate, neutral=self._neutral)
