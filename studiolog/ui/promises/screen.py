"""Promises: when what is owed will be ready, whether it holds, and what would change it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QProgressBar,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.units import THIN
from studiolog.craft.ware.count_words import say_counted
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.foresight import KEY, KINDS
from studiolog.desktop.tokens import PAGE_MARGIN
from studiolog.journal.promise_telling import say_method, tell_basis
from studiolog.journal.promises import LinePromise
from studiolog.journal.studio_days import read_studio_times
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState, PageTitle, Section, link_button
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Text
from studiolog.ui.promises.away_section import AwaySection
from studiolog.ui.promises.hindsight_section import HindsightSection
from studiolog.ui.promises.line_section import LineSection
from studiolog.ui.promises.promise_rows import PromiseRows
from studiolog.ui.promises.quote_section import QuoteSection
from studiolog.ui.promises.throws_section import ThrowsSection
from studiolog.ui.promises.what_if_section import WhatIfSection

if TYPE_CHECKING:
    from studiolog.journal.promises import Promises


class PromisesScreen(Screen):
    """One row a line that is owed, on a common axis of days; beneath, the one chosen."""

    kinds = KINDS
    title = "Promises"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._chosen: int | None = None
        self._order_wanted = 0
        self._shown: Promises | None = None
        self._build()
        self._connect()

    def _build(self) -> None:
        self.head = PageTitle("Promises")
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("How far the futures are drawn")
        self.drawing = Text("", "secondary", tone="ink2")
        self.stop_button = link_button("Stop")
        self.stop_button.setAccessibleName("Stop drawing futures")
        self.again_button = link_button("Draw them again")
        said = QHBoxLayout()
        said.setSpacing(12)
        said.addWidget(self.drawing)
        said.addWidget(self.stop_button)
        said.addWidget(self.again_button)
        said.addStretch(1)
        working = QVBoxLayout()
        working.setContentsMargins(0, 0, 0, 0)
        working.setSpacing(4)
        working.addWidget(self.bar)
        working.addLayout(said)
        self.working = QWidget()
        self.working.setLayout(working)
        self.rows = PromiseRows()
        self.empty = EmptyState(
            "Nothing is owed.",
            "Once an order or a set asks for something, this tells when it will be ready and "
            "whether its promise holds. What a new order may be promised is told below.",
            "New order",
        )
        self.nothing = QWidget()
        inside = QVBoxLayout(self.nothing)
        inside.setContentsMargins(0, 8, 0, 8)
        inside.addWidget(self.empty)
        self.nothing.setMaximumWidth(theme.current().px(640))
        self.line = LineSection()
        self.what_if = WhatIfSection(self.desk)
        self.throws = ThrowsSection()
        self.quote = QuoteSection(self.desk)
        self.away = AwaySection(self.desk)
        self.hindsight = HindsightSection(self.desk)
        self.basis = Section("What this rests on")
        self.method = Text("", "secondary", tone="ink2", wrap=True)
        self.basis_lines = SumLines("What this rests on")
        self.basis.add(self.method)
        self.basis.add(self.basis_lines)
        self.columns = TwoColumns(900)
        for section in (self.line, self.quote, self.hindsight, self.basis):
            self.columns.main.addWidget(section)
        for section in (self.what_if, self.throws, self.away):
            self.columns.side.addWidget(section)
        self.columns.main.addStretch(1)
        self.columns.side.addStretch(1)
        page = QWidget()
        rows = QVBoxLayout(page)
        rows.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN - 8, 16)
        rows.setSpacing(16)
        rows.addWidget(self.head)
        rows.addWidget(self.working)
        rows.addWidget(self.nothing)
        rows.addWidget(self.rows)
        rows.addWidget(self.columns)
        rows.addStretch(1)
        self.page_view = QScrollArea()
        self.page_view.setWidgetResizable(True)
        self.page_view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.page_view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.page_view.setWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.page_view)
        self.columns.hide()
        self.nothing.hide()
        self.rows.hide()

    def _connect(self) -> None:
        foresight = self.desk.foresight
        foresight.changed.connect(self._show_state)
        self.desk.jobs.progressed.connect(self._hear_progress)
        self.stop_button.clicked.connect(foresight.cancel)
        self.again_button.clicked.connect(foresight.again)
        self.rows.list.selectionModel().currentChanged.connect(self._hear_current)
        self.line.opened.connect(lambda noun, row_id: self.desk.show(noun, row_id))
        self.empty.acted.connect(self._new_order)
        self.quote.new_asked.connect(self._new_order)

    def reload(self) -> None:
        """Ask for a forecast of the journal as it is; the one before stands until it is there."""
        foresight = self.desk.foresight
        today = foresight.now().date()
        self.away.show_studio(self.desk.read(lambda session: read_studio_times(session, today)))
        foresight.want()
        self._show_state()

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show the promise of an order; 0 leaves what is chosen."""
        self._order_wanted = row_id
        if row_id:
            self._shown = None
        self.mark_stale()

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return (
            (("↑", "↓"), "line"),
            (("←", "→"), "read a day"),
            (("B",), "one more bisque"),
            (("Q",), "what to promise"),
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the keyboard starts at the rows."""
        super().showEvent(event)
        if not self.isAncestorOf(QApplication.focusWidget() or self.window()):
            self._first_stop().setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if event.modifiers() or key not in (Qt.Key.Key_B, Qt.Key.Key_Q):
            super().keyPressEvent(event)
        elif key == Qt.Key.Key_B and self.what_if.isVisible():
            self.what_if.bisque.ask()
            self.page_view.ensureWidgetVisible(self.what_if.bisque)
        elif self.quote.isVisible():
            self.quote.pieces.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.page_view.ensureWidgetVisible(self.quote)

    # What is shown

    def _show_state(self) -> None:
        foresight = self.desk.foresight
        told = foresight.promises
        busy = foresight.is_drawing
        problem = "" if busy else foresight.problem
        # Until something stands here the keyboard is at what can be stopped; then at the rows.
        waiting = self._shown is None and self._keyboard_waits()
        self.bar.setVisible(busy)
        if busy:
            self.bar.setRange(0, 0)
            self.drawing.setText(
                "Drawing the futures of what is owed" + (" anew" if told else "") + " …"
            )
        elif problem:
            self.drawing.setText(problem)
        else:
            self.drawing.setText("Stopped; what is shown is older." if told else "Stopped.")
        self.drawing.set_tone("rust" if problem else "ink2")
        self.stop_button.setVisible(busy)
        self.again_button.setVisible(bool(problem) or (foresight.called_off and not busy))
        self.working.setVisible(busy or bool(problem) or foresight.called_off)
        if told is not None and told is not self._shown:
            self._show(told)
            if waiting and self.isVisible():
                self._first_stop().setFocus(Qt.FocusReason.OtherFocusReason)

    def _keyboard_waits(self) -> bool:
        focus = QApplication.focusWidget()
        return focus is None or focus is self or self.working.isAncestorOf(focus)

    def _first_stop(self) -> QWidget:
        """Where the keyboard starts."""
        if self._shown is None:
            return self.stop_button if self.stop_button.isVisible() else self.again_button
        return self.rows.list if self._shown.lines else self.empty.action

    def _show(self, told: "Promises") -> None:
        self._shown = told
        lines = told.lines
        wanted = told.order_lines(self._order_wanted) if self._order_wanted else ()
        if wanted:
            self._chosen, self._order_wanted = wanted[0].key, 0
        if told.line_of(self._chosen or -1) is None:
            worst = min(lines, key=_urgency, default=None)
            self._chosen = worst.key if worst else None
        self.head.set_title("Promises", _summary(told))
        self.nothing.setVisible(not lines)
        self.rows.setVisible(bool(lines))
        self.columns.show()
        self.rows.show_promises(told, self._chosen)
        self.quote.show_promises(told)
        self.method.setText(say_method(told))
        self.basis_lines.show_lines(tell_basis(told.plan))
        self._show_line()

    def _show_line(self) -> None:
        told = self._shown
        if told is None:
            return
        line = told.line_of(self._chosen) if self._chosen is not None else None
        self.line.setVisible(line is not None)
        self.what_if.setVisible(bool(told.lines))
        if line is not None:
            self.line.show_line(told, line)
        self.what_if.show_promises(told, line)
        self.throws.show_plan(told.plan, line.shown.demand.form_id if line else None)

    def _hear_current(self, index: QModelIndex, _before: QModelIndex) -> None:
        row = self.rows.list.current_row() if index.isValid() else None
        if row is not None and row.line.key != self._chosen:
            self._chosen = row.line.key
            self._show_line()

    def _hear_progress(self, key: str, done: int, total: int, _what: str) -> None:
        if key == KEY and self.isVisible():
            self.bar.setRange(0, max(1, total))
            self.bar.setValue(done)

    def _new_order(self) -> None:
        self.desk.show("order", 0, "new")


def _urgency(line: LinePromise) -> float:
    return 2.0 if line.chance is None else line.chance


def _summary(told: "Promises") -> str:
    promised = [line for line in told.lines if line.chance is not None]
    if not told.lines:
        return "nothing is owed"
    sure = sum(1 for line in promised if line.tone == "met")
    owed = say_counted(len(told.lines), "line")
    futures = f"{told.plan.problem.futures:,}".replace(",", THIN)
    holds = f"{sure} of {say_counted(len(promised), 'promise')} hold" if promised else ""
    if sure == 1:
        holds += "s"
    return ", ".join(part for part in (f"{owed} owed", holds, f"from {futures} futures") if part)
