"""What came of an idea: the form it became, its answer, or why it was dropped."""

from dataclasses import dataclass
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import FORM_STANDINGS
from studiolog.desktop.desk import Desk
from studiolog.journal.forms import list_forms
from studiolog.journal.ideas import (
    IdeaPage,
    change_idea,
    make_form_of,
    reopen_idea,
    settle_idea,
)
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import EditableNote, LineField, write_day
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.outcome_words import say_outcome
from studiolog.ui.parts.section import Section, link_button, primary_button
from studiolog.ui.parts.sight import bring_into_sight, go_back_to_list
from studiolog.ui.parts.text import Text

_NO_FORM = 0


@dataclass(frozen=True)
class _Asked:
    """What is asked for before an idea is settled one way."""

    label: str
    hint: str
    button: str


_ASKED = {
    "form": _Asked("Name of the form", "", "Make the form"),
    "answered": _Asked("The answer", "what was found out", "Keep the answer"),
    "dropped": _Asked("Why it is dropped", "too heavy, nobody asked for it …", "Drop it"),
}


class _Line(LineField):
    """The line that is asked for; Esc gives it up."""

    given_up = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        else:
            super().keyPressEvent(event)


class SettleSection(Section):
    """Three ways to settle an idea, each with the words it needs; ``opened`` a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("What came of it", parent=parent)
        self._desk = desk
        self._page: IdeaPage | None = None
        self._way = ""
        self.words = Text("", "secondary", tone="ink2", wrap=True)
        self.outcome = EditableNote("What came of it", hint="Add words")
        self.form_link = link_button("")
        self.form_words = Text("", "secondary", tone="ink2", wrap=True)
        self.buttons: dict[str, QPushButton] = {
            "form": QPushButton("It becomes a form"),
            "answered": QPushButton("Answer"),
            "dropped": QPushButton("Drop"),
            "open": QPushButton("Open again"),
        }
        for key, tip in (("form", "B"), ("answered", "A"), ("dropped", "D")):
            self.buttons[key].setToolTip(tip)
        self._holder = QWidget()
        row = FlowLayout(self._holder)
        for way, button in self.buttons.items():
            row.addWidget(button)
            button.clicked.connect(partial(self.ask, way))
        self.asked = self._make_asked()
        self.add(self.words)
        self.body.addWidget(self.form_link, 0, Qt.AlignmentFlag.AlignLeft)
        for part in (self.form_words, self.outcome):
            self.add(part)
        self.add(self._holder)
        self.add(self.asked)
        self.outcome.edited.connect(self._change_outcome)
        self.form_link.clicked.connect(self._open_form)

    def _make_asked(self) -> QWidget:
        asked = QWidget()
        self.line = _Line("Words")
        self.parent_form = PickOne("As a version of")
        self._parent_row = QWidget()
        self._parent_row.setLayout(labelled("As a version of", self.parent_form))
        self._parent_row.layout().setContentsMargins(0, 0, 0, 0)  # type: ignore[union-attr]
        self.keep_button = primary_button("Keep")
        self.leave_button = QPushButton("Cancel")
        self.leave_button.setAccessibleName("Leave the idea as it is")
        feet = QHBoxLayout()
        feet.addWidget(self.keep_button)
        feet.addWidget(self.leave_button)
        feet.addStretch(1)
        rows = QVBoxLayout(asked)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(self.line)
        rows.addWidget(self._parent_row)
        rows.addLayout(feet)
        asked.hide()
        self.line.line.returnPressed.connect(self.keep)
        self.keep_button.clicked.connect(self.keep)
        self.leave_button.clicked.connect(self.leave)
        self.line.given_up.connect(self.leave)
        return asked

    def show_page(self, page: IdeaPage) -> None:
        """Show how an idea stands; what was being asked for another one is put away."""
        if (
            self._page is None
            or self._page.idea_id != page.idea_id
            or self._page.state != page.state
        ):
            go_back_to_list(self.asked)
            self.asked.hide()
        self._page = page
        waiting = page.state == "open"
        self.words.setText(_say_state(page))
        self.outcome.setVisible(page.state in ("answered", "dropped"))
        self.outcome.set_text(page.outcome)
        form = page.form
        self.form_link.setVisible(form is not None)
        self.form_words.setVisible(form is not None)
        if form is not None:
            self.form_link.setText(form.name)
            self.form_link.setAccessibleName(f"Open the form {form.name}")
            standing = FORM_STANDINGS[form.standing]
            self.form_words.setText(f"It is {standing}. {say_outcome(form.outcome)}")
        self.buttons["form"].setVisible(waiting and page.kind == "idea")
        self.buttons["answered"].setVisible(waiting and page.kind == "question")
        self.buttons["dropped"].setVisible(waiting)
        self.buttons["open"].setVisible(page.state in ("answered", "dropped"))
        self._holder.setVisible(page.state != "form" and self.asked.isHidden())

    def ways(self) -> list[tuple[str, str]]:
        """How the idea shown may be settled yet, and what a key does for it."""
        page = self._page
        if page is None or page.state != "open":
            return []
        first = ("answered", "answer") if page.kind == "question" else ("form", "becomes a form")
        return [first, ("dropped", "drop")]

    def ask(self, way: str) -> None:
        """Ask for what is needed to settle it this way; "open" needs nothing."""
        page = self._page
        if page is None:
            return
        if way == "open":
            self._desk.edits.try_run(
                f"Open “{page.title}” again", partial(reopen_idea, idea_id=page.idea_id)
            )
            return
        if self.buttons[way].isHidden():
            return
        self._way = way
        asked = _ASKED[way]
        self.line.label.setText(asked.label)
        self.line.line.setAccessibleName(asked.label)
        self.line.line.setPlaceholderText(asked.hint)
        self.line.set_text(page.title if way == "form" else "")
        self.keep_button.setText(asked.button)
        self.keep_button.setAccessibleName(asked.button)
        self._parent_row.setVisible(way == "form")
        if way == "form":
            forms = self._desk.read(list_forms)
            self.parent_form.set_choices(
                [
                    Choice(_NO_FORM, "none, a form of its own"),
                    *(Choice(form.form_id, form.name) for form in forms),
                ]
            )
            self.parent_form.choose(_NO_FORM)
        self._holder.hide()
        self.asked.show()
        self.line.line.setFocus(Qt.FocusReason.OtherFocusReason)
        self.line.line.selectAll()
        QTimer.singleShot(0, self.line, bring_into_sight)

    def leave(self) -> None:
        """Put away what was asked for."""
        self.asked.hide()
        self._holder.show()
        if self._way in self.buttons:
            self.buttons[self._way].setFocus(Qt.FocusReason.OtherFocusReason)

    def keep(self) -> None:
        """Settle the idea with the words typed, or say what is wrong with them."""
        page, said, today = self._page, self.line.text(), date.today()
        if page is None or self.asked.isHidden():
            return
        try:
            if self._way == "form":
                parent = self.parent_form.chosen() or None
                made = self._desk.edits.run(
                    f"“{page.title}” becomes a form",
                    lambda session: make_form_of(
                        session,
                        page.idea_id,
                        today,
                        said,
                        parent if isinstance(parent, int) else None,
                    ),
                )
                self._desk.notices.say(
                    f"{said or page.title} is a form on trial.",
                    "Open it",
                    lambda: self.opened.emit("form", made),
                )
            else:
                label = "Answer" if self._way == "answered" else "Drop"
                way = self._way
                self._desk.edits.run(
                    f"{label} “{page.title}”",
                    lambda session: settle_idea(session, page.idea_id, way, said, today),
                )
        except UserProblem as problem:
            self.line.set_problem(problem.fields.get("outcome", problem.sentence))
            return
        go_back_to_list(self.asked)
        self.asked.hide()

    def _change_outcome(self, text: str) -> None:
        page = self._page
        if page is None:
            return
        if not self._desk.edits.try_run(
            f"Change “{page.title}”",
            lambda session: change_idea(session, page.idea_id, outcome=text),
        ):
            self.outcome.set_text(page.outcome)

    def _open_form(self) -> None:
        if self._page is not None and self._page.form is not None:
            self.opened.emit("form", self._page.form.form_id)


def _say_state(page: IdeaPage) -> str:
    day = write_day(page.settled_on) if page.settled_on is not None else ""
    if page.state == "form":
        return f"Became a form on {day}." if day else "Became a form."
    if page.state == "answered":
        return f"Answered on {day}:"
    if page.state == "dropped":
        return f"Dropped on {day}:"
    if page.kind == "question":
        return "Still open. Answer it once you know, or drop it with a reason."
    return "Still open. It can become a form on trial, or be dropped with a reason."
