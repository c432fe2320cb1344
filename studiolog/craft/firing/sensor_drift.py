"""Whether a kiln's thermocouple drifts, told by its witness cones.

A sensor that reads lower and lower lets the kiln over-fire: the cones come out ever hotter than
the curve says. Type K in kilns usually drifts that way (published); platinum pairs hardly drift.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_temperature_step

_SURE: Final = 0.05


@dataclass(frozen=True, slots=True)
class OffsetOfFiring:
    """The offsets of one firing's levels in °C, and its place among the kiln's firings from 1."""

    place: int
    by_level: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class SensorDrift:
    """How the kiln-wide offset moves: °C per ten firings with its interval, and a test.

    ``firings`` are those whose cones were read against a curve; all else None below ``needed``.
    """

    firings: int
    needed: int
    per_ten_c: float | None = None
    low_c: float | None = None
    high_c: float | None = None
    p: float | None = None

    @property
    def sure(self) -> bool:
        """Whether it moves by more than chance would have it."""
        return self.p is not None and self.p < _SURE


def judge_drift(firings: Sequence[OffsetOfFiring], limits: Limits = SHIPPED) -> SensorDrift:
    """The drift over the firings of one calibration, oldest first.

    Each level is taken against its own median, so that a firing in which only the hottest level
    was read says nothing of the sensor. Slope by Theil and Sen, test by Kendall.
    """
    needed = int(limits["trend_firings"])
    if len(firings) < needed:
        return SensorDrift(len(firings), needed)
    from studiolog.craft.evidence.kendall import judge_rank_trend
    from studiolog.craft.evidence.theil_sen import fit_trend

    levels: dict[int, list[float]] = {}
    for firing in firings:
        for level, offset_c in firing.by_level:
            levels.setdefault(level, []).append(offset_c)
    usual = {level: median(values) for level, values in levels.items()}
    at = [float(firing.place) for firing in firings]
    moved = [
        median(offset_c - usual[level] for level, offset_c in firing.by_level) for firing in firings
    ]
    trend, test = fit_trend(at, moved), judge_rank_trend(at, moved)
    return SensorDrift(
        len(firings),
        needed,
        trend.slope * 10,
        None if trend.low is None else trend.low * 10,
        None if trend.high is None else trend.high * 10,
        test.p if test is not None else 1.0,
    )


def say_drift(drift: SensorDrift, thermocouple: str = "", unit: str = "C") -> str:
    """The drift as a plain sentence; ``thermocouple`` is its letter, if it is known."""
    if drift.per_ten_c is None:
        return (
            f"Drift against the cones: not known yet, {drift.firings} of {drift.needed} firings "
            "with cones and a curve."
        )
    step = show_temperature_step(drift.per_ten_c, unit, 1)
    span = ""
    if drift.low_c is not None and drift.high_c is not None:
        low, high = (show_temperature_step(c, unit, 1) for c in (drift.low_c, drift.high_c))
        span = f" ({low} to {high})"
    if not drift.sure:
        return (
            f"Over {drift.firings} firings the cones do not move against the sensor by more than "
            f"chance: {step} every ten firings{span}."
        )
    told = f"Over {drift.firings} firings the cones move by {step} every ten firings{span}: "
    if drift.per_ten_c > 0:
        told += "the sensor reads lower and lower, and the kiln fires hotter than it says."
        if thermocouple == "K":
            told += " Type K usually drifts this way (published)."
    else:
        told += "the ware gets less heat for the same reading."
    return f"{told} Look at the thermocouple first, then at the elements."
