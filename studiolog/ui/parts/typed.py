"""What people type for a number or a day, read into values. No Qt: pure text.

Decimal comma and decimal point are one; the minus may be a hyphen or U+2212; a day may be
``today``, ``yesterday``, ``Mon``, ``3 Oct``, ``3 October 2026``, ``3.10.2026`` or ``2026-10-03``.
"""

import re
from datetime import date, timedelta
from typing import Literal

from studiolog.problems import UserProblem

MINUS = "−"
THIN = " "
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_NAMES = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_LARGEST = 1e15  # more digits than anything has that is weighed, measured or counted here
_FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75}


def read_number(text: str, unit: str = "") -> float | None:
    """A number as typed, with or without its unit; empty text is ``None``.

    Raises `UserProblem` with a sentence when it is not a number.
    """
    left = text.strip()
    if unit and left.casefold().endswith(unit.casefold()):
        left = left[: -len(unit)]
    left = re.sub(r"[\s'’]", "", left).replace(MINUS, "-")
    if not left:
        return None
    part = 0.0
    if left[-1] in _FRACTIONS:
        part, left = _FRACTIONS[left[-1]], left[:-1] or "0"
    if "," in left and "." in left:
        raise UserProblem(
            f"“{text.strip()}” has both a comma and a point: write the number with one of them."
        )
    if not re.fullmatch(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)", left):
        raise UserProblem(f"“{text.strip()}” is not a number: write it like 12.5 or 12,5.")
    value = float(left.replace(",", "."))
    if abs(value) >= _LARGEST:
        raise UserProblem(f"“{text.strip()}” is too large: look at it again.")
    return value - part if left.startswith("-") else value + part


def write_number(value: float | None, decimals: int = 0) -> str:
    """A number as shown in a field: decimal point, U+2212 for minus, no needless zeros."""
    if value is None:
        return ""
    written = f"{value:.{decimals}f}"
    if "." in written:
        written = written.rstrip("0").rstrip(".")
    return "0" if written in ("-0", "") else written.replace("-", MINUS)


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
        named = [i for i, name in enumerate(_MONTH_NAMES, 1) if name.startswith(found[2])]
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
    short = f"{day.day} {_MONTHS[day.month - 1].capitalize()}"
    return short if today is not None and day.year == today.year else f"{short} {day.year}"
