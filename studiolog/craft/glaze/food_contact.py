"""What standards allow glazed ware to give off, and how to ask a laboratory to test it.

The figures are rows of ``resources/tables/food_contact_limits.csv``, each with its source, how well
it is known, and the day it was read: limits change, and local rules decide. Only a leach test of
fired pieces says what a glaze gives off; no formula does.
"""

import csv
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Final

from studiolog.craft.words import join_words
from studiolog.problems import UserProblem
from studiolog.shipped import resource

ARTICLES: Final[Mapping[str, str]] = {
    "flat": "flatware, up to 25 mm deep",
    "small": "bowl or other hollowware under 1.1 L",
    "cup": "cup or mug",
    "large": "hollowware of 1.1 L or more",
    "pitcher": "pitcher",
    "storage": "storage ware over 3 L",
    "cooking": "cooking ware",
}
"""What a piece is used as; the potter says which, for a form does not tell."""

KINDS: Final[Mapping[str, str]] = {
    "limit": "limit for ceramic ware",
    "warning": "warning threshold",
    "comparator": "not a ceramics rule",
    "proposal": "under discussion, not law",
}
"""What a figure of the table is."""

METHODS: Final[Mapping[str, str]] = {
    "ISO 6486-1": "ISO 6486-1",
    "EN 1388-1": "EN 1388-1",
    "ASTM C738": "ASTM C738",
}
"""Test methods with 4 per cent acetic acid at room temperature for 24 hours."""

LOCAL_RULES: Final = (
    "Limits change, and local rules decide: check these figures against the texts in force where "
    "the piece is sold."
)
ONLY_A_TEST: Final = (
    "A result speaks of this glaze on this clay from this firing, and of no other. "
    "For metals other than lead and cadmium no limit for ceramic ware was found. "
    "Write a result into the note of an inspection of the piece that was tested."
)

_METALS: Final[Mapping[str, str]] = {
    "Pb": "lead",
    "Cd": "cadmium",
    "Cr": "chromium",
    "Mn": "manganese",
    "Zr": "zirconium",
    "Tl": "thallium",
    "Cu": "copper",
    "Co": "cobalt",
    "Ni": "nickel",
    "V": "vanadium",
    "Ba": "barium",
    "Li": "lithium",
    "Zn": "zinc",
    "Al": "aluminium",
    "Sb": "antimony",
}


@dataclass(frozen=True, slots=True)
class ContactLimit:
    """One figure. ``kind`` is a key of `KINDS`, ``articles`` are keys of `ARTICLES`.

    ``limit`` is as printed, in ``unit``; ``judged`` says how a test is judged by it.
    """

    rule: str
    kind: str
    article: str
    articles: tuple[str, ...]
    metal: str
    limit: str
    unit: str
    judged: str
    source: str
    confidence: str
    read_on: date

    @property
    def metal_word(self) -> str:
        """The metal by its name: "lead"."""
        return _METALS[self.metal]


@lru_cache(maxsize=1)
def food_contact_limits() -> tuple[ContactLimit, ...]:
    """All figures, in the order of the table."""
    with resource("tables", "food_contact_limits.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            ContactLimit(
                row["rule"],
                row["kind"],
                row["article"],
                tuple(filter(None, row["articles"].split(";"))),
                row["metal"],
                row["limit"],
                row["unit"],
                row["judged"],
                row["source"],
                row["confidence"],
                date.fromisoformat(row["read_on"]),
            )
            for row in csv.DictReader(file)
        )


def limits_for(article: str | None, metals: Collection[str]) -> tuple[ContactLimit, ...]:
    """The figures that speak of an article and of some metals, by their words ("lead").

    Figures without an article (comparators, daily doses) speak of all; without an article named,
    all are given. Raises KeyError for an article that is not one of `ARTICLES`.
    """
    if article is not None:
        ARTICLES[article]
    return tuple(
        one
        for one in food_contact_limits()
        if one.metal_word in metals
        and (article is None or not one.articles or article in one.articles)
    )


@dataclass(frozen=True, slots=True)
class LaboratoryRequest:
    """What is sent to a laboratory with the pieces.

    ``article`` is a key of `ARTICLES`, ``method`` of `METHODS`; ``metals`` are words, of which all
    but lead and cadmium are there because the recipe contains them.
    """

    glaze: str
    clay: str
    firing: str
    article: str
    metals: tuple[str, ...]
    method: str = "ISO 6486-1"

    @property
    def limits(self) -> tuple[ContactLimit, ...]:
        """The figures the result can be held against."""
        return limits_for(self.article, self.metals)

    @property
    def words(self) -> str:
        """The request in sentences: what the pieces are, the test, and what to look for.

        Raises UserProblem where glaze, clay or firing is not named: a result says nothing then.
        """
        for what in ("glaze", "clay", "firing"):
            if not getattr(self, what).strip():
                raise UserProblem(
                    f"Say which {what}: a result speaks of one glaze on one clay from one firing.",
                    {what: f"Say which {what}."},
                )
        area = "mg/dm²" if self.article == "flat" else "mg/L"
        own = [metal for metal in self.metals if metal not in ("lead", "cadmium")]
        others = (
            f", and in the same extract {join_words(own)}, which its recipe contains" if own else ""
        )
        return (
            f"Please test what these pieces give off by {METHODS[self.method]} (4 % acetic acid, "
            f"24 hours at 22 °C, in the dark): lead and cadmium{others}. They are used as: "
            f"{ARTICLES[self.article]}. Glaze: {_clean(self.glaze)}, on {_clean(self.clay)}, "
            f"{_clean(self.firing)}. All pieces are from this firing and glazed alike. Please "
            f"report each result in {area} with its detection limit, the method and its edition, "
            "and how many pieces were tested."
        )


def _clean(words: str) -> str:
    return " ".join(words.split()).rstrip(".")
