"""Units: fixed points that anybody can look up, and how quantities read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft import units
from studiolog.problems import UserProblem


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [(0, 32), (100, 212), (-40, -40), (1222, 2231.6)]
)
def test_temperatures(celsius, fahrenheit):
    assert units.fahrenheit_from_celsius(celsius) == pytest.approx(fahrenheit)
    assert units.celsius_from_fahrenheit(fahrenheit) == pytest.approx(celsius)


def test_rates_leave_the_32_out():
    # The charts print both: 60 °C/h is 108 °F/h, 150 °C/h is 270 °F/h.
    assert units.fahrenheit_step_from_celsius(60) == pytest.approx(108)
    assert units.celsius_step_from_fahrenheit(270) == pytest.approx(150)


def test_quantities_have_a_thin_space_and_a_true_minus():
    assert units.show_temperature(1222) == "1222\u202f°C"
    assert units.show_temperature(1222, "F") == "2232\u202f°F"
    assert units.show_temperature(-3.46, decimals=1) == "\u22123.5\u202f°C"
    assert units.show_temperature(-0.2) == "0\u202f°C"
    assert units.show_temperature_step(7) == "+7\u202f°C"
    assert units.show_temperature_step(-10, "F") == "\u221218\u202f°F"
    assert units.show_temperature_step(0.2) == "0\u202f°C"
    assert units.show_rate(60) == "60\u202f°C/h"
    assert units.show_rate(60, "F") == "108\u202f°F/h"
    assert units.show_quantity(12.34, "%", 1) == "12.3\u202f%"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0\u202fs"),
        (30, "30\u202fs"),
        (45 * 60, "45\u202fmin"),
        (3600, "1\u202fh"),
        (13 * 3600 + 5 * 60, "13\u202fh 05\u202fmin"),
        (7199, "2\u202fh"),
        (-600, "\u221210\u202fmin"),
    ],
)
def test_durations(seconds, text):
    assert units.show_duration(seconds) == text


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [
        ("90", 5400),
        ("90 min", 5400),
        ("1:30", 5400),
        ("1 h 30 min", 5400),
        ("1.5h", 5400),
        ("1,5 h", 5400),
        ("0:00:20", 20),
        ("2 days", 172800),
    ],
)
def test_durations_as_a_potter_types_them(typed, seconds):
    assert units.parse_duration(typed) == seconds


@pytest.mark.parametrize("typed", ["", "soon", "-5 min", "1:75", "h"])
def test_what_is_no_duration_is_said(typed):
    with pytest.raises(UserProblem, match="duration"):
        units.parse_duration(typed)


def test_temperatures_as_a_potter_types_them():
    assert units.parse_temperature("1222") == 1222
    assert units.parse_temperature("1222 °C", "F") == 1222
    assert units.parse_temperature("2232 F") == pytest.approx(1222.2, abs=0.03)
    assert units.parse_temperature("212", "F") == pytest.approx(100)
    assert units.parse_temperature("−5") == -5
    for typed in ("", "hot", "°C"):
        with pytest.raises(UserProblem):
            units.parse_temperature(typed)


def test_numbers_with_points_commas_and_gaps():
    assert units.parse_number(" 1 222,5 ") == 1222.5
    assert units.parse_number(".5") == 0.5
    for typed in ("1.2.3", "nan", "inf", "12 g", "1 2"):
        with pytest.raises(UserProblem, match="not a number"):
            units.parse_number(typed)


@given(st.floats(-200, 3000))
def test_there_and_back(value):
    assert units.celsius_from_fahrenheit(units.fahrenheit_from_celsius(value)) == pytest.approx(
        value
    )


def test_an_unknown_scale_is_a_bug():
    with pytest.raises(ValueError, match="C or F"):
        units.show_temperature(20, "K")
