"""Versions of a glaze as the columns of a table: what changed, and what came with it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import BODY, SECONDARY
from studiolog.journal.glaze_versions import VersionCompare
from studiolog.journal.version_rows import CompareCell
from studiolog.ui.parts.swatch import GlazeLook, swatch_icon
from studiolog.ui.parts.table import ROW, dress_table

_LABEL, _COLUMN = 250, 150  # px, the least a column needs
Cell = QTableWidgetItem


class VersionTable(QTableWidget):
    """``opened`` carries the glaze of the column on which Enter was pressed; Ctrl C copies all."""

    opened = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._compared = VersionCompare("", (), ())
        dress_table(self)
        self.setAccessibleName("Versions side by side")
        self.setAccessibleDescription("Enter opens the version of the column, Ctrl C copies")
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.horizontalHeader().setStretchLastSection(False)
        self.cellDoubleClicked.connect(lambda _row, column: self._open(column))
        theme.current().changed.connect(self._fill)

    def show_compare(self, compared: VersionCompare) -> None:
        """Show versions; the cell that was chosen stays chosen where there is one."""
        at = self.currentRow(), self.currentColumn()
        self._compared = compared
        self._fill()
        if compared.rows:
            row = at[0] if 0 < at[0] < self.rowCount() else 1
            self.setCurrentCell(row, min(max(at[1], 1), self.columnCount() - 1))

    def words(self) -> str:
        """The whole table, with tabs between its columns."""
        heads = "\t".join(["", *(one.title for one in self._compared.columns)])
        lines = [heads]
        for row in self._compared.rows:
            cells = [_say(cell) for cell in row.cells]
            lines.append("\t".join([f"{row.head}: {row.label}", *cells]))
        return "\n".join(lines)

    def _fill(self) -> None:
        compared = self._compared
        self.clear()
        self.clearSpans()
        heads = list(dict.fromkeys(row.head for row in compared.rows))
        self.setColumnCount(1 + len(compared.columns))
        self.setRowCount(len(compared.rows) + len(heads))
        self.verticalHeader().setDefaultSectionSize(theme.current().px(ROW - 4))
        self._fill_head()
        at = 0
        for head in heads:
            self._put_head(at, head)
            at += 1
            for row in (one for one in compared.rows if one.head == head):
                self._put(at, 0, row.label, f"{head}: {row.label}", False)
                for column, cell in enumerate(row.cells, start=1):
                    title = compared.columns[column - 1].title
                    spoken = f"{row.label}, {title}: {_say(cell)}"
                    self._put(at, column, _say(cell), spoken, bool(cell.change))
                at += 1
        self._take_widths()

    def _fill_head(self) -> None:
        for column, version in enumerate(self._compared.columns, start=1):
            item = Cell(version.label)
            look = GlazeLook(version.title, version.colour, version.pattern)
            item.setIcon(swatch_icon(look, theme.current().px(14)))
            item.setToolTip(version.title)
            item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
            self.setHorizontalHeaderItem(column, item)
        self.setHorizontalHeaderItem(0, Cell(""))

    def _put_head(self, at: int, words: str) -> None:
        item = Cell(words)
        item.setFont(theme.current().font(SECONDARY, 600))
        item.setFlags(Qt.ItemFlag.ItemIsEnabled)
        self.setItem(at, 0, item)
        if self.columnCount() > 1:
            self.setSpan(at, 0, 1, self.columnCount())

    def _put(self, row: int, column: int, words: str, spoken: str, changed: bool) -> None:
        item = Cell(words)
        item.setFont(theme.current().font(BODY, 600 if changed else 400))
        item.setData(Qt.ItemDataRole.AccessibleTextRole, spoken)
        item.setToolTip(words)
        self.setItem(row, column, item)

    def _take_widths(self) -> None:
        head, look = self.horizontalHeader(), theme.current()
        mode = QHeaderView.ResizeMode
        for column in range(self.columnCount()):
            head.setSectionResizeMode(column, mode.Interactive)
            least = look.px(_COLUMN if column else _LABEL)
            wide = max(least, self.sizeHintForColumn(column) + 16, head.sectionSizeHint(column))
            self.setColumnWidth(column, wide)

    def _open(self, column: int) -> None:
        if 1 <= column <= len(self._compared.columns):
            self.opened.emit(self._compared.columns[column - 1].glaze_id)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.words())
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open(self.currentColumn())
        else:
            super().keyPressEvent(event)


def _say(cell: CompareCell) -> str:
    return f"{cell.words} ({cell.change})" if cell.change else cell.words
