"""What a kiln's witness cones have said against its sensor, level by level.

An offset is the temperature-equivalent of a reading minus that of the curve, in °C on the
60 °C/h scale: +8 means the ware got more heat than the sensor says. Estimated by a robust median
of the last ten readings, drawn towards the kiln's own median where a level has few.
The limits are judgements. After a thermocouple or the elements are changed, start afresh: pass
only the readings since.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Final

from studiolog.craft.firing import cones
from studiolog.craft.firing.heatwork import (
    SIGMA_CALIBRATED_C,
    SIGMA_UNCALIBRATED_C,
    ConeEstimate,
)

LAST: Final = 10
SHRINK: Final = 3.0
ENOUGH: Final = 3
ALARM_C: Final = 7.0
# Scatter of normal data seen through the median of the absolute deviations.
_MAD_TO_SIGMA: Final = 1.4826


@dataclass(frozen=True, slots=True)
class LevelOffset:
    """The offset of one level of a kiln.

    ``scatter_c`` is one sigma of single readings, None below two of them. ``shift_c`` is how far
    the last three have moved from those before, None below six readings.
    """

    level: str
    offset_c: float
    readings: int
    scatter_c: float | None
    shift_c: float | None

    @property
    def calibrated(self) -> bool:
        """True once three or more readings stand behind the offset."""
        return self.readings >= ENOUGH

    @property
    def sigma_c(self) -> float:
        """One sigma of a corrected curve in °C: 12 uncalibrated, 5 calibrated."""
        return SIGMA_CALIBRATED_C if self.calibrated else SIGMA_UNCALIBRATED_C

    @property
    def alarm(self) -> str | None:
        """A sentence if the level has drifted by more than 7 °C, else None."""
        if self.shift_c is None or abs(self.shift_c) <= ALARM_C:
            return None
        way = "hotter" if self.shift_c > 0 else "cooler"
        place = f" at the {self.level} level" if self.level else ""
        return (
            f"The last cones{place} came out about {abs(self.shift_c):.0f} °C {way} than those "
            "before, against the same sensor: check the thermocouple and the elements."
        )


def offset_of_reading(reading_number: float, curve_number: float) -> float:
    """°C (60 °C/h scale) of a cone reading, by its middle, over what the curve amounts to."""
    return cones.temperature_of(reading_number, 60.0) - cones.temperature_of(curve_number, 60.0)


def estimate_offsets(offsets_by_level: Mapping[str, Sequence[float]]) -> dict[str, LevelOffset]:
    """The offset of each level of one kiln from its readings' offsets in °C, oldest first.

    The median of the last ten at the level, weighted n/(n+3) against the median over the whole
    kiln. A level without readings is given the kiln's; a kiln without any gets 0.
    """
    recent = {level: list(values)[-LAST:] for level, values in offsets_by_level.items()}
    everything = [value for values in recent.values() for value in values]
    kiln_c = median(everything) if everything else 0.0
    found: dict[str, LevelOffset] = {}
    for level, values in recent.items():
        count = len(values)
        middle = median(values) if values else kiln_c
        weight = count / (count + SHRINK)
        found[level] = LevelOffset(
            level,
            kiln_c + weight * (middle - kiln_c),
            count,
            _scatter(values),
            _shift(list(offsets_by_level[level])),
        )
    return found


def correct_cone(estimate: ConeEstimate, offset: LevelOffset) -> ConeEstimate:
    """What a curve amounts to at a level, by what its cones have read before.

    The same estimate with its number and interval moved by the offset; the interval is that of a
    calibrated level once there are three readings.
    """

    def move(number: float, by_c: float) -> float:
        moved = cones.number_of(cones.temperature_of(number, 60.0) + by_c, 60.0)
        return min(max(moved, cones.LOWEST), cones.HIGHEST)

    if "below_chart" in estimate.flags or "above_chart" in estimate.flags:
        return estimate
    number = move(estimate.number, offset.offset_c)
    tighter = estimate.sigma_c - offset.sigma_c
    low = min(move(estimate.low, offset.offset_c + tighter), number)
    high = max(move(estimate.high, offset.offset_c - tighter), number)
    label = cones.label_between(low, high) if "gap" in estimate.flags else cones.label_of(number)
    return replace(
        estimate,
        number=number,
        label=label,
        low=low,
        high=high,
        sigma_c=offset.sigma_c,
        calibrated=offset.calibrated,
    )


def describe_spread(top_number: float, bottom_number: float) -> str:
    """How even a kiln is from top to bottom, in words (judgement): ½ a cone is even."""
    spread = abs(top_number - bottom_number)
    if spread <= 0.5:
        return "even"
    return "usual" if spread <= 1.0 else "look at elements and loading"


def _scatter(values: Sequence[float]) -> float | None:
    if len(values) < 2:
        return None
    middle = median(values)
    return _MAD_TO_SIGMA * median(abs(value - middle) for value in values)


def _shift(values: Sequence[float]) -> float | None:
    if len(values) < 2 * ENOUGH:
        return None
    return median(values[-ENOUGH:]) - median(values[-ENOUGH - LAST : -ENOUGH])
