"""The edits of a piece's page: run, and what went wrong said where it happened."""

from collections.abc import Callable, Mapping
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.session import Session
from studiolog.problems import EditConflict, UserProblem
from studiolog.ui.parts.fields import LineField, ProblemLine


class PageEdits(QObject):
    """Runs edits for one page.

    A problem is shown beside its field if it names one, else in the section's problem line, else
    as a notice. ``outdated`` asks for the page to be read anew: another desk changed it.
    """

    outdated = Signal()

    def __init__(self, desk: Desk, page: QObject) -> None:
        super().__init__(page)
        self.desk = desk
        self.page: PiecePage | None = None

    def name(self) -> str:
        """What the page's piece is called in the history: "piece 412"."""
        if self.page is None or self.page.number is None:
            return "piece"
        return f"piece {self.page.number}"

    def run(
        self,
        what: str,
        edit: Callable[[Session], object],
        line: ProblemLine | None = None,
        fields: Mapping[str, LineField] | None = None,
    ) -> bool:
        """Run an edit; ``what`` is the beginning of its label: "Inspect". True if it was kept."""
        if line is not None:
            line.say("")
        try:
            self.desk.edits.run(f"{what} {self.name()}", edit)
        except EditConflict as conflict:
            self.desk.notices.warn(conflict.sentence)
            self.outdated.emit()
            return False
        except UserProblem as problem:
            self._show(problem, line, fields or {})
            return False
        return True

    def _show(
        self, problem: UserProblem, line: ProblemLine | None, fields: Mapping[str, LineField]
    ) -> None:
        met = [name for name in problem.fields if name in fields]
        for name in met:
            fields[name].set_problem(problem.fields[name])
        if met:
            fields[met[0]].setFocus(Qt.FocusReason.OtherFocusReason)
        elif line is not None:
            line.say(problem.sentence)
        else:
            self.desk.notices.warn(problem.sentence)


@contextmanager
def keeping_focus(widget: QWidget) -> Any:
    """Build the children of ``widget`` anew and give the keyboard back to the one that had it.

    Children are known by their object names.
    """
    focused = widget.window().focusWidget()
    name = ""
    at: QWidget | None = focused
    while at is not None and at is not widget:
        name = name or at.objectName()
        at = at.parentWidget()
    inside = at is widget and bool(name)
    yield
    if inside:
        again = widget.findChild(QWidget, name)
        if again is not None:
            again.setFocus(Qt.FocusReason.OtherFocusReason)


def clear(layout: QLayout) -> None:
    """Take everything out of a layout and let its widgets go."""
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        inner = item.layout()
        if widget is not None:
            widget.hide()
            # Out of the tree at once, so that names are unique when the children are built anew.
            widget.setParent(None)
            widget.deleteLater()
        elif inner is not None:
            clear(inner)
