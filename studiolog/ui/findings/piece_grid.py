"""Pictures of the pieces that answer, each with its mark, its cone and what was seen.

The grid computes its cells, paints only what is in view and asks for small pictures as they come
into view, so that thousands scroll as a dozen do.
"""

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
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
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from studiolog.desktop import theme
from studiolog.desktop.pictures import Pictures
from studiolog.desktop.tokens import CAPTION, RADIUS_CHIP
from studiolog.journal.finding import FindingRow, Hit
from studiolog.ui.findings.piece_source import PieceSource
from studiolog.ui.findings.words import say_cone_of, say_piece
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.marks import mark_size, paint_focus_ring, paint_mark
from studiolog.ui.parts.severity import paint_severity_word

_PICTURE = 256  # px asked of the store, whatever the cell: one size, made once
_CELL, _GAP = 112, 8


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
        theme.current().changed.connect(self._measure)

    def show_again(self) -> None:
        """The source has other pieces now."""
        self._current = 0
        self.horizontalScrollBar().setValue(0)
        self.verticalScrollBar().setValue(0)
        self._measure()

    def current_piece(self) -> int | None:
        """The id of the piece one stands on."""
        hits = self._source.hits
        return hits[self._current].piece_id if hits else None

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

    def _box(self, place: int) -> QRectF:
        cell, columns = self._cell(), self._columns()
        x = place % columns * (cell.width() + _GAP) - self.horizontalScrollBar().value()
        y = place // columns * (cell.height() + _GAP) - self.verticalScrollBar().value()
        return QRectF(x + 3, y + 3, cell.width() - 6, cell.height() - 6)

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
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        first, last = self._in_view()
        if last < first:
            return
        self._source.bring(first, last)
        for place in range(first, last + 1):
            row = self._source.row(place)
            if row is not None:
                self._paint_piece(painter, self._box(place), self._source.hits[place], row)
        if self.hasFocus() and first <= self._current <= last:
            box = self._box(self._current)
            side = box.width()
            ring = QRectF(box.left(), box.top(), side, side).adjusted(1, 1, -1, -1)
            paint_focus_ring(painter, ring, RADIUS_CHIP)

    def _paint_piece(self, painter: QPainter, box: QRectF, hit: Hit, row: FindingRow) -> None:
        look = theme.current()
        frame = QRectF(box.left(), box.top(), box.width(), box.width())
        self._paint_picture(painter, frame, row)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(look.color("rust"), 2) if hit.seen else QPen(look.color("line2"), 1))
        painter.drawRoundedRect(frame.adjusted(1, 1, -1, -1), RADIUS_CHIP, RADIUS_CHIP)
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
            paint_basis(painter, sign, row.cone_basis)
            room.setLeft(sign.right() + 5)
        painter.setPen(look.color("ink2"))
        said = QFontMetricsF(painter.font()).elidedText(
            say_cone_of(row), Qt.TextElideMode.ElideRight, room.width()
        )
        left = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.drawText(room, left, said)
        paint_severity_word(painter, line.translated(0, look.px(20)), hit.severity)

    def _paint_picture(self, painter: QPainter, frame: QRectF, row: FindingRow) -> None:
        look = theme.current()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.color("sunk"))
        painter.drawRoundedRect(frame, RADIUS_CHIP, RADIUS_CHIP)
        image = self._pictures.picture(row.sha256, row.suffix, _PICTURE) if row.sha256 else None
        if image is not None:
            painter.drawImage(frame, image, _middle_of(image))
            return
        if row.sha256 and self._pictures.problem(row.sha256, _PICTURE) is None:
            return  # being read
        words = "photo file missing" if row.sha256 else "no photo yet"
        paint_half_section(painter, frame.adjusted(22, 14, -22, -30), FormShape(), "line2")
        painter.setFont(look.font(CAPTION))
        painter.setPen(look.color("ink3"))
        low = QRectF(frame.left(), frame.bottom() - 24, frame.width(), 20)
        painter.drawText(low, Qt.AlignmentFlag.AlignCenter, words)

    # What happens to it

    def _picture_came(self, sha256: str, longest: int) -> None:
        if longest != _PICTURE:
            return
        first, last = self._in_view()
        for place in range(first, last + 1):
            row = self._source.row(place)
            if row is not None and row.sha256 == sha256:
                self.viewport().update(self._box(place).toAlignedRect())

    def _picture_missing(self, sha256: str, longest: int, _why: str) -> None:
        self._picture_came(sha256, longest)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._measure()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
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


def _middle_of(image: QImage) -> QRectF:
    """The largest square in the middle of a picture."""
    side = min(image.width(), image.height())
    return QRectF((image.width() - side) / 2, (image.height() - side) / 2, side, side)


def paint_basis(painter: QPainter, box: QRectF, basis: str) -> None:
    """How a cone is known: a cobalt cone read, a rust triangle computed, an open diamond aimed."""
    look = theme.current()
    middle, tall = box.center(), box.height() * 0.28
    half = box.width() / 2 - 0.5
    corners = {
        "aimed": [(0.0, -tall), (half, 0.0), (0.0, tall), (-half, 0.0)],
        "computed": [(0.0, tall * 0.8), (half, -tall * 0.8), (-half, -tall * 0.8)],
        "read": [(0.0, -tall * 1.2), (half * 0.75, tall * 1.1), (-half * 0.75, tall * 1.1)],
    }
    points = corners[basis]
    token = "rust" if basis == "computed" else "cobalt"
    painter.setPen(QPen(look.color(token), 1.25))
    painter.setBrush(Qt.BrushStyle.NoBrush if basis == "aimed" else look.color(token))
    painter.drawPolygon(QPolygonF([middle + QPointF(x, y) for x, y in points]))
