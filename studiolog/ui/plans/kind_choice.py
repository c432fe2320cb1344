"""The kinds of test plans to choose from, each with a small picture of how its tiles lie."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QVBoxLayout, QWidget

from studiolog.craft.words import PLAN_KINDS
from studiolog.desktop import theme
from studiolog.desktop.tokens import RADIUS_CARD, SECONDARY
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import paint_focus_ring
from studiolog.ui.parts.text import Text

ASKS = {
    "line": "How does one glaze turn into another? A straight line of blends between two.",
    "triaxial": "What lies between three? A triangle of blends, one glaze at each corner.",
    "grid": "What lies between four? A grid of blends, one glaze at each corner.",
    "pyramid": (
        "What lies between four, with each blended with each? A pyramid, laid out slice by slice "
        "from its top."
    ),
    "silica_alumina": (
        "Where is it glossy, matt, crazed? The same fluxes over a range of silica and alumina; the "
        "four corners are worked out from the recipe."
    ),
    "additions": "How much colourant or opacifier? One glaze with more of a material at each step.",
    "over_under": "Which goes over which? Every pair of glazes, each way up, and each alone.",
    "thickness": "How thick? Each glaze with more coats, or longer in the bucket.",
}
"""What each kind answers."""

_WIDE, _HIGH = 98, 76


class _KindButton(QAbstractButton):
    """One kind: its picture over its name."""

    def __init__(self, kind: str) -> None:
        super().__init__()
        self.kind = kind
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setText(PLAN_KINDS[kind].capitalize())
        self.setAccessibleName(PLAN_KINDS[kind].capitalize())
        self.setAccessibleDescription(ASKS[kind])
        self.setToolTip(ASKS[kind])
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        theme.current().changed.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        look = theme.current()
        words = round(QFontMetricsF(look.font(SECONDARY, 600)).horizontalAdvance(self.text()))
        return QSize(max(look.px(_WIDE), words + look.px(14)), look.px(_HIGH))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        box = QRectF(self.rect()).adjusted(4, 4, -4, -4)
        if self.isChecked():
            painter.setPen(QPen(look.color("cobalt"), 2))
            painter.setBrush(look.color("cobaltwash"))
            painter.drawRoundedRect(box, RADIUS_CARD, RADIUS_CARD)
        elif self.underMouse():
            painter.fillRect(box, look.color("sunk"))
        words = QRectF(box.left(), box.bottom() - look.px(22), box.width(), look.px(20))
        picture = QRectF(box.left(), box.top() + 6, box.width(), words.top() - box.top() - 8)
        paint_kind(painter, picture, self.kind)
        painter.setPen(look.color("ink"))
        painter.setFont(look.font(SECONDARY, 600 if self.isChecked() else 400))
        painter.drawText(words, Qt.AlignmentFlag.AlignCenter, self.text())
        if self.hasFocus():
            paint_focus_ring(painter, box.adjusted(2, 2, -2, -2), RADIUS_CARD)


def paint_kind(painter: QPainter, room: QRectF, kind: str) -> None:
    """How the tiles of a kind lie, in a few strokes of ink."""
    look = theme.current()
    painter.save()
    painter.setPen(QPen(look.color("ink2"), 1.25))
    side = min(room.height() / 4.0, look.px(11))
    gap = side * 0.34
    fill = look.color("ink2")

    def tile(x: float, y: float, part: float = 0.0, split: bool = False) -> None:
        """A tile with its middle (x, y) tiles from that of the picture, filled from below."""
        centre = room.center() + QPointF(x * (side + gap), y * (side + gap))
        box = QRectF(centre.x() - side / 2, centre.y() - side / 2, side, side)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if part:
            low = box.adjusted(0, side * (1 - part), 0, 0)
            painter.fillRect(low, fill)
        painter.drawRect(box)
        if split:
            painter.drawLine(box.bottomLeft(), box.topRight())

    match kind:
        case "line":
            for place in range(5):
                tile(place - 2, 0, place / 4)
        case "triaxial":
            for row in range(3):
                for place in range(row + 1):
                    tile(place - row / 2, row - 1, (row - place) / 3)
        case "grid":
            for row in range(3):
                for column in range(3):
                    tile(column - 1, row - 1, (row + column) / 4)
        case "pyramid":
            for row in range(2):
                for place in range(row + 1):
                    tile(place - row / 2 - 1.2, row - 0.5)
            for row in range(3):
                for place in range(row + 1):
                    tile(place - row / 2 + 1.4, row - 1)
            tile(-2.8, 0, 1.0)
        case "silica_alumina":
            for row in range(3):
                for column in range(3):
                    tile(column - 1, row - 1)
            left, low = -1.9 * (side + gap), 1.75 * (side + gap)
            corner = room.center() + QPointF(left, low)
            painter.drawLine(corner, corner - QPointF(0, 3.5 * (side + gap)))
            painter.drawLine(corner, corner + QPointF(3.8 * (side + gap), 0))
        case "additions":
            for place in range(5):
                tile(place - 2, 0.6)
                dot = room.center() + QPointF((place - 2) * (side + gap), 0)
                high = side * 0.45 * place
                painter.fillRect(QRectF(dot.x() - side * 0.2, dot.y() - high, side * 0.4, high),
                                 fill)  # fmt: skip
        case "over_under":
            for row in range(3):
                for column in range(3):
                    tile(column - 1, row - 1, 0.5, split=row != column)
        case _:
            for place in range(4):
                tile(place - 1.5, 0.4)
                for coat in range(place):
                    y = room.center().y() - side * 0.35 - coat * side * 0.32
                    x = room.center().x() + (place - 1.5) * (side + gap)
                    painter.drawLine(QPointF(x - side / 2, y), QPointF(x + side / 2, y))
    painter.restore()


class KindChoice(QWidget):
    """``picked`` carries the kind a person has chosen; the arrow keys choose."""

    picked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._group = QButtonGroup(self)
        self.buttons = {kind: _KindButton(kind) for kind in PLAN_KINDS}
        self.asks = Text("", "secondary", tone="ink2", wrap=True)
        flow = FlowLayout(spacing=0, line_spacing=4)
        for button in self.buttons.values():
            self._group.addButton(button)
            flow.addWidget(button)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addLayout(flow)
        rows.addWidget(self.asks)
        self._group.buttonToggled.connect(self._hear)
        self.choose("line")

    def chosen(self) -> str:
        """The kind chosen."""
        button = self._group.checkedButton()
        return button.kind if isinstance(button, _KindButton) else "line"

    def choose(self, kind: str) -> None:
        """Show a choice."""
        self.buttons[kind].setChecked(True)
        self.asks.setText(ASKS[kind])

    def _hear(self, button: QAbstractButton, on: bool) -> None:
        if on and isinstance(button, _KindButton):
            self.asks.setText(ASKS[button.kind])
            self.picked.emit(button.kind)
