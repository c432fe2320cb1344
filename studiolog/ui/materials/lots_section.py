"""The analyses of a material in dated lots, newest first, and what is computed with each."""

from datetime import date
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.journal.lot_changes import read_lot_changes
from studiolog.journal.material_page import LotPage, LotUse, MaterialPage
from studiolog.journal.materials import add_version_with_lot, copy_newest_lot
from studiolog.ui.materials.lot_editor import LotEditor, LotSummary
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.text import Caption, Text

WHY_LOTS = (
    "A recipe keeps the lot it was computed with. A new lot is for recipes written from now on, "
    "and for new versions that ask for it."
)

_LONGEST_LINK = 28
"""Letters of a glaze's title that have room in a column, with large text too."""
NONE = (
    "No analysis yet, so sums of a recipe with it say that it is missing. Make a new lot and type "
    "what the supplier gives."
)
NOT_GIVEN = "The table has no analysis of it, so nothing can be computed with it."


class LotsSection(Section):
    """One lot is open, the newest at first; the others stand below it."""

    opened = Signal(str, int)

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Analysis", link="New lot", parent=parent)
        self._page = page
        self._material: MaterialPage | None = None
        self._open = 0
        self.editor = LotEditor(page)
        self.none = Text("", "secondary", tone="ink2", wrap=True)
        self.problem = ProblemLine()
        self.uses = _Uses(page)
        self._others = QVBoxLayout()
        self._others.setSpacing(0)
        self.why = Caption(WHY_LOTS, wrap=True)
        for item in (self.none, self.editor, self.uses, self.problem):
            self.add(item)
        self.add(self._others)
        self.add(self.why)
        self.link_opened.connect(self.add_lot)
        self.uses.opened.connect(self.opened)
        self.editor.deleted.connect(self._hear_deleted)

    def show_page(self, page: MaterialPage) -> None:
        other = self._material is None or self._material.material_id != page.material_id
        self._material = page
        if other:
            self.problem.say("")
        ids = [lot.lot_id for lot in page.lots]
        if other or self._open not in ids:
            self._open = ids[0] if ids else 0
        self.set_link("New lot" if page.on_shelf else "")
        self.set_quiet(_count(page) if page.on_shelf else "")
        self.why.setVisible(page.on_shelf)
        self.none.setVisible(not page.lots)
        self.none.setText(NONE if page.on_shelf else NOT_GIVEN)
        self.editor.setVisible(bool(page.lots))
        self._show_lots(page)

    def _show_lots(self, page: MaterialPage) -> None:
        clear_layout(self._others)
        for place, lot in enumerate(page.lots):
            before = page.lots[place + 1] if place + 1 < len(page.lots) else None
            if lot.lot_id == self._open:
                self.editor.show_lot(lot, before)
                self.uses.show_uses(page, lot)
                continue
            self._others.addWidget(Hairline())
            summary = LotSummary(lot)
            summary.opened.connect(partial(self.open_lot, lot.lot_id))
            self._others.addWidget(summary)

    def lot_ids(self) -> tuple[int, ...]:
        """The lots of the material shown, newest first."""
        return () if self._material is None else tuple(lot.lot_id for lot in self._material.lots)

    def open_lot(self, lot_id: int) -> None:
        """Show another of the lots."""
        self._open = lot_id
        if self._material is not None:
            self.show_page(self._material)

    def add_lot(self) -> None:
        """A new lot of today with the figures of the newest, and open it."""
        ident = self._page.ident
        made: list[int] = []
        if self._page.run(
            f"New lot of {self._page.head.name.text()}",
            lambda session: made.append(copy_newest_lot(session, ident, date.today())),
            self.problem.say,
        ):
            self.open_lot(made[0])
            if not self.editor.grid.isVisibleTo(self.editor):
                self.editor.toggle_figures()

    def _hear_deleted(self) -> None:
        self._open = 0
        if self._material is not None:
            self.show_page(self._material)


def _count(page: MaterialPage) -> str:
    own = sum(not lot.ships for lot in page.lots)
    if not own:
        return "none of your own yet" if page.lots else ""
    return "1 lot of your own" if own == 1 else f"{own} lots of your own"


class _Uses(QWidget):
    """The recipes computed with the lot that is open; those of an older lot may take the newest."""

    opened = Signal(str, int)

    def __init__(self, page: ThingPage) -> None:
        super().__init__()
        self._page = page
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 8)
        self._rows.setSpacing(4)

    def show_uses(self, page: MaterialPage, lot: LotPage) -> None:
        clear_layout(self._rows)
        newest = page.lots[0]
        uses = list(lot.uses) + (list(page.loose) if _computes_loose(page, lot) else [])
        self.setVisible(bool(uses))
        if not uses:
            return
        behind = lot.lot_id != newest.lot_id and page.on_shelf
        self._rows.addWidget(Text("Computed with it", "secondary", 600))
        changes = {}
        if behind:
            ids = [use.glaze_id for use in uses]
            changes = self._page.desk.read(
                lambda session: read_lot_changes(session, page.material_id, newest.lot_id, ids)
            )
        for use in uses:
            line = FlowLayout(spacing=8, line_spacing=2)
            link = link_button(use.title, most=_LONGEST_LINK)
            link.clicked.connect(partial(self._open_glaze, use.glaze_id))
            line.addWidget(link)
            if use.fixed:
                line.addWidget(Caption("stays as it is"))
            if behind:
                take = link_button("New version with the newest lot")
                take.setAccessibleName(f"New version of {use.title} with the newest lot")
                take.clicked.connect(partial(self._new_version, use, newest.lot_id))
                line.addWidget(take)
            self._rows.addLayout(line)
            if use.glaze_id in changes:
                words = changes[use.glaze_id].words
                self._rows.addWidget(Caption(f"with {newest.words}: {words}", wrap=True))

    def _open_glaze(self, glaze_id: int) -> None:
        self.opened.emit("glaze", glaze_id)

    def _new_version(self, use: LotUse, lot_id: int) -> None:
        made: list[int] = []
        if self._page.run(
            f"New version of {use.title} with a newer lot",
            lambda session: made.append(add_version_with_lot(session, use.glaze_id, lot_id)),
            self._page.head.problem.say,
        ):
            self.opened.emit("glaze", made[0])


def _computes_loose(page: MaterialPage, lot: LotPage) -> bool:
    """Whether recipes that name no lot are computed with this one."""
    ships = page.shipped is not None and page.shipped.analysis.is_given
    return lot.ships if ships else lot is page.lots[-1]
