"""Axis ticks and the wording of times, temperatures and rates on a plot."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from studiolog.craft.units import (
    THIN,
    celsius_from_fahrenheit,
    celsius_step_from_fahrenheit,
    fahrenheit_from_celsius,
    fahrenheit_step_from_celsius,
    show_number,
)

Unit = Literal["C", "F"]
_HOUR_STEPS = (1 / 12, 1 / 6, 1 / 4, 1 / 2, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0)
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def shown_temperature(temperature_c: float, unit: Unit) -> float:
    """A temperature in the unit the potter reads."""
    return fahrenheit_from_celsius(temperature_c) if unit == "F" else temperature_c


def stored_temperature(shown: float, unit: Unit) -> float:
    """The °C of a temperature in the unit the potter reads."""
    return celsius_from_fahrenheit(shown) if unit == "F" else shown


def shown_rate(rate_c_per_h: float, unit: Unit) -> float:
    """A rate, or a difference of temperatures, in the unit the potter reads."""
    return fahrenheit_step_from_celsius(rate_c_per_h) if unit == "F" else rate_c_per_h


def stored_rate(shown: float, unit: Unit) -> float:
    """The °C/h of a rate in the unit the potter reads."""
    return celsius_step_from_fahrenheit(shown) if unit == "F" else shown


def write_signed(value: float) -> str:
    """A difference: its sign always shown, but for 0."""
    text = show_number(value)
    return text if text == "0" or value < 0 else f"+{text}"


def write_elapsed(at_s: float) -> str:
    """ "7 h 54": hours and minutes since the start."""
    minutes = math.floor(at_s / 60 + 0.5)
    return f"{minutes // 60}{THIN}h{THIN}{minutes % 60:02d}"


def write_clock(started_at: datetime | None, at_s: float) -> str:
    """ "15:04", or nothing where the start is not known."""
    if started_at is None:
        return ""
    moment = started_at + timedelta(seconds=round(at_s))
    return f"{moment.hour:02d}:{moment.minute:02d}"


def nice_step(span: float, room: int) -> float:
    """The smallest of 1, 2, 2.5, 5 times a power of ten that cuts a span into ``room`` parts."""
    if span <= 0:
        return 1.0
    rough = span / max(1, room)
    power = 10.0 ** math.floor(math.log10(rough))
    for factor in (1.0, 2.0, 2.5, 5.0, 10.0):
        if rough <= factor * power * 1.000001:
            return factor * power
    return 10.0 * power


def nice_values(low: float, high: float, room: int) -> list[float]:
    """Round values from low to high, at most about ``room`` of them."""
    step = nice_step(high - low, room)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [n * step for n in range(first, last + 1)]


@dataclass(frozen=True)
class TimeTick:
    """One tick of the time axis: hours since the start, and the clock under it."""

    at_s: float
    elapsed: str
    clock: str
    new_day: bool


def time_ticks(
    low_s: float, high_s: float, width_px: float, started_at: datetime | None
) -> list[TimeTick]:
    """Ticks at round hours, at least 68 pixels apart; the weekday where a day begins."""
    span_h = max((high_s - low_s) / 3600, 1e-6)
    most = max(2.0, width_px / 68)
    step_h = next((s for s in _HOUR_STEPS if span_h / s <= most), _HOUR_STEPS[-1])
    first = math.ceil(low_s / 3600 / step_h - 1e-9)
    last = math.floor(high_s / 3600 / step_h + 1e-9)
    ticks: list[TimeTick] = []
    day = None
    for n in range(first, last + 1):
        at_h = n * step_h
        clock = write_clock(started_at, at_h * 3600)
        new_day = False
        if started_at is not None:
            moment = started_at + timedelta(hours=at_h)
            new_day = day != moment.date()
            day = moment.date()
            if new_day:
                clock = f"{_DAYS[moment.weekday()]} {clock}"
        ticks.append(TimeTick(at_h * 3600, _write_hours(at_h, step_h), clock, new_day))
    return ticks


def _write_hours(at_h: float, step_h: float) -> str:
    if abs(at_h) < 1e-9:
        return "0"
    if step_h >= 1:
        return f"{show_number(at_h)}{THIN}h"
    return write_elapsed(at_h * 3600)
