"""Sums of medians and their intervals, held against SciPy and the exact order statistics."""

from statistics import median

import numpy as np
import pytest
from scipy import stats

from studiolog.craft.evidence.medians import add_medians, compare_medians


@pytest.mark.parametrize("seed", range(6))
def test_an_interval_of_a_median_lies_near_the_exact_one(seed: int) -> None:
    """The exact interval takes order statistics by the binomial law: of 25 values the 8th and the
    18th hold the median in 95.7 % (W. J. Conover, Practical Nonparametric Statistics, 3rd ed.
    1999, sec. 3.2, where it is the quantile test turned round)."""
    values = np.sort(np.random.default_rng(seed).gamma(9, 4, 25))
    assert stats.binom(25, 0.5).cdf(17) - stats.binom(25, 0.5).cdf(7) == pytest.approx(
        0.957, abs=0.001
    )
    found = add_medians([list(values)])
    assert found.value == median(values)
    # The bootstrap ends at a value of the sample too: within one place of the exact ends.
    assert values[6] <= found.low <= values[8]
    assert values[16] <= found.high <= values[18]


def test_a_sum_is_the_bootstrap_that_scipy_draws() -> None:
    random = np.random.default_rng(4)
    steps = [list(random.normal(9, 1, 18)), list(random.normal(34, 4, 14))]

    def both(first: np.ndarray, second: np.ndarray, axis: int = -1) -> np.ndarray:
        return np.median(first, axis=axis) + np.median(second, axis=axis)

    drawn = stats.bootstrap(
        steps, both, method="percentile", n_resamples=4000, rng=np.random.default_rng(1)
    )
    found = add_medians(steps)
    spread = drawn.confidence_interval.high - drawn.confidence_interval.low
    assert found.low == pytest.approx(drawn.confidence_interval.low, abs=0.15 * spread)
    assert found.high == pytest.approx(drawn.confidence_interval.high, abs=0.15 * spread)
    assert found.fewest == 14


def test_two_that_differ_are_told_apart_and_two_alike_are_not() -> None:
    """Mann and Whitney's test says the same of both."""
    random = np.random.default_rng(8)
    quick, slow = random.normal(31, 2, 16), random.normal(44, 3, 15)
    apart = compare_medians([list(quick)], [list(slow)])
    assert apart.low > 0
    assert stats.mannwhitneyu(quick, slow).pvalue < 0.001
    halves = quick[::2], quick[1::2]
    alike = compare_medians([list(halves[0])], [list(halves[1])])
    assert alike.low < 0 < alike.high
    assert stats.mannwhitneyu(*halves).pvalue > 0.05


def test_nothing_timed_has_no_median() -> None:
    with pytest.raises(ValueError, match="at least one sample"):
        add_medians([])
    with pytest.raises(ValueError, match="at least one sample"):
        compare_medians([[3.0]], [[]])
    with pytest.raises(ValueError, match="confidence"):
        add_medians([[3.0]], confidence=1.0)
    assert add_medians([[3.0], [4.0]]).value == 7.0
