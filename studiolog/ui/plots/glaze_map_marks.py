"""How a glaze stands on the map: its own swatch, and round it what was looked for and seen.

A full ring is all pieces that were looked at: celadon where none was seen, rust as far round as it
was. Where a surface is asked for, seen is ink and otherwise grey: neither is wrong or sound. Under
five pieces the ring is dashed. Nobody looked: a short dash below. No piece at all: hollow.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme, tokens
from studiolog.desktop.tokens import RADIUS_CHIP
from studiolog.journal.glaze_map import MapGlaze
from studiolog.ui.parts.swatch import GlazeLook, paint_glaze_swatch
from studiolog.ui.plots.plot_brushwork import TextLine, draw_line_of_text, ink, pen, px

_SIDE, _SMALL = 25.0, 12.0
_TURN = 16 * 360  # Qt counts sixteenths of a degree


@dataclass(frozen=True)
class MarkLook:
    """What stands at one place of the map, whatever it stands for."""

    look: GlazeLook
    seen: int
    looked: int
    pieces: int
    enough: bool
    small: bool = False

    @property
    def share(self) -> float:
        """The share of the pieces looked at on which it was seen."""
        return self.seen / self.looked if self.looked else 0.0


def look_of(glaze: MapGlaze) -> MarkLook:
    """How a glaze is marked; those of single test tiles are smaller."""
    return MarkLook(
        GlazeLook(glaze.title, glaze.colour, glaze.pattern),
        glaze.rate.events,
        glaze.rate.trials,
        glaze.pieces,
        glaze.rate.says_enough,
        glaze.trial,
    )


def mark_reach(small: bool) -> float:
    """From the middle of a mark to the outside of its ring, in pixels."""
    side = px(_SMALL if small else _SIDE)
    return side * 0.707 + px(3.0 if small else 4.5)


def paint_glaze_mark(painter: QPainter, at: QPointF, mark: MarkLook, neutral: bool) -> None:
    """Paint a glaze at a point of the map."""
    side = px(_SMALL if mark.small else _SIDE)
    box = QRectF(at.x() - side / 2, at.y() - side / 2, side, side)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if not mark.pieces:
        hollow = pen("ink3", 1.25, (3, 2))
        painter.setPen(hollow)
        painter.setBrush(ink("sheet"))
        inner = box.adjusted(1, 1, -1, -1)
        painter.drawRoundedRect(inner, RADIUS_CHIP, RADIUS_CHIP)
        return
    if mark.looked:
        _paint_ring(painter, at, mark, neutral)
    paint_glaze_swatch(painter, box, mark.look)
    if not mark.looked:
        painter.setPen(QPen(ink("ink3"), 1.5))
        low = box.bottom() + px(3)
        painter.drawLine(QPointF(at.x() - px(4), low), QPointF(at.x() + px(4), low))


def _paint_ring(painter: QPainter, at: QPointF, mark: MarkLook, neutral: bool) -> None:
    reach = mark_reach(mark.small) - (1.0 if mark.small else 1.5)
    circle = QRectF(at.x() - reach, at.y() - reach, 2 * reach, 2 * reach)
    thin, thick = (1.5, 2.5) if mark.small else (2.0, 3.75)
    seen = round(_TURN * mark.share)
    rest, part = ("line2", "ink") if neutral else ("celadon", "rust")
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for colour, wide, start, span in (
        (rest, thin, 16 * 90 - seen, -(_TURN - seen)),
        (part, thick, 16 * 90, -seen),
    ):
        if not span:
            continue
        line = QPen(ink(colour), wide)
        line.setCapStyle(Qt.PenCapStyle.FlatCap)
        if not mark.enough:
            line.setDashPattern([3.0 / wide, 2.5 / wide])
        painter.setPen(line)
        painter.drawArc(circle, start, span)


def paint_descent(
    painter: QPainter, start: QPointF, end: QPointF, from_r: float, to_r: float
) -> None:
    """A hairline from a version to the one made of it, with a small head at the newer one."""
    way = end - start
    far = (way.x() ** 2 + way.y() ** 2) ** 0.5
    if far <= from_r + to_r + 4:
        return
    unit = QPointF(way.x() / far, way.y() / far)
    first, last = start + unit * (from_r + 2), end - unit * (to_r + 3)
    painter.setPen(QPen(ink("ink2"), 1.0))
    painter.drawLine(first, last)
    across = QPointF(-unit.y(), unit.x())
    foot = last - unit * px(6)
    painter.setBrush(ink("ink2"))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawPolygon(QPolygonF([last, foot + across * px(2.5), foot - across * px(2.5)]))


class MapLegend(QWidget):
    """What the marks of the map mean, each with its words; they flow on to a next line."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._neutral = False
        self._lines: tuple[tuple[MarkLook, str], ...] = ()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        theme.current().changed.connect(self.updateGeometry)
        self.show_words("crazing", False)

    def show_words(self, words: str, neutral: bool) -> None:
        """Speak of a fault, or (``neutral``) of a surface."""
        plain = GlazeLook("", "#B7AFA0", "level lines")
        none = "described otherwise" if neutral else "looked for, none seen"
        looked = "not described" if neutral else "not looked"
        self._neutral = neutral
        self._lines = (
            (MarkLook(plain, 0, 9, 9, True), none),
            (MarkLook(plain, 3, 9, 9, True), f"{words} seen on so many"),
            (MarkLook(plain, 1, 3, 3, False), "under 5 pieces"),
            (MarkLook(plain, 0, 0, 3, False), looked),
            (MarkLook(plain, 0, 0, 0, False), "untested"),
        )
        told = "; ".join(said for _, said in self._lines)
        self.setAccessibleName(f"Marks: {told}")
        self.updateGeometry()
        self.update()

    def _places(self, width: float) -> tuple[list[QPointF], float]:
        pitch, reach = px(46), mark_reach(False)
        x, y = reach + 2, pitch / 2
        places: list[QPointF] = []
        for _, said in self._lines:
            wide = 2 * reach + px(8) + TextLine(said, "ink2").width() + px(18)
            if places and x - reach + wide > width:
                x, y = reach + 2, y + pitch
            places.append(QPointF(x, y))
            x += wide
        return places, y + pitch / 2

    def heightForWidth(self, width: int) -> int:
        return round(self._places(width)[1])

    def sizeHint(self) -> QSize:
        wide = self.width() if self.width() > 150 else round(px(900))
        return QSize(round(px(900)), self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        wide = self.width() if self.width() > 150 else round(px(900))
        return QSize(round(px(150)), self.heightForWidth(wide))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        for at, (mark, said) in zip(self._places(self.width())[0], self._lines, strict=True):
            paint_glaze_mark(painter, at, mark, self._neutral)
            line = TextLine(said, "ink2", tokens.SECONDARY)
            left = at.x() + mark_reach(False) + px(8)
            draw_line_of_text(painter, left, at.y() - line.height() / 2, line)


def spots_between(points: Sequence[tuple[QPointF, QPointF]]) -> list[tuple[float, float]]:
    """Pixels along some lines, 4 apart, for labels to keep off."""
    found: list[tuple[float, float]] = []
    for start, end in points:
        way = end - start
        steps = max(1, int((way.x() ** 2 + way.y() ** 2) ** 0.5 / 4))
        found += [
            (start.x() + way.x() * n / steps, start.y() + way.y() * n / steps)
            for n in range(steps + 1)
        ]
    return found
