"""The page of a clay."""

from typing import Any

from studiolog.craft.firing.cones import say_band
from studiolog.desktop.desk import Desk
from studiolog.journal.clay_page import ClayPage
from studiolog.journal.clays import change_clay
from studiolog.journal.session import Session
from studiolog.journal.studio import read_currency
from studiolog.ui.clays.absorption_section import AbsorptionSection
from studiolog.ui.clays.fit_section import ClayFitSections
from studiolog.ui.clays.shrinkage_section import ShrinkageSection
from studiolog.ui.parts.colour_field import ColourField, LargeClaySwatch
from studiolog.ui.parts.fault_rate_sections import (
    ComparedGroup,
    FaultCompareSection,
    FaultRateSection,
    pieces_words,
)
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.swatch import ClayLook
from studiolog.ui.parts.use_sections import PieceUseSection

PROPERTIES = (
    Property("cone_range", "Cone range", hint="5 to 6"),
    Property("shrinkage_percent", "Shrinkage, stated", "number", "%", 1, 0, 59.9),
    Property("absorption_percent", "Absorption, stated", "number", "%", 2, 0, 99.9),
    Property("expansion_ppm_k", "Expansion, measured", "number", "10⁻⁶/K", 2, 0, 30),
    Property("price_per_kg", "Price a kg", "money", "", 2),
    Property(
        "specks",
        "Specks",
        "choice",
        choices=(("none", "none"), ("fine", "fine"), ("coarse", "coarse")),
    ),
)


class ClayView(ThingPage):
    """What is known of a clay, its pieces, and its fault rates by cone."""

    noun = "clay"

    def __init__(self, desk: Desk) -> None:
        self.swatch = LargeClaySwatch()
        super().__init__(desk, self.swatch)
        self._version: int | None = None
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.colour = ColourField()
        self.note = EditableNote("Notes", hint="Add a note: maker's batch, how it throws")
        self.bands = FaultCompareSection("By the cone at the piece")
        self.shrinkage = ShrinkageSection(desk)
        self.absorption = AbsorptionSection(desk)
        self.fit = ClayFitSections(desk)
        self.rates = FaultRateSection()
        self.uses = PieceUseSection()
        known = self.add_sheet("What is known", self.sheet)
        known.add(self.colour)
        notes = Section("Notes")
        notes.add(self.note)
        for section in (self.shrinkage, self.absorption, self.fit, self.bands, self.uses):
            self.body.main.addWidget(section)
        for beside in (known, self.rates, notes):
            self.body.side.addWidget(beside)
        self.colour.colour_changed.connect(lambda colour: self.keep("colour", colour))
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.uses.opened.connect(desk.show)
        self.uses.page_asked.connect(self.page_asked)

    def change(self, session: Session, **fields: Any) -> None:
        change_clay(session, self.ident, self._version, **fields)

    def show_page(self, page: ClayPage) -> None:
        self._version = page.version
        made = f"{pieces_words(page.uses.total)} made of it" if page.uses.total else "not used yet"
        cone = f"cone {page.cone_range}, " if page.cone_range else ""
        self.head.quiet.setText(f"Clay, {cone}{made}")
        self.swatch.set_clay(ClayLook(page.name, page.colour, page.specks))
        self.colour.set_colour(page.colour)
        self.sheet.set_currency(self.desk.read(read_currency))
        self.sheet.show_values(vars(page))
        self.note.set_text(page.notes)
        self.shrinkage.show_clay(page.clay_id)
        self.absorption.show_clay(page.clay_id)
        self.fit.show_clay(page.clay_id)
        self.rates.show_group(page.rates)
        groups = [
            ComparedGroup(
                "no cone known" if band.band is None else say_band(band.band),
                band.group,
            )
            for band in page.bands
        ]
        self.bands.show_groups(groups, "No pieces of this clay yet.")
        self.uses.show_uses(page.uses, "Nothing was made of it yet.")
