"""The pieces that answer as a table, read as it scrolls."""

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QTableView, QWidget

from studiolog.journal.finding import FindingRow, Hit
from studiolog.ui.findings.piece_source import PieceSource
from studiolog.ui.findings.words import say_cone_fully, say_piece
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.severity import SEVERITY_WORDS
from studiolog.ui.parts.table import dress_table

_HEADS = (
    *("Piece", "Seen", "Clay", "Glazes, outermost first", "Surface", "Cone there", "Level"),
    "Fired",
)
_WIDTHS = (88, 96, 150, 320, 170, 230, 80, 100)
_SO = {None: "not described", 0: "otherwise", 1: "so"}
_Index = QModelIndex | QPersistentModelIndex
_SAID = {int(Qt.ItemDataRole.DisplayRole)}
_FULLY = {int(Qt.ItemDataRole.ToolTipRole), int(Qt.ItemDataRole.AccessibleDescriptionRole)}


class PieceTableModel(QAbstractTableModel):
    """One row a piece."""

    def __init__(self, source: PieceSource, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._source = source

    def show_again(self) -> None:
        """The source has other pieces now."""
        self.beginResetModel()
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self._source.hits)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(_HEADS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if role not in _SAID and role not in _FULLY:
            return None
        place = index.row()
        hit, row = self._source.hits[place], self._source.row(place)
        if row is None:
            return None
        return say_piece(hit, row) if role in _FULLY else _column(index.column(), hit, row)

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> object:
        if role in _SAID and orientation == Qt.Orientation.Horizontal:
            return _HEADS[section]
        return None


def _column(column: int, hit: Hit, row: FindingRow) -> str:
    match column:
        case 0:
            return row.called
        case 1:
            return _SO[hit.severity] if hit.of_surface else SEVERITY_WORDS[hit.severity]
        case 2:
            return row.clay
        case 3:
            return row.layers
        case 4:
            return row.surface
        case 5:
            return say_cone_fully(row).removeprefix("cone ")
        case 6:
            return row.level
        case _:
            return write_day(row.fired_on)


class PieceTable(QTableView):
    """The table; Enter or a double click opens a piece."""

    opened = Signal(int)

    def __init__(self, source: PieceSource, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._source = source
        self._model = PieceTableModel(source, self)
        self.setModel(self._model)
        dress_table(self)
        for column, wide in enumerate(_WIDTHS):
            self.setColumnWidth(column, wide)
        self.setAccessibleName("Pieces that answer")
        self.doubleClicked.connect(self._open)

    def show_again(self) -> None:
        """The source has other pieces now."""
        self._model.show_again()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif event.text().isprintable() and event.text():
            event.ignore()
        else:
            super().keyPressEvent(event)

    def _open(self) -> None:
        index = self.currentIndex()
        if index.isValid():
            self.opened.emit(self._source.hits[index.row()].piece_id)
