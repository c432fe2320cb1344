"""Whether values rise or fall in their order: Kendall's rank correlation as a test for a trend."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True)
class RankTrend:
    """Kendall's tau-b, −1 to 1, and how often chance alone would give one as far from 0."""

    tau: float
    p: float


def judge_rank_trend(x: ArrayLike, y: ArrayLike) -> RankTrend | None:
    """The Mann-Kendall test, ties allowed for; None where all x or all y are one value.

    M. G. Kendall, Rank Correlation Methods, 1970: tau-b and the normal approximation of its
    statistic, which is sound from about eight values on. Two sequences of one length; raises
    ValueError otherwise.
    """
    import numpy as np

    at, value = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if at.shape != value.shape or at.ndim != 1:
        raise ValueError("A trend needs as many places as values, each a plain sequence.")
    n = at.size
    first, second = np.triu_indices(n, 1)
    agree = float((np.sign(at[second] - at[first]) * np.sign(value[second] - value[first])).sum())
    pairs = n * (n - 1) / 2
    ties_x, ties_y = _ties(at), _ties(value)
    if pairs <= 0 or ties_x[0] == pairs or ties_y[0] == pairs:
        return None
    tau = agree / math.sqrt((pairs - ties_x[0]) * (pairs - ties_y[0]))
    m = n * (n - 1.0)
    variance = (m * (2 * n + 5) - ties_x[2] - ties_y[2]) / 18.0 + 2.0 * ties_x[0] * ties_y[0] / m
    if n > 2:
        variance += ties_x[1] * ties_y[1] / (9.0 * m * (n - 2))
    p = 2.0 * (1.0 - NormalDist().cdf(abs(agree) / math.sqrt(variance)))
    return RankTrend(max(-1.0, min(1.0, tau)), p)


def _ties(values: Any) -> tuple[float, float, float]:
    import numpy as np

    t = np.unique(values, return_counts=True)[1].astype(np.float64)
    return (
        float((t * (t - 1) / 2).sum()),
        float((t * (t - 1) * (t - 2)).sum()),
        float((t * (t - 1) * (2 * t + 5)).sum()),
    )
