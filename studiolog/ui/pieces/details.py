"""The plain facts of a piece, changed each where it stands."""

from collections.abc import Hashable
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.journal.clays import ClayLine, list_clays
from studiolog.journal.forms import FormLine, list_forms
from studiolog.journal.piece_changes import come_from
from studiolog.journal.piece_choices import find_piece_numbered
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.pieces import change_piece
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import DayField, LineField, NumberField, ProblemLine
from studiolog.ui.parts.section import Hairline, Text, link_button
from studiolog.ui.parts.swatch import ClayLook
from studiolog.ui.pieces.page_edits import PageEdits

NOTHING = 0
"""The id that stands for "not said" in a picker."""


class LabelledPick(QWidget):
    """A picker under its label, as the fields beside it have one."""

    def __init__(self, label: str, hint: str = "") -> None:
        super().__init__()
        self.pick = PickOne(label, hint=hint)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(Text(label, "secondary", 500, "ink2"))
        rows.addWidget(self.pick)
        rows.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.setFocusProxy(self.pick)
        self.pick.setMinimumWidth(theme.current().px(120))


class Details(QWidget):
    """Number, form, clay, day made, where it is kept, and the piece it came from."""

    closed = Signal()

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits = edits
        self._build()
        self._connect()

    def _build(self) -> None:
        self.number = NumberField("Number", decimals=0, lowest=1)
        self.number.line.setObjectName("piece_number")
        self.form = LabelledPick("Form")
        self.clay = LabelledPick("Clay")
        self.made_on = DayField("Made on")
        self.kept = LineField("Kept where", hint="on the test shelf")
        self.parent_number = NumberField("Came from piece", decimals=0, lowest=1)
        self.problem = ProblemLine()
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(8)
        for number in (self.number, self.parent_number):
            number.line.setFixedWidth(theme.current().px(88))
        for place, field in enumerate(
            (self.number, self.form, self.clay, self.made_on, self.kept, self.parent_number)
        ):
            grid.addWidget(field, 0, place, Qt.AlignmentFlag.AlignTop)
        for place, stretch in enumerate((0, 3, 3, 0, 3, 0)):
            grid.setColumnStretch(place, stretch)
        self._grid = grid
        done = link_button("Done")
        done.clicked.connect(self.closed)
        foot = QHBoxLayout()
        foot.addWidget(
            Text("Each change is kept at once; undo takes it back.", "caption", tone="ink3")
        )
        foot.addStretch(1)
        foot.addWidget(done)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 12)
        rows.setSpacing(8)
        rows.addWidget(Hairline())
        rows.addLayout(grid)
        rows.addWidget(self.problem)
        rows.addLayout(foot)

    def _connect(self) -> None:
        self.number.value_changed.connect(self._renumber)
        self.form.pick.picked.connect(partial(self._pick, "form_id"))
        self.clay.pick.picked.connect(partial(self._pick, "clay_id"))
        self.made_on.day_changed.connect(self._redate)
        self.kept.edited.connect(self._keep)
        self.parent_number.value_changed.connect(self._relate)

    def show_page(self, page: PiecePage) -> None:
        """Show the facts; a field being typed in keeps what is typed."""
        forms = self._edits.desk.read(lambda session: list_forms(session, archived=True))
        clays = self._edits.desk.read(
            lambda session: list_clays(session, archived=True, counted=False)
        )
        self.form.pick.set_choices(form_choices(forms, page.form.form_id if page.form else None))
        self.form.pick.choose(page.form.form_id if page.form else NOTHING)
        self.clay.pick.set_choices(clay_choices(clays, page.clay.clay_id if page.clay else None))
        self.clay.pick.choose(page.clay.clay_id if page.clay else NOTHING)
        parent = page.came_from[-1].number if page.came_from else None
        if not _typed_in(self.number):
            self.number.set_value(page.number)
        if not _typed_in(self.made_on):
            self.made_on.set_day(page.made_on)
        if not _typed_in(self.kept):
            self.kept.set_text(page.kept_where)
        if not _typed_in(self.parent_number):
            self.parent_number.set_value(parent)

    def _page(self) -> PiecePage:
        assert self._edits.page is not None  # there is no field to change without one
        return self._edits.page

    def _change(self, what: str, fields: dict[str, LineField], **values: object) -> bool:
        page = self._page()
        return self._edits.run(
            what,
            lambda session: change_piece(session, page.piece_id, page.version, **values),
            self.problem,
            fields,
        )

    def _renumber(self, number: float | None) -> None:
        whole = round(number) if number is not None else None
        if whole is None and self._page().run is None:
            self.number.set_problem("A piece without a run needs a number.")
            return
        self._change("Renumber", {"number": self.number}, number=whole)

    def _pick(self, field: str, chosen: Hashable) -> None:
        self._change("Change", {}, **{field: None if chosen == NOTHING else chosen})

    def _redate(self, day: date | None) -> None:
        self._change("Change the day of", {"made_on": self.made_on}, made_on=day)

    def _keep(self, where: str) -> None:
        self._change("Keep", {"kept_where": self.kept}, kept_where=where)

    def _relate(self, number: float | None) -> None:
        page = self._page()

        def relate(session: Session) -> None:
            parent = None
            if number is not None:
                parent = find_piece_numbered(session, round(number))
                if parent is None:
                    sentence = f"There is no piece {round(number)}."
                    raise UserProblem(sentence, {"came_from": sentence})
            come_from(session, page.piece_id, page.version, parent)

        self._edits.run("Say what led to", relate, self.problem, {"came_from": self.parent_number})

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
            return
        super().keyPressEvent(event)


def _typed_in(field: LineField) -> bool:
    return field.line.hasFocus() and field.line.isModified()


def form_choices(forms: list[FormLine], kept: int | None) -> list[Choice]:
    """Forms to choose from: those in use, and the one the piece has."""
    some = [form for form in forms if not form.archived or form.form_id == kept]
    return [Choice(NOTHING, "not said"), *(Choice(form.form_id, form.name) for form in some)]


def clay_choices(clays: list[ClayLine], kept: int | None) -> list[Choice]:
    """Clays to choose from: those in use, and the one the piece has."""
    some = [clay for clay in clays if not clay.archived or clay.clay_id == kept]
    return [
        Choice(NOTHING, "not said"),
        *(
            Choice(clay.clay_id, clay.name, ClayLook(clay.name, clay.colour, clay.specks))
            for clay in some
        ),
    ]
