"""The one search field: a number or a name, answered as it is typed."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QWidget

from studiolog.desktop import theme
from studiolog.ui.parts.icon import icon
from studiolog.ui.parts.section import KeyCap

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.journal.find import Found

_NOUN_WORDS = {
    "piece": "piece",
    "firing": "firing",
    "run": "run",
    "glaze": "glaze",
    "material": "material",
    "clay": "clay",
    "form": "form",
    "kiln": "kiln",
    "program": "program",
    "order": "order",
}


class FindBox(QLineEdit):
    """Type a number or a name; Down goes through the answers, Enter opens, Esc leaves.

    What is typed before there is a journal is answered once there is.
    """

    chosen = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk: Desk | None = None
        self.setPlaceholderText("Find piece, glaze, firing")
        self.setAccessibleName("Find a piece, glaze, firing, run or order by number or name")
        self.setClearButtonEnabled(True)
        self._icon = self.addAction(
            icon("search", "ink3"), QLineEdit.ActionPosition.LeadingPosition
        )
        self._icon.setText("Find")
        self._cap = KeyCap("Ctrl K", self)
        self._cap.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._answers = QListWidget(self)
        self._answers.setWindowFlags(Qt.WindowType.ToolTip)
        self._answers.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._answers.setProperty("role", "popup")
        self._answers.setAccessibleName("Answers")
        self._found: list[Found] = []
        self.textEdited.connect(self._ask)
        self.textChanged.connect(self._place_cap)
        self._answers.itemClicked.connect(lambda _item: self._open())
        theme.current().changed.connect(self._redress)
        self._redress()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_cap()

    def answers(self) -> "list[Found]":
        """What answers to the text."""
        return self._found

    def take_up(self, desk: "Desk") -> None:
        """Ask this journal."""
        self._desk = desk
        if self.text():
            self._ask(self.text())

    def _redress(self) -> None:
        self._icon.setIcon(icon("search", "ink3"))
        px = theme.current().px
        self.setMinimumWidth(px(168))
        self.setMaximumWidth(px(256))
        self._place_cap()

    def _place_cap(self) -> None:
        """The key at the right end, unless the words or what was typed need the room."""
        cap = self._cap.sizeHint()
        left = self.width() - cap.width() - 8
        words = self.fontMetrics().horizontalAdvance(self.placeholderText())
        self._cap.setGeometry(left, (self.height() - cap.height()) // 2, cap.width(), cap.height())
        self._cap.setVisible(not self.text() and left > words + 44)

    def _ask(self, text: str) -> None:
        if self._desk is None:
            return
        from studiolog.journal.find import find_anything

        self._found = self._desk.read(lambda session: find_anything(session, text))
        self._answers.clear()
        for found in self._found:
            number = f"{found.number}  " if found.number is not None else ""
            words = f"{number}{found.title}\n{found.quiet or _NOUN_WORDS[found.kind]}"
            self._answers.addItem(QListWidgetItem(words))
        if text.strip() and not self._found:
            nothing = QListWidgetItem(f"Nothing answers to “{text.strip()}”")
            nothing.setFlags(Qt.ItemFlag.NoItemFlags)
            self._answers.addItem(nothing)
        if self._answers.count():
            self._answers.setCurrentRow(0 if self._found else -1)
            px = theme.current().px
            wide, rows = max(self.width(), px(376)), min(self._answers.count(), 8)
            below = self.mapToGlobal(QPoint(self.width() - wide, self.height() + 4))
            self._answers.setGeometry(below.x(), below.y(), wide, rows * px(44) + 8)
            self._answers.show()
        else:
            self._answers.hide()

    def _open(self) -> None:
        row = self._answers.currentRow()
        if 0 <= row < len(self._found):
            found = self._found[row]
            self.leave()
            self.chosen.emit(found.kind, found.row_id)

    def leave(self) -> None:
        """Empty the field and close the answers."""
        self.clear()
        self._found = []
        self._answers.hide()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: arrows walk the answers, Enter opens one, Esc leaves."""
        key = event.key()
        if key in (Qt.Key.Key_Down, Qt.Key.Key_Up) and self._found:
            step = 1 if key == Qt.Key.Key_Down else -1
            self._answers.setCurrentRow((self._answers.currentRow() + step) % len(self._found))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif key == Qt.Key.Key_Escape:
            self.leave()
            self.clearFocus()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Qt: the answers go when the field is left."""
        super().focusOutEvent(event)
        self._answers.hide()
