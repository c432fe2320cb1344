"""Whether to take another order, and what may be promised for it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QWidget

from studiolog.craft.ware.count_words import say_chance, say_number
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.promise_plan import PromisePlan
from studiolog.journal.promise_telling import say_quote, say_taking
from studiolog.journal.promises import Promises, Quote, quote
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import PickOne
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Text
from studiolog.ui.promises.throws_section import ANY, beside_fields, form_choices

_KEY = "promise quote"
_MOST_ROWS = 8


class QuoteSection(Section):
    """``new_asked`` asks for a new order."""

    new_asked = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Taking orders", link="New order", parent=parent)
        self._desk = desk
        self._plan: PromisePlan | None = None
        self.taking = Text("", "body", wrap=True)
        self.pieces = NumberField("Pieces of a new order", "", 12, 0, 1, 1_000_000)
        self.pieces.setMaximumWidth(theme.current().px(160))
        self.form = PickOne("Form of a new order", [])
        self.form.setMinimumWidth(theme.current().px(170))
        self.button = QPushButton("What to promise")
        self.button.setAccessibleName("What to promise for a new order")
        self.answer = Text("", "body", 600, wrap=True)
        self.weeks = SumLines("Chance to be ready within")
        self.basis = Text("", "secondary", tone="ink3", wrap=True)
        holder = QWidget()
        picked = labelled("Form", self.form)
        picked.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(picked)
        ask = FlowLayout(spacing=16, line_spacing=8)
        for field in (self.pieces, holder, beside_fields(self.button)):
            ask.addWidget(field)
        self.add(self.taking)
        self.add(ask)
        for part in (self.answer, self.weeks, self.basis):
            self.add(part)
            part.hide()
        self.button.clicked.connect(self.ask)
        self.pieces.line.returnPressed.connect(self.ask)
        self.link_opened.connect(self.new_asked)

    def show_promises(self, promises: Promises) -> None:
        """Take up a forecast; an answer to the one before is put away."""
        if promises.plan is not self._plan:
            self._desk.jobs.cancel(_KEY)
            self._put_away()
        self._plan = promises.plan
        kept = self.form.chosen()
        self.form.set_choices(form_choices(promises.plan))
        known = any(form.form_id == kept for form in promises.plan.forms)
        self.form.choose(kept if known else ANY)
        self.taking.setText(say_taking(promises.taking))
        self.taking.set_tone("ink" if promises.taking.is_wise else "ochre")

    def ask(self) -> None:
        """Draw the futures with the new order after all others."""
        plan = self._plan
        if plan is None:
            return
        try:
            wanted = self.pieces.value()
        except UserProblem:
            return  # the field says it
        pieces, chosen = round(wanted or 0), self.form.chosen()
        form_id = chosen if isinstance(chosen, int) and chosen != ANY else None

        def draw(progress: Progress) -> Quote | None:
            def going(done: int, total: int) -> bool:
                progress.step(done, total)
                return not progress.cancelled()

            return quote(plan, form_id, pieces, going)

        self.button.setEnabled(False)
        self._say("Drawing the futures …", "ink3")
        self._desk.jobs.start(_KEY, draw, self._take, self._fail)

    def _put_away(self) -> None:
        self.button.setEnabled(True)
        for part in (self.answer, self.weeks, self.basis):
            part.hide()

    def _say(self, words: str, tone: str = "ink") -> None:
        self.answer.set_tone(tone)
        self.answer.setText(words)
        self.answer.show()

    def _fail(self, problem: Exception) -> None:
        self._put_away()
        if not isinstance(problem, UserProblem):
            self._say("This could not be drawn.", "rust")
            raise problem
        self._say(problem.sentence, "rust")

    def _take(self, told: Quote | None) -> None:
        self.button.setEnabled(True)
        if told is None:
            return
        self._say(say_quote(told))
        self.weeks.show_lines(_weeks(told))
        own = told.basis.runs
        made = f"{own} runs of it" if told.basis.form_id else "runs of any form"
        minutes = "its steps' minutes" if told.basis.says_minutes else "stated minutes"
        self.basis.setText(
            f"{told.throw} are thrown, after all that is owed. From {made} and {minutes}."
        )
        self.basis.show()


def _weeks(told: Quote) -> list[tuple[str, str]]:
    """The weeks in which the answer turns, each with its chance."""
    rows = [(week, chance) for week, chance in told.weeks if chance >= 0.01]
    middle = next((at for at, (_, chance) in enumerate(rows) if chance >= 0.3), 0)
    begins = max(0, min(middle - 1, len(rows) - _MOST_ROWS))
    return [
        (f"within {say_number(week)} week{'' if week == 1 else 's'}", say_chance(chance))
        for week, chance in rows[begins : begins + _MOST_ROWS]
    ]
