"""The line that is chosen: date by date, what holds it up, and where to look further."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from studiolog.journal.promise_telling import (
    HOLDS_UP,
    say_days,
    say_headline,
    say_holds_up,
    say_line,
)
from studiolog.journal.promises import LinePromise, Promises, lead_parts
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Text
from studiolog.ui.plots.ready_steps import ReadySteps

_MOST_RUNS = 6
_LONGEST = 48


class LineSection(Section):
    """``opened`` carries what to show: a noun and an id."""

    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("The line chosen", parent=parent)
        self.headline = Text("", "body", wrap=True)
        self.steps = ReadySteps("Chance to be ready, date by date")
        self.why = Text("What holds it up", "body", 600)
        self.holds_up = Text("", "body", wrap=True)
        self.parts = SumLines("What its time goes into")
        self.links = FlowLayout(spacing=16, line_spacing=4)
        for part in (self.headline, self.steps, self.why, self.holds_up, self.parts):
            self.add(part)
        self.add(self.links)

    def show_line(self, promises: Promises, line: LinePromise) -> None:
        """Show one line of a forecast."""
        today = promises.plan.today
        self.set_title(say_line(line))
        self.headline.setText(say_headline(line, today))
        self.steps.show_days(
            line.forecast.by_day, today, line.shown.promised_on, promises.plan.confidence
        )
        self.holds_up.setText(say_holds_up(line))
        rows = [(HOLDS_UP[name], say_days(days)) for name, days in lead_parts(line.forecast)]
        self.parts.show_lines(rows, 0)
        self._show_links(line)

    def _show_links(self, line: LinePromise) -> None:
        while (item := self.links.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        demand = line.shown.demand
        if demand.order_id is not None:
            self._link(f"Order {demand.order_number}", "order", demand.order_id)
        if demand.set_id is not None:
            self._link(f"Set {demand.set_name}", "set", demand.set_id)
        for run_id in line.shown.run_ids[:_MOST_RUNS]:
            number = line.shown.run_numbers.get(run_id, 0)
            self._link(f"Run {number}" if number else "A run of it", "run", run_id)

    def _link(self, words: str, noun: str, row_id: int) -> None:
        link = link_button(words, most=_LONGEST)
        link.clicked.connect(partial(self.opened.emit, noun, row_id))
        self.links.addWidget(link)
