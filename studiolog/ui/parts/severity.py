"""How bad a fault was: three upright bars and a word.

Looked for, none seen is an open celadon ring; not looked is a short grey dash. Neither is blank,
and the two are never drawn alike.
"""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import RADIUS_CHIP, SECONDARY
from studiolog.ui.parts.marks import paint_focus_ring

SEVERITY_WORDS: dict[int | None, str] = {
    None: "not looked",
    0: "none seen",
    1: "slight",
    2: "marked",
    3: "severe",
}
SEVERITY_TONES: dict[int | None, str] = {
    None: "ink3",
    0: "celadon",
    1: "rust",
    2: "rust",
    3: "rust",
}


def paint_severity(
    painter: QPainter, rect: QRectF, severity: int | None, *, quiet: bool = False
) -> None:
    """Draw the sign of a severity in the middle of ``rect``; ``quiet`` in grey, for a choice not
    taken."""
    look = theme.current()
    ink = look.color("ink3" if quiet else SEVERITY_TONES[severity])
    # The sign grows with the text as far as its place has room for it.
    grown = max(min(look.text_scale / 100, rect.width() / 20, rect.height() / 13), 1.0)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(rect.center())
    painter.scale(grown, grown)
    middle = QPointF(0, 0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if severity is None:
        painter.setPen(QPen(ink, 1.5))
        painter.drawLine(middle - QPointF(4.5, 0), middle + QPointF(4.5, 0))
    elif severity == 0:
        painter.setPen(QPen(ink, 2 if not quiet else 1.5))
        painter.drawEllipse(middle, 4.5, 4.5)
    else:
        painter.setPen(QPen(ink, 1.25))
        for bar in range(3):
            painter.setBrush(ink if bar < severity else Qt.BrushStyle.NoBrush)
            left = middle.x() - 9 + bar * 6.5
            painter.drawRoundedRect(QRectF(left, middle.y() - 5.5, 4.75, 11), 1, 1)
    painter.restore()


def paint_severity_word(painter: QPainter, rect: QRectF, severity: int | None) -> None:
    """Draw sign and word side by side, the sign in the first 22 px at 100 per cent."""
    look = theme.current()
    paint_severity(painter, QRectF(rect.left(), rect.top(), look.px(22), rect.height()), severity)
    painter.save()
    painter.setPen(look.color(SEVERITY_TONES[severity]))
    painter.setFont(look.font(SECONDARY))
    painter.drawText(
        rect.adjusted(look.px(28), 0, 0, 0),
        int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft),
        SEVERITY_WORDS[severity],
    )
    painter.restore()


class SeverityLabel(QWidget):
    """Sign and word, to read only. ``about`` names the fault for a screen reader."""

    def __init__(
        self, severity: int | None = None, about: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._about = about
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.set_severity(severity)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def set_severity(self, severity: int | None) -> None:
        self._severity = severity
        said = SEVERITY_WORDS[severity]
        self.setAccessibleName(f"{self._about}: {said}" if self._about else said)
        self.update()

    def sizeHint(self) -> QSize:
        look = theme.current()
        return QSize(look.px(96), look.px(20))

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_severity_word(QPainter(self), QRectF(self.rect()), self._severity)


class SeverityPicker(QWidget):
    """Five boxes and the word chosen: not looked, none seen, slight, marked, severe.

    Keys: 0 to 3, minus for not looked, left and right. ``picked`` carries ``int | None``.
    """

    picked = Signal(object)
    CHOICES: tuple[int | None, ...] = (None, 0, 1, 2, 3)
    _BOX_W, _BOX_H, _GAP, _ROOM = 26, 24, 2, 3

    def __init__(
        self, about: str, severity: int | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._about = about
        self._severity = severity
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleDescription("0 to 3 for how much is seen, minus for not looked")
        self._say()
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def severity(self) -> int | None:
        """What is chosen: ``None`` not looked, 0 none seen, 1 slight, 2 marked, 3 severe."""
        return self._severity

    def set_severity(self, severity: int | None) -> None:
        """Show a choice without telling anyone."""
        if severity not in self.CHOICES:
            raise ValueError(f"no such severity: {severity!r}")
        self._severity = severity
        self._say()
        self.update()

    def pick(self, severity: int | None) -> None:
        """Choose as a person does."""
        if severity != self._severity:
            self.set_severity(severity)
            self.picked.emit(severity)

    def _say(self) -> None:
        self.setAccessibleName(f"{self._about}: {SEVERITY_WORDS[self._severity]}")

    def _boxes(self) -> list[QRectF]:
        px = theme.current().px
        wide, tall = px(self._BOX_W), px(self._BOX_H)
        return [
            QRectF(self._ROOM + place * (wide + self._GAP), self._ROOM, wide, tall)
            for place in range(len(self.CHOICES))
        ]

    def sizeHint(self) -> QSize:
        look = theme.current()
        boxes = len(self.CHOICES) * (look.px(self._BOX_W) + self._GAP)
        return QSize(2 * self._ROOM + boxes + look.px(84), 2 * self._ROOM + look.px(self._BOX_H))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        boxes = self._boxes()
        for box, choice in zip(boxes, self.CHOICES, strict=True):
            chosen = choice == self._severity
            wash = {None: "sunk", 0: "celadonwash"}.get(choice, "rustwash")
            painter.setBrush(look.color(wash if chosen else "sheet"))
            pen = QPen(look.color(SEVERITY_TONES[choice] if chosen else "line2"))
            pen.setWidthF(1.75 if chosen else 1)
            painter.setPen(pen)
            painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CHIP, RADIUS_CHIP)
            paint_severity(painter, box, choice, quiet=not chosen)
        painter.setPen(look.color(SEVERITY_TONES[self._severity]))
        painter.setFont(look.font(SECONDARY))
        words = QRectF(boxes[-1].right() + 10, 0, self.width(), self.height())
        painter.drawText(
            words,
            int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft),
            SEVERITY_WORDS[self._severity],
        )
        if self.hasFocus():
            paint_focus_ring(painter, boxes[0].united(boxes[-1]), RADIUS_CHIP)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        places = {
            Qt.Key.Key_0: 0,
            Qt.Key.Key_1: 1,
            Qt.Key.Key_2: 2,
            Qt.Key.Key_3: 3,
        }
        if event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            super().keyPressEvent(event)
        elif key in places:
            self.pick(places[Qt.Key(key)])
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.pick(None)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = 1 if key == Qt.Key.Key_Right else -1
            place = self.CHOICES.index(self._severity) + step
            self.pick(self.CHOICES[max(0, min(len(self.CHOICES) - 1, place))])
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for box, choice in zip(self._boxes(), self.CHOICES, strict=True):
            if box.contains(event.position()):
                self.setFocus(Qt.FocusReason.MouseFocusReason)
                self.pick(choice)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()
