"""Witness cones as a potter reads them: degrees, a clock position, or words.

90° is the end point: the tip is level with the base. A self-supporting cone starts by leaning
about 8°, which counts as standing. The three ways of reading are one: a bend with an interval.

How the bend follows temperature: slow to about 45°, then quick; the table below was fitted to
makers' descriptions and is a judgement, not a published figure.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from studiolog.craft.firing import cones
from studiolog.problems import UserProblem

# °C before the end point at each bend, judgement.
BEND_TABLE: Final = (
    (0.0, -20.0),
    (10.0, -15.0),
    (20.0, -10.0),
    (30.0, -6.0),
    (40.0, -4.0),
    (48.0, -3.0),
    (60.0, -2.0),
    (75.0, -1.0),
    (90.0, 0.0),
)
# Below this bend a cone is as it was put in; an eye sees no change up to twice that. From 90° on
# it is down, and well beyond that it no longer tells how much hotter it was.
UNTOUCHED_DEG: Final = 10.0
SEEN_TO_LEAN_DEG: Final = 20.0
DOWN_DEG: Final = 90.0
NEARLY_DOWN_DEG: Final = 85.0
PAST_TELLING_DEG: Final = 110.0
# Makers state that batches hold within ±2 °C (published with the charts).
BATCH_C: Final = 2.0

# Words of the trade and the bends they stand for, common practice: low, middle, high.
WORDS: Final[Mapping[str, tuple[float, float, float]]] = {
    "standing": (0.0, 5.0, 20.0),
    "started": (10.0, 20.0, 30.0),
    "quarter down": (15.0, 25.0, 35.0),
    "half down": (35.0, 45.0, 55.0),
    "three quarters down": (55.0, 67.0, 80.0),
    "tip touching": (80.0, 90.0, 100.0),
    "down": (80.0, 110.0, 180.0),
    "flat": (100.0, 120.0, 180.0),
    "melted": (120.0, 160.0, 180.0),
}
_ALSO: Final[Mapping[str, str]] = {
    "untouched": "standing",
    "upright": "standing",
    "straight": "standing",
    "not moved": "standing",
    "just started": "started",
    "starting": "started",
    "leaning": "started",
    "soft": "started",
    "bending": "half down",
    "half": "half down",
    "half bent": "half down",
    "three quarters": "three quarters down",
    "nearly down": "three quarters down",
    "touching": "tip touching",
    "tip level": "tip touching",
    "fully down": "down",
    "bent over": "down",
    "laid flat": "flat",
    "lying flat": "flat",
    "puddle": "melted",
    "slumped": "melted",
}
_DEGREES = re.compile(
    r"(?P<low>\d+(?:[.,]\d+)?)\s*(?:°|deg(?:rees)?)?"
    r"(?:\s*(?:-|–|to)\s*(?P<high>\d+(?:[.,]\d+)?)\s*(?:°|deg(?:rees)?)?)?"
)
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:(?::|\.)(?P<minute>[0-5]\d)|\s*(?P<half>½|1/2))?\s*(?:o.?clock|uhr|h)?"
)


@dataclass(frozen=True, slots=True)
class BendReading:
    """One reading of one cone: its bend in degrees as an interval, and what was said."""

    low_deg: float
    high_deg: float
    middle_deg: float
    said: str

    @property
    def is_down(self) -> bool:
        """True if the tip is level with the base or lower, as far as the reading tells."""
        return self.middle_deg >= DOWN_DEG

    @property
    def is_untouched(self) -> bool:
        """True if the cone stands as it was put in."""
        return self.middle_deg < UNTOUCHED_DEG


@dataclass(frozen=True, slots=True)
class ConeInterval:
    """What a pack of cones says: an interval of ordinals, its middle, and contradictions."""

    number: float
    low: float
    high: float
    contradictions: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """The middle of the interval for a reader: "5 +0.4"."""
        return cones.label_of(self.number)

    @property
    def interval_label(self) -> str:
        """The interval for a reader: "5 −0.1 to 6 −0.2"."""
        return cones.label_between(self.low, self.high)


def read_degrees(degrees: float, give_or_take: float = 5.0) -> BendReading:
    """A bend measured in degrees, 0 upright, 90 tip level with the base, 180 hanging down."""
    _check(degrees)
    return _reading(degrees - give_or_take, degrees, degrees + give_or_take, f"{degrees:g}°")


def read_clock(hour: float) -> BendReading:
    """A bend by where the tip points on a clock face: 12 upright, 3 level with the base.

    Common practice: the cone is the hand of a clock seen with its bend to the right, so an hour is
    30°, from 12 (0°) over 3 (90°, the end point) to 6 (180°, hanging down the plaque); a cone seen
    from behind, bending left, is read the same way from 12 over 9 to 6. Half an hour either way is
    what an eye can tell. Raises `UserProblem` for an hour no clock has.
    """
    if not 0.0 <= hour <= 12.0:
        raise UserProblem(f"A clock has no {hour:g} o'clock; say where the tip points, 12 to 6.")
    degrees = (hour % 12.0) * 30.0
    if degrees > 180.0:
        degrees = 360.0 - degrees
    whole, part = divmod(hour, 1.0)
    said = f"{int(whole) or 12}:{round(part * 60):02d}" if part else f"{int(whole) or 12} o'clock"
    return _reading(degrees - 15.0, degrees, degrees + 15.0, said)


def read_words(words: str) -> BendReading:
    """A bend in words: standing, started, half down, tip touching, flat and their like.

    Raises `UserProblem`, naming the words there are, for any other.
    """
    plain = _plain_words(words)
    plain = _ALSO.get(plain, plain)
    if plain not in WORDS:
        raise UserProblem(
            f"“{words.strip()}” is no reading of a cone; say {', '.join(WORDS)}, "
            "degrees (0 to 180) or a clock position (12 to 6)."
        )
    low, middle, high = WORDS[plain]
    return BendReading(low, high, middle, plain)


def parse_bend(text: str) -> BendReading:
    """A reading as typed: "45", "40–50°", "5 o'clock", "2:30", "tip touching".

    A bare number is degrees. Raises UserProblem for what is none of them.
    """
    plain = text.strip().lower()
    if ":" in plain or "clock" in plain or "uhr" in plain:
        match = _CLOCK.fullmatch(plain)
        if match is not None:
            part = int(match["minute"]) / 60.0 if match["minute"] else 0.5 if match["half"] else 0
            return read_clock(int(match["hour"]) + part)
    match = _DEGREES.fullmatch(plain)
    if match is None:
        return read_words(text)
    low = float(match["low"].replace(",", "."))
    if match["high"] is None:
        return read_degrees(low)
    high = float(match["high"].replace(",", "."))
    _check(low)
    _check(high)
    low, high = min(low, high), max(low, high)
    return BendReading(low, high, (low + high) / 2.0, text.strip())


def temperature_before_end_c(degrees: float) -> float:
    """°C from the end point at a bend (negative: before it), by the table; 0 once down."""
    return _interpolate(degrees, BEND_TABLE)


def bend_at(before_end_c: float) -> float:
    """The bend in degrees at so many °C from the end point (negative: before it)."""
    return _interpolate(before_end_c, tuple((c, deg) for deg, c in BEND_TABLE))


def place_reading(cone: str, reading: BendReading) -> tuple[float | None, float | None]:
    """The ordinals (low, high) that one cone's bend allows; None where it sets no bound.

    A cone that stands says only "cooler than where its lean is seen", one that is well down only
    "hotter than its end point". The makers' ±2 °C between batches is allowed for.
    """
    low: float | None = None
    high: float | None = None
    if not reading.is_untouched:
        low = _number_at(cone, reading.low_deg, -BATCH_C)
    if reading.high_deg <= PAST_TELLING_DEG:
        seen = SEEN_TO_LEAN_DEG if reading.is_untouched else 0.0
        high = _number_at(cone, max(reading.high_deg, seen), +BATCH_C)
    return low, high


def read_pack(
    readings: Mapping[str, BendReading] | Sequence[tuple[str, BendReading]],
) -> ConeInterval:
    """What a pack of witness cones says together.

    ``readings`` maps cone names to bends. Each bound that a cone sets is taken; the interval is
    where all agree. One-sided packs (all down, all standing) are given one cone beyond the last.
    A cooler cone standing while a hotter one is down is a contradiction, told in a sentence; the
    interval then spans both. Raises UserProblem for an empty pack or an unknown cone.
    """
    pairs = list(readings.items()) if isinstance(readings, Mapping) else list(readings)
    if not pairs:
        raise UserProblem("A cone pack needs at least one cone that was read.")
    pairs.sort(key=lambda pair: cones.ordinal_of(pair[0]))

    contradictions: list[str] = []
    for place, (cooler, first) in enumerate(pairs):
        for hotter, second in pairs[place + 1 :]:
            if cones.ordinal_of(cooler) == cones.ordinal_of(hotter):
                if first.low_deg > second.high_deg or second.low_deg > first.high_deg:
                    contradictions.append(
                        f"Cone {cones.show_cone(cooler)} was read twice, {first.said} and "
                        f"{second.said}: look again which of them it is."
                    )
            elif first.high_deg < second.low_deg:
                contradictions.append(
                    f"Cone {cones.show_cone(cooler)} is {_state(first)} while the hotter cone "
                    f"{cones.show_cone(hotter)} is {_state(second)}: check that they were not "
                    "swapped, set at a wrong angle, or of different kinds."
                )
    lows: list[tuple[float, str]] = []
    highs: list[tuple[float, str]] = []
    for cone, reading in reversed(pairs):
        low, high = place_reading(cone, reading)
        # A tip that rests on the shelf bends no further however hot it gets: where a hotter cone
        # has begun to bend, one that is down says "at least", and no longer "at most".
        resting = reading.middle_deg >= NEARLY_DOWN_DEG
        if high is not None and not (resting and any(high < other for other, _ in lows)):
            highs.append((high, cone))
        if low is not None:
            lows.append((low, cone))
    if lows and highs:
        (low_number, low_cone), (high_number, high_cone) = max(lows), min(highs)
        if low_number > high_number:
            low_number, high_number = high_number, low_number
            if not contradictions:
                contradictions.append(
                    f"Cones {cones.show_cone(high_cone)} and {cones.show_cone(low_cone)} do not "
                    "agree on one heat: read both again, and check how they were set."
                )
    elif lows:
        low_number = max(lows)[0]
        high_number = low_number + 1.0
    else:
        high_number = min(highs)[0]
        low_number = high_number - 1.0
    return ConeInterval(
        (low_number + high_number) / 2.0, low_number, high_number, tuple(contradictions)
    )


def temperature_equivalent_c(interval: ConeInterval) -> float:
    """The middle of an interval as an end point in °C at 60 °C/h: the scale of calibration."""
    return cones.temperature_of(interval.number, 60.0)


def _number_at(cone: str, degrees: float, allowance_c: float) -> float:
    end_c = cones.end_point(cone, 60.0)
    return cones.number_of(end_c + temperature_before_end_c(degrees) + allowance_c, 60.0)


def _state(reading: BendReading) -> str:
    if reading.is_untouched:
        return "standing"
    return "down" if reading.is_down else f"bent about {reading.middle_deg:.0f}°"


def _reading(low: float, middle: float, high: float, said: str) -> BendReading:
    return BendReading(max(low, 0.0), min(high, 180.0), middle, said)


def _check(degrees: float) -> None:
    if not 0.0 <= degrees <= 180.0:
        raise UserProblem(
            f"A cone cannot be bent {degrees:.10g}°: upright is 0°, tip level with the base 90°, "
            "hanging down 180°."
        )


def _plain_words(words: str) -> str:
    plain = re.sub(r"[\s_-]+", " ", words.strip().lower())
    return plain.replace("¾", "three quarters").replace("½", "half").replace("¼", "quarter")


def _interpolate(at: float, table: Sequence[tuple[float, float]]) -> float:
    if at <= table[0][0]:
        return table[0][1]
    for (x0, y0), (x1, y1) in pairwise(table):
        if at <= x1:
            return y0 + (at - x0) * (y1 - y0) / (x1 - x0)
    return table[-1][1]
