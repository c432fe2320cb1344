"""Limits as a person reads and types them: in °C or °F, shares in per cent."""

import re
from typing import Final

from studiolog.craft.limits import Limit
from studiolog.craft.units import (
    celsius_from_fahrenheit,
    celsius_step_from_fahrenheit,
    fahrenheit_from_celsius,
    fahrenheit_step_from_celsius,
    parse_number,
    show_quantity,
    show_temperature,
)
from studiolog.problems import UserProblem

_TEMPERATURE: Final = "°C"
_STEPS: Final = {"°C step": "°F", "°C/h": "°F/h"}
_SHARE: Final = "share"
_COUNTED: Final = (
    "curves",
    "readings",
    "firings",
    "results",
    "tiles",
    "runs",
    "pieces",
    "futures",
    "persons",
    "posts",
)
_SWITCH: Final = "yes or no"
_IN_WORDS = re.compile(r"(\d+)( to )?(\d+)? °C(?!/h)")


def unit_of(row: Limit, scale: str = "C") -> str:
    """The unit a limit is shown in: "°C", "°F/h", "%", "min"."""
    if row.unit == _SHARE:
        return "%"
    if row.unit == _SWITCH:
        return ""
    if scale == "F" and (row.unit == _TEMPERATURE or row.unit in _STEPS):
        return _STEPS.get(row.unit, "°F")
    return row.unit.removesuffix(" step")


def say_limit(row: Limit, scale: str = "C") -> str:
    """What a limit is about; the temperatures named in its words in the scale of the reader."""
    if scale != "F":
        return row.words

    def turn(found: re.Match[str]) -> str:
        last = show_temperature(float(found[3] or found[1]), "F")
        first = f"{fahrenheit_from_celsius(float(found[1])):.0f}"
        return f"{first} to {last}" if found[3] else last

    return _IN_WORDS.sub(turn, row.words)


def show_limit(row: Limit, value: float, scale: str = "C") -> str:
    """A value with its unit: "15 °C", "80 %", "27 °F"; "yes" or "no" for a switch."""
    if row.unit == _SWITCH:
        return "yes" if value else "no"
    shown = _shown(row, value, scale)
    decimals = next((n for n in (0, 1, 2) if abs(shown - round(shown, n)) < 1e-6), 3)
    if scale == "F" and unit_of(row, scale).startswith("°F"):
        decimals = min(decimals, 1)
    return show_quantity(shown, unit_of(row, scale), decimals)


def read_limit(row: Limit, text: str, scale: str = "C") -> float:
    """A value as typed, with or without its unit, in the unit of the table.

    What reads like the shipped value is the shipped value. Raises UserProblem for what is no
    number or lies outside what the limit may be.
    """
    plain = re.sub(r"[\s\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}]+", " ", text.strip())
    if row.unit == _SWITCH:
        return _read_switch(row, plain)
    unit = unit_of(row, scale)
    value = _stored(row, parse_number(plain.removesuffix(unit).strip()), scale)
    if row.unit in _COUNTED and value != round(value):
        told = f"“{row.words}” counts {row.unit}: give a whole number."
        raise UserProblem(told, {row.key: told})
    if show_limit(row, value, scale) == show_limit(row, row.value, scale):
        value = row.value
    if not row.least - 1e-6 <= value <= row.most + 1e-6:
        least, most = show_limit(row, row.least, scale), show_limit(row, row.most, scale)
        typed = plain if plain.endswith(unit) else f"{plain} {unit}"
        told = f"“{say_limit(row, scale)}” lies between {least} and {most}; {typed} does not."
        raise UserProblem(told, {row.key: told})
    return min(max(value, row.least), row.most)


def _read_switch(row: Limit, typed: str) -> float:
    word = typed.casefold()
    for value, words in ((1.0, ("yes", "y", "1")), (0.0, ("no", "n", "0"))):
        if word in words:
            return value
    told = f"“{row.words}” is yes or no; {typed or 'nothing'} is neither."
    raise UserProblem(told, {row.key: told})


def _shown(row: Limit, value: float, scale: str) -> float:
    if row.unit == _SHARE:
        return value * 100.0
    if scale == "F" and row.unit == _TEMPERATURE:
        return fahrenheit_from_celsius(value)
    if scale == "F" and row.unit in _STEPS:
        return fahrenheit_step_from_celsius(value)
    return value


def _stored(row: Limit, shown: float, scale: str) -> float:
    if row.unit == _SHARE:
        return round(shown / 100.0, 6)
    if scale == "F" and row.unit == _TEMPERATURE:
        return round(celsius_from_fahrenheit(shown), 6)
    if scale == "F" and row.unit in _STEPS:
        return round(celsius_step_from_fahrenheit(shown), 6)
    return shown
