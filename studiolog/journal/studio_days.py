"""When the studio works: days of a usual week, hours of such a day, and days nobody is there.

Days are those of the wall calendar; clocks that are put forward or back change none of them.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.ware.promise import WorkDays
from studiolog.journal.studio import read_terms
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.studio import Away
from studiolog.records.values import storable

USUAL_DAYS = "12345"
_LONGEST_AWAY = 366 * 2


@dataclass(frozen=True)
class AwayLine:
    """Days away, the first and the last included."""

    away_id: int
    version: int
    first_on: date
    last_on: date
    why: str

    @property
    def days(self) -> int:
        return (self.last_on - self.first_on).days + 1


@dataclass(frozen=True)
class StudioTimes:
    """The usual week and the days away from today on; what the studio has not said is stated."""

    work_days: str
    hours_a_day: float
    says_days: bool
    says_hours: bool
    away: tuple[AwayLine, ...] = ()

    def is_away(self, day: date) -> bool:
        """Whether nobody is in the studio on a day."""
        return any(line.first_on <= day <= line.last_on for line in self.away)

    def is_worked(self, day: date) -> bool:
        """Whether a day is one of the usual week, with somebody there."""
        return str(day.isoweekday()) in self.work_days and not self.is_away(day)

    def worked_between(self, first_on: date, last_on: date) -> int:
        """How many days are worked from the first to the last, both included."""
        span = (last_on - first_on).days + 1
        return sum(self.is_worked(first_on + timedelta(days=day)) for day in range(max(0, span)))

    def work(self, pace_spread: float) -> WorkDays:
        """As the simulation takes them."""
        away = tuple((line.first_on, line.last_on) for line in self.away)
        return WorkDays(self.hours_a_day * 60.0, self.work_days, away, pace_spread)


def read_studio_times(session: Session, today: date, limits: Limits = SHIPPED) -> StudioTimes:
    """The usual week, and days away that are not over on ``today``, the nearest first."""
    terms = read_terms(session)
    rows = session.scalars(
        select(Away).where(Away.last_on >= today).order_by(Away.first_on, Away.id)
    )
    return StudioTimes(
        terms.work_days or USUAL_DAYS,
        terms.hours_a_day or limits["promise_hours_a_day"],
        bool(terms.work_days),
        terms.hours_a_day is not None,
        tuple(AwayLine(row.id, row.version, row.first_on, row.last_on, row.why) for row in rows),
    )


def add_away(session: Session, first_on: date, last_on: date | None = None, why: str = "") -> int:
    """Note days away; without a last day it is one day. Returns their id.

    Raises `UserProblem` for a last day before the first, or more than two years.
    """
    last_on = first_on if last_on is None else last_on
    _check(first_on, last_on)
    return add(session, Away(first_on=first_on, last_on=last_on, why=storable(why).strip()))


def change_away(
    session: Session,
    away_id: int,
    version: int | None = None,
    *,
    first_on: date | None = None,
    last_on: date | None = None,
    why: str | None = None,
) -> None:
    """Change days away; None leaves a field as it is. Raises as `add_away` and `writing.get`."""
    row = get(session, Away, away_id, version)
    first = row.first_on if first_on is None else first_on
    last = row.last_on if last_on is None else last_on
    _check(first, last)
    words = row.why if why is None else storable(why).strip()
    change(session, Away, away_id, version, first_on=first, last_on=last, why=words)


def delete_away(session: Session, away_id: int, version: int | None = None) -> None:
    """Take days away out again."""
    remove(session, get(session, Away, away_id, version))


def _check(first_on: date, last_on: date) -> None:
    if last_on < first_on:
        told = "The last day away comes before the first: give them in order."
        raise UserProblem(told, {"last_on": told})
    if (last_on - first_on).days >= _LONGEST_AWAY:
        told = "More than two years away is no time to promise anything: give a nearer last day."
        raise UserProblem(told, {"last_on": told})
