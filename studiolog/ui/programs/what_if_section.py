"""What if the top were another: three handles, the cone they give, and the way back from a cone.

Nothing here is stored until it is kept; turning a handle only asks.
"""

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.firing.calibration import LevelOffset
from studiolog.craft.firing.cones import ordinal_of, parse_cone, show_cone
from studiolog.craft.firing.heatwork import ConeEstimate
from studiolog.craft.firing.program import Segment, duration_s
from studiolog.craft.firing.program_cautions import say_old_chart
from studiolog.craft.firing.what_if import (
    HANDLES,
    Handle,
    OutOfReach,
    cone_if,
    find_top,
    reach_of,
    say_cone,
    show_handle,
    solve,
    value_of,
    with_handle,
)
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import MINUS, show_degrees, show_duration, whole_minutes
from studiolog.journal.program_kilns import ProgramKiln
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Figure, Section, link_button
from studiolog.ui.parts.sight import show_whole
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.programs.handle_row import HandleRow
from studiolog.ui.programs.solve_line import SolveLine

_NO_KILN = (0, 0)
_NO_TOP = "Type a target above the room, and the top can be turned here."


class WhatIfSection(Section):
    """``asked`` carries the changed segments, None where they are the program's own;
    ``kept_here`` the segments to change this program to and the cone they were solved for ("" if
    none was), ``kept_new`` a name and the same; ``kiln_chosen`` a kiln's id, 0 for none."""

    asked = Signal(object)
    kept_here = Signal(object, str)
    kept_new = Signal(str, object, str)
    kiln_chosen = Signal(int)

    def __init__(self, unit: str, parent: QWidget | None = None) -> None:
        super().__init__("What if", parent=parent)
        self._unit = unit
        self._own: tuple[Segment, ...] = ()
        self._asked: tuple[Segment, ...] = ()
        self._limits: Limits = SHIPPED
        self._offsets: dict[tuple[int, int], tuple[str, LevelOffset]] = {}
        self._kilns: tuple[ProgramKiln, ...] = ()
        self._program = (0, "", "")
        self.rows: dict[Handle, HandleRow] = {one: HandleRow(one, unit) for one in HANDLES}
        self.nothing = Text(_NO_TOP, "secondary", tone="ink2", wrap=True)
        self.kiln = PickOne("Kiln that the cone is told for")
        self.amounts = Figure("It would come to cone", "–")
        self.lasts = Figure("It would take", "–")
        self.told = Caption(wrap=True)
        self.old_chart = CautionLine()
        self.solving = SolveLine()
        self.keep_new = QPushButton("Keep as a new program")
        self.keep_here = QPushButton("Change this program")
        self.back = link_button("Back to the program as it is")
        self.name = LineField("Name of the new program", hint="Enter keeps, Esc gives up")
        self.name_button = self.name.add_button("Keep")
        self.name.hide()
        self._near: tuple[Segment, ...] = ()
        self._solved = ""
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self._turning = QWidget()
        turning = QVBoxLayout(self._turning)
        turning.setContentsMargins(0, 0, 0, 0)
        turning.setSpacing(12)
        kiln = QGridLayout()
        kiln.setHorizontalSpacing(8)
        kiln.addWidget(Text("Told for", "secondary", 500, "ink2"), 0, 0)
        kiln.addWidget(self.kiln, 0, 1)
        kiln.setColumnStretch(1, 1)
        figures = FlowLayout(spacing=48, line_spacing=12)
        figures.addWidget(self.amounts)
        figures.addWidget(self.lasts)
        keep = FlowLayout(spacing=8, line_spacing=8)
        for button in (self.keep_new, self.keep_here, self.back):
            keep.addWidget(button)
        turning.addLayout(kiln)
        for handle in self.rows.values():
            turning.addWidget(handle)
        turning.addLayout(figures)
        turning.addWidget(self.told)
        turning.addWidget(self.old_chart)
        turning.addWidget(self.solving)
        turning.addLayout(keep)
        turning.addWidget(self.name)
        self.add(self.nothing)
        self.add(self._turning)

    def _connect(self) -> None:
        for handle, row in self.rows.items():
            row.turned.connect(lambda value, one=handle: self.turn(one, value))
        self.kiln.picked.connect(self._choose_kiln)
        self.solving.solve_asked.connect(self._solve)
        self.solving.near_asked.connect(lambda: self._ask(self._near))
        self.back.clicked.connect(self.go_back)
        self.keep_here.clicked.connect(lambda: self.kept_here.emit(self._asked, self._solved))
        self.keep_new.clicked.connect(self.ask_name)
        self.name.line.returnPressed.connect(self._keep_new)
        self.name_button.clicked.connect(self._keep_new)

    # What is shown

    def show_program(
        self,
        program: tuple[int, str, str],
        segments: Sequence[Segment],
        kilns: Sequence[ProgramKiln],
        limits: Limits,
        unit: str,
    ) -> None:
        """Show a program's own top: (id, name, cone aimed at), as it is kept.

        What was turned stays where the same program is shown again unchanged.
        """
        self._limits = limits
        if unit != self._unit:
            self._unit = unit
            for row in self.rows.values():
                row.set_unit(unit)
        other = program[0] != self._program[0]
        self._program = program
        if other:
            self.solving.wanted.set_text(show_cone(program[2]) if program[2] else "")
            self.solving.clear()
            self._end_name()
        self._show_kilns(tuple(kilns), other)
        same = not other and tuple(segments) == self._own
        turned = same and self.is_changed()
        asked, solved = (self._asked, self._solved) if turned else (tuple(segments), "")
        self._own = tuple(segments)
        self._ask(asked, solved)

    def show_typed(self, segments: Sequence[Segment]) -> None:
        """Show the top of a program while it is being typed; what was turned is let go."""
        if tuple(segments) != self._own:
            self._own = tuple(segments)
            self._ask(self._own)

    def chosen_kiln(self) -> tuple[int, str]:
        """Id and name of the kiln the cone is told for, (0, "") for none."""
        chosen = self._spot()[0]
        names = (kiln.name for kiln in self._kilns if kiln.kiln_id == chosen)
        return chosen, next(names, "")

    def is_changed(self) -> bool:
        """Whether a handle stands elsewhere than in the program."""
        return bool(self._asked) and self._asked != self._own

    def _show_kilns(self, kilns: tuple[ProgramKiln, ...], other: bool) -> None:
        choices = [Choice(_NO_KILN, "any kiln, its sensor taken at its word")]
        self._offsets = {}
        for kiln in kilns:
            if not kiln.spots:
                choices.append(Choice((kiln.kiln_id, 0), f"{kiln.name}, no cone read in it yet"))
            for spot in kiln.spots:
                key = (kiln.kiln_id, spot.level_id)
                words = f"{kiln.name}, {spot.name}"
                self._offsets[key] = (words if spot.level_id else kiln.name, spot.offset)
                choices.append(Choice(key, words))
        first = (kilns[0].kiln_id, 0) if kilns else _NO_KILN
        if kilns != self._kilns:
            self._kilns = kilns
            self.kiln.set_choices(choices)
        if other or self.kiln.chosen() is None:
            self.kiln.choose(first)

    def _spot(self) -> tuple[int, int]:
        chosen = self.kiln.chosen()
        return chosen if isinstance(chosen, tuple) else _NO_KILN

    def _offset(self) -> LevelOffset | None:
        found = self._offsets.get(self._spot())
        return found[1] if found is not None else None

    # What a person does

    def turn(self, handle: Handle, value: float) -> None:
        """Turn a handle: °C, minutes or °C/h."""
        if not self._asked:
            return
        top = find_top(self._asked)
        low, high = reach_of(top, handle, self._limits)
        own = value_of(find_top(self._own), handle)
        value = min(max(value, min(low, own)), max(high, own))
        self.solving.clear()
        # Back where it stood, the program's own segments come back, full power among them.
        if round(value, 3) == round(own, 3) and handle == "rate":
            at = top.segment
            put_back = (*self._asked[:at], self._with_own_rate(at), *self._asked[at + 1 :])
            self._ask(put_back)
            return
        self._ask(with_handle(self._asked, handle, value))

    def _solve(self, cone: str, chosen: str) -> None:
        """Find the value of a handle that gives a cone, and turn it there."""
        handle = next(one for one in HANDLES if one == chosen)
        try:
            wanted = ordinal_of(cone)
            found = solve(self._asked, wanted, handle, self._offset(), self._limits, self._unit)
        except OutOfReach as refused:
            self._near = refused.nearest.segments
            self.solving.say_problem(refused.sentence, near=True)
            return
        except UserProblem as problem:
            self.solving.say_problem(problem.sentence)
            return
        self._ask(found.segments, parse_cone(cone))
        words = HANDLES[handle]
        self.solving.say_answer(
            f"{words[0].upper()}{words[1:]} {found.say(self._unit)}: comes to "
            f"{say_cone(found.estimate)}, from {found.estimate.interval_label}. "
            "Keep it, or go back."
        )

    def go_back(self) -> None:
        """Let go of what was turned."""
        self.solving.clear()
        self._ask(self._own)

    def ask_name(self) -> None:
        """Ask under which name to keep the segments as turned."""
        self.name.set_text(self._proposed_name())
        self.name.show()
        self.name.line.selectAll()
        self.name.setFocus()
        # The field is laid out first: it stands below what the window shows.
        QTimer.singleShot(0, self, partial(show_whole, self.name))

    def say_name_problem(self, sentence: str) -> None:
        """The name can't be; say why at its field."""
        self.name.set_problem(sentence)

    def end_name(self) -> None:
        """The new program is kept."""
        self._end_name()
        self.go_back()

    # How it works

    def _ask(self, segments: tuple[Segment, ...], solved: str = "") -> None:
        self._asked, self._solved = segments, solved
        self.solving.say_problem("")
        try:
            top, own = find_top(segments), find_top(self._own)
        except UserProblem:
            self.nothing.show()
            self._turning.hide()
            self.set_quiet("")
            self._asked = ()
            self.asked.emit(None)
            return
        self.nothing.hide()
        self._turning.show()
        for handle, row in self.rows.items():
            low, high = reach_of(top, handle, self._limits)
            row.show_value(value_of(top, handle), value_of(own, handle), low, high)
        changed = self.is_changed()
        for button in (self.keep_new, self.keep_here, self.back):
            button.setEnabled(changed)
        self.set_quiet(
            "not kept" if changed else "as the program is", "rust" if changed else "ink3"
        )
        if not changed:
            self._end_name()
        elif self.name.isVisible() and not self.name.line.isModified():
            self.name.set_text(self._proposed_name())
        self._tell()
        self.asked.emit(segments if changed else None)

    def _tell(self) -> None:
        """Tell the cone and the duration beside those of the program as it is."""
        offset = self._offset()
        now = cone_if(self._asked, offset, self._limits)
        before = cone_if(self._own, offset, self._limits)
        changed = self.is_changed()
        self.amounts.set_label("It would come to cone" if changed else "It comes to cone")
        self.amounts.set_value(now.label, _interval_of(now))
        self.lasts.set_label("It would take" if changed else "It takes")
        lasts, was = duration_s(self._asked), duration_s(self._own)
        self.lasts.set_value(
            show_duration(lasts), _difference(lasts, was) if changed else "as programmed"
        )
        words = self._say_kiln(offset)
        if changed:
            words = f"As the program is: {say_cone(before)}. {words}"
        self.told.setText(words)
        cone = self.solving.wanted.text() or self._program[2]
        self.old_chart.say(self._say_old_chart(cone, find_top(self._asked).peak_c))

    def _say_kiln(self, offset: LevelOffset | None) -> str:
        if offset is None:
            told = "Told as if the sensor were right and the kiln kept up."
        else:
            told = (
                "Temperatures as the controller shows them, the cone as the ware gets it: by its "
                f"witness cones the ware in {self._offsets[self._spot()][0]} runs "
                f"{self._say_offset(offset.offset_c)}"
                + ("." if offset.calibrated else ", from too few readings to rely on.")
                + self._say_levels()
            )
        if self._asked and self._asked[-1].target_c > find_top(self._asked).peak_c - 100.0:
            told += " The kiln's own cooling after the last segment is not counted."
        return told

    def _say_levels(self) -> str:
        """The cone at each level, where the kiln as a whole is chosen and has several."""
        kiln_id, level_id = self._spot()
        spots = [
            spot
            for kiln in self._kilns
            if kiln.kiln_id == kiln_id
            for spot in kiln.spots
            if spot.level_id
        ]
        if level_id or len(spots) < 2:
            return ""
        by_level = [
            f"{spot.name} {cone_if(self._asked, spot.offset, self._limits).label}" for spot in spots
        ]
        return f" By level: {', '.join(by_level)}."

    def _say_offset(self, offset_c: float) -> str:
        """Offsets are what the cones say over the sensor."""
        if abs(offset_c) < 0.5:
            return "as the sensor says"
        step = show_degrees(offset_c, self._unit)
        return f"{step} {'hotter' if offset_c > 0 else 'cooler'} than the sensor"

    def _say_old_chart(self, cone: str, peak_c: float) -> str:
        try:
            said = say_old_chart(cone, peak_c, self._unit) if cone else ""
        except UserProblem:
            return ""
        return f"{said} Today's chart gives what is told above." if said else ""

    def _with_own_rate(self, at: int) -> Segment:
        own = self._own[find_top(self._own).segment]
        now = self._asked[at]
        return Segment(own.rate_c_per_h, now.target_c, now.hold_min)

    def _proposed_name(self) -> str:
        top, aimed = find_top(self._asked), self._program[2]
        if self._solved and self._solved != aimed:
            return f"{self._program[1]}, cone {show_cone(self._solved)}"
        told = [show_handle("peak", top.peak_c, self._unit)]
        rate = self._asked[top.segment].rate_c_per_h
        if rate and rate != self._own[top.segment].rate_c_per_h:
            told.insert(0, show_handle("rate", rate, self._unit))
        if top.hold_min:
            told.append(f"hold {show_handle('hold', top.hold_min)}")
        name = ", ".join((self._program[1], *told))
        return " ".join(name.split())  # a name has plain spaces only

    def _end_name(self) -> None:
        self.name.hide()
        self.name.set_problem("")

    def _keep_new(self) -> None:
        self.kept_new.emit(self.name.text(), self._asked, self._solved)

    def _choose_kiln(self, _chosen: object) -> None:
        self.solving.clear()
        if self._asked:
            self._ask(self._asked, self._solved)
        self.kiln_chosen.emit(self._spot()[0])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.name.isVisible():
            self._end_name()
            self.keep_new.setFocus(Qt.FocusReason.OtherFocusReason)
        elif event.key() == Qt.Key.Key_Escape and self.is_changed():
            self.go_back()
        else:
            super().keyPressEvent(event)


def _interval_of(estimate: ConeEstimate) -> str:
    if "below_chart" in estimate.flags or "above_chart" in estimate.flags:
        return "off the chart of cones"
    return estimate.interval_label


def _difference(lasts_s: float, was_s: float) -> str:
    """Of the durations as they are shown, to the minute, so that the sum is right."""
    seconds = 60.0 * (whole_minutes(lasts_s) - whole_minutes(was_s))
    if not seconds:
        return "as long as before"
    sign = "+" if seconds > 0 else MINUS
    return f"{sign}{show_duration(abs(seconds))}"
