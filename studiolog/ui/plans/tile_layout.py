"""The tiles of a plan as they lie: a line, a triangle or a grid, walked with the arrow keys.

It is the plan before anything is made, and the picture grid of results after.
"""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDragMoveEvent,
    QDropEvent,
    QFocusEvent,
    QGuiApplication,
    QHelpEvent,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QScrollArea, QToolTip, QWidget

from studiolog.desktop import theme
from studiolog.desktop.handed_over import local_paths
from studiolog.desktop.pictures import Pictures
from studiolog.desktop.tokens import RADIUS_CHIP
from studiolog.ui.parts.marks import paint_focus_ring
from studiolog.ui.plans.tile_picture import TileCell, paint_tile, words_height

_GAP, _EDGE = 12, 5
_NARROWEST = 68  # px of a tile at 100 per cent
_WIDEST, _WIDEST_PICTURE = 124, 176  # px of one as planned, and of one with its photo
_PLANNED_HIGH, _WORDS_HIGH, _LEAST_PLANNED = 620, 64, 88
_HIGH = 0.72
"""How high a tile is drawn, of its width."""
_SMALL, _LARGE = 160, 480  # px: sizes that lie ready in the store


class TileLayout(QAbstractScrollArea):
    """``moved`` carries the position of the tile one stands on, ``opened`` that of one that was
    opened with Enter or a double click, ``chosen_changed`` tells that other tiles are chosen.

    ``dropped`` carries the position of the tile files were dropped on, and their paths.

    Space chooses a tile, Ctrl A all. As high as its tiles; too many abreast scroll sideways.
    """

    moved = Signal(int)
    opened = Signal(int)
    chosen_changed = Signal()
    dropped = Signal(int, list)

    def __init__(
        self, about: str, pictures: Pictures | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._pictures = pictures
        self._cells: tuple[TileCell, ...] = ()
        self._current = 0  # place among the cells
        self._chosen: set[int] = set()
        self._choosing = pictures is not None
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(about)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.viewport().setAutoFillBackground(False)
        self.setAcceptDrops(pictures is not None)
        if pictures is not None:
            pictures.ready.connect(self._hear_picture)
            pictures.missing.connect(self._hear_picture)
        theme.current().changed.connect(self._measure)

    def show_cells(self, cells: Sequence[TileCell]) -> None:
        """Show these tiles; one stays where one stood as long as it is there."""
        here = self.current()
        kept = here.position if here is not None else 0
        self._cells = tuple(cells)
        places = {cell.position: place for place, cell in enumerate(self._cells)}
        self._current = places.get(kept, 0)
        self._chosen &= set(places)
        self._measure()
        self._tell()

    def cells(self) -> tuple[TileCell, ...]:
        """The tiles shown."""
        return self._cells

    def current(self) -> TileCell | None:
        """The tile one stands on."""
        return self._cells[self._current] if self._cells else None

    def go_to(self, position: int) -> None:
        """Stand on a tile; the page is not scrolled to it."""
        for place, cell in enumerate(self._cells):
            if cell.position == position:
                self._go(place, seek=False)

    def chosen(self) -> tuple[int, ...]:
        """The positions of the tiles chosen, in order."""
        return tuple(sorted(self._chosen))

    def choose(self, positions: Sequence[int]) -> None:
        """Choose these tiles and no others."""
        if set(positions) != self._chosen:
            self._chosen = set(positions)
            self.viewport().update()
            self.chosen_changed.emit()

    # Where things are

    def _side(self) -> float:
        """How wide a tile is."""
        look = theme.current()
        across = max((cell.spot[0] + 0.5 for cell in self._cells), default=1.0)
        widest: float = _WIDEST_PICTURE
        if self._pictures is None:
            # As planned, the whole of it is rather seen at once than each tile large.
            rows = max((cell.spot[1] + 0.5 for cell in self._cells), default=1.0)
            by_rows = (_PLANNED_HIGH / rows - _WORDS_HIGH) / _HIGH
            widest = max(_LEAST_PLANNED, min(_WIDEST, by_rows))
        room = (self.width() - 2 * _EDGE + _GAP) / across - _GAP
        return float(max(look.px(_NARROWEST), min(look.px(widest), room)))

    def _pitch(self) -> tuple[float, float]:
        side = self._side()
        return side + _GAP, side * _HIGH + words_height() + _GAP

    def _box(self, cell: TileCell) -> QRectF:
        side = self._side()
        across, down = self._pitch()
        x, y = cell.spot
        left = _EDGE + (x - 0.5) * across - self.horizontalScrollBar().value()
        return QRectF(left, _EDGE + (y - 0.5) * down, side, down - _GAP)

    def _measure(self) -> None:
        across, down = self._pitch()
        wide = max((cell.spot[0] + 0.5 for cell in self._cells), default=0.0) * across - _GAP
        rows = max((cell.spot[1] + 0.5 for cell in self._cells), default=1.0)
        bar = self.horizontalScrollBar()
        over = max(0, round(wide + 2 * _EDGE) - self.width())
        high = rows * down - _GAP + 2 * _EDGE + (bar.sizeHint().height() if over else 0)
        if self.height() != round(high) or self.minimumHeight() != round(high):
            self.setFixedHeight(round(high))
        bar.setRange(0, over)
        bar.setPageStep(self.width())
        bar.setSingleStep(round(across / 3))
        self.viewport().update()

    def sizeHint(self) -> QSize:
        return QSize(theme.current().px(480), self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(theme.current().px(_NARROWEST) + 2 * _EDGE, self.minimumHeight())

    def _cell_at(self, at: QPoint) -> int | None:
        for place, cell in enumerate(self._cells):
            if self._box(cell).contains(at):
                return place
        return None

    # Moving

    def _go(self, place: int, seek: bool = True) -> None:
        self._current = max(0, min(len(self._cells) - 1, place))
        box = self._box(self._cells[self._current])
        bar = self.horizontalScrollBar()
        if box.left() < _EDGE:
            bar.setValue(bar.value() + round(box.left()) - _EDGE)
        elif box.right() > self.viewport().width() - _EDGE:
            bar.setValue(bar.value() + round(box.right()) - self.viewport().width() + _EDGE)
        if seek:
            self._bring_into_sight(box)
        self._tell()
        self.viewport().update()

    def _bring_into_sight(self, box: QRectF) -> None:
        upward = self.parentWidget()
        while upward is not None and not isinstance(upward, QScrollArea):
            upward = upward.parentWidget()
        page = upward.widget() if upward is not None else None
        if upward is not None and page is not None:
            at = self.mapTo(page, box.center().toPoint())
            upward.ensureVisible(at.x(), at.y(), 0, round(box.height() / 2) + 12)

    def _tell(self) -> None:
        cell = self.current()
        if cell is None:
            self.setAccessibleDescription("")
            return
        chosen = ", chosen" if cell.position in self._chosen else ""
        self.setAccessibleDescription(f"{cell.sentence}{chosen}")
        self.moved.emit(cell.position)

    def _step_row(self, down: int) -> None:
        """To the nearest tile of the row below or above."""
        here = self._cells[self._current]
        rows = sorted({cell.row for cell in self._cells})
        place = rows.index(here.row) + down
        if not 0 <= place < len(rows):
            return
        near = [(abs(c.spot[0] - here.spot[0]), n) for n, c in enumerate(self._cells)
                if c.row == rows[place]]  # fmt: skip
        self._go(min(near)[1])

    def _step_along(self, right: int) -> None:
        """To the next tile of the row, or the end of the row before."""
        here = self._cells[self._current]
        beside = [
            (right * (cell.spot[0] - here.spot[0]), place)
            for place, cell in enumerate(self._cells)
            if cell.row == here.row and right * (cell.spot[0] - here.spot[0]) > 0
        ]
        if beside:
            self._go(min(beside)[1])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self._cells:
            event.ignore()
            return
        key, control = event.key(), event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self._cells[self._current].sentence)
        elif control and key == Qt.Key.Key_A and self._choosing:
            self.choose([cell.position for cell in self._cells])
        elif event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            event.ignore()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self._step_along(1 if key == Qt.Key.Key_Right else -1)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._step_row(1 if key == Qt.Key.Key_Down else -1)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._go(0 if key == Qt.Key.Key_Home else len(self._cells) - 1)
        elif key == Qt.Key.Key_Space and self._choosing:
            self._turn_chosen(self._current)
        elif key == Qt.Key.Key_Escape and self._chosen:
            self.choose([])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.opened.emit(self._cells[self._current].position)
        else:
            event.ignore()

    def _turn_chosen(self, place: int) -> None:
        self.choose(sorted(self._chosen ^ {self._cells[place].position}))
        self._tell()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        place = self._cell_at(event.position().toPoint())
        if place is None or event.button() != Qt.MouseButton.LeftButton:
            return
        self._go(place)
        if self._choosing and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._turn_chosen(place)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        place = self._cell_at(event.position().toPoint())
        if place is not None:
            self.opened.emit(self._cells[place].position)

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            place = self._cell_at(event.pos())
            if place is None:
                QToolTip.hideText()
            else:
                QToolTip.showText(event.globalPos(), self._cells[place].sentence, self)
            return True
        return super().viewportEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        self.dragMoveEvent(event)

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        over = self._cell_at(event.position().toPoint())
        if over is not None and local_paths(event.mimeData()):
            event.acceptProposedAction()
        else:
            event.ignore()

    def dropEvent(self, event: QDropEvent) -> None:
        place = self._cell_at(event.position().toPoint())
        paths = local_paths(event.mimeData())
        if place is not None and paths:
            event.acceptProposedAction()
            self._go(place)
            self.dropped.emit(self._cells[place].position, paths)

    # Painting

    def _hear_picture(self, _sha256: str, _longest: int, _why: str = "") -> None:
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        dirty = QRectF(event.rect())
        for place, cell in enumerate(self._cells):
            box = self._box(cell)
            if not box.adjusted(-_EDGE, -_EDGE, _EDGE, _EDGE).intersects(dirty):
                continue
            image, missing = None, False
            if cell.picture is not None and self._pictures is not None:
                sha256, suffix = cell.picture
                longest = _SMALL if box.width() * self.devicePixelRatioF() <= _SMALL else _LARGE
                image = self._pictures.picture(sha256, suffix, longest)
                missing = self._pictures.problem(sha256, longest) is not None
            chosen = cell.position in self._chosen
            paint_tile(painter, box, cell, image, missing=missing, chosen=chosen)
            if place == self._current and self.hasFocus():
                frame = box.adjusted(1, 1, -1, -1 - words_height())
                paint_focus_ring(painter, frame, RADIUS_CHIP)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._measure()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        self.viewport().update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        self._tell()
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.viewport().update()
