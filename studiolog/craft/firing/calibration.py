"""What a kiln's witness cones have said against its sensor, level by level.

An offset is the temperature-equivalent of a reading minus that of the curve, in °C on the
60 °C/h scale: +8 means the ware got more heat than the sensor says. Estimated by a robust median
of the last ten readings, drawn towards the kiln's own median where a level has few.
The limits are judgements, the potter's to change. After a thermocouple or the elements are
changed, start afresh: pass only the readings since.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import median
from typing import Final

from studiolog.craft.firing import cones
from studiolog.craft.firing.bend import ConeInterval, temperature_equivalent_c
from studiolog.craft.firing.heatwork import ConeEstimate
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_degrees

# So many readings make the smoothed value that a shift is told from.
_SMOOTHED: Final = 3
# Scatter of normal data seen through the median of the absolute deviations.
_MAD_TO_SIGMA: Final = 1.4826


@dataclass(frozen=True, slots=True)
class LevelOffset:
    """The offset of one level of a kiln.

    ``scatter_c`` is one sigma of single readings, None below two of them. ``shift_c`` is how far
    the median of the last three has moved from the median of those before, None below six
    readings.
    """

    level: str
    offset_c: float
    readings: int
    scatter_c: float | None
    shift_c: float | None
    limits: Limits = field(default=SHIPPED, repr=False)

    @property
    def calibrated(self) -> bool:
        """True once enough readings (three) stand behind the offset."""
        return self.readings >= self.limits["enough_readings"]

    @property
    def sigma_c(self) -> float:
        """One sigma of a corrected curve in °C: 12 uncalibrated, 5 calibrated."""
        return self.limits["sigma_checked_c" if self.calibrated else "sigma_bare_c"]

    @property
    def alarm(self) -> str | None:
        """A sentence if the level has drifted by more than the limit (7 °C), else None."""
        return self.say_alarm()

    def say_alarm(self, unit: str = "C") -> str | None:
        """As ``alarm``, in the unit the potter reads."""
        if self.shift_c is None or abs(self.shift_c) <= self.limits["drift_c"]:
            return None
        way = "hotter" if self.shift_c > 0 else "cooler"
        shift = show_degrees(self.shift_c, unit)
        place = f" at the {self.level} level" if self.level else ""
        return (
            f"The last cones{place} came out about {shift} {way} than those "
            "before, against the same sensor: check the thermocouple and the elements."
        )


def offset_of_pack(pack: ConeInterval, curve_number: float) -> float:
    """°C (60 °C/h scale) of what a pack says, by the middle of its interval, over the curve."""
    return temperature_equivalent_c(pack) - cones.temperature_of(curve_number, 60.0)


def offset_of_reading(reading_number: float, curve_number: float) -> float:
    """As :func:`offset_of_pack`, from the ordinal of the interval's middle."""
    return offset_of_pack(
        ConeInterval(reading_number, reading_number, reading_number), curve_number
    )


def readings_that_count(limits: Limits = SHIPPED) -> int:
    """How many of a level's last readings its offset and its shift are told from."""
    return int(limits["last_readings"]) + _SMOOTHED


def estimate_offsets(
    offsets_by_level: Mapping[str, Sequence[float]], limits: Limits = SHIPPED
) -> dict[str, LevelOffset]:
    """The offset of each level of one kiln from its readings' offsets in °C, oldest first.

    The median of the last ten at the level, weighted n/(n+3) against the median over the whole
    kiln. A level without readings is given the kiln's; a kiln without any gets 0.
    """
    last, draw_in = int(limits["last_readings"]), limits["draw_in"]
    recent = {level: list(values[-last:]) for level, values in offsets_by_level.items()}
    everything = [value for values in recent.values() for value in values]
    kiln_c = median(everything) if everything else 0.0
    found: dict[str, LevelOffset] = {}
    for level, values in recent.items():
        count = len(values)
        middle = median(values) if values else kiln_c
        weight = count / (count + draw_in) if count else 0.0
        found[level] = LevelOffset(
            level,
            kiln_c + weight * (middle - kiln_c),
            count,
            _scatter(values),
            _shift(offsets_by_level[level][-last - _SMOOTHED :]),
            limits,
        )
    return found


@dataclass(frozen=True, slots=True)
class CorrectedCone:
    """What a curve amounts to at a level: ordinals."""

    number: float
    low: float
    high: float


def correct_number(
    number: float, low: float, high: float, sigma_c: float, offset: LevelOffset
) -> CorrectedCone:
    """A cone told from a curve, with its interval, moved by what a level's cones have read.

    ``number``, ``low`` and ``high`` are ordinals, the interval that of one ``sigma_c``; the new
    one is that of the level, narrower once it is calibrated. What made an interval wider (a gap
    in the log) stays in it.
    """

    def move(ordinal: float, by_c: float) -> float:
        moved = cones.number_of(cones.temperature_of(ordinal, 60.0) + by_c, 60.0)
        return min(max(moved, cones.LOWEST), cones.HIGHEST)

    middle = move(number, offset.offset_c)
    tighter = sigma_c - offset.sigma_c
    return CorrectedCone(
        middle,
        min(move(low, offset.offset_c + tighter), middle),
        max(move(high, offset.offset_c - tighter), middle),
    )


def correct_cone(estimate: ConeEstimate, offset: LevelOffset) -> ConeEstimate:
    """What a curve amounts to at a level, by what its cones have read before.

    The same estimate with its number and interval moved by the offset; the interval is that of a
    calibrated level once there are three readings. One beyond the chart stays as it is.
    """
    if "below_chart" in estimate.flags or "above_chart" in estimate.flags:
        return estimate
    moved = correct_number(estimate.number, estimate.low, estimate.high, estimate.sigma_c, offset)
    label = (
        cones.label_between(moved.low, moved.high)
        if "gap" in estimate.flags
        else cones.label_of(moved.number)
    )
    return replace(
        estimate,
        number=moved.number,
        label=label,
        low=moved.low,
        high=moved.high,
        sigma_c=offset.sigma_c,
        calibrated=offset.calibrated,
    )


def describe_spread(top_number: float, bottom_number: float, limits: Limits = SHIPPED) -> str:
    """How even a kiln is from top to bottom, in words (judgement): ½ a cone is even."""
    spread = abs(top_number - bottom_number)
    if spread <= limits["even_cones"]:
        return "even"
    return "usual" if spread <= limits["usual_cones"] else "look at elements and loading"


def cones_from_degrees(offset_c: float) -> float:
    """How many cones an offset amounts to near cone 6 of the 60 °C/h scale; signed."""
    return cones.number_of(cones.temperature_of(6.0, 60.0) + offset_c, 60.0) - 6.0


def _scatter(values: Sequence[float]) -> float | None:
    if len(values) < 2:
        return None
    middle = median(values)
    return _MAD_TO_SIGMA * median(abs(value - middle) for value in values)


def _shift(values: Sequence[float]) -> float | None:
    if len(values) < 2 * _SMOOTHED:
        return None
    return median(values[-_SMOOTHED:]) - median(values[:-_SMOOTHED])
