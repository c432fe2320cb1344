"""A formula to type, in the trade's three columns, each oxide with what was found beside it."""

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from studiolog.craft.glaze.formula_words import PLACES, write_moles
from studiolog.craft.glaze.oxides import in_order, pretty
from studiolog.craft.glaze.target import Residual
from studiolog.craft.glaze.target_words import read_formula_words, write_formula_words
from studiolog.craft.glaze.unity import Place, place_of
from studiolog.craft.units import show_number
from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField, ProblemLine, read_number, write_number
from studiolog.ui.parts.text import Caption, Text

_COLUMNS: Final[tuple[tuple[str, tuple[Place, ...]], ...]] = (
    (PLACES["flux"], ("flux",)),
    ("Amphoteric and boron", ("amphoteric", "boron", "phosphorus", "outside")),
    (PLACES["former"], ("former",)),
)
_USUAL: Final = (
    *("Li2O", "Na2O", "K2O", "MgO", "CaO", "SrO", "BaO", "ZnO"),
    *("Al2O3", "B2O3", "Fe2O3", "P2O5"),
    *("SiO2", "TiO2", "ZrO2", "SnO2"),
)
_FIELD = 72  # px, before scaling
_DECIMALS = 4


class TargetFormula(QWidget):
    """``changed`` fires with every letter that leaves a formula which can be read."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = LineField(
            "Formula on one line", hint="0.3 K2O 0.7 CaO 0.4 Al2O3 3.5 SiO2, then Enter"
        )
        self.problem = ProblemLine()
        self._locked = False
        self._fields: dict[str, QLineEdit] = {}
        self._found: dict[str, Text] = {}
        self._off: dict[str, Text] = {}
        self._grids = [self._make_grid(head) for head, _places in _COLUMNS]
        # Fluxes beside the rest, which is as long: both are seen at once.
        columns = QHBoxLayout()
        columns.setSpacing(32)
        beside = QVBoxLayout()
        beside.setSpacing(12)
        for holder, _grid in self._grids[1:]:
            beside.addWidget(holder)
        beside.addStretch(1)
        columns.addWidget(self._grids[0][0], 0, Qt.AlignmentFlag.AlignTop)
        columns.addLayout(beside)
        columns.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(12)
        rows.addWidget(self.line)
        rows.addLayout(columns)
        rows.addWidget(self.problem)
        for oxide in _USUAL:
            self._add(oxide)
        self.line.edited.connect(self._take_line)

    def field(self, oxide: str) -> QLineEdit:
        """The field in which an oxide is wanted."""
        return self._fields[oxide]

    def found_words(self, oxide: str) -> str:
        """What was found of an oxide, as shown."""
        return self._found[oxide].text()

    def lock(self) -> None:
        """Let the formula be read only: it is kept as it is."""
        self.line.hide()
        self._locked = True
        for field in self._fields.values():
            _lock(field)

    def wanted(self) -> dict[str, float]:
        """Moles by oxide as typed. Raises `UserProblem` naming the oxide."""
        moles: dict[str, float] = {}
        for oxide, field in self._fields.items():
            try:
                amount = read_number(field.text())
            except UserProblem as problem:
                raise UserProblem(f"{pretty(oxide)}: {problem.sentence}") from problem
            if amount is None or amount == 0.0:
                continue
            if amount < 0.0:
                raise UserProblem(f"{pretty(oxide)} can't be less than 0 moles.")
            moles[oxide] = amount
        return in_order(moles)

    def show_wanted(self, moles: Mapping[str, float]) -> None:
        """Show a formula without telling anyone."""
        for oxide in moles:
            if oxide not in self._fields:
                self._add(oxide)
        for oxide, field in self._fields.items():
            field.setText(write_number(moles.get(oxide) or None, _DECIMALS))
        self.problem.say("")

    def show_residual(self, residual: Sequence[Residual]) -> None:
        """Show what was found beside what is wanted; nothing where nothing was found."""
        by_oxide = {one.oxide: one for one in residual}
        for oxide in by_oxide:
            if oxide not in self._fields and by_oxide[oxide].got >= 0.0005:
                self._add(oxide)
        for oxide, field in self._fields.items():
            one = by_oxide.get(oxide)
            self._found[oxide].setText(write_moles(one.got) if one is not None else "")
            told = "" if one is None else _off_words(one)
            self._off[oxide].setText(told)
            self._off[oxide].set_tone("ink3" if one is None or one.within else "rust")
            field.setAccessibleDescription(
                f"found {write_moles(one.got)}, {one.words}" if one is not None else ""
            )

    def _make_grid(self, head: str) -> tuple[QWidget, QGridLayout]:
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(2)
        grid.addWidget(Text(head, "secondary", 600), 0, 0, 1, 4)
        for place, words in enumerate(("", "Wanted", "Found", "Off")):
            if not words:
                continue
            quiet = Caption(words)
            quiet.setAlignment(Qt.AlignmentFlag.AlignRight)
            grid.addWidget(quiet, 1, place)
        return holder, grid

    def _add(self, oxide: str) -> None:
        place = place_of(oxide)
        column = next(at for at, (_, places) in enumerate(_COLUMNS) if place in places)
        _, grid = self._grids[column]
        row = grid.rowCount()
        field = QLineEdit()
        field.setAccessibleName(f"{pretty(oxide)} wanted")
        field.setAlignment(Qt.AlignmentFlag.AlignRight)
        field.setFixedWidth(theme.current().px(_FIELD))
        found, off = Text("", "secondary"), Text("", "secondary", tone="ink3")
        for text in (found, off):
            text.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            text.setMinimumWidth(theme.current().px(48))
        grid.addWidget(Text(pretty(oxide), "body", 500), row, 0)
        grid.addWidget(field, row, 1)
        grid.addWidget(found, row, 2)
        grid.addWidget(off, row, 3)
        self._fields[oxide], self._found[oxide], self._off[oxide] = field, found, off
        field.textEdited.connect(self._hear)
        if self._locked:
            _lock(field)

    def _hear(self) -> None:
        try:
            self.wanted()
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.problem.say("")
        self.changed.emit()

    def _take_line(self, text: str) -> None:
        if not text:
            return
        try:
            moles = read_formula_words(text)
        except UserProblem as problem:
            self.line.set_problem(problem.sentence)
            return
        self.show_wanted(moles)
        self.line.set_text(write_formula_words(moles))
        self.changed.emit()


def _off_words(one: Residual) -> str:
    if abs(one.off) < 0.0005:
        return "0"
    size = show_number(one.off, 3 if abs(one.off) < 0.0995 else 2)
    return size if one.off < 0.0 else f"+{size}"


def _lock(field: QLineEdit) -> None:
    field.setReadOnly(True)
    field.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    field.setProperty("role", "bare")
