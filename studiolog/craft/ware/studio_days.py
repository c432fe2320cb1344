"""Days as the simulation counts them: how much work each has room for, and who is there.

A moment is a number of days since midnight of today. Work is spread evenly over its day: which
hour it falls in nobody promises. Past the horizon is never.
"""

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.drawn_times import Moments

if TYPE_CHECKING:
    from studiolog.craft.ware.promise import WorkDays


class StudioDays:
    """The calendar of a studio from ``today`` over ``horizon`` days."""

    def __init__(self, today: date, horizon: int, work: "WorkDays") -> None:
        self.horizon = horizon
        weekdays = (today.isoweekday() - 1 + np.arange(horizon)) % 7 + 1
        worked = np.isin(weekdays, [int(day) for day in work.days if day in "1234567"])
        there = np.ones(horizon, dtype=bool)
        for first_on, last_on in work.away:
            first = max(0, (first_on - today).days)
            there[first : max(0, (last_on - today).days + 1)] = False
        self.minutes_a_day = work.minutes_a_day
        self.always_there = bool(there.all())
        self._worked = _Counted(worked & there)
        self._there = _Counted(there)
        back = np.arange(horizon + 1, dtype=np.float32)
        for day in range(horizon - 1, -1, -1):
            if not there[day]:
                back[day] = back[day + 1]
        self._back = back

    def after_work(self, at: Moments, minutes: Moments) -> Moments:
        """When so many minutes of work, begun at ``at``, are done."""
        if self.minutes_a_day <= 0:
            return np.where(minutes > 0, np.float32(np.inf), at).astype(np.float32)
        done = self._worked.after(at, minutes / np.float32(self.minutes_a_day))
        # Where there is nothing to do, nobody waits for a working day to do it.
        return (
            done if float(np.min(minutes, initial=np.inf)) > 0 else np.where(minutes > 0, done, at)
        )

    def after_stay(self, at: Moments, days: Moments) -> Moments:
        """When so many days with somebody there have passed since ``at``."""
        return at + days if self.always_there else self._there.after(at, days)

    def next_there(self, at: Moments) -> Moments:
        """``at``, or the first moment after it when somebody is there."""
        if self.always_there:
            return at
        return np.maximum(self._back[np.minimum(at, np.float32(self.horizon)).astype(np.int32)], at)


class _Counted:
    """Some of the days of a calendar, counted: from a moment to their count, and back."""

    def __init__(self, which: NDArray[np.bool_]) -> None:
        # Past the horizon a day counts on as any other, and one more ends in never.
        self._before = np.concatenate(([0], np.cumsum(which))).astype(np.float32)
        self._counts = np.append(which, False).astype(np.float32)
        self._days = np.append(np.flatnonzero(which), np.inf).astype(np.float32)
        self._last = len(self._days) - 1
        self._end = np.float32(len(which))

    def after(self, at: Moments, days: Moments) -> Moments:
        """When so many of the counted days have passed since ``at``."""
        at = np.minimum(at, self._end)
        day = at.astype(np.int32)
        count = at - day
        count *= self._counts[day]
        count += self._before[day]
        count += days
        np.minimum(count, np.float32(self._last), out=count)
        whole = count.astype(np.int32)
        count -= whole
        count += self._days[whole]
        return count
