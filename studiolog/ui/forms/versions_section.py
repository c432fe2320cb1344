"""Versions of a form side by side: what differs, and what came of each."""

from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.money import show_money
from studiolog.craft.units import show_duration, show_quantity
from studiolog.craft.words import FAULTS, FORM_STANDINGS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.form_page import FormPage
from studiolog.journal.form_versions import (
    FormVersion,
    add_form_version,
    propose_name,
    set_parent,
)
from studiolog.journal.forms import list_forms
from studiolog.journal.studio import read_currency
from studiolog.problems import UserProblem
from studiolog.ui.forms.versions_drawing import VersionsDrawing
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.section import Hairline, Section, link_button
from studiolog.ui.parts.text import Caption, Text, Words

_NONE = 0
MOST = 4
"""Versions side by side at the usual text; of a larger family those nearest to the one shown."""


class _Line(LineField):
    """What changes; Esc gives it up."""

    given_up = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        else:
            super().keyPressEvent(event)


def nearest(
    family: Sequence[FormVersion], form_id: int, most: int = MOST
) -> tuple[FormVersion, ...]:
    """At most so many of a family, the one shown among them: its parent, its children, the rest."""
    by_id = {one.form_id: one for one in family}
    shown = by_id[form_id]

    def distance(one: FormVersion) -> int:
        if one is shown:
            return 0
        if one.form_id == shown.parent_id:
            return 1
        return 2 if one.parent_id == form_id else 3

    kept = sorted(family, key=distance)[:most]
    return tuple(one for one in family if one in kept)


class VersionsSection(Section):
    """``opened`` carries the id of a version."""

    opened = Signal(int)

    def __init__(self, desk: Desk) -> None:
        super().__init__("Versions", link="New version")
        self._desk = desk
        self._page: FormPage | None = None
        self._currency = ""
        self._told_in = ("", 0)
        self.line = _Line("What changes", hint="deeper rim; Enter makes the version")
        self.add_button = self.line.add_button("Make it")
        self.line.hide()
        self.name_words = Caption(wrap=True)
        self.name_words.hide()
        self.drawing = VersionsDrawing()
        holder = QWidget()
        self._grid = QGridLayout(holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(4)
        self.more = Caption(wrap=True)
        self.parent_form = PickOne("Came from")
        self.problem = ProblemLine()
        for part in (self.line, self.name_words, self.drawing, holder, self.more):
            self.add(part)
        self.add(labelled("Came from", self.parent_form))
        self.add(self.problem)
        self.parent_form.picked.connect(self._set_parent)
        self.link_opened.connect(self.ask)
        self.line.line.returnPressed.connect(self.keep)
        self.line.line.textEdited.connect(lambda _text: self._say_name())
        self.line.given_up.connect(self.leave)
        self.add_button.clicked.connect(self.keep)

    def ask(self) -> None:
        """Ask what changes in a new version."""
        self.line.set_text("")
        self.line.show()
        self.name_words.show()
        self._say_name()
        self.line.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Make no version."""
        self.line.hide()
        self.name_words.hide()
        self.link.setFocus(Qt.FocusReason.OtherFocusReason)

    def keep(self) -> None:
        """Make the version and show it, or say why not."""
        page, said = self._page, self.line.text()
        if page is None or self.line.isHidden():
            return
        try:
            made = self._desk.edits.run(
                f"A version of {page.name}",
                lambda session: add_form_version(session, page.form_id, date.today(), said),
            )
        except UserProblem as problem:
            self.line.set_problem(problem.sentence)
            return
        self.leave()
        self.opened.emit(made)

    def _say_name(self) -> None:
        page, said = self._page, self.line.text()
        if page is not None:
            name = self._desk.read(lambda session: propose_name(session, page.form_id, said))
            self.name_words.setText(f"It will be named {name}.")

    def show_page(self, page: FormPage) -> None:
        """Show the family of a form; the same as before is left standing."""
        currency = self._desk.read(read_currency)
        self._offer_parents(page)
        if self._page is not None and self._page.form_id != page.form_id:
            self.line.hide()
            self.name_words.hide()
        same = (
            self._page is not None
            and (self._page.form_id, self._page.family) == (page.form_id, page.family)
            and (currency, theme.current().text_scale) == self._told_in
        )
        self._page, self._currency = page, currency
        self._told_in = currency, theme.current().text_scale
        if same:
            return
        clear_layout(self._grid)
        several = len(page.family) > 1
        self.set_quiet(f"{len(page.family)} of it" if several else "only this one")
        # With large text there is room for two columns beside each other.
        most = max(2, MOST * 100 // theme.current().text_scale)
        shown = nearest(page.family, page.form_id, most) if several else ()
        first = [one for one in shown if one.form_id == page.form_id]
        self.drawing.show_versions([*first, *(one for one in shown if one not in first)])
        left_out = [one for one in page.family if one not in shown] if several else []
        self.more.setText(f"Not shown here: {', '.join(one.name for one in left_out)}.")
        self.more.setVisible(bool(left_out))
        if several:
            self._fill(shown, page)

    def _offer_parents(self, page: FormPage) -> None:
        forms = self._desk.read(partial(list_forms, archived=True))
        choices = [
            Choice(form.form_id, form.name) for form in forms if form.form_id != page.form_id
        ]
        self.parent_form.set_choices([Choice(_NONE, "no other form"), *choices])
        own = next((one for one in page.family if one.form_id == page.form_id), None)
        self.parent_form.choose((own.parent_id if own is not None else None) or _NONE)
        self.problem.say("")

    def _set_parent(self, chosen: Hashable) -> None:
        page = self._page
        if page is None:
            return
        parent = chosen if isinstance(chosen, int) and chosen != _NONE else None
        try:
            self._desk.edits.run(
                f"Say what {page.name} came from",
                lambda session: set_parent(session, page.form_id, parent),
            )
        except UserProblem as problem:
            self._offer_parents(page)
            self.problem.say(problem.sentence)

    def _fill(self, shown: Sequence[FormVersion], page: FormPage) -> None:
        top = Qt.AlignmentFlag.AlignTop
        by_id = {one.form_id: one for one in page.family}
        for column, one in enumerate(shown, start=1):
            if one.form_id == page.form_id:
                head: QWidget = Words(one.name, "secondary", 600)
            else:
                head = link_button(one.name, most=22)
                head.clicked.connect(partial(self.opened.emit, one.form_id))
            self._grid.addWidget(head, 0, column, top | Qt.AlignmentFlag.AlignLeft)
            self._grid.setColumnStretch(column, 1)
        row = 1
        for label, tell in self._rows(by_id):
            told = [tell(one) for one in shown]
            if not any(told):
                continue
            self._grid.addWidget(Hairline(), row, 0, 1, len(shown) + 1)
            self._grid.addWidget(Text(label, "secondary", tone="ink3"), row + 1, 0, top)
            for column, (one, words) in enumerate(zip(shown, told, strict=True), start=1):
                parent = by_id.get(one.parent_id or 0)
                changed = parent is not None and tell(parent) != words and label not in _OUTCOMES
                cell = Words(words or "–", "secondary", 600 if changed else 400)
                if changed and parent is not None:
                    cell.setToolTip(f"{parent.name}: {tell(parent) or 'not given'}")
                self._grid.addWidget(cell, row + 1, column, top)
            row += 2

    def _rows(
        self, by_id: Mapping[int, FormVersion]
    ) -> tuple[tuple[str, Callable[[FormVersion], str]], ...]:
        currency = self._currency
        return (
            ("Stands", lambda one: FORM_STANDINGS[one.standing] + _archived(one)),
            ("Clay", lambda one: _measure(one.clay_g, "g")),
            ("Height", lambda one: _measure(one.fired_height_mm, "mm")),
            ("Across", lambda one: _measure(one.fired_across_mm, "mm")),
            ("Deep", lambda one: _measure(one.fired_deep_mm, "mm")),
            ("Nests, adds", lambda one: _measure(one.stack_mm, "mm")),
            ("Work", lambda one: show_duration(one.minutes * 60) if one.minutes else ""),
            ("Steps", lambda one: say_steps(one, by_id.get(one.parent_id or 0))),
            ("Zones", lambda one: ", ".join(one.zones)),
            ("Price", lambda one: "" if one.price is None else show_money(one.price, currency)),
            ("Made", lambda one: str(one.outcome.pieces or "none yet")),
            ("Lost", _say_lost),
            ("Seen most", _say_fault),
            ("Shipped", lambda one: str(one.outcome.sold) if one.outcome.sold else ""),
        )


def say_steps(one: FormVersion, parent: FormVersion | None) -> str:
    """What is other than with its parent: ``trimmed 9 min (7), rim ribbed added``."""
    if parent is None:
        return ""
    before = {step.name.casefold(): step for step in parent.steps}
    now = {step.name.casefold(): step for step in one.steps}
    told: list[str] = []
    for key, step in now.items():
        old = before.get(key)
        if old is None:
            told.append(f"{step.name} added")
        elif old.minutes != step.minutes:
            took = "no minutes" if step.minutes is None else f"{step.minutes:g} min"
            told.append(
                f"{step.name} {took} ({'–' if old.minutes is None else f'{old.minutes:g}'})"
            )
    told += [f"{step.name} left out" for key, step in before.items() if key not in now]
    return ", ".join(told) or "the same"


_OUTCOMES = ("Stands", "Steps", "Made", "Lost", "Seen most", "Shipped")


def _archived(one: FormVersion) -> str:
    return ", archived" if one.archived else ""


def _measure(value: float | None, unit: str) -> str:
    return "" if value is None else show_quantity(value, unit, 0 if value == int(value) else 1)


def _say_lost(one: FormVersion) -> str:
    lost = one.outcome.lost
    return f"{lost.events} of {lost.trials} through" if lost.trials else ""


def _say_fault(one: FormVersion) -> str:
    fault = one.outcome.seen_most
    if fault is None:
        looked = one.outcome.rates.inspected
        return f"no fault on {looked}" if looked else ""
    rate = one.outcome.rates.rate_of(fault)
    return f"{FAULTS[fault]} on {rate.seen} of {rate.inspected}"
