"""What happened to a piece: the stages it reached, and the steps of work done to it."""

from datetime import date, datetime
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QMenu, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.journal.piece_changes import change_stage_line, change_step, delete_step
from studiolog.journal.piece_lines import StageLine, StepLine
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.pieces import log_step, move_to_stage
from studiolog.journal.stage_history import delete_stage_change
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import (
    DayField,
    EditableText,
    LineField,
    NumberField,
    ProblemLine,
    read_day,
    read_number,
    write_number,
)
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.section import Section, Text, primary_button
from studiolog.ui.parts.stage_bar import StageChip
from studiolog.ui.pieces.looks import short_day
from studiolog.ui.pieces.page_edits import PageEdits, clear, keeping_focus


class StagesSection(Section):
    """When each stage was reached. *Moved to…* adds the next; day and note change in place."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__("Stages", link="Moved to…", parent=parent)
        self._edits = edits
        self._shown: object = None
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        self._none = Text("No stage noted yet.", "body", tone="ink3")
        self.problem = ProblemLine()
        self.menu = QMenu(self)
        self.menu.setAccessibleName("Stage it moved to")
        for stage, words in STAGES.items():
            action = self.menu.addAction(words[0].upper() + words[1:])
            action.triggered.connect(partial(self._moved, stage))
        self.link_opened.connect(self.ask)
        self.link.setToolTip("M")
        self.add(self._grid)
        self.add(self._none)
        self.add(self.problem)

    def ask(self) -> None:
        """Offer the stages."""
        self.menu.popup(self.link.mapToGlobal(self.link.rect().bottomLeft()))

    def _moved(self, stage: str, _checked: bool = False) -> None:
        self.move_to(stage)

    def move_to(self, stage: str) -> None:
        """The piece reached a stage just now; losing it asks why at once."""
        page = self._edits.page
        if page is None:
            return
        at = datetime.now().replace(microsecond=0)
        kept = self._edits.run(
            f"Move to {STAGES[stage]}:",
            lambda session: move_to_stage(session, page.piece_id, stage, at),
            self.problem,
        )
        after = self._edits.page
        if kept and stage == "lost" and after is not None and after.stages:
            note = self.findChild(EditableText, f"stage_note_{after.stages[-1].change_id}")
            if note is not None:
                note.edit()

    def show_page(self, page: PiecePage) -> None:
        """Show the stages of a piece."""
        if (page.piece_id, page.stages) == self._shown:
            return
        self._shown = (page.piece_id, page.stages)
        self._none.setVisible(not page.stages)
        with keeping_focus(self):
            clear(self._grid)
            for row, line in enumerate(page.stages):
                self._put(line, row, last=len(page.stages) == 1)
        self._grid.setColumnStretch(2, 1)

    def _put(self, line: StageLine, row: int, last: bool) -> None:
        words = STAGES[line.stage]
        self._grid.addWidget(StageChip(line.stage, framed=False), row, 0)
        day = EditableText(f"Day it was {words}", short_day(line.at), "day", "secondary")
        day.setObjectName(f"stage_day_{line.change_id}")
        day.setFixedWidth(theme.current().px(92))
        day.edited.connect(partial(self._redate, line, day))
        self._grid.addWidget(day, row, 1)
        hint = "why and where" if line.stage == "lost" else "note"
        note = EditableText(f"Note on {words}", line.note, hint, "secondary", tone="ink2")
        note.setObjectName(f"stage_note_{line.change_id}")
        note.edited.connect(partial(self._note, line))
        self._grid.addWidget(note, row, 2)
        off = IconButton("cross", f"Take back: {words}, {short_day(line.at)}", "ink3")
        off.setEnabled(not last)
        off.clicked.connect(partial(self._take_back, line))
        self._grid.addWidget(off, row, 3)

    def _redate(self, line: StageLine, field: EditableText, typed: str) -> None:
        try:
            day = read_day(typed, date.today())
            if day is None:
                raise UserProblem("Write the day, like 3 Oct.")
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            field.set_text(short_day(line.at))
            return
        at = datetime.combine(day, line.at.time())
        self._change("Date a stage of", line, at, line.note)
        field.set_text(short_day(at))

    def _note(self, line: StageLine, note: str) -> None:
        self._change("Note a stage of", line, line.at, note)

    def _change(self, what: str, line: StageLine, at: datetime, note: str) -> None:
        self._edits.run(
            what,
            lambda session: change_stage_line(session, line.change_id, line.version, at, note),
            self.problem,
        )

    def _take_back(self, line: StageLine, _checked: bool = False) -> None:
        self._edits.run(
            "Take back a stage of",
            lambda session: delete_stage_change(session, line.change_id),
            self.problem,
        )


class StepsSection(Section):
    """Work done to the piece. A line for a new step opens beneath; lines change in place."""

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__("Steps", link="Add a step", parent=parent)
        self._edits = edits
        self._shown: object = None
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        self._none = Text(
            "No step noted: thrown, trimmed, waxed, ground.", "body", tone="ink3", wrap=True
        )
        self.problem = ProblemLine()
        self.new = _NewStep()
        self.new.hide()
        self.new.save.clicked.connect(self.keep_new)
        self.new.cancel.clicked.connect(self._close)
        self.link_opened.connect(self.begin)
        self.add(self._grid)
        self.add(self._none)
        self.add(self.new)
        self.add(self.problem)

    def show_page(self, page: PiecePage, anew: bool) -> None:
        """Show the steps of a piece."""
        if anew:
            self.new.hide()
        if (page.piece_id, page.steps) == self._shown:
            return
        self._shown = (page.piece_id, page.steps)
        self._none.setVisible(not page.steps)
        with keeping_focus(self):
            clear(self._grid)
            for row, line in enumerate(page.steps):
                self._put(line, row)
        self._grid.setColumnStretch(0, 2)
        self._grid.setColumnStretch(3, 2)

    def _put(self, line: StepLine, row: int) -> None:
        minutes = write_number(line.minutes, 1)
        for column, (field, text, about, hint) in enumerate(
            (
                ("name", line.name, "Step", "step"),
                ("day", short_day(line.done_on), f"Day: {line.name}", "day"),
                ("minutes", f"{minutes} min" if minutes else "", f"Minutes: {line.name}", "min"),
                ("note", line.note, f"Note: {line.name}", "note"),
            )
        ):
            size = "body" if field == "name" else "secondary"
            tone = "ink" if field == "name" else "ink2"
            cell = EditableText(about, text, hint, size, tone=tone)
            cell.setObjectName(f"step_{field}_{line.step_id}")
            cell.edited.connect(partial(self._change, line, field, cell, text))
            if field in ("day", "minutes"):
                cell.setFixedWidth(theme.current().px(84 if field == "day" else 60))
            self._grid.addWidget(cell, row, column)
        off = IconButton("cross", f"Remove the step {line.name}", "ink3")
        off.clicked.connect(partial(self._remove, line))
        self._grid.addWidget(off, row, 4)

    def _change(
        self, line: StepLine, field: str, cell: EditableText, before: str, typed: str
    ) -> None:
        name, day, minutes, note = line.name, line.done_on, line.minutes, line.note
        try:
            if field == "name":
                name = typed
            elif field == "day":
                read = read_day(typed, date.today())
                if read is None:
                    raise UserProblem("Write the day, like 3 Oct.")
                day = read
            elif field == "minutes":
                minutes = read_number(typed, "min")
            else:
                note = typed
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            cell.set_text(before)
            return
        kept = self._edits.run(
            "Change a step of",
            lambda session: change_step(
                session, line.step_id, line.version, name, day, minutes, note
            ),
            self.problem,
        )
        if not kept:
            cell.set_text(before)

    def _remove(self, line: StepLine, _checked: bool = False) -> None:
        self._edits.run(
            "Remove a step of", lambda session: delete_step(session, line.step_id), self.problem
        )

    def begin(self) -> None:
        """Open the line for a new step."""
        self.new.show()
        self.new.begin()

    def _close(self) -> None:
        self.new.hide()
        self.link.setFocus(Qt.FocusReason.OtherFocusReason)

    def keep_new(self) -> None:
        """Write the new step; the line stays open for the next."""
        page = self._edits.page
        if page is None:
            return
        try:
            name = self.new.name.text()
            if not name:
                self.new.name.set_problem("Say what was done.")
                self.new.name.setFocus(Qt.FocusReason.OtherFocusReason)
                return
            day = self.new.day.day() or date.today()
            minutes = self.new.minutes.value()
        except UserProblem:
            return  # the field says it
        if self._edits.run(
            "Add a step to",
            lambda session: log_step(session, page.piece_id, name, day, minutes),
            self.problem,
        ):
            self.new.begin()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        inside = self.new.isVisibleTo(self)
        if inside and event.key() == Qt.Key.Key_Escape:
            self._close()
        elif inside and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.keep_new()
        else:
            super().keyPressEvent(event)


class _NewStep(QWidget):
    """What, when, how long."""

    def __init__(self) -> None:
        super().__init__()
        self.name = LineField("Step", hint="trimmed")
        self.day = DayField("Day")
        self.day.line.setFixedWidth(theme.current().px(104))
        self.minutes = NumberField("Minutes", lowest=0)
        self.minutes.line.setFixedWidth(theme.current().px(64))
        self.save = primary_button("Add step")
        self.cancel = QPushButton("Cancel")
        fields = QHBoxLayout()
        fields.setSpacing(10)
        fields.addWidget(self.name, 2, Qt.AlignmentFlag.AlignTop)
        fields.addWidget(self.day, 0, Qt.AlignmentFlag.AlignTop)
        fields.addWidget(self.minutes, 0, Qt.AlignmentFlag.AlignTop)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.cancel)
        foot.addWidget(self.save)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 4)
        rows.addLayout(fields)
        rows.addLayout(foot)

    def begin(self) -> None:
        """Empty, today."""
        self.name.set_text("")
        self.day.set_day(date.today())
        self.minutes.set_value(None)
        self.name.setFocus(Qt.FocusReason.OtherFocusReason)
