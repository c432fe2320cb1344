"""Days on which a kiln can be lit: somebody is there, and no other load has it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.journal.loads import title_of
from studiolog.journal.stage_times import StageTimes
from studiolog.journal.studio_days import StudioTimes
from studiolog.records.kilns import Kiln
from studiolog.records.loads import KilnLoad

_LIT_AT = time(8)
_LOOK_DAYS = 400


@dataclass(frozen=True)
class TakenBy:
    """Days a kiln is taken by another planned load, the first and the last included."""

    first_on: date
    last_on: date
    title: str


def days_taken(lit_on: date, in_kiln_h: float) -> date:
    """The last day a load lit in the morning keeps its kiln: not that on which it comes out."""
    out_on = (datetime.combine(lit_on, _LIT_AT) + timedelta(hours=in_kiln_h)).date()
    return max(lit_on, out_on - timedelta(days=1))


def in_kiln_h(times: StageTimes, kind: str) -> float:
    """Hours from lighting to unpacking of a kind of firing, in the middle of those there were."""
    return times.rhythm("bisque" if kind == "bisque" else "glaze").in_kiln.median_h


def read_taken(
    session: Session, load: KilnLoad, times: StageTimes, today: date
) -> tuple[TakenBy, ...]:
    """When other loads that are planned for a day have the kiln of this one, the soonest first."""
    rows = session.execute(
        select(KilnLoad.planned_on, KilnLoad.kind, KilnLoad.cone, Kiln.name)
        .join(Kiln, Kiln.id == KilnLoad.kiln_id)
        .where(
            KilnLoad.kiln_id == load.kiln_id,
            KilnLoad.id != load.id,
            KilnLoad.firing_id.is_(None),
            KilnLoad.planned_on >= today,
        )
        .order_by(KilnLoad.planned_on, KilnLoad.id)
    )
    return tuple(
        TakenBy(row.planned_on, days_taken(row.planned_on, in_kiln_h(times, row.kind)),
                title_of(row.kind, row.cone, row.name))
        for row in rows
    )  # fmt: skip


def first_day(
    from_on: date, hours: float, studio: StudioTimes, taken: Sequence[TakenBy]
) -> tuple[date | None, str]:
    """The first day from ``from_on`` on that a load in the kiln for ``hours`` can be lit, and what
    it waits for ("" if for nothing); None if there is none within a year.

    A week nobody has set keeps no day from lighting: only days away do.
    """
    why = ""
    for ahead in range(_LOOK_DAYS):
        day = from_on + timedelta(days=ahead)
        hinders = _hinders(day, hours, studio, taken)
        if not hinders:
            return day, why
        why = hinders
    return None, "No day within a year is free: look at the days away, and at the other loads."


def _hinders(day: date, hours: float, studio: StudioTimes, taken: Sequence[TakenBy]) -> str:
    away = next((line for line in studio.away if line.first_on <= day <= line.last_on), None)
    if away is not None:
        why = f" ({away.why})" if away.why else ""
        return f"Nobody is in the studio until {write_day(away.last_on)}{why}."
    if studio.says_days and not studio.is_worked(day):
        return f"{day:%A} is no working day of the studio."
    last = days_taken(day, hours)
    for other in taken:
        if other.first_on <= last and day <= other.last_on:
            return f"The kiln is planned for “{other.title}” on {write_day(other.first_on)}."
    return ""
