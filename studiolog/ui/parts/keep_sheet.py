"""A window-modal sheet: a heading, a body, one way out that keeps."""

from abc import abstractmethod
from typing import ClassVar

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.section import primary_button
from studiolog.ui.parts.sight import bring_into_sight
from studiolog.ui.parts.text import Text, Words

_EDGE = 16
"""What is left of the window around a sheet."""


class KeepSheet(QDialog):
    """Ctrl+Enter keeps, Esc leaves. ``why_not`` says why it can't be kept yet.

    With ``enter_keeps`` Enter in a line keeps too; without, it finishes the line.
    """

    enter_keeps: ClassVar[bool] = False
    scrolls: ClassVar[bool] = False
    """Whether the body is scrolled where it is higher than the window allows."""

    def __init__(self, title: str, keep: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self.heading = Words(title, "figure", 600)
        self.body = QVBoxLayout()
        self.body.setSpacing(12)
        self.why_not = ProblemLine()
        self.keep_button = primary_button(keep)
        self.keep_button.setAutoDefault(False)
        self.keep_button.clicked.connect(self.keep)
        self.leave_button = QPushButton("Cancel")
        self.leave_button.setAccessibleName("Cancel")
        self.leave_button.setAutoDefault(False)
        self.leave_button.clicked.connect(self.reject)
        self.feet = QHBoxLayout()
        self.feet.setSpacing(8)
        self.feet.addWidget(self.why_not, 1, Qt.AlignmentFlag.AlignVCenter)
        self.feet.addStretch(0)
        self.feet.addWidget(self.leave_button)
        self.feet.addWidget(self.keep_button)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(24, 20, 24, 20)
        rows.setSpacing(14)
        rows.addWidget(self.heading)
        if self.scrolls:
            rows.addWidget(self._make_reel(), 1)
        else:
            rows.addLayout(self.body, 1)
        rows.addLayout(self.feet)

    def _make_reel(self) -> QScrollArea:
        page = QWidget()
        page.setLayout(self.body)
        self.body.setContentsMargins(2, 0, 12, 0)  # the bar's room
        self.reel = QScrollArea()
        self.reel.setWidget(page)
        self.reel.setWidgetResizable(True)
        self.reel.setFrameShape(QScrollArea.Shape.NoFrame)
        self.reel.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.reel.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        # The dialog's own ground shows through.
        self.reel.viewport().setAutoFillBackground(False)
        page.setAutoFillBackground(False)
        return self.reel

    def take_size(self, wide: int, high: int) -> None:
        """So large at text of 100 per cent, larger with it, and never larger than the window."""
        look = theme.current()
        size = QSize(look.px(wide), look.px(high))
        parent = self.parentWidget()
        if parent is not None:
            size = size.boundedTo(parent.window().size() - QSize(2 * _EDGE, 2 * _EDGE))
        self.resize(size)

    @abstractmethod
    def keep(self) -> None:
        """Keep what was entered and close, or say why not."""

    def focusNextPrevChild(self, onward: bool) -> bool:
        went = super().focusNextPrevChild(onward)
        bring_into_sight()
        return went

    def keyPressEvent(self, event: QKeyEvent) -> None:
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            if self.keep_button.isEnabled():
                self.keep()
            return
        if enter:
            here = self.focusWidget()
            if isinstance(here, QPushButton):
                here.click()
            elif self.enter_keeps and isinstance(here, QLineEdit):
                self.keep()
            return  # elsewhere it finishes the field, and not the sheet
        super().keyPressEvent(event)


def labelled(label: str, field: QWidget) -> QVBoxLayout:
    """A field under its label, at the top of the room it is given."""
    box = QVBoxLayout()
    box.setSpacing(4)
    words = Text(label, "secondary", 500, "ink2")
    words.setBuddy(field)
    box.addWidget(words)
    box.addWidget(field)
    box.setAlignment(Qt.AlignmentFlag.AlignTop)
    return box
