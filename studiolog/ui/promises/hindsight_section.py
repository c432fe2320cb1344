"""What would have been told of delivered orders, against the day they were ready."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from studiolog.craft.days import write_day
from studiolog.craft.ware.promise_words import say_window
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.hindsight import Hindsight, read_past_orders, say_hindsight, tell_hindsight
from studiolog.problems import UserProblem
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text

KEY = "promises in hindsight"
_TONES = {"within": ("celadon", "check"), "sooner": ("ink2", "check"), "later": ("rust", "cross")}


class HindsightSection(Section):
    """Worked out when it is asked for: each order has futures of its own."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Promises in hindsight", parent=parent)
        self._desk = desk
        self.said = Text(
            "What would have been told of each delivered order on the day it was taken, "
            "beside the day it was ready. What was filled from stock tells nothing of it.",
            "secondary",
            tone="ink2",
            wrap=True,
        )
        self.ask_button = QPushButton("Compare")
        self.ask_button.setAccessibleName("Compare delivered orders with what was likely")
        self.grid = QGridLayout()
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(6)
        self.grid.setColumnStretch(1, 1)
        self.add(self.said)
        self.add(self.grid)
        self.body.addWidget(self.ask_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.ask_button.clicked.connect(self.ask)

    def ask(self) -> None:
        """Draw the futures each delivered order had on its day, beside the window."""
        journal = self._desk.journal

        def work(progress: Progress) -> tuple[Hindsight, ...] | None:
            def going(done: int, total: int) -> bool:
                progress.step(done, total)
                return not progress.cancelled()

            return tell_hindsight(journal.read(read_past_orders), going)

        self.said.setText("Drawing the futures those orders had …")
        self.ask_button.setEnabled(False)
        self._desk.jobs.start(KEY, work, self._show, self._fail)

    def _show(self, told: tuple[Hindsight, ...] | None) -> None:
        self.ask_button.setEnabled(True)
        if told is None:
            return
        self.said.setText(say_hindsight(told))
        while (item := self.grid.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        for row, one in enumerate(told):
            tone, sign = _TONES[one.fell]
            order = link_button(f"{one.number}  {one.whom}")
            order.setAccessibleName(f"Open order {one.number}, {one.whom}")
            order.clicked.connect(partial(self._desk.show, "order", one.order_id))
            words = Text(say_one(one), "secondary", tone=tone, wrap=True)
            start = Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft
            self.grid.addWidget(order, row, 0, start)
            self.grid.addWidget(words, row, 1)
            self.grid.addWidget(IconLabel(sign, tone, 14), row, 2, Qt.AlignmentFlag.AlignTop)

    def _fail(self, problem: Exception) -> None:
        self.ask_button.setEnabled(True)
        if not isinstance(problem, UserProblem):
            self.said.setText("This could not be worked out.")
            raise problem
        self.said.setText(problem.sentence)


def say_one(one: Hindsight) -> str:
    """An order in words: "likely 12 May to 3 Jun, ready 20 May, left 26 May: within"."""
    if one.low_on is None:
        likely = "later than could be told"
    elif one.high_on is None:
        likely = f"likely from {write_day(one.low_on, one.taken_on)}"
    else:
        likely = f"likely {say_window(one.low_on, one.high_on, one.taken_on)}"
    left = f", left {write_day(one.left_on, one.taken_on)}" if one.left_on != one.ready_on else ""
    return f"{likely}, ready {write_day(one.ready_on, one.taken_on)}{left}: {one.fell}"
