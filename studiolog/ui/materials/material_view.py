"""The page of a material: its analyses, the stock, and how to handle it."""

import re
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout

from studiolog.craft.glaze.cautions import LOCAL_RULES
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.words import ANALYSIS_BASES
from studiolog.desktop.desk import Desk
from studiolog.journal.material_page import MaterialPage
from studiolog.journal.materials import change_material
from studiolog.journal.session import Session
from studiolog.journal.shopping import show_mass
from studiolog.ui.materials.lots_section import LotsSection
from studiolog.ui.materials.stock_section import StockSection
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section, primary_button
from studiolog.ui.parts.text import Caption, Text

PROPERTIES = (
    Property("low_g", "Low mark", "number", "g", 0, 0, 100_000_000),
    Property("solid_density", "Solid density", "number", "g/ml", 2, 0.2, 19.9),
)
SELLER = (Property("bought_from", "Bought from", hint="shop, or who brings it"),)
DUST = (
    "Dry powders are dusty and most hold fine silica: weigh them wet or with a fitted respirator, "
    "and wipe up wet. The supplier's safety data sheet and local rules go first."
)


class MaterialView(ThingPage):
    """What is known of a material. One that only ships is read, and may be put on the shelf."""

    noun = "material"
    shelf_asked = Signal()
    opened = Signal(str, int)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._version: int | None = None
        self.put_on_shelf = primary_button("Put on the shelf")
        self.put_on_shelf.setToolTip("Enter, in the list")
        self.head.add_action(self.put_on_shelf)
        self.what = Text("", "secondary", tone="ink2", wrap=True)
        self.lots = LotsSection(self)
        self.stock = StockSection(self)
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.seller = PropertySheet(SELLER, 1)
        self.seller.changed.connect(lambda key, value: self.keep(key, value, self.seller))
        self.known = self.add_sheet("What is known", self.sheet)
        self.known.add(self.seller)
        self.known.body.insertWidget(0, self.what)
        self.care = Section("Take care")
        self._cautions = QVBoxLayout()
        self._cautions.setSpacing(6)
        self.hazards = EditableNote("Your own words of caution", hint="Add your own words")
        self.care.add(self._cautions)
        self.care.add(self.hazards)
        self.dust = Caption(DUST, wrap=True)
        self.care.add(self.dust)
        self.note = EditableNote("Notes", hint="Add a note: how it mixes, what to replace it by")
        self.notes = Section("Notes")
        self.notes.add(self.note)
        for section in (self.lots, self.stock):
            self.body.main.addWidget(section)
        for beside in (self.known, self.care, self.notes):
            self.body.side.addWidget(beside)
        self.put_on_shelf.clicked.connect(self.shelf_asked)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.hazards.edited.connect(lambda text: self.keep("hazards", text))
        self.lots.opened.connect(desk.show)

    def change(self, session: Session, **fields: Any) -> None:
        change_material(session, self.ident, self._version, **fields)

    def show_page(self, page: MaterialPage) -> None:
        self._version = page.version
        self.head.quiet.setText(_quiet(page))
        for part in (self.stock, self.sheet, self.seller, self.notes, self.hazards):
            part.setVisible(page.on_shelf)
        for button in (self.head.archive, self.head.delete):
            button.setVisible(page.on_shelf)
        self.put_on_shelf.setVisible(not page.on_shelf)
        self.head.name.setEnabled(page.on_shelf)
        self.what.setText(_what(page))
        self.what.setVisible(bool(self.what.text()))
        self.lots.show_page(page)
        if page.on_shelf:
            self.stock.show_page(page)
            self.sheet.show_values(vars(page))
            self.seller.show_values(vars(page))
            self.note.set_text(page.notes)
            self.hazards.set_text(page.hazards)
        clear_layout(self._cautions)
        for caution in page.cautions:
            basis = [caution.why, caution.figure, f"Basis: {caution.source}"]
            told = ". ".join(part for part in basis if part) + "."
            self._cautions.addWidget(CautionLine(f"{_capital(caution.caution)}.", told))
        self.dust.setVisible(not page.cautions)
        if page.cautions:
            self._cautions.addWidget(Caption(LOCAL_RULES, wrap=True))


def _quiet(page: MaterialPage) -> str:
    if not page.on_shelf:
        return "Known, not on the shelf"
    words = ["Material"]
    if page.stock.grams is not None:
        words.append(f"{show_mass(page.stock.grams)} on the shelf")
    if page.stock.is_low:
        words.append("low")
    if page.lots:
        words.append(ANALYSIS_BASES[page.lots[0].analysis.basis].split(",")[0])
    else:
        words.append("no analysis yet")
    return ", ".join(words)


def _what(page: MaterialPage) -> str:
    """What is known of a material that ships: its formula, other names, density."""
    shipped = page.shipped
    if shipped is None:
        return ""
    words = []
    if shipped.name.casefold() != page.name.casefold():
        words.append(f"In the table that ships: {shipped.name}.")
    if shipped.formula:
        words.append(f"Formula {_write_formula(shipped.formula)}.")
    if shipped.also:
        words.append(f"Also called {', '.join(shipped.also)}.")
    if not page.on_shelf and shipped.solid_density is not None:
        words.append(f"Solid density {shipped.solid_density:g} g/ml, from memory.")
    if shipped.note:
        words.append(f"{_capital(shipped.note)}.")
    return " ".join(words)


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _write_formula(formula: str) -> str:
    """A mineral's formula as it is printed: figures after a sign stand low, those before it not."""
    return re.sub(r"(?<=[A-Za-z)])\d+", lambda found: pretty(found[0]), formula)
