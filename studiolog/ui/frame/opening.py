"""Opening and changing journals: the window, the start page, and what can go wrong."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal.opening import Journal, open_journal
from studiolog.problems import UserProblem
from studiolog.ui.frame.bug_sheet import BugSheet
from studiolog.ui.frame.start_sheet import StartSheet
from studiolog.ui.frame.window import Window


def _sweep(photos: Path) -> int:
    """Take away what an intake left half-written when the power went."""
    from studiolog.photos.store import PhotoStore

    return PhotoStore(photos).sweep()


class Opening:
    """Holds the one window and the journal behind it."""

    def __init__(
        self,
        app: QApplication,
        settings: Settings,
        home: Path,
        make_demo: Callable[[], Path],
    ) -> None:
        self._app = app
        self._settings = settings
        self._home = home
        self._make_demo = make_demo
        self.window: Window | None = None
        self._desk: Desk | None = None

    def start(self, where: str, photos: Path | None, *, demo: bool) -> bool:
        """Open the journal at ``where``, or ask what to open. False if nothing was chosen."""
        if demo:
            return self._try(self._open_demo) or self._ask()
        if where and self._try(lambda: self._open(where, photos, create=False)):
            return True
        return self._ask()

    def _ask(self, problem: str = "") -> bool:
        """The start page, until something is open or nothing is wanted."""
        sheet = StartSheet(problem)
        while sheet.exec():
            ways: dict[str, Callable[[], None]] = {
                "demo": self._open_demo,
                "new": lambda: self._choose(sheet, new=True),
                "open": lambda: self._choose(sheet, new=False),
            }
            if self._try(ways[sheet.wanted], sheet) and self.window is not None:
                return True
        return False

    def _try(self, way: Callable[[], None], sheet: StartSheet | None = None) -> bool:
        try:
            way()
        except UserProblem as problem:
            if sheet is not None:
                sheet.say(problem.sentence)
            elif self._desk is not None:
                self._desk.notices.warn(problem.sentence)
            else:
                return self._ask(problem.sentence)
            return False
        return self.window is not None

    def _choose(self, parent: QWidget, *, new: bool) -> None:
        if new:
            # A name is typed, not an empty folder looked for: the folder is made with the journal.
            folder, _ = QFileDialog.getSaveFileName(
                parent,
                "Name the new journal's folder",
                str(Path.home() / "Studio journal"),
                "Journal folder (*)",
                options=QFileDialog.Option.DontConfirmOverwrite,
            )
        else:
            folder = QFileDialog.getExistingDirectory(
                parent, "Choose a journal's folder", str(Path.home())
            )
        if folder:
            self._open(folder, None, create=new)

    def _open_demo(self) -> None:
        self._open(str(self._make_demo()), None, create=False, remember=False)

    def _open(
        self, where: str, photos: Path | None, *, create: bool, remember: bool = True
    ) -> None:
        journal = open_journal(where, create=create, photos=photos)
        if remember:
            self._settings.last_journal = where
        self._show(journal)

    def _show(self, journal: Journal) -> None:
        old_window, old_desk = self.window, self._desk
        self._desk = Desk(journal, self._settings, theme.current(), self._home / "drafts")
        self.window = Window(self._desk)
        self.window.journal_asked.connect(self._change)
        self.window.restore_place()
        self.window.show()
        self.window.show_tab(0)
        if old_window is not None:
            old_window.close()
            old_window.deleteLater()
        if old_desk is not None:
            old_desk.close()
        # Anything that takes long waits until the window stands.
        QTimer.singleShot(0, self.window.offer_kept_draft)
        photos = self._desk.journal.photo_folder
        self._desk.jobs.start(
            "sweep photos", lambda _progress: _sweep(photos), lambda _count: None, self._told
        )

    def _told(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem | OSError):
            raise problem
        if self._desk is not None:
            self._desk.notices.warn(f"The photo folder could not be looked over: {problem}")

    def _change(self, wanted: str) -> None:
        window = self.window
        assert window is not None
        ways: dict[str, Callable[[], None]] = {
            "demo": self._open_demo,
            "new": lambda: self._choose(window, new=True),
            "open": lambda: self._choose(window, new=False),
        }
        self._try(ways[wanted])

    def show_bug(self, report: str) -> None:
        """Tell of a bug once, with a report that can be copied."""
        BugSheet(report, self.window).exec()

    def close(self) -> None:
        """Let go of the journal."""
        if self.window is not None:
            self.window.close()
        if self._desk is not None:
            self._desk.close()
