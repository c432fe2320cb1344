"""A shelf from above: who stands where, said in words and reached by keys."""

import itertools

import pytest
from PySide6.QtCore import Qt

from studiolog.ui.parts.kiln_shelf import KilnShelf, ShelfLevel, ShelfPiece, overlapping, placed

BOTTOM = ShelfLevel(
    "Bottom",
    450,
    450,
    (
        ShelfPiece(412, "Piece 412", "round", 82, None, 380, 80),
        ShelfPiece(413, "Piece 413", "round", 82, None, 60, 400, "crazing, slight"),
        ShelfPiece(5, "Tile", "hex", 110, 100, 70, 60),
    ),
    cones=("5", "6", "7"),
    aimed_cone="6",
    fill_percent=69,
)


@pytest.fixture
def shelf(qtbot):
    widget = KilnShelf()
    qtbot.addWidget(widget)
    widget.resize(160, 190)
    widget.show_level(BOTTOM, meant=412)
    return widget


def test_it_says_where_the_piece_stands_and_where_faults_are(shelf) -> None:
    assert shelf.accessibleDescription() == (
        "Bottom: 3 pieces, 69 % full. Piece 412 stands back right. "
        "Fault seen on 1: Piece 413, crazing, slight. Cone pack 5, 6 (aimed at), 7."
    )


def test_keys_step_through_the_pieces(shelf, qtbot) -> None:
    qtbot.keyClick(shelf, Qt.Key.Key_Right)
    qtbot.keyClick(shelf, Qt.Key.Key_Right)
    assert shelf.accessibleDescription() == "Piece 412, back right"
    with qtbot.waitSignal(shelf.piece_chosen) as chosen:
        qtbot.keyClick(shelf, Qt.Key.Key_Return)
    assert chosen.args == [412]


def test_a_click_chooses_the_piece_under_it(shelf, qtbot) -> None:
    spot = next(s for s in shelf._placed if s[0].ident == 413)
    where = shelf._piece_rect(spot).center().toPoint()
    with qtbot.waitSignal(shelf.piece_chosen) as chosen:
        qtbot.mouseClick(shelf, Qt.MouseButton.LeftButton, pos=where)
    assert chosen.args == [413]


def test_pieces_without_a_place_are_set_in_rows_and_it_is_said(shelf) -> None:
    level = ShelfLevel("Top", 450, 450, tuple(ShelfPiece(n, f"Cup {n}") for n in range(12)))
    spots = placed(level)
    for (_, x1, y1), (_, x2, y2) in itertools.combinations(spots, 2):
        assert max(abs(x1 - x2), abs(y1 - y2)) >= 90
    shelf.show_level(level)
    assert "12 without a recorded place, set in rows" in shelf.sentence()


def test_a_round_shelf_and_an_empty_one_draw(shelf) -> None:
    shelf.show_level(ShelfLevel("Test kiln", 220, 220, (ShelfPiece(1, "Cup"),), True))
    assert not shelf.grab().isNull()
    shelf.show_level(ShelfLevel("Empty", 400, 400))
    assert shelf.sentence() == "Empty: 0 pieces."
    assert not shelf.grab().isNull()


def test_pieces_without_a_place_stand_round_those_that_have_one(shelf) -> None:
    stood = (ShelfPiece(1, "Jar", "round", 150, None, 225, 225),)
    cups = tuple(ShelfPiece(n, f"Cup {n}") for n in range(2, 12))
    level = ShelfLevel("Middle", 450, 450, stood + cups)
    spots = placed(level)
    assert overlapping(spots) == 0
    assert any(y < 150 for piece, _, y in spots if piece.ident > 1)
    for piece, x, y in spots:
        half = piece.width_mm / 2
        assert half <= x <= 450 - half + 1
        assert half <= y <= 450 - half + 1
    shelf.show_level(level)
    assert "over each other" not in shelf.sentence()


def test_pieces_are_set_closer_before_they_are_said_not_to_fit(shelf) -> None:
    # Four times four of 108 mm with 2 mm between them fill 450 mm, with 6 mm they do not.
    close = ShelfLevel(
        "Top", 450, 450, tuple(ShelfPiece(n, f"Bowl {n}", width_mm=107) for n in range(16))
    )
    assert overlapping(placed(close)) == 0
    full = ShelfLevel(
        "Top", 300, 300, tuple(ShelfPiece(n, f"Bowl {n}", width_mm=120) for n in range(9))
    )
    shelf.show_level(full)
    assert "drawn over each other: they do not all fit" in shelf.sentence()
    for piece, _, y in placed(full):
        assert y + piece.width_mm / 2 <= 300


def test_on_a_round_shelf_nothing_stands_over_the_edge() -> None:
    level = ShelfLevel(
        "Test kiln", 400, 400, tuple(ShelfPiece(n, f"Cup {n}", width_mm=80) for n in range(8)), True
    )
    spots = placed(level)
    assert overlapping(spots) == 0
    for piece, x, y in spots:
        assert ((x - 200) ** 2 + (y - 200) ** 2) ** 0.5 + piece.width_mm / 2 <= 201
