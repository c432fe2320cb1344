"""From an empty journal to what crazed, with keys alone: each goes to what has the keyboard."""

import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, Qt, QUrl
from PySide6.QtWidgets import QApplication, QDialog
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.ui.firings.log_import import LogImport
from studiolog.ui.firings.screen import FiringsScreen
from studiolog.ui.frame.places import TABS
from studiolog.ui.frame.window import Window
from studiolog.ui.quick_log.sheet import QuickLogSheet
from tests.flows.hands import CTRL, SHIFT, Keys
from tests.flows.whole_job import LOG, assert_the_answer
from tests.photo_files import phone_jpeg

Key = Qt.Key


@pytest.fixture
def window(desk: Desk, qtbot: QtBot) -> Iterator[Window]:
    made = Window(desk)
    qtbot.addWidget(made)
    made.resize(1440, 900)
    made.show()
    made.show_tab(0)
    with qtbot.waitActive(made):
        made.activateWindow()
    yield made
    desk.jobs.wait()
    QApplication.clipboard().clear()
    for sheet in made.findChildren(QDialog):
        sheet.close()


def copy_photos(folder: Path) -> None:
    """As a file manager copies: the photos' paths on the clipboard."""
    paths = [folder / "IMG_2044.jpg", folder / "IMG_2101.jpg"]
    for shade, path in enumerate(paths, start=1):
        path.write_bytes(phone_jpeg(taken_at=datetime(2025, 6, shade, 10, 5), shade=shade))
    copy_files(paths)


def copy_files(paths: list[Path]) -> None:
    held = QMimeData()
    held.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    QApplication.clipboard().setMimeData(held)


def is_open(sheet: QuickLogSheet, number: int) -> bool:
    """Whether the sheet of a piece stands, and the Enter that led there is forgotten."""
    page = sheet.page
    stands = page is not None and page.piece_id is not None and page.number == number
    return stands and not sheet._just_opened


def test_the_whole_job_by_keyboard(
    window: Window, desk: Desk, qtbot: QtBot, tmp_path: Path
) -> None:
    keys = Keys()

    def wait_for_sheet(kind: type[QDialog]) -> QDialog:
        def it_is_there() -> bool:
            return any(s.isActiveWindow() for s in window.findChildren(kind))

        qtbot.waitUntil(it_is_there, timeout=5000)
        return next(s for s in window.findChildren(kind) if s.isActiveWindow())

    def wait_for_window() -> None:
        window.activateWindow()  # off-screen there is no window manager to do it
        qtbot.waitUntil(
            lambda: window.isActiveWindow() and QApplication.focusWidget() is not None,
            timeout=5000,
        )

    at = {place.key: str(digit) for digit, place in enumerate(TABS[5].places, start=1)}
    with keys.step("name two glazes"):
        keys.ctrl(Key.Key_6)
        for name in ("Kelp", "Chalk"):
            keys.letters("n")
            keys.type(name)
            keys.press(Key.Key_Return)
    with keys.step("name two clays"):
        keys.letters(at["clays"])
        for name in ("Buff stoneware", "Iron-red stoneware"):
            keys.letters("n")
            keys.type(name)
            keys.press(Key.Key_Return)
    with keys.step("name a form"):
        keys.letters(f"{at['forms']}n")
        keys.type("Test tumbler")
        keys.press(Key.Key_Return)
    with keys.step("name a kiln"):
        keys.letters(f"{at['kilns']}n")
        keys.type("Big kiln")
        keys.press(Key.Key_Return)

    copy_photos(tmp_path)
    with keys.step("log a test tumbler with two photos"):
        keys.ctrl(Key.Key_L)
        sheet = wait_for_sheet(QuickLogSheet)
        assert isinstance(sheet, QuickLogSheet)
        keys.ctrl(Key.Key_V)
        keys.alt(Key.Key_1)
        keys.letters("2")
        keys.ctrl(Key.Key_G)
        keys.alt(Key.Key_2)
        keys.type("kelp 4s, chalk 3s")
        with qtbot.waitSignal(sheet.saved, timeout=8000):
            keys.press(Key.Key_Return)
    wait_for_window()

    with keys.step("log its firing"):
        keys.press(Key.Key_F, with_=CTRL | SHIFT)
        wait_for_sheet(QDialog)
        keys.type("6")
        keys.press(Key.Key_Return)
    wait_for_window()
    screen = window.screen_of("firings")
    assert isinstance(screen, FiringsScreen)

    with keys.step("add the log file"):
        copy_files([LOG])
        keys.ctrl(Key.Key_V)
        wait_for_sheet(LogImport)
        qtbot.waitUntil(lambda: not desk.jobs.is_running("read a log"), timeout=8000)
        keys.press(Key.Key_Return)
    wait_for_window()

    with keys.step("read the cones at the bottom"):
        keys.letters("c")
        keys.press(Key.Key_PageDown, Key.Key_PageDown)
        for bend in ("flat", "4 o'clock", "standing"):
            keys.type(bend)
            keys.press(Key.Key_Return)
    with keys.step("say where it stood, and that it crazed slightly"):
        keys.ctrl(Key.Key_L)
        sheet = wait_for_sheet(QuickLogSheet)
        assert isinstance(sheet, QuickLogSheet)
        keys.type("1")
        keys.press(Key.Key_Return)
        qtbot.waitUntil(lambda: is_open(sheet, number=1), timeout=5000)
        keys.alt(Key.Key_3)
        keys.letters("b")
        keys.alt(Key.Key_4)
        keys.letters("c1")
        with qtbot.waitSignal(sheet.saved, timeout=8000):
            keys.press(Key.Key_Return)
    wait_for_window()
    with keys.step("ask what crazed"):
        keys.ctrl(Key.Key_4)
    sys.stdout.write(f"\n{keys.table()}\n")
    assert_the_answer(window, desk)
