"""The page of a set: its parts, how many whole sets stand finished, and what to make next."""

from collections.abc import Callable, Mapping
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.session import Session
from studiolog.journal.set_page import SetPage, say_next
from studiolog.journal.sets import SetPartDraft, change_set, copy_set, set_set_parts
from studiolog.problems import UserProblem
from studiolog.ui.parts.due import DueFlag, tell_due
from studiolog.ui.parts.fields import DayField, EditableNote, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Figure, Text
from studiolog.ui.parts.ware_choices import read_ware_choices
from studiolog.ui.parts.ware_fields import Ware, WareChoices, WareFields
from studiolog.ui.sets.part_row import PartRow, draft_of

HOW = (
    "A piece belongs to a part once it is set aside for it: of a run in work, of stock, or by its "
    "number. The pieces of a run started here are set aside for its part at once."
)


class SetView(ThingPage):
    """``run_asked`` carries what a run is to be given."""

    noun = "set"
    run_asked = Signal(object)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._version: int | None = None
        self.shown: SetPage | None = None
        self.rows: list[PartRow] = []
        self._choices = WareChoices()
        self.due = DueFlag()
        self.copy = QPushButton("Copy")
        self.copy.setAccessibleName("Copy this set, without its pieces")
        self.head.add_action(self.copy)
        self.head.add_action(self.due)
        self.next = Text("", "head", 600, wrap=True)
        self.whole = Figure("Whole sets finished", "")
        self.pieces = Figure("Pieces finished", "")
        self.again = Figure("To make again", "")
        self.wanted = NumberField("Sets wanted", "", None, 0, 1)
        self.wanted.line.setFixedWidth(theme.current().px(72))
        self.due_on = DayField("Due on", prefer="future")
        self.order = link_button("")
        self.parts = Section("Parts")
        self.notes = EditableNote("Notes of the set")
        rows = self.layout()
        assert isinstance(rows, QVBoxLayout)
        rows.insertWidget(1, self.next)
        rows.insertLayout(2, self._build_facts())
        rows.insertSpacing(3, 8)
        rows.insertWidget(4, self.parts)
        self._build_parts()
        notes = Section("Notes")
        notes.add(self.notes)
        rows.insertSpacing(5, 8)
        rows.insertWidget(6, notes)
        self.body.hide()
        self.wanted.value_changed.connect(self._keep_wanted)
        self.due_on.day_changed.connect(lambda day: self.keep("due_on", day))
        self.notes.edited.connect(lambda text: self.keep("notes", text))
        self.copy.clicked.connect(self.copy_shown)
        self.order.clicked.connect(self._open_order)

    def _build_facts(self) -> QVBoxLayout:
        figures = FlowLayout(spacing=32, line_spacing=8)
        for figure in (self.whole, self.pieces, self.again):
            figures.addWidget(figure)
        fields = FlowLayout(spacing=24, line_spacing=8)
        for field in (self.wanted, self.due_on, self.order):
            fields.addWidget(field)
        facts = QVBoxLayout()
        facts.setSpacing(12)
        facts.addLayout(figures)
        facts.addLayout(fields)
        return facts

    def _build_parts(self) -> None:
        self._parts = QVBoxLayout()
        self._parts.setSpacing(0)
        self.new_part = WareFields("In one set", "new part", priced=False)
        self.add_button = QPushButton("Add the part")
        self.new_part.add_action(self.add_button)
        self.part_problem = ProblemLine()
        adding = QHBoxLayout()
        adding.setSpacing(0)
        adding.addSpacing(theme.current().px(48) + 16)
        adding.addWidget(self.new_part, 1)
        self.parts.add(self._parts)
        self.parts.add(adding)
        self.parts.add(self.part_problem)
        self.parts.add(Caption(HOW, wrap=True))
        self.add_button.clicked.connect(self.add_part)
        self.new_part.done.connect(self.add_part)

    def change(self, session: Session, **fields: Any) -> None:
        change_set(session, self.ident, self._version, **fields)

    def show_page(self, page: SetPage) -> None:
        """Show a set as the journal read it."""
        today = date.today()
        choices = self.desk.read(read_ware_choices)
        if self.shown is None or self.shown.set_id != page.set_id:
            self.part_problem.say("")
            self.new_part.offer(choices)
            self.new_part.show_ware(Ware())
        self.shown, self._choices, self._version = page, choices, page.version
        pieces = page.count.pieces_each
        each = f"{pieces} piece{'' if pieces == 1 else 's'} in one" if pieces else "no parts yet"
        self.head.quiet.setText(f"Set, {each}")
        done = page.pieces_wanted and page.pieces_finished >= page.pieces_wanted
        self.due.show_due(tell_due(page.ends_on, today, "delivered" if done else "open"))
        self.due.setVisible(page.ends_on is not None and not done)
        self.next.setText(say_next(page))
        self._show_figures(page)
        self.wanted.set_value(page.wanted)
        self.due_on.set_day(page.due_on)
        self.order.setVisible(page.order_number is not None)
        if page.order_number is not None:
            self.order.setText(f"Asked for by order {page.order_number}")
            self.order.setToolTip(page.order_whom)
            self.order.setAccessibleName(f"{self.order.text()}, {page.order_whom}")
        self.notes.set_text(page.notes)
        self.new_part.offer(choices)
        self._show_parts(page)

    def _show_figures(self, page: SetPage) -> None:
        gone = f"{page.count.shipped} have left" if page.count.shipped else ""
        finished = min(page.count.finished, page.sets)
        tone = "celadon" if page.parts and finished >= page.sets else "ink"
        self.whole.set_value(f"{finished} of {page.sets}", gone, tone)
        self.pieces.set_value(f"{page.pieces_finished} of {page.pieces_wanted}")
        lost = sum(part.progress.lost for part in page.parts)
        self.again.setVisible(bool(lost))
        self.again.set_value(
            str(page.to_remake), f"{lost} lost", "rust" if page.to_remake else "ink"
        )

    def _show_parts(self, page: SetPage) -> None:
        self.parts.set_quiet("" if page.parts else "nothing belongs to it yet")
        if [row.part.part_id for row in self.rows] == [part.part_id for part in page.parts]:
            for row, part in zip(self.rows, page.parts, strict=True):
                row.show_part(part, self._choices)
            return
        while (item := self._parts.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self.rows = []
        for part in page.parts:
            row = PartRow(self.desk, part, self._choices)
            row.changed.connect(self.keep_part)
            row.dropped.connect(self.drop_part)
            row.run_asked.connect(self._ask_run)
            row.opened.connect(self.desk.show)
            self._parts.addWidget(row)
            self.rows.append(row)

    # What a person does

    def _ask_run(self, given: Mapping[str, Any]) -> None:
        name = self.shown.name if self.shown else ""
        self.run_asked.emit({**given, "set_name": name})

    def add_part(self) -> None:
        """Add the part typed at the end."""
        try:
            draft = draft_of(self.new_part.ware())
        except UserProblem as problem:
            self.part_problem.say(problem.sentence)
            return
        if self._keep_parts("Add a part", [*self._drafts(), draft], self.part_problem.say):
            self.new_part.show_ware(Ware())
            self.new_part.wanted.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def keep_part(self, part_id: int) -> None:
        """Keep what was typed into a part; what is wrong is said under it."""
        row = next(row for row in self.rows if row.part.part_id == part_id)
        try:
            draft = draft_of(row.fields.ware(), part_id)
        except UserProblem as problem:
            row.problem.say(problem.sentence)
            return
        drafts = [draft if one.part_id == part_id else one for one in self._drafts()]
        self._keep_parts("Change a part", drafts, row.problem.say)

    def drop_part(self, part_id: int) -> None:
        """Take a part away; its pieces are free again."""
        row = next(row for row in self.rows if row.part.part_id == part_id)
        kept = [draft for draft in self._drafts() if draft.part_id != part_id]
        self._keep_parts("Take away a part", kept, row.problem.say)

    def copy_shown(self) -> None:
        """Enter another set of the same parts, and show it."""
        title = self.head.name.text()
        try:
            ident = self.desk.edits.run(f"Copy {title}", partial(copy_set, set_id=self.ident))
        except UserProblem as problem:
            self.head.problem.say(problem.sentence)
            return
        self.desk.show("set", ident)

    def _open_order(self) -> None:
        if self.shown is not None and self.shown.order_id is not None:
            self.desk.show("order", self.shown.order_id)

    def _keep_wanted(self, wanted: object) -> None:
        if isinstance(wanted, float):
            self.keep("wanted", round(wanted))

    def _drafts(self) -> list[SetPartDraft]:
        """The parts as stored."""
        assert self.shown is not None
        return [
            SetPartDraft(
                each=part.each,
                form_id=part.form_id,
                clay_id=part.clay_id,
                glaze_id=part.glaze_id,
                what=part.what,
                part_id=part.part_id,
            )
            for part in self.shown.parts
        ]

    def _keep_parts(
        self, what: str, drafts: list[SetPartDraft], say: Callable[[str], None]
    ) -> bool:
        edit = partial(set_set_parts, set_id=self.ident, parts=drafts)
        # Said first: a kept edit has the page read anew, and the row it was said at is gone then.
        say("")
        try:
            self.desk.edits.run(f"{what} of {self.head.name.text()}", edit)
        except UserProblem as problem:
            say(problem.sentence)
            return False
        return True
