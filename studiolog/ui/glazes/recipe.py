"""The recipe of a glaze: lines of material and parts, and additions on top."""

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from studiolog.journal.analyses import read_analyses
from studiolog.journal.glaze_page import GlazePage
from studiolog.journal.glazes import RecipePart, set_recipe
from studiolog.journal.lot_changes import NewerLot, read_newer_lots
from studiolog.journal.materials import known_names, without_analysis
from studiolog.problems import EditConflict, UserProblem
from studiolog.ui.parts.fields import write_number
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.grid_editor import GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Text

COLUMNS = (
    GridColumn("Material", needed=True),
    GridColumn("Parts", "number", decimals=3, lowest=0.001, width=96, needed=True),
    GridColumn("On top", "tick", width=72),
)

_LONGEST_LINK = 28
"""Letters of a material's name that have room beside others, with large text too."""


def total_words(parts: Sequence[RecipePart]) -> str:
    """``100 parts, 12 on top, 112 in all``; a base that is not a hundred is told, not mended."""
    base = sum(part.parts for part in parts if not part.addition)
    added = sum(part.parts for part in parts if part.addition)
    words = f"{write_number(base, 2)} parts"
    if added:
        words += f", {write_number(added, 2)} on top, {write_number(base + added, 2)} in all"
    if parts and abs(base - 100) > 0.005:
        words += "; the base is not 100"
    return words


class RecipeSection(Section):
    """``version_asked`` fires when a new version is wanted in place of a change.

    ``typed`` carries the parts of a recipe that is not kept yet, with every letter.
    """

    version_asked = Signal()
    typed = Signal(object)

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__("Recipe", parent=parent)
        self._page = page
        self._drafting = 0
        self._seen: tuple[RecipePart, ...] = ()
        self.grid = GridEditor("Recipe", COLUMNS, "Line")
        self.grid.offer(0, lambda: page.desk.read(known_names))
        self.keep = QPushButton("Keep recipe")
        self.keep.setAccessibleName("Keep recipe")
        self.keep.hide()
        self.total = Text("", "secondary", 600)
        self.lacking = Text("", "secondary", tone="ink2", wrap=True)
        self.lacking.hide()
        self.newer = QWidget()
        self._newer = FlowLayout(self.newer, spacing=8, line_spacing=2)
        self.newer.hide()
        self.fixed = QWidget()
        self._fixed_words = Text("", "secondary", tone="ink2", wrap=True)
        self._way_on = link_button("New version")
        row = QHBoxLayout(self.fixed)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self._fixed_words, 1)
        row.addWidget(self._way_on, 0, Qt.AlignmentFlag.AlignTop)
        for item in (self.fixed, self.grid, self.total, self.lacking, self.newer):
            self.add(item)
        self.body.addWidget(self.keep, 0, Qt.AlignmentFlag.AlignLeft)
        self._way_on.clicked.connect(self.version_asked)
        self.grid.edited.connect(self._hear_edit)
        self.keep.clicked.connect(self._keep)
        self.grid.typing.connect(self._hear_typing)

    def show_page(self, page: GlazePage) -> None:
        carry = "1 piece carries" if page.uses.total == 1 else f"{page.uses.total} pieces carry"
        fixed, first = page.recipe_is_fixed, page.uses.total > 0 and not page.recipe
        if fixed:
            if not page.uses.total:
                carry = f"The test plan “{page.plans[0]}” is made with"
            words = (
                f"{carry} {page.title} as it is, so its recipe stays. "
                "To change it, make a new version."
            )
        else:
            words = f"{carry} {page.title} already: enter all of its recipe, then keep it."
        self._fixed_words.setText(words)
        self.fixed.setVisible(fixed or first)
        self._way_on.setVisible(fixed)
        self.keep.setVisible(first)
        still_drafting = first and self._drafting == page.glaze_id
        self._drafting = page.glaze_id if first else 0
        self.grid.set_locked(fixed)
        self._seen = page.recipe
        if still_drafting:
            return  # what is being entered is not kept yet; a page read anew must not take it away
        self.grid.set_rows([(part.material, part.parts, part.addition) for part in page.recipe])
        self._show_sums(page.recipe)
        computed = self._page.desk.read(lambda session: read_analyses(session, [page.glaze_id]))
        self._show_lacking(computed[page.glaze_id].missing)
        self._show_newer(
            self._page.desk.read(lambda session: read_newer_lots(session, page.glaze_id))
        )
        self.set_quiet("" if page.recipe else "none yet: type a material into the empty line")

    def parts(self) -> tuple[RecipePart, ...]:
        """The recipe as it stands in the table. Raises `UserProblem`."""
        return _parts(self.grid.rows())

    def _hear_edit(self) -> None:
        if self._drafting:
            parts = self.parts()
            names = [part.material for part in parts]
            self._show_sums(parts)
            self._show_lacking(
                self._page.desk.read(lambda session: without_analysis(session, names))
            )
            self.typed.emit(parts)
        else:
            self._keep()

    def _keep(self) -> None:
        try:
            ident, parts = self._page.ident, self.parts()
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)
            return
        seen, desk = self._seen, self._page.desk
        try:
            desk.edits.run(
                f"Recipe of {self._page.head.name.text()}",
                lambda session: set_recipe(session, ident, parts, seen),
            )
        except EditConflict as conflict:
            desk.notices.warn(conflict.sentence)
            desk.show("glaze", ident)
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)
        else:
            self._seen = parts
            self.grid.set_problem("")

    def _hear_typing(self) -> None:
        rows = self.grid.rows_as_typed()
        if rows is not None:
            parts = _parts(rows)
            self._show_sums(parts)
            self.typed.emit(parts)

    def _show_lacking(self, names: Sequence[str]) -> None:
        self.lacking.setText(f"No analysis yet: {', '.join(names)}." if names else "")
        self.lacking.setVisible(bool(names))

    def _show_newer(self, lots: Sequence[NewerLot]) -> None:
        """Ways to the materials that have a newer lot; their pages say what it would change."""
        self._newer.clear()
        self.newer.setVisible(bool(lots))
        if not lots:
            return
        self._newer.addWidget(Caption("A newer lot is on the shelf of"))
        for one in lots:
            link = link_button(one.material, most=_LONGEST_LINK)
            link.setAccessibleName(f"Newer lot of {one.material}")
            link.setToolTip(f"{one.material}, {one.lot}")
            link.clicked.connect(partial(self._open_material, one.material_id))
            self._newer.addWidget(link)

    def _open_material(self, material_id: int) -> None:
        self._page.desk.show("material", material_id)

    def _show_sums(self, parts: Sequence[RecipePart]) -> None:
        self.total.setText(total_words(parts))
        self.total.setVisible(bool(parts))


def _parts(rows: Sequence[tuple[object, ...]]) -> tuple[RecipePart, ...]:
    return tuple(
        RecipePart(str(material), float(str(parts)), bool(addition))
        for material, parts, addition in rows
    )
