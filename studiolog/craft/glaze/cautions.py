"""Usual cautions for materials that are dusty, toxic, soluble or give off fumes.

They stand in ``resources/tables/cautions.csv`` with their basis. A material is matched by the words
of its name, and, where its analysis is known, by the oxides it holds: a frit may hide lead that its
name does not tell. A trade name without an analysis goes unmatched: the absence of a caution says
nothing. Local rules and the supplier's safety data sheet go first.
"""

import csv
import re
from collections.abc import Collection, Iterable, Mapping
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
HANDLING: Final = ("weigh", "water", "kiln")
"""When a raw material calls for care: weighed or sprayed, in the glaze water, in the kiln."""

_SHORT = 4  # letters; "coo" must not find "cool", nor "lead" "leadless"


@dataclass(frozen=True)
class Caution:
    """What is usual with some of the materials of a recipe, when, why, and how well it is known."""

    materials: tuple[str, ...]
    caution: str
    why: str
    figure: str
    source: str
    confidence: str
    when: str = ""

    @property
    def sentence(self) -> str:
        """What brings it and what to do: "Silica, kaolin: the dust can hold …"."""
        told = f"{', '.join(self.materials)}: {self.caution}"
        return f"{told[0].upper()}{told[1:]}."


@dataclass(frozen=True)
class CautionRow:
    """One row of the table. ``least_percent`` of any of ``oxides`` by weight brings it."""

    when: str
    words: tuple[str, ...]
    oxides: tuple[str, ...]
    least_percent: float
    caution: str
    why: str
    figure: str
    source: str
    confidence: str

    def of(self, materials: tuple[str, ...]) -> Caution:
        """The caution as it holds for some materials."""
        return Caution(
            materials,
            self.caution,
            self.why,
            self.figure,
            self.source,
            self.confidence,
            self.when,
        )

    def names(self, name: str) -> bool:
        """Whether the name of a material speaks of it."""
        return bool(self.words) and _pattern(self.words).search(name) is not None


@lru_cache(maxsize=1)
def caution_rows() -> tuple[CautionRow, ...]:
    """The table, in its order."""
    with resource("tables", "cautions.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            CautionRow(
                row["when"],
                _listed(row["words"]),
                _listed(row["oxides"]),
                float(row["least_percent"] or 0.0),
                row["caution"],
                row["why"],
                row["figure"],
                row["source"],
                row["confidence"],
            )
            for row in csv.DictReader(file)
        )


def _listed(cell: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in cell.split(";") if word.strip())


@lru_cache(maxsize=64)
def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    alone = [rf"{re.escape(word)}s?\b(?![- ]?free)" for word in words if len(word) <= _SHORT]
    starts = [re.escape(word) for word in words if len(word) > _SHORT]
    return re.compile(rf"\b(?:{'|'.join(alone + starts)})", re.IGNORECASE)


def find_cautions(
    materials: Iterable[str],
    analyses: Mapping[str, Mapping[str, float]] | None = None,
    when: Collection[str] = HANDLING,
) -> tuple[Caution, ...]:
    """The cautions that apply to materials, in the order of the table.

    A word of the table matches at the start of a word of the name ("chromite" finds
    "chromite, iron"); one of up to four letters must stand alone, and "lead-free" is not lead.
    ``analyses``: weight per cent by oxide, for materials that are known.
    """
    named = list(dict.fromkeys(material.strip() for material in materials if material.strip()))
    known = analyses or {}
    found = []
    for row in caution_rows():
        if row.when not in when:
            continue
        matched = tuple(
            name
            for name in named
            if row.names(name)
            or any(known.get(name, {}).get(o, 0.0) >= row.least_percent for o in row.oxides)
        )
        if matched:
            found.append(row.of(matched))
    return tuple(found)
