"""How a form came about: its idea, trials with what came of them, and each decision with why."""

from datetime import date
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import FORM_STANDINGS
from studiolog.desktop.desk import Desk
from studiolog.journal.form_decisions import (
    StoryLine,
    change_decision,
    decide_form,
    delete_decision,
)
from studiolog.journal.form_page import FormPage
from studiolog.problems import UserProblem
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import DayField, EditableNote, LineField, write_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button, primary_button
from studiolog.ui.parts.sight import bring_into_sight, go_back_to_list
from studiolog.ui.parts.text import Text, Words

TONES = {"trial": "ochre", "go": "celadon", "no_go": "rust"}
_BUTTONS = {"go": "Make it in number", "no_go": "Do not", "trial": "Try it again"}
_DONE = {"go": "Why it is made in number", "no_go": "Why it is not", "trial": "What is tried"}


def say_made(line: StoryLine) -> str:
    """``6 made in runs 70 and 71, 2 lost, a fault on 1 of 4 inspected``."""
    runs = [str(number) for number in line.runs]
    told = f"{line.made} made"
    if len(runs) == 1:
        told += f" in run {runs[0]}"
    elif runs:
        few = runs if len(runs) < 5 else [*runs[:3], f"{len(runs) - 3} more"]
        told += f" in runs {', '.join(few[:-1])} and {few[-1]}"
    told += f", {line.lost or 'none'} lost"
    if line.looked:
        told += f", {'a fault' if line.faulty else 'no fault'} on "
        told += f"{line.faulty} of {line.looked}" if line.faulty else f"{line.looked}"
        return f"{told} inspected"
    return f"{told}, nobody has looked at any"


class _Line(LineField):
    """The reasons asked for; Esc gives them up."""

    given_up = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        else:
            super().keyPressEvent(event)


class StorySection(Section):
    """A line a day; below, what may be decided next. ``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk) -> None:
        super().__init__("How it came about")
        self._desk = desk
        self._page: FormPage | None = None
        self._standing = ""
        self.nothing = Text(
            "Nothing was decided of it yet. Decide, and the reasons stay with the form.",
            "secondary",
            tone="ink2",
            wrap=True,
        )
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(8)
        self._grid.setColumnStretch(1, 1)
        self.buttons = {key: QPushButton(words) for key, words in _BUTTONS.items()}
        self._choices = QWidget()
        row = FlowLayout(self._choices)
        for key, button in self.buttons.items():
            row.addWidget(button)
            button.clicked.connect(partial(self.ask, key))
        self.asked = self._make_asked()
        for part in (self.nothing, holder, self._choices, self.asked):
            self.add(part)

    def _make_asked(self) -> QWidget:
        asked = QWidget()
        self.reasons = _Line("Reasons")
        self.day = DayField("Decided on", date.today())
        self.keep_button = primary_button("Keep the decision")
        self.leave_button = QPushButton("Cancel")
        self.leave_button.setAccessibleName("Decide nothing")
        feet = QHBoxLayout()
        feet.addWidget(self.keep_button)
        feet.addWidget(self.leave_button)
        feet.addStretch(1)
        rows = QVBoxLayout(asked)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(self.reasons)
        rows.addWidget(self.day)
        rows.addLayout(feet)
        asked.hide()
        self.reasons.line.returnPressed.connect(self.keep)
        self.reasons.given_up.connect(self.leave)
        self.keep_button.clicked.connect(self.keep)
        self.leave_button.clicked.connect(self.leave)
        return asked

    def show_page(self, page: FormPage) -> None:
        """Show the story of a form; what is half decided of another one is put away."""
        other = self._page is None or self._page.form_id != page.form_id
        same = self._page is not None and not other and self._page.story == page.story
        self._page = page
        if other:
            self.asked.hide()
            self._choices.show()
        self.set_quiet(FORM_STANDINGS[page.standing], TONES[page.standing])
        decided = any(line.kind == "decision" for line in page.story)
        for key, button in self.buttons.items():
            button.setVisible(not decided or key != page.standing)
        self.nothing.setVisible(not page.story)
        if same and self._grid.count():
            return
        clear_layout(self._grid)
        for row, line in enumerate(page.story):
            self._show_line(row, line)

    def _show_line(self, row: int, line: StoryLine) -> None:
        top = Qt.AlignmentFlag.AlignTop
        day = Text(write_day(line.on), "secondary", tone="ink3")
        self._grid.addWidget(day, row, 0, top)
        if line.kind == "idea":
            link = link_button(f"Idea: {line.words}", most=44)
            link.clicked.connect(partial(self.opened.emit, "idea", line.ident))
            self._grid.addWidget(link, row, 1, Qt.AlignmentFlag.AlignLeft)
        elif line.kind == "made":
            self._grid.addWidget(Words(say_made(line), "secondary", tone="ink2"), row, 1)
        else:
            self._grid.addWidget(self._make_decision(line), row, 1)

    def _make_decision(self, line: StoryLine) -> QWidget:
        holder = QWidget()
        word = FORM_STANDINGS[line.standing]
        head = Words(word[0].upper() + word[1:], "secondary", 600, TONES[line.standing])
        day = write_day(line.on)
        reasons = EditableNote(f"Reasons, {day}", line.words, "Say why", "secondary")
        reasons.edited.connect(partial(self._change, line.ident))
        drop = link_button("Take back")
        drop.setAccessibleName(f"Take back: {word}, {day}")
        drop.clicked.connect(partial(self._take_back, line.ident))
        top = QHBoxLayout()
        top.addWidget(head, 1)
        top.addWidget(drop)
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addLayout(top)
        rows.addWidget(reasons)
        return holder

    def ask(self, standing: str) -> None:
        """Ask for the reasons of a decision."""
        self._standing = standing
        self.reasons.label.setText(_DONE[standing])
        self.reasons.line.setAccessibleName(_DONE[standing])
        self.reasons.set_text("")
        self.day.set_day(date.today())
        self._choices.hide()
        self.asked.show()
        self.reasons.line.setFocus(Qt.FocusReason.OtherFocusReason)
        # Once it is laid out: a key may ask from far down the page.
        QTimer.singleShot(0, self.reasons, bring_into_sight)

    def ask_next(self) -> None:
        """Ask for the first thing that may be decided now."""
        first = next((key for key, button in self.buttons.items() if not button.isHidden()), "go")
        self.ask(first)

    def leave(self) -> None:
        """Decide nothing."""
        self.asked.hide()
        self._choices.show()
        if self._standing in self.buttons:
            self.buttons[self._standing].setFocus(Qt.FocusReason.OtherFocusReason)

    def keep(self) -> None:
        """Keep the decision, or say what is wanting."""
        page, said, standing = self._page, self.reasons.text(), self._standing
        if page is None or self.asked.isHidden():
            return
        try:
            day = self.day.day() or date.today()
        except UserProblem:
            return  # the field says it
        if day > date.today():
            self.day.set_problem("A decision is of today, or of a day before.")
            return
        try:
            self._desk.edits.run(
                f"Decide on {page.name}",
                lambda session: decide_form(session, page.form_id, standing, day, said),
            )
        except UserProblem as problem:
            self.reasons.set_problem(problem.sentence)
            return
        go_back_to_list(self.asked)
        self.asked.hide()
        self._choices.show()

    def _change(self, decision_id: int, text: str) -> None:
        page = self._page
        if page is None:
            return
        if not self._desk.edits.try_run(
            f"Change the reasons for {page.name}",
            lambda session: change_decision(session, decision_id, reasons=text),
        ):
            clear_layout(self._grid)
            for row, line in enumerate(page.story):
                self._show_line(row, line)

    def _take_back(self, decision_id: int) -> None:
        page = self._page
        if page is not None and self._desk.edits.try_run(
            f"Take back a decision on {page.name}",
            partial(delete_decision, decision_id=decision_id),
        ):
            self._desk.notices.say("The decision is taken back.", "Undo", self._desk.edits.undo)
