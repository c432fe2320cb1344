"""What was learned, what to change next time, and plain notes: each a text changed in place."""

from functools import partial

from PySide6.QtWidgets import QWidget

from studiolog.journal.piece_page import PiecePage
from studiolog.journal.pieces import change_piece
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section
from studiolog.ui.pieces.page_edits import PageEdits


class NoteSection(Section):
    """One text of the piece under its head."""

    def __init__(
        self,
        edits: PageEdits,
        field: str,
        title: str,
        hint: str,
        size: str = "body",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(title, parent=parent)
        self._edits, self._field = edits, field
        self.note = EditableNote(title, "", hint, size)
        self.note.setObjectName(f"note_{field}")
        self.note.edited.connect(self._keep)
        self.add(self.note)

    def show_page(self, page: PiecePage) -> None:
        """Show the text; one being typed is left alone."""
        self.note.set_text(getattr(page, self._field))

    def _keep(self, text: str) -> None:
        page = self._edits.page
        if page is None:
            return
        kept = self._edits.run(
            f"Note {self.title.text().lower()} of",
            partial(_change, page, **{self._field: text}),
        )
        if not kept:
            # What was typed is not lost: it is offered again over what the other desk wrote.
            stored = getattr(self._edits.page, self._field)
            self.note.set_text(stored if stored == text else f"{stored}\n{text}".strip())
            self.note.edit()


class NextTimeSection(NoteSection):
    """The note that is carried on; the run that took it up is named beside it."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(
            edits, "next_time", "Next time", "What to change next time (N)", "head", parent
        )
        self._mark = NumberMark("run")
        self._mark.opened.connect(edits.desk.show)
        self.head.addWidget(self._mark)
        self._mark.hide()

    def show_page(self, page: PiecePage) -> None:
        """Show the note, and the last run that came of the piece."""
        super().show_page(page)
        run = page.became_runs[-1] if page.became_runs else None
        self._mark.setVisible(run is not None)
        self.set_quiet("carried into run" if run is not None else "", "cobalt")
        if run is not None:
            self._mark.set_number(run.number, run.run_id)


def _change(page: PiecePage, session: object, **fields: object) -> None:
    change_piece(session, page.piece_id, page.version, **fields)  # type: ignore[arg-type]
