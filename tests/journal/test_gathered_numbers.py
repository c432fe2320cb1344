"""What the sums are given: no ware twice, none of another clay, and no tool."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from scipy import stats
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.ware.usual_time import stated_time
from studiolog.journal.absorption import AbsorptionDraft, add_absorption, read_absorption
from studiolog.journal.allocation import ForLine, ForPart, allocate_from_stock, allocate_of_run
from studiolog.journal.costs import read_form_cost
from studiolog.journal.demand import Demand, read_demand
from studiolog.journal.form_steps import MakingStep, set_steps
from studiolog.journal.order_lines import OrderLineDraft
from studiolog.journal.pieces import (
    PieceDraft,
    RunDraft,
    SizeDraft,
    log_piece,
    log_run,
    log_step,
    move_to_stage,
)
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.journal.shipments import ToShip, read_packing_list, ship
from studiolog.journal.sizes import read_shrinkage
from studiolog.journal.stage_times import read_stage_times
from studiolog.journal.tools import set_kind
from studiolog.journal.waiting_for import FormWork
from studiolog.journal.working_time import Stand, chance_too_stiff, read_windows
from studiolog.problems import UserProblem
from studiolog.records.orders import SetPart
from studiolog.records.pieces import Piece
from tests.journal.conftest import Studio
from tests.journal.order_story import TODAY, do, line_of, make_run, take_order

DAY = datetime(2026, 9, 7, 12)


def test_only_the_clay_itself_and_what_was_measured_as_it_came_from_the_kiln_tell(
    studio: Studio,
) -> None:
    def log(session: Session) -> None:
        for clay, sizes in (
            (studio.buff, {"wet": 100.0, "fired": 88.0, "finished": 87.0}),  # ground since
            (studio.buff, {"wet": 100.0, "finished": 87.0}),
            (studio.red, {"wet": 100.0, "fired": 70.0}),
        ):
            told = tuple(SizeDraft(stage=stage, mark_mm=mm) for stage, mm in sizes.items())
            log_piece(session, PieceDraft(clay_id=clay, stage="finished", sizes=told))

    do(studio, log)
    clay = studio.journal.read(lambda session: read_shrinkage(session, studio.buff))
    assert sorted(round(one.shrinkage, 4) for one in clay.stage("total").pieces) == [0.12, 0.13]


def test_the_cone_at_a_specimen_goes_before_the_one_said(
    studio: Studio, log_tumbler: Callable[..., int]
) -> None:
    log_tumbler()
    draft = AbsorptionDraft(tested_on=TODAY, dry_g=200, saturated_g=206, piece_number=1, cone="9")
    do(studio, add_absorption, studio.buff, draft, TODAY)
    do(studio, add_absorption, studio.buff, replace(draft, piece_number=None), TODAY)
    page = studio.journal.read(lambda session: read_absorption(session, studio.buff))
    said, read = page.lines
    assert (said.cone10, said.cone_basis) == (90, None)
    assert read.cone_basis == "read"
    assert read.cone10 is not None
    assert read.cone10 < 80
    with pytest.raises(UserProblem, match="today or before"):
        do(studio, add_absorption, studio.buff, draft, TODAY - timedelta(days=1))


def test_a_tool_tells_no_time_and_a_stage_nobody_noted_is_no_stage(studio: Studio) -> None:
    def log(session: Session) -> None:
        run = log_run(session, RunDraft(made_on=DAY.date(), how_many=2))
        for piece in session.scalars(select(Piece.id).where(Piece.run_id == run)).all():
            move_to_stage(session, piece, "bone_dry", DAY + timedelta(hours=200))
        stamp = log_piece(session, PieceDraft(made_on=DAY.date(), stage="wet"))
        set_kind(session, stamp, "tool")
        whisk = log_piece(session, PieceDraft(run_id=run, made_on=DAY.date(), stage="wet"))
        set_kind(session, whisk, "tool")
        for tool in (stamp, whisk):
            move_to_stage(session, tool, "leather_hard", DAY + timedelta(hours=50))
            move_to_stage(session, tool, "lost", DAY + timedelta(hours=60), "broke")

    do(studio, log)
    known = studio.journal.read(read_stage_times)
    assert known.times == ()
    assert (known.loss("wet").pieces, known.loss("leather_hard").pieces) == (2, 2)
    assert known.loss("leather_hard").lost == 0


def test_ware_that_is_workable_now_is_too_stiff_later_by_what_is_left_of_the_chance() -> None:
    usual = stated_time(30.0, 1.6, 4.0)
    stand = Stand(0.5, usual, None, None, FormWork(), "cups", 1)
    whole = stats.lognorm(usual.next_spread, scale=30.0)
    expected = (whole.cdf(15 + 12) - whole.cdf(15)) / whole.sf(15)
    assert chance_too_stiff(stand, 12.0) == pytest.approx(expected)


def test_work_done_over_is_not_work_done(studio: Studio) -> None:
    def log(session: Session) -> int:
        set_steps(session, studio.tumbler, [MakingStep("trimmed", 6, "leather_hard")])
        run = log_run(session, RunDraft(made_on=DAY.date(), form_id=studio.tumbler, how_many=4))
        pieces = session.scalars(select(Piece.id).where(Piece.run_id == run)).all()
        for piece in pieces:
            move_to_stage(session, piece, "leather_hard", DAY + timedelta(hours=20))
        log_step(session, pieces[0], "trimmed", DAY.date(), rework=True)
        log_step(session, pieces[1], "trimmed", DAY.date())
        return run

    run = do(studio, log)
    now = DAY + timedelta(hours=22)
    window = studio.journal.read(lambda session: read_windows(session, [run], now))[run]
    assert [(step.name, step.pieces) for step in window.steps] == [("trimmed", 3)]


def test_two_timed_cups_are_too_few_and_two_at_one_step_are_both_paid(studio: Studio) -> None:
    def log(session: Session) -> None:
        step = MakingStep("thrown", 6, "wet", persons=2)
        set_steps(session, studio.tumbler, [step])
        run = log_run(session, RunDraft(made_on=DAY.date(), form_id=studio.tumbler, how_many=2))
        for piece in session.scalars(select(Piece.id).where(Piece.run_id == run)):
            log_step(session, piece, "thrown", DAY.date(), 30.0)

    do(studio, log)
    line = studio.journal.read(lambda session: read_form_cost(session, studio.tumbler))
    assert line is not None
    assert [(one.minutes, one.basis) for one in line.cost.work] == [(12.0, "as the form plans it")]


def owed(studio: Studio, today: date = TODAY) -> tuple[Demand, ...]:
    return studio.journal.read(lambda session: read_demand(session, today))


def test_what_is_promised_by_today_is_not_late_yet(studio: Studio) -> None:
    take_order(studio, wanted=1, promised_on=TODAY)
    assert [one.overdue for one in owed(studio)] == [False]
    assert [one.overdue for one in owed(studio, TODAY + timedelta(days=1))] == [True]


def test_counted_cups_are_set_aside_before_those_with_a_number(studio: Studio) -> None:
    run = make_run(studio, 3)
    singled = do(studio, log_piece, PieceDraft(number=7, run_id=run, stage="finished"))
    line = line_of(studio, take_order(studio))
    assert singled not in do(studio, allocate_of_run, ForLine(line), run, "finished", 3)
    assert do(studio, allocate_of_run, ForLine(line), run, "finished", 1) == (singled,)


def test_the_packing_list_counts_what_broke_on_the_way_as_still_to_come(studio: Studio) -> None:
    order = take_order(studio)
    make_run(studio, 12, order_line_id=line_of(studio, order), purpose="order")
    lines = [ToShip(line_of(studio, order), 8)]
    sent = do(studio, ship, order, TODAY, lines, "", TODAY).shipment_id
    gone = studio.journal.read(
        lambda session: session.scalars(select(Piece.id).where(Piece.shipment_id == sent)).all()
    )
    do(studio, move_to_stage, gone[0], "lost", datetime(2026, 11, 12, 15), "broke in the post")
    packed = studio.journal.read(lambda session: read_packing_list(session, sent))
    assert packed is not None
    assert [(line.packed, line.still_to_come) for line in packed.lines] == [(8, 5)]


def test_a_set_that_stands_whole_is_owed_until_it_has_left_where_an_order_asks_for_it(
    studio: Studio,
) -> None:
    part = SetPartDraft(each=3, form_id=studio.tumbler)
    ware = do(studio, add_set, SetDraft(name="Three cups", parts=(part,)))
    run = make_run(studio, 8)
    part_id = studio.journal.read(lambda session: session.scalar(select(SetPart.id)))
    assert part_id is not None
    do(studio, allocate_from_stock, ForPart(part_id), 3)
    assert owed(studio) == ()
    take_order(studio, lines=(OrderLineDraft(wanted=1, set_id=ware),))
    (line,) = owed(studio)
    assert (line.wanted, line.progress.ready, line.progress.left) == (3, 3, 3)
    # What belongs to the set is not free for another line.
    other = line_of(studio, take_order(studio, wanted=6))
    with pytest.raises(UserProblem, match="only 5"):
        do(studio, allocate_of_run, ForLine(other), run, "finished", 6)
    assert len(do(studio, allocate_of_run, ForLine(other), run, "finished", 5)) == 5
    assert sum(sum(one.by_stage.values()) for one in owed(studio)) == 8
