"""One quiet line over the list of firings: the upkeep of kilns that is overdue."""

from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.kiln_tasks import read_overdue
from studiolog.journal.kilns import list_kilns
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.task_words import due_words, task_title
from studiolog.ui.parts.text import Text


class UpkeepLine(QWidget):
    """Hidden while nothing is overdue; the link opens the kiln that has waited."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._kiln_id = 0
        self.words = Text("", "secondary", tone="ink2", wrap=True)
        self.link = link_button("See its upkeep")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 4)
        row.setSpacing(8)
        row.addWidget(IconLabel("kiln", "rust", 16), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.words, 1)
        row.addWidget(self.link, 0, Qt.AlignmentFlag.AlignTop)
        self.link.clicked.connect(self.open_kiln)
        self.hide()

    def read(self) -> None:
        """Read what is overdue today."""
        overdue = self._desk.read(lambda session: read_overdue(session, date.today()))
        names = {kiln.kiln_id: kiln.name for kiln in self._desk.read(list_kilns)}
        self._kiln_id = next((kiln_id for kiln_id in names if kiln_id in overdue), 0)
        if self._kiln_id:
            line = overdue[self._kiln_id][0]
            words = f"{names[self._kiln_id]}: {task_title(line)}, {due_words(line)}"
            more = sum(map(len, overdue.values())) - 1
            if more:
                words += f", and {more} more"
            self.words.setText(f"{words}.")
            self.link.setAccessibleName(f"See the upkeep of {names[self._kiln_id]}")
        self.setVisible(bool(self._kiln_id))

    def open_kiln(self) -> None:
        """Show the kiln with its upkeep."""
        self._desk.show("kiln", self._kiln_id)
