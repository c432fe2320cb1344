"""Words on a page in the few sizes there are."""

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QTextLayout, QTextOption
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import ANY_WIDTH, BODY, CAPTION, FIGURE, HEAD, SECONDARY, TITLE

SIZES = {
    "title": TITLE,
    "figure": FIGURE,
    "head": HEAD,
    "body": BODY,
    "secondary": SECONDARY,
    "caption": CAPTION,
}


class Text(QLabel):
    """Plain text in one of the type sizes; ``tone`` is a token: ink, ink2, ink3, rust, celadon,
    ochre, cobalt."""

    def __init__(
        self,
        text: str = "",
        size: str = "body",
        weight: int = 400,
        tone: str = "ink",
        wrap: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(text, parent)
        self._size, self._weight = SIZES[size], weight
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        self.setProperty("tone", tone)
        self._dress()
        theme.current().changed.connect(self._dress)

    def set_tone(self, tone: str) -> None:
        """Change the colour token of the text."""
        if tone != self.property("tone"):
            self.setProperty("tone", tone)
            self.style().unpolish(self)
            self.style().polish(self)
            # Polishing brings back the font of the style sheet's last size.
            self._dress()

    def _dress(self) -> None:
        self.setFont(theme.current().font(self._size, self._weight))


class Words(Text):
    """Text that stands on one line where it may, and breaks between words where it must.

    A word with no room of its own breaks between letters.
    """

    _LEAST, _LONGEST = 12, 15
    """Letters a line may be narrowed to, and the letters of a word that is kept whole."""

    def __init__(
        self,
        text: str = "",
        size: str = "body",
        weight: int = 400,
        tone: str = "ink",
        parent: QWidget | None = None,
    ) -> None:
        self._measured: tuple[str, str, int, int] | None = None
        self._highs: dict[int, int] = {}
        super().__init__(text, size, weight, tone, True, parent)
        policy = self.sizePolicy()
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def sizeHint(self) -> QSize:
        """Qt: one line, however long."""
        return QSize(self._wide(self.text()), self.heightForWidth(ANY_WIDTH))

    def minimumSizeHint(self) -> QSize:
        """Qt: its longest word, and a short line at the least."""
        letter = self.fontMetrics().averageCharWidth()
        longest = max((self._wide(word) for word in self.text().split()), default=0)
        wide = max(min(longest, letter * self._LONGEST), letter * self._LEAST)
        return QSize(min(self._wide(self.text()), wide), self.heightForWidth(ANY_WIDTH))

    def heightForWidth(self, width: int) -> int:
        """Qt: the lines it breaks into."""
        # Layouts within layouts ask the same a hundred times over.
        around = self.contentsMargins()
        beside = 2 * self.margin() + around.left() + around.right()
        over = 2 * self.margin() + around.top() + around.bottom()
        measured = (self.text(), self.font().key(), beside, over)
        if measured != self._measured:
            self._measured = measured
            self._highs.clear()
        if width not in self._highs:
            _, high = self._lines(width - beside)
            self._highs[width] = math.ceil(high) + over
        return self._highs[width]

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(theme.current().color(self.property("tone")))
        room = QRectF(self.contentsRect())
        lines, high = self._lines(room.width())
        spare = room.height() - high
        side = self.alignment()
        if side & Qt.AlignmentFlag.AlignVCenter:
            room.translate(0, spare / 2)
        elif side & Qt.AlignmentFlag.AlignBottom:
            room.translate(0, spare)
        lines.draw(painter, room.topLeft())

    def _lines(self, width: float) -> tuple[QTextLayout, float]:
        """The text in lines of a width, and how high they are together."""
        option = QTextOption(self.alignment() & Qt.AlignmentFlag.AlignHorizontal_Mask)
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        lines = QTextLayout((self.text() or " ").replace("\n", "\u2028"), self.font())
        lines.setTextOption(option)
        lines.beginLayout()
        high = 0.0
        while (line := lines.createLine()).isValid():
            line.setLineWidth(max(1.0, width))
            line.setPosition(QPointF(0, high))
            high += line.height()
        lines.endLayout()
        return lines, high

    def _wide(self, words: str) -> int:
        # A little more than the letters: Qt breaks a line that fits exactly.
        return math.ceil(QFontMetricsF(self.font()).horizontalAdvance(words)) + 3


class Elided(Text):
    """One line that gives way: what has no room is cut with dots, and the tool-tip has it whole."""

    def __init__(
        self,
        text: str = "",
        size: str = "body",
        weight: int = 400,
        tone: str = "ink",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("", size, weight, tone, False, parent)
        self.setText(text)

    def setText(self, text: str) -> None:
        """Qt: the whole text is read out, and shown as a tool-tip."""
        super().setText(text)
        self.setToolTip(text)
        self.updateGeometry()

    def minimumSizeHint(self) -> QSize:
        """Qt: room for a few letters is enough."""
        size = super().sizeHint()
        few = self.fontMetrics().horizontalAdvance("Mmm…")
        return QSize(min(size.width(), few), size.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(theme.current().color(self.property("tone")))
        room = self.contentsRect()
        shown = self.fontMetrics().elidedText(
            self.text(), Qt.TextElideMode.ElideRight, room.width()
        )
        painter.drawText(room, self.alignment(), shown)


class Caption(Text):
    """Small quiet text under or beside something: 11 px, ink3."""

    def __init__(self, text: str = "", tone: str = "ink3", wrap: bool = False) -> None:
        super().__init__(text, "caption", 400, tone, wrap)


class Figure(QWidget):
    """A figure with what it is above and what it compares with below."""

    def __init__(
        self, label: str, value: str, quiet: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._label = Text(label, "secondary", tone="ink2")
        self._value = Text(value, "figure", 600)
        self._quiet = Text(quiet, "caption", tone="ink3")
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        for row in (self._label, self._value, self._quiet):
            rows.addWidget(row)
        self.set_value(value, quiet)

    def set_label(self, label: str) -> None:
        """Say anew what the figure is; call it before ``set_value``."""
        self._label.setText(label)

    def set_value(self, value: str, quiet: str = "", tone: str = "ink") -> None:
        """Show a figure, written out with its unit; ``tone`` for one that warns."""
        self._value.setText(value)
        self._value.set_tone(tone)
        self._quiet.setText(quiet)
        self._quiet.setVisible(bool(quiet))
        self.setAccessibleName(f"{self._label.text()}: {value}" + (f", {quiet}" if quiet else ""))
