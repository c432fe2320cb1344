"""How one piece comes out: the sizes it may have, with what is allowed, drawn on one axis in mm."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy

from studiolog.craft.clay.sizes import Miss, SizeForecast
from studiolog.craft.units import show_number, show_quantity
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, path_of, pen, write

_HIGH, _AXIS, _HEAD = 96.0, 26.0, 22.0
_POINTS = 121


class SizeCurve(Drawing):
    """The curve of one piece; what falls outside the limits is hatched and named."""

    def __init__(self) -> None:
        super().__init__("How one piece comes out")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._coming: SizeForecast | None = None
        self._low: float | None = None
        self._high: float | None = None
        self._miss = Miss(0.0, 0.0)
        self._what = ""
        self.tell()

    def show_forecast(
        self,
        coming: SizeForecast | None,
        low_mm: float | None,
        high_mm: float | None,
        miss: Miss,
        what: str,
    ) -> None:
        """Draw a forecast; None takes it away. ``what`` names the size: "fired, across"."""
        self._coming, self._low, self._high = coming, low_mm, high_mm
        self._miss, self._what = miss, what
        self.tell()

    def sentence(self) -> str:
        if self._coming is None:
            return "No size to show yet."
        low, high = self._coming.interval()
        middle = show_quantity(self._coming.middle_mm, "mm", 1)
        return (
            f"{self._what.capitalize()}: {middle} in the middle, "
            f"19 in 20 from {show_number(low, 1)} to {show_quantity(high, 'mm', 1)}."
        )

    def sizeHint(self) -> QSize:
        return self.asked(520, _HEAD + _HIGH + _AXIS)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.asked(320, 0).width(), self.sizeHint().height())

    def _ends(self, coming: SizeForecast) -> tuple[float, float]:
        low, high = coming.interval(0.99)
        if self._low is not None:
            low = min(low, self._low)
        if self._high is not None:
            high = max(high, self._high)
        room = 0.06 * (high - low) + 0.01
        return low - room, high + room

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        if self._coming is not None:
            self._paint(painter, self._coming)
        self.paint_focus(painter)
        painter.end()

    def _paint(self, painter: QPainter, coming: SizeForecast) -> None:
        low, high = self._ends(coming)
        room = QRectF(10, _HEAD, self.wide() - 20, _HIGH)
        base = room.bottom()
        top = coming.density(coming.middle_mm) * 1.06

        def spot(size: float) -> QPointF:
            x = room.left() + (size - low) / (high - low) * room.width()
            return QPointF(x, base - coming.density(size) / top * room.height())

        sizes = [low + (high - low) * k / (_POINTS - 1) for k in range(_POINTS)]
        curve = [spot(size) for size in sizes]
        inside_low = low if self._low is None else self._low
        inside_high = high if self._high is None else self._high
        for start, end, good in (
            (low, inside_low, False), (inside_low, inside_high, True), (inside_high, high, False),
        ):  # fmt: skip
            if end <= start:
                continue
            edge = [spot(start), *(spot(s) for s in sizes if start < s < end), spot(end)]
            points = [(p.x(), p.y()) for p in edge]
            shape = path_of([(points[0][0], base), *points, (points[-1][0], base)])
            if good:
                painter.fillPath(shape, colour("celadonwash"))
            else:
                painter.fillPath(shape, colour("rustwash"))
                hatch = painter.brush()
                hatch.setColor(colour("rust"))
                hatch.setStyle(Qt.BrushStyle.BDiagPattern)
                painter.fillPath(shape, hatch)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen("ink", 1.5))
        painter.drawPath(path_of([(p.x(), p.y()) for p in curve], closed=False))
        painter.setPen(pen("ink", 1, (3, 3)))
        middle = spot(coming.middle_mm)
        painter.drawLine(QPointF(middle.x(), base), middle)
        self._paint_axis(painter, room, low, high)
        for limit, chance, side in (
            (self._low, self._miss.too_small, "right"),
            (self._high, self._miss.too_large, "left"),
        ):
            if limit is None:
                continue
            x = spot(limit).x()
            painter.setPen(pen("ink", 1.5))
            painter.drawLine(QPointF(x, _HEAD - 4), QPointF(x, base))
            word = "too small" if side == "right" else "too large"
            told = f"{word} {show_chance(chance)}"
            align = "left" if side == "right" and x < room.left() + 90 else side
            align = "right" if side == "left" and x > room.right() - 90 else align
            shift = -5 if align == "right" else 5
            write(painter, QPointF(x + shift, _HEAD - 10), told, "rust", SECONDARY, 500, align)

    def _paint_axis(self, painter: QPainter, room: QRectF, low: float, high: float) -> None:
        base, span = room.bottom(), high - low
        painter.setPen(pen("line2", 1))
        painter.drawLine(QPointF(room.left(), base), QPointF(room.right(), base))
        steps = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
        step = next((one for one in steps if span / one <= 8), 1000)
        mark = -(-low // step) * step
        while mark <= high:
            x = room.left() + (mark - low) / span * room.width()
            painter.setPen(pen("line2", 1))
            painter.drawLine(QPointF(x, base), QPointF(x, base + 4))
            if x < room.right() - 36:  # the unit stands there
                told = show_number(mark, 1 if step < 1 else 0)
                write(painter, QPointF(x, base + 13), told, "ink3", CAPTION, align="centre")
            mark += step
        write(painter, QPointF(room.right(), base + 13), "mm", "ink3", CAPTION, align="right")


def show_chance(chance: float) -> str:
    """A chance in whole per cent; what is nearly none or nearly sure says so."""
    if 0.0 < chance < 0.005:
        return "under 1\u202f%"
    if 0.995 < chance < 1.0:
        return "over 99\u202f%"
    return show_quantity(100 * chance, "%")
