"""Properties of a thing in a few columns of fields, each kept as soon as it is typed."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any, Literal

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import DayField, LineField, NumberField
from studiolog.ui.parts.money_field import MoneyField
from studiolog.ui.parts.text import Text

_GAP = 24


@dataclass(frozen=True)
class Property:
    """One field: the key of its value, its label, and what may be typed."""

    key: str
    label: str
    kind: Literal["text", "number", "money", "day", "choice"] = "text"
    unit: str = ""
    decimals: int = 1
    lowest: float | None = None
    highest: float | None = None
    hint: str = ""
    choices: tuple[tuple[Hashable, str], ...] = ()


class _Picked(QWidget):
    """A choice with its label above, as the other fields have it."""

    def __init__(self, prop: Property) -> None:
        super().__init__()
        self.pick = PickOne(prop.label, [Choice(key, word) for key, word in prop.choices])
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(Text(prop.label, "secondary", 500, "ink2"))
        rows.addWidget(self.pick)
        rows.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.setFocusProxy(self.pick)


class PropertySheet(QWidget):
    """``changed`` carries the key and the new value when a person has changed a field."""

    changed = Signal(str, object)

    def __init__(
        self, properties: Sequence[Property], columns: int = 3, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._fields: dict[str, LineField | _Picked] = {}
        self._left_out: set[str] = set()
        self._most, self._columns = columns, 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(_GAP)
        self._grid.setVerticalSpacing(12)
        for prop in properties:
            self._fields[prop.key] = self._make(prop)
        self._lay(columns)

    def minimumSizeHint(self) -> QSize:
        """Qt: in one column."""
        wide = max(field.minimumSizeHint().width() for field in self._fields.values())
        return QSize(wide, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        wide = self.minimumSizeHint().width() + _GAP
        self._lay(max(1, min(self._most, (self.width() + _GAP) // wide)))

    def _lay(self, columns: int) -> None:
        if columns == self._columns:
            return
        self._columns = columns
        for field in self._fields.values():
            self._grid.removeWidget(field)
        asked = [field for key, field in self._fields.items() if key not in self._left_out]
        for place, field in enumerate(asked):
            row, column = divmod(place, columns)
            self._grid.addWidget(field, row, column, Qt.AlignmentFlag.AlignTop)
        for column in range(self._most):
            self._grid.setColumnStretch(column, 1 if column < columns else 0)

    def field(self, key: str) -> QWidget:
        """The field of a key."""
        return self._fields[key]

    def ask_for(self, key: str, asked: bool) -> None:
        """Show a field, or leave it out; the others close up."""
        if asked == (key in self._left_out):
            self._left_out ^= {key}
            self._fields[key].setVisible(asked)
            columns, self._columns = self._columns, 0
            self._lay(columns)

    def set_currency(self, currency: str) -> None:
        """Name the currency after every amount of money."""
        for field in self._fields.values():
            if isinstance(field, MoneyField):
                field.set_currency(currency)

    def show_values(self, values: Mapping[str, Any]) -> None:
        """Show values without telling anyone; a field being typed into is left alone."""
        for key, field in self._fields.items():
            value = values[key]
            if isinstance(field, _Picked):
                field.pick.choose(value)
            elif field.line.hasFocus() and field.line.isModified() and not field.problem():
                continue
            elif isinstance(field, NumberField | MoneyField):
                field.set_value(value)
            elif isinstance(field, DayField):
                field.set_day(value)
            else:
                field.set_text(value or "")

    def set_problem(self, key: str, sentence: str) -> bool:
        """Show a sentence at a field; False if there is no such field."""
        field = self._fields.get(key)
        if not isinstance(field, LineField):
            return False
        field.set_problem(sentence)
        return True

    def _make(self, prop: Property) -> LineField | _Picked:
        if prop.kind == "choice":
            picked = _Picked(prop)
            picked.pick.picked.connect(partial(self._tell, prop.key))
            return picked
        if prop.kind == "number":
            number = NumberField(
                prop.label,
                prop.unit,
                None,
                prop.decimals,
                prop.lowest,
                prop.highest,
                prop.hint,
            )
            number.value_changed.connect(partial(self._tell, prop.key))
            return number
        if prop.kind == "money":
            money = MoneyField(prop.label, prop.unit, None, prop.decimals, prop.hint)
            money.value_changed.connect(partial(self._tell, prop.key))
            return money
        if prop.kind == "day":
            day = DayField(prop.label)
            day.day_changed.connect(partial(self._tell, prop.key))
            return day
        line = LineField(prop.label, "", prop.hint, prop.unit)
        line.edited.connect(partial(self._tell, prop.key))
        return line

    def _tell(self, key: str, value: str | float | Decimal | date | None) -> None:
        self.changed.emit(key, value)
