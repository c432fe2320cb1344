"""The page of a run: everything of it changed in place, its pieces counted and moved."""

from collections.abc import Callable
from datetime import date, datetime
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import PAGE_MARGIN
from studiolog.journal.run_page import RunPage, read_run_choices, read_run_page
from studiolog.journal.runs import (
    add_pieces,
    change_run_facts,
    delete_run,
    drop_pieces,
    move_pieces,
    single_out_one,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.bench.made_with import MadeWith
from studiolog.ui.bench.row_words import count_words, lost_words, since_words, waits_words
from studiolog.ui.bench.rows import shape_of
from studiolog.ui.bench.run_facts import RunFacts
from studiolog.ui.bench.run_lists import RunLists
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.cover_section import CoverSection
from studiolog.ui.parts.due import DueFlag, say_day, tell_due
from studiolog.ui.parts.fields import EditableNote, LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.half_section import HalfSection
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.named_head import NamedHead
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.stage_bar import StageBar
from studiolog.ui.parts.text import Text


class RunView(QWidget):
    """``left`` goes back to the bench, ``opened`` carries a kind and an id, ``pack_asked`` a row
    and a stage, ``start_asked`` what a following run is to be given."""

    left = Signal()
    opened = Signal(str, int)
    pack_asked = Signal(object, str)
    start_asked = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.page: RunPage | None = None
        self._build()
        self._connect()

    def _build(self) -> None:
        self.back = link_button("On the bench")
        self.drawing = HalfSection("Form")
        side = theme.current().px(56)
        self.drawing.setFixedSize(side, side)
        self.mark = NumberMark("run", size=48)
        picture = QWidget()
        before = QHBoxLayout(picture)
        before.setContentsMargins(0, 0, 0, 0)
        before.setSpacing(16)
        before.addWidget(self.mark)
        before.addWidget(self.drawing)
        self.head = NamedHead("Title of the run", "Title", picture)
        self.title, self.quiet, self.problem = self.head.name, self.head.quiet, self.head.problem
        self.due = DueFlag()
        self.again = QPushButton("Start another")
        self.again.setToolTip("A new run of the same form and clay")
        self.delete = QPushButton("Delete")
        for action in (self.delete, self.again, self.due):
            self.head.add_action(action)
        self._build_stages()
        self.lists = RunLists()
        self.facts = RunFacts(self.desk)
        self.cover = CoverSection(self.desk)
        self.made_with = MadeWith(self.desk)
        notes = Section("Notes")
        self.notes = EditableNote("Notes of the run")
        notes.add(self.notes)
        following = Section("Next time")
        self.next_time = EditableNote("Next time", hint="What to change next time")
        following.add(self.next_time)
        columns = TwoColumns(900, 360)
        columns.main.addWidget(self.where)
        columns.main.addWidget(self.lists)
        for section in (self.cover, self.facts, self.made_with, notes, following):
            columns.side.addWidget(section)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(PAGE_MARGIN, 12, PAGE_MARGIN, 24)
        rows.setSpacing(0)
        rows.addWidget(self.back, 0, Qt.AlignmentFlag.AlignLeft)
        rows.addWidget(self.head)
        rows.addWidget(columns)
        rows.addStretch(1)

    def _build_stages(self) -> None:
        self.where = Section("Where the pieces are")
        self.bar = StageBar({})
        self.since = Text("", "secondary", tone="ink2", wrap=True)
        self.lost = Text("", "secondary", tone="ink3", wrap=True)
        self.how_many = NumberField("Move", "pieces", 1, 0, 1, 1000)
        self.from_stage = PickOne("From stage")
        self.to_stage = PickOne("To stage", [Choice(key, word) for key, word in STAGES.items()])
        self.note = LineField("Note, or why it was lost")
        self.move_button = QPushButton("Move them")
        self.single = QPushButton("Single one out")
        self.single.setToolTip("Give one counted piece a number of its own")
        self.pack = QPushButton("Put in a kiln")
        self.more = QPushButton("Count one more")
        self.fewer = QPushButton("Count one fewer")
        self.move_problem = ProblemLine()
        counted, said = QHBoxLayout(), QHBoxLayout()
        counted.addWidget(self.how_many)
        for words, pick in (("from", self.from_stage), ("to", self.to_stage)):
            box = QVBoxLayout()
            box.setSpacing(4)
            box.addWidget(Text(words.capitalize(), "secondary", 500, "ink2"))
            box.addWidget(pick)
            pick.setFixedWidth(theme.current().px(112) + 20)
            counted.addLayout(box)
        counted.addStretch(1)
        said.addWidget(self.note, 1)
        said.addWidget(self.move_button, 0, Qt.AlignmentFlag.AlignBottom)
        self._moving = QHBoxLayout()
        for part in (counted, said, self._moving):
            part.setSpacing(12)
        self._moving.addLayout(counted)
        self._moving.addLayout(said, 1)
        acts = FlowLayout(spacing=8, line_spacing=8)
        for button in (self.single, self.pack, self.more, self.fewer):
            acts.addWidget(button)
        self.where.add(self.bar)
        self.where.add(self.since)
        self.where.add(self.lost)
        self.where.add(self._moving)
        self.where.add(self.move_problem)
        self.where.add(acts)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: where the row of a move is too long, its note stands under it."""
        super().resizeEvent(event)
        narrow = self.width() < theme.current().px(1100)
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        self._moving.setDirection(way)

    def _connect(self) -> None:
        self.back.clicked.connect(self.left)
        self.again.clicked.connect(self._start_another)
        self.delete.clicked.connect(self._delete)
        self.title.edited.connect(lambda text: self._change(title=text))
        self.notes.edited.connect(lambda text: self._change(notes=text))
        self.next_time.edited.connect(lambda text: self._change(next_time=text))
        self.move_button.clicked.connect(self.move_them)
        self.single.clicked.connect(self._single_out)
        self.pack.clicked.connect(self._pack)
        self.more.clicked.connect(self._count_more)
        self.fewer.clicked.connect(self._count_fewer)
        self.from_stage.picked.connect(self._offer_next)
        self.facts.opened.connect(self.opened)
        self.made_with.opened.connect(self.opened)
        self.lists.opened.connect(self.opened)

    # Reading and showing

    def read(self, run_id: int) -> bool:
        """Read and show a run; False if it is gone."""
        page = self.desk.read(partial(read_run_page, run_id=run_id))
        if page is not None:
            choices = self.desk.read(partial(read_run_choices, run_id=run_id))
            self.facts.show_page(page, choices)
            self.show_page(page)
        return page is not None

    def show_page(self, page: RunPage) -> None:
        """Show a run as the journal read it."""
        today = date.today()
        if self.page is None or self.page.row.run_id != page.row.run_id:
            self._say("")
            self.move_problem.say("")
        self.page = page
        row = page.row
        self.mark.set_number(row.number)
        self.drawing.show_shape(row.name, shape_of(row))
        self.title.set_text(row.title or row.name)
        begun = f"begun {say_day(row.made_on, today)}"
        clay = row.clay or "clay not said"
        parts = (f"{count_words(row)} good" if row.made else count_words(row), clay, begun)
        self.quiet.setText(" · ".join(filter(None, parts)))
        order = row.order
        self.due.setVisible(order is not None)
        if order is not None:
            self.due.show_due(tell_due(order.promised_on, today, order.state))
        drying = bool(row.counts.get("wet") or row.counts.get("leather_hard"))
        self.cover.setVisible(drying)
        if drying:
            self.cover.show_run(row.run_id, row.number, datetime.now())
        self.bar.set_counts(row.counts)
        self.bar.setVisible(bool(row.made))
        told = (since_words(row, today), waits_words(row, page.work, datetime.now()))
        self.since.setText("; ".join(filter(None, told)) or "No pieces are counted yet.")
        self.lost.setText(lost_words(row))
        self.lost.set_tone("rust" if row.lost else "ink3")
        self._show_stages(page)
        self.notes.set_text(page.notes)
        self.next_time.set_text(page.next_time)
        self.lists.show_page(page, today)
        self.made_with.show_run(row.run_id, row.number)

    def _show_stages(self, page: RunPage) -> None:
        counted = page.row.counted
        before = self.from_stage.chosen()
        self.from_stage.set_choices(
            [
                Choice(stage, f"{word}, {counted[stage]}")
                for stage, word in STAGES.items()
                if counted.get(stage)
            ]
        )
        if before is None or not counted.get(str(before)):
            first = next((stage for stage in STAGES if counted.get(stage)), None)
            self.from_stage.choose(first)
            self._offer_next(first)
        for control in (self.move_button, self.single, self.pack, self.fewer):
            control.setEnabled(bool(counted))

    def _offer_next(self, stage: object) -> None:
        stages = list(STAGES)
        if stage in stages:
            place = stages.index(str(stage)) + 1
            self.to_stage.choose(stages[min(place, len(stages) - 2)])

    # What a person does

    def move_them(self) -> None:
        """Move or lose so many counted pieces, as the row of fields says."""
        from_stage, to_stage = self.from_stage.chosen(), self.to_stage.chosen()
        self.move_problem.say("")
        try:
            how_many = self.how_many.value()
        except UserProblem:
            return
        if self.page is None or from_stage is None or to_stage is None or how_many is None:
            self.move_problem.say("Say how many, from which stage and to which.")
            return
        if from_stage == to_stage:
            self.move_problem.say(f"They are {STAGES[str(to_stage)]} already.")
            return
        number = round(how_many)
        label = f"Run {self.page.row.number}: {number} to {STAGES[str(to_stage)]}"
        if self._run(
            label,
            partial(
                move_pieces,
                run_id=self.page.row.run_id,
                from_stage=str(from_stage),
                to_stage=str(to_stage),
                how_many=number,
                at=_now(),
                note=self.note.text(),
            ),
            self.move_problem.say,
        ):
            self.note.set_text("")
            self.how_many.set_value(1)

    def _change(self, **fields: Any) -> None:
        if self.page is not None:
            row = self.page.row
            edit = partial(change_run_facts, run_id=row.run_id, **fields)
            if not self._run(f"Change run {row.number}", edit, self._say):
                self.show_page(self.page)

    def _single_out(self) -> None:
        stage = self._stage()
        if self.page is None or stage is None:
            return
        row = self.page.row
        try:
            piece_id, number = self.desk.edits.run(
                f"Single out a piece of run {row.number}",
                partial(single_out_one, run_id=row.run_id, stage=stage),
            )
        except UserProblem as problem:
            self.move_problem.say(problem.sentence)
            return
        self.desk.notices.say(f"It is piece {number} now.", "Undo", self.desk.edits.undo)
        self.opened.emit("piece", piece_id)

    def _pack(self) -> None:
        stage = self._stage()
        if self.page is not None and stage is not None:
            self.pack_asked.emit(self.page.row, stage)

    def _count_more(self) -> None:
        if self.page is not None:
            row = self.page.row
            stage = self._stage() or "wet"
            stage = "wet" if stage == "lost" else stage
            edit = partial(add_pieces, run_id=row.run_id, how_many=1, at=_now(), stage=stage)
            self._run(f"Run {row.number}: one more {STAGES[stage]}", edit, self.move_problem.say)

    def _count_fewer(self) -> None:
        stage = self._stage()
        if self.page is not None and stage is not None:
            row = self.page.row
            edit = partial(drop_pieces, run_id=row.run_id, stage=stage, how_many=1)
            self._run(f"Run {row.number}: one fewer {STAGES[stage]}", edit, self.move_problem.say)

    def _start_another(self) -> None:
        if self.page is not None:
            self.start_asked.emit(
                {
                    "form_id": self.page.form_id,
                    "clay_id": self.page.clay_id,
                    "title": self.page.row.title,
                    "purpose": self.page.row.purpose,
                }
            )

    def _delete(self) -> None:
        if self.page is not None:
            row = self.page.row
            if self._run(
                f"Delete run {row.number}", partial(delete_run, run_id=row.run_id), self._say
            ):
                self.desk.notices.say(f"Run {row.number} is deleted.", "Undo", self.desk.edits.undo)
                self.left.emit()

    def _stage(self) -> str | None:
        stage = self.from_stage.chosen()
        return None if stage is None else str(stage)

    def _run(
        self, label: str, edit: Callable[[Session], object], say: Callable[[str], None]
    ) -> bool:
        try:
            self.desk.edits.run(label, edit)
        except UserProblem as problem:
            say(problem.sentence)
            return False
        say("")
        return True

    def _say(self, sentence: str) -> None:
        self.problem.say(sentence)


def _now() -> datetime:
    return datetime.now().replace(microsecond=0)
