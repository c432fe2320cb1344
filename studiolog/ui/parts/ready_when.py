"""When an order will be ready, line by line: the promise line of each, and the same in words."""

from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.promise_telling import say_holds, say_promise, say_ready
from studiolog.journal.promises import LinePromise
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.promise_line import PromiseLine, PromiseMarks, axis_for, sign_of, tone_of
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text


def marks_of(line: LinePromise, today: date) -> PromiseMarks:
    """What the promise line of a line shows."""
    words = f"{say_promise(line, today)}, {say_holds(line)}, {say_ready(line, today)}"
    return PromiseMarks(
        line.shown.promised_on, line.low_on, line.middle_on, line.high_on, line.tone, words
    )


class ReadyWhen(Section):
    """The forecast of one open order; a delivered one has none. The link leads to all of them."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Ready when", link="All promises", parent=parent)
        self._desk = desk
        self._order_id = 0
        self.waiting = Text("", "secondary", tone="ink3", wrap=True)
        self.grid = QGridLayout()
        self.grid.setHorizontalSpacing(16)
        self.grid.setVerticalSpacing(6)
        self.grid.setColumnStretch(1, 1)
        self.add(self.waiting)
        self.add(self.grid)
        self.link_opened.connect(lambda: desk.show("promise", self._order_id))
        desk.foresight.changed.connect(self._show)
        self.hide()

    def show_order(self, order_id: int, is_open: bool) -> None:
        """Show when an order will be ready; none for one that is not open."""
        self._order_id = order_id if is_open else 0
        self.setVisible(is_open)
        if is_open:
            self._desk.foresight.want()
            self._show()

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: what became stale while unseen is asked for anew."""
        super().showEvent(event)
        if self._order_id:
            self._desk.foresight.want()

    def _show(self) -> None:
        if not self._order_id:
            return
        foresight = self._desk.foresight
        while (item := self.grid.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        told = foresight.promises
        lines = told.order_lines(self._order_id) if told is not None else ()
        if foresight.is_drawing:
            words = "Drawing the futures of what is owed …"
        elif foresight.problem:
            words = foresight.problem
        else:
            words = "" if lines else "Nothing of it is owed."
        self.waiting.setText(words)
        self.waiting.setVisible(bool(words) and not (lines and foresight.is_drawing))
        if told is None:
            return
        today = told.plan.today
        marks = [marks_of(line, today) for line in lines]
        axis = axis_for(marks, today)
        for place, (line, mark) in enumerate(zip(lines, marks, strict=True)):
            name = Text(line.shown.demand.title, "secondary", 600, wrap=True)
            drawn = PromiseLine(f"{line.shown.demand.title}, ready when")
            drawn.show_marks(mark, today, axis)
            holds = Text(
                f"{say_holds(line)}\n{say_ready(line, today)}",
                "secondary",
                tone=tone_of(line.tone),
                wrap=True,
            )
            self.grid.addWidget(name, place, 0)
            self.grid.addWidget(drawn, place, 1)
            if sign := sign_of(line.tone):
                icon = IconLabel(sign, tone_of(line.tone), 14)
                self.grid.addWidget(icon, place, 2, Qt.AlignmentFlag.AlignCenter)
            self.grid.addWidget(holds, place, 3)
