"""The glazes: a list, and the page of one."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton

from studiolog.craft.words import GLAZE_KINDS
from studiolog.journal.glaze_page import GlazePage, read_glaze_page
from studiolog.journal.glazes import (
    GlazeDraft,
    add_glaze,
    change_glaze,
    delete_glaze,
    list_glazes,
)
from studiolog.journal.session import Session
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.map_sheet import GlazeMapSheet
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.side_list import ListRow
from studiolog.ui.parts.swatch import GlazeLook


class GlazesScreen(ListAndPage):
    """Glazes with recipes, versions and buckets, and how they did alone and with others."""

    kinds = frozenset(
        {"glaze", "recipe_line", "bucket", "piece", "layer", "inspection", "fault_reading", "run"}
        | {"placement", "material", "material_lot", "lot_oxide", "limit", "surface_reading", "clay"}
        | {"bucket_line", "bucket_change", "stock_change", "measurement", "stage_change"}
    )
    title = "Glazes"
    noun, plural = "glaze", "Glazes"
    empty = (
        "Name your glazes, slips and washes.",
        "Bought or mixed from a recipe. Their pages then tell what carries them and how they did, "
        "alone and over others.",
    )

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        return [
            ListRow(
                line.glaze_id,
                line.title,
                " · ".join(
                    filter(
                        None,
                        (
                            GLAZE_KINDS[line.kind],
                            f"cone {line.cone_range}" if line.cone_range else "",
                        ),
                    )
                ),
                line.pieces,
                line.archived,
                GlazeLook(line.title, line.colour, line.pattern),
            )
            for line in list_glazes(session, archived=archived)
        ]

    def read_page(self, session: Session, ident: int, start: int) -> GlazePage | None:
        return read_glaze_page(session, ident, start)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        own = (
            (("P",), "weight and mole per cent"),
            (("V",), "compare versions"),
            (("W",), "where they sit"),
            (("M",), "mix a bucket"),
        )
        return (*super().foot(), *own)

    def build(self) -> None:
        super().build()
        self.to_map = QPushButton("Where our glazes sit")
        self.to_map.setToolTip("Silica against alumina, and what was seen on them: W")
        self.to_map.clicked.connect(lambda: self.show_map(self.page.ident))
        self.side.add_foot(self.to_map)

    def show_map(self, glaze_id: int = 0) -> None:
        """Open the map of the glazes, with one of them marked."""
        sheet = GlazeMapSheet(self.desk, glaze_id, self.window())
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.opened.connect(self.show_thing)
        sheet.open()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        page = self.page
        if not event.modifiers() and event.key() == Qt.Key.Key_W:
            self.show_map(page.ident)
            return
        if not event.modifiers() and isinstance(page, GlazeView) and page.ident:
            if event.key() == Qt.Key.Key_P:
                page.formula.show_percents()
                return
            if event.key() == Qt.Key.Key_V:
                page.versions.compare()
                return
            if event.key() == Qt.Key.Key_M:
                page.buckets.open_mix()
                return
        super().keyPressEvent(event)

    def make_page(self) -> GlazeView:
        view = GlazeView(self.desk)
        view.version_asked.connect(self.show_thing)
        view.surfaces.link_opened.connect(lambda: self.show_map(view.ident))
        return view

    def add(self, session: Session, name: str) -> int:
        return add_glaze(session, GlazeDraft(name=name))

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_glaze(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_glaze(session, ident)
