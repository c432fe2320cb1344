"""The materials a recipe may have, typed and ticked, with the parts that were found."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QTableWidgetItem, QWidget

from studiolog.craft.glaze.target import Bound
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import write_number
from studiolog.ui.parts.grid_editor import Cell, GridColumn, GridEditor

_USE, _NAME, _LEAST, _MOST, _PARTS = range(5)
COLUMNS = (
    GridColumn("Use", "tick", width=64),
    GridColumn("Material", needed=True),
    GridColumn("Least", "number", decimals=2, lowest=0, highest=100, width=72),
    GridColumn("Most", "number", decimals=2, lowest=0, highest=100, width=72),
    GridColumn("Parts", "number", decimals=2, width=80),
)
_MOST_ROWS = 11


@dataclass(frozen=True)
class ShelfRow:
    """A material and what is asked of it; ``bound`` None: as much as it takes."""

    name: str
    used: bool
    bound: Bound | None


class TargetShelf(GridEditor):
    """Space ticks a material, the last row takes another by its name; parts can't be typed."""

    def __init__(self, names: Callable[[], Sequence[str]], parent: QWidget | None = None) -> None:
        super().__init__(
            "Materials the recipe may have", COLUMNS, "Line", parent=parent, most_rows=_MOST_ROWS
        )
        self.offer(_NAME, names)

    def show_materials(self, names: Sequence[str], used: Sequence[str]) -> None:
        """Show materials, some of them ticked."""
        ticked = {name.casefold() for name in used}
        self.set_rows([(name.casefold() in ticked, name, None, None, None) for name in names])

    def materials(self) -> list[ShelfRow]:
        """What is in the table. Raises `UserProblem` naming the line."""
        return [_row(cells) for cells in self.rows()]

    def as_typed(self) -> list[ShelfRow] | None:
        """What is in the table with the letters being typed; None while it can't be read."""
        cells = self.rows_as_typed()
        if cells is None:
            return None
        try:
            return [_row(one) for one in cells]
        except UserProblem:
            return None

    def show_parts(self, parts: Mapping[str, float]) -> None:
        """Write the parts found; a material that is not in the recipe has none."""
        blocked = self.grid.blockSignals(True)
        for row in range(self.grid.rowCount()):
            name, cell = self.grid.item(row, _NAME), self.grid.item(row, _PARTS)
            if name is not None and cell is not None:
                cell.setText(write_number(parts.get(name.text().strip()), 2))
        self.grid.blockSignals(blocked)
        self.grid.viewport().update()

    def set_used(self, names: Sequence[str], used: bool) -> None:
        """Tick or untick materials, as a person does."""
        wanted = {name.casefold() for name in names}
        blocked = self.grid.blockSignals(True)
        for row in range(self.grid.rowCount()):
            name, tick = self.grid.item(row, _NAME), self.grid.item(row, _USE)
            if name is None or tick is None or name.text().casefold() not in wanted:
                continue
            tick.setCheckState(Qt.CheckState.Checked if used else Qt.CheckState.Unchecked)
        self.grid.blockSignals(blocked)
        self._tell()

    def _item(self, column: GridColumn, value: Cell, empty: bool = False) -> QTableWidgetItem:
        item = super()._item(column, value, empty)
        if column is COLUMNS[_PARTS]:
            item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
        if column is COLUMNS[_USE] and not empty:
            item.setData(Qt.ItemDataRole.AccessibleTextRole, "may be used")
        return item

    def _hear_change(self, item: QTableWidgetItem) -> None:
        fresh = item.row() == self.grid.rowCount() - 1 and bool(item.text().strip())
        super()._hear_change(item)
        tick = self.grid.item(item.row(), _USE)
        if fresh and item.column() == _NAME and tick is not None:
            tick.setCheckState(Qt.CheckState.Checked)


def _row(cells: tuple[Cell, ...]) -> ShelfRow:
    used, name, least, most, _parts = cells
    if least is None and most is None:
        return ShelfRow(str(name), bool(used), None)
    low = float(str(least)) if least is not None else 0.0
    high = float(str(most)) if most is not None else 100.0
    if low > high:
        raise UserProblem(f"{name}: the least parts are more than the most.")
    return ShelfRow(str(name), bool(used), Bound(low, high))
