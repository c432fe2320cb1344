"""How worn a kiln is: elements by their climb, thermocouple by the cones; what was new when.

A few statements whatever the number of firings; the sums are `craft.firing.kiln_wear`.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.kiln_wear import (
    CLIMB_FROM_C,
    FiringWork,
    KilnWear,
    judge_wear,
    planned_climb_min,
)
from studiolog.craft.firing.sensor_drift import OffsetOfFiring, SensorDrift, judge_drift
from studiolog.craft.limits import Limits
from studiolog.craft.words import FIRING_KINDS, KILN_TASKS
from studiolog.journal.calibrations import Calibrations, PastReading, read_calibrations, read_past
from studiolog.journal.limits import read_limits
from studiolog.records.facts import curve_fact
from studiolog.records.firings import Firing, FiringSegment
from studiolog.records.kilns import Kiln, KilnLevel, KilnTask
from studiolog.records.programs import Program

REPLACED: Final = ("elements", "thermocouple", "relay")
"""What firings and hours are counted from when it was last made new."""

_READINGS: Final = 400


@dataclass(frozen=True)
class SinceNew:
    """Firings and hours since something was made new; ``on`` None: since the first firing.

    ``hours`` and ``hot_hours`` are those above 100 and 1000 °C; ``logged`` of the firings have a
    curve to tell them from.
    """

    task: str
    words: str
    on: date | None
    firings: int
    logged: int
    hours: float
    hot_hours: float


@dataclass(frozen=True)
class KilnWearPage:
    """What is known of the wear of a kiln."""

    wear: KilnWear
    drift: SensorDrift
    drift_since: date | None
    since_new: tuple[SinceNew, ...]


def read_kiln_wear(session: Session, kiln_id: int) -> KilnWearPage:
    """The wear of a kiln as its firings tell it. A kiln that is gone has none, and no firings."""
    connection = session.connection()
    limits = read_limits(session)
    calibrations = read_calibrations(connection, [kiln_id])[kiln_id]
    rows = _firings(session, kiln_id)
    planned = _planned(session, kiln_id)
    power_kw = session.scalar(select(Kiln.power_kw).where(Kiln.id == kiln_id))
    wear = judge_wear(
        [_work(row, planned, power_kw) for row in rows],
        calibrations.last_change("elements"),
        limits,
    )
    since, drift = _drift(session, kiln_id, rows, calibrations, limits)
    return KilnWearPage(wear, drift, since, _since_new(session, kiln_id, rows))


def _firings(session: Session, kiln_id: int) -> Sequence[Any]:
    """One row a firing, oldest first."""
    return session.execute(
        select(
            Firing.id,
            Firing.number,
            Firing.started_at,
            Firing.kind,
            Firing.cone,
            Firing.program_id,
            Program.name.label("program"),
            func.coalesce(Firing.kwh, Firing.meter_after_kwh - Firing.meter_before_kwh).label(
                "kwh"
            ),
            curve_fact.c.climb_min,
            curve_fact.c.climb_demand,
            curve_fact.c.hold_duty,
            curve_fact.c.duty_h,
            curve_fact.c.above_100_h,
            curve_fact.c.above_1000_h,
        )
        .outerjoin(Program, Program.id == Firing.program_id)
        .outerjoin(curve_fact, curve_fact.c.firing_id == Firing.id)
        .where(Firing.kiln_id == kiln_id)
        .order_by(Firing.started_at, Firing.id)
    ).all()


def _planned(session: Session, kiln_id: int) -> dict[int, float | None]:
    """Minutes that each firing's program asked for from 1000 to 1150 °C.

    Only the segments above 1000 °C are read: what is below has no part in it.
    """
    found: dict[int, list[tuple[float | None, float, float]]] = defaultdict(list)
    for row in session.execute(
        select(
            FiringSegment.firing_id,
            FiringSegment.rate_c_per_h,
            FiringSegment.target_c,
            FiringSegment.hold_min,
        )
        .join(Firing, Firing.id == FiringSegment.firing_id)
        .where(Firing.kiln_id == kiln_id, FiringSegment.target_c > CLIMB_FROM_C)
        .order_by(FiringSegment.firing_id, FiringSegment.position)
    ):
        found[row.firing_id].append((row.rate_c_per_h, row.target_c, row.hold_min))
    return {firing_id: planned_climb_min(segments) for firing_id, segments in found.items()}


def _work(row: Any, planned: dict[int, float | None], power_kw: float | None) -> FiringWork:
    words = row.program or FIRING_KINDS[row.kind]
    kwh, basis = row.kwh, "meter"
    if kwh is None and row.duty_h is not None and power_kw is not None:
        kwh, basis = row.duty_h * power_kw, "duty"
    return FiringWork(
        firing_id=row.id,
        number=row.number,
        started_at=row.started_at,
        program=(row.program_id or (row.kind, row.cone), basis),
        program_words=words,
        climb_min=row.climb_min,
        climb_demand=row.climb_demand,
        planned_min=planned.get(row.id),
        hold_duty=row.hold_duty,
        kwh=kwh,
    )


def _drift(
    session: Session,
    kiln_id: int,
    rows: Sequence[Any],
    calibrations: Calibrations,
    limits: Limits,
) -> tuple[date | None, SensorDrift]:
    starts = calibrations.starts
    since = starts[-1] if starts else None
    levels = session.scalars(select(KilnLevel.id).where(KilnLevel.kiln_id == kiln_id)).all()
    past = read_past(session.connection(), kiln_id, levels, last=_READINGS, since=since)
    places = {row.id: place for place, row in enumerate(rows, start=1)}
    by_firing: dict[int, list[PastReading]] = defaultdict(list)
    for readings in past.values():
        for one in readings:
            by_firing[one.firing_id].append(one)
    firings = [
        OffsetOfFiring(places[firing_id], tuple((one.level_id, one.offset_c) for one in some))
        for firing_id, some in by_firing.items()
    ]
    return since, judge_drift(sorted(firings, key=lambda one: one.place), limits)


def _since_new(session: Session, kiln_id: int, rows: Sequence[Any]) -> tuple[SinceNew, ...]:
    newest = {
        row.task: row.done_on
        for row in session.execute(
            select(KilnTask.task, func.max(KilnTask.done_on).label("done_on"))
            .where(
                KilnTask.kiln_id == kiln_id,
                KilnTask.task.in_(REPLACED),
                KilnTask.done_on.is_not(None),
            )
            .group_by(KilnTask.task)
        )
    }
    found = []
    for task in REPLACED:
        on = newest.get(task)
        if on is None and task == "relay":
            continue
        mine = [row for row in rows if on is None or row.started_at.date() >= on]
        found.append(
            SinceNew(
                task,
                KILN_TASKS[task],
                on,
                len(mine),
                sum(row.above_100_h is not None for row in mine),
                sum(row.above_100_h or 0.0 for row in mine),
                sum(row.above_1000_h or 0.0 for row in mine),
            )
        )
    return tuple(found)
