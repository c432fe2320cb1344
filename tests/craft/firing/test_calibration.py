"""What witness cones teach about a kiln's sensor."""

import numpy as np
import pytest

from studiolog.craft.firing import calibration
from studiolog.craft.firing.calibration import correct_cone, estimate_offsets, offset_of_reading
from studiolog.craft.firing.heatwork import equivalent_cone


def curve(top_c=1222.0):
    t = np.arange(0.0, (top_c - 20) * 60 + 1, 60.0)
    return t, 20 + t / 60


def test_an_offset_is_told_in_degrees_at_60_an_hour():
    # 6 is at 1222, 7 at 1239 on the chart.
    assert offset_of_reading(7.0, 6.0) == pytest.approx(17)
    assert offset_of_reading(5.5, 6.0) == pytest.approx(-18)


def test_few_readings_are_drawn_to_the_kilns_median():
    found = estimate_offsets({"top": [10.0], "middle": [0.0, 0.0, 0.0], "bottom": []})
    # One reading counts 1/4 of the way from the kiln's median, three a half.
    assert found["top"].offset_c == pytest.approx(2.5)
    assert found["middle"].offset_c == pytest.approx(0.0)
    assert found["bottom"].offset_c == 0.0
    assert [found[level].calibrated for level in found] == [False, True, False]
    assert [found[level].sigma_c for level in found] == [12, 5, 12]


def test_one_wild_reading_does_not_move_a_level():
    found = estimate_offsets({"top": [8, 9, 8, 7, 90, 8, 8, 9, 7, 8]})["top"]
    assert found.offset_c == pytest.approx(8, abs=0.2)
    assert found.scatter_c == pytest.approx(0.74, abs=0.75)


def test_only_the_last_ten_count():
    found = estimate_offsets({"top": [50.0] * 10 + [0.0] * 10})["top"]
    assert found.offset_c == 0
    assert found.readings == 10


def test_a_drifting_thermocouple_raises_an_alarm():
    steady = estimate_offsets({"top": [5, 6, 4, 5, 6, 5]})["top"]
    drifted = estimate_offsets({"top": [5, 6, 4, 5, 6, 14, 15, 16]})["top"]
    assert steady.alarm is None
    assert drifted.shift_c == pytest.approx(10)
    assert "thermocouple" in (drifted.alarm or "")
    assert "hotter" in (drifted.alarm or "")
    assert estimate_offsets({"top": [0, 0, 30]})["top"].alarm is None


def test_drift_is_told_against_the_ten_readings_before_not_against_old_elements():
    settled = estimate_offsets({"top": [40.0] * 10 + [5.0] * 13})["top"]
    assert settled.shift_c == 0
    assert settled.alarm is None


def test_a_new_kiln_is_taken_as_it_reads():
    assert estimate_offsets({}) == {}
    fresh = estimate_offsets({"top": []})["top"]
    assert (fresh.offset_c, fresh.sigma_c, fresh.scatter_c) == (0.0, 12.0, None)


def test_a_curve_is_corrected_by_what_its_level_has_read():
    estimate = equivalent_cone(*curve())
    level = calibration.LevelOffset("bottom", -18.0, 5, 1.0, None)
    corrected = correct_cone(estimate, level)
    assert corrected.number == pytest.approx(5.5)
    assert corrected.calibrated
    assert corrected.sigma_c == 5
    assert corrected.low < corrected.number < corrected.high
    assert corrected.high - corrected.low < estimate.high - estimate.low
    # The same as telling the sum from the start.
    told = equivalent_cone(*curve(), calibrated=True, offset_c=-18.0)
    assert corrected.number == pytest.approx(told.number, abs=0.02)
    assert corrected.low == pytest.approx(told.low, abs=0.1)
    assert corrected.high == pytest.approx(told.high, abs=0.1)


def test_a_candle_stays_a_candle():
    t = np.arange(0.0, 3600.0, 60.0)
    estimate = equivalent_cone(t, 20 + t / 60)
    level = calibration.LevelOffset("top", 10.0, 5, 1.0, None)
    assert correct_cone(estimate, level) is estimate


def test_top_to_bottom_in_words():
    """Default words, judgement: makers call a cone's difference ordinary (published)."""
    assert calibration.describe_spread(6.0, 5.6) == "even"
    assert calibration.describe_spread(5.2, 6.0) == "usual"
    assert "elements" in calibration.describe_spread(6.0, 4.5)
