"""Notes of a firing, what was learned, and what to change next time."""

from functools import partial
from typing import Any

from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.firings import change_firing
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text

_NOTES = (
    ("notes", "Notes", "How it went: weather, loading, smells, sounds"),
    ("lesson", "Lesson", "What was learned"),
    ("next_time", "Next time", "What to change"),
)


class WordsSection(Section):
    """Three notes, each changed where it stands."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Notes", parent=parent)
        self._desk = desk
        self._page: FiringPage | None = None
        self.notes: dict[str, EditableNote] = {}
        for field, about, hint in _NOTES:
            if field != "notes":
                self.add(Text(about, "secondary", 600, "ink2"))
            note = EditableNote(about, hint=hint)
            note.edited.connect(partial(self._keep, field, about))
            self.notes[field] = note
            self.add(note)

    def show_page(self, page: FiringPage) -> None:
        """Show the notes; one that is being written is left alone."""
        self._page = page
        for field, note in self.notes.items():
            note.set_text(getattr(page, field))

    def _keep(self, field: str, about: str, text: str) -> None:
        page = self._page
        fields: dict[str, Any] = {field: text}
        if page is not None:
            self._desk.edits.try_run(
                f"{about} of firing {page.number}",
                partial(change_firing, firing_id=page.firing_id, **fields),
            )
