"""Intervals of rates against published figures and another implementation."""

import pytest
from scipy.stats import binomtest

from studiolog.craft.evidence.rates import wilson


@pytest.mark.parametrize(
    ("events", "trials", "low", "high"),
    [
        # R. G. Newcombe, Statistics in Medicine 17, 1998, p. 857, table I, method 3
        # (Wilson's score, no continuity correction).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_newcombes_table(events, trials, low, high):
    found = wilson(events, trials)
    assert found == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
@pytest.mark.parametrize("trials", [1, 2, 5, 12, 40, 333])
def test_scipy_agrees(trials, confidence):
    for events in {0, 1, trials // 3, trials // 2, trials - 1, trials}:
        theirs = binomtest(events, trials).proportion_ci(confidence, method="wilson")
        assert wilson(events, trials, confidence) == pytest.approx((theirs.low, theirs.high))
