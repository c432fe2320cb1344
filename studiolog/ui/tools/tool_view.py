"""The page of a tool."""

from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from studiolog.craft.words import STAGES
from studiolog.desktop.desk import Desk
from studiolog.journal.clays import list_clays
from studiolog.journal.photos import add_picture, change_picture, remove_picture
from studiolog.journal.pieces import change_piece
from studiolog.journal.session import Session
from studiolog.journal.tool_page import ToolPage
from studiolog.journal.tools import add_size_of, rename_tool
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import EditableNote, write_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.kept_pictures import KeptPicture, KeptPictures, PictureEdits
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Words
from studiolog.ui.tools.sizes import ToolSizesSection
from studiolog.ui.tools.uses import ToolUsesSection

_NO_CLAY = 0
PROPERTIES = (
    Property("kept_where", "Kept", hint="drawer under the wheel"),
    Property("made_on", "Made on", "day"),
)


class ToolView(ThingPage):
    """One stamp, roller or template; ``tool_asked`` carries the id of another to show."""

    noun = "tool"
    tool_asked = Signal(int)

    def __init__(self, desk: Desk) -> None:
        self.mark = NumberMark("piece", None, size=48)
        super().__init__(desk, self.mark)
        self._version: int | None = None
        self._page: ToolPage | None = None
        self.another = QPushButton("Another size")
        self.another.setToolTip("S")
        self.head.add_action(self.another)
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.clay = PickOne("Clay")
        self.note = EditableNote("Notes", hint="Add a note: how it was cut, how deep to press")
        self.sizes = ToolSizesSection(self, desk)
        self.uses = ToolUsesSection(desk)
        self.pictures = KeptPictures(
            desk,
            "Pictures",
            "tool",
            PictureEdits(add=_add_pictures, remove=_remove_picture, set_moment=_set_moment),
            "Drop a picture of the tool, or of its mark, here",
        )
        self.sisters = Section("Other sizes")
        row = QWidget()
        self._sisters = FlowLayout(row, spacing=12, line_spacing=4)
        self.sisters.add(row)
        known = self.add_sheet("What is known", self.sheet)
        known.add(labelled("Clay", self.clay))
        notes = Section("Notes")
        notes.add(self.note)
        for section in (self.uses, self.pictures):
            self.body.main.addWidget(section)
        for beside in (self.sizes, self.sisters, known, notes):
            self.body.side.addWidget(beside)
        self.mark.opened.connect(desk.show)
        self.uses.opened.connect(desk.show)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.clay.picked.connect(lambda ident: self.keep("clay_id", ident or None))
        self.another.clicked.connect(self.add_size)

    def change(self, session: Session, **fields: Any) -> None:
        if "name" in fields:
            rename_tool(session, self.ident, fields["name"])
        else:
            change_piece(session, self.ident, self._version, **fields)

    def show_page(self, page: ToolPage) -> None:
        self._version, self._page = page.version, page
        self.mark.set_number(page.number, page.tool_id)
        words = [STAGES[page.stage] if page.stage != "lost" else page.lost_why or "lost"]
        if page.clay:
            words.append(page.clay)
        if page.made_on is not None:
            words.append(f"made {write_day(page.made_on)}")
        said = ", ".join(words)
        self.head.quiet.setText(said[0].upper() + said[1:])
        self.head.archive.setText("It turned up" if page.archived else "Broken or lost")
        self.head.archive.setAccessibleName(self.head.archive.text())
        self.sheet.show_values(vars(page))
        clays = self.desk.read(list_clays)
        self.clay.set_choices(
            [Choice(_NO_CLAY, "not said"), *(Choice(clay.clay_id, clay.name) for clay in clays)]
        )
        self.clay.choose(page.clay_id or _NO_CLAY)
        self.note.set_text(page.notes)
        self.sizes.show_page(page)
        self.uses.show_page(page)
        self.pictures.show_pictures(
            page.tool_id,
            f"tool {page.number}",
            [
                KeptPicture(
                    one.picture_id, one.sha256, one.suffix, one.caption or one.name, one.moment
                )
                for one in page.pictures
            ],
        )
        self._show_sisters(page)

    def _show_sisters(self, page: ToolPage) -> None:
        self.sisters.setVisible(bool(page.sisters))
        self._sisters.clear()
        for sister in page.sisters:
            holder = QWidget()
            row = QHBoxLayout(holder)
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(4)
            mark = NumberMark("piece", sister.number, sister.tool_id)
            mark.opened.connect(lambda _kind, ident: self.tool_asked.emit(ident))
            row.addWidget(mark)
            row.addWidget(Words(sister.title, "secondary", tone="ink2"), 1)
            self._sisters.addWidget(holder)

    def add_size(self) -> None:
        """Begin another size under the same name, and show it."""
        page = self._page
        if page is None:
            return
        made = self.desk.edits.run(
            f"Another size of {page.title}",
            partial(add_size_of, tool_id=page.tool_id, made_on=date.today()),
        )
        self.tool_asked.emit(made)


def _add_pictures(session: Session, ident: int, drafts: Any) -> None:
    for draft in drafts:
        add_picture(session, draft, piece_id=ident)


def _remove_picture(session: Session, picture_id: int) -> None:
    remove_picture(session, picture_id)


def _set_moment(session: Session, picture_id: int, moment: str) -> None:
    change_picture(session, picture_id, moment=moment)
