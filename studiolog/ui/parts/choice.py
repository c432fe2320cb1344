"""Choosing: one of a few in a row, one of many by typing, and removable words of a sentence."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QStringListModel, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractButton, QComboBox, QCompleter, QSizePolicy, QToolTip, QWidget

from studiolog.desktop import theme
from studiolog.desktop.tokens import BODY, BUTTON_HEIGHT, FIGURE, RADIUS_CARD, SECONDARY
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.marks import paint_focus_ring
from studiolog.ui.parts.swatch import (
    ClayLook,
    GlazeLook,
    paint_clay_swatch,
    paint_glaze_swatch,
    swatch_icon,
)

__all__ = ["Choice", "FlowLayout", "PickOne", "SegmentedChoice", "TokenButton"]

Look = GlazeLook | ClayLook


@dataclass(frozen=True)
class Choice:
    """One thing that can be chosen: an id, its words, and a swatch if it has a look.

    ``note`` is said after the words where one is chosen of many: "Soup bowl (on trial)".
    """

    ident: Hashable
    label: str
    look: Look | None = None
    note: str = ""

    @property
    def words(self) -> str:
        """The label, and the note if there is one."""
        return f"{self.label} ({self.note})" if self.note else self.label

    def is_named(self, typed: str) -> bool:
        """Whether ``typed``, in small letters, is its whole name, with the note or without."""
        return typed in (self.label.casefold(), self.words.casefold())


def _fair_shares(wanted: Sequence[float], room: float) -> list[float]:
    """Widths that fill ``room``: who wants little gets it, the others share what is left."""
    shares = dict.fromkeys(range(len(wanted)), 0.0)
    waiting = sorted(shares, key=lambda place: wanted[place])
    for done, place in enumerate(waiting):
        shares[place] = min(wanted[place], room / (len(waiting) - done))
        room -= shares[place]
    return [shares[place] for place in range(len(wanted))]


def _paint_look(painter: QPainter, box: QRectF, look: Look) -> None:
    if isinstance(look, GlazeLook):
        paint_glaze_swatch(painter, box, look)
    else:
        paint_clay_swatch(painter, box, look)


class SegmentedChoice(QWidget):
    """An exclusive row of options: digit keys, arrows or a click choose. ``picked`` carries the id.

    ``keys`` gives other keys than 1, 2, 3: one letter an option.
    """

    picked = Signal(object)

    def __init__(
        self,
        about: str,
        choices: Sequence[Choice] = (),
        keys: str = "123456789",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._about, self._keys = about, keys
        self._choices: tuple[Choice, ...] = ()
        self._chosen: Hashable | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.set_choices(choices)
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def set_choices(self, choices: Sequence[Choice]) -> None:
        self._choices = tuple(choices)
        if self._chosen not in [choice.ident for choice in self._choices]:
            self._chosen = None
        self._say()
        self.updateGeometry()
        self.update()

    def chosen(self) -> Hashable | None:
        """The id chosen, or ``None``."""
        return self._chosen

    def choose(self, ident: Hashable | None) -> None:
        """Show a choice without telling anyone."""
        self._chosen = ident
        self._say()
        self.update()

    def pick(self, ident: Hashable) -> None:
        """Choose as a person does."""
        if ident != self._chosen:
            self.choose(ident)
            self.picked.emit(ident)

    def _say(self) -> None:
        words = next((c.label for c in self._choices if c.ident == self._chosen), "nothing chosen")
        self.setAccessibleName(f"{self._about}: {words}")
        self.setAccessibleDescription(
            ", ".join(f"{key} {c.label}" for key, c in zip(self._keys, self._choices, strict=False))
        )

    def _widths(self) -> list[float]:
        look = theme.current()
        metrics = QFontMetricsF(look.font(SECONDARY, 600))
        return [
            metrics.horizontalAdvance(c.label) + look.px(40) + (22 if c.look else 0)
            for c in self._choices
        ]

    def sizeHint(self) -> QSize:
        wide = max(self._widths(), default=80.0) * max(1, len(self._choices))
        return QSize(round(wide), theme.current().px(BUTTON_HEIGHT))

    def minimumSizeHint(self) -> QSize:
        return QSize(
            round(sum(self._widths())),
            theme.current().px(BUTTON_HEIGHT),
        )

    def _boxes(self) -> list[QRectF]:
        frame = QRectF(self.rect())
        widths = self._widths()
        count = len(widths)
        if not count:
            return []
        even = frame.width() / count
        if max(widths) <= even:
            widths = [even] * count
        elif sum(widths) <= frame.width():
            grow = frame.width() / sum(widths)
            widths = [wide * grow for wide in widths]
        else:
            widths = _fair_shares(widths, frame.width())
        boxes, left = [], frame.left()
        for wide in widths:
            boxes.append(QRectF(left, frame.top(), wide, frame.height()))
            left += wide
        return boxes

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        frame = QRectF(self.rect())
        outline = QPainterPath()
        outline.addRoundedRect(frame.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CARD, RADIUS_CARD)
        painter.fillPath(outline, look.color("sheet"))
        boxes = self._boxes()
        for place, (box, choice) in enumerate(zip(boxes, self._choices, strict=True)):
            on = choice.ident == self._chosen
            painter.save()
            painter.setClipPath(outline)
            if on:
                painter.fillRect(box, look.color("ink"))
            painter.restore()
            if place and not on and self._choices[place - 1].ident != self._chosen:
                painter.setPen(QPen(look.color("line2"), 1))
                painter.drawLine(box.topLeft(), box.bottomLeft())
            self._paint_choice(painter, box, choice, self._key(place), on)
        painter.setPen(QPen(look.color("line2"), 1))
        painter.drawPath(outline)
        if self.hasFocus():
            # On its own outline: the row stands flush with the fields above and below.
            paint_focus_ring(painter, frame.adjusted(3, 3, -3, -3), RADIUS_CARD - 3)

    def _key(self, place: int) -> str:
        return self._keys[place] if place < len(self._keys) else ""

    def _paint_choice(
        self, painter: QPainter, box: QRectF, choice: Choice, key: str, on: bool
    ) -> None:
        look = theme.current()
        key_font, font = look.font(SECONDARY), look.font(SECONDARY, 600 if on else 500)
        key_wide = QFontMetricsF(key_font).horizontalAdvance(key) + 6 if key else 0
        swatch = 20 if choice.look else 0
        room = box.width() - key_wide - swatch - 12
        label = QFontMetricsF(font).elidedText(choice.label, Qt.TextElideMode.ElideRight, room)
        wide = QFontMetricsF(font).horizontalAdvance(label)
        left = box.center().x() - (key_wide + swatch + wide) / 2
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.setFont(key_font)
        painter.setPen(look.color("line" if on else "ink3"))
        painter.drawText(QRectF(left, box.top(), key_wide + 4, box.height()), middle, key)
        if choice.look:
            side = QRectF(left + key_wide, box.center().y() - 7, 14, 14)
            _paint_look(painter, side, choice.look)
        painter.setFont(font)
        painter.setPen(look.color("paper" if on else "ink"))
        painter.drawText(
            QRectF(left + key_wide + swatch, box.top(), wide + 8, box.height()),
            middle,
            label,
        )

    def event(self, event: QEvent) -> bool:
        """Qt: the tool-tip of an option says it whole, where it may have been cut with dots."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            spot = QPointF(event.pos())
            here = (
                c for b, c in zip(self._boxes(), self._choices, strict=True) if b.contains(spot)
            )
            QToolTip.showText(event.globalPos(), next((c.label for c in here), ""), self)
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        typed = event.text().lower()
        keys = self._keys.lower()
        plain = not event.modifiers() & ~(
            Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier
        )
        if plain and typed and typed in keys[: len(self._choices)]:
            self.pick(self._choices[keys.index(typed)].ident)
        elif event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right) and self._choices:
            idents = [choice.ident for choice in self._choices]
            step = 1 if event.key() == Qt.Key.Key_Right else -1
            if self._chosen in idents:
                place = max(0, min(len(idents) - 1, idents.index(self._chosen) + step))
            else:
                place = 0
            self.pick(idents[place])
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for box, choice in zip(self._boxes(), self._choices, strict=True):
            if box.contains(event.position()):
                self.setFocus(Qt.FocusReason.MouseFocusReason)
                self.pick(choice.ident)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()


_LEAST = 112  # px a field to choose in may be narrowed to


class PickOne(QComboBox):
    """One of many: type part of the name, arrows and Enter take it; what fits nothing is put back.

    ``picked`` carries the id when a person has chosen.
    """

    picked = Signal(object)

    def __init__(
        self,
        about: str,
        choices: Sequence[Choice] = (),
        hint: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._choices: tuple[Choice, ...] = ()
        self._last: Hashable | None = None
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setAccessibleName(about)
        line = self.lineEdit()
        assert line is not None
        line.setAccessibleName(about)
        line.setPlaceholderText(hint or "Type part of a name")
        self._labels = QStringListModel(self)
        completer = QCompleter(self._labels, self)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setCompletionMode(QCompleter.CompletionMode.PopupCompletion)
        self.setCompleter(completer)
        popup = completer.popup()
        if popup is not None:
            popup.setProperty("role", "popup")
        self.set_choices(choices)
        self._redraw()
        self.activated.connect(self._take_row)
        line.editingFinished.connect(self._finish)
        theme.current().changed.connect(self._redraw)

    def set_choices(self, choices: Sequence[Choice]) -> None:
        """Offer these, and keep the one chosen if it is still among them."""
        kept = self._last
        self._choices = tuple(choices)
        blocked = self.blockSignals(True)
        self.clear()
        for choice in self._choices:
            if choice.look:
                self.addItem(swatch_icon(choice.look), choice.words)
            else:
                self.addItem(choice.words)
        self._labels.setStringList([choice.words for choice in self._choices])
        self.blockSignals(blocked)
        self.choose(kept)

    def minimumSizeHint(self) -> QSize:
        """Qt: the longest of its names must not widen a page."""
        least = super().minimumSizeHint()
        return QSize(min(least.width(), theme.current().px(_LEAST)), least.height())

    def chosen(self) -> Hashable | None:
        """The id chosen, or ``None``."""
        return self._last

    def choose(self, ident: Hashable | None) -> None:
        """Show a choice without telling anyone."""
        place = next((i for i, c in enumerate(self._choices) if c.ident == ident), -1)
        self._last = ident if place >= 0 else None
        blocked = self.blockSignals(True)
        self.setCurrentIndex(place)
        if place < 0:
            self.setEditText("")
        line = self.lineEdit()
        if line is not None and not line.hasFocus():
            # A long name is read from its start, and whole in the tool-tip.
            line.setCursorPosition(0)
            self.setToolTip(self.currentText())
        self.blockSignals(blocked)

    def _take_row(self, place: int) -> None:
        if 0 <= place < len(self._choices) and self._choices[place].ident != self._last:
            self._last = self._choices[place].ident
            self.picked.emit(self._last)

    def _finish(self) -> None:
        completer = self.completer()
        popup = completer.popup() if completer is not None else None
        if popup is not None and popup.currentIndex().isValid():
            # A row of the list is being taken: to change the text now would move that row.
            QTimer.singleShot(0, self, self._settle)
        else:
            self._settle()

    def _settle(self) -> None:
        typed = self.currentText().strip().casefold()
        exact = [i for i, c in enumerate(self._choices) if c.is_named(typed)]
        fits = exact or [i for i, c in enumerate(self._choices) if typed in c.label.casefold()]
        if typed and len(fits[:2]) == 1:
            self.setCurrentIndex(fits[0])
            self._take_row(fits[0])
        else:
            self.choose(self._last)

    def _redraw(self) -> None:
        side = theme.current().px(16)
        self.setIconSize(QSize(side, side))
        for place, choice in enumerate(self._choices):
            if choice.look:
                self.setItemIcon(place, swatch_icon(choice.look))

    def wheelEvent(self, event: QWheelEvent) -> None:
        # Scrolling a page must not change what stands under the pointer.
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            # The first puts back what was typed; where nothing was, it is the sheet's.
            typed = self.currentText()
            self.choose(self._last)
            event.setAccepted(typed != self.currentText())
            return
        super().keyPressEvent(event)


class TokenButton(QAbstractButton):
    """A removable part of a sentence, with a cross; a click, Enter, Delete or Backspace removes.

    ``removed`` fires then. ``large`` is for the question on the findings page.
    """

    removed = Signal()
    _ROOM = 4

    def __init__(self, text: str, large: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._large = large
        self.setText(text)
        self.setAccessibleName(f"Remove {text}")
        self.setToolTip(f"Remove {text}")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.clicked.connect(lambda: self.removed.emit())
        theme.current().changed.connect(self.updateGeometry)
        theme.current().changed.connect(self.update)

    def sizeHint(self) -> QSize:
        look = theme.current()
        font = look.font(FIGURE if self._large else BODY, 600 if self._large else 500)
        wide = QFontMetricsF(font).horizontalAdvance(self.text())
        high = look.px(32 if self._large else 24)
        return QSize(round(wide) + look.px(40) + 2 * self._ROOM, high + 2 * self._ROOM)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        room = self._ROOM
        box = QRectF(self.rect()).adjusted(room, room, -room, -room)
        painter.setBrush(look.color("cobaltwash"))
        painter.setPen(QPen(look.color("cobalt"), 1) if self.underMouse() else Qt.PenStyle.NoPen)
        painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), RADIUS_CARD, RADIUS_CARD)
        painter.setPen(look.color("cobalt"))
        painter.setFont(look.font(FIGURE if self._large else BODY, 600 if self._large else 500))
        middle = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.drawText(box.adjusted(look.px(10), 0, 0, 0), middle, self.text())
        arm = look.px(4)
        centre = box.center()
        centre.setX(box.right() - look.px(14))
        painter.setPen(QPen(look.color("cobalt"), 1.5))
        cross = QRectF(centre.x() - arm, centre.y() - arm, 2 * arm, 2 * arm)
        painter.drawLine(cross.topLeft(), cross.bottomRight())
        painter.drawLine(cross.topRight(), cross.bottomLeft())
        if self.hasFocus():
            paint_focus_ring(painter, box, RADIUS_CARD)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (
            Qt.Key.Key_Delete,
            Qt.Key.Key_Backspace,
            Qt.Key.Key_Return,
            Qt.Key.Key_Enter,
        ):
            self.removed.emit()
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.HoverEnter, QEvent.Type.HoverLeave):
            self.update()
        return super().event(event)
