"""The cursor of a firing plot: its line, its dots and the box of what it reads.

Laid out once where it stands, so that moving it repaints only what it left and what it covers.
"""

from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QPainter, QRegion

from studiolog.desktop import tokens
from studiolog.ui.plots.firing_readout import Readout
from studiolog.ui.plots.label_room import LabelRoom
from studiolog.ui.plots.plot_brushwork import (
    Frame,
    TextLine,
    draw_dot,
    font,
    ink,
    pen,
)
from studiolog.ui.plots.plot_ticks import Unit

_COLOURS = {
    "logged": "rust", "as logged": "rust", "program": "ink", "rate": "rust", "heat-work": "rust"
}  # fmt: skip
_DOT = 7.0  # the reach of a dot with its rim, and some more


@dataclass
class FiringCursor:
    """Where everything of the cursor stands, in pixels of the plot."""

    x: float
    frames: tuple[Frame, Frame]
    dots: list[QPointF]
    box: QRectF
    words: list[tuple[TextLine, QPointF]] = field(default_factory=list)
    """Each text in the box, and where its letters stand."""

    def parts(self) -> tuple[QRect, QRect]:
        """All that it paints on: the strip of its line and dots, and the box of its words."""
        top = self.frames[0].rect.top() - _DOT
        high = self.frames[-1].rect.bottom() + _DOT - top
        strip = QRectF(self.x - _DOT, top, 2 * _DOT, high)
        box = self.box.adjusted(-3, -3, 3, 3)
        return strip.toAlignedRect(), box.toAlignedRect()

    def region(self) -> QRegion:
        """The same as one region."""
        strip, box = self.parts()
        return QRegion(strip).united(box)

    def draw(self, painter: QPainter, within: QRect) -> None:
        """Paint what lies in a rectangle of the plot."""
        strip, box = self.parts()
        if strip.intersects(within):
            self._draw_line(painter)
        if box.intersects(within):
            self._draw_words(painter)

    def _draw_line(self, painter: QPainter) -> None:
        painter.setPen(pen("cobalt", tokens.MARK_LINE))
        for frame in self.frames:
            painter.drawLine(
                QPointF(self.x, frame.rect.top()), QPointF(self.x, frame.rect.bottom())
            )
        for dot in self.dots:
            draw_dot(painter, dot, "cobalt")

    def _draw_words(self, painter: QPainter) -> None:
        painter.setPen(pen("cobalt", 1.25))
        painter.setBrush(ink("sheet"))
        painter.drawRoundedRect(self.box, 5, 5)
        look: tuple[str, int] | None = None
        for line, at in self.words:
            if look is None or look[0] != line.colour:
                painter.setPen(ink(line.colour))
            if look is None or look[1] != line.weight:
                painter.setFont(font(line.size, line.weight))
            look = (line.colour, line.weight)
            painter.drawText(at, line.text)

    def write(self, left: float, top: float, line: TextLine) -> None:
        """Put a text into the box, with its corner given."""
        self.words.append((line, QPointF(left, top + line.rise())))


def lay_out_cursor(
    readout: Readout, frames: tuple[Frame, Frame], unit: Unit, room: LabelRoom | None, width: float
) -> FiringCursor | None:
    """Set the cursor of a plot ``width`` pixels wide; None where it stands outside the view."""
    heat, rate = frames
    if not heat.low_s <= readout.at_s <= heat.high_s:
        return None
    dots = []
    value = readout.logged_c
    if value is None and not readout.as_logged:
        value = readout.program_c
    if value is not None and heat.shows(readout.at_s, value):
        dots.append(heat.point(readout.at_s, value))
    if readout.rate_c_per_h is not None and rate.shows(readout.at_s, readout.rate_c_per_h):
        dots.append(rate.point(readout.at_s, readout.rate_c_per_h))
    x = heat.x(readout.at_s)
    return _with_words(FiringCursor(x, frames, dots, QRectF()), readout, unit, room, width)


def _with_words(
    cursor: FiringCursor, readout: Readout, unit: Unit, room: LabelRoom | None, width: float
) -> FiringCursor:
    heading = TextLine(readout.heading(), "cobalt", tokens.SECONDARY, 600)
    rows = [
        (
            TextLine(name, "ink2"),
            TextLine(value, _COLOURS[name], tokens.SECONDARY, 600),
            TextLine(remark, "ink2"),
        )
        for name, value, remark in readout.rows(unit)
    ]
    widths = [[line.width() for line in row] for row in rows]
    columns = [max(column) for column in zip(*widths, strict=True)] or [0.0, 0.0, 0.0]
    notes = [TextLine(words, "ink2") for words in readout.remarks(unit)]
    wide = max(heading.width(), sum(columns) + 32, *(note.width() for note in notes), 0.0) + 24
    line_height = heading.height() + 2
    high = line_height * (len(rows) + len(notes) + 1) + 14
    box = _choose_box(cursor, wide, high, room, width)
    cursor.box = box
    top = box.top() + 7
    cursor.write(box.left() + 12, top, heading)
    right = box.left() + 12 + columns[0] + 16 + columns[1]
    for (name, figure, remark), (_name, figure_wide, remark_wide) in zip(rows, widths, strict=True):
        top += line_height
        cursor.write(box.left() + 12, top, name)
        cursor.write(right - figure_wide, top, figure)
        if remark.text:
            cursor.write(box.right() - 12 - remark_wide, top, remark)
    for note in notes:
        top += line_height
        cursor.write(box.left() + 12, top, note)
    cursor.words.sort(key=lambda word: (word[0].weight, word[0].colour))
    return cursor


def _choose_box(
    cursor: FiringCursor, wide: float, high: float, room: LabelRoom | None, width: float
) -> QRectF:
    """Of equally clear places the first: near the cursor's line, low on the plot."""
    rect = cursor.frames[0].rect
    tops = np.linspace(rect.bottom() - high - 2, rect.top() + 2, 6).tolist()
    best: tuple[int, QRectF] | None = None
    for top in tops:
        for away in (12, 80, 150):
            for left in (cursor.x + away, cursor.x - away - wide):
                if left < 8 or left + wide > width - 8:
                    continue
                choice = QRectF(left, top, wide, high)
                covered = room.covered(choice) if room else 0
                if best is None or covered < best[0]:
                    best = (covered, choice)
                if not covered:
                    return choice
    return best[1] if best is not None else QRectF(8, rect.top() + 2, wide, high)
