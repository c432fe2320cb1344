"""Orders as they are taken, changed, made and delivered."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.orders import (
    OrderDraft,
    OrderLineDraft,
    OrderPage,
    add_order,
    list_orders,
    read_order_page,
)
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.ui.orders.line_row import progress_words, short_words
from studiolog.ui.orders.screen import OrdersScreen
from studiolog.ui.parts.due import tell_due
from tests.journal.conftest import Studio, enter_studio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def studio(desk: Desk) -> Studio:
    return enter_studio(desk.journal)


@pytest.fixture
def orders(open_screen: OpenScreen) -> OrdersScreen:
    return open_screen(OrdersScreen, 1280, 720)


def take(desk: Desk, studio: Studio, whom: str = "Quay café", days: int = 9) -> OrderPage:
    draft = OrderDraft(
        whom=whom,
        promised_on=date.today() + timedelta(days=days),
        lines=(
            OrderLineDraft(form_id=studio.tumbler, wanted=12, price=Decimal(24)),
            OrderLineDraft(what="jug", wanted=1),
        ),
    )
    order_id = desk.edits.run("Take", lambda session: add_order(session, draft))
    return page_of(desk, order_id)


def page_of(desk: Desk, order_id: int) -> OrderPage:
    page = desk.read(lambda session: read_order_page(session, order_id))
    assert page is not None
    return page


@pytest.mark.parametrize(
    ("days", "near", "tone", "sign"),
    [
        (-1, "1 day overdue", "rust", "warning"),
        (-3, "3 days overdue", "rust", "warning"),
        (0, "due today", "ochre", "clock"),
        (1, "due tomorrow", "ochre", "clock"),
        (9, "in 9 days", "ink2", ""),
    ],
)
def test_a_promise_is_told_in_words_and_by_a_sign(
    days: int, near: str, tone: str, sign: str
) -> None:
    today = date(2026, 11, 25)
    due = tell_due(today + timedelta(days=days), today)
    assert (due.near, due.tone, due.sign) == (near, tone, sign)
    assert tell_due(None, today).words == "no promise"
    assert tell_due(today - timedelta(days=9), today, "delivered").sign == "check"


def test_an_order_is_taken_from_the_keyboard(orders: OrdersScreen, desk: Desk) -> None:
    assert orders.stack.currentIndex() == 0
    QTest.keyClick(orders.list, Qt.Key.Key_N)
    QTest.keyClicks(orders.new_name.line, "harbour kitchen")
    QTest.keyClick(orders.new_name.line, Qt.Key.Key_Return)
    view = orders.view
    view.new_line.wanted.line.setText("24")
    view.new_line.what.line.setText("soup bowls")
    QTest.keyClick(view.new_line.what.line, Qt.Key.Key_Return)
    listed = desk.read(list_orders).orders
    assert [(order.whom, order.lines[0].title, order.wanted) for order in listed] == [
        ("harbour kitchen", "soup bowls", 24)
    ]
    assert orders.list.rows()[0].words == (
        "Order 1, harbour kitchen; no promise; 0 of 24 finished, nothing has left"
    )


def test_nobody_is_no_whom(orders: OrdersScreen, desk: Desk) -> None:
    orders.start_new()
    QTest.keyClick(orders.new_name.line, Qt.Key.Key_Return)
    assert "name or label" in orders.new_name.problem()
    assert desk.read(list_orders).total == 0


def test_a_line_is_changed_in_place_and_keeps_its_run(
    orders: OrdersScreen, desk: Desk, studio: Studio, qtbot: QtBot
) -> None:
    page = take(desk, studio)
    line_id = page.lines[0].line_id
    run = RunDraft(
        made_on=date(2026, 11, 9), form_id=studio.tumbler, how_many=10, order_line_id=line_id
    )
    desk.edits.run("Run", lambda session: log_run(session, run))
    row = orders.view.rows[0]
    assert progress_words(row.line) == "0 of 12 finished, 10 in work"
    assert short_words(row.line) == ("2 still to start", "ochre")
    row.fields.wanted.line.setText("10")
    row.fields.wanted.line.editingFinished.emit()
    # The same row shows what was kept: the focus was not taken from under the typing.
    assert orders.view.rows[0] is row
    assert (row.line.line_id, row.short.text()) == (line_id, "none to spare")
    with qtbot.waitSignal(desk.asked_for) as asked:
        row.start.click()
    assert asked.args[0] == "bench"
    assert asked.args[2]["start run"]["order_line_id"] == line_id


def test_what_is_wrong_with_a_line_is_said_under_it(
    orders: OrdersScreen, desk: Desk, studio: Studio
) -> None:
    page = take(desk, studio)
    jug = orders.view.rows[1]
    jug.fields.what.line.setText("")
    jug.fields.what.line.editingFinished.emit()
    assert "asks for" in jug.problem.sentence()
    assert page_of(desk, page.order_id).lines[1].what == "jug"
    run = RunDraft(
        made_on=date(2026, 11, 9), how_many=1, title="Jug", order_line_id=page.lines[1].line_id
    )
    desk.edits.run("Run", lambda session: log_run(session, run))
    orders.view.drop_line(page.lines[1].line_id)
    assert "served by run 1" in orders.view.rows[1].problem.sentence()
    orders.view.drop_line(page.lines[0].line_id)
    assert [line.title for line in page_of(desk, page.order_id).lines] == ["jug"]


def test_a_delivered_order_leaves_the_open_ones_when_one_turns_away(
    orders: OrdersScreen, desk: Desk, studio: Studio
) -> None:
    first = take(desk, studio, "Quay café", 3)
    take(desk, studio, "winter market", 9)
    orders.show_thing(first.order_id)
    orders.view.state.pick("delivered")
    assert page_of(desk, first.order_id).state == "delivered"
    assert orders.view.due.accessibleName().endswith("delivered")
    orders.show_thing(desk.read(list_orders).orders[0].order_id)
    assert [shown.order.whom for shown in orders.list.rows()] == ["winter market"]
    orders.closed.setChecked(True)
    assert [shown.order.whom for shown in orders.list.rows()] == ["winter market", "Quay café"]


def test_an_order_without_runs_is_deleted_and_undone(
    orders: OrdersScreen, desk: Desk, studio: Studio
) -> None:
    take(desk, studio)
    orders.view.delete_shown()
    assert orders.stack.currentIndex() == 0
    desk.edits.undo()
    assert orders.view.whom.text() == "Quay café"


def test_a_number_taken_twice_is_refused_at_its_field(
    orders: OrdersScreen, desk: Desk, studio: Studio
) -> None:
    take(desk, studio, "first", 3)
    second = take(desk, studio, "second", 9)
    orders.show_thing(second.order_id)
    orders.view.number.line.setText("1")
    orders.view.number.line.editingFinished.emit()
    assert "order 1 already" in orders.view.number.problem()
    assert page_of(desk, second.order_id).number == 2
