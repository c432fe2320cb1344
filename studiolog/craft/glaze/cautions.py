"""Usual cautions for materials that are dusty, toxic or give off fumes.

They stand in ``resources/tables/cautions.csv`` with their basis. A material is matched by the
words of its name, so a trade name that hides what it is goes unmatched: the absence of a caution
says nothing. Local rules and the supplier's safety data sheet go first.
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from studiolog.shipped import resource

LOCAL_RULES: Final = (
    "Usual precautions, not complete: the supplier's safety data sheet and local rules go first."
)
NO_PROOF: Final = (
    "No formula and no record proves a glaze safe for food: only a leach test of this glaze on "
    "this clay from this firing says what it gives off."
)
_SHORT = 4  # letters; "coo" must not find "cool", nor "lead" "leadless"


@dataclass(frozen=True)
class Caution:
    """What is usual with some of the materials of a recipe, why, and how well that is known."""

    materials: tuple[str, ...]
    caution: str
    why: str
    figure: str
    source: str
    confidence: str


@dataclass(frozen=True)
class _Row:
    words: tuple[str, ...]
    caution: str
    why: str
    figure: str
    source: str
    confidence: str


@lru_cache(maxsize=1)
def _rows() -> tuple[_Row, ...]:
    with resource("tables", "cautions.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            _Row(
                tuple(word.strip() for word in row["words"].split(";") if word.strip()),
                row["caution"],
                row["why"],
                row["figure"],
                row["source"],
                row["confidence"],
            )
            for row in csv.DictReader(file)
        )


def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    alone = [rf"{re.escape(word)}s?\b(?![- ]?free)" for word in words if len(word) <= _SHORT]
    starts = [re.escape(word) for word in words if len(word) > _SHORT]
    return re.compile(rf"\b(?:{'|'.join(alone + starts)})", re.IGNORECASE)


def find_cautions(materials: Iterable[str]) -> tuple[Caution, ...]:
    """The cautions that apply to materials by their names, in the order of the table.

    A word of the table matches at the start of a word of the name ("chromite" finds
    "chromite, iron"); one of up to four letters must stand alone, and "lead-free" is not lead.
    """
    named = [material.strip() for material in materials if material.strip()]
    found = []
    for row in _rows():
        if not row.words:
            continue
        pattern = _pattern(row.words)
        matched = tuple(dict.fromkeys(name for name in named if pattern.search(name)))
        if matched:
            found.append(
                Caution(matched, row.caution, row.why, row.figure, row.source, row.confidence)
            )
    return tuple(found)
