"""Rates and breaks of a curve, on ramps whose answers anyone can work out."""

import numpy as np
import pytest

from studiolog.ui.plots.curve_sums import (
    cut_at_gaps,
    join_with_breaks,
    program_rate,
    program_rate_at,
    smooth_rate,
    thin_to_columns,
)
from studiolog.ui.plots.firing_inset import seconds_above, top_span_s


def test_a_steady_ramp_of_60_an_hour_reads_60_despite_a_jittery_probe():
    at_s = np.arange(0.0, 4 * 3600, 15)
    jitter = np.random.default_rng(1).normal(0, 0.5, len(at_s))
    _grid, rate = smooth_rate(at_s, at_s / 3600 * 60 + jitter)
    assert np.all(np.abs(rate - 60) < 8)
    assert abs(float(np.median(rate)) - 60) < 0.5


def test_one_wild_reading_does_not_show_in_the_rate():
    at_s = np.arange(0.0, 4 * 3600, 60)
    heat = at_s / 3600 * 100
    heat[120] += 30
    _grid, rate = smooth_rate(at_s, heat)
    assert np.all(np.abs(rate - 100) < 1e-6)


def test_no_rate_is_told_from_less_than_a_quarter_of_an_hour():
    at_s = np.arange(0.0, 890, 10)
    grid, rate = smooth_rate(at_s, at_s)
    assert len(grid) == len(rate) == 0


def test_no_line_joins_the_two_sides_of_a_gap():
    at_s = np.array([0.0, 60, 120, 4000, 4060])
    heat = np.array([20.0, 21, 22, 90, 91])
    pieces = cut_at_gaps(at_s, heat, [(120, 4000)])
    assert [len(s) for s, _c in pieces] == [3, 2]
    _s, joined = join_with_breaks(pieces)
    assert np.flatnonzero(np.isnan(joined)).tolist() == [3]


def test_the_program_asks_for_the_rate_of_the_line_a_time_lies_in():
    at_s, heat = np.array([0.0, 3600, 7200, 7200]), np.array([20.0, 120, 300, 300])
    assert program_rate_at(*program_rate(at_s, heat), 1800) == pytest.approx(100)
    assert program_rate_at(*program_rate(at_s, heat), 3600) == pytest.approx(180)
    assert program_rate_at(*program_rate(at_s, heat), 7200) == pytest.approx(180)
    assert program_rate_at(*program_rate(at_s, heat), 7201) is None


def test_thinning_keeps_the_peak_and_the_ends():
    heat = np.sin(np.linspace(0, 3, 10_000)) * 1200
    heat[5_003] = 1300
    at_s, thin = thin_to_columns(np.arange(10_000.0), heat, 200)
    assert len(thin) < 900
    assert thin.max() == 1300
    assert (at_s[0], at_s[-1]) == (0, 9_999)


def test_time_above_counts_the_parts_of_readings_on_both_sides():
    # 1000 to 1200 in an hour and back in an hour: above 1100 for half of each.
    at_s, heat = np.array([0.0, 3600, 7200]), np.array([1000.0, 1200, 1000])
    assert seconds_above(at_s, heat, 1100) == pytest.approx(3600)
    assert top_span_s(at_s, heat, 1100) == pytest.approx((1800, 5400))
    flat = np.array([1150.0, 1150, 1150])
    assert seconds_above(at_s, flat, 1100) == pytest.approx(7200)
