"""Looking for a piece in the list, by keys."""

from PySide6.QtCore import QModelIndex, Qt

from studiolog.journal.piece_list import PieceFilter
from studiolog.journal.pieces import PieceDraft, change_piece, log_piece


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


def log_many(journal, count: int) -> list[int]:
    def log(session) -> list[int]:
        return [log_piece(session, PieceDraft(number=5000 + n)) for n in range(count)]

    made: list[int] = []
    journal.edit("Log many pieces", lambda session: made.extend(log(session)))
    return made


def test_a_long_list_shows_its_first_rows_and_lists_the_others_meanwhile(
    screen, studio, journal, qtbot, monkeypatch
) -> None:
    made = log_many(journal, 11)
    before = len(made) + len(("cup", "red cup", "bare"))
    monkeypatch.setattr("studiolog.ui.pieces.piece_list_view._FIRST", 4)
    monkeypatch.setattr("studiolog.ui.pieces.piece_list_view._STRETCH", 3)
    screen.show_thing(0)
    screen.list.rows.setCurrentIndex(QModelIndex())
    screen.list.reload()
    assert screen.list.model.rowCount() == 4
    assert screen.list.model.ids() == tuple(reversed(made))[:4]
    qtbot.waitUntil(lambda: screen.list.model.rowCount() == before)
    assert screen.list.count.text() == f"{before} pieces"
    assert screen.list.ids()[:11] == tuple(reversed(made))
    assert len(set(screen.list.ids())) == before
    screen.list.choose(studio.ids["cup"])
    screen.list.reload()
    assert screen.list.chosen() == studio.ids["cup"]  # far down, and looked for at once


def test_rows_are_painted_once_until_they_change(screen, studio, journal, qtbot) -> None:
    screen.show_thing(0)
    screen.resize(1200, 700)
    screen.show()
    qtbot.waitExposed(screen)
    first = screen.list.rows.viewport().grab().toImage()
    painted = dict(screen.list.rows.itemDelegate()._painted)
    assert painted
    assert screen.list.rows.viewport().grab().toImage() == first
    again = screen.list.rows.itemDelegate()._painted
    assert all(again[piece_id].pixmap is was.pixmap for piece_id, was in painted.items())
    with_name = studio.ids["cup"]
    journal.edit("Name it", lambda session: change_piece(session, with_name, title="Tall cup"))
    screen.list.reload()
    assert screen.list.rows.viewport().grab().toImage() != first
