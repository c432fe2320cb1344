"""The page of a form."""

from typing import Any

from studiolog.craft.units import show_duration
from studiolog.craft.words import FORM_SHAPES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage
from studiolog.journal.form_steps import set_steps
from studiolog.journal.forms import change_form
from studiolog.journal.session import Session
from studiolog.ui.forms.form_size import size_words
from studiolog.ui.forms.profile import ProfileSection
from studiolog.ui.forms.working_time_section import WorkingTimeSection
from studiolog.ui.parts.fault_rate_sections import FaultRateSection, pieces_words
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.grid_editor import GridColumn, GridEditor
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
    Property("price", "Price", "money", "", 2),
)
STEPS = (
    GridColumn("Step", needed=True),
    GridColumn("Minutes", "number", "", 1, 0, 10000, width=96),
)


class FormView(ThingPage):
    """The design with its profile and steps, and the pieces made to it."""

    noun = "form"

    def __init__(self, desk: Desk) -> None:
        self.picture = HalfSection("Form")
        side = theme.current().px(56)
        self.picture.setFixedSize(side, side)
        super().__init__(desk, self.picture)
        self._version: int | None = None
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.profile = ProfileSection(self)
        self.steps = GridEditor("Steps", STEPS, "Step")
        self.step_section = Section("Steps")
        self.step_section.add(self.steps)
        self.note = EditableNote("Notes", hint="Add a note: tools, gauges, how the rim is made")
        self.rates = FaultRateSection()
        self.working = WorkingTimeSection(desk)
        self.uses = PieceUseSection("Pieces made to it")
        known = self.add_sheet("What is known", self.sheet)
        notes = Section("Notes")
        notes.add(self.note)
        for section in (self.profile, self.working, self.uses):
            self.body.main.addWidget(section)
        for beside in (known, self.step_section, self.rates, notes):
            self.body.side.addWidget(beside)
        self.steps.edited.connect(self._keep_steps)
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
        self.head.quiet.setText(", ".join(words))
        shape = form_shape(page.shape, page.profile, page.fired_height_mm, page.fired_across_mm)
        self.picture.show_shape(page.name, shape)
        self.sheet.show_values(vars(page))
        self.profile.show_page(page)
        self.steps.set_rows(list(page.steps))
        if page.steps:
            quiet = f"{show_duration(page.minutes * 60)} for one piece"
            if page.untimed:
                quiet += f", {page.untimed} without minutes"
            self.step_section.set_quiet(quiet)
        else:
            self.step_section.set_quiet("thrown, trimmed, glazed …")
        self.note.set_text(page.notes)
        self.rates.show_group(page.rates)
        self.working.show_form(page.form_id)
        self.uses.show_uses(page.uses, "None was made yet.")

    def _keep_steps(self) -> None:
        ident = self.ident
        steps = [
            (str(name), None if minutes is None else float(str(minutes)))
            for name, minutes in self.steps.rows()
        ]
        self.run(
            f"Steps of {self.head.name.text()}",
            lambda session: set_steps(session, ident, steps),
            self.steps.set_problem,
        )
