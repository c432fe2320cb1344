"""Promises: when what is owed is ready, what would change it, and what a new order may hope."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.limits import SHIPPED
from studiolog.journal.allocation import ForLine, allocate_pieces
from studiolog.journal.demand import read_demand
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.limits import set_limit
from studiolog.journal.opening import Journal
from studiolog.journal.orders import (
    OrderDraft,
    OrderLineDraft,
    add_order,
    change_order,
    read_order_page,
)
from studiolog.journal.pieces import (
    PlacementDraft,
    RunDraft,
    log_run,
    move_to_stage,
    place_piece,
)
from studiolog.journal.promise_plan import PromisePlan
from studiolog.journal.promise_telling import (
    say_holds,
    say_line,
    say_method,
    say_promise,
    say_quote,
    say_ready,
    say_stands,
    say_taking,
    say_throws,
    tell_basis,
)
from studiolog.journal.promises import (
    Promises,
    foresee,
    foresee_runs,
    quote,
    read_promises,
    throws_of,
    with_bisque,
    with_days_away,
    with_line_first,
    with_more_thrown,
)
from studiolog.journal.runs import move_pieces
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.journal.studio_days import add_away
from studiolog.problems import UserProblem
from studiolog.records.pieces import Piece
from tests.journal.conftest import Studio

NOW = datetime(2026, 11, 12, 9)
TODAY = NOW.date()


def told(journal: Journal, now: datetime = NOW) -> Promises:
    answer = foresee(few(journal, now))
    assert answer is not None
    return answer


def few(journal: Journal, now: datetime = NOW) -> PromisePlan:
    """The plan with futures enough for a test."""
    plan = journal.read(lambda session: read_promises(session, now))
    return replace(plan, problem=replace(plan.problem, futures=1_500))


def promise(session: Session, studio: Studio, whom: str, wanted: int, on: date | None) -> int:
    lines = (OrderLineDraft(form_id=studio.tumbler, wanted=wanted),)
    return add_order(session, OrderDraft(whom=whom, promised_on=on, lines=lines))


@pytest.fixture
def owing(studio: Studio) -> Studio:
    """A dozen for the harbour within four months, glazed in part; six for a café, late already."""

    def enter(session: Session) -> None:
        harbour = promise(session, studio, "Harbour", 12, TODAY + timedelta(days=120))
        promise(session, studio, "Café", 6, TODAY - timedelta(days=2))
        page = read_order_page(session, harbour)
        assert page is not None
        draft = RunDraft(
            made_on=date(2026, 11, 2),
            form_id=studio.tumbler,
            how_many=13,
            order_line_id=page.lines[0].line_id,
        )
        run = log_run(session, draft)
        move_pieces(session, run, "wet", "glazed", 13, datetime(2026, 11, 10, 9))

    studio.journal.edit("Orders", enter)
    return studio


def test_a_far_promise_holds_and_a_past_one_does_not(owing: Studio) -> None:
    cafe, harbour = told(owing.journal).lines
    assert (cafe.tone, cafe.chance) == ("late", 0.0)
    assert say_promise(cafe, TODAY) == "promised by 10 Nov, 2 days past"
    assert say_holds(cafe) == "holds at under 1\N{NARROW NO-BREAK SPACE}%"
    assert harbour.tone == "met"
    assert harbour.chance is not None
    assert harbour.chance > 0.9
    assert harbour.low_on is not None
    assert harbour.middle_on is not None
    assert TODAY < harbour.low_on < harbour.middle_on < (harbour.high_on or date.max)
    assert say_line(harbour) == "1  Harbour: Ripple tumbler"
    assert say_stands(harbour) == "12 owed: 13 glazed"
    assert say_stands(cafe).startswith("6 owed: ")
    assert cafe.shown.to_throw >= 6
    assert say_ready(harbour, TODAY).startswith("ready ")


def test_a_promise_is_tight_from_the_middle_of_the_futures_to_the_sure_day(owing: Studio) -> None:
    harbour = told(owing.journal).lines[1]
    order = harbour.shown.demand.order_id
    assert harbour.middle_on is not None
    assert harbour.sure_on is not None
    for on, tone in (
        (harbour.middle_on - timedelta(days=1), "late"),
        (harbour.middle_on, "tight"),
        (harbour.sure_on - timedelta(days=1), "tight"),
        (harbour.sure_on, "met"),
    ):
        owing.journal.edit(
            "Promise", lambda session, on=on: change_order(session, order, promised_on=on)
        )
        assert told(owing.journal).lines[1].tone == tone


def test_the_usual_promise_can_be_given_again_once_its_weeks_reach_the_sure_day(
    owing: Studio,
) -> None:
    owing.journal.edit("Soon", lambda session: set_limit(session, "promise_typical_weeks", 1))
    taking = told(owing.journal).taking
    assert (taking.weeks, taking.is_wise) == (1, False)
    assert taking.again_on is not None
    assert taking.weeks_sure is not None
    sure = taking.again_on + timedelta(weeks=1)
    assert taking.again_on > TODAY
    assert taking.weeks_sure == -(-(sure - TODAY).days // 7)


def test_the_same_journal_gives_the_same_answer(owing: Studio) -> None:
    first, second = told(owing.journal), told(owing.journal)
    assert [line.forecast for line in first.lines] == [line.forecast for line in second.lines]


def test_the_run_on_the_bench_has_the_promise_of_its_line(owing: Studio) -> None:
    answer = told(owing.journal)
    (run,) = foresee_runs(answer).values()
    harbour = answer.lines[1]
    assert (run.middle_on, run.tone, run.promised_on) == (
        harbour.middle_on,
        "met",
        harbour.shown.promised_on,
    )


def test_days_away_cost_and_one_more_bisque_does_not_harm(owing: Studio) -> None:
    answer = told(owing.journal)
    away = with_days_away(answer, TODAY + timedelta(days=1), TODAY + timedelta(days=21))
    bisque = with_bisque(answer, TODAY + timedelta(days=9))
    assert away is not None
    assert bisque is not None
    cafe = answer.lines[0].key
    for shift in away.shifts:
        assert shift.days is not None
        assert shift.days >= 10
    shift = bisque.of(cafe)
    assert shift is not None
    assert shift.days is not None
    assert shift.days <= 0
    assert away.kept_after <= away.kept_before
    noted = owing.journal.edit(
        "Away", lambda s: add_away(s, TODAY + timedelta(days=1), TODAY + timedelta(days=21))
    )
    assert noted.value
    # Noted, they cost what was told; the luck of every lot is the same.
    later = told(owing.journal)
    for before, after, cost in zip(answer.lines, later.lines, away.shifts, strict=True):
        was, now = before.forecast.day_at(0.9), after.forecast.day_at(0.9)
        assert was is not None
        assert now == was + (cost.days or 0)


def test_a_line_taken_first_is_ready_no_later_and_more_thrown_are_fewer_made_again(
    owing: Studio,
) -> None:
    owing.journal.edit(
        "Big order",
        lambda s: promise(s, owing, "Market", 300, TODAY - timedelta(days=10)),
    )
    answer = told(owing.journal)
    cafe = next(line for line in answer.lines if line.shown.demand.whom == "Café")
    first = with_line_first(answer, cafe.key)
    assert first is not None
    shift = first.of(cafe.key)
    assert shift is not None
    assert (shift.days or 0) < -5
    more = with_more_thrown(answer, cafe.key, 6)
    assert more is not None
    with pytest.raises(UserProblem, match="one more"):
        with_more_thrown(answer, cafe.key, 0)


def test_what_ifs_of_days_past_are_refused(owing: Studio) -> None:
    answer = told(owing.journal)
    with pytest.raises(UserProblem, match="ahead"):
        with_bisque(answer, TODAY - timedelta(days=1))
    with pytest.raises(UserProblem, match="in order"):
        with_days_away(answer, TODAY + timedelta(days=5), TODAY)
    with pytest.raises(UserProblem, match="over"):
        with_days_away(answer, TODAY - timedelta(days=5), TODAY - timedelta(days=4))


def test_nothing_owed_and_no_history_still_tells_what_may_be_promised(journal: Journal) -> None:
    answer = told(journal)
    assert answer.lines == ()
    taking = answer.taking
    assert taking.pieces == SHIPPED["promise_typical_pieces"]
    assert 0 < taking.chance < 1
    assert taking.weeks_sure is not None
    words = say_taking(taking)
    assert "wise" in words or words.startswith("Orders can be taken")
    assert all("stated" in name for name, _ in tell_basis(answer.plan))
    asked = quote(answer.plan, None, 12)
    assert asked is not None
    assert asked.high_weeks == taking.weeks_sure
    assert say_quote(asked).startswith("12 pieces: ")
    assert "holds at" in say_quote(asked)


def test_a_quote_comes_after_all_that_is_owed(owing: Studio) -> None:
    before = quote(few(owing.journal), owing.tumbler, 12)
    owing.journal.edit(
        "Market", lambda s: promise(s, owing, "Market", 400, TODAY + timedelta(days=30))
    )
    after = quote(few(owing.journal), owing.tumbler, 12)
    assert before is not None
    assert after is not None
    assert before.form == "Ripple tumbler"
    assert before.throw >= 12
    assert before.chance >= 0.9
    assert (after.high_weeks or 99) > (before.high_weeks or 0)
    chances = [chance for _, chance in before.weeks]
    assert chances == sorted(chances)


@pytest.mark.parametrize("pieces", [0, -3, 2_000_000])
def test_a_quote_for_no_pieces_or_too_many_is_refused(journal: Journal, pieces: int) -> None:
    with pytest.raises(UserProblem, match="1 to"):
        quote(few(journal), None, pieces)


def test_a_line_of_a_hundred_thousand_is_later_than_can_be_told(studio: Studio) -> None:
    studio.journal.edit(
        "World", lambda s: promise(s, studio, "World", 100_000, TODAY + timedelta(days=60))
    )
    (line,) = told(studio.journal).lines
    assert (line.chance, line.low_on, line.tone) == (0.0, None, "late")
    assert say_ready(line, TODAY) == "ready later than can be told"


def test_a_form_without_steps_takes_what_is_stated(journal: Journal) -> None:
    form = journal.edit("Form", lambda s: add_form(s, FormDraft(name="Bowl"))).value
    plan = few(journal).plan_of(form)
    assert not plan.says_minutes
    assert plan.line.minutes.all == pytest.approx(SHIPPED["promise_piece_minutes"])
    steps = (("thrown", 6.0), ("trimmed", 4.0), ("glazed", 5.0), ("ground", 1.0))
    other = journal.edit("Form", lambda s: add_form(s, FormDraft(name="Cup", steps=steps))).value
    minutes = few(journal).plan_of(other).line.minutes
    assert (minutes.forming, minutes.leather_hard, minutes.glazing, minutes.finishing) == (
        6.0,
        4.0,
        5.0,
        1.0,
    )
    # A form nobody timed takes as long as those that were.
    assert few(journal).plan_of(form).line.minutes.all == pytest.approx(16.0)


def test_where_all_was_lost_no_number_is_enough(journal: Journal) -> None:
    journal.edit(
        "All is lost",
        lambda s: [
            set_limit(s, f"promise_loss_{stage}", 0.95)
            for stage in ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired")
        ],
    )
    plan = few(journal)
    (sure,) = throws_of(plan, None, 10, (0.9,))
    assert sure.throw is None or sure.throw > 10_000
    with pytest.raises(UserProblem, match="counted from 0"):
        throws_of(plan, None, -1)
    assert [row.throw for row in throws_of(plan, None, 0)] == [0] * 5


def test_how_many_to_throw_is_a_small_table(journal: Journal) -> None:
    plan = few(journal)
    rows = say_throws(10, throws_of(plan, None, 10))
    assert rows[2][0] == "10 good ones with 90\N{NARROW NO-BREAK SPACE}%"
    counts = [int(count) for _, count in rows]
    assert counts == sorted(counts)
    assert counts[0] >= 10
    assert counts[-1] > counts[0]


def test_ware_in_a_kiln_that_was_lit_comes_out_of_it(owing: Studio) -> None:
    before = told(owing.journal).lines[1]

    def light(session: Session) -> None:
        firing = log_firing(
            session,
            FiringDraft(kiln_id=owing.kiln, started_at=NOW - timedelta(hours=20), kind="glaze"),
        )
        for piece in session.scalars(select(Piece.id).where(Piece.stage == "glazed")).all():
            place_piece(session, piece, PlacementDraft(firing_id=firing))

    owing.journal.edit("Light the kiln", light)
    after = told(owing.journal).lines[1]
    assert after.middle_on is not None
    assert before.middle_on is not None
    assert after.middle_on < before.middle_on
    assert dict(zip(_SEGMENTS, after.forecast.holds, strict=True))["glaze_wait"] == 0


def test_no_two_lines_have_the_same_cups_in_the_kiln(owing: Studio) -> None:
    """Of thirteen of one run five stand in the kiln that was lit, and six are the café's."""

    def light(session: Session) -> None:
        glazed = session.scalars(select(Piece.id).where(Piece.stage == "glazed")).all()
        cafe = next(one for one in read_demand(session, TODAY) if one.whom == "Café")
        assert cafe.line_id is not None
        allocate_pieces(session, ForLine(cafe.line_id), glazed[:6])
        draft = FiringDraft(kiln_id=owing.kiln, started_at=NOW - timedelta(hours=20), kind="glaze")
        for firing in (log_firing(session, draft), log_firing(session, draft)):  # one by a slip
            for piece in glazed[:5]:
                place_piece(session, piece, PlacementDraft(firing_id=firing))

    owing.journal.edit("Light the kiln", light)
    lines = few(owing.journal).problem.lines
    lots = [lot for line in lines for lot in line.lots if lot.stage == "glazed"]
    assert sum(lot.pieces for lot in lots) == 13
    assert sum(lot.pieces for lot in lots if lot.in_kiln_h is not None) == 5


_SEGMENTS = (
    "hands", "wet", "leather_hard", "bisque_wait", "bisque_kiln", "glazing", "glaze_wait",
    "glaze_kiln", "finishing", "again",
)  # fmt: skip


def test_what_stands_finished_is_ready_today(studio: Studio) -> None:
    def enter(session: Session) -> None:
        order = promise(session, studio, "Harbour", 3, TODAY)
        page = read_order_page(session, order)
        assert page is not None
        draft = RunDraft(
            made_on=date(2026, 10, 2), form_id=studio.tumbler, how_many=3,
            order_line_id=page.lines[0].line_id,
        )  # fmt: skip
        run = log_run(session, draft)
        for piece in session.scalars(select(Piece.id).where(Piece.run_id == run)).all():
            move_to_stage(session, piece, "finished", datetime(2026, 11, 1, 9))

    studio.journal.edit("Ready", enter)
    (line,) = told(studio.journal).lines
    assert (line.middle_on, line.chance, line.tone) == (TODAY, 1.0, "met")


def test_a_part_that_is_bought_is_not_foreseen_and_holds_nothing_up(studio: Studio) -> None:
    def lamps(session: Session) -> int:
        parts = (
            SetPartDraft(each=12, form_id=studio.tumbler),
            SetPartDraft(each=1, what="string with its lamps, bought"),
        )
        set_id = add_set(session, SetDraft(name="Lamps on a string", parts=parts))
        made = RunDraft(
            made_on=TODAY, how_many=12, form_id=studio.tumbler, stage="finished",
            set_part_id=read_demand(session, TODAY)[0].part_id,
        )  # fmt: skip
        log_run(session, made)
        line = OrderLineDraft(set_id=set_id, wanted=1)
        promised = TODAY + timedelta(days=3)
        return add_order(session, OrderDraft(whom="Chapel", promised_on=promised, lines=(line,)))

    order = studio.journal.edit("Order", lamps).value
    answer = told(studio.journal)
    (line,) = answer.order_lines(order)
    assert line.shown.demand.form_id == studio.tumbler
    assert (line.chance, line.middle_on) == (1.0, TODAY)
    assert [demand.title for demand in answer.plan.elsewhere] == ["string with its lamps, bought"]
    assert "holds nothing up: “string with its lamps, bought”." in say_method(answer)

    # What is made here without being a form of its own is foreseen once it is begun.
    part = answer.plan.elsewhere[0].part_id
    hook = RunDraft(made_on=TODAY, how_many=1, title="Hook of clay", set_part_id=part)
    studio.journal.edit("Run", lambda session: log_run(session, hook))
    assert len(told(studio.journal).order_lines(order)) == 2
