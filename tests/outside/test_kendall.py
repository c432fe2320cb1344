"""The test for a trend against SciPy's Kendall tau, ties and all."""

import numpy as np
import pytest
from scipy import stats

from studiolog.craft.evidence.kendall import judge_rank_trend


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("n", [8, 15, 40])
def test_tau_and_its_chance_are_those_of_scipy(seed: int, n: int) -> None:
    random = np.random.default_rng((seed, n))
    x = np.arange(n) if seed % 2 else np.round(random.uniform(0, n / 2, n))
    y = np.round(0.1 * seed * x + random.normal(0, 2, n), seed % 3)
    told = judge_rank_trend(x, y)
    theirs = stats.kendalltau(x, y, method="asymptotic")
    assert told is not None
    assert told.tau == pytest.approx(float(theirs.statistic), abs=1e-12)
    assert told.p == pytest.approx(float(theirs.pvalue), abs=1e-9)


def test_values_that_never_change_have_no_trend() -> None:
    assert judge_rank_trend([1, 2, 3], [5, 5, 5]) is None
    assert judge_rank_trend([1], [5]) is None
    with pytest.raises(ValueError, match="as many places"):
        judge_rank_trend([1, 2], [1])
