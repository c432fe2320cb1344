"""Absorption of a clay by boiling: a row a test, what it comes to by cone, and the sum."""

from datetime import date
from typing import Any

from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.clay.absorption import HOW, NO_PROOF, say_guide
from studiolog.craft.clay.shrinkage import Spread
from studiolog.craft.firing.cones import label_of, say_band
from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.words import CONE_BASES
from studiolog.desktop.desk import Desk
from studiolog.journal.absorption import (
    AbsorptionDraft,
    AbsorptionLine,
    ClayAbsorption,
    read_absorption,
    set_absorptions,
)
from studiolog.problems import UserProblem
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import write_number
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text

_COLUMNS = (
    GridColumn("Tested", "day", width=97),
    GridColumn("Piece", "number", "", 0, 1, 10_000_000, width=56),
    GridColumn("Cone", width=52),
    GridColumn("Dry", "number", "", 2, 0.01, 100_000, needed=True),
    GridColumn("Boiled", "number", "", 2, 0.01, 100_000, needed=True),
    GridColumn("In water", "number", "", 2, 0, 100_000, width=75),
    GridColumn("%", told=True, width=56),
)
_MINUS = "\N{MINUS SIGN}"


class AbsorptionSection(Section):
    """Reads the tests of the clay it is shown; a row is kept once both weights are there."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Absorption", parent=parent)
        self._desk = desk
        self._clay: ClayAbsorption | None = None
        self.bands = QVBoxLayout()
        self.bands.setSpacing(2)
        self.grid = GridEditor("Absorption tests", _COLUMNS, "Test", movable=False, most_rows=8)
        self.head_line = Text("Specimens without glaze, weighed, g", "secondary", 500, "ink2")
        self.sums = Text("", "secondary", tone="ink2", wrap=True)
        self.how = Caption(HOW, wrap=True)
        self.no_proof = Caption(NO_PROOF, "ink2", wrap=True)
        self.add(self.bands)
        for item in (self.head_line, self.grid, self.sums, self.no_proof, self.how):
            self.add(item)
        self.grid.edited.connect(self._keep)
        self.grid.grid.currentCellChanged.connect(lambda *_cells: self._say_sum())

    def show_clay(self, clay_id: int) -> None:
        """Read and show a clay's tests."""
        clay = self._desk.read(lambda session: read_absorption(session, clay_id))
        self._clay = clay
        many = len(clay.lines)
        self.set_quiet("1 test" if many == 1 else f"{many} tests" if many else "not tested yet")
        clear_layout(self.bands)
        for place, words in enumerate(say_bands(clay)):
            weight, tone = (500, "ink") if not place else (400, "ink2")
            size = "body" if not place else "secondary"
            self.bands.addWidget(Text(words, size, weight, tone, wrap=True))
        self.grid.set_rows([_row(line) for line in clay.lines])
        self._say_sum()

    def _say_sum(self) -> None:
        clay = self._clay
        if clay is None or not clay.lines:
            self.sums.hide()
            return
        here = self.grid.grid.currentRow()
        line = clay.lines[here if 0 <= here < len(clay.lines) else 0]
        self.sums.setText(say_sums(line))
        self.sums.show()

    def _keep(self) -> None:
        clay = self._clay
        if clay is None:
            return
        today = date.today()
        rows = self.grid.rows()
        # What the table does not show, the note of a test, stays with its row.
        notes = [line.note for line in clay.lines] if len(rows) >= len(clay.lines) else []
        drafts = [
            _draft(row, notes[place] if place < len(notes) else "", today)
            for place, row in enumerate(rows)
        ]
        seen = [(line.test_id, line.version) for line in clay.lines]

        def write(session: Any) -> None:
            set_absorptions(session, clay.clay_id, seen, drafts, today)

        try:
            self._desk.edits.run(f"Absorption of {clay.name}", write)
        except UserProblem as problem:
            self.grid.set_problem(problem.sentence)


def say_bands(clay: ClayAbsorption) -> tuple[str, ...]:
    """A sentence for each cone band, and what was stated."""
    told = []
    for one in clay.bands:
        where = "no cone known" if one.band is None else say_band(one.band)
        guide = say_guide(one.spread.mean, clay.limits)
        told.append(f"{_say_mean(one.spread)} at {where}: {guide}."
                    if one.band is not None
                    else f"{_say_mean(one.spread)}, {where}: {guide}.")  # fmt: skip
    if clay.stated_percent is not None:
        stated = show_quantity(clay.stated_percent, "%", 1)
        if told:
            told.append(f"Stated: {stated}.")
        else:
            told.append(f"{stated} stated, not tested: {say_guide(clay.stated_percent)}.")
    return tuple(told) or ("Neither stated nor tested.",)


def say_sums(line: AbsorptionLine) -> str:
    """The sums of one test, as C373 has them."""
    dry, boiled = write_number(line.dry_g, 2), write_number(line.saturated_g, 2)
    told = line.told
    words = (
        f"({boiled} {_MINUS} {dry}) / {dry} = {show_quantity(told.absorption_percent, '%', 2)} "
        "taken up"
    )
    if line.suspended_g is not None and told.porosity_percent is not None:
        water = write_number(line.suspended_g, 2)
        assert told.bulk_density is not None
        assert told.apparent_specific_gravity is not None
        words += (
            f"; open pores ({boiled} {_MINUS} {dry}) / ({boiled} {_MINUS} {water}) = "
            f"{show_quantity(told.porosity_percent, '%', 2)}; bulk density {dry} / ({boiled} "
            f"{_MINUS} {water}) = {show_quantity(told.bulk_density, 'g/ml', 3)}; apparent specific "
            f"gravity {dry} / ({dry} {_MINUS} {water}) = "
            f"{show_number(told.apparent_specific_gravity, 3)}"
        )
    if line.cone10 is not None:
        basis = CONE_BASES.get(line.cone_basis or "", "as said")
        words += f"; cone {label_of(line.cone10 / 10)} ({basis})"
    return f"{words}."


def _say_mean(found: Spread) -> str:
    many = "1 test" if found.n == 1 else f"{found.n} tests"
    if found.sd is None:
        return f"{show_quantity(found.mean, '%', 2)} ({many})"
    return f"{show_number(found.mean, 2)} ± {show_quantity(found.sd, '%', 2)} ({many})"


def _row(line: AbsorptionLine) -> tuple[Cell, ...]:
    return (
        line.tested_on,
        line.piece_number,
        line.cone,
        line.dry_g,
        line.saturated_g,
        line.suspended_g,
        show_number(line.told.absorption_percent, 2),
    )


def _draft(row: tuple[Cell, ...], note: str, today: date) -> AbsorptionDraft:
    day, piece, cone, dry, boiled, water, _ = row
    return AbsorptionDraft(
        tested_on=day if isinstance(day, date) else today,
        dry_g=float(str(dry)),
        saturated_g=float(str(boiled)),
        suspended_g=None if water is None else float(str(water)),
        piece_number=None if piece is None else int(float(str(piece))),
        cone=str(cone or ""),
        note=note,
    )
