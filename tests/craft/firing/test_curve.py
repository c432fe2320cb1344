"""What can be read off a curve."""

import numpy as np
import pytest

from studiolog.craft.firing import curve
from studiolog.craft.limits import Limits
from studiolog.problems import UserProblem


def firing(every_s=60.0, noise_c=0.0):
    corners_t = np.array([0, 7.2, 9.2333333, 9.7333333, 13.7333333, 23.7333333]) * 3600
    corners_c = np.array([20, 1100, 1222, 1222, 822, 60])
    t = np.arange(0.0, corners_t[-1], every_s)
    c = np.interp(t, corners_t, corners_c)
    return t, c + np.random.default_rng(5).normal(0, noise_c, t.size)


def test_a_firing_at_a_glance():
    found = curve.curve_summary(*firing(), target_c=1222)
    assert found.peak_c == pytest.approx(1222, abs=0.1)
    assert found.duration_s == pytest.approx(23.73 * 3600, abs=120)
    assert found.time_to_peak_s == pytest.approx(9.23 * 3600, abs=120)
    # 30 min of hold, 5 min up at 60 °C/h, 3 min down at 100.
    assert found.hold_min == pytest.approx(38, abs=1)
    assert found.final_rate_c_per_h == pytest.approx(60, abs=0.2)
    assert found.near_top_s == pytest.approx((50 + 30 + 30) * 60, abs=60)
    assert found.above_1000_s > found.near_top_s
    assert found.above_100_s > found.above_573_s > found.above_1000_s
    assert found.gaps == ()
    assert found.dropped == 0
    assert not found.ends_at_peak


def test_quartz_is_passed_once_each_way():
    found = curve.curve_summary(*firing(noise_c=0.8))
    assert [c.direction for c in found.quartz_crossings] == [1, -1]
    up, down = found.quartz_up, found.quartz_down
    assert up is not None
    assert down is not None
    assert up.elapsed_s == pytest.approx((573 - 20) / 150 * 3600, abs=60)
    assert up.rate_c_per_h == pytest.approx(150, abs=6)
    assert down.rate_c_per_h == pytest.approx(-76.2, abs=6)


def test_a_bisque_that_never_reached_573_has_no_crossing():
    t = np.arange(0, 7200.0, 60)
    found = curve.curve_summary(t, 20 + t / 60)
    assert found.quartz_crossings == ()
    assert found.quartz_up is None
    assert found.above_573_s == 0
    assert found.ends_at_peak


def test_cooling_is_told_band_by_band():
    bands = dict(curve.cooling_rates(*firing()))
    assert bands["620 to 540"] == pytest.approx(-76.2, abs=0.5)
    assert bands["300 to 100"] == pytest.approx(-76.2, abs=0.5)
    # Half an hour of hold, then 100 °C/h.
    assert -100 < bands["peak to 1000"] < -80
    t, c = firing()
    assert dict(curve.cooling_rates(t[c > 700], c[c > 700]))["300 to 100"] is None


@pytest.mark.parametrize("every_s", [10.0, 60.0, 300.0])
def test_a_rate_is_robust_and_local(every_s):
    t, c = firing(every_s, noise_c=1.0)
    at = 4 * 3600.0
    c[int(at / every_s)] += 300
    assert curve.rate_at(t, c, at) == pytest.approx(150, abs=12)
    # 76.2 °C/h down, to the last reading.
    assert curve.rate_at(t, c, t[-1]) == pytest.approx(-76.2, abs=20)


def test_too_little_data_gives_no_rate():
    assert curve.rate_at([0, 60, 120], [20, 22, 24], 60) is None
    assert curve.rate_at([0, 7200, 14400], [20, 200, 400], 60) is None


def test_rates_along_the_curve_are_those_at_each_place():
    t, c = firing()
    rates = curve.rates_along(t, c, 900.0)
    assert rates.shape == t.shape
    assert rates[120] == pytest.approx(150)
    assert rates[500] == pytest.approx(60, abs=0.01)
    assert rates[-30] == pytest.approx(-76.2, abs=0.01)


def test_time_above_is_exact_between_readings():
    assert curve.time_above_s([0, 100, 200], [0, 100, 0], 50) == pytest.approx(100)
    assert curve.time_above_s([0, 100], [10, 10], 50) == 0
    assert curve.time_above_s([0], [100], 50) == 0


def test_a_top_without_100_degrees_below_it_has_no_final_rate():
    assert curve.final_rate([0, 3600], [1000, 1060]) is None
    assert curve.final_rate([0, 7200], [900, 1100]) == pytest.approx(100)


def test_the_raw_readings_stay_and_each_one_set_aside_says_why():
    t, c = firing()
    t, c = np.append(t, t[10]), np.append(c, c[10])
    raw = c.copy()
    raw[50], raw[60], raw[70], raw[300] = np.nan, 1600.0, -200.0, raw[300] + 250
    found = curve.clean_curve(t, raw)
    assert np.array_equal(found.raw_temperature_c, raw, equal_nan=True)
    assert found.kept.sum() == found.elapsed_s.size == t.size - 5
    assert dict(found.dropped) == {"missing": 1, "out_of_range": 2, "spike": 1, "repeated": 1}
    assert (found.why[50], found.why[60], found.why[300]) == ("missing", "out_of_range", "spike")
    assert set(found.dropped) <= set(curve.WHY)
    assert all((reason == "") == kept for reason, kept in zip(found.why, found.kept, strict=True))


@pytest.mark.parametrize("every_s", [10.0, 60.0, 300.0])
def test_nothing_true_is_set_aside(every_s):
    t, c = firing(every_s, noise_c=1.0)
    assert not curve.clean_curve(t, c).dropped
    # The kiln opened hot: 3000 °C/h down.
    fast = np.interp(t, [0, 8 * 3600, 8.35 * 3600, 24 * 3600], [20, 1050, 40, 20])
    assert not curve.clean_curve(t, fast).dropped


@pytest.mark.parametrize("jump", [-300.0, -60.0, 60.0, 250.0, 400.0])
def test_a_spike_at_the_very_top_is_set_aside(jump):
    t, c = firing(300.0, noise_c=0.5)
    at = int(np.argmax(c))
    c[at] += jump
    found = curve.clean_curve(t, c)
    assert dict(found.dropped) in ({"spike": 1}, {"out_of_range": 1})
    assert not found.kept[at]


def test_gaps_are_waits_of_more_than_ten_minutes():
    t, c = firing()
    keep = np.ones(t.size, dtype=bool)
    keep[100:109] = False  # ten minutes between the readings on either side
    keep[300:320] = False
    gaps = curve.find_gaps(t[keep], c[keep])
    assert [gap.minutes for gap in gaps] == [21]
    assert gaps[0].start_c < gaps[0].end_c


def test_a_clock_half_a_minute_off_makes_no_gap_of_a_ten_minute_wait():
    assert curve.find_gaps([0, 630], [20, 45]) == ()
    assert [gap.minutes for gap in curve.find_gaps([0, 660], [20, 45])] == [11]


@pytest.mark.parametrize(("minutes", "set_aside"), [(40, 40), (59, 59), (61, 0), (90, 0)])
def test_an_open_thermocouple_is_set_aside_for_up_to_an_hour(minutes, set_aside):
    t, c = firing()
    c[480 : 480 + minutes] = 20.0
    found = curve.clean_curve(t, c)
    assert found.dropped.get("island", 0) + found.dropped.get("spike", 0) == set_aside


def test_nothing_usable_is_said():
    with pytest.raises(UserProblem, match="no reading between"):
        curve.curve_summary([0, 1], [9999, 9999])


def test_spikes_that_come_in_pairs_or_with_good_readings_between_are_set_aside():
    t, c = firing(300.0, noise_c=0.5)
    raw = c.copy()
    raw[[40, 41, 43, 90, 92]] = 1372.0
    found = curve.clean_curve(t, raw)
    assert np.flatnonzero(~found.kept).tolist() == [40, 41, 43, 90, 92]
    assert set(found.dropped) <= {"spike", "island"}


def test_a_short_hold_in_a_thin_log_is_no_spike():
    t = np.array([0.0, 600, 1200, 1800, 2100, 2700, 3300, 3900, 4500]) + 36000
    c = np.array([900.0, 925, 950, 975, 975, 975, 900, 850, 800])
    assert not curve.clean_curve(t, c).dropped


def test_a_log_cut_off_by_a_falling_zero_loses_the_zero_only():
    t, c = firing()
    found = curve.clean_curve([*t, t[-1] + 60], [*(c + 200), 0.0])
    assert dict(found.dropped) == {"spike": 1}
    assert not found.kept[-1]


def test_no_rate_is_told_from_under_a_quarter_of_an_hour_or_over_a_gap():
    t = np.arange(0.0, 3600.0, 60.0)
    quick = 20 + t / 3600 * 600  # the last 100 °C in ten minutes
    assert curve.final_rate(t, quick) is None
    assert curve.final_rate(t, 20 + t / 3600 * 300) == pytest.approx(300)
    raku = np.interp(t, [0, 600, 1200, 3600], [900, 900, 100, 60])
    assert dict(curve.cooling_rates(t, raku))["620 to 540"] is None

    t, c = firing()
    away = (t < 15 * 3600) | (t > 17.4 * 3600)  # 620 °C falls within the silence, 540 does not
    bands = dict(curve.cooling_rates(t[away], c[away]))
    assert bands["620 to 540"] is None
    assert bands["300 to 100"] == pytest.approx(-76.2, abs=1)
    assert curve.rate_at(t[away], c[away], 16 * 3600) is None
    beside = curve.rate_at(t[away], c[away], 15 * 3600 - 120)
    assert beside == pytest.approx(-76.2, abs=1)
    # Typed by hand, the line between two readings is what is meant.
    assert dict(curve.cooling_rates(t[away], c[away], typed=True))["620 to 540"] is not None


def test_a_short_log_has_no_rate():
    t = np.arange(0.0, 700.0, 60.0)
    assert curve.rate_at(t, 20 + t / 60, 300) is None


def test_what_is_told_of_a_curve_goes_by_the_studios_limits():
    t, c = firing()
    near = curve.summarize(curve.clean_curve(t, c), limits=Limits({"near_peak_c": 10.0}))
    # 30 min of hold, 10 min up at 60 °C/h, 6 min down at 100.
    assert near.hold_min == pytest.approx(46, abs=1)
    keep = (t < 3 * 3600) | (t > 3 * 3600 + 1500)
    wide = curve.clean_curve(t[keep], c[keep])
    assert len(curve.summarize(wide).gaps) == 1
    assert curve.summarize(wide, limits=Limits({"gap_min": 30.0})).gaps == ()
    assert curve.final_rate(t, c, limits=Limits({"rate_window_min": 60.0})) is not None
    quick = 20 + t / 3600 * 300
    assert curve.final_rate(t[:200], quick[:200], limits=Limits({"rate_window_min": 25.0})) is None
