"""When a kiln's calibrations began, and what its cones have read against its sensor since.

New elements or a new thermocouple start a new calibration: readings of one correct only the
firings of that one. A firing on the day of the change belongs to the new.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final

from sqlalchemy import Connection, and_, or_, select, union_all
from sqlalchemy.sql import ColumnElement

from studiolog.craft.firing.calibration import (
    LevelOffset,
    estimate_offsets,
    offset_of_reading,
    readings_that_count,
)
from studiolog.craft.limits import Limits
from studiolog.craft.words import KILN_TASKS
from studiolog.journal.tables import table
from studiolog.records.facts import level_heat

RECALIBRATING: Final = ("elements", "thermocouple")
"""The tasks that, once done, start a new calibration."""


@dataclass(frozen=True)
class Change:
    """Something that started a new calibration: the day, and a key of `KILN_TASKS`, or "" where
    the potter only said from when readings count."""

    on: date
    task: str

    @property
    def words(self) -> str:
        """ "new elements"."""
        return KILN_TASKS[self.task] if self.task else "readings count from here"


@dataclass(frozen=True)
class Calibrations:
    """The days on which a kiln's calibrations began, first to last; none means one since ever."""

    changes: tuple[Change, ...] = ()

    @property
    def starts(self) -> tuple[date, ...]:
        """Each day once, in order."""
        return tuple(sorted({change.on for change in self.changes}))

    def number_of(self, day: date) -> int:
        """Which calibration a day belongs to, from 0."""
        return bisect_right(self.starts, day)

    def start_of(self, day: date) -> date | None:
        """When the calibration of a day began; None for the first, which began with the kiln."""
        number = self.number_of(day)
        return self.starts[number - 1] if number else None

    def end_of(self, day: date) -> date | None:
        """The day from which the next calibration counts; None if it is the last."""
        number = self.number_of(day)
        return self.starts[number] if number < len(self.starts) else None

    def last_change(self, *tasks: str, until: date | None = None) -> date | None:
        """The newest day on which one of ``tasks`` was done, up to a day."""
        days = [
            change.on
            for change in self.changes
            if change.task in tasks and (until is None or change.on <= until)
        ]
        return max(days, default=None)


def read_calibrations(connection: Connection, kiln_ids: Iterable[int]) -> dict[int, Calibrations]:
    """The calibrations of some kilns: from the tasks done and from the day set by hand."""
    ids = sorted(set(kiln_ids))
    kiln, task = table("kiln"), table("kiln_task")
    changes: dict[int, list[Change]] = {kiln_id: [] for kiln_id in ids}
    for row in connection.execute(
        select(task.c.kiln_id, task.c.done_on, task.c.task)
        .where(
            task.c.kiln_id.in_(ids),
            task.c.task.in_(RECALIBRATING),
            task.c.done_on.is_not(None),
        )
        .order_by(task.c.done_on, task.c.id)
    ):
        changes[row.kiln_id].append(Change(row.done_on, row.task))
    for set_by_hand in connection.execute(
        select(kiln.c.id, kiln.c.calibrated_from).where(
            kiln.c.id.in_(ids), kiln.c.calibrated_from.is_not(None)
        )
    ):
        found, day = changes[set_by_hand.id], set_by_hand.calibrated_from
        if all(change.on != day for change in found):
            found.append(Change(day, ""))
    return {
        kiln_id: Calibrations(tuple(sorted(some, key=lambda change: change.on)))
        for kiln_id, some in changes.items()
    }


@dataclass(frozen=True)
class PastReading:
    """What the cones of one level said in one firing over what the sensor's curve said, °C."""

    level_id: int
    firing_id: int
    number: int
    started_at: datetime
    offset_c: float


def read_past(
    connection: Connection,
    kiln_id: int,
    level_ids: Sequence[int],
    *,
    last: int,
    before: tuple[datetime, int] | None = None,
    since: date | None = None,
) -> dict[int, list[PastReading]]:
    """The last so many readings of each level, oldest first, asked in one statement.

    ``before`` is the start and id of a firing; only those before it count. ``since`` leaves out
    firings that started before a day.
    """
    firing, curve = table("firing"), table("curve")
    asked = []
    for level_id in level_ids:
        where: list[ColumnElement[bool]] = [
            firing.c.kiln_id == kiln_id,
            level_heat.c.level_id == level_id,
            level_heat.c.basis == "read",
            curve.c.main,
            curve.c.cone.is_not(None),
        ]
        if since is not None:
            where.append(firing.c.started_at >= datetime.combine(since, time.min))
        if before is not None:
            at, ident = before
            where.append(firing.c.started_at <= at)
            where.append(
                or_(firing.c.started_at < at, and_(firing.c.started_at == at, firing.c.id < ident))
            )
        asked.append(
            select(
                level_heat.c.level_id,
                firing.c.id,
                firing.c.number,
                firing.c.started_at,
                level_heat.c.cone.label("read_cone"),
                curve.c.cone.label("curve_cone"),
            )
            .select_from(firing)
            .join(level_heat, level_heat.c.firing_id == firing.c.id)
            .join(curve, curve.c.firing_id == firing.c.id)
            .where(*where)
            .order_by(firing.c.started_at.desc(), firing.c.id.desc())
            .limit(last)
            .subquery()
        )
    found: dict[int, list[PastReading]] = {level_id: [] for level_id in level_ids}
    if not asked:
        return found
    for row in connection.execute(union_all(*(select(one) for one in asked))):
        found[row.level_id].append(
            PastReading(
                row.level_id,
                row.id,
                row.number,
                row.started_at,
                offset_of_reading(row.read_cone, row.curve_cone),
            )
        )
    for readings in found.values():
        readings.sort(key=lambda one: (one.started_at, one.firing_id))
    return found


def read_offsets_before(
    connection: Connection,
    kiln_id: int,
    level_ids: Sequence[int],
    limits: Limits,
    calibrations: Calibrations,
    firing: tuple[datetime, int],
) -> dict[int, LevelOffset]:
    """Each level's offset as it was known when a firing (its start and id) began."""
    past = read_past(
        connection,
        kiln_id,
        level_ids,
        last=readings_that_count(limits),
        before=firing,
        since=calibrations.start_of(firing[0].date()),
    )
    return estimate_by_id(past, limits)


def read_offsets(
    connection: Connection,
    kiln_id: int,
    level_ids: Sequence[int],
    limits: Limits,
    calibrations: Calibrations,
) -> dict[int, LevelOffset]:
    """Each level's offset as it stands today, in the newest calibration."""
    starts = calibrations.starts
    past = read_past(
        connection,
        kiln_id,
        level_ids,
        last=readings_that_count(limits),
        since=starts[-1] if starts else None,
    )
    return estimate_by_id(past, limits)


def estimate_by_id(
    past: Mapping[int, Sequence[PastReading]], limits: Limits
) -> dict[int, LevelOffset]:
    """The offsets from readings by level id."""
    values = {str(level): [one.offset_c for one in some] for level, some in past.items()}
    return {int(level): offset for level, offset in estimate_offsets(values, limits).items()}


def group_by_calibration(
    readings: Iterable[PastReading], calibrations: Calibrations
) -> dict[int, list[PastReading]]:
    """Readings by the calibration they belong to, from 0, each in their order."""
    found: dict[int, list[PastReading]] = defaultdict(list)
    for one in readings:
        found[calibrations.number_of(one.started_at.date())].append(one)
    return found
