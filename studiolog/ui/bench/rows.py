"""The runs on the bench as rows of 96 px, painted; only those that are seen."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QWidget

from studiolog.craft.words import PURPOSES, STAGES
from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.bench_rows import BenchRow
from studiolog.ui.parts.due import paint_due, say_day, tell_due
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.marks import mark_size, paint_mark
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write
from studiolog.ui.parts.stage_bar import describe_stages, paint_stage_bar, stage_segments

HIGH = 96
WORDS_LEFT = 72
BAR_LEFT = 264
DUE_WIDE = 144

# What pieces at a stage wait for next: common practice.
WAITS = {
    "wet": "to firm up",
    "leather_hard": "to trim, join or dry",
    "bone_dry": "waiting for bisque",
    "bisque": "waiting for glaze",
    "glazed": "waiting for a glaze firing",
    "fired": "to finish",
}


def order_words(row: BenchRow) -> str:
    """Whom a run is for: its order, or its purpose."""
    if row.order is not None:
        return f"Order {row.order.number}, {row.order.whom}"
    words = PURPOSES.get(row.purpose, row.purpose)
    return "No order yet" if row.purpose == "order" else words[:1].upper() + words[1:]


def count_words(row: BenchRow) -> str:
    """How many are good of how many were made."""
    return f"{row.good} of {row.made}" if row.made else "no pieces yet"


def since_words(row: BenchRow, today: date) -> str:
    """Since when the youngest stand where they are."""
    if row.youngest is None:
        return "all done" if row.made else ""
    words = f"{row.counts[row.youngest]} {STAGES[row.youngest]}"
    return f"{words} since {say_day(row.since, today)}" if row.since else words


def waits_words(row: BenchRow) -> str:
    """What each lot waits for; those packed in a firing are told apart."""
    packed: dict[str, int] = {}
    for lot in row.packed:
        packed[lot.stage] = packed.get(lot.stage, 0) + lot.pieces
    told = []
    for stage, waits in WAITS.items():
        left = row.counts.get(stage, 0) - packed.get(stage, 0)
        if left > 0:
            told.append(f"{left} {waits}")
    return ", ".join(told)


def lost_words(row: BenchRow) -> str:
    """How many were lost and why, most first."""
    total = sum(pieces for _, pieces in row.lost)
    if not total:
        return "none lost" if row.made else ""
    whys = [
        why if pieces == 1 or len(row.lost) == 1 else f"{pieces} {why}"
        for why, pieces in row.lost
        if why
    ]
    return f"{total} lost: {', '.join(whys)}" if whys else f"{total} lost, not said why"


def row_sentence(row: BenchRow, today: date) -> str:
    """A row in words, for a screen reader."""
    due = tell_due(
        row.order.promised_on if row.order else None,
        today,
        row.order.state if row.order else "open",
    )
    parts = (
        f"Run {row.number}, {row.name}",
        order_words(row),
        count_words(row),
        describe_stages(row.counts),
        since_words(row, today),
        lost_words(row),
        due.words,
    )
    return "; ".join(part for part in parts if part)


@dataclass(frozen=True)
class Shown:
    """A row with the day it is told for."""

    row: BenchRow
    today: date
    shape: FormShape


def shape_of(row: BenchRow) -> FormShape:
    """The form of a run as its icon is drawn."""
    form = row.form
    if form is None:
        return FormShape()
    return form_shape(form.shape, form.profile, form.height_mm, form.across_mm)


def bar_rect(box: QRectF) -> QRectF:
    """Where in a row the stage bar lies."""
    look = theme.current()
    right = box.right() - look.px(DUE_WIDE) - look.px(32)
    left = box.left() + look.px(BAR_LEFT)
    return QRectF(left, box.top() + look.px(14), max(120.0, right - left), look.px(26))


def link_rects(box: QRectF, row: BenchRow) -> list[tuple[QRectF, str, int]]:
    """The marks of a row that open something: place, kind and id."""
    look = theme.current()
    size = mark_size("run", str(row.number))
    tag = QRectF(
        box.left() + look.px(WORDS_LEFT), box.top() + look.px(60), size.width(), size.height()
    )
    links = [(tag, "run", row.run_id)]
    left = bar_rect(box).left()
    for lot in row.packed:
        left += QFontMetricsF(look.font(SECONDARY)).horizontalAdvance(f"{lot.pieces} packed in ")
        size = mark_size("firing", str(lot.number))
        place = QRectF(left, box.top() + look.px(66), size.width(), size.height())
        links.append((place, "firing", lot.firing_id))
        left = place.right() + 12
    return links


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


class BenchList(PaintedList):
    """The rows. ``key_pressed`` carries what the screen does with a key; ``link_opened`` a mark.

    ``stage_of`` is the stage that keys act on in the row chosen.
    """

    link_opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        model = PaintedRows(
            lambda shown: row_sentence(shown.row, shown.today), lambda shown: str(shown.row.name)
        )
        super().__init__("Runs on the bench", HIGH, self._paint, model, _KEYS, parent)
        self.stage_of: str | None = None
        self.doubleClicked.connect(lambda _index: self.key_pressed.emit("open"))

    def show_bench(self, rows: Sequence[BenchRow], today: date) -> None:
        """Show the runs as they are told today."""
        self.show_rows([Shown(row, today, shape_of(row)) for row in rows], -1)

    def current_run(self) -> BenchRow | None:
        """The run chosen."""
        shown: Shown | None = self.current_row()
        return shown.row if shown else None

    def _paint(self, painter: QPainter, box: QRectF, shown: Shown, chosen: bool) -> None:
        look = theme.current()
        icon = QRectF(box.left() + 10, box.top() + 18, look.px(48), box.height() - 36)
        paint_half_section(painter, icon, shown.shape)
        self._paint_words(painter, box, shown.row)
        self._paint_stages(painter, box, shown, chosen)
        order = shown.row.order
        due = tell_due(
            order.promised_on if order else None, shown.today, order.state if order else "open"
        )
        wide = look.px(DUE_WIDE)
        place = QRectF(box.right() - wide - 8, box.top() + look.px(18), wide, look.px(40))
        paint_due(painter, place, due)

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
        lost = lost_words(row)
        tone = "rust" if row.lost else "ink3"
        first = QRectF(bar.left(), bar.bottom() + look.px(6), bar.width(), look.px(18))
        # Why pieces were lost gives way to since when they stand, but never all of the line.
        measure = QFontMetricsF(look.font(SECONDARY))
        since = since_words(row, shown.today)
        lost_wide = measure.horizontalAdvance(lost) + 1
        spare = first.width() - measure.horizontalAdvance(since) - 16
        lost_wide = min(lost_wide, max(spare, first.width() * 0.45))
        write(
            painter,
            first.adjusted(first.width() - lost_wide, 0, 0, 0),
            lost,
            tone=tone,
            size=SECONDARY,
            right=True,
        )
        write(painter, first.adjusted(0, 0, -lost_wide - 12, 0), since, size=SECONDARY)
        left = bar.left()
        links = link_rects(box, row)[1:]
        line = QRectF(left, box.top() + look.px(67), bar.width(), look.px(18))
        for lot, (place, _, _) in zip(row.packed, links, strict=True):
            room = QRectF(left, line.top(), place.left() - left, line.height())
            write(painter, room, f"{lot.pieces} packed in ", tone="ink2", size=SECONDARY)
            paint_mark(painter, place, "firing", str(lot.number))
            left = place.right() + 12
        rest = QRectF(left, line.top(), max(0.0, line.right() - left), line.height())
        write(painter, rest, waits_words(row), tone="ink3", size=SECONDARY)

    def _paint_cursor(self, painter: QPainter, bar: QRectF, row: BenchRow) -> None:
        """A cobalt bracket under the stage that keys act on."""
        for stage, _, left, wide in stage_segments(row.counts, bar.width()):
            if stage == self.stage_of:
                painter.setPen(QPen(theme.current().color("cobalt"), 2))
                y = bar.bottom() + 3
                start, end = bar.left() + left + 1, bar.left() + left + wide - 1
                painter.drawLine(QPointF(start, y), QPointF(end, y))
                for x in (start, end):
                    painter.drawLine(QPointF(x, y), QPointF(x, y - 4))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        super().mouseMoveEvent(event)
        over = self._link_at(event.position())
        shape = Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor
        self.viewport().setCursor(shape)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        link = self._link_at(event.position())
        if link and event.button() == Qt.MouseButton.LeftButton:
            self.link_opened.emit(*link)

    def _link_at(self, place: QPointF) -> tuple[str, int] | None:
        index = self.indexAt(place.toPoint())
        if not index.isValid():
            return None
        shown: Shown = index.data(Qt.ItemDataRole.UserRole)
        box = QRectF(self.visualRect(index))
        for room, kind, ident in link_rects(box, shown.row):
            if room.contains(place):
                return kind, ident
        return None
