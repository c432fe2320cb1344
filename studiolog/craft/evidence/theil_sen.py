"""A straight trend through scattered points that a few wild ones can't turn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


_KEPT: Final = 64


@dataclass(frozen=True, slots=True)
class Trend:
    """A slope, in units of y per unit of x, with its interval; None where two points decide all.

    ``level`` is the line's value at x = 0.
    """

    slope: float
    level: float
    low: float | None
    high: float | None
    points: int


def fit_trend(x: ArrayLike, y: ArrayLike, confidence: float = 0.95) -> Trend:
    """The median of all slopes between two points, with Sen's interval from Kendall's statistic.

    H. Theil, Proc. KNAW 53, 1950; P. K. Sen, J. Am. Stat. Assoc. 63, 1968, p. 1379. The interval
    takes the points for independent: of a smooth curve it is too narrow. Two sequences of one
    length, x with at least two different values; raises ValueError otherwise.
    """
    import numpy as np

    at, value = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if at.shape != value.shape or at.ndim != 1:
        raise ValueError("A trend needs as many places as values, each a plain sequence.")
    first, second = _pairs(at.size) if at.size <= _KEPT else np.triu_indices(at.size, 1)
    runs = at[second] - at[first]
    apart = runs != 0.0
    if not apart.any():
        raise ValueError("A trend needs at least two points apart.")
    slopes = np.sort((value[second] - value[first])[apart] / runs[apart])
    slope = float(_middle(slopes))
    places, values = np.sort(at), np.sort(value)
    level = float(_middle(values) - slope * _middle(places))
    low = high = None
    if at.size > 2:
        low, high = _interval(slopes, places, values, confidence)
    return Trend(slope, level, low, high, int(at.size))


@lru_cache(maxsize=_KEPT)
def _pairs(count: int) -> tuple[Any, Any]:
    """Every pair of so many points, kept: a curve asks for a few counts again and again."""
    import numpy as np

    return np.triu_indices(count, 1)


def _interval(slopes: Any, x: Any, y: Any, confidence: float) -> tuple[float, float]:
    import numpy as np

    n = x.size
    spread = n * (n - 1) * (2 * n + 5)
    for ordered in (x, y):
        new = ordered[1:] != ordered[:-1]
        if not new.all():
            ties = np.diff(np.flatnonzero(np.concatenate(([True], new, [True]))))
            spread -= int((ties * (ties - 1) * (2 * ties + 5)).sum())
    reach = NormalDist().inv_cdf((1.0 + confidence) / 2.0) * math.sqrt(max(spread, 0) / 18.0)
    count = slopes.size
    upper = min(round((count + reach) / 2.0), count - 1)
    lower = max(round((count - reach) / 2.0) - 1, 0)
    return float(slopes[lower]), float(slopes[upper])


def _middle(ordered: Any) -> Any:
    return (ordered[(ordered.size - 1) // 2] + ordered[ordered.size // 2]) / 2.0
