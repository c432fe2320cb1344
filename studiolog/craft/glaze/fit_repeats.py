"""What several pieces of one glaze on one clay say together.

They share their recipe, its weighing and whatever its calculated expansion is off by, so they are
no independent evidence of where a fault begins. Each glaze gets an offset b of its own: given b a
piece shows the fault with the chance

    1 / (1 + exp(-(η / φ + b))),    η = ±(α - τ) / s,

and b has the bridge distribution, the one for which a single piece, whatever its b, shows the
fault with exactly 1 / (1 + exp(-η)): Z. Wang and T. A. Louis, Biometrika 90, 2003, 765-775. So one
piece says just what the plain threshold model says, and more of them say ever more of this glaze,
but of the threshold only as much as one glaze can. φ = sqrt(1 - r), where r is the share of all
scatter that pieces of one glaze have in common (the limit "repeat_likeness").
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

_REACH: Final = 25.0  # of η; beyond it chances change by less than e^-25
_STEP: Final = 0.1
_TAILS: Final = 18.0  # the density falls as exp(-φ|b|)


@dataclass(frozen=True, eq=False)
class Bridge:
    """The offsets of glazes on a grid.

    ``eta`` and ``x`` (= η / φ + b) are grids; ``density`` has a row for each η: how x is spread
    given it, times the step, so that ``density @ h`` integrates h over all offsets.
    """

    share: float
    phi: float
    eta: Numbers
    x: Numbers
    density: Numbers


@lru_cache(maxsize=2)
def bridge(share: float) -> Bridge:
    """The bridge for a share of scatter in common. Raises ValueError outside 0.05 to 0.95."""
    import numpy as np

    if not 0.05 <= share <= 0.95:
        raise ValueError(f"The share in common must lie between 0.05 and 0.95, not {share!r}.")
    phi = math.sqrt(1.0 - share)
    eta = np.arange(-_REACH, _REACH + _STEP / 2, _STEP)
    # Near φ = 1 the density is a narrow peak of half width (1 - φ) π.
    step = min(_STEP, 0.5 * (1.0 - phi) * math.pi)
    far = (_REACH + _TAILS) / phi
    x = np.arange(-far, far + step / 2, step)
    density = bridge_density(x[np.newaxis, :] - eta[:, np.newaxis] / phi, phi) * step
    return Bridge(share, phi, eta, x, density)


def bridge_density(b: Any, phi: float) -> Any:
    """The density of the bridge distribution for the logit link (Wang and Louis 2003)."""
    import numpy as np

    folded = np.exp(-phi * np.abs(b))
    # sin / (2 π (cosh + cos)), written so that cosh can't overflow.
    turn = math.sin(phi * math.pi) / math.pi
    return turn * folded / (1.0 + folded**2 + 2.0 * folded * math.cos(phi * math.pi))


def told_by_pieces(
    x: Numbers, seen: float, stressed: float, unstressed: float, weight: float
) -> Numbers:
    """The likelihood of so many pieces at each x, its largest value being 1.

    ``weight``: what none seen without a stress test is worth.
    """
    import numpy as np

    return np.asarray(np.exp(log_told(x, seen, stressed, unstressed, weight)))


def log_told(
    z: Numbers, seen: float, stressed: float, unstressed: float, weight: float, *, top: bool = True
) -> Numbers:
    """The logarithm of ``told_by_pieces``; with ``top`` False as it is, not brought to 1."""
    import numpy as np

    said = np.zeros_like(z)
    if seen:
        said -= seen * np.logaddexp(0.0, -z)
    if stressed:
        said -= stressed * np.logaddexp(0.0, z)
    if unstressed:
        # 1 - w·q written so that w = 1 near q = 1 keeps its digits: (1 - q) + (1 - w) q.
        sound = -np.logaddexp(0.0, z)
        if weight < 1.0:
            sound = np.logaddexp(sound, math.log1p(-weight) - np.logaddexp(0.0, -z))
        said += unstressed * sound
    return said - said.max() if top else said


def log_likelihood(
    eta: Numbers, counts: tuple[int, int, int], weight: float, share: float
) -> Numbers:
    """How likely the pieces of one glaze are at each η: (seen, stressed, unstressed), up to a
    constant. One piece is told exactly."""
    import numpy as np

    if sum(counts) == 1:
        return log_told(eta, *counts, weight, top=False)
    made = bridge(share)
    return np.asarray(np.interp(eta, made.eta, _log_whole(counts, weight, share)))


@lru_cache(maxsize=64)
def stress_odds(pieces: int, weight: float, share: float) -> Numbers:
    """The chance, at each η of the bridge, that a stress test shows the fault on one of so many
    pieces of a glaze, on all of which none was seen without one."""
    import numpy as np

    made = bridge(share)
    rest = told_by_pieces(made.x, 0, 0, pieces - 1, weight)
    q = 1.0 / (1.0 + np.exp(-made.x))
    shown = made.density @ (rest * (1.0 - weight) * q)
    return np.asarray(shown / np.maximum(made.density @ (rest * (1.0 - weight * q)), 1e-300))


@lru_cache(maxsize=512)
def _log_whole(counts: tuple[int, int, int], weight: float, share: float) -> Numbers:
    import numpy as np

    made = bridge(share)
    return np.asarray(np.log(made.density @ told_by_pieces(made.x, *counts, weight)))
