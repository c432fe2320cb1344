"""Every measured shrinkage of a clay as a dot on its strip: stage by stage, then cone by cone."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.clay.shrinkage import Spread
from studiolog.craft.clay.shrinkage_words import STEPS, say_spread
from studiolog.craft.firing.cones import band_of, say_band
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.journal.sizes import MEASURES, ClayShrinkage, MeasuredShrinkage
from studiolog.ui.parts.drawing import Drawing, colour, elided, pen, write

_ROW, _AXIS, _TOP, _EDGE = 42.0, 26.0, 2.0, 10.0
_LEVEL = 30.0
"""How far under the top of its row a strip's line lies, under its words."""
_DOT, _STEP = 2.6, 4.2
_LEVELS = (0.0, -1.0, 1.0, -2.0, 2.0)


@dataclass(frozen=True)
class Strip:
    """One row: its words, what was measured, and the mean with its spread."""

    words: str
    pieces: tuple[MeasuredShrinkage, ...]
    spread: Spread
    is_total: bool = False


def strips_of(clay: ClayShrinkage) -> tuple[Strip, ...]:
    """Stages that were measured; then the cones the fired pieces got, if there are several."""
    found = []
    for stage in clay.stages:
        by = stage.by
        for key, told in by.items():
            words = STEPS[stage.key] + (f", {MEASURES[key]}" if len(by) > 1 else "")
            pieces = tuple(one for one in stage.pieces if one.by == key)
            found.append(Strip(words, pieces, told, stage.key == "total"))
    telling = clay.telling("total")
    for one in clay.bands:
        if one.band is None and len(clay.bands) == 1:
            continue
        pieces = tuple(
            piece
            for piece in telling
            if (None if piece.cone10 is None else band_of(piece.cone10)) == one.band
        )
        words = "no cone known" if one.band is None else say_band(one.band)
        found.append(Strip(f"fired, {words}", pieces, one.spread))
    return tuple(found)


class ShrinkageStrips(Drawing):
    """Arrows go from dot to dot, Enter opens the piece. ``stood_on`` carries the dot."""

    stood_on = Signal(object)
    opened = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Measured shrinkage", parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._strips: tuple[Strip, ...] = ()
        self._stated: float | None = None
        self._row, self._place = 0, -1
        self.tell()

    def show_clay(self, clay: ClayShrinkage) -> None:
        """Draw what was measured of a clay."""
        before = self.selected()
        self._strips, self._stated = strips_of(clay), clay.stated
        self._row, self._place = len(self._strips), -1
        if before is not None:
            for row, strip in enumerate(self._strips):
                ids = [one.piece_id for one in strip.pieces]
                if before.piece_id in ids:
                    self._row, self._place = row, ids.index(before.piece_id)
                    break
        self._row = min(self._row, max(0, len(self._strips) - 1))
        self.tell()

    def selected(self) -> MeasuredShrinkage | None:
        """The dot that is stood on."""
        if not self._strips or self._place < 0:
            return None
        return self._strips[self._row].pieces[self._place]

    def sentence(self) -> str:
        told = [f"{strip.words}: {say_spread(strip.spread)}" for strip in self._strips]
        return f"{'; '.join(told)}." if told else "Nothing measured yet."

    def sizeHint(self) -> QSize:
        return self.asked(420, _TOP + _ROW * max(1, len(self._strips)) + _AXIS)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.asked(300, 0).width(), self.sizeHint().height())

    # Where things are, in units

    def _ends(self) -> tuple[float, float]:
        values = [one.shrinkage for strip in self._strips for one in strip.pieces]
        if self._stated is not None:
            values.append(self._stated)
        if not values:
            return 0.0, 0.15
        low, high = min(values), max(values)
        room = max(0.01, 0.12 * (high - low))
        return max(0.0, low - room), high + room

    def _track(self) -> QRectF:
        return QRectF(_EDGE, _TOP, self.wide() - 2 * _EDGE, _ROW * len(self._strips))

    def _x(self, shrinkage: float) -> float:
        low, high = self._ends()
        track = self._track()
        return track.left() + (shrinkage - low) / (high - low) * track.width()

    def _spots(self, row: int) -> list[QPointF]:
        """The dots of a strip; those that would hide each other step away from the line."""
        level = _TOP + _ROW * row + _LEVEL
        pieces = self._strips[row].pieces
        spots = [QPointF()] * len(pieces)
        ends: dict[float, float] = {}
        for place in self._in_order(row):
            x = self._x(pieces[place].shrinkage)
            free = [up for up in _LEVELS if x - ends.get(up, -1e9) >= 2 * _DOT]
            up = free[0] if free else min(_LEVELS, key=lambda one: ends[one])
            ends[up] = x
            spots[place] = QPointF(x, level + up * _STEP)
        return spots

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        for row in range(len(self._strips)):
            self._paint_strip(painter, row)
        if self._strips:
            self._paint_axis(painter)
        self.paint_focus(painter)
        painter.end()

    def _paint_strip(self, painter: QPainter, row: int) -> None:
        strip, track = self._strips[row], self._track()
        top = _TOP + _ROW * row
        level = top + _LEVEL
        told = say_spread(strip.spread)
        wide = write(painter, QPointF(self.wide() - 4, top + 9), told, "ink2", SECONDARY,
                     align="right")  # fmt: skip
        words = elided(strip.words, SECONDARY, self.wide() - wide - 24)
        write(painter, QPointF(4, top + 9), words, "ink", SECONDARY, 500)
        mean = self._x(strip.spread.mean)
        if strip.spread.sd:
            low = self._x(strip.spread.mean - strip.spread.sd)
            high = self._x(strip.spread.mean + strip.spread.sd)
            painter.fillRect(QRectF(low, level - 11, high - low, 22), colour("sunk"))
        painter.setPen(pen("line", 1))
        painter.drawLine(QPointF(track.left(), level), QPointF(track.right(), level))
        for place, at in enumerate(self._spots(row)):
            far = strip.pieces[place].far
            painter.setPen(pen("rust" if far else "ink3", 1.5))
            painter.setBrush(Qt.BrushStyle.NoBrush if far else colour("ink3"))
            painter.drawEllipse(at, _DOT, _DOT)
            if row == self._row and place == self._place:
                painter.setPen(pen("cobalt", 2))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(at, _DOT + 3.5, _DOT + 3.5)
        painter.setPen(pen("ink", 2))
        painter.drawLine(QPointF(mean, level - 12), QPointF(mean, level + 12))
        if strip.is_total and self._stated is not None:
            self._paint_stated(painter, level)

    def _paint_stated(self, painter: QPainter, level: float) -> None:
        assert self._stated is not None
        x = self._x(self._stated)
        painter.setPen(pen("cobalt", 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolygon(
            [QPointF(x, level - 6), QPointF(x + 5, level), QPointF(x, level + 6),
             QPointF(x - 5, level)]
        )  # fmt: skip

    def _paint_axis(self, painter: QPainter) -> None:
        track, (low, high) = self._track(), self._ends()
        level = track.bottom() + 4
        painter.setPen(pen("line2", 1))
        painter.drawLine(QPointF(track.left(), level), QPointF(track.right(), level))
        wide = (high - low) * 100
        step = next((one for one in (0.5, 1, 2, 5, 10) if wide / one <= 7), 20)
        mark = -(-low * 100 // step) * step
        while mark <= high * 100 + 1e-9:
            x = self._x(mark / 100)
            painter.setPen(pen("line2", 1))
            painter.drawLine(QPointF(x, level), QPointF(x, level + 4))
            write(painter, QPointF(x, level + 13), f"{mark:g}\u202f%", "ink3", CAPTION,
                  align="centre")  # fmt: skip
            mark += step

    # Standing on dots

    def stand(self, row: int, place: int) -> None:
        """Stand on a dot."""
        self._row, self._place = row, place
        self.update()
        self.stood_on.emit(self.selected())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if not self._strips or event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().keyPressEvent(event)
            return
        order = self._in_order(self._row)
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = 1 if key == Qt.Key.Key_Right else -1
            here = order.index(self._place) if self._place in order else -1 if step > 0 else 1
            self.stand(self._row, order[max(0, min(len(order) - 1, here + step))])
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._place >= 0:
            row = self._row + (1 if key == Qt.Key.Key_Down else -1)
            if not 0 <= row < len(self._strips):
                super().keyPressEvent(event)
                return
            at = self._strips[self._row].pieces[self._place]
            ids = [one.piece_id for one in self._strips[row].pieces]
            self.stand(
                row, ids.index(at.piece_id) if at.piece_id in ids else self._in_order(row)[0]
            )
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            here_is = self.selected()
            if here_is is not None:
                self.opened.emit(here_is.piece_id)
        else:
            super().keyPressEvent(event)

    def _in_order(self, row: int) -> list[int]:
        pieces = self._strips[row].pieces
        return sorted(range(len(pieces)), key=lambda place: pieces[place].shrinkage)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        spot = self.spot(event.position())
        near = [
            ((at - spot).manhattanLength(), row, place)
            for row in range(len(self._strips))
            for place, at in enumerate(self._spots(row))
        ]
        if near and min(near)[0] < 12:
            _, row, place = min(near)
            self.stand(row, place)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        here_is = self.selected()
        if here_is is not None:
            self.opened.emit(here_is.piece_id)
