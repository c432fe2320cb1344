"""How many pieces can be begun at once so that the last is done before it is too stiff.

Pieces are thrown one after another and stiffen one after another, so each has its own stretch of
workable hours; the bench takes them in the same order. Piece i is leather-hard ``(i - 1) a`` after
the first, where a is the wet work in one. The work b of a piece done while it is leather-hard is
finished for i pieces after ``i b`` of work, and work stops at night while clay does not. So piece i
must stay workable for

    max(clock(i b), (i - 1) a + b) - (i - 1) a

hours, and the batch is as large as the piece that asks most still has them, with the stated
chance. A batch is thrown in one day. Where there are more hands than a step takes, pieces are
worked side by side: i pieces take ``ceil(i / teams)`` turns of it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from studiolog.craft.clay.bench_hours import wall_hours, work_within
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_duration, show_quantity
from studiolog.craft.ware.usual_time import UsualTime
from studiolog.problems import UserProblem

MOST: Final = 500
"""A batch is counted no further: nobody throws more in a day."""


@dataclass(frozen=True, slots=True)
class WorkStep:
    """A step of making one piece: ``stage`` is "wet", "leather_hard" or a later one."""

    name: str
    minutes: float | None
    stage: str
    persons: int = 1


@dataclass(frozen=True, slots=True)
class Term:
    """One line of the sum: what it is, and what it comes to."""

    words: str
    value: str


@dataclass(frozen=True, slots=True)
class Needed:
    """With so many pieces the one that waits longest must stay workable so many hours."""

    pieces: int
    hours: float
    chance: float
    """That it is too stiff before it is done."""


@dataclass(frozen=True, slots=True)
class BatchSize:
    """How many can be begun at once. ``bound_by`` is "workable", "day" or "nothing".

    ``by_count`` tells of some counts around it; ``wrap_before`` names the steps that are reached
    so late that ware in the open would be too stiff by then.
    """

    pieces: int
    bound_by: str
    binding_step: str
    binding: str
    chance: float
    risk: float
    workable: UsualTime
    sure_h: float
    wet_minutes: float
    work_minutes: float
    terms: tuple[Term, ...]
    by_count: tuple[Needed, ...]
    wrap_before: tuple[str, ...]
    untimed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Work:
    """The steps of one state of the clay, by how many teams the hands make for each."""

    steps: tuple[tuple[str, float, int], ...]  # name, minutes, teams

    @property
    def of_one(self) -> float:
        return math.fsum(minutes for _, minutes, _ in self.steps)

    def of(self, pieces: int) -> float:
        """Minutes until so many are through all of them."""
        return math.fsum(math.ceil(pieces / teams) * minutes for _, minutes, teams in self.steps)

    @property
    def longest(self) -> str:
        return max(self.steps, key=lambda step: step[1] / step[2])[0] if self.steps else ""


def how_many_at_once(
    steps: Sequence[WorkStep],
    workable: UsualTime,
    *,
    hands: int = 1,
    hours_a_day: float = 6.0,
    open_hours: UsualTime | None = None,
    of: str = "",
    basis: str = "",
    limits: Limits = SHIPPED,
) -> BatchSize:
    """The largest batch of which the last piece is done in time, and the sum that says so.

    ``workable`` are the hours ware stays workable as it will stand, ``open_hours`` in the open;
    ``of`` and ``basis`` are words for the sum. Raises `UserProblem` without steps, without minutes,
    without hands or hours, and for a step that takes more persons than there are.
    """
    _refuse(steps, hands, hours_a_day)
    wet, work = _work(steps, "wet", hands), _work(steps, "leather_hard", hands)
    untimed = tuple(step.name for step in steps if step.minutes is None and _counts(step))
    if wet.of_one + work.of_one <= 0:
        told = "No step done while the clay is wet or leather-hard has minutes: give them first."
        raise UserProblem(told, {"steps": told})
    risk = limits["dries_first_risk"]
    sure_h = _sure(workable, risk)
    in_a_day = _thrown_in_a_day(wet, hours_a_day)
    chances: list[Needed] = []
    asked, longest = 0, 0.0
    for pieces in range(1, min(in_a_day, MOST) + 1):
        longest = max(longest, _needs(wet, work, pieces, hours_a_day))
        chance = workable.chance_within(longest)
        chances.append(Needed(pieces, longest, chance))
        if chance > risk:
            break
        asked = pieces
    bound_by = "workable" if asked < len(chances) or asked == 0 else "day"
    if bound_by == "day" and asked >= MOST:
        bound_by = "nothing"
    binding_step = work.longest if bound_by == "workable" else wet.longest
    return BatchSize(
        asked,
        bound_by,
        binding_step,
        _say_binding(bound_by, asked, binding_step),
        chances[asked - 1].chance if asked else chances[0].chance,
        risk,
        workable,
        sure_h,
        wet.of(1),
        work.of(1),
        tuple(_terms(wet, work, asked, workable, sure_h, risk, hours_a_day, in_a_day, of, basis)),
        _some(chances, asked),
        _wrap_before(wet, work, asked, hours_a_day, open_hours, risk),
        untimed,
    )


def _counts(step: WorkStep) -> bool:
    return step.stage in ("wet", "leather_hard")


def say_hours(hours: float) -> str:
    """``4 min``, ``5.2 h``, ``24 h``."""
    if hours < 1.0:
        return show_duration(hours * 3600.0)
    return show_quantity(hours, "h", 0 if hours >= 20 or abs(hours - round(hours)) < 0.05 else 1)


def _refuse(steps: Sequence[WorkStep], hands: int, hours_a_day: float) -> None:
    if not steps:
        told = "No steps are given: say how it is made, with minutes for one piece, on its form."
        raise UserProblem(told, {"steps": told})
    if not 0 < hours_a_day <= 24:
        told = "Say how many hours a day there are at the bench: more than 0, 24 at most."
        raise UserProblem(told, {"hours_a_day": told})
    if hands < 1:
        told = "Say how many are at the bench: 1 or more."
        raise UserProblem(told, {"hands": told})
    for step in steps:
        if _counts(step) and step.persons > hands:
            are = "is" if hands == 1 else "are"
            told = f"“{step.name}” takes {step.persons} at once, and there {are} {hands}."
            raise UserProblem(told, {"hands": told})


def _work(steps: Sequence[WorkStep], stage: str, hands: int) -> _Work:
    return _Work(
        tuple(
            (step.name, step.minutes, hands // max(1, step.persons))
            for step in steps
            if step.stage == stage and step.minutes
        )
    )


def _sure(workable: UsualTime, risk: float) -> float:
    """Hours it stays workable but for a chance of ``risk``."""
    from statistics import NormalDist

    spread = max(workable.next_spread, 1e-9)
    return math.exp(workable.centre + NormalDist().inv_cdf(risk) * spread)


def _thrown_in_a_day(wet: _Work, hours_a_day: float) -> int:
    if wet.of_one <= 0:
        return MOST
    pieces = 0
    while pieces < MOST and wet.of(pieces + 1) <= hours_a_day * 60.0 + 1e-9:
        pieces += 1
    return max(pieces, 1)  # what takes longer than a day is still begun one at a time


def _needs(wet: _Work, work: _Work, piece: int, hours_a_day: float) -> float:
    """Hours the piece of this place must stay workable, in the order they were thrown."""
    behind = (wet.of(piece) - wet.of(1)) / 60.0
    alone = wall_hours(work.of(1), hours_a_day)
    return max(wall_hours(work.of(piece), hours_a_day), behind + alone) - behind


def _say_binding(bound_by: str, pieces: int, step: str) -> str:
    if bound_by == "workable":
        if not pieces:
            return f"Even one is at risk to be too stiff before it is done; “{step}” takes longest."
        return f"One more would be too stiff before it is done; “{step}” takes longest."
    if bound_by == "day":
        return f"No more can be begun in one day; “{step}” takes longest. None of them dries first."
    return "Neither the day nor the clay sets an end to it."


def _some(chances: Sequence[Needed], asked: int) -> tuple[Needed, ...]:
    """Half of it, one fewer, it, and the next."""
    wanted = sorted({max(1, asked // 2), max(1, asked - 1), max(1, asked), asked + 1})
    return tuple(chances[count - 1] for count in wanted if count <= len(chances))


def _wrap_before(
    wet: _Work,
    work: _Work,
    pieces: int,
    hours_a_day: float,
    open_hours: UsualTime | None,
    risk: float,
) -> tuple[str, ...]:
    """Steps that some piece reaches only after ware in the open would be too stiff.

    Piece by piece: the last waits until all before it are done, less what it was thrown later.
    """
    if open_hours is None or not pieces:
        return ()
    sure, of_one, late = _sure(open_hours, risk), 0.0, []
    for name, minutes, _ in work.steps:
        of_one += minutes
        waits = max(
            wall_hours(work.of(before) + of_one, hours_a_day)
            - (wet.of(before + 1) - wet.of(1)) / 60.0
            for before in range(pieces)
        )
        if waits > sure:
            late.append(name)
    return tuple(late)


def _terms(
    wet: _Work,
    work: _Work,
    pieces: int,
    workable: UsualTime,
    sure_h: float,
    risk: float,
    hours_a_day: float,
    in_a_day: int,
    of: str,
    basis: str,
) -> list[Term]:
    terms: list[Term] = []
    if wet.steps:
        terms.append(
            Term(
                f"{_added(wet)}: each is leather-hard so long after the one before", _min(wet.of(1))
            )
        )
        terms.append(Term(f"Begun in a day of {say_hours(hours_a_day)}", _pieces(in_a_day)))
    if not work.steps:
        terms.append(Term("Work while leather-hard", "none that has minutes"))
        return terms
    terms.append(Term(f"{_added(work)}: work in one while it is leather-hard", _min(work.of(1))))
    kept = f"Stays workable {of}".rstrip() + (f" ({basis})" if basis else "")
    terms.append(Term(kept, f"{say_hours(workable.median_h)} as often as not"))
    share = show_quantity(100.0 * (1.0 - risk), "%")
    terms.append(Term(f"Of that, to be counted on with {share} of batches", say_hours(sure_h)))
    bench = work_within(sure_h, hours_a_day)
    if sure_h > hours_a_day:
        terms.append(
            Term(f"Of which at the bench, at {say_hours(hours_a_day)} a day", say_hours(bench))
        )
    for count in (pieces, pieces + 1):
        if not 1 <= count <= in_a_day:
            continue
        behind = (wet.of(count) - wet.of(1)) / 60.0
        needs = max(_needs(wet, work, piece, hours_a_day) for piece in range(1, count + 1))
        told = f"{count} × the work is {_min(work.of(count))}"
        clock = wall_hours(work.of(count), hours_a_day)
        if clock * 60.0 > work.of(count) + 1.0:
            told += f", {say_hours(clock)} with the nights between"
        if behind:
            told += f"; the last was thrown {_min(behind * 60.0)} after the first"
        fits = "in time" if workable.chance_within(needs) <= risk else "too late"
        terms.append(Term(f"{told}: one of them waits", f"{say_hours(needs)}, {fits}"))
    return terms


def _added(work: _Work) -> str:
    """``trimmed 4 min + handle on 9 min ÷ 2``."""
    parts = []
    for name, minutes, teams in work.steps:
        beside = f" ÷ {teams} at a time" if teams > 1 else ""
        parts.append(f"{name} {_min(minutes)}{beside}")
    return " + ".join(parts)


def _min(minutes: float) -> str:
    return show_duration(minutes * 60.0) if minutes else "0\N{NARROW NO-BREAK SPACE}min"


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"
