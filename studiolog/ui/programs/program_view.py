"""The page of a program: segments typed into a table, drawn and summed up as they are typed."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from typing import Any

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QPushButton

from studiolog.craft.firing import program as plan
from studiolog.craft.firing.program_cautions import find_program_cautions
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_duration, show_temperature
from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import ANY_WIDTH
from studiolog.journal.compare import Comparing
from studiolog.journal.energy import expect_energy
from studiolog.journal.program_page import ProgramPage
from studiolog.journal.programs import (
    ProgramDraft,
    SegmentDraft,
    add_program,
    change_program,
    set_program_segments,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.fault_rate_sections import FaultRateSection
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.firing_paper import on_print, open_sheet_of_program
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.grid_editor import GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Figure, Section
from studiolog.ui.parts.text import Caption
from studiolog.ui.parts.use_sections import FiringUseSection
from studiolog.ui.plots.firing_plot import FiringPlot
from studiolog.ui.plots.plotted_firing import PlotFiring
from studiolog.ui.plots.what_if_handles import WhatIfHandles
from studiolog.ui.programs.cautions_section import CautionsSection
from studiolog.ui.programs.expected_section import ExpectedSection
from studiolog.ui.programs.segment_grid import (
    cells_of,
    drafts_of,
    planned,
    plotted_segments,
    segment_columns,
    segments_of,
)
from studiolog.ui.programs.what_if_line import line_of
from studiolog.ui.programs.what_if_section import WhatIfSection

PROPERTIES = (
    Property("kind", "Kind", "choice", choices=tuple(FIRING_KINDS.items())),
    Property("cone", "Cone aimed at", hint="6, 5½ or 04"),
)
_CONE_DELAY_MS = 150
_NO_SEGMENTS = (
    "No segments yet: type a rate and a target. Without them there is no curve, no duration, no "
    "cone and no energy to tell."
)
_NOTHING_TOLD = "Nothing to beware of was found in it. That is no promise: you know the ware."


class ProgramView(ThingPage):
    """Segments, plot, what if, cautions, and the firings done with it."""

    noun = "program"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._version: int | None = None
        self._unit = desk.settings.temperature_unit
        self._segments: tuple[SegmentDraft, ...] = ()
        self._kind, self._cone = "glaze", ""
        self._limits: Limits = SHIPPED
        self.setMaximumWidth(ANY_WIDTH)  # the plot takes what room there is
        self.grid = GridEditor("Segments", segment_columns(self._unit), "Segment")
        self.plot = FiringPlot()
        self.plot.setMinimumSize(420, 400)
        self.plot.setFixedHeight(440)
        self.plot.set_unit(self._unit)
        self.handles = WhatIfHandles(self.plot)
        self.what_if = WhatIfSection(self._unit)
        self.cautions = CautionsSection()
        self.expected = ExpectedSection()
        self.lasts = Figure("Takes", "–")
        self.peak = Figure("Peak", "–")
        self.amounts = Figure("Amounts to cone", "–")
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.note = EditableNote("Notes", hint="Add a note: for which ware, how full a kiln")
        self.rates = FaultRateSection("Fault rates of its ware")
        self.uses = FiringUseSection("Firings done with it")
        self.fire_button = QPushButton("Fire now …")
        self.print_button = QPushButton("Print …")
        for button in (self.print_button, self.fire_button):
            self.head.add_action(button)
        self.fire_button.setAccessibleName("Fire this now")
        self.print_button.setAccessibleName("Print a firing sheet")
        self.print_button.setToolTip(
            "A firing sheet of one page, with a grid for readings by hand (Ctrl+P)"
        )
        self._lay_out()
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(_CONE_DELAY_MS)
        self._later.timeout.connect(self.tell_sums)
        self._later.timeout.connect(self._tell_expected)
        self._connect()

    def _lay_out(self) -> None:
        figures = FlowLayout(spacing=24, line_spacing=12)
        for figure in (self.lasts, self.peak, self.amounts):
            figures.addWidget(figure)
        segments = Section("Segments")
        segments.add(self.grid)
        segments.add(
            Caption(
                "No rate: as fast as the kiln goes up, or left to cool. A firing keeps the "
                "segments it was done with when these change.",
                wrap=True,
            )
        )
        segments.add(figures)
        known = self.add_sheet("What is known", self.sheet)
        notes = Section("Notes")
        notes.add(self.note)
        for widget in (self.plot, self.what_if, self.uses):
            self.body.main.addWidget(widget)
        for section in (segments, self.cautions, self.expected, known, self.rates, notes):
            self.body.side.addWidget(section)

    def _connect(self) -> None:
        self.fire_button.clicked.connect(self.fire_now)
        self.print_button.clicked.connect(self.print_sheet)
        on_print(self, self.print_sheet)
        self.grid.edited.connect(self._keep_segments)
        self.grid.typing.connect(self._hear_typing)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.uses.opened.connect(self.desk.show)
        self.uses.page_asked.connect(self.page_asked)
        self.uses.link_opened.connect(self._compare)
        self.cautions.limits.clicked.connect(lambda: self.desk.show("limits", 0, "program"))
        self.what_if.asked.connect(self._draw_asked)
        self.what_if.kiln_chosen.connect(lambda _kiln: self._tell_expected())
        self.what_if.kept_here.connect(self._keep_asked)
        self.what_if.kept_new.connect(self._keep_as_new)
        self.handles.peak_dragged.connect(partial(self.what_if.turn, "peak"))
        self.handles.rate_dragged.connect(partial(self.what_if.turn, "rate"))
        self.handles.hold_dragged.connect(partial(self.what_if.turn, "hold"))

    def fire_now(self) -> None:
        """Open the sheet that logs a firing of this program, started now."""
        self.desk.show("firings", 0, ("log firing", self.ident))

    def print_sheet(self) -> None:
        """Look at the firing sheet, to print it or save it."""
        open_sheet_of_program(self.desk, self.ident, self)

    def change(self, session: Session, **fields: Any) -> None:
        if "cone" in fields:
            fields["cone"] = fields["cone"] or None
        change_program(session, self.ident, self._version, **fields)

    def _compare(self) -> None:
        self.desk.show("firing", 0, Comparing("program", self.ident))

    def show_page(self, page: ProgramPage) -> None:
        unit = self.desk.settings.temperature_unit
        if unit != self._unit:
            self._unit = unit
            self.grid.set_columns(segment_columns(unit))
            self.plot.set_unit(unit)
        self._version, self._kind, self._cone = page.version, page.kind, page.cone or ""
        self._limits = page.limits
        times = "once" if page.uses.total == 1 else f"{page.uses.total} times"
        kind = FIRING_KINDS[page.kind]
        self.head.quiet.setText(
            f"{kind[0].upper()}{kind[1:]} firing, "
            + (f"fired {times}" if page.uses.total else "not fired yet")
        )
        self.sheet.show_values({"kind": page.kind, "cone": page.cone})
        self.note.set_text(page.notes)
        self.grid.set_rows(cells_of(page.segments, unit))
        self.draw(page.segments)
        self.tell_sums()
        self.what_if.show_program(
            (page.program_id, page.name, self._cone),
            planned(page.segments),
            page.kilns,
            page.limits,
            unit,
        )
        self.uses.set_link("Compare its firings" if page.uses.total > 1 else "")
        self._tell_expected()
        self.uses.show_uses(page.uses, unit, "No firing was done with it yet.")
        if page.peaks is not None:
            span = page.peaks
            words = f"peaks {show_temperature(span.lowest_c, unit)}"
            if span.logged > 1:
                words += f" to {show_temperature(span.highest_c, unit)}"
            self.uses.set_quiet(f"{self.uses.quiet.text()}, {words}")
        self.rates.show_group(page.rates)

    def draw(self, segments: Sequence[SegmentDraft]) -> None:
        """Draw the program and tell what it comes to, stored or as it is being typed."""
        self._segments = tuple(segments)
        steps = planned(segments)
        self.handles.show_line(None)
        if not steps or plan.find_problems(steps):
            problems = plan.find_problems(steps, scale=self._unit) if steps else {}
            self.grid.set_problem(next(iter(problems.values()), ""))
            self.plot.show_firing(
                PlotFiring(aimed_cone=self._cone, no_log_words="Type a target to draw the curve")
            )
            for figure in (self.lasts, self.peak, self.amounts):
                figure.set_value("–")
            return
        self.grid.set_problem("")
        at_s, at_c = plan.planned_points(steps)
        self.plot.show_firing(
            PlotFiring(
                program_s=at_s.tolist(),
                program_c=at_c.tolist(),
                aimed_cone=self._cone,
                segments=plotted_segments(steps),
                no_log_words="",
            )
        )
        free = any(step.rate_c_per_h is None for step in steps)
        self.lasts.set_value(
            show_duration(float(at_s[-1])), "free legs estimated" if free else "as programmed"
        )
        top = max(range(len(steps)), key=lambda place: steps[place].target_c)
        self.peak.set_value(
            show_temperature(plan.peak_c(steps), self._unit), f"in segment {top + 1}"
        )

    def tell_sums(self) -> None:
        """Tell the cone the program amounts to, with its interval, and what to beware of."""
        steps = planned(self._segments)
        fine = bool(steps) and not plan.find_problems(steps)
        self._tell_cone(steps if fine else [])
        cautions = find_program_cautions(
            steps, self._kind, self._cone or None, self._limits, self._unit
        )
        none = _NOTHING_TOLD if fine else _NO_SEGMENTS
        self.cautions.show_cautions(cautions, none if fine or not steps else "")

    def _tell_expected(self) -> None:
        """Tell what it will use and cost in the kiln chosen, were it lit now."""
        kiln_id, name = self.what_if.chosen_kiln()
        steps = planned(self._segments)
        if not kiln_id or not steps or plan.find_problems(steps):
            self.expected.show_expected(name, None)
            return
        self.expected.show_expected(
            name,
            self.desk.read(
                partial(
                    expect_energy,
                    kiln_id=kiln_id,
                    starts_at=datetime.now(),
                    program_id=self.ident,
                    segments=steps,
                    kind=self._kind,
                )
            ),
        )

    def _tell_cone(self, steps: Sequence[plan.Segment]) -> None:
        if not steps:
            self.amounts.set_value("–")
            return
        try:
            estimate = plan.planned_cone(steps, limits=self._limits)
        except UserProblem as problem:
            self.amounts.set_value("–", problem.sentence)
            return
        if "below_chart" in estimate.flags or "above_chart" in estimate.flags:
            self.amounts.set_value("–", "off the chart of cones")
            return
        self.amounts.set_value(estimate.label, estimate.interval_label)

    def _hear_typing(self) -> None:
        rows = self.grid.rows_as_typed()
        if rows is not None:
            self.draw(segments_of(rows, self._unit))
            self.what_if.show_typed(planned(self._segments))
            self._later.start()

    def _keep_segments(self) -> None:
        ident = self.ident
        segments = segments_of(self.grid.rows(), self._unit)
        self.run(
            f"Segments of {self.head.name.text()}",
            lambda session: set_program_segments(session, ident, segments),
            self.grid.set_problem,
        )

    # What if

    def _draw_asked(self, segments: tuple[plan.Segment, ...] | None) -> None:
        own = planned(self._segments)
        self.handles.show_line(line_of(segments or own, segments is not None))

    def _keep_asked(self, segments: tuple[plan.Segment, ...], solved: str) -> None:
        name, ident = self.head.name.text(), self.ident

        def edit(session: Session) -> None:
            set_program_segments(session, ident, drafts_of(segments))
            if solved and solved != self._cone:
                change_program(session, ident, cone=solved)

        if self.run(f"Change the top of {name}", edit, self.grid.set_problem):
            self.desk.notices.say(f"{name} is changed.", "Undo", self.desk.edits.undo)

    def _keep_as_new(self, name: str, segments: tuple[plan.Segment, ...], solved: str) -> None:
        draft = ProgramDraft(
            name=name,
            kind=self._kind,
            cone=solved or self._cone or None,
            segments=drafts_of(segments),
        )
        try:
            ident = self.desk.edits.run(
                f"Keep program {' '.join(name.split())}", partial(add_program, draft=draft)
            )
        except UserProblem as problem:
            self.what_if.say_name_problem(problem.fields.get("name", problem.sentence))
            return
        self.what_if.end_name()
        self.desk.notices.say(
            f"Kept “{draft.name}” among the programs.",
            "Open",
            lambda: self.desk.show("program", ident),
        )
