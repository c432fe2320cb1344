"""Ticks and wording: round values, weekdays at midnight, a true minus, °F by 9/5."""

from datetime import datetime

import pytest

from studiolog.craft.units import MINUS, THIN, show_rate, show_temperature
from studiolog.ui.plots.plot_ticks import (
    nice_values,
    shown_rate,
    shown_temperature,
    time_ticks,
    write_elapsed,
    write_signed,
)


def test_the_weekday_stands_where_a_day_begins():
    ticks = time_ticks(0, 24 * 3600, 860, datetime(2026, 10, 2, 7, 10))
    assert [t.elapsed for t in ticks][:3] == ["0", f"2{THIN}h", f"4{THIN}h"]
    assert ticks[0].clock == "Fri 07:10"
    assert [t.clock for t in ticks if t.new_day] == ["Fri 07:10", "Sat 01:10"]


def test_without_a_known_start_there_is_no_clock():
    assert all(t.clock == "" for t in time_ticks(0, 36_000, 600, None))


@pytest.mark.parametrize("width", [300, 500, 900, 1900])
def test_time_ticks_never_crowd(width: int):
    ticks = time_ticks(0, 24 * 3600, width, None)
    apart = (ticks[1].at_s - ticks[0].at_s) / 86_400 * width
    assert apart >= 60


def test_fahrenheit_of_the_fixed_points():
    # Ice 32 °F and steam 212 °F: the definition of the scale.
    assert shown_temperature(0, "F") == 32
    assert shown_temperature(100, "F") == 212
    assert shown_rate(100, "F") == 180
    assert show_temperature(1208, "F") == f"2206{THIN}°F"
    assert show_rate(-60, "C") == f"{MINUS}60{THIN}°C/h"


def test_small_wording():
    assert write_elapsed(7 * 3600 + 54 * 60 + 10) == f"7{THIN}h{THIN}54"
    assert write_signed(-16) == f"{MINUS}16"
    assert write_signed(18) == "+18"
    assert write_signed(-0.2) == "0"


def test_round_values_only():
    assert nice_values(-20, 1378, 6) == [0, 250, 500, 750, 1000, 1250]
