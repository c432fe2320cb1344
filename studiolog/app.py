"""Wiring only: paths, log, journal, window. The work itself lives in the layers below."""

import gc
import logging
import os
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from studiolog.problems import UserProblem
from studiolog.shipped import sample_data

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from studiolog.desktop.settings import Settings
    from studiolog.journal.opening import Journal

log = logging.getLogger("studiolog")


def home_folder() -> Path:
    """Where this desk keeps its demo journal, drafts, settings and log.

    ``STUDIOLOG_HOME`` moves it.
    """
    chosen = os.environ.get("STUDIOLOG_HOME")
    if chosen:
        return Path(chosen)
    import platformdirs

    home = platformdirs.user_data_path("Studiolog", appauthor=False)
    if not home.is_absolute():
        raise UserProblem(
            "The system names no home folder for you, so there is no place for settings and "
            "half-filled sheets: name one with STUDIOLOG_HOME."
        )
    return home


def start_log() -> Path:
    """Write the program's own log to a file of the desk; returns it."""
    file = home_folder() / "studiolog.log"
    words = "%(asctime)s %(levelname)s %(name)s: %(message)s"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        logging.basicConfig(filename=file, level=logging.INFO, format=words)
    except OSError as problem:
        # The program is of use without its own log.
        logging.basicConfig(level=logging.WARNING, format=words)
        log.warning("No log is kept in %s: %s.", file, problem.strerror or problem)
    return file


def demo_folder() -> Path:
    """Where the demo journal is made on first use."""
    return home_folder() / "demo"


def make_demo(tell: Callable[[str], None]) -> Path:
    """The demo journal's folder; made first if it is not there. ``tell`` is given sentences."""
    import runpy

    folder = demo_folder()
    script = runpy.run_path(str(sample_data("make_demo.py")))
    try:
        made: Path = script["make_demo_once"](folder, tell)
    except OSError as problem:
        raise UserProblem(
            f"The demo journal can't be made in {folder}: {problem.strerror or problem}. "
            "Name a folder you may write in with STUDIOLOG_HOME."
        ) from problem
    return made


def open_window(where: str | None, photos: Path | None, *, demo: bool) -> int:
    """Open the window on a journal; without one named, on the last, or on the start page."""
    # What is loaded at the start stays, so looking through it for what can go is time lost: a tenth
    # of a second at once, in which the window answers nothing. `Opening` takes it up again.
    gc.disable()
    _load_what_needs_no_qt()
    from studiolog.ui.frame.opening import Opening

    start_log()
    app, settings = _make_application()
    opening = Opening(app, settings, home_folder(), lambda: make_demo(log.info))
    _report_bugs(opening.show_bug)
    if not opening.start("" if demo else where or settings.last_journal, photos, demo=demo):
        return 0
    return int(app.exec())


def _load_what_needs_no_qt() -> None:
    """Load what the first window is made of and needs no Qt, before Qt is there.

    Once it is, it reads the source of every module that is loaded, for a switch of its own.
    """
    for name in (
        "studiolog.desktop.actions",
        "studiolog.desktop.style_sheet",
        "studiolog.ui.frame.places",
    ):
        import_module(name)


def _make_application() -> "tuple[QApplication, Settings]":
    from PySide6.QtCore import QSettings
    from PySide6.QtWidgets import QApplication

    from studiolog.desktop import theme
    from studiolog.desktop.settings import Settings

    app = QApplication.instance()
    if not isinstance(app, QApplication):
        app = QApplication(sys.argv[:1])
    app.setApplicationName("Studiolog")
    app.setDesktopFileName("studiolog")
    settings = Settings(QSettings(str(home_folder() / "settings.ini"), QSettings.Format.IniFormat))
    look = theme.current()
    look.set_setting(settings.theme)
    look.set_text_scale(settings.text_scale)
    look.apply(app)

    def follow(key: str) -> None:
        if key == "theme":
            look.set_setting(settings.theme)
        elif key == "text_scale":
            look.set_text_scale(settings.text_scale)

    settings.changed.connect(follow)
    return app, settings


def _report_bugs(show: Callable[[str], None]) -> None:
    """Anything that is not a `UserProblem` is a bug: logged, and told once with a report."""

    def report(
        kind: type[BaseException], problem: BaseException, trace: TracebackType | None
    ) -> None:
        if isinstance(problem, KeyboardInterrupt):
            sys.__excepthook__(kind, problem, trace)
            return
        import traceback

        text = "".join(traceback.format_exception(kind, problem, trace))
        log.error("Unexpected: %s", text)
        show(problem.sentence if isinstance(problem, UserProblem) else text)

    sys.excepthook = report


def _quieten_offscreen() -> None:
    """Off-screen windows have no window manager to hint to; Qt would say so at every one."""
    from PySide6.QtCore import QMessageLogContext, QtMsgType, qInstallMessageHandler

    def handle(kind: QtMsgType, _context: QMessageLogContext, words: str) -> None:
        if "propagateSizeHints" not in words:
            log.warning("Qt: %s", words)
            sys.stderr.write(words + "\n")

    qInstallMessageHandler(handle)


def draw_screens(journal: "Journal", folder: Path, tell: Callable[[str], None]) -> list[Path]:
    """Leave a PNG of every screen, light and dark, in ``folder``; returns the files."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    _quieten_offscreen()
    app, _settings = _make_application()
    from studiolog.ui.frame.pictures_of_screens import draw

    files: list[Path] = draw(app, journal, folder, home_folder(), tell)
    return files
