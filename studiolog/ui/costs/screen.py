"""What a good piece of each form costs, and which form pays for its hours."""

from collections.abc import Sequence
from decimal import Decimal
from functools import partial

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.costs import CostsPage, read_costs
from studiolog.journal.studio import set_terms
from studiolog.problems import UserProblem
from studiolog.ui.costs.cost_rows import CostRows
from studiolog.ui.costs.cost_view import CostView
from studiolog.ui.parts.money_field import MoneyField
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState, Hairline
from studiolog.ui.parts.text import Text

_WIDE = 340  # px


class CostsScreen(Screen):
    """Forms by what an hour of their work brings; the sum of one beside them."""

    kinds = frozenset(
        {"form", "piece", "run", "clay", "glaze", "material", "firing", "kiln", "studio", "limit"}
    )
    title = "Costs"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._form_id = 0
        self._page: CostsPage | None = None
        self._build()
        self.list.selectionModel().currentChanged.connect(self._hear_current)
        self.rate.value_changed.connect(self._keep_rate)
        self.view.opened.connect(lambda kind, row_id: desk.show(kind, row_id))
        self.empty.acted.connect(lambda: desk.show("form", 0, "new"))

    def _build(self) -> None:
        self.rate = MoneyField("An hour of your work is to earn")
        self.list = CostRows()
        self.remarks = Text("", "secondary", tone="ink2", wrap=True)
        side = QVBoxLayout()
        side.setContentsMargins(0, 16, 0, 8)
        side.setSpacing(8)
        side.addWidget(Text("Costs", "title", 600))
        side.addWidget(self.rate)
        side.addWidget(Hairline())
        side.addWidget(self.list, 1)
        side.addWidget(self.remarks)
        self.side = QWidget()
        self.side.setLayout(side)
        self.view = CostView()
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(self.view)
        self.empty = EmptyState(
            "No form yet.",
            "With a form's clay weight, steps and price, with prices of clay and materials and of "
            "a kWh, this page tells what a good piece costs and what an hour of the work brings.",
            "New form",
        )
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 48, 0, 0)
        rows.addWidget(self.empty)
        rows.addStretch(1)
        holder.setMaximumWidth(theme.current().px(560))
        self.stack = QStackedWidget()
        self.stack.addWidget(holder)
        self.stack.addWidget(scroll)
        across = QHBoxLayout(self)
        across.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN - 8, 0)
        across.setSpacing(COLUMN_GAP + 8)
        across.addWidget(self.side)
        across.addWidget(self.stack, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: with large text the list leaves most of the width to the sum."""
        super().resizeEvent(event)
        wide = theme.current().px(_WIDE)
        self.side.setFixedWidth(min(wide, max(_WIDE, round(self.width() * 0.34))))

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the keyboard starts at the list, or at what begins it."""
        super().showEvent(event)
        if not self.isAncestorOf(QApplication.focusWidget() or self.window()):
            first = self.list if self._form_id else self.empty.action
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def reload(self) -> None:
        """Reckon anew."""
        self.show_page(self.desk.read(read_costs))

    def show_page(self, page: CostsPage) -> None:
        """Show the forms, and the sum of the one chosen."""
        self._page = page
        self.rate.set_currency(page.currency)
        if not (self.rate.line.hasFocus() and self.rate.line.isModified()):
            self.rate.set_value(page.hour_rate)
        known = {line.form_id for line in page.lines}
        if self._form_id not in known:
            self._form_id = page.lines[0].form_id if page.lines else 0
        self.list.show_costs(page, self._form_id)
        self.remarks.setText(" ".join(page.remarks))
        self.remarks.setVisible(bool(page.remarks))
        self.stack.setCurrentIndex(1 if page.lines else 0)
        self._show_chosen()

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show the sum of a form; 0 leaves what is shown."""
        if row_id:
            self._form_id = row_id
        self.mark_stale()

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return ((("↑", "↓"), "through the list"), (("Ctrl", "Z"), "undo"))

    def _show_chosen(self) -> None:
        if self._page is None:
            return
        for line in self._page.lines:
            if line.form_id == self._form_id:
                self.view.show_line(line, self._page.currency)

    def _keep_rate(self, rate: Decimal | None) -> None:
        try:
            self.desk.edits.run("What an hour is to earn", partial(set_terms, hour_rate=rate))
        except UserProblem as problem:
            self.rate.set_problem(problem.sentence)

    def _hear_current(self, index: QModelIndex, _before: QModelIndex) -> None:
        if index.isValid():
            self._form_id = self.list.current_row().line.form_id
            self._show_chosen()
