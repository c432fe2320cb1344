"""The firings compared, a line each: taken in or left out, and why."""

from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QSizePolicy

from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.ui.parts.marks import mark_size, paint_mark
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write

_HIGH = 44
_BOX = 16


@dataclass(frozen=True)
class CompareRow:
    """A firing of the list. ``why_not`` says why it can't be shown; empty where it can."""

    firing_id: int
    number: int
    title: str
    quiet: str
    taken_in: bool
    stands_out: bool = False
    why_not: str = ""


def _say(row: CompareRow) -> str:
    how = f"left out, {row.why_not}" if row.why_not else "taken in" if row.taken_in else "not shown"
    if row.stands_out:
        how += ", stands out"
    return f"Firing {row.number}, {row.title}, {row.quiet}: {how}"


def _paint(painter: QPainter, box: QRectF, row: CompareRow, chosen: bool) -> None:
    look = theme.current()
    side = float(look.px(_BOX))
    square = QRectF(box.left() + 10, box.center().y() - side / 2, side, side)
    if not row.why_not:
        _paint_check(painter, square, row)
    size = mark_size("firing", str(row.number))
    left = square.right() + 10
    tone = "ink" if row.taken_in and not row.why_not else "ink3"
    mark = QRectF(left, box.center().y() - size.height() / 2, size.width(), size.height())
    paint_mark(painter, mark, "firing", str(row.number), color=tone)
    left = max(mark.right() + 10, square.right() + look.px(60))
    room = box.right() - left - 10
    if row.stands_out:
        sample = float(look.px(22))
        room -= sample + 8
        painter.setPen(QPen(look.color("rust"), 2.25))
        end = QPointF(box.right() - 10, box.center().y())
        painter.drawLine(end - QPointF(sample, 0), end)
    half = box.height() / 2
    upper = QRectF(left, box.top() + 4, room, half - 2)
    lower = QRectF(left, box.top() + half - 2, room, half - 4)
    write(painter, upper, row.title, 500, tone, SECONDARY)
    write(painter, lower, row.why_not or row.quiet, 400, "ink3", SECONDARY)


def _paint_check(painter: QPainter, square: QRectF, row: CompareRow) -> None:
    look = theme.current()
    painter.setPen(QPen(look.color("cobalt" if row.taken_in else "line2"), 1.25))
    painter.setBrush(look.color("cobalt") if row.taken_in else look.color("sheet"))
    painter.drawRoundedRect(square.adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if row.taken_in:
        painter.setPen(QPen(look.color("oncobalt"), 1.75))
        unit = square.width() / 16
        corner = square.topLeft()
        points = [corner + QPointF(x, y) * unit for x, y in ((4, 8.5), (7, 11.5), (12, 5))]
        painter.drawPolyline(points)


class CompareList(PaintedList):
    """Space takes a firing in or leaves it out, Enter opens it; the row chosen stands out."""

    toggled = Signal(int)
    picked = Signal(int)
    opened = Signal(int)

    def __init__(self) -> None:
        keys = {
            Qt.Key.Key_Space: "toggle",
            Qt.Key.Key_Return: "open",
            Qt.Key.Key_Enter: "open",
        }
        rows = PaintedRows(_say, lambda row: f"Firing {row.number}")
        super().__init__("Firings compared", _HIGH, _paint, rows, keys)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.key_pressed.connect(self._act)
        self.doubleClicked.connect(lambda index: self._act("open"))
        self.selectionModel().currentChanged.connect(self._tell)

    def show_firings(self, rows: list[CompareRow], keep_place: bool) -> None:
        """Show these, on the row one stood on, or on the one that stands out."""
        here = self.current_row()
        ids = [row.firing_id for row in rows]
        place = next((n for n, row in enumerate(rows) if row.stands_out), 0 if rows else -1)
        if keep_place and here is not None and here.firing_id in ids:
            place = ids.index(here.firing_id)
        top = self.verticalScrollBar().value()
        self.show_rows(rows, place)
        self.verticalScrollBar().setValue(top)
        if place >= 0:
            self.scrollTo(self.model().index(place, 0))

    def sizeHint(self) -> QSize:
        """Qt: three rows at the least."""
        high = theme.current().px(_HIGH)
        return QSize(theme.current().px(240), 6 * high)

    def minimumSizeHint(self) -> QSize:
        """Qt: three rows."""
        return QSize(theme.current().px(160), 3 * theme.current().px(_HIGH))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        super().mousePressEvent(event)
        on_box = event.position().x() < theme.current().px(_BOX) + 18
        if on_box and self.indexAt(event.position().toPoint()).isValid():
            self._act("toggle")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space and not event.modifiers():
            self._act("toggle")
        else:
            super().keyPressEvent(event)

    def _act(self, what: str) -> None:
        row = self.current_row()
        if row is None:
            return
        if what == "open":
            self.opened.emit(row.firing_id)
        elif not row.why_not:
            self.toggled.emit(row.firing_id)

    def _tell(self, now: QModelIndex, before: QModelIndex) -> None:
        row = self.current_row()
        if row is not None and row.taken_in and not row.why_not and not row.stands_out:
            self.picked.emit(row.firing_id)
