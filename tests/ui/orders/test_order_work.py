"""The work on an order: promised in words, set aside, shipped in parts, and its customer wiped."""

from datetime import date, timedelta
from decimal import Decimal
from functools import partial

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.forms import change_form
from studiolog.journal.orders import OrderPage, list_orders, read_order_page
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.ui.orders.line_row import progress_words, set_words
from studiolog.ui.orders.screen import OrdersScreen
from studiolog.ui.parts.paper_sheet import PaperSheet
from tests.journal.conftest import Studio, enter_studio
from tests.ui.conftest import OpenScreen


@pytest.fixture
def studio(desk: Desk) -> Studio:
    return enter_studio(desk.journal)


@pytest.fixture
def orders(open_screen: OpenScreen, studio: Studio) -> OrdersScreen:
    return open_screen(OrdersScreen, 1280, 720)


def shown(orders: OrdersScreen, desk: Desk) -> OrderPage:
    assert orders.view.page is not None
    ident = orders.view.page.order_id
    page = desk.read(lambda session: read_order_page(session, ident))
    assert page is not None
    return page


def take(orders: OrdersScreen, studio: Studio, wanted: str = "6") -> None:
    """By keys alone: N, the label, Enter, the promise, Enter, the count, Tab, the form, Enter."""
    QTest.keyClick(orders.list, Qt.Key.Key_N)
    QTest.keyClicks(orders.new_name.line, "Quay cafe")
    QTest.keyClick(orders.new_name.line, Qt.Key.Key_Return)
    view = orders.view
    QTest.keyClicks(view.promised.line, "six to eight weeks")
    QTest.keyClick(view.promised.line, Qt.Key.Key_Return)
    QTest.keyClicks(view.new_line.wanted.line, wanted)
    QTest.keyClick(view.new_line.wanted.line, Qt.Key.Key_Tab)
    form = view.new_line.form.lineEdit()
    assert form is not None
    form.selectAll()
    QTest.keyClicks(form, "ripple tumbler")
    QTest.keyClick(form, Qt.Key.Key_Return)
    QTest.qWait(0)


def test_an_order_is_taken_promised_and_asked_for_by_keys(
    orders: OrdersScreen, desk: Desk, studio: Studio
) -> None:
    priced = partial(change_form, form_id=studio.tumbler, price=Decimal("28.50"))
    desk.edits.run("Price", priced)
    take(orders, studio)
    page = shown(orders, desk)
    today = date.today()
    assert (page.promise_words, page.ordered_on) == ("six to eight weeks", today)
    assert page.promised_from == today + timedelta(weeks=6)
    assert page.promised_on == today + timedelta(weeks=8)
    assert [(line.title, line.wanted) for line in page.lines] == [("Ripple tumbler", 6)]
    assert page.lines[0].price == Decimal("28.50")
    assert "Promised" in orders.view.promised.days.text()


def test_a_promise_that_can_not_be_is_said_at_its_field(
    orders: OrdersScreen, desk: Desk, studio: Studio
) -> None:
    take(orders, studio)
    line = orders.view.promised.line
    for words, told in (("zero weeks", "no time at all"), ("12 Dec 2020", "a promise lies ahead")):
        line.setText(words)
        line.editingFinished.emit()
        assert told in orders.view.promised.problem()
    assert shown(orders, desk).promise_words == "six to eight weeks"
    # Everything else of an order is changed whatever its promise says.
    orders.view.contact.line.setText("by letter")
    orders.view.contact.line.editingFinished.emit()
    orders.view.kind.picked.emit("wholesale")
    assert (shown(orders, desk).contact, shown(orders, desk).kind) == ("by letter", "wholesale")
    orders.view.ordered.line.setText("1 Jan 2199")
    orders.view.ordered.line.editingFinished.emit()
    assert "still to come" in orders.view.ordered.problem()


def test_stock_is_set_aside_and_leaves_in_two_parts(
    orders: OrdersScreen, desk: Desk, studio: Studio, qtbot: QtBot
) -> None:
    run = RunDraft(made_on=date(2026, 10, 1), form_id=studio.tumbler, how_many=8, stage="finished")
    desk.edits.run("Run", lambda session: log_run(session, run))
    take(orders, studio)
    row = orders.view.rows[0]
    assert orders.view.shipments.start.isHidden()
    row.toggle_aside()
    ((offer, count),) = row.aside.offers
    assert (offer.is_stock, count.text()) == (True, "6")
    count.line.setText("9")
    row.aside.take(offer, count)
    assert "8 or less" in row.aside.problem.sentence()
    count.line.setText("6")
    QTest.keyClick(count.line, Qt.Key.Key_Return)
    assert progress_words(row.line) == "6 of 6 finished"

    section = orders.view.shipments
    QTest.keyClick(orders.list, Qt.Key.Key_S)
    assert section.making.isVisible()
    (leaving,) = section.making.counts.values()
    leaving.line.setText("4")
    QTest.keyClick(leaving.line, Qt.Key.Key_Return)
    page = shown(orders, desk)
    assert (page.shipped, page.left, page.state) == (4, 2, "open")
    assert progress_words(row.line) == "4 of 6 have left, 2 more finished"
    assert orders.list.rows()[0].words.endswith("6 of 6 finished, 4 have left")

    section.start_shipping()
    section.making.day.line.setText("1 Jan 2199")
    section.keep()
    assert "still to come" in section.problem.sentence()
    section.making.day.set_day(date.today())
    section.keep()
    page = shown(orders, desk)
    assert (page.state, len(page.shipments)) == ("delivered", 2)

    section.print_list(page.shipments[0].shipment_id)
    (sheet,) = [one for one in orders.window().findChildren(QDialog) if one.isVisible()]
    assert isinstance(sheet, PaperSheet)
    sheet.close()
    section.take_back(page.shipments[1].shipment_id)
    assert (shown(orders, desk).state, shown(orders, desk).left) == ("open", 2)
    orders.view.delete_shown()
    assert "pieces left with it" in orders.view.problem.sentence()


def test_a_line_asks_for_a_set_and_leads_to_it(
    orders: OrdersScreen, desk: Desk, studio: Studio, qtbot: QtBot
) -> None:
    parts = (SetPartDraft(each=3, form_id=studio.tumbler), SetPartDraft(each=1, what="tray"))
    draft = SetDraft(name="Three cups on a tray", parts=parts)
    ware = desk.edits.run("Set", lambda session: add_set(session, draft))
    take(orders, studio)
    new = orders.view.new_line
    new.wanted.line.setText("1")
    new.form.choose(("set", ware))
    new.done.emit()
    row = orders.view.rows[1]
    assert (row.line.title, row.line.pieces_wanted) == ("Three cups on a tray", 4)
    assert set_words(row.line) == "1 set of 4 pieces: none whole and finished"
    assert row.start.isHidden()
    with qtbot.waitSignal(desk.asked_for) as asked:
        row.to_set.click()
    assert asked.args[:2] == ["set", ware]


def test_wiping_says_first_what_goes_and_then_does_it(
    orders: OrdersScreen, desk: Desk, studio: Studio, qtbot: QtBot
) -> None:
    take(orders, studio)
    section = orders.view.wiping
    section.begin.click()
    assert "can't be undone" in section.told.text()
    assert section.leave.hasFocus()
    QTest.keyClick(section.leave, Qt.Key.Key_Escape)
    assert section.do_it.isHidden() or not section.do_it.isVisible()
    assert shown(orders, desk).whom == "Quay cafe"

    section.begin.click()
    section.do_it.click()
    assert "is wiped" in section.told.text()
    assert shown(orders, desk).whom == orders.view.whom.text() == "customer of order 1"
    assert "Quay" not in orders.list.rows()[0].words
    qtbot.waitUntil(lambda: not desk.jobs.is_running("clear the file of a wiped customer"))
    assert section.problem.sentence() == ""
    assert desk.edits.undo_label() == "Add a line of order 1"
    assert desk.read(list_orders).total == 1
