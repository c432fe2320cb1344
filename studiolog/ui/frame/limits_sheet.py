"""The limits by which firings are judged: each with its standing, to be set and put back."""

from functools import partial

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt, QTimer
from PySide6.QtGui import QFontMetrics, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from studiolog.craft.limit_words import read_limit, say_limit, show_limit
from studiolog.craft.limits import GROUPS, Limit, Limits, shipped_limits
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import BODY, HEAD
from studiolog.journal.history import Touched
from studiolog.journal.limits import read_limits, set_limit
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.frame.sheet import Sheet
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.table import ROW, dress_table
from studiolog.ui.parts.text import Caption

_HEADS = ("Limit", "Value", "As shipped", "Standing")
_WORDS, _VALUE, _SHIPPED, _STANDING = range(4)
_KEY = Qt.ItemDataRole.UserRole
_SIDES = (Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight)
_HIGH, _LEAST = 640, 160  # px before scaling: the sheet, and what of the table is seen at least
_AROUND = 64  # px of the window left around the sheet

Index = QModelIndex | QPersistentModelIndex


class _ValueEditor(QStyledItemDelegate):
    """A bare line over the cell, named by the limit it sets."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        line = QLineEdit(parent)
        line.setProperty("role", "bare")
        line.setFrame(False)
        line.setAlignment(Qt.AlignmentFlag.AlignRight)
        line.setAccessibleName(str(index.data(Qt.ItemDataRole.AccessibleTextRole)))
        return line

    def updateEditorGeometry(
        self, editor: QWidget, option: QStyleOptionViewItem, index: Index
    ) -> None:
        editor.setGeometry(option.rect.adjusted(6, 2, -6, -2))


class _Table(QTableWidget):
    """Delete puts the limit chosen back as shipped; Enter changes it."""

    def __init__(self, sheet: "LimitsSheet") -> None:
        super().__init__(0, len(_HEADS))
        self._sheet = sheet

    def keyPressEvent(self, event: QKeyEvent) -> None:
        editing = self.state() == QAbstractItemView.State.EditingState
        key = event.key()
        if not editing and key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self._sheet.put_back()
        elif not editing and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            item = self.item(self.currentRow(), _VALUE)
            if item is not None:
                self.setCurrentItem(item)
                self.editItem(item)
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # Once the columns have their new widths: words break into lines by them.
        QTimer.singleShot(0, self, self.fit_rows)

    def fit_rows(self) -> None:
        """Give each row the lines its words break into.

        Qt's own measure is a word short of what its painting needs.
        """
        look = theme.current()
        room = self.columnWidth(_WORDS) - 2 * look.px(12)
        lines = int(Qt.TextFlag.TextWordWrap)
        for row in range(self.rowCount()):
            item = self.item(row, _WORDS)
            if item is None:
                continue
            measure = QFontMetrics(item.font())
            needed = measure.boundingRect(0, 0, max(room, 60), 9999, lines, item.text()).height()
            self.setRowHeight(row, max(look.px(ROW), needed + look.px(10)))


class LimitsSheet(Sheet):
    """Every value counts at once, everywhere; each change can be undone."""

    def __init__(self, desk: Desk, group: str = "", parent: QWidget | None = None) -> None:
        super().__init__("Limits", parent, width=860)
        self._desk = desk
        self._filling = False
        self._rows: dict[str, int] = {}
        self._heads: dict[str, int] = {}
        self.table = _Table(self)
        self.table.setAccessibleName("Limits by which firings are judged")
        self.table.setAccessibleDescription(
            "Enter changes the value of a limit, Delete puts it back as shipped"
        )
        self.problem = ProblemLine()
        self.as_shipped = QPushButton("As shipped")
        self.as_shipped.setAutoDefault(False)
        self.all_shipped = QPushButton("All as shipped")
        self.all_shipped.setAutoDefault(False)
        self.feet.insertWidget(0, self.as_shipped)
        self.feet.insertWidget(1, self.all_shipped)
        self.body.addWidget(
            Caption(
                "By these figures curves, kilns and programs are judged. Most are judgements or "
                "common practice: set them as your kiln and your ware have taught you. Enter or a "
                "double click changes a value.",
                wrap=True,
            )
        )
        self.body.addWidget(self.table, 1)
        self.body.addWidget(self.problem)
        self._dress()
        self._fill()
        self.show_limits()
        self.table.itemChanged.connect(self._keep)
        self.table.currentCellChanged.connect(self._tell_chosen)
        self.as_shipped.clicked.connect(self.put_back)
        self.all_shipped.clicked.connect(self.put_all_back)
        desk.edits.edited.connect(self._hear_edit)
        self._go_to(group)

    def _dress(self) -> None:
        dress_table(self.table)
        self.table.setHorizontalHeaderLabels(list(_HEADS))
        self.table.setItemDelegateForColumn(_VALUE, _ValueEditor(self.table))
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setWordWrap(True)
        self.table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        under = self.parentWidget()
        room = under.window().height() - _AROUND if under is not None else _HIGH
        self.table.setMinimumHeight(_LEAST)
        self.resize(self.minimumWidth(), min(theme.current().px(_HIGH), room))
        head = self.table.horizontalHeader()
        head.setStretchLastSection(False)
        for column in range(len(_HEADS)):
            mode = QHeaderView.ResizeMode
            head.setSectionResizeMode(
                column, mode.Stretch if column == _WORDS else mode.ResizeToContents
            )
            side = _SIDES[column in (_VALUE, _SHIPPED)]
            item = self.table.horizontalHeaderItem(column)
            if item is not None:
                item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)

    def _fill(self) -> None:
        """One row a limit, under a head for each group; values are written by `show_limits`."""
        self._filling = True
        for group, words in GROUPS.items():
            rows = [row for row in shipped_limits().values() if row.group == group]
            if not rows:
                continue
            at = self.table.rowCount()
            self.table.setRowCount(at + 1 + len(rows))
            self._heads[group] = at
            self._add_head(at, words)
            for place, row in enumerate(rows, start=at + 1):
                self._rows[row.key] = place
                self._add_row(place, row)
        self._filling = False

    def _add_head(self, at: int, words: str) -> None:
        self.table.setSpan(at, 0, 1, len(_HEADS))
        item = QTableWidgetItem(words)
        item.setFont(theme.current().font(HEAD, 600))
        item.setFlags(Qt.ItemFlag.ItemIsEnabled)
        self.table.setItem(at, 0, item)

    def _add_row(self, place: int, row: Limit) -> None:
        plain = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        for column in range(len(_HEADS)):
            item = QTableWidgetItem()
            item.setData(_KEY, row.key)
            item.setFlags(plain | Qt.ItemFlag.ItemIsEditable if column == _VALUE else plain)
            side = _SIDES[column in (_VALUE, _SHIPPED)]
            item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
            item.setToolTip(row.source)
            self.table.setItem(place, column, item)

    # What is shown

    def show_limits(self) -> None:
        """Write every value as it stands."""
        scale = self._desk.settings.temperature_unit
        limits = self._desk.read(read_limits)
        self._filling = True
        for key, place in self._rows.items():
            self._write(place, shipped_limits()[key], limits, scale)
        self._filling = False
        self.all_shipped.setEnabled(any(limits.is_changed(key) for key in self._rows))
        QTimer.singleShot(0, self.table, self.table.fit_rows)
        self._tell_chosen()

    def _write(self, place: int, row: Limit, limits: Limits, scale: str) -> None:
        changed = limits.is_changed(row.key)
        said = say_limit(row, scale)
        words = said[0].upper() + said[1:]
        value = show_limit(row, limits[row.key], scale)
        shipped = show_limit(row, row.value, scale)
        standing = f"set by you ({row.standing})" if changed else row.standing
        for column, text in enumerate((words, value, shipped, standing)):
            item = self.table.item(place, column)
            assert item is not None
            item.setText(text)
            heavy = changed and column != _SHIPPED
            item.setFont(theme.current().font(BODY, 600 if heavy else 400))
            item.setData(
                Qt.ItemDataRole.AccessibleTextRole,
                f"{words}: {value}, {standing}" if column == _VALUE else text,
            )

    def value_item(self, key: str) -> QTableWidgetItem:
        """The cell in which a limit is set."""
        item = self.table.item(self._rows[key], _VALUE)
        assert item is not None
        return item

    def chosen(self) -> str | None:
        """The key of the limit chosen, None on a head."""
        item = self.table.item(self.table.currentRow(), _VALUE)
        return str(item.data(_KEY)) if item is not None and item.data(_KEY) else None

    def _tell_chosen(self, *_cells: int) -> None:
        key = self.chosen()
        changed = key is not None and self._desk.read(read_limits).is_changed(key)
        self.as_shipped.setEnabled(changed)
        scale = self._desk.settings.temperature_unit
        words = say_limit(shipped_limits()[key], scale) if key and changed else "none was set here"
        self.as_shipped.setAccessibleName(f"As shipped: {words}")

    def _go_to(self, group: str) -> None:
        at = self._heads.get(group, 0)
        self.table.setCurrentCell(at + 1, _VALUE)
        head = self.table.item(at, 0)
        if head is not None:
            self.table.scrollToItem(head, QAbstractItemView.ScrollHint.PositionAtTop)
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    # What a person does

    def put_back(self) -> None:
        """The limit chosen, as shipped."""
        key = self.chosen()
        if key is not None:
            self._set(key, shipped_limits()[key].value)

    def put_all_back(self) -> None:
        """Every limit as shipped, in one edit."""
        limits = self._desk.read(read_limits)
        keys = [key for key in self._rows if limits.is_changed(key)]

        def edit(session: Session) -> None:
            for key in keys:
                set_limit(session, key, shipped_limits()[key].value)

        self.problem.say("")
        self._desk.edits.try_run("Put all limits back as shipped", edit)

    def _keep(self, item: QTableWidgetItem) -> None:
        if self._filling or item.column() != _VALUE:
            return
        key, scale = str(item.data(_KEY)), self._desk.settings.temperature_unit
        try:
            value = read_limit(shipped_limits()[key], item.text(), scale)
        except UserProblem as problem:
            self.show_limits()
            self.problem.say(problem.sentence)
            return
        self._set(key, value)

    def _set(self, key: str, value: float) -> None:
        scale = self._desk.settings.temperature_unit
        row = shipped_limits()[key]
        self.problem.say("")
        if self._desk.read(read_limits)[key] == value:
            self.show_limits()
            return
        label = f"Set “{say_limit(row, scale)}” to {show_limit(row, value, scale)}"
        try:
            self._desk.edits.run(label, partial(set_limit, key=key, value=value))
        except UserProblem as problem:
            self.show_limits()
            self.problem.say(problem.sentence)

    def _hear_edit(self, touched: Touched) -> None:
        if "limit" in touched.kinds:
            self.show_limits()
