"""The page of a form."""

from typing import Any

from PySide6.QtCore import Signal

from studiolog.craft.words import FORM_SHAPES, FORM_STANDINGS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage
from studiolog.journal.forms import change_form
from studiolog.journal.session import Session
from studiolog.journal.studio import read_currency
from studiolog.ui.forms.form_size import size_words
from studiolog.ui.forms.making import StepsSection, ZonesSection
from studiolog.ui.forms.profile import ProfileSection
from studiolog.ui.forms.size_links import SizeLinks
from studiolog.ui.forms.story_section import StorySection
from studiolog.ui.forms.versions_section import VersionsSection
from studiolog.ui.forms.ways_section import WaysSection
from studiolog.ui.forms.working_time_section import WorkingTimeSection
from studiolog.ui.parts.fault_rate_sections import FaultRateSection, pieces_words
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.half_section import HalfSection
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.use_sections import PieceUseSection

PROPERTIES = (
    Property("shape", "Made", "choice", choices=tuple(FORM_SHAPES.items())),
    Property("clay_g", "Clay for one", "number", "g", 0, 1),
    Property("fired_height_mm", "Fired height", "number", "mm", 1, 0.1),
    Property("fired_across_mm", "Fired across", "number", "mm", 1, 0.1),
    Property("fired_deep_mm", "Fired deep", "number", "mm", 1, 0.1, hint="if not round"),
    Property("stack_mm", "Nests: adds", "number", "mm", 1, 0.1, hint="not nested"),
    Property("workable_h", "Workable for", "number", "h", 1, 0.1, 2000, hint="as usual"),
    Property("price", "Price", "money", "", 2),
)


class FormView(ThingPage):
    """The design with its profile and steps, its versions and ways, and the pieces made to it.

    ``form_asked`` carries the id of another form to show.
    """

    noun = "form"
    form_asked = Signal(int)

    def __init__(self, desk: Desk) -> None:
        self.picture = HalfSection("Form")
        side = theme.current().px(56)
        self.picture.setFixedSize(side, side)
        super().__init__(desk, self.picture)
        self._version: int | None = None
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.profile = ProfileSection(self)
        self.step_section = StepsSection(self)
        self.steps = self.step_section.grid
        self.zones = ZonesSection(self)
        self.versions = VersionsSection(desk)
        self.story = StorySection(desk)
        self.ways = WaysSection(desk)
        self.note = EditableNote("Notes", hint="Add a note: tools, gauges, how the rim is made")
        self.rates = FaultRateSection()
        self.working = WorkingTimeSection(desk)
        self.uses = PieceUseSection("Pieces made to it")
        known = self.add_sheet("What is known", self.sheet)
        self.sizes = SizeLinks(desk)
        known.add(self.sizes)
        notes = Section("Notes")
        notes.add(self.note)
        for section in (
            self.profile,
            self.step_section,
            self.working,
            self.ways,
            self.versions,
            self.uses,
        ):
            self.body.main.addWidget(section)
        for beside in (known, self.story, self.zones, self.rates, notes):
            self.body.side.addWidget(beside)
        self.story.opened.connect(desk.show)
        self.ways.opened.connect(desk.show)
        self.versions.opened.connect(self.form_asked)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.uses.opened.connect(desk.show)
        self.uses.page_asked.connect(self.page_asked)

    def change(self, session: Session, **fields: Any) -> None:
        change_form(session, self.ident, self._version, **fields)

    def show_page(self, page: FormPage) -> None:
        self._version = page.version
        words = [FORM_SHAPES[page.shape][0].upper() + FORM_SHAPES[page.shape][1:]]
        size = size_words(page.fired_height_mm, page.fired_across_mm)
        if size:
            words.append(size)
        made = f"{pieces_words(page.uses.total)} made" if page.uses.total else "not made yet"
        if page.order_lines:
            lines = "order line" if page.order_lines == 1 else "order lines"
            made += f", in {page.order_lines} {lines}"
        words.append(made)
        if page.standing != "go" or page.story:
            words.append(FORM_STANDINGS[page.standing])
        self.head.quiet.setText(", ".join(words))
        shape = form_shape(page.shape, page.profile, page.fired_height_mm, page.fired_across_mm)
        self.picture.show_shape(page.name, shape)
        self.sheet.set_currency(self.desk.read(read_currency))
        self.sheet.show_values(vars(page))
        self.sizes.show_page(page)
        self.profile.show_page(page)
        self.step_section.show_page(page)
        self.zones.show_page(page)
        self.story.show_page(page)
        self.versions.show_page(page)
        self.ways.show_page(page)
        self.note.set_text(page.notes)
        self.rates.show_group(page.rates)
        self.working.show_form(page.form_id)
        self.uses.show_uses(page.uses, "None was made yet.")
