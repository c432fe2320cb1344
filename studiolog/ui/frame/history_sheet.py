"""What was changed, newest first, with undo and redo."""

from datetime import UTC

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidget, QPushButton, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.history import HistoryLine, read_history
from studiolog.ui.frame.sheet import Sheet
from studiolog.ui.parts.text import Caption

_STATE = {
    "done": "",
    "undone": "   undone, can be redone",
    "passed": "   undone",
    "kept": "   can't be undone",
}


class HistorySheet(Sheet):
    """The newest changes of every desk."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("What was changed", parent, width=640)
        self._desk = desk
        self.list = QListWidget()
        self.list.setAccessibleName("Changes, newest first")
        self.list.setMinimumHeight(360)
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.undo = QPushButton("Undo")
        self.redo = QPushButton("Redo")
        self.undo.clicked.connect(desk.edits.undo)
        self.redo.clicked.connect(desk.edits.redo)
        self.feet.insertWidget(0, self.undo)
        self.feet.insertWidget(1, self.redo)
        self.body.addWidget(
            Caption(
                "Undo takes back the newest change of this desk, also after a restart.", wrap=True
            )
        )
        self.body.addWidget(self.list)
        desk.edits.turned.connect(self._show)
        self._show()

    def _show(self) -> None:
        self.list.clear()
        lines = self._desk.read(read_history)
        for line in lines:
            self.list.addItem(_say(line))
        if not lines:
            self.list.addItem("Nothing was changed yet.")
        for button, word, label in (
            (self.undo, "Undo", self._desk.edits.undo_label()),
            (self.redo, "Redo", self._desk.edits.redo_label()),
        ):
            button.setEnabled(label is not None)
            button.setAccessibleName(
                f"{word} {label}" if label else f"{word}: nothing to {word.lower()}"
            )


def _say(line: HistoryLine) -> str:
    at = line.at_utc.replace(tzinfo=UTC).astimezone()
    return f"{at:%d %b %Y %H:%M}   {line.label}   {line.desk}{_STATE[line.state]}"
