"""What a run is: form, clay, day, whom it is for, and what it carries on. Kept as it is typed."""

import re
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.words import PURPOSES
from studiolog.desktop.desk import Desk
from studiolog.journal.run_page import RunChoices, RunPage
from studiolog.journal.runs import change_run_facts, set_run_sources
from studiolog.problems import UserProblem
from studiolog.ui.bench.sheets import labelled
from studiolog.ui.parts.choice import Choice, FlowLayout, PickOne
from studiolog.ui.parts.fields import DayField, LineField, NumberField, ProblemLine
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.swatch import ClayLook

_NONE = 0  # the choice that says none


class RunFacts(QWidget):
    """Two sections; ``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._page: RunPage | None = None
        self.form = PickOne("Form")
        self.clay = PickOne("Clay")
        self.way = PickOne("Way of making")
        self.purpose = PickOne("Made for", [Choice(key, word) for key, word in PURPOSES.items()])
        self.order_line = PickOne("Order it serves")
        self.order_link = link_button("Open the order")
        self.made_on = DayField("Made on")
        self.number = NumberField("Number of the run", decimals=0, lowest=1)
        self.problem = ProblemLine()
        run = Section("Run")
        for words, pick in (
            ("Form", self.form),
            ("Clay", self.clay),
            ("Way of making", self.way),
            ("Made for", self.purpose),
            ("Order it serves", self.order_line),
        ):
            run.add(labelled(words, pick))
        run.body.addWidget(self.order_link, 0, Qt.AlignmentFlag.AlignLeft)
        run.add(self.made_on)
        run.add(self.number)
        run.add(self.problem)
        sources = Section("Carries on")
        self._marks = QWidget()
        self._flow = FlowLayout(self._marks, 4, 4)
        self.sources = LineField("Pieces whose lesson it carries on", hint="Numbers, as 412, 415")
        sources.add(self._marks)
        sources.add(self.sources)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(24)
        rows.addWidget(run)
        rows.addWidget(sources)
        for key, pick in (
            ("form_id", self.form),
            ("clay_id", self.clay),
            ("way_id", self.way),
            ("purpose", self.purpose),
            ("order_line_id", self.order_line),
        ):
            pick.picked.connect(partial(self._pick, key))
        self.made_on.day_changed.connect(self._keep_day)
        self.number.value_changed.connect(self._keep_number)
        self.sources.edited.connect(self._keep_sources)
        self.order_link.clicked.connect(self._open_order)

    def show_page(self, page: RunPage, choices: RunChoices) -> None:
        """Show what the run is, and what it could be."""
        self._page = page
        self.problem.say("")
        self.form.set_choices(
            [
                Choice(_NONE, "no form"),
                *(Choice(one.row_id, one.name, note=one.note) for one in choices.forms),
            ]
        )
        self.clay.set_choices(
            [
                Choice(_NONE, "not said"),
                *(
                    Choice(one.row_id, one.name, ClayLook(one.name, one.colour, one.specks))
                    for one in choices.clays
                ),
            ]
        )
        self.order_line.set_choices(
            [
                Choice(_NONE, "no order"),
                *(Choice(one.row_id, one.name) for one in choices.order_lines),
            ]
        )
        self.way.set_choices(
            [Choice(_NONE, "not said"), *(Choice(one.row_id, one.name) for one in choices.ways)]
        )
        self.way.choose(page.way_id or _NONE)
        self.way.setEnabled(bool(choices.ways))
        self.way.setToolTip(
            "" if choices.ways else "Ways are entered on the page of the form, to be told apart."
        )
        self.form.choose(page.form_id or _NONE)
        self.clay.choose(page.clay_id or _NONE)
        self.purpose.choose(page.row.purpose)
        self.order_line.choose(page.order_line_id or _NONE)
        self.order_link.setVisible(page.row.order is not None)
        self.made_on.set_day(page.row.made_on)
        self.number.set_value(page.row.number)
        self._flow.clear()
        self._marks.setVisible(bool(page.came_from))
        for source in page.came_from:
            mark = NumberMark("piece", source.number, source.piece_id)
            mark.setToolTip(source.name)
            mark.opened.connect(self.opened)
            self._flow.addWidget(mark)
            mark.show()
        self.sources.set_text(", ".join(str(source.number) for source in page.came_from))

    def _pick(self, key: str, chosen: object) -> None:
        fields: dict[str, Any] = {key: chosen or None}
        if key == "order_line_id" and chosen:
            fields["purpose"] = "order"
        self._keep(**fields)

    def _keep_day(self, day: object) -> None:
        if day is None:
            self.made_on.set_problem("A run was made on some day.")
        else:
            self._keep(made_on=day)

    def _keep_number(self, number: object) -> None:
        if isinstance(number, float):
            self._keep(number=round(number))

    def _keep(self, **fields: Any) -> None:
        if self._page is None:
            return
        row = self._page.row
        try:
            self.desk.edits.run(
                f"Change run {row.number}",
                partial(change_run_facts, run_id=row.run_id, **fields),
            )
        except UserProblem as problem:
            if "number" in problem.fields:
                self.number.set_problem(problem.fields["number"])
            else:
                self.problem.say(problem.sentence)

    def _keep_sources(self, text: str) -> None:
        if self._page is None:
            return
        row = self._page.row
        if re.search(r"[^\d\s,;]", text):
            self.sources.set_problem("Write the numbers of pieces, as 412, 415.")
            return
        numbers = [int(number) for number in re.findall(r"\d{1,9}", text)]
        try:
            self.desk.edits.run(
                f"Say what run {row.number} carries on",
                partial(set_run_sources, run_id=row.run_id, piece_numbers=numbers),
            )
        except UserProblem as problem:
            self.sources.set_problem(problem.sentence)

    def _open_order(self) -> None:
        if self._page is not None and self._page.row.order is not None:
            self.opened.emit("order", self._page.row.order.order_id)
