"""Sets as they are named, filled, and looked at."""

from datetime import date

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.sets import list_sets
from studiolog.ui.bench.sheets import StartRunSheet
from studiolog.ui.sets.part_row import progress_words, short_words
from studiolog.ui.sets.screen import SetsScreen
from studiolog.ui.sets.set_view import SetView
from tests.journal.conftest import Studio, enter_studio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def studio(desk: Desk) -> Studio:
    return enter_studio(desk.journal)


def test_a_set_is_named_filled_from_stock_and_told_whole(
    desk: Desk, studio: Studio, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    run = RunDraft(made_on=date(2026, 10, 1), form_id=studio.tumbler, how_many=9, stage="finished")
    desk.edits.run("Run", lambda session: log_run(session, run))
    sets = open_screen(SetsScreen)
    assert sets.stack.currentIndex() == 0
    QTest.keyClick(sets.side.list, Qt.Key.Key_N)
    QTest.keyClicks(sets.side.new_name.line, "Table for four")
    QTest.keyClick(sets.side.new_name.line, Qt.Key.Key_Return)
    view = sets.page
    assert isinstance(view, SetView)
    assert view.next.text() == "Say what belongs to it."
    # The keyboard stands at the first part: count, Tab, part of a name, Enter.
    view.new_part.wanted.line.setText("4")
    view.new_part.form.choose(("form", studio.tumbler))
    view.new_part.done.emit()
    (row,) = view.rows
    assert (progress_words(row.part), short_words(row.part)) == (
        "nothing of 4 yet",
        ("4 still to start", "ochre"),
    )
    row.toggle_aside()
    ((offer, count),) = row.aside.offers
    assert (offer.pieces, count.text()) == (9, "4")
    QTest.keyClick(count.line, Qt.Key.Key_Return)
    assert (progress_words(row.part), short_words(row.part)) == (
        "4 of 4 finished",
        ("all there", "celadon"),
    )
    assert view.next.text() == "All of it stands finished."
    assert view.whole.accessibleName() == "Whole sets finished: 1 of 1"
    row.held.back.emit(row.part.held[0])
    assert view.rows[0].part.progress.made == 0
    with qtbot.waitSignal(desk.asked_for) as asked:
        row.start.click()
    given = asked.args[2]["start run"]
    assert (given["how_many"], given["set_name"]) == (4, "Table for four")
    # The sheet it opens starts a run that the set counts at once.
    sheet = StartRunSheet(desk, given)
    qtbot.addWidget(sheet)
    assert not sheet.for_set.isHidden()
    sheet.start()
    assert view.rows[0].part.progress.at_hand == {"wet": 4}
    other = StartRunSheet(desk, {**given, "form_id": None, "order_line_id": None})
    qtbot.addWidget(other)
    assert other.set_part() == given["set_part_id"]
    sheet.form.choose(None)
    assert sheet.set_part() is None  # of another form: not for this part


def test_what_is_wrong_with_a_part_is_said_under_it(
    desk: Desk, studio: Studio, open_screen: OpenScreen
) -> None:
    sets = open_screen(SetsScreen)
    sets.add_named("Lamps")
    view = sets.page
    assert isinstance(view, SetView)
    view.add_part()
    assert "How many?" in view.new_part.wanted.problem()
    view.new_part.wanted.line.setText("12")
    view.add_part()
    assert "Say what the part is." in view.part_problem.sentence()
    view.new_part.what.line.setText("small lamp")
    view.add_part()
    row = view.rows[0]
    row.fields.wanted.line.setText("0")
    row.fields.wanted.line.editingFinished.emit()
    assert "1 or more" in row.fields.wanted.problem()
    row.toggle_aside()
    row.aside.numbers.line.setText("412")
    row.aside.take_numbered()
    assert "There is no piece 412" in row.aside.problem.sentence()
    view.copy_shown()
    assert [one.name for one in desk.read(list_sets)] == ["Lamps", "Lamps, 2"]
