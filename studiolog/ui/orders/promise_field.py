"""The promise of an order in the words it was given, with the days they name beneath."""

from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.days import write_day
from studiolog.craft.ware.promise_words import read_promise, say_window
from studiolog.desktop import theme
from studiolog.journal.orders import OrderPage
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.text import Caption


class PromiseField(QWidget):
    """``given`` carries the words when typing ends. While typing the days read are shown."""

    given = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._page: OrderPage | None = None
        self._today = date.today()
        self.field = LineField("Promise", hint="six to eight weeks, by 12 Dec")
        self.line = self.field.line
        self.days = Caption("", "ink2")
        self.setMinimumWidth(theme.current().px(216))
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(2)
        rows.addWidget(self.field)
        rows.addWidget(self.days)
        rows.addStretch(1)
        self.field.edited.connect(self.given)
        self.line.textEdited.connect(self._read)

    def show_promise(self, page: OrderPage, today: date) -> None:
        """Show the promise of an order; what is being typed just now is left alone."""
        other = self._page is None or self._page.order_id != page.order_id
        self._page, self._today = page, today
        if self.line.hasFocus() and self.line.isModified() and self.field.problem() and not other:
            return
        words = page.promise_words
        if not words and page.promised_on is not None:
            words = say_window(page.promised_from, page.promised_on)
        if self.field.text() != words or self.field.problem():
            self.field.set_text(words)
        self._say(page.promised_from, page.promised_on, "")

    def set_problem(self, sentence: str) -> None:
        """Say what is wrong beneath."""
        self.field.set_problem(sentence)

    def problem(self) -> str:
        return self.field.problem()

    def _given_on(self) -> date:
        page = self._page
        first = page is not None and page.promised_on is None and page.ordered_on is not None
        return page.ordered_on if page and first and page.ordered_on else self._today

    def _read(self, words: str) -> None:
        given_on = self._given_on()
        try:
            window = read_promise(words, given_on)
        except UserProblem:
            self.days.setText("")  # said when typing ends
            return
        if window is None:
            self.days.setText("no promise")
            return
        start = window.counted_from
        counted = f", counted from {write_day(start, self._today)}" if start is not None else ""
        self._say(window.first, window.last, counted)

    def _say(self, first: date | None, last: date | None, counted: str) -> None:
        self.days.setText(f"{say_window(first, last, self._today)}{counted}" if last else "")
        self.days.setVisible(bool(self.days.text()))
