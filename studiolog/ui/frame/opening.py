"""Opening and changing journals: the window, the start page, and what can go wrong.

The first window stands before anything large is loaded: it shows the first rows of the bench, read
from the file itself, while one thread loads the rest and opens the journal.
"""

import gc
import os
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QDir, QTimer
from PySide6.QtWidgets import QApplication, QWidget

from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.frame.loading import Opened, Waiting, load_the_rest, open_journal_whole
from studiolog.ui.frame.window import Window

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.desktop.settings import Settings
    from studiolog.journal.opening import Journal
    from studiolog.ui.frame.start_sheet import StartSheet


def _sweep(photos: Path, _progress: object) -> int:
    """Take away what an intake left half-written when the power went."""
    from studiolog.photos.store import PhotoStore

    return PhotoStore(photos).sweep()


def _collect_again() -> None:
    """Look for what can go once more, but never through what was loaded until now."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()


def _raise(problem: Exception) -> None:
    raise problem


def _may_keep(home: Path) -> bool:
    """Whether the desk's own folder may be written, or made."""
    there = next(place for place in (home, *home.parents) if place.exists())
    return there.is_dir() and os.access(there, os.W_OK)


class Opening:
    """Holds the one window and the journal behind it."""

    def __init__(
        self,
        app: QApplication,
        settings: "Settings",
        home: Path,
        make_demo: Callable[[], Path],
    ) -> None:
        self._app = app
        self._settings = settings
        self._home = home
        self._make_demo = make_demo
        self.window: Window | None = None
        self._desk: Desk | None = None
        self._left = False  # the window was closed before its journal was open
        self._busy = False

    def start(self, where: str, photos: Path | None, *, demo: bool) -> bool:
        """Open the journal at ``where``, or ask what to open. False if nothing was chosen."""
        if not demo and not where:
            return self._ask()
        try:
            if demo:
                self._open_demo()
            else:
                self._open(where, photos, create=False)
        except UserProblem as problem:
            return self._ask(problem.sentence)
        return self.window is not None

    def _ask(self, problem: str = "") -> bool:
        """The start page, until something is open or nothing is wanted."""
        _collect_again()
        from studiolog.ui.frame.start_sheet import StartSheet

        sheet = StartSheet(problem)
        while sheet.exec():
            ways: dict[str, Callable[[], None]] = {
                "demo": self._open_demo,
                "new": lambda: self._choose(sheet, new=True),
                "open": lambda: self._choose(sheet, new=False),
            }
            if self._try(ways[sheet.wanted], sheet) or self._left:
                return self.window is not None
        return False

    def _try(self, way: Callable[[], None], sheet: "StartSheet | None" = None) -> bool:
        try:
            way()
        except UserProblem as problem:
            if sheet is not None:
                sheet.say(problem.sentence)
            elif self._desk is not None:
                self._desk.notices.warn(problem.sentence)
            return False
        return self.window is not None

    def _choose(self, parent: QWidget, *, new: bool) -> None:
        from PySide6.QtWidgets import QFileDialog

        if new:
            # A name is typed, not an empty folder looked for: the folder is made with the journal.
            folder, _ = QFileDialog.getSaveFileName(
                parent,
                "Name the new journal's folder",
                QDir.home().filePath("Studio journal"),
                "Journal folder (*)",
                options=QFileDialog.Option.DontConfirmOverwrite,
            )
        else:
            folder = QFileDialog.getExistingDirectory(
                parent, "Choose a journal's folder", QDir.homePath()
            )
        if folder:
            self._open(folder, None, create=new)

    def _open_demo(self) -> None:
        folder = self._home / "demo"

        def find(said: Callable[[str], None]) -> str:
            if not folder.is_dir():
                said("Making the demo journal, this once…")
            return str(self._make_demo())

        self._load(find, folder, None, create=False)

    def _open(self, where: str, photos: Path | None, *, create: bool) -> None:
        folder = None if "://" in where else Path(where)
        if self._load(lambda _said: where, folder, photos, create=create):
            self._settings.last_journal = where

    def _load(
        self,
        find: Callable[[Callable[[str], None]], str],
        folder: Path | None,
        photos: Path | None,
        *,
        create: bool,
    ) -> bool:
        """Open the journal that ``find`` names behind the window that stands, or behind a new one.

        False if the new one was closed before it was open. ``folder`` is what to look into at once.
        """

        def work(said: Callable[[str], None]) -> Opened:
            return open_journal_whole(find(said), photos, create=create, said=said)

        if self.window is not None:
            opened = self._wait(work, lambda _sentence: None, self.window)
            if opened is not None:
                self._change_to(opened.journal)
            return opened is not None
        window, desk = Window(), None

        def look_ahead() -> None:
            from studiolog.journal.first_look import FILE, read_first_look

            window.look_ahead(None if folder is None else read_first_look(folder / FILE))
            QCoreApplication.processEvents()  # the rows are seen before the thread takes its share

        window.painted.connect(look_ahead)
        window.restore_place(self._settings)
        window.show()
        try:
            opened = self._wait(work, window.show_progress, window)
            if opened is not None:
                desk = self._make_desk(opened.journal)
                for _ in window.taking_up(desk, opened.bench):
                    QCoreApplication.processEvents()
        except BaseException:
            _collect_again()
            window.hide()
            window.deleteLater()
            if desk is not None:
                desk.close()
            raise
        if desk is None or not window.isVisible():
            self._left = True
            if desk is not None:
                desk.close()
            return False
        self.window, self._desk = window, desk
        self._begin()
        return True

    def _wait(
        self,
        work: Callable[[Callable[[str], None]], Opened],
        said: Callable[[str], None],
        window: Window,
    ) -> Opened | None:
        waiting = Waiting(said)
        window.closed.connect(waiting.leave)
        opened: Opened | None = waiting.wait_for(work, None if self.window else window.painted)
        window.closed.disconnect(waiting.leave)
        if opened is not None and not window.isVisible():
            opened.journal.close()
            return None
        return opened

    def _make_desk(self, journal: "Journal") -> "Desk":
        from studiolog.desktop.desk import Desk

        return Desk(journal, self._settings, theme.current(), self._home / "drafts")

    def _change_to(self, journal: "Journal") -> None:
        """Put a window on another journal in the place of the one that stands."""
        old_window, old_desk = self.window, self._desk
        self._desk = self._make_desk(journal)
        self.window = Window(self._desk)
        self.window.restore_place()
        self.window.show()
        self.window.show_tab(0)
        if old_window is not None:
            old_window.close()
            old_window.deleteLater()
        if old_desk is not None:
            old_desk.close()
        self._begin()

    def _begin(self) -> None:
        """What takes long and waits until the window stands."""
        assert self.window is not None
        assert self._desk is not None
        self.window.journal_asked.connect(self._change)
        QTimer.singleShot(0, self.window.offer_kept_draft)
        if self._desk.journal.only_read:
            self._desk.notices.warn(self._desk.journal.only_read)
        elif not _may_keep(self._home):
            self._desk.notices.warn(
                f"Settings and half-filled sheets can't be kept in {self._home}: give yourself "
                "permission to write there, or name another folder with STUDIOLOG_HOME."
            )
        photos = self._desk.journal.photo_folder
        jobs = self._desk.jobs
        jobs.start("load the rest", load_the_rest, lambda _none: _collect_again(), _raise)
        jobs.start("sweep photos", partial(_sweep, photos), lambda _count: None, self._told)

    def _told(self, problem: Exception) -> None:
        if not isinstance(problem, UserProblem | OSError):
            raise problem
        if self._desk is not None:
            self._desk.notices.warn(f"The photo folder could not be looked over: {problem}")

    def _change(self, wanted: str) -> None:
        window = self.window
        assert window is not None
        if self._busy:
            return  # one is being opened
        ways: dict[str, Callable[[], None]] = {
            "demo": self._open_demo,
            "new": lambda: self._choose(window, new=True),
            "open": lambda: self._choose(window, new=False),
        }
        self._busy = True
        try:
            self._try(ways[wanted])
        finally:
            self._busy = False

    def show_bug(self, report: str) -> None:
        """Tell of a bug once, with a report that can be copied."""
        from studiolog.ui.frame.bug_sheet import BugSheet

        BugSheet(report, self.window).exec()

    def close(self) -> None:
        """Let go of the journal."""
        if self.window is not None:
            self.window.close()
        if self._desk is not None:
            self._desk.close()
