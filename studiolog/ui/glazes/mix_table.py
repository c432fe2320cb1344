"""The weighings of a mix: a box to tick for each line, and what lies on the scale then."""

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCheckBox, QGridLayout, QWidget

from studiolog.craft.glaze.batch import BatchLine, decimals_of, show_weight
from studiolog.craft.units import show_quantity
from studiolog.journal.mixing import Mix, RecipeWeighing
from studiolog.paper.mixing_sheet import say_error
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import EditableText, ProblemLine, read_number, write_number
from studiolog.ui.parts.section import Hairline
from studiolog.ui.parts.text import Text, Words

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_HEADS = ("", "Material", "Wanted", "Weigh", "Off by", "On the scale", "Left on the shelf")
_TOP = 1
"""The first row under the heads and their hairline is 2; rows and hairlines take turns."""


class _Weighed(EditableText):
    """Grams to weigh, changed where they stand; emptied, the rounded figure comes back."""

    def __init__(self, material: str) -> None:
        super().__init__(f"Weighed of {material}, g", "", "–", "body", 600)
        self._shown.setAlignment(_RIGHT)
        self._line.setAlignment(_RIGHT)


class _Tick(QCheckBox):
    """A box that leaves the arrow keys to its table: they go from tick to tick."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            event.ignore()
        else:
            super().keyPressEvent(event)


class _Row:
    """The widgets of one line."""

    def __init__(self, place: int, part: RecipeWeighing) -> None:
        self.tick = _Tick()
        self.tick.setAccessibleName(f"Line {place + 1} is weighed: {part.material}")
        name = f"+ {part.material}" if part.addition else part.material
        self.name = Words(name, "body")
        if part.lot:
            self.name.setToolTip(f"Lot: {part.lot}")
        self.wanted, self.error = Text("", "body", tone="ink2"), Text("", "body", tone="ink2")
        self.running, self.left = Text("", "body", tone="ink2"), Text("", "body", tone="ink2")
        for cell in (self.wanted, self.error, self.running, self.left):
            cell.setAlignment(_RIGHT)
        self.weighed = _Weighed(part.material)

    def cells(self) -> tuple[QWidget, ...]:
        return (
            self.tick, self.name, self.wanted, self.weighed, self.error, self.running, self.left,
        )  # fmt: skip

    def show(self, line: BatchLine, left: float | None) -> None:
        self.wanted.setText(show_quantity(line.wanted_g, "g", decimals_of(line.step_g) + 1))
        self.weighed.set_text(write_number(line.weighed_g, max(decimals_of(line.step_g), 2)))
        self.error.setText(say_error(line))
        wrong = line.breaks or line.too_coarse
        self.error.set_tone("rust" if line.breaks else "ochre" if wrong else "ink2")
        self.error.setToolTip(_say_doubt(line))
        self.running.setText(show_weight(line.running_g, line.step_g))
        self.left.setText("not known" if left is None else show_quantity(left, "g"))
        self.left.set_tone("ink3" if left is None else "rust" if left < 0 else "ink2")
        done = self.tick.isChecked()
        self.name.set_tone("ink3" if done else "ink")


def _say_doubt(line: BatchLine) -> str:
    """Why a weighing is not to be trusted; empty where it is."""
    if not line.too_coarse:
        return ""
    doubt = show_quantity(100.0 * line.doubt_share, "%", 0)
    step = show_weight(line.step_g, line.step_g)
    return f"A scale in steps of {step} tells so little only to {doubt}"


class MixTable(QWidget):
    """``ticked`` fires when a line was ticked or its tick taken back, ``weighed`` with the line and
    the grams typed for it, None for the rounded ones."""

    ticked = Signal()
    weighed = Signal(int, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("What is weighed")
        self._rows: list[_Row] = []
        self._mix: Mix | None = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(1, 1)
        for column, head in enumerate(_HEADS):
            label = Words(head, "secondary", tone="ink2")
            label.setAlignment(_RIGHT if column > 1 else Qt.AlignmentFlag.AlignLeft)
            self._grid.addWidget(label, 0, column)
        self._grid.addWidget(Hairline(), 1, 0, 1, len(_HEADS))
        self.problem = ProblemLine()

    def show_mix(self, mix: Mix) -> None:
        """Show the weighings of a mix; ticks stay."""
        if len(self._rows) != len(mix.batch.lines):
            self._build(mix)
        self._mix = mix
        for row, line, left in zip(self._rows, mix.batch.lines, mix.stock_after, strict=True):
            row.show(line, left)

    def _build(self, mix: Mix) -> None:
        for place, part in enumerate(mix.bench.recipe):
            row = _Row(place, part)
            self._rows.append(row)
            at = 2 * (place + _TOP)
            for column, cell in enumerate(row.cells()):
                self._grid.addWidget(cell, at, column)
            self._grid.addWidget(Hairline(), at + 1, 0, 1, len(_HEADS))
            row.tick.toggled.connect(partial(self._tick, place))
            row.weighed.edited.connect(partial(self._weigh, place))
        self._grid.addWidget(self.problem, 2 * (len(self._rows) + _TOP), 0, 1, len(_HEADS))

    def ticks(self) -> tuple[int, ...]:
        """The lines that are ticked, from 0."""
        return tuple(place for place, row in enumerate(self._rows) if row.tick.isChecked())

    def set_ticks(self, places: tuple[int, ...]) -> None:
        """Tick these and no others, without telling anyone."""
        for place, row in enumerate(self._rows):
            blocked = row.tick.blockSignals(True)
            row.tick.setChecked(place in places)
            row.tick.blockSignals(blocked)

    def row(self, place: int) -> _Row:
        """The widgets of a line."""
        return self._rows[place]

    def _tick(self, place: int, _on: bool) -> None:
        row = self._rows[place]
        row.name.set_tone("ink3" if row.tick.isChecked() else "ink")
        self.ticked.emit()

    def _weigh(self, place: int, typed: str) -> None:
        material = self._rows[place].name.text()
        try:
            grams = read_number(typed, "g")
            if grams is not None and grams < 0:
                raise UserProblem(f"{material}: what was weighed must be 0 g or more.")
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            if self._mix is not None:
                self.show_mix(self._mix)
            return
        self.problem.say("")
        self.weighed.emit(place, grams)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()))
        now = self.window().focusWidget()
        here = next((n for n, row in enumerate(self._rows) if row.tick is now), None)
        if step is None or here is None:
            super().keyPressEvent(event)
            return
        to = min(max(here + step, 0), len(self._rows) - 1)
        self._rows[to].tick.setFocus(Qt.FocusReason.TabFocusReason)
