"""What people type for a number or a day, read into values. No Qt: pure text.

Decimal comma and decimal point are one; the minus may be a hyphen or U+2212. Days are read in
``craft.days``.
"""

import re

from studiolog.craft.days import read_day, write_day
from studiolog.problems import UserProblem

__all__ = ["MINUS", "THIN", "read_day", "read_number", "write_day", "write_number"]

MINUS = "−"
THIN = " "
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
