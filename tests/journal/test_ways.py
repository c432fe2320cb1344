"""A potter tries two ways of pressing a pattern, and keeps the one that pays."""

from collections.abc import Callable
from datetime import date, datetime
from functools import partial

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.form_page import read_form_page
from studiolog.journal.forms import FormDraft, add_form, delete_form
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import (
    PieceDraft,
    RunDraft,
    log_piece,
    log_run,
    log_step,
    move_to_stage,
)
from studiolog.journal.tools import set_kind
from studiolog.journal.way_results import WaysCompared, compare_ways
from studiolog.journal.ways import (
    add_way,
    change_way,
    delete_way,
    judge_way,
    list_ways,
    set_way,
)
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.pieces import Piece, Step

DAY = date(2026, 9, 2)
Do = Callable[[Callable[[Session], int]], int]


@pytest.fixture
def do(journal: Journal) -> Do:
    return lambda edit: journal.edit("Work", edit).value


@pytest.fixture
def mug(do: Do) -> int:
    return do(partial(add_form, draft=FormDraft(name="Panel mug")))


def make(
    session: Session, form: int, way: int | None, minutes: tuple[float, ...], rework: int, lost: int
) -> int:
    """A run of mugs; each took so many minutes to press; the first few were done over or lost."""
    draft = RunDraft(made_on=DAY, form_id=form, how_many=len(minutes))
    run = log_run(session, draft)
    set_way(session, run, way)
    pieces = session.scalars(select(Piece.id).where(Piece.run_id == run).order_by(Piece.id)).all()
    for place, (piece, took) in enumerate(zip(pieces, minutes, strict=True)):
        log_step(session, piece, "panels pressed", DAY, took)
        if place < rework:
            session.add(
                Step(piece_id=piece, name="pressed again", done_on=DAY, minutes=10, rework=True)
            )
        move_to_stage(session, piece, "leather_hard", datetime(2026, 9, 3, 9))
        end = "lost" if place < lost else "fired"
        move_to_stage(session, piece, end, datetime(2026, 9, 20, 9), "panel tore")
    return run


def compare(journal: Journal, form: int) -> WaysCompared:
    return journal.read(partial(compare_ways, form_id=form))


def test_the_quicker_way_is_told_once_enough_was_timed(journal: Journal, do: Do, mug: int) -> None:
    before = do(partial(add_way, form_id=mug, name="pressed before trimming"))
    after = do(partial(add_way, form_id=mug, name="after handling"))
    quick, slow = (30, 32, 34, 31, 33, 35), (46, 50, 44, 48, 47, 52)
    for minutes, way, rework in ((quick, before, 0), (slow, after, 5)):
        for _ in range(2):
            do(partial(make, form=mug, way=way, minutes=minutes, rework=rework, lost=1))
    ways = compare(journal, mug)
    first, second = ways.results
    assert first.minutes is not None
    assert (first.minutes.value, first.steps[0].timed) == (32.5, 12)
    assert 31 <= first.minutes.low < 32.5 < first.minutes.high <= 34
    assert (second.rework.events, second.rework.trials) == (10, 12)
    assert second.rework_min == pytest.approx(100 / 12)
    assert [(loss.stage, loss.lost.events, loss.lost.trials) for loss in second.losses] == [
        ("leather_hard", 2, 12)
    ]
    takes, rework, lost = ways.sentences
    assert takes.startswith("“after handling” takes about 15 min a piece more")
    assert rework == (
        "More pieces need rework by “after handling” than by “pressed before trimming”."
    )
    assert "not sure by which more pieces are lost" in lost


def test_a_few_pieces_are_too_few_to_tell(journal: Journal, do: Do, mug: int) -> None:
    for name, minutes in (("before", (30.0, 31.0)), ("after", (50.0, 55.0))):
        way = do(partial(add_way, form_id=mug, name=name))
        do(partial(make, form=mug, way=way, minutes=minutes, rework=0, lost=0))
    do(partial(make, form=mug, way=None, minutes=(40.0,), rework=0, lost=0))
    ways = compare(journal, mug)
    assert "too few to tell" in ways.sentences[0]
    assert all("can't be told apart yet" in one for one in ways.sentences[1:3])
    assert "single run" in ways.sentences[3]
    assert [result.name for result in ways.results] == ["before", "after", "way not said"]


def test_a_way_is_kept_or_dropped_with_a_reason(journal: Journal, do: Do, mug: int) -> None:
    way = do(partial(add_way, form_id=mug, name="after  handling"))
    with pytest.raises(UserProblem, match="Say why before you drop “after handling”"):
        journal.edit("Judge", partial(judge_way, way_id=way, standing="drop"))
    journal.edit("Judge", partial(judge_way, way_id=way, standing="drop", note="Panels tear."))
    kept = do(partial(add_way, form_id=mug, name="before trimming"))
    lines = journal.read(partial(list_ways, form_id=mug))
    assert [(line.way_id, line.standing, line.notes) for line in lines] == [
        (kept, "trying", ""),
        (way, "drop", "Panels tear."),
    ]


def test_a_way_that_cannot_be_is_refused(journal: Journal, do: Do, mug: int) -> None:
    way = do(partial(add_way, form_id=mug, name="after handling"))
    with pytest.raises(UserProblem, match="Panel mug has a way named “After handling” already"):
        do(partial(add_way, form_id=mug, name="After handling"))
    other = do(partial(add_way, form_id=mug, name="before"))
    with pytest.raises(UserProblem, match="already"):
        journal.edit("Rename", partial(change_way, way_id=other, name="after handling"))
    bowl = do(partial(add_form, draft=FormDraft(name="Soup bowl")))
    run = do(partial(log_run, draft=RunDraft(made_on=DAY, form_id=bowl, how_many=1, number=9)))
    with pytest.raises(UserProblem, match="is a way of making Panel mug; run 9 is of another form"):
        journal.edit("Way", partial(set_way, run_id=run, way_id=way))


def test_a_way_runs_went_stays_and_goes_with_its_form_otherwise(
    journal: Journal, do: Do, mug: int
) -> None:
    way = do(partial(add_way, form_id=mug, name="after handling"))
    do(partial(make, form=mug, way=way, minutes=(40.0,), rework=0, lost=0))
    with pytest.raises(StillUsed, match=r"1 run was made this way\. Drop it instead"):
        journal.edit("Delete", partial(delete_way, way_id=way))
    bowl = do(partial(add_form, draft=FormDraft(name="Soup bowl", zones=("body", "foot"))))
    do(partial(add_way, form_id=bowl, name="on the wheel"))
    journal.edit("Delete", partial(delete_form, form_id=bowl))
    assert journal.read(partial(read_form_page, form_id=bowl)) is None


def test_what_tears_while_the_rest_stands_on_the_bench_says_nothing_of_a_way_yet(
    journal: Journal, do: Do, mug: int
) -> None:
    def begin(session: Session, way: int) -> int:
        run = log_run(session, RunDraft(made_on=DAY, form_id=mug, how_many=12))
        set_way(session, run, way)
        for place, piece in enumerate(session.scalars(select(Piece.id).where(Piece.run_id == run))):
            move_to_stage(session, piece, "leather_hard", datetime(2026, 9, 3, 9))
            if place < 5:
                move_to_stage(session, piece, "lost", datetime(2026, 9, 4, 9), "panel tore")
        return run

    ways = [do(partial(add_way, form_id=mug, name=name)) for name in ("before", "after")]
    do(partial(make, form=mug, way=ways[0], minutes=(30.0,) * 12, rework=0, lost=0))
    run = do(partial(begin, way=ways[1]))
    other = compare(journal, mug).results[1]
    assert (other.pieces, other.in_work, other.lost.trials, other.losses) == (12, 7, 0, ())
    assert "More pieces are lost" not in " ".join(compare(journal, mug).sentences)

    def fire(session: Session) -> int:
        standing = select(Piece.id).where(Piece.run_id == run, Piece.stage == "leather_hard")
        for piece in session.scalars(standing.limit(6)).all():
            move_to_stage(session, piece, "fired", datetime(2026, 9, 20, 9))
        return run

    do(fire)
    other = compare(journal, mug).results[1]
    assert (other.in_work, other.lost.events, other.lost.trials) == (1, 5, 11)


def test_a_piece_glazed_part_by_part_was_glazed_once(journal: Journal, do: Do, mug: int) -> None:
    def glaze(session: Session, way: int) -> int:
        run = log_run(session, RunDraft(made_on=DAY, form_id=mug, how_many=3))
        set_way(session, run, way)
        for piece in session.scalars(select(Piece.id).where(Piece.run_id == run)).all():
            log_step(session, piece, "glazed", DAY, 2.0, zone="handle")
            log_step(session, piece, "glazed", DAY, 5.0, zone="body")
        return run

    way = do(partial(add_way, form_id=mug, name="before"))
    do(partial(glaze, way=way))
    (result,) = compare(journal, mug).results
    assert [(step.minutes, step.timed) for step in result.steps] == [(7.0, 3)]
    assert result.minutes is not None
    assert result.minutes.value == 7.0


def test_one_work_logged_by_two_words_is_not_added_to_itself(
    journal: Journal, do: Do, mug: int
) -> None:
    def trim(session: Session, way: int, words: tuple[str, ...]) -> int:
        run = log_run(session, RunDraft(made_on=DAY, form_id=mug, how_many=6))
        set_way(session, run, way)
        pieces = session.scalars(select(Piece.id).where(Piece.run_id == run)).all()
        for place, piece in enumerate(pieces):
            log_step(session, piece, words[place % len(words)], DAY, 4.0)
        return run

    ways = [do(partial(add_way, form_id=mug, name=name)) for name in ("before", "after")]
    do(partial(trim, way=ways[0], words=("trimmed", "turned")))
    do(partial(trim, way=ways[1], words=("trimming", "trim lid")))
    compared = compare(journal, mug)
    first, second = compared.results
    assert [(step.minutes, step.timed) for step in first.steps] == [(4.0, 6)]
    assert [(step.minutes, step.timed) for step in second.steps] == [(4.0, 3), (4.0, 3)]
    assert "no step was timed both" not in compared.sentences[0]


def test_a_tool_made_of_a_cup_of_the_run_is_no_cup(journal: Journal, do: Do, mug: int) -> None:
    def throw(session: Session, way: int) -> int:
        run = log_run(session, RunDraft(made_on=DAY, form_id=mug, how_many=3))
        set_way(session, run, way)
        gauge = log_piece(session, PieceDraft(number=9, run_id=run, stage="wet"))
        set_kind(session, gauge, "tool")
        log_step(session, gauge, "carved", DAY, 90.0)
        return run

    do(partial(throw, way=do(partial(add_way, form_id=mug, name="before"))))
    (result,) = compare(journal, mug).results
    assert (result.pieces, result.in_work, result.steps) == (3, 3, ())
