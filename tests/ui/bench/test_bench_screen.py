"""A morning at the bench, from the keyboard."""

from datetime import date, datetime, timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.limits import set_limit
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.run_page import RunPage, read_run_page
from studiolog.journal.runs import move_pieces
from studiolog.journal.session import Session
from studiolog.journal.studio_days import add_away
from studiolog.ui.bench.row_words import lost_words, since_words, waits_words
from studiolog.ui.bench.screen import BenchScreen
from studiolog.ui.bench.sheets import PackSheet, StartRunSheet
from tests.journal.conftest import Studio, enter_studio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def studio(desk: Desk) -> Studio:
    return enter_studio(desk.journal)


@pytest.fixture
def bench(open_screen: OpenScreen) -> BenchScreen:
    return open_screen(BenchScreen, 1280, 720)


def start(studio: Studio, how_many: int = 12, number: int = 63) -> int:
    def edit(session: Session) -> int:
        draft = RunDraft(
            number=number,
            made_on=date(2026, 11, 9),
            form_id=studio.tumbler,
            clay_id=studio.buff,
            how_many=how_many,
        )
        run_id = log_run(session, draft)
        move_pieces(session, run_id, "wet", "leather_hard", 5, datetime(2026, 11, 10, 9))
        return run_id

    return studio.journal.edit("Start", edit).value


def run_page(desk: Desk, run_id: int) -> RunPage:
    page = desk.read(lambda session: read_run_page(session, run_id))
    assert page is not None
    return page


def press(bench: BenchScreen, *keys: Qt.Key) -> None:
    for key in keys:
        QTest.keyClick(bench.list, key)


def test_an_empty_bench_says_how_to_begin(bench: BenchScreen, qtbot: QtBot, desk: Desk) -> None:
    assert bench.rows_or_nothing.currentIndex() == 1
    assert "Start a run" in bench.empty.sentence.text()
    with qtbot.waitSignal(desk.asked_for) as asked:
        bench.quick_button.click()
    assert asked.args[0] == "quick_log"


def test_a_typed_line_shows_how_it_reads_and_is_done_with_enter(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    bench.mark_stale()
    QTest.keyClick(bench.list, Qt.Key.Key_Slash)
    assert bench.line.line.hasFocus() or not bench.isActiveWindow()
    QTest.keyClicks(bench.line.line, "63 trimmed 4, one rim split")
    assert [action.words for action in bench.line.reading.actions] == [
        "4 trimmed",
        "1 lost, rim split",
    ]
    assert bench.line.under.currentIndex() == 1
    QTest.keyClick(bench.line.line, Qt.Key.Key_Return)
    page = run_page(desk, run_id)
    assert page.row.counts == {"wet": 7, "leather_hard": 4, "lost": 1}
    assert bench.line.line.text() == ""
    assert desk.edits.undo_label() == "Run 63: 4 trimmed, 1 lost, rim split"
    # The row on the bench says the same at once.
    shown = bench.list.rows()[0].row
    assert lost_words(shown) == "1 lost leather-hard: rim split"


def test_words_not_understood_keep_enter_from_doing_anything(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    bench.mark_stale()
    QTest.keyClicks(bench.line.line, "63 trimmed 4 sideways")
    assert bench.line.line.unread == [(13, 21)]
    QTest.keyClick(bench.line.line, Qt.Key.Key_Return)
    assert bench.line.line.text() == "63 trimmed 4 sideways"
    assert run_page(desk, run_id).steps == ()
    QTest.keyClick(bench.line.line, Qt.Key.Key_Escape)
    assert bench.line.line.text() == ""


def test_brackets_move_one_piece_of_the_stage_under_the_cursor(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    bench.mark_stale()
    assert bench.list.stage_of == "wet"
    press(bench, Qt.Key.Key_BracketRight)
    assert run_page(desk, run_id).row.counts == {"wet": 6, "leather_hard": 6}
    press(bench, Qt.Key.Key_Right, Qt.Key.Key_BracketRight)
    assert run_page(desk, run_id).row.counts == {"wet": 6, "leather_hard": 5, "bone_dry": 1}
    press(bench, Qt.Key.Key_BracketLeft)
    assert run_page(desk, run_id).row.counts == {"wet": 7, "leather_hard": 4, "bone_dry": 1}
    desk.edits.undo()
    assert bench.list.rows()[0].row.counts == {"wet": 6, "leather_hard": 5, "bone_dry": 1}


def test_losing_a_piece_asks_why_in_the_line(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    bench.mark_stale()
    press(bench, Qt.Key.Key_X)
    assert bench.line.line.text() == "63 lost 1 wet "
    assert "why" in bench.line.reading.problems[0]
    QTest.keyClicks(bench.line.line, "collapsed")
    QTest.keyClick(bench.line.line, Qt.Key.Key_Return)
    assert run_page(desk, run_id).row.lost == (("collapsed", 1),)
    # Not lost after all: [ on the lost ones takes it back where it was.
    press(bench, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_BracketLeft)
    assert run_page(desk, run_id).row.counts == {"wet": 7, "leather_hard": 5}


def test_a_piece_singled_out_gets_the_next_number_and_is_shown(
    studio: Studio, bench: BenchScreen, desk: Desk, qtbot: QtBot
) -> None:
    run_id = start(studio)
    bench.mark_stale()
    with qtbot.waitSignal(desk.asked_for) as asked:
        press(bench, Qt.Key.Key_S)
    first = run_page(desk, run_id).pieces[0]
    assert asked.args[:2] == ["piece", first.piece_id]
    assert first.number == 1


def test_a_run_is_started_for_an_order_line(studio: Studio, bench: BenchScreen, desk: Desk) -> None:
    lines = (OrderLineDraft(form_id=studio.tumbler, wanted=6),)
    draft = OrderDraft(whom="Quay café", promised_on=date(2026, 12, 4), lines=lines)
    order = desk.edits.run("Order", lambda session: add_order(session, draft))
    page = desk.read(lambda session: read_order_page(session, order))
    assert page is not None
    bench.show_thing(0, {"start run": {"order_line_id": page.lines[0].line_id}})
    sheet = bench.findChild(StartRunSheet)
    assert sheet is not None
    assert (sheet.form.chosen(), sheet.how_many.value()) == (studio.tumbler, 6)
    sheet.how_many.line.setText("8")
    sheet.start()
    row = bench.list.rows()[0].row
    assert (row.made, row.purpose) == (8, "order")
    assert row.order is not None
    assert row.order.number == page.number


def test_a_sheet_without_a_count_says_so_and_stays(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    bench.start_run({"form_id": studio.tumbler})
    sheet = bench.findChild(StartRunSheet)
    assert sheet is not None
    sheet.start()
    assert "how many" in sheet.problem.sentence()
    sheet.how_many.line.setText("8")
    sheet.made_on.set_day(date.today() + timedelta(days=1))
    sheet.start()
    assert "still to come" in sheet.problem.sentence()
    assert sheet.isVisible()
    sheet.reject()
    assert bench.page is not None
    assert bench.page.runs_ever == 0


def test_pieces_are_put_into_a_firing_on_a_level(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    desk.edits.run("On", lambda session: move_pieces(session, run_id, "wet", "glazed", 4, NOON))
    bench.mark_stale()
    row = bench.current_row()
    assert row is not None
    sheet = PackSheet(desk, row, "glazed", bench)
    assert sheet.firing.chosen() == studio.firing
    sheet.level.choose(studio.bottom)
    sheet.how_many.line.setText("3")
    sheet.pack()
    fired = run_page(desk, run_id).firings
    assert [(firing.pieces, firing.levels) for firing in fired] == [(3, ("bottom",))]
    shown = bench.list.rows()[0].row
    assert [lot.pieces for lot in shown.packed] == [3]
    assert "1 waiting for a glaze firing" in waits_words(shown)


NOON = datetime(2026, 11, 12, 12)


def test_the_page_of_a_run_is_changed_in_place(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    bench.show_thing(run_id)
    view = bench.run_view
    assert bench.stack.currentIndex() == 1
    view.how_many.line.setText("2")
    view.from_stage.choose("leather_hard")
    view.to_stage.choose("lost")
    view.move_them()
    assert "Say why" in view.move_problem.sentence()
    view.note.line.setText("handle cracked")
    view.move_them()
    view.title.edited.emit("Handled tumblers")
    view.facts.clay.picked.emit(studio.red)
    page = run_page(desk, run_id)
    assert page.row.lost == (("handle cracked", 2),)
    assert (page.row.name, page.row.clay) == ("Handled tumblers", "Iron-red stoneware")
    assert view.lost.text() == "2 lost leather-hard: handle cracked"
    QTest.keyClick(bench, Qt.Key.Key_Escape)
    assert bench.stack.currentIndex() == 0
    assert since_words(bench.list.rows()[0].row, date(2026, 11, 12)) == "7 wet since Mon 9 Nov"


def test_a_run_deleted_elsewhere_gives_the_bench_back(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    run_id = start(studio)
    bench.show_thing(run_id)
    desk.edits.undo()
    assert bench.stack.currentIndex() == 0
    assert bench.list.rows() == ()


def test_soft_clay_is_told_anew_when_a_limit_or_the_days_away_change(
    bench: BenchScreen, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    monkeypatch.setattr(bench, "reload", lambda: read.append("again"))
    desk.edits.run("Three at the bench", lambda session: set_limit(session, "bench_hands", 3))
    desk.edits.run("Fair", lambda session: add_away(session, date(2026, 12, 1)))
    assert read == ["again", "again"]


def test_narrow_windows_put_the_side_under_the_rows(bench: BenchScreen) -> None:
    bench.resize(1000, 720)
    assert bench.board.folded
    bench.resize(1400, 720)
    assert not bench.board.folded
