"""Mugs with handles and panels, from the wheel to the box: what they wait for, what was done."""

import math
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from studiolog.journal.allocation import ForPart, allocate_of_run
from studiolog.journal.bench import read_bench
from studiolog.journal.bench_rows import LostLot
from studiolog.journal.bench_words import read_bench_line
from studiolog.journal.bench_work import RunWork, StepShare, count_waiting, read_work, words_of
from studiolog.journal.first_look import FILE, read_first_look
from studiolog.journal.form_steps import MakingStep, set_steps, set_zones
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.pieces import RunDraft, log_run, move_to_stage
from studiolog.journal.run_page import read_run_page
from studiolog.journal.run_work import log_steps, wrap_run
from studiolog.journal.runs import (
    change_run_facts,
    delete_run,
    do_bench_line,
    find_again,
    lose_pieces,
    move_pieces,
    single_out_one,
)
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.journal.shipments import ToShip, ship
from studiolog.journal.ways import add_way
from studiolog.journal.writing import change
from studiolog.problems import UserProblem
from studiolog.records.orders import SetPart
from studiolog.records.pieces import Piece, StageChange, Step
from tests.journal.conftest import Studio, snapshot

MORNING = datetime(2026, 11, 12, 9, 0)


def do(studio: Studio, edit: Callable[..., Any], *args: Any, **more: Any) -> Any:
    return studio.journal.edit("At the bench", lambda session: edit(session, *args, **more)).value


@pytest.fixture
def mugs(studio: Studio) -> int:
    """A dozen mugs: thrown, trimmed and handled when leather-hard, glazed part by part."""
    steps = [
        MakingStep("throw", 6),
        MakingStep("trim", 4),
        MakingStep("handle", 5),
        MakingStep("glaze", 6),
        MakingStep("grind and check", 2),
    ]
    do(studio, set_steps, studio.tumbler, steps)
    do(studio, set_zones, studio.tumbler, ["handle", "panel", "body"])
    draft = RunDraft(
        number=63,
        made_on=date(2026, 11, 9),
        form_id=studio.tumbler,
        clay_id=studio.buff,
        how_many=12,
    )
    return int(do(studio, log_run, draft))


def work(studio: Studio, run_id: int) -> RunWork:
    return studio.journal.read(lambda session: read_work(session, [run_id]))[run_id]


def waits(studio: Studio, run_id: int) -> dict[str, int]:
    return count_waiting([work(studio, run_id)])


def type_line(studio: Studio, line: str, at: datetime = MORNING) -> tuple[str, ...]:
    """Type a line at the bench and press Enter; returns what it said would be left."""
    rows = studio.journal.read(read_bench).rows
    ids = [row.run_id for row in rows]
    known = studio.journal.read(lambda session: read_work(session, ids))
    reading = read_bench_line(line, words_of(rows, known))
    assert reading.ready, (reading.problems, reading.unread)
    studio.journal.edit(reading.label, lambda session: do_bench_line(session, reading, at))
    return reading.leaves


def test_a_dozen_mugs_wait_for_one_thing_after_the_other(studio: Studio, mugs: int) -> None:
    assert waits(studio, mugs) == {"firming": 12}
    type_line(studio, "63 all leather-hard")
    assert waits(studio, mugs) == {"trimming": 12}
    assert type_line(studio, "63: 5 trimmed in 40 min, another split") == (
        "11 leather-hard left",
        "6 not yet trimmed",
    )
    assert waits(studio, mugs) == {"trimming": 6, "handles": 5}
    assert work(studio, mugs).shares == (
        StepShare("trim", "leather_hard", 5, 11),
        StepShare("handle", "leather_hard", 0, 11),
    )
    type_line(studio, "63 trimmed, handled, 11 bone dry")
    assert waits(studio, mugs) == {"bisque_kiln": 11}
    type_line(studio, "63 to bisque")
    type_line(studio, "63 handles glazed 6, panels glazed 6")
    told = [(lot.pieces, lot.zones_done, lot.zones_left) for lot in work(studio, mugs).waiting]
    assert (6, ("handle", "panel"), ("body",)) in told
    assert (5, (), ("handle", "panel", "body")) in told
    # Handles and panels done, body left: with it they are glazed, and go on by themselves.
    type_line(studio, "63 body glazed 4")
    assert waits(studio, mugs) == {"glaze": 7, "glaze_kiln": 4}
    type_line(studio, "63 glazed, all fired, ground 11 in 22 min")
    assert waits(studio, mugs) == {"packing": 11}
    page = studio.journal.read(lambda session: read_run_page(session, mugs))
    assert page is not None
    sums = {(one.name, one.zone): (one.pieces, one.each, one.planned) for one in page.sums}
    assert sums["trimmed", ""] == (11, 8.0, 4)
    assert sums["ground", ""] == (11, 2.0, 2)
    assert sums["glazed", "body"] == (4, None, 6)
    assert page.row.losses == (LostLot("leather_hard", "split", 1),)


def test_what_is_promised_waits_to_be_packed_and_sent(studio: Studio, mugs: int) -> None:
    lines = (OrderLineDraft(form_id=studio.tumbler, wanted=4),)
    order = do(studio, add_order, OrderDraft(whom="Quay café", lines=lines))
    page = studio.journal.read(lambda session: read_order_page(session, order))
    assert page is not None
    do(studio, move_pieces, mugs, "wet", "finished", 12, MORNING)
    assert studio.journal.read(read_bench).rows == ()

    def set_aside(session: Any) -> None:
        for piece_id in session.scalars(select(Piece.id).limit(4)).all():
            change(session, Piece, piece_id, order_line_id=page.lines[0].line_id)

    do(studio, set_aside)
    assert [row.run_id for row in studio.journal.read(read_bench).rows] == [mugs]
    assert waits(studio, mugs) == {"packing": 4}
    # A window that has no journal yet shows them too.
    first = read_first_look(Path(studio.journal.where) / FILE)
    assert first is not None
    assert first.rows == studio.journal.read(read_bench).rows


def test_a_run_made_for_an_order_waits_to_be_packed_until_that_has_left(
    studio: Studio, mugs: int
) -> None:
    lines = (
        OrderLineDraft(form_id=studio.tumbler, wanted=10),
        OrderLineDraft(what="a jug", wanted=1),
    )
    order = do(studio, add_order, OrderDraft(whom="Quay café", lines=lines))
    page = studio.journal.read(lambda session: read_order_page(session, order))
    assert page is not None
    do(studio, change_run_facts, mugs, order_line_id=page.lines[0].line_id)
    do(studio, move_pieces, mugs, "wet", "finished", 12, MORNING)
    # What is finished for nobody is no part of it.
    do(studio, log_run, RunDraft(made_on=MORNING.date(), how_many=3, stage="finished"))
    assert [row.run_id for row in studio.journal.read(read_bench).rows] == [mugs]
    assert waits(studio, mugs) == {"packing": 12}
    first = read_first_look(Path(studio.journal.where) / FILE)
    assert first is not None
    assert first.rows == studio.journal.read(read_bench).rows
    do(studio, ship, order, MORNING.date(), [ToShip(page.lines[0].line_id, 10)])
    # The jug is still owed; the two tumblers over are nobody's.
    assert waits(studio, mugs) == {}
    assert studio.journal.read(read_bench).rows == ()
    again = read_first_look(Path(studio.journal.where) / FILE)
    assert again is not None
    assert again.rows == ()


def test_what_is_finished_for_a_set_somebody_ordered_waits_to_be_packed(
    studio: Studio, mugs: int
) -> None:
    part = (SetPartDraft(each=4, form_id=studio.tumbler),)
    ware = do(studio, add_set, SetDraft(name="Four on a tray", parts=part))
    part_id = do(studio, lambda s: s.scalar(select(SetPart.id).where(SetPart.set_id == ware)))
    do(studio, move_pieces, mugs, "wet", "finished", 12, MORNING)
    do(studio, allocate_of_run, ForPart(part_id), mugs, "finished", 4)
    assert waits(studio, mugs) == {}
    lines = (OrderLineDraft(set_id=ware, wanted=1),)
    do(studio, add_order, OrderDraft(whom="Quay café", lines=lines))
    assert waits(studio, mugs) == {"packing": 4}
    first = read_first_look(Path(studio.journal.where) / FILE)
    assert first is not None
    assert [row.run_id for row in first.rows] == [mugs]
    assert first.rows == studio.journal.read(read_bench).rows


def test_how_long_is_counted_from_the_last_that_was_done(studio: Studio, mugs: int) -> None:
    do(studio, move_pieces, mugs, "wet", "leather_hard", 12, MORNING)
    assert work(studio, mugs).waiting[0].since == MORNING
    next_day = date(2026, 11, 13)
    do(studio, log_steps, mugs, "trimmed", "leather_hard", 12, next_day)
    assert work(studio, mugs).waiting[0].since == datetime(2026, 11, 13)


def test_what_was_lost_keeps_its_stage_and_gives_it_back(studio: Studio, mugs: int) -> None:
    before = snapshot(studio.journal)
    do(studio, move_pieces, mugs, "wet", "bone_dry", 5, MORNING)
    do(studio, lose_pieces, mugs, "bone_dry", 2, "S-crack", MORNING)
    do(studio, lose_pieces, mugs, "wet", 1, "collapsed", MORNING)
    row = studio.journal.read(read_bench).rows[0]
    assert row.losses == (LostLot("wet", "collapsed", 1), LostLot("bone_dry", "S-crack", 2))
    assert row.lost == (("S-crack", 2), ("collapsed", 1))
    do(studio, find_again, mugs)
    found = studio.journal.read(lambda s: s.scalars(select(Piece.lost_at, Piece.stage)).all())
    assert list(found).count("bone_dry") == 2
    for _ in range(4):
        studio.journal.undo()
    assert snapshot(studio.journal) == before


def test_a_piece_told_lost_twice_is_found_where_it_stood(studio: Studio, mugs: int) -> None:
    do(studio, move_pieces, mugs, "wet", "bone_dry", 1, MORNING)
    (lost,) = do(studio, lose_pieces, mugs, "bone_dry", 1, "S-crack", MORNING)
    do(studio, move_to_stage, lost, "lost", MORNING + timedelta(hours=1), "thrown away")
    assert do(studio, find_again, mugs) == lost
    found = studio.journal.read(lambda s: s.get(Piece, lost))
    assert (found.stage, found.lost_at, found.lost_why) == ("bone_dry", None, "")


def test_what_was_logged_as_lost_from_the_first_is_found_as_of_that_day(studio: Studio) -> None:
    run = do(studio, log_run, RunDraft(made_on=date(2026, 11, 9), how_many=1, stage="lost"))
    found = do(studio, find_again, run)
    changes = studio.journal.read(
        lambda s: s.execute(
            select(StageChange.stage, StageChange.at).where(StageChange.piece_id == found)
        ).all()
    )
    assert [tuple(one) for one in changes] == [("wet", datetime(2026, 11, 9, 12))]


def test_a_piece_lost_and_moved_on_after_all_forgets_where(studio: Studio, mugs: int) -> None:
    piece_id, _ = do(studio, single_out_one, mugs, "wet")
    do(studio, move_to_stage, piece_id, "lost", MORNING, "dropped")
    do(studio, move_to_stage, piece_id, "lost", MORNING, "dropped twice")
    kept = studio.journal.read(lambda s: s.get(Piece, piece_id))
    assert (kept.lost_at, kept.lost_why) == ("wet", "dropped twice")
    do(studio, move_to_stage, piece_id, "bisque", MORNING)
    kept = studio.journal.read(lambda s: s.get(Piece, piece_id))
    assert (kept.lost_at, kept.lost_why) == (None, "")


def test_a_cover_is_said_in_the_line_and_undone_with_it(studio: Studio, mugs: int) -> None:
    before = snapshot(studio.journal)
    type_line(studio, "63 wrapped in damp weather")
    cover = work(studio, mugs).cover
    assert cover is not None
    assert (cover.cover, cover.weather) == ("loose", "damp")
    # The weather is as it was until it is said again.
    type_line(studio, "63 unwrapped", MORNING + timedelta(hours=3))
    cover = work(studio, mugs).cover
    assert cover is not None
    assert (cover.cover, cover.weather) == ("open", "damp")
    studio.journal.undo()
    studio.journal.undo()
    assert snapshot(studio.journal) == before
    do(studio, wrap_run, mugs, "sealed", MORNING)
    do(studio, delete_run, mugs)
    assert studio.journal.read(read_bench).runs_ever == 0


def test_work_done_over_is_no_progress(studio: Studio, mugs: int) -> None:
    type_line(studio, "63 all leather-hard, 4 trimmed")
    type_line(studio, "63 mended 2 handles")
    type_line(studio, "63 trimmed 3 again")
    assert waits(studio, mugs) == {"trimming": 8, "handles": 4}
    with studio.journal.engine.connect() as connection:
        again = connection.execute(select(Step.name, Step.zone).where(Step.rework)).all()
    assert sorted(map(tuple, again)) == [("mended", "handle")] * 2 + [("trimmed", "")] * 3


def test_a_way_belongs_to_its_form(studio: Studio, mugs: int) -> None:
    way = do(studio, add_way, studio.tumbler, "pressed before trimming")
    do(studio, change_run_facts, mugs, way_id=way)
    page = studio.journal.read(lambda session: read_run_page(session, mugs))
    assert page is not None
    assert page.way_id == way
    other = do(studio, log_run, RunDraft(made_on=date(2026, 11, 9), title="Seconds"))
    with pytest.raises(UserProblem, match="another form"):
        do(studio, change_run_facts, other, way_id=way)
    do(studio, change_run_facts, mugs, form_id=None)
    page = studio.journal.read(lambda session: read_run_page(session, mugs))
    assert page is not None
    assert page.way_id is None


REFUSED: dict[str, tuple[Callable[[Any, int], object], str]] = {
    "more than there are": (
        lambda s, run: move_pieces(s, run, "wet", "bisque", 13, MORNING),
        "only 12",
    ),
    "none at all": (lambda s, run: move_pieces(s, run, "wet", "bisque", 0, MORNING), "one piece"),
    "no such stage": (
        lambda s, run: move_pieces(s, run, "soggy", "wet", 1, MORNING),
        "not a stage",
    ),
    "a loss without a cause": (
        lambda s, run: lose_pieces(s, run, "wet", 1, " ", MORNING),
        "Say why",
    ),
    "a step where none stands": (
        lambda s, run: log_steps(s, run, "trimmed", "leather_hard", 1, MORNING.date()),
        "no counted pieces leather-hard",
    ),
    "less than no time": (
        lambda s, run: log_steps(s, run, "thrown", "wet", 2, MORNING.date(), -1.0),
        "0 minutes or more",
    ),
    "no number of minutes": (
        lambda s, run: log_steps(s, run, "thrown", "wet", 2, MORNING.date(), math.nan),
        "no number at all",
    ),
    "time without end": (
        lambda s, run: log_steps(s, run, "thrown", "wet", 2, MORNING.date(), math.inf),
        "no number at all",
    ),
    "a step without a name": (
        lambda s, run: log_steps(s, run, " ", "wet", 2, MORNING.date()),
        "Give the step",
    ),
    "a cover that is none": (lambda s, run: wrap_run(s, run, "asleep", MORNING), "not a cover"),
    "a run that is gone": (
        lambda s, _run: move_pieces(s, 999, "wet", "bisque", 1, MORNING),
        "no longer in the journal",
    ),
    "none lost": (lambda s, run: find_again(s, run), "No counted piece of this run is lost"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_is_kept(
    studio: Studio, mugs: int, what: str
) -> None:
    edit, says = REFUSED[what]
    before = snapshot(studio.journal)
    with pytest.raises(UserProblem, match=says):
        do(studio, edit, mugs)
    assert snapshot(studio.journal) == before


def test_nothing_is_done_twice_by_a_slip(studio: Studio, mugs: int) -> None:
    do(studio, move_pieces, mugs, "wet", "leather_hard", 12, MORNING)
    do(studio, log_steps, mugs, "trimmed", "leather_hard", 9, MORNING.date())
    with pytest.raises(UserProblem, match="Only 3 of the pieces leather-hard are not turned yet"):
        do(studio, log_steps, mugs, "turned", "leather_hard", 5, MORNING.date())
