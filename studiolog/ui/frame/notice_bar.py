"""The line over the foot where sentences are said, with the one thing that can be done."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from studiolog.desktop.notices import Notice, Notices
from studiolog.ui.parts.icon import IconButton, IconLabel
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Text

_SHOWN_MS = 8000
_MOST_SAID = 6


class NoticeBar(QWidget):
    """Shows the last notice: a problem or a reminder stays until it is closed, the rest goes.

    A reminder comes back once what was said over it has gone.
    """

    def __init__(self, notices: Notices, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sentence = Text("", wrap=True)
        self._sentence.setAccessibleName("Notice")
        self._mark = IconLabel("warning", "rust")
        self._action: QPushButton = link_button("")
        self._close = IconButton("cross", "Close this notice")
        row = QHBoxLayout(self)
        row.setContentsMargins(32, 6, 32, 6)
        row.setSpacing(12)
        row.addWidget(self._mark)
        row.addWidget(self._sentence, 1)
        row.addWidget(self._action)
        row.addWidget(self._close)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._leave)
        self._close.clicked.connect(self._leave)
        self._action.clicked.connect(self._act)
        self._notice: Notice | None = None
        self._reminder: Notice | None = None
        self._problems: list[str] = []
        notices.said.connect(self.show_notice)
        notices.reminder_over.connect(self._end_reminder)
        self.hide()

    def show_notice(self, notice: Notice) -> None:
        """Show a notice in place of the last; problems gather until the line is closed."""
        self._notice = notice
        if notice.stays:
            self._reminder = notice
        gather = notice.problem and self.isVisible() and bool(self._problems)
        if not gather:
            self._problems.clear()
        if notice.problem and notice.sentence not in self._problems:
            self._problems.append(notice.sentence)
        self._sentence.setText(self._gathered() if notice.problem else notice.sentence)
        self._sentence.setProperty("tone", "rust" if notice.problem else "ink")
        self._sentence.style().unpolish(self._sentence)
        self._sentence.style().polish(self._sentence)
        self._mark.setVisible(notice.problem)
        self._action.setText(notice.action_text)
        self._action.setVisible(notice.action is not None)
        self.show()
        self._timer.stop()
        if not notice.problem and not notice.stays:
            self._timer.start(_SHOWN_MS)

    def _gathered(self) -> str:
        more = len(self._problems) - _MOST_SAID
        last = [f"… and {more} more"] if more > 0 else []
        return "\n".join(self._problems[:_MOST_SAID] + last)

    def sentence(self) -> str:
        """What is being said, or nothing."""
        return self._sentence.text() if self.isVisible() else ""

    def _end_reminder(self) -> None:
        self._reminder = None
        if self._notice is not None and self._notice.stays:
            self.hide()

    def _leave(self) -> None:
        """The notice goes; a reminder it stood over is shown again."""
        if self._notice is self._reminder:
            self._reminder = None
        self.hide()
        if self._reminder is not None:
            self.show_notice(self._reminder)

    def _act(self) -> None:
        notice = self._notice
        self._leave()
        if notice is not None and notice.action is not None:
            notice.action()
