"""The cursor of a plot of compared firings: a line, a dot on the nearest curve, and its words.

What it says is written into a small picture of its own, so that following the mouse costs one
copy of it and repaints only what the cursor left and what it covers now.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPixmap, QRegion

from studiolog.desktop import tokens
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    draw_dot,
    font,
    ink,
    metrics,
    pen,
    px,
)

_DOT = 7
_INSET = 10.0


@dataclass(frozen=True, eq=False)
class CompareCursor:
    """Where everything of the cursor stands, in pixels of the plot."""

    x: float
    frames: tuple[Frame, Frame]
    dots: tuple[QPointF, ...]
    box: QRectF
    words: QPixmap

    def region(self) -> QRegion:
        """All that it paints on."""
        # One strip for the line and its dots: many small rectangles cost more than their pixels.
        top = self.frames[0].rect.top() - _DOT
        high = self.frames[1].rect.bottom() - top + _DOT
        strip = QRectF(self.x - _DOT, top, 2 * _DOT + 1, high)
        return QRegion(self.box.toAlignedRect()) + QRegion(strip.toAlignedRect())

    def draw(self, painter: QPainter) -> None:
        painter.setPen(pen("cobalt", tokens.MARK_LINE))
        for frame in self.frames:
            painter.drawLine(
                QPointF(self.x, frame.rect.top()), QPointF(self.x, frame.rect.bottom())
            )
        for dot in self.dots:
            draw_dot(painter, dot, "cobalt")
        painter.drawPixmap(self.box.topLeft(), self.words)


def write_box(rows: list[str], ratio: float) -> QPixmap:
    """The words as a picture: the first row in the accent, the rest plain."""
    heavy, plain = metrics(tokens.SECONDARY, 600), metrics(tokens.SECONDARY)
    wide = max((heavy if n == 0 else plain).horizontalAdvance(text) for n, text in enumerate(rows))
    high = px(tokens.SECONDARY[1] + 2)
    width, height = round(wide + 2 * _INSET + 2), round(high * len(rows) + _INSET + 4)
    picture = QPixmap(round(width * ratio), round(height * ratio))
    picture.setDevicePixelRatio(ratio)
    picture.fill(ink("sheet"))
    painter = QPainter(picture)
    painter.setPen(pen("cobalt", 1.0))
    painter.drawRect(QRectF(0.5, 0.5, width - 1, height - 1))
    rise = (high - plain.height()) / 2 + plain.ascent()
    for n, text in enumerate(rows):
        painter.setFont(font(tokens.SECONDARY, 400 if n else 600))
        painter.setPen(ink("ink2" if n else "cobalt"))
        painter.drawText(QPointF(_INSET, 2 + _INSET / 2 + n * high + rise), text)
    painter.end()
    return picture


def place_box(
    words: QPixmap,
    x: float,
    dots: tuple[QPointF, ...],
    frame: Frame,
    width: float,
    curves: NDArray[np.float32],
) -> QRectF:
    """Beside the cursor's line, where it covers least of ``curves``: n rows of pixels from the top
    of the frame, one a column."""
    size = words.deviceIndependentSize()
    tops = (frame.rect.top() + 4, frame.rect.bottom() - size.height() - 8)
    best: tuple[float, QRectF] | None = None
    for left in (x + 12, x - 12 - size.width()):
        if left < 8 or left + size.width() > width - 8:
            continue
        first = max(0, int(left - frame.rect.left()))
        under = curves[:, first : first + int(size.width())]
        for top in tops:
            box = QRectF(float(round(left)), float(round(top)), size.width(), size.height())
            high = top - frame.rect.top()
            inside = (under > high - 4) & (under < high + size.height() + 4)
            covered = float(np.count_nonzero(inside))
            covered += sum(1000.0 for dot in dots if box.adjusted(-8, -8, 8, 8).contains(dot))
            if best is None or covered < best[0]:
                best = (covered, box)
    if best is not None:
        return best[1]
    return QRectF(8.0, float(round(tops[0])), size.width(), size.height())
