"""How many to throw to have so many good ones, as a small table."""

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.craft.ware.count_words import say_chance
from studiolog.desktop import theme
from studiolog.journal.promise_plan import PromisePlan
from studiolog.journal.promise_telling import say_loss, say_throws
from studiolog.journal.promises import throws_of
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Text

ANY = 0
"""The choice of no form in particular."""


def form_choices(plan: PromisePlan) -> list[Choice]:
    """The forms of a plan to pick from, any form first."""
    return [Choice(ANY, "any form"), *(Choice(form.form_id, form.name) for form in plan.forms)]


def beside_fields(button: QPushButton) -> QWidget:
    """A button level with the lines of the fields before it, under where their labels stand."""
    holder = QWidget()
    rows = QVBoxLayout(holder)
    rows.setContentsMargins(0, 0, 0, 0)
    rows.setSpacing(4)
    rows.addWidget(Text(" ", "secondary", 500))
    rows.addWidget(button)
    return holder


class ThrowsSection(Section):
    """Good ones wanted and a form; beneath, how sure each number thrown makes it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("How many to throw", parent=parent)
        self._plan: PromisePlan | None = None
        self.good = NumberField("Good ones wanted", "", 10, 0, 0, 1_000_000)
        self.good.setMaximumWidth(theme.current().px(150))
        self.form = PickOne("Form to throw", [Choice(ANY, "any form")])
        self.form.choose(ANY)
        self.form.setMinimumWidth(theme.current().px(170))
        self.answer = Text("", "body", wrap=True)
        self.table = SumLines("How many to throw")
        self.basis = Text("", "secondary", tone="ink3", wrap=True)
        holder = QWidget()
        picked = labelled("Form", self.form)
        picked.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(picked)
        ask = FlowLayout(spacing=16, line_spacing=8)
        ask.addWidget(self.good)
        ask.addWidget(holder)
        self.add(ask)
        for part in (self.answer, self.table, self.basis):
            self.add(part)
        self.good.line.textChanged.connect(lambda _text: self.refresh())
        self.form.picked.connect(lambda _ident: self.refresh())

    def show_plan(self, plan: PromisePlan, form_id: int | None) -> None:
        """Take up a plan and, if one is given, the form of the line chosen."""
        self._plan = plan
        kept = self.form.chosen() if form_id is None else form_id
        self.form.set_choices(form_choices(plan))
        self.form.choose(kept if any(form.form_id == kept for form in plan.forms) else ANY)
        self.refresh()

    def refresh(self) -> None:
        """Tell the table anew."""
        plan = self._plan
        if plan is None:
            return
        chosen = self.form.chosen()
        form_id = chosen if isinstance(chosen, int) and chosen != ANY else None
        try:
            wanted = self.good.value()
            good = round(wanted) if wanted is not None else 0
            throws = throws_of(plan, form_id, good)
            (sure,) = throws_of(plan, form_id, good, (plan.confidence,))
        except UserProblem as problem:
            self.answer.set_tone("rust")
            self.answer.setText(problem.sentence)
            self.table.show_lines([])
            return
        self.answer.set_tone("ink")
        if sure.throw is None:
            told = "No number is enough: all is lost."
        else:
            told = f"Throw {sure.throw} for {good} good ones with {say_chance(plan.confidence)}."
        self.answer.setText(told)
        strong = next(
            (at for at, row in enumerate(throws) if abs(row.chance - plan.confidence) < 1e-9), -1
        )
        self.table.show_lines(say_throws(good, throws), strong)
        self.basis.setText(f"{say_loss(plan.times.loss_from('wet', form_id))}.")
