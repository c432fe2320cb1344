"""Part shipments: what leaves, what is left, and back again if it was a slip."""

from datetime import date

import pytest

from studiolog.journal.allocation import (
    ForLine,
    allocate_from_stock,
    allocate_pieces,
    take_back,
)
from studiolog.journal.demand import read_demand
from studiolog.journal.form_outcome import read_outcomes
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.orders import change_order, delete_order
from studiolog.journal.piece_page import read_piece_page
from studiolog.journal.pieces import delete_piece, move_to_stage
from studiolog.journal.runs import lose_pieces, move_pieces
from studiolog.journal.shipments import (
    ToShip,
    change_shipment,
    read_packing_list,
    say_left,
    ship,
    take_shipment_back,
)
from studiolog.journal.stock_pieces import count_stock
from studiolog.problems import StillUsed, UserProblem
from tests.journal.conftest import Studio
from tests.journal.order_story import (
    NOON,
    TODAY,
    do,
    line_of,
    log_numbered,
    make_run,
    page_of,
    take_order,
)


def send(studio: Studio, order: int, how_many: int, on: date = TODAY, note: str = "") -> object:
    lines = [ToShip(line_of(studio, order), how_many)]
    return do(studio, ship, order, on, lines, note, TODAY)


def test_an_order_leaves_in_two_parts_and_is_delivered_by_itself(studio: Studio) -> None:
    order = take_order(studio, ordered_on=date(2026, 10, 1))
    make_run(studio, 13, order_line_id=line_of(studio, order), purpose="order")
    send(studio, order, 8, date(2026, 11, 10), "by the carrier")
    page = page_of(studio, order)
    assert (page.shipped, page.left, page.state, page.lines[0].spare) == (8, 4, "open", 1)
    assert say_left(page) == "8 of 12 have left, 4 may leave now"
    assert [(one.pieces, one.note) for one in page.shipments] == [(8, "by the carrier")]
    done = studio.journal.read(lambda s: read_demand(s, TODAY))[0].progress
    assert (done.shipped, done.left, done.at_hand) == (8, 4, {"finished": 5})

    shipped = send(studio, order, 4)
    assert shipped.delivered  # type: ignore[attr-defined]
    page = page_of(studio, order)
    assert (page.state, page.left, say_left(page)) == ("delivered", 0, "all 12 have left")
    assert studio.journal.read(lambda s: read_demand(s, TODAY)) == ()
    # The thirteenth is left over from a delivered order: it is stock.
    assert studio.journal.read(count_stock) == {studio.tumbler: 1}
    # One undo takes the shipment and the delivery back together.
    studio.journal.undo()
    assert (page_of(studio, order).state, page_of(studio, order).shipped) == ("open", 8)


def test_more_than_exist_or_than_is_wanted_does_not_leave(studio: Studio) -> None:
    order = take_order(studio)
    run = make_run(studio, 16, "fired", order_line_id=line_of(studio, order), purpose="order")
    with pytest.raises(
        UserProblem, match=r"none is finished and here: 2 can't leave\. Of the others 16 fired"
    ):
        send(studio, order, 2)
    do(studio, move_pieces, run, "fired", "finished", 5, NOON)
    with pytest.raises(UserProblem, match="only 5 are finished and here: 6 can't leave") as told:
        send(studio, order, 6)
    assert list(told.value.fields) == ["how_many"]
    do(studio, move_pieces, run, "fired", "finished", 11, NOON)
    with pytest.raises(UserProblem, match="asks for 12 pieces and none have left: 12 are still"):
        send(studio, order, 13)
    for how_many, told_of in ((0, "how many leave"), (-1, "0 or more")):
        with pytest.raises(UserProblem, match=told_of):
            send(studio, order, how_many)
    # Nothing half-saved by any of it.
    assert (page_of(studio, order).shipments, page_of(studio, order).shipped) == ((), 0)


def test_a_day_to_come_or_before_the_order_is_refused(studio: Studio) -> None:
    order = take_order(studio, ordered_on=date(2026, 11, 2))
    make_run(studio, 12, order_line_id=line_of(studio, order), purpose="order")
    with pytest.raises(UserProblem, match="13 Nov 2026 is still to come"):
        send(studio, order, 1, date(2026, 11, 13))
    with pytest.raises(UserProblem, match="was taken on 2 Nov 2026"):
        send(studio, order, 1, date(2026, 11, 1))
    send(studio, order, 1)
    sent = page_of(studio, order).shipments[0].shipment_id
    do(studio, change_shipment, sent, shipped_on=date(2026, 11, 9), today=TODAY)
    with pytest.raises(UserProblem, match="still to come"):
        do(studio, change_shipment, sent, shipped_on=date(2027, 1, 1), today=TODAY)
    assert page_of(studio, order).shipments[0].shipped_on == date(2026, 11, 9)


def test_a_shipment_taken_back_opens_the_order_again(studio: Studio) -> None:
    order = take_order(studio, wanted=3)
    make_run(studio, 3, order_line_id=line_of(studio, order), purpose="order")
    send(studio, order, 3)
    with pytest.raises(UserProblem, match="Order 1 is delivered: open it again"):
        send(studio, order, 1)
    assert do(studio, take_shipment_back, page_of(studio, order).shipments[0].shipment_id)
    page = page_of(studio, order)
    assert (page.state, page.shipped, page.lines[0].ready) == ("open", 0, 3)


def test_what_broke_on_the_way_is_owed_again(studio: Studio) -> None:
    order = take_order(studio, wanted=2)
    (one, _two) = log_numbered(studio, [412, 413])
    do(studio, allocate_from_stock, ForLine(line_of(studio, order)), 2)
    send(studio, order, 2)
    do(studio, change_order, order, state="open")
    do(studio, move_to_stage, one, "lost", NOON, "broke on the way")
    page = page_of(studio, order)
    assert (page.shipped, page.left, page.lines[0].lost, page.lines[0].short) == (1, 1, 1, 1)
    assert page.shipments[0].items[0].lost == 1
    came = studio.journal.read(lambda session: read_outcomes(session, [studio.tumbler]))
    assert (came[studio.tumbler].sold, came[studio.tumbler].lost.events) == (1, 1)


def test_what_is_lost_on_the_shelf_is_none_of_what_has_left(studio: Studio) -> None:
    order = take_order(studio)
    run = make_run(studio, 6, order_line_id=line_of(studio, order))
    send(studio, order, 3)
    do(studio, lose_pieces, run, "finished", 2, "fell", NOON)
    line = page_of(studio, order).lines[0]
    assert (line.shipped, line.progress.ready, line.lost) == (3, 1, 2)
    do(studio, move_pieces, run, "finished", "fired", 1, NOON)
    assert page_of(studio, order).lines[0].progress.at_hand == {"fired": 1}
    # What broke on the way is counted too: it can only be one of those that left.
    do(studio, lose_pieces, run, "finished", 1, "broke on the way", NOON)
    assert page_of(studio, order).lines[0].shipped == 2


def test_what_has_left_can_be_neither_taken_back_nor_deleted(studio: Studio) -> None:
    order = take_order(studio, wanted=3)
    ids = log_numbered(studio, [412, 413])
    do(studio, allocate_from_stock, ForLine(line_of(studio, order)), 2)
    send(studio, order, 2)
    told = studio.journal.read(lambda session: read_piece_page(session, ids[0])).held_for
    assert told is not None
    assert (told.words, told.kind, told.row_id) == (
        "Left with order 1 on 12 Nov 2026",
        "order",
        order,
    )
    with pytest.raises(UserProblem, match="Piece 412 left with order 1 on 12 Nov 2026"):
        do(studio, take_back, ForLine(line_of(studio, order)), ids)
    with pytest.raises(StillUsed, match="pieces left with it on 12 Nov 2026"):
        do(studio, delete_order, order)
    with pytest.raises(StillUsed, match="2 pieces of this line have left"):
        do(studio, set_order_lines, order, ())
    with pytest.raises(StillUsed, match="Piece 412 left with order 1 on 12 Nov 2026"):
        do(studio, delete_piece, ids[0])
    fewer = OrderLineDraft(form_id=studio.tumbler, wanted=1, line_id=line_of(studio, order))
    with pytest.raises(UserProblem, match="2 of it have left already"):
        do(studio, set_order_lines, order, (fewer,))
    log_numbered(studio, [414])
    do(studio, allocate_from_stock, ForLine(line_of(studio, order)), 1)
    send(studio, order, 1)
    with pytest.raises(StillUsed, match="left with it on 12 Nov 2026 and once more"):
        do(studio, delete_order, order)


def test_the_packing_list_names_the_label_and_nothing_else_of_who_ordered(studio: Studio) -> None:
    line = OrderLineDraft(
        form_id=studio.tumbler, wanted=3, clay_id=studio.buff, glaze_id=studio.chalk
    )
    jug = OrderLineDraft(what="jug", wanted=1)
    order = take_order(studio, lines=(line, jug), contact="0151 555 012", notes="rings twice")

    ids = log_numbered(studio, [412, 413])
    do(studio, allocate_pieces, ForLine(line_of(studio, order)), ids)
    do(studio, ship, order, TODAY, [ToShip(line_of(studio, order), 2)], "left with Ann", TODAY)
    sent = page_of(studio, order).shipments[0].shipment_id
    packing = studio.journal.read(lambda session: read_packing_list(session, sent))
    assert packing is not None
    assert (packing.whom, packing.part, packing.pieces, packing.still_to_come) == (
        "Quay café",
        1,
        2,
        2,
    )
    assert [(one.title, one.made_of, one.packed, one.numbers, one.still_to_come)
            for one in packing.lines] == [
        ("Ripple tumbler", "Buff stoneware, Chalk", 2, (412, 413), 1),
        ("jug", "", 0, (), 1),
    ]  # fmt: skip
    assert not any(word in repr(packing) for word in ("0151", "rings", "Ann"))
