"""What would change it: one more bisque, days away, this line first, a few more thrown today."""

from collections.abc import Callable
from datetime import timedelta

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.craft.ware.count_words import say_counted
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.promise_telling import say_line, say_shift_of
from studiolog.journal.promises import (
    LinePromise,
    Promises,
    WhatIf,
    next_bisque_day,
    with_bisque,
    with_days_away,
    with_line_first,
    with_more_thrown,
)
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import DayField, NumberField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Text
from studiolog.ui.promises.throws_section import beside_fields

Work = Callable[[Promises, LinePromise | None, Callable[[int, int], bool]], WhatIf | None]
_MOST_LINES = 8


class _Asked(QWidget):
    """One question: its words, its fields, a button, and what it would do to every line."""

    def __init__(
        self,
        desk: Desk,
        key: str,
        title: str,
        button: str,
        work: Callable[[], Work],
        fields: tuple[QWidget, ...] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk, self._key, self._work = desk, f"promise {key}", work
        self._promises: Promises | None = None
        self._line: LinePromise | None = None
        self._only_line = key in ("first", "more")
        self.title = Text(title, "body", 600)
        self.button = QPushButton(button)
        self.button.setAccessibleName(f"{button}: {title}")
        self.answer = Text("", "secondary", tone="ink2", wrap=True)
        self.lines = SumLines(title)
        ask = FlowLayout(spacing=12, line_spacing=6)
        for field in fields:
            ask.addWidget(field)
        ask.addWidget(beside_fields(self.button) if fields else self.button)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 8)
        rows.setSpacing(6)
        rows.addWidget(self.title)
        rows.addLayout(ask)
        rows.addWidget(self.answer)
        rows.addWidget(self.lines)
        self.answer.hide()
        self.lines.hide()
        self.button.clicked.connect(self.ask)

    def show_promises(self, promises: Promises, line: LinePromise | None) -> None:
        """Take up another forecast or line: an answer to the one before is put away."""
        same = promises is self._promises and (not self._only_line or line is self._line)
        self._promises, self._line = promises, line
        if not same:
            self._desk.jobs.cancel(self._key)
            self.answer.hide()
            self.lines.hide()
            self.button.setEnabled(True)

    def ask(self) -> None:
        """Draw the futures of what is asked."""
        promises, line = self._promises, self._line
        if promises is None:
            return
        try:
            work = self._work()
        except UserProblem as problem:
            self._say(problem.sentence, "rust")
            return

        def draw(progress: Progress) -> WhatIf | None:
            def going(done: int, total: int) -> bool:
                progress.step(done, total)
                return not progress.cancelled()

            return work(promises, line, going)

        self.button.setEnabled(False)
        self._say("Drawing the futures …", "ink3")
        self._desk.jobs.start(self._key, draw, self._take, self._fail)

    def _say(self, words: str, tone: str = "ink2") -> None:
        self.answer.set_tone(tone)
        self.answer.setText(words)
        self.answer.setVisible(bool(words))

    def _fail(self, problem: Exception) -> None:
        self.button.setEnabled(True)
        if not isinstance(problem, UserProblem):
            self._say("This could not be drawn.", "rust")
            raise problem
        self._say(problem.sentence, "rust")

    def _take(self, answer: WhatIf | None) -> None:
        self.button.setEnabled(True)
        promises = self._promises
        if answer is None or promises is None:
            return
        kept, after = answer.kept_before, answer.kept_after
        promised = sum(1 for line in promises.lines if line.chance is not None)
        if promised:
            told = (
                f"Of {say_counted(promised, 'promise')}, {kept:.1f} would hold in the mean; "
                f"then {after:.1f}."
            )
        else:
            told = "Nothing is promised yet."
        self._say(told)
        # The line chosen first, then those it moves most.
        chosen = self._line.key if self._line else None
        moved = sorted(
            answer.shifts,
            key=lambda shift: (shift.key != chosen, -abs(shift.days or 0), shift.key),
        )
        rows = []
        for shift in moved[:_MOST_LINES]:
            line = promises.line_of(shift.key)
            if line is not None:
                rows.append((say_line(line), say_shift_of(line, shift)))
        self.lines.show_lines(rows)


class WhatIfSection(Section):
    """Each question is answered by drawing the same futures with one thing changed."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("What would change it", parent=parent)
        self._desk = desk
        self.lit_on = DayField("Lit on", None, "future")
        self.away_from = DayField("Away from", None, "future")
        self.away_to = DayField("to, that day included", None, "future")
        self.more = NumberField("More of it", "", 3, 0, 1, 1000)
        self.more.setMaximumWidth(theme.current().px(120))
        self.bisque = _Asked(
            desk, "bisque", "One more bisque", "Ask", self._with_bisque, (self.lit_on,)
        )
        self.away = _Asked(
            desk, "away", "Days away from the studio", "Ask", self._with_away,
            (self.away_from, self.away_to),
        )  # fmt: skip
        self.first = _Asked(
            desk, "first", "This line before all others", "Ask", lambda: self._with_first
        )
        self.thrown = _Asked(
            desk, "more", "A few more thrown today", "Ask", self._with_more, (self.more,)
        )
        for asked in self.asked():
            self.add(asked)

    def asked(self) -> tuple[_Asked, ...]:
        """The questions."""
        return self.bisque, self.away, self.first, self.thrown

    def show_promises(self, promises: Promises, line: LinePromise | None) -> None:
        """Take up a forecast and the line chosen in it; days that are not given are proposed."""
        plan = promises.plan
        if self.lit_on.text() == "":
            self.lit_on.set_day(next_bisque_day(plan))
        if self.away_from.text() == "" and self.away_to.text() == "":
            monday = plan.today + timedelta(days=7 - plan.today.weekday())
            self.away_from.set_day(monday)
            self.away_to.set_day(monday + timedelta(days=6))
        for asked in self.asked():
            asked.show_promises(promises, line)
        for asked in (self.first, self.thrown):
            asked.setVisible(line is not None)

    def _with_bisque(self) -> Work:
        day = self.lit_on.day()
        if day is None:
            raise UserProblem("Give the day it would be lit.")
        return lambda promises, line, going: with_bisque(promises, day, going)

    def _with_first(
        self, promises: Promises, line: LinePromise | None, going: Callable[[int, int], bool]
    ) -> WhatIf | None:
        return None if line is None else with_line_first(promises, line.key, going)

    def _with_away(self) -> Work:
        first, last = self.away_from.day(), self.away_to.day()
        if first is None:
            raise UserProblem("Give the first day away.")
        end = last or first
        return lambda promises, line, going: with_days_away(promises, first, end, going)

    def _with_more(self) -> Work:
        count = round(self.more.value() or 0)
        return lambda promises, line, going: (
            None if line is None else with_more_thrown(promises, line.key, count, going)
        )
