"""What every screen is: it re-reads its page when its nouns change, at once or when next seen."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.journal.history import Touched


class Screen(QWidget):
    """A screen holds its controls, its last page and its ids; nothing else.

    Subclasses name the nouns they show in ``kinds`` and read their page in `reload`. An edit that
    touches one of them re-reads a visible screen at once and marks a hidden one stale.
    """

    kinds: frozenset[str] = frozenset()
    title = ""
    desk: "Desk"
    foot_changed = Signal()
    """What `foot` says has changed: another thing is shown than before."""

    def __init__(self, desk: "Desk | None", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._stale = True
        if desk is not None:
            self.take_up(desk)

    def take_up(self, desk: "Desk") -> None:
        """Work with this desk from now on; only the first screen ever stands without one."""
        self.desk = desk
        desk.edits.edited.connect(self._hear_edit)

    def reload(self) -> None:
        """Read the page anew and show it."""
        raise TypeError(f"{type(self).__name__} reads no page of its own")

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show one thing of this screen's noun; 0 shows the list."""

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        """Key hints for the foot of the window: (key caps, what they do)."""
        return ()

    def mark_stale(self) -> None:
        """Re-read now if visible, else when next shown."""
        self._stale = True
        if self.isVisible():
            self.freshen()

    def freshen(self) -> None:
        """Re-read if stale."""
        if self._stale:
            self._stale = False
            self.reload()
            self.paint_when_laid()

    def paint_when_laid(self) -> None:
        """Paint once the page just shown stands in its place.

        Qt lays a new page out in several turns, and would paint it squeezed into the height of the
        one before in between.
        """
        if self.isVisible():
            self.setUpdatesEnabled(False)
            QTimer.singleShot(0, self, self._paint_now)

    def _paint_now(self) -> None:
        QCoreApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)
        self.setUpdatesEnabled(True)

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the screen is about to be seen."""
        super().showEvent(event)
        self.freshen()

    def _hear_edit(self, touched: "Touched") -> None:
        if touched.kinds & self.kinds:
            self.mark_stale()
