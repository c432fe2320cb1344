"""How long ware stays at a stage, what is lost there, how often the kiln is fired."""

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.limits import SHIPPED
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import RunDraft, log_run, move_to_stage
from studiolog.journal.runs import lose_pieces
from studiolog.journal.stage_times import PATH, StageTimes, read_stage_times
from studiolog.journal.writing import add
from studiolog.records.pieces import CoverChange, Piece

MONDAY = datetime(2026, 9, 7, 12)  # when a run made on that day is taken to be wet


def make_run(session: Session, form_id: int | None, pieces: int, purpose: str = "stock") -> int:
    return log_run(
        session,
        RunDraft(made_on=MONDAY.date(), form_id=form_id, how_many=pieces, purpose=purpose),
    )


def pass_on(session: Session, run_id: int, stage: str, since: float, began: datetime) -> None:
    """Every piece of a run that is not lost reaches a stage so many hours after it began."""
    for piece in session.scalars(
        select(Piece.id).where(Piece.run_id == run_id, Piece.stage != "lost")
    ).all():
        move_to_stage(session, piece, stage, began + timedelta(hours=since))


def test_an_empty_journal_tells_what_is_stated_and_says_so(journal: Journal) -> None:
    known = journal.read(read_stage_times)
    assert known == StageTimes(limits=SHIPPED, rhythms=known.rhythms)
    assert known.runs == 0
    for stage in PATH[:-1]:
        assert known.usual(stage).of == "stated"
        assert known.loss(stage).of == "stated"
        assert known.loss(stage).mean == pytest.approx(SHIPPED[f"promise_loss_{stage}"])
    assert known.usual("wet").median_h == pytest.approx(SHIPPED["promise_wet_h"])
    assert known.rhythm("glaze").firings == 0
    with pytest.raises(KeyError):
        known.usual("finished")


def test_a_run_of_forty_says_no_more_than_a_run_of_one(journal: Journal) -> None:
    def enter(session: Session) -> tuple[int, int]:
        many = make_run(session, None, 40)
        few = make_run(session, None, 1)
        for run, hours in ((many, 10), (few, 40)):
            pass_on(session, run, "leather_hard", hours, MONDAY)
        return many, few

    journal.edit("Throw", enter)
    known = journal.read(read_stage_times)
    learnt = known.usual("wet")
    assert learnt.runs == 2
    # 10 h and 40 h meet at 20 h, which is also what is stated: the forty pull no harder.
    assert learnt.median_h == pytest.approx(20.0)
    assert {time.pieces for time in known.times} == {40, 1}


def test_a_form_that_dries_slowly_is_told_from_the_rest_and_tests_do_not_count(
    journal: Journal,
) -> None:
    def enter(session: Session) -> int:
        jar = add_form(session, FormDraft(name="Lidded jar"))
        for number in range(6):
            run = make_run(session, jar if number % 2 else None, 3)
            pass_on(session, run, "leather_hard", 0, MONDAY)
            pass_on(session, run, "bone_dry", 240 if number % 2 else 72, MONDAY)
        tests = make_run(session, None, 5, "test")
        pass_on(session, tests, "leather_hard", 0, MONDAY)
        pass_on(session, tests, "bone_dry", 2, MONDAY)
        return jar

    jar = journal.edit("Make", enter).value
    known = journal.read(read_stage_times)
    every, of_jar = known.usual("leather_hard"), known.usual("leather_hard", jar)
    assert (every.runs, every.of) == (6, "studio")
    assert (of_jar.runs, of_jar.of) == (3, "form")
    assert 72 < every.median_h < of_jar.median_h < 240
    assert known.usual("leather_hard", jar + 1) == every


def test_a_lost_board_counts_where_it_was_lost_and_waiting_ware_not_at_all(
    journal: Journal,
) -> None:
    def enter(session: Session) -> None:
        for lost in (0, 6):
            run = make_run(session, None, 12)
            pass_on(session, run, "leather_hard", 20, MONDAY)
            if lost:
                lose_pieces(session, run, "leather_hard", lost, "split", MONDAY.replace(day=9))
            pass_on(session, run, "bone_dry", 90, MONDAY)
        make_run(session, None, 30)

    journal.edit("Dry", enter)
    known = journal.read(read_stage_times)
    rate = known.loss("leather_hard")
    assert (rate.pieces, rate.lost, rate.runs) == (24, 6, 2)
    assert known.loss("wet").pieces == 24  # the thirty are still wet: nothing is known of them
    assert known.loss("bone_dry").pieces == 0
    # Six lost together say less than six lost one by one.
    assert SHIPPED["promise_loss_leather_hard"] < rate.mean < 6 / 24
    assert rate.alike > SHIPPED["promise_alike"]
    whole = known.loss_from("wet")
    assert whole.mean > rate.mean


def test_how_ware_stood_is_told_by_the_cover_that_held_longest(journal: Journal) -> None:
    def enter(session: Session) -> None:
        run = make_run(session, None, 2)
        add(session, CoverChange(run_id=run, at=MONDAY, cover="open", weather="dry"))
        later = MONDAY + timedelta(hours=4)
        add(session, CoverChange(run_id=run, at=later, cover="sealed", weather="damp"))
        for piece in session.scalars(select(Piece.id).where(Piece.run_id == run)).all():
            move_to_stage(session, piece, "leather_hard", MONDAY)
        pass_on(session, run, "bone_dry", 200, MONDAY)

    journal.edit("Wrap", enter)
    known = journal.read(read_stage_times)
    (time,) = [time for time in known.times if time.stage == "leather_hard"]
    assert (time.cover, time.weather) == ("sealed", "damp")
    assert known.usual("leather_hard", cover="sealed").runs == 1
    assert known.usual("leather_hard", cover="open").of == "stated"


def test_the_kiln_is_fired_as_often_as_it_was(journal: Journal) -> None:
    def enter(session: Session) -> None:
        kiln = add_kiln(session, KilnDraft(name="Big kiln"))
        for week in range(8):
            begun = datetime(2026, 1, 5, 7) + timedelta(weeks=week)
            log_firing(session, FiringDraft(kiln_id=kiln, started_at=begun, kind="bisque"))

    journal.edit("Fire", enter)
    known = journal.read(read_stage_times)
    weekly = known.rhythm("bisque")
    assert weekly.firings == 8
    assert weekly.last_at == datetime(2026, 2, 23, 7)
    assert 7 * 24 <= weekly.gap.median_h < SHIPPED["promise_bisque_gap_days"] * 24
    assert known.rhythm("glaze").last_at is None
    assert date(2026, 2, 23) == weekly.last_at.date()


def test_what_splits_while_the_rest_still_stands_there_is_no_total_loss(journal: Journal) -> None:
    """Of 63 one split: until most have gone on the other 62 are not known to be sound either."""

    def throw(session: Session) -> int:
        run = make_run(session, None, 63)
        pass_on(session, run, "leather_hard", 20, MONDAY)
        lose_pieces(session, run, "leather_hard", 1, "split", MONDAY.replace(day=9))
        for piece in session.scalars(
            select(Piece.id).where(Piece.stage == "leather_hard").limit(5)
        ):
            move_to_stage(session, piece, "bone_dry", MONDAY + timedelta(hours=90))
        return run

    run = journal.edit("Trim five", throw).value
    early = journal.read(read_stage_times)
    assert (early.loss("wet").pieces, early.loss("wet").lost) == (63, 0)
    assert early.loss("leather_hard").of == "stated"

    def go_on(session: Session) -> None:
        for piece in session.scalars(
            select(Piece.id).where(Piece.run_id == run, Piece.stage == "leather_hard").limit(26)
        ):
            move_to_stage(session, piece, "bone_dry", MONDAY + timedelta(hours=99))

    journal.edit("Trim more", go_on)
    half = journal.read(read_stage_times).loss("leather_hard")
    assert (half.pieces, half.lost) == (32, 1)  # 31 went on, 31 stand there, one is lost
