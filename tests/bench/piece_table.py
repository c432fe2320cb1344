"""The list of a hundred thousand pieces: its first paint, and painting it again.

The baseline of painting again is what is written first: a table with the same columns on Qt's own
delegate, over a model that compares each role with the members of Qt's enumeration.
"""

import statistics
import time
from functools import partial
from pathlib import Path

from PySide6.QtCore import (
    QAbstractTableModel,
    QEventLoop,
    QModelIndex,
    QPersistentModelIndex,
    QSettings,
    QSize,
    Qt,
)
from PySide6.QtWidgets import QApplication, QTableView

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal.opening import open_journal
from studiolog.journal.piece_list import PieceRow
from studiolog.ui.pieces.piece_list_view import PieceListView
from studiolog.ui.pieces.piece_rows import PieceListModel, fault_words
from tests.bench.photo_grid import prepare, settle
from tests.bench.result import Result

_SIZE = QSize(1180, 760)
_COLUMNS = 6


class PlainModel(QAbstractTableModel):
    """The rows of the list a cell at a time, each role compared with Qt's enumeration."""

    def __init__(self, rows: PieceListModel) -> None:
        super().__init__()
        self._rows = rows

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return self._rows.rowCount()

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return _COLUMNS

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        row = self._rows.piece_row(index.row())
        if row is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _words(row, index.column())
        if role == Qt.ItemDataRole.ToolTipRole:
            return row.name
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.ForegroundRole:
            return theme.current().color("rust" if index.column() == 5 else "ink")
        if role == Qt.ItemDataRole.FontRole:
            return theme.current().font((13, 18), 600 if index.column() == 0 else 400)
        return None


def _words(row: PieceRow, column: int) -> str:
    texts = (
        str(row.number),
        row.name,
        " over ".join(part.name for part in reversed(row.layers)),
        row.stage,
        f"cone {row.cone}",
        fault_words(row),
    )
    return texts[column]


def show_list(desk: Desk) -> PieceListView:
    """The program's list of pieces, up to its first paint."""
    view = PieceListView(desk)
    view.resize(_SIZE)
    view.reload()
    view.show()
    view.repaint()
    view.rows.viewport().repaint()
    return view


def wait_for_all(view: PieceListView) -> float:
    """List and lay out the rest as it comes; the longest time nothing else could be done."""
    longest = 0.0
    while not view.rows.visualRect(view.model.index(view.model.rowCount() - 1)).isValid() or (
        not view.count.text()
    ):
        begin = time.perf_counter()
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 1)
        longest = max(longest, time.perf_counter() - begin)
    return longest


def show_plain(rows: PieceListModel, row_px: int) -> QTableView:
    """The same rows in Qt's own table."""
    table = QTableView()
    table.setModel(PlainModel(rows))
    table.verticalHeader().setDefaultSectionSize(row_px)
    table.resize(_SIZE)
    table.show()
    settle()
    return table


def _give_pictures(view: PieceListView, desk: Desk) -> None:
    """Put small pictures where those in view are looked for, and wait until they are shown."""
    shas = [row.sha256 for at in range(49_950, 50_050) if (row := view.model.piece_row(at))]
    prepare(desk.journal.photo_folder, [sha for sha in shas if sha])
    desk.pictures.close()
    settle()
    desk.pictures.forget_problems()
    for _ in range(3):
        view.rows.viewport().repaint()
        desk.pictures.close()
        settle()


def _seconds(work: partial[object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def measure_table(few: Path, many: Path, scratch: Path, rounds: int = 9) -> list[Result]:
    """First paint of ``many`` pieces against ``few``, and a repaint against a plain table."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    look = theme.current()
    look.apply(app)
    ini = QSettings(str(scratch / "desk.ini"), QSettings.Format.IniFormat)
    desks = {
        name: Desk(open_journal(folder), Settings(ini), look, scratch / name)
        for name, folder in (("few", few), ("many", many))
    }
    first: dict[str, list[float]] = {name: [] for name in desks}
    for _ in range(rounds + 1):
        for name, desk in desks.items():
            begin = time.perf_counter()
            view = show_list(desk)
            first[name].append(time.perf_counter() - begin)
            view.close()
            view.deleteLater()
            settle()
    view = show_list(desks["many"])
    longest_s = wait_for_all(view)
    view.rows.scrollTo(view.model.index(50_000))
    settle()
    _give_pictures(view, desks["many"])
    table = show_plain(view.model, view.rows.sizeHintForRow(0))
    table.scrollTo(table.model().index(50_000, 0))
    settle()
    times: dict[str, list[float]] = {"own": [], "plain": []}
    for _ in range(rounds * 3):
        times["own"].append(_seconds(partial(view.rows.viewport().repaint)))
        times["plain"].append(_seconds(partial(table.viewport().repaint)))
    view.close()
    table.close()
    for desk in desks.values():
        desk.close()
    took = {name: statistics.median(found) for name, found in times.items()}
    begun = {name: statistics.median(found[1:]) for name, found in first.items()}
    return [
        Result(
            "list of 100 000 pieces, first paint",
            begun["many"] / begun["few"],
            "≤ 1.2",
            "the same of 1 000",
            rounds,
            f"{begun['many'] * 1000:.0f} ms of {begun['few'] * 1000:.0f} ms; "
            f"longest gap while the rest comes {longest_s * 1000:.0f} ms",
        ),
        Result(
            "list of 100 000 pieces, repaint",
            took["own"] / took["plain"],
            "≤ 0.5",
            "a table whose model compares role enumerations",
            rounds * 3,
            f"{took['own'] * 1000:.1f} ms of {took['plain'] * 1000:.1f} ms",
        ),
    ]
