"""The best recipe within what a potter allows, as non-negative least squares.

Every recipe a potter allows (each material between its least and most parts, clays together at
least so much) is a mix of the corners of that set, in amounts that are not negative. So the
constrained problem is the plain one of Lawson and Hanson (Solving Least Squares Problems, 1974,
chapter 23) with corners for columns, and only corners that help are ever made: the gradient says
which one is the best to go to, and where none helps, the answer is the least there is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from numpy.typing import NDArray

_NO_GAIN: Final = 1e-11
_MOST_CORNERS: Final = 400
_ROUNDING: Final = 1e-12


@dataclass(frozen=True)
class Room:
    """What shares of one whole a recipe may have: ``least`` and ``most`` by material.

    ``clays`` are the places of materials that must come to ``clay_least`` together.
    """

    least: tuple[float, ...]
    most: tuple[float, ...]
    clays: tuple[int, ...] = ()
    clay_least: float = 0.0

    @property
    def is_open(self) -> bool:
        """Whether anything at all is allowed."""
        free = not any(self.least) and all(most >= 1.0 for most in self.most)
        return free and self.clay_least <= 0.0

    @property
    def is_empty(self) -> bool:
        """Whether no recipe at all is allowed."""
        clay = sum(self.most[place] for place in self.clays)
        least_clay = sum(self.least[place] for place in self.clays)
        rest = sum(self.least) - least_clay
        rest_most = sum(self.most) - clay
        over = 1.0 + 1e-9
        return (
            any(low > high + 1e-9 for low, high in zip(self.least, self.most, strict=True))
            or sum(self.least) > over
            or sum(self.most) < 2.0 - over
            or clay < self.clay_least - 1e-9
            or max(self.clay_least, least_clay) + rest > over
            or clay + rest_most < 2.0 - over
        )

    def of(self, places: Iterable[int]) -> Room:
        """The room of some of the materials; the others stay out."""
        kept = list(places)
        return Room(
            tuple(self.least[place] for place in kept),
            tuple(self.most[place] for place in kept),
            tuple(at for at, place in enumerate(kept) if place in self.clays),
            self.clay_least,
        )


def best_amounts(columns: NDArray[Any], wanted: NDArray[Any], room: Room) -> NDArray[Any]:
    """Amounts x of the materials, none negative, least in ‖columns·x − wanted‖ within ``room``.

    ``columns`` has a row for each thing wanted and a column for each material. One amount for each
    material; x over its sum lies within ``room``, which must not be empty.
    """
    import numpy as np
    from scipy.optimize import nnls

    many = columns.shape[1]
    if room.is_open:
        free: NDArray[Any] = nnls(columns, wanted)[0]
        return free
    # Start where each material in turn has as much as it may.
    corners = np.unique(np.array([best_corner(one, room) for one in np.eye(many)]), axis=0).T
    amounts: NDArray[Any] = np.zeros(many)
    for _ in range(_MOST_CORNERS):
        shares, _ = nnls(columns @ corners, wanted)
        amounts = corners @ shares
        gain = columns.T @ (wanted - columns @ amounts)
        corner = best_corner(gain, room)
        scale = float(np.linalg.norm(columns @ corner)) * float(np.linalg.norm(wanted))
        if float(gain @ corner) <= _NO_GAIN * scale:
            break
        if np.any(np.all(np.isclose(corners.T, corner, rtol=0.0, atol=_ROUNDING), axis=1)):
            break
        corners = np.column_stack([corners, corner])
    return amounts


def best_corner(gain: NDArray[Any], room: Room) -> NDArray[Any]:
    """The shares of one whole within ``room`` that gain the most: the best are filled up first."""
    import numpy as np

    least, most = np.array(room.least), np.array(room.most)
    order = [int(place) for place in np.argsort(-gain, kind="stable")]
    shares = _fill(least.copy(), most, order, 1.0 - float(least.sum()))
    clays = set(room.clays)
    if sum(shares[place] for place in clays) >= room.clay_least - _ROUNDING:
        return shares
    # Too little clay by itself: exactly the least of it, and the rest of what is no clay.
    missing = room.clay_least - sum(least[place] for place in clays)
    shares = _fill(least.copy(), most, [place for place in order if place in clays], missing)
    rest = [place for place in order if place not in clays]
    return _fill(shares, most, rest, 1.0 - float(shares.sum()))


def _fill(
    shares: NDArray[Any], most: NDArray[Any], order: Iterable[int], left: float
) -> NDArray[Any]:
    for place in order:
        if left <= 0.0:
            break
        more = min(left, float(most[place] - shares[place]))
        shares[place] += more
        left -= more
    return shares
