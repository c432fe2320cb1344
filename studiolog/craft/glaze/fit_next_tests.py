"""Which glazes to test next on a clay: those whose results would tell most of its threshold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from studiolog.craft.glaze.fit import Threshold, eta_of
from studiolog.craft.glaze.fit_repeats import bridge, stress_odds

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

_UNDECISIVE: Final = 1e-4  # of the highest weight: too little to turn the choice
_MOST_PAIRED: Final = 30  # candidates tried in pairs, the best on their own
_WORTH: Final = 0.02  # of the variance of τ; tests that take away less tell next to nothing


@dataclass(frozen=True, slots=True)
class Candidate:
    """A glaze that might be tested on the clay next.

    ``unstressed`` counts pieces of it that are there already, with none seen and no stress test:
    a stress test of one of them is a result too.
    """

    glaze_id: int
    expansion_ppm_k: float
    unstressed: int = 0


@dataclass(frozen=True, slots=True)
class NextTests:
    """The glazes whose stress-tested results would narrow τ most, and by how much.

    ``now`` is the variance of τ as it is known, ``expected`` what would be left of it on average
    over all that these tests may show.
    """

    glazes: tuple[int, ...]
    now: float
    expected: float

    @property
    def narrows_by(self) -> float:
        """The share of the variance that would go, on average."""
        return 1.0 - self.expected / self.now if self.now else 0.0

    @property
    def tells_enough(self) -> bool:
        """Whether the tests are worth firing for this."""
        return self.narrows_by >= _WORTH


def choose_tests(
    known: Threshold, candidates: Sequence[Candidate], *, tests: int = 2
) -> NextTests | None:
    """Which one or two candidates to test: those that leave the least expected variance of τ.

    Every pair of the thirty that tell most on their own is tried, with all that they may show and
    the chances of it (preposterior analysis; H. Raiffa and R. Schlaifer, Applied Statistical
    Decision Theory, 1961). None without a candidate. Raises ValueError for other than one or two
    tests.
    """
    import numpy as np

    if tests not in (1, 2):
        raise ValueError(f"One test or two can be chosen, not {tests}.")
    if not candidates:
        return None
    matters = known.weight > known.weight.max() * _UNDECISIVE
    weight = known.weight[matters] / known.weight[matters].sum()
    tau = known.tau[matters]
    odds = _odds(known, candidates, tau, known.s[matters])
    tau = tau - weight @ tau
    now = float(weight @ tau**2)
    moments = (weight, weight * tau, weight * tau**2)
    shown = (odds, 1.0 - odds)
    alone = np.add(*(_left([outcome @ m for m in moments]) for outcome in shown))
    if tests == 1 or len(candidates) == 1:
        best = int(np.argmin(alone))
        return NextTests((candidates[best].glaze_id,), now, float(alone[best]))
    paired = np.argsort(alone, kind="stable")[:_MOST_PAIRED]
    left = np.zeros((paired.size, paired.size))
    for first in shown:
        for second in shown:
            left += _left([(first[paired] * m) @ second[paired].T for m in moments])
    np.fill_diagonal(left, np.inf)
    pair = [int(paired[place]) for place in np.unravel_index(int(np.argmin(left)), left.shape)]
    pair.sort(key=lambda place: candidates[place].expansion_ppm_k)
    return NextTests(tuple(candidates[place].glaze_id for place in pair), now, float(left.min()))


def _odds(known: Threshold, candidates: Sequence[Candidate], tau: Numbers, s: Numbers) -> Numbers:
    """The chance that a stress test of each candidate shows the fault, at each τ and s."""
    import numpy as np

    limits = known.limits
    odds = np.empty((len(candidates), tau.size))
    for place, one in enumerate(candidates):
        eta = eta_of(known.fault, one.expansion_ppm_k, tau, s)
        if one.unstressed:
            # Of pieces with none seen a stress test shows the fault less often than of any.
            share = limits["repeat_likeness"]
            shown = stress_odds(one.unstressed, limits["unstressed_weight"], share)
            odds[place] = np.interp(eta, bridge(share).eta, shown)
        else:
            odds[place] = 0.5 * (1.0 + np.tanh(0.5 * eta))
    return odds


def _left(moments: Sequence[Numbers]) -> Numbers:
    """What an outcome leaves of the variance, times its chance: E[τ²] - E[τ]² / P."""
    import numpy as np

    chance, first, second = moments
    return np.asarray(second - np.where(chance > 1e-12, first**2 / np.maximum(chance, 1e-12), 0.0))
