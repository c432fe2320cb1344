"""Leather-hard won't wait: what the bench knows of it, and what to do before leaving."""

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select

from studiolog.journal.before_leaving import BeforeLeaving, read_before_leaving
from studiolog.journal.covers import change_cover, cover_run, delete_cover_change, read_covers
from studiolog.journal.drying import read_bench_hours
from studiolog.journal.form_steps import MakingStep
from studiolog.journal.forms import FormDraft, add_form, change_form
from studiolog.journal.how_many import Asked, WorkingTime, read_how_many, read_working_time
from studiolog.journal.limits import set_limit
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import RunDraft, log_run, log_step
from studiolog.journal.runs import delete_run, log_steps, move_pieces
from studiolog.journal.studio import set_terms
from studiolog.journal.working_time import Window, read_windows
from studiolog.problems import UserProblem
from studiolog.records.pieces import Step

MONDAY = datetime(2026, 11, 9, 9)
BOWL = (
    MakingStep("thrown", 8, "wet"),
    MakingStep("trimmed", 7, "leather_hard"),
    MakingStep("glazed", 5, "bisque"),
)
MUG = (
    MakingStep("thrown", 9, "wet"),
    MakingStep("trimmed", 6, "leather_hard"),
    MakingStep("handle on", 9, "leather_hard"),
    MakingStep("panels pressed", 56, "leather_hard"),
)


def form(journal: Journal, name: str, steps: tuple[MakingStep, ...], shape: str = "thrown") -> int:
    draft = FormDraft(name=name, steps=steps, shape=shape)
    return journal.edit(f"Add {name}", lambda session: add_form(session, draft)).value


def throw(journal: Journal, form_id: int, pieces: int, at: datetime) -> int:
    """A run thrown at a moment."""
    draft = RunDraft(made_on=at.date(), form_id=form_id)

    def enter(session) -> int:  # type: ignore[no-untyped-def]
        from studiolog.journal.runs import add_pieces

        run_id = log_run(session, draft)
        add_pieces(session, run_id, pieces, at)
        return run_id

    return journal.edit("Throw", enter).value


def move(journal: Journal, run_id: int, pieces: int, to_stage: str, at: datetime) -> None:
    before = {"leather_hard": "wet", "bone_dry": "leather_hard"}[to_stage]
    journal.edit("Move", lambda session: move_pieces(session, run_id, before, to_stage, pieces, at))


def cover(journal: Journal, run_id: int, how: str, at: datetime, weather: str = "usual") -> int:
    return journal.edit("Cover", lambda s: cover_run(s, run_id, how, at, weather)).value


def window(journal: Journal, run_id: int, now: datetime) -> Window:
    return journal.read(lambda session: read_windows(session, [run_id], now))[run_id]


def leaving(journal: Journal, now: datetime) -> BeforeLeaving:
    return journal.read(lambda session: read_before_leaving(session, now))


def ask(journal: Journal, form_id: int, **asked: object) -> WorkingTime:
    wanted = Asked(**asked)  # type: ignore[arg-type]
    return journal.read(lambda session: read_working_time(session, form_id, wanted))


def leather_hard_bowls(journal: Journal, how: str = "open", pieces: int = 12) -> int:
    """Bowls thrown on Monday, leather-hard on Tuesday at 9 under a cover."""
    run_id = throw(journal, form(journal, "Soup bowl", BOWL), pieces, MONDAY)
    cover(journal, run_id, how, MONDAY)
    move(journal, run_id, pieces, "leather_hard", MONDAY + timedelta(days=1))
    return run_id


def test_a_track_empties_by_the_hour_and_a_cover_slows_it(journal: Journal) -> None:
    run_id = leather_hard_bowls(journal)
    # Stated: 6 h workable in the open. At 11 four are left, of them one in ten only 6/1.6 - 2.
    at_eleven = window(journal, run_id, MONDAY + timedelta(days=1, hours=2))
    assert (at_eleven.stage, at_eleven.pieces, at_eleven.cover) == ("leather_hard", 12, "open")
    assert at_eleven.hours_left == pytest.approx(4, abs=0.4)
    assert at_eleven.low < at_eleven.hours_left < at_eleven.high
    assert at_eleven.share_left == pytest.approx(2 / 3, abs=0.02)
    assert at_eleven.short
    # Loosely in plastic five hours of it take what one takes in the open.
    cover(journal, run_id, "loose", MONDAY + timedelta(days=1, hours=2))
    later = window(journal, run_id, MONDAY + timedelta(days=1, hours=7))
    assert later.hours_left == pytest.approx(3 * at_eleven.hours_left / 4 * 5, rel=0.05)
    assert later.share_left == pytest.approx(0.5, abs=0.03)


def test_work_still_to_be_done_is_counted_and_its_end_laid_over_the_night(journal: Journal) -> None:
    run_id = leather_hard_bowls(journal, "loose")
    journal.edit("Trim 2", lambda s: log_steps(s, run_id, "trimmed", "leather_hard", 2,
                                               date(2026, 11, 10)))  # fmt: skip
    now = MONDAY + timedelta(days=1, hours=5)  # one of six hours is left today
    seen = window(journal, run_id, now)
    assert [(step.name, step.pieces, step.minutes) for step in seen.steps] == [("trimmed", 10, 70)]
    assert seen.done_at == datetime(2026, 11, 11, 9, 10)
    assert seen.basis == "common practice, no run of yours yet"
    # 5 h gone of 30, 19:10 more until it is done: one in ten holds 30/1.6 = 18.75 h only.
    assert seen.dries_first
    assert 0.1 < seen.chance < 0.5
    journal.edit("Eight hours", lambda s: set_terms(s, hours_a_day=8.0))
    assert window(journal, run_id, now).done_at == datetime(2026, 11, 10, 15, 10)
    assert not window(journal, run_id, now).dries_first


def test_a_bowl_that_was_trimmed_and_turned_had_one_work_done(journal: Journal) -> None:
    run_id = leather_hard_bowls(journal, "loose")
    day, now = date(2026, 11, 10), MONDAY + timedelta(days=1, hours=2)
    for name, pieces in (("trimmed", 4), ("pattern carved", 4)):
        journal.edit(name, lambda s, name=name, pieces=pieces: log_steps(
            s, run_id, name, "leather_hard", pieces, day))  # fmt: skip
    done = journal.read(
        lambda s: s.scalars(select(Step.piece_id).where(Step.name == "trimmed")).all()
    )
    for piece in done[:3]:  # the same work said once more, in another word
        journal.edit("Turn", lambda s, piece=piece: log_step(s, piece, "turned", day))
    seen = window(journal, run_id, now)
    assert [(step.name, step.pieces) for step in seen.steps] == [("trimmed", 8)]
    journal.edit("Turn two more", lambda s: log_steps(s, run_id, "turned", "leather_hard", 2, day))
    assert [step.pieces for step in window(journal, run_id, now).steps] == [6]


def test_what_dries_first_is_worked_first_and_holds_up_the_rest(journal: Journal) -> None:
    bowls = leather_hard_bowls(journal, "open")
    mugs = throw(journal, form(journal, "Panel mug", MUG), 4, MONDAY)
    cover(journal, mugs, "sealed", MONDAY)
    move(journal, mugs, 4, "leather_hard", MONDAY + timedelta(days=1))
    now = MONDAY + timedelta(days=1)
    both = journal.read(lambda session: read_windows(session, [mugs, bowls], now))
    assert both[bowls].done_at == now + timedelta(minutes=84)
    assert both[mugs].minutes == 4 * 71
    assert both[mugs].done_at == datetime(2026, 11, 11, 9, 8)  # 84 + 284 min, 360 a day


def test_wet_ware_tells_when_it_will_be_leather_hard(journal: Journal) -> None:
    run_id = throw(journal, form(journal, "Soup bowl", BOWL), 5, MONDAY)
    seen = window(journal, run_id, MONDAY + timedelta(hours=6))
    # Nobody said how they stand: taken as loosely in plastic, five times six hours.
    assert (seen.stage, seen.cover) == ("wet", "")
    assert seen.hours_left == pytest.approx(24)
    assert "no run of yours" in seen.basis


def test_the_studios_own_runs_teach_the_hours(journal: Journal) -> None:
    bowl = form(journal, "Soup bowl", BOWL)
    for week in range(1, 8):
        begun = MONDAY - timedelta(weeks=week)
        run_id = throw(journal, bowl, 3, begun)
        cover(journal, run_id, "loose", begun)
        move(journal, run_id, 3, "leather_hard", begun + timedelta(hours=20))
        move(journal, run_id, 3, "bone_dry", begun + timedelta(hours=20 + 300))
    page = ask(journal, bowl)
    assert page.basis == "from 7 runs of this form loosely in plastic"
    # 300 h to bone dry, of which a fifth counts as workable: drawn from 30 towards 60.
    assert page.size is not None
    assert 45 < page.size.workable.median_h < 61
    journal.edit("Half of it", lambda s: set_limit(s, "workable_share", 0.4))
    longer = ask(journal, bowl)
    assert longer.size is not None
    assert longer.size.workable.median_h > 1.5 * page.size.workable.median_h


def test_a_slow_form_comes_to_a_handful_and_a_plain_one_to_dozens(journal: Journal) -> None:
    mug = ask(journal, form(journal, "Panel mug", MUG))
    bowl = ask(journal, form(journal, "Soup bowl", BOWL))
    assert mug.size is not None
    assert bowl.size is not None
    assert (mug.size.pieces, mug.size.binding_step) == (5, "panels pressed")
    assert (bowl.size.pieces, bowl.size.bound_by) == (45, "day")
    assert {one.words: one.pieces for one in mug.by_cover}["open"] == 3
    two = {one.words: one.pieces for one in mug.changes}
    assert two["with one more at the bench"] > 5
    both = mug.form_ids + bowl.form_ids
    together = journal.read(lambda s: read_how_many(s, both))
    assert together.size is not None
    assert together.size.pieces < 5
    assert together.size.binding_step == "Panel mug: panels pressed"


def test_hours_set_for_a_form_go_before_what_is_stated(journal: Journal) -> None:
    mug = form(journal, "Panel mug", MUG)
    journal.edit("Set", lambda s: change_form(s, mug, workable_h=4.0))
    page = ask(journal, mug)
    assert page.basis == "as set for this form, loosely in plastic"
    assert page.size is not None
    assert page.size.pieces == 2


def test_a_form_without_steps_or_hours_says_what_to_give(journal: Journal) -> None:
    bare = form(journal, "Bare form", ())
    assert ask(journal, bare).problem.startswith("No steps are given")
    untimed = form(journal, "Untimed", (MakingStep("thrown"), MakingStep("trimmed")))
    assert "has minutes" in ask(journal, untimed).problem
    assert "more than 0" in ask(journal, bare, hours_a_day=0.0).problem or (
        ask(journal, bare, hours_a_day=0.0).problem.startswith("No steps")
    )
    mug = form(journal, "Panel mug", MUG)
    assert "more than 0" in ask(journal, mug, hours_a_day=0.0).problem
    with pytest.raises(UserProblem, match="no longer in the journal"):
        ask(journal, 9999)
    with pytest.raises(UserProblem, match="Name a form"):
        journal.read(lambda session: read_how_many(session, ()))


def test_covers_are_noted_mended_and_taken_out(journal: Journal) -> None:
    run_id = leather_hard_bowls(journal)
    at = MONDAY + timedelta(hours=8)
    change = cover(journal, run_id, "cloth", at)
    assert cover(journal, run_id, "loose", at) == change  # said twice for one moment
    journal.edit("Mend", lambda s: change_cover(
        s, change, cover="sealed", weather="damp", at=at, note="the window was open"))  # fmt: skip
    lines = journal.read(lambda s: read_covers(s, [run_id]))[run_id]
    assert [(line.cover, line.weather) for line in lines] == [("open", "usual"), ("sealed", "damp")]
    journal.edit("Take out", lambda s: delete_cover_change(s, change))
    journal.undo()
    assert len(journal.read(lambda s: read_covers(s, [run_id]))[run_id]) == 2
    for how, when, told in (
        ("tent", at, "is not a cover"),
        ("loose", MONDAY - timedelta(days=3), "was begun on 9 Nov 2026"),
    ):
        with pytest.raises(UserProblem, match=told):
            cover(journal, run_id, how, when)
    with pytest.raises(UserProblem, match="is not a weather"):
        cover(journal, run_id, "loose", at, "snow")
    journal.edit("Delete", lambda session: delete_run(session, run_id))
    assert not journal.read(lambda s: read_covers(s, [run_id]))


def test_before_leaving_it_says_how_many_to_trim_and_how_to_wrap_the_rest(
    journal: Journal,
) -> None:
    run_id = leather_hard_bowls(journal, "open")
    now = datetime(2026, 11, 10, 14, 20)  # 40 minutes are left: five of twelve
    page = leaving(journal, now)
    assert page.ends == datetime(2026, 11, 10, 15)
    (task,) = page.tasks
    assert (task.run_id, task.kind, task.pressing) == (run_id, "wrap", True)
    assert task.words.startswith("trim 5, then put the other 7 ")
    assert task.cover == "damp_box"
    assert "even so 1" in task.words  # most of their hours are gone: it is not promised
    assert task.by is not None
    assert task.by <= page.ends
    journal.edit("Trim", lambda s: log_steps(s, run_id, "trimmed", "leather_hard", 8,
                                             date(2026, 11, 10)))  # fmt: skip
    (task,) = leaving(journal, now).tasks
    assert (task.kind, task.words, task.cover) == ("work", "trim 4", None)


def test_before_leaving_nothing_is_said_of_what_keeps(journal: Journal) -> None:
    leather_hard_bowls(journal, "damp_box")
    page = leaving(journal, datetime(2026, 11, 10, 14))
    assert page.tasks == ()
    assert page.looked_at == 1


def test_wet_ware_is_wrapped_so_that_it_is_leather_hard_by_day(journal: Journal) -> None:
    run_id = throw(journal, form(journal, "Panel mug", MUG), 4, MONDAY + timedelta(hours=5))
    cover(journal, run_id, "open", MONDAY + timedelta(hours=5))
    # In the open it is leather-hard at 20:00 and too stiff long before 9:00.
    (task,) = leaving(journal, MONDAY + timedelta(hours=5)).tasks
    assert task.kind == "wrap"
    assert task.cover in ("cloth", "loose", "sealed", "damp_box")
    bench = journal.read(read_bench_hours)
    if task.later is not None:
        assert bench.at_bench(task.later[0])
    assert "leather-hard" in task.why
    assert "today about 20:00" in task.why


def test_what_is_wrapped_too_well_is_unwrapped_so_that_it_is_ready_at_the_bench(
    journal: Journal,
) -> None:
    run_id = throw(journal, form(journal, "Soup bowl", BOWL), 6, MONDAY)
    cover(journal, run_id, "damp_box", MONDAY)  # a week until they are leather-hard
    now = MONDAY + timedelta(hours=5)
    (task,) = leaving(journal, now).tasks
    assert (task.kind, task.pressing) == ("unwrap", False)
    bench = journal.read(read_bench_hours)
    assert task.later is not None or task.cover is not None
    if task.later is not None:
        assert bench.at_bench(task.later[0])
    assert "as they stand not before 16 Nov about 9:00" in task.why  # 168 h later
    journal.edit("So it stands", lambda s: cover_run(s, run_id, "cloth", now))
    assert all(task.kind != "unwrap" for task in leaving(journal, now).tasks)


def test_tiles_are_turned_and_what_is_done_is_let_dry(journal: Journal) -> None:
    steps = (MakingStep("rolled", 1, "wet"), MakingStep("cut", 1, "leather_hard"))
    tiles = throw(journal, form(journal, "Hexagonal tile", steps, "tile"), 20, MONDAY)
    cover(journal, tiles, "loose", MONDAY)
    move(journal, tiles, 20, "leather_hard", MONDAY + timedelta(hours=20))
    journal.edit("Cut", lambda s: log_steps(s, tiles, "cut", "leather_hard", 20,
                                            date(2026, 11, 10)))  # fmt: skip
    now = datetime(2026, 11, 10, 14)
    kinds = {task.kind: task for task in leaving(journal, now).tasks}
    assert kinds["turn"].words == "turn 20"
    assert kinds["unwrap"].cover == "cloth"
    journal.edit("Turn", lambda s: log_steps(s, tiles, "turned", "leather_hard", 20, now.date()))
    assert "turn" not in {task.kind for task in leaving(journal, now).tasks}


def test_ware_of_which_nobody_said_anything_for_weeks_is_asked_after(journal: Journal) -> None:
    run_id = leather_hard_bowls(journal, "loose")
    later = MONDAY + timedelta(days=20)
    seen = window(journal, run_id, later)
    assert seen.past
    assert seen.hours_left == 0
    assert seen.dries_first
    (task,) = leaving(journal, later).tasks
    assert task.kind == "look"
    assert task.words == "see whether 12 leather-hard are bone dry by now"


def test_many_runs_are_read_in_few_questions(journal: Journal) -> None:
    from sqlalchemy import event

    bowl = form(journal, "Soup bowl", BOWL)
    ids = [throw(journal, bowl, 1, MONDAY) for _ in range(8)]
    asked: list[str] = []

    def count(_c: object, _cur: object, statement: str, *_more: object) -> None:
        asked.append(statement)

    def read(how_many: int) -> int:
        asked.clear()
        journal.read(lambda session: read_windows(session, ids[:how_many], MONDAY))
        return len(asked)

    event.listen(journal.engine, "before_cursor_execute", count)
    try:
        assert read(8) == read(2) < 25
    finally:
        event.remove(journal.engine, "before_cursor_execute", count)
