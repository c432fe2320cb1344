"""Forgetting who ordered: what it would take away is said first, then a second button does it."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.orders import OrderPage
from studiolog.journal.wiping import (
    Wiping,
    clear_file,
    label_of,
    read_wiping,
    say_backups,
    say_mentions,
    wipe_records,
)
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text

_JOB = "clear the file of a wiped customer"


class WipingSection(Section):
    """Two steps and no dialog: *Wipe the customer* says what goes, *Wipe for good* does it."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Who ordered", parent=parent)
        self.desk = desk
        self._label = ""
        self._order_id = 0
        self.told = Text("", "secondary", tone="ink2", wrap=True)
        self.more = QVBoxLayout()
        self.more.setSpacing(4)
        self.begin = link_button("Wipe the customer")
        self.do_it = QPushButton("Wipe for good")
        self.leave = QPushButton("Leave it")
        self.problem = ProblemLine()
        self._steps = QWidget()
        steps = FlowLayout(self._steps)
        for button in (self.do_it, self.leave):
            steps.addWidget(button)
        self.add(self.told)
        self.add(self.more)
        self.body.addWidget(self.begin, 0, Qt.AlignmentFlag.AlignLeft)
        self.add(self._steps)
        self.add(self.problem)
        self._steps.hide()
        self.begin.clicked.connect(self.look)
        self.do_it.clicked.connect(self.wipe)
        self.leave.clicked.connect(self.put_away)

    def show_page(self, page: OrderPage) -> None:
        """Show what may be wiped of an order."""
        label = self.desk.read(lambda session: label_of(session, page.order_id))
        if page.order_id == self._order_id and label == self._label:
            return
        other = page.order_id != self._order_id
        self._order_id, self._label = page.order_id, label
        if other or label:
            self.put_away(give_back=False)

    def put_away(self, *, give_back: bool = True) -> None:
        """Say in a line what this is for, and nothing more."""
        self._steps.hide()
        self.problem.say("")
        self._say_more(())
        if self._label:
            self.told.setText(
                "Label, contact and notes of this customer can be wiped from all orders and from "
                "the history; what was made and sold stays."
            )
        else:
            self.told.setText("Who ordered was wiped; what was made and sold stands as it was.")
        self.begin.setVisible(bool(self._label))
        if give_back:
            self.begin.setFocus(Qt.FocusReason.OtherFocusReason)

    def look(self) -> None:
        """The first step: say what will go, and what will be left to do by hand."""
        try:
            found = read_wiping(self.desk.journal, self._label)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.told.setText(found.warning)
        self._say_more((*say_mentions(found.mentions), *say_backups(found.backups)))
        self.begin.hide()
        self._steps.show()
        self.leave.setFocus(Qt.FocusReason.OtherFocusReason)

    def wipe(self) -> None:
        """The second step: wipe, then clear the file beside the work."""
        try:
            done = wipe_records(self.desk.journal, self._label)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self._steps.hide()
        self._label = ""
        self.desk.edits.tell(done.touched)
        self._say_done(done)
        if self.desk.journal.is_a_file:
            work = clear_file(self.desk.journal)
            self.desk.jobs.start(
                _JOB,
                lambda _progress: work(),
                self._say_cleared,
                lambda problem: self._say_cleared(str(problem)),
            )
        else:
            self._say_cleared("a database server keeps old rows until its keeper vacuums it")

    def _say_done(self, done: Wiping) -> None:
        first, *rest = done.outcome
        self.told.setText(first)
        self._say_more(tuple(rest))
        self.begin.hide()
        self.told.setFocus(Qt.FocusReason.OtherFocusReason)
        self.desk.notices.say(first)

    def _say_cleared(self, why_not: str) -> None:
        if why_not:
            self.problem.say(
                f"The old bytes may still be in the file ({why_not}): close other windows on this "
                "journal, then run the command “wipe” with the same label."
            )

    def _say_more(self, sentences: tuple[str, ...]) -> None:
        while (item := self.more.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        for sentence in sentences:
            self.more.addWidget(Text(sentence, "secondary", tone="ink2", wrap=True))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._steps.isVisible():
            self.put_away()
        else:
            super().keyPressEvent(event)
