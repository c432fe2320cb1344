"""Ideas and open questions: a list, and the page of one."""

from collections.abc import Sequence
from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QKeySequence

from studiolog.journal.ideas import (
    IdeaDraft,
    IdeaLine,
    IdeaPage,
    delete_idea,
    list_ideas,
    note_idea,
    read_idea_page,
)
from studiolog.journal.session import Session
from studiolog.ui.ideas.idea_view import IdeaView
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.side_list import ListRow

_LOOK = 240  # px, the size the strip asks for: one thumbnail serves both
_GROUPS = ("Ideas", "Open questions", "Settled")
_KEYS = {"form": "B", "answered": "A", "dropped": "D"}
_SETTLED = {"form": "became a form", "answered": "answered", "dropped": "dropped"}


class IdeasScreen(ListAndPage):
    """What could be made, and what is not known yet, before there is clay."""

    kinds = frozenset({"idea", "form", "photo", "piece", "run"})
    title = "Ideas"
    noun, plural, counted = "idea", "Ideas", "pictures"
    empty = (
        "Note an idea, or a question.",
        "A title is enough; drop a sketch or paste a photo later. An idea can become a form on "
        "trial, a question waits for its answer, and what is dropped keeps its reason.",
    )

    def build(self) -> None:
        super().build()
        self.side.new_name.line.setPlaceholderText("with ? at its end: an open question")
        self.side.new_name.line.setMaxLength(200)
        self.desk.pictures.ready.connect(self._hear_picture)

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        lines = list_ideas(session)
        lines.sort(key=lambda line: _GROUPS.index(_group_of(line)))
        return [self._row(line) for line in lines]

    def _row(self, line: IdeaLine) -> ListRow:
        look = None
        if line.sha256:
            look = self.desk.pictures.picture(line.sha256, line.suffix, _LOOK)
        quiet = write_day(line.noted_on)
        if line.state != "open":
            quiet = f"{_SETTLED[line.state]}, {quiet}"
        group = _group_of(line)
        icon = "question" if line.kind == "question" else "pencil"
        usable = look if look is not None and not look.isNull() else icon
        return ListRow(
            line.idea_id, line.title, quiet, line.pictures, False, usable, "pictures", group
        )

    def read_page(self, session: Session, ident: int, start: int) -> IdeaPage | None:
        return read_idea_page(session, ident)

    def make_page(self) -> IdeaView:
        return IdeaView(self.desk)

    def add(self, session: Session, name: str) -> int:
        kind = "question" if name.rstrip().endswith("?") else "idea"
        return note_idea(session, IdeaDraft(title=name, noted_on=date.today(), kind=kind))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        raise TypeError("ideas are settled, not archived")

    def delete(self, session: Session, ident: int) -> None:
        delete_idea(session, ident)

    @property
    def view(self) -> IdeaView:
        assert isinstance(self.page, IdeaView)
        return self.page

    def _show(self, page: IdeaPage | None) -> None:
        super()._show(page)
        self.foot_changed.emit()

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        if not self.view.ident:
            return super().foot()
        ways = [((_KEYS[way],), does) for way, does in self.view.settle.ways()]
        own = ((("T",), "say more"), (("Ctrl", "V"), "paste a sketch"))
        return (*super().foot(), *own, *ways)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        view = self.view
        ways = {Qt.Key(ord(key)): way for way, key in _KEYS.items()}
        if not view.ident:
            super().keyPressEvent(event)
        elif event.matches(QKeySequence.StandardKey.Paste):
            view.pictures.paste()
        elif event.modifiers():
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_T:
            view.note.edit()
        elif event.key() in ways:
            view.settle.ask(ways[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)

    def _hear_picture(self, _sha256: str, longest: int) -> None:
        if longest == _LOOK and self.isVisible():
            self.mark_stale()


def _group_of(line: IdeaLine) -> str:
    if line.state != "open":
        return "Settled"
    return "Open questions" if line.kind == "question" else "Ideas"
