"""Before you leave today: what to trim, wrap, unwrap and turn, so that nothing dries over night."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.drying import UNSAID, say_cover
from studiolog.craft.days import write_day
from studiolog.craft.ware.usual_time import UsualTime
from studiolog.craft.words import COVERS, STAGES
from studiolog.journal.stage_times import StageTimes
from studiolog.journal.waiting_for import roots_of
from studiolog.journal.working_time import (
    Stand,
    Window,
    Windows,
    chance_too_stiff,
    hours_until,
    in_haste,
    read_all_windows,
)
from studiolog.records.pieces import Piece

Kind = Literal["work", "wrap", "unwrap", "turn", "look"]
_WRAPPED: Final = ("loose", "sealed", "damp_box")
_LET_DRY: Final = "cloth"
_WORTH_SAYING_H: Final = 18.0
"""Half a day sooner may be the next morning all the same."""
_DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MOST: Final = 500


@dataclass(frozen=True)
class Task:
    """One thing to do for a run before leaving.

    ``by`` is when, None at any time today. ``cover`` is what to put it under, None where nothing
    is to be wrapped; ``later`` a second change, at a moment of the next days ("unwrap at 9").
    ``why`` is the sum in words; ``pressing`` that it is lost otherwise.
    """

    run_id: int
    number: int
    name: str
    kind: Kind
    words: str
    why: str
    by: datetime | None = None
    cover: str | None = None
    later: tuple[datetime, str] | None = None
    pressing: bool = False


@dataclass(frozen=True)
class BeforeLeaving:
    """The tasks of a day, the most pressing first. ``ends`` is when work ends today, if it does.

    ``looked_at`` counts the runs that are wet or leather-hard.
    """

    now: datetime
    ends: datetime | None
    tasks: tuple[Task, ...]
    looked_at: int


def read_before_leaving(
    session: Session, now: datetime, times: StageTimes | None = None
) -> BeforeLeaving:
    """What the runs in hand need before the potter leaves, by their windows and the calendar."""
    run_ids = session.scalars(
        select(Piece.run_id)
        .where(Piece.stage.in_(("wet", "leather_hard")), Piece.run_id.is_not(None))
        .group_by(Piece.run_id)
        .order_by(Piece.run_id.desc())
        .limit(MOST)
    ).all()
    windows = read_all_windows(session, [one for one in run_ids if one is not None], now, times)
    return plan_leaving(windows)


def plan_leaving(windows: Windows) -> BeforeLeaving:
    """The tasks that follow from the windows of all runs."""
    bench, now = windows.bench, windows.now
    ends = bench.ends(now.date()) if bench.works_on(now.date()) else None
    if ends is not None and ends <= now:
        ends = None
    tasks = [*_leather_hard(windows, ends), *_wet(windows), *_done_with(windows), *_turn(windows)]
    tasks += _unsaid(windows)
    tasks.sort(key=lambda task: (task.by or datetime.max, not task.pressing, task.number))
    return BeforeLeaving(now, ends, tuple(tasks), len({run for run, _ in windows.by_stage}))


def _leather_hard(windows: Windows, ends: datetime | None) -> Iterator[Task]:
    now, bench, risk = windows.now, windows.bench, windows.limits["dries_first_risk"]
    begins = now if ends is None else max(now, bench.begins(now.date()))
    today = 0.0 if ends is None else (ends - begins) / timedelta(minutes=1)
    morning, tomorrow = bench.next_day(now), 0.0
    for key in in_haste(windows.by_stage):
        window, stand = windows.by_stage[key], windows.stands[key]
        if window.past:
            continue
        left_until = bench.done_at(morning, tomorrow + window.minutes)
        if chance_too_stiff(stand, hours_until(left_until, now)) <= risk:
            tomorrow += window.minutes
            continue
        most = max(step.pieces for step in window.steps)
        each = window.minutes / most
        can = most if not each and ends is not None else int(today // each) if each else 0
        can = min(can, most)
        today -= can * each
        by = now + timedelta(hours=window.low)
        if ends is not None:
            by = min(by, ends)
        if can == most:
            yield Task(
                window.run_id, stand.number, stand.name, "work", _say_work(window, most),
                _say_why(window, stand), by, pressing=True,
            )  # fmt: skip
            continue
        rest = window.minutes - can * each
        until = hours_until(bench.done_at(morning, tomorrow + rest), now)
        cover, chance = _quickest(windows, window, stand, until)
        words = f"{_say_work(window, can)}, then " if can else ""
        others = f"the other {most - can}" if can else f"{most}"
        if cover == window.cover:
            words += f"leave {others} {say_cover(cover)}"
        else:
            words += f"put {others} {COVERS[cover]}"
        if chance > risk:
            words += f"; even so {100 * chance:.0f} of 100 such runs are too stiff by then"
        tomorrow += rest
        yield Task(
            window.run_id, stand.number, stand.name, "wrap", words, _say_why(window, stand), by,
            cover if cover != window.cover else None, pressing=True,
        )  # fmt: skip


def _quickest(windows: Windows, window: Window, stand: Stand, hours: float) -> tuple[str, float]:
    """The lightest cover under which it stays workable so long, else the heaviest; and the chance
    that it is too stiff by then all the same."""
    risk, cover, chance = windows.limits["dries_first_risk"], window.cover, 1.0
    for cover in COVERS:
        usual = windows.drying.hours("workable", cover, window.weather, stand.form_id, stand.set_h)
        chance = chance_too_stiff(stand, hours, usual)
        if chance <= risk:
            break
    return cover, chance


def _say_work(window: Window, pieces: int) -> str:
    """``trim 12``; ``finish 12 (handle on, panels pressed)``."""
    names = [step.name for step in window.steps]
    if len(names) == 1 and " " not in names[0]:
        return f"{next(iter(roots_of(names[0])))} {pieces}"
    return f"finish {pieces} ({', '.join(names)})"


def _say_why(window: Window, stand: Stand) -> str:
    left = "no workable hours" if window.hours_left <= 0 else f"{_h(window.hours_left)} workable"
    sure = f", {_h(window.low)} to be counted on" if window.low < window.hours_left else ""
    work = f"; {window.minutes:.0f} min of work" if window.minutes else ""
    stands = say_cover(window.cover, window.weather)
    gap = ", " if window.cover == UNSAID else " "
    return f"{left} left{gap}{stands}{sure}{work}, {window.basis}"


def _h(hours: float) -> str:
    return f"{hours:.0f}\N{NARROW NO-BREAK SPACE}h"


@dataclass(frozen=True)
class _Way:
    """One way to let wet ware stiffen: under a cover now, and perhaps another from a moment on."""

    cover: str
    later: tuple[datetime, str] | None
    ready: datetime
    begins: datetime
    chance: float
    at_bench: bool


def _wet(windows: Windows) -> Iterator[Task]:
    """Wet ware that would be leather-hard, and too stiff again, while nobody is there."""
    risk = windows.limits["dries_first_risk"]
    for (run_id, stage), window in windows.by_stage.items():
        stand = windows.stands[run_id, stage]
        if stage != "wet" or not window.steps or window.past:
            continue
        ways = list(_ways(windows, window, stand))
        as_is = ways[0]
        best = min(ways, key=lambda way: (way.chance > risk, not way.at_bench, way.begins))
        if as_is.chance <= risk:
            yield from _unwrap(windows, window, stand, as_is, best)
            continue
        if best is as_is:
            continue
        words = _say_way(best, window, windows.now)
        why = (
            f"leather-hard {_say_when(best.ready, windows.now)}; as they stand "
            f"{_say_when(as_is.ready, windows.now)}, and too stiff before anyone is at the bench "
            f"in {100 * as_is.chance:.0f} of 100 such nights; {window.basis}"
        )
        # How a run stands is noted of all of it: with some leather-hard it can't be noted of these.
        alone = (run_id, "leather_hard") not in windows.by_stage
        yield Task(
            run_id, stand.number, stand.name, "wrap", words, why, None,
            best.cover if alone else None, best.later, pressing=as_is.chance > 0.5,
        )  # fmt: skip


def _unwrap(
    windows: Windows, window: Window, stand: Stand, as_is: _Way, best: _Way
) -> Iterator[Task]:
    """Wet ware under so much cover that it keeps the potter waiting: when to unwrap it."""
    sooner = (as_is.begins - best.begins) / timedelta(hours=1)
    risk = windows.limits["dries_first_risk"]
    if sooner < _WORTH_SAYING_H or best.chance > risk or not best.at_bench:
        return
    alone = (window.run_id, "leather_hard") not in windows.by_stage
    yield Task(
        window.run_id, stand.number, stand.name, "unwrap",
        _say_way(best, window, windows.now),
        f"leather-hard {_say_when(best.ready, windows.now)}; as they stand not before "
        f"{_say_when(as_is.ready, windows.now)}; {window.basis}",
        None, best.cover if alone and best.cover != window.cover else None, best.later,
    )  # fmt: skip


def _say_way(way: _Way, window: Window, now: datetime) -> str:
    """``put 8 wet ones sealed in plastic, and open from tomorrow 9:00``."""
    verb = "leave" if way.cover == window.cover else "put"
    words = f"{verb} {window.pieces} wet ones {COVERS.get(way.cover, 'as they are')}"
    if way.later is not None:
        at, cover = way.later
        words += f", and {COVERS[cover]} from {_say_when(at, now, '')}"
    return words


def _ways(windows: Windows, window: Window, stand: Stand) -> Iterator[_Way]:
    """As it stands first; then under each other cover, all along or until the next morning."""
    now, drying, weather = windows.now, windows.drying, window.weather
    morning = windows.bench.next_day(now)
    night = hours_until(morning, now)
    covers = [window.cover, *(cover for cover in COVERS if cover != window.cover)]
    for cover in covers:
        usual = drying.hours("stiffening", cover, weather, stand.form_id)
        ready = now + timedelta(hours=max(0.0, 1.0 - stand.used) * usual.median_h)
        yield _way(windows, window, stand, cover, None, ready)
        used = stand.used + night / usual.median_h
        if cover not in _WRAPPED or used >= 1.0:
            continue
        for lighter in ("open", "cloth"):
            then = drying.hours("stiffening", lighter, weather, stand.form_id)
            ready = morning + timedelta(hours=(1.0 - used) * then.median_h)
            yield _way(windows, window, stand, cover, (morning, lighter), ready)


def _way(
    windows: Windows,
    window: Window,
    stand: Stand,
    cover: str,
    later: tuple[datetime, str] | None,
    ready: datetime,
) -> _Way:
    bench = windows.bench
    begins = bench.next_at_bench(ready)
    done = bench.done_at(begins, window.minutes)
    held = later[1] if later is not None and later[0] <= ready else cover
    workable: UsualTime = windows.drying.hours(
        "workable", held, window.weather, stand.form_id, stand.set_h
    )
    chance = workable.chance_within(hours_until(done, ready))
    return _Way(cover, later, ready, begins, chance, bench.at_bench(ready))


def _done_with(windows: Windows) -> Iterator[Task]:
    """Leather-hard ware on which nothing is left to be done, still wrapped up."""
    for (run_id, stage), window in windows.by_stage.items():
        stand = windows.stands[run_id, stage]
        had_work = any(step.stage == "leather_hard" for step in stand.work.steps)
        if stage == "leather_hard" and had_work and not window.steps and window.cover in _WRAPPED:
            yield Task(
                run_id, stand.number, stand.name, "unwrap",
                f"put {window.pieces} {COVERS[_LET_DRY]} to dry",
                f"nothing is left to do while leather-hard; it stands {say_cover(window.cover)}",
                None, _LET_DRY,
            )  # fmt: skip


def _turn(windows: Windows) -> Iterator[Task]:
    """Flat tiles are turned every day until they are dry (common practice), or they warp."""
    for (run_id, stage), window in windows.by_stage.items():
        stand = windows.stands[run_id, stage]
        turned = windows.turned_on.get(run_id) == windows.now.date()
        if (
            stage == "leather_hard"
            and not window.past
            and stand.work.shape == "tile"
            and not turned
        ):
            yield Task(
                run_id, stand.number, stand.name, "turn", f"turn {window.pieces}",
                "flat ware is turned every day until it is dry, or it warps (common practice)",
            )  # fmt: skip


def _unsaid(windows: Windows) -> Iterator[Task]:
    """Ware that must be through its stage long since, of which nobody has said so."""
    for (run_id, stage), window in windows.by_stage.items():
        stand = windows.stands[run_id, stage]
        # Nothing left to be done: it dries for days, and may.
        if not window.past or (stage == "leather_hard" and not window.steps):
            continue
        was = STAGES[stage]
        after = STAGES["leather_hard" if stage == "wet" else "bone_dry"]
        yield Task(
            run_id, stand.number, stand.name, "look",
            f"see whether {window.pieces} {was} are {after} by now",
            f"{was} since {write_day(window.since.date(), windows.now.date())}, usually for "
            f"{_h(window.whole_h)}, {say_cover(window.cover, window.weather)}",
        )  # fmt: skip


def _say_when(moment: datetime, now: datetime, about: str = "about ") -> str:
    """``today about 16:00``, ``tomorrow about 9:00``, ``Fri about 9:00``; to the half hour."""
    shown = (moment + timedelta(minutes=15)).replace(second=0, microsecond=0)
    shown = shown.replace(minute=shown.minute // 30 * 30)
    days = (shown.date() - now.date()).days
    day = {0: "today", 1: "tomorrow"}.get(days, _DAYS[shown.weekday()])
    if days > 6:
        day = write_day(shown.date(), now.date())
    return f"{day} {about}{shown.hour}:{shown.minute:02d}"
