"""Short sentences said where work goes on, without a dialog."""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal


@dataclass(frozen=True)
class Notice:
    """A sentence, whether it is a problem, and one thing that can be done about it.

    One that ``stays`` is shown until it is closed, taken back, or another is said.
    """

    sentence: str
    problem: bool = False
    action_text: str = ""
    action: Callable[[], None] | None = None
    stays: bool = False


class Notices(QObject):
    """Where any part of the window says a sentence; the frame shows it."""

    said = Signal(object)
    reminder_over = Signal()

    def say(
        self, sentence: str, action_text: str = "", action: Callable[[], None] | None = None
    ) -> None:
        """Something was done."""
        self.said.emit(Notice(sentence, False, action_text, action))

    def warn(
        self, sentence: str, action_text: str = "", action: Callable[[], None] | None = None
    ) -> None:
        """Something was not done, and why."""
        self.said.emit(Notice(sentence, True, action_text, action))

    def remind(self, sentence: str, action_text: str, action: Callable[[], None]) -> None:
        """Something wants to be done by the person; it stays until it is, or is closed."""
        self.said.emit(Notice(sentence, False, action_text, action, stays=True))

    def end_reminder(self) -> None:
        """What was asked for is done, or is asked for no more."""
        self.reminder_over.emit()
