"""What is asked for, typed on one line: how many, of which form, clay and glaze, in which words."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import LineField, NumberField
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.money_field import MoneyField, write_money
from studiolog.ui.parts.text import Text
from studiolog.ui.parts.typed import write_number

NONE = 0
_ANY = "any"


@dataclass(frozen=True)
class WareChoices:
    """What may be chosen: forms, and sets where these may be asked for; clays and glazes."""

    forms: tuple[Choice, ...] = ()
    clays: tuple[Choice, ...] = ()
    glazes: tuple[Choice, ...] = ()
    sets: tuple[Choice, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Ware:
    """What is asked for. ``named`` has the words of what is chosen, for what was put away since."""

    wanted: int | None = None
    form_id: int | None = None
    set_id: int | None = None
    clay_id: int | None = None
    glaze_id: int | None = None
    what: str = ""
    price: Decimal | None = None
    named: dict[str, str] = field(default_factory=dict)


def keep_room(drawing: QWidget) -> None:
    """A drawing that is not shown keeps its room, so that the rows stay level."""
    policy = drawing.sizePolicy()
    policy.setRetainSizeWhenHidden(True)
    drawing.setSizePolicy(policy)


class WareFields(QWidget):
    """``edited`` fires when a field was changed by hand; ``done`` when Enter ends the typing.

    ``counted`` labels the count ("Wanted", "In one set"); ``about`` names the fields apart from
    those of the neighbours.
    """

    edited = Signal()
    done = Signal()

    def __init__(
        self, counted: str, about: str, *, priced: bool = True, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.wanted = NumberField(counted, "", None, 0, 1)
        self.form = PickOne(f"Form, {about}")
        self.clay = PickOne(f"Clay, {about}", hint=_ANY)
        self.glaze = PickOne(f"Glaze, {about}", hint=_ANY)
        self.what = LineField("In words", hint="Size, colour, what was said")
        self.price = MoneyField("Price each") if priced else None
        look = theme.current()
        self.wanted.line.setFixedWidth(look.px(64))
        if self.price is not None:
            self.price.line.setFixedWidth(look.px(80))
        self._named = {
            "form": self._box("Form" if not priced else "Form or set", self.form, 96),
            "clay": self._box("Clay", self.clay, 80),
            "glaze": self._box("Glaze", self.glaze, 80),
        }
        self._action: QWidget | None = None
        self._lines = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(8)
        self._lay(1)
        for pick in (self.form, self.clay, self.glaze):
            pick.picked.connect(lambda _what: self.edited.emit())
        self.form.picked.connect(lambda _form: self._settle_set())
        self.what.edited.connect(lambda _text: self.edited.emit())
        self.wanted.value_changed.connect(lambda _number: self.edited.emit())
        for line in (self.what.line, self.wanted.line):
            line.returnPressed.connect(self.done)
        if self.price is not None:
            self.price.value_changed.connect(lambda _price: self.edited.emit())
            self.price.line.returnPressed.connect(self.done)
        typed = self.form.lineEdit()
        if typed is not None:
            # Once the name typed has been taken for a form.
            typed.returnPressed.connect(lambda: QTimer.singleShot(0, self, self._end_at_form))

    def _box(self, label: str, pick: PickOne, least: int) -> QWidget:
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        words = Text(label, "secondary", 500, "ink2")
        words.setBuddy(pick)
        rows.addWidget(words)
        rows.addWidget(pick)
        rows.addStretch(1)
        pick.setMinimumWidth(theme.current().px(least))
        return holder

    def _end_at_form(self) -> None:
        if self.form.chosen() not in (None, NONE) and self.wanted.text():
            self.done.emit()

    def add_action(self, action: QWidget) -> None:
        """Put a button at the end, level with the lines that are typed into."""
        self._action = action
        self._lines = 0
        self._lay(1)

    # Room

    def _ordered(self) -> list[QWidget]:
        ends = [self.price] if self.price is not None else []
        return [self.wanted, *self._named.values(), self.what, *ends]

    def _needs(self, lines: int) -> int:
        """The width in which everything has its room on so many lines."""
        gap = self._grid.horizontalSpacing()
        action = self._action.sizeHint().width() + gap if self._action else 0
        words = theme.current().px(128)
        least = {one: one.minimumSizeHint().width() for one in self._ordered()}
        least[self.what] = max(least[self.what], words)
        first, *others = [sum(least[one] + gap for one in row) for row in self._rows(lines)] or [0]
        return max(first + (action if isinstance(self._action, IconButton) or lines == 1 else 0),
                   *others, 0)  # fmt: skip

    def _rows(self, lines: int) -> list[list[QWidget]]:
        form, clay, glaze = self._named.values()
        ends: list[QWidget] = [self.price] if self.price is not None else []
        if lines == 1:
            return [[self.wanted, form, clay, glaze, self.what, *ends]]
        if lines == 2:
            return [[self.wanted, form, *ends], [clay, glaze, self.what]]
        if lines == 3:
            return [[self.wanted, form], [clay, glaze], [self.what, *ends]]
        return [[self.wanted, *ends], [form], [clay], [glaze], [self.what]]

    def minimumSizeHint(self) -> QSize:
        """Qt: under each other."""
        return QSize(self._needs(4), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay(next((n for n in (1, 2, 3) if self._needs(n) <= self.width()), 4))

    def _lay(self, lines: int) -> None:
        if lines == self._lines:
            return
        self._lines = lines
        for one in (*self._ordered(), self._action):
            if one is not None:
                self._grid.removeWidget(one)
        for column in range(8):
            self._grid.setColumnStretch(column, 0)
        rows = self._rows(lines)
        across = max(len(row) for row in rows)
        for place, row in enumerate(rows):
            for column, one in enumerate(row):
                last = column == len(row) - 1
                self._grid.addWidget(one, place, column, 1, across - column if last else 1)
        if lines == 1:
            for column, stretch in ((1, 4), (2, 3), (3, 3), (4, 5)):
                self._grid.setColumnStretch(column, stretch)
        else:
            self._grid.setColumnStretch(across - 1 if lines == 4 else 1, 1)
        if self._action is None:
            return
        if isinstance(self._action, IconButton) or lines == 1:
            level = Qt.AlignmentFlag.AlignBottom
            self._grid.addWidget(self._action, 0, across, level)
        else:
            left = Qt.AlignmentFlag.AlignLeft
            self._grid.addWidget(self._action, len(rows), 0, 1, across, left)

    # What is chosen

    def offer(self, choices: WareChoices, also: Ware | None = None) -> None:
        """What there is to choose from; what was put away stays with the line that has it."""
        named = also.named if also else {}
        kept_form = self._kept(also.form_id if also else None, named.get("form"), choices.forms)
        forms = [
            Choice(NONE, "no form"),
            *(Choice(("form", one.ident), one.label, note=one.note) for one in choices.forms),
            *(Choice(("form", one.ident), one.label) for one in kept_form),
            *(Choice(("set", one.ident), f"set: {one.label}") for one in choices.sets),
            *(
                Choice(("set", one.ident), f"set: {one.label}")
                for one in self._kept(also.set_id if also else None, named.get("set"), choices.sets)
            ),
        ]
        self.form.set_choices(forms)
        for pick, offered, ident, word in (
            (self.clay, choices.clays, also.clay_id if also else None, named.get("clay")),
            (self.glaze, choices.glazes, also.glaze_id if also else None, named.get("glaze")),
        ):
            kept = self._kept(ident, word, offered)
            pick.set_choices([Choice(NONE, _ANY), *offered, *kept])

    @staticmethod
    def _kept(ident: Hashable | None, word: str | None, offered: Sequence[Choice]) -> list[Choice]:
        if ident is None or not word or ident in {one.ident for one in offered}:
            return []
        return [Choice(ident, word)]

    def show_ware(self, ware: Ware) -> None:
        """Show values without telling anyone; what is being typed just now is left alone."""
        if ware.set_id is not None:
            self.form.choose(("set", ware.set_id))
        else:
            self.form.choose(("form", ware.form_id) if ware.form_id is not None else NONE)
        self.clay.choose(ware.clay_id or NONE)
        self.glaze.choose(ware.glaze_id or NONE)
        for one, text in ((self.what, ware.what), (self.wanted, write_number(ware.wanted))):
            # The same text again would take the selection away from under the cursor.
            if one.text() != text or one.problem():
                one.set_text(text)
        if self.price is not None and (
            self.price.text() != write_money(ware.price) or self.price.problem()
        ):
            self.price.set_value(ware.price)
        self._settle_set()

    def _settle_set(self) -> None:
        """The parts of a set say its clays and glazes."""
        asked = self._chosen("set") is not None
        for key, pick in (("clay", self.clay), ("glaze", self.glaze)):
            self._named[key].setEnabled(not asked)
            if asked:
                pick.choose(NONE)

    def _chosen(self, kind: str) -> int | None:
        chosen = self.form.chosen()
        if isinstance(chosen, tuple) and chosen[0] == kind:
            return int(chosen[1])
        return None

    def ware(self) -> Ware:
        """What is typed. Raises `UserProblem`, and shows it at its field."""
        wanted = self.wanted.value()
        if wanted is None:
            self.wanted.set_problem("How many?")
            raise UserProblem("Say how many are wanted.", {"wanted": "How many?"})
        clay, glaze = self.clay.chosen(), self.glaze.chosen()
        return Ware(
            wanted=round(wanted),
            form_id=self._chosen("form"),
            set_id=self._chosen("set"),
            clay_id=clay if isinstance(clay, int) and clay != NONE else None,
            glaze_id=glaze if isinstance(glaze, int) and glaze != NONE else None,
            what=self.what.text(),
            price=self.price.value() if self.price is not None else None,
        )
