"""Ways of making a form side by side: minutes, rework, losses; and which one stays."""

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.evidence.rates import Rate
from studiolog.craft.units import show_number
from studiolog.craft.words import STAGES, join_words
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage
from studiolog.journal.way_results import WayResult, WaysCompared
from studiolog.journal.ways import WayLine, add_way, change_way, delete_way, judge_way
from studiolog.problems import UserProblem
from studiolog.ui.forms.minutes_bar import MinutesBar
from studiolog.ui.parts.fault_rate_sections import clear_layout, pieces_words
from studiolog.ui.parts.fields import EditableNote, EditableText, LineField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.rate_bar import RateBar
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.text import Caption, Text, Words

_TONES = {"trying": "ochre", "keep": "celadon", "drop": "ink3"}
_STANDS = {"trying": "Being tried", "keep": "Kept", "drop": "Dropped"}
_JUDGE = {"keep": "Keep", "drop": "Drop", "trying": "Go on trying"}
_MOST_MARKS = 8
_BAR_HIGH = 32  # px


class WaysSection(Section):
    """``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, desk: Desk) -> None:
        super().__init__("Ways of making it")
        self._desk = desk
        self._page: FormPage | None = None
        self._drawn: tuple[WaysCompared, int, int] | None = None
        self.line = LineField("Another way", hint="pattern pressed before trimming")
        self.add_button = self.line.add_button("Add")
        self.problem = ProblemLine()
        self._rows = QVBoxLayout()
        self._rows.setSpacing(8)
        self.add(self._rows)
        self.add(self.problem)
        self.add(self.line)
        self.line.line.returnPressed.connect(self.keep)
        self.add_button.clicked.connect(self.keep)

    def show_page(self, page: FormPage) -> None:
        """Show the ways of a form; the same as before are left standing."""
        if self._page is None or self._page.form_id != page.form_id:
            self.line.set_text("")
            self.problem.say("")
        self._page = page
        drawn = page.ways, page.form_id, theme.current().text_scale
        if drawn == self._drawn:
            return
        self._drawn = drawn
        self._draw(page.ways)

    def _draw(self, ways: WaysCompared) -> None:
        clear_layout(self._rows)
        results = ways.results
        tried = sum(result.way is not None for result in results)
        self.set_quiet(f"{tried} ways" if tried > 1 else "" if tried else "none named yet")
        if not results:
            words = (
                "Name two ways to make it, say on a run's page which way it went, and they are "
                "told apart here by minutes, rework and losses."
            )
            self._rows.addWidget(Text(words, "secondary", tone="ink2", wrap=True))
            return
        for result in results:
            self._rows.addWidget(self._head_of(result))
            self._rows.addWidget(Hairline())
        if not any(result.pieces for result in results):
            return
        longest = max((one.minutes.high for one in results if one.minutes), default=1.0)
        self._compare(
            "Minutes a piece", results, lambda one: MinutesBar(one.minutes, longest), _say_steps
        )
        self._compare("Needed rework", results, lambda one: _bar(one.rework), _say_rework)
        self._compare("Lost on the way", results, lambda one: _bar(one.lost), _say_losses)
        for sentence in ways.sentences:
            self._rows.addWidget(Words(sentence, "secondary", tone="ink2"))

    def _head_of(self, result: WayResult) -> QWidget:
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(2)
        top, marks = QWidget(), QWidget()
        row = FlowLayout(top, spacing=12, line_spacing=2)
        way = result.way
        if way is None:
            row.addWidget(Text("Way not said", "body", 600, "ink2"))
        else:
            name = EditableText(f"Name of the way {way.name}", way.name, "Name", weight=600)
            name.edited.connect(partial(self._rename, way))
            word = Text(_STANDS[way.standing], "secondary", 600, _TONES[way.standing])
            row.addWidget(word)
            for standing, words in _JUDGE.items():
                if standing != way.standing:
                    self._add_link(row, words, way, partial(self._judge, way, standing))
            if not way.runs:
                self._add_link(row, "Delete", way, partial(self._delete, way))
            rows.addWidget(name)
        rows.addWidget(top)
        line = FlowLayout(marks, spacing=4, line_spacing=2)
        for run in result.runs[-_MOST_MARKS:]:
            mark = NumberMark("run", run.number, run.run_id)
            mark.opened.connect(self.opened)
            line.addWidget(mark)
        line.addWidget(Caption(_say_made(result)))
        rows.addWidget(marks)
        if way is not None:
            note = EditableNote(f"Why, {way.name}", way.notes, "Say why it is kept or dropped")
            note.edited.connect(partial(self._note, way))
            rows.addWidget(note)
        return holder

    @staticmethod
    def _add_link(row: FlowLayout, words: str, way: WayLine, act: Callable[[], None]) -> None:
        link = link_button(words)
        link.setAccessibleName(f"{words}: {way.name}")
        link.clicked.connect(lambda _checked=False: act())
        row.addWidget(link)

    def _compare(
        self,
        title: str,
        results: Sequence[WayResult],
        draw: Callable[[WayResult], QWidget],
        say: Callable[[WayResult], str],
    ) -> None:
        self._rows.addWidget(Text(title, "secondary", 600))
        wide = theme.current().px(132)
        for result in results:
            if not result.pieces:
                continue
            # The words under a bar stand nearer to it than to the next.
            held = QWidget()
            rows = QVBoxLayout(held)
            rows.setContentsMargins(0, 0, 0, 0)
            rows.setSpacing(0)
            row = QHBoxLayout()
            row.setSpacing(8)
            name = Words(result.name, "secondary", tone="ink2")
            name.setFixedWidth(wide)
            row.addWidget(name, 0, Qt.AlignmentFlag.AlignVCenter)
            bar = draw(result)
            bar.setFixedHeight(theme.current().px(_BAR_HIGH))
            row.addWidget(bar, 1)
            rows.addLayout(row)
            more = say(result)
            if more:
                rows.addWidget(Caption(more, wrap=True))
            self._rows.addWidget(held)

    # What a person does

    def keep(self) -> None:
        """Name another way, or say what is wrong with it."""
        page, said = self._page, self.line.text()
        if page is None or not said:
            return
        try:
            self._desk.edits.run(
                f"A way of making {page.name}",
                lambda session: add_way(session, page.form_id, said),
            )
        except UserProblem as problem:
            self.line.set_problem(problem.sentence)
            return
        self.line.set_text("")

    def _judge(self, way: WayLine, standing: str) -> None:
        label = f"{_JUDGE[standing]}: {way.name}"
        self._run(label, partial(judge_way, way_id=way.way_id, standing=standing))

    def _rename(self, way: WayLine, name: str) -> None:
        self._run(f"Rename {way.name}", partial(change_way, way_id=way.way_id, name=name))

    def _note(self, way: WayLine, notes: str) -> None:
        self._run(f"Note on {way.name}", partial(change_way, way_id=way.way_id, notes=notes))

    def _delete(self, way: WayLine) -> None:
        self._run(f"Delete the way {way.name}", partial(delete_way, way_id=way.way_id))

    def _run(self, label: str, edit: Callable[..., object]) -> None:
        try:
            self._desk.edits.run(label, edit)
        except UserProblem as problem:
            if self._page is not None:
                self._draw(self._page.ways)  # what was typed is put back
            self.problem.say(problem.sentence)
            return
        self.problem.say("")


def _bar(rate: Rate) -> RateBar:
    return RateBar(rate.events, rate.trials, rate.low, rate.high)


def _say_made(result: WayResult) -> str:
    if not result.runs:
        return "No run was made this way yet."
    told = pieces_words(result.pieces)
    if len(result.runs) > _MOST_MARKS:
        told += f" in {len(result.runs)} runs"
    return f"{told}, {result.in_work} of them still in work" if result.in_work else told


def _say_steps(result: WayResult) -> str:
    return ", ".join(f"{step.name} {step.minutes:g} ({step.timed})" for step in result.steps)


def _say_rework(result: WayResult) -> str:
    if not result.rework_min:
        return ""
    each = show_number(result.rework_min, 0 if result.rework_min >= 3 else 1)
    return f"{each} min of rework a piece, spread over all whose work was logged"


def _say_losses(result: WayResult) -> str:
    told = [
        f"{loss.lost.events} of {loss.lost.trials} at {STAGES[loss.stage]}"
        for loss in result.losses
    ]
    return join_words(told)
