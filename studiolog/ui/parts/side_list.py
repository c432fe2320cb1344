"""The list beside a page: a filter, one row a thing with its look and count, archived on demand."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLineEdit,
    QListView,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import BODY, CAPTION, SECONDARY
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.icon import paint_icon
from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.swatch import (
    ClayLook,
    GlazeLook,
    paint_clay_swatch,
    paint_glaze_swatch,
)
from studiolog.ui.parts.text import Caption, Text

Index = QModelIndex | QPersistentModelIndex
HIGH = 48


@dataclass(frozen=True)
class ListRow:
    """A thing in the list; ``look`` is drawn before it: a swatch, a form, or an icon's name."""

    ident: int
    title: str
    quiet: str
    count: int
    archived: bool = False
    look: GlazeLook | ClayLook | FormShape | str | None = None
    counted: str = "pieces"


class _Rows(QAbstractListModel):
    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[ListRow, ...] = ()

    def show(self, rows: Sequence[ListRow]) -> None:
        self.beginResetModel()
        self.rows = tuple(rows)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - as Qt has it
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        row = self.rows[index.row()]
        if role == Qt.ItemDataRole.UserRole:
            return row
        if role == Qt.ItemDataRole.AccessibleTextRole:
            gone = ", archived" if row.archived else ""
            return f"{row.title}, {row.quiet}, {row.count} {row.counted}{gone}"
        if role == Qt.ItemDataRole.DisplayRole:
            return row.title
        return None


class _RowPainter(QStyledItemDelegate):
    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(100, theme.current().px(HIGH))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(Qt.ItemDataRole.UserRole)
        look = theme.current()
        box = QRectF(option.rect)
        painter.save()
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(box, look.color("cobaltwash"))
            painter.fillRect(QRectF(box.left(), box.top(), 3, box.height()), look.color("cobalt"))
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(box, look.color("sunk"))
        painter.fillRect(QRectF(box.left(), box.bottom() - 1, box.width(), 1), look.color("line"))
        if chosen and option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -2))
        left = box.left() + 10
        if row.look is not None:
            self._paint_look(
                painter, QRectF(left, box.top() + 8, look.px(32), box.height() - 16), row
            )
            left += look.px(32) + 10
        self._write(painter, QRectF(left, box.top(), box.right() - left - 10, box.height()), row)
        painter.restore()

    @staticmethod
    def _paint_look(painter: QPainter, box: QRectF, row: ListRow) -> None:
        look = theme.current()
        if isinstance(row.look, GlazeLook):
            high = look.px(20)
            paint_glaze_swatch(
                painter,
                QRectF(box.left(), box.center().y() - high / 2, box.width(), high),
                row.look,
            )
        elif isinstance(row.look, ClayLook):
            side = look.px(20)
            paint_clay_swatch(
                painter, QRectF(box.left() + 6, box.center().y() - side / 2, side, side), row.look
            )
        elif isinstance(row.look, FormShape):
            paint_half_section(painter, box, row.look)
        elif isinstance(row.look, str):
            side = look.px(20)
            place = QRectF(box.left() + 6, box.center().y() - side / 2, side, side)
            paint_icon(painter, place, row.look, look.color("ink2"))

    @staticmethod
    def _write(painter: QPainter, box: QRectF, row: ListRow) -> None:
        look = theme.current()
        count_font = look.font(SECONDARY)
        count = str(row.count) if row.count else "–"
        wide = QFontMetricsF(count_font).horizontalAdvance(count)
        middle = int(Qt.AlignmentFlag.AlignVCenter)
        painter.setFont(count_font)
        painter.setPen(look.color("ink2"))
        painter.drawText(box, middle | int(Qt.AlignmentFlag.AlignRight), count)
        half = box.height() / 2
        words = box.adjusted(0, 0, -wide - 8, 0)
        font = look.font(BODY, 600)
        painter.setFont(font)
        painter.setPen(look.color("ink3" if row.archived else "ink"))
        elide = Qt.TextElideMode.ElideRight
        quiet = " · ".join(filter(None, ("archived" if row.archived else "", row.quiet)))
        upper = QRectF(words.left(), words.top() + 5, words.width(), half - 4)
        if not quiet:
            upper = words
        painter.drawText(
            upper, middle, QFontMetricsF(font).elidedText(row.title, elide, words.width())
        )
        font = look.font(CAPTION)
        painter.setFont(font)
        painter.setPen(look.color("ink3"))
        lower = QRectF(words.left(), words.top() + half, words.width(), half - 5)
        painter.drawText(lower, middle, QFontMetricsF(font).elidedText(quiet, elide, words.width()))


class _List(QListView):
    def keyPressEvent(self, event: QKeyEvent) -> None:
        # Letters belong to the screen (N, F), not to Qt's search by first letter.
        if event.text().strip() and not event.modifiers():
            event.ignore()
        else:
            super().keyPressEvent(event)


class SideList(QWidget):
    """``chosen`` carries the id of a row, ``add_asked`` the name typed for a new thing,
    ``archived_asked`` whether archived ones are wanted too."""

    chosen = Signal(int)
    add_asked = Signal(str)
    archived_asked = Signal(bool)

    def __init__(
        self, plural: str, noun: str, counted: str = "pieces", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._noun = noun
        self._all: tuple[ListRow, ...] = ()
        self._current = 0
        self.title = Text(plural, "title", 600)
        self.new_button = QPushButton(f"New {noun}")
        self.new_button.setToolTip("N")
        self.new_name = LineField(f"Name of the new {noun}", hint="Enter keeps, Esc gives up")
        self.new_name.hide()
        self.filter = QLineEdit()
        self.filter.setPlaceholderText("Filter")
        self.filter.setClearButtonEnabled(True)
        self.filter.setAccessibleName(f"Filter the {plural.lower()}")
        self.list = _List()
        self.list.setAccessibleName(plural)
        self._model = _Rows()
        self._model.setParent(self.list)
        self.list.setModel(self._model)
        self.list.setItemDelegate(_RowPainter(self.list))
        self.list.setUniformItemSizes(True)
        self.list.setMouseTracking(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.none = Text("", "secondary", tone="ink2", wrap=True)
        self.none.hide()
        self.archived = QCheckBox("Show archived")
        self.head_right = Caption(counted)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.new_button)
        quiet = QHBoxLayout()
        quiet.setContentsMargins(0, 0, 10, 0)
        quiet.addStretch(1)
        quiet.addWidget(self.head_right)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 16, 0, 8)
        rows.setSpacing(8)
        rows.addLayout(head)
        rows.addWidget(self.new_name)
        rows.addWidget(self.filter)
        rows.addLayout(quiet)
        rows.addWidget(Hairline())
        rows.addWidget(self.none)
        rows.addWidget(self.list, 1)
        rows.addWidget(self.archived)
        self.setFixedWidth(theme.current().px(288))
        theme.current().changed.connect(self._rescale)
        self.new_button.clicked.connect(self.start_new)
        self.new_name.line.returnPressed.connect(self._add)
        self.filter.textChanged.connect(lambda _text: self._sift())
        self.archived.toggled.connect(self.archived_asked)
        self.list.selectionModel().currentChanged.connect(self._hear_current)

    def show_rows(self, rows: Sequence[ListRow], current: int) -> None:
        """Show the things, with one of them chosen, without telling anyone."""
        self._all, self._current = tuple(rows), current
        self.head_right.setVisible(bool(rows))
        self._sift()

    def rows(self) -> tuple[ListRow, ...]:
        """The rows that answer the filter."""
        return self._model.rows

    def start_new(self) -> None:
        """Ask for the name of a new thing."""
        self.new_name.set_text("")
        self.new_name.show()
        self.new_name.line.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def end_new(self) -> None:
        """Take the name field away."""
        self.new_name.hide()
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.new_name.isVisible():
            self.end_new()
        elif event.key() == Qt.Key.Key_Escape and self.filter.text():
            self.filter.clear()
        else:
            super().keyPressEvent(event)

    def _add(self) -> None:
        self.add_asked.emit(self.new_name.text())

    def _sift(self) -> None:
        words = self.filter.text().casefold().split()
        fitting = [
            row
            for row in self._all
            if all(word in f"{row.title} {row.quiet}".casefold() for word in words)
        ]
        model = self.list.selectionModel()
        blocked = model.blockSignals(True)
        self._model.show(fitting)
        place = next((i for i, row in enumerate(fitting) if row.ident == self._current), -1)
        self.list.setCurrentIndex(self._model.index(place) if place >= 0 else QModelIndex())
        model.blockSignals(blocked)
        self.none.setText(f"No {self._noun} answers “{self.filter.text()}”." if words else "")
        self.none.setVisible(bool(words) and not fitting)
        self.list.viewport().update()

    def _hear_current(self, index: Index) -> None:
        if index.isValid():
            self._current = self._model.rows[index.row()].ident
            self.chosen.emit(self._current)

    def _rescale(self) -> None:
        self.setFixedWidth(theme.current().px(288))
        self.list.scheduleDelayedItemsLayout()
