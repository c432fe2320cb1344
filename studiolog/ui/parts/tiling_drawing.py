"""Tiles over an area, drawn to scale: whole ones plain, cut ones hatched, narrow cuts crossed."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy

from studiolog.craft.units import show_quantity
from studiolog.craft.ware.polygons import Polygon, bounds, centre_of, narrowest
from studiolog.craft.ware.tiles import TILE_KINDS
from studiolog.craft.ware.tiling import Layout
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, path_of, pen, width_of, wrapped, write

_EDGE, _FOOT = 10.0, 46.0
_WORKING = "Laying the tiles …"
_MOST_HIGH = 440
_NUMBERED = 15.0
"""A cut piece so wide in the drawing has room for the number of its cut."""


class TilingDrawing(Drawing):
    """The layout with a scale bar and a legend; its sentence counts what is drawn."""

    def __init__(self) -> None:
        super().__init__("The tiles as they lie")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._layout: Layout | None = None
        self._instead = _WORKING
        self.tell()

    def show_layout(self, layout: Layout | None, instead: str = _WORKING) -> None:
        """Draw a layout; where there is none, the words that stand there instead."""
        self._layout, self._instead = layout, instead
        self.tell()

    def sentence(self) -> str:
        layout = self._layout
        if layout is None:
            return self._instead
        kinds = TILE_KINDS[layout.tile.kind]
        return (
            f"{layout.whole} whole {kinds} and {layout.cut} cut ones over "
            f"{show_quantity(layout.area_mm2 / 1e6, 'm²', 2)}, {layout.narrow} narrow."
        )

    def sizeHint(self) -> QSize:
        # With large text the words grow, and a plan of an area need not.
        return QSize(self.asked(520, 0).width(), min(self.asked(0, 400).height(), _MOST_HIGH))

    def minimumSizeHint(self) -> QSize:
        return QSize(self.asked(260, 0).width(), min(self.asked(0, 240).height(), _MOST_HIGH))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        if self._layout is not None:
            self._paint(painter, self._layout)
        else:
            for place, line in enumerate(wrapped(self._instead, SECONDARY, self.wide() - 40)):
                at = QPointF(self.wide() / 2, self.tall() / 2 + 18 * place)
                write(painter, at, line, "ink3", SECONDARY, align="centre")
        self.paint_focus(painter)
        painter.end()

    def _paint(self, painter: QPainter, layout: Layout) -> None:
        left, lower, right, upper = bounds(layout.area)
        room = self.frame().adjusted(_EDGE, _EDGE, -_EDGE, -_FOOT)
        scale = min(room.width() / (right - left), room.height() / (upper - lower))
        x0 = room.center().x() - scale * (left + right) / 2
        y0 = room.center().y() + scale * (lower + upper) / 2

        def place(points: Polygon) -> list[tuple[float, float]]:
            return [(x0 + scale * x, y0 - scale * y) for x, y in points]

        painter.fillPath(path_of(place(layout.area)), colour("sunk"))
        small = scale * min(layout.tile.size) < 9
        line = pen("ink3", 0.5 if small else 1)
        for piece in layout.pieces:
            shape = path_of(place(piece.outline))
            painter.setPen(line)
            painter.setBrush(colour("sheet"))
            painter.drawPath(shape)
            if piece.cut:
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(hatching(piece.narrow))
                painter.drawPath(shape)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen("ink", 1.5))
        painter.drawPath(path_of(place(layout.area)))
        for piece in layout.pieces:
            if piece.cut:
                self._number(painter, place(piece.outline), str(piece.cut))
        self._paint_foot(painter, layout, scale)

    def _number(self, painter: QPainter, points: list[tuple[float, float]], words: str) -> None:
        wide = width_of(words, CAPTION) + 6
        if narrowest(points) < max(_NUMBERED, wide):
            return
        middle = QPointF(*centre_of(points))
        patch = QRectF(middle.x() - wide / 2, middle.y() - 7, wide, 14)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour("sheet"))
        painter.drawRoundedRect(patch, 3, 3)
        write(painter, middle, words, "ink", CAPTION, align="centre")

    def _paint_foot(self, painter: QPainter, layout: Layout, scale: float) -> None:
        level = self.tall() - 30.0
        length = next(
            (one for one in (5000, 2000, 1000, 500, 200, 100, 50, 20)
             if one * scale <= 0.3 * self.wide()), 10,
        )  # fmt: skip
        painter.setPen(pen("ink", 1.5))
        start = QPointF(_EDGE, level)
        painter.drawLine(start, start + QPointF(length * scale, 0))
        for end in (start, start + QPointF(length * scale, 0)):
            painter.drawLine(end - QPointF(0, 4), end + QPointF(0, 4))
        told = show_quantity(length / 1000, "m", 0 if length >= 1000 else 2)
        if length < 1000:
            told = show_quantity(length, "mm")
        write(painter, start + QPointF(length * scale + 8, 0), told, "ink2", SECONDARY)
        x = _EDGE
        for words, cut, narrow, many in (
            ("whole", False, False, layout.whole),
            ("cut", True, False, sum(p.cut > 0 and not p.narrow for p in layout.pieces)),
            ("cut narrow", True, True, layout.narrow),
        ):
            if not many:
                continue
            box = QRectF(x, self.tall() - 18, 14, 14)
            painter.setPen(pen("ink3", 1))
            painter.setBrush(colour("sheet"))
            painter.drawRect(box)
            if cut:
                painter.setBrush(hatching(narrow))
                painter.drawRect(box)
            x += 20 + write(painter, QPointF(x + 20, self.tall() - 11), f"{words} {many}", "ink2",
                            SECONDARY) + 20  # fmt: skip


def hatching(narrow: bool) -> QBrush:
    """The pattern of a cut tile: diagonals; crossed and rust where it is narrow."""
    if narrow:
        return QBrush(colour("rust"), Qt.BrushStyle.DiagCrossPattern)
    return QBrush(colour("ink3"), Qt.BrushStyle.BDiagPattern)
