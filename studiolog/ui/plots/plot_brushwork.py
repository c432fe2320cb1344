"""Strokes that every plot shares: framed mapping, texts with a halo, marks, hatching."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)

from studiolog.desktop import theme, tokens

Numbers = NDArray[np.float64]


def ink(name: str) -> QColor:
    """A token's colour in the theme of now."""
    return theme.current().color(name)


def font(size: tuple[int, int], weight: int = 400) -> QFont:
    """The font of a type token."""
    return theme.current().font(size, weight)


@lru_cache(maxsize=64)
def _metrics_at(size: tuple[int, int], weight: int, _text_scale: int) -> QFontMetricsF:
    return QFontMetricsF(theme.current().font(size, weight))


def metrics(size: tuple[int, int], weight: int = 400) -> QFontMetricsF:
    """The measures of a type token at the text scale of now."""
    return _metrics_at(size, weight, theme.current().text_scale)


@lru_cache(maxsize=8192)
def _width_at(text: str, size: tuple[int, int], weight: int, text_scale: int) -> float:
    # Figures come again and again under a cursor; to measure them anew is a layout each.
    return _metrics_at(size, weight, text_scale).horizontalAdvance(text)


@lru_cache(maxsize=64)
def _rise_at(size: tuple[int, int], weight: int, text_scale: int) -> float:
    measures = _metrics_at(size, weight, text_scale)
    return (theme.current().px(size[1]) - measures.height()) / 2 + measures.ascent()


def px(size: float) -> float:
    """A length that grows with the potter's text scale."""
    return float(theme.current().px(size))


def pen(name: str, width: float = 1.0, dash: Sequence[float] = ()) -> QPen:
    """A pen in a token's colour; ``dash`` in pixels, whatever the width."""
    made = QPen(ink(name), width)
    made.setCosmetic(True)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dash:
        made.setCapStyle(Qt.PenCapStyle.FlatCap)
        made.setDashPattern([part / width for part in dash])
    return made


@dataclass(frozen=True)
class Frame:
    """A rectangle of pixels and the times and values it shows."""

    rect: QRectF
    low_s: float
    high_s: float
    low: float
    high: float

    def x(self, at_s: float) -> float:
        """The pixel of a time."""
        return self.rect.left() + (at_s - self.low_s) / (self.high_s - self.low_s) * (
            self.rect.width()
        )

    def y(self, value: float) -> float:
        """The pixel of a value."""
        return self.rect.bottom() - (value - self.low) / (self.high - self.low) * (
            self.rect.height()
        )

    def point(self, at_s: float, value: float) -> QPointF:
        """The pixel of a reading."""
        return QPointF(self.x(at_s), self.y(value))

    def time_at(self, x: float) -> float:
        """The time under a pixel."""
        return self.low_s + (x - self.rect.left()) / self.rect.width() * (self.high_s - self.low_s)

    def shows(self, at_s: float, value: float) -> bool:
        """Whether a reading lies inside."""
        return self.low_s <= at_s <= self.high_s and self.low <= value <= self.high

    def pixels(self, at_s: Numbers, values: Numbers) -> Numbers:
        """A curve's points as n x 2 pixels, set every 4 pixels along it, inside the frame only."""
        if len(at_s) < 2:
            return np.empty((0, 2))
        x = self.rect.left() + (at_s - self.low_s) / (self.high_s - self.low_s) * self.rect.width()
        y = self.rect.bottom() - (values - self.low) / (self.high - self.low) * self.rect.height()
        way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        spots = np.arange(0.0, way[-1], 4.0)
        found = np.column_stack([np.interp(spots, way, x), np.interp(spots, way, y)])
        inside = (found[:, 0] >= self.rect.left()) & (found[:, 0] <= self.rect.right())
        inside &= (found[:, 1] >= self.rect.top()) & (found[:, 1] <= self.rect.bottom())
        return np.asarray(found[inside], dtype=np.float64)

    def span(self, start_s: float, end_s: float) -> QRectF:
        """The upright band of a span of time, cut to the frame; empty if outside."""
        left = max(self.x(start_s), self.rect.left())
        right = min(self.x(end_s), self.rect.right())
        if right <= left:
            return QRectF()
        return QRectF(left, self.rect.top(), max(right - left, 1.0), self.rect.height())


@dataclass(frozen=True)
class TextLine:
    """One line of text in a token's colour."""

    text: str
    colour: str = "ink2"
    size: tuple[int, int] = tokens.SECONDARY
    weight: int = 400

    def width(self) -> float:
        """Its width in pixels."""
        return _width_at(self.text, self.size, self.weight, theme.current().text_scale)

    def height(self) -> float:
        """Its line height in pixels, grown with the potter's text scale."""
        return float(theme.current().px(self.size[1]))

    def rise(self) -> float:
        """From the top of its line down to where its letters stand."""
        return _rise_at(self.size, self.weight, theme.current().text_scale)


_LONG_NAME = 32  # letters


def cut_name(name: str) -> str:
    """A name short enough to stand beside its mark; the words under a plot have it whole."""
    return name if len(name) <= _LONG_NAME else f"{name[: _LONG_NAME - 1].rstrip()}…"


def lines_size(lines: Sequence[TextLine]) -> QSizeF:
    """The room that lines under each other need."""
    return QSizeF(
        max((line.width() for line in lines), default=0.0) + 1,
        float(sum(line.height() for line in lines)),
    )


def draw_line_of_text(
    painter: QPainter, left: float, top: float, line: TextLine, halo: str = ""
) -> float:
    """Write one line with its box's top left corner given; gives the x where it ends.

    ``halo`` names the ground colour to clear round the letters.
    """
    chosen, measures = font(line.size, line.weight), metrics(line.size, line.weight)
    baseline = top + line.rise()
    if halo:
        path = QPainterPath()
        path.addText(left, baseline, chosen, line.text)
        around = QPen(ink(halo), 4.0)
        around.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.strokePath(path, around)
    painter.setFont(chosen)
    painter.setPen(ink(line.colour))
    painter.drawText(QPointF(left, baseline), line.text)
    return left + measures.horizontalAdvance(line.text)


def draw_lines(
    painter: QPainter, box: QRectF, lines: Sequence[TextLine], halo: str = "", right: bool = False
) -> None:
    """Write lines under each other, from the left or against the right of a box."""
    top = box.top()
    for line in lines:
        left = box.right() - line.width() if right else box.left()
        draw_line_of_text(painter, left, top, line, halo)
        top += line.height()


def draw_ring(painter: QPainter, at: QPointF, colour: str, radius: float = 3.5) -> None:
    """An open ring, filled with the ground so that the curve does not run through it."""
    painter.setPen(QPen(ink(colour), 1.5))
    painter.setBrush(ink("sheet"))
    painter.drawEllipse(at, radius, radius)


def draw_dot(painter: QPainter, at: QPointF, colour: str, radius: float = 4.0) -> None:
    """A filled dot with a rim of the ground."""
    painter.setPen(QPen(ink("sheet"), 1.5))
    painter.setBrush(ink(colour))
    painter.drawEllipse(at, radius, radius)


def draw_step_mark(painter: QPainter, middle: QPointF, number: int) -> None:
    """The black numbered mark of a step."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ink("ink"))
    painter.drawEllipse(middle, px(8), px(8))
    painter.setFont(font(tokens.CAPTION, 600))
    painter.setPen(ink("sheet"))
    box = QRectF(middle.x() - px(10), middle.y() - px(8), px(20), px(16))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(number))


def draw_flag(painter: QPainter, at: QPointF, top: float) -> None:
    """A cone's flag: a line up from the curve with a pointed head."""
    painter.setPen(pen("cobalt", tokens.MARK_LINE))
    painter.drawLine(QPointF(at.x(), at.y() - 4), QPointF(at.x(), top + 8))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ink("cobalt"))
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(at.x(), top),
                QPointF(at.x() + 4, top + 10),
                QPointF(at.x() - 4, top + 10),
            ]
        )
    )


def draw_hatching(painter: QPainter, box: QRectF) -> None:
    """Slanting lines over a span without readings, with a line at each side."""
    if box.isEmpty():
        return
    painter.save()
    painter.setClipRect(box)
    painter.setPen(pen("line2", 1.0))
    reach = box.height()
    x = box.left() - reach
    while x < box.right():
        painter.drawLine(QPointF(x, box.bottom()), QPointF(x + reach, box.top()))
        x += 7.0
    painter.restore()
    painter.setPen(pen("line2", 1.0, (2, 2)))
    painter.drawLine(box.topLeft(), box.bottomLeft())
    painter.drawLine(box.topRight(), box.bottomRight())


def draw_curve(
    painter: QPainter, frame: Frame, at_s: Numbers, values: Numbers, with_pen: QPen
) -> None:
    """A curve as one stroke, cut to the frame; NaN breaks it."""
    if len(at_s) < 2:
        return
    painter.save()
    painter.setClipRect(frame.rect.adjusted(0, -2, 0, 2))
    painter.setPen(with_pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    ends = np.flatnonzero(np.isnan(values))
    for part_s, part in zip(np.split(at_s, ends), np.split(values, ends), strict=True):
        keep = ~np.isnan(part)
        points = [
            frame.point(s, v)
            for s, v in zip(part_s[keep].tolist(), part[keep].tolist(), strict=True)
        ]
        painter.drawPolyline(QPolygonF(points))
    painter.restore()


def draw_card(painter: QPainter, box: QRectF) -> None:
    """The card a plot stands on."""
    painter.fillRect(box, ink("paper"))
    painter.setPen(QPen(ink("line"), 1.0))
    painter.setBrush(QBrush(ink("sheet")))
    painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), 6, 6)
