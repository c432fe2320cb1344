"""How long the runs on the bench stay workable, what is still to be done, and what dries first."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import combinations
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.clay.bench_hours import BenchHours
from studiolog.craft.clay.drying import DryingTimes, Stretch, say_basis
from studiolog.craft.limits import Limits
from studiolog.craft.ware.usual_time import UsualTime
from studiolog.journal.covers import CoverLine, cover_at, read_covers, stood_between
from studiolog.journal.drying import read_bench_hours, read_drying, read_form_work
from studiolog.journal.limits import read_limits
from studiolog.journal.stage_times import StageTimes
from studiolog.journal.waiting_for import FormWork, next_step, same_work
from studiolog.records.forms import Form
from studiolog.records.pieces import Piece, Run, StageChange, Step

_DRYING: Final = ("wet", "leather_hard")
_SURELY: Final = 0.95


@dataclass(frozen=True)
class StepLeft:
    """Work still to be done to so many pieces while they are leather-hard.

    ``minutes`` is all of it for those at the bench; None where the form has none.
    """

    name: str
    pieces: int
    minutes: float | None


@dataclass(frozen=True)
class Window:
    """How long the leather-hard pieces of a run stay workable; or its wet ones until leather-hard.

    ``stage`` says which. ``hours_left`` is the middle, ``low`` and ``high`` one in ten either way;
    ``whole_h`` all the hours they had from ``since`` on, as they stand now. ``steps`` is what is to
    be done while leather-hard. Worked in the order of haste with the other runs it is done at
    ``done_at``; ``chance`` is that it is too stiff before, ``dries_first`` that this is more than
    the studio runs, ``short`` that few hours are left for what is to be done.
    """

    run_id: int
    stage: str
    pieces: int
    since: datetime
    cover: str
    weather: str
    hours_left: float
    low: float
    high: float
    whole_h: float
    basis: str
    runs: int
    steps: tuple[StepLeft, ...]
    done_at: datetime | None = None
    chance: float = 0.0
    dries_first: bool = False
    short: bool = False

    @property
    def step(self) -> str:
        """The next work, "" if nothing is left to be done."""
        return self.steps[0].name if self.steps else ""

    @property
    def minutes(self) -> float:
        """All work left, as far as the form tells."""
        return math.fsum(step.minutes or 0.0 for step in self.steps)

    @property
    def untimed(self) -> bool:
        """Whether some of the work has no minutes."""
        return any(step.minutes is None for step in self.steps)

    @property
    def past(self) -> bool:
        """Whether even slow ware would be through by now: nobody has said what became of it."""
        return self.high <= 0

    @property
    def share_left(self) -> float:
        """What is left of the whole, from 0 to 1: as a track is drawn."""
        return max(0.0, min(1.0, self.hours_left / self.whole_h)) if self.whole_h > 0 else 0.0


@dataclass(frozen=True)
class Stand:
    """What the windows are told from, for what asks further (`journal.before_leaving`)."""

    used: float
    usual: UsualTime
    form_id: int | None
    set_h: float | None
    work: FormWork
    name: str
    number: int


@dataclass(frozen=True)
class Windows:
    """The windows of runs with all they rest on. A run may have one for each stage."""

    now: datetime
    by_stage: Mapping[tuple[int, str], Window]
    stands: Mapping[tuple[int, str], Stand]
    turned_on: Mapping[int, date]
    drying: DryingTimes
    bench: BenchHours
    limits: Limits

    def of_run(self, run_id: int) -> Window | None:
        """That of its leather-hard pieces; else that of its wet ones."""
        return self.by_stage.get((run_id, "leather_hard")) or self.by_stage.get((run_id, "wet"))


def read_windows(
    session: Session, run_ids: Sequence[int], now: datetime, times: StageTimes | None = None
) -> dict[int, Window]:
    """The window of each run that has leather-hard or wet pieces, in a few queries for all."""
    windows = read_all_windows(session, run_ids, now, times)
    shown = {run_id: windows.of_run(run_id) for run_id in run_ids}
    return {run_id: window for run_id, window in shown.items() if window is not None}


def read_all_windows(
    session: Session, run_ids: Sequence[int], now: datetime, times: StageTimes | None = None
) -> Windows:
    """As `read_windows`, both stages of every run and what it all rests on."""
    limits = read_limits(session)
    bench = read_bench_hours(session, limits)
    groups = _read_groups(session, run_ids)
    here = sorted({run_id for run_id, _ in groups})
    runs = {
        row.id: row
        for row in session.execute(
            select(Run.id, Run.number, Run.title, Run.made_on, Run.form_id, Form.name,
                   Form.workable_h)
            .outerjoin(Form, Form.id == Run.form_id)
            .where(Run.id.in_(here))
        )
    }  # fmt: skip
    works = read_form_work(
        session, sorted({row.form_id for row in runs.values() if row.form_id is not None})
    )
    covers = read_covers(session, here)
    done = _read_done(session, here)
    drying = read_drying(session, times, limits) if groups else DryingTimes(limits=limits)
    hands = int(limits["bench_hands"])
    found: dict[tuple[int, str], Window] = {}
    stands: dict[tuple[int, str], Stand] = {}
    for (run_id, stage), (pieces, since) in groups.items():
        run = runs[run_id]
        work = works.get(run.form_id, FormWork()) if run.form_id is not None else FormWork()
        begun = since or datetime.combine(run.made_on, time(12))
        used, usual, cover, weather = _dried(
            drying, covers.get(run_id, ()), stage, begun, now, run.form_id, run.workable_h
        )
        steps = _steps_left(work, pieces, done.get((run_id, stage), {}), hands)
        found[run_id, stage] = Window(
            run_id,
            stage,
            pieces,
            begun,
            cover,
            weather,
            *_left(used, usual),
            usual.median_h,
            say_basis(usual, cover),
            usual.runs,
            steps,
        )
        name = run.title or run.name or f"Run {run.number}"
        stands[run_id, stage] = Stand(
            used, usual, run.form_id, run.workable_h, work, name, run.number
        )
    _lay_in_order(found, stands, now, bench, limits)
    turned = {
        run_id: day
        for (run_id, _), steps_done in done.items()
        for name, (_, day) in steps_done.items()
        if same_work(name, "turned")
    }
    return Windows(now, found, stands, turned, drying, bench, limits)


def _read_groups(
    session: Session, run_ids: Sequence[int]
) -> dict[tuple[int, str], tuple[int, datetime | None]]:
    """By run and stage: how many pieces, and when the first of them reached it."""
    rows = session.execute(
        select(Piece.run_id, Piece.stage, func.count(Piece.id.distinct()), func.min(StageChange.at))
        .outerjoin(
            StageChange, (StageChange.piece_id == Piece.id) & (StageChange.stage == Piece.stage)
        )
        .where(Piece.run_id.in_(run_ids), Piece.stage.in_(_DRYING))
        .group_by(Piece.run_id, Piece.stage)
    )
    return {(run_id, stage): (n, since) for run_id, stage, n, since in rows if run_id is not None}


def _read_done(
    session: Session, run_ids: Sequence[int]
) -> dict[tuple[int, str], dict[str, tuple[int, date]]]:
    """By run and stage: the steps done, to how many pieces, and the last day of it."""
    found: dict[tuple[int, str], dict[str, tuple[int, date]]] = defaultdict(dict)
    for run_id, stage, name, pieces, day in session.execute(
        select(
            Piece.run_id,
            Piece.stage,
            Step.name,
            func.count(Piece.id.distinct()),
            func.max(Step.done_on),
        )
        .join(Step, Step.piece_id == Piece.id)
        .where(Piece.run_id.in_(run_ids), Piece.stage.in_(_DRYING), Step.rework.is_(False))
        .group_by(Piece.run_id, Piece.stage, Step.name)
    ):
        if run_id is not None:
            found[run_id, stage][name] = (pieces, day)
    for key, steps in found.items():
        if any(same_work(one, other) for one, other in combinations(steps, 2)):
            _count_once(session, key, steps)
    return found


def _count_once(session: Session, key: tuple[int, str], steps: dict[str, tuple[int, date]]) -> None:
    """A piece that was "trimmed" and "turned" had one work done to it: by its first name."""
    had: dict[str, set[int]] = defaultdict(set)
    for name, piece_id in session.execute(
        select(Step.name, Piece.id)
        .join(Piece, Step.piece_id == Piece.id)
        .where(Piece.run_id == key[0], Piece.stage == key[1], Step.rework.is_(False))
    ):
        had[name].add(piece_id)
    names = sorted(steps)
    for place, name in enumerate(names):
        said = [had[other] for other in names[:place] if same_work(name, other)]
        steps[name] = (len(had[name].difference(*said)), steps[name][1])


def _dried(
    drying: DryingTimes,
    covers: Sequence[CoverLine],
    stage: str,
    since: datetime,
    now: datetime,
    form_id: int | None,
    set_h: float | None,
) -> tuple[float, UsualTime, str, str]:
    """The part of its usual hours a group has used, those hours as it stands now, and how."""
    stretch: Stretch = "stiffening" if stage == "wet" else "workable"
    cover, weather = cover_at(covers, now)
    used = math.fsum(
        part.hours / drying.hours(stretch, part.cover, part.weather, form_id, set_h).median_h
        for part in stood_between(covers, since, now)
    )
    return used, drying.hours(stretch, cover, weather, form_id, set_h), cover, weather


def _left(used: float, usual: UsualTime) -> tuple[float, float, float]:
    """Hours left: the middle, and one in ten either way; none is below 0."""
    gone = used * usual.median_h
    hours = (usual.median_h, usual.low_h, usual.high_h)
    middle, low, high = (max(0.0, whole - gone) for whole in hours)
    return middle, low, high


def _steps_left(
    work: FormWork, pieces: int, done: Mapping[str, tuple[int, date]], hands: int
) -> tuple[StepLeft, ...]:
    left = []
    for step in work.steps:
        if step.stage != "leather_hard":
            continue
        through = sum(count for name, (count, _) in done.items() if same_work(step.name, name))
        undone = pieces - min(through, pieces)
        if undone:
            teams = max(1, hands // max(1, step.persons))
            minutes = None if step.minutes is None else math.ceil(undone / teams) * step.minutes
            left.append(StepLeft(step.name, undone, minutes))
    if not work.steps:
        following = next_step("leather_hard", work, tuple(done))
        if following is not None and following.waits in ("trimming", "joining"):
            left.append(StepLeft(following.waits, pieces, None))
    return tuple(left)


def _lay_in_order(
    found: dict[tuple[int, str], Window],
    stands: Mapping[tuple[int, str], Stand],
    now: datetime,
    bench: BenchHours,
    limits: Limits,
) -> None:
    """Lay the work left one run after the other, that which dries first before the rest."""
    minutes = 0.0
    for key in in_haste(found):
        window, stand = found[key], stands[key]
        minutes += 0.0 if window.past else window.minutes
        done_at = bench.done_at(now, minutes) if window.minutes else now
        needs_h = (done_at - now).total_seconds() / 3600.0
        chance = chance_too_stiff(stand, needs_h)
        found[key] = replace(
            window,
            done_at=done_at,
            chance=chance,
            dries_first=chance > limits["dries_first_risk"],
            short=window.hours_left < limits["window_short_h"],
        )


def in_haste(found: Mapping[tuple[int, str], Window]) -> list[tuple[int, str]]:
    """The leather-hard windows with work left, that which dries first before the rest."""
    waiting: Iterable[tuple[int, str]] = (
        key for key, window in found.items() if window.stage == "leather_hard" and window.steps
    )
    return sorted(waiting, key=lambda key: (found[key].low, found[key].hours_left, key))


def chance_too_stiff(stand: Stand, hours: float, under: UsualTime | None = None) -> float:
    """The chance that a group is too stiff before so many more hours, as it stands.

    ``under`` are the hours under another cover. It is workable now, or somebody would have said
    so: unless nearly all ware is through by now, only what is still to come counts.
    """
    usual = stand.usual if under is None else under
    gone = usual.chance_within(stand.used * usual.median_h)
    then = usual.chance_within(stand.used * usual.median_h + hours)
    return then if gone > _SURELY else (then - gone) / (1.0 - gone)


def hours_until(moment: datetime, now: datetime) -> float:
    """Hours from now on, 0 for what is past."""
    return max(0.0, (moment - now) / timedelta(hours=1))
