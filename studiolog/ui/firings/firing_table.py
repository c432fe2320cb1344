"""The list of firings as a table that reads on as one scrolls."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QHeaderView,
    QLineEdit,
    QPushButton,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.firing.cones import show_cone
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.compare import Comparing, like_firing
from studiolog.journal.firing_list import FiringList, FiringRow, list_firings
from studiolog.ui.firings.energy_lines import say_energy, write_energy
from studiolog.ui.firings.written import write_heat, write_stamp
from studiolog.ui.parts.marks import mark_size, paint_mark
from studiolog.ui.parts.section import EmptyState, PageTitle, primary_button
from studiolog.ui.parts.table import dress_table
from studiolog.ui.plots.plot_ticks import Unit

_PAGE = 60
_BEFORE_TIME = "\u2002"
_Index = QModelIndex | QPersistentModelIndex
_HEADS = (
    "",
    "Firing",
    "Kiln",
    "Started",
    "Peak",
    "Aimed",
    "Heat-work",
    "Cones, top down",
    "Pieces",
    "Energy",
)
_RIGHT = (4, 8, 9)
_FOLDED = {1: 2, 5: 6, 8: 9}
"""Where the table is narrow for its text, a column takes the next one under it."""
_CAPPED = {2: 220, 7: 300}
"""Columns that may be cut with dots: a list of levels, a kiln's long name. px at 100 per cent."""
_FOLD_UNDER = 1100
_CHOOSING = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier


class FiringModel(QAbstractTableModel):
    """Rows come a page at a time, as they are scrolled to."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._rows: list[FiringRow] = []
        self._total = 0
        self._words = ""
        self._unit: Unit = "C"
        self._folded = False

    def fold(self, folded: bool) -> None:
        """Two lines in a row, and fewer columns; or one line and all of them."""
        if folded != self._folded:
            self.layoutAboutToBeChanged.emit()
            self._folded = folded
            self.layoutChanged.emit()

    def read(self, words: str | None = None) -> None:
        """Read the list anew, as far as it was shown; ``words`` narrows it."""
        if words is not None and words != self._words:
            self._words, shown = words, _PAGE
        else:
            shown = max(_PAGE, len(self._rows))
        self.beginResetModel()
        self._unit = self._desk.settings.temperature_unit
        page = self._ask(0, shown)
        self._rows, self._total = list(page.rows), page.total
        self.endResetModel()

    def _ask(self, offset: int, limit: int) -> FiringList:
        return self._desk.read(
            lambda session: list_firings(session, offset=offset, limit=limit, words=self._words)
        )

    @property
    def total(self) -> int:
        """How many firings there are that fit the words."""
        return self._total

    def row(self, place: int) -> FiringRow:
        """The firing of a row."""
        return self._rows[place]

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(_HEADS)

    def canFetchMore(self, parent: _Index) -> bool:
        return not parent.isValid() and len(self._rows) < self._total

    def fetchMore(self, parent: _Index) -> None:
        more = self._ask(len(self._rows), _PAGE).rows
        if not more:
            self._total = len(self._rows)
            return
        self.beginInsertRows(QModelIndex(), len(self._rows), len(self._rows) + len(more) - 1)
        self._rows.extend(more)
        self.endInsertRows()

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> Any:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            under = _FOLDED.get(section) if self._folded else None
            return _HEADS[section] if under is None else f"{_HEADS[section]}\n{_HEADS[under]}"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if section in _RIGHT else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None

    def data(self, index: _Index, role: int = 0) -> Any:
        row = self._rows[index.row()]
        column = index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            text = self._text(row, column)
            if self._folded and column in _FOLDED:
                return f"{text}\n{self._text(row, _FOLDED[column])}"
            return text.replace(_BEFORE_TIME, "\n") if self._folded and column == 3 else text
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if column in _RIGHT else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self._tip(row, column)
        if role == Qt.ItemDataRole.AccessibleTextRole and column == 0:
            return f"Firing {row.number}"
        return None

    def _text(self, row: FiringRow, column: int) -> str:
        if column == 7:
            return "; ".join(lev.interval for lev in row.levels if lev.basis == "read") or "–"
        texts = (
            str(row.number),
            row.title,
            row.kiln,
            _BEFORE_TIME.join(write_stamp(row.started_at).rsplit(" ", 1)),
            write_heat(row.peak_c, self._unit),
            show_cone(row.cone) if row.cone else "–",
            row.computed_interval or "–",
            "",
            str(row.pieces) if row.pieces else "–",
            write_energy(row.energy),
        )
        return texts[column]

    def _tip(self, row: FiringRow, column: int) -> str | None:
        if column in (1, 2):
            return f"{row.title}, {row.kiln}"
        if column == 6 and row.computed:
            return f"Cone {row.computed}, from {row.computed_interval}, told from the curve"
        if column == 7 and row.levels:
            told = {"read": "cones read", "computed": "from the curve", "aimed": "only aimed at"}
            return "\n".join(
                f"{level.name.capitalize()}: {level.label}, from {level.interval}, "
                f"{told[level.basis]}"
                for level in row.levels
            )
        if column == 9:
            return say_energy(row.energy)
        return None


class _MarkDelegate(QStyledItemDelegate):
    """The number in its round mark."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        bare = QStyleOptionViewItem(option)
        self.initStyleOption(bare, index)
        bare.text = ""
        style = bare.widget.style()
        style.drawControl(style.ControlElement.CE_ItemViewItem, bare, painter, bare.widget)
        text = str(index.data())
        size = mark_size("firing", text)
        box = QRectF(option.rect)
        paint_mark(
            painter,
            QRectF(
                box.left() + 8, box.center().y() - size.height() / 2, size.width(), size.height()
            ),
            "firing",
            text,
        )

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        size = mark_size("firing", str(index.data()))
        return QSize(round(size.width()) + 20, theme.current().px(36))


class _Table(QTableView):
    """Enter opens the firing chosen."""

    opened = Signal(int)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.opened.emit(self.currentIndex().row())
        elif event.text().isdigit() and not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            event.ignore()  # a place of the tab, not Qt's search by first letter
        else:
            super().keyPressEvent(event)


class FiringTable(QWidget):
    """Every firing, newest first. ``opened`` carries a firing's id."""

    opened = Signal(int)
    log_asked = Signal()
    compare_asked = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = FiringModel(desk)
        self.title = PageTitle("Firings")
        self.words = QLineEdit()
        self.words.setPlaceholderText("Narrow: number, kiln, program, kind")
        self.words.setAccessibleName("Narrow the list")
        self.words.setFixedWidth(theme.current().px(260))
        self.log_button = primary_button("Log a firing")
        self.compare_button = QPushButton("Compare")
        self.compare_button.setAccessibleName("Compare the firings chosen")
        self.compare_button.setToolTip(
            "Compare the firings chosen (C): Shift or Ctrl chooses more than one. "
            "One alone is compared with those of its program, or the last ones."
        )
        self.take_in_button = QPushButton("Take in logs")
        self.take_in_button.setAccessibleName("Take in logs")
        self.title.add_action(self.words)
        self.title.add_action(self.take_in_button)
        self.title.add_action(self.compare_button)
        self.title.add_action(self.log_button)
        self.table = _Table()
        self.table.setModel(self.model)
        self.table.setItemDelegateForColumn(0, _MarkDelegate(self.table))
        self.table.setAccessibleName("Firings, newest first")
        dress_table(self.table, 36)
        self.table.setWordWrap(False)
        self.table.setSelectionMode(QTableView.SelectionMode.ExtendedSelection)
        head = self.table.horizontalHeader()
        head.setStretchLastSection(False)
        for column in range(len(_HEADS)):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
        head.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        self.empty = EmptyState(
            "No firing yet.",
            "Log the first one: kiln, program and start are enough. Its log file, the cones and "
            "the load come after.",
            "Log a firing",
        )
        self.nothing = EmptyState("No firing fits these words.", "Take a word away.")
        rows = QVBoxLayout(self)
        rows.setContentsMargins(32, 0, 32, 0)
        rows.setSpacing(0)
        self.above = QVBoxLayout()
        rows.addWidget(self.title)
        rows.addLayout(self.above)
        rows.addWidget(self.table, 1)
        rows.addWidget(self.empty, 1)
        rows.addWidget(self.nothing, 1)
        self.words.textChanged.connect(self._narrow)
        self.log_button.clicked.connect(self.log_asked)
        self.compare_button.clicked.connect(self.ask_compare)
        self.empty.acted.connect(self.log_asked)
        self.table.opened.connect(self._open)
        self.table.doubleClicked.connect(lambda index: self._open(index.row()))
        self.table.clicked.connect(self._click)
        theme.current().changed.connect(self._fit)
        self.model.rowsInserted.connect(self._fit)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Columns as wide as what they say; the firing's name takes the rest."""
        px = theme.current().px
        self.words.setFixedWidth(px(260))
        folded = self.width() < px(_FOLD_UNDER)
        self.model.fold(folded)
        self.table.verticalHeader().setDefaultSectionSize(px(52 if folded else 36))
        room = self.table.viewport().width()
        head = self.table.horizontalHeader()
        for column in range(len(_HEADS)):
            self.table.setColumnHidden(column, folded and column in _FOLDED.values())
        shown = [c for c in range(len(_HEADS)) if not self.table.isColumnHidden(c)]
        for column in sorted(shown, key=lambda c: c in _CAPPED):
            if column == 1:
                continue
            said = self.table.sizeHintForColumn(column) + 1
            if column in _CAPPED:
                said = min(said, px(_CAPPED[column]), room * 2 // 5)
            wide = max(head.sectionSizeHint(column), said)
            self.table.setColumnWidth(column, wide)
            room -= wide

    def read(self) -> None:
        """Read the list anew."""
        chosen = self.table.currentIndex().row()
        several = {one.firing_id for one in self.chosen_firings()}
        self.model.read()
        self._show_states()
        if len(several) > 1:
            self._choose_again(several, chosen)
        elif 0 <= chosen < self.model.rowCount():
            self.table.selectRow(chosen)
        elif self.model.rowCount():
            self.table.selectRow(0)

    def choose(self, firing_id: int) -> None:
        """Choose a firing, if it is among those the list has read."""
        for place in range(self.model.rowCount()):
            if self.model.row(place).firing_id == firing_id:
                self.table.selectRow(place)
                return

    def chosen_firings(self) -> list[FiringRow]:
        """The firings chosen in the list, from the top."""
        rows = self.table.selectionModel().selectedRows()
        return [self.model.row(at) for at in sorted(index.row() for index in rows)]

    def _choose_again(self, firing_ids: set[int], here: int) -> None:
        """Choose the same firings in a list read anew."""
        flags = QItemSelectionModel.SelectionFlag
        selection = self.table.selectionModel()
        for place in range(self.model.rowCount()):
            if self.model.row(place).firing_id in firing_ids:
                selection.select(self.model.index(place, 0), flags.Select | flags.Rows)
        selection.setCurrentIndex(
            self.model.index(min(here, self.model.rowCount() - 1), 0), flags.NoUpdate
        )

    def ask_compare(self) -> None:
        """Compare the firings chosen; one alone with those like it."""
        chosen = self.chosen_firings()
        if len(chosen) > 1:
            ids = tuple(one.firing_id for one in chosen)
            self.compare_asked.emit(Comparing("firings", ids=ids))
        elif chosen:
            self.compare_asked.emit(like_firing(chosen[0].firing_id))

    def _narrow(self, words: str) -> None:
        self.model.read(words.strip())
        self._show_states()
        if self.model.rowCount():
            self.table.selectRow(0)

    def _show_states(self) -> None:
        some = self.model.rowCount() > 0
        narrowed = bool(self.words.text().strip())
        self.table.setVisible(some)
        self.empty.setVisible(not some and not narrowed)
        self.nothing.setVisible(not some and narrowed)
        self.words.setVisible(some or narrowed)
        self.log_button.setVisible(some or narrowed)
        self.compare_button.setVisible(some)
        count = self.model.total
        words = f"{count} firing{'' if count == 1 else 's'}, newest first" if some else ""
        self.title.set_title("Firings", words)
        self._fit()

    def _click(self, index: QModelIndex) -> None:
        held = QGuiApplication.keyboardModifiers() & _CHOOSING
        if index.column() == 0 and not held:  # a mark is always a link
            self._open(index.row())

    def _open(self, place: int) -> None:
        if 0 <= place < self.model.rowCount():
            self.opened.emit(self.model.row(place).firing_id)
