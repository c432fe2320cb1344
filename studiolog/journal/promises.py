"""Promises: when each line will be ready, what would change that, and what a new order may hope.

`read_promises` reads; all else here is a pure function of what it read, for a job.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from studiolog.craft.ware.promise import (
    SEGMENTS,
    Forecast,
    Line,
    LineForecast,
    PromiseProblem,
    simulate,
)
from studiolog.craft.ware.throws import CHANCES, Throws, tell_throws
from studiolog.journal.promise_plan import FormPlan, PromiseLine, PromisePlan, read_promise_plan
from studiolog.problems import UserProblem

Going = Callable[[int, int], bool]

MOST_WEEKS = 26
_LOW, _HIGH = 0.1, 0.9


@dataclass(frozen=True)
class LinePromise:
    """A line with its forecast: the likely span of its ready day, and whether its promise holds.

    The span leaves out one future in ten at either end; None is later than the horizon. ``tone``
    is "met" where the chance is at least the studio's own confidence, "tight" where the middle
    still lies before the promise, "late" beyond it, "none" without a promise.
    """

    shown: PromiseLine
    forecast: LineForecast
    low_on: date | None
    middle_on: date | None
    high_on: date | None
    sure_on: date | None
    chance: float | None
    tone: str

    @property
    def key(self) -> int:
        return self.shown.key


@dataclass(frozen=True)
class Taking:
    """Whether to take orders: the chance that one of usual size is kept if promised as usual.

    ``weeks_sure`` is the shortest promise that holds with the studio's confidence (None: none
    within half a year), ``again_on`` the first day on which the usual promise would.
    """

    pieces: int
    weeks: int
    chance: float
    weeks_sure: int | None
    again_on: date | None
    confidence: float

    @property
    def is_wise(self) -> bool:
        """Whether the usual promise can be given today."""
        return self.chance >= self.confidence


@dataclass(frozen=True)
class Promises:
    """The whole answer: every line, and whether to take another order."""

    plan: PromisePlan
    lines: tuple[LinePromise, ...]
    taking: Taking

    def line_of(self, key: int) -> LinePromise | None:
        """A line by its key; None if it is not owed any more."""
        return next((line for line in self.lines if line.key == key), None)

    def order_lines(self, order_id: int) -> tuple[LinePromise, ...]:
        """The lines of one order."""
        return tuple(line for line in self.lines if line.shown.demand.order_id == order_id)


@dataclass(frozen=True)
class LineShift:
    """What a change does to one line: its chance and its sure day, before and after."""

    key: int
    chance_before: float | None
    chance_after: float | None
    days: int | None
    """How many days sooner (below 0) or later it is ready, with the studio's confidence; None
    where either lies beyond the horizon."""


@dataclass(frozen=True)
class WhatIf:
    """What a change does to every line: ``better`` and ``worse`` count those it moves."""

    shifts: tuple[LineShift, ...]

    def of(self, key: int) -> LineShift | None:
        """What it does to one line."""
        return next((shift for shift in self.shifts if shift.key == key), None)

    @property
    def kept_before(self) -> float:
        """How many promises hold in the mean, of those that were made."""
        return sum(shift.chance_before or 0.0 for shift in self.shifts)

    @property
    def kept_after(self) -> float:
        return sum(shift.chance_after or 0.0 for shift in self.shifts)


@dataclass(frozen=True)
class Quote:
    """What may be promised for an order nobody has given yet: so many pieces of a form.

    ``weeks`` lists each whole week with the chance to be ready within it. ``low_weeks`` to
    ``high_weeks`` is the window to promise: from the middle of the futures to the first whole week
    that holds with the studio's confidence, at ``chance``; None where no week within half a year
    does.
    """

    form: str
    pieces: int
    throw: int
    weeks: tuple[tuple[int, float], ...]
    low_weeks: int | None
    high_weeks: int | None
    chance: float
    forecast: LineForecast
    basis: FormPlan


@dataclass(frozen=True)
class RunPromise:
    """The promise of the line a run serves, for its row on the bench."""

    run_id: int
    promised_on: date | None
    low_on: date | None
    middle_on: date | None
    high_on: date | None
    chance: float | None
    tone: str


def read_promises(session: Session, now: datetime) -> PromisePlan:
    """All that `foresee` needs, as the journal has it at ``now``."""
    return read_promise_plan(session, now)


def foresee(plan: PromisePlan, going: Going | None = None) -> Promises | None:
    """Draw the futures of what is owed, and of one order more; None if it was called off."""
    forecast = simulate(plan.problem, _part(going, 0, 2))
    if forecast is None:
        return None
    lines = tuple(
        _tell_line(shown, line, plan.confidence)
        for shown, line in zip(plan.lines, forecast.lines, strict=True)
    )
    wanted = _new_line(plan, plan.any_form, plan.typical_pieces)
    taken = simulate(plan.problem.with_line(wanted), _part(going, 1, 2))
    if taken is None:
        return None
    return Promises(plan, lines, _tell_taking(plan, taken.of(wanted.key)))


def foresee_runs(promises: Promises) -> Mapping[int, RunPromise]:
    """For the bench: by run the promise of the line it serves, of several the one most at risk."""
    found: dict[int, RunPromise] = {}
    for line in promises.lines:
        for run_id in line.shown.run_ids:
            told = RunPromise(
                run_id, line.shown.promised_on, line.low_on, line.middle_on, line.high_on,
                line.chance, line.tone,
            )  # fmt: skip
            before = found.get(run_id)
            if before is None or (told.chance is not None and _risk(told) > _risk(before)):
                found[run_id] = told
    return found


def _risk(told: RunPromise) -> float:
    return -1.0 if told.chance is None else 1.0 - told.chance


def with_bisque(promises: Promises, lit_on: date, going: Going | None = None) -> WhatIf | None:
    """What one more bisque firing lit on a day would do. Raises `UserProblem` for a day past."""
    plan = promises.plan
    ahead = (lit_on - plan.today).days
    if ahead < 0:
        raise UserProblem("The day of one more bisque lies ahead: give one from today on.")
    at = max(ahead + 8.0 / 24.0, plan.problem.now_h / 24.0)
    return _compare(promises, simulate(plan.problem.with_bisque_on(at), going))


def with_days_away(
    promises: Promises, first_on: date, last_on: date, going: Going | None = None
) -> WhatIf | None:
    """What days away from the studio cost. Raises `UserProblem` for days past or not in order."""
    if last_on < first_on:
        raise UserProblem("The last day away comes before the first: give them in order.")
    if last_on < promises.plan.today:
        raise UserProblem("Days away that are over cost nothing more: give days ahead.")
    return _compare(promises, simulate(promises.plan.problem.with_away(first_on, last_on), going))


def with_line_first(promises: Promises, key: int, going: Going | None = None) -> WhatIf | None:
    """What it would do to take one line before all others."""
    return _compare(promises, simulate(promises.plan.problem.with_first(key), going))


def with_more_thrown(
    promises: Promises, key: int, more: int, going: Going | None = None
) -> WhatIf | None:
    """What it would do to throw so many more of a line today. Raises `UserProblem` below one."""
    if more < 1:
        raise UserProblem("Throw at least one more.")
    problem = promises.plan.problem
    lines = tuple(_thrown_more(line, more) if line.key == key else line for line in problem.lines)
    return _compare(promises, simulate(replace(problem, lines=lines), going))


def _thrown_more(line: Line, more: int) -> Line:
    from studiolog.craft.ware.promise import Lot

    luck = (line.key * 1_000_003 + 700_001) & (1 << 58) - 1
    return replace(line, lots=(*line.lots, Lot(luck, "to_throw", more)))


def quote(
    plan: PromisePlan, form_id: int | None, pieces: int, going: Going | None = None
) -> Quote | None:
    """What may be promised for so many pieces of a form, after all that is owed already.

    None if it was called off. Raises `UserProblem` for no pieces or more than a million.
    """
    basis = plan.plan_of(form_id)
    line = _new_line(plan, basis, pieces)
    forecast = simulate(plan.problem.with_line(line), going)
    if forecast is None:
        return None
    told = forecast.of(line.key)
    weeks = tuple((week, told.chance_by(week * 7)) for week in range(1, MOST_WEEKS + 1))
    sure = next((week for week, chance in weeks if chance >= plan.confidence), None)
    middle = next((week for week, chance in weeks if chance >= 0.5), None)
    chance = told.chance_by((sure or MOST_WEEKS) * 7)
    throw = sum(lot.pieces for lot in line.lots)
    return Quote(basis.name, pieces, throw, weeks, middle, sure, chance, told, basis)


def throws_of(
    plan: PromisePlan, form_id: int | None, good: int, chances: Sequence[float] = CHANCES
) -> tuple[Throws, ...]:
    """How many to throw of a form to have so many good ones. Raises `UserProblem`.

    What is lost of the next run is as uncertain as this studio's own counts leave it.
    """
    return tell_throws(good, plan.times.loss_from("wet", form_id).of_one_run, chances)


def lead_parts(line: LineForecast) -> tuple[tuple[str, float], ...]:
    """What the time until a line is ready goes into: (segment, mean days), the longest first."""
    parts = [(name, days) for name, days in zip(SEGMENTS, line.holds, strict=True) if days >= 0.05]
    return tuple(sorted(parts, key=lambda part: -part[1]))


def next_bisque_day(plan: PromisePlan) -> date:
    """The day one more bisque could be lit: the day after tomorrow, or the first with people in."""
    day = plan.today + timedelta(days=2)
    for _ in range(400):
        if not plan.studio.is_away(day):
            break
        day += timedelta(days=1)
    return day


def _new_line(plan: PromisePlan, basis: FormPlan, pieces: int) -> Line:
    return basis.wants(pieces, plan.confidence, int(plan.limits["promise_run_pieces"]))


def _tell_line(shown: PromiseLine, line: LineForecast, confidence: float) -> LinePromise:
    middle, chance = line.date_at(0.5), line.holds_promise
    promised = shown.promised_on
    if chance is None:
        tone = "none"
    elif chance >= confidence:
        tone = "met"
    elif middle is not None and promised is not None and middle <= promised:
        tone = "tight"
    else:
        tone = "late"
    return LinePromise(
        shown, line, line.date_at(_LOW), middle, line.date_at(_HIGH), line.date_at(confidence),
        chance, tone,
    )  # fmt: skip


def _tell_taking(plan: PromisePlan, line: LineForecast) -> Taking:
    weeks, confidence = plan.typical_weeks, plan.confidence
    sure_day = line.day_at(confidence)
    within = line.weeks_at(confidence)
    again = None
    if sure_day is not None and sure_day > weeks * 7:
        again = plan.today + timedelta(days=sure_day - weeks * 7)
    return Taking(
        plan.typical_pieces,
        weeks,
        line.chance_by(weeks * 7),
        within if within is not None and within <= MOST_WEEKS else None,
        again,
        confidence,
    )


def _compare(promises: Promises, after: Forecast | None) -> WhatIf | None:
    if after is None:
        return None
    confidence = promises.plan.confidence
    shifts = []
    for line in promises.lines:
        now, then = line.forecast, after.of(line.key)
        before_day, after_day = now.day_at(confidence), then.day_at(confidence)
        days = None if before_day is None or after_day is None else after_day - before_day
        shifts.append(LineShift(line.key, now.holds_promise, then.holds_promise, days))
    return WhatIf(tuple(shifts))


def _part(going: Going | None, part: int, parts: int) -> Going | None:
    """Tell how far one of several simulations is as a part of the whole."""
    if going is None:
        return None

    def tell(done: int, total: int) -> bool:
        return going(part * total + done, parts * total)

    return tell


__all__ = [
    "LinePromise", "LineShift", "PromisePlan", "PromiseProblem", "Promises", "Quote",
    "RunPromise", "Taking", "WhatIf", "foresee", "foresee_runs", "lead_parts", "next_bisque_day",
    "quote", "read_promises", "throws_of", "with_bisque", "with_days_away", "with_line_first",
    "with_more_thrown",
]  # fmt: skip
