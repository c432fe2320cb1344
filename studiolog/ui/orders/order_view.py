"""The page of an order: whom, by when, its lines and what was made of them."""

from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.money import show_money
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.forms import FormLine
from studiolog.journal.orders import (
    ORDER_STATES,
    OrderLineDraft,
    OrderPage,
    change_order,
    delete_order,
    set_order_lines,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.orders.line_row import LineFields, LineRow
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.due import DueFlag, tell_due
from studiolog.ui.parts.fields import (
    DayField,
    EditableNote,
    NumberField,
    ProblemLine,
)
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.named_head import NamedHead
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text


def quiet_words(order: OrderPage) -> str:
    """The order in one line: its number, how far it is, and what it comes to."""
    told = [f"Order {order.number}"]
    if order.wanted:
        told.append(f"{order.finished} of {order.wanted} pieces finished")
    if order.price is not None:
        told.append(f"comes to {show_money(order.price)}")
    return " · ".join(told)


class OrderView(QWidget):
    """``opened`` carries a kind and an id, ``run_asked`` what a run is to be given."""

    opened = Signal(str, int)
    run_asked = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.page: OrderPage | None = None
        self.rows: list[LineRow] = []
        self._forms: list[FormLine] = []
        self._build()
        self._connect()

    def _build(self) -> None:
        self.head = NamedHead("Whom it is for", "Whom")
        self.whom, self.quiet, self.problem = self.head.name, self.head.quiet, self.head.problem
        self.due = DueFlag()
        self.delete = QPushButton("Delete")
        self.head.add_action(self.delete)
        self.head.add_action(self.due)
        self.state = SegmentedChoice(
            "State", [Choice(key, word) for key, word in ORDER_STATES.items()]
        )
        self.promised = DayField("Promised by", prefer="future")
        self.number = NumberField("Number", decimals=0, lowest=1)
        holder = QWidget()
        state = QVBoxLayout(holder)
        state.setContentsMargins(0, 0, 0, 0)
        state.setSpacing(4)
        state.addWidget(Text("State", "secondary", 500, "ink2"))
        state.addWidget(self.state)
        facts = FlowLayout(spacing=24, line_spacing=8)
        for field in (self.promised, holder, self.number):
            facts.addWidget(field)
        self.lines = Section("Lines")
        self._lines = QVBoxLayout()
        self._lines.setSpacing(0)
        self.new_line = LineFields("new line")
        self.add_button = QPushButton("Add the line")
        self.line_problem = ProblemLine()
        self.new_line.add_action(self.add_button)
        adding = QHBoxLayout()
        adding.setSpacing(0)
        adding.addSpacing(theme.current().px(48) + 16)
        adding.addWidget(self.new_line, 1)
        self.lines.add(self._lines)
        self.lines.add(adding)
        self.lines.add(self.line_problem)
        notes = Section("Notes")
        self.notes = EditableNote("Notes of the order")
        notes.add(self.notes)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 8, 24)
        rows.setSpacing(12)
        rows.addWidget(self.head)
        rows.addLayout(facts)
        rows.addSpacing(8)
        rows.addWidget(self.lines)
        rows.addSpacing(8)
        rows.addWidget(notes)
        rows.addStretch(1)
        self.setMaximumWidth(theme.current().px(1160))

    def _connect(self) -> None:
        self.whom.edited.connect(lambda text: self._change(whom=text))
        self.notes.edited.connect(lambda text: self._change(notes=text))
        self.state.picked.connect(lambda state: self._change(state=state))
        self.promised.day_changed.connect(lambda day: self._change(promised_on=day))
        self.number.value_changed.connect(self._keep_number)
        self.delete.clicked.connect(self.delete_shown)
        self.add_button.clicked.connect(self.add_line)
        for field in (self.new_line.what, self.new_line.wanted, self.new_line.price):
            field.line.returnPressed.connect(self.add_line)

    def show_page(self, page: OrderPage, forms: list[FormLine]) -> None:
        """Show an order as the journal read it."""
        today = date.today()
        if self.page is None or self.page.order_id != page.order_id:
            self.problem.say("")
            self.line_problem.say("")
            self.new_line.offer(forms)
            self.new_line.show_values(None, "", None, None)
        self.page, self._forms = page, forms
        self.whom.set_text(page.whom)
        self.quiet.setText(quiet_words(page))
        self.due.show_due(tell_due(page.promised_on, today, page.state))
        self.state.choose(page.state)
        self.promised.set_day(page.promised_on)
        self.number.set_value(page.number)
        self.notes.set_text(page.notes)
        self.new_line.offer(forms)
        self._show_lines()

    def _show_lines(self) -> None:
        assert self.page is not None
        self.lines.set_quiet("" if self.page.lines else "nothing asked for yet")
        if [row.line.line_id for row in self.rows] == [one.line_id for one in self.page.lines]:
            for row, line in zip(self.rows, self.page.lines, strict=True):
                row.show_line(line, self._forms)
            return
        while (item := self._lines.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self.rows = []
        for line in self.page.lines:
            row = LineRow(line, self._forms)
            row.changed.connect(self.keep_line)
            row.dropped.connect(self.drop_line)
            row.run_asked.connect(self.run_asked)
            row.opened.connect(self.opened)
            self._lines.addWidget(row)
            self.rows.append(row)

    # What a person does

    def keep_line(self, line_id: int) -> None:
        """Keep what was typed into a line; what is wrong is said under it."""
        row = next(row for row in self.rows if row.line.line_id == line_id)
        try:
            draft = row.fields.draft(line_id)
        except UserProblem as problem:
            row.problem.say(problem.sentence)
            return
        drafts = [draft if one.line_id == line_id else one for one in self._drafts()]
        self._keep_lines("Change a line", drafts, row.problem.say)

    def drop_line(self, line_id: int) -> None:
        """Take a line away; refused while a run serves it."""
        row = next(row for row in self.rows if row.line.line_id == line_id)
        kept = [draft for draft in self._drafts() if draft.line_id != line_id]
        self._keep_lines("Take away a line", kept, row.problem.say)

    def add_line(self) -> None:
        """Add the line typed at the end."""
        try:
            draft = self.new_line.draft()
        except UserProblem as problem:
            self.line_problem.say(problem.sentence)
            return
        if self._keep_lines("Add a line", [*self._drafts(), draft], self.line_problem.say):
            self.new_line.show_values(None, "", None, None)
            self.new_line.wanted.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def delete_shown(self) -> None:
        """Delete the order; refused while a run serves it."""
        if self.page is None:
            return
        number = self.page.number
        edit = partial(delete_order, order_id=self.page.order_id)
        if self._run(f"Delete order {number}", edit, self.problem.say):
            self.desk.notices.say(f"Order {number} is deleted.", "Undo", self.desk.edits.undo)

    def _drafts(self) -> list[OrderLineDraft]:
        """The lines as stored."""
        assert self.page is not None
        return [
            OrderLineDraft(
                wanted=line.wanted,
                form_id=line.form_id,
                what=line.what,
                price=line.price,
                line_id=line.line_id,
            )
            for line in self.page.lines
        ]

    def _keep_lines(
        self, what: str, drafts: list[OrderLineDraft], say: Callable[[str], None]
    ) -> bool:
        assert self.page is not None
        edit = partial(set_order_lines, order_id=self.page.order_id, lines=drafts)
        return self._run(f"{what} of order {self.page.number}", edit, say)

    def _keep_number(self, number: object) -> None:
        if isinstance(number, float):
            self._change(number=round(number))

    def _change(self, **fields: Any) -> None:
        if self.page is None:
            return
        page = self.page
        edit = partial(change_order, order_id=page.order_id, **fields)
        try:
            self.desk.edits.run(f"Change order {page.number}", edit)
        except UserProblem as problem:
            if "number" in problem.fields:
                self.number.set_problem(problem.fields["number"])
                return
            self.problem.say(problem.sentence)
            self.whom.set_text(page.whom)
            return
        self.problem.say("")

    def _run(
        self, label: str, edit: Callable[[Session], object], say: Callable[[str], None]
    ) -> bool:
        # Said first: a kept edit has the page read anew, and the row it was said at is gone then.
        say("")
        try:
            self.desk.edits.run(label, edit)
        except UserProblem as problem:
            say(problem.sentence)
            return False
        return True
