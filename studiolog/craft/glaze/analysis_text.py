"""An analysis as a supplier writes it and a potter types or pastes it.

Read are names and values in turn ("SiO2 67.5, Al2O3 18, LOI 0.6"), a line each, or a row of names
over a row of values as a spreadsheet copies them. Nothing is guessed: what can't be read is told.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from studiolog.craft.glaze.oxides import LOI, in_order, pretty, read_oxide, without_subscripts
from studiolog.craft.units import MINUS, parse_number
from studiolog.problems import UserProblem

_LOSS: Final = re.compile(r"l\.?\s?o\.?\s?i\.?(?![a-z])|loss on ignition|ignition loss", re.I)
_PART: Final = re.compile(
    r"(?P<trace>n\.d\.|[–—-](?!\d))"
    r"|(?P<name>[A-Za-z][A-Za-z]*(?:\d+[A-Za-z]+)*\d*)"
    r"|(?P<number>[<≤]?\s*[+-]?(?:\d+(?:[.,]\d+)?|\.\d+))\s*%?",
    re.IGNORECASE,
)
_FIGURE: Final = re.compile(r"[<≤+-]?\s*[\d.,]")
_NOTHING: Final = {"", "-", "–", "—", "n.d.", "nd", "tr", "tr.", "trace", "traces", "nil"}
# Words that stand around figures and say nothing of them.
_FILLER: Final = {"wt", "percent", "oxide", "oxides", "analysis", "sum", "total", "and"}


@dataclass(frozen=True)
class TypedAnalysis:
    """What was read. ``left_out`` names what was given only as a trace or as "less than"."""

    oxides: Mapping[str, float]
    loi_percent: float | None
    left_out: tuple[str, ...] = ()


def read_analysis_text(text: str) -> TypedAnalysis:
    """The analysis in a text. Raises `UserProblem` naming what can't be read.

    A sum or total is passed over: it is computed, not believed.
    """
    plain = _LOSS.sub("LOI", without_subscripts(text).replace(MINUS, "-"))
    pairs = _from_table(plain) or _from_words(plain)
    if not pairs:
        raise UserProblem(
            "No oxide was found in this text; write it like “SiO2 67.5, Al2O3 18, LOI 0.6”."
        )
    found: dict[str, float] = {}
    left_out = []
    for name, value in pairs:
        oxide = read_oxide(name)
        if oxide in found or oxide in left_out:
            raise UserProblem(f"{pretty(oxide)} is given twice; keep one of them.")
        if value.casefold() in _NOTHING or value.startswith(("<", "≤")):
            left_out.append(oxide)
        else:
            found[oxide] = parse_number(value)
    loss = found.pop(LOI, None)
    return TypedAnalysis(in_order(found), loss, tuple(pretty(one) for one in left_out))


def _from_table(text: str) -> list[tuple[str, str]]:
    """Names in one row and values in the next, or a name and its value in each row."""
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) < 2:
        return []
    between = next((sign for sign in ("\t", ";", ",") if sign in lines[0]), None)
    if between is None:
        return []
    rows = [[cell.strip().strip('"').strip() for cell in line.split(between)] for line in lines]
    head = rows[0]
    figures = any(_FIGURE.match(cell) for cell in head)
    if len(head) < 2 or figures or not any(_is_name(cell) for cell in head):
        return []
    if len(rows) != 2:
        raise UserProblem(
            f"The names of the oxides are followed by {len(rows) - 1} rows of values; paste the "
            "names and one row."
        )
    values = rows[1]
    if len(values) > len(head):
        raise UserProblem(
            f"There are {len(head)} names over {len(values)} values. If the values have a decimal "
            "comma, separate them by semicolons."
        )
    return [
        (name, value.removesuffix("%").strip())
        for name, value in zip(head, values, strict=False)
        if value and _means_oxide(name, value)
    ]


def _is_name(cell: str) -> bool:
    try:
        read_oxide(cell)
    except UserProblem:
        return False
    return True


def _means_oxide(name: str, value: str) -> bool:
    """Whether a column is an oxide; a column of words ("Source") beside them is passed over."""
    if _is_name(name):
        return True
    if name.casefold() in _FILLER or not _FIGURE.match(value):
        return False
    read_oxide(name)  # a number under a name nobody knows is told, not dropped
    return True


def _from_words(text: str) -> list[tuple[str, str]]:
    pairs: list[tuple[str, str]] = []
    name, passed_over = "", False
    for part in _PART.finditer(text):
        word, number, trace = part["name"], part["number"], part["trace"]
        if word is not None and (word.casefold() not in _NOTHING or not name):
            if name:
                raise UserProblem(f"{name} has no value; write it like “{name} 2.5”.")
            passed_over = word.casefold() in _FILLER
            name = "" if passed_over else word
        elif name:
            pairs.append((name, re.sub(r"\s", "", number or word or trace or "")))
            name = ""
        elif number is not None and not passed_over:
            raise UserProblem(
                f"“{number.strip()}” stands without the name of an oxide; "
                "write it like “SiO2 67.5”."
            )
        elif number is not None:
            passed_over = False
    if name:
        raise UserProblem(f"{name} has no value; write it like “{name} 2.5”.")
    return pairs


def say_left_out(left_out: Sequence[str]) -> str:
    """A sentence on what was given only as a trace; empty if there was none."""
    if not left_out:
        return ""
    return f"Given only as a trace or as “less than”, and left out: {', '.join(left_out)}."
