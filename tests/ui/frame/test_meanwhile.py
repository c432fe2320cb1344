"""A window stands before its journal is open: what is pressed meanwhile is not lost."""

import threading
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QSettings, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from sqlalchemy.orm import Session

from studiolog.desktop.settings import Settings
from studiolog.journal.opening import FILE, open_journal
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.studio import name_studio
from studiolog.ui.bench.screen import BenchScreen
from studiolog.ui.frame import opening as frame_opening
from studiolog.ui.frame.loading import Opened, open_journal_whole
from studiolog.ui.frame.opening import Opening
from studiolog.ui.frame.start_sheet import StartSheet
from studiolog.ui.frame.window import Window

Shell = Callable[[Window], None]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    def enter(session: Session) -> None:
        name_studio(session, "Tern Yard")
        for number in (62, 63):
            log_run(
                session,
                RunDraft(number=number, made_on=date(2026, 11, 9), title="Bowls", how_many=6),
            )

    journal = open_journal(tmp_path / "journal")
    journal.edit("Two runs", enter)
    journal.close()
    return tmp_path / "journal"


@pytest.fixture
def opening(qapp: QApplication, tmp_path: Path) -> Iterator[Opening]:
    settings = Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))
    made = Opening(qapp, settings, tmp_path / "home", lambda: tmp_path)
    yield made
    made.close()


def start(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch, while_it_loads: Shell
) -> bool:
    """Start on a journal that is not open until ``while_it_loads`` was done."""
    done = threading.Event()
    problems: list[Exception] = []

    def slowly(*given: Any, **more: Any) -> Opened:
        done.wait()
        return open_journal_whole(*given, **more)

    look_ahead = Window.look_ahead

    def watched(window: Window, first: Any) -> None:
        def act() -> None:
            try:
                window.activateWindow()
                while_it_loads(window)
            except Exception as problem:  # noqa: BLE001 - raised again below
                problems.append(problem)
            finally:
                done.set()

        look_ahead(window, first)
        QTimer.singleShot(0, window, act)

    monkeypatch.setattr(frame_opening, "open_journal_whole", slowly)
    monkeypatch.setattr(Window, "look_ahead", watched)
    opened = opening.start(str(folder), None, demo=False)
    for problem in problems:
        raise problem
    return opened


def bench_of(window: Window | None) -> BenchScreen:
    assert window is not None
    bench = window.screen_of("bench")
    assert isinstance(bench, BenchScreen)
    return bench


def test_the_first_rows_stand_before_the_journal_is_open_and_stay(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[Any] = []

    def look(window: Window) -> None:
        bench = bench_of(window)
        seen.append((bench, bench.list, bench.list.rows(), bench.board.summary.text()))
        assert "Opening" in window.foot.quiet.text()
        assert window.windowTitle() == "Bench · Tern Yard"

    assert start(opening, folder, monkeypatch, look)
    bench = bench_of(opening.window)
    assert (bench, bench.list, bench.list.rows(), bench.board.summary.text()) == seen[0]
    assert [shown.row.number for shown in bench.list.rows()] == [62, 63]
    assert opening.window is not None
    assert "Every change is saved" in opening.window.foot.quiet.text()


def test_keys_wait_their_turn(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    def press(window: Window) -> None:
        rows = bench_of(window).list
        rows.setFocus()
        QTest.keyClick(rows, Qt.Key.Key_Down)
        QTest.keyClick(rows, Qt.Key.Key_Slash)
        QTest.keyClicks(rows, "63 trimmed 5")
        QTest.keyClick(rows, Qt.Key.Key_Return)

    assert start(opening, folder, monkeypatch, press)
    window = opening.window
    assert window is not None
    qtbot.waitUntil(lambda: not window.meanwhile.keeping)
    assert window.desk.edits.undo_label() == "Run 63: 5 trimmed"
    assert bench_of(window).line.line.text() == ""


def test_a_shortcut_and_the_key_after_it_keep_their_order(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    def press(window: Window) -> None:
        control = Qt.KeyboardModifier.ControlModifier
        QTest.keyClick(window, Qt.Key.Key_6, control)
        QTest.keyClick(bench_of(window).list, Qt.Key.Key_6)

    assert start(opening, folder, monkeypatch, press)
    window = opening.window
    assert window is not None
    qtbot.waitUntil(lambda: not window.meanwhile.keeping)
    assert window.stack.currentWidget() is window.screen_of("kilns")


def test_a_name_typed_meanwhile_is_answered(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    def press(window: Window) -> None:
        window.top.find_box.setFocus()
        QTest.keyClicks(window.top.find_box, "63")
        assert window.top.find_box.text() == "63"
        QTest.keyClick(window.top.find_box, Qt.Key.Key_Return)

    assert start(opening, folder, monkeypatch, press)
    window = opening.window
    assert window is not None
    qtbot.waitUntil(lambda: not window.meanwhile.keeping)
    assert bench_of(window).run_view.page is not None
    assert bench_of(window).run_view.page.row.number == 63


def test_a_window_closed_meanwhile_opens_nothing(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(_sheet: StartSheet) -> int:
        raise AssertionError("who closed the window is not asked what to open")

    monkeypatch.setattr(StartSheet, "exec", never)
    assert not start(opening, folder, monkeypatch, lambda window: bool(window.close()) and None)
    assert opening.window is None


def test_a_journal_that_cannot_be_opened_is_told_on_the_start_page(
    opening: Opening, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / FILE).write_bytes(b"SQLite format 3\x00" + b"clay dust" * 500)
    said: list[str] = []

    def read(sheet: StartSheet) -> int:
        said.append(sheet._problem.sentence())
        return 0

    monkeypatch.setattr(StartSheet, "exec", read)
    assert not start(opening, folder, monkeypatch, lambda window: None)
    assert len(said) == 1
    assert "can't be read" in said[0]
    assert opening.window is None
