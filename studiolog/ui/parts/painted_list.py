"""Lists whose rows are painted: one model, one ground under every row, and who gets which key."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import BODY, CAPTION, FOCUS_LINE, SECONDARY

Index = QModelIndex | QPersistentModelIndex
EDGE = 3  # px, the cobalt edge of the row chosen
HEADING_HIGH = 32  # px before scaling


@dataclass(frozen=True)
class Heading:
    """A row that heads the ones after it; it can't be chosen."""

    title: str
    count: int


class PaintedRows(QAbstractListModel):
    """The rows; ``UserRole`` gives the row itself, ``words`` says it to a screen reader."""

    def __init__(
        self,
        words: Callable[[Any], str],
        title: Callable[[Any], str],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._words, self._title = words, title
        self.rows: tuple[Any, ...] = ()

    def show(self, rows: Sequence[Any]) -> None:
        """Show these rows in place of the ones before."""
        self.beginResetModel()
        self.rows = tuple(rows)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - as Qt has it
        return 0 if parent.isValid() else len(self.rows)

    def flags(self, index: Index) -> Qt.ItemFlag:
        if index.isValid() and isinstance(self.rows[index.row()], Heading):
            return Qt.ItemFlag.NoItemFlags
        return super().flags(index)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        row = self.rows[index.row()]
        if role == Qt.ItemDataRole.UserRole:
            return row
        if isinstance(row, Heading):
            words = role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole)
            return f"{row.title}: {row.count}" if words else None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._title(row)
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return self._words(row)
        return None


class _RowPainter(QStyledItemDelegate):
    """The ground of a row; what stands on it is the list's own."""

    def __init__(self, shown: "PaintedList") -> None:
        super().__init__(shown)
        self._list = shown

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        head = isinstance(index.data(Qt.ItemDataRole.UserRole), Heading)
        return QSize(100, theme.current().px(HEADING_HIGH if head else self._list.row_high))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        look = theme.current()
        box = QRectF(option.rect)
        row = index.data(Qt.ItemDataRole.UserRole)
        if isinstance(row, Heading):
            _paint_heading(painter, box, row)
            return
        painter.save()
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(box, look.color("cobaltwash"))
            painter.fillRect(
                QRectF(box.left(), box.top(), EDGE, box.height()), look.color("cobalt")
            )
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(box, look.color("sunk"))
        painter.fillRect(QRectF(box.left(), box.bottom() - 1, box.width(), 1), look.color("line"))
        if chosen and option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(look.color("cobalt"), FOCUS_LINE))
            painter.drawRect(box.adjusted(1, 1, -1, -2))
        self._list.paint_row(painter, box, row, chosen)
        painter.restore()


class PaintedList(QListView):
    """A list of painted rows of one height.

    ``paint_row(painter, box, row, chosen)`` paints what stands on a row. Keys in ``keys`` are told
    as words by ``key_pressed``; other letters are left to the screen.
    """

    key_pressed = Signal(str)

    def __init__(
        self,
        name: str,
        row_high: int,
        paint_row: Callable[[QPainter, QRectF, Any, bool], None],
        model: PaintedRows,
        keys: Mapping[Qt.Key, str] | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.row_high, self.paint_row = row_high, paint_row
        self._keys = dict(keys or {})
        self.setAccessibleName(name)
        self._rows = model
        model.setParent(self)
        self.setModel(model)
        self.setItemDelegate(_RowPainter(self))
        self.setUniformItemSizes(True)
        self.setMouseTracking(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        theme.current().changed.connect(self.scheduleDelayedItemsLayout)

    def show_rows(self, rows: Sequence[Any], place: int) -> None:
        """Show rows, the one at ``place`` chosen, none if below 0, without telling anyone."""
        selection = self.selectionModel()
        blocked = selection.blockSignals(True)
        self.setUniformItemSizes(not any(isinstance(row, Heading) for row in rows))
        self._rows.show(rows)
        self.setCurrentIndex(self._rows.index(place) if place >= 0 else QModelIndex())
        selection.blockSignals(blocked)
        self.viewport().update()

    def rows(self) -> tuple[Any, ...]:
        """The rows shown."""
        return self._rows.rows

    def current_row(self) -> Any:
        """The row chosen, None if none is."""
        place = self.currentIndex().row()
        return self._rows.rows[place] if 0 <= place < len(self._rows.rows) else None

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: where no row can show that the keyboard is here, the list itself does."""
        super().paintEvent(event)
        if self.hasFocus() and not self.currentIndex().isValid():
            painter = QPainter(self.viewport())
            painter.setPen(QPen(theme.current().color("cobalt"), FOCUS_LINE))
            painter.drawRect(self.viewport().rect().adjusted(1, 1, -1, -1))
            painter.end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: letters belong to the screen, not to Qt's search by first letter."""
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        what = self._keys.get(Qt.Key(event.key())) if plain else None
        if what:
            self.key_pressed.emit(what)
        elif plain and event.text().strip():
            event.ignore()
        else:
            super().keyPressEvent(event)


def _paint_heading(painter: QPainter, box: QRectF, row: Heading) -> None:
    look = theme.current()
    painter.save()
    room = box.adjusted(2, look.px(8), -10, 0)
    wide = write(painter, room, str(row.count), tone="ink3", size=CAPTION, right=True)
    write(painter, room.adjusted(0, 0, -wide - 8, 0), row.title, 600, "ink2", SECONDARY)
    painter.fillRect(QRectF(box.left(), box.bottom() - 1, box.width(), 1), look.color("line2"))
    painter.restore()


def write(
    painter: QPainter,
    room: QRectF,
    words: str,
    weight: int = 400,
    tone: str = "ink",
    size: tuple[int, int] = BODY,
    right: bool = False,
) -> float:
    """One line of words in the middle of a room, cut short with three dots; returns its width."""
    look = theme.current()
    font = look.font(size, weight)
    painter.setFont(font)
    painter.setPen(look.color(tone))
    side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
    measure = QFontMetricsF(font)
    fitted = measure.elidedText(words, Qt.TextElideMode.ElideRight, room.width())
    painter.drawText(room, int(side | Qt.AlignmentFlag.AlignVCenter), fitted)
    return min(measure.horizontalAdvance(words), room.width())
