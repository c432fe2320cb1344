"""How worn a kiln's elements are, told from its own firings since they were new.

As elements age their resistance rises and they give less power: the kiln takes longer from 1000
to 1150 °C, its elements are on for more of a hold, and a firing takes more kWh. Each firing is
set only against firings that are comparable: at full demand, or with the same plan there. The
baseline is the median of the first five since the elements were changed, "now" the median of the
last three. Which changes are worth telling are judgements (`craft.limits`); +10 % in
resistance as the point to change elements is published by their makers.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median
from typing import Final, Literal

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import MINUS, THIN, show_quantity, show_temperature

CLIMB_FROM_C: Final = 1000.0
CLIMB_TO_C: Final = 1150.0
RESISTANCE: Final = (
    "Elements +10 % in resistance is the usual point to change them (published); "
    "have them measured by a qualified person."
)

Measured = Literal["climb", "hold", "energy"]
State = Literal["unknown", "controlled", "steady", "warn", "change"]

_NOW: Final = 3
# More points than this are gathered in blocks before slopes are compared pair by pair.
_MOST_POINTS: Final = 300
# So near to what the program asks for, a climb is the program's and not the kiln's.
_KEEPS_TO: Final = 1.07
_MAD_TO_SIGMA: Final = 1.4826
# The scatter of a median of n values over that of a mean, for normal data.
_MEDIAN_OVER_MEAN: Final = 1.2533
_Z95: Final = 1.96
_SURE: Final = 0.05


@dataclass(frozen=True, slots=True)
class FiringWork:
    """What one firing says of its kiln; None where it is not known.

    ``climb_min`` from 1000 to 1150 °C, ``climb_demand`` the mean share of full power on that way,
    ``planned_min`` what the program asks for there (None: as fast as it goes). ``hold_duty`` is
    the share of full power while the top was held, ``kwh`` what was measured (never an estimate).
    ``program`` is what makes holds and energies comparable, with ``program_words`` for a reader.
    """

    firing_id: int
    number: int
    started_at: datetime
    program: Hashable = None
    program_words: str = ""
    climb_min: float | None = None
    climb_demand: float | None = None
    planned_min: float | None = None
    hold_duty: float | None = None
    kwh: float | None = None


@dataclass(frozen=True, slots=True)
class WearPoint:
    """One firing in a series; ``since_change`` counts all firings from the change on, from 1."""

    firing_id: int
    number: int
    day: date
    since_change: int
    value: float


@dataclass(frozen=True, slots=True)
class WearSeries:
    """One measure over comparable firings since the change, and ``earlier`` ones before it.

    ``ratio`` is now over the baseline with its 95 % interval; ``per_ten`` the trend in units of
    the value per ten firings of the kiln with its interval, ``p`` how often chance alone would
    give such a trend; ``level_at_change`` is the trend's value at the change. All None below
    ``needed`` firings.
    """

    measured: Measured
    group: str
    points: tuple[WearPoint, ...]
    earlier: tuple[WearPoint, ...]
    needed: int
    planned_min: float | None = None
    baseline: float | None = None
    now: float | None = None
    ratio: float | None = None
    ratio_low: float | None = None
    ratio_high: float | None = None
    per_ten: float | None = None
    per_ten_low: float | None = None
    per_ten_high: float | None = None
    p: float | None = None
    state: State = "unknown"
    warn_at: float | None = None
    change_at: float | None = None
    level_at_change: float | None = None

    @property
    def sure(self) -> bool:
        """Whether the values rise or fall by more than chance would have it."""
        return self.p is not None and self.p < _SURE


@dataclass(frozen=True, slots=True)
class KilnWear:
    """The three measures since ``changed_on``, the day of the last new elements (None: ever)."""

    changed_on: date | None
    firings: int
    climb: WearSeries
    hold: WearSeries
    energy: WearSeries


def judge_wear(
    firings: Sequence[FiringWork], changed_on: date | None = None, limits: Limits = SHIPPED
) -> KilnWear:
    """What firings of one kiln, oldest first, say of its elements.

    A firing on the day of the change belongs to the new elements.
    """
    start = next(
        (
            place
            for place, firing in enumerate(firings)
            if changed_on is None or firing.started_at.date() >= changed_on
        ),
        len(firings),
    )
    return KilnWear(
        changed_on,
        len(firings) - start,
        _series(
            "climb",
            [
                (place - start, firing, firing.climb_min, _climb_group(firing, limits))
                for place, firing in enumerate(firings)
                if firing.climb_min is not None and firing.climb_min > 0
            ],
            limits,
        ),
        _series(
            "hold",
            [
                (place - start, firing, firing.hold_duty, (firing.program, firing.program_words))
                for place, firing in enumerate(firings)
                if firing.hold_duty is not None and firing.hold_duty > 0
            ],
            limits,
        ),
        _series(
            "energy",
            [
                (place - start, firing, firing.kwh, (firing.program, firing.program_words))
                for place, firing in enumerate(firings)
                if firing.kwh is not None and firing.kwh > 0
            ],
            limits,
        ),
    )


def planned_climb_min(
    segments: Iterable[tuple[float | None, float, float]],
    low_c: float = CLIMB_FROM_C,
    high_c: float = CLIMB_TO_C,
) -> float | None:
    """Minutes that a program asks for from ``low_c`` to ``high_c``, holds on the way included.

    Segments are (rate °C/h, target °C, hold min) in order; None where one of them goes as fast as
    it can there, or the program never gets so hot.
    """
    at, minutes = low_c, 0.0
    for rate, target, hold in segments:
        if target <= at:
            continue
        top = min(target, high_c)
        if rate is None or rate <= 0:
            return None
        minutes += (top - at) / rate * 60.0
        if target >= high_c:
            return minutes
        minutes += hold
        at = top
    return None


def say_climb(series: WearSeries, unit: str = "C") -> str:
    """The climb as a plain sentence: what it took when new, what it takes now, what to do."""
    way = f"From {_bare(CLIMB_FROM_C, unit)} to {show_temperature(CLIMB_TO_C, unit)}"
    if series.ratio is None or series.now is None or series.baseline is None:
        return f"{way}: {say_missing(series)}."
    now = show_quantity(series.now, "min")
    if series.state == "controlled" and series.planned_min is not None:
        return (
            f"{way} the program asks for {show_quantity(series.planned_min, 'min')} and the kiln "
            f"keeps to it ({now} now): that says nothing of the elements, but that they are still "
            "strong enough."
        )
    told = (
        f"{way} now takes {now}, {show_quantity(series.baseline, 'min')} when the elements were "
        f"new: {_times(series)}."
    )
    if series.planned_min is not None:
        told += (
            f" The program holds it to {show_quantity(series.planned_min, 'min')} at best, so the "
            "elements themselves have lost more than that."
            if series.state != "steady"
            else ""
        )
    if series.state == "change":
        told += " Time to change them."
    return f"{told} {RESISTANCE}" if series.state != "steady" else told


def say_series(series: WearSeries) -> str:
    """The share of power in a hold, or the energy of a firing, as a plain sentence."""
    holding = series.measured == "hold"
    if series.ratio is None or series.now is None or series.baseline is None:
        return f"{'Power in the hold' if holding else 'Energy'}: {say_missing(series)}."
    group = f" of {series.group}" if series.group else ""
    if holding:
        now, then = (show_quantity(v * 100, "%") for v in (series.now, series.baseline))
        told = f"In the hold{group} the elements are now on {now} of the time, {then} when new"
    else:
        now, then = (show_quantity(v, "kWh") for v in (series.now, series.baseline))
        told = f"A firing{group} now takes {now}, {then} with new elements"
    return f"{told}: {_times(series)}."


def say_missing(series: WearSeries) -> str:
    """What a series still lacks: "not known yet: 3 of 8 firings"."""
    return f"not known yet: {len(series.points)} of {series.needed} firings that can be compared"


def say_trend(series: WearSeries) -> str:
    """The trend with its interval and its test: "+2.1 min every ten firings (1.4 to 2.9), …"."""
    if series.per_ten is None or series.p is None:
        return ""
    scale, unit, digits = {
        "climb": (1.0, "min", 1),
        "hold": (100.0, "points of power", 1),
        "energy": (1.0, "kWh", 1),
    }[series.measured]
    slope = f"{_signed(series.per_ten * scale, digits)}{THIN}{unit} every ten firings"
    if series.per_ten_low is not None and series.per_ten_high is not None:
        slope += (
            f" ({_signed(series.per_ten_low * scale, digits)} to "
            f"{_signed(series.per_ten_high * scale, digits)})"
        )
    sure = "more than chance" if series.sure else "no more than chance could give"
    return f"{slope}: {sure}, over {len(series.points)} firings."


def say_ratio(series: WearSeries) -> str:
    """Now over the baseline with its interval: "1.48 times the first five (1.35 to 1.62)"."""
    if series.ratio is None or series.ratio_low is None or series.ratio_high is None:
        return ""
    return (
        f"{series.ratio:.2f} times what it was after the change "
        f"({series.ratio_low:.2f} to {series.ratio_high:.2f})"
    )


def _climb_group(firing: FiringWork, limits: Limits) -> tuple[Hashable, str]:
    if firing.climb_demand is not None and firing.climb_demand >= limits["full_demand"]:
        return "full", "at full power"
    if firing.planned_min is None:
        return "free", "as fast as it goes"
    minutes = round(firing.planned_min)
    return minutes, f"where the program asks for {minutes} min"


def _series(
    measured: Measured,
    rows: Sequence[tuple[int, FiringWork, float | None, tuple[Hashable, str]]],
    limits: Limits,
) -> WearSeries:
    """The comparable group with most firings since the change; of equals, that of the newest."""
    needed = max(int(limits["trend_firings"]), int(limits["baseline_firings"]) + _NOW)
    counts: dict[Hashable, tuple[int, int]] = {}
    words: dict[Hashable, str] = {}
    for place, _firing, _value, (key, said) in rows:
        seen, _ = counts.get(key, (0, place))
        counts[key] = (seen + (place >= 0), place)
        words[key] = said
    if not counts:
        return WearSeries(measured, "", (), (), needed)
    chosen = max(counts, key=lambda key: counts[key])
    mine = [
        (
            WearPoint(firing.firing_id, firing.number, firing.started_at.date(), place + 1, value),
            firing.planned_min,
        )
        for place, firing, value, (key, _) in rows
        if key == chosen and value is not None
    ]
    points = tuple(point for point, _ in mine if point.since_change > 0)
    earlier = tuple(point for point, _ in mine if point.since_change <= 0)
    planned = mine[-1][1] if measured == "climb" and chosen not in ("full", "free") else None
    if len(points) < needed:
        return WearSeries(measured, words[chosen], points, earlier, needed, planned)
    return _judged(measured, words[chosen], points, earlier, needed, planned, limits)


def _judged(
    measured: Measured,
    group: str,
    points: tuple[WearPoint, ...],
    earlier: tuple[WearPoint, ...],
    needed: int,
    planned: float | None,
    limits: Limits,
) -> WearSeries:
    from studiolog.craft.evidence.kendall import judge_rank_trend
    from studiolog.craft.evidence.theil_sen import fit_trend

    values = [point.value for point in points]
    first = int(limits["baseline_firings"])
    baseline, now = median(values[:first]), median(values[-_NOW:])
    ratio = now / baseline
    at, level = _blocks([float(point.since_change) for point in points], values)
    trend = fit_trend(at, level)
    test = judge_rank_trend(at, level)
    # One firing's scatter about the trend, as a share, carries over to both medians.
    away = [
        abs(math.log(v / line))
        for v, x in zip(level, at, strict=True)
        if (line := trend.level + trend.slope * x) > 0
    ]
    sigma = _MAD_TO_SIGMA * median(away) if away else 0.0
    reach = math.exp(_Z95 * sigma * _MEDIAN_OVER_MEAN * math.sqrt(1 / first + 1 / _NOW))
    state: State = "steady"
    warn_at = change_at = None
    if measured == "climb":
        warn_at = baseline * (1 + limits["climb_warn"])
        change_at = baseline * (1 + limits["climb_change"])
        if planned is not None and now <= planned * _KEEPS_TO:
            state = "controlled"
        elif now >= warn_at:
            state = "change" if now >= change_at else "warn"
    return WearSeries(
        measured,
        group,
        points,
        earlier,
        needed,
        planned,
        baseline,
        now,
        ratio,
        ratio / reach,
        ratio * reach,
        trend.slope * 10,
        None if trend.low is None else trend.low * 10,
        None if trend.high is None else trend.high * 10,
        test.p if test is not None else 1.0,
        state,
        warn_at,
        change_at,
        trend.level,
    )


def _blocks(at: Sequence[float], values: Sequence[float]) -> tuple[list[float], list[float]]:
    """Very long series as medians of equal blocks, since slopes are compared pair by pair."""
    size = -(-len(values) // _MOST_POINTS)
    if size == 1:
        return list(at), list(values)
    starts = range(0, len(values), size)
    return (
        [median(at[start : start + size]) for start in starts],
        [median(values[start : start + size]) for start in starts],
    )


def _times(series: WearSeries) -> str:
    """A ratio as people say it: 1.5 is "half as long again"."""
    percent = round(((series.ratio or 1.0) - 1) * 100)
    much = "long" if series.measured == "climb" else "much"
    if abs(percent) < 5:
        return "about the same"
    if 45 <= percent <= 55:
        return f"half as {much} again"
    if 95 <= percent <= 105:
        return f"twice as {much}"
    more = (
        ("longer" if percent > 0 else "shorter")
        if much == "long"
        else ("more" if percent > 0 else "less")
    )
    return f"{show_quantity(abs(percent), '%')} {more}"


def _bare(c: float, unit: str) -> str:
    """A temperature without its unit, where the next one has it."""
    return show_temperature(c, unit).split(THIN)[0]


def _signed(value: float, digits: int) -> str:
    return f"{value:+.{digits}f}".replace("-", MINUS)
