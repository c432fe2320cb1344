"""The cost of one form as a sum that can be read line by line."""

from decimal import Decimal

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from studiolog.craft.money import show_money
from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.ware.cost import CostLine, FormCost
from studiolog.craft.words import join_words
from studiolog.desktop import theme
from studiolog.journal.costs import FormCostLine
from studiolog.ui.costs.cost_bar import CostBar
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Hairline, PageTitle, Section, link_button
from studiolog.ui.parts.text import Caption, Figure, Text

_DASH = "–"
_HEADS = ("", "one piece", "begun for a good one", "a good one bears")
_TABLE = 680  # px, so that the eye gets from the words to the numbers
_NUMBER = 88  # px, a column of numbers under its head


class CostView(QWidget):
    """``opened`` carries a kind and an id."""

    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._form_id = 0
        self.title = PageTitle("")
        self.to_form = link_button("Open the form")
        self.title.add_action(self.to_form)
        self.cost = Figure("A good one costs", "")
        self.price = Figure("Price", "")
        self.margin = Figure("Left over", "")
        self.hour = Figure("An hour brings", "")
        figures = QWidget()
        row = FlowLayout(figures, 32, 12)
        for figure in (self.cost, self.price, self.margin, self.hour):
            row.addWidget(figure)
        self.bar = CostBar()
        self.lacking = Text("", "secondary", tone="ochre", wrap=True)
        self.sum = Section("The sum")
        self._table = QWidget()
        self._grid = QGridLayout(self._table)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(24)
        self._grid.setVerticalSpacing(2)
        self._table.setMaximumWidth(theme.current().px(_TABLE))
        self.sum.add(self._table)
        self.losses = Caption("", wrap=True)
        self.sum.add(self.losses)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 16, 8, 32)
        rows.setSpacing(16)
        for part in (self.title, figures, self.bar, self.lacking, self.sum):
            rows.addWidget(part)
        rows.addStretch(1)
        self.setMaximumWidth(theme.current().px(1100))
        self.to_form.clicked.connect(lambda: self.opened.emit("form", self._form_id))

    def show_line(self, line: FormCostLine, currency: str) -> None:
        """Show the cost of a form."""
        self._form_id, cost = line.form_id, line.cost
        made = "1 piece made" if line.pieces == 1 else f"{line.pieces} pieces made"
        self.title.set_title(line.name, made)
        self.to_form.setAccessibleName(f"Open the form {line.name}")
        self._show_figures(cost, currency)
        self.bar.show_cost(cost, currency)
        self._say_lacking(cost)
        clear_layout(self._grid)
        self._fill(cost, currency)
        self.losses.setText(
            f"{line.loss_words[0].upper()}{line.loss_words[1:]}. What is lost has cost what went "
            "into it until then; those that come through bear it."
        )

    def _show_figures(self, cost: FormCost, currency: str) -> None:
        lost = cost.for_losses
        some = cost.known or cost.work_cost is not None
        quiet = f"{show_money(lost, currency)} of it for losses" if some and lost else ""
        self.cost.set_value(show_money(cost.cost, currency) if some else _DASH, quiet)
        priced = cost.price is not None
        words = "on the form's page" if priced else "none on the form's page"
        self.price.set_value(_money(cost.price, currency), words)
        left = cost.margin
        tone = "rust" if left is not None and left < 0 else "ink"
        of = ""
        if left is not None and cost.price:
            share = show_quantity(float(left / cost.price) * 100, "%")
            of = f"{share} of the price"
        self.margin.set_value(_DASH if left is None else show_money(left, currency), of, tone)
        earns = cost.earns_an_hour
        if earns is None:
            self.hour.set_value(_DASH, "needs a price and minutes")
        else:
            minutes = show_quantity(cost.minutes or 0.0, "min")
            wanted = (
                f"is to earn {show_money(cost.hour_rate, currency)}; {minutes} a good one"
                if cost.hour_rate is not None
                else f"{minutes} a good one"
            )
            tone = "rust" if cost.pays is False else "ink"
            self.hour.set_value(show_money(earns, currency), wanted, tone)

    def _say_lacking(self, cost: FormCost) -> None:
        told: list[str] = []
        if cost.missing:
            told.append(f"Not known: {join_words(cost.missing)}.")
        if cost.untimed:
            told.append(f"Nobody said the minutes of {join_words(cost.untimed)}.")
        if not cost.work:
            told.append("The form has no steps: its work counts nothing.")
        elif cost.hour_rate is None:
            told.append("What an hour is to earn is not said: the cost is without work.")
        if told:
            told.append("The cost is at least what stands here.")
        self.lacking.setText(" ".join(told))
        self.lacking.setVisible(bool(told))

    def _fill(self, cost: FormCost, currency: str) -> None:
        wide = theme.current().px(_NUMBER)
        for column, head in enumerate(_HEADS):
            text = Text(head, "caption", tone="ink3", wrap=True)
            if column:
                text.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
                text.setFixedWidth(wide)
            self._put(0, column, text, bool(column))
        self._grid.addWidget(Hairline(), 1, 0, 1, len(_HEADS))
        at = 2
        for line in (*cost.lines, *cost.work):
            self._put_line(at, line, currency)
            at += 2
        self._grid.addWidget(Hairline(), at, 0, 1, len(_HEADS))
        words = "in all"
        if cost.minutes is not None:
            words += f", with {show_quantity(cost.minutes, 'min')} of work"
        self._put(at + 1, 0, Text(words, weight=600, wrap=True))
        total = cost.cost if cost.known or cost.work_cost is not None else None
        self._put(at + 1, 3, Text(_money(total, currency), weight=600), True)
        self._grid.setColumnStretch(0, 1)

    def _put_line(self, at: int, line: CostLine, currency: str) -> None:
        if line.part == "work":
            one = _DASH if line.minutes is None else show_quantity(line.minutes, "min", 1)
        else:
            one = _money(line.each, currency)
        self._put(at, 0, Text(line.words, wrap=True))
        self._put(at, 1, Text(one), True)
        self._put(at, 2, Text(f"× {show_number(line.begun, 2)}", tone="ink2"), True)
        self._put(at, 3, Text(_money(line.good, currency)), True)
        if line.basis:
            basis = Caption(line.basis, wrap=True)
            basis.setContentsMargins(0, 0, 0, 6)
            self._grid.addWidget(basis, at + 1, 0, 1, len(_HEADS), Qt.AlignmentFlag.AlignTop)

    def _put(self, row: int, column: int, text: QWidget, right: bool = False) -> None:
        side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag(0)
        self._grid.addWidget(text, row, column, side | Qt.AlignmentFlag.AlignTop)


def _money(amount: Decimal | None, currency: str) -> str:
    return _DASH if amount is None else show_money(amount, currency)
