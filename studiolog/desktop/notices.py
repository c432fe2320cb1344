"""Short sentences said where work goes on, without a dialog."""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal


@dataclass(frozen=True)
class Notice:
    """A sentence, whether it is a problem, and one thing that can be done about it."""

    sentence: str
    problem: bool = False
    action_text: str = ""
    action: Callable[[], None] | None = None


class Notices(QObject):
    """Where any part of the window says a sentence; the frame shows it."""

    said = Signal(object)

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
