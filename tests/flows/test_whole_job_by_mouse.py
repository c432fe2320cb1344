"""From an empty journal to what crazed, with clicks and drops; keys only to write names."""

import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtWidgets import QApplication, QDialog, QWidget
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.ui.firings.firing_sheet import FiringSheet
from studiolog.ui.firings.log_import import LogImport
from studiolog.ui.firings.screen import FiringsScreen
from studiolog.ui.frame.places import TABS
from studiolog.ui.frame.window import Window
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.pieces.screen import PiecesScreen
from studiolog.ui.quick_log.sheet import QuickLogSheet
from tests.flows.hands import Mouse
from tests.flows.whole_job import LOG, assert_the_answer
from tests.photo_files import phone_jpeg

Sheet = TypeVar("Sheet", bound=QDialog)


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
    for sheet in made.findChildren(QDialog):
        sheet.close()


def take_photos(folder: Path) -> list[Path]:
    paths = [folder / "IMG_2044.jpg", folder / "IMG_2101.jpg"]
    for shade, path in enumerate(paths, start=1):
        path.write_bytes(phone_jpeg(taken_at=datetime(2025, 6, shade, 10, 5), shade=shade))
    return paths


def test_the_whole_job_by_mouse(window: Window, desk: Desk, qtbot: QtBot, tmp_path: Path) -> None:
    mouse = Mouse()
    tabs = window.top.tabs

    def wait_for_sheet(kind: type[Sheet]) -> Sheet:
        def it_is_there() -> bool:
            return any(s.isActiveWindow() for s in window.findChildren(kind))

        qtbot.waitUntil(it_is_there, timeout=5000)
        return next(s for s in window.findChildren(kind) if s.isActiveWindow())

    def wait_for(shown: QWidget) -> None:
        shown.activateWindow()  # off-screen there is no window manager to do it
        qtbot.waitUntil(shown.isActiveWindow, timeout=5000)

    def settle() -> None:
        for _ in range(6):
            QApplication.processEvents()

    def name(key: str, *names: str) -> None:
        screen = window.screen_of(key)
        assert isinstance(screen, ListAndPage)
        for words in names:
            mouse.click(screen.side.new_button)
            mouse.type(words)
            settle()
            mouse.click(screen.side.add_button)

    def turn_to(key: str) -> None:
        keys = [place.key for place in TABS[5].places]
        mouse.choose(window._choosers[5], keys.index(key))

    with mouse.step("name two glazes"):
        mouse.tab(tabs, 5)
        name("glazes", "Kelp", "Chalk")
    with mouse.step("name two clays"):
        turn_to("clays")
        name("clays", "Buff stoneware", "Iron-red stoneware")
    with mouse.step("name a form"):
        turn_to("forms")
        name("forms", "Test tumbler")
    with mouse.step("name a kiln"):
        turn_to("kilns")
        name("kilns", "Big kiln")

    photos = take_photos(tmp_path)
    with mouse.step("log a test tumbler with two photos"):
        mouse.click(window.top.quick_log)
        sheet = wait_for_sheet(QuickLogSheet)
        body = sheet.body
        mouse.drop(photos, body.photos)
        mouse.choose(body.clay.row, body.clay.row._choices[1].ident)
        mouse.click(body.form.lineEdit())
        mouse.type("test")
        offered = body.form.completer().popup()
        qtbot.waitUntil(offered.isVisible, timeout=5000)
        first = offered.visualRect(offered.model().index(0, 0)).center()
        mouse.click(offered.viewport(), first)
        qtbot.waitUntil(lambda: body.form.chosen() is not None, timeout=5000)
        wait_for(sheet)
        mouse.click(body.layers.line)
        mouse.type("kelp 4s, chalk 3s")
        settle()
        with qtbot.waitSignal(sheet.saved, timeout=8000):
            mouse.click(body.save)
    wait_for(window)

    with mouse.step("log its firing"):
        mouse.tab(tabs, 2)
        screen = window.screen_of("firings")
        assert isinstance(screen, FiringsScreen)
        mouse.click(screen.table.empty.action)
        firing = wait_for_sheet(FiringSheet)
        mouse.type("6")
        mouse.click(firing.keep_button)
    wait_for(window)
    view = screen.view
    with mouse.step("add the log file"):
        mouse.drop([LOG], view)
        log = wait_for_sheet(LogImport)
        qtbot.waitUntil(log.keep_button.isEnabled, timeout=8000)
        mouse.click(log.keep_button)
    wait_for(window)
    assert screen.page is not None
    bottom = screen.page.levels[-1].level_id

    with mouse.step("read the cones at the bottom"):
        mouse.click(view.read_cones)
        settle()
        for line, bend in zip(
            view.cones.row(bottom).lines(), ("flat", "4 o'clock", "standing"), strict=True
        ):
            mouse.click(line)
            mouse.type(bend)
        mouse.click(view.read_cones)
    settle()
    with mouse.step("say where it stood, and that it crazed slightly"):
        load = view.load
        mouse.choose(load.level, bottom)
        mouse.click(load.numbers.line)
        mouse.type("1")
        mouse.click(load.put_in)
        settle()
        shelf = load.shelf(bottom)
        mouse.click(shelf, shelf._piece_rect(shelf._placed[0]).center().toPoint())
        pieces = window.screen_of("pieces")
        assert isinstance(pieces, PiecesScreen)
        settle()
        inspections = pieces.view.inspections
        mouse.click(inspections.link)
        settle()
        row = next(r for r in inspections.editor.rows if r.fault == "crazing")
        slight = row.picker._boxes()[list(row.picker.CHOICES).index(1)]
        mouse.click(row.picker, slight.center().toPoint())
        settle()
        mouse.click(inspections.editor.save)
    with mouse.step("ask what crazed"):
        mouse.tab(tabs, 3)
    sys.stdout.write(f"\n{mouse.table()}\n")
    assert_the_answer(window, desk)
