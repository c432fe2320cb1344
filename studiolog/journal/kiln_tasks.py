"""Upkeep of a kiln: what is to do, by a day or after so many firings, and what was done when.

New elements or a new thermocouple, once done, start a new calibration (`journal.calibrations`).
A task that repeats leaves the next one behind when it is done. Firings on the day of a task are
taken to come after it.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, Literal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import KILN_TASKS
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.firings import Firing
from studiolog.records.kilns import Kiln, KilnTask
from studiolog.records.values import storable

TaskState = Literal["open", "due", "overdue", "done"]

SOON_DAYS = 7
SOON_FIRINGS = 2


@dataclass(frozen=True, kw_only=True)
class KilnTaskDraft:
    """A task as it is entered. ``after_firings`` counts from the day it is noted."""

    task: str
    note: str = ""
    done_on: date | None = None
    due_on: date | None = None
    after_firings: int | None = None
    repeat_days: int | None = None
    repeat_firings: int | None = None


@dataclass(frozen=True)
class TaskLine:
    """A task of a kiln. ``firings_left`` and ``days_left`` are below zero once it is overdue.

    ``firings_since`` are those since it was done.
    """

    task_id: int
    version: int
    task: str
    note: str
    noted_on: date
    done_on: date | None
    due_on: date | None
    firings_left: int | None
    days_left: int | None
    repeat_days: int | None
    repeat_firings: int | None
    firings_since: int
    state: TaskState

    @property
    def words(self) -> str:
        """ "shelf wash"."""
        return KILN_TASKS[self.task]


@dataclass(frozen=True)
class KilnTasks:
    """The upkeep of one kiln: to do, what presses first; done, newest first."""

    to_do: tuple[TaskLine, ...] = ()
    done: tuple[TaskLine, ...] = ()

    @property
    def overdue(self) -> tuple[TaskLine, ...]:
        """What should have been done by now."""
        return tuple(line for line in self.to_do if line.state == "overdue")


def add_task(session: Session, kiln_id: int, draft: KilnTaskDraft, today: date) -> int:
    """Note a task of a kiln, done or to do; returns its id.

    One that was done already and repeats leaves its next one too. Raises `UserProblem` for a day
    to come on which it is said to be done, and for numbers that can't be.
    """
    get(session, Kiln, kiln_id)
    _check(draft, today)
    task_id = add(
        session,
        KilnTask(
            kiln_id=kiln_id,
            task=draft.task,
            noted_on=draft.done_on or today,
            note=storable(draft.note).strip(),
            done_on=draft.done_on,
            due_on=draft.due_on,
            due_after_firings=_from_today(session, kiln_id, today, draft.after_firings),
            repeat_days=draft.repeat_days,
            repeat_firings=draft.repeat_firings,
        ),
    )
    if draft.done_on is not None:
        _leave_next(session, task_id)
    return task_id


def change_task(
    session: Session, task_id: int, version: int | None, draft: KilnTaskDraft, today: date
) -> None:
    """Write a task anew; ``after_firings`` counts from today. Raises as `add_task` does.

    Taking the day away makes it a thing to do again. One that becomes done and repeats leaves its
    next one; one that was done already does not leave it twice.
    """
    task = get(session, KilnTask, task_id, version)
    _check(draft, today)
    was_done = task.done_on is not None
    after = None
    if draft.after_firings is not None:
        since = _firings_from(session, task.kiln_id, task.noted_on)
        after = draft.after_firings + since
    change(
        session,
        KilnTask,
        task_id,
        None,
        task=draft.task,
        note=storable(draft.note).strip(),
        done_on=draft.done_on,
        due_on=draft.due_on,
        due_after_firings=after,
        repeat_days=draft.repeat_days,
        repeat_firings=draft.repeat_firings,
    )
    if draft.done_on is not None and not was_done:
        _leave_next(session, task_id)


def finish_task(session: Session, task_id: int, version: int | None, done_on: date) -> None:
    """Mark a task done on a day; one that repeats leaves its next one."""
    get(session, KilnTask, task_id, version)
    change(session, KilnTask, task_id, None, done_on=done_on)
    _leave_next(session, task_id)


def remove_task(session: Session, task_id: int) -> None:
    """Take a task away, done or not."""
    remove(session, get(session, KilnTask, task_id))


def read_tasks(session: Session, kiln_id: int, today: date) -> KilnTasks:
    """The upkeep of a kiln as it stands on a day."""
    return _read(session, [kiln_id], today).get(kiln_id, KilnTasks())


def read_overdue(session: Session, today: date) -> Mapping[int, tuple[TaskLine, ...]]:
    """What is overdue, by kiln; kilns with nothing overdue are left out."""
    kilns = session.scalars(
        select(KilnTask.kiln_id)
        .join(Kiln, Kiln.id == KilnTask.kiln_id)
        .where(KilnTask.done_on.is_(None), Kiln.archived.is_(False))
        .distinct()
    ).all()
    found = _read(session, kilns, today)
    return {kiln_id: tasks.overdue for kiln_id, tasks in found.items() if tasks.overdue}


def _read(session: Session, kiln_ids: Sequence[int], today: date) -> dict[int, KilnTasks]:
    rows: dict[int, list[KilnTask]] = {}
    for task in session.scalars(
        select(KilnTask).where(KilnTask.kiln_id.in_(kiln_ids)).order_by(KilnTask.id)
    ):
        rows.setdefault(task.kiln_id, []).append(task)
    if not rows:
        return {}
    starts: dict[int, list[datetime]] = {kiln_id: [] for kiln_id in rows}
    for row in session.execute(
        select(Firing.kiln_id, Firing.started_at)
        .where(Firing.kiln_id.in_(list(rows)))
        .order_by(Firing.started_at)
    ):
        starts[row.kiln_id].append(row.started_at)
    found = {}
    for kiln_id, tasks in rows.items():
        lines = [_line(task, starts[kiln_id], today) for task in tasks]
        found[kiln_id] = KilnTasks(
            tuple(sorted((one for one in lines if one.state != "done"), key=_pressing)),
            tuple(
                sorted(
                    (one for one in lines if one.state == "done"),
                    key=lambda one: (one.done_on or date.min, one.task_id),
                    reverse=True,
                )
            ),
        )
    return found


def _line(task: KilnTask, starts: Sequence[datetime], today: date) -> TaskLine:
    def fired_from(day: date) -> int:
        return len(starts) - bisect_left(starts, datetime.combine(day, time.min))

    firings_left = days_left = None
    state: TaskState = "open"
    if task.done_on is not None:
        state = "done"
    else:
        if task.due_after_firings is not None:
            firings_left = task.due_after_firings - fired_from(task.noted_on)
        if task.due_on is not None:
            days_left = (task.due_on - today).days
        lefts = [left for left in (firings_left, days_left) if left is not None]
        if any(left < 0 for left in lefts):
            state = "overdue"
        elif (days_left is not None and days_left <= SOON_DAYS) or (
            firings_left is not None and firings_left <= SOON_FIRINGS
        ):
            state = "due"
    return TaskLine(
        task.id,
        task.version,
        task.task,
        task.note,
        task.noted_on,
        task.done_on,
        task.due_on,
        firings_left,
        days_left,
        task.repeat_days,
        task.repeat_firings,
        fired_from(task.done_on) if task.done_on is not None else 0,
        state,
    )


def _pressing(line: TaskLine) -> tuple[Any, ...]:
    rank = {"overdue": 0, "due": 1, "open": 2, "done": 3}[line.state]
    left = [one for one in (line.days_left, line.firings_left) if one is not None]
    return rank, min(left, default=10**6), line.task_id


def _leave_next(session: Session, task_id: int) -> None:
    """The next task of one that was just done and repeats."""
    task = get(session, KilnTask, task_id)
    if task.done_on is None or not (task.repeat_days or task.repeat_firings):
        return
    add(
        session,
        KilnTask(
            kiln_id=task.kiln_id,
            task=task.task,
            noted_on=task.done_on,
            note="",
            due_on=task.done_on + timedelta(days=task.repeat_days) if task.repeat_days else None,
            due_after_firings=task.repeat_firings,
            repeat_days=task.repeat_days,
            repeat_firings=task.repeat_firings,
        ),
    )


def _from_today(
    session: Session, kiln_id: int, today: date, after_firings: int | None
) -> int | None:
    """So many firings from now on, counted from midnight: a firing of today is over already."""
    if after_firings is None:
        return None
    return after_firings + _firings_from(session, kiln_id, today)


def _firings_from(session: Session, kiln_id: int, day: date) -> int:
    found = session.scalar(
        select(func.count())
        .select_from(Firing)
        .where(Firing.kiln_id == kiln_id, Firing.started_at >= datetime.combine(day, time.min))
    )
    return int(found or 0)


def _check(draft: KilnTaskDraft, today: date) -> None:
    if draft.task not in KILN_TASKS:
        sentence = f"“{draft.task}” is no task: choose one of {', '.join(KILN_TASKS.values())}."
        raise UserProblem(sentence, {"task": sentence})
    if draft.done_on is not None and draft.done_on > today:
        sentence = "A task can't be done on a day to come: leave it to do, with the day it is due."
        raise UserProblem(sentence, {"done_on": sentence})
    for key, value in (
        ("after_firings", draft.after_firings),
        ("repeat_firings", draft.repeat_firings),
        ("repeat_days", draft.repeat_days),
    ):
        if value is not None and not 1 <= value <= 10_000:
            what = "days" if key == "repeat_days" else "firings"
            sentence = f"{value} {what}: give a number from 1 to 10 000, or leave it empty."
            raise UserProblem(sentence, {key: sentence})
