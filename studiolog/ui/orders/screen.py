"""The orders: what is owed, to whom, by when; a list, and the page of one."""

from collections.abc import Sequence
from datetime import date
from functools import partial

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.orders import (
    OrderDraft,
    OrderList,
    OrderPage,
    add_order,
    list_orders,
    read_order_page,
)
from studiolog.journal.session import Session
from studiolog.journal.studio import read_currency
from studiolog.problems import UserProblem
from studiolog.ui.orders.order_rows import OrderRows
from studiolog.ui.orders.order_view import OrderView
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.ready_when import ReadyWhen
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState, Hairline
from studiolog.ui.parts.text import Text
from studiolog.ui.parts.ware_choices import read_ware_choices
from studiolog.ui.parts.ware_fields import WareChoices

_MOST = 500
_WIDE = 320  # px


class OrdersScreen(Screen):
    """Open orders by their promise; what is late is said with its days."""

    kinds = frozenset({"order", "run", "piece", "form", "clay", "glaze", "set", "studio"})
    title = "Orders"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._order_id = 0
        self._build()
        self._connect()

    def _build(self) -> None:
        self.new_button = QPushButton("New order")
        self.new_button.setToolTip("N")
        self.new_name = LineField("Whom is it for?", hint="Enter keeps, Esc gives up")
        self.add_button = self.new_name.add_button("Add")
        self.new_name.hide()
        self.summary = Text("", "secondary", tone="ink2")
        self.list = OrderRows()
        self.closed = QCheckBox("Delivered and dropped too")
        head = QHBoxLayout()
        head.addWidget(Text("Orders", "title", 600), 1)
        head.addWidget(self.new_button)
        side = QVBoxLayout()
        side.setContentsMargins(0, 16, 0, 8)
        side.setSpacing(8)
        side.addLayout(head)
        side.addWidget(self.new_name)
        side.addWidget(self.summary)
        side.addWidget(Hairline())
        side.addWidget(self.list, 1)
        side.addWidget(self.closed)
        self.side = QWidget()
        self.side.setLayout(side)
        self.view = OrderView(self.desk)
        self.ready_when = ReadyWhen(self.desk)
        self.view.ready_when.addWidget(self.ready_when)
        self.page_view = QScrollArea()
        self.page_view.setWidgetResizable(True)
        self.page_view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.page_view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.page_view.setWidget(self.view)
        self.empty = EmptyState(
            "No orders yet.",
            "An order says whom it is for and by when. A run that serves one of its lines is then "
            "counted against it, and the bench shows how near the promise is.",
            "New order",
        )
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 48, 0, 0)
        rows.addWidget(self.empty)
        rows.addStretch(1)
        holder.setMaximumWidth(theme.current().px(560))
        self.stack = QStackedWidget()
        self.stack.addWidget(holder)
        self.stack.addWidget(self.page_view)
        across = QHBoxLayout(self)
        across.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN - 8, 0)
        across.setSpacing(COLUMN_GAP + 8)
        across.addWidget(self.side)
        across.addWidget(self.stack, 1)

    def _connect(self) -> None:
        self.new_button.clicked.connect(self.start_new)
        self.empty.acted.connect(self.start_new)
        self.new_name.line.returnPressed.connect(self.add_named)
        self.add_button.clicked.connect(self.add_named)
        self.closed.toggled.connect(lambda _on: self.mark_stale())
        self.list.selectionModel().currentChanged.connect(self._hear_current)
        self.view.shown.connect(
            lambda page: self.ready_when.show_order(page.order_id, page.state == "open")
        )
        self.view.opened.connect(lambda kind, row_id: self.desk.show(kind, row_id))
        self.view.run_asked.connect(lambda given: self.desk.show("bench", 0, {"start run": given}))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: with large text the list leaves most of the width to the order."""
        super().resizeEvent(event)
        wide = theme.current().px(_WIDE)
        self.side.setFixedWidth(min(wide, max(_WIDE, round(self.width() * 0.32))))

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the keyboard starts at the list, or at what begins it."""
        super().showEvent(event)
        if not self.isAncestorOf(QApplication.focusWidget() or self.window()):
            first = self.list if self._order_id else self.empty.action
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def reload(self) -> None:
        """Read the list and the order that is shown anew."""
        state = None if self.closed.isChecked() else "open"
        listed = self.desk.read(partial(list_orders, state=state, limit=_MOST))
        shown = {order.order_id for order in listed.orders}
        page = self._read(self._order_id)
        if page is None:
            self._order_id = listed.orders[0].order_id if listed.orders else 0
        elif self._order_id not in shown and state:
            # One just delivered stays on the page, and in the list beside it.
            listed = OrderList(listed.total, listed.start, (*listed.orders, page), listed.by_state)
        self.show_page(listed)

    def show_page(self, listed: OrderList) -> None:
        """Show the list and the order chosen in it."""
        opened = listed.by_state.get("open", 0)
        closed = sum(listed.by_state.values()) - opened
        today = date.today()
        late = sum(
            1
            for order in listed.orders
            if order.state == "open" and order.promised_on and order.promised_on < today
        )
        self.closed.setVisible(bool(closed))
        told = [f"{opened} open", *([f"{late} overdue"] if late else []), f"{closed} closed"]
        self.summary.setText(", ".join(told))
        self.list.show_orders(listed.orders, self._order_id, today)
        self._show_order()

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show an order; 0 leaves what is shown. ``more`` "new" starts a new one."""
        if row_id:
            self._order_id = row_id
        self.mark_stale()
        if more == "new":
            self.start_new()

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return (
            (("N",), "new order"),
            (("S",), "ship what is finished"),
            (("↑", "↓"), "through the list"),
            (("Enter",), "change in place"),
            (("Ctrl", "Z"), "undo"),
        )

    # What a person does

    def start_new(self) -> None:
        """Ask whom a new order is for."""
        self.new_name.set_text("")
        self.new_name.show()
        self.new_name.line.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def add_named(self) -> None:
        """Enter an order for the name typed, and show it."""
        today = date.today()
        draft = OrderDraft(whom=self.new_name.text(), ordered_on=today)
        try:
            order_id = self.desk.edits.run(
                f"Take an order for {draft.whom}", partial(add_order, draft=draft, today=today)
            )
        except UserProblem as problem:
            self.new_name.set_problem(problem.fields.get("whom", problem.sentence))
            return
        self.new_name.hide()
        self.show_thing(order_id)
        self.view.promised.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.new_name.isVisible():
            self.new_name.hide()
            self.list.setFocus(Qt.FocusReason.OtherFocusReason)
        elif event.key() == Qt.Key.Key_N and not event.modifiers():
            self.start_new()
        elif event.key() == Qt.Key.Key_S and not event.modifiers():
            self.view.shipments.start_shipping()
        else:
            super().keyPressEvent(event)

    def _read(self, order_id: int) -> OrderPage | None:
        if not order_id:
            return None
        return self.desk.read(partial(read_order_page, order_id=order_id))

    def _show_order(self) -> None:
        page = self._read(self._order_id)
        self.stack.setCurrentIndex(0 if page is None else 1)
        if page is not None:
            choices, currency = self.desk.read(_read_beside)
            self.view.show_page(page, choices, currency)

    def _hear_current(self, index: QModelIndex, _before: QModelIndex) -> None:
        if index.isValid():
            order_id = self.list.current_row().order.order_id
            if order_id != self._order_id:
                self._order_id = order_id
                self.page_view.verticalScrollBar().setValue(0)
                self._show_order()


def _read_beside(session: Session) -> tuple[WareChoices, str]:
    return read_ware_choices(session, sets=True), read_currency(session)
