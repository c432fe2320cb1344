"""Typical amounts of which few were noted: medians added up, and how far they can be trusted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_DRAWS: Final = 2000
_SEED: Final = 20260


@dataclass(frozen=True, slots=True)
class Middle:
    """A sum of medians with its interval, of which the least known has ``fewest`` samples."""

    value: float
    low: float
    high: float
    fewest: int


def add_medians(samples: Sequence[Sequence[float]], confidence: float = 0.95) -> Middle:
    """The medians of several kinds of samples added up: minutes of each step of one piece.

    The interval is the percentile bootstrap (B. Efron and R. J. Tibshirani, *An Introduction to
    the Bootstrap*, 1993, ch. 13): each kind is drawn anew from its own samples, the same draws at
    every call. Raises ValueError without samples or for a confidence not between 0 and 1.
    """
    import numpy as np

    drawn = _draw_sums(samples, _SEED)
    low, high = np.quantile(drawn, _tails(confidence))
    value = float(sum(median(kind) for kind in samples))
    # A median beyond its own draws can't be: with one sample each all three are the same.
    return Middle(
        value,
        min(float(low), value),
        max(float(high), value),
        min(len(kind) for kind in samples),
    )


def compare_medians(
    first: Sequence[Sequence[float]],
    second: Sequence[Sequence[float]],
    confidence: float = 0.95,
) -> Middle:
    """How much more the medians of ``second`` come to than those of ``first``; errors as above."""
    import numpy as np

    drawn = _draw_sums(second, _SEED + 1) - _draw_sums(first, _SEED)
    low, high = np.quantile(drawn, _tails(confidence))
    value = float(sum(median(kind) for kind in second) - sum(median(kind) for kind in first))
    return Middle(
        value,
        min(float(low), value),
        max(float(high), value),
        min(len(kind) for kind in (*first, *second)),
    )


def _tails(confidence: float) -> tuple[float, float]:
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"The confidence must lie between 0 and 1, not {confidence!r}.")
    return (1 - confidence) / 2, (1 + confidence) / 2


def _draw_sums(samples: Sequence[Sequence[float]], seed: int) -> NDArray[np.float64]:
    import numpy as np

    if not samples or not all(samples):
        raise ValueError("A median needs at least one sample of each kind.")
    random = np.random.default_rng(seed)
    total = np.zeros(_DRAWS)
    for kind in samples:
        values = np.asarray(kind, dtype=np.float64)
        picks = random.integers(0, len(values), (_DRAWS, len(values)))
        total += np.median(values[picks], axis=1)
    return total
