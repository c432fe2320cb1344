"""Times as they are drawn for the simulation: whole, or what is left of one that has begun."""

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.usual_time import UsualTime

Moments = NDArray[np.float32]
"""Days since midnight of today, or a number of days."""


def draw_time(
    usual: UsualTime, shared: Moments, own: Moments, scale: float = 1.0 / 24.0
) -> Moments:
    """Log-normal times in days: ``shared`` moves the centre of a whole future, ``own`` each."""
    sure = usual.spread / usual.worth**0.5
    logs = np.float32(usual.spread) * own
    logs += np.float32(sure) * shared
    logs += np.float32(usual.centre + np.log(scale))
    np.exp(logs, out=logs)
    return logs


def stay_left(usual: UsualTime, hours: float, luck: Moments) -> Moments:
    """Days that are left of a stay that has lasted ``hours`` already: it is longer than that."""
    from scipy.special import ndtr, ndtri

    spread = max(usual.next_spread, 1e-6)
    gone = float(ndtr((np.log(max(hours, 0.01)) - usual.centre) / spread))
    rank = np.minimum(gone + (1.0 - gone) * ndtr(luck.astype(np.float64)), 1.0 - 1e-7)
    whole = np.exp(usual.centre + spread * ndtri(rank))
    return (np.maximum(whole - hours, 0.0) / 24.0).astype(np.float32)
