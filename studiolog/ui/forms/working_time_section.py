"""Working time on the page of a form: how many at once, and what that rests on."""

from functools import partial

from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.how_many import WorkingTime, read_working_time
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.how_many_sheet import open_how_many
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Figure, Text
from studiolog.ui.parts.working_time_words import say_count, say_untimed, say_wrapping

_JOB = "working time of a form"


class WorkingTimeSection(Section):
    """How many of a form can be begun at once as the studio usually works; the sheet has more."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Working time", link="Ask otherwise", parent=parent)
        self._desk = desk
        self._form_id = 0
        self.at_once = Figure("At once, loosely in plastic", "–")
        self.binding = Text("", "body", wrap=True)
        self.wrapping = CautionLine()
        self.untimed = Text("", "secondary", tone="ochre", wrap=True)
        self.sum = SumLines("The sum")
        self.problem = Text("", "secondary", tone="ink2", wrap=True)
        for part in (
            self.at_once, self.binding, self.wrapping, self.untimed, self.sum, self.problem,
        ):  # fmt: skip
            self.add(part)
        self.link_opened.connect(self.ask)

    def ask(self) -> None:
        """Open the sheet for this form."""
        open_how_many(self._desk, self._form_id, self)

    def show_form(self, form_id: int) -> None:
        """Read the working time of a form beside the window, and show it when it is told."""
        if self._form_id != form_id:
            self._show(None, "Working it out from past runs…")
        self._form_id = form_id
        read = self._desk.journal.read
        question = partial(read_working_time, form_id=form_id)
        self._desk.jobs.start(_JOB, lambda _progress: read(question), self._take, self._fail)

    def _take(self, page: WorkingTime) -> None:
        if page.form_ids == (self._form_id,):
            self._show(page, page.problem)

    def _fail(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem):
            raise problem
        self._show(None, problem.sentence)

    def _show(self, page: WorkingTime | None, problem: str) -> None:
        size = page.size if page is not None else None
        told = size is not None
        self.problem.setText(problem)
        self.problem.setVisible(not told)
        for part in (self.at_once, self.binding, self.sum):
            part.setVisible(told)
        self.set_quiet(page.basis if page is not None and told else "")
        self.wrapping.say(say_wrapping(size) if size is not None else "")
        self.untimed.setText(say_untimed(size.untimed) if size is not None else "")
        self.untimed.setVisible(size is not None and bool(size.untimed))
        if page is not None and size is not None:
            self.at_once.set_value(say_count(page, size.pieces))
            self.binding.setText(size.binding)
            self.sum.show_lines([(term.words, term.value) for term in size.terms])
