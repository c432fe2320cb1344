"""Edits as the window makes them: run, told in one signal, undone from the history."""

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtCore import QObject, Signal

from studiolog.desktop.notices import Notices
from studiolog.journal.history import Done, Touched
from studiolog.journal.opening import Journal
from studiolog.journal.session import Session
from studiolog.problems import UserProblem

T = TypeVar("T")


class Edits(QObject):
    """Runs edits on the window's thread and tells the screens what they touched.

    ``edited`` carries the `Touched` of the edit; ``turned`` says that what can be undone or
    redone may have changed.
    """

    edited = Signal(object)
    turned = Signal()

    def __init__(self, journal: Journal, notices: Notices) -> None:
        super().__init__()
        self._journal = journal
        self._notices = notices

    def run(self, label: str, edit: Callable[[Session], T]) -> T:
        """Run an edit and return its value. Raises `UserProblem` with nothing changed.

        ``label`` is what the history and the undo menu call it: "Log firing 41".
        """
        done = self._journal.edit(label, edit)
        self._tell(done)
        return done.value

    def try_run(self, label: str, edit: Callable[[Session], object]) -> bool:
        """Run an edit; a `UserProblem` is said as a notice. True if it was kept."""
        try:
            self.run(label, edit)
        except UserProblem as problem:
            self._notices.warn(problem.sentence)
            return False
        return True

    def tell(self, touched: Touched) -> None:
        """Something was changed past the history (a wiping): let the screens read it anew."""
        self.edited.emit(touched)
        self.turned.emit()

    def undo(self) -> None:
        """Take back this desk's newest edit, or say why not."""
        self._turn(self._journal.undo, "Nothing to undo.")

    def redo(self) -> None:
        """Do again what was undone last, or say why not."""
        self._turn(self._journal.redo, "Nothing to redo.")

    def undo_label(self) -> str | None:
        """What undo would take back, for the menu."""
        line = self._journal.undo_line()
        return line.label if line else None

    def redo_label(self) -> str | None:
        """What redo would do again, for the menu."""
        line = self._journal.redo_line()
        return line.label if line else None

    def _turn(self, turn: Callable[[], Done[None] | None], nothing: str) -> None:
        try:
            done = turn()
        except UserProblem as problem:
            self._notices.warn(problem.sentence)
            return
        if done is None:
            self._notices.say(nothing)
        else:
            self._tell(done)
            self._notices.say(done.label)

    def _tell(self, done: Done[T]) -> None:
        if done.touched.rows:
            self.edited.emit(done.touched)
            self.turned.emit()
