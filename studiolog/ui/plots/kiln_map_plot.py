"""The map of a kiln: a row a level from the top down, its offset on one °C axis and over time.

Hot is right and, over time, up; cool is left and down. A filled dot with a whisker is what counts
today; rings are readings of calibrations that have ended, and an upright dotted line says where.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.units import show_degrees, show_temperature_step
from studiolog.desktop import theme, tokens
from studiolog.ui.parts.typed import write_day
from studiolog.ui.plots.plot_brushwork import TextLine, draw_line_of_text, ink, pen, px
from studiolog.ui.plots.plot_ticks import Unit, nice_step, shown_rate, stored_rate, write_signed

_LEAST_C = 12.0
_MOST_C = 60.0
_NEAR = 14.0
_FOLD_UNDER = 560
Change = tuple[date, str]


@dataclass(frozen=True)
class MapReading:
    """One reading: the firing, when, °C over the sensor, and whether it counts today."""

    firing_id: int
    number: int
    at: datetime
    offset_c: float
    counts: bool
    calibration: int = 0


@dataclass(frozen=True)
class MapRow:
    """One level; ``offset_c`` None where nothing counts yet, ``scatter_c`` one sigma."""

    name: str
    words: str
    count: str
    offset_c: float | None
    scatter_c: float | None
    trusted: bool
    readings: tuple[MapReading, ...]

    def sentence(self, unit: Unit) -> str:
        """What the row says, in words."""
        if self.offset_c is None:
            return f"{self.name}: {self.words}."
        told = f"{self.name}: {show_temperature_step(self.offset_c, unit)}"
        if self.scatter_c is not None:
            told += f" ±{show_degrees(self.scatter_c, unit)}"
        return f"{told}, {self.words}, {self.count}."


@dataclass(frozen=True)
class _Room:
    """Where a row's parts stand."""

    name: QRectF
    axis: QRectF
    strip: QRectF


class KilnMapPlot(QWidget):
    """Arrow keys go through levels and readings, Enter opens a reading's firing.

    ``opened`` carries "firing" and the firing's id; ``told`` the words of the reading stood on.
    """

    opened = Signal(str, int)
    told = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[MapRow, ...] = ()
        self._changes: tuple[Change, ...] = ()
        self._unit: Unit = "C"
        self._at: tuple[int, int] | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Kiln map: heat of each level against the sensor")
        theme.current().changed.connect(self._rescale)
        self._rescale()

    # What is shown

    def show_map(self, rows: Sequence[MapRow], changes: Sequence[Change], unit: Unit) -> None:
        """Draw the levels from the top down; ``changes`` are days and what was changed."""
        self._rows, self._changes, self._unit = tuple(rows), tuple(changes), unit
        if self._at is not None and not self._reading(self._at):
            self._at = None
        self._rescale()
        self._describe()

    def selected(self) -> MapReading | None:
        """The reading that is stood on."""
        return self._reading(self._at) if self._at is not None else None

    def sizeHint(self) -> QSize:
        return QSize(520, self._high())

    def minimumSizeHint(self) -> QSize:
        return QSize(round(px(240)), self._high())

    def _high(self) -> int:
        row = px(112) if self._folded() else px(60)
        return round(px(26) + row * max(1, len(self._rows)) + px(26))

    def _folded(self) -> bool:
        return self.width() < px(_FOLD_UNDER)

    def resizeEvent(self, event: object) -> None:
        self._rescale()

    def _rescale(self) -> None:
        self.setFixedHeight(self._high())
        self.update()

    def _describe(self) -> None:
        sentences = [row.sentence(self._unit) for row in self._rows]
        sentences += [f"{write_day(on)}: {what}." for on, what in self._changes]
        reading = self.selected()
        if reading is not None and self._at is not None:
            sentences.insert(0, self._say(self._at[0], reading))
        self.setAccessibleDescription(" ".join(sentences))

    def _say(self, row: int, reading: MapReading) -> str:
        step = show_temperature_step(reading.offset_c, self._unit)
        ended = "" if reading.counts else ", a calibration that has ended"
        name = self._rows[row].name
        return f"{name}, firing {reading.number}, {write_day(reading.at.date())}: {step}{ended}."

    # Keys and the mouse

    def _reading(self, at: tuple[int, int]) -> MapReading | None:
        row, place = at
        if row < len(self._rows) and 0 <= place < len(self._rows[row].readings):
            return self._rows[row].readings[place]
        return None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        chosen = self.selected()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and chosen is not None:
            self.opened.emit("firing", chosen.firing_id)
            return
        moves: dict[int, tuple[int, Literal["step", "end"]]] = {
            Qt.Key.Key_Left: (-1, "step"),
            Qt.Key.Key_Right: (1, "step"),
            Qt.Key.Key_Home: (-1, "end"),
            Qt.Key.Key_End: (1, "end"),
        }
        ways = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        if Qt.Key(key) in ways:
            self._step_level(ways[Qt.Key(key)])
        elif key in moves and self._rows:
            way, how = moves[key]
            row, place = self._at or (self._first_row(), -1 if way > 0 else 0)
            last = len(self._rows[row].readings) - 1
            if self._at is None:
                place = last
            elif how == "end":
                place = last if way > 0 else 0
            else:
                place = min(max(place + way, 0), last)
            self._stand((row, place))
        else:
            super().keyPressEvent(event)

    def _first_row(self) -> int:
        return next((n for n, row in enumerate(self._rows) if row.readings), 0)

    def _step_level(self, way: int) -> None:
        filled = [n for n, row in enumerate(self._rows) if row.readings]
        if not filled:
            return
        if self._at is None:
            self._stand((filled[0], len(self._rows[filled[0]].readings) - 1))
            return
        row, place = self._at
        there = filled.index(row) + way
        if 0 <= there < len(filled):
            when = self._rows[row].readings[place].at
            readings = self._rows[filled[there]].readings
            near = min(range(len(readings)), key=lambda n: abs(readings[n].at - when))
            self._stand((filled[there], near))

    def _stand(self, at: tuple[int, int]) -> None:
        reading = self._reading(at)
        if reading is None:
            return
        self._at = at
        self.told.emit(self._say(at[0], reading))
        self._describe()
        self.update()

    def focusOutEvent(self, event: object) -> None:
        self.update()

    def focusInEvent(self, event: object) -> None:
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self._under(event.position())
        if found is not None:
            self._stand(found)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        found = self._under(event.position())
        reading = self._reading(found) if found is not None else None
        if reading is not None:
            self.opened.emit("firing", reading.firing_id)

    def _under(self, spot: QPointF) -> tuple[int, int] | None:
        best: tuple[float, tuple[int, int]] | None = None
        for number, row in enumerate(self._rows):
            strip = self._room(number).strip
            for place, reading in enumerate(row.readings):
                at = self._spot(strip, reading)
                apart = abs(at.x() - spot.x()) + abs(at.y() - spot.y())
                if apart < _NEAR and (best is None or apart < best[0]):
                    best = (apart, (number, place))
        return best[1] if best is not None else None

    # Geometry

    def _range_c(self) -> float:
        """Half the common axis, °C: everything but the wildest readings."""
        values = sorted(abs(one.offset_c) for row in self._rows for one in row.readings)
        most = values[min(len(values) - 1, round(0.97 * len(values)))] if values else 0.0
        for row in self._rows:
            if row.offset_c is not None:
                most = max(most, abs(row.offset_c) + (row.scatter_c or 0.0))
        return min(max(most * 1.15, _LEAST_C), _MOST_C)

    def _room(self, number: int) -> _Room:
        wide = float(self.width())
        if self._folded():
            top = px(26) + number * px(112)
            return _Room(
                QRectF(0, top, wide, px(36)),
                QRectF(px(8), top + px(38), wide - px(16), px(24)),
                QRectF(px(8), top + px(64), wide - px(16), px(42)),
            )
        top = px(26) + number * px(60)
        name = min(max(line.width() for row in self._rows for line in _lines_of(row)), 0.4 * wide)
        left = name + px(8)
        axis = (wide - left - px(24)) * 0.42
        return _Room(
            QRectF(0, top, name, px(60)),
            QRectF(left, top + px(4), axis, px(52)),
            QRectF(left + axis + px(24), top + px(6), wide - left - axis - px(24) - 4, px(48)),
        )

    def _span(self) -> tuple[float, float]:
        stamps = [one.at.timestamp() for row in self._rows for one in row.readings]
        if not stamps:
            return 0.0, 1.0
        low, high = min(stamps), max(stamps)
        return (low, high) if high > low else (low - 86400.0, high + 86400.0)

    def _spot(self, strip: QRectF, reading: MapReading) -> QPointF:
        low, high = self._span()
        most = self._range_c()
        share = (reading.at.timestamp() - low) / (high - low)
        up = min(max(reading.offset_c, -most), most)
        inner = strip.adjusted(5, 4, -5, -4)
        return QPointF(
            inner.left() + share * inner.width(),
            inner.center().y() - up / most * inner.height() / 2,
        )

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._rows:
            self._draw_axis(painter)
            self._draw_changes(painter)
        for number, row in enumerate(self._rows):
            self._draw_row(painter, number, row)
        if self.hasFocus():
            painter.setPen(pen("cobalt", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)
        painter.end()

    def _draw_axis(self, painter: QPainter) -> None:
        first, last = self._room(0).axis, self._room(len(self._rows) - 1).axis
        most = self._range_c()
        shown = shown_rate(most, self._unit)
        step = nice_step(2 * shown, max(2, int(first.width() / px(48))))
        count = int(shown / step)
        unit = f"°{self._unit}"
        cool = TextLine("← cooler", "ink3", tokens.CAPTION)
        hot = TextLine(f"hotter, {unit} →", "ink3", tokens.CAPTION)
        # Folded, the strip stands under the axis: its numbers go above it, between these words.
        between = (first.left() + cool.width() + 8, first.right() - hot.width() - 8)
        bottom = last.bottom() + 2
        for n in range(-count, count + 1):
            x = first.center().x() + stored_rate(n * step, self._unit) / most * first.width() / 2
            painter.setPen(pen("line2" if n == 0 else "line", 1.0))
            for number in range(len(self._rows)):
                room = self._room(number).axis
                painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))
            text = TextLine(write_signed(n * step), "ink3", tokens.CAPTION)
            ends = (x - text.width() / 2, x + text.width() / 2)
            if not self._folded():
                draw_line_of_text(painter, ends[0], bottom, text)
            elif ends[0] > between[0] and ends[1] < between[1]:
                draw_line_of_text(painter, ends[0], px(4), text)
        draw_line_of_text(painter, first.left(), px(4), cool)
        draw_line_of_text(painter, first.right() - hot.width(), px(4), hot)

    def _draw_changes(self, painter: QPainter) -> None:
        low, high = self._span()
        if not any(row.readings for row in self._rows):
            return
        strip = self._room(0).strip.adjusted(5, 0, -5, 0)
        free = strip.left()
        for on, what in self._changes:
            stamp = datetime.combine(on, datetime.min.time()).timestamp()
            if not low <= stamp <= high:
                continue
            x = strip.left() + (stamp - low) / (high - low) * strip.width()
            painter.setPen(pen("ink2", 1.25, (1, 3)))
            for number in range(len(self._rows)):
                room = self._room(number).strip
                painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))
            text = TextLine(what, "ink2", tokens.CAPTION)
            left = min(max(x - text.width() / 2, strip.left()), strip.right() - text.width())
            if not self._folded() and left >= free:
                draw_line_of_text(painter, left, px(4), text)
                free = left + text.width() + 8
        if self._folded():
            return
        room = self._room(len(self._rows) - 1).strip
        for stamp, right in ((low, False), (high, True)):
            text = TextLine(f"{datetime.fromtimestamp(stamp):%b %Y}", "ink3", tokens.CAPTION)
            left = room.right() - text.width() if right else room.left()
            draw_line_of_text(painter, left, room.bottom() + 2, text)

    def _draw_row(self, painter: QPainter, number: int, row: MapRow) -> None:
        room = self._room(number)
        lines = _lines_of(row)
        painter.save()
        painter.setClipRect(room.name)
        if self._folded():
            # Under each other there is no height for three: what it is called, then the rest.
            lines = [lines[0], TextLine(", ".join(one.text for one in lines[1:]), "ink2")]
        top = room.name.center().y() - sum(line.height() for line in lines) / 2
        for line in lines:
            draw_line_of_text(painter, room.name.left(), top, line)
            top += line.height()
        painter.restore()
        painter.setPen(pen("line", 1.0))
        painter.drawLine(
            QPointF(0, room.strip.bottom() + px(6)),
            QPointF(self.width(), room.strip.bottom() + px(6)),
        )
        self._draw_offset(painter, room.axis, row)
        self._draw_strip(painter, room.strip, number, row)

    def _draw_offset(self, painter: QPainter, axis: QRectF, row: MapRow) -> None:
        middle = axis.center().y()
        if row.offset_c is None:
            text = TextLine("nothing read yet", "ink3", tokens.CAPTION)
            draw_line_of_text(
                painter, axis.center().x() + 6, middle - text.height() / 2, text, "paper"
            )
            return
        most, half = self._range_c(), axis.width() / 2

        def x_of(offset_c: float) -> float:
            return axis.center().x() + min(max(offset_c, -most), most) / most * half

        if row.scatter_c is not None:
            painter.setPen(pen("ink", 1.75))
            ends = [x_of(row.offset_c - row.scatter_c), x_of(row.offset_c + row.scatter_c)]
            painter.drawLine(QPointF(ends[0], middle), QPointF(ends[1], middle))
            for x in ends:
                painter.drawLine(QPointF(x, middle - 4.5), QPointF(x, middle + 4.5))
        painter.setPen(pen("cobalt", 2.0))
        painter.setBrush(ink("cobalt" if row.trusted else "paper"))
        painter.drawEllipse(QPointF(x_of(row.offset_c), middle), px(5), px(5))

    def _draw_strip(self, painter: QPainter, strip: QRectF, number: int, row: MapRow) -> None:
        if not row.readings:
            return
        middle = strip.center().y()
        painter.setPen(pen("line2", 1.0))
        painter.drawLine(QPointF(strip.left(), middle), QPointF(strip.right(), middle))
        spots = [self._spot(strip, reading) for reading in row.readings]
        calibrations = sorted({reading.calibration for reading in row.readings})
        for calibration in calibrations:
            line = [
                spot
                for spot, one in zip(spots, row.readings, strict=True)
                if one.calibration == calibration
            ]
            counts = calibration == calibrations[-1] and row.readings[-1].counts
            painter.setPen(pen("cobalt", 1.25) if counts else pen("prev", 1.0, (4, 3)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolyline(QPolygonF(line))
        for spot, reading in zip(spots, row.readings, strict=True):
            painter.setPen(pen("cobalt" if reading.counts else "prev", 1.25))
            painter.setBrush(ink("cobalt" if reading.counts else "paper"))
            painter.drawEllipse(spot, 2.5, 2.5)
        if self._at is not None and self._at[0] == number and self._at[1] < len(spots):
            painter.setPen(pen("ink", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(spots[self._at[1]], 6, 6)


def _lines_of(row: MapRow) -> list[TextLine]:
    """What stands beside a row: its name, how hot it runs, how many readings say so."""
    lines = [TextLine(row.name.capitalize(), "ink", tokens.BODY, 600), TextLine(row.words, "ink2")]
    if row.count:
        lines.append(TextLine(row.count, "ink3", tokens.CAPTION))
    return lines
