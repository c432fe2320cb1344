"""Thousands of pieces scroll as a dozen do: only what is in view is read and painted."""

import threading
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.finding import FindingRow, Hit
from studiolog.ui.findings.piece_grid import PieceGrid
from studiolog.ui.findings.piece_source import PieceSource


def made_up_row(piece_id: int) -> FindingRow:
    return FindingRow(
        piece_id=piece_id, number=piece_id, run_id=None, run_number=None, clay="Buff stoneware",
        form="Ripple tumbler", layers="Outside: Chalk", cone=6.0, cone_low=5.8, cone_high=6.2,
        cone_basis="read", fired_on=None, level="top", sha256="", suffix="",
    )  # fmt: skip


def test_a_hundred_thousand_pieces(qtbot: QtBot, desk: Desk):
    asked: list[int] = []

    def read(ids: Sequence[int]) -> dict[int, FindingRow]:
        asked.extend(ids)
        return {piece_id: made_up_row(piece_id) for piece_id in ids}

    source = PieceSource(read)
    source.show_hits([Hit(n, n % 4, n % 4 > 0, 6.0) for n in range(1, 100_001)])
    grid = PieceGrid(source, desk.pictures)
    qtbot.addWidget(grid)
    grid.resize(1000, 600)
    grid.show_again()
    grid.show()
    qtbot.waitExposed(grid)
    grid.grab()
    assert 0 < len(asked) < 200
    opened: list[Any] = []
    grid.opened.connect(opened.append)
    grid.setFocus()
    qtbot.keyClick(grid, Qt.Key.Key_End)
    grid.grab()
    qtbot.keyClick(grid, Qt.Key.Key_Return)
    assert opened == [100_000]
    assert 100_000 in asked
    assert len(asked) < 400
    assert "Piece 100000" in grid.accessibleDescription()


def test_a_strip_moves_along_one_row(qtbot: QtBot, desk: Desk):
    source = PieceSource(lambda ids: {piece_id: made_up_row(piece_id) for piece_id in ids})
    source.show_hits([Hit(n, 0, False, 6.0) for n in range(1, 41)])
    strip = PieceGrid(source, desk.pictures, strip=True)
    qtbot.addWidget(strip)
    strip.resize(600, 180)
    strip.show()
    strip.setFocus()
    for _ in range(20):
        qtbot.keyClick(strip, Qt.Key.Key_Right)
    assert strip.current_piece() == 21
    assert strip.horizontalScrollBar().value() > 0


def test_what_scrolls_away_is_not_read_and_what_stays_is_painted_once(
    qtbot: QtBot, desk: Desk, monkeypatch: pytest.MonkeyPatch
):
    held = threading.Event()
    fetched: list[str] = []

    def fetch(_folder: str, key: tuple[str, int], _suffix: str) -> tuple[int, int, bytes]:
        held.wait()
        fetched.append(key[0])
        return 4, 3, bytes(36)

    monkeypatch.setattr("studiolog.desktop.pictures._fetch", fetch)
    source = PieceSource(
        lambda ids: {n: replace(made_up_row(n), sha256=f"{n:064d}", suffix=".jpg") for n in ids}
    )
    source.show_hits([Hit(n, 2, True, 6.0) for n in range(1, 10_001)])
    grid = PieceGrid(source, desk.pictures)
    qtbot.addWidget(grid)
    grid.resize(1000, 600)
    grid.show_again()
    grid.show()
    qtbot.waitExposed(grid)
    try:
        for step in range(0, 100_000, 5_000):
            grid.verticalScrollBar().setValue(step)
            grid.grab()
        seen = [n + 1 for n in range(*grid._in_view())] + [grid._in_view()[1] + 1]
    finally:
        held.set()
    qtbot.waitUntil(lambda: {f"{n:064d}" for n in seen} <= set(fetched))
    qtbot.waitUntil(lambda: not grid._waiting)
    # Two were at hand when all the others scrolled past.
    assert len(fetched) <= len(seen) + 2
    grid.grab()
    first = grid.grab().toImage()
    assert grid.grab().toImage() == first
    assert not desk.pictures._kept or len(desk.pictures._kept) <= 2


def test_a_picture_that_is_gone_is_said_in_its_cell(qtbot: QtBot, desk: Desk):
    source = PieceSource(
        lambda ids: {n: replace(made_up_row(n), sha256=f"{n:064d}", suffix=".jpg") for n in ids}
    )
    source.show_hits([Hit(1, 0, False, 6.0)])
    grid = PieceGrid(source, desk.pictures)
    qtbot.addWidget(grid)
    grid.resize(400, 300)
    grid.show_again()
    grid.show()
    with qtbot.waitSignal(desk.pictures.missing):
        before = grid.grab().toImage()
    qtbot.waitUntil(lambda: not grid._waiting)
    assert grid.grab().toImage() != before


def test_what_flies_past_is_left_blank_and_painted_a_frame_later(
    qtbot: QtBot, desk: Desk, monkeypatch: pytest.MonkeyPatch
):
    source = PieceSource(lambda ids: {n: made_up_row(n) for n in ids})
    source.show_hits([Hit(n, 2, True, 6.0) for n in range(1, 10_001)])
    grid = PieceGrid(source, desk.pictures)
    qtbot.addWidget(grid)
    grid.resize(1000, 600)
    grid.show_again()
    grid.show()
    qtbot.waitExposed(grid)
    grid.grab()
    monkeypatch.setattr("studiolog.ui.findings.piece_grid._BUDGET_S", 0.0)
    grid.verticalScrollBar().setValue(50_000)
    grid.grab()
    first, last = (place // grid._columns() for place in grid._in_view())
    assert not set(range(first, last + 1)) <= set(grid._painted)
    qtbot.waitUntil(lambda: set(range(first, last + 1)) <= set(grid._painted))
