"""Which folders this desk watches for logs: one for each kiln whose logger writes to its own."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.kilns import list_kilns
from studiolog.ui.firings.dialog import FiringDialog
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.text import Caption

_ANY = 0


class LoggerFolders(FiringDialog):
    """A folder for each kiln, and one for loggers of no one kiln; an empty line watches none."""

    scrolls = True

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Folders the loggers write to", "Watch them", parent)
        self._desk = desk
        kept = desk.settings.logger_folders(desk.journal.where)
        self.fields: dict[int, LineField] = {}
        self.body.addWidget(
            Caption(
                "A log that appears in one of these waits to be described by itself, once it is "
                "written out. The folders are kept for this computer, not in the journal.",
                "ink2",
                wrap=True,
            )
        )
        kilns = [(kiln.kiln_id, kiln.name) for kiln in desk.read(list_kilns)]
        for kiln_id, name in [*kilns, (_ANY, "Any kiln")]:
            field = LineField(name, kept.get(kiln_id, ""), hint="no folder watched")
            field.line.setAccessibleName(f"Folder of {name}")
            pick = field.add_button("Choose…")
            pick.clicked.connect(partial(self._pick, field, name))
            field.edited.connect(partial(self._check, field))
            self.fields[kiln_id] = field
            self.body.addWidget(field)
        self.body.addStretch(1)
        self.take_size(608, 200 + 72 * len(self.fields))
        next(iter(self.fields.values())).setFocus()

    def _pick(self, field: LineField, name: str) -> None:
        folder = QFileDialog.getExistingDirectory(self, f"Folder of {name}", field.text())
        if folder:
            field.set_text(folder)
            self._check(field, folder)

    def _check(self, field: LineField, typed: str) -> None:
        gone = bool(typed.strip()) and not Path(typed.strip()).is_dir()
        field.set_problem(
            "This folder can't be reached now: its logs come in when it is there." if gone else ""
        )

    def keep(self) -> None:
        """Watch these folders from now on, and after every start."""
        self._desk.settings.set_logger_folders(
            self._desk.journal.where,
            {kiln_id: field.text().strip() for kiln_id, field in self.fields.items()},
        )
        self.accept()
