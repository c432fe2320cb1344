"""One line of an order: what is wanted, what was made of it, and the runs that serve it."""

from decimal import Decimal
from typing import Any

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.journal.forms import FormLine
from studiolog.journal.orders import OrderLineDraft, OrderLinePage
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.form_look import form_shape
from studiolog.ui.parts.half_section import FormShape, HalfSection
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.money_field import MoneyField, write_money
from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.stage_bar import StageBar
from studiolog.ui.parts.text import Text, Words
from studiolog.ui.parts.typed import write_number

_NONE = 0


def progress_words(line: OrderLinePage) -> str:
    """What was made of a line, in words."""
    if not line.made:
        return "nothing made yet"
    told = [f"{line.finished} of {line.wanted} finished"]
    if line.in_work:
        told.append(f"{line.in_work} in work")
    if line.lost:
        told.append(f"{line.lost} lost")
    return ", ".join(told)


def short_words(line: OrderLinePage) -> tuple[str, str]:
    """How many are still to be started, and the tone it is said in."""
    if line.short:
        return f"{line.short} still to start", "ochre"
    if line.finished >= line.wanted:
        return "all there", "celadon"
    spare = line.finished + line.in_work - line.wanted
    return (f"{spare} to spare" if spare else "none to spare"), "ink2"


class LineFields(QWidget):
    """The four fields of a line; ``edited`` fires when one was changed by hand."""

    edited = Signal()

    def __init__(self, about: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.form = PickOne(f"Form, {about}")
        self.what = LineField("In words", hint="Colour, size, what was said")
        self.wanted = NumberField("Wanted", "", None, 0, 1)
        self.price = MoneyField("Price each")
        look = theme.current()
        for field, wide in ((self.wanted, 64), (self.price, 80)):
            field.line.setFixedWidth(look.px(wide))
        self.form.setMinimumWidth(look.px(96))
        self.form.setMaximumWidth(look.px(176))
        self._box = QWidget()
        box = QVBoxLayout(self._box)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(4)
        box.addWidget(Text("Form", "secondary", 500, "ink2"))
        box.addWidget(self.form)
        box.addStretch(1)
        self._action: QWidget | None = None
        self._narrow: bool | None = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(8)
        self._lay(False)
        self.form.picked.connect(lambda _form: self.edited.emit())
        self.what.edited.connect(lambda _text: self.edited.emit())
        self.wanted.value_changed.connect(lambda _number: self.edited.emit())
        self.price.value_changed.connect(lambda _number: self.edited.emit())

    def add_action(self, action: QWidget) -> None:
        """Put a button at the end, level with the lines that are typed into."""
        self._action = action
        self._narrow = None
        self._lay(False)

    def minimumSizeHint(self) -> QSize:
        """Qt: with the words on a line of their own."""
        least = 24 + sum(
            one.minimumSizeHint().width() for one in (self.wanted, self._box, self.price)
        )
        return QSize(least, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        action = self._action.sizeHint().width() if self._action else 0
        words = theme.current().px(200)
        self._lay(self.width() < self.minimumSizeHint().width() + action + words)

    def _lay(self, narrow: bool) -> None:
        if narrow == self._narrow:
            return
        self._narrow = narrow
        level = Qt.AlignmentFlag.AlignBottom
        fields = [self.wanted, self._box, self.what, self.price]
        for one in (*fields, self._action):
            if one is not None:
                self._grid.removeWidget(one)
        for column in range(5):
            self._grid.setColumnStretch(column, 0)
        if narrow:
            for place, one in enumerate((self.wanted, self._box, self.price)):
                self._grid.addWidget(one, 0, place)
            self._grid.addWidget(self.what, 1, 0, 1, 3)
            if isinstance(self._action, IconButton):
                self._grid.addWidget(self._action, 1, 3, level)
            elif self._action is not None:
                self._grid.addWidget(self._action, 2, 0, 1, 3, Qt.AlignmentFlag.AlignLeft)
            self._grid.setColumnStretch(1, 1)
        else:
            for place, one in enumerate(fields):
                self._grid.addWidget(one, 0, place)
            if self._action is not None:
                self._grid.addWidget(self._action, 0, 4, level)
            self._grid.setColumnStretch(1, 1)
            self._grid.setColumnStretch(2, 3)

    def offer(self, forms: list[FormLine], also: OrderLinePage | None = None) -> None:
        """The forms to choose from; one put away stays with the line that has it."""
        choices = [Choice(_NONE, "no form"), *(Choice(form.form_id, form.name) for form in forms)]
        if also is not None and also.form_id not in {None, *(form.form_id for form in forms)}:
            choices.append(Choice(also.form_id or _NONE, also.form_name))
        self.form.set_choices(choices)

    def show_values(
        self, form_id: int | None, what: str, wanted: float | None, price: Decimal | None
    ) -> None:
        """Show values without telling anyone."""
        self.form.choose(form_id or _NONE)
        texts = ((self.what, what), (self.wanted, write_number(wanted)))
        for field, text in texts:
            # The same text again would take the selection away from under the cursor.
            if field.text() != text or field.problem():
                field.set_text(text)
        if self.price.text() != write_money(price) or self.price.problem():
            self.price.set_value(price)

    def draft(self, line_id: int | None = None) -> OrderLineDraft:
        """The line as typed. Raises `UserProblem`."""
        form = self.form.chosen()
        wanted = self.wanted.value()
        if wanted is None:
            self.wanted.set_problem("How many?")
            raise UserProblem("Say how many are wanted.", {"wanted": "How many?"})
        return OrderLineDraft(
            wanted=round(wanted),
            form_id=form if isinstance(form, int) and form != _NONE else None,
            what=self.what.text(),
            price=self.price.value(),
            line_id=line_id,
        )


class LineRow(QWidget):
    """A line on the page. ``changed`` and ``dropped`` name it by its id; ``run_asked`` carries what
    a run for it is to be given; ``opened`` a kind and an id."""

    changed = Signal(int)
    dropped = Signal(int)
    run_asked = Signal(object)
    opened = Signal(str, int)

    def __init__(
        self, line: OrderLinePage, forms: list[FormLine], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.line = line
        self.fields = LineFields(line.title)
        self.problem = ProblemLine()
        self.bar = StageBar({})
        self.progress = Words("", "secondary")
        self.short = Words("", "secondary")
        self._marks = QWidget()
        self.marks = FlowLayout(self._marks, spacing=4, line_spacing=4)
        self.start = QPushButton("Start a run for this line")
        self.drawing = HalfSection(line.title)
        drop = IconButton("cross", f"Take away {line.title}")
        self.drawing.setFixedSize(theme.current().px(48), theme.current().px(56))
        self.fields.add_action(drop)
        words = QVBoxLayout()
        words.setSpacing(6)
        words.addWidget(self.fields)
        words.addWidget(self.problem)
        words.addWidget(self.bar)
        words.addLayout(self._build_runs())
        across = QHBoxLayout()
        across.setSpacing(16)
        across.addWidget(self.drawing, 0, Qt.AlignmentFlag.AlignTop)
        across.addLayout(words, 1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 8, 0, 0)
        rows.setSpacing(12)
        rows.addLayout(across)
        rows.addWidget(Hairline())
        self.fields.edited.connect(lambda: self.changed.emit(line.line_id))
        drop.clicked.connect(lambda: self.dropped.emit(line.line_id))
        self.start.clicked.connect(lambda: self.run_asked.emit(self.wish()))
        self.show_line(line, forms)

    def _build_runs(self) -> FlowLayout:
        row = FlowLayout(spacing=10, line_spacing=6)
        for one in (self.progress, self.short, self._marks, self.start):
            row.addWidget(one)
        return row

    def show_line(self, line: OrderLinePage, forms: list[FormLine]) -> None:
        """Show the line as the journal read it; the focus stays where it is."""
        self.line = line
        self.fields.offer(forms, line)
        self.fields.show_values(line.form_id, line.what, line.wanted, line.price)
        plain = FormShape()
        shape = form_shape(line.shape, line.profile, line.height_mm, line.across_mm)
        self.drawing.show_shape(line.title, plain if line.form_id is None else shape)
        self.bar.set_counts(line.counts)
        self.bar.setVisible(bool(line.made))
        self.progress.setText(progress_words(line))
        words, tone = short_words(line)
        self.short.setText(words)
        self.short.set_tone(tone)
        self.start.setAccessibleName(f"Start a run for {line.wanted} {line.title}")
        self.marks.clear()
        self._marks.setVisible(bool(line.runs))
        for run in line.runs:
            mark = NumberMark("run", run.number, run.run_id)
            mark.opened.connect(self.opened)
            self.marks.addWidget(mark)

    def wish(self) -> dict[str, Any]:
        """What a run for this line is to be given."""
        line = self.line
        return {
            "order_line_id": line.line_id,
            "form_id": line.form_id,
            "title": line.what if line.form_id is None else "",
            "how_many": line.short or None,
            "purpose": "order",
        }
