"""Sets and assemblies: ten of each for a table, lamps on one string, what must be remade."""

from datetime import date

import pytest
from sqlalchemy import select

from studiolog.journal.allocation import (
    ForLine,
    ForPart,
    allocate_from_stock,
    allocate_numbered,
    allocate_of_run,
    allocate_pieces,
)
from studiolog.journal.clays import delete_clay
from studiolog.journal.demand import read_demand
from studiolog.journal.forms import FormDraft, add_form, delete_form
from studiolog.journal.glazes import delete_glaze
from studiolog.journal.order_lines import OrderLineDraft, set_order_lines
from studiolog.journal.pieces import RunDraft, log_run, move_to_stage
from studiolog.journal.runs import add_pieces, drop_pieces, move_pieces
from studiolog.journal.set_page import SetPage, read_set_page, say_next
from studiolog.journal.sets import (
    SetDraft,
    SetPartDraft,
    add_set,
    change_set,
    copy_set,
    delete_set,
    list_sets,
    set_set_parts,
)
from studiolog.journal.shipments import ToShip, ship
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.pieces import Piece
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


def set_page(studio: Studio, set_id: int) -> SetPage:
    page = studio.journal.read(lambda session: read_set_page(session, set_id))
    assert page is not None
    return page


def enter_table(studio: Studio) -> int:
    """Ten cups and ten bowls for a table, wanted once."""
    bowl = do(studio, add_form, FormDraft(name="Soup bowl"))
    parts = (
        SetPartDraft(each=10, form_id=studio.tumbler, glaze_id=studio.kelp),
        SetPartDraft(each=10, form_id=bowl),
    )
    draft = SetDraft(name="Table for ten", due_on=date(2026, 12, 20), parts=parts)
    return do(studio, add_set, draft)


def start_bowls(studio: Studio, set_id: int, how_many: int) -> int:
    form = set_page(studio, set_id).parts[1].form_id
    draft = RunDraft(made_on=date(2026, 11, 2), form_id=form, how_many=how_many, purpose="house")
    return do(studio, log_run, draft)


def test_a_table_for_ten_tells_what_is_done_and_what_comes_next(studio: Studio) -> None:
    table = enter_table(studio)
    page = set_page(studio, table)
    assert (page.pieces_wanted, page.count.finished, page.ends_on) == (20, 0, date(2026, 12, 20))
    assert say_next(page) == "Next: start 10 of Ripple tumbler."

    tumblers, bowls = (part.part_id for part in page.parts)
    cups = make_run(studio, 12)
    do(studio, allocate_of_run, ForPart(tumblers), cups, "finished", 10)
    run = start_bowls(studio, table, 11)
    do(studio, allocate_of_run, ForPart(bowls), run, "wet", 10)
    page = set_page(studio, table)
    assert [part.progress.at_hand for part in page.parts] == [{"finished": 10}, {"wet": 10}]
    assert (page.pieces_finished, page.count.finished, page.count.to_start) == (10, 0, 0)
    assert say_next(page) == "Everything is begun. Furthest behind: 10 of Soup bowl, wet."

    # Two bowls split; they are to be made again, and with the cause.
    do(studio, move_pieces, run, "wet", "lost", 2, NOON, "rim split")
    page = set_page(studio, table)
    assert (page.to_remake, page.parts[1].to_remake) == (2, 2)
    assert [(one.pieces, one.why) for one in page.parts[1].losses] == [(2, "rim split")]
    assert say_next(page) == "Next: start 2 of Soup bowl, 2 of them again."
    # The eleventh, of the same run and free, takes the place of one.
    do(studio, allocate_of_run, ForPart(bowls), run, "wet", 1)
    assert set_page(studio, table).to_remake == 1


def test_twelve_lamps_on_one_string_are_whole_when_the_last_is_done(studio: Studio) -> None:
    parts = (SetPartDraft(each=12, form_id=studio.tumbler), SetPartDraft(each=1, what="string"))
    lamps = do(studio, add_set, SetDraft(name="Lamps on one string", wanted=2, parts=parts))
    light, string = (part.part_id for part in set_page(studio, lamps).parts)
    make_run(studio, 23)
    do(studio, allocate_from_stock, ForPart(light), 23)
    assert (set_page(studio, lamps).count.finished, set_page(studio, lamps).parts[0].wanted) == (
        0,
        24,
    )
    log_numbered(studio, [501])
    do(studio, allocate_numbered, ForPart(string), "501")
    assert set_page(studio, lamps).count.finished == 1
    with pytest.raises(UserProblem, match="no form, so no stock answers it"):
        do(studio, allocate_from_stock, ForPart(string), 1)


def test_a_set_an_order_asks_for_is_owed_part_by_part_and_leaves_whole(studio: Studio) -> None:
    parts = (SetPartDraft(each=2, form_id=studio.tumbler), SetPartDraft(each=1, what="tray"))
    ware = do(studio, add_set, SetDraft(name="Two cups on a tray", parts=parts))
    order = take_order(
        studio, lines=(OrderLineDraft(set_id=ware, wanted=2),), promised_on=date(2026, 12, 4)
    )
    line = page_of(studio, order).lines[0]
    assert (line.title, line.wanted, line.pieces_wanted) == ("Two cups on a tray", 2, 6)
    assert set_page(studio, ware).sets == 2  # as many as the order asks for
    owed = studio.journal.read(lambda session: read_demand(session, TODAY))
    assert [(one.title, one.wanted, one.promised_on, one.for_whom) for one in owed] == [
        ("Ripple tumbler", 4, date(2026, 12, 4), "order 1, Quay café"),
        ("tray", 2, date(2026, 12, 4), "order 1, Quay café"),
    ]
    cups, trays = (part.part_id for part in set_page(studio, ware).parts)
    make_run(studio, 4)
    do(studio, allocate_from_stock, ForPart(cups), 4)
    log_numbered(studio, [501])
    do(studio, allocate_numbered, ForPart(trays), "501")
    with pytest.raises(UserProblem, match="2 sets need 2 of “tray”: 1 is finished and here"):
        do(studio, ship, order, TODAY, [ToShip(line.line_id, 2)])
    do(studio, ship, order, TODAY, [ToShip(line.line_id, 1)])
    line = page_of(studio, order).lines[0]
    assert (line.shipped, line.left, line.ready) == (3, 1, 0)
    assert set_page(studio, ware).count.shipped == 1
    serving = RunDraft(made_on=TODAY, how_many=2, order_line_id=line.line_id)
    with pytest.raises(UserProblem, match="asks for a set: make the run for no order"):
        do(studio, log_run, serving)
    with pytest.raises(UserProblem, match="set pieces aside for its parts"):
        do(studio, allocate_numbered, ForLine(line.line_id), "501")
    without_trays = (SetPartDraft(each=2, form_id=studio.tumbler, part_id=cups),)
    with pytest.raises(StillUsed, match="1 of this part has left with a shipment"):
        do(studio, set_set_parts, ware, without_trays)
    sent = studio.journal.read(lambda s: s.scalar(select(Piece.id).where(Piece.number == 501)))
    do(studio, move_to_stage, sent, "lost", NOON, "broke on the way")
    tray = set_page(studio, ware).parts[1]
    assert [(loss.pieces, loss.why) for loss in tray.losses] == [(1, "broke on the way")]
    assert tray.progress.lost == 1


def test_a_line_a_run_is_made_for_asks_for_no_set(studio: Studio) -> None:
    ware = enter_table(studio)
    order = take_order(studio)
    line = line_of(studio, order)
    make_run(studio, 2, order_line_id=line)
    asked = OrderLineDraft(set_id=ware, wanted=1, line_id=line)
    with pytest.raises(UserProblem, match="This line is served by run 1"):
        do(studio, set_order_lines, order, (asked,))
    assert page_of(studio, order).lines[0].set_id is None


def test_a_set_belongs_to_one_order_and_a_copy_to_another(studio: Studio) -> None:
    ware = enter_table(studio)
    take_order(studio, lines=(OrderLineDraft(set_id=ware, wanted=1),))
    with pytest.raises(UserProblem, match="asked for by order 1 already: copy the set"):
        take_order(studio, lines=(OrderLineDraft(set_id=ware, wanted=1),))
    copy = do(studio, copy_set, ware)
    take_order(studio, lines=(OrderLineDraft(set_id=copy, wanted=1),))
    named = [(one.name, one.pieces, one.order_number) for one in studio.journal.read(list_sets)]
    assert named == [("Table for ten", 20, 1), ("Table for ten, 2", 20, 2)]


def test_a_set_with_no_parts_is_nothing_to_ask_for(studio: Studio) -> None:
    empty = do(studio, add_set, SetDraft(name="Tiles for the wall"))
    assert say_next(set_page(studio, empty)) == "Say what belongs to it."
    assert set_page(studio, empty).count.finished == 0
    with pytest.raises(UserProblem, match="has no parts yet"):
        take_order(studio, lines=(OrderLineDraft(set_id=empty, wanted=1),))
    ware = enter_table(studio)
    order = take_order(studio, lines=(OrderLineDraft(set_id=ware, wanted=1),))
    with pytest.raises(UserProblem, match="a set with no parts is nothing"):
        do(studio, set_set_parts, ware, ())
    with pytest.raises(StillUsed, match="order 1 asks for it"):
        do(studio, delete_set, ware)
    do(studio, set_order_lines, order, (OrderLineDraft(what="nothing", wanted=1),))
    do(studio, delete_set, ware)
    assert [one.name for one in studio.journal.read(list_sets)] == ["Tiles for the wall"]


@pytest.mark.parametrize(
    ("draft", "field"),
    [
        (SetDraft(name=" "), "name"),
        (SetDraft(name="Table", wanted=0), "wanted"),
        (SetDraft(name="Table", parts=(SetPartDraft(each=0, what="cup"),)), "each"),
        (SetDraft(name="Table", parts=(SetPartDraft(each=2),)), "what"),
    ],
)
def test_what_no_set_can_be_is_said_at_its_field(
    studio: Studio, draft: SetDraft, field: str
) -> None:
    with pytest.raises(UserProblem) as told:
        do(studio, add_set, draft)
    assert list(told.value.fields) == [field]
    assert studio.journal.read(list_sets) == []


def test_a_part_that_goes_lets_go_of_its_pieces(studio: Studio) -> None:
    table = enter_table(studio)
    part, kept = set_page(studio, table).parts
    run = make_run(studio, 3)
    do(studio, allocate_of_run, ForPart(part.part_id), run, "finished", 3)
    with pytest.raises(UserProblem, match="belongs to the set “Table for ten”"):
        do(studio, allocate_pieces, ForPart(kept.part_id), part_ids(studio, table))
    left = SetPartDraft(each=8, form_id=kept.form_id, part_id=kept.part_id)
    do(studio, set_set_parts, table, (left,))
    assert [(one.title, one.each) for one in set_page(studio, table).parts] == [("Soup bowl", 8)]
    studio.journal.undo()
    assert set_page(studio, table).parts[0].progress.ready == 3
    do(studio, change_set, table, wanted=3)
    assert set_page(studio, table).parts[0].wanted == 30


def part_ids(studio: Studio, set_id: int) -> tuple[int, ...]:
    return set_page(studio, set_id).parts[0].held[0].piece_ids


def test_what_is_asked_for_is_not_deleted_from_under_it(studio: Studio) -> None:
    """Its tumblers are of this form, and want this glaze; an order line wants that clay."""
    enter_table(studio)
    take_order(studio, lines=(OrderLineDraft(what="cup", wanted=1, clay_id=studio.red),))
    for delete, ident, told in (
        (delete_form, studio.tumbler, "1 part of a set"),
        (delete_glaze, studio.kelp, "1 part of a set asks for it"),
        (delete_clay, studio.red, "1 order line asks for it"),
    ):
        with pytest.raises(StillUsed, match=told):
            do(studio, delete, ident)


def test_a_run_for_a_part_is_set_aside_for_it_in_one_step_with_what_is_counted_later(
    studio: Studio,
) -> None:
    table = enter_table(studio)
    cups, bowls = set_page(studio, table).parts
    draft = RunDraft(
        made_on=date(2026, 11, 2), form_id=bowls.form_id, how_many=8, set_part_id=bowls.part_id
    )
    studio.journal.edit("Start run 1", lambda session: log_run(session, draft))
    assert set_page(studio, table).parts[1].progress.at_hand == {"wet": 8}
    studio.journal.undo()
    assert set_page(studio, table).parts[1].progress.made == 0
    studio.journal.redo()
    (run,) = (lot.run_id for lot in set_page(studio, table).parts[1].held)
    assert run is not None
    do(studio, add_pieces, run, 3, NOON)
    assert set_page(studio, table).parts[1].progress.at_hand == {"wet": 11}
    do(studio, drop_pieces, run, "wet", 1)
    # A run of which only some are set aside counts for nobody by itself.
    free = make_run(studio, 2, "wet")
    do(studio, allocate_of_run, ForPart(cups.part_id), free, "wet", 1)
    do(studio, add_pieces, free, 4, NOON)
    at_hand = [part.progress.at_hand for part in set_page(studio, table).parts]
    assert at_hand == [{"wet": 1}, {"wet": 10}]

    line = line_of(studio, take_order(studio))
    both = RunDraft(
        made_on=date(2026, 11, 2), how_many=2, order_line_id=line, set_part_id=cups.part_id
    )
    with pytest.raises(UserProblem, match="or for a part of a set"):
        do(studio, log_run, both)
    gone = RunDraft(made_on=date(2026, 11, 2), how_many=2, set_part_id=999)
    with pytest.raises(UserProblem):
        do(studio, log_run, gone)
