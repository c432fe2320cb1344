"""What a piece takes up of a glaze, told from ware weighed before and after glazing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from studiolog.craft.units import show_number, show_quantity

FEW: Final = 4
"""Fewer weighed pieces than this have no quartiles: their least and most stand for the spread."""


@dataclass(frozen=True, slots=True)
class UsePerPiece:
    """Dry grams a piece takes up: the median, and where the middle half of the pieces lies.

    ``basis`` is ``weighed``, ``stated`` (typed by the potter), ``tests`` (weighed test ware, which
    is smaller than what is sold) or ``version`` (weighed ware of another version of the glaze,
    named in ``of``). ``count`` is how many were weighed.
    """

    median_g: float
    low_g: float
    high_g: float
    count: int = 0
    basis: str = "weighed"
    of: str = ""

    @property
    def words(self) -> str:
        """``31 g, mostly 27 to 36, of 12 weighed pieces``."""
        shown = show_quantity(self.median_g, "g", places(self.median_g))
        if self.basis == "stated":
            return f"{shown}, as you stated it"
        kind = "test piece" if self.basis == "tests" else "piece"
        pieces = f"1 weighed {kind}" if self.count == 1 else f"{self.count} weighed {kind}s"
        if self.basis == "version":
            pieces += f" of {self.of}"
        if self.count == 1:
            return f"{shown}, of {pieces} only"
        low = show_number(self.low_g, places(self.low_g))
        high = show_number(self.high_g, places(self.high_g))
        spread = "mostly" if self.count >= FEW else "from"
        return f"{shown}, {spread} {low} to {high}, of {pieces}"


def places(grams: float) -> int:
    """The places a use is worth showing with: tenths under 10 g."""
    return 1 if grams < 9.95 else 0


def use_of_weighed(
    taken_g: Sequence[float], basis: str = "weighed", of: str = ""
) -> UsePerPiece | None:
    """The use per piece from what weighed pieces took up; None if none was weighed.

    With `FEW` or more the spread is the middle half (quartiles by linear interpolation), with
    fewer the least and the most.
    """
    if not taken_g:
        return None
    ordered = sorted(taken_g)
    low, high = (0.25, 0.75) if len(ordered) >= FEW else (0.0, 1.0)
    return UsePerPiece(
        _quantile(ordered, 0.5),
        _quantile(ordered, low),
        _quantile(ordered, high),
        len(ordered),
        basis,
        of,
    )


def pieces_left(dry_g: tuple[float, float], use: UsePerPiece) -> tuple[int, int]:
    """How many pieces a bucket still glazes, from the fewest to the most.

    ``dry_g`` is what is in it, from the least to the most.
    """
    least, most = dry_g
    return math.floor(least / use.high_g + 1e-9), math.floor(most / use.low_g + 1e-9)


def _quantile(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)
