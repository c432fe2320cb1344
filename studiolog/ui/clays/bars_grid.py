"""Shrinkage bars, typed in as a row each: the marks wet, dry, bisque, fired, and the firing."""

from datetime import datetime

from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.clay.shrinkage import show_percent
from studiolog.desktop.desk import Desk
from studiolog.journal.bars import BarDraft, BarLine, read_bars, set_bars
from studiolog.problems import UserProblem
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.text import Caption, Text

WHAT = (
    "Press two marks 100 mm apart into wet clay and measure between them again at each "
    "stage. A new row makes a numbered piece of this clay; a number that is there measures that "
    "piece. With the firing's number its cone is known."
)
_COLUMNS = (
    GridColumn("Piece", "number", "", 0, 1, 10_000_000, width=64),
    GridColumn("Wet", "number", "", 1, 0.1, 5000),
    GridColumn("Dry", "number", "", 1, 0.1, 5000),
    GridColumn("Bisque", "number", "", 1, 0.1, 5000),
    GridColumn("Fired", "number", "", 1, 0.1, 5000),
    GridColumn("Firing", "number", "", 0, 1, 10_000_000, width=64),
    GridColumn("Shrunk", told=True, width=70),
)


class BarsGrid(QWidget):
    """The bars of one clay; each row is kept as soon as a cell of it is."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self._clay_id = desk, 0
        self._bars: tuple[BarLine, ...] = ()
        self.head = Text("Test bars: distance of the marks, mm", "secondary", 500, "ink2")
        self.grid = GridEditor("Test bars", _COLUMNS, "Bar", movable=False, most_rows=9)
        self.what = Caption(WHAT, wrap=True)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 8, 0, 0)
        rows.setSpacing(4)
        for widget in (self.head, self.grid, self.what):
            rows.addWidget(widget)
        self.grid.edited.connect(self._keep)

    def show_clay(self, clay_id: int) -> None:
        """Read and show the bars of a clay."""
        self._clay_id = clay_id
        self._bars = self._desk.read(lambda session: read_bars(session, clay_id))
        self.grid.set_rows(self._rows())

    def _rows(self) -> list[tuple[Cell, ...]]:
        return [(bar.number, *bar.marks, bar.firing, _shrunk(bar)) for bar in self._bars]

    def _keep(self) -> None:
        clay_id, seen = self._clay_id, self._bars
        drafts = [_draft(row) for row in self.grid.rows()]
        now = datetime.now().replace(microsecond=0)
        try:
            self._desk.edits.run(
                "Measure test bars",
                lambda session: set_bars(session, clay_id, seen, drafts, now),
            )
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)


def _draft(row: tuple[Cell, ...]) -> BarDraft:
    number, *marks, firing, _ = row
    return BarDraft(
        None if number is None else int(float(str(number))),
        tuple(None if mark is None else float(str(mark)) for mark in marks),
        None if firing is None else int(float(str(firing))),
    )


def _shrunk(bar: BarLine) -> str:
    wet, last = bar.marks[0], next((m for m in reversed(bar.marks[1:]) if m is not None), None)
    return "" if not wet or last is None else show_percent((wet - last) / wet)
