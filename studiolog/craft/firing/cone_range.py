"""The cones a glaze or a clay is said to be for, as potters write them: "5–7", "6", "04 to 02"."""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from studiolog.craft.firing.cones import cone_at, ordinal_of, show_cone
from studiolog.problems import UserProblem

_BETWEEN: Final = re.compile(r"\s*(?:–|—|−|-|\bto\b|\band\b|/)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ConeSpan:
    """From one cone to another, as ordinals (`cones.ordinal_of`): low is the cooler."""

    low: float
    high: float

    def holds(self, number: float, slack: float = 0.0) -> bool:
        """Whether a heat lies within, or within ``slack`` of a cone of it."""
        return self.low - slack <= number <= self.high + slack

    def meet(self, other: "ConeSpan") -> "ConeSpan | None":
        """What both allow; None where they have nothing in common."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        return ConeSpan(low, high) if low <= high else None

    @property
    def words(self) -> str:
        """ "5 to 7", or one cone."""
        low, high = show_cone(cone_at(self.low)), show_cone(cone_at(self.high))
        return low if low == high else f"{low} to {high}"


@lru_cache(maxsize=512)
def read_cone_span(text: str) -> ConeSpan | None:
    """The cones in a text as typed; None where it names none that can be read.

    One cone is itself alone. The cooler may stand second.
    """
    plain = re.sub(r"\bcones?\b", "", text, flags=re.IGNORECASE).strip(" .")
    if not plain:
        return None
    try:
        numbers = [ordinal_of(part) for part in _BETWEEN.split(plain) if part.strip()]
    except UserProblem:
        return None
    if not 1 <= len(numbers) <= 2:
        return None
    return ConeSpan(min(numbers), max(numbers))
