"""Numbers as loggers write them: decimal commas, thousands marks, units behind, missing values."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from studiolog.transfer.temperature_log.values import Floats

_MISSING_TEXT = """
nan na n/a n.a. null none nil nul err error fehler erreur open opn ol o.l. over under ovr udr
overflow burnout fault fail failed short inf -inf +inf invalid bad nodata #n/a #value! #div/0!
#num! #ref! missing leer offen - -- --- ---- -.- --.- ---.- . .. ... ? ?? ??? x * ** *** uuu ooo
brk break sbr n.d. nd n.v. s/d n.c. nc – — −
"""
MISSING_WORDS = frozenset(_MISSING_TEXT.split()) | {
    "no data",
    "open circuit",
    "sensor error",
    "n / a",
}
# Whole numbers loggers write for "no reading".
_LONGEST_NUMBER = 60
MISSING_CODES = frozenset(
    (-99.0, -99.9, -999.0, -999.9, -9999.0, -99999.0, 9999.0, 9999.9, 99999.0, -32768.0)
)
_HASHES = re.compile(r"#+\.?#*$")
_TAIL = re.compile(
    r"\s*(?:°|º|deg\.?|grad|\\u00b0|�)?\s*(?:[CFK]|℃|℉|celsius|fahrenheit|%|kWh?|W)?$", re.I
)
# A space parts groups of three only: "0 20" and "0<tab>20" are two numbers.
_SHAPE = re.compile(
    r"^[+\-−]?(?:\d[\d.,'’]*|\d{1,3}(?:[ \u00a0\u202f\u2009]\d{3})+(?:[.,]\d*)?|[.,]\d+)"
    r"(?:[eE][+-]?\d+)?$"
)
_THOUSANDS = re.compile(r"^[+\-−]?[1-9]\d{0,2}[.,]\d{3}$")
_GROUPED = re.compile(r"^\d{1,3}(?:[.,'’\s]\d{3})+$")


def is_missing(cell: str) -> bool:
    """Whether a cell says that there is no reading."""
    bare = cell.strip().casefold()
    return not bare or bare in MISSING_WORDS or _HASHES.match(bare) is not None


def strip_unit(cell: str) -> str:
    """The number of a cell without the unit behind it."""
    bare = cell.strip().strip('"').strip()
    cut = _TAIL.sub("", bare)
    return cut if cut and cut[-1].isdigit() else bare


def looks_numeric(cell: str) -> bool:
    """Whether a cell holds one number, in any spelling."""
    bare = cell.strip()
    if len(bare) > _LONGEST_NUMBER or ":" in bare or ";" in bare:
        # A time, or a line tried with the wrong separator: looking for a unit behind takes long.
        return False
    try:
        float(bare)
    except ValueError:
        return _SHAPE.match(strip_unit(bare)) is not None
    return bare[-1:].isdigit() or bare.endswith(".")


def find_decimal_mark(columns: Iterable[Iterable[str]]) -> tuple[str, str]:
    """'.' or ',' for the number cells of these columns, and the evidence for it."""
    looks = [_look_for_marks(cells) for cells in columns]
    comma_decimal = sum(look.comma_decimal for look in looks)
    point_decimal = sum(look.point_decimal for look in looks)
    if comma_decimal > point_decimal:
        return ",", "commas before one or two digits"
    if point_decimal:
        return ".", "points before decimals"
    # Only groups of three. They are thousands where plain numbers of the same column run up to
    # just below a thousand.
    by_comma = [look for look in looks if look.comma_three]
    by_point = [look for look in looks if look.point_three]
    if by_comma and not by_point:
        parted = any(look.plain_largest >= 300 for look in by_comma)
        return (".", "commas part thousands") if parted else (",", "commas")
    if by_point and not by_comma:
        parted = any(look.plain_largest >= 300 for look in by_point)
        return (",", "points part thousands") if parted else (".", "points")
    return ".", "no decimals seen"


@dataclass(frozen=True)
class _Marks:
    """How a column writes its numbers: cells that show the mark, and groups of three that don't."""

    comma_decimal: int
    point_decimal: int
    comma_three: int
    point_three: int
    plain_largest: float


def _look_for_marks(cells: Iterable[str]) -> _Marks:
    comma_decimal = point_decimal = comma_three = point_three = 0
    plain_largest = 0.0
    for cell in cells:
        bare = strip_unit(cell)
        comma, point = bare.rfind(","), bare.rfind(".")
        if comma < 0 and point < 0:
            try:
                plain_largest = max(plain_largest, abs(float(bare)))
            except ValueError:
                continue
        elif comma >= 0 and point >= 0:
            if comma > point:
                comma_decimal += 1
            else:
                point_decimal += 1
        elif comma >= 0:
            if bare.count(",") > 1:
                point_decimal += 1
            elif _THOUSANDS.match(bare):
                comma_three += 1
            else:
                comma_decimal += 1
        elif bare.count(".") > 1:
            comma_decimal += 1
        elif _THOUSANDS.match(bare):
            point_three += 1
        else:
            point_decimal += 1
    return _Marks(comma_decimal, point_decimal, comma_three, point_three, plain_largest)


def read_number(cell: str, decimal_mark: str = ".") -> float | None:
    """The number of one cell, None when it holds none. Missing codes are left as they are."""
    bare = strip_unit(cell).replace("−", "-")
    if not bare or _SHAPE.match(bare) is None:
        return None
    body = bare.lstrip("+-")
    if decimal_mark == ",":
        if "," not in body and "." in body and not _GROUPED.match(body):
            # A point that cannot part thousands is a decimal point after all.
            return _as_float(bare.replace(" ", ""))
        bare = bare.replace(".", "").replace(",", ".")
    else:
        if "," in body and "." not in body and not _GROUPED.match(body):
            return _as_float(bare.replace(",", ".").replace(" ", ""))
        bare = bare.replace(",", "")
    for mark in ("'", "’", " ", "\u00a0", "\u202f", "\u2009"):
        bare = bare.replace(mark, "")
    return _as_float(bare)


def read_numbers(cells: Sequence[str], decimal_mark: str = ".") -> Floats:
    """A column of numbers, NaN where a cell has none. Quick when the cells are plain."""
    # With a decimal comma a point parts thousands: "1.221" is no plain number then.
    if decimal_mark == "." or not any("." in cell for cell in cells):
        try:
            return np.array(list(map(float, cells)), dtype=np.float64)
        except ValueError:
            pass
    if decimal_mark == ",":
        try:
            plain = [cell.replace(",", ".") if "." not in cell else "x" for cell in cells]
            return np.array(list(map(float, plain)), dtype=np.float64)
        except ValueError:
            pass
    numbers = np.full(len(cells), np.nan)
    point = decimal_mark == "."
    for at, cell in enumerate(cells):
        bare = cell.strip()
        try:
            if point or ("," not in bare and "." not in bare):
                numbers[at] = float(bare)
                continue
            if "." not in bare:
                numbers[at] = float(bare.replace(",", "."))
                continue
        except ValueError:
            pass
        value = read_number(bare, decimal_mark)
        if value is not None:
            numbers[at] = value
    return numbers


def _as_float(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
