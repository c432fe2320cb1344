"""Where a fault of fit begins on a clay, learned from what its own pieces showed.

A glaze crazes when it shrinks more on cooling than the clay can take up, and shivers when it
shrinks too little. Neither can be told from an analysis of the clay, so each clay gets a threshold
of its own: the calculated expansion at which half the glazes show the fault. With α the calculated
expansion of a glaze, τ the threshold and s how softly it sets in (all in 1e-6/K),

    P(crazing) = 1 / (1 + exp(-(α - τ) / s)),    P(shivering) = 1 / (1 + exp((α - τ) / s)).

The priors are τ ~ normal and s ~ lognormal, as `craft.limits` has them (group "fit"); the posterior
is exact on a grid. An error that all calculated expansions share moves τ with them and cancels.

What counts as evidence:

* A piece the fault was seen on has the likelihood q = P(fault); one stress-tested on which none
  was seen has 1 - q; one merely looked at has 1 - w·q, for crazing may come weeks later
  (w is the limit "unstressed_weight").
* Pieces of one glaze on one clay are no independent evidence of τ. Each glaze has an offset of its
  own, which they share: see `fit_repeats`. A second piece of it says less of τ than one of another
  glaze, and a hundred say hardly more than ten; of this glaze they say all (`GlazeStanding`). How
  much evidence there is is told in glazes, not in pieces.

Nothing here says that a glaze is safe to use: it tells a risk, which only pieces and tests settle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

from studiolog.craft.glaze.fit_repeats import bridge, log_likelihood, told_by_pieces
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

Fault = Literal["crazing", "shivering"]
FAULTS_OF_FIT: Final[tuple[Fault, ...]] = ("crazing", "shivering")

_SIGNS: Final[dict[Fault, float]] = {"crazing": 1.0, "shivering": -1.0}
_PRIORS: Final[dict[Fault, tuple[str, str]]] = {
    "crazing": ("craze_mean_ppm_k", "craze_spread_ppm_k"),
    "shivering": ("shiver_mean_ppm_k", "shiver_spread_ppm_k"),
}
# Grid: standard deviations either side of the prior, and points. Twice as many change the
# threshold by less than 0.001.
_REACH_TAU, _REACH_S = 6.0, 4.5
_POINTS_TAU, _POINTS_S = 361, 45
_NEGLIGIBLE = 1e-6  # of the highest weight
_BINS = 2000
_FAR_ETA = 12.0  # a glaze this far beyond a threshold stands as one still farther
_LOW, _HIGH = 0.05, 0.95
# Gauss-Hermite quadrature of five points, for an expansion that is itself uncertain.
_NODES: Final = (
    (-2.0201828704560856, 0.011257411327720693),
    (-0.9585724646138185, 0.2220759220056126),
    (0.0, 0.5333333333333333),
    (0.9585724646138185, 0.2220759220056126),
    (2.0201828704560856, 0.011257411327720693),
)


@dataclass(frozen=True, slots=True)
class GlazeResult:
    """What the pieces of one glaze on one clay showed of one fault.

    ``seen`` counts pieces with the fault, ``stressed`` those on which none was seen in a stress
    test, ``unstressed`` those on which none was seen without one. Pieces nobody looked at for the
    fault are not among them.
    """

    expansion_ppm_k: float
    seen: int = 0
    stressed: int = 0
    unstressed: int = 0

    def __post_init__(self) -> None:
        if not math.isfinite(self.expansion_ppm_k):
            raise ValueError(f"An expansion must be a number, not {self.expansion_ppm_k!r}.")
        if min(self.seen, self.stressed, self.unstressed) < 0 or not self.pieces:
            raise ValueError("A result counts one piece or more, and none below 0.")

    @property
    def pieces(self) -> int:
        """Pieces looked at for the fault."""
        return self.seen + self.stressed + self.unstressed


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance of a fault: predicted, and the span that holds 90 % of what it may be."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Threshold:
    """Where a fault begins on a clay, as far as is known. All in 1e-6/K.

    ``mean``, ``low`` and ``high`` are of τ (mean, 5 % and 95 %), ``width`` of s (mean).
    ``glazes`` counts glazes that were looked at, ``glazes_seen`` those the fault was seen on,
    ``pieces`` and ``pieces_seen`` their pieces. ``log_p`` is the posterior over ``tau_axis`` x
    ``s_axis``, up to a constant; ``tau``, ``s`` and ``weight`` list the points that matter.
    """

    fault: Fault
    limits: Limits
    results: tuple[GlazeResult, ...]
    mean: float
    low: float
    high: float
    deviation: float
    width: float
    tau_axis: Numbers
    s_axis: Numbers
    log_p: Numbers
    tau: Numbers
    s: Numbers
    weight: Numbers

    @property
    def glazes(self) -> int:
        return len(self.results)

    @property
    def glazes_seen(self) -> int:
        return sum(1 for one in self.results if one.seen)

    @property
    def pieces(self) -> int:
        return sum(one.pieces for one in self.results)

    @property
    def pieces_seen(self) -> int:
        return sum(one.seen for one in self.results)

    @property
    def is_thin(self) -> bool:
        """Whether fewer glazes were looked at than the limit "thin_results" asks for."""
        return self.glazes < self.limits["thin_results"]

    def chance(self, expansion_ppm_k: float, error_ppm_k: float = 0.0) -> Chance:
        """The chance of the fault at a calculated expansion, with its interval.

        ``error_ppm_k`` is the standard deviation of an expansion that is not certain itself, as
        that of a recipe nobody has fired.
        """
        import numpy as np

        if error_ppm_k <= 0.0:
            return _chance(self._odds(expansion_ppm_k), self.weight)
        odds = [self._odds(expansion_ppm_k + _SQRT2 * x * error_ppm_k) for x, _ in _NODES]
        weights = [self.weight * part for _, part in _NODES]
        return _chance(np.concatenate(odds), np.concatenate(weights))

    def chances(self, expansions_ppm_k: Sequence[float]) -> tuple[Chance, ...]:
        """As `chance`, for a curve."""
        return tuple(self.chance(one) for one in expansions_ppm_k)

    def _odds(self, expansion_ppm_k: float) -> Numbers:
        return _logistic(eta_of(self.fault, expansion_ppm_k, self.tau, self.s))


_SQRT2: Final = math.sqrt(2.0)


def learn_threshold(
    results: Sequence[GlazeResult], fault: Fault = "crazing", limits: Limits = SHIPPED
) -> Threshold:
    """The threshold of a clay from what its glazes showed; without results, the prior alone.

    Each glaze (a version of its own) stands once in ``results``. Raises ValueError for a fault
    that is none of fit.
    """
    if fault not in _SIGNS:
        raise ValueError(f"{fault!r} is not a fault of fit: {', '.join(FAULTS_OF_FIT)}.")
    return _learn(tuple(results), fault, limits)


@lru_cache(maxsize=128)
def _learn(results: tuple[GlazeResult, ...], fault: Fault, limits: Limits) -> Threshold:
    import numpy as np

    mean_key, spread_key = _PRIORS[fault]
    middle, spread = limits[mean_key], limits[spread_key]
    # A threshold far from where it was expected must still lie on the grid.
    reach = _REACH_TAU * spread
    low, high = middle - reach, middle + reach
    if results:
        low = min(low, min(one.expansion_ppm_k for one in results) - 2.0)
        high = max(high, max(one.expansion_ppm_k for one in results) + 2.0)
    tau = np.linspace(low, high, _POINTS_TAU)
    u = np.linspace(-_REACH_S, _REACH_S, _POINTS_S)
    s = limits["fit_width_ppm_k"] * np.exp(limits["fit_width_log_spread"] * u)
    tau_grid, s_grid = np.meshgrid(tau, s, indexing="ij")
    log_p = -0.5 * ((tau_grid - middle) / spread) ** 2 - 0.5 * (u**2)[np.newaxis, :]
    for one in results:
        log_p += _log_told(one, eta_of(fault, one.expansion_ppm_k, tau_grid, s_grid), limits)
    weight = np.exp(log_p - log_p.max())
    weight /= weight.sum()
    of_tau, of_s = weight.sum(axis=1), weight.sum(axis=0)
    mean = float(of_tau @ tau)
    kept = weight > weight.max() * _NEGLIGIBLE
    tau_low, tau_high = _quantiles(tau, of_tau)
    return Threshold(
        fault,
        limits,
        results,
        mean,
        tau_low,
        tau_high,
        float(math.sqrt(max(of_tau @ (tau - mean) ** 2, 0.0))),
        float(of_s @ s),
        tau,
        s,
        log_p,
        tau_grid[kept],
        s_grid[kept],
        weight[kept] / weight[kept].sum(),
    )


def eta_of(fault: Fault, expansion_ppm_k: float, tau: Numbers, s: Numbers) -> Numbers:
    """How far an expansion lies beyond a threshold, in its widths."""
    return _SIGNS[fault] * (expansion_ppm_k - tau) / s


def _log_told(one: GlazeResult, eta: Numbers, limits: Limits) -> Numbers:
    counts = (one.seen, one.stressed, one.unstressed)
    return log_likelihood(eta, counts, limits["unstressed_weight"], limits["repeat_likeness"])


def _logistic(z: Numbers) -> Numbers:
    import numpy as np

    return 0.5 * (1.0 + np.tanh(0.5 * z))


def _quantiles(values: Numbers, weights: Numbers) -> tuple[float, float]:
    import numpy as np

    below = np.cumsum(weights) - 0.5 * weights
    return float(np.interp(_LOW, below, values)), float(np.interp(_HIGH, below, values))


def _chance(odds: Numbers, weights: Numbers) -> Chance:
    import numpy as np

    total = weights.sum()
    places = np.minimum((odds * _BINS).astype(np.int64), _BINS - 1)
    below = np.concatenate([[0.0], np.cumsum(np.bincount(places, weights, _BINS))]) / total
    # Only where the sum grows can it be turned round.
    grows = np.concatenate([[True], np.diff(below) > 0.0])
    edges = np.arange(_BINS + 1) / _BINS
    low, high = np.interp((_LOW, _HIGH), below[grows], edges[grows])
    mean = float(weights @ odds / total)
    return Chance(mean, min(float(low), mean), max(float(high), mean))


@dataclass(frozen=True, eq=False)
class GlazeStanding:
    """Where one glaze stands with a threshold, by what its own pieces told of it.

    ``x`` is its position (see `fit_repeats`), ``weight`` how likely each is, a row for each s of
    the threshold.
    """

    known: Threshold
    expansion_ppm_k: float
    x: Numbers
    weight: Numbers

    def chance(self, shift_ppm_k: float = 0.0, error_ppm_k: float = 0.0) -> Chance:
        """The chance that another piece of this glaze shows the fault, with its interval.

        ``shift_ppm_k``: of a version of it whose expansion is so much higher, ``error_ppm_k`` how
        far that difference may be off (one standard deviation); what else sets this glaze apart
        stays with its version. A glaze nobody looked at has the mean that `Threshold.chance` has;
        its interval is wider, for no two glazes of one expansion are quite alike.
        """
        import numpy as np

        shared = self.known.limits["repeat_likeness"]
        slope = _SIGNS[self.known.fault] / (bridge(shared).phi * self.known.s_axis)
        nodes = ((0.0, 1.0),) if error_ppm_k <= 0.0 else _NODES
        odds, weights = [], []
        for node, part in nodes:
            moved = slope * (shift_ppm_k + _SQRT2 * node * error_ppm_k)
            odds.append(_logistic(self.x[np.newaxis, :] + moved[:, np.newaxis]).ravel())
            weights.append((self.weight * part).ravel())
        return _chance(np.concatenate(odds), np.concatenate(weights))


@lru_cache(maxsize=64)
def stand(
    known: Threshold, expansion_ppm_k: float, own: GlazeResult | None = None
) -> GlazeStanding:
    """Where a glaze stands; ``own`` is what its pieces told, one of the results of ``known``.

    Raises ValueError for results that the threshold was not learned from.
    """
    import numpy as np

    if own is not None and own not in known.results:
        raise ValueError("A glaze's own results must be among those of the threshold.")
    limits = known.limits
    made = bridge(limits["repeat_likeness"])
    tau, s = np.meshgrid(known.tau_axis, known.s_axis, indexing="ij")
    eta = np.clip(eta_of(known.fault, expansion_ppm_k, tau, s), -_FAR_ETA, _FAR_ETA)
    # What all others say: the glaze's own pieces come in by where they put it.
    others = known.log_p - (0.0 if own is None else _log_told(own, eta, limits))
    weight = np.exp(others - others.max())
    near = np.abs(made.eta) <= _FAR_ETA + 1e-9
    grid = made.eta[near]
    step = grid[1] - grid[0]
    place = np.minimum(((eta - grid[0]) / step).astype(np.int64), grid.size - 2)
    beyond = (eta - grid[place]) / step
    rows = np.broadcast_to(np.arange(s.shape[1]) * grid.size, s.shape)
    size = s.shape[1] * grid.size
    spread = np.bincount((rows + place).ravel(), (weight * (1.0 - beyond)).ravel(), size)
    spread += np.bincount((rows + place + 1).ravel(), (weight * beyond).ravel(), size)
    joint = spread.reshape(s.shape[1], grid.size) @ made.density[near]
    if own is not None:
        w = limits["unstressed_weight"]
        joint *= told_by_pieces(made.x, own.seen, own.stressed, own.unstressed, w)
    matters = joint.max(axis=0) > joint.max() * _NEGLIGIBLE
    return GlazeStanding(known, expansion_ppm_k, made.x[matters], joint[:, matters] / joint.sum())
