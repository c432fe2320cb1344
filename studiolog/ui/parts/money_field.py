"""A field for an amount of money: a Decimal from the moment it is typed."""

from decimal import Decimal

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from studiolog.craft.money import read_money
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import LineField


class MoneyField(LineField):
    """An amount with the studio's currency; ``value_changed`` carries Decimal or None."""

    value_changed = Signal(object)

    def __init__(
        self,
        label: str,
        currency: str = "",
        value: Decimal | None = None,
        decimals: int = 2,
        hint: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(label, write_money(value), hint, currency, parent)
        self._currency, self._decimals = currency, decimals
        self.line.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._keep_width(96)
        self._row.addStretch(1)

    def value(self) -> Decimal | None:
        """The amount, ``None`` when empty. Raises `UserProblem`; ``problem()`` shows it too."""
        try:
            return read_money(self.text(), self._currency, self._decimals)
        except UserProblem as problem:
            self.set_problem(problem.sentence)
            raise

    def set_currency(self, currency: str) -> None:
        """Name the currency after the line."""
        self._currency = currency
        self._unit.setText(currency)
        self._unit.setVisible(bool(currency))

    def set_value(self, value: Decimal | None) -> None:
        """Show an amount without telling anyone."""
        self.set_text(write_money(value))

    def _check(self) -> bool:
        try:
            self.value()
        except UserProblem:
            return False
        return True

    def _tell(self) -> None:
        super()._tell()
        self.value_changed.emit(self.value())


def write_money(value: Decimal | None) -> str:
    """As few places as it has: "28", "28.50", "0.005"."""
    if value is None:
        return ""
    whole, _, part = f"{value:f}".partition(".")
    part = part.rstrip("0")
    return f"{whole}.{part:0<2}" if part else whole
