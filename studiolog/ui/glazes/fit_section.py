"""How a glaze stands on the studio's clays, and what would bring it to one it does not fit."""

from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.firing.cones import label_of
from studiolog.craft.glaze.expansion import FACTOR_SETS
from studiolog.craft.glaze.fit import Chance, Fault
from studiolog.craft.glaze.fit_suggestion_words import say_change
from studiolog.craft.glaze.fit_suggestions import FitSuggestions, Suggestion, suggest_changes
from studiolog.craft.glaze.fit_words import (
    HOW_LOOKED,
    UNIT,
    say_chance,
    say_evidence,
    say_own_pieces,
)
from studiolog.craft.units import THIN, show_number
from studiolog.desktop.desk import Desk
from studiolog.journal.fit import EVERY_CONE, ChanceOnClay, ConeSpan, GlazeFit, read_glaze_fit
from studiolog.journal.fit_changes import FitTask, keep_suggestion, read_fit_task
from studiolog.problems import UserProblem
from studiolog.ui.glazes.fit_suggestion import SuggestionList
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.chance_bar import ChanceBar
from studiolog.ui.parts.cone_span import ConeSpanPick
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.sight import show_whole
from studiolog.ui.parts.swatch import ClayLook, ClaySwatch
from studiolog.ui.parts.text import Caption, Text, Words

_JOB = "changes that would fit"
_NOT_A_GLAZE = "Fit is told of glazes; this is a {kind}."


@dataclass(frozen=True)
class _Row:
    """All that is shown of one fault on one clay; ``safe``: nothing would have to help."""

    clay_id: int
    clay: ClayLook
    fault: Fault
    chance: Chance
    words: str
    safe: bool
    basis: str


class FitSection(Section):
    """``version_made`` carries the id of a version made from a suggestion."""

    version_made = Signal(int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Fit on our clays", parent=parent)
        self._desk = desk
        self._glaze_id = 0
        self._title = ""
        self._span = EVERY_CONE
        self._task: FitTask | None = None
        self._shown: tuple[_Row, ...] | None = None
        self._asks: dict[tuple[int, Fault], QPushButton] = {}
        self._asked: tuple[int, Fault] | None = None
        self.problems = QVBoxLayout()
        self.problems.setSpacing(4)
        self.span = ConeSpanPick("Evidence of fit")
        self.rows = QVBoxLayout()
        self.rows.setSpacing(0)
        self.basis = Caption(HOW_LOOKED, wrap=True)
        self.suggestions = SuggestionList()
        self.suggestions.hide()
        for item in (self.problems, self.span, self.rows, self.suggestions, self.basis):
            self.add(item)
        self.span.picked.connect(self._take_span)
        self.suggestions.kept.connect(self._keep)
        self.suggestions.closed.connect(self._leave)

    def show_glaze(self, glaze_id: int) -> None:
        """Read and show how a glaze stands."""
        if glaze_id != self._glaze_id:
            self._glaze_id, self._span = glaze_id, EVERY_CONE
        self._close()
        found = self._desk.read(lambda session: read_glaze_fit(session, glaze_id, self._span))
        if found is None:
            return
        self._title = found.title
        self._say_expansion(found)
        self.span.show_span(found.bands, found.span.low10, found.span.high10)
        self.span.setVisible(len(found.bands) > 1 and bool(found.chances))
        self.basis.setVisible(bool(found.chances))
        rows = tuple(map(_tell, found.chances))
        if rows == self._shown:
            return  # built and laid out anew after every edit, they would keep the window waiting
        self._shown = rows
        self._asks.clear()
        clear_layout(self.rows)
        for one in rows:
            self.rows.addWidget(self._row(one))
            self.rows.addWidget(Hairline())

    def _say_expansion(self, found: GlazeFit) -> None:
        clear_layout(self.problems)
        self.set_quiet("")
        if found.kind != "glaze":
            kind = _NOT_A_GLAZE.format(kind=found.kind)
            self.problems.addWidget(Text(kind, "secondary", tone="ink2", wrap=True))
        formula = found.formula
        if formula.expansion_ppm_k is not None:
            error = f"{formula.expansion_error_ppm_k:g}"
            value = show_number(formula.expansion_ppm_k, 1)
            self.set_quiet(f"calculated {value} ±{error}{THIN}{UNIT}, {FACTOR_SETS['appen'].name}")
        if found.problems and not formula.parts:
            self.problems.addWidget(
                Text("With a recipe, its fit on each clay is told here.", "secondary", tone="ink2",
                     wrap=True)
            )  # fmt: skip
            return
        for sentence in found.problems:
            self.problems.addWidget(CautionLine(sentence))
        if found.problems:
            self.problems.addWidget(
                Text("So nothing is told of its fit.", "secondary", tone="ink2", wrap=True)
            )
        elif not found.chances:
            self.problems.addWidget(
                Text("Name your clays, and its fit on each is told here.", "secondary",
                     tone="ink2", wrap=True)
            )  # fmt: skip

    def _row(self, one: _Row) -> QWidget:
        line = QWidget()
        row = QHBoxLayout(line)
        row.setContentsMargins(0, 8, 0, 8)
        row.setSpacing(12)
        swatch = ClaySwatch(one.clay)
        holder = QVBoxLayout()
        holder.setContentsMargins(0, 2, 0, 0)
        holder.addWidget(swatch)
        holder.addStretch(1)
        row.addLayout(holder)
        words = QVBoxLayout()
        words.setSpacing(2)
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(Words(one.clay.name, "secondary", 600))
        head.addStretch(1)
        ask = link_button("What would help?")
        ask.setAccessibleName(f"What would help against {one.fault} on {one.clay.name}?")
        ask.clicked.connect(partial(self.ask, one.clay_id, one.fault))
        self._asks[(one.clay_id, one.fault)] = ask
        if one.safe:
            ask.hide()  # shown before it has a parent, it would flash up as a window of its own
        head.addWidget(ask)
        words.addLayout(head)
        chance = QHBoxLayout()
        chance.setSpacing(12)
        chance.addWidget(Words(one.words, "secondary"), 3)
        chance.addWidget(ChanceBar(f"{one.fault.capitalize()} on {one.clay.name}", one.chance), 2)
        words.addLayout(chance)
        words.addWidget(Caption(one.basis, "ink2", wrap=True))
        row.addLayout(words, 1)
        return line

    # What a person does

    def ask(self, clay_id: int, fault: Fault, *_clicked: object) -> None:
        """Look for changes that would bring the glaze to a clay's safe side."""
        self._asked = clay_id, fault
        self.suggestions.show()
        glaze_id, span = self._glaze_id, self._span
        try:
            task = self._desk.read(
                lambda session: read_fit_task(session, glaze_id, clay_id, fault, span)
            )
        except UserProblem as problem:
            self.suggestions.show_problem(problem.sentence)
            return
        self._task = task
        self.suggestions.show_looking(task.clay)
        self._desk.jobs.start(
            _JOB,
            lambda _progress: suggest_changes(task.recipe, task.standing, task.other),
            partial(self._show_found, task),
            self._show_failed,
        )

    def _show_found(self, task: FitTask, found: FitSuggestions) -> None:
        self.suggestions.show_found(task, found)
        QTimer.singleShot(0, self, lambda: show_whole(self.suggestions))

    def _show_failed(self, failed: Exception) -> None:
        if not isinstance(failed, UserProblem):
            raise failed
        self.suggestions.show_problem(failed.sentence)

    def _keep(self, chosen: Suggestion) -> None:
        task = self._task
        assert task is not None
        try:
            made = self._desk.edits.run(
                f"New version of {self._title} to test on {task.clay}",
                lambda session: keep_suggestion(session, task, chosen),
            )
        except UserProblem as problem:
            self.suggestions.show_problem(problem.sentence)
            return
        self._desk.notices.say(
            f"A new version is made: {say_change(chosen)}.", "Undo", self._desk.edits.undo
        )
        self.version_made.emit(made)

    def _leave(self) -> None:
        """Put the answer away; the keyboard goes back to where it was asked for."""
        self._close()
        ask = self._asks.get(self._asked) if self._asked is not None else None
        if ask is not None:
            ask.setFocus()

    def _close(self) -> None:
        self._desk.jobs.cancel(_JOB)
        self.suggestions.hide()

    def _take_span(self, low10: int | None, high10: int | None) -> None:
        self._span = ConeSpan(low10, high10)
        self.show_glaze(self._glaze_id)


def _tell(one: ChanceOnClay) -> _Row:
    limits = one.known.limits
    return _Row(
        one.clay_id,
        ClayLook(one.name, one.colour, one.specks),
        one.fault,
        one.chance,
        say_chance(one.chance, one.fault, limits),
        one.chance.mean <= limits["safe_chance"],
        _say_basis(one),
    )


def _say_basis(one: ChanceOnClay) -> str:
    """Its own pieces first, then what the clay is known by."""
    own = say_own_pieces(
        one.fault, one.own.count("seen"), one.own.count("stressed"), one.own.count("unstressed")
    )
    thin = "Thin evidence: " if one.known.is_thin and one.known.glazes else "All evidence: "
    if not one.known.glazes:
        return "Not known yet: nothing was looked at on this clay, so this is expectation alone."
    told = f"{own[0].upper()}{own[1:]}. {thin}{say_evidence(one.known)}"
    if one.cones10 is not None:
        low, high = (label_of(cone / 10) for cone in one.cones10)
        told += f", at cone {low}" + (f" to {high}" if low != high else "")
    return f"{told}."
