"""A dozen tumblers from wet clay to the shelf, as the bench counts them."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest
from sqlalchemy import select

from studiolog.journal.bench import BenchPage, read_bench
from studiolog.journal.bench_rows import BenchRow
from studiolog.journal.bench_words import read_bench_line
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.inspections import InspectionDraft, log_inspection
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.run_page import RunPage, read_run_choices, read_run_page
from studiolog.journal.runs import (
    add_pieces,
    change_run_facts,
    delete_run,
    do_bench_line,
    drop_pieces,
    lose_pieces,
    move_pieces,
    place_pieces,
    set_run_sources,
    single_out_one,
)
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.pieces import Piece, Step
from tests.journal.conftest import Studio, snapshot

NOON = datetime(2026, 11, 12, 12, 0)


def do(studio: Studio, edit: Callable[..., Any], *args: Any, **more: Any) -> Any:
    return studio.journal.edit("At the bench", lambda session: edit(session, *args, **more)).value


def bench(studio: Studio) -> BenchPage:
    return studio.journal.read(read_bench)


def row(studio: Studio) -> BenchRow:
    return bench(studio).rows[0]


def page_of(studio: Studio, run_id: int) -> RunPage:
    page = studio.journal.read(lambda session: read_run_page(session, run_id))
    assert page is not None
    return page


@pytest.fixture
def dozen(studio: Studio) -> int:
    draft = RunDraft(
        made_on=date(2026, 11, 9), form_id=studio.tumbler, clay_id=studio.buff, how_many=12
    )
    return int(do(studio, log_run, draft))


def test_pieces_move_on_by_the_count(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "leather_hard", 8, NOON)
    do(studio, lose_pieces, dozen, "leather_hard", 1, "rim split", NOON)
    now = row(studio)
    assert now.counts == {"wet": 4, "leather_hard": 7, "lost": 1}
    assert now.lost == (("rim split", 1),)
    assert (now.made, now.in_hand, now.good) == (12, 11, 11)
    assert (now.youngest, now.since) == ("wet", datetime(2026, 11, 9, 12))
    assert now.name == "Ripple tumbler"
    do(studio, move_pieces, dozen, "wet", "leather_hard", 4, NOON)
    assert (row(studio).youngest, row(studio).since) == ("leather_hard", NOON)


def test_more_than_there_are_is_refused_and_nothing_moves(studio: Studio, dozen: int) -> None:
    before = snapshot(studio.journal)
    with pytest.raises(UserProblem, match="only 12 counted pieces wet"):
        do(studio, move_pieces, dozen, "wet", "bisque", 13, NOON)
    with pytest.raises(UserProblem, match="Say why"):
        do(studio, lose_pieces, dozen, "wet", 1, " ", NOON)
    assert snapshot(studio.journal) == before


def test_a_slip_moved_back_leaves_no_trace_in_the_history(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "leather_hard", 3, NOON)
    do(studio, move_pieces, dozen, "leather_hard", "bone_dry", 1, NOON)
    do(studio, move_pieces, dozen, "bone_dry", "wet", 1, NOON)
    do(studio, move_pieces, dozen, "leather_hard", "wet", 2, NOON)
    assert row(studio).counts == {"wet": 12}
    assert [move.stage for move in page_of(studio, dozen).moves] == ["wet"]


def test_a_run_is_a_thousand_pieces_at_most(studio: Studio) -> None:
    with pytest.raises(UserProblem, match="between 0 and 1000"):
        do(studio, log_run, RunDraft(made_on=date(2026, 11, 20), how_many=1001))
    with pytest.raises(UserProblem, match="between 0 and 1000"):
        do(studio, log_run, RunDraft(made_on=date(2026, 11, 20), how_many=-1))


def test_a_lost_piece_found_again_forgets_why(studio: Studio, dozen: int) -> None:
    do(studio, lose_pieces, dozen, "wet", 1, "dropped", NOON)
    do(studio, move_pieces, dozen, "lost", "wet", 1, NOON)
    assert row(studio).lost == ()
    assert {piece.lost_why for piece in page_of(studio, dozen).pieces} == {""}


def test_a_typed_line_is_one_edit(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "leather_hard", 6, NOON)
    before = snapshot(studio.journal)
    reading = read_bench_line("1 trimmed 5, one rim split", bench(studio).run_words())
    studio.journal.edit(reading.label, lambda session: do_bench_line(session, reading, NOON))
    page = page_of(studio, dozen)
    assert [(work.name, work.pieces) for work in page.steps] == [("trimmed", 5)]
    assert page.row.lost == (("rim split", 1),)
    line = studio.journal.undo_line()
    assert line is not None
    assert line.label == "Run 1: 5 trimmed, 1 lost, rim split"
    studio.journal.undo()
    assert snapshot(studio.journal) == before


def test_the_rim_that_split_was_being_trimmed(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "leather_hard", 6, NOON)
    reading = read_bench_line("1 trimmed 5, one rim split", bench(studio).run_words())
    do(studio, do_bench_line, reading, NOON)
    trimmed_and_lost = studio.journal.read(
        lambda session: session.scalars(
            select(Step.name).join(Piece, Piece.id == Step.piece_id).where(Piece.stage == "lost")
        ).all()
    )
    assert list(trimmed_and_lost) == ["trimmed"]


def test_a_line_not_understood_does_nothing(studio: Studio, dozen: int) -> None:
    reading = read_bench_line("1 trimmed sideways", bench(studio).run_words())
    with pytest.raises(UserProblem, match="nothing was done"):
        do(studio, do_bench_line, reading, NOON)


def test_singled_out_pieces_keep_their_place_in_the_run(studio: Studio, dozen: int) -> None:
    piece_id, number = do(studio, single_out_one, dozen, "wet")
    assert number == 1
    now = row(studio)
    assert now.counts == {"wet": 12}
    assert now.counted == {"wet": 11}
    assert page_of(studio, dozen).pieces[0].piece_id == piece_id
    # A numbered piece has a life of its own: it is not moved by the count.
    with pytest.raises(UserProblem, match="only 11"):
        do(studio, move_pieces, dozen, "wet", "leather_hard", 12, NOON)


def test_the_bench_says_what_waits_and_what_is_packed(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "bone_dry", 10, NOON)
    bisque = FiringDraft(kiln_id=studio.kiln, started_at=NOON, kind="bisque", cone="06")
    firing = do(studio, log_firing, bisque)
    do(studio, place_pieces, dozen, "bone_dry", 4, firing, studio.top)
    page = bench(studio)
    assert [(wait.form, wait.pieces) for wait in page.waiting_bisque] == [("Ripple tumbler", 6)]
    assert page.waiting_glaze == ()
    assert [(packed.number, packed.pieces) for packed in page.rows[0].packed] == [(2, 4)]
    assert [(fired.number, fired.pieces) for fired in page.firings] == [(2, 4), (1, 0)]
    assert page_of(studio, dozen).firings[0].levels == ("top",)
    # Those that are packed are not packed twice.
    with pytest.raises(UserProblem, match="only 6"):
        do(studio, place_pieces, dozen, "bone_dry", 7, firing)


def test_a_fired_piece_waits_to_be_looked_at(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "fired", 2, NOON)
    piece_id, number = do(studio, single_out_one, dozen, "fired")
    page = bench(studio)
    assert [(piece.number, piece.fired_at) for piece in page.unlooked] == [(number, NOON)]
    do(studio, log_inspection, piece_id, InspectionDraft(looked_on=date(2026, 11, 13)))
    assert bench(studio).unlooked_total == 0


def test_a_run_all_done_leaves_the_bench_but_not_the_journal(studio: Studio, dozen: int) -> None:
    do(studio, move_pieces, dozen, "wet", "finished", 11, NOON)
    do(studio, lose_pieces, dozen, "wet", 1, "chipped", NOON)
    page = bench(studio)
    assert (page.rows, page.runs_in_hand, page.runs_ever) == ((), 0, 1)
    everything = studio.journal.read(lambda session: read_bench(session, every_run=True))
    assert [run.run_id for run in everything.rows] == [dozen]


def test_what_is_promised_soonest_stands_first(studio: Studio, dozen: int) -> None:
    order = do(
        studio,
        add_order,
        OrderDraft(
            whom="Quay café",
            promised_on=date(2026, 12, 4),
            lines=(OrderLineDraft(form_id=studio.tumbler, wanted=6),),
        ),
    )
    page = studio.journal.read(lambda session: read_order_page(session, order))
    assert page is not None
    line = page.lines[0].line_id
    second = do(
        studio, log_run, RunDraft(made_on=date(2026, 11, 11), how_many=6, order_line_id=line)
    )
    rows = bench(studio).rows
    assert [run.run_id for run in rows] == [second, dozen]
    assert rows[0].order is not None
    assert (rows[0].order.number, rows[0].order.promised_on) == (1, date(2026, 12, 4))
    choices = studio.journal.read(read_run_choices)
    assert [(choice.name, choice.short) for choice in choices.order_lines] == [
        ("Order 1, Quay café: 6 Ripple tumbler", 0)
    ]


def test_pieces_follow_their_run_in_clay_unless_they_differ(studio: Studio, dozen: int) -> None:
    do(studio, change_run_facts, dozen, clay_id=studio.red, title="Red tumblers")
    assert (row(studio).clay, row(studio).name) == ("Iron-red stoneware", "Red tumblers")
    second = do(studio, log_run, RunDraft(made_on=date(2026, 11, 11)))
    with pytest.raises(UserProblem, match="a run 1 already"):
        do(studio, change_run_facts, second, number=1)


def test_a_miscount_is_put_right(studio: Studio, dozen: int) -> None:
    do(studio, add_pieces, dozen, 2, NOON)
    assert row(studio).counts == {"wet": 14}
    do(studio, drop_pieces, dozen, "wet", 3)
    assert row(studio).counts == {"wet": 11}


def test_a_run_carries_on_what_a_piece_taught(studio: Studio, dozen: int) -> None:
    do(studio, single_out_one, dozen, "wet")
    second = do(studio, log_run, RunDraft(made_on=date(2026, 11, 20), form_id=studio.tumbler))
    do(studio, set_run_sources, second, [1])
    assert [source.number for source in page_of(studio, second).came_from] == [1]
    with pytest.raises(UserProblem, match="no piece 99"):
        do(studio, set_run_sources, second, [1, 99])
    do(studio, set_run_sources, second, [])
    assert page_of(studio, second).came_from == ()


def test_only_a_slip_is_deleted(studio: Studio, dozen: int) -> None:
    do(studio, single_out_one, dozen, "wet")
    with pytest.raises(StillUsed, match="piece 1 belongs to it"):
        do(studio, delete_run, dozen)
    do(studio, single_out_one, dozen, "wet")
    with pytest.raises(StillUsed, match="pieces 1, 2 belong to it"):
        do(studio, delete_run, dozen)
    second = do(studio, log_run, RunDraft(made_on=date(2026, 11, 20), how_many=3))
    do(studio, place_pieces, second, "wet", 1, studio.firing)
    with pytest.raises(StillUsed, match="in a firing"):
        do(studio, delete_run, second)
    before = snapshot(studio.journal)
    third = do(studio, log_run, RunDraft(made_on=date(2026, 11, 21), how_many=3))
    do(studio, delete_run, third)
    assert snapshot(studio.journal) == before
