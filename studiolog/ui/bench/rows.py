"""The runs on the bench as rows of 96 px, painted; only those that are seen."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QApplication, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.bench_rows import BenchRow
from studiolog.ui.bench.row_words import (
    count_words,
    lost_words,
    next_words,
    order_words,
    planned_words,
    row_sentence,
    since_words,
    steps_words,
    waits_words,
    window_words,
)
from studiolog.ui.bench.scale_head import LINE_WIDE
from studiolog.ui.parts.due import Due, paint_due, tell_due
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.marks import mark_size, paint_mark
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write
from studiolog.ui.parts.stage_bar import describe_stages, paint_stage_bar, stage_segments

if TYPE_CHECKING:
    # The first rows stand before these are loaded.
    from studiolog.journal.bench_work import RunWork
    from studiolog.journal.promises import RunPromise
    from studiolog.journal.run_loads import PlannedIn
    from studiolog.journal.working_time import Window
    from studiolog.ui.bench.stage_drag import Grab
    from studiolog.ui.parts.promise_line import DayAxis

HIGH = 96
WORDS_LEFT = 72
BAR_LEFT = 264
DUE_WIDE = 144
_DUE_WIDEST = 330
_BAR_TOP, _BAR_HIGH = 11, 24
_LINES = (39, 56, 73)  # where the three lines under the bar begin
_LINE_HIGH = 17


@dataclass(frozen=True)
class Shown:
    """A row with the day it is told for."""

    row: BenchRow
    today: date
    shape: FormShape


@dataclass(frozen=True)
class Facts:
    """What is read once the rows stand: the work on each run, its window, the promise it serves
    with the days all of them show, and the time of it."""

    work: "Mapping[int, RunWork]"
    windows: "Mapping[int, Window]"
    now: datetime
    promises: "Mapping[int, RunPromise]" = field(default_factory=dict)
    axis: "DayAxis | None" = None


def shape_of(row: BenchRow) -> FormShape:
    """The form of a run as its icon is drawn."""
    form = row.form
    if form is None:
        return FormShape()
    return form_shape(form.shape, form.profile, form.height_mm, form.across_mm)


def due_wide(wide: float) -> int:
    """How wide the column of promises is in a list of this width."""
    look = theme.current()
    share = round(0.36 * (wide - look.px(BAR_LEFT)))
    return max(look.px(DUE_WIDE), min(look.px(_DUE_WIDEST), share))


def bar_rect(box: QRectF) -> QRectF:
    """Where in a row the stage bar lies."""
    look = theme.current()
    right = box.right() - due_wide(box.width()) - look.px(32)
    left = box.left() + look.px(BAR_LEFT)
    return QRectF(left, box.top() + look.px(_BAR_TOP), max(120.0, right - left), look.px(_BAR_HIGH))


def line_rect(box: QRectF, place: int) -> QRectF:
    """One of the three lines of words under the bar."""
    look = theme.current()
    bar = bar_rect(box)
    return QRectF(bar.left(), box.top() + look.px(_LINES[place]), bar.width(), look.px(_LINE_HIGH))


def link_rects(
    box: QRectF, row: BenchRow, planned: "Sequence[PlannedIn]" = ()
) -> list[tuple[QRectF, str, int]]:
    """What opens something in a row: place, kind and id; its tag, its firings, its loads."""
    look = theme.current()
    size = mark_size("run", str(row.number))
    tag = QRectF(
        box.left() + look.px(WORDS_LEFT), box.top() + look.px(60), size.width(), size.height()
    )
    links = [(tag, "run", row.run_id)]
    line = line_rect(box, 2)
    # From the right: what was done keeps its place whatever is packed.
    right = line.right()
    for lot in reversed(row.packed):
        size = mark_size("firing", str(lot.number))
        place = QRectF(
            right - size.width(),
            line.center().y() - size.height() / 2,
            size.width(),
            size.height(),
        )
        links.insert(1, (place, "firing", lot.firing_id))
        right = place.left() - _packed_wide(lot.pieces) - 12
    measure = QFontMetricsF(look.font(SECONDARY))
    for load in reversed(planned):
        # What was done to the pieces keeps a part of the line: a long title is cut.
        wide = min(measure.horizontalAdvance(planned_words(load)) + 1, line.width() * 0.6)
        place = QRectF(right - wide, line.top(), wide, line.height())
        if place.left() < line.left():
            break
        links.append((place, "load", load.load_id))
        right = place.left() - 12
    return links


def _packed_wide(pieces: int) -> float:
    return QFontMetricsF(theme.current().font(SECONDARY)).horizontalAdvance(f"{pieces} packed in ")


_KEYS = {
    Qt.Key.Key_BracketLeft: "back",
    Qt.Key.Key_BracketRight: "on",
    Qt.Key.Key_X: "lose",
    Qt.Key.Key_S: "single",
    Qt.Key.Key_K: "pack",
    Qt.Key.Key_Left: "stage before",
    Qt.Key.Key_Right: "stage after",
    Qt.Key.Key_Return: "open",
    Qt.Key.Key_Enter: "open",
}
_ALL_KEYS = {
    Qt.Key.Key_BracketLeft: "back",
    Qt.Key.Key_BracketRight: "on",
    Qt.Key.Key_BraceLeft: "back",
    Qt.Key.Key_BraceRight: "on",
}
ALL_OF_THEM = 0
"""As a count: every piece at the stage."""


class BenchList(PaintedList):
    """The rows. ``key_pressed`` carries what the screen does with a key; ``link_opened`` a mark.

    ``stage_of`` is the stage that keys act on in the row chosen, ``count`` on how many pieces: a
    number typed before, `ALL_OF_THEM` after A, else None for one. A part of a bar that was dragged
    to another stage is told by ``dropped``: run, from, to, how many.
    """

    link_opened = Signal(str, int)
    resized = Signal()
    dropped = Signal(int, str, str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        model = PaintedRows(self._say_row, lambda shown: str(shown.row.name))
        super().__init__("Runs on the bench", HIGH, self._paint, model, _KEYS, parent)
        self.stage_of: str | None = None
        self.count: int | None = None
        self.facts: Facts | None = None
        self._grab: Grab | None = None
        self.doubleClicked.connect(lambda _index: self.key_pressed.emit("open"))

    def show_bench(self, rows: Sequence[BenchRow], today: date) -> None:
        """Show the runs as they are told today."""
        self.show_rows([Shown(row, today, shape_of(row)) for row in rows], -1)

    def show_facts(self, facts: Facts) -> None:
        """Show what was read of the rows meanwhile."""
        self.facts = facts
        self.viewport().update()

    def current_run(self) -> BenchRow | None:
        """The run chosen."""
        shown: Shown | None = self.current_row()
        return shown.row if shown else None

    def set_count(self, count: int | None) -> None:
        """How many pieces the next key acts on."""
        self.count = count
        self.viewport().update()

    def how_many(self, row: BenchRow, stage: str) -> int:
        """How many counted pieces a key acts on now: one where nobody said."""
        if self.count is None:
            return 1
        return row.counted.get(stage, 0) if self.count == ALL_OF_THEM else self.count

    def _work_of(self, row: BenchRow) -> "RunWork | None":
        return self.facts.work.get(row.run_id) if self.facts else None

    def _say_row(self, shown: Shown) -> str:
        row, work = shown.row, self._work_of(shown.row)
        from studiolog.ui.bench.promise_line import promise_words

        due = _due_of(shown)
        window = self.facts.windows.get(row.run_id) if self.facts else None
        promise = self.facts.promises.get(row.run_id) if self.facts else None
        return row_sentence(
            (
                f"Run {row.number}, {row.name}",
                order_words(row),
                count_words(row),
                describe_stages(row.counts),
                since_words(row, shown.today),
                waits_words(row, work, self.facts.now) if self.facts and work else "",
                window_words(window) if window else "",
                next_words(work),
                steps_words(work),
                *(planned_words(load) for load in (work.planned if work else ())),
                lost_words(row),
                promise_words(promise, shown.today) if promise else due.words,
            )
        )

    # Painting

    def _paint(self, painter: QPainter, box: QRectF, shown: Shown, chosen: bool) -> None:
        look = theme.current()
        icon = QRectF(box.left() + 10, box.top() + 18, look.px(48), box.height() - 36)
        paint_half_section(painter, icon, shown.shape)
        self._paint_words(painter, box, shown.row)
        self._paint_stages(painter, box, shown, chosen)
        self._paint_due(painter, box, shown)

    def _paint_due(self, painter: QPainter, box: QRectF, shown: Shown) -> None:
        look = theme.current()
        wide = due_wide(box.width())
        place = QRectF(box.right() - wide - 8, box.top() + look.px(18), wide, look.px(40))
        facts = self.facts
        promise = facts.promises.get(shown.row.run_id) if facts else None
        if promise is None or facts is None or facts.axis is None or wide < look.px(LINE_WIDE):
            paint_due(painter, place, _due_of(shown))
            return
        from studiolog.ui.bench.promise_line import paint_promise

        room = QRectF(place.left(), box.top() + look.px(8), wide, box.height() - look.px(12))
        paint_promise(painter, room, promise, facts.axis, shown.today)

    def _paint_words(self, painter: QPainter, box: QRectF, row: BenchRow) -> None:
        look = theme.current()
        left = box.left() + look.px(WORDS_LEFT)
        wide = look.px(BAR_LEFT - WORDS_LEFT - 16)
        write(painter, QRectF(left, box.top() + look.px(12), wide, look.px(20)), row.name, 600)
        under = QRectF(left, box.top() + look.px(34), wide, look.px(18))
        write(painter, under, order_words(row), tone="ink2", size=SECONDARY)
        tag, _, _ = link_rects(box, row)[0]
        paint_mark(painter, tag, "run", str(row.number))
        count = QRectF(tag.right() + 10, tag.top(), wide - tag.width() - 10, tag.height())
        write(painter, count, count_words(row), tone="ink2", size=SECONDARY)

    def _paint_stages(self, painter: QPainter, box: QRectF, shown: Shown, chosen: bool) -> None:
        look = theme.current()
        row, bar = shown.row, bar_rect(box)
        if row.made:
            paint_stage_bar(painter, bar, row.counts)
        else:
            painter.setPen(QPen(look.color("line2"), 1, Qt.PenStyle.DashLine))
            painter.drawRoundedRect(bar.adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
        if chosen and self.stage_of:
            self._paint_cursor(painter, bar, row)
        grab = self._grab
        if grab is not None and grab.moved and grab.run_id == row.run_id:
            from studiolog.ui.bench.stage_drag import paint_targets

            under = line_rect(box, 0).united(line_rect(box, 2))
            paint_targets(painter, bar, under, row.counts, grab)
            return
        self._paint_lines(painter, box, shown)

    def _paint_lines(self, painter: QPainter, box: QRectF, shown: Shown) -> None:
        """What it waits for; what is next and what was lost; the work done and what is packed."""
        row, work = shown.row, self._work_of(shown.row)
        links = link_rects(box, row, work.planned if work else ())
        first, second, third = (line_rect(box, place) for place in range(3))
        now = self.facts.now if self.facts else None
        waits = waits_words(row, work, now) or since_words(row, shown.today)
        write(painter, first, waits, size=SECONDARY)
        # Why pieces were lost gives way to what is next, but never all of the line.
        lost = lost_words(row)
        lost_wide = QFontMetricsF(theme.current().font(SECONDARY)).horizontalAdvance(lost) + 1
        lost_wide = min(lost_wide, second.width() * 0.45)
        tone = "rust" if row.losses else "ink3"
        place = second.adjusted(second.width() - lost_wide, 0, 0, 0)
        write(painter, place, lost, tone=tone, size=SECONDARY, right=True)
        self._paint_next(painter, second.adjusted(0, 0, -lost_wide - 12, 0), row)
        right = third.right()
        for lot, (mark, _, _) in zip(row.packed, links[1 : 1 + len(row.packed)], strict=True):
            paint_mark(painter, mark, "firing", str(lot.number))
            before = QRectF(
                mark.left() - _packed_wide(lot.pieces),
                third.top(),
                _packed_wide(lot.pieces),
                third.height(),
            )
            write(painter, before, f"{lot.pieces} packed in ", tone="ink2", size=SECONDARY)
            right = min(right, before.left() - 12)
        loads = {load.load_id: load for load in work.planned} if work else {}
        for place, kind, load_id in links:
            if kind == "load":
                write(painter, place, planned_words(loads[load_id]), tone="cobalt", size=SECONDARY)
                right = min(right, place.left() - 12)
        third.setRight(right)
        steps = steps_words(work) if work else since_words(row, shown.today)
        write(painter, third, steps, tone="ink2" if work else "ink3", size=SECONDARY)

    def _paint_next(self, painter: QPainter, room: QRectF, row: BenchRow) -> None:
        work = self._work_of(row)
        window = self.facts.windows.get(row.run_id) if self.facts else None
        if window is None or (window.stage == "wet" and work and work.pressing is not None
                              and work.pressing.stage != "wet"):  # fmt: skip
            write(painter, room, next_words(work), 600, size=SECONDARY)
            return
        from studiolog.ui.bench.window_track import TRACK_WIDE, paint_track

        look = theme.current()
        words = window_words(window)
        said = QFontMetricsF(look.font(SECONDARY, 600)).horizontalAdvance(words)
        wide = min(look.px(TRACK_WIDE), room.width() - said - 12)
        if wide > look.px(TRACK_WIDE) / 2:
            place = QRectF(room.left(), room.center().y() - look.px(5), wide, look.px(10))
            paint_track(painter, place, window)
            room = room.adjusted(wide + 10, 0, 0, 0)
        tone = "rust" if window.short or window.dries_first or window.hours_left <= 0 else "ink"
        write(painter, room, words, 600, tone, SECONDARY)

    def _paint_cursor(self, painter: QPainter, bar: QRectF, row: BenchRow) -> None:
        """A cobalt bracket under the stage that keys act on; a count typed stands on it."""
        look = theme.current()
        for stage, pieces, left, wide in stage_segments(row.counts, bar.width()):
            if stage != self.stage_of:
                continue
            painter.setPen(QPen(look.color("cobalt"), 2))
            y = bar.bottom() + 2
            start, end = bar.left() + left + 1, bar.left() + left + wide - 1
            painter.drawLine(QPointF(start, y), QPointF(end, y))
            for x in (start, end):
                painter.drawLine(QPointF(x, y), QPointF(x, y - 4))
            if self.count is not None:
                self._paint_count(painter, bar, (start + end) / 2, pieces)

    def _paint_count(self, painter: QPainter, bar: QRectF, middle: float, pieces: int) -> None:
        look = theme.current()
        words = "all" if self.count == ALL_OF_THEM else str(self.count)
        words = f"{words} of {pieces}"
        font = look.font(SECONDARY, 600)
        patch = QRectF(0, 0, QFontMetricsF(font).horizontalAdvance(words) + 14, bar.height() - 2)
        patch.moveCenter(QPointF(middle, bar.center().y()))
        patch.moveLeft(max(bar.left(), min(patch.left(), bar.right() - patch.width())))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("cobalt"))
        painter.drawRoundedRect(patch, 4, 4)
        painter.setPen(look.color("oncobalt"))
        painter.setFont(font)
        painter.drawText(patch, Qt.AlignmentFlag.AlignCenter, words)

    # Keys and the mouse

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.resized.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: a number typed says how many; shift with a bracket means all of the stage."""
        held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        key = Qt.Key(event.key())
        digit = event.text() if event.text().isdigit() and not held else ""
        if self._grab is not None and key == Qt.Key.Key_Escape:
            self._let_go()
        elif digit:
            said = int(f"{self.count or ''}{digit}"[-4:])
            self.set_count(said or None)
        elif key == Qt.Key.Key_A and not held:
            self.set_count(ALL_OF_THEM)
        elif key == Qt.Key.Key_Escape and self.count is not None:
            self.set_count(None)
        elif key in _ALL_KEYS and held == Qt.KeyboardModifier.ShiftModifier:
            self.set_count(ALL_OF_THEM)
            self.key_pressed.emit(_ALL_KEYS[key])
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        from studiolog.ui.bench.stage_drag import grab_at

        super().mousePressEvent(event)
        shown, box = self._row_at(event.position())
        if shown is not None and event.button() == Qt.MouseButton.LeftButton:
            self._grab = grab_at(event.position(), bar_rect(box), shown.row)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        from studiolog.ui.bench.stage_drag import grab_at, target_at

        place = event.position()
        grab = self._grab
        if grab is not None and event.buttons() & Qt.MouseButton.LeftButton:
            if not grab.moved:
                far = (place - grab.pressed).manhattanLength()
                grab.moved = far >= QApplication.startDragDistance()
                if grab.moved and self.count:
                    grab.pieces = min(self.count, grab.most)
            shown, box = self._row_at(place)
            here = shown is not None and shown.row.run_id == grab.run_id
            under = line_rect(box, 0).united(line_rect(box, 2))
            grab.to_stage = (
                target_at(place, bar_rect(box), under, shown.row.counts, grab)
                if here and shown
                else None
            )
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
            self.viewport().update()
            return
        super().mouseMoveEvent(event)
        shown, box = self._row_at(place)
        shape = Qt.CursorShape.ArrowCursor
        if self._link_at(place):
            shape = Qt.CursorShape.PointingHandCursor
        elif shown is not None and grab_at(place, bar_rect(box), shown.row) is not None:
            shape = Qt.CursorShape.OpenHandCursor
        self.viewport().setCursor(shape)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        grab, self._grab = self._grab, None
        if grab is not None and grab.moved:
            self._let_go()
            if grab.to_stage is not None:
                self.dropped.emit(grab.run_id, grab.stage, grab.to_stage, grab.pieces)
            return
        if grab is not None:
            self.stage_of = grab.stage
            self.viewport().update()
        link = self._link_at(event.position())
        if link and event.button() == Qt.MouseButton.LeftButton:
            self.link_opened.emit(*link)

    def _let_go(self) -> None:
        self._grab = None
        self.viewport().unsetCursor()
        self.viewport().update()

    def _row_at(self, place: QPointF) -> tuple[Shown | None, QRectF]:
        index = self.indexAt(place.toPoint())
        if not index.isValid():
            return None, QRectF()
        return index.data(Qt.ItemDataRole.UserRole), QRectF(self.visualRect(index))

    def _link_at(self, place: QPointF) -> tuple[str, int] | None:
        shown, box = self._row_at(place)
        if shown is None:
            return None
        work = self._work_of(shown.row)
        for room, kind, ident in link_rects(box, shown.row, work.planned if work else ()):
            if room.contains(place):
                return kind, ident
        return None


def _due_of(shown: Shown) -> Due:
    order = shown.row.order
    return tell_due(
        order.promised_on if order else None, shown.today, order.state if order else "open"
    )
