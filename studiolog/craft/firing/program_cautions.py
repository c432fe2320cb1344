"""What to beware of in a program before it is fired: what, why, and how to change it.

The figures are limits a potter may set (``firing_limits.csv``, group "program"); the trade facts
are *common practice* but for the inversions: quartz at 573 °C with about 0.45 % of length, and
cristobalite at about 226 °C (some sources 220), are published. How dry and how thick the ware is,
only the potter can tell, so a caution is no verdict.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from studiolog.craft.firing import cones
from studiolog.craft.firing.curve import LAST_CLIMB_C, QUARTZ_INVERSION_C
from studiolog.craft.firing.program import (
    FULL_POWER_C_PER_H,
    ROOM_C,
    Segment,
    find_problems,
    planned_cone,
)
from studiolog.craft.firing.what_if import OutOfReach, Top, find_top, say_cone, solve
from studiolog.craft.limits import SHIPPED, Limits, shipped_limits
from studiolog.craft.units import show_degrees, show_duration, show_rate, show_temperature
from studiolog.problems import UserProblem

SEA_LEVEL_BOIL_C: Final = 100.0
METRES_PER_C: Final = 300.0  # common practice: water boils about 1 °C lower every 300 m
CANDLE_FROM_C: Final = 60.0
CRISTOBALITE_C: Final = 226.0
BURN_OUT_C: Final = (700.0, 950.0)
_HOT_C: Final = 600.0  # a dip or hold above this is no drying
_NEAR_TOP_C: Final = 100.0
_DAY_MIN: Final = 1440.0
_OLD_CHART_APART_C: Final = 3.0

DEFER: Final = (
    "Usual practice, not rules: the makers of your kiln and clay, and local rules, go first."
)

Weight = Literal["warn", "note"]
"""A warning wants a look before firing; a note holds for every such firing."""


@dataclass(frozen=True, slots=True)
class ProgramCaution:
    """One thing to beware of.

    ``segments`` are the numbers, from 1, of the segments it is about; ``change`` names one of them
    with a figure, and is empty where nothing in the program can be changed.
    """

    key: str
    weight: Weight
    what: str
    why: str
    change: str
    standing: str
    segments: tuple[int, ...] = ()


class _Leg(NamedTuple):
    """A segment as it is gone: its number from 1, from and to in °C, rate, hold after it."""

    number: int
    from_c: float
    to_c: float
    rate: float | None
    hold_min: float

    @property
    def rises(self) -> bool:
        return self.to_c > self.from_c

    def passes(self, low_c: float, high_c: float | None = None) -> bool:
        """Whether some of it lies between two temperatures, or it crosses one."""
        bottom, top = sorted((self.from_c, self.to_c))
        high = low_c if high_c is None else high_c
        # A leg that ends at a temperature passes it; the next, which begins there, does not again.
        return bottom < high and top > low_c if high > low_c else bottom < low_c <= top

    def how(self, scale: str) -> str:
        if self.rate is None:
            return "as fast as the kiln goes" if self.rises else "as fast as it cools"
        return f"at {show_rate(self.rate, scale)}"

    def faster_than(self, limit_c_per_h: float) -> bool:
        """Free cooling is never told here: nobody set it."""
        if self.rate is None:
            return self.rises and limit_c_per_h < FULL_POWER_C_PER_H
        return self.rate > limit_c_per_h


def boiling_c(altitude_m: float) -> float:
    """Where water boils at a height above the sea, °C: about 1 °C lower every 300 m."""
    return SEA_LEVEL_BOIL_C - max(altitude_m, 0.0) / METRES_PER_C


def find_program_cautions(
    segments: Sequence[Segment],
    kind: str = "glaze",
    aimed: str | None = None,
    limits: Limits = SHIPPED,
    scale: str = "C",
) -> tuple[ProgramCaution, ...]:
    """What to beware of, warnings first, each group in the order of the firing.

    ``kind`` is a key of ``FIRING_KINDS``, ``aimed`` the name of the cone aimed at. A program that
    has problems is told those by ``find_problems`` and gets no cautions.
    """
    if not segments or find_problems(segments):
        return ()
    told = _Telling(tuple(_legs(segments)), kind, limits, scale)
    found = [
        *told.steam(),
        *told.burn_out(),
        *told.quartz(),
        *told.dips(),
        *_about_the_top(segments, told, aimed),
        *told.long_soaks(),
        *told.cooling(),
        *told.fumes(),
    ]
    return tuple(sorted(found, key=lambda one: one.weight != "warn"))


def _legs(segments: Sequence[Segment]) -> Iterator[_Leg]:
    here = ROOM_C
    for number, one in enumerate(segments, start=1):
        yield _Leg(number, here, one.target_c, one.rate_c_per_h, one.hold_min)
        here = one.target_c


def _standing(key: str, limits: Limits) -> str:
    """How well a limit is known: as its table says, or set by the potter."""
    return "set by you" if limits.is_changed(key) else shipped_limits()[key].standing


@dataclass(frozen=True, slots=True)
class _Telling:
    """A program's legs with what is needed to speak about them."""

    legs: tuple[_Leg, ...]
    kind: str
    limits: Limits
    scale: str

    def rate(self, key: str) -> str:
        return show_rate(self.limits[key], self.scale)

    def at(self, temperature_c: float) -> str:
        return show_temperature(temperature_c, self.scale)

    def peak_c(self) -> float:
        return max(leg.to_c for leg in self.legs)

    def steam(self) -> Iterator[ProgramCaution]:
        """Free water driven off too fast, unless the ware was dried below the boil first."""
        limits = self.limits
        boil, dry = boiling_c(limits["altitude_m"]), limits["dry_by_c"]
        gentle = limits["gentle_c_per_h"]
        for leg in self.legs:
            if leg.rises and leg.passes(boil, dry) and leg.faster_than(gentle):
                break
            if CANDLE_FROM_C <= leg.to_c <= boil and leg.hold_min >= limits["candle_min"]:
                return
        else:
            return
        fast = leg.faster_than(limits["damp_c_per_h"])
        high = limits["altitude_m"] > 0
        below = self.at(boil - 10.0)
        yield ProgramCaution(
            "steam",
            "warn" if fast and self.kind != "glaze" else "note",
            f"Segment {leg.number} heats {leg.how(self.scale)} through {self.at(boil)}, where "
            + ("water boils at your height." if high else "water boils."),
            "Damp or thick ware can burst as its last water turns to steam; ware glazed the same "
            "day is damp too.",
            f"For damp or thick ware: segment {leg.number} at {self.rate('gentle_c_per_h')} to "
            f"{self.rate('damp_c_per_h')} up to {self.at(dry)}, then on as now; or first a hold "
            f"of {show_duration(limits['candle_min'] * 60.0)} or more at {below}.",
            _standing("gentle_c_per_h", limits),
            (leg.number,),
        )

    def burn_out(self) -> Iterator[ProgramCaution]:
        """Carbon and sulphur of a bisque need time and air to leave."""
        if self.kind != "bisque":
            return
        low, high = BURN_OUT_C
        fast = [
            leg
            for leg in self.legs
            if leg.rises
            and leg.passes(low, high)
            and leg.faster_than(self.limits["burn_out_c_per_h"])
        ]
        if not fast:
            return
        leg = fast[0]
        yield ProgramCaution(
            "burn_out",
            "warn",
            f"Segment {leg.number} goes {leg.how(self.scale)} through {self.at(low)} to "
            f"{self.at(high)}, where carbon and sulphur burn out.",
            "What is left in the clay blisters and bloats it, and pinholes the glaze, in the "
            "glaze firing. Burning out takes time and air.",
            f"Segment {leg.number} at {self.rate('burn_out_c_per_h')} or slower from "
            f"{self.at(low)} to {self.at(high)}, with the vent or a bung open; slower still for "
            "dark or thick clay, or a tightly packed kiln.",
            _standing("burn_out_c_per_h", self.limits),
            tuple(one.number for one in fast),
        )

    def quartz(self) -> Iterator[ProgramCaution]:
        """Quartz changes its size at 573 °C, on the way up and on the way down."""
        fast = [
            leg
            for leg in self.legs
            if leg.passes(QUARTZ_INVERSION_C) and leg.faster_than(self.limits["quartz_c_per_h"])
        ]
        for leg in fast:
            ways = ("heats", "up") if leg.rises else ("cools", "down")
            yield ProgramCaution(
                f"quartz_{ways[1]}",
                "warn" if self.kind == "bisque" or not leg.rises else "note",
                f"Segment {leg.number} {ways[0]} {leg.how(self.scale)} through "
                f"{self.at(QUARTZ_INVERSION_C)}, where quartz changes its size.",
                "Quartz in the clay grows by about 0.45 % of its length going up, and shrinks "
                "again coming down (published); thick or uneven ware can crack.",
                f"For thick or large ware: segment {leg.number} at "
                f"{self.rate('quartz_c_per_h')} or slower from {self.at(550)} to {self.at(600)}.",
                _standing("quartz_c_per_h", self.limits),
                (leg.number,),
            )

    def dips(self) -> Iterator[ProgramCaution]:
        """A target below the one before that the program then climbs above again."""
        for leg, following in zip(self.legs, self.legs[1:], strict=False):
            later = max(one.to_c for one in self.legs[leg.number :])
            if leg.to_c < leg.from_c and following.rises and later > leg.from_c:
                yield ProgramCaution(
                    "dip",
                    "warn",
                    f"Segment {leg.number} goes down from {self.at(leg.from_c)} to "
                    f"{self.at(leg.to_c)}, and segment {following.number} climbs again.",
                    "It may be a slip of the finger: a program usually climbs to its top and "
                    "cools after it.",
                    f"If it is not meant as cooling, give segment {leg.number} a target above "
                    f"{self.at(leg.from_c)}.",
                    "judgement",
                    (leg.number, following.number),
                )

    def long_soaks(self) -> Iterator[ProgramCaution]:
        """A hold well below the top that lasts more than a day."""
        for leg in self.legs:
            if leg.hold_min > _DAY_MIN and leg.to_c < self.peak_c() - _NEAR_TOP_C:
                yield ProgramCaution(
                    "soak",
                    "note",
                    f"Segment {leg.number} holds {show_duration(leg.hold_min * 60.0)} at "
                    f"{self.at(leg.to_c)}.",
                    "That is more than a day; holds are given in minutes.",
                    f"If hours were meant as minutes, shorten the hold of segment {leg.number}.",
                    "judgement",
                    (leg.number,),
                )

    def cooling(self) -> Iterator[ProgramCaution]:
        """What holds while a kiln cools, set or by itself."""
        if self.peak_c() < _HOT_C:
            return
        usual, best = self.at(self.limits["open_usual_c"]), self.at(self.limits["open_best_c"])
        last = self.legs[-1].to_c
        own = (
            f"After segment {len(self.legs)} the kiln cools by itself from {self.at(last)}. "
            if last > self.limits["open_usual_c"]
            else ""
        )
        yield ProgramCaution(
            "cooling",
            "note",
            f"{own}Keep it closed to {usual}, better to {best}.",
            f"Below {self.at(QUARTZ_INVERSION_C)} quartz, and at about {self.at(CRISTOBALITE_C)} "
            "cristobalite, shrink suddenly (published; some sources say "
            f"{self.at(220)}): thick ware cooled unevenly cracks, and crazes sooner.",
            "For thick ware add a last segment down to "
            f"{self.at(500)} at {show_rate(min(100.0, self.limits['quartz_c_per_h']), self.scale)}"
            " or slower, and open late."
            if last > QUARTZ_INVERSION_C
            else "",
            _standing("open_usual_c", self.limits),
        )

    def fumes(self) -> Iterator[ProgramCaution]:
        """What is given off, and where to."""
        said = _FUMES.get(self.kind)
        if said and self.peak_c() > 300.0:
            what, why = said
            yield ProgramCaution(
                "fumes",
                "note",
                what,
                why.format(given_off=self.at(1000)),
                "",
                "common practice",
            )


_FUMES: Final[Mapping[str, tuple[str, str]]] = {
    "bisque": (
        "Vent to the outside from the start, and don't stay beside the kiln while it burns out.",
        "Clay gives off steam, carbon monoxide, oxides of sulphur and some fluorine, most of it "
        "below {given_off}. A carbon monoxide alarm is usual; local codes rule.",
    ),
    "decoration": (
        "Vent to the outside, with the lid or a bung ajar until the media have burnt off.",
        "Lustres, enamels and decals give off organic fumes and metal vapours; their makers' "
        "safety sheets and local codes rule.",
    ),
    "glaze": (
        "Vent to the outside.",
        "Glazes, waxes and resists give off fumes too; local codes rule.",
    ),
}


def _about_the_top(
    segments: Sequence[Segment], told: _Telling, aimed: str | None
) -> Iterator[ProgramCaution]:
    try:
        top = find_top(segments)
    except UserProblem:
        return
    yield from _last_rate(top, told)
    yield from _long_hold(top, told)
    if aimed:
        yield from _aim(segments, top, told, aimed)


def _last_rate(top: Top, told: _Telling) -> Iterator[ProgramCaution]:
    """A last climb that the chart of cones says nothing of."""
    number = top.segment + 1
    rate, limits = top.rate_c_per_h, told.limits
    slow, fast = limits["slow_c_per_h"], limits["fast_c_per_h"]
    if top.peak_c < _HOT_C or (rate is not None and slow <= rate <= fast):
        return
    if rate is None:
        what = f"Segment {number} climbs to the top as fast as the kiln goes."
        why = (
            "Its rate, and with it the cone, then depends on the load, the mains and the elements."
        )
        change = (
            f"Segment {number} at {_show_rate(60, told)} to {_show_rate(150, told)} over the last "
            f"{show_degrees(LAST_CLIMB_C, told.scale)}, as cones are charted."
        )
    else:
        how = "slower" if rate < slow else "faster"
        edge = slow if rate < slow else fast
        what = (
            f"Segment {number} climbs to the top at {_show_rate(rate, told)}, {how} than "
            f"{_show_rate(edge, told)}."
        )
        why = "That is beyond the chart of cones, so the cone told here is a guess."
        change = f"Segment {number} at {_show_rate(15, told)} to {_show_rate(150, told)}."
    yield ProgramCaution(
        "last_rate", "warn", what, why, change, _standing("fast_c_per_h", limits), (number,)
    )


def _show_rate(rate_c_per_h: float, told: _Telling) -> str:
    """A rate in the scale the potter reads."""
    return show_rate(rate_c_per_h, told.scale)


def _long_hold(top: Top, told: _Telling) -> Iterator[ProgramCaution]:
    longest = told.limits["long_hold_min"]
    if top.peak_c < _HOT_C or top.hold_min <= longest:
        return
    number = top.last + 1
    yield ProgramCaution(
        "long_hold",
        "warn",
        f"Segment {number} holds {show_duration(top.hold_min * 60.0)} at the top.",
        "Heat goes on working: makers say one to two hours of soak bring the next cone down "
        "(published). Long holds let glazes run and wear the elements.",
        f"Segment {number} with {show_duration(min(longest, 30.0) * 60.0)} of hold and a higher "
        "top temperature; What if tells which.",
        _standing("long_hold_min", told.limits),
        (number,),
    )


def _aim(
    segments: Sequence[Segment], top: Top, told: _Telling, aimed: str
) -> Iterator[ProgramCaution]:
    """The program does not come to the cone that is aimed at."""
    try:
        wanted = cones.ordinal_of(aimed)
        estimate = planned_cone(segments, limits=told.limits)
    except UserProblem:
        return
    yield from _old_chart(top, told, aimed)
    apart = estimate.number - wanted
    if abs(apart) <= told.limits["aim_cones"]:
        return
    number, way = top.segment + 1, "hotter" if apart > 0 else "cooler"
    try:
        answer = solve(segments, wanted, "peak", limits=told.limits, scale=told.scale)
        change = (
            f"Segment {number} with a target of {answer.say(told.scale)} comes to "
            f"{say_cone(answer.estimate)}."
        )
    except OutOfReach as refused:
        change = refused.sentence
    yield ProgramCaution(
        "aim",
        "warn",
        f"Followed to the letter this comes to {say_cone(estimate)}, {way} than the cone "
        f"{cones.show_cone(aimed)} aimed at.",
        "The cone comes from the last climb and the hold, not from the top temperature alone. "
        + (
            "Too hot, glazes run and ware bloats or sticks; check the cones your clay allows."
            if apart > 0
            else "Too cool, ware stays porous and glazes dry."
        ),
        change,
        _standing("aim_cones", told.limits),
        (number,),
    )


def _old_chart(top: Top, told: _Telling, aimed: str) -> Iterator[ProgramCaution]:
    """A top temperature copied from the chart that was replaced in 1996."""
    rate = top.rate_c_per_h
    if not cones.recognise_old_chart(aimed, top.peak_c) or rate is None:
        return
    today = cones.end_point(aimed, rate, from_memory=True)
    if abs(today - top.peak_c) <= _OLD_CHART_APART_C:
        return
    name, number = cones.show_cone(aimed), top.segment + 1
    yield ProgramCaution(
        "old_chart",
        "warn",
        say_old_chart(aimed, top.peak_c, told.scale),
        f"Today's chart of self-supporting cones has cone {name} at {told.at(today)} for the last "
        f"{_show_rate(rate, told)} of segment {number}, without a hold.",
        f"Segment {number} with a target of {told.at(today)}, or lower with a hold.",
        "published",
        (number,),
    )


def say_old_chart(cone: str, temperature_c: float, scale: str = "C") -> str:
    """The sentence on a figure of the superseded chart; "" where it is none of them."""
    if not cones.recognise_old_chart(cone, temperature_c):
        return ""
    return (
        f"{show_temperature(temperature_c, scale)} is cone {cones.show_cone(cone)} on the chart of "
        f"large cones at {show_rate(150.0, scale)} that was replaced in 1996."
    )
