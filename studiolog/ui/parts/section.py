"""How a page is divided: its title, sections under a rule, cards, the foot line, and its states."""

import math
from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLayout,
    QPushButton,
    QSizePolicy,
    QStyle,
    QStyleOptionButton,
    QStylePainter,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.tokens import (
    BODY,
    CAPTION,
    CARD_INSET,
    RADIUS_CARD,
    RADIUS_CHIP,
    SECTION_HEAD,
    SECTION_RULE,
)
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.text import Caption, Figure, Text, Words

__all__ = [
    "Caption",
    "Card",
    "EmptyState",
    "ErrorState",
    "Figure",
    "FootLine",
    "Hairline",
    "KeyHint",
    "KeyedButton",
    "LoadingState",
    "PageTitle",
    "Section",
    "Text",
    "link_button",
    "primary_button",
]


class KeyedButton(QPushButton):
    """A button whose words are followed, more lightly, by the keys that do the same.

    The keys give way first: without the room for both, the words stand alone.
    """

    def __init__(self, text: str, keys: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.keys = keys
        self.setAccessibleName(text)
        self.setToolTip(f"{text} ({keys})")
        theme.current().changed.connect(self.updateGeometry)

    def _room(self) -> tuple[int, int]:
        """How wide the gap and the keys are."""
        look = theme.current()
        return look.px(10), _width_of(self.keys, look.font(BODY))

    def sizeHint(self) -> QSize:
        """Qt: words and keys."""
        return super().sizeHint() + QSize(sum(self._room()), 0)

    def minimumSizeHint(self) -> QSize:
        """Qt: the words alone."""
        return super().sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QStylePainter(self)
        option = QStyleOptionButton()
        self.initStyleOption(option)
        words, option.text = option.text, ""
        painter.drawControl(QStyle.ControlElement.CE_PushButton, option)
        look = theme.current()
        primary = self.property("role") == "primary"
        pointed = self.isDown() or self.underMouse()
        token = ("paper" if pointed else "oncobalt") if primary else "ink"
        painter.setPen(look.color(token if self.isEnabled() else "ink3"))
        bold, plain = look.font(BODY, 600), look.font(BODY)
        gap, keys = self._room()
        long = _width_of(words, bold)
        whole = long + gap + keys
        fits = whole <= self.width() - 8
        left = (self.width() - (whole if fits else long)) / 2
        level = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.setFont(bold)
        painter.drawText(QRectF(left, 0, long + 2, self.height()), level, words)
        if fits:
            painter.setFont(plain)
            painter.drawText(
                QRectF(left + long + gap, 0, keys + 2, self.height()), level, self.keys
            )


def _width_of(words: str, font: QFont) -> int:
    """How wide words are in a font, in whole pixels."""
    return math.ceil(QFontMetricsF(font).horizontalAdvance(words))


def primary_button(text: str, parent: QWidget | None = None) -> QPushButton:
    """The one primary action of a view."""
    button = QPushButton(text, parent)
    button.setProperty("role", "primary")
    button.setAccessibleName(text)
    return button


def link_button(text: str, parent: QWidget | None = None, most: int = 0) -> QPushButton:
    """An action or a way elsewhere that reads as a link.

    A name longer than ``most`` letters is cut with dots; its tool-tip and a reader have it whole.
    """
    cut = 0 < most < len(text)
    button = QPushButton(f"{text[: most - 1].rstrip()}…" if cut else text, parent)
    if cut:
        button.setToolTip(text)
    button.setProperty("role", "link")
    button.setAccessibleName(text)
    button.setCursor(Qt.CursorShape.PointingHandCursor)
    return button


class _Rule(QWidget):
    """A level line: the 1.5 px ink rule over a head, or a hairline between rows."""

    def __init__(self, width: float, token: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._width, self._token = width, token
        self.setFixedHeight(2 if width > 1 else 1)
        theme.current().changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(
            QRectF(0, 0, self.width(), self._width), theme.current().color(self._token)
        )


class Hairline(_Rule):
    """The 1 px separator between rows."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(1.0, "line", parent)


class Section(QWidget):
    """A rule, a 36 px head with quiet text or one link at its right, and a body. No box.

    Put things into ``body``. ``link_opened`` fires when the link is used.
    """

    link_opened = Signal()

    def __init__(
        self, title: str, quiet: str = "", link: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.title = Words(title, "head", 600)
        self.quiet = Words(quiet, "secondary", tone="ink3")
        self.link = link_button(link)
        self.link.clicked.connect(self.link_opened)
        self.head = QHBoxLayout()
        self.head.setContentsMargins(0, 0, 0, 0)
        self.head.setSpacing(8)
        self.head.addWidget(self.title)
        self.head.addStretch(1)
        self.head.addWidget(self.quiet)
        self.head.addWidget(self.link)
        holder = QWidget()
        holder.setLayout(self.head)
        holder.setMinimumHeight(theme.current().px(SECTION_HEAD))
        self._holder = holder
        self.body = QVBoxLayout()
        self.body.setContentsMargins(0, 0, 0, 0)
        self.body.setSpacing(8)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(_Rule(SECTION_RULE, "ink"))
        rows.addWidget(holder)
        rows.addLayout(self.body, 1)
        self.setAccessibleName(title)
        self.set_quiet(quiet)
        self.set_link(link)
        theme.current().changed.connect(self._rescale)

    def set_title(self, title: str) -> None:
        self.title.setText(title)
        self.setAccessibleName(title)

    def set_quiet(self, quiet: str, tone: str = "ink3") -> None:
        """The quiet words at the right of the head."""
        self.quiet.setText(quiet)
        self.quiet.set_tone(tone)
        self.quiet.setVisible(bool(quiet))

    def set_link(self, link: str) -> None:
        self.link.setText(link)
        self.link.setAccessibleName(f"{link}: {self.title.text()}")
        self.link.setVisible(bool(link))

    def add(self, item: QWidget | QLayout, stretch: int = 0) -> None:
        """Put a widget or a layout into the body."""
        if isinstance(item, QWidget):
            self.body.addWidget(item, stretch)
        else:
            self.body.addLayout(item, stretch)

    def _rescale(self) -> None:
        self._holder.setMinimumHeight(theme.current().px(SECTION_HEAD))


class PageTitle(QWidget):
    """A page's title, 80 px: a mark if it has a number, the title, a line of facts, actions.

    Put a mark with ``set_mark``, words and marks into ``facts``, chips and buttons into
    ``action_row``. Where title and actions have no room beside each other the actions go under.
    """

    def __init__(self, title: str, quiet: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = Words(title, "title", 600)
        self.quiet = Words(quiet, "body", tone="ink2")
        self.facts = FlowLayout(spacing=8, line_spacing=4)
        self.facts.addWidget(self.quiet)
        self.action_row = FlowLayout(spacing=8, line_spacing=8)
        self._actions = QWidget()
        self._actions.setLayout(self.action_row)
        self._mark_place = QHBoxLayout()
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.title)
        words.addLayout(self.facts)
        self._upper = QHBoxLayout()
        self._upper.setSpacing(16)
        self._upper.addLayout(self._mark_place)
        self._upper.addLayout(words, 1)
        self._upper.addWidget(self._actions)
        self._under = False
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 12, 0, 12)
        self._rows.setSpacing(12)
        self._rows.addLayout(self._upper)
        self.setAccessibleName(title)
        theme.current().changed.connect(self.arrange)

    def set_title(self, title: str, quiet: str = "") -> None:
        self.title.setText(title)
        self.quiet.setText(quiet)
        self.quiet.setVisible(bool(quiet))
        self.setAccessibleName(title)
        self.arrange()

    def set_mark(self, mark: QWidget) -> None:
        """Show a 48 px mark before the title, in place of one shown earlier."""
        while (item := self._mark_place.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.deleteLater()
        self._mark_place.addWidget(mark)

    def add_action(self, action: QWidget) -> None:
        self.action_row.addWidget(action)

    def arrange(self) -> None:
        """Actions beside the title if both are whole there; ask again when one has changed."""
        words = max(self.title.sizeHint().width(), min(self.facts.sizeHint().width(), 480))
        actions = self.action_row.sizeHint().width()
        under = self.width() < self._mark_place.sizeHint().width() + words + actions + 32
        if under != self._under:
            self._under = under
            (self._upper if under else self._rows).removeWidget(self._actions)
            (self._rows if under else self._upper).addWidget(self._actions)
        policy = QSizePolicy.Policy.Preferred if under else QSizePolicy.Policy.Fixed
        self._actions.setSizePolicy(policy, QSizePolicy.Policy.Preferred)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.arrange()


class Card(QWidget):
    """A sheet with a hairline round it, only where a drawing or a plot needs a ground."""

    def __init__(self, inset: int = CARD_INSET, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(inset, inset, inset, inset)
        self.body.setSpacing(8)
        theme.current().changed.connect(self.update)

    def add(self, item: QWidget | QLayout, stretch: int = 0) -> None:
        if isinstance(item, QWidget):
            self.body.addWidget(item, stretch)
        else:
            self.body.addLayout(item, stretch)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        painter.setPen(QPen(look.color("line"), 1))
        painter.setBrush(look.color("sheet"))
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.drawRoundedRect(box, RADIUS_CARD, RADIUS_CARD)


class KeyCap(QWidget):
    """One key as a small cap."""

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key = key
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(key)
        theme.current().changed.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        look = theme.current()
        wide = QFontMetricsF(look.font(CAPTION)).horizontalAdvance(self._key)
        high = look.px(17)
        return QSize(max(high, round(wide + 10)), high)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = theme.current()
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(QPen(look.color("line2"), 1))
        painter.setBrush(look.color("sheet"))
        painter.drawRoundedRect(box, RADIUS_CHIP, RADIUS_CHIP)
        painter.setPen(look.color("ink2"))
        painter.setFont(look.font(CAPTION))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self._key)


def spoken_keys(keys: Sequence[str]) -> str:
    """Key caps as they are read out: ``Control K`` is one chord, ``A or D`` are two keys."""
    held = {"Ctrl": "Control", "Shift": "Shift", "Alt": "Alt"}
    if keys and keys[0] in held:
        return " ".join(held.get(key, key) for key in keys)
    return " or ".join(keys)


class KeyHint(QWidget):
    """Key caps and what they do: ``KeyHint(("A", "D"), "move divider")``."""

    def __init__(self, keys: Sequence[str], does: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        for key in keys:
            row.addWidget(KeyCap(key))
        row.addSpacing(2)
        row.addWidget(Caption(does))
        self.setAccessibleName(f"{spoken_keys(keys)}: {does}")


class FootLine(QWidget):
    """The foot of a page, 28 px: what the keys do at the left, a quiet fact at the right."""

    def __init__(
        self,
        hints: Sequence[tuple[Sequence[str], str]] = (),
        quiet: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._hints = QHBoxLayout()
        self._hints.setSpacing(16)
        self.quiet = Caption(quiet)
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.addLayout(self._hints)
        row.addStretch(1)
        row.addWidget(self.quiet)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(Hairline())
        rows.addLayout(row, 1)
        self.setFixedHeight(theme.current().px(28))
        self.set_hints(hints)
        theme.current().changed.connect(self._rescale)

    def set_hints(self, hints: Sequence[tuple[Sequence[str], str]]) -> None:
        """Show which keys work here, as pairs of keys and what they do."""
        while (item := self._hints.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()  # until it is gone it would stand under the new ones
                old.deleteLater()
        for keys, does in hints:
            self._hints.addWidget(KeyHint(keys, does))
        self._fit()

    def set_quiet(self, quiet: str) -> None:
        self.quiet.setText(quiet)
        self._fit()

    def minimumSizeHint(self) -> QSize:
        """Qt: the foot never widens the window; what has no room is left out."""
        return QSize(0, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Show whole hints only, the first ones; the sheet of keys has them all."""
        room = self.width() - self.quiet.sizeHint().width() - self._hints.spacing()
        for place in range(self._hints.count()):
            item = self._hints.itemAt(place)
            hint = item.widget() if item is not None else None
            if hint is not None:
                room -= hint.sizeHint().width() + (self._hints.spacing() if place else 0)
                hint.setVisible(room >= 0)

    def _rescale(self) -> None:
        self.setFixedHeight(theme.current().px(28))
        self._fit()


class _State(QWidget):
    """What stands where content would: a sentence, the first step, an action."""

    acted = Signal()

    def __init__(
        self, what: str, step: str, action: str, sign: str, tone: str, parent: QWidget | None
    ) -> None:
        super().__init__(parent)
        self.sentence = Text(what, "head", 600, tone, wrap=True)
        self.step = Text(step, "body", tone="ink2", wrap=True)
        # Shown before it has a parent, a widget would flash up as a window of its own.
        if not step:
            self.step.hide()
        self.action = QPushButton(action)
        self.action.setAccessibleName(action)
        if not action:
            self.action.hide()
        self.action.clicked.connect(self.acted)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 16, 0, 16)
        row.setSpacing(12)
        if sign:
            row.addWidget(IconLabel(sign, tone, 20), 0, Qt.AlignmentFlag.AlignTop)
        words = QVBoxLayout()
        words.setSpacing(4)
        words.addWidget(self.sentence)
        words.addWidget(self.step)
        words.addSpacing(8)
        words.addWidget(self.action, 0, Qt.AlignmentFlag.AlignLeft)
        words.addStretch(1)
        row.addLayout(words, 1)
        self.setAccessibleName(f"{what} {step}".strip())

    def set_sentence(self, what: str, step: str = "") -> None:
        self.sentence.setText(what)
        self.step.setText(step)
        self.step.setVisible(bool(step))
        self.setAccessibleName(f"{what} {step}".strip())


class EmptyState(_State):
    """Nothing here yet: what belongs here, the first step, and the action that takes it."""

    def __init__(
        self, what: str, first_step: str = "", action: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(what, first_step, action, "", "ink2", parent)


class LoadingState(_State):
    """Something is being read; the words say what."""

    def __init__(self, what: str, parent: QWidget | None = None) -> None:
        super().__init__(what, "", "", "clock", "ink3", parent)


class ErrorState(_State):
    """It could not be done: one sentence and the way on."""

    def __init__(self, sentence: str, action: str = "", parent: QWidget | None = None) -> None:
        super().__init__(sentence, "", action, "warning", "rust", parent)
