"""The question as a sentence with removable tokens, a menu to add to it, and a line to type in."""

from dataclasses import replace
from datetime import date, timedelta
from functools import partial

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QMenu, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import ATMOSPHERES, FAULTS, METHODS, SURFACE_GROUPS, SURFACES
from studiolog.journal.question import (
    Basis,
    Combination,
    ConeRange,
    Names,
    Question,
    say_cone_range,
    sentence,
    sentence_parts,
)
from studiolog.journal.question_chemistry import OFFERED, in_order, say_measure, say_range
from studiolog.journal.question_offers import GoesOn, go_on
from studiolog.journal.question_reading import Reading, read_question
from studiolog.journal.question_words import BASIS_WORDS, SEVERITY_WORDS
from studiolog.ui.parts.choice import FlowLayout, TokenButton
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import KeyCap, link_button
from studiolog.ui.parts.text import Text

_HINT = (
    "crazing, chalk over kelp, cone 5-6½ as measured, inside, since March, notes 'pinging'; "
    "matt, SiO2:Al2O3 above 8"
)
_CONES = ((-5.0, -2.0), (-2.0, 2.0), (4.5, 5.5), (5.0, 6.0), (5.5, 6.5), (6.0, 7.0), (8.5, 10.5))


class QuestionBar(QWidget):
    """Shows a question; ``asked`` carries the changed one."""

    asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._question = Question()
        self._names = Names()
        self._holder = QWidget()
        self._flow = FlowLayout(self._holder, spacing=4, line_spacing=4)
        self.add_button = QPushButton("+ and…")
        self.add_button.setAccessibleName("Add to the question")
        self._menu = QMenu(self)
        self._menu.aboutToShow.connect(self._fill_menu)
        self.add_button.setMenu(self._menu)
        self.line = TypedQuestion()
        self.line.asked.connect(self._take)
        self.line.given_up.connect(self.stop_typing)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(self._holder)
        rows.addWidget(self.line)
        self.line.hide()
        self.setAccessibleName("Question")

    def question(self) -> Question:
        """The question shown."""
        return self._question

    def show_question(self, question: Question, names: Names) -> None:
        """Show a question in the words of this journal."""
        self._question, self._names = question, names
        self.line.set_names(names)
        had = self.focusWidget()
        keep = had.property("part") if isinstance(had, TokenButton) else None
        while (item := self._flow.takeAt(0)) is not None:
            old = item.widget()
            if old is not None and old is not self.add_button:
                old.hide()
                old.deleteLater()
        tokens: list[TokenButton] = []
        for part in sentence_parts(question, names):
            if part.removable:
                token = TokenButton(part.text, large=True)
                token.setProperty("part", part.key)
                token.removed.connect(partial(self._drop, part.key))
                tokens.append(token)
                self._put(token)
            else:
                self._put(Text(part.text, "figure", 500))
        self._put(self.add_button)
        if keep is not None and tokens:
            # Removing one token with the keyboard leaves the next one at hand.
            tokens[min(len(tokens) - 1, self._dropped_at)].setFocus()
        self.setAccessibleDescription(sentence(question, names))

    _dropped_at = 0

    def _put(self, widget: QWidget) -> None:
        self._flow.addWidget(widget)
        widget.show()  # at once: a layout shows its new widgets only when events run next

    def start_typing(self) -> None:
        """Open the line with the sentence in it, all chosen, ready to be typed over."""
        self.line.open(sentence(self._question, self._names))
        self.line.show()
        self.line.edit.setFocus()

    def stop_typing(self) -> None:
        """Put the line away; the question stays as it was."""
        self.line.hide()
        self.add_button.setFocus()

    def _take(self, question: Question) -> None:
        self.line.hide()
        self.asked.emit(question)

    def _drop(self, key: str) -> None:
        keys = [p.key for p in sentence_parts(self._question, self._names) if p.removable]
        self._dropped_at = keys.index(key) if key in keys else 0
        self.asked.emit(self._question.without(key))

    def _ask(self, changed: Question) -> None:
        if changed != self._question:
            self.asked.emit(changed)

    # The menu

    def _fill_menu(self) -> None:
        menu, q, names = self._menu, self._question, self._names
        menu.clear()
        self._offer(menu, "Fault", [(w, replace(q, fault=f)) for f, w in FAULTS.items()])
        severe = [(SEVERITY_WORDS[n][0], replace(q, severity=n)) for n in (2, 3)]
        self._offer(menu, "How bad", severe)
        self._offer_surfaces(menu)
        self._offer(menu, "Zone", [(zone, replace(q, zone=zone)) for zone in names.zones])
        self._offer(menu, "Clay", [(n, replace(q, clay_id=i)) for i, n in names.clays.items()])
        self._offer_glazes(menu)
        self._offer_formulas(menu)
        self._offer_cones(menu)
        self._offer(
            menu, "Atmosphere", [(w, replace(q, atmosphere=a)) for a, w in ATMOSPHERES.items()]
        )
        self._offer(menu, "Level", [(level, replace(q, level=level)) for level in names.levels])
        self._offer(menu, "Method", [(w, replace(q, method=m)) for m, w in METHODS.items()])
        self._offer(menu, "Fired", self._spans())
        menu.addSeparator()
        menu.addAction("Words in the notes…", self._type_notes)
        menu.addAction("Type the question\t/", self.start_typing)

    def _offer(self, menu: QMenu, title: str, offers: list[tuple[str, Question]]) -> QMenu:
        inner = menu.addMenu(title)
        inner.setEnabled(bool(offers))
        for words, changed in offers:
            action = inner.addAction(words.replace("&", "&&"))
            action.triggered.connect(partial(self._ask, changed))
        return inner

    def _offer_glazes(self, menu: QMenu) -> None:
        q, names = self._question, self._names
        glazes = {one: name for one, name in names.glazes.items() if one not in names.trials}
        inner = self._offer(
            menu,
            "Glazes",
            [("two glazes overlap", replace(q, combination=Combination("overlap")))]
            if glazes
            else [],
        )
        for over, title in glazes.items():
            offers = [
                ("anywhere", replace(q, combination=Combination("anywhere", over))),
                ("alone", replace(q, combination=Combination("only", over))),
            ]
            offers += [
                (f"over {under}", replace(q, combination=Combination("over", over, under_id)))
                for under_id, under in glazes.items()
                if under_id != over
            ]
            self._offer(inner, title.replace("&", "&&"), offers)

    def _offer_surfaces(self, menu: QMenu) -> None:
        """Words are added to those there are; what the fault leaves is then looked for on them."""
        q = self._question
        inner = menu.addMenu("Surface")
        for place, words in enumerate(SURFACE_GROUPS.values()):
            if place:
                inner.addSeparator()
            for word, label in words.items():
                every = tuple(w for w in SURFACES if w in (*q.surfaces, word))
                action = inner.addAction(label)
                action.triggered.connect(partial(self._ask, replace(q, surfaces=every)))

    def _offer_formulas(self, menu: QMenu) -> None:
        q = self._question
        offers = []
        for one in OFFERED:
            others = tuple(c for c in q.chemistry if c.measure != one.measure)
            changed = replace(q, chemistry=in_order((*others, one)), made_of=None)
            offers.append((say_range(one), changed))
        inner = self._offer(menu, "Formula of a glaze", offers)
        inner.addSeparator()
        inner.addAction("Other figures: type them\t/", self._type_formula)

    def _type_formula(self) -> None:
        """The line with the sentence and a condition at its end, its figure chosen."""
        said = sentence(self._question, self._names).rstrip("?")
        asked = {one.measure for one in self._question.chemistry}
        first = next((one for one in OFFERED if one.measure not in asked), OFFERED[0])
        self.start_typing()
        self.line.edit.setText(f"{said}, {say_range(first)}")
        self.line.edit.setSelection(len(said) + 2 + len(say_measure(first.measure)) + 1, 99)

    def _offer_cones(self, menu: QMenu) -> None:
        q = self._question
        now = q.cone or ConeRange()
        offers = []
        for low, high in _CONES:
            cone = ConeRange(low, high, now.basis)
            offers.append((say_cone_range(cone), replace(q, cone=cone)))
        inner = self._offer(menu, "Cone at the piece", offers)
        inner.addSeparator()
        bases: tuple[Basis, ...] = ("read", "computed", "aimed")
        for basis in bases:
            changed = replace(q, cone=replace(now, basis=basis))
            inner.addAction(f"only {BASIS_WORDS[basis][0]}").triggered.connect(
                partial(self._ask, changed)
            )

    def _spans(self) -> list[tuple[str, Question]]:
        today, q = date.today(), self._question
        return [
            ("in the last 30 days", replace(q, since=today - timedelta(30), until=None)),
            ("in the last 90 days", replace(q, since=today - timedelta(90), until=None)),
            ("this year", replace(q, since=date(today.year, 1, 1), until=None)),
            (
                "last year",
                replace(q, since=date(today.year - 1, 1, 1), until=date(today.year - 1, 12, 31)),
            ),
        ]

    def _type_notes(self) -> None:
        said = sentence(self._question.without("notes"), self._names).rstrip("?")
        self.start_typing()
        self.line.edit.setText(f"{said} with “” in the notes")
        self.line.edit.setCursorPosition(len(said) + 7)


class TypedQuestion(QWidget):
    """A line to type a question in; what it is read as, and what is not read, stands below.

    So does what the last word may go on as: → takes the first, a click any.
    """

    asked = Signal(object)
    given_up = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._names = Names()
        self.edit = QLineEdit()
        self.edit.setPlaceholderText(_HINT)
        self.edit.setAccessibleName("Type the question")
        self.edit.textChanged.connect(self._read)
        self.edit.returnPressed.connect(self._enter)
        self.edit.installEventFilter(self)
        self.read_as = Text("", "secondary", tone="ink2", wrap=True)
        self._offers = QWidget()
        self._offered = FlowLayout(self._offers, spacing=8, line_spacing=2)
        self._goes_on: tuple[GoesOn, ...] = ()
        self._unread = QWidget()
        self._nearest = FlowLayout(self._unread, spacing=4, line_spacing=2)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(self.edit)
        rows.addWidget(self._offers)
        rows.addWidget(self.read_as)
        rows.addWidget(self._unread)
        self._reading = Reading(Question())

    def set_names(self, names: Names) -> None:
        self._names = names

    def open(self, text: str) -> None:
        """Show a text, all of it chosen."""
        self.edit.setText(text)
        self.edit.selectAll()
        self._read()

    def reading(self) -> Reading:
        """How the line is read now."""
        return self._reading

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            watched is self.edit
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() == Qt.Key.Key_Escape
        ):
            self.given_up.emit()
            return True
        if (
            watched is self.edit
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() == Qt.Key.Key_Right
            and not event.modifiers()
            and self._goes_on
            and self.edit.cursorPosition() == len(self.edit.text())
            and not self.edit.hasSelectedText()
        ):
            self._take(self._goes_on[0])
            return True
        return super().eventFilter(watched, event)

    def offers(self) -> tuple[str, ...]:
        """What the last word may go on as."""
        return tuple(one.words for one in self._goes_on)

    def _offer(self) -> None:
        text = self.edit.text()
        self._goes_on = go_on(text, self._names)
        while (item := self._offered.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        if self._goes_on:
            self._offered.addWidget(KeyCap("→"))
        for one in self._goes_on:
            button = link_button(one.words)
            button.setAccessibleName(f"Go on with {one.words}")
            button.clicked.connect(partial(self._take, one))
            self._offered.addWidget(button)
        self._offers.setVisible(bool(self._goes_on))

    def _take(self, one: GoesOn, _checked: bool = False) -> None:
        self.edit.setText(f"{self.edit.text()[: one.start]}{one.words}")
        self.edit.setFocus()

    def _read(self) -> None:
        self._offer()
        self._reading = read_question(self.edit.text(), self._names)
        self.read_as.setText(f"Read as: {sentence(self._reading.question, self._names)}")
        while (item := self._nearest.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        for word in self._reading.unread:
            self._nearest.addWidget(IconLabel("warning", "rust", 16))
            self._nearest.addWidget(
                Text(
                    f"“{word.word}” is not understood" + (". Is it" if word.nearest else ""),
                    "secondary",
                    tone="rust",
                )
            )
            for near in word.nearest:
                button = link_button(near)
                button.setAccessibleName(f"Read {word.word} as {near}")
                button.clicked.connect(partial(self._replace, word.start, word.end, near))
                self._nearest.addWidget(button)
            leave = link_button("leave it out")
            leave.setAccessibleName(f"Leave out {word.word}")
            leave.clicked.connect(partial(self._replace, word.start, word.end, ""))
            self._nearest.addWidget(leave)
        self._unread.setVisible(bool(self._reading.unread))

    def _replace(self, start: int, end: int, words: str) -> None:
        text = self.edit.text()
        self.edit.setText(f"{text[:start]}{words}{text[end:]}")
        self.edit.setFocus()

    def _enter(self) -> None:
        # A word that was not understood is never dropped without a say.
        if not self._reading.unread:
            self.asked.emit(self._reading.question)
