"""Days and hours of a price as they are typed and shown: "Monday to Friday", "21:30 to 6:00"."""

from __future__ import annotations

import re
from typing import Final

from studiolog.craft.firing.tariff import DAY_MIN, say_minute
from studiolog.craft.words import TARIFF_DAYS
from studiolog.problems import UserProblem

ALL_DAY: Final = "all day"

_SAID: Final = {
    "every": ("", "every", "everyday", "daily", "all", "alldays", "mosu", "montosun", "monsun"),
    "workdays": (
        *("workdays", "workday", "weekdays", "weekday", "mofr", "motofr", "monfri", "montofri"),
        *("mondaytofriday", "mondayfriday"),
    ),
    "weekends": (
        *("weekends", "weekend", "sasu", "satsun", "satandsun", "sattosun", "saandsu"),
        *("saturdayandsunday", "saturdaysunday", "saturdaytosunday"),
    ),
}
_CLOCK: Final = re.compile(r"(\d{1,2})(?:[:.h]([0-5]\d))?\s*(am|pm|noon|midnight)?")


def write_days(days: str) -> str:
    """A key of ``TARIFF_DAYS`` in words."""
    return TARIFF_DAYS[days]


def read_days(text: str) -> str:
    """The key of days as typed: "Mon–Fri", "weekends", "every day", or nothing for every day.

    Raises `UserProblem` for anything else.
    """
    plain = re.sub(r"[^a-z]", "", text.casefold())
    for key, said in _SAID.items():
        if plain in said:
            return key
    raise UserProblem(
        f"“{text.strip()}” is not known as days: write every day, Monday to Friday, or Saturday "
        "and Sunday."
    )


def write_hours(starts_min: int, ends_min: int) -> str:
    """ "21:30 to 6:00", "all day"."""
    if (ends_min - starts_min) % DAY_MIN == 0:
        return ALL_DAY
    return f"{say_minute(starts_min)} to {say_minute(ends_min)}"


def read_hours(text: str) -> tuple[int, int]:
    """Start and end, minutes from midnight, as typed: "21:30 to 6", "9.30pm-6am", "" (all day).

    An end at or before the start is on the next day. Raises `UserProblem` for anything else.
    """
    plain = " ".join(text.casefold().split())
    if plain in ("", ALL_DAY, "0-24", "0 to 24", "always"):
        return 0, DAY_MIN
    parts = re.split(r"\s*(?:-|–|—|\bto\b|\buntil\b)\s*", plain.removeprefix("from "))
    sentence = f"“{text.strip()}” is no stretch of hours: write it like 21:30 to 6:00, or all day."
    if len(parts) != 2:
        raise UserProblem(sentence)
    starts, ends = (_read_clock(part, sentence) for part in parts)
    starts %= DAY_MIN
    if starts == ends % DAY_MIN:
        return 0, DAY_MIN
    return starts, ends or DAY_MIN


def _read_clock(text: str, sentence: str) -> int:
    named = {"noon": 720, "midnight": 0}
    if text in named:
        return named[text]
    found = _CLOCK.fullmatch(text)
    if found is None:
        raise UserProblem(sentence)
    hour, minute, half = int(found[1]), int(found[2] or 0), found[3]
    if half in ("am", "pm"):
        if not 1 <= hour <= 12:
            raise UserProblem(sentence)
        hour = hour % 12 + (12 if half == "pm" else 0)
    if hour > 24 or (hour == 24 and minute):
        raise UserProblem(sentence)
    return hour * 60 + minute
