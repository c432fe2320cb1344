"""The head of a page: a name that is changed in place, a line of facts, and the actions."""

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.ui.parts.fields import EditableText, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Words


class NamedHead(QWidget):
    """What a thing is called, changed in place, with its picture before it and its actions.

    Where name and actions have no room beside each other the actions stand under the name.
    """

    def __init__(self, about: str, hint: str, picture: QWidget | None = None) -> None:
        super().__init__()
        self.name = EditableText(about, hint=hint, size="title", weight=600)
        self.quiet = Words("", "body", tone="ink2")
        self.problem = ProblemLine()
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.name)
        words.addWidget(self.quiet)
        self._actions = QWidget()
        self._action_row = FlowLayout(self._actions)
        self._row = QHBoxLayout()
        self._row.setSpacing(16)
        self._picture = picture
        if picture is not None:
            self._row.addWidget(picture, 0, Qt.AlignmentFlag.AlignTop)
        self._row.addLayout(words, 1)
        self._row.addWidget(self._actions, 0, Qt.AlignmentFlag.AlignTop)
        self._under = False
        fixed = QSizePolicy.Policy.Fixed
        self._actions.setSizePolicy(fixed, QSizePolicy.Policy.Preferred)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 12, 0, 12)
        self._rows.setSpacing(4)
        self._rows.addLayout(self._row)
        self._rows.addWidget(self.problem)

    def add_action(self, action: QWidget) -> None:
        """Put a button, or a word on how it stands, before the others."""
        self._action_row.insertWidget(0, action)

    def minimumSizeHint(self) -> QSize:
        """Qt: with the actions under the name."""
        before = self._picture.sizeHint().width() + 16 if self._picture is not None else 0
        name = max(self.name.minimumSizeHint().width(), self.quiet.minimumSizeHint().width())
        wide = max(before + name, self._actions.minimumSizeHint().width())
        return QSize(wide, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def event(self, event: QEvent) -> bool:
        """Qt: the name may have grown."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._arrange()
        return super().event(event)

    def _arrange(self) -> None:
        before = self._picture.sizeHint().width() + 16 if self._picture is not None else 0
        # Two lines of a long name beside the actions are fine, a name of one word a line is not.
        name = min(self.name.sizeHint().width(), theme.current().px(420))
        name = max(name, self.name.minimumSizeHint().width())
        under = self.width() < before + name + 16 + self._actions.sizeHint().width()
        if under == self._under:
            return
        self._under = under
        policy = QSizePolicy.Policy.Preferred if under else QSizePolicy.Policy.Fixed
        self._actions.setSizePolicy(policy, QSizePolicy.Policy.Preferred)
        top = Qt.AlignmentFlag.AlignTop
        if under:
            self._row.removeWidget(self._actions)
            self._rows.insertWidget(1, self._actions)
        else:
            self._rows.removeWidget(self._actions)
            self._row.addWidget(self._actions, 0, top)
