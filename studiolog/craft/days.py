"""Days as people type them and as they are shown. Pure text, no clock: today is given.

A day may be ``today``, ``yesterday``, ``Mon``, ``3 Oct``, ``3 October 2026``, ``3.10.2026`` or
``2026-10-03``.
"""

import re
from datetime import date, timedelta
from typing import Literal

from studiolog.problems import UserProblem

_SHORT = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
MONTHS = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def read_day(text: str, today: date, prefer: Literal["past", "future"] = "past") -> date | None:
    """A day as typed; empty text is ``None``.

    A day without a year is the nearest in the preferred direction: things done lie in the past,
    promises in the future. Raises `UserProblem` with a sentence when it is no day.
    """
    said = text.strip().casefold().rstrip(".")
    if not said:
        return None
    near = {"today": 0, "yesterday": -1, "tomorrow": 1}
    if said in near:
        return today + timedelta(days=near[said])
    if len(said) >= 3:
        for number, name in enumerate(_DAYS):
            if name.startswith(said):
                if prefer == "past":
                    return today - timedelta(days=(today.weekday() - number) % 7 or 7)
                return today + timedelta(days=(number - today.weekday()) % 7 or 7)
    return _read_calendar_day(text.strip(), said, today, prefer)


def _read_calendar_day(
    typed: str, said: str, today: date, prefer: Literal["past", "future"]
) -> date:
    sentence = f"“{typed}” is not a day: write it like 3 Oct, 3 Oct 2026 or 2026-10-03."
    year: int | None
    if found := re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", said):
        year, month, day = (int(part) for part in found.groups())
    elif found := re.fullmatch(r"(\d{1,2})\.\s*(\d{1,2})\.?\s*(\d{4})?", said):
        day, month = int(found[1]), int(found[2])
        year = int(found[3]) if found[3] else None
    elif found := re.fullmatch(
        r"(?:[a-z]{3,9},?\s+)?(\d{1,2})\.?\s*([a-z]{3,9})\.?,?\s*(\d{4})?", said
    ):
        named = [i for i, name in enumerate(MONTHS, 1) if name.startswith(found[2])]
        if len(named) != 1:
            raise UserProblem(sentence)
        day, month = int(found[1]), named[0]
        year = int(found[3]) if found[3] else None
    else:
        raise UserProblem(sentence)
    years = (year,) if year is not None else _years_around(today.year, past=prefer == "past")
    for candidate in years:
        try:
            found_day = date(candidate, month, day)
        except ValueError:
            continue
        right_side = found_day <= today if prefer == "past" else found_day >= today
        if year is not None or right_side:
            return found_day
    raise UserProblem(sentence)


def _years_around(year: int, past: bool) -> tuple[int, ...]:
    # Nine years reach the next 29 February even across a century without one.
    return tuple(year - back if past else year + back for back in range(9))


def write_day(day: date | None, today: date | None = None) -> str:
    """A day as shown: ``3 Oct 2026``, or ``3 Oct`` when it is in the year of ``today``."""
    if day is None:
        return ""
    short = f"{day.day} {_SHORT[day.month - 1].capitalize()}"
    return short if today is not None and day.year == today.year else f"{short} {day.year}"
