"""The page of a program: segments typed into a table, drawn and summed up as they are typed."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QHBoxLayout

from studiolog.craft.firing import program as plan
from studiolog.craft.firing.steam import steam_caution
from studiolog.craft.units import (
    celsius_from_fahrenheit,
    celsius_step_from_fahrenheit,
    fahrenheit_from_celsius,
    fahrenheit_step_from_celsius,
    show_duration,
    show_temperature,
)
from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import ANY_WIDTH
from studiolog.journal.program_page import ProgramPage
from studiolog.journal.programs import SegmentDraft, change_program, set_program_segments
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import FaultRateSection
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Figure, Section
from studiolog.ui.parts.text import Caption
from studiolog.ui.parts.use_sections import FiringUseSection
from studiolog.ui.plots.firing_plot import FiringPlot
from studiolog.ui.plots.plotted_firing import PlotFiring, PlottedSegment

PROPERTIES = (
    Property("kind", "Kind", "choice", choices=tuple(FIRING_KINDS.items())),
    Property("cone", "Cone aimed at", hint="6, 5½ or 04"),
)
_CONE_DELAY_MS = 150


def segment_columns(unit: str) -> tuple[GridColumn, ...]:
    """Rate, target and hold in the unit the potter reads."""
    hottest = 1450.0 if unit == "C" else 2642.0
    return (
        GridColumn("Rate", "number", f"°{unit}/h", 0, 1, 2000 if unit == "C" else 3600, width=0),
        GridColumn("Target", "number", f"°{unit}", 0, 0, hottest, needed=True),
        GridColumn("Hold", "number", "min", 0, 0, 10080),
    )


def cells_of(segments: Sequence[SegmentDraft], unit: str) -> list[tuple[Cell, ...]]:
    """Segments as the table shows them."""
    rows: list[tuple[Cell, ...]] = []
    for one in segments:
        rate, target = one.rate_c_per_h, one.target_c
        if unit == "F":
            rate = None if rate is None else fahrenheit_step_from_celsius(rate)
            target = fahrenheit_from_celsius(target)
        rows.append(
            (
                None if rate is None else round(rate, 6),
                round(target, 6),
                one.hold_min or None,
            )
        )
    return rows


def segments_of(rows: Sequence[tuple[Cell, ...]], unit: str) -> tuple[SegmentDraft, ...]:
    """Segments in °C as they stand in the table; cells are numbers or empty."""
    found = []
    for row in rows:
        rate, target, hold = (None if cell is None else float(str(cell)) for cell in row)
        assert target is not None
        if unit == "F":
            rate = None if rate is None else round(celsius_step_from_fahrenheit(rate), 6)
            target = round(celsius_from_fahrenheit(target), 6)
        found.append(SegmentDraft(rate, target, hold or 0.0))
    return tuple(found)


class ProgramView(ThingPage):
    """Segments, plot, duration, cone, and the firings done with it."""

    noun = "program"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._version: int | None = None
        self._unit = desk.settings.temperature_unit
        self._segments: tuple[SegmentDraft, ...] = ()
        self._cone = ""
        self.setMaximumWidth(ANY_WIDTH)  # the plot takes what room there is
        self.grid = GridEditor("Segments", segment_columns(self._unit), "Segment")
        self.plot = FiringPlot()
        self.plot.setMinimumSize(420, 400)
        self.plot.setFixedHeight(440)
        self.plot.set_unit(self._unit)
        self.caution = CautionLine()
        self.lasts = Figure("Takes", "–")
        self.peak = Figure("Peak", "–")
        self.amounts = Figure("Amounts to cone", "–")
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.note = EditableNote("Notes", hint="Add a note: for which ware, how full a kiln")
        self.rates = FaultRateSection("Fault rates of its ware")
        self.uses = FiringUseSection("Firings done with it")
        self._lay_out()
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(_CONE_DELAY_MS)
        self._later.timeout.connect(self.tell_cone)
        self.grid.edited.connect(self._keep_segments)
        self.grid.typing.connect(self._hear_typing)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.uses.opened.connect(desk.show)
        self.uses.page_asked.connect(self.page_asked)

    def _lay_out(self) -> None:
        figures = QHBoxLayout()
        figures.setSpacing(24)
        for figure in (self.lasts, self.peak, self.amounts):
            figures.addWidget(figure, 1, Qt.AlignmentFlag.AlignTop)
        segments = Section("Segments")
        segments.add(self.grid)
        segments.add(
            Caption(
                "No rate: as fast as the kiln goes up, or left to cool. A firing keeps the "
                "segments it was done with when these change.",
                wrap=True,
            )
        )
        segments.add(self.caution)
        segments.add(figures)
        known = self.add_sheet("What is known", self.sheet)
        notes = Section("Notes")
        notes.add(self.note)
        for widget in (self.plot, self.uses):
            self.body.main.addWidget(widget)
        for section in (segments, known, self.rates, notes):
            self.body.side.addWidget(section)

    def change(self, session: Session, **fields: Any) -> None:
        if "cone" in fields:
            fields["cone"] = fields["cone"] or None
        change_program(session, self.ident, self._version, **fields)

    def show_page(self, page: ProgramPage) -> None:
        unit = self.desk.settings.temperature_unit
        if unit != self._unit:
            self._unit = unit
            self.grid.set_columns(segment_columns(unit))
            self.plot.set_unit(unit)
        self._version, self._cone = page.version, page.cone or ""
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
        self.tell_cone()
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
        self.caution.say(steam_caution(steps, self._unit))
        if not steps or plan.find_problems(steps):
            problems = plan.find_problems(steps) if steps else {}
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
        self.peak.set_value(show_temperature(plan.peak_c(steps), self._unit))

    def tell_cone(self) -> None:
        """Tell the cone the program amounts to, with its interval."""
        steps = planned(self._segments)
        if not steps or plan.find_problems(steps):
            self.amounts.set_value("–")
            return
        try:
            estimate = plan.planned_cone(steps)
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
            self._later.start()

    def _keep_segments(self) -> None:
        ident = self.ident
        segments = segments_of(self.grid.rows(), self._unit)
        self.run(
            f"Segments of {self.head.name.text()}",
            lambda session: set_program_segments(session, ident, segments),
            self.grid.set_problem,
        )


def planned(segments: Sequence[SegmentDraft]) -> list[plan.Segment]:
    """Segments as the sums take them."""
    return [plan.Segment(one.rate_c_per_h, one.target_c, one.hold_min) for one in segments]


def plotted_segments(steps: Sequence[plan.Segment]) -> tuple[PlottedSegment, ...]:
    """Each step with when it starts and ends, for the numbers on the plot."""
    found, start_s = [], 0.0
    for number, step in enumerate(steps, start=1):
        end_s = plan.duration_s(steps[:number])
        found.append(PlottedSegment(number, start_s, end_s, step.rate_c_per_h))
        start_s = end_s
    return tuple(found)
