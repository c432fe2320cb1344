"""Stamps of a log against the forms of ISO 8601-1:2019 (clauses named; examples from memory).

Basic forms have no separators, extended forms have them. The same instant is written in each.
"""

from datetime import UTC, datetime, timedelta

import pytest

from studiolog.transfer.temperature_log import read_temperature_log
from studiolog.transfer.temperature_log.stamps import read_clock_time, read_stamp

EPOCH = datetime(1970, 1, 1)

# 23:20:30 on 12 April 1985 is the standard's own example of a time of day and date.
FORMS = {
    "calendar date, basic (5.2.2)": ("19850412T232030", None),
    "calendar date, extended (5.2.2)": ("1985-04-12T23:20:30", None),
    "ordinal date, basic (5.2.3)": ("1985102T232030", None),
    "ordinal date, extended (5.2.3)": ("1985-102T23:20:30", None),
    "week date, basic (5.2.4)": ("1985W155T232030", None),
    "week date, extended (5.2.4)": ("1985-W15-5T23:20:30", None),
    "UTC of day, basic (5.3.3)": ("19850412T232030Z", 0),
    "UTC of day, extended (5.3.3)": ("1985-04-12T23:20:30Z", 0),
    "local time and shift, basic (5.3.4)": ("19850412T232030+0400", 14400),
    "local time and shift, hours only (5.3.4)": ("19850412T232030+04", 14400),
    "local time and shift, extended (5.3.4)": ("1985-04-12T23:20:30+04:00", 14400),
    "local time and shift, extended, hours only (5.3.4)": ("1985-04-12T23:20:30+04", 14400),
    "shift behind UTC (5.3.4)": ("1985-04-12T23:20:30-05:30", -19800),
    "decimal second, comma (5.3.1.4)": ("1985-04-12T23:20:30,0", None),
    "decimal second, full stop (5.3.1.4)": ("1985-04-12T23:20:30.0", None),
    "decimal minute, extended (5.3.1.4)": ("1985-04-12T23:20,5", None),
    "decimal minute, basic (5.3.1.4)": ("19850412T2320,5", None),
    "decimal minute with shift (5.3.1.4)": ("1985-04-12T23:20.5Z", 0),
}


@pytest.mark.parametrize("form", FORMS)
def test_a_stamp_in_each_form_names_the_same_wall_clock(form: str) -> None:
    text, offset = FORMS[form]
    read = read_stamp(text)
    assert read is not None
    seconds, shift = read
    assert shift == offset
    wall = EPOCH + timedelta(seconds=seconds + (shift or 0))
    assert wall == datetime(1985, 4, 12, 23, 20, 30)


def test_a_decimal_hour_is_a_fraction_of_the_hour() -> None:
    read = read_stamp("1985-04-12T23,25Z")
    assert read is not None
    assert EPOCH + timedelta(seconds=read[0]) == datetime(1985, 4, 12, 23, 15)


def test_a_decimal_fraction_of_a_second_is_kept() -> None:
    read = read_stamp("1985-04-12T23:20:30,25Z")
    assert read is not None
    assert read[0] % 1 == 0.25


def test_a_stamp_of_reduced_precision_ends_with_its_minutes() -> None:
    for text in ("1985-04-12T23:20", "19850412T2320"):
        read = read_stamp(text)
        assert read is not None
        assert EPOCH + timedelta(seconds=read[0]) == datetime(1985, 4, 12, 23, 20)


def test_the_end_of_a_day_is_the_start_of_the_next() -> None:
    end, start = read_stamp("1985-04-12T24:00:00Z"), read_stamp("1985-04-13T00:00:00Z")
    assert end == start


def test_a_positive_leap_second_is_read() -> None:
    leap, after = read_stamp("2016-12-31T23:59:60Z"), read_stamp("2017-01-01T00:00:00Z")
    assert leap == after


def test_a_duration_with_designators_counts_seconds() -> None:
    assert read_clock_time("PT2H15M") == 8100
    assert read_clock_time("P1DT2H3M4S") == 93784


@pytest.mark.parametrize("text", ["1985-13-12T10:00:00", "1985-04-31T10:00", "1985-366", "1985-W54-1", "1985-04-12T25:00:00", "1985-04-12T10:61:00"])  # fmt: skip  # noqa: E501
def test_a_date_or_time_that_does_not_exist_is_not_read(text: str) -> None:
    assert read_stamp(text) is None


@pytest.mark.parametrize("form", ["%Y%m%dT%H%M%SZ", "%Y-%m-%dT%H:%M:%SZ", "%G-W%V-%uT%H:%M:%SZ", "%Y-%jT%H:%M:%SZ", "%YW", "%Y%jT%H%M%SZ"])  # fmt: skip  # noqa: E501
def test_a_log_in_each_form_starts_when_it_says(form: str) -> None:
    form = "%GW%V%uT%H%M%SZ" if form == "%YW" else form
    start = datetime(2025, 6, 3, 6, 15, tzinfo=UTC)
    rows = [f"{start + timedelta(minutes=5 * i):{form}},{20 + 5 * i}" for i in range(40)]
    reading = read_temperature_log(("time,temp\n" + "\n".join(rows) + "\n").encode(), "log.csv")
    assert reading.start == start
    assert reading.duration_h == pytest.approx(39 * 5 / 60)
