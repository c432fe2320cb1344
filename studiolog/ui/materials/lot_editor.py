"""One lot of a material: where it comes from, its figures, and how they are typed or pasted."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.glaze.analysis_text import read_analysis_text, say_left_out
from studiolog.craft.glaze.materials import say_difference
from studiolog.craft.glaze.oxides import LOI, OXIDES, in_order, pretty, read_oxide
from studiolog.craft.words import ANALYSIS_BASES
from studiolog.journal.material_page import LotPage
from studiolog.journal.materials import change_lot, delete_lot, set_analysis
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.materials.figures import FigureRow, figures_in_words
from studiolog.ui.parts.basis_mark import BasisMark
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import LineField, ProblemLine
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Caption, Text, Words

PROPERTIES = (
    Property("label", "Label", hint="spring bag, batch 12"),
    Property("dated", "Dated", "day"),
    Property("price_per_kg", "Price a kg", "number", "", 3, 0, 1_000_000),
    Property("basis", "Basis", "choice", choices=tuple(ANALYSIS_BASES.items())),
    Property("source", "Source", hint="supplier's data sheet, laboratory"),
)
COLUMNS = (
    GridColumn("Oxide", needed=True),
    GridColumn("Per cent", "number", "", 3, None, None, width=112, needed=True),
)
_CHANGE, _DONE = "Change the figures", "Hide the table"


class LotEditor(QWidget):
    """Shows one lot and keeps what is changed in it."""

    deleted = Signal()

    def __init__(self, page: ThingPage, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._page = page
        self._lot: LotPage | None = None
        self.mark = BasisMark()
        self.title = Words("", "body", 600)
        self.basis = Text("", "secondary", tone="ink2", wrap=True)
        self.figures = FigureRow()
        self._told = QVBoxLayout()
        self._told.setSpacing(4)
        self.against = Text("", "secondary", tone="ink2", wrap=True)
        self.why_fixed = Text("", "secondary", tone="ink2", wrap=True)
        self.change_figures = link_button(_CHANGE)
        self.sheet = PropertySheet(PROPERTIES, 3)
        self.grid = GridEditor("Figures of the analysis", COLUMNS, "Figure", movable=False)
        self.grid.offer(0, lambda: [*OXIDES, LOI])
        self.pasted = LineField("Or paste it", hint="SiO2 67.5, Al2O3 18, LOI 0.6")
        self.read_button = self.pasted.add_button("Read")
        self.delete = link_button("Delete this lot")
        self.problem = ProblemLine()
        self._figures_open = QWidget()
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(8)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.title)
        words.addWidget(self.basis)
        head.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        head.addLayout(words, 1)
        opened = QVBoxLayout(self._figures_open)
        opened.setContentsMargins(0, 0, 0, 0)
        opened.setSpacing(8)
        opened.addWidget(self.grid)
        opened.addWidget(self.pasted)
        self._figures_open.hide()
        feet = QHBoxLayout()
        feet.setSpacing(16)
        feet.addWidget(self.change_figures)
        feet.addWidget(self.delete)
        feet.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 8)
        rows.setSpacing(8)
        rows.addLayout(head)
        rows.addWidget(self.figures)
        rows.addLayout(self._told)
        for item in (self.against, self._figures_open, self.sheet, self.why_fixed, self.problem):
            rows.addWidget(item)
        rows.addLayout(feet)

    def _connect(self) -> None:
        self.sheet.changed.connect(self._keep_field)
        self.grid.edited.connect(self._keep_grid)
        self.read_button.clicked.connect(self.read_pasted)
        self.pasted.line.returnPressed.connect(self.read_pasted)
        self.change_figures.clicked.connect(self.toggle_figures)
        self.delete.clicked.connect(self._delete)

    # What is shown

    def show_lot(self, lot: LotPage, before: LotPage | None) -> None:
        """Show a lot; ``before`` is the one it follows."""
        other = self._lot is None or self._lot.lot_id != lot.lot_id
        self._lot = lot
        self.mark.set_basis(lot.analysis.basis)
        self.title.setText(lot.words or ("As shipped" if lot.ships else "Lot without a name"))
        words = ANALYSIS_BASES[lot.analysis.basis]
        self.basis.setText(f"{words}{'; recipes written now get it' if lot.in_force else ''}")
        self.figures.show_analysis(lot.analysis)
        clear_layout(self._told)
        for sentence in (*lot.told, *_doubts(lot)):
            self._told.addWidget(CautionLine(sentence))
        against = say_difference(lot.analysis, before.analysis) if before is not None else ""
        named = (before.words or "the analysis that ships") if before is not None else ""
        self.against.setText(f"Against {named}: {against}." if against else "")
        self.against.setVisible(bool(against))
        self._show_editing(lot, other)
        if other:
            self.problem.say("")

    def _show_editing(self, lot: LotPage, other: bool) -> None:
        self.sheet.setVisible(not lot.ships)
        self.sheet.show_values(
            {
                "label": lot.label,
                "dated": lot.dated,
                "price_per_kg": None if lot.price_per_kg is None else float(lot.price_per_kg),
                "basis": lot.analysis.basis,
                "source": lot.source,
            }
        )
        self.grid.set_rows(_rows(lot))
        empty = not lot.analysis.is_given
        if other or lot.is_fixed:
            self._open_figures(empty and not lot.is_fixed)
        self.change_figures.setVisible(not lot.is_fixed)
        self.delete.setVisible(bool(lot.lot_id) and not lot.uses)
        note = f" {lot.notes[0].upper()}{lot.notes[1:]}." if lot.ships and lot.notes else ""
        if lot.ships:
            why = f"It ships with the program and stays as it is.{note}"
        elif lot.is_fixed:
            fixed = ", ".join(use.title for use in lot.uses if use.fixed)
            why = (
                f"Pieces or test plans go by what was computed with it ({fixed}): its figures stay."
            )
        else:
            why = ""
        self.why_fixed.setText(why)
        self.why_fixed.setVisible(bool(why))

    def toggle_figures(self) -> None:
        """Open the table of figures, or put it away."""
        self._open_figures(not self._figures_open.isVisibleTo(self))

    def _open_figures(self, opened: bool) -> None:
        self._figures_open.setVisible(opened)
        self.change_figures.setText(_DONE if opened else _CHANGE)
        self.change_figures.setAccessibleName(self.change_figures.text())
        if opened and self.isVisible():
            self.grid.setFocus(Qt.FocusReason.OtherFocusReason)

    # What is kept

    def read_pasted(self) -> None:
        """Take the figures from the text in place of those there."""
        text = self.pasted.line.text()
        if not text.strip():
            self.pasted.set_problem("Paste or type the analysis first.")
            return
        try:
            read = read_analysis_text(text)
        except UserProblem as problem:
            self.pasted.set_problem(problem.sentence)
            return
        if self._keep_figures(read.oxides, read.loi_percent, self.pasted.set_problem):
            self.pasted.set_text("")
            told = say_left_out(read.left_out)
            if told:
                self._page.desk.notices.say(told)

    def _keep_grid(self) -> None:
        try:
            oxides, loss = _figures(self.grid.rows())
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)
            return
        self._keep_figures(oxides, loss, self.grid.set_problem)

    def _keep_figures(self, oxides: Mapping[str, float], loss: float | None, say: Any) -> bool:
        assert self._lot is not None
        edit = partial(set_analysis, lot_id=self._lot.lot_id, oxides=dict(oxides), loi_percent=loss)
        return self._page.run(f"Analysis of {self._named()}", edit, say)

    def _keep_field(self, key: str, value: object) -> None:
        assert self._lot is not None
        lot = self._lot
        if key == "price_per_kg" and value is not None:
            value = Decimal(str(value))

        def edit(session: Session) -> None:
            change_lot(session, lot.lot_id, lot.version, **{key: value})

        def say(sentence: str) -> None:
            if not self.sheet.set_problem(key, sentence):
                self.problem.say(sentence)

        self._page.run(f"Lot of {self._named()}", edit, say)

    def _delete(self) -> None:
        assert self._lot is not None
        lot_id = self._lot.lot_id
        if self._page.run(
            f"Delete a lot of {self._named()}",
            lambda session: delete_lot(session, lot_id),
            self.problem.say,
        ):
            self.deleted.emit()

    def _named(self) -> str:
        return self._page.head.name.text()


def _doubts(lot: LotPage) -> Sequence[str]:
    if not lot.like_before or lot.ships:
        return ()
    return (f"Its figures are still those of {lot.like_before}: put in its own.",)


def _rows(lot: LotPage) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = [
        (pretty(oxide), value) for oxide, value in in_order(lot.analysis.oxides).items()
    ]
    if lot.analysis.loi_percent is not None:
        rows.append((LOI, lot.analysis.loi_percent))
    return rows


def _figures(rows: Sequence[tuple[Cell, ...]]) -> tuple[dict[str, float], float | None]:
    """The oxides and the loss in a table. Raises `UserProblem` naming the row."""
    found: dict[str, float] = {}
    for place, (name, value) in enumerate(rows, start=1):
        try:
            oxide = read_oxide(str(name))
        except UserProblem as problem:
            raise UserProblem(f"Figure {place}: {problem.sentence}") from problem
        if oxide in found:
            raise UserProblem(f"Figure {place}: {pretty(oxide)} is there already.")
        assert isinstance(value, float)
        found[oxide] = value
    loss = found.pop(LOI, None)
    return found, loss


class LotSummary(QWidget):
    """A lot that is not open: its mark, name and figures in a line, and a way to open it."""

    opened = Signal()

    def __init__(self, lot: LotPage) -> None:
        super().__init__()
        named = lot.words or ("As shipped" if lot.ships else "Lot without a name")
        self.show_button = link_button("Show")
        self.show_button.setAccessibleName(f"Show {named}")
        self.show_button.clicked.connect(self.opened)
        head = QHBoxLayout()
        head.setContentsMargins(0, 0, 0, 0)
        head.setSpacing(8)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(Words(named, "secondary", 600))
        words.addWidget(Caption(ANALYSIS_BASES[lot.analysis.basis], wrap=True))
        words.addWidget(Caption(figures_in_words(lot.analysis), wrap=True))
        if lot.uses:
            named = ", ".join(use.title for use in lot.uses)
            words.addWidget(Caption(f"Computed with it: {named}", wrap=True))
        head.addWidget(BasisMark(lot.analysis.basis), 0, Qt.AlignmentFlag.AlignTop)
        head.addLayout(words, 1)
        head.addWidget(self.show_button, 0, Qt.AlignmentFlag.AlignTop)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 6, 0, 10)
        rows.addLayout(head)
