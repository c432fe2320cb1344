"""The clays: a list, and the page of one."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from studiolog.journal.clay_page import ClayPage, read_clay_page
from studiolog.journal.clays import ClayDraft, add_clay, change_clay, delete_clay, list_clays
from studiolog.journal.session import Session
from studiolog.ui.clays.clay_view import ClayView
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.make_size_sheet import MakeSizeSheet, open_make_size
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.parts.swatch import ClayLook


class ClaysScreen(ListAndPage):
    """Clays with what was made of them and what went wrong on them, by cone."""

    kinds = frozenset(
        {"clay", "piece", "run", "layer", "inspection", "fault_reading", "placement", "firing"}
        | {"curve", "cone_pack", "cone_reading"}
        | {
            "glaze",
            "recipe_line",
            "material",
            "material_lot",
            "lot_oxide",
            "limit",
            "surface_reading",
        }
    )
    title = "Clays"
    noun, plural = "clay", "Clays"
    empty = (
        "Name your clays.",
        "Every piece is made of one. Their pages then tell shrinkage, what was made of them, and "
        "which faults showed on them at which cone.",
    )

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        return [
            ListRow(
                line.clay_id,
                line.name,
                f"cone {line.cone_range}" if line.cone_range else "",
                line.pieces,
                line.archived,
                ClayLook(line.name, line.colour, line.specks),
            )
            for line in list_clays(session, archived=archived)
        ]

    def read_page(self, session: Session, ident: int, start: int) -> ClayPage | None:
        return read_clay_page(session, ident, start)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return (*super().foot(), (("M",), "make size"))

    def make_size(self) -> MakeSizeSheet:
        """Open the sheet of make sizes, for the clay shown."""
        return open_make_size(self.desk, self.page.ident, None, self.window())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not event.modifiers() and event.key() == Qt.Key.Key_M and self.page.ident:
            self.make_size()
            return
        super().keyPressEvent(event)

    def make_page(self) -> ClayView:
        view = ClayView(self.desk)
        view.shrinkage.link_opened.connect(self.make_size)
        return view

    def add(self, session: Session, name: str) -> int:
        return add_clay(session, ClayDraft(name=name))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_clay(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_clay(session, ident)
