"""An order from the promise to the door: what is wanted, made, finished, lost."""

from datetime import date, datetime
from decimal import Decimal

import pytest

from studiolog.journal.opening import Journal
from studiolog.journal.orders import (
    OrderDraft,
    OrderLineDraft,
    OrderPage,
    add_order,
    change_order,
    delete_order,
    list_orders,
    read_order_page,
    set_order_lines,
    set_promise,
)
from studiolog.journal.pieces import RunDraft, log_run, move_to_stage
from studiolog.journal.run_page import read_run_page
from studiolog.problems import EditConflict, StillUsed, UserProblem
from tests.journal.conftest import Studio


def enter(journal: Journal, **fields: object) -> int:
    draft = OrderDraft(**{"whom": "Quay café", **fields})  # type: ignore[arg-type]
    return journal.edit("Take an order", lambda session: add_order(session, draft)).value


def page_of(journal: Journal, order_id: int) -> OrderPage:
    page = journal.read(lambda session: read_order_page(session, order_id))
    assert page is not None
    return page


def start_run(studio: Studio, line_id: int, how_many: int) -> int:
    draft = RunDraft(
        made_on=date(2026, 11, 9),
        form_id=studio.tumbler,
        how_many=how_many,
        purpose="order",
        order_line_id=line_id,
    )
    return studio.journal.edit("Log run", lambda session: log_run(session, draft)).value


def move(studio: Studio, run_id: int, stage: str, how_many: int) -> None:
    page = studio.journal.read(lambda session: read_run_page(session, run_id))
    assert page is not None
    waiting = [piece for piece in page.pieces if piece.stage == "wet"][:how_many]

    def edit(session: object) -> None:
        for piece in waiting:
            move_to_stage(session, piece.piece_id, stage, datetime(2026, 11, 20, 9))  # type: ignore[arg-type]

    studio.journal.edit("Move", edit)


def test_a_line_counts_what_its_runs_made(studio: Studio) -> None:
    order = enter(
        studio.journal,
        promised_on=date(2026, 12, 4),
        lines=(OrderLineDraft(form_id=studio.tumbler, wanted=12, price=Decimal(24)),),
    )
    line_id = page_of(studio.journal, order).lines[0].line_id
    run = start_run(studio, line_id, 14)
    move(studio, run, "finished", 5)
    move(studio, run, "lost", 2)

    page = page_of(studio.journal, order)
    line = page.lines[0]
    assert (line.wanted, line.made, line.finished, line.lost) == (12, 14, 5, 2)
    assert line.in_work == 7
    assert line.short == 0  # 5 finished and 7 on the bench make the dozen
    assert page.price == 12 * 24
    assert [run.number for run in line.runs] == [1]


def test_a_lost_piece_more_and_the_line_is_short(studio: Studio) -> None:
    order = enter(studio.journal, lines=(OrderLineDraft(form_id=studio.tumbler, wanted=12),))
    run = start_run(studio, page_of(studio.journal, order).lines[0].line_id, 12)
    move(studio, run, "lost", 1)
    assert page_of(studio.journal, order).lines[0].short == 1


def test_open_orders_come_first_by_their_promise(studio: Studio) -> None:
    enter(studio.journal, whom="No day", number=7)
    enter(studio.journal, whom="Later", promised_on=date(2026, 12, 18))
    enter(studio.journal, whom="Gone", promised_on=date(2026, 1, 2), state="delivered")
    enter(studio.journal, whom="Sooner", promised_on=date(2026, 11, 27))
    listed = studio.journal.read(list_orders)
    assert [order.whom for order in listed.orders] == ["Sooner", "Later", "No day", "Gone"]
    assert listed.by_state == {"open": 3, "delivered": 1}
    # Without a number an order takes one past the highest.
    assert [order.number for order in listed.orders] == [10, 8, 7, 9]
    delivered = studio.journal.read(lambda session: list_orders(session, "delivered"))
    assert (delivered.total, [order.whom for order in delivered.orders]) == (1, ["Gone"])


def test_lines_keep_their_ids_so_that_runs_still_serve_them(studio: Studio) -> None:
    order = enter(
        studio.journal,
        lines=(
            OrderLineDraft(form_id=studio.tumbler, wanted=6),
            OrderLineDraft(what="jug, tall", wanted=1),
        ),
    )
    tumblers, jug = (line.line_id for line in page_of(studio.journal, order).lines)
    start_run(studio, tumblers, 8)
    ids = studio.journal.edit(
        "Change lines",
        lambda session: set_order_lines(
            session,
            order,
            (
                OrderLineDraft(what="bowl", wanted=2),
                OrderLineDraft(form_id=studio.tumbler, wanted=8),
                OrderLineDraft(what="jug, short", wanted=1, line_id=jug),
            ),
        ),
    ).value
    assert ids[1:] == [tumblers, jug]
    lines = page_of(studio.journal, order).lines
    assert [(line.title, line.wanted) for line in lines] == [
        ("bowl", 2),
        ("Ripple tumbler", 8),
        ("jug, short", 1),
    ]
    assert len(lines[1].runs) == 1


def test_a_line_that_a_run_serves_stays(studio: Studio) -> None:
    order = enter(studio.journal, lines=(OrderLineDraft(form_id=studio.tumbler, wanted=6),))
    start_run(studio, page_of(studio.journal, order).lines[0].line_id, 6)
    with pytest.raises(StillUsed, match="run 1"):
        studio.journal.edit("Drop", lambda session: set_order_lines(session, order, ()))
    with pytest.raises(StillUsed, match="run 1"):
        studio.journal.edit("Delete", lambda session: delete_order(session, order))
    assert page_of(studio.journal, order).lines[0].wanted == 6


def test_an_order_no_run_serves_is_deleted_and_comes_back(studio: Studio) -> None:
    order = enter(studio.journal, lines=(OrderLineDraft(what="platter", wanted=1),))
    studio.journal.edit("Delete", lambda session: delete_order(session, order))
    assert studio.journal.read(lambda session: read_order_page(session, order)) is None
    studio.journal.undo()
    assert page_of(studio.journal, order).lines[0].title == "platter"


@pytest.mark.parametrize(
    ("fields", "at"),
    [
        ({"whom": "  "}, "whom"),
        ({"number": 0}, "number"),
        ({"lines": (OrderLineDraft(what="cup", wanted=0),)}, "wanted"),
        ({"lines": (OrderLineDraft(wanted=2),)}, "what"),
        ({"lines": (OrderLineDraft(what="cup", wanted=2, price=Decimal(-1)),)}, "price"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(
    studio: Studio, fields: dict[str, object], at: str
) -> None:
    with pytest.raises(UserProblem) as refused:
        enter(studio.journal, **fields)
    assert list(refused.value.fields) == [at]
    assert studio.journal.read(list_orders).total == 0


def test_two_desks_do_not_overwrite_each_other(studio: Studio) -> None:
    order = enter(studio.journal)
    seen = page_of(studio.journal, order).version
    studio.journal.edit("Deliver", lambda s: change_order(s, order, seen, state="delivered"))
    with pytest.raises(EditConflict, match="This order was changed"):
        studio.journal.edit("Drop", lambda s: change_order(s, order, seen, state="dropped"))
    with pytest.raises(UserProblem, match="not a state"):
        studio.journal.edit("Lose", lambda s: change_order(s, order, state="misplaced"))
    with pytest.raises(UserProblem, match="an order 1 already"):
        enter(studio.journal, number=1)


def test_a_promise_in_words_counts_from_the_day_it_is_given(studio: Studio) -> None:
    """First from the day the order was taken, entered a week late; the next from the day said."""
    taken, today = date(2026, 11, 5), date(2026, 11, 12)
    order = enter(studio.journal, ordered_on=taken, kind="wholesale")
    journal = studio.journal
    journal.edit("Promise", lambda s: set_promise(s, order, " six  to eight weeks", today))
    page = page_of(journal, order)
    assert (page.promised_from, page.promised_on) == (date(2026, 12, 17), date(2026, 12, 31))
    assert (page.promise_words, page.kind) == ("six to eight weeks", "wholesale")
    later = date(2026, 12, 30)
    journal.edit("Promise", lambda s: set_promise(s, order, "two weeks", later))
    assert page_of(journal, order).promised_on == date(2027, 1, 13)
    journal.edit("Promise", lambda s: set_promise(s, order, "", later))
    assert page_of(journal, order).promised_on is None


def test_an_overdue_order_is_still_changed_in_everything_else(studio: Studio) -> None:
    order = enter(studio.journal, promised_on=date(2026, 9, 1), ordered_on=date(2026, 7, 1))
    today = date(2026, 11, 12)
    studio.journal.edit(
        "Change", lambda s: change_order(s, order, notes="rang", contact="by post", today=today)
    )
    page = page_of(studio.journal, order)
    assert (page.notes, page.promised_on) == ("rang", date(2026, 9, 1))
    # Only giving a promise looks at the day it is given.
    for give in (
        lambda s: change_order(s, order, promised_on=date(2026, 10, 1), today=today),
        lambda s: set_promise(s, order, "1 Oct 2026", today),
    ):
        with pytest.raises(UserProblem, match="a promise lies ahead"):
            studio.journal.edit("Promise", give)


@pytest.mark.parametrize(
    ("fields", "at"),
    [
        ({"promised_on": date(2026, 11, 1)}, "promised_on"),
        ({"promised_on": date(2026, 9, 1), "ordered_on": date(2026, 9, 2)}, "promised_on"),
        ({"promise_words": "zero weeks"}, "promise_words"),
        ({"promise_words": "soon"}, "promise_words"),
        ({"ordered_on": date(2026, 11, 13)}, "ordered_on"),
    ],
)
def test_a_promise_that_was_over_when_it_was_given_is_refused(
    studio: Studio, fields: dict[str, object], at: str
) -> None:
    draft = OrderDraft(**{"whom": "Quay café", **fields})  # type: ignore[arg-type]
    with pytest.raises(UserProblem) as refused:
        studio.journal.edit("Take", lambda s: add_order(s, draft, date(2026, 11, 12)))
    assert list(refused.value.fields) == [at]
    assert studio.journal.read(list_orders).total == 0


def test_the_day_it_was_taken_and_its_kind_are_held_to_what_can_be(studio: Studio) -> None:
    order = enter(studio.journal, promised_on=date(2026, 12, 4))
    edit = studio.journal.edit
    with pytest.raises(UserProblem, match="can't have been taken after that"):
        edit("Change", lambda s: change_order(s, order, ordered_on=date(2026, 12, 5)))
    with pytest.raises(UserProblem, match="no kind of order"):
        edit("Change", lambda s: change_order(s, order, kind="gift"))
    lines = (OrderLineDraft(what="tile", wanted=100_001),)
    with pytest.raises(UserProblem, match="100000 pieces at most"):
        edit("Lines", lambda s: set_order_lines(s, order, lines))
