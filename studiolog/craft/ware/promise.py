"""When will each line be ready? What is asked of the simulation, and what it answers.

A line is so many good pieces that are owed. Its pieces stand in lots: of one run, at one stage, or
still to be thrown. In each future a lot waits for the potter's hands, dries, waits for a kiln that
fires by the studio's rhythm or as soon as it is worth it, cools, is glazed, fired, ground and
packed; some pieces are lost on the way, and what is then missing is thrown again. Ten thousand
futures are drawn at once (`craft.ware.futures`); lots and kilns draw by their keys, so that two
problems which differ in one thing have the same luck in everything else.

Times are days since midnight of ``today`` by the studio's wall clock: a day has 24 hours whether
or not the clocks are changed, and a promise of eight weeks ends on the same day of the week.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Final

from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.usual_time import UsualTime

ENTERS: Final = (
    "to_throw", "wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished",
)  # fmt: skip
"""Where a lot may stand, in order."""

SEGMENTS: Final = (
    "hands", "wet", "leather_hard", "bisque_wait", "bisque_kiln", "glazing", "glaze_wait",
    "glaze_kiln", "finishing", "again",
)  # fmt: skip
"""What the time until a line is ready goes into; "again" is making what was lost once more."""

STAYS: Final = ("wet", "leather_hard", "bisque", "fired")
"""Stages whose usual time is drawn; at bone dry and glazed ware waits for a simulated kiln."""

LOST_AT: Final = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired")


@dataclass(frozen=True, slots=True)
class Lot:
    """Pieces of one line that move together. ``stage`` is one of `ENTERS`.

    ``key`` names its luck. ``hours`` is how long it has been at that stage; ``in_kiln_h`` how long
    ago the kiln it stands in was lit, None if it stands in none.
    """

    key: int
    stage: str
    pieces: int
    hours: float = 0.0
    in_kiln_h: float | None = None


@dataclass(frozen=True, slots=True)
class Minutes:
    """Minutes of the potter's work one piece takes: until it is formed, at leather-hard, to glaze,
    and once it is fired."""

    forming: float
    leather_hard: float = 0.0
    glazing: float = 0.0
    finishing: float = 0.0

    @property
    def all(self) -> float:
        return self.forming + self.leather_hard + self.glazing + self.finishing


@dataclass(frozen=True, slots=True)
class Line:
    """Good pieces that are owed, with what there is for them. Lines come soonest promise first.

    ``promised_day`` counts days after today; None without a promise. ``stays`` are the times of
    `STAYS`, ``losses`` those of `LOST_AT`. ``room`` is what one piece takes of a kiln, in usual
    pieces. ``wanted`` 0 is other ware: it fills kilns, and nobody waits for it.
    """

    key: int
    wanted: int
    lots: tuple[Lot, ...]
    minutes: Minutes
    stays: tuple[UsualTime, ...]
    losses: tuple[LossRate, ...]
    promised_day: int | None = None
    room: float = 1.0


@dataclass(frozen=True, slots=True)
class KilnPlan:
    """How one kind of firing goes: ``gap`` from one to the next, ``in_kiln`` until unloaded.

    It is lit at the latest when the gap is over, and sooner once ``worth`` usual pieces wait,
    though never within ``least_gap_h`` of the last; it holds ``holds`` of them. ``since_h`` is how
    long ago it was lit last, None if never. ``extra_days`` are firings lit besides (a what if).
    """

    gap: UsualTime
    in_kiln: UsualTime
    holds: float
    worth: float
    since_h: float | None = None
    least_gap_h: float = 48.0
    extra_days: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkDays:
    """When the potter works: minutes of a working day, days of the week (Monday 1), days away."""

    minutes_a_day: float = 360.0
    days: str = "12345"
    away: tuple[tuple[date, date], ...] = ()
    pace_spread: float = 0.2


@dataclass(frozen=True, slots=True)
class PromiseProblem:
    """All that decides when lines are ready. ``now_h`` is the hour of the day it is asked."""

    today: date
    lines: tuple[Line, ...]
    bisque: KilnPlan
    glaze: KilnPlan
    work: WorkDays = field(default_factory=WorkDays)
    now_h: float = 9.0
    futures: int = 10_000
    seed: int = 1
    horizon_days: int = 730
    confidence: float = 0.9

    def with_bisque_on(self, day: float) -> "PromiseProblem":
        """As it is, with one more bisque firing lit so many days from today."""
        return replace(self, bisque=replace(self.bisque, extra_days=(*self.bisque.extra_days, day)))

    def with_away(self, first_on: date, last_on: date) -> "PromiseProblem":
        """As it is, with nobody in the studio on these days."""
        return replace(self, work=replace(self.work, away=(*self.work.away, (first_on, last_on))))

    def with_line(self, line: Line) -> "PromiseProblem":
        """As it is, with one more line after all others."""
        return replace(self, lines=(*self.lines, line))

    def with_first(self, key: int) -> "PromiseProblem":
        """As it is, with this line before all others."""
        first = sorted(self.lines, key=lambda line: line.key != key)
        return replace(self, lines=tuple(first))


@dataclass(frozen=True, slots=True)
class LineForecast:
    """When a line will be ready. ``by_day[d]`` is the chance that it is by the end of day ``d``.

    Day 0 is today. What is beyond the horizon is in no day. ``holds`` gives mean days by
    `SEGMENTS` of those futures that end within it; ``again_chance`` that something must be thrown
    once more.
    """

    key: int
    today: date
    by_day: tuple[float, ...]
    holds: tuple[float, ...]
    again_chance: float
    promised_day: int | None = None

    def chance_by(self, day: int) -> float:
        """The chance that the line is ready by the end of a day, counted from today."""
        if day < 0:
            return 0.0
        if not self.by_day:
            return 0.0
        return self.by_day[min(day, len(self.by_day) - 1)]

    def chance_on(self, day: date) -> float:
        """The chance that the line is ready by the end of a calendar day."""
        return self.chance_by((day - self.today).days)

    @property
    def holds_promise(self) -> float | None:
        """The chance that its promise holds; None without one."""
        return None if self.promised_day is None else self.chance_by(self.promised_day)

    def day_at(self, chance: float) -> int | None:
        """The first day by which it is ready with this chance; None: not within the horizon."""
        from bisect import bisect_left

        place = bisect_left(self.by_day, chance - 1e-12)
        return place if place < len(self.by_day) else None

    def date_at(self, chance: float) -> date | None:
        """As `day_at`, as a calendar day."""
        day = self.day_at(chance)
        return None if day is None else self.today + timedelta(days=day)

    def weeks_at(self, chance: float) -> int | None:
        """The fewest whole weeks from today within which it is ready with this chance."""
        day = self.day_at(chance)
        return None if day is None else max(1, -(-day // 7))

    @property
    def lead_days(self) -> float:
        return sum(self.holds)

    @property
    def longest(self) -> str:
        """The segment that takes the most of the time."""
        return SEGMENTS[max(range(len(SEGMENTS)), key=lambda place: self.holds[place])]


@dataclass(frozen=True, slots=True)
class Forecast:
    """Every line that somebody waits for, in the order of the problem."""

    today: date
    futures: int
    lines: tuple[LineForecast, ...]

    def of(self, key: int) -> LineForecast:
        """The forecast of one line. Raises KeyError."""
        for line in self.lines:
            if line.key == key:
                return line
        raise KeyError(key)


def simulate(
    problem: PromiseProblem, going: Callable[[int, int], bool] | None = None
) -> Forecast | None:
    """Draw the futures of a problem. The same problem has the same answer every time.

    ``going(done, total)`` is told how far it is and may say False to call it off; the answer is
    then None. Raises ValueError for a kiln that holds nothing, no futures, or a potter who works
    less than no time.
    """
    if min(problem.bisque.holds, problem.glaze.holds) <= 0 or problem.futures < 1:
        raise ValueError("A kiln holds something, and at least one future is drawn.")
    if problem.work.minutes_a_day < 0:
        raise ValueError("Nobody works less than no time.")
    from studiolog.craft.ware.futures import draw_futures

    return draw_futures(problem, going)
