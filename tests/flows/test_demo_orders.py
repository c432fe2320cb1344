"""The demo's orders and sets tell a year of taking, shipping in parts, and setting aside."""

from datetime import date

from studiolog.journal.opening import Journal
from studiolog.journal.orders import OrderPage, list_orders, read_order_page
from studiolog.journal.set_page import read_set_page, say_next
from studiolog.journal.sets import list_sets
from studiolog.journal.stock_pieces import count_stock


def order(journal: Journal, number: int) -> OrderPage:
    ids = {one.number: one.order_id for one in journal.read(list_orders).orders}
    page = journal.read(lambda session: read_order_page(session, ids[number]))
    assert page is not None
    return page


def test_orders_left_in_parts_and_their_promises_are_kept_as_said(demo_journal: Journal) -> None:
    shop = order(demo_journal, 26)
    assert [one.pieces for one in shop.shipments] == [9, 7]
    assert (shop.state, shop.left, shop.kind) == ("delivered", 0, "wholesale")
    cafe = order(demo_journal, 31)
    assert (cafe.promise_words, cafe.promised_from, cafe.promised_on) == (
        "six to eight weeks",
        date(2026, 11, 20),
        date(2026, 12, 4),
    )
    assert (cafe.lines[1].shipped, cafe.lines[1].ready, cafe.lines[1].short) == (5, 3, 2)
    assert sum(demo_journal.read(count_stock).values()) > 100


def test_two_sets_stand_in_part(demo_journal: Journal) -> None:
    lines = demo_journal.read(list_sets)
    assert [(one.name, one.order_number) for one in lines] == [
        ("Table for ten", None),
        ("Twelve lamps on one string", 37),
    ]
    table = demo_journal.read(lambda session: read_set_page(session, lines[0].set_id))
    assert table is not None
    assert (table.pieces_finished, table.pieces_wanted, table.count.finished) == (21, 32, 0)
    assert say_next(table) == "Next: start 2 of Lidded jar, for bread."
