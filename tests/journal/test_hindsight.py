"""What would have been promised, against what came: the studio put back as it stood."""

from dataclasses import replace
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.hindsight import (
    Hindsight,
    PastOrder,
    read_past_orders,
    say_hindsight,
    tell_hindsight,
)
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.runs import move_pieces
from studiolog.journal.shipments import ToShip, ship
from studiolog.journal.stage_times import read_stage_times
from tests.journal.conftest import Studio

TAKEN = date(2026, 6, 1)
WAY = ("leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished")
AFTER = {"leather_hard": 1, "bone_dry": 6, "bisque": 14, "glazed": 18, "fired": 27, "finished": 29}


def make(session: Session, studio: Studio, line_id: int | None, begun: date, count: int) -> int:
    """A run for a line, at the pace of a studio that fires every fortnight."""
    run = log_run(
        session,
        RunDraft(
            made_on=begun, form_id=studio.tumbler, clay_id=studio.buff, how_many=count,
            order_line_id=line_id,
        ),
    )  # fmt: skip
    before = "wet"
    for stage in WAY:
        at = datetime.combine(begun + timedelta(days=AFTER[stage]), datetime.min.time())
        move_pieces(session, run, before, stage, count, at + timedelta(hours=10))
        before = stage
    return run


def deliver(session: Session, studio: Studio, taken: date, begun: date, left: date) -> int:
    """An order for eight tumblers that was taken, made and fetched on these days."""
    order = add_order(
        session,
        OrderDraft(
            whom="Harbour", ordered_on=taken, promised_on=taken + timedelta(days=56),
            lines=(OrderLineDraft(form_id=studio.tumbler, wanted=8),),
        ),
    )  # fmt: skip
    page = read_order_page(session, order)
    assert page is not None
    line = page.lines[0].line_id
    make(session, studio, line, begun, 8)
    ship(session, order, left, [ToShip(line, 8)], "", left)
    return order


def past(studio: Studio) -> tuple[PastOrder, ...]:
    found = studio.journal.read(read_past_orders)
    return tuple(replace(one, problem=replace(one.problem, futures=300)) for one in found)


def test_an_order_is_told_as_on_the_day_it_was_taken(studio: Studio) -> None:
    begun, left = TAKEN + timedelta(days=4), TAKEN + timedelta(days=40)
    order = studio.journal.edit("Deliver", lambda s: deliver(s, studio, TAKEN, begun, left)).value

    def later(session: Session) -> None:
        # An order that was filled from stock tells nothing; nor does what came a year later.
        deliver(session, studio, TAKEN + timedelta(days=60), begun, TAKEN + timedelta(days=61))
        make(session, studio, None, TAKEN + timedelta(days=365), 30)
        lit = datetime(2027, 6, 1, 9)
        log_firing(session, FiringDraft(kiln_id=studio.kiln, kind="bisque", started_at=lit))

    studio.journal.edit("Later", later)
    (one,) = past(studio)
    assert (one.order_id, one.taken_on, one.left_on) == (order, TAKEN, left)
    assert one.ready_on == begun + timedelta(days=29)
    # On that morning nothing of it was begun: all eight were still to be thrown, and some over.
    (line,) = (line for line in one.problem.lines if line.wanted)
    assert line.wanted == 8
    assert {lot.stage for lot in line.lots} == {"to_throw"}
    assert sum(lot.pieces for lot in line.lots) >= 8
    assert one.problem.today == TAKEN
    # No time of that run was known by then, nor a firing that came after.
    then = studio.journal.read(
        lambda s: read_stage_times(s, until=datetime.combine(TAKEN, datetime.min.time()))
    )
    assert then.times == ()
    assert then.losses == ()
    now = studio.journal.read(read_stage_times)
    assert now.runs == 3
    assert one.problem.bisque.gap == then.rhythm("bisque").gap

    told = tell_hindsight([one])
    assert told is not None
    (order_told,) = told
    assert order_told.low_on is not None
    assert order_told.middle_on is not None
    assert order_told.high_on is not None
    assert TAKEN < order_told.low_on <= order_told.middle_on <= order_told.high_on
    assert tell_hindsight([one]) == told  # the same luck every time
    assert tell_hindsight([one], lambda _done, _all: False) is None


def test_what_was_begun_by_then_stands_where_it_stood(studio: Studio) -> None:
    begun = TAKEN - timedelta(days=10)
    studio.journal.edit(
        "Deliver", lambda s: deliver(s, studio, TAKEN, begun, TAKEN + timedelta(days=30))
    )
    (one,) = past(studio)
    (line,) = (line for line in one.problem.lines if line.wanted)
    (lot,) = line.lots
    # Bone dry since four days and an hour less: six days after ten, asked at nine.
    assert (lot.stage, lot.pieces, lot.hours) == ("bone_dry", 8, 4 * 24 - 1)


def test_how_they_fared_is_said_in_a_sentence() -> None:
    likely = Hindsight(
        1, 24, "Harbour", TAKEN, date(2026, 7, 10), date(2026, 7, 12), date(2026, 7, 1),
        date(2026, 7, 8), date(2026, 7, 20),
    )  # fmt: skip
    assert likely.fell == "within"
    assert replace(likely, ready_on=date(2026, 7, 20)).fell == "within"
    late = replace(likely, ready_on=date(2026, 7, 21))
    early = replace(likely, ready_on=date(2026, 6, 30))
    assert (late.fell, early.fell) == ("later", "sooner")
    assert replace(late, high_on=None).fell == "within"
    assert replace(late, low_on=None).fell == "sooner"
    said = say_hindsight([likely] * 9 + [late])
    assert said == (
        "Of 10 delivered orders, 9 were ready within the span that would have been called likely "
        "on the day each was taken, 1 later."
    )
    assert say_hindsight([early]).startswith("Of one delivered order, none was ready")
    assert "too few to judge by" in say_hindsight([early])
    assert say_hindsight(()).startswith("No delivered order tells of it yet")
