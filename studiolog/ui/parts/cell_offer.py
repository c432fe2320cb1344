"""Names offered while a cell of a table is typed into: any part of a name finds it.

Up and Down go through them, Enter takes the one that is marked and keeps the cell, Tab goes on to
the next cell as well, Esc puts the list away. What is typed need not be among them.
"""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, QStringListModel, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCompleter, QLineEdit

_MOST_SEEN = 8


class CellOffer(QObject):
    """Stands under a line while it is typed into.

    ``taken`` fires when the cell is to be kept, and says whether the next one comes after it.
    """

    taken = Signal(bool)

    def __init__(self, line: QLineEdit, names: Sequence[str]) -> None:
        super().__init__(line)
        self._line = line
        self._completer = QCompleter(QStringListModel(list(names), self), self)
        self._completer.setFilterMode(Qt.MatchFlag.MatchContains)
        self._completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self._completer.setMaxVisibleItems(_MOST_SEEN)
        line.setCompleter(self._completer)
        popup = self._completer.popup()
        if popup is not None:
            popup.setProperty("role", "popup")
            popup.setAccessibleName(f"Names for {line.accessibleName()}")
            # After the completer's own, so before it: one Enter takes the name and keeps the cell.
            popup.installEventFilter(self)
        self._completer.activated.connect(lambda _name: self._take())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        popup = self._completer.popup()
        if (
            popup is None
            or event.type() != QEvent.Type.KeyPress
            or not isinstance(event, QKeyEvent)
            or event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab)
        ):
            return super().eventFilter(watched, event)
        marked = popup.currentIndex()
        if marked.isValid():
            self._line.setText(str(marked.data()))
        popup.hide()
        self._take(onward=event.key() == Qt.Key.Key_Tab)
        return True

    def _take(self, onward: bool = False) -> None:
        # Once the key is done with: keeping the cell takes the line away, and the list with it.
        QTimer.singleShot(0, self, lambda: self.taken.emit(onward))
