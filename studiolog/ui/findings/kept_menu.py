"""Questions kept under a name: ask one again, keep the one at hand, rename, forget."""

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QPushButton, QWidget

from studiolog.desktop import theme
from studiolog.journal.questions import KeptLine
from studiolog.ui.parts.fields import LineField


class KeptMenu(QWidget):
    """A button with the kept questions, and a field for a name where one is wanted.

    ``asked(line)``; ``keep_asked(name)``; ``rename_asked(line, name)``; ``delete_asked(line)``.
    """

    asked = Signal(object)
    keep_asked = Signal(str)
    rename_asked = Signal(object, str)
    delete_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kept: tuple[KeptLine, ...] = ()
        self._renaming: KeptLine | None = None
        self.button = QPushButton("Kept questions")
        self.button.setAccessibleName("Kept questions")
        self.menu = QMenu(self)
        self.menu.aboutToShow.connect(self._fill)
        self.button.setMenu(self.menu)
        self.name = LineField("", hint="Name of the question, then Enter")
        self.name.line.setAccessibleName("Name of the question")
        self.name.setFixedWidth(theme.current().px(240) + 40)
        self.name.line.returnPressed.connect(self._named)
        self.name.line.installEventFilter(self)
        self.name.hide()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.name)
        row.addWidget(self.button)

    def show_kept(self, kept: Sequence[KeptLine]) -> None:
        """Offer these."""
        self._kept = tuple(kept)

    def start_keeping(self) -> None:
        """Ask for a name for the question at hand."""
        self._renaming = None
        self._ask_name("")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() == Qt.Key.Key_Escape
        ):
            self.put_away()
            return True
        return super().eventFilter(watched, event)

    def put_away(self) -> None:
        """No name is wanted any more."""
        self.name.hide()
        self.button.setFocus()

    def _ask_name(self, text: str) -> None:
        self.name.set_text(text)
        self.name.show()
        self.name.line.setFocus()
        self.name.line.selectAll()

    def _named(self) -> None:
        name = self.name.text()
        if self._renaming is None:
            self.keep_asked.emit(name)
        else:
            self.rename_asked.emit(self._renaming, name)

    def _rename(self, line: KeptLine) -> None:
        self._renaming = line
        self._ask_name(line.name)

    def _fill(self) -> None:
        self.menu.clear()
        for line in self._kept:
            action = self.menu.addAction(line.name.replace("&", "&&"))
            action.setToolTip(line.sentence)
            action.triggered.connect(partial(self.asked.emit, line))
        if self._kept:
            self.menu.addSeparator()
        self.menu.addAction("Keep this question…", self.start_keeping)
        for title, does in (("Rename", self._rename), ("Forget", self.delete_asked.emit)):
            inner = self.menu.addMenu(title)
            inner.setEnabled(bool(self._kept))
            for line in self._kept:
                inner.addAction(line.name.replace("&", "&&")).triggered.connect(partial(does, line))
