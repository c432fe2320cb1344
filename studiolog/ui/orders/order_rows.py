"""The list of orders: number, whom, the promise with its sign, and how far it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.orders import OrderPage
from studiolog.ui.parts.due import Due, tell_due
from studiolog.ui.parts.icon import paint_icon
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write

HIGH = 56


@dataclass(frozen=True)
class Shown:
    """An order with its promise as it is told today."""

    order: OrderPage
    due: Due

    @property
    def words(self) -> str:
        """The row in words, for a screen reader."""
        order = self.order
        return (
            f"Order {order.number}, {order.whom}; {self.due.words}; "
            f"{order.finished} of {order.wanted} finished, {self.gone}"
        )

    @property
    def gone(self) -> str:
        """How much of it has left, in words."""
        order = self.order
        if not order.shipped:
            return "nothing has left"
        if not order.left:
            return "all have left"
        return f"{order.shipped} have left"


class OrderRows(PaintedList):
    """The orders as rows; letters are left to the screen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        model = PaintedRows(lambda row: str(row.words), lambda row: str(row.order.whom))
        super().__init__("Orders", HIGH, _paint_order, model, parent=parent)

    def show_orders(self, orders: Sequence[OrderPage], chosen_id: int, today: date) -> None:
        """Show the orders, one of them chosen, without telling anyone."""
        place = next((i for i, order in enumerate(orders) if order.order_id == chosen_id), -1)
        shown = [Shown(order, tell_due(order.promised_on, today, order.state)) for order in orders]
        self.show_rows(shown, place)


def _paint_order(painter: QPainter, box: QRectF, shown: Shown, chosen: bool) -> None:
    look = theme.current()
    order, due = shown.order, shown.due
    inner = box.adjusted(12, look.px(8), -12, -look.px(8))
    half = inner.height() / 2
    upper = QRectF(inner.left(), inner.top(), inner.width(), half)
    done = f"{order.finished} of {order.wanted}" if order.wanted else "no lines"
    wide = write(painter, upper, done, tone="ink2", size=SECONDARY, right=True)
    tone = "ink" if order.state == "open" else "ink2"
    title = f"{order.number}  {order.whom}"
    write(painter, upper.adjusted(0, 0, -wide - 12, 0), title, 600, tone)
    left = inner.left()
    if due.sign:
        side = look.px(14)
        place = QRectF(left, inner.top() + half + (half - side) / 2, side, side)
        paint_icon(painter, place, due.sign, look.color(due.tone))
        left += side + 6
    lower = QRectF(left, inner.top() + half, inner.right() - left, half)
    gone = 0.0
    if order.shipped and order.state == "open":
        gone = write(painter, lower, shown.gone, tone="ink2", size=SECONDARY, right=True)
    weight = 600 if due.tone == "rust" else 400
    room = lower.adjusted(0, 0, -gone - 12, 0)
    write(painter, room, due.words, weight, due.tone, SECONDARY)
