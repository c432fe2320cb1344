"""Packing: begun, watched, stopped, given up. A first answer shows at once, better ones follow."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QProgressBar, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.ware.load_plan import LoadPlan, PackingRules
from studiolog.desktop.desk import Desk
from studiolog.journal.load_page import LoadPage
from studiolog.journal.load_plan import packing_rules
from studiolog.problems import UserProblem
from studiolog.ui.loads.packing_work import PackingWork
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Text

_QUICK, _THOROUGH = "pack a load: first answer", "pack a load"


class PackingBar(QWidget):
    """``proposed`` carries each plan as it is found, ``settled`` the last one, to be kept;
    ``left`` says that packing was given up."""

    proposed = Signal(object)
    settled = Signal(object)
    left = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._page: LoadPage | None = None
        self._work: PackingWork | None = None
        self._first: LoadPlan | None = None
        self._rules: PackingRules | None = None
        self.pack_button = QPushButton("Pack the load")
        self.best_button = QPushButton("Take the best so far")
        self.cancel_button = QPushButton("Leave it as it was")
        self.words = Text("", "secondary", tone="ink2")
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("How far packing is")
        self.bar.setFixedHeight(4)
        self.why_not = ProblemLine()
        line = FlowLayout(spacing=8, line_spacing=4)
        for part in (self.pack_button, self.best_button, self.cancel_button, self.words):
            line.addWidget(part)
        for button in (self.pack_button, self.best_button, self.cancel_button):
            button.setAccessibleName(button.text())
            button.setAutoDefault(False)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addLayout(line)
        rows.addWidget(self.bar)
        rows.addWidget(self.why_not)
        self.pack_button.clicked.connect(lambda: self.pack())
        self.best_button.clicked.connect(self.take_best)
        self.cancel_button.clicked.connect(self.cancel)
        desk.jobs.progressed.connect(self._hear_progress)
        self._show_running(False)

    def show_page(self, page: LoadPage) -> None:
        """Show the load that would be packed."""
        self._page = page
        self._rules = self._desk.read(packing_rules)
        if not self.is_packing():
            self._show_running(False)

    def forget(self) -> None:
        """Another load is shown: what is being packed is no longer wanted."""
        self._desk.jobs.cancel(_QUICK)
        self._desk.jobs.cancel(_THOROUGH)
        self._work = None
        self.why_not.say("")
        self._show_running(False)

    def is_packing(self) -> bool:
        """Whether a plan is being sought."""
        return self._work is not None

    def offer(self) -> None:
        """Pieces came in: pack the load."""
        self.pack()

    def pack(self) -> None:
        """Seek a plan; what was set by hand stays."""
        page = self._page
        if page is None or page.firing is not None:
            return
        self.forget()
        fit = {key: ware for key, ware in page.plan.wares.items() if key not in page.fallen_ids}
        if not fit:
            self.why_not.say("Nothing is in this load yet: put in some of what waits.")
            return
        pinned = frozenset(
            key
            for key, piece in page.pieces.items()
            if piece.by_hand and piece.shelf_id is not None and key in fit
        )
        assert self._rules is not None
        work = PackingWork(page.plan, fit, self._rules, pinned)
        self._work = work
        self._show_running(True)
        self.words.setText("Looking for a first plan …")
        self._desk.jobs.start(_QUICK, work.quick, self._take_quick, self._fail)

    def take_best(self) -> None:
        """Be content with the best plan so far."""
        if self._work is not None:
            self._work.take_best()

    def cancel(self) -> None:
        """Give packing up; the load stays as it was."""
        self.forget()
        self.left.emit()

    def _take_quick(self, plan: LoadPlan) -> None:
        work = self._work
        if work is None:
            return
        self._first = plan
        self.proposed.emit(plan)
        if work.is_settled:
            self._take_thorough(plan)
            return
        self.words.setText(f"{_say(plan)} Looking for better …")
        self._desk.jobs.start(_THOROUGH, work.thorough, self._take_thorough, self._fail)

    def _take_thorough(self, plan: LoadPlan) -> None:
        first, self._first, self._work = self._first, None, None
        self._show_running(False)
        # Stopped early, the search may not have come as far as the first answer.
        if first is not None and first.placed > plan.placed:
            plan = first
        self.settled.emit(plan)

    def _fail(self, problem: Exception) -> None:
        self._work = None
        self._show_running(False)
        self.left.emit()
        if not isinstance(problem, UserProblem):
            raise problem
        self.why_not.say(problem.sentence)

    def _hear_progress(self, key: str, done: int, total: int, _what: str) -> None:
        if key in (_QUICK, _THOROUGH) and self._work is not None:
            self.bar.setRange(0, max(total, 1))
            self.bar.setValue(done)

    def _show_running(self, running: bool) -> None:
        page = self._page
        open_load = page is not None and page.firing is None
        self.pack_button.setVisible(open_load and not running)
        again = page is not None and page.placed > 0
        self.pack_button.setText("Pack anew" if again else "Pack the load")
        self.pack_button.setAccessibleName(self.pack_button.text())
        for part in (self.best_button, self.cancel_button, self.words, self.bar):
            part.setVisible(running)
        if not running:
            self.bar.setRange(0, 1)
            self.bar.setValue(0)


def _say(plan: LoadPlan) -> str:
    left = len(plan.left_out)
    words = f"{plan.placed} pieces stand" if plan.placed != 1 else "1 piece stands"
    return f"{words}, {left} are left out." if left else f"{words}, none is left out."
