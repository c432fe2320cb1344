"""A small table that is typed into: recipe lines, steps, segments, points of a profile.

The last row is always empty: typing into it adds a row. Enter or F2 changes a cell, Tab goes on to
the next, Delete removes the row, Alt with Up or Down moves it. A column may offer names while it
is typed into (`GridEditor.offer`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QSizePolicy,
    QStyledItemDelegate,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.money import read_money
from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.parts.cell_editor import CellEditor
from studiolog.ui.parts.fields import ProblemLine, read_day, read_number, write_day, write_number
from studiolog.ui.parts.money_field import write_money
from studiolog.ui.parts.table import ROW, dress_table

_LEAST = 64  # px, what a column without a width of its own needs at the least

Cell = str | float | Decimal | bool | date | None


@dataclass(frozen=True)
class GridColumn:
    """One column. ``width`` 0 takes the room that is left; ``needed`` cells may not stay empty.

    ``told`` cells are shown and not typed into; they are read as None.
    """

    title: str
    kind: Literal["text", "number", "money", "day", "tick"] = "text"
    unit: str = ""
    decimals: int = 1
    lowest: float | None = None
    highest: float | None = None
    width: int = 0
    needed: bool = False
    told: bool = False

    @property
    def head(self) -> str:
        return f"{self.title}, {self.unit}" if self.unit else self.title

    def write(self, value: Cell) -> str:
        """A value as the cell shows it."""
        if self.kind == "number":
            assert value is None or isinstance(value, (int, float))
            return write_number(value, self.decimals)
        if self.kind == "money":
            assert value is None or isinstance(value, Decimal)
            return write_money(value)
        if self.kind == "day":
            assert value is None or isinstance(value, date)
            return write_day(value)
        return "" if value is None or self.kind == "tick" else str(value)

    def read(self, text: str) -> Cell:
        """A value as typed. Raises `UserProblem`."""
        if self.kind == "text":
            return " ".join(text.split())
        if self.kind == "day":
            return read_day(text, date.today())
        if self.kind == "money":
            return read_money(text, self.unit, self.decimals)
        number = read_number(text, self.unit)
        if number is not None and self.lowest is not None and number < self.lowest:
            raise UserProblem(
                f"{self.title} must be {write_number(self.lowest, self.decimals)} or more."
            )
        if number is not None and self.highest is not None and number > self.highest:
            raise UserProblem(
                f"{self.title} must be {write_number(self.highest, self.decimals)} or less."
            )
        return number


class _Grid(QTableWidget):
    row_dropped = Signal(int)
    row_moved = Signal(int, int)
    _tabbed = False  # whether Tab led out of the cell that was typed into

    def closeEditor(self, editor: QWidget, hint: QStyledItemDelegate.EndEditHint) -> None:
        """Qt: Tab goes on to the next cell; one that is ticked and not typed into stops it."""
        super().closeEditor(editor, hint)
        if hint == QStyledItemDelegate.EndEditHint.EditNextItem:
            self._tabbed = True
        elif hint == QStyledItemDelegate.EndEditHint.SubmitModelCache:
            # Enter: where the page was read anew meanwhile, Qt has led on to the next field.
            self.setFocus(Qt.FocusReason.OtherFocusReason)
            if self.columnCount() == 1:
                # A plain list goes on to its next line: typed over here, a line would be lost.
                self.setCurrentCell(min(self.currentRow() + 1, self.rowCount() - 1), 0)

    def focusNextPrevChild(self, onward: bool) -> bool:
        """Qt: Tab leaves the table, but whoever types a row by it goes on to the next."""
        row = self.currentRow() + 1
        if onward and self._tabbed and 0 < row < self.rowCount():
            self.setCurrentCell(row, 0)
            self._tabbed = False
            return True
        return super().focusNextPrevChild(onward)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() != Qt.Key.Key_Space:
            self._tabbed = False
        editing = self.state() == QAbstractItemView.State.EditingState
        key, row = event.key(), self.currentRow()
        alt = event.modifiers() & Qt.KeyboardModifier.AltModifier
        if not editing and alt and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.row_moved.emit(row, row + (1 if key == Qt.Key.Key_Down else -1))
        elif not editing and key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.row_dropped.emit(row)
        elif not editing and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentItem():
            self.editItem(self.currentItem())
        else:
            super().keyPressEvent(event)
            if not editing and self.state() == QAbstractItemView.State.EditingState:
                # Qt lets the key that began the editing go on to the window, where a plain number
                # turns to another place.
                event.accept()


class GridEditor(QWidget):
    """The table with its problem, if any, in words beneath.

    ``edited`` fires when a cell was changed for good or a row removed or moved; ``typing`` with
    every letter and when it is given up. Read the rows then with `rows` or `rows_as_typed`.
    """

    edited = Signal()
    typing = Signal()

    def __init__(
        self,
        about: str,
        columns: Sequence[GridColumn],
        row_word: str = "Row",
        movable: bool = True,
        parent: QWidget | None = None,
        most_rows: int | None = None,
    ) -> None:
        super().__init__(parent)
        self.columns = tuple(columns)
        self._most_rows = most_rows
        self._row_word, self._movable = row_word, movable
        self._filling = False
        self._locked = False
        self._shown: list[tuple[Cell, ...]] = []
        self._typed: tuple[int, int, str] | None = None
        self.grid = _Grid(1, len(self.columns))
        self.grid.setAccessibleName(about)
        self.grid.setAccessibleDescription(
            "Enter changes a cell, the last row adds one, Delete removes the row"
            + (", Alt with Up or Down moves it" if movable else "")
        )
        self._delegate = CellEditor(self.grid)
        self.grid.setItemDelegate(self._delegate)
        dress_table(self.grid)
        self.grid.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.grid.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        if most_rows is None:
            self.grid.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.set_columns(columns)
        self._problem = ProblemLine()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(self.grid)
        rows.addWidget(self._problem)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setFocusProxy(self.grid)
        self.grid.itemChanged.connect(self._hear_change)
        self.grid.row_dropped.connect(self.drop_row)
        self.grid.row_moved.connect(self.move_row)
        self._delegate.typed.connect(self._hear_typing)
        theme.current().changed.connect(self._rescale)
        self._fill([])

    # What is shown

    def offer(self, place: int, names: Callable[[], Sequence[str]]) -> None:
        """Offer names while the column at a place is typed into; they are asked for each time."""
        self._delegate.offers[place] = names

    def set_columns(self, columns: Sequence[GridColumn]) -> None:
        """Name the columns anew, for example in another unit; set the rows afterwards."""
        self.columns = tuple(columns)
        self.grid.setHorizontalHeaderLabels([column.head for column in self.columns])
        head = self.grid.horizontalHeader()
        head.setStretchLastSection(False)
        look = theme.current()
        for place, column in enumerate(self.columns):
            item = self.grid.horizontalHeaderItem(place)
            if item is not None:
                item.setTextAlignment(self._alignment(column))
            if column.width:
                head.setSectionResizeMode(place, QHeaderView.ResizeMode.Fixed)
                self.grid.setColumnWidth(place, look.px(column.width))
            else:
                head.setSectionResizeMode(place, QHeaderView.ResizeMode.Stretch)
        head.setMinimumSectionSize(look.px(_LEAST))

    def set_rows(self, rows: Sequence[tuple[Cell, ...]]) -> None:
        """Show rows without telling anyone; the same rows leave the cursor where it is."""
        if list(rows) == self._shown and not self._problem.sentence():
            return
        self._fill(list(rows))
        self.set_problem("")

    def put_back(self, rows: Sequence[tuple[Cell, ...]], sentence: str) -> None:
        """Show the rows as they were, and why they could not be changed."""
        self._fill(rows)
        self.set_problem(sentence)

    def set_locked(self, locked: bool) -> None:
        """Let the cells be read only."""
        if locked == self._locked:
            return
        self._locked = locked
        triggers = QAbstractItemView.EditTrigger
        self.grid.setEditTriggers(
            triggers.NoEditTriggers
            if locked
            else triggers.DoubleClicked
            | triggers.EditKeyPressed
            | triggers.AnyKeyPressed
            | triggers.SelectedClicked
        )
        self._fill(self._shown)

    def set_problem(self, sentence: str) -> None:
        """Show what is wrong beneath the table, or take it away."""
        self._problem.say(sentence)

    def problem(self) -> str:
        return self._problem.sentence()

    # What is read

    def rows(self) -> list[tuple[Cell, ...]]:
        """The rows that are not empty. Raises `UserProblem` naming the row and column."""
        return self._read(None)

    def rows_as_typed(self) -> list[tuple[Cell, ...]] | None:
        """The rows with the letters being typed; None while they can't be read."""
        try:
            return self._read(self._typed)
        except UserProblem:
            return None

    def _read(self, typed: tuple[int, int, str] | None) -> list[tuple[Cell, ...]]:
        found: list[tuple[Cell, ...]] = []
        for row in range(self.grid.rowCount()):
            texts = [self._text(row, place, typed) for place in range(len(self.columns))]
            if not any(
                text.strip()
                for text, one in zip(texts, self.columns, strict=True)
                if one.kind != "tick" and not one.told
            ):
                continue
            found.append(self._read_row(row, texts))
        return found

    def _read_row(self, row: int, texts: Sequence[str]) -> tuple[Cell, ...]:
        cells: list[Cell] = []
        for place, (text, column) in enumerate(zip(texts, self.columns, strict=True)):
            if column.told:
                cells.append(None)
                continue
            if column.kind == "tick":
                item = self.grid.item(row, place)
                cells.append(item is not None and item.checkState() == Qt.CheckState.Checked)
                continue
            where = f"{self._row_word} {row + 1}"
            try:
                value = column.read(text)
            except UserProblem as problem:
                raise UserProblem(f"{where}: {problem.sentence}") from problem
            if column.needed and value in (None, ""):
                raise UserProblem(f"{where}: give the {column.title.lower()}.")
            cells.append(value)
        return tuple(cells)

    def _text(self, row: int, place: int, typed: tuple[int, int, str] | None) -> str:
        if typed is not None and typed[:2] == (row, place):
            return typed[2]
        item = self.grid.item(row, place)
        return item.text() if item is not None else ""

    # What a person does

    def drop_row(self, row: int) -> None:
        """Take a row out."""
        if self._locked or not 0 <= row < self.grid.rowCount() - 1:
            return
        self.grid.removeRow(row)
        self._fit()
        self._tell()

    def move_row(self, row: int, to: int) -> None:
        """Put a row one place up or down."""
        last = self.grid.rowCount() - 1
        if self._locked or not self._movable or not (0 <= row < last and 0 <= to < last):
            return
        self._filling = True
        for place in range(len(self.columns)):
            one, other = self.grid.takeItem(row, place), self.grid.takeItem(to, place)
            self.grid.setItem(row, place, other)
            self.grid.setItem(to, place, one)
        self._filling = False
        self.grid.setCurrentCell(to, self.grid.currentColumn())
        self._tell()

    def type_cell(self, row: int, place: int, text: str) -> None:
        """Do what typing into a cell and pressing Enter does."""
        item = self.grid.item(row, place)
        assert item is not None
        item.setText(text)

    # How it works

    def _fill(self, rows: Sequence[tuple[Cell, ...]]) -> None:
        row_now, column_now = self.grid.currentRow(), self.grid.currentColumn()
        here = QApplication.focusWidget()
        held = here is not None and (here is self.grid or self.grid.isAncestorOf(here))
        self._filling = True
        self._shown = list(rows)
        self.grid.setRowCount(0)
        self.grid.setRowCount(len(rows) + (0 if self._locked else 1))
        for row in range(self.grid.rowCount()):
            values = rows[row] if row < len(rows) else (None,) * len(self.columns)
            for place, (value, column) in enumerate(zip(values, self.columns, strict=True)):
                self.grid.setItem(row, place, self._item(column, value, row >= len(rows)))
        self._filling = False
        if row_now >= 0 and self.grid.rowCount():
            # Where the last row went, the one before has the keyboard: never none of them.
            self.grid.setCurrentCell(min(row_now, self.grid.rowCount() - 1), max(column_now, 0))
        if held:
            self.grid.setFocus()  # a cell that was typed into went, and the keyboard with it
        self._fit()

    def _item(self, column: GridColumn, value: Cell, empty: bool = False) -> QTableWidgetItem:
        item = QTableWidgetItem(column.write(value))
        item.setTextAlignment(self._alignment(column))
        if column.kind == "text":
            item.setToolTip(item.text())
        if column.told or column.kind == "tick":
            item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
        if column.kind == "tick" and not empty:
            if not self._locked:
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Checked if value else Qt.CheckState.Unchecked)
        return item

    @staticmethod
    def _alignment(column: GridColumn) -> Qt.AlignmentFlag:
        counted = column.kind in ("number", "money")
        side = Qt.AlignmentFlag.AlignRight if counted else Qt.AlignmentFlag.AlignLeft
        return side | Qt.AlignmentFlag.AlignVCenter

    def _hear_change(self, item: QTableWidgetItem) -> None:
        if self._filling:
            return
        self._typed = None
        if item.row() == self.grid.rowCount() - 1 and item.text().strip():
            self._filling = True
            row = self.grid.rowCount()
            self.grid.setRowCount(row + 1)
            for place, column in enumerate(self.columns):
                self.grid.setItem(row, place, self._item(column, None, empty=True))
                if column.kind == "tick":
                    self.grid.setItem(row - 1, place, self._item(column, False))
            self._filling = False
            self._fit()
        self._tell()

    def _tell(self) -> None:
        try:
            rows = self.rows()
        except UserProblem as problem:
            self.set_problem(problem.sentence)
            return
        self.set_problem("")
        if rows != [self._typed_part(row) for row in self._shown]:
            self._shown = rows
            self.edited.emit()

    def _typed_part(self, row: tuple[Cell, ...]) -> tuple[Cell, ...]:
        cells = zip(row, self.columns, strict=True)
        return tuple(None if column.told else cell for cell, column in cells)

    def _hear_typing(self, row: int, place: int, text: object) -> None:
        if row < 0:
            left = self._typed is not None
            self._typed = None
            if left:
                self.typing.emit()  # given up with Esc: the rows are as they were
            return
        self._typed = (row, place, str(text))
        self.typing.emit()

    def _fit(self) -> None:
        look = theme.current()
        head = self.grid.horizontalHeader().sizeHint().height()
        rows = min(self.grid.rowCount(), self._most_rows or self.grid.rowCount())
        needed = sum(look.px(column.width or _LEAST) for column in self.columns)
        wide = needed > self.width() - 2
        on_off = Qt.ScrollBarPolicy
        self.grid.setHorizontalScrollBarPolicy(
            on_off.ScrollBarAlwaysOn if wide else on_off.ScrollBarAlwaysOff
        )
        bar = self.grid.horizontalScrollBar().sizeHint().height() if wide else 0
        self.grid.setFixedHeight(head + rows * look.px(ROW) + bar + 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _rescale(self) -> None:
        self.grid.verticalHeader().setDefaultSectionSize(theme.current().px(ROW))
        self.set_columns(self.columns)
        self._fit()
