"""Thousands of pieces scroll as a dozen do: only what is in view is read and painted."""

from collections.abc import Sequence
from typing import Any

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
