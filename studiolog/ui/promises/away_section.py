"""When the studio works: days away, and the usual week as it is set."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from studiolog.craft.days import write_day
from studiolog.craft.units import THIN
from studiolog.craft.ware.count_words import say_counted
from studiolog.craft.ware.promise_words import say_window
from studiolog.desktop.desk import Desk
from studiolog.journal.studio_days import AwayLine, StudioTimes, add_away, delete_away
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import DayField, LineField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text
from studiolog.ui.promises.throws_section import beside_fields

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def say_week(studio: StudioTimes) -> str:
    """The usual week in words: "6 h a day, Mon Tue Wed Thu Fri"."""
    days = " ".join(_DAYS[int(day) - 1] for day in studio.work_days)
    said = "" if studio.says_days and studio.says_hours else " (stated: not set in full yet)"
    return f"{studio.hours_a_day:g}{THIN}h a day, {days}{said}"


class AwaySection(Section):
    """Days away are noted here; every forecast counts them."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("When you work", parent=parent)
        self._desk = desk
        self.week = Text("", "body", wrap=True)
        self.grid = QGridLayout()
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(4)
        self.grid.setColumnStretch(0, 1)
        self.first = DayField("First day away", None, "future")
        self.last = DayField("Last day away", None, "future")
        self.why = LineField("What for")
        self.add_button = QPushButton("Note days away")
        self.problem = ProblemLine()
        ask = FlowLayout(spacing=16, line_spacing=8)
        for field in (self.first, self.last, self.why, beside_fields(self.add_button)):
            ask.addWidget(field)
        self.add(self.week)
        self.add(self.grid)
        self.add(ask)
        self.add(self.problem)
        self.add_button.clicked.connect(self.note)
        self.last.line.returnPressed.connect(self.note)
        self.why.line.returnPressed.connect(self.note)

    def show_studio(self, studio: StudioTimes) -> None:
        """Show the usual week and the days away that are not over."""
        self.week.setText(say_week(studio))
        while (item := self.grid.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        for place, line in enumerate(studio.away):
            days = say_window(line.first_on, line.last_on)
            words = f"Away {days}, {say_counted(line.days, 'day')}"
            said = f"{words}: {line.why}" if line.why else words
            self.grid.addWidget(Text(said, "secondary", wrap=True), place, 0)
            take = link_button("Take out")
            take.setAccessibleName(f"Take out: away {days}")
            take.clicked.connect(partial(self._take_out, line))
            self.grid.addWidget(take, place, 1, Qt.AlignmentFlag.AlignTop)

    def note(self) -> None:
        """Keep the days given."""
        try:
            first, last = self.first.day(), self.last.day()
        except UserProblem:
            return  # the field says it
        if first is None:
            self.problem.say("Give the first day away.")
            return
        words = self.why.text()
        try:
            self._desk.edits.run(
                f"Note days away from {write_day(first)}",
                lambda session: add_away(session, first, last, words),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.problem.say("")
        for field in (self.first, self.last, self.why):
            field.set_text("")

    def _take_out(self, line: AwayLine) -> None:
        self._desk.edits.try_run(
            f"Take out days away from {write_day(line.first_on)}",
            lambda session: delete_away(session, line.away_id, line.version),
        )
