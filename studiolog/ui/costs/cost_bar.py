"""A good piece's cost as one bar, part by part, to the same scale as its price."""

from decimal import Decimal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.craft.money import show_money
from studiolog.craft.ware.cost import FormCost
from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.ui.parts.painted_list import write

_HIGH = 56  # px before scaling
_BAR = 24
_SHORT = {"clay": "clay", "bisque": "bisque", "glaze": "glaze", "firing": "glaze firing"}
_GROUNDS = ("line2", "line", "sunk", "line", "sheet")


class CostBar(QWidget):
    """The parts in the order they are spent, work last, and a flag where the price stands."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._parts: list[tuple[str, Decimal]] = []
        self._price: Decimal | None = None
        self._currency = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.current().changed.connect(self.updateGeometry)

    def show_cost(self, cost: FormCost, currency: str) -> None:
        """Show the parts that are known."""
        self._parts = [(_SHORT[line.part], line.good or Decimal(0)) for line in cost.lines]
        if cost.work_cost is not None:
            self._parts.append(("work", cost.work_cost))
        self._parts = [(words, amount) for words, amount in self._parts if amount > 0]
        self._price, self._currency = cost.price, currency
        told = ", ".join(f"{words} {show_money(a, currency)}" for words, a in self._parts)
        price = f"; price {show_money(cost.price, currency)}" if cost.price is not None else ""
        words = (told or "Nothing of the cost is known") + price
        self.setToolTip(words)
        self.setAccessibleName("Cost in parts")
        self.setAccessibleDescription(words)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(320, theme.current().px(_HIGH))

    def minimumSizeHint(self) -> QSize:
        return QSize(160, theme.current().px(_HIGH))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        high = look.px(_BAR)
        total = sum((amount for _, amount in self._parts), Decimal(0))
        most = max(total, self._price or Decimal(0))
        room = QRectF(1, look.px(4), self.width() - 2, high)
        painter.fillRect(room, look.color("paper"))
        left = room.left()
        for place, (words, amount) in enumerate(self._parts):
            wide = room.width() * float(amount / most)
            box = QRectF(left, room.top(), wide, high)
            ground = "sheet" if words == "work" else _GROUNDS[place % len(_GROUNDS)]
            painter.fillRect(box, look.color(ground))
            painter.setPen(QPen(look.color("ink"), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box)
            inside = box.adjusted(6, 0, -4, 0)
            if inside.width() > look.px(40):
                tone = "paper" if ground == "line2" else "ink"
                write(painter, inside, words, tone=tone, size=SECONDARY)
            left += wide
        if self._price is not None and most > 0:
            x = room.left() + room.width() * float(self._price / most)
            x = min(max(x, room.left() + 1), room.right() - 1)
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.drawLine(QPointF(x, room.top() - look.px(4)), QPointF(x, room.bottom() + 4))
            label = f"price {show_money(self._price, self._currency)}"
            right = x > self.width() / 2
            where = (
                QRectF(0, room.bottom() + 2, x, look.px(24))
                if right
                else QRectF(x, room.bottom() + 2, self.width() - x, look.px(24))
            )
            write(painter, where, label, 500, "ink2", SECONDARY, right=right)
        painter.end()
