"""Slopes against SciPy; knots and rates against the curves of known segments and an exact fit.

`scipy.stats.theilslopes` (P. K. Sen, J. Am. Stat. Assoc. 63, 1968, p. 1379). The curves of
`rate, target, hold` are those of the reference figures (`heatwork_examples.csv`, invented), the
exact fit is the least cost over all ways of cutting a short series (R. Bellman, Commun. ACM 4,
1961, p. 284), which bottom-up merging (Keogh et al. 2001) comes near but may not reach.
"""

import itertools
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import theilslopes

from studiolog.craft.evidence.theil_sen import fit_trend
from studiolog.craft.firing.followed import analyse_curve
from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.segments import find_segments, merge_lines
from studiolog.transfer.temperature_log import read_temperature_log
from tests.wandering import WANDERING

LOGS = Path(__file__).parents[1] / "transfer" / "logs"


@settings(max_examples=300 if WANDERING else 25, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(-300, 300)), min_size=3, max_size=60).filter(
        lambda points: len({x for x, _ in points}) > 2
    ),
    st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
def test_slope_and_interval_are_scipys(points: list[tuple[int, int]], confidence: float) -> None:
    x, y = (np.array(values, dtype=float) for values in zip(*points, strict=True))
    expected, found = theilslopes(y, x, confidence), fit_trend(x, y, confidence)
    assert found.slope == pytest.approx(expected.slope, abs=1e-12)
    assert found.level == pytest.approx(expected.intercept, abs=1e-9)
    assert found.low == pytest.approx(expected.low_slope, abs=1e-12)
    assert found.high == pytest.approx(expected.high_slope, abs=1e-12)


def test_a_trend_needs_two_places_apart() -> None:
    with pytest.raises(ValueError, match="two points apart"):
        fit_trend([3.0, 3.0], [1.0, 2.0])
    assert fit_trend([0.0, 2.0], [1.0, 5.0]).slope == 2.0


def least_off(x: Any, y: Any, most: int) -> list[float]:
    """Squared deviation of the best fit by 1, 2 … ``most`` lines: every cut tried."""
    n = x.size
    off = np.full((n + 1, n + 1), np.inf)
    for a in range(n):
        for b in range(a + 1, n + 1):
            degree = 1 if b - a > 1 else 0
            line = np.polyfit(x[a:b], y[a:b], degree)
            off[a, b] = float(((y[a:b] - np.polyval(line, x[a:b])) ** 2).sum())
    best = off[0]
    found = [float(best[n])]
    for _ in range(most - 1):
        best = np.array([min(best[a] + off[a, b] for a in range(b)) if b else np.inf
                         for b in range(n + 1)])  # fmt: skip
        found.append(float(best[n]))
    return found


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_merged_lines_fit_nearly_as_well_as_the_best_there_are(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = np.sort(rng.choice(np.arange(4, 36), 3, replace=False))
    x = np.arange(40) * 120.0
    y = np.interp(np.arange(40), [0, *corners, 39], np.cumsum(rng.uniform(-120, 120, 5)))
    y = y + rng.normal(0, 0.7, 40)
    bounds = merge_lines(x, y)
    found = 0.0
    for a, b in itertools.pairwise(bounds):
        line = np.polyfit(x[a:b], y[a:b], 1 if b - a > 1 else 0)
        found += float(((y[a:b] - np.polyval(line, x[a:b])) ** 2).sum())
    exact = least_off(x / 3600, y, len(bounds) - 1)[-1]
    # Never better than the best, and short of it by less than one knot is worth.
    assert exact - 1e-6 <= found <= exact + 400.0


CURVES = {
    "R01": [(60, 1222, 0)],
    "R08": [(200, 1100, 0), (60, 1203, 0)],
    "H05": [(60, 1222, 30)],
    "C01": [(60, 1222, 0), (300, 700, 0)],
    "P03": [(60, 120, 120), (110, 600, 0), (150, 945, 0), (60, 1063, 0)],
}


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_of_known_segments_gives_its_rates_knots_and_holds(name: str) -> None:
    t, c, at, here = [0.0], [20.0], 0.0, 20.0
    for rate, target, hold in CURVES[name]:
        for seconds, heat in ((abs(target - here) / rate * 3600, target), (hold * 60, target)):
            if seconds:
                at += seconds
                t.append(at)
                c.append(heat)
        here = target
    grid = np.arange(0, t[-1], 60.0)
    curve = np.interp(grid, t, c)
    knots = t[1:-1]
    found = [s.start_s for s in find_segments(grid, curve)[1:]]
    assert len(found) == len(knots)
    assert found == pytest.approx(knots, abs=120)
    steps = analyse_curve([Segment(*segment) for segment in CURVES[name]], grid, curve).steps
    rates = [abs(s.rate.c_per_h) for s in steps if s.rate is not None]
    assert rates == pytest.approx([s[0] for s in CURVES[name]], rel=0.01)
    holds = [s.held_min for s in steps if s.kind == "hold"]
    assert holds == pytest.approx([s[2] for s in CURVES[name] if s[2]], abs=3)


# What the set point of the logs goes through.
AS_SET = (Segment(60, 110, 60), Segment(180, 1100), Segment(60, 1222, 10), Segment(250, 500))


def test_every_example_log_tells_the_same_firing() -> None:
    """`expected.json`: all files carry one firing, sampled every five minutes."""
    told = json.loads((LOGS / "expected.json").read_text())
    rates: dict[str, list[float]] = {}
    for name, expected in told["files"].items():
        # A log in °F that does not say so is for the potter to settle first.
        if not expected["rows_usable"] or name.startswith("02"):
            continue
        curve = read_temperature_log((LOGS / name).read_bytes(), name).primary
        analysis = analyse_curve(AS_SET, curve.elapsed_s, curve.temperature_c)
        first, soak, climb, slow, hold, fall = analysis.steps
        assert {s.verdict for s in (first, soak, climb, slow, hold)} == {"followed"}, name
        # One file ends before the kiln had come down.
        assert fall.verdict == ("broken_off" if name.startswith("16") else "followed"), name
        asked = [abs(s.rate.c_per_h) for s in (first, climb, slow, fall) if s.rate]
        assert asked == pytest.approx([60, 180, 60, 250], rel=0.02), name
        assert (soak.held_min, hold.held_min) == pytest.approx((60, 10), abs=2), name
        assert analysis.summary.peak_c == pytest.approx(expected["peak_c"], abs=0.3), name
        rates[name] = [
            s.rate.c_per_h for s in analysis.found if s.rate and s.minutes > 60 and s.kind == "up"
        ]
    usual = rates["01_bom_semicolon_comma.csv"]
    assert len(usual) >= 3
    for name, found in rates.items():
        assert found[-1] == pytest.approx(usual[-1], abs=4), name
        assert max(found) == pytest.approx(max(usual), abs=6), name
