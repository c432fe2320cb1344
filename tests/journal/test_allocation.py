"""Pieces are set aside for a line of an order, and each counts for one line at most."""

from typing import Any

import pytest
from sqlalchemy import select

from studiolog.journal.allocation import (
    ForLine,
    allocate_from_stock,
    allocate_numbered,
    allocate_of_run,
    allocate_pieces,
    held_piece_ids,
    read_numbers,
    take_back,
    take_back_some,
)
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.orders import change_order
from studiolog.journal.pieces import LayerDraft, set_layers
from studiolog.journal.runs import move_pieces
from studiolog.journal.stock_pieces import Offer, count_stock, read_offers
from studiolog.problems import UserProblem
from studiolog.records.pieces import Piece
from tests.journal.conftest import Studio
from tests.journal.order_story import (
    NOON,
    do,
    line_of,
    log_numbered,
    make_run,
    page_of,
    take_order,
)


def offers(studio: Studio, **asked: Any) -> list[tuple[Any, ...]]:
    found = studio.journal.read(lambda session: read_offers(session, studio.tumbler, **asked))
    return [(offer.runs[0][1], offer.stage, offer.pieces, offer.for_order) for offer in found]


def test_six_are_taken_from_stock_and_given_back(studio: Studio) -> None:
    make_run(studio, 8)
    line = line_of(studio, order := take_order(studio))
    ids = do(studio, allocate_from_stock, ForLine(line), 6)
    page = page_of(studio, order)
    assert (page.lines[0].finished, page.lines[0].short, len(ids)) == (6, 6, 6)
    assert [(lot.pieces, lot.stage, lot.run_number) for lot in page.lines[0].held] == [
        (6, "finished", 1)
    ]
    # Their run is shown, though it is not made for the line.
    assert [(run.number, run.made_for) for run in page.lines[0].runs] == [(1, False)]
    assert offers(studio) == [(1, "finished", 2, None)]
    with pytest.raises(UserProblem, match="only 2 of this in stock: 3 can't"):
        do(studio, allocate_from_stock, ForLine(line), 3)
    do(studio, take_back, ForLine(line), ids[:2])
    do(studio, take_back_some, ForLine(line), page.lines[0].held[0].run_id, "finished", 1)
    assert page_of(studio, order).lines[0].finished == 3
    with pytest.raises(UserProblem, match="3 are set aside here: take back 1 to 3"):
        do(studio, take_back_some, ForLine(line), page.lines[0].held[0].run_id, "finished", 4)


def test_a_piece_of_a_serving_run_may_be_lent_and_counts_once(studio: Studio) -> None:
    """The café's run has two to spare; the harbour takes three of it while they are bisque."""
    cafe, harbour = take_order(studio, "Quay café"), take_order(studio, "Harbour", 3)
    run = make_run(studio, 14, "bisque", order_line_id=line_of(studio, cafe), purpose="order")
    assert page_of(studio, cafe).lines[0].spare == 2
    assert offers(studio, but_lines=[line_of(studio, harbour)]) == [(1, "bisque", 14, 1)]
    do(studio, allocate_of_run, ForLine(line_of(studio, harbour)), run, "bisque", 3)
    first, second = page_of(studio, cafe).lines[0], page_of(studio, harbour).lines[0]
    assert (first.counts, first.short, first.spare) == ({"bisque": 11}, 1, 0)
    assert (second.counts, second.short) == ({"bisque": 3}, 0)
    # The same rule, piece by piece, names the same pieces once.
    ids = [
        set(studio.journal.read(lambda s, at=at: held_piece_ids(s, line_of(studio, at))))
        for at in (cafe, harbour)
    ]
    assert [len(one) for one in ids] == [11, 3]
    assert not ids[0] & ids[1]
    # One of the three splits: it is the harbour's loss, and only the harbour's.
    do(studio, lose_one_of, run, min(ids[1]))
    assert page_of(studio, cafe).lines[0].lost == 0
    assert (page_of(studio, harbour).lines[0].lost, page_of(studio, harbour).lines[0].short) == (
        1,
        1,
    )


def lose_one_of(session: Any, run_id: int, piece_id: int) -> None:
    move_pieces(session, run_id, "bisque", "lost", 1, NOON, "split", first=[piece_id])


def test_numbered_pieces_are_named_as_they_are_cut_into_the_foot(studio: Studio) -> None:
    log_numbered(studio, [412, 413, 414, 420])
    line = line_of(studio, order := take_order(studio))
    do(studio, allocate_numbered, ForLine(line), "412, 413 – 414")
    assert page_of(studio, order).lines[0].held[0].numbers == (412, 413, 414)
    with pytest.raises(UserProblem, match="no piece 999"):
        do(studio, allocate_numbered, ForLine(line), "420 999")
    assert page_of(studio, order).lines[0].made == 3
    assert read_numbers("7;9 11-13, 12") == [7, 9, 11, 12, 13]
    for odd in ("", "0", "four", "13-11", "1-99999999"):
        with pytest.raises(UserProblem):
            read_numbers(odd)


def test_a_piece_belongs_to_one_line_at_most(studio: Studio) -> None:
    one, other = log_numbered(studio, [412, 413])
    cafe, harbour = take_order(studio), take_order(studio, "Harbour")
    do(studio, allocate_pieces, ForLine(line_of(studio, cafe)), [one])
    with pytest.raises(UserProblem, match="Piece 412 is set aside for order 1"):
        do(studio, allocate_pieces, ForLine(line_of(studio, harbour)), [other, one])
    # Nothing half-done: the other is still free.
    assert page_of(studio, harbour).lines[0].made == 0
    with pytest.raises(UserProblem, match="set aside for this already"):
        do(studio, allocate_pieces, ForLine(line_of(studio, cafe)), [one])
    with pytest.raises(UserProblem, match="is not set aside for this"):
        do(studio, take_back, ForLine(line_of(studio, cafe)), [other])


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"stage": "lost", "lost_why": "lid warped"}, "Piece 412 is lost: lid warped"),
        ({"kind": "tool"}, "a tool of the studio"),
    ],
)
def test_what_cannot_be_sold_is_not_set_aside(
    studio: Studio, fields: dict[str, str], told: str
) -> None:
    (piece,) = log_numbered(studio, [412])

    def alter(session: Any) -> None:
        for name, value in fields.items():
            setattr(session.get(Piece, piece), name, value)

    do(studio, alter)
    line = line_of(studio, take_order(studio))
    with pytest.raises(UserProblem, match=told):
        do(studio, allocate_pieces, ForLine(line), [piece])


def test_a_closed_order_takes_nothing_and_lets_go(studio: Studio) -> None:
    make_run(studio, 5)
    line = line_of(studio, order := take_order(studio))
    do(studio, allocate_from_stock, ForLine(line), 5)
    assert studio.journal.read(count_stock) == {}
    do(studio, change_order, order, state="dropped")
    with pytest.raises(UserProblem, match="Order 1 is dropped: open it again"):
        do(studio, allocate_from_stock, ForLine(line), 1)
    # What it had is stock again, and another order may have it.
    assert studio.journal.read(count_stock) == {studio.tumbler: 5}
    other = take_order(studio, "Harbour", 4)
    do(studio, allocate_from_stock, ForLine(line_of(studio, other)), 4)
    assert page_of(studio, other).lines[0].finished == 4


def test_a_delivered_order_without_shipments_offers_nothing(studio: Studio) -> None:
    """Nobody wrote down what left: it would be a guess to call the rest stock."""
    order = take_order(studio)
    make_run(studio, 12, order_line_id=line_of(studio, order), purpose="order")
    do(studio, change_order, order, state="delivered")
    assert offers(studio) == []


def test_stock_answers_by_form_clay_and_glaze_and_says_where_it_is(studio: Studio) -> None:
    run = make_run(studio, 4, clay_id=studio.buff)

    def glaze_two(session: Any) -> None:
        ids = session.scalars(select(Piece.id).where(Piece.run_id == run)).all()
        for ident in ids[:2]:
            set_layers(session, ident, [LayerDraft(zone="inside", glaze_id=studio.kelp)])
            session.get(Piece, ident).kept_where = "shelf by the door"

    do(studio, glaze_two)
    found: list[Offer] = list(
        studio.journal.read(lambda s: read_offers(s, studio.tumbler, studio.buff, studio.kelp))
    )
    assert [(offer.pieces, offer.kept_where, offer.is_stock) for offer in found] == [
        (2, "shelf by the door", True)
    ]
    assert offers(studio, clay_id=studio.red) == []
    line = OrderLineDraft(
        form_id=studio.tumbler, clay_id=studio.buff, glaze_id=studio.kelp, wanted=4
    )
    order = take_order(studio, lines=(line,))
    with pytest.raises(UserProblem, match="only 2 of this in stock"):
        do(studio, allocate_from_stock, ForLine(line_of(studio, order)), 3)


def test_a_line_taken_away_lets_go_of_its_pieces(studio: Studio) -> None:
    make_run(studio, 3)
    line = line_of(studio, order := take_order(studio))
    do(studio, allocate_from_stock, ForLine(line), 3)
    do(studio, set_order_lines, order, ())
    assert offers(studio) == [(1, "finished", 3, None)]
    studio.journal.undo()
    assert page_of(studio, order).lines[0].finished == 3
