"""Spans of days to look back on: a month, a quarter, a year; and the span before each."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from studiolog.craft.days import write_day
from studiolog.problems import UserProblem

_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
_LONGEST_DAYS = 366 * 100


@dataclass(frozen=True, slots=True)
class Span:
    """Days from the first to the last, both included.

    Raises `UserProblem` where the last lies before the first.
    """

    first_on: date
    last_on: date

    def __post_init__(self) -> None:
        if self.last_on < self.first_on:
            told = "The last day lies before the first: turn them round."
            raise UserProblem(told, {"last_on": told})
        if self.days > _LONGEST_DAYS:
            told = "That is more than a hundred years: look at the first day again."
            raise UserProblem(told, {"first_on": told})

    @property
    def days(self) -> int:
        return (self.last_on - self.first_on).days + 1

    @property
    def words(self) -> str:
        """``October 2026``, ``July to September 2026``, ``2026``, ``3 Oct to 5 Nov 2026``."""
        first, last = self.first_on, self.last_on
        if not self.months:
            if first == last:
                return write_day(first)
            short = write_day(first, last if first.year == last.year else None)
            return f"{short} to {write_day(last)}"
        if self.months == 1:
            return f"{_MONTHS[first.month - 1]} {first.year}"
        if self.months % 12 == 0 and first.month == 1:
            return str(first.year) if self.months == 12 else f"{first.year} to {last.year}"
        year = f" {first.year}" if first.year != last.year else ""
        return f"{_MONTHS[first.month - 1]}{year} to {_MONTHS[last.month - 1]} {last.year}"

    @property
    def months(self) -> int:
        """How many calendar months it is; 0 where it is not whole ones."""
        first, last = self.first_on, self.last_on
        if first.day != 1 or last.day != monthrange(last.year, last.month)[1]:
            return 0
        return 12 * (last.year - first.year) + last.month - first.month + 1

    def before(self) -> "Span":
        """As many calendar months before it, or as many days where it is not whole months."""
        last = self.first_on - timedelta(days=1)
        if self.months:
            return Span(_months_back(self.first_on, self.months), last)
        return Span(self.first_on - timedelta(days=self.days), last)


def usual_spans(today: date) -> dict[str, Span]:
    """The spans that are asked for most, by their key, the nearest first."""
    month = today.replace(day=1)
    quarter = today.replace(month=(today.month - 1) // 3 * 3 + 1, day=1)
    return {
        "this month": _from(month, 1),
        "last month": _from(_months_back(month, 1), 1),
        "this quarter": _from(quarter, 3),
        "last quarter": _from(_months_back(quarter, 3), 3),
        "this year": _from(date(today.year, 1, 1), 12),
        "last year": _from(date(today.year - 1, 1, 1), 12),
    }


def _from(first: date, months: int) -> Span:
    return Span(first, _months_back(first, -months) - timedelta(days=1))


def _months_back(first: date, months: int) -> date:
    """The first of a month so many months earlier; later for a number below 0."""
    place = 12 * first.year + first.month - 1 - months
    return date(place // 12, place % 12 + 1, 1)
