"""The list of orders: number, whom, the promise with its sign, and how far it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import BODY, SECONDARY
from studiolog.journal.orders import OrderPage
from studiolog.ui.parts.due import Due, tell_due
from studiolog.ui.parts.icon import paint_icon

Index = QModelIndex | QPersistentModelIndex
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
            f"{order.finished} of {order.wanted} finished"
        )


class OrderModel(QAbstractListModel):
    """The orders; ``UserRole`` gives the `Shown`."""

    def __init__(self) -> None:
        super().__init__()
        self.shown: tuple[Shown, ...] = ()

    def show_orders(self, orders: Sequence[OrderPage], today: date) -> None:
        self.beginResetModel()
        self.shown = tuple(
            Shown(order, tell_due(order.promised_on, today, order.state)) for order in orders
        )
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - as Qt has it
        return 0 if parent.isValid() else len(self.shown)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        shown = self.shown[index.row()]
        if role == Qt.ItemDataRole.UserRole:
            return shown
        if role == Qt.ItemDataRole.DisplayRole:
            return shown.order.whom
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return shown.words
        return None


class OrderPainter(QStyledItemDelegate):
    """Paints an order as two lines."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(100, theme.current().px(HIGH))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        shown: Shown = index.data(Qt.ItemDataRole.UserRole)
        look = theme.current()
        box = QRectF(option.rect)
        painter.save()
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(box, look.color("cobaltwash"))
            painter.fillRect(QRectF(box.left(), box.top(), 3, box.height()), look.color("cobalt"))
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(box, look.color("sunk"))
        painter.fillRect(QRectF(box.left(), box.bottom() - 1, box.width(), 1), look.color("line"))
        if chosen and option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -2))
        inner = box.adjusted(12, look.px(8), -12, -look.px(8))
        self._paint_lines(painter, inner, shown)
        painter.restore()

    @staticmethod
    def _paint_lines(painter: QPainter, box: QRectF, shown: Shown) -> None:
        look = theme.current()
        order, due = shown.order, shown.due
        open_now = order.state == "open"
        middle = Qt.AlignmentFlag.AlignVCenter
        half = box.height() / 2
        upper = QRectF(box.left(), box.top(), box.width(), half)
        painter.setFont(look.font(SECONDARY))
        painter.setPen(look.color("ink2"))
        done = f"{order.finished} of {order.wanted}" if order.wanted else "no lines"
        painter.drawText(upper, int(middle | Qt.AlignmentFlag.AlignRight), done)
        room = box.width() - QFontMetricsF(look.font(SECONDARY)).horizontalAdvance(done) - 12
        font = look.font(BODY, 600)
        painter.setFont(font)
        painter.setPen(look.color("ink" if open_now else "ink2"))
        title = QFontMetricsF(font).elidedText(
            f"{order.number}  {order.whom}", Qt.TextElideMode.ElideRight, room
        )
        painter.drawText(upper, int(middle | Qt.AlignmentFlag.AlignLeft), title)
        left = box.left()
        if due.sign:
            side = look.px(14)
            place = QRectF(left, box.top() + half + (half - side) / 2, side, side)
            paint_icon(painter, place, due.sign, look.color(due.tone))
            left += side + 6
        font = look.font(SECONDARY, 600 if due.tone == "rust" else 400)
        painter.setFont(font)
        painter.setPen(look.color(due.tone))
        lower = QRectF(left, box.top() + half, box.right() - left, half)
        words = QFontMetricsF(font).elidedText(
            due.words, Qt.TextElideMode.ElideRight, lower.width()
        )
        painter.drawText(lower, int(middle | Qt.AlignmentFlag.AlignLeft), words)


class OrderRows(QListView):
    """The orders as rows; letters are left to the screen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Orders")
        self.setUniformItemSizes(True)
        self.setMouseTracking(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.text().strip() and not event.modifiers():
            event.ignore()
        else:
            super().keyPressEvent(event)
