"""The glazes a plan starts from, each with the specific gravity its slurry was found at."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.glaze.cautions import LOCAL_RULES, Caution
from studiolog.craft.glaze.plans import BLENDS
from studiolog.craft.units import show_quantity
from studiolog.desktop.desk import Desk
from studiolog.journal.plan_page import PlanCornerLine, PlanPage
from studiolog.journal.plan_work import set_corner_gravity
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.swatch import GlazeLook, GlazeSwatch
from studiolog.ui.parts.text import Text
from studiolog.ui.plans.preview_words import recipe_words

_MIXED = (*BLENDS, "additions")


class _Corner(QWidget):
    """One glaze: swatch, name, recipe, and how its slurry stands."""

    def __init__(self, desk: Desk, corner: PlanCornerLine) -> None:
        super().__init__()
        self._desk, self._corner = desk, corner
        self.swatch = GlazeSwatch(GlazeLook(corner.title, corner.colour, corner.pattern))
        self.name = Text("", "secondary", 600, wrap=True)
        self.recipe = Text("", "secondary", tone="ink2", wrap=True)
        self.gravity = NumberField("Sp. gr.", "", None, 3, 1.01, 2.99, hint="1.45")
        self.gravity.line.setFixedWidth(72)
        words = QVBoxLayout()
        words.setSpacing(2)
        words.addWidget(self.name)
        words.addWidget(self.recipe)
        words.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.swatch, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(words, 1)
        row.addWidget(self.gravity, 0, Qt.AlignmentFlag.AlignTop)
        self.gravity.value_changed.connect(self._keep)

    def show_corner(self, page: PlanPage, corner: PlanCornerLine) -> None:
        """Show it as it is now; what is being typed is left alone."""
        self._corner = corner
        self.swatch.set_glaze(GlazeLook(corner.title, corner.colour, corner.pattern))
        mixed = next(
            (one for one in page.mixing.corners if one.label == corner.label), None
        ) if page.mixing is not None else None  # fmt: skip
        dry = f", {show_quantity(mixed.dry_g, 'g')} dry" if mixed is not None else ""
        self.name.setText(f"{corner.title}{dry}")
        self.recipe.setText(recipe_words(corner.recipe))
        self.recipe.setVisible(bool(corner.recipe))
        poured = page.kind in _MIXED and page.options.blend_by == "volume" and corner.position > 0
        self.gravity.setVisible(poured)
        self.gravity.line.setAccessibleName(f"Specific gravity of {corner.title}")
        if not (self.gravity.line.hasFocus() and self.gravity.line.isModified()):
            self.gravity.set_value(corner.specific_gravity)

    def _keep(self, gravity: float | None) -> None:
        corner = self._corner
        try:
            self._desk.edits.run(
                f"Specific gravity of {corner.title}",
                partial(
                    set_corner_gravity,
                    corner_id=corner.corner_id,
                    version=corner.version,
                    specific_gravity=gravity,
                ),
            )
        except UserProblem as problem:
            self.gravity.set_problem(problem.sentence)


class StartsFrom(Section):
    """Corners, what is mixed of them, and what must hold for it."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Starts from", parent=parent)
        self._desk = desk
        self._corners: dict[int, _Corner] = {}
        self._told: tuple[Caution, ...] = ()
        self.mixing = Text("", "secondary", wrap=True)
        self.remarks = Text("", "secondary", tone="ochre", wrap=True)
        self._list = QVBoxLayout()
        self._list.setSpacing(8)
        self.add(self._list)
        self.add(self.mixing)
        self.add(self.remarks)
        self.cautions = QVBoxLayout()
        self.cautions.setSpacing(4)
        self.add(self.cautions)

    def show_page(self, page: PlanPage) -> None:
        """Show the glazes of a plan; one that corners were computed from stands first."""
        every = (page.base, *page.corners) if page.base is not None else page.corners
        if list(self._corners) != [corner.corner_id for corner in every]:
            for gone in self._corners.values():
                self._list.removeWidget(gone)
                gone.hide()
                gone.deleteLater()
            self._corners = {one.corner_id: _Corner(self._desk, one) for one in every}
            for corner in self._corners.values():
                self._list.addWidget(corner)
        for one in every:
            self._corners[one.corner_id].show_corner(page, one)
        words = []
        if page.mixing is not None:
            words += [f"{page.mixing.words[0].upper()}{page.mixing.words[1:]}."]
            words += page.mixing.conditions
        elif page.kind not in _MIXED:
            words.append("Glazed from buckets as they are: nothing is weighed.")
        self.mixing.setText("\n".join(words))
        self.mixing.setVisible(bool(words))
        self.remarks.setText("\n".join(page.remarks))
        self.remarks.setVisible(bool(page.remarks))
        self._show_cautions(page)

    def _show_cautions(self, page: PlanPage) -> None:
        """Once tiles are glazed nothing is weighed any more."""
        told = page.cautions if page.next_step in ("make", "glaze") else ()
        if told == self._told:
            return
        self._told = told
        clear_layout(self.cautions)
        for one in told:
            basis = ". ".join(filter(None, (one.why, one.figure, one.source, LOCAL_RULES)))
            self.cautions.addWidget(CautionLine(one.sentence, basis, self))

    def gravity_of(self, corner_id: int) -> NumberField:
        """The field of a corner."""
        return self._corners[corner_id].gravity
