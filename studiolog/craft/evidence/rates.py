"""How often something happened, and how far so few pieces can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

# Under this many inspected pieces a rate is not worth a number (judgement).
MIN_PIECES: Final = 5
_MOST_TESTS: Final = 1000


@dataclass(frozen=True, slots=True)
class Rate:
    """Seen so often in so many, with its interval."""

    events: int
    trials: int
    low: float
    high: float

    @property
    def rate(self) -> float | None:
        """The share seen, None where nothing was looked at."""
        return self.events / self.trials if self.trials else None

    @property
    def says_enough(self) -> bool:
        """True once there are pieces enough to show a number."""
        return self.trials >= MIN_PIECES


def wilson(events: int, trials: int, confidence: float = 0.95) -> tuple[float, float]:
    """The interval (low, high) of a share of which ``events`` in ``trials`` were seen.

    E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, p. 209, without continuity correction; it holds
    for small numbers and for none or all. Nothing tried leaves everything possible: (0, 1).
    Raises ValueError for counts that are negative, not whole, or more events than trials, and
    for a confidence not between 0 and 1.
    """
    seen, tried = _count(events, "events"), _count(trials, "trials")
    if seen > tried:
        raise ValueError(f"There cannot be more events ({seen}) than trials ({tried}).")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"The confidence must lie between 0 and 1, not {confidence!r}.")
    return _wilson(seen, tried, confidence)


def wilson_all(
    events: ArrayLike, trials: ArrayLike, confidence: float = 0.95
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The intervals of many counts at once, to the last bit those of :func:`wilson`.

    Raises ValueError for counts that are negative or more events than trials.
    """
    import numpy as np

    seen, tried = np.asarray(events, dtype=np.int64), np.asarray(trials, dtype=np.int64)
    if (seen < 0).any() or (seen > tried).any():
        raise ValueError("Events must be counted from 0 up to the trials.")
    z = _deviations(confidence)
    n = np.maximum(tried, 1).astype(np.float64)
    share = seen / n
    spread = z * np.sqrt(share * (1.0 - share) / n + (z / (2.0 * n)) ** 2)
    scale = 1.0 + z * z / n
    middle = share + z * z / (2.0 * n)
    low = np.where(seen == 0, 0.0, np.maximum(0.0, (middle - spread) / scale))
    high = np.where(seen == tried, 1.0, np.minimum(1.0, (middle + spread) / scale))
    return low, high


@lru_cache(maxsize=8)
def _deviations(confidence: float) -> float:
    """Standard deviations either side that hold ``confidence`` of a normal distribution."""
    return NormalDist().inv_cdf(0.5 + confidence / 2.0)


@lru_cache(maxsize=4096)
def _wilson(seen: int, tried: int, confidence: float) -> tuple[float, float]:
    if tried == 0:
        return 0.0, 1.0
    z = _deviations(confidence)
    share = seen / tried
    spread = z * math.sqrt(share * (1.0 - share) / tried + (z / (2.0 * tried)) ** 2)
    scale = 1.0 + z * z / tried
    middle = share + z * z / (2.0 * tried)
    # Exact at the ends, where rounding would leave 1e-17 or 0.9999.
    low = 0.0 if seen == 0 else max(0.0, (middle - spread) / scale)
    high = 1.0 if seen == tried else min(1.0, (middle + spread) / scale)
    return low, high


def rate_of(events: int, trials: int, confidence: float = 0.95) -> Rate:
    """A rate with its Wilson interval; errors as :func:`wilson`."""
    low, high = wilson(events, trials, confidence)
    return Rate(int(events), int(trials), low, high)


def differ(first: Rate, second: Rate) -> bool:
    """True if two rates are apart beyond doubt: their intervals do not touch (cautious)."""
    return first.high < second.low or second.high < first.low


def smallest_next_test(
    events: int, trials: int, limit: float = 0.10, confidence: float = 0.95
) -> int | None:
    """How many more pieces, all without the fault, would show its rate to be under ``limit``.

    0 if it is shown already; None if over a thousand would not, or if the rate is shown to be above
    the limit: then a test cannot clear it, only a change can. Raises ValueError
    as :func:`wilson` does, and for a limit not between 0 and 1.
    """
    if not 0.0 < limit < 1.0:
        raise ValueError(f"The limit must lie between 0 and 1, not {limit!r}.")
    low, _ = wilson(events, trials, confidence)
    if low > limit:
        return None
    for more in range(_MOST_TESTS + 1):
        if wilson(events, trials + more, confidence)[1] < limit:
            return more
    return None


def pieces_to_tell_apart(
    events: int, trials: int, other_events: int, other_trials: int, confidence: float = 0.95
) -> int | None:
    """How many more pieces of each, going on as they have, would set two rates apart.

    0 if they are apart already; None if over a thousand would not do. Errors as :func:`wilson`.
    """
    first, second = (
        rate_of(events, trials, confidence),
        rate_of(other_events, other_trials, confidence),
    )
    if first.rate is None or second.rate is None or first.rate == second.rate:
        return None
    for more in range(_MOST_TESTS + 1):
        grown = rate_of(round(first.rate * (trials + more)), trials + more, confidence)
        other = rate_of(round(second.rate * (other_trials + more)), other_trials + more, confidence)
        if differ(grown, other):
            return more
    return None


def _count(value: int, name: str) -> int:
    if isinstance(value, bool) or value != int(value) or value < 0:
        raise ValueError(f"{name} must be a whole number from 0 up, not {value!r}.")
    return int(value)
