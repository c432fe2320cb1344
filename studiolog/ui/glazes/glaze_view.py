"""The page of a glaze."""

from functools import partial
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QPushButton

from studiolog.craft.words import GLAZE_KINDS
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import GLAZE_PATTERNS
from studiolog.journal.glaze_page import Combination, GlazePage
from studiolog.journal.glazes import change_glaze, copy_as_version
from studiolog.journal.session import Session
from studiolog.journal.surfaces import read_glaze_surfaces
from studiolog.problems import UserProblem
from studiolog.ui.glazes.buckets import BucketSection
from studiolog.ui.glazes.care_section import CareSection
from studiolog.ui.glazes.fit_section import FitSection
from studiolog.ui.glazes.formula_section import FormulaSection
from studiolog.ui.glazes.plans_section import PlansSection
from studiolog.ui.glazes.recipe import RecipeSection
from studiolog.ui.glazes.target_links import TargetLinks
from studiolog.ui.glazes.versions import VersionSection
from studiolog.ui.parts.colour_field import ColourField, LargeGlazeSwatch
from studiolog.ui.parts.fault_rate_sections import (
    ComparedGroup,
    FaultCompareSection,
    FaultRateSection,
    pieces_words,
)
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.surface_rates import SurfaceRateSection
from studiolog.ui.parts.swatch import GlazeLook
from studiolog.ui.parts.text import Caption
from studiolog.ui.parts.use_sections import PieceUseSection

PROPERTIES = (
    Property("kind", "Kind", "choice", choices=tuple(GLAZE_KINDS.items())),
    Property("cone_range", "Cone range", hint="5 to 6"),
    Property(
        "specific_gravity", "Specific gravity, usual", "number", "", 2, 1.01, 2.99, hint="1.45"
    ),
)


class GlazeView(ThingPage):
    """``version_asked`` carries the id of another version to show."""

    noun = "glaze"
    version_asked = Signal(int)

    def __init__(self, desk: Desk) -> None:
        self.swatch = LargeGlazeSwatch()
        super().__init__(desk, self.swatch)
        self._version: int | None = None
        self.new_version = QPushButton("New version")
        self.head.add_action(self.new_version)
        self.plan_test = QPushButton("Plan a test")
        self.plan_test.setToolTip("A line, additions, thicknesses or one over another, from this")
        self.head.add_action(self.plan_test)
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.colour = ColourField()
        self.bought = QCheckBox("Bought ready mixed")
        self.pattern = Caption()
        self.note = EditableNote("Notes", hint="Add a note: surface, thickness, what it likes")
        self.recipe = RecipeSection(self)
        self.searches = TargetLinks(desk)
        self.recipe.add(self.searches)
        self.care = CareSection(desk)
        self.formula = FormulaSection(desk)
        self.fit = FitSection(desk)
        self.versions = VersionSection(desk)
        self.plans = PlansSection(desk)
        self.buckets = BucketSection(self)
        self.combinations = FaultCompareSection("Alone, over and under others")
        self.rates = FaultRateSection("Fault rates, wherever it lies")
        self.surfaces = SurfaceRateSection()
        self.surfaces.set_link("Where it sits")
        self.uses = PieceUseSection("Pieces that carry it")
        known = self.add_sheet("What is known", self.sheet)
        for widget in (self.colour, self.pattern, self.bought):
            known.add(widget)
        notes = Section("Notes")
        notes.add(self.note)
        for section in (
            self.recipe,
            self.formula,
            self.buckets,
            self.fit,
            self.combinations,
            self.uses,
        ):
            self.body.main.addWidget(section)
        for beside in (
            self.care,
            known,
            self.versions,
            self.plans,
            self.rates,
            self.surfaces,
            notes,
        ):
            self.body.side.addWidget(beside)
        self.colour.colour_changed.connect(lambda colour: self.keep("colour", colour))
        self.bought.clicked.connect(lambda on: self.keep("bought", on))
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.new_version.clicked.connect(self.make_version)
        self.plan_test.clicked.connect(
            lambda: desk.show("plan", 0, PlanWanted(glaze_ids=(self.ident,)))
        )
        self.recipe.version_asked.connect(self.make_version)
        self.recipe.typed.connect(self.formula.show_typed)
        self.recipe.typed.connect(self.care.show_typed)
        self.searches.kept.connect(self.version_asked)
        self.versions.opened.connect(self.version_asked)
        self.fit.version_made.connect(self.version_asked)
        self.uses.opened.connect(desk.show)
        self.uses.page_asked.connect(self.page_asked)

    def change(self, session: Session, **fields: Any) -> None:
        change_glaze(session, self.ident, self._version, **fields)

    def make_version(self) -> None:
        """Copy the recipe into a new version and show it."""
        try:
            made = self.desk.edits.run(
                f"New version of {self.head.name.text()}",
                partial(copy_as_version, glaze_id=self.ident),
            )
        except UserProblem as problem:
            self.head.problem.say(problem.sentence)
            return
        self.version_asked.emit(made)
        self.recipe.grid.setFocus()

    def show_page(self, page: GlazePage) -> None:
        self._version = page.version
        look = GlazeLook(page.title, page.colour, page.pattern)
        carried = f"{pieces_words(page.uses.total)} carry it"
        if page.uses.total == 1:
            carried = "1 piece carries it"
        kind = GLAZE_KINDS[page.kind]
        words = [kind[0].upper() + kind[1:]]
        if len(page.versions) > 1:
            words.append(f"version {page.version_number}")
        words.append(carried if page.uses.total else "not used yet")
        self.head.quiet.setText(", ".join(words))
        self.swatch.set_glaze(look)
        self.colour.set_colour(page.colour)
        self.pattern.setText(
            f"Pattern: {GLAZE_PATTERNS[page.pattern]}, given by order of entry so that two like "
            "colours still differ"
        )
        self.pattern.setWordWrap(True)
        self.bought.setChecked(page.bought)
        self.sheet.show_values(vars(page))
        self.note.set_text(page.notes)
        self.recipe.show_page(page)
        self.care.show_page(page)
        self.searches.show_page(page)
        self.formula.show_glaze(page.glaze_id)
        self.fit.show_glaze(page.glaze_id)
        self.versions.show_page(page)
        self.plans.show_glaze(page.glaze_id)
        self.buckets.show_page(page)
        self.rates.show_group(page.rates)
        self.surfaces.show_surfaces(
            self.desk.read(lambda session: read_glaze_surfaces(session, page.glaze_id))
        )
        self.combinations.show_groups(
            [_compared(one, look) for one in page.combinations], "No piece carries it yet."
        )
        self.uses.show_uses(page.uses, "No piece carries it yet.")


def _compared(one: Combination, own: GlazeLook) -> ComparedGroup:
    if one.under is not None:
        below = GlazeLook(one.under.title, one.under.colour, one.under.pattern)
        return ComparedGroup(f"over {one.under.title}", one.group, (below, own))
    if one.over is not None:
        above = GlazeLook(one.over.title, one.over.colour, one.over.pattern)
        return ComparedGroup(f"under {one.over.title}", one.group, (own, above))
    return ComparedGroup("alone", one.group, (own,))
