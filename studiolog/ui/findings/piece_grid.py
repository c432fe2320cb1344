"""Pictures of the pieces that answer, each with its mark, its cone and what was seen.

The grid computes its cells, paints only what is in view, keeps the last few hundred as they were
painted, and asks for small pictures as they come into view; those that went out of view again
before they were read are not read. So hundreds of thousands scroll as a dozen do.
"""

from collections import OrderedDict
from collections.abc import Callable
from functools import partial
from time import perf_counter

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, QSizeF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from studiolog.desktop import theme
from studiolog.desktop.pictures import Pictures
from studiolog.desktop.tokens import CAPTION, RADIUS_CHIP, SECONDARY
from studiolog.journal.finding import FindingRow, Hit
from studiolog.ui.findings.cone_mark import paint_cone_basis
from studiolog.ui.findings.piece_source import PieceSource
from studiolog.ui.findings.words import say_cone_of, say_look, say_piece
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.marks import mark_size, paint_focus_ring, paint_mark
from studiolog.ui.parts.severity import paint_severity_word

_SMALL, _LARGE = 160, 480  # px: sizes that lie ready in the store
_SHORT_SIDE = 0.75  # of the long side of most pictures; the cells are square
_CELL, _GAP = 112, 8
_KEPT = 240  # painted cells
_FRAME_MS, _BUDGET_S = 16, 0.004  # while it moves; what is left over is painted a frame later


Picture = tuple[str, str, int]
"""Hash, suffix and longest side of a picture waited for."""


class PieceGrid(QAbstractScrollArea):
    """A gallery: many rows to scroll down, or (``strip``) one row to scroll along.

    ``opened`` carries a piece id: Enter or a click on its picture.
    """

    opened = Signal(int)

    def __init__(
        self,
        source: PieceSource,
        pictures: Pictures,
        strip: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._source, self._pictures, self._strip = source, pictures, strip
        self._current = 0
        self._painted: OrderedDict[int, QPixmap] = OrderedDict()  # by line
        self._waiting: dict[int, Picture] = {}  # painted, but for their picture
        self._measured_columns = 0
        self._moving = False
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_FRAME_MS)
        self._rest.timeout.connect(self.viewport().update)
        self._signs: dict[object, QPixmap] = {}  # painted once, put under many pictures
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Pieces")
        off, on = Qt.ScrollBarPolicy.ScrollBarAlwaysOff, Qt.ScrollBarPolicy.ScrollBarAsNeeded
        self.setHorizontalScrollBarPolicy(on if strip else off)
        self.setVerticalScrollBarPolicy(off if strip else on)
        self.viewport().setAutoFillBackground(False)
        self.viewport().setCursor(Qt.CursorShape.PointingHandCursor)
        if strip:
            self.setFixedHeight(self._cell().height() + 12)
        pictures.ready.connect(self._picture_came)
        pictures.missing.connect(self._picture_missing)
        theme.current().changed.connect(self._restyle)

    def show_again(self) -> None:
        """The source has other pieces now."""
        self._current = 0
        self._forget_painted()
        self.horizontalScrollBar().setValue(0)
        self.verticalScrollBar().setValue(0)
        self._measure()
        self._moving = False

    def current_piece(self) -> int | None:
        """The id of the piece one stands on."""
        hits = self._source.hits
        return hits[self._current].piece_id if hits else None

    def shown_places(self) -> tuple[int, int, int]:
        """The first and the last that stand whole in view, and how many there are."""
        first, last = self._in_view()
        room = self.viewport().rect()
        while first < last and not room.contains(self._box(first).toAlignedRect()):
            first += 1
        while last > first and not room.contains(self._box(last).toAlignedRect()):
            last -= 1
        return first, last, len(self._source.hits)

    def sizeHint(self) -> QSize:
        return QSize(720, self._cell().height() + 12 if self._strip else 480)

    # Where things are

    def _cell(self) -> QSize:
        look = theme.current()
        side = look.px(_CELL)
        return QSize(side, side - 4 + look.px(44))

    def _columns(self) -> int:
        if self._strip:
            return max(1, len(self._source.hits))
        return max(1, (self.viewport().width() + _GAP) // (self._cell().width() + _GAP))

    def _pitch(self) -> tuple[int, int, int, int, int]:
        """How many stand in a row, how far apart they are, and how far all is scrolled."""
        cell = self._cell()
        along, down = self.horizontalScrollBar().value(), self.verticalScrollBar().value()
        return self._columns(), cell.width() + _GAP, cell.height() + _GAP, along, down

    @staticmethod
    def _corner(place: int, pitch: tuple[int, int, int, int, int]) -> QPointF:
        """Where the painted part of a cell begins."""
        columns, across, down, scrolled_x, scrolled_y = pitch
        x, y = place % columns * across - scrolled_x, place // columns * down - scrolled_y
        return QPointF(x + 3, y + 3)

    def _per_line(self) -> int:
        """How many cells are painted as one: a row of the gallery, a cell of the strip."""
        return 1 if self._strip else self._columns()

    def _places(self, line: int) -> range:
        start = line * self._per_line()
        return range(start, min(start + self._per_line(), len(self._source.hits)))

    def _box(self, place: int) -> QRectF:
        cell = self._cell()
        corner = self._corner(place, self._pitch())
        return QRectF(corner.x(), corner.y(), cell.width() - 6, cell.height() - 6)

    def _in_view(self) -> tuple[int, int]:
        """The first and the last place that is seen, in whole rows."""
        cell, columns, count = self._cell(), self._columns(), len(self._source.hits)
        if self._strip:
            pitch, start = cell.width() + _GAP, self.horizontalScrollBar().value()
            first = start // pitch
            last = (start + self.viewport().width()) // pitch
        else:
            pitch, start = cell.height() + _GAP, self.verticalScrollBar().value()
            first = start // pitch * columns
            last = ((start + self.viewport().height()) // pitch + 1) * columns - 1
        return max(0, first), min(count - 1, last)

    def _place_at(self, at: QPoint) -> int | None:
        first, last = self._in_view()
        for place in range(first, last + 1):
            if self._box(place).contains(at):
                return place
        return None

    def _measure(self) -> None:
        if self._columns() != self._measured_columns:
            self._forget_painted()
            self._measured_columns = self._columns()
        cell, columns, count = self._cell(), self._columns(), len(self._source.hits)
        if self._strip:
            self.setFixedHeight(cell.height() + 12)
            wide = count * (cell.width() + _GAP) - _GAP
            bar, seen, pitch = self.horizontalScrollBar(), self.viewport().width(), cell.width()
        else:
            wide = -(-count // columns) * (cell.height() + _GAP) - _GAP
            bar, seen, pitch = self.verticalScrollBar(), self.viewport().height(), cell.height()
        bar.setRange(0, max(0, wide - seen))
        bar.setPageStep(seen)
        bar.setSingleStep(pitch // 3)
        self.viewport().update()

    def _go(self, place: int) -> None:
        count = len(self._source.hits)
        if not count:
            return
        self._current = max(0, min(count - 1, place))
        box, seen = self._box(self._current), self.viewport().rect()
        if self._strip:
            bar, low, high, end = self.horizontalScrollBar(), box.left(), box.right(), seen.width()
        else:
            bar, low, high, end = self.verticalScrollBar(), box.top(), box.bottom(), seen.height()
        if low < 3:
            bar.setValue(bar.value() + int(low) - 3)
        elif high > end - 3:
            bar.setValue(bar.value() + int(high - end) + 4)
        self._tell()
        self.viewport().update()

    def _tell(self) -> None:
        row = self._source.row(self._current) if self._source.hits else None
        if row is not None:
            self.setAccessibleDescription(say_piece(self._source.hits[self._current], row))

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        first, last = self._in_view()
        self._let_go_but(first, last)
        if last < first:
            return
        ratio = self.devicePixelRatioF()
        if self._painted and next(iter(self._painted.values())).devicePixelRatio() != ratio:
            self._forget_painted()  # on another screen now
        pitch, dirty = self._pitch(), event.rect()
        first_line, last_line = first // self._per_line(), last // self._per_line()
        begin = perf_counter()
        due: float | None = None  # at least one line is painted each time
        left_over = False
        for line in range(first_line, last_line + 1):
            places = self._places(line)
            corner = self._corner(places[0], pitch)
            whole = self._painted.get(line)
            if whole is None:
                if self._moving and due is not None and perf_counter() > due:
                    left_over = True
                    self._paint_blank(painter, corner, len(places))
                    continue
                self._source.bring(places[0], places[-1])
                whole = self._paint_line(line, ratio)
                due = due or begin + _BUDGET_S
            self._painted[line] = whole
            self._painted.move_to_end(line)
            if dirty.intersects(QRectF(corner, whole.deviceIndependentSize()).toAlignedRect()):
                self._add_pictures(line, whole)
                painter.drawPixmap(corner, whole)
        self._moving = left_over
        if left_over:
            self._rest.start()
        most = max(_KEPT // self._per_line(), 2 * (last_line + 1 - first_line))
        while len(self._painted) > most:
            self._painted.popitem(last=False)
        if self.hasFocus() and first <= self._current <= last:
            box = self._box(self._current)
            side = box.width()
            ring = QRectF(box.left(), box.top(), side, side).adjusted(1, 1, -1, -1)
            paint_focus_ring(painter, ring, RADIUS_CHIP)

    def _paint_blank(self, painter: QPainter, corner: QPointF, cells: int) -> None:
        """What flies past too fast to be painted."""
        across, side = self._pitch()[1], self._cell().width() - 6
        for step in range(cells):
            frame = QRectF(corner.x() + step * across, corner.y(), side, side)
            painter.fillRect(frame, theme.current().color("sunk"))

    def _paint_line(self, line: int, ratio: float) -> QPixmap:
        """The cells of a line as they look before their pictures are there."""
        places = self._places(line)
        box, (_columns, across, *_rest) = self._box(places[0]), self._pitch()
        size = QSizeF((len(places) - 1) * across + box.width(), box.height())
        whole = QPixmap((size * ratio).toSize())
        whole.setDevicePixelRatio(ratio)
        whole.fill(Qt.GlobalColor.transparent)
        painter = QPainter(whole)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        longest = _SMALL if box.width() * ratio <= _SMALL * _SHORT_SIDE else _LARGE
        for step, place in enumerate(places):
            row = self._source.row(place)
            if row is None:
                continue  # gone meanwhile
            box = QRectF(step * across, 0, box.width(), box.height())
            if row.sha256:
                self._waiting[place] = (row.sha256, row.suffix, longest)
                self._paint_ground(painter, _frame_of(box))
            else:
                self._paint_words(painter, _frame_of(box), "no photo yet")
            self._paint_piece(painter, box, self._source.hits[place], row)
        painter.end()
        return whole

    def _add_pictures(self, line: int, whole: QPixmap) -> None:
        """Paint what has come of the pictures of a line, or that they are missing."""
        places = self._places(line)
        found: list[tuple[int, QImage | None]] = []
        for place in reversed(places):
            if place in self._waiting:
                sha256, suffix, longest = self._waiting[place]
                image = self._pictures.picture(sha256, suffix, longest)
                if image is not None or self._pictures.problem(sha256, longest) is not None:
                    found.append((place, image))
        if not found:
            return
        painter = QPainter(whole)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        box, across = self._box(places[0]), self._pitch()[1]
        for place, image in found:
            frame = QRectF((place - places[0]) * across, 0, box.width(), box.width())
            if image is None:
                self._paint_words(painter, frame, "photo file missing")
            else:
                painter.drawImage(frame, image, _middle_of(image))
            self._paint_frame(painter, frame, self._source.hits[place])
            self._pictures.let_go([self._waiting.pop(place)[::2]])  # the line has it now
        painter.end()

    def _let_go_but(self, first: int, last: int) -> None:
        """Pictures waited for out of view are waited for no more; their cells are painted anew."""
        gone = [place for place in self._waiting if not first <= place <= last]
        if gone:
            self._pictures.let_go([self._waiting[place][::2] for place in gone])
            for place in gone:
                del self._waiting[place]
                self._painted.pop(place // self._per_line(), None)

    def _forget_painted(self) -> None:
        self._let_go_but(0, -1)
        self._painted.clear()
        self._signs.clear()

    def _restyle(self) -> None:
        self._forget_painted()
        self._measure()

    def _paint_piece(self, painter: QPainter, box: QRectF, hit: Hit, row: FindingRow) -> None:
        """The outline and all that stands under the picture."""
        look = theme.current()
        frame = _frame_of(box)
        self._paint_frame(painter, frame, hit)
        line = QRectF(box.left(), frame.bottom() + 4, box.width(), look.px(20))
        kind = "piece" if row.number is not None else "run"
        text = str(row.number if row.number is not None else row.run_number)
        size = mark_size(kind, text)
        wide = min(size.width(), line.width() * 0.6)
        paint_mark(painter, QRectF(line.left(), line.top(), wide, line.height()), kind, text)
        painter.setFont(look.font(CAPTION))
        painter.setPen(look.color("ink2"))
        room = line.adjusted(wide + 6, 0, 0, 0)
        if row.cone_basis is not None:
            sign = QRectF(room.left(), room.top(), look.px(10), room.height())
            self._put_sign(
                painter, sign, row.cone_basis, partial(paint_cone_basis, basis=row.cone_basis)
            )
            room.setLeft(sign.right() + 5)
        painter.setPen(look.color("ink2"))
        said = QFontMetricsF(painter.font()).elidedText(
            say_cone_of(row), Qt.TextElideMode.ElideRight, room.width()
        )
        left = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.drawText(room, left, said)
        if hit.of_surface:
            self._paint_surface(painter, line.translated(0, look.px(20)), hit, row)
            return
        word = partial(paint_severity_word, severity=hit.severity)
        self._put_sign(painter, line.translated(0, look.px(20)), hit.severity, word)

    def _paint_surface(self, painter: QPainter, line: QRectF, hit: Hit, row: FindingRow) -> None:
        """What was said of the surface; in bold where it is what was asked for."""
        look = theme.current()
        painter.setFont(look.font(SECONDARY, 600 if hit.seen else 400))
        painter.setPen(look.color("ink" if hit.seen else "ink3"))
        said = QFontMetricsF(painter.font()).elidedText(
            say_look(hit, row), Qt.TextElideMode.ElideRight, line.width()
        )
        left = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.drawText(line, left, said)

    def _put_sign(
        self,
        painter: QPainter,
        box: QRectF,
        key: object,
        paint: Callable[[QPainter, QRectF], None],
    ) -> None:
        """Paint what looks the same under every picture, from the second time on as a copy."""
        sign = self._signs.get(key)
        if sign is None:
            ratio = self.devicePixelRatioF()
            sign = self._signs[key] = QPixmap((box.size() * ratio).toSize())
            sign.setDevicePixelRatio(ratio)
            sign.fill(Qt.GlobalColor.transparent)
            once = QPainter(sign)
            once.setRenderHint(QPainter.RenderHint.Antialiasing)
            paint(once, QRectF(QPointF(0, 0), box.size()))
            once.end()
        painter.drawPixmap(box.topLeft(), sign)

    def _paint_frame(self, painter: QPainter, frame: QRectF, hit: Hit) -> None:
        look = theme.current()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        seen = "ink" if hit.of_surface else "rust"
        painter.setPen(QPen(look.color(seen), 2) if hit.seen else QPen(look.color("line2"), 1))
        painter.drawRoundedRect(frame.adjusted(1, 1, -1, -1), RADIUS_CHIP, RADIUS_CHIP)

    def _paint_ground(self, painter: QPainter, frame: QRectF) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.current().color("sunk"))
        painter.drawRoundedRect(frame, RADIUS_CHIP, RADIUS_CHIP)

    def _paint_words(self, painter: QPainter, frame: QRectF, words: str) -> None:
        look = theme.current()
        self._paint_ground(painter, frame)
        paint_half_section(painter, frame.adjusted(22, 14, -22, -30), FormShape(), "line2")
        painter.setFont(look.font(CAPTION))
        painter.setPen(look.color("ink3"))
        low = QRectF(frame.left(), frame.bottom() - 24, frame.width(), 20)
        painter.drawText(low, Qt.AlignmentFlag.AlignCenter, words)

    # What happens to it

    def _picture_came(self, sha256: str, longest: int) -> None:
        for place, (waited, _suffix, size) in self._waiting.items():
            if (waited, size) == (sha256, longest):
                self.viewport().update(self._box(place).toAlignedRect())

    def _picture_missing(self, sha256: str, longest: int, _why: str) -> None:
        self._picture_came(sha256, longest)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._measure()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        self._moving = True
        self.viewport().update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        columns = self._columns()
        rows_seen = max(1, self.viewport().height() // (self._cell().height() + _GAP))
        steps = {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Up: 0 if self._strip else -columns,
            Qt.Key.Key_Down: 0 if self._strip else columns,
            Qt.Key.Key_PageUp: -columns * rows_seen,
            Qt.Key.Key_PageDown: columns * rows_seen,
            Qt.Key.Key_Home: -len(self._source.hits),
            Qt.Key.Key_End: len(self._source.hits),
        }
        step = steps.get(Qt.Key(event.key()))
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            piece_id = self.current_piece()
            if piece_id is not None:
                self.opened.emit(piece_id)
        elif step:
            self._go(self._current + step)
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        place = self._place_at(event.position().toPoint())
        if place is not None and event.button() == Qt.MouseButton.LeftButton:
            self._go(place)
            self.opened.emit(self._source.hits[place].piece_id)

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            place = self._place_at(event.pos())
            row = self._source.row(place) if place is not None else None
            if place is None or row is None:
                QToolTip.hideText()
            else:
                QToolTip.showText(event.globalPos(), say_piece(self._source.hits[place], row))
            return True
        return super().viewportEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self._tell()
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.viewport().update()


def _frame_of(box: QRectF) -> QRectF:
    """The square of a cell that its picture fills."""
    return QRectF(box.left(), box.top(), box.width(), box.width())


def _middle_of(image: QImage) -> QRectF:
    """The largest square in the middle of a picture."""
    side = min(image.width(), image.height())
    return QRectF((image.width() - side) / 2, (image.height() - side) / 2, side, side)
