"""Losses as they are drawn for the simulation: all that a lot loses until it is finished."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.throws import how_many_to_throw

_MOST_EXACT = 20_000


def loss_until_finished(losses: Sequence[LossRate], enter: int) -> LossRate:
    """The losses of the stages from ``enter`` on, as one rate."""
    rates = losses[max(enter - 1, 0) :]
    kept = float(np.prod([1.0 - rate.mean for rate in rates]))
    if kept >= 1.0 or kept <= 0.0:
        return LossRate(1.0 - kept, kept, 0.001)
    relative = sum(rate.mean / ((1.0 - rate.mean) * (rate.worth + 1.0)) for rate in rates)
    worth = max(1.0, (1.0 - kept) / (kept * relative) - 1.0) if relative > 0 else 1e6
    alike = max(rate.alike for rate in rates)
    return LossRate((1.0 - kept) * worth, kept * worth, alike)


@lru_cache(maxsize=4096)
def cumulated_lost(pieces: int, rate: LossRate) -> NDArray[np.float64]:
    """P(at most k of ``pieces`` are lost), k = 0 … pieces: the beta-binomial distribution."""
    from scipy.special import betaincinv, gammaln

    a, b = rate.lost_like, rate.kept_like
    if a <= 0 or b <= 0:
        return np.where(np.arange(pieces + 1) >= pieces * (a > 0), 1.0, 0.0)
    if pieces > _MOST_EXACT:
        # As good as its share: nobody counts to the last of so many.
        shares = betaincinv(a, b, (np.arange(1000) + 0.5) / 1000)
        few = np.searchsorted(shares * pieces, np.arange(pieces + 1), side="right")
        return np.asarray(few, dtype=np.float64) / 1000.0
    lost = np.arange(pieces + 1, dtype=np.float64)
    logs = gammaln(pieces + 1) - gammaln(lost + 1) - gammaln(pieces - lost + 1)
    logs += gammaln(lost + a) + gammaln(pieces - lost + b) - gammaln(pieces + a + b)
    logs += gammaln(a + b) - gammaln(a) - gammaln(b)
    sums: NDArray[np.float64] = np.minimum(np.cumsum(np.exp(logs)), 1.0)
    return sums


@lru_cache(maxsize=4096)
def missing_after(wanted: int, rate: LossRate, confidence: float) -> NDArray[np.float64]:
    """P(at most m are missing), m = 0 … wanted, once as many are thrown as ``confidence`` asks."""
    throw = how_many_to_throw(wanted, confidence, rate)
    if throw is None:
        return np.append(np.zeros(wanted), 1.0)
    lost = cumulated_lost(throw, rate)
    return lost[throw - wanted :]
