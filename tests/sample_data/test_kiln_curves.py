"""Logs of a year of firings look like a controller's, and say what the program said."""

import codecs
from datetime import datetime

import numpy as np
import pytest

from sample_data.kiln_curves import (
    BISQUE_04,
    GLAZE_6_FAST,
    GLAZE_6_SLOW_COOL,
    LOG_STYLES,
    TEST_KILN,
    Interruption,
    KilnSegment,
    log_csv_bytes,
    simulate_firing,
)

STARTED = datetime(2026, 10, 2, 6, 30)


@pytest.mark.parametrize(
    ("program", "top_c"), [(BISQUE_04, 1060), (GLAZE_6_SLOW_COOL, 1205), (GLAZE_6_FAST, 1222)]
)
def test_the_peak_is_the_programs_top(program: tuple[KilnSegment, ...], top_c: float) -> None:
    for seed in (1, 2, 3):
        assert simulate_firing(program, seed).peak_c == pytest.approx(top_c, abs=4)


def test_the_same_seed_is_the_same_firing() -> None:
    first, again = simulate_firing(GLAZE_6_FAST, 7), simulate_firing(GLAZE_6_FAST, 7)
    other = simulate_firing(GLAZE_6_FAST, 8)
    assert np.array_equal(first.read_c, again.read_c)
    assert not np.array_equal(first.read_c[:500], other.read_c[:500])


def test_the_big_kiln_cools_in_about_a_day_and_the_small_one_in_ten_hours() -> None:
    """Common practice: a glaze kiln of some 180 litres needs about a day to cool."""
    for kiln, low_h, high_h in ((None, 20, 28), (TEST_KILN, 8, 12)):
        firing = (
            simulate_firing(GLAZE_6_FAST, 4, kiln=kiln)
            if kiln
            else simulate_firing(GLAZE_6_FAST, 4)
        )
        cooling_h = (firing.elapsed_s[-1] - firing.elapsed_s[firing.read_c.argmax()]) / 3600
        assert low_h < cooling_h < high_h
        assert firing.read_c[-1] < 100


def test_readings_scatter_by_about_half_a_degree() -> None:
    firing = simulate_firing(BISQUE_04, 5, sampling_s=20, sensor_lag_s=20)
    quick = np.diff(firing.read_c - firing.true_c)
    assert 0.4 < quick.std() / np.sqrt(2) < 0.9


def test_worn_elements_are_slower_near_the_top_and_take_more_power() -> None:
    new = simulate_firing(GLAZE_6_SLOW_COOL, 6)
    worn = simulate_firing(GLAZE_6_SLOW_COOL, 6, element_wear=0.25)

    def hours(firing: object, low_c: float, high_c: float) -> float:
        read, at = firing.read_c, firing.elapsed_s  # type: ignore[attr-defined]
        return float(at[np.argmax(read > high_c)] - at[np.argmax(read > low_c)]) / 3600

    assert hours(worn, 900, 1100) > 1.2 * hours(new, 900, 1100)
    assert hours(worn, 200, 400) == pytest.approx(hours(new, 200, 400), rel=0.08)
    assert worn.energy_full_power_h > new.energy_full_power_h


def test_elements_too_far_gone_are_told() -> None:
    with pytest.raises(ValueError, match="cannot reach 1222"):
        simulate_firing(GLAZE_6_FAST, 1, element_wear=0.6)


def test_slow_cooling_follows_its_rate() -> None:
    firing = simulate_firing(GLAZE_6_SLOW_COOL, 9)
    after = firing.elapsed_s > firing.elapsed_s[firing.read_c.argmax()]
    part = after & (firing.read_c < 1020) & (firing.read_c > 840)
    slope = np.polyfit(firing.elapsed_s[part] / 3600, firing.read_c[part], 1)[0]
    assert slope == pytest.approx(-60, abs=4)


def test_a_power_cut_leaves_a_hole_and_the_firing_still_gets_there() -> None:
    cut = simulate_firing(GLAZE_6_FAST, 3, interruptions=(Interruption(5, 40),))
    gaps = np.diff(cut.elapsed_s)
    assert gaps.max() == pytest.approx(41 * 60, abs=61)
    hole = int(gaps.argmax())
    assert cut.read_c[hole + 1] < cut.read_c[hole] - 15, "it cooled in the dark"
    assert cut.peak_c == pytest.approx(1222, abs=4)


def test_a_loose_probe_writes_nonsense_that_is_left_out_of_the_peak() -> None:
    firing = simulate_firing(GLAZE_6_FAST, 3, interruptions=(Interruption(4, 20, "probe_drop"),))
    assert np.count_nonzero((firing.read_c == 0) | (firing.read_c > 1400)) >= 5
    assert firing.peak_c == pytest.approx(1222, abs=4)


@pytest.mark.parametrize("style", LOG_STYLES)
def test_every_style_of_log_carries_every_reading(style: str) -> None:
    firing = simulate_firing(GLAZE_6_FAST, 2, kiln=TEST_KILN, sampling_s=300)
    written = log_csv_bytes(firing, STARTED, style, seed=2)
    text = written.removeprefix(codecs.BOM_UTF8).decode().replace("\r\n", "\n")
    rows = [line for line in text.strip().split("\n") if line[:1].isdigit()]
    assert len(rows) == len(firing.read_c)
    separator, at = {"comma": (";", 2), "clock": (",", 2), "preamble": (",", 2)}.get(
        style, (",", 1)
    )
    values = [float(row.split(separator)[at].replace(",", ".")) for row in rows]
    peak = max(values)
    if style == "fahrenheit":
        peak = (peak - 32) * 5 / 9
    assert peak == pytest.approx(firing.peak_c, abs=0.6)
    assert written == log_csv_bytes(firing, STARTED, style, seed=2)


def test_an_unknown_style_is_refused() -> None:
    firing = simulate_firing((KilnSegment(200, 300),), 1, kiln=TEST_KILN, sampling_s=300)
    with pytest.raises(ValueError, match="No log style"):
        log_csv_bytes(firing, STARTED, "wax tablet")
