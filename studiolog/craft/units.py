"""The only place where units are converted, and where a quantity is put into words.

The journal keeps °C, °C/h, seconds, grams and millimetres. What a potter reads or types in other
units passes through here. Numbers for a reader have U+2212 as the minus and a thin space before
the unit.
"""

import math
import re
from typing import Final

from studiolog.problems import UserProblem

THIN: Final = "\N{NARROW NO-BREAK SPACE}"  # a number and its unit stay on one line
MINUS: Final = "\N{MINUS SIGN}"

_NUMBER: Final = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"


def fahrenheit_from_celsius(temperature_c: float) -> float:
    """°F of a temperature in °C."""
    return temperature_c * 1.8 + 32.0


def celsius_from_fahrenheit(temperature_f: float) -> float:
    """°C of a temperature in °F."""
    return (temperature_f - 32.0) / 1.8


def fahrenheit_step_from_celsius(step_c: float) -> float:
    """A difference or a rate: °F (or °F/h) of °C (or °C/h), without the 32."""
    return step_c * 1.8


def celsius_step_from_fahrenheit(step_f: float) -> float:
    """A difference or a rate: °C (or °C/h) of °F (or °F/h), without the 32."""
    return step_f / 1.8


def show_number(value: float, decimals: int = 0) -> str:
    """A number for a reader: "−3.5". Never "−0"."""
    text = f"{abs(value):.{decimals}f}"
    return f"{MINUS}{text}" if value < 0 and float(text) != 0.0 else text


def show_quantity(value: float, unit: str, decimals: int = 0) -> str:
    """A number with its unit after a thin space: "450 g", "12 %"."""
    return f"{show_number(value, decimals)}{THIN}{unit}"


def show_temperature(temperature_c: float, scale: str = "C", decimals: int = 0) -> str:
    """A temperature kept in °C, in the scale the potter reads, "C" or "F": "1222 °C"."""
    if _scale(scale) == "F":
        return show_quantity(fahrenheit_from_celsius(temperature_c), "°F", decimals)
    return show_quantity(temperature_c, "°C", decimals)


def show_temperature_step(step_c: float, scale: str = "C", decimals: int = 0) -> str:
    """A difference kept in °C with its sign: "+7 °C", "−12 °F"."""
    value = fahrenheit_step_from_celsius(step_c) if _scale(scale) == "F" else step_c
    text = show_quantity(value, f"°{_scale(scale)}", decimals)
    return f"+{text}" if float(f"{value:.{decimals}f}") > 0.0 else text


def show_degrees(step_c: float, scale: str = "C", decimals: int = 0) -> str:
    """The size of a difference kept in °C, without a sign: "7 °C", "12 °F"."""
    return show_temperature_step(abs(step_c), scale, decimals).removeprefix("+")


def show_rate(rate_c_per_h: float, scale: str = "C", decimals: int = 0) -> str:
    """A heating or cooling rate kept in °C/h: "60 °C/h"."""
    if _scale(scale) == "F":
        return show_quantity(fahrenheit_step_from_celsius(rate_c_per_h), "°F/h", decimals)
    return show_quantity(rate_c_per_h, "°C/h", decimals)


def whole_minutes(seconds: float) -> int:
    """A duration in the minutes it is shown in, half a minute rounded up."""
    return math.floor(seconds / 60.0 + 0.5)


def show_duration(seconds: float) -> str:
    """A duration to the minute: "13 h 05 min", "45 min"; under a minute "30 s"."""
    sign = MINUS if seconds < 0 else ""
    whole = round(abs(seconds))
    if whole < 60:
        return f"{sign if whole else ''}{whole}{THIN}s"
    hours, minutes = divmod(whole_minutes(abs(seconds)), 60)
    if hours == 0:
        return f"{sign}{minutes}{THIN}min"
    if minutes == 0:
        return f"{sign}{hours}{THIN}h"
    return f"{sign}{hours}{THIN}h {minutes:02d}{THIN}min"


def parse_number(text: str) -> float:
    """A number as a person types it: decimal point or comma, either minus, spaces inside.

    Raises UserProblem for anything else.
    """
    plain = re.sub(r"(?<=\d)\s+(?=\d{3}\b)", "", text.strip().replace(MINUS, "-"))
    if not re.fullmatch(_NUMBER, plain):
        raise UserProblem(f"“{text.strip()}” is not a number; write it like 12 or 12.5.")
    value = float(plain.replace(",", "."))
    if math.isinf(value):
        raise UserProblem(f"“{text.strip()}” is too large: look at it again.")
    return value


def parse_temperature(text: str, scale: str = "C") -> float:
    """°C of a temperature as typed: "1222", "1222 °C", "2232 F". ``scale`` if it names none.

    Raises UserProblem for anything else.
    """
    plain = text.strip()
    match = re.fullmatch(r"(?P<number>.*?)\s*°?\s*(?P<scale>[cCfF])?", plain)
    if match is None or not match["number"]:
        raise UserProblem(f"“{plain}” is not a temperature; write it like 1222 or 1222 °C.")
    value = parse_number(match["number"])
    named = (match["scale"] or _scale(scale)).upper()
    return celsius_from_fahrenheit(value) if named == "F" else value


def parse_duration(text: str) -> float:
    """Seconds of a duration as typed: "1:30", "1 h 30 min", "90 min", "1.5 h", "90" (minutes).

    Raises UserProblem for anything else, and for a negative one.
    """
    plain = text.strip().lower().replace(MINUS, "-")
    clock = re.fullmatch(r"(\d+):([0-5]\d)(?::([0-5]\d))?", plain)
    if clock is not None:
        return int(clock[1]) * 3600.0 + int(clock[2]) * 60.0 + int(clock[3] or 0)
    parts = re.fullmatch(
        r"(?:(?P<d>[\d.,]+)\s*d(?:ays?)?)?\s*(?:(?P<h>[\d.,]+)\s*h(?:ours?|rs?)?)?\s*"
        r"(?:(?P<min>[\d.,]+)\s*(?:m|min|minutes?)?)?\s*(?:(?P<s>[\d.,]+)\s*s(?:ec|econds?)?)?",
        plain,
    )
    if not plain or parts is None or not any(parts.groupdict().values()):
        raise UserProblem(f"“{text.strip()}” is not a duration; write it like 1:30 or 90 min.")
    worth = {"d": 86400.0, "h": 3600.0, "min": 60.0, "s": 1.0}
    return sum(parse_number(parts[unit] or "0") * worth[unit] for unit in worth)


def _scale(scale: str) -> str:
    letter = scale.strip().lstrip("°").upper()
    if letter not in ("C", "F"):
        raise ValueError(f"A temperature scale is C or F, not {scale!r}.")
    return letter
