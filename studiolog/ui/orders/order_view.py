"""The page of an order: whom, by when, its lines and what there is of them, what has left."""

from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.money import show_money
from studiolog.craft.words import ORDER_KINDS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.form_choices import read_form_price
from studiolog.journal.orders import (
    ORDER_STATES,
    OrderLineDraft,
    OrderPage,
    change_order,
    delete_order,
    set_order_lines,
    set_promise,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.orders.line_row import LineRow, draft_of
from studiolog.ui.orders.promise_field import PromiseField
from studiolog.ui.orders.shipments_section import ShipmentsSection
from studiolog.ui.orders.wiping_section import WipingSection
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.due import DueFlag, tell_due
from studiolog.ui.parts.fields import (
    DayField,
    EditableNote,
    LineField,
    NumberField,
    ProblemLine,
)
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.named_head import NamedHead
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text
from studiolog.ui.parts.ware_fields import Ware, WareChoices, WareFields


def quiet_words(order: OrderPage, currency: str = "") -> str:
    """The order in one line: its number, how far it is, and what it comes to."""
    told = [f"Order {order.number}", ORDER_KINDS[order.kind]]
    if order.wanted:
        told.append(f"{order.finished} of {order.wanted} pieces finished")
    if order.price is not None:
        told.append(f"comes to {show_money(order.price, currency)}")
    return " · ".join(told)


class OrderView(QWidget):
    """``opened`` carries a kind and an id, ``run_asked`` what a run is to be given.

    ``ready_when`` is room under the lines for what tells when they will be ready; ``shown`` carries
    each page as it is shown, for it.
    """

    opened = Signal(str, int)
    run_asked = Signal(object)
    shown = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.page: OrderPage | None = None
        self.rows: list[LineRow] = []
        self._choices = WareChoices()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.head = NamedHead("Whom it is for", "Whom")
        self.whom, self.quiet, self.problem = self.head.name, self.head.quiet, self.head.problem
        self.due = DueFlag()
        self.delete = QPushButton("Delete")
        self.head.add_action(self.delete)
        self.head.add_action(self.due)
        self.lines = Section("Lines")
        self._lines = QVBoxLayout()
        self._lines.setSpacing(0)
        self.new_line = WareFields("Wanted", "new line")
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
        self.ready_when = QVBoxLayout()
        self.shipments = ShipmentsSection(self.desk)
        notes = Section("Notes")
        self.notes = EditableNote("Notes of the order")
        notes.add(self.notes)
        self.wiping = WipingSection(self.desk)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 8, 24)
        rows.setSpacing(12)
        rows.addWidget(self.head)
        rows.addLayout(self._build_facts())
        rows.addSpacing(8)
        rows.addWidget(self.lines)
        rows.addLayout(self.ready_when)
        for section in (self.shipments, notes, self.wiping):
            rows.addSpacing(8)
            rows.addWidget(section)
        rows.addStretch(1)
        self.setMaximumWidth(theme.current().px(1160))

    def _build_facts(self) -> QVBoxLayout:
        self.promised = PromiseField()
        self.state = SegmentedChoice(
            "State", [Choice(key, word) for key, word in ORDER_STATES.items()]
        )
        self.kind = PickOne("Kind", [Choice(key, word) for key, word in ORDER_KINDS.items()])
        self.ordered = DayField("Taken on")
        self.number = NumberField("Number", decimals=0, lowest=1)
        self.number.line.setFixedWidth(theme.current().px(72))
        self.contact = LineField("Contact", hint="Only what is needed")
        self.contact.setMinimumWidth(theme.current().px(216))
        first = FlowLayout(spacing=24, line_spacing=8)
        for one in (self.promised, self.ordered, _labelled("State", self.state)):
            first.addWidget(one)
        second = FlowLayout(spacing=24, line_spacing=8)
        for field in (_labelled("Kind", self.kind), self.contact, self.number):
            second.addWidget(field)
        facts = QVBoxLayout()
        facts.setSpacing(8)
        facts.addLayout(first)
        facts.addWidget(self.promised.days)
        facts.addLayout(second)
        return facts

    def _connect(self) -> None:
        self.whom.edited.connect(lambda text: self._change(whom=text))
        self.notes.edited.connect(lambda text: self._change(notes=text))
        self.state.picked.connect(lambda state: self._change(state=state))
        self.kind.picked.connect(lambda kind: self._change(kind=kind))
        self.contact.edited.connect(lambda text: self._change(contact=text))
        self.ordered.day_changed.connect(lambda day: self._change(ordered_on=day))
        self.promised.given.connect(self.promise)
        self.promised.line.returnPressed.connect(self._go_on_to_lines)
        self.number.value_changed.connect(self._keep_number)
        self.delete.clicked.connect(self.delete_shown)
        self.add_button.clicked.connect(self.add_line)
        self.new_line.done.connect(self.add_line)
        self.new_line.form.picked.connect(lambda _form: self._offer_price())

    def show_page(self, page: OrderPage, choices: WareChoices, currency: str = "") -> None:
        """Show an order as the journal read it."""
        today = date.today()
        if self.page is None or self.page.order_id != page.order_id:
            self.problem.say("")
            self.line_problem.say("")
            self.new_line.offer(choices)
            self.new_line.show_ware(Ware())
        self.page, self._choices = page, choices
        self.whom.set_text(page.whom)
        self.quiet.setText(quiet_words(page, currency))
        self.due.show_due(tell_due(page.promised_on, today, page.state))
        self.state.choose(page.state)
        self.kind.choose(page.kind)
        self.promised.show_promise(page, today)
        self.ordered.set_day(page.ordered_on)
        self.number.set_value(page.number)
        if self.contact.text() != page.contact:
            self.contact.set_text(page.contact)
        self.notes.set_text(page.notes)
        self.new_line.offer(choices)
        for fields in (self.new_line, *(row.fields for row in self.rows)):
            if fields.price is not None:
                fields.price.set_currency(currency)
        self._show_lines(currency)
        self.shipments.show_page(page, today)
        self.wiping.show_page(page)
        self.shown.emit(page)

    def _show_lines(self, currency: str) -> None:
        assert self.page is not None
        self.lines.set_quiet("" if self.page.lines else "nothing asked for yet")
        opened = self.page.state == "open"
        if [row.line.line_id for row in self.rows] == [one.line_id for one in self.page.lines]:
            for row, line in zip(self.rows, self.page.lines, strict=True):
                row.show_line(line, self._choices, opened)
            return
        while (item := self._lines.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self.rows = []
        for line in self.page.lines:
            row = LineRow(self.desk, line, self._choices, opened)
            if row.fields.price is not None:
                row.fields.price.set_currency(currency)
            row.changed.connect(self.keep_line)
            row.dropped.connect(self.drop_line)
            row.run_asked.connect(self.run_asked)
            row.opened.connect(self.opened)
            self._lines.addWidget(row)
            self.rows.append(row)

    # What a person does

    def promise(self, words: str) -> None:
        """Give the order a promise; what can't be read is said beneath."""
        assert self.page is not None
        page = self.page
        edit = partial(set_promise, order_id=page.order_id, words=words, today=date.today())
        try:
            self.desk.edits.run(f"Promise order {page.number}", edit)
        except UserProblem as problem:
            self.promised.set_problem(problem.fields.get("promise_words", problem.sentence))

    def _go_on_to_lines(self) -> None:
        """Enter in the promise of a new order goes on to what is asked for."""
        if self.page is not None and not self.page.lines and not self.promised.problem():
            self.new_line.wanted.line.setFocus(Qt.FocusReason.TabFocusReason)

    def keep_line(self, line_id: int) -> None:
        """Keep what was typed into a line; what is wrong is said under it."""
        row = next(row for row in self.rows if row.line.line_id == line_id)
        try:
            draft = draft_of(row.fields.ware(), line_id)
        except UserProblem as problem:
            row.problem.say(problem.sentence)
            return
        drafts = [draft if one.line_id == line_id else one for one in self._drafts()]
        self._keep_lines("Change a line", drafts, row.problem.say)

    def drop_line(self, line_id: int) -> None:
        """Take a line away; refused while a run serves it, or pieces of it have left."""
        row = next(row for row in self.rows if row.line.line_id == line_id)
        kept = [draft for draft in self._drafts() if draft.line_id != line_id]
        self._keep_lines("Take away a line", kept, row.problem.say)

    def _offer_price(self) -> None:
        """The price of the form chosen for a new line, until another is typed."""
        field, form = self.new_line.price, self.new_line.form.chosen()
        if field is None or field.line.text() or not isinstance(form, tuple) or form[0] != "form":
            return
        field.set_value(self.desk.read(lambda session: read_form_price(session, form[1])))

    def add_line(self) -> None:
        """Add the line typed at the end."""
        try:
            draft = draft_of(self.new_line.ware())
        except UserProblem as problem:
            self.line_problem.say(problem.sentence)
            return
        if self._keep_lines("Add a line", [*self._drafts(), draft], self.line_problem.say):
            self.new_line.show_ware(Ware())
            self.new_line.wanted.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def delete_shown(self) -> None:
        """Delete the order; refused while a run serves it, or pieces of it have left."""
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
                clay_id=line.clay_id,
                glaze_id=line.glaze_id,
                set_id=line.set_id,
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
        edit = partial(change_order, order_id=page.order_id, today=date.today(), **fields)
        try:
            self.desk.edits.run(f"Change order {page.number}", edit)
        except UserProblem as problem:
            for key, field in (("number", self.number), ("ordered_on", self.ordered)):
                if key in problem.fields:
                    field.set_problem(problem.fields[key])
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


def _labelled(label: str, choice: QWidget) -> QWidget:
    holder = QWidget()
    rows = QVBoxLayout(holder)
    rows.setContentsMargins(0, 0, 0, 0)
    rows.setSpacing(4)
    rows.addWidget(Text(label, "secondary", 500, "ink2"))
    rows.addWidget(choice)
    return holder
