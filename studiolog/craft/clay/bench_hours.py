"""When the potter is at the bench: hours of work laid over nights and days off."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from studiolog.problems import UserProblem

_LONGEST_DAYS = 400


@dataclass(frozen=True, slots=True)
class BenchHours:
    """A working day begins at ``starts_h`` and has ``hours_a_day`` hours; clay knows no pause.

    ``days`` are the days of a week that are worked, Monday as 1; ``away`` spans of days off, first
    and last included. All on the studio's wall clock. Raises `UserProblem` for a day without
    hours.
    """

    starts_h: float = 9.0
    hours_a_day: float = 6.0
    days: str = "1234567"
    away: tuple[tuple[date, date], ...] = ()

    def __post_init__(self) -> None:
        if not 0 < self.hours_a_day <= 24:
            told = "Say how many hours a day there are at the bench: more than 0, 24 at most."
            raise UserProblem(told, {"hours_a_day": told})

    def works_on(self, day: date) -> bool:
        """Whether somebody is at the bench on a day."""
        if self.days and str(day.isoweekday()) not in self.days:
            return False
        return not any(first <= day <= last for first, last in self.away)

    def begins(self, day: date) -> datetime:
        """When the work of a day begins; it may end after midnight."""
        start = min(self.starts_h, 24.0 - self.hours_a_day)
        return datetime.combine(day, time()) + timedelta(hours=start)

    def ends(self, day: date) -> datetime:
        """When the work of a day ends."""
        return self.begins(day) + timedelta(hours=self.hours_a_day)

    def at_bench(self, moment: datetime) -> bool:
        """Whether somebody is at the bench then."""
        day = moment.date()
        return self.works_on(day) and self.begins(day) <= moment <= self.ends(day)

    def next_at_bench(self, moment: datetime) -> datetime:
        """The first moment from then on at which somebody is at the bench."""
        for later in range(_LONGEST_DAYS):
            day = moment.date() + timedelta(days=later)
            if self.works_on(day) and moment < self.ends(day):
                return max(moment, self.begins(day))
        return moment + timedelta(days=_LONGEST_DAYS)

    def next_day(self, moment: datetime) -> datetime:
        """When work begins on the next day that is worked, not this one."""
        tomorrow = datetime.combine(moment.date() + timedelta(days=1), time())
        return self.next_at_bench(tomorrow)

    def done_at(self, start: datetime, minutes: float) -> datetime:
        """When so much work is done that begins at ``start``."""
        at, left = self.next_at_bench(start), timedelta(minutes=max(minutes, 0.0))
        for _ in range(_LONGEST_DAYS):
            today = self.ends(at.date()) - at
            if left <= today:
                return at + left
            left -= today
            at = self.next_day(at)
        return at


def wall_hours(minutes: float, hours_a_day: float) -> float:
    """Hours by the clock until so many minutes of work are done, begun at the start of a day.

    A day that is just full ends that evening: 6 hours at 6 a day are 6, and one minute more is
    the next morning.
    """
    hours = minutes / 60.0
    if hours <= 0:
        return 0.0
    days = int(hours // hours_a_day)
    rest = hours - days * hours_a_day
    if rest < 1e-9:
        days, rest = days - 1, hours_a_day
    return days * 24.0 + rest


def work_within(hours: float, hours_a_day: float) -> float:
    """Hours of work there are within so many by the clock, from the start of a day."""
    days, rest = divmod(max(hours, 0.0), 24.0)
    return days * hours_a_day + min(rest, hours_a_day)
