"""A kiln is looked after: shelf wash every so many firings, elements when they are worn."""

from datetime import date, datetime, timedelta

import pytest

from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.kiln_tasks import (
    KilnTaskDraft,
    KilnTasks,
    add_task,
    change_task,
    finish_task,
    read_overdue,
    read_tasks,
    remove_task,
)
from studiolog.journal.kilns import KilnDraft, add_kiln, delete_kiln
from studiolog.problems import UserProblem
from tests.journal.conftest import Studio

TODAY = date(2026, 10, 10)


def add(studio: Studio, today: date = TODAY, **fields: object) -> int:
    draft = KilnTaskDraft(**{"task": "shelf_wash", **fields})  # type: ignore[arg-type]
    return studio.journal.edit("Task", lambda s: add_task(s, studio.kiln, draft, today)).value


def tasks(studio: Studio, today: date = TODAY) -> KilnTasks:
    return studio.journal.read(lambda s: read_tasks(s, studio.kiln, today))


def fire(studio: Studio, times: int, first: date = TODAY) -> None:
    for day in range(times):
        draft = FiringDraft(
            kiln_id=studio.kiln,
            started_at=datetime.combine(first, datetime.min.time()) + timedelta(days=day, hours=8),
        )
        studio.journal.edit("Fire", lambda s, d=draft: log_firing(s, d))


def test_a_wash_every_three_firings_comes_round_again(studio: Studio) -> None:
    fire(studio, 1)
    wash = add(studio, after_firings=3, repeat_firings=3)
    assert tasks(studio).to_do[0].firings_left == 3, "the firing of this morning is over"
    fire(studio, 3, TODAY + timedelta(days=1))
    assert (tasks(studio).to_do[0].firings_left, tasks(studio).to_do[0].state) == (0, "due")
    fire(studio, 1, TODAY + timedelta(days=9))
    assert tasks(studio).overdue[0].firings_left == -1
    assert studio.journal.read(lambda s: read_overdue(s, TODAY))[studio.kiln][0].task_id == wash
    washed = TODAY + timedelta(days=20)
    studio.journal.edit("Washed", lambda s: finish_task(s, wash, None, washed))
    after = tasks(studio, washed)
    assert [line.task_id for line in after.done] == [wash]
    assert [(line.firings_left, line.state) for line in after.to_do] == [(3, "open")]
    studio.journal.undo()
    assert [line.task_id for line in tasks(studio, washed).to_do] == [wash], "and no next one"


def test_a_day_that_has_gone_by_is_overdue_one_near_is_due(studio: Studio) -> None:
    add(studio, task="vent", due_on=date(2026, 12, 1))
    add(studio, task="elements", due_on=date(2026, 10, 9), note="Ask the electrician.")
    add(studio, task="relay", due_on=date(2026, 10, 15))
    add(studio, task="other", note="Some day")
    found = tasks(studio)
    assert [(line.task, line.state, line.days_left) for line in found.to_do] == [
        ("elements", "overdue", -1),
        ("relay", "due", 5),
        ("vent", "open", 52),
        ("other", "open", None),
    ]


def test_what_was_done_counts_the_firings_since(studio: Studio) -> None:
    add(studio, task="elements", done_on=date(2026, 10, 2), repeat_days=365)
    fire(studio, 2, date(2026, 10, 4))
    found = tasks(studio)
    assert found.done[0].firings_since == 3, "that of the day itself too"
    assert found.to_do[0].due_on == date(2027, 10, 2)


def test_a_task_is_changed_in_place_and_taken_away(studio: Studio) -> None:
    task = add(studio, after_firings=5)
    fire(studio, 2)
    assert tasks(studio).to_do[0].firings_left == 3

    def write(**fields: object) -> None:
        draft = KilnTaskDraft(**{"task": "shelf_wash", **fields})  # type: ignore[arg-type]
        studio.journal.edit("Change", lambda s: change_task(s, task, None, draft, TODAY))

    write(after_firings=12, note="Two coats")
    assert (tasks(studio).to_do[0].firings_left, tasks(studio).to_do[0].note) == (12, "Two coats")
    write(done_on=TODAY, repeat_firings=20)
    assert len(tasks(studio).to_do) == 1, "the next one"
    write(done_on=TODAY - timedelta(days=1), repeat_firings=20)
    assert len(tasks(studio).to_do) == 1, "a day put right leaves no second one"
    write()
    assert tasks(studio).done == (), "not done after all"
    studio.journal.edit("Away", lambda s: remove_task(s, task))
    assert task not in {line.task_id for line in tasks(studio).to_do}


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"done_on": date(2026, 10, 11)}, "can't be done on a day to come"),
        ({"after_firings": 0}, "0 firings: give a number"),
        ({"repeat_days": -3}, "-3 days: give a number"),
        ({"task": "polish"}, "is no task: choose one of new elements"),
    ],
)
def test_what_can_not_be_is_told(studio: Studio, fields: dict[str, object], said: str) -> None:
    with pytest.raises(UserProblem, match=said):
        add(studio, **fields)
    assert tasks(studio) == KilnTasks()


def test_a_kiln_never_fired_goes_with_its_tasks(studio: Studio) -> None:
    small = studio.journal.edit("Kiln", lambda s: add_kiln(s, KilnDraft(name="Small"))).value
    draft = KilnTaskDraft(task="vent")
    studio.journal.edit("Task", lambda s: add_task(s, small, draft, TODAY))
    studio.journal.edit("Away", lambda s: delete_kiln(s, small))
    assert studio.journal.read(lambda s: read_tasks(s, small, TODAY)) == KilnTasks()
