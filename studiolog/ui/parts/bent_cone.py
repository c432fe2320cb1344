"""A witness cone drawn at the angle that was read, and the pack of cones on its shelf.

A reading is the lean of the line from the base to the tip: 0° upright, 90° the end point, the tip
level with the base (common practice, as is a self-supporting cone starting at about 8°). Past the
end point the tip rests on the shelf and the arch sinks.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QWidget

from studiolog.desktop.tokens import BODY, CAPTION, FOCUS_LINE, MARK_LINE, SECONDARY
from studiolog.ui.parts.drawing import Drawing, colour, path_of, pen, width_of, write

Point = tuple[float, float]

START_DEG = 8.0
"""A self-supporting cone leans so much before it has seen any heat (common practice)."""
_STEPS = 28


def cone_line(bend_deg: float, length: float) -> list[Point]:
    """The middle line from base to tip, base at (0, 0), y downward, leaning to the right.

    Up to the end point the chord from base to tip stands ``bend_deg`` off the upright.
    """
    bend = min(max(bend_deg, 0.0), 180.0)
    shape = min(bend, 90.0)
    first = math.radians(min(START_DEG, shape))
    last = math.radians(2 * shape) - first
    points = [(0.0, 0.0)]
    x = y = 0.0
    for step in range(_STEPS):
        angle = first + (last - first) * (step + 0.5) / _STEPS
        x += math.sin(angle) * length / _STEPS
        y -= math.cos(angle) * length / _STEPS
        points.append((x, y))
    if bend > 90.0:
        sunk = (bend - 90.0) / 90.0
        # The arch sinks and the cone grows longer on the shelf, as a slumped one lies.
        points = [(px * (1 + 0.08 * sunk), py * (1 - 0.86 * sunk)) for px, py in points]
    return points


def cone_tip(bend_deg: float, length: float) -> Point:
    """Where the tip is, base at (0, 0), y downward."""
    return cone_line(bend_deg, length)[-1]


def cone_outline(bend_deg: float, length: float) -> list[Point]:
    """The tapered body round the middle line; the base stays flat on the shelf."""
    line = cone_line(bend_deg, length)
    left: list[Point] = []
    right: list[Point] = []
    for index, (x, y) in enumerate(line):
        before, after = line[max(index - 1, 0)], line[min(index + 1, len(line) - 1)]
        dx, dy = after[0] - before[0], after[1] - before[1]
        size = math.hypot(dx, dy) or 1.0
        half = length * (0.1 + (0.028 - 0.1) * index / (len(line) - 1))
        if index == 0:
            left.append((x - half, 0.0))
            right.append((x + half, 0.0))
        else:
            left.append((x + dy / size * half, min(y - dx / size * half, 0.0)))
            right.append((x - dy / size * half, min(y + dx / size * half, 0.0)))
    return [*left, *reversed(right)]


def paint_cone(
    painter: QPainter,
    rect: QRectF,
    bend_deg: float | None,
    aimed: bool = False,
    hatched: tuple[float, float] | None = None,
) -> None:
    """Paint one cone standing on the bottom of ``rect``, its base a quarter in from the left.

    ``bend_deg`` None draws it dashed, not read. ``hatched`` is an interval in degrees: the tip's
    path between its ends is dotted.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    length = min(rect.height() * 0.96, rect.width() * 0.98)
    painter.translate(rect.left() + rect.width() * 0.24, rect.bottom())
    outline = path_of(cone_outline(START_DEG if bend_deg is None else bend_deg, length))
    if hatched is not None and hatched[1] > hatched[0]:
        low, high = hatched
        steps = max(int((high - low) / 4), 2)
        tips = [cone_tip(low + (high - low) * i / steps, length) for i in range(steps + 1)]
        for end in (low, high):
            painter.setPen(pen("line2", 1.0, (2, 2)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPath(path_of(cone_outline(end, length)))
        painter.setPen(pen("cobalt" if aimed else "ink2", MARK_LINE, (2, 2)))
        painter.drawPath(path_of(tips, closed=False))
    width = 1.75 if aimed else MARK_LINE
    if bend_deg is None:
        painter.setPen(pen("cobalt" if aimed else "line2", MARK_LINE, (4, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
    else:
        painter.setPen(pen("cobalt" if aimed else "ink", width))
        painter.setBrush(QBrush(colour("cobaltwash" if aimed else "sheet")))
    painter.drawPath(outline)
    painter.restore()


@dataclass(frozen=True)
class ConeReading:
    """One cone of a pack: its number, the bend read with its interval, whether it is aimed at."""

    cone: str
    bend_deg: float | None = None
    low_deg: float | None = None
    high_deg: float | None = None
    aimed: bool = False
    said: str = ""
    """What was said of it: "flat", "3 o'clock"; plain degrees are told by the angle."""

    def said_words(self) -> str:
        """What was said, where it is words and not merely the degrees or their span."""
        told = self.said.strip()
        return told if any(letter.isalpha() for letter in told) and "deg" not in told else ""

    def interval(self) -> tuple[float, float] | None:
        """Low and high in degrees, if the reading is not one exact angle."""
        if self.low_deg is None or self.high_deg is None or self.high_deg <= self.low_deg:
            return None
        return self.low_deg, self.high_deg

    def words(self) -> str:
        """The reading as one reads it out: ``82°`` or ``70 to 90°`` or ``not read``."""
        if self.bend_deg is None:
            return "not read"
        interval = self.interval()
        if interval is not None:
            said = self.said_words()
            return f"{interval[0]:.0f} to {interval[1]:.0f}°" + (f", {said}" if said else "")
        return f"{self.bend_deg:.0f}°"

    def label(self, width: float) -> tuple[str, str]:
        """What stands beside the number and on a line below, none of it ever cut.

        The middle degrees with what was said, or the interval, beneath; what does not fit
        ``width`` is told shorter, then left to the sentence.
        """
        number = width_of(self.cone, SECONDARY, 600) + 4
        if self.bend_deg is None:
            return (
                ("not read", "") if number + width_of("not read", SECONDARY) <= width else ("", "")
            )
        interval = self.interval()
        middle = f"{self.bend_deg:.0f}°"
        spans = [""]
        if interval is not None:
            middle = f"{(interval[0] + interval[1]) / 2:.0f}°"
            spans = [
                *([said] if (said := self.said_words()) else []),
                f"{interval[0]:.0f}–{interval[1]:.0f}°",
                f"±{(interval[1] - interval[0]) / 2:.0f}°",
                "",
            ]
        if number + width_of(middle, SECONDARY) > width:
            return ("", middle) if width_of(middle, CAPTION) <= width else ("", "")
        return middle, next(span for span in spans if width_of(span, CAPTION) <= width or not span)


class ConeStand(Drawing):
    """One cone that can be bent by hand: drag the tip, or arrow keys (1°, with Shift 10°)."""

    bend_changed = Signal(float)

    def __init__(
        self, reading: ConeReading, editable: bool = True, parent: QWidget | None = None
    ) -> None:
        super().__init__(f"Cone {reading.cone}" + (", aimed at" if reading.aimed else ""), parent)
        self.reading = reading
        self.editable = editable
        self.two_lines = False
        """Whether a second line is kept free under the shelf, so that a pack stands level."""
        if editable:
            self.setCursor(Qt.CursorShape.SizeHorCursor)
        else:
            self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.tell()

    def sentence(self) -> str:
        """``Cone 6, aimed at: 82°``."""
        aimed = ", aimed at" if self.reading.aimed else ""
        return f"Cone {self.reading.cone}{aimed}: {self.reading.words()}"

    def set_bend(self, degrees: float) -> None:
        """Bend the cone, between 0 and 180°; an interval becomes this one angle."""
        bend = float(round(min(max(degrees, 0.0), 180.0)))
        if bend == self.reading.bend_deg and self.reading.interval() is None:
            return
        self.reading = replace(self.reading, bend_deg=bend, low_deg=None, high_deg=None, said="")
        self.tell()
        self.bend_changed.emit(bend)

    def stage(self) -> QRectF:
        """Where the cone stands: on the shelf, with its label beneath."""
        return QRectF(8, 6, self.wide() - 12, self.tall() - 6 - 32 - (15 if self.two_lines else 0))

    def needs_two_lines(self, width: float) -> bool:
        """Whether the label has a second line at this width."""
        return bool(self.reading.label(width - 4)[1])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
        now = START_DEG if self.reading.bend_deg is None else self.reading.bend_deg
        wanted = {
            Qt.Key.Key_Right: now + step,
            Qt.Key.Key_Down: now + step,
            Qt.Key.Key_Left: now - step,
            Qt.Key.Key_Up: now - step,
            Qt.Key.Key_Home: START_DEG,
            Qt.Key.Key_End: 90.0,
        }.get(Qt.Key(event.key()))
        if wanted is None or not self.editable:
            super().keyPressEvent(event)
            return
        self.set_bend(wanted)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self.editable and event.button() == Qt.MouseButton.LeftButton:
            self._bend_to(self.spot(event.position()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self.editable and event.buttons() & Qt.MouseButton.LeftButton:
            self._bend_to(self.spot(event.position()))

    def _bend_to(self, at: QPointF) -> None:
        stage = self.stage()
        dx = at.x() - (stage.left() + stage.width() * 0.24)
        dy = stage.bottom() - at.y()
        self.set_bend(math.degrees(math.atan2(max(dx, 0.0), dy)))

    def sizeHint(self) -> QSize:
        return self.asked(72, 104)

    def minimumSizeHint(self) -> QSize:
        return self.asked(52, 72)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        reading = self.reading
        stage = self.stage()
        paint_cone(painter, stage, reading.bend_deg, reading.aimed, reading.interval())
        two = self.two_lines or self.needs_two_lines(self.wide())
        y = self.tall() - (24.0 if two else 10.0)
        tail, under = reading.label(self.wide() - 4)
        number = width_of(reading.cone, SECONDARY, 600)
        used = max(number + 4 + width_of(tail, SECONDARY), width_of(under, CAPTION))
        x = max(2.0, stage.left() + stage.width() * 0.24 - 8)
        x = min(x, self.wide() - used - 1)
        token = "cobalt" if reading.aimed else "ink"
        used = write(painter, QPointF(max(x, 1), y), reading.cone, token, SECONDARY, 600)
        write(painter, QPointF(max(x, 1) + used + 4, y), tail, "ink2", SECONDARY)
        write(painter, QPointF(max(x, 1), y + 15), under, "ink3", CAPTION)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("cobalt", FOCUS_LINE))
            painter.drawRoundedRect(self.frame().adjusted(1, 1, -1, -1), 4, 4)
        painter.end()


class ConePack(Drawing):
    """One to five cones on a shelf. ``bend_changed(index, degrees)`` when one is bent."""

    bend_changed = Signal(int, float)

    def __init__(self, editable: bool = True, parent: QWidget | None = None) -> None:
        super().__init__("Cone pack", parent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._editable = editable
        self._stands: list[ConeStand] = []
        self.tell()

    def show_readings(self, readings: Sequence[ConeReading]) -> None:
        """Stand these cones on the shelf, left to right."""
        if [(s.reading.cone, s.reading.aimed) for s in self._stands] == [
            (r.cone, r.aimed) for r in readings
        ]:
            for stand, reading in zip(self._stands, readings, strict=True):
                stand.reading = reading
                stand.tell()
            self._place()
            self.tell()
            return
        for stand in self._stands:
            stand.setParent(None)
            stand.deleteLater()
        self._stands = []
        for index, reading in enumerate(readings):
            stand = ConeStand(reading, self._editable, self)
            stand.bend_changed.connect(lambda deg, index=index: self._bent(index, deg))
            stand.show()
            self._stands.append(stand)
        self._place()
        self.tell()

    def readings(self) -> list[ConeReading]:
        """The cones as they are bent now."""
        return [stand.reading for stand in self._stands]

    def stand(self, index: int) -> ConeStand:
        """One cone, for keyboard and mouse."""
        return self._stands[index]

    def sentence(self) -> str:
        """``Cone 5: 94°. Cone 6, aimed at: 82°.``"""
        if not self._stands:
            return "No cones in this pack."
        return " ".join(stand.sentence() + "." for stand in self._stands)

    def _bent(self, index: int, degrees: float) -> None:
        self._place()
        self.tell()
        self.bend_changed.emit(index, degrees)

    def grow(self) -> None:
        """Colours or text size changed: the cones move with their shelf."""
        super().grow()
        self._place()

    def _place(self) -> None:
        count = max(len(self._stands), 1)
        grown = self.grown()
        room = (self.wide() - 12) / count
        for index, stand in enumerate(self._stands):
            left, wide = (6 + index * room) * grown, min(room, 110) * grown
            stand.setGeometry(round(left), 0, round(wide), self.height())
        two = self._two_lines()
        for stand in self._stands:
            stand.two_lines = two
            stand.update()
        self.update()

    def _two_lines(self) -> bool:
        return any(stand.needs_two_lines(stand.wide()) for stand in self._stands)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place()

    def sizeHint(self) -> QSize:
        return self.asked(12 + 72 * max(len(self._stands), 3), 104)

    def minimumSizeHint(self) -> QSize:
        return self.asked(12 + 52 * max(len(self._stands), 1), 72)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        painter.setPen(pen("ink2", MARK_LINE))
        painter.setBrush(QBrush(QColor(colour("sunk"))))
        under = 15.0 if self._two_lines() else 0.0
        shelf = QRectF(1, self.tall() - 31.5 - under, self.wide() - 2, 7)
        painter.drawRoundedRect(shelf, 2, 2)
        if not self._stands:
            write(
                painter,
                QPointF(self.wide() / 2, self.tall() - 60),
                "no cones",
                "ink3",
                BODY,
                align="centre",
            )
        painter.end()
