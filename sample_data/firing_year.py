"""The year's firings: when, what program, what went wrong, and what each level truly got."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from studiolog.craft.firing.bend import bend_at
from studiolog.craft.firing.cones import cone_at, end_point, number_of, temperature_of

from .kiln_curves import (
    BIG_KILN,
    TEST_KILN,
    Interruption,
    log_csv_bytes,
    simulate_firing,
)
from .studio_setup import BIG, PROGRAMS, SMALL

if TYPE_CHECKING:
    from studiolog.journal.firings import LogDraft

FIRST_NUMBER = 49
"""The firings before are in the potter's paper book."""
FIRST_BISQUE = datetime(2025, 11, 22, 7, 20)
CYCLE_DAYS = 28
CYCLES = 12

ELEMENTS_NEW = date(2026, 3, 10)
"""The big kiln's old elements had gone slow; from this day on it has new ones."""

# What a level gets against the sensor, °C. The lower shelf of the big kiln stays behind; with the
# old elements, which had gone slow lower down, the top ran further ahead.
LEVEL_OFFSET_C = {
    (BIG, "top"): 6.0, (BIG, "middle"): 0.5, (BIG, "bottom"): -8.0,
    (SMALL, "upper"): 1.5, (SMALL, "lower"): -2.0,
}  # fmt: skip
OLD_OFFSET_C = {**LEVEL_OFFSET_C, (BIG, "top"): 9.5, (BIG, "middle"): 2.0}
LEVELS = {BIG: ("top", "middle", "bottom"), SMALL: ("upper", "lower")}


@dataclass(frozen=True)
class FiringPlan:
    """One firing as it was done. ``cones``: whether witness cones were set and read."""

    number: int
    cycle: int
    kiln: str
    program: str
    started_at: datetime
    style: str
    wear: float
    cones: bool = True
    interruptions: tuple[Interruption, ...] = ()
    note: str = ""
    lesson: str = ""
    next_time: str = ""

    @property
    def kind(self) -> str:
        return PROGRAMS[self.program].kind


@dataclass(frozen=True)
class FiringOutcome:
    """What came of it: the log as the journal keeps it, and the truth that it does not know."""

    number: int
    log: LogDraft
    ended_at: datetime
    kwh: float
    """What it truly used."""
    level_cones: dict[str, float]


# Which program each glaze firing of a cycle had, in order; a third entry went into the test kiln.
_PROGRAMS_OF_CYCLE: tuple[tuple[str, ...], ...] = (
    ("six", "six_fast"), ("six", "gentle"), ("six", "seven", "test"), ("six_fast", "six"),
    ("six", "gentle"), ("seven", "six", "test"), ("six", "six_fast"), ("gentle", "six"),
    ("six", "seven", "test"), ("six_fast", "six"), ("seven", "six", "test"),
    ("six", "six", "test"),
)  # fmt: skip
_STYLES = ("clock", "minutes", "preamble", "comma", "clock", "fahrenheit", "two_probes")
_WORDS: dict[int, tuple[str, str, str]] = {
    51: ("", "Free cooling leaves Kelp flat and dark.", "Back to slow cool for anything green."),
    54: ("Tried half a cone less, for Rust Shore.", "Rust Shore stays where it is put.",
         "Look at the Chalk of this load again in a month."),
    58: ("First time to 7.", "Rust Shore over Kelp let go on the lower shelf.",
         "Kelp and Rust Shore apart, or not in this firing."),
    61: ("Power went at two, back after 50 minutes. Let it go on.",
         "An hour lost on the way up did no harm that I can see.", ""),
    66: ("Stilts under the tumblers this time.", "Stilts saved the shelf, not the pots.",
         "Nothing with Rust Shore over Kelp to 7."),
    73: ("", "Gentle program again: good surfaces, but Chalk pings on the red clay for days.", ""),
    80: ("Elements are getting slow: the last 50 °C took longer than in spring.", "",
         "Measure the elements before Christmas."),
    83: ("", "", "One more to 7 with the new Oat, thin, then decide."),
    87: ("Full load, tumblers from run 58 on all three shelves.",
         "The lower shelf was 0.2 short, as usual.", "Put what needs the heat on the top shelf."),
    93: ("The logger lost an hour on the way up.", "", "New batteries in the logger."),
}  # fmt: skip
_TROUBLE: dict[int, tuple[Interruption, ...]] = {
    52: (Interruption(6.0, 3, "probe_drop"),),
    61: (Interruption(6.5, 50, "power_cut"),),
    74: (Interruption(9.0, 2, "probe_drop"), Interruption(4.0, 14, "logger_gap")),
    93: (Interruption(5.0, 62, "logger_gap"),),
}
_WITHOUT_CONES = {51, 57, 68, 76, 81, 92}
"""Glaze firings whose packs were forgotten, or fell over."""


_NOT_METERED = {50, 58, 67, 72, 86, 90}
"""Nobody read the meter: two of their logs have the duty, the others leave an estimate."""
_METER_FROM = 75
"""From this firing on the big kiln has a meter of its own, and its stand is noted."""
_METER_STANDS_AT = 214.6


def plan_firings() -> tuple[FiringPlan, ...]:
    """Every firing of the year in order of its number."""
    plans: list[tuple[int, str, str, datetime]] = []
    for cycle in range(CYCLES):
        begin = FIRST_BISQUE + timedelta(days=CYCLE_DAYS * cycle)
        first, second, *third = _PROGRAMS_OF_CYCLE[cycle]
        plans.append((cycle, BIG, "bisque", begin))
        plans.append((cycle, BIG, first, begin + timedelta(days=6, minutes=-10)))
        if third:
            plans.append((cycle, SMALL, third[0], begin + timedelta(days=11, hours=1)))
        plans.append((cycle, BIG, second, begin + timedelta(days=16, minutes=20)))
    last = FIRST_BISQUE + timedelta(days=CYCLE_DAYS * (CYCLES - 1))
    plans += [
        (12, BIG, "bisque", last + timedelta(days=24)),
        (12, BIG, "six", last + timedelta(days=30, minutes=10)),
        (12, SMALL, "test", last + timedelta(days=35, hours=2)),
        (12, BIG, "six", last + timedelta(days=40, minutes=-20)),
        (13, BIG, "bisque", last + timedelta(days=44, minutes=15)),
    ]
    firings: list[FiringPlan] = []
    for place, (cycle, kiln, program, started) in enumerate(plans):
        number = FIRST_NUMBER + place
        random = np.random.default_rng((number, 7))
        style = _STYLES[place % len(_STYLES)]
        if kiln == SMALL and style == "two_probes":
            style = "clock"
        note, lesson, next_time = _WORDS.get(number, ("", "", ""))
        firings.append(
            FiringPlan(
                number=number, cycle=cycle, kiln=kiln, program=program,
                started_at=started + timedelta(minutes=int(random.integers(-3, 4)) * 5),
                style=style,
                wear=_wear(kiln, started, place / len(plans)),
                cones=PROGRAMS[program].kind != "bisque" and number not in _WITHOUT_CONES,
                interruptions=_TROUBLE.get(number, ()),
                note=note, lesson=lesson, next_time=next_time,
            )
        )  # fmt: skip
    return tuple(firings)


def _wear(kiln: str, started_at: datetime, share: float) -> float:
    """The share of power the elements have lost: the big kiln's are changed in March."""
    if kiln == SMALL:
        return round(0.03 + 0.19 * share, 3)
    if started_at.date() < ELEMENTS_NEW:
        return round(0.19 + 0.20 * share, 3)
    months = (started_at.date() - ELEMENTS_NEW).days / 30
    return round(0.01 + 0.024 * months, 3)


def run_firing(plan: FiringPlan) -> FiringOutcome:
    """Fire it in the kiln model, write its log, and read that as the program reads any log."""
    from studiolog.craft.firing.heatwork import equivalent_cone
    from studiolog.journal.firing_log import log_from_reading
    from studiolog.transfer.temperature_log import Choices, read_temperature_log

    random = np.random.default_rng((plan.number, 11))
    big = plan.kiln == BIG
    fired = simulate_firing(
        PROGRAMS[plan.program].segments,
        plan.number,
        kiln=BIG_KILN if big else TEST_KILN,
        element_wear=plan.wear if big else plan.wear / 2,
        sampling_s=120.0 if big else 60.0,
        interruptions=plan.interruptions,
    )
    content = log_csv_bytes(fired, plan.started_at, plan.style, plan.number)
    name = f"firing-{plan.number}-{plan.started_at:%Y-%m-%d}.csv"
    # The potter's own answer where a log leaves a question open: the kiln's reading, not its aim.
    main = {"comma": "Kiln °C", "clock": "temperature_c", "preamble": "temperature",
            "two_probes": "upper_c"}.get(plan.style)  # fmt: skip
    reading = read_temperature_log(content, name, Choices(primary_channel=main))
    log = log_from_reading(reading, content, started_at=plan.started_at)
    sensor = equivalent_cone(fired.elapsed_s, fired.true_c).number
    sensor_c = temperature_of(sensor, 60.0)
    offsets_c = LEVEL_OFFSET_C if plan.started_at.date() >= ELEMENTS_NEW else OLD_OFFSET_C
    level_cones = {
        level: number_of(sensor_c + offsets_c[plan.kiln, level] + random.normal(0, 1.1), 60.0)
        for level in LEVELS[plan.kiln]
    }
    return FiringOutcome(
        number=plan.number,
        log=log,
        ended_at=(plan.started_at + timedelta(seconds=float(fired.elapsed_s[-1]))).replace(
            microsecond=0
        ),
        kwh=round(fired.energy_full_power_h * (9.0 if big else 2.9) * (1 - plan.wear / 2), 1),
        level_cones=level_cones,
    )


def read_meters(
    plans: Sequence[FiringPlan], outcomes: Mapping[int, FiringOutcome]
) -> dict[int, tuple[float | None, float | None, float | None]]:
    """What was noted of each firing, by number: kWh used, or the meter's stand before and after."""
    noted: dict[int, tuple[float | None, float | None, float | None]] = {}
    stand = _METER_STANDS_AT
    for plan in plans:
        used = outcomes[plan.number].kwh
        own = plan.kiln == BIG and plan.number >= _METER_FROM
        before, stand = stand, round(stand + used, 1) if own else stand
        if plan.number in _NOT_METERED:
            noted[plan.number] = (None, None, None)
        else:
            noted[plan.number] = (None, before, stand) if own else (used, None, None)
    return noted


def bend_of(cone: str, level_cone: float) -> float:
    """How far a witness cone bends where the level got ``level_cone``; degrees."""
    past_c = temperature_of(level_cone, 60.0) - end_point(cone, 60.0)
    if past_c <= 0:
        return float(bend_at(past_c))
    return float(min(90.0 + 5.0 * past_c, 130.0))


def pack_for(aimed: str, level_cone: float, random: np.random.Generator) -> list[tuple[str, str]]:
    """Cones of a pack (one below, at, one above what was aimed at) and what was read, as said.

    Most are measured in degrees; some are said in words, some by the clock.
    """
    from studiolog.craft.firing.cones import ordinal_of

    middle = round(ordinal_of(aimed))
    way = random.choice(["degrees", "degrees", "degrees", "words", "clock"])
    said: list[tuple[str, str]] = []
    for number in (middle - 1, middle, middle + 1):
        cone = cone_at(float(number))
        bend = float(np.clip(bend_of(cone, level_cone) + random.normal(0, 2.5), 2, 150))
        said.append((cone, _say(bend, str(way))))
    return said


def _say(bend: float, way: str) -> str:
    if way == "clock" and 25 <= bend <= 100:
        half_hours = round(bend / 15)
        hour, half = divmod(half_hours, 2)
        return f"{hour}:30" if half else f"{hour} o'clock"
    if way in ("words", "clock"):
        for most, word in (
            (12, "standing"), (22, "started"), (34, "quarter down"), (56, "half down"),
            (79, "three quarters down"), (99, "tip touching"), (116, "flat"),
        ):  # fmt: skip
            if bend < most:
                return word
        return "flat"
    return f"{round(bend):d}°"
