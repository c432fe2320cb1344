"""The page of an idea: its sketches large, what it is, and what came of it."""

from typing import Any

from studiolog.craft.words import IDEA_KINDS
from studiolog.desktop.desk import Desk
from studiolog.journal.ideas import (
    IdeaPage,
    add_sketches,
    change_idea,
    remove_sketch,
)
from studiolog.journal.session import Session
from studiolog.ui.ideas.settle_section import SettleSection
from studiolog.ui.parts.fields import EditableNote, write_day
from studiolog.ui.parts.kept_pictures import KeptPicture, KeptPictures, PictureEdits
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section

PROPERTIES = (
    Property("kind", "It is an", "choice", choices=tuple(IDEA_KINDS.items())),
    Property("noted_on", "Noted on", "day"),
)
NO_SKETCH = "Drop a sketch or a photo here, or paste one with Ctrl V"


class IdeaView(ThingPage):
    """One idea or open question."""

    noun = "idea"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._version: int | None = None
        self.head.archive.hide()
        self.pictures = KeptPictures(
            desk,
            "Sketches and photos",
            "idea",
            PictureEdits(
                add=lambda session, ident, drafts: add_sketches(session, ident, drafts),
                remove=lambda session, picture_id: remove_sketch(session, picture_id),
            ),
            NO_SKETCH,
        )
        self.note = EditableNote("What it is", hint="Say more: sizes, clay, what it is for")
        self.settle = SettleSection(desk)
        self.sheet = PropertySheet(PROPERTIES, 2)
        words = Section("In words")
        words.add(self.note)
        known = self.add_sheet("When and what", self.sheet)
        self.body.main.addWidget(words)
        self.body.main.addWidget(self.pictures)
        for section in (self.settle, known):
            self.body.side.addWidget(section)
        self.note.edited.connect(lambda text: self.keep("text", text))
        self.settle.opened.connect(desk.show)

    def change(self, session: Session, **fields: Any) -> None:
        if "name" in fields:
            fields["title"] = fields.pop("name")
        change_idea(session, self.ident, self._version, **fields)

    def show_page(self, page: IdeaPage) -> None:
        self._version = page.version
        self.head.archive.hide()
        kind = IDEA_KINDS[page.kind]
        words = f"{kind[0].upper()}{kind[1:]}, noted {write_day(page.noted_on)}"
        self.head.quiet.setText(words)
        self.note.set_text(page.text)
        self.sheet.show_values(vars(page))
        self.pictures.show_pictures(
            page.idea_id,
            f"“{page.title}”",
            [
                KeptPicture(one.picture_id, one.sha256, one.suffix, one.caption or one.name)
                for one in page.pictures
            ],
        )
        self.settle.show_page(page)
