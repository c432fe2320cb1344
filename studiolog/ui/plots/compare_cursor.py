"""The cursor of a plot of compared firings: a line, a dot on the nearest curve, and its words.

Following the mouse must cost next to nothing, so that everything that stays is made once a
picture (`CursorLook`): pens and fonts, and which columns the main curves cover. A move repaints
only what the cursor left and what it covers now.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from studiolog.desktop import theme, tokens
from studiolog.ui.plots.plot_brushwork import Frame, font, ink, metrics, pen, px

_DOT = 5
_RADIUS = 3.75
_INSET = 10.0
_AWAY = 12.0


class CursorLook:
    """What all cursors of one picture share: its strokes and the room between its main curves.

    ``curves`` are rows of pixels from the top of ``frame``, n x columns, that the words should not
    cover.
    """

    def __init__(self, frame: Frame, curves: NDArray[np.float32], width: float) -> None:
        self.frame, self.width = frame, width
        self.line: QPen = pen("cobalt", tokens.MARK_LINE)
        self.rim = QPen(ink("sheet"), 1.5)
        self.edge: QPen = pen("cobalt", 1.0)
        self.accent: QColor = ink("cobalt")
        self.ground: QColor = ink("sheet")
        self.tone: QColor = ink("ink2")
        self.heavy: QFont = font(tokens.SECONDARY, 600)
        self.plain: QFont = font(tokens.SECONDARY)
        measures = metrics(tokens.SECONDARY)
        self.line_high = px(tokens.SECONDARY[1] + 2)
        self.rise = (self.line_high - measures.height()) / 2 + measures.ascent()
        self._curves = curves
        self._covered: dict[tuple[int, int], NDArray[np.intp]] = {}

    def place(self, rows: int, wide: float, x: float, dot_y: float | None) -> QRectF:
        """The box of so many rows of words: beside the line, where it covers least."""
        high = round(rows * self.line_high + _INSET + 4)
        rect = self.frame.rect
        tops = (4, round(rect.height()) - high - 8)
        best: tuple[int, QRectF] | None = None
        for left in (x + _AWAY, x - _AWAY - wide):
            if left < 8 or left + wide > self.width - 8:
                continue
            first = max(0, int(left - rect.left()))
            for top in tops:
                covered = self._cover(top, high)
                last = len(covered) - 1
                count = int(covered[min(last, first + int(wide))] - covered[min(last, first)])
                if dot_y is not None and top - 8 < dot_y - rect.top() < top + high + 8:
                    count += 20  # the dot stands close by
                if best is None or count < best[0]:
                    best = (count, QRectF(round(left), round(rect.top() + top), wide, high))
                if not count:
                    break
            if best is not None and not best[0]:
                break
        if best is not None:
            return best[1]
        return QRectF(8, round(rect.top() + 4), wide, high)

    def _cover(self, top: int, high: int) -> NDArray[np.intp]:
        """Of how many columns from the left the main curves run through a strip, added up."""
        known = self._covered.get((top, high))
        if known is None:
            inside = (self._curves > top - 4) & (self._curves < top + high + 4)
            sums = np.cumsum(inside.any(axis=0))
            known = self._covered[(top, high)] = np.concatenate([[0], sums])
        return known


@lru_cache(maxsize=512)
def _advance(letter: str, weight: int, _text_scale: int) -> float:
    return metrics(tokens.SECONDARY, weight).horizontalAdvance(letter)


def _wide(text: str, weight: int) -> float:
    """About how wide words are: letter by letter, which needs no layout."""
    scale = theme.current().text_scale
    return sum([_advance(letter, weight, scale) for letter in text])


@dataclass(frozen=True, eq=False, slots=True)
class CompareCursor:
    """Where everything of the cursor stands, in pixels of the plot."""

    x: float
    frames: tuple[Frame, Frame]
    dots: tuple[QPointF, ...]
    rows: list[str]
    box: QRectF
    look: CursorLook

    def parts(self) -> tuple[QRect, QRect]:
        """All that it paints on: the strip of its line and dots, and the box of its words."""
        top = int(self.frames[0].rect.top()) - _DOT
        high = int(self.frames[1].rect.bottom()) + _DOT - top
        return QRect(int(self.x) - _DOT, top, 2 * _DOT + 1, high), self.box.toRect()

    def draw(self, painter: QPainter, within: QRect) -> None:
        """Paint what lies in a rectangle of the plot."""
        strip, box = self.parts()
        if strip.intersects(within):
            self._draw_line(painter)
        if box.intersects(within):
            self._draw_words(painter, box)

    def _draw_line(self, painter: QPainter) -> None:
        look = self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(look.line)
        upper, lower = self.frames[0].rect, self.frames[1].rect
        painter.drawLine(QPointF(self.x, upper.top()), QPointF(self.x, upper.bottom()))
        painter.drawLine(QPointF(self.x, lower.top()), QPointF(self.x, lower.bottom()))
        if self.dots:
            painter.setPen(look.rim)
            painter.setBrush(look.accent)
            for dot in self.dots:
                painter.drawEllipse(dot, _RADIUS, _RADIUS)

    def _draw_words(self, painter: QPainter, box: QRect) -> None:
        look = self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(look.edge)
        painter.setBrush(look.ground)
        painter.drawRect(box.adjusted(0, 0, -1, -1))
        left, base = box.left() + _INSET, box.top() + 2 + _INSET / 2 + look.rise
        painter.setFont(look.heavy)
        painter.setPen(look.accent)
        painter.drawText(QPointF(left, base), self.rows[0])
        painter.setFont(look.plain)
        painter.setPen(look.tone)
        for row in self.rows[1:]:
            base += look.line_high
            painter.drawText(QPointF(left, base), row)


def lay_out_cursor(
    x: float,
    dots: tuple[QPointF, ...],
    rows: list[str],
    frames: tuple[Frame, Frame],
    look: CursorLook,
) -> CompareCursor:
    """Set a cursor at a column, with its words beside it."""
    wide = max([_wide(rows[0], 600), *[_wide(row, 400) for row in rows[1:]]])
    box = look.place(len(rows), round(wide + 2 * _INSET + 4), x, dots[0].y() if dots else None)
    return CompareCursor(x, frames, dots, rows, box, look)
