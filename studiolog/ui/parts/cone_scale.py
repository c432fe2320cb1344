"""The cone scale: what was aimed at, what the witness cone read, what heat-work computes.

Three different marks, never one: an open diamond, a cobalt cone, a rust triangle; each estimate
with its interval.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QBrush, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from studiolog.desktop.tokens import CAPTION, MARK_LINE, SECONDARY
from studiolog.ui.parts.bent_cone import cone_outline
from studiolog.ui.parts.drawing import Drawing, colour, path_of, pen, width_of, wrapped, write


@dataclass(frozen=True)
class ScaleMark:
    """A cone on the continuous scale (02 = -1, 01 = 0, 1 = 1), its interval and where it was."""

    number: float
    low: float | None = None
    high: float | None = None
    where: str = ""


def cone_words(number: float) -> str:
    """A number of the scale as potters write it: 6, 5.8, 02, or 01 +0.3 where no 0 exists."""
    nearest = round(number)
    off = round(number - nearest, 1)
    if number >= 1:
        return f"{nearest}" if off == 0 else f"{number:.1f}"
    name = f"{nearest}" if nearest >= 1 else f"0{1 - nearest}"
    if off == 0:
        return name
    return f"{name} {'+' if off > 0 else '−'}{abs(off):.1f}"


def set_side_by_side(
    wanted: Sequence[tuple[float, float]], left: float, right: float, gap: float = 10.0
) -> list[tuple[float, int]]:
    """Left edge and row of labels ``(centre, width)`` so that none overlaps another.

    All stay on row 0 if they fit beside each other between ``left`` and ``right``; otherwise
    later ones go up a row.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i][0])
    total = sum(width for _, width in wanted) + gap * max(len(wanted) - 1, 0)
    spots: list[tuple[float, int]] = [(0.0, 0)] * len(wanted)
    if total > right - left:
        for row, index in enumerate(order):
            centre, width = wanted[index]
            spots[index] = (max(left, min(centre - width / 2, right - width)), row)
        return spots
    at = left
    edges: list[float] = []
    for index in order:
        centre, width = wanted[index]
        at = max(at, centre - width / 2)
        edges.append(at)
        at += width + gap
    limit = right
    for place in range(len(order) - 1, -1, -1):
        width = wanted[order[place]][1]
        edges[place] = min(edges[place], limit - width)
        limit = edges[place] - gap
    for place, index in enumerate(order):
        spots[index] = (edges[place], 0)
    return spots


class ConeScale(Drawing):
    """Two cones wide, ticks at 0.1, three marks with whiskers, and the sentence beneath."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Cone reached", parent)
        self._aimed: float | None = None
        self._witness: ScaleMark | None = None
        self._heatwork: ScaleMark | None = None
        self.tell()

    def show_marks(
        self, aimed: float | None, witness: ScaleMark | None, heatwork: ScaleMark | None
    ) -> None:
        """Show what is known; each may be missing."""
        self._aimed, self._witness, self._heatwork = aimed, witness, heatwork
        self.tell()

    def sentence(self) -> str:
        """``Cone 6 aimed at; 5.8 by the witness cone at the lower shelf, 0.2 cooler; …``."""
        parts = []
        if self._aimed is not None:
            parts.append(f"Cone {cone_words(self._aimed)} aimed at")
        for mark, named in (
            (self._witness, "by the witness cone"),
            (self._heatwork, "computed from heat-work"),
        ):
            if mark is None:
                continue
            where = f" {mark.where}" if mark.where else ""
            parts.append(f"{cone_words(mark.number)} {named}{where}{self._off(mark)}")
        if not parts:
            return "No cone aimed at, read or computed."
        words = "; ".join(parts) + "."
        return words[0].upper() + words[1:]

    def _off(self, mark: ScaleMark) -> str:
        if self._aimed is None:
            return ""
        off = round(mark.number - self._aimed, 1)
        if off == 0:
            return ", on aim"
        return f", {abs(off):.1f} {'hotter' if off > 0 else 'cooler'}"

    def span(self) -> tuple[float, float]:
        """The scale's ends: two cones wide about the aim, wider only if a mark lies beyond."""
        known = [
            n
            for m in (self._witness, self._heatwork)
            if m is not None
            for n in (m.number, m.low, m.high)
            if n is not None
        ]
        if self._aimed is not None:
            middle = self._aimed
        else:
            middle = float(round(sum(known) / len(known))) if known else 6.0
        low = min([middle - 1, *(math.floor(n) for n in known)])
        high = max([middle + 1, *(math.ceil(n) for n in known)])
        return low, high

    def sizeHint(self) -> QSize:
        return self.asked(360, 128)

    def minimumSizeHint(self) -> QSize:
        return self.asked(240, 128)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        room = max(width / self.grown() - 4, 80)
        tall = 100 + 16 * len(wrapped(self.sentence(), SECONDARY, room))
        return round(tall * self.grown())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        low, high = self.span()
        left, right = 18.0, self.wide() - 18.0
        line_y = 58.0

        def x_of(number: float) -> float:
            return left + (right - left) * (number - low) / (high - low)

        self._paint_ticks(painter, low, high, line_y)
        if self._aimed is not None:
            x = x_of(self._aimed)
            self._diamond(painter, x, line_y, filled=True)
            words = f"aimed {cone_words(self._aimed)}"
            write(painter, QPointF(x, line_y + 21), words, "ink", CAPTION, 600, "centre")
        labels: list[tuple[float, float, str, str, str]] = []
        if self._heatwork is not None:
            x = x_of(self._heatwork.number)
            self._whisker(painter, self._heatwork, x_of, line_y - 5, "rust")
            self._triangle(painter, x, line_y, raised=self._crowded(x, x_of))
            where = self._heatwork.where
            head = f"heat-work {cone_words(self._heatwork.number)}"
            labels.append((x, 1.0, head, f"computed, {where}" if where else "computed", "rust"))
        if self._witness is not None:
            x = x_of(self._witness.number)
            self._whisker(painter, self._witness, x_of, line_y + 5, "cobalt")
            painter.save()
            painter.translate(x - 3, line_y - 0.5)
            painter.setPen(pen("cobalt", 1.5))
            painter.setBrush(QBrush(colour("cobaltwash")))
            painter.drawPath(path_of(cone_outline(70, 30)))
            painter.restore()
            head = f"witness cone {cone_words(self._witness.number)}"
            labels.append((x, -1.0, head, self._witness.where or "read", "cobalt"))
        if self._aimed is not None:
            self._diamond(painter, x_of(self._aimed), line_y, filled=False)
        self._paint_labels(painter, labels, line_y)
        y = line_y + 42
        for line in wrapped(self.sentence(), SECONDARY, self.wide() - 4):
            write(painter, QPointF(0, y), line, "ink2", SECONDARY)
            y += 16
        self.paint_focus(painter)
        painter.end()

    def _crowded(self, x: float, x_of: Callable[[float], float]) -> bool:
        """Whether the witness cone stands where the triangle would."""
        return self._witness is not None and -14 < x - x_of(self._witness.number) < 30

    def _diamond(self, painter: QPainter, x: float, line_y: float, filled: bool) -> None:
        painter.setPen(pen("ink", 1.5))
        painter.setBrush(QBrush(colour("paper")) if filled else Qt.BrushStyle.NoBrush)
        size = 7.0
        corners = [(x, line_y - size), (x + size, line_y), (x, line_y + size), (x - size, line_y)]
        painter.drawPath(path_of(corners))

    def _triangle(self, painter: QPainter, x: float, line_y: float, raised: bool) -> None:
        """The computed cone; lifted on a stem where the witness cone is in the way."""
        tip = line_y - (20 if raised else 1)
        painter.setPen(pen("rust", 1.0))
        if raised:
            painter.drawLine(QPointF(x, tip), QPointF(x, line_y - 1))
        painter.setBrush(QBrush(colour("rust")))
        painter.drawPath(path_of([(x, tip), (x - 6, tip - 10), (x + 6, tip - 10)]))

    def _paint_ticks(self, painter: QPainter, low: float, high: float, line_y: float) -> None:
        left, right = 18.0, self.wide() - 18.0
        painter.setPen(pen("ink", MARK_LINE))
        painter.drawLine(QPointF(left, line_y), QPointF(right, line_y))
        steps = round((high - low) * 10)
        taken: list[float] = []
        if self._aimed is not None:
            taken.append(left + (right - left) * (self._aimed - low) / (high - low))
        for step in range(steps + 1):
            number = low + step / 10
            x = left + (right - left) * step / steps
            whole = abs(number - round(number)) < 0.01
            half = abs(number * 2 - round(number * 2)) < 0.01
            down = 9.0 if whole else 6.5 if half else 4.0
            painter.setPen(pen("ink", MARK_LINE if whole else 1.0))
            painter.drawLine(QPointF(x, line_y), QPointF(x, line_y + down))
            if whole and all(abs(x - other) > 50 for other in taken):
                words = cone_words(float(round(number)))
                write(painter, QPointF(x, line_y + 21), words, "ink3", CAPTION, 400, "centre")

    def _whisker(
        self,
        painter: QPainter,
        mark: ScaleMark,
        x_of: Callable[[float], float],
        y: float,
        token: str,
    ) -> None:
        if mark.low is None or mark.high is None or mark.high <= mark.low:
            return
        start, end = x_of(mark.low), x_of(mark.high)
        painter.setPen(pen(token, 1.5))
        painter.drawLine(QPointF(start, y), QPointF(end, y))
        for x in (start, end):
            painter.drawLine(QPointF(x, y - 3.5), QPointF(x, y + 3.5))

    def _paint_labels(
        self,
        painter: QPainter,
        labels: Sequence[tuple[float, float, str, str, str]],
        line_y: float,
    ) -> None:
        """Both labels above the line; the lower-numbered one to the left of its mark."""
        sizes = [
            max(width_of(head, SECONDARY, 600), width_of(tail, SECONDARY))
            for _, _, head, tail, _ in labels
        ]
        marks = sorted(x for x, *_ in labels)
        wanted = []
        for (x, side, *_), width in zip(labels, sizes, strict=True):
            if len(marks) == 2 and marks[0] != marks[1]:
                side = -1.0 if x == marks[0] else 1.0
            wanted.append((x + side * (width / 2 + 14), width))
        spots = set_side_by_side(wanted, 2.0, self.wide() - 2.0)
        stacked = any(row for _, row in spots)
        for (_, _, head, tail, token), (edge, row) in zip(labels, spots, strict=True):
            # Labels that do not fit beside each other stand over each other, on one line each.
            y = line_y - 41 if not stacked else line_y - 45 + 16 * row
            write(painter, QPointF(edge, y), head, token, SECONDARY, 600)
            if not stacked:
                write(painter, QPointF(edge, y + 16), tail, token, SECONDARY)
