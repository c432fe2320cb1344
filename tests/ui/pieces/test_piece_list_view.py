"""Looking for a piece in the list, by keys."""

from PySide6.QtCore import Qt

from studiolog.journal.piece_list import PieceFilter
from studiolog.journal.pieces import PieceDraft, log_piece


def test_typing_filters_and_enter_opens(screen, studio, qtbot) -> None:
    screen.show_thing(0)
    assert screen.list.ids() == (
        studio.ids["bare"],
        studio.ids["red cup"],
        studio.ids["cup"],
    )
    qtbot.keyClick(screen.list, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClicks(screen.list.text.line, "ripple chalk")
    qtbot.keyClick(screen.list.text.line, Qt.Key.Key_Return)
    assert screen.piece_id() == studio.ids["cup"]
    qtbot.keyClick(screen.view, Qt.Key.Key_Escape)
    assert screen.piece_id() == 0
    assert screen.list.chosen() == studio.ids["cup"]
    assert screen.list.rows.hasFocus()


def test_rows_open_with_enter_and_left_right_follow_the_filter(screen, studio, qtbot) -> None:
    screen.show_thing(0)
    screen.list.show_filter(PieceFilter(text="tumbler"))
    screen.list.rows.setCurrentIndex(screen.list.model.index(0))
    qtbot.keyClick(screen.list.rows, Qt.Key.Key_Return)
    assert screen.piece_id() == studio.ids["red cup"]
    qtbot.keyClick(screen.view, Qt.Key.Key_Right)
    assert screen.piece_id() == studio.ids["cup"]


def test_a_row_is_told_in_words(screen, studio) -> None:
    screen.show_thing(0)
    index = screen.list.model.index(screen.list.ids().index(studio.ids["cup"]))
    said = index.data(Qt.ItemDataRole.AccessibleTextRole)
    assert said.startswith("Piece 412, Ripple tumbler, Buff stoneware, fired")
    assert "Chalk over Kelp" in said
    assert said.endswith("running slight")


def test_nothing_found_says_so_and_shows_all(screen, studio, qtbot) -> None:
    screen.show_thing(0)
    screen.list.text.line.setText("quay")
    qtbot.waitUntil(lambda: screen.list.ids() == ())
    assert screen.list.stack.currentWidget() is screen.list.nothing
    screen.list.nothing.acted.emit()
    assert len(screen.list.ids()) == 3


def test_a_piece_logged_elsewhere_appears(screen, studio) -> None:
    screen.show_thing(0)
    studio.desk.edits.run("Log", lambda session: log_piece(session, PieceDraft(number=500)))
    assert len(screen.list.ids()) == 4
    assert screen.list.count.text() == "4 pieces"


def test_an_empty_journal_offers_the_first_step(journal, studio, screen) -> None:
    from studiolog.journal.pieces import delete_piece

    screen.show_thing(0)
    for name in ("cup", "bare", "red cup"):
        piece = studio.ids[name]
        studio.desk.edits.run("Delete", lambda session, piece=piece: delete_piece(session, piece))
    assert screen.list.stack.currentWidget() is screen.list.empty
    screen.list.empty.acted.emit()
    assert studio.asked[-1][0] == "quick_log"
