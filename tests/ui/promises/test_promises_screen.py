"""The promises as a potter looks at them: one axis, the line chosen, what would change it."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from functools import partial

import pytest
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.desktop import foresight
from studiolog.desktop.desk import Desk
from studiolog.journal.hindsight import Hindsight
from studiolog.journal.limits import set_limit
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.studio_days import add_away
from studiolog.problems import UserProblem
from studiolog.records.orders import Order, OrderLine
from studiolog.ui.parts.promise_line import (
    DayAxis,
    PromiseLine,
    PromiseMarks,
    axis_for,
)
from studiolog.ui.parts.ready_when import ReadyWhen
from studiolog.ui.parts.text import Text
from studiolog.ui.promises import hindsight_section
from studiolog.ui.promises.screen import PromisesScreen
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen

NOW = datetime(2026, 11, 12, 9)
TODAY = NOW.date()


@pytest.fixture
def owing(desk: Desk, studio: SmallStudio) -> Iterator[SmallStudio]:
    """Six for the harbour in half a year, twenty for a café a week ago; futures few enough."""
    desk.foresight.now = lambda: NOW
    desk.edits.run("Fewer futures", partial(set_limit, key="promise_futures", value=500))
    for whom, wanted, days in (("Harbour", 6, 180), ("Café", 20, -7)):
        draft = OrderDraft(
            whom=whom,
            promised_on=TODAY + timedelta(days=days),
            lines=(OrderLineDraft(form_id=studio.tumbler, wanted=wanted),),
        )
        desk.edits.run(f"Order of {whom}", partial(add_order, draft=draft))
    yield studio
    desk.jobs.wait()


def settle(qtbot: QtBot, desk: Desk) -> None:
    """Wait until the forecast and every question are answered."""
    keys = (foresight.KEY, "promise bisque", "promise away", "promise first", "promise quote")
    qtbot.waitUntil(
        lambda: not desk.foresight.is_drawing and not any(map(desk.jobs.is_running, keys)),
        timeout=20_000,
    )
    QCoreApplication.processEvents()


def words(screen: PromisesScreen, place: int) -> str:
    model = screen.rows.list.model()
    return str(model.index(place, 0).data(Qt.ItemDataRole.AccessibleTextRole))


def test_what_is_owed_stands_on_one_axis_and_the_worst_is_chosen(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    assert screen.working.isVisible()
    assert not screen.columns.isVisible()
    settle(qtbot, desk)
    assert not screen.working.isVisible()
    assert "2 lines owed, 1 of 2 promises holds" in screen.head.quiet.text()
    assert words(screen, 0).startswith("2  Café: Ripple tumbler; 20 owed: ")
    assert "7 days past; holds at under 1" in words(screen, 0)
    assert "holds at over 99" in words(screen, 1)
    assert screen.line.title.text() == "2  Café: Ripple tumbler"
    assert screen.rows.list.hasFocus()
    QTest.keyClick(screen.rows.list, Qt.Key.Key_Down)
    assert screen.line.title.text() == "1  Harbour: Ripple tumbler"
    assert "Promised by 11 May 2027: holds at over 99" in screen.line.headline.text()
    assert screen.line.holds_up.text().startswith("Of ")


def test_a_day_is_read_from_the_steps_by_key_and_by_mouse(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    QTest.keyClick(screen.rows.list, Qt.Key.Key_Down)
    steps = screen.line.steps
    assert steps.said().startswith("ready by 11 May 2027: over 99")
    steps.read_day(3)
    assert steps.said().startswith("ready by 15 Nov: under 1")
    steps.setFocus()
    QTest.keyClick(steps, Qt.Key.Key_Right)
    QTest.keyClick(steps, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert steps.day == 11
    QTest.mouseClick(steps, Qt.MouseButton.LeftButton, pos=steps.rect().center())
    assert (steps.day or 0) > 11
    assert steps.accessibleName().endswith(steps.said())


def test_what_would_change_it_is_asked_and_told(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    assert screen.what_if.lit_on.text() == write_day(TODAY + timedelta(days=2))
    screen.what_if.bisque.button.click()
    screen.what_if.away_from.set_text("16 Nov 2026")
    screen.what_if.away_to.set_text("6 Dec 2026")
    screen.what_if.away.button.click()
    assert not screen.what_if.away.button.isEnabled()
    settle(qtbot, desk)
    assert screen.what_if.bisque.answer.text().startswith("Of 2 promises, 1.0 would hold")
    assert "later" in screen.what_if.away.lines.accessibleName()
    screen.what_if.away_to.set_text("1 Nov 2026")
    screen.what_if.away.button.click()
    settle(qtbot, desk)
    assert "in order" in screen.what_if.away.answer.text()
    # Another line is chosen: what was asked of the whole stands, what was asked of a line goes.
    screen.what_if.first.button.click()
    settle(qtbot, desk)
    assert screen.what_if.first.answer.isVisible()
    QTest.keyClick(screen.rows.list, Qt.Key.Key_Down)
    assert not screen.what_if.first.answer.isVisible()
    assert screen.what_if.bisque.answer.isVisible()


def test_a_new_order_is_quoted_after_all_that_is_owed(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    asked: list[tuple[str, int, object]] = []
    desk.asked_for.connect(lambda *what: asked.append(what))
    QTest.keyClick(screen.rows.list, Qt.Key.Key_Q)
    assert screen.quote.pieces.line.hasFocus()
    screen.quote.form.choose(owing.tumbler)
    screen.quote.ask()
    settle(qtbot, desk)
    assert screen.quote.answer.text().startswith("12 of Ripple tumbler: ")
    assert "holds at" in screen.quote.answer.text()
    assert "within" in screen.quote.weeks.accessibleName()
    screen.quote.pieces.set_text("0")
    screen.quote.ask()
    assert screen.quote.pieces.problem()
    screen.quote.link.click()
    assert asked == [("order", 0, "new")]


def test_how_many_to_throw_follows_what_is_typed(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    assert screen.throws.form.chosen() == owing.tumbler
    assert screen.throws.answer.text().startswith("Throw 1")
    screen.throws.good.set_text("100")
    assert "for 100 good ones with 90" in screen.throws.answer.text()
    screen.throws.good.set_text("many")
    assert "many" in screen.throws.answer.text()


def test_days_away_are_noted_and_the_forecast_is_drawn_anew(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    before = desk.foresight.promises
    screen.away.first.set_text("16 Nov 2026")
    screen.away.last.set_text("22 Nov 2026")
    screen.away.why.set_text("by the sea")
    screen.away.add_button.click()
    # The one before stands until the new one is there.
    assert screen.working.isVisible()
    assert screen.columns.isVisible()
    settle(qtbot, desk)
    assert desk.foresight.promises is not before
    (line,) = desk.foresight.promises.plan.studio.away  # type: ignore[union-attr]
    assert line.why == "by the sea"
    screen.away.first.set_text("22 Nov 2026")
    screen.away.last.set_text("16 Nov 2026")
    screen.away.add_button.click()
    assert "before the first" in screen.away.problem.sentence()


def test_drawing_can_be_stopped_and_begun_again(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    screen.stop_button.click()
    assert screen.drawing.text() == "Stopped."
    assert not desk.foresight.is_drawing
    assert desk.foresight.promises is None
    screen.again_button.click()
    settle(qtbot, desk)
    assert len(screen.rows.list.rows()) == 2


def test_an_unreadable_journal_is_said_and_can_be_tried_again(
    owing: SmallStudio,
    desk: Desk,
    open_screen: OpenScreen,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from studiolog.journal import promises

    def fail(*_what: object) -> None:
        raise UserProblem("The journal could not be read: look at the disk.")

    with monkeypatch.context() as patch:
        patch.setattr(promises, "read_promises", fail)
        screen = open_screen(PromisesScreen)
        settle(qtbot, desk)
        assert "look at the disk" in screen.drawing.text()
        assert screen.again_button.isVisible()
    screen.again_button.click()
    settle(qtbot, desk)
    assert not screen.working.isVisible()
    assert screen.columns.isVisible()


def test_with_nothing_owed_a_new_order_can_still_be_quoted(
    desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    desk.foresight.now = lambda: NOW
    desk.edits.run("Fewer futures", partial(set_limit, key="promise_futures", value=500))
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    assert screen.head.quiet.text() == "nothing is owed"
    assert screen.empty.isVisible()
    assert not screen.what_if.isVisible()
    assert screen.quote.taking.text()
    assert "stated" in screen.basis_lines.accessibleName()
    screen.quote.ask()
    settle(qtbot, desk)
    assert screen.quote.answer.text().startswith("12 pieces: ")


def test_the_bench_can_ask_for_the_promise_of_a_run(
    owing: SmallStudio, desk: Desk, qtbot: QtBot
) -> None:
    listed = desk.foresight.promises
    assert listed is None
    line_id = desk.read(_harbour_line)
    draft = RunDraft(made_on=TODAY, form_id=owing.tumbler, how_many=7, order_line_id=line_id)
    run = desk.edits.run("Throw", partial(log_run, draft=draft))
    desk.foresight.want()
    settle(qtbot, desk)
    told = desk.foresight.of_run(run)
    assert told is not None
    assert told.promised_on == TODAY + timedelta(days=180)
    assert told.tone == "met"
    first = desk.foresight.promises
    desk.foresight.want()
    assert not desk.foresight.is_drawing
    desk.edits.run("Away", partial(add_away, first_on=date(2026, 12, 1)))
    desk.foresight.want()
    assert desk.foresight.is_drawing
    settle(qtbot, desk)
    assert desk.foresight.promises is not first


def _harbour_line(session: Session) -> int:
    return session.scalars(
        select(OrderLine.id)
        .join(Order, Order.id == OrderLine.order_id)
        .where(Order.whom == "Harbour")
    ).one()


def test_a_promise_line_reads_its_days_out(qtbot: QtBot) -> None:
    marks = PromiseMarks(
        date(2026, 12, 4), date(2026, 11, 30), date(2026, 12, 6), None, "late", "holds at 24 %"
    )
    axis = axis_for([marks], TODAY)
    assert axis.first < TODAY
    assert (axis.last - axis.first).days >= 42
    assert axis.months()[0][1] == "Dec"
    assert all(day.weekday() == 0 for day in axis.mondays())
    line = PromiseLine("Order 31")
    qtbot.addWidget(line)
    line.show_marks(marks, TODAY)
    assert line.accessibleName() == "Order 31: holds at 24 %"
    line.show_marks(None, TODAY)
    assert line.accessibleName() == "Order 31: not told yet"
    line.resize(300, 60)
    line.show_marks(marks, TODAY)
    assert not line.grab().isNull()
    tall = DayAxis(date(2026, 12, 20), date(2027, 2, 1))
    assert tall.months() == [(date(2027, 1, 1), "Jan 2027"), (date(2027, 2, 1), "Feb")]
    assert tall.x(date(2026, 12, 1), 10, 100) == 10


def test_an_order_leads_to_its_promise_and_says_when_it_is_ready(
    owing: SmallStudio, desk: Desk, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    order_id = desk.read(_harbour_order)
    screen = open_screen(PromisesScreen)
    screen.show_thing(order_id)
    settle(qtbot, desk)
    assert screen.line.title.text() == "1  Harbour: Ripple tumbler"
    section = ReadyWhen(desk)
    qtbot.addWidget(section)
    section.show_order(order_id, True)
    (line,) = section.findChildren(PromiseLine)
    assert "holds at over 99" in line.accessibleName()
    asked: list[tuple[str, int, object]] = []
    desk.asked_for.connect(lambda *what: asked.append(what))
    section.link.click()
    assert asked == [("promise", order_id, None)]
    section.show_order(order_id, False)
    assert not section.isVisible()


def _harbour_order(session: Session) -> int:
    return session.scalars(select(Order.id).where(Order.whom == "Harbour")).one()


def test_how_old_promises_fared_is_worked_out_when_it_is_asked(
    desk: Desk, owing: SmallStudio, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    screen = open_screen(PromisesScreen)
    settle(qtbot, desk)
    section = screen.hindsight
    assert not desk.jobs.is_running(hindsight_section.KEY)  # nothing is drawn unasked
    section.ask_button.click()
    assert not section.ask_button.isEnabled()
    qtbot.waitUntil(lambda: not desk.jobs.is_running(hindsight_section.KEY), timeout=20_000)
    assert section.said.text().startswith("No delivered order tells of it yet")
    assert section.ask_button.isEnabled()

    likely = (date(2026, 7, 1), date(2026, 7, 8), date(2026, 7, 20))
    told = Hindsight(7, 24, "Café", date(2026, 6, 1), date(2026, 7, 10), date(2026, 7, 12), *likely)
    section._show((told,))
    assert "one delivered order, 1 was ready within" in section.said.text()
    item = section.grid.itemAtPosition(0, 1)
    assert item is not None
    shown = item.widget()
    assert isinstance(shown, Text)
    assert shown.text() == "likely 1 to 20 Jul, ready 10 Jul, left 12 Jul: within"
    link = section.grid.itemAtPosition(0, 0)
    assert link is not None
    with qtbot.waitSignal(desk.asked_for) as asked:
        link.widget().click()  # type: ignore[union-attr]
    assert asked.args[:2] == ["order", 7]
