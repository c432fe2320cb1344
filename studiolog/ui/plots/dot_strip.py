"""One dot a piece over the cone it got: where a fault begins is seen at a glance."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme, tokens
from studiolog.ui.plots.plot_brushwork import TextLine, draw_line_of_text, ink, pen
from studiolog.ui.plots.plot_ticks import nice_step

_DOT, _PITCH = 8.0, 11.0


@dataclass(frozen=True)
class InspectedPiece:
    """One piece that was inspected for a fault, at the cone its place got.

    ``cone`` is on the even scale: 02 is -1, 01 is 0, 1 is 1, 6 is 6.
    """

    cone: float
    fault_seen: bool
    name: str = ""


def write_cone(cone: float) -> str:
    """A cone's name from its place on the even scale: -1 is "02", 0 "01", 5.5 "5½"."""
    whole = round(cone * 2) / 2
    under = int(whole // 1)
    half = "½" if whole != under else ""
    if under >= 1:
        return f"{under}{half}"
    if half:
        # Half cones below 1 are named from the cooler, larger number: 05½ lies between 06 and 05.
        return f"0{-under}{half}" if under < 0 else "½"
    return f"0{1 - under}"


def stack_dots(
    pieces: Sequence[InspectedPiece], low: float, high: float, width: float, rows: int
) -> list[tuple[float, int, InspectedPiece]]:
    """Column middle in pixels and height in the stack of each piece, sound ones lowest.

    A stack higher than ``rows`` spills into the columns beside it rather than out of the strip.
    """
    columns = max(1, int(width // _PITCH))
    heights = [0] * columns
    placed: list[tuple[float, int, InspectedPiece]] = []
    for piece in sorted(pieces, key=lambda p: (p.fault_seen, p.cone)):
        share = (piece.cone - low) / (high - low)
        column = min(columns - 1, max(0, int(share * columns)))
        reach = sorted(range(columns), key=lambda c: (abs(c - column), c))
        free = next((c for c in reach if heights[c] < rows), column)
        placed.append(((free + 0.5) * width / columns, heights[free], piece))
        heights[free] += 1
    return placed


class DotStrip(QWidget):
    """Filled rust squares for pieces with the fault, open celadon rings where none was seen.

    Where a surface is looked for, both are plain ink: it is neither wrong nor sound.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pieces: tuple[InspectedPiece, ...] = ()
        self._surface = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Pieces by cone")
        theme.current().changed.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(320, 112)

    def show_pieces(self, pieces: Sequence[InspectedPiece], surface: str = "") -> None:
        """Draw the inspected pieces; those nobody inspected must not be among them.

        ``surface`` are the words for the surface that is looked for in place of a fault.
        """
        self._pieces = tuple(pieces)
        self._surface = surface
        looked, found = ("described", surface) if surface else ("inspected", "with the fault")
        seen = sum(p.fault_seen for p in self._pieces)
        if self._pieces:
            low = write_cone(min(p.cone for p in self._pieces))
            high = write_cone(max(p.cone for p in self._pieces))
            span = f"cone {low}" if low == high else f"cone {low} to {high}"
            sentence = f"{len(self._pieces)} pieces {looked}, {span}: {seen} {found}."
        else:
            sentence = f"No piece was {looked}."
        self.setAccessibleDescription(sentence)
        self.setToolTip(sentence)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        caption = TextLine("", "ink3", tokens.CAPTION)
        rect = QRectF(self.rect()).adjusted(16, 4, -16, -6 - caption.height())
        if not self._pieces:
            none = "no piece described" if self._surface else "no piece inspected"
            line = TextLine(none, "ink3")
            draw_line_of_text(painter, rect.left(), rect.center().y() - 8, line)
            painter.end()
            return
        low = min(p.cone for p in self._pieces) - 0.25
        high = max(p.cone for p in self._pieces) + 0.25
        if high - low < 1:
            low, high = low - 0.5, high + 0.5
        self._draw_axis(painter, rect, low, high)
        rows = max(1, int((rect.height() - 4) // _PITCH))
        for x, row, piece in stack_dots(self._pieces, low, high, rect.width(), rows):
            middle = QPointF(rect.left() + x, rect.bottom() - 7 - row * _PITCH)
            self._draw_piece(painter, middle, piece.fault_seen, neutral=bool(self._surface))
        painter.end()

    @staticmethod
    def _draw_axis(painter: QPainter, rect: QRectF, low: float, high: float) -> None:
        painter.setPen(pen("ink", 1.0))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        step = max(0.5, nice_step(high - low, max(2, int(rect.width() / 56))))
        step = round(step) if step > 0.5 else 0.5
        first = int(-(-low // step))
        for n in range(first, int(high // step) + 1):
            x = rect.left() + (n * step - low) / (high - low) * rect.width()
            painter.setPen(pen("line2", 1.0))
            painter.drawLine(QPointF(x, rect.bottom()), QPointF(x, rect.bottom() + 4))
            name = write_cone(n * step)
            line = TextLine(f"cone {name}" if n == first else name, "ink3", tokens.CAPTION)
            left = max(rect.left() - 8, min(x - line.width() / 2, rect.right() + 8 - line.width()))
            draw_line_of_text(painter, left, rect.bottom() + 5, line)

    @staticmethod
    def _draw_piece(
        painter: QPainter, middle: QPointF, fault_seen: bool, neutral: bool = False
    ) -> None:
        half = _DOT / 2
        if fault_seen:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ink("ink" if neutral else "rust"))
            painter.drawRect(QRectF(middle.x() - half, middle.y() - half, _DOT, _DOT))
        else:
            painter.setPen(QPen(ink("ink3" if neutral else "celadon"), 1.5))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(middle, half - 0.75, half - 0.75)
