"""The program of a firing: its segments, what they amount to, and keeping them for another day."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from studiolog.craft.firing.program import Segment, duration_s, find_problems, peak_c, planned_cone
from studiolog.craft.firing.program_cautions import ProgramCaution, find_program_cautions
from studiolog.craft.units import show_duration, show_temperature
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.firings import set_firing_segments
from studiolog.journal.limits import read_limits
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.problems import UserProblem
from studiolog.ui.firings.plot_of_page import plan_of
from studiolog.ui.firings.segment_table import SegmentTable
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.program_cautions import CautionRows
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text
from studiolog.ui.plots.plot_ticks import Unit


class ProgramSection(Section):
    """``typed`` carries the segments while they are typed, None where they can't be read."""

    typed = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Program", parent=parent)
        self._desk = desk
        self._page: FiringPage | None = None
        self._unit: Unit = "C"
        self.table = SegmentTable()
        self.amounts = Text("", "secondary", tone="ink2", wrap=True)
        self.cautions = CautionRows()
        self.keep_link = link_button("Keep as a program")
        self.name = LineField("", hint="Name of the program; Enter keeps it")
        self.name.line.setAccessibleName("Name of the program to keep")
        self.name.hide()
        feet = QHBoxLayout()
        feet.addWidget(self.keep_link)
        feet.addWidget(self.name, 1)
        feet.addStretch(1)
        self.add(self.table)
        self.add(self.amounts)
        self.add(self.cautions)
        self.add(feet)
        self.table.typed.connect(self._type)
        self.table.kept.connect(self._keep)
        self.keep_link.clicked.connect(self.ask_name)
        self.name.line.returnPressed.connect(self.keep_as_program)

    def show_page(self, page: FiringPage, unit: Unit) -> None:
        """Show the segments as they were set for this firing."""
        if self._page is not None and self._page.firing_id != page.firing_id:
            self.table.keep()
            self.name.hide()
            self.keep_link.show()
        self._page, self._unit = page, unit
        plan = plan_of(page)
        self.table.show_segments(plan, unit)
        self.set_quiet("as set for this firing")
        if not plan:
            self.set_quiet("none yet")
        self._tell_amounts(plan)
        self._tell_cautions(plan)
        self.keep_link.setEnabled(bool(plan))

    def ask_name(self) -> None:
        """Ask under which name to keep the segments in the library."""
        self.keep_link.hide()
        self.name.show()
        if self._page is not None and not self.name.text():
            self.name.set_text(f"{self._page.heading}, as in firing {self._page.number}")
        self.name.line.selectAll()
        self.name.line.setFocus()

    def keep_as_program(self) -> None:
        """Keep the segments of this firing as a program of their own."""
        page = self._page
        if page is None:
            return
        draft = ProgramDraft(
            name=self.name.text(), kind=page.kind, cone=page.cone, segments=page.segments
        )
        try:
            self._desk.edits.run(f"Keep program {draft.name}", partial(add_program, draft=draft))
        except UserProblem as problem:
            self.name.set_problem(problem.sentence)
            return
        self.name.hide()
        self.keep_link.show()
        self._desk.notices.say(f"Kept “{draft.name}” among the programs.")

    def _type(self, segments: tuple[Segment, ...] | None) -> None:
        if segments is not None:
            self._tell_amounts(segments)
            self._tell_cautions(segments)
        self.typed.emit(segments)

    def _keep(self, segments: tuple[Segment, ...]) -> None:
        page = self._page
        if page is None:
            return
        drafts = tuple(SegmentDraft(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments)
        self._desk.edits.try_run(
            f"Change the program of firing {page.number}",
            partial(set_firing_segments, firing_id=page.firing_id, segments=drafts),
        )

    def _tell_cautions(self, plan: tuple[Segment, ...]) -> None:
        """What to look at before the kiln is lit; once a log is kept it is too late for that."""
        page = self._page
        found: list[ProgramCaution] = []
        if page is not None and page.main_curve is None:
            limits = self._desk.read(read_limits)
            told = find_program_cautions(plan, page.kind, page.cone, limits, self._unit)
            found = [one for one in told if one.weight == "warn"]
        self.cautions.show_cautions(found)

    def _tell_amounts(self, plan: tuple[Segment, ...]) -> None:
        self.amounts.setVisible(bool(plan))
        if not plan or find_problems(plan):
            return
        words = (
            f"To {show_temperature(peak_c(plan), self._unit)}, in all "
            f"{show_duration(duration_s(plan))}; free heating and cooling are estimates."
        )
        if peak_c(plan) > 500:
            estimate = planned_cone(plan, limits=self._desk.read(read_limits))
            words += (
                f" Followed to the letter it amounts to cone {estimate.label}, from "
                f"{estimate.interval_label}."
            )
        self.amounts.setText(words)
