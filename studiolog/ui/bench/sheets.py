"""Sheets over the bench: starting a run, and putting pieces into a firing."""

from collections.abc import Mapping
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import FIRING_KINDS, PURPOSES, STAGES, join_words
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.bench_rows import BenchRow
from studiolog.journal.load_pieces import add_to_load
from studiolog.journal.loads import OpenLoad
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.run_loads import PlannedIn, read_planned
from studiolog.journal.run_page import FiringChoice, read_run_choices
from studiolog.journal.runs import place_pieces
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.due import say_day
from studiolog.ui.parts.fields import DayField, LineField, NumberField, ProblemLine
from studiolog.ui.parts.section import primary_button
from studiolog.ui.parts.swatch import ClayLook
from studiolog.ui.parts.text import Caption, Text


def labelled(words: str, control: QWidget) -> QVBoxLayout:
    """A control with its label above, as fields have it."""
    rows = QVBoxLayout()
    rows.setSpacing(4)
    rows.addWidget(Text(words, "secondary", 500, "ink2"))
    rows.addWidget(control)
    return rows


class _Sheet(QDialog):
    """A window-modal sheet: title, body, one primary action; Esc leaves it."""

    def __init__(self, title: str, action: str, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self.setMinimumWidth(theme.current().px(520))
        self.body = QVBoxLayout()
        self.body.setSpacing(14)
        self.problem = ProblemLine()
        self.go = primary_button(action)
        self.go.setDefault(True)
        leave = QPushButton("Cancel")
        leave.clicked.connect(self.reject)
        feet = QHBoxLayout()
        feet.setSpacing(8)
        feet.addStretch(1)
        feet.addWidget(leave)
        feet.addWidget(self.go)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(24, 20, 24, 20)
        rows.setSpacing(16)
        rows.addWidget(Text(title, "figure", 600))
        rows.addLayout(self.body)
        rows.addWidget(self.problem)
        rows.addLayout(feet)


class StartRunSheet(_Sheet):
    """Form, clay, how many, for whom, and the day. ``started`` carries the run's id."""

    started = Signal(int)

    def __init__(
        self, desk: Desk, given: Mapping[str, Any] | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__("Start a run", "Start the run", parent)
        self.desk = desk
        self._choices = desk.read(read_run_choices)
        known = dict(given or {})
        self.form = PickOne(
            "Form",
            [Choice(one.row_id, one.name, note=one.note) for one in self._choices.forms],
            "Type part of a form's name",
        )
        self.clay = PickOne(
            "Clay",
            [
                Choice(clay.row_id, clay.name, ClayLook(clay.name, clay.colour, clay.specks))
                for clay in self._choices.clays
            ],
            "Type part of a clay's name",
        )
        self.title_field = LineField("Title, if the form's name is not enough")
        self.how_many = NumberField("How many", "pieces", None, 0, 0, 1000)
        self.made_on = DayField("Made on", known.get("made_on") or date.today())
        self.purpose = SegmentedChoice(
            "What for", [Choice(key, words) for key, words in PURPOSES.items()]
        )
        self.order_line = PickOne(
            "Order",
            [Choice(line.row_id, line.name) for line in self._choices.order_lines],
            "Which order it serves" if self._choices.order_lines else "No open order",
        )
        self.stage = PickOne("Stage", [Choice(key, STAGES[key]) for key in list(STAGES)[:4]])
        self._part = known.get("set_part_id"), known.get("form_id")
        self.for_set = Caption(f"Set aside for “{known.get('set_name', '')}” at once.", tone="ink2")
        self._build()
        self._fill(known)
        self.order_line.picked.connect(self._take_line)
        self.purpose.picked.connect(self._take_purpose)
        for one in (self.order_line, self.form, self.purpose):
            one.picked.connect(lambda _one: self.for_set.setVisible(self.set_part() is not None))
        self.go.clicked.connect(self.start)
        self.clay.picked.connect(lambda _clay: self.no_clay.hide())
        if self._choices.forms:
            self.form.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            # Nothing was ever made here: a title will do, and the count is what is asked next.
            self.title_field.line.setFocus(Qt.FocusReason.OtherFocusReason)
            self.setTabOrder(self.title_field.line, self.how_many.line)

    def _build(self) -> None:
        first = QHBoxLayout()
        first.setSpacing(16)
        first.addLayout(labelled("Form", self.form), 1)
        first.addLayout(labelled("Clay", self.clay), 1)
        second = QHBoxLayout()
        second.setSpacing(16)
        second.addWidget(self.how_many)
        second.addWidget(self.made_on)
        second.addLayout(labelled("They are", self.stage))
        self.body.addLayout(first)
        self.body.addLayout(second)
        self.body.addLayout(labelled("What for", self.purpose))
        self.body.addLayout(labelled("Order", self.order_line))
        self.body.addWidget(self.for_set)
        self.body.addWidget(self.title_field)
        self.no_clay = Caption(
            "Without a clay, drying and shrinkage are told by common practice.", tone="ink3"
        )
        self.body.addWidget(self.no_clay)

    def _fill(self, known: Mapping[str, Any]) -> None:
        self.stage.choose(known.get("stage", "wet"))
        self.form.choose(known.get("form_id"))
        self.clay.choose(known.get("clay_id"))
        self.no_clay.setVisible(self.clay.chosen() is None)
        self.order_line.choose(known.get("order_line_id"))
        self.how_many.set_value(known.get("how_many"))
        self.title_field.set_text(known.get("title", ""))
        line = self.order_line.chosen()
        for_order = line is not None
        if for_order and self.form.chosen() is None:
            self._take_line(line)
        self.purpose.choose("order" if for_order else known.get("purpose", "stock"))
        self.for_set.setVisible(self.set_part() is not None)

    def _take_line(self, line_id: object) -> None:
        line = next(one for one in self._choices.order_lines if one.row_id == line_id)
        self.purpose.choose("order")
        if line.form_id is not None:
            self.form.choose(line.form_id)
        if not self.how_many.text() and line.short:
            self.how_many.set_value(line.short)

    def _take_purpose(self, purpose: object) -> None:
        if purpose != "order":
            self.order_line.choose(None)

    def set_part(self) -> int | None:
        """The part of a set the run is for: none once it is of another form or for an order."""
        part_id, form_id = self._part
        other = form_id is not None and self.form.chosen() != form_id
        return None if other or self.order_line.chosen() is not None else part_id

    def draft(self) -> RunDraft:
        """The run as it stands in the sheet. Raises `UserProblem`."""
        how_many = self.how_many.value()
        made_on = self.made_on.day()
        if how_many is None or how_many < 1:
            self.how_many.set_problem("How many were made?")
            raise UserProblem("Say how many pieces were made.")
        if made_on is None:
            self.made_on.set_problem("On which day?")
            raise UserProblem("Say on which day they were made.")
        if made_on > date.today():
            self.made_on.set_problem("A run was made today or before.")
            raise UserProblem("The day it was made on is still to come.")
        form, clay = self.form.chosen(), self.clay.chosen()
        line = self.order_line.chosen()
        if form is None and not self.title_field.text():
            raise UserProblem("Choose a form, or give the run a title.")
        return RunDraft(
            made_on=made_on,
            form_id=form if isinstance(form, int) else None,
            clay_id=clay if isinstance(clay, int) else None,
            how_many=round(how_many),
            title=self.title_field.text(),
            purpose=str(self.purpose.chosen() or "stock"),
            stage=str(self.stage.chosen() or "wet"),
            order_line_id=line if isinstance(line, int) else None,
            set_part_id=self.set_part(),
        )

    def start(self) -> None:
        """Log the run; what is wrong is said in the sheet."""
        try:
            draft = self.draft()
            run_id = self.desk.edits.run(
                f"Start run {self._choices.next_number}",
                partial(log_run, draft=draft),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.started.emit(run_id)
        self.accept()


_LOAD = "load"


class PackSheet(_Sheet):
    """So many pieces of a run into a load that is planned, or a firing, there on a level."""

    def __init__(
        self,
        desk: Desk,
        row: BenchRow,
        stage: str,
        parent: QWidget | None = None,
        how_many: int = 0,
    ) -> None:
        super().__init__(f"Put run {row.number} into a kiln", "Put them in", parent)
        self.desk, self._row, self._stage = desk, row, stage
        choices = desk.read(read_run_choices)
        self._firings = {firing.firing_id: firing for firing in choices.firings}
        # A load is planned and not lit yet: where there is one, it is what is meant.
        self._loads = {load.load_id: load for load in choices.loads if stage in load.takes}
        self.firing = PickOne(
            "Load or firing",
            [
                *(Choice((_LOAD, ident), _say_load(load)) for ident, load in self._loads.items()),
                *(Choice(ident, _say_firing(one)) for ident, one in self._firings.items()),
            ],
            "Which load or firing"
            if self._firings or self._loads
            else "Begin a load under Firings first",
        )
        self.level = PickOne("Level", hint="Not said")
        have = row.counted.get(stage, 0)
        planned = desk.read(partial(read_planned, run_ids=[row.run_id])).get(row.run_id, ())
        inside = [load for load in planned if load.stage == stage]
        free = have - sum(load.counted for load in inside)
        some = min(how_many, have) or free or have
        self.how_many = NumberField("How many", f"of {have} {STAGES[stage]}", some, 0, 1, have)
        across = QHBoxLayout()
        across.setSpacing(16)
        across.addWidget(self.how_many)
        across.addLayout(labelled("Level", self.level), 1)
        self.body.addLayout(labelled("Load or firing", self.firing))
        self.body.addLayout(across)
        told = join_words([_say_planned(load) for load in inside])
        self.inside = Caption(f"Already in a load: {told}." if told else "", tone="ink2")
        self.inside.setVisible(bool(told))
        self.body.addWidget(self.inside)
        self.firing.picked.connect(self._offer_levels)
        wanted = "bisque" if stage == "bone_dry" else "glaze"
        newest = next((one for one in self._firings.values() if one.kind == wanted), None)
        if self._loads:
            self.firing.choose((_LOAD, next(iter(self._loads))))
        elif newest is not None:
            self.firing.choose(newest.firing_id)
            self._offer_levels(newest.firing_id)
        self.go.clicked.connect(self.pack)

    def _offer_levels(self, firing_id: object) -> None:
        levels = self._firings[firing_id].levels if isinstance(firing_id, int) else ()
        self.level.setEnabled(bool(levels))
        self.level.set_choices([Choice(ident, name) for ident, name in levels])

    def _put_in_load(self, load_id: int, how_many: int) -> None:
        title = self._loads[load_id].title
        edit = partial(
            add_to_load,
            load_id=load_id,
            run_id=self._row.run_id,
            stage=self._stage,
            how_many=how_many,
        )
        label = f"Put {how_many} of run {self._row.number} into {title}"
        self.desk.edits.run(label, edit)
        self.desk.notices.say(f"{label}.", "Undo", self.desk.edits.undo)

    def pack(self) -> None:
        """Place them; what is wrong is said in the sheet."""
        firing_id, level = self.firing.chosen(), self.level.chosen()
        try:
            how_many = self.how_many.value()
            if firing_id is None:
                raise UserProblem("Say which load or firing. A new one is begun under Firings.")
            if how_many is None:
                raise UserProblem("Say how many.")
            if isinstance(firing_id, tuple):
                self._put_in_load(int(firing_id[1]), round(how_many))
                self.accept()
                return
            if not isinstance(firing_id, int):
                return
            self.desk.edits.run(
                f"Put {round(how_many)} of run {self._row.number} into firing "
                f"{self._firings[firing_id].number}",
                partial(
                    place_pieces,
                    run_id=self._row.run_id,
                    stage=self._stage,
                    how_many=round(how_many),
                    firing_id=firing_id,
                    level_id=level if isinstance(level, int) else None,
                ),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.accept()


def _say_load(load: OpenLoad) -> str:
    day = f", {say_day(load.planned_on)}" if load.planned_on else ""
    return f"Next kiln: {load.title}{day}"


def _say_planned(load: PlannedIn) -> str:
    day = f" for {say_day(load.planned_on)}" if load.planned_on else ""
    return f"{load.pieces} in {load.title}{day}"


def _say_firing(firing: FiringChoice) -> str:
    kind = FIRING_KINDS.get(firing.kind, firing.kind)
    return f"{firing.number}, {kind}, {firing.kiln}, {say_day(firing.started_at)}"
