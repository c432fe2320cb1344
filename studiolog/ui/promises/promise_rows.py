"""What is owed as rows on one axis of days: what, the promise line, whether it holds."""

from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import QPointF, QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import CAPTION, SECONDARY
from studiolog.journal.promise_telling import (
    say_holds,
    say_line,
    say_promise,
    say_ready,
    say_stands,
)
from studiolog.journal.promises import LinePromise, Promises
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write
from studiolog.ui.parts.promise_line import (
    DayAxis,
    PromiseMarks,
    axis_for,
    paint_axis,
    paint_promise_line,
    paint_tone_sign,
    tone_of,
)
from studiolog.ui.parts.ready_when import marks_of

HIGH = 52  # px before scaling
_AXIS_HIGH = 26
_MOST_SHOWN = 9
_INSET = 12


@dataclass(frozen=True)
class Row:
    """A line as it is told today, on the axis of all of them."""

    line: LinePromise
    marks: PromiseMarks
    axis: DayAxis
    today: date

    @property
    def words(self) -> str:
        """The row in words, for a screen reader."""
        told = (
            say_line(self.line),
            say_stands(self.line),
            say_promise(self.line, self.today),
            say_holds(self.line),
            say_ready(self.line, self.today),
        )
        return "; ".join(told)


class PromiseRows(QWidget):
    """The axis above, the rows under it; ``list`` has the keyboard."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        model = PaintedRows(lambda row: str(row.words), lambda row: say_line(row.line))
        self.list = PaintedList("What is owed", HIGH, _paint_row, model)
        self.axis = _Axis()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self.axis)
        rows.addWidget(self.list)
        theme.current().changed.connect(self._fit)

    def show_promises(self, promises: Promises, chosen: int | None) -> None:
        """Show every line, the chosen one chosen, without telling anyone."""
        today = promises.plan.today
        marks = [marks_of(line, today) for line in promises.lines]
        axis = axis_for(marks, today)
        rows = [
            Row(line, mark, axis, today) for line, mark in zip(promises.lines, marks, strict=True)
        ]
        place = next((i for i, row in enumerate(rows) if row.line.key == chosen), -1)
        self.axis.show_axis(axis, today)
        self.list.show_rows(rows, place)
        self._fit()

    def _fit(self) -> None:
        count = len(self.list.rows())
        high = theme.current().px(HIGH) * min(max(1, count), _MOST_SHOWN) + 2
        self.list.setFixedHeight(high)


class _Axis(QWidget):
    """The axis over the rows."""

    def __init__(self) -> None:
        super().__init__()
        self._axis: DayAxis | None = None
        self._today = date.min
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.current().changed.connect(self.updateGeometry)

    def show_axis(self, axis: DayAxis, today: date) -> None:
        self._axis, self._today = axis, today
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(300, theme.current().px(_AXIS_HIGH))

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._axis is None:
            return
        painter = QPainter(self)
        _, line, _ = _columns(QRectF(self.rect()))
        paint_axis(painter, line, self._axis, self._today)
        painter.end()


def _columns(box: QRectF) -> tuple[QRectF, QRectF, QRectF]:
    """Where the words at the left, the line, and the words at the right stand."""
    look = theme.current()
    inner = box.adjusted(_INSET, 0, -_INSET, 0)
    left = min(look.px(330), inner.width() * 0.34)
    right = min(look.px(230), inner.width() * 0.28)
    gap = look.px(16)
    line = QRectF(
        inner.left() + left + gap, inner.top(), inner.width() - left - right - 2 * gap,
        inner.height(),
    )  # fmt: skip
    words = QRectF(inner.left(), inner.top(), left, inner.height())
    return words, line, QRectF(line.right() + gap, inner.top(), right, inner.height())


def _paint_row(painter: QPainter, box: QRectF, row: Row, chosen: bool) -> None:
    look = theme.current()
    words, line, told = _columns(box)
    pad, half = look.px(7), (box.height() - 2 * look.px(7)) / 2
    upper = QRectF(words.left(), box.top() + pad, words.width(), half)
    write(painter, upper, say_line(row.line), 600)
    lower = upper.translated(0, half)
    write(painter, lower, say_stands(row.line), tone="ink2", size=SECONDARY)
    paint_promise_line(painter, line, row.axis, row.marks, row.today)
    upper = QRectF(told.left(), box.top() + pad, told.width(), half)
    side = look.px(14)
    spot = QPointF(upper.left(), upper.top() + (half - side) / 2)
    wide = paint_tone_sign(painter, spot, row.marks.tone)
    tone = tone_of(row.marks.tone)
    write(painter, upper.adjusted(wide, 0, 0, 0), say_holds(row.line), 600, tone, SECONDARY)
    lower = QRectF(told.left(), box.top() + pad + half, told.width(), half)
    write(painter, lower, say_ready(row.line, row.today), tone="ink2", size=CAPTION)
