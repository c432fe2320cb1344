"""The three number marks: square stamp a piece, round a firing, tag a run of ware.

Shape says what a number numbers, not colour, so it reads in print. A mark is always a link.
"""

from typing import Literal

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QEnterEvent,
    QFocusEvent,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import MARK_LINE, RADIUS_STAMP, SECONDARY, TITLE

Kind = Literal["piece", "firing", "run"]
KINDS: dict[str, str] = {"piece": "Piece", "firing": "Firing", "run": "Run"}
_ROOM = 3  # around the shape, for the focus ring


def mark_size(kind: str, text: str, height: int = 20) -> QSizeF:
    """How much room a mark takes, without room for focus. ``height`` is 20 or 48 before scaling."""
    look = theme.current()
    large = height >= 40
    font = look.font(TITLE if large else SECONDARY, 600)
    tall = float(look.px(height))
    wide = QFontMetricsF(font).horizontalAdvance(text) + tall * (0.62 if large else 0.8)
    if kind == "run":
        wide += tall * 0.42
    return QSizeF(max(wide, tall * (1.5 if large else 1.3)), tall)


def mark_path(kind: str, box: QRectF) -> QPainterPath:
    """The outline of a mark within a box."""
    path = QPainterPath()
    if kind == "firing":
        path.addRoundedRect(box, box.height() / 2, box.height() / 2)
    elif kind == "run":
        nose = box.height() * 0.36
        path.moveTo(box.left(), box.center().y())
        path.lineTo(box.left() + nose, box.top())
        path.lineTo(box.right(), box.top())
        path.lineTo(box.right(), box.bottom())
        path.lineTo(box.left() + nose, box.bottom())
        path.closeSubpath()
    else:
        radius = RADIUS_STAMP * (1.4 if box.height() > 36 else 1)
        path.addRoundedRect(box, radius, radius)
    return path


def paint_mark(
    painter: QPainter,
    rect: QRectF,
    kind: str,
    text: str,
    *,
    known: bool = True,
    hover: bool = False,
    color: str = "ink",
    ground: str | None = None,
) -> None:
    """Draw a mark filling ``rect``; ``known=False`` dashes it, ``color`` and ``ground`` are tokens.

    Take the rectangle from ``mark_size``.
    """
    look = theme.current()
    large = rect.height() >= look.px(40)
    width = 2.0 if large else MARK_LINE
    box = rect.adjusted(width / 2, width / 2, -width / 2, -width / 2)
    ink = look.color(color if known else "ink3")
    pen = QPen(ink, width)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if not known:
        pen.setDashPattern([3, 2])
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(pen)
    if hover:
        painter.setBrush(look.color("cobaltwash"))
    elif ground:
        painter.setBrush(look.color(ground))
    painter.drawPath(mark_path(kind, box))
    words = QRectF(rect)
    if kind == "run":
        hole = box.height() * 0.07 + 0.4
        painter.setBrush(ink)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawEllipse(QPointF(box.left() + box.height() * 0.36, box.center().y()), hole, hole)
        words.setLeft(box.left() + box.height() * 0.42)
    painter.setPen(ink)
    painter.setFont(look.font(TITLE if large else SECONDARY, 600))
    painter.drawText(words, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()


def paint_focus_ring(painter: QPainter, box: QRectF, radius: float = 4) -> None:
    """A 2 px cobalt line 2 px outside ``box``."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor(theme.current().tokens.cobalt), 2))
    painter.drawRoundedRect(box.adjusted(-2, -2, 2, 2), radius + 2, radius + 2)
    painter.restore()


class NumberMark(QWidget):
    """A number in its shape; click, Enter or Space opens what it numbers.

    ``opened(kind, ident)`` carries the record's id. A number not known is ``None`` and dashed.
    """

    opened = Signal(str, int)

    def __init__(
        self,
        kind: Kind,
        number: str | int | None = None,
        ident: int | None = None,
        size: int = 20,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._kind: Kind = kind
        self._size = size
        self._text = ""
        self._ident: int | None = None
        self._hover = False
        # In a title the mark stands flush with the page margin: focus thickens its own outline.
        self._ring = 0 if size >= 40 else _ROOM
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.set_number(number, ident)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    @property
    def kind(self) -> Kind:
        return self._kind

    @property
    def text(self) -> str:
        return self._text

    def set_number(self, number: str | int | None, ident: int | None = None) -> None:
        """Show a number and the id that a click opens; without an id it is no link."""
        self._text = "" if number is None else str(number)
        self._ident = ident
        known = bool(self._text)
        says = f"{KINDS[self._kind]} {self._text}" if known else f"{KINDS[self._kind]}, no number"
        self.setAccessibleName(says)
        self.setToolTip(f"Open {says[0].lower()}{says[1:]}" if ident is not None else "")
        link = ident is not None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if link else Qt.FocusPolicy.NoFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor if link else Qt.CursorShape.ArrowCursor)
        self.updateGeometry()
        self.update()

    def open(self) -> None:
        """Do what a click does."""
        if self._ident is not None:
            self.opened.emit(self._kind, self._ident)

    def sizeHint(self) -> QSize:
        room = mark_size(self._kind, self._text or "?", self._size)
        return QSize(round(room.width()) + 2 * self._ring, round(room.height()) + 2 * self._ring)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        ring = self._ring
        box = QRectF(self.rect()).adjusted(ring, ring, -ring, -ring)
        paint_mark(
            painter,
            box,
            self._kind,
            self._text or "?",
            known=bool(self._text),
            hover=self._hover or (self.hasFocus() and not self._ring),
            color="cobalt" if self.hasFocus() and not self._ring else "ink",
        )
        if self.hasFocus() and self._ring:
            paint_focus_ring(painter, box, box.height() / 2 if self._kind == "firing" else 3)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(
            event.position().toPoint()
        ):
            self.open()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.open()
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        self._hover = self._ident is not None
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        self._hover = False
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()
