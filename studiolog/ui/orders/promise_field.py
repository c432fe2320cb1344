"""The promise of an order in the words it was given, with the days they name beneath."""

from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from studiolog.craft.days import write_day
from studiolog.craft.ware.promise_words import read_promise, say_window
from studiolog.desktop import theme
from studiolog.journal.orders import OrderPage
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.text import Words


class PromiseField(LineField):
    """``given`` carries the words when typing ends. ``days`` is a line of its own, to stand
    beneath: while typing it shows the days that are read."""

    given = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Promise", hint="six to eight weeks, by 12 Dec", parent=parent)
        self._page: OrderPage | None = None
        self._today = date.today()
        self.days = Words("", "secondary", tone="ink2")
        self.days.hide()
        self.setMinimumWidth(theme.current().px(216))
        self.edited.connect(self.given)
        self.line.textEdited.connect(self._read)

    def show_promise(self, page: OrderPage, today: date) -> None:
        """Show the promise of an order; what is being typed just now is left alone."""
        other = self._page is None or self._page.order_id != page.order_id
        self._page, self._today = page, today
        if self.line.hasFocus() and self.line.isModified() and self.problem() and not other:
            return
        words = page.promise_words
        if not words and page.promised_on is not None:
            words = say_window(page.promised_from, page.promised_on)
        if self.text() != words or self.problem():
            self.set_text(words)
        days = say_window(page.promised_from, page.promised_on, today)
        said = {days.casefold(), say_window(page.promised_from, page.promised_on).casefold()}
        self._say("" if words.casefold() in said else f"Promised {days}")

    def _given_on(self) -> date:
        page = self._page
        first = page is not None and page.promised_on is None and page.ordered_on is not None
        return page.ordered_on if page and first and page.ordered_on else self._today

    def _read(self, words: str) -> None:
        given_on = self._given_on()
        try:
            window = read_promise(words, given_on)
        except UserProblem:
            self._say("")  # what is wrong is said when typing ends
            return
        if window is None:
            self._say("No promise")
            return
        start = window.counted_from
        counted = f", counted from {write_day(start, self._today)}" if start is not None else ""
        self._say(f"Promised {say_window(window.first, window.last, self._today)}{counted}")

    def _say(self, words: str) -> None:
        self.days.setText(words)
        self.days.setVisible(bool(words))
