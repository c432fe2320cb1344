"""Changes of a recipe that would bring a glaze to a clay's safe side, each a version to test."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.glaze.fit_suggestion_words import (
    say_change,
    say_effect,
    say_found,
    say_other_fault,
    say_ratio_change,
    show_parts,
)
from studiolog.craft.glaze.fit_suggestions import FitSuggestions, Suggestion
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.units import show_number
from studiolog.journal.fit_changes import FitTask
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.section import Hairline, link_button
from studiolog.ui.parts.text import Caption, Text, Words

_SHOW, _HIDE = "Recipe and formula", "Hide recipe and formula"


class SuggestionList(QWidget):
    """``kept`` carries the suggestion to make a version of; ``closed`` that the list may go."""

    kept = Signal(object)
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 8)
        self._rows.setSpacing(8)

    def show_looking(self, clay: str) -> None:
        """While the search runs."""
        clear_layout(self._rows)
        looking = Caption(f"Looking for changes that would fit {clay} …", "ink2")
        self._lay_head(looking, "Stop", f"Stop looking for what would help on {clay}")

    def show_problem(self, sentence: str) -> None:
        """Why nothing could be looked for."""
        clear_layout(self._rows)
        said = Text(sentence, "secondary", tone="rust", wrap=True)
        self._lay_head(said, "Close", "Close what would help")

    def show_found(self, task: FitTask, found: FitSuggestions) -> None:
        """Show what the search came to."""
        clear_layout(self._rows)
        told = say_found(found, task.fault, task.clay, task.standing.known.limits)
        said = Text(told, "secondary", 500, wrap=True)
        self._lay_head(said, "Close", f"Close what would help on {task.clay}")
        for place, one in enumerate(found.found):
            self._rows.addWidget(Hairline())
            view = SuggestionView(task, one, opened=place == 0)
            view.kept.connect(self.kept)
            self._rows.addWidget(view)
        for words in found.not_possible:
            self._rows.addWidget(Caption(words, "ink2", wrap=True))
        if found.found:
            self._rows.addWidget(
                Caption(
                    "What sets this glaze apart from others of its expansion is taken to stay "
                    "with its new version. Nothing here is certain before it is fired.",
                    wrap=True,
                )
            )

    def _lay_head(self, words: QWidget, way_out: str, name: str) -> None:
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(words, 1)
        out = link_button(way_out)
        out.setAccessibleName(name)
        out.clicked.connect(self.closed)
        head.addWidget(out)
        self._rows.addLayout(head)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)


class SuggestionView(QWidget):
    """One change: what, what it would do, what to mind, the new recipe and formula."""

    kept = Signal(object)

    def __init__(self, task: FitTask, one: Suggestion, *, opened: bool) -> None:
        super().__init__()
        self.suggestion = one
        what = say_change(one)
        self.make = QPushButton("Make a new version to test")
        self.make.setAccessibleName(f"Make a new version to test: {what}, for {task.clay}")
        self.more = link_button(_SHOW)
        self._what = f"{what}, for {task.clay}"
        self.detail = QWidget()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(Words(what, "body", 600))
        rows.addWidget(Text(say_effect(one, task.fault), "secondary", tone="ink2", wrap=True))
        other = say_other_fault(one, task.fault, looked_for=task.other_looked_for)
        for sentence in filter(None, (*one.warnings, other)):
            rows.addWidget(CautionLine(sentence))
        self._fill(task, one)
        rows.addWidget(self.detail)
        under = QHBoxLayout()
        under.setSpacing(16)
        under.addWidget(self.make)
        under.addWidget(self.more)
        under.addStretch(1)
        rows.addLayout(under)
        self.make.clicked.connect(lambda: self.kept.emit(one))
        self.more.clicked.connect(self.toggle)
        self._open(opened)

    def toggle(self) -> None:
        """Show or hide the recipe and the formula."""
        self._open(self.detail.isHidden())

    def _open(self, opened: bool) -> None:
        self.detail.setVisible(opened)
        words = _HIDE if opened else _SHOW
        self.more.setText(words)
        self.more.setAccessibleName(f"{words}: {self._what}")

    def _fill(self, task: FitTask, one: Suggestion) -> None:
        row = QHBoxLayout(self.detail)
        row.setContentsMargins(0, 4, 0, 4)
        row.setSpacing(32)
        names = list(dict.fromkeys([*one.parts, *task.recipe.base]))
        row.addLayout(
            _table(
                ("Base", "now", "new"),
                [
                    (name, _parts(task.recipe.base.get(name)), _parts(one.parts.get(name)))
                    for name in names
                ],
            )
        )
        before, after = one.before.formula.oxides, one.after.formula.oxides
        oxides = list(dict.fromkeys([*after, *before]))
        formula = [
            (pretty(oxide), _moles(before.get(oxide)), _moles(after.get(oxide)))
            for oxide in oxides
            if max(before.get(oxide, 0.0), after.get(oxide, 0.0)) >= 0.005
        ]
        side = QVBoxLayout()
        side.setSpacing(4)
        side.addLayout(_table(("Unity formula", "now", "new"), formula))
        side.addWidget(Text(say_ratio_change(one), "secondary", tone="ink2"))
        side.addStretch(1)
        row.addLayout(side)
        row.addStretch(1)


def _parts(parts: float | None) -> str:
    return "–" if not parts else show_parts(parts)


def _moles(moles: float | None) -> str:
    return "–" if not moles else show_number(moles, 2)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> QGridLayout:
    grid = QGridLayout()
    grid.setHorizontalSpacing(14)
    grid.setVerticalSpacing(1)
    for line, cells in enumerate((head, *rows)):
        for column, words in enumerate(cells):
            changed = line > 0 and column == 2 and cells[1] != cells[2]
            tone = "ink3" if line == 0 else "ink" if column != 1 else "ink2"
            text = Text(words, "secondary", 600 if changed else 400, tone)
            side = Qt.AlignmentFlag.AlignRight if column else Qt.AlignmentFlag.AlignLeft
            grid.addWidget(text, line, column, side)
    grid.setRowStretch(len(rows) + 1, 1)
    return grid
