"""So many pieces at a time: counted by keys, dragged along the bar, found by what they need."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from PySide6.QtCore import QEvent, QPointF, QRectF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from sqlalchemy import select

from studiolog.desktop.desk import Desk
from studiolog.journal.allocation import ForLine, allocate_of_run
from studiolog.journal.demand import read_demand
from studiolog.journal.form_steps import MakingStep, set_steps, set_zones
from studiolog.journal.loads import LoadDraft, begin_load
from studiolog.journal.order_lines import OrderLineDraft
from studiolog.journal.orders import OrderDraft, add_order
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.promises import RunPromise
from studiolog.journal.run_page import read_run_page
from studiolog.journal.run_work import log_steps
from studiolog.journal.runs import move_pieces
from studiolog.journal.session import Session
from studiolog.journal.working_time import StepLeft, Window
from studiolog.problems import UserProblem
from studiolog.records.pieces import Layer
from studiolog.ui.bench import later
from studiolog.ui.bench.promise_line import (
    axis_of_rows,
    days_words,
    promise_words,
    slack_words,
    ticks_of,
)
from studiolog.ui.bench.row_words import (
    how_long,
    next_words,
    planned_words,
    steps_words,
    waits_words,
    window_words,
)
from studiolog.ui.bench.rows import bar_rect, line_rect, link_rects
from studiolog.ui.bench.screen import BenchScreen
from studiolog.ui.bench.sheets import PackSheet
from studiolog.ui.bench.stage_drag import _cells
from tests.journal.conftest import Studio, enter_studio
from tests.ui.conftest import OpenScreen, wait_for_forecast

NOON = datetime(2026, 11, 10, 12)
Key = Qt.Key


@pytest.fixture
def studio(desk: Desk) -> Studio:
    entered = enter_studio(desk.journal)

    def edit(session: Session) -> None:
        steps = [MakingStep("throw"), MakingStep("trim", 4), MakingStep("handle", 5)]
        set_steps(session, entered.tumbler, steps)
        set_zones(session, entered.tumbler, ["handle", "body"])
        for number, leather_hard, trimmed in ((63, 5, 2), (64, 0, 0)):
            draft = RunDraft(
                number=number,
                made_on=date(2026, 11, 9),
                form_id=entered.tumbler,
                clay_id=entered.buff,
                how_many=12,
            )
            run_id = log_run(session, draft)
            if leather_hard:
                move_pieces(session, run_id, "wet", "leather_hard", leather_hard, NOON)
                log_steps(session, run_id, "trimmed", "leather_hard", trimmed, NOON.date())

    entered.journal.edit("Start", edit)
    return entered


@pytest.fixture
def bench(studio: Studio, open_screen: OpenScreen) -> BenchScreen:
    return open_screen(BenchScreen, 1280, 720)


def counts(desk: Desk, number: int = 63) -> dict[str, int]:
    page = desk.read(lambda session: read_run_page(session, 1 if number == 63 else 2))
    assert page is not None
    return dict(page.row.counts)


def press(bench: BenchScreen, *keys: Key) -> None:
    for key in keys:
        QTest.keyClick(bench.list, key)


def test_a_count_typed_says_how_many_the_next_key_moves(bench: BenchScreen, desk: Desk) -> None:
    press(bench, Key.Key_4)
    assert bench.list.count == 4
    press(bench, Key.Key_BracketRight)
    assert counts(desk) == {"wet": 3, "leather_hard": 9}
    assert bench.list.count is None
    assert desk.edits.undo_label() == "Run 63: 4 wet on to leather-hard"
    # All of them, by A or with shift.
    press(bench, Key.Key_A, Key.Key_BracketRight)
    assert counts(desk) == {"leather_hard": 12}
    QTest.keyClick(bench.list, Key.Key_BracketRight, Qt.KeyboardModifier.ShiftModifier)
    assert counts(desk) == {"bone_dry": 12}
    press(bench, Key.Key_1, Key.Key_3)
    assert bench.list.count == 13
    press(bench, Key.Key_BracketRight)  # more than there are: told, and nothing moved
    assert counts(desk) == {"bone_dry": 12}
    press(bench, Key.Key_7, Key.Key_Escape)
    assert bench.list.count is None
    for _ in range(3):
        desk.edits.undo()
    assert counts(desk) == {"wet": 7, "leather_hard": 5}


def test_so_many_are_lost_with_a_cause_and_found_again(bench: BenchScreen, desk: Desk) -> None:
    press(bench, Key.Key_3, Key.Key_X)
    assert bench.line.line.text() == "63 lost 3 wet "
    QTest.keyClicks(bench.line.line, "collapsed")
    QTest.keyClick(bench.line.line, Key.Key_Return)
    assert counts(desk) == {"wet": 4, "leather_hard": 5, "lost": 3}
    press(bench, Key.Key_Right, Key.Key_Right, Key.Key_2, Key.Key_BracketLeft)
    assert counts(desk) == {"wet": 6, "leather_hard": 5, "lost": 1}


def drag(bench: BenchScreen, start: QPointF, end: Callable[[], QPointF]) -> None:
    view, left = bench.list.viewport(), Qt.MouseButton.LeftButton
    QTest.mousePress(view, left, pos=start.toPoint())
    for step in (0.3, 0.6, 1.0):
        way = end() - start
        bench.list.mouseMoveEvent(moved(start + way * step))
    QTest.mouseRelease(view, left, pos=end().toPoint())


def moved(place: QPointF) -> QMouseEvent:

    left = Qt.MouseButton.LeftButton
    return QMouseEvent(
        QEvent.Type.MouseMove, place, place, left, left, Qt.KeyboardModifier.NoModifier
    )


def row_box(bench: BenchScreen, place: int = 0) -> QRectF:
    return QRectF(bench.list.visualRect(bench.list.model().index(place, 0)))


def target(bench: BenchScreen, stage: str) -> QPointF:
    box = row_box(bench)
    under = line_rect(box, 0).united(line_rect(box, 2))
    return dict(_cells(under))[stage].center()


def test_a_part_of_the_bar_is_dragged_to_another_stage(bench: BenchScreen, desk: Desk) -> None:
    bar = bar_rect(row_box(bench))
    # Seven of twelve are wet: pressed at two sevenths from their end, two are held.
    wet = bar.width() * 7 / 12
    start = QPointF(bar.left() + wet * 5.5 / 7, bar.center().y())
    drag(bench, start, lambda: target(bench, "leather_hard"))
    assert counts(desk) == {"wet": 5, "leather_hard": 7}
    assert desk.edits.undo_label() == "Run 63: 2 wet on to leather-hard"
    # Straight onto the next stage of the bar itself; let go elsewhere nothing moves.
    bar = bar_rect(row_box(bench))
    start = QPointF(bar.left() + 4, bar.center().y())
    drag(bench, start, lambda: QPointF(bar.right() - 6, bar.center().y()))
    assert counts(desk) == {"leather_hard": 12}
    desk.edits.undo()
    drag(bench, start, lambda: QPointF(bar.left() - 200, bar.center().y()))
    assert counts(desk) == {"wet": 5, "leather_hard": 7}
    # Onto lost: the cause is asked for, and nothing is lost before it is said.
    drag(bench, start, lambda: target(bench, "lost"))
    assert bench.line.line.text() == "63 lost 5 wet "
    assert counts(desk) == {"wet": 5, "leather_hard": 7}


def test_the_bench_shows_the_runs_that_wait_for_one_thing(bench: BenchScreen, desk: Desk) -> None:
    chips = {chip.waits: chip for chip in bench.board.filter.chips()}
    assert {waits: chip.pieces for waits, chip in chips.items()} == {
        "": 24,
        "firming": 19,
        "trimming": 3,
        "handles": 2,
    }
    assert chips["trimming"].accessibleName() == "Waiting for: trimming, 3 pieces"
    QTest.keyClick(bench.list, Key.Key_F)
    assert chips[""].hasFocus() or not bench.isActiveWindow()
    QTest.keyClick(chips[""], Key.Key_2)
    assert [shown.row.number for shown in bench.list.rows()] == [63]
    # What the keys act on is what was asked for; it stays asked for while one works.
    assert bench.list.stage_of == "leather_hard"
    QTest.keyClicks(bench.line.line, "63: 3 trimmed")
    QTest.keyClick(bench.line.line, Key.Key_Return)
    assert bench.rows_or_nothing.currentWidget() is bench.none_wait.parentWidget()
    assert "trimming" in bench.none_wait.sentence.text()
    bench.none_wait.action.click()
    assert [shown.row.number for shown in bench.list.rows()] == [63, 64]
    assert bench.board.filter.chosen == ""


def test_a_row_says_what_is_next_and_what_was_done(bench: BenchScreen) -> None:
    row = bench.list.rows()[0].row
    work = bench.later.work[row.run_id]
    now = datetime(2026, 11, 12, 9)
    assert waits_words(row, work, now) == (
        "7 firming up, 3 days · 3 to trim, 2 days · 2 for handles, 2 days"
    )
    assert next_words(work) == "Next: trim 3"
    assert steps_words(work) == "2 of 5 trimmed · 0 of 5 handled"
    assert how_long(now - timedelta(hours=5), now) == "5\u202fh"
    assert how_long(now - timedelta(days=1), now) == "1 day"
    assert how_long(now - timedelta(days=90), now) == "13 weeks"
    assert how_long(now + timedelta(hours=1), now) == ""


def test_zones_glazed_so_far_stand_on_the_row(bench: BenchScreen, desk: Desk) -> None:
    desk.edits.run("On", lambda s: move_pieces(s, 1, "leather_hard", "bisque", 5, NOON))
    QTest.keyClicks(bench.line.line, "63 handles glazed 4")
    QTest.keyClick(bench.line.line, Key.Key_Return)
    work = bench.later.work[1]
    assert "handle done, body left (4)" in steps_words(work)
    assert next_words(work) == "Next: glaze the body of 4"
    QTest.keyClicks(bench.line.line, "63 body glazed 5")
    assert bench.line.reading.leaves == ("1 bisque left", "none not yet body glazed")
    said = bench.line.line.accessibleDescription()
    assert "1 bisque left" in said
    QTest.keyClick(bench.line.line, Key.Key_Return)
    assert counts(desk) == {"wet": 7, "bisque": 1, "glazed": 4}


def test_layers_typed_at_the_bench_lie_on_the_zone_of_each_piece(
    bench: BenchScreen, studio: Studio, desk: Desk
) -> None:
    desk.edits.run("On", lambda s: move_pieces(s, 1, "leather_hard", "bisque", 5, NOON))

    def laid() -> list[tuple[str, int, int]]:
        question = select(Layer.zone, Layer.position, Layer.glaze_id).order_by(
            Layer.piece_id, Layer.position
        )
        return desk.read(lambda s: [(z, p, g) for z, p, g in s.execute(question)])

    def type_line(line: str) -> None:
        bench.line.line.clear()
        QTest.keyClicks(bench.line.line, line)
        QTest.keyClick(bench.line.line, Key.Key_Return)

    type_line("63 handles glazed 3 oatmeal")
    assert "Which glaze is “oatmeal”?" in bench.line.line.accessibleDescription()
    assert laid() == []
    type_line("63 handles glazed 3 kelp over chalk")
    assert laid() == [("handle", 1, studio.chalk), ("handle", 2, studio.kelp)] * 3
    work = bench.later.work[1]
    assert "handle done, body left (3)" in steps_words(work)
    type_line("63 body glazed 3 chalk")
    assert laid().count(("body", 1, studio.chalk)) == 3
    assert counts(desk) == {"wet": 7, "bisque": 2, "glazed": 3}
    desk.edits.undo()
    desk.edits.undo()
    assert laid() == []


def test_five_hundred_runs_are_read_a_few_at_a_turn(
    bench: BenchScreen, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(later, "AT_ONCE", 1)
    bench.mark_stale()
    assert bench.later.work.keys() == {1, 2}  # what was known stays until it is read again
    told: list[int] = []
    bench.later.done.connect(lambda: told.append(1))
    bench.later.finish()
    assert told == [1]


def test_promises_and_soft_clay_are_drawn_once_they_are_known(bench: BenchScreen) -> None:
    today = date.today()
    due = today + timedelta(days=15)
    promise = RunPromise(
        1, due, today + timedelta(days=9), today + timedelta(days=12), None, 0.94, "met"
    )
    soft = Window(
        1, "leather_hard", 5, NOON, "", "usual", 5.2, 3.0, 8.0, 20.0, "from 4 runs", 4,
        (StepLeft("trim", 3, 12.0),), dries_first=True,
    )  # fmt: skip
    bench.board.show_facts(bench.later.work, {1: soft}, {1: promise}, datetime.now())
    bench.grab()
    said = bench.list.model().index(0, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert window_words(soft) == "5\u202fh left to trim 3"
    assert "5\u202fh left to trim 3" in said
    assert "3 days to spare, 94\u202f%" in said
    assert bench.board.scale_head.accessibleName() == "Promised, and ready by this plan"
    assert bench.board.unmet.isHidden()
    late = RunPromise(1, due, None, due + timedelta(days=2), None, 0.1, "late")
    assert slack_words(late) == "2 days late, 10\u202f%"
    assert slack_words(RunPromise(1, due, None, None, None, 0.0, "late")).startswith("not within")
    assert "no promise" in promise_words(RunPromise(1, None, None, due, None, None, "none"), today)
    january = RunPromise(1, date(2027, 1, 23), None, date(2027, 1, 15), None, 0.6, "met")
    assert days_words(january, today) == "due Sat 23 Jan 2027, ready Fri 15 Jan 2027"
    assert days_words(january, today, short=True) == "due 23 Jan, ready 15 Jan"
    axis = axis_of_rows(today, bench.board.rows, [late])
    assert (axis.first, axis.last) == (today, today + timedelta(days=21))  # nothing likely named
    axis = axis_of_rows(today, (), [promise, replace(promise, high_on=due + timedelta(days=45))])
    assert axis.last == due + timedelta(days=49)
    assert axis.x(axis.last + timedelta(days=45), 0, 300) == 300
    assert 4 <= len(ticks_of(axis)) <= 6
    assert all(day.weekday() == 0 and day > today for day in ticks_of(axis))


def test_the_bench_asks_for_the_forecast_that_all_screens_share_if_anything_is_owed(
    studio: Studio, bench: BenchScreen, desk: Desk, qtbot: QtBot
) -> None:
    def look_ahead() -> None:
        bench.later._look_ahead()
        qtbot.waitUntil(lambda: not desk.jobs.is_running(later._AHEAD), timeout=10_000)

    look_ahead()
    assert bench.later.leaving is not None
    assert not desk.foresight.is_drawing  # nothing is owed: nothing is foreseen

    def order(session: Session) -> None:
        ask = OrderLineDraft(wanted=8, form_id=studio.tumbler, clay_id=studio.buff)
        due_on = date.today() + timedelta(days=60)
        add_order(session, OrderDraft(whom="Quay café", promised_on=due_on, lines=(ask,)))
        (line,) = read_demand(session, date.today())
        assert line.line_id is not None
        allocate_of_run(session, ForLine(line.line_id), 1, "wet", 7)

    desk.edits.run("Take an order", order)
    assert desk.foresight.promises is None
    look_ahead()
    assert desk.foresight.is_drawing
    wait_for_forecast(desk)
    told = desk.foresight.of_run(1)
    assert told is not None
    assert bench.later.promises == {1: told}
    assert bench.list.facts is not None
    assert bench.list.facts.promises == {1: told}
    assert "ready" in bench.list.model().index(0, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    first = desk.foresight.promises
    look_ahead()
    assert not desk.foresight.is_drawing  # no second drawing while nothing changed
    assert desk.foresight.promises is first


def test_pieces_go_into_a_load_that_is_planned(
    studio: Studio, bench: BenchScreen, desk: Desk
) -> None:
    draft = LoadDraft(kiln_id=studio.kiln, kind="bisque", cone="04")
    load = desk.edits.run("Begin a load", lambda s: begin_load(s, draft, date(2026, 11, 12)))
    desk.edits.run("On", lambda s: move_pieces(s, 1, "leather_hard", "bone_dry", 5, NOON))
    row = bench.list.rows()[0].row
    sheet = PackSheet(desk, row, "bone_dry", bench, 3)
    assert sheet.firing.chosen() == ("load", load)
    assert sheet.how_many.value() == 3
    sheet.pack()
    label = desk.edits.undo_label()
    assert label is not None
    assert label.startswith("Put 3 of run 63 into Bisque")

    # The row tells it as it tells a firing, and leads there; the sheet knows it too.
    work = bench.later.work[1]
    (planned,) = work.planned
    assert planned_words(planned) == f"3 in the load “{planned.title}”"
    assert (planned.pieces, planned.counted, planned.stage) == (3, 3, "bone_dry")
    soon = replace(planned, planned_on=date(2026, 12, 5))
    assert planned_words(soon) == "3 in the load for Sat 5 Dec"
    bench.grab()
    said = bench.list.model().index(0, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert planned_words(planned) in said
    box = QRectF(bench.list.visualRect(bench.list.model().index(0, 0)))
    (place,) = (room for room, kind, _ in link_rects(box, row, work.planned) if kind == "load")
    assert bench.list._link_at(place.center()) == ("load", load)
    again = PackSheet(desk, row, "bone_dry", bench)
    assert again.inside.text() == f"Already in a load: 3 in {planned.title}."
    assert again.how_many.value() == 2
    again.pack()
    work = bench.later.work[1]
    only = replace(work, waiting=work.waiting[-1:])
    assert only.pressing is not None
    assert (only.pressing.waits, only.pressing.pieces) == ("bisque_kiln", 5)
    assert next_words(only) == f"Next: light the load “{planned.title}”"
    assert next_words(replace(only, planned=(planned,))) == "Next: put 2 in a bisque"


def test_a_bench_that_cannot_be_read_says_so(
    bench: BenchScreen, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(_question: object) -> object:
        raise UserProblem("The journal of the studio does not answer.")

    monkeypatch.setattr(desk, "read", gone)
    bench.reload()
    assert "does not answer" in bench.unread.sentence.text()
    monkeypatch.undo()
    bench.unread.action.click()
    assert len(bench.list.rows()) == 2
