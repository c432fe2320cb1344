"""Stamps, rollers and templates: a list, and the page of one."""

from collections.abc import Sequence
from datetime import date, datetime

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from studiolog.craft.units import show_quantity
from studiolog.craft.words import STAGES
from studiolog.journal.pieces import delete_piece
from studiolog.journal.session import Session
from studiolog.journal.tool_page import ToolPage, read_tool_page
from studiolog.journal.tools import (
    ToolDraft,
    ToolLine,
    add_tool,
    break_tool,
    find_tool_again,
    list_tools,
)
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.tools.tool_view import ToolView


class ToolsScreen(ListAndPage):
    """Tools the studio made for itself, in sizes, with what they were used on."""

    kinds = frozenset({"piece", "run", "photo", "clay", "form"})
    title = "Tools"
    noun, plural, counted = "tool", "Tools", "uses"
    empty = (
        "Name a stamp, a roller or a template.",
        "A tool you made is a piece with its own number. Its sizes are kept as it shrinks, and it "
        "tells which runs and pieces it was used on.",
    )

    def build(self) -> None:
        super().build()
        self.side.archived.setText("Show broken and lost ones")
        self.view.tool_asked.connect(self.show_thing)

    @property
    def view(self) -> ToolView:
        assert isinstance(self.page, ToolView)
        return self.page

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        return [
            ListRow(
                line.tool_id,
                f"{line.title} {line.number}",
                _quiet(line),
                line.uses,
                line.stage == "lost",
                None,
                "uses",
            )
            for line in list_tools(session)
        ]

    def read_page(self, session: Session, ident: int, start: int) -> ToolPage | None:
        return read_tool_page(session, ident)

    def make_page(self) -> ToolView:
        return ToolView(self.desk)

    def add(self, session: Session, name: str) -> int:
        return add_tool(session, ToolDraft(title=name, made_on=date.today()))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        if archived:
            break_tool(session, ident, datetime.now().replace(microsecond=0))
        else:
            find_tool_again(session, ident)

    def toggle_archived(self) -> None:
        """Say that the tool shown broke or was lost, or that it turned up."""
        gone = not self._archived
        label = f"{self._title} is broken or lost" if gone else f"{self._title} turned up"
        if self.desk.edits.try_run(label, lambda session: self.archive(session, self._ident, gone)):
            self.desk.notices.say(f"{label}.", "Undo", self.desk.edits.undo)

    def delete(self, session: Session, ident: int) -> None:
        delete_piece(session, ident)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return (*super().foot(), (("S",), "another size"), (("U",), "used on"))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers() or not self.view.ident:
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_S:
            self.view.add_size()
        elif event.key() == Qt.Key.Key_U:
            self.view.uses.line.setFocus(Qt.FocusReason.ShortcutFocusReason)
        else:
            super().keyPressEvent(event)


def _quiet(line: ToolLine) -> str:
    """``40 mm fired, drawer under the wheel``."""
    sizes = [show_quantity(size, "mm", 0) for size in (line.across_mm, line.height_mm) if size]
    told = [f"{' × '.join(sizes)} {STAGES[line.size_stage]}"] if sizes else []
    if line.kept_where:
        told.append(line.kept_where)
    return " · ".join(told) or STAGES[line.stage]
