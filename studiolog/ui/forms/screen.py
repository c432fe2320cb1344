"""The forms: a list, and the page of one."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from studiolog.craft.words import FORM_STANDINGS
from studiolog.journal.form_page import FormPage, read_form_page
from studiolog.journal.forms import (
    FormDraft,
    FormLine,
    add_form,
    change_form,
    delete_form,
    list_forms,
)
from studiolog.journal.session import Session
from studiolog.ui.forms.form_size import size_words
from studiolog.ui.forms.form_view import FormView
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.side_list import ListRow


class FormsScreen(ListAndPage):
    """Designs that can be made again, with their profile, steps, price, and what came of them."""

    kinds = frozenset({"form", "piece", "run", "order", "set", "idea", "studio", "limit"})
    title = "Forms"
    noun, plural = "form", "Forms"
    empty = (
        "Name what you make.",
        "A form is a design that can be made again: its fired size, clay weight, steps with "
        "minutes, price, and the profile its drawings are made from.",
    )

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        return [self._row(line) for line in list_forms(session, archived=archived)]

    @staticmethod
    def _row(line: FormLine) -> ListRow:
        shape = form_shape(line.shape, line.profile, line.fired_height_mm, line.fired_across_mm)
        words = size_words(line.fired_height_mm, line.fired_across_mm)
        if line.standing != "go":
            words = " · ".join(filter(None, (FORM_STANDINGS[line.standing], words)))
        return ListRow(line.form_id, line.name, words, line.pieces, line.archived, shape)

    def read_page(self, session: Session, ident: int, start: int) -> FormPage | None:
        return read_form_page(session, ident, start)

    def make_page(self) -> FormView:
        view = FormView(self.desk)
        view.form_asked.connect(self.show_thing)
        return view

    @property
    def view(self) -> FormView:
        assert isinstance(self.page, FormView)
        return self.page

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        own = ((("V",), "new version"), (("D",), "decide"), (("W",), "new way"))
        return (*super().foot(), *own, (("M",), "make size"), (("T",), "tiles for an area"))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers() or not self.view.ident:
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_V:
            self.view.versions.ask()
        elif event.key() == Qt.Key.Key_D:
            self.view.story.ask_next()
        elif event.key() == Qt.Key.Key_W:
            self.view.ways.line.setFocus(Qt.FocusReason.ShortcutFocusReason)
        elif event.key() == Qt.Key.Key_M:
            self.view.sizes.make_size()
        elif event.key() == Qt.Key.Key_T:
            self.view.sizes.lay_tiles()
        else:
            super().keyPressEvent(event)

    def add(self, session: Session, name: str) -> int:
        return add_form(session, FormDraft(name=name))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_form(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_form(session, ident)
