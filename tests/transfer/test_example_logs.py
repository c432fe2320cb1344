"""Every example log of one invented firing gives what its sidecar says."""

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from studiolog.problems import LogUnreadable
from studiolog.transfer.curve_report import describe_curve_file
from studiolog.transfer.temperature_log import LogReading, read_temperature_log

LOGS = Path(__file__).parent / "logs"
EXPECTED: dict[str, Any] = json.loads((LOGS / "expected.json").read_text())["files"]
WITH_ROWS = [name for name, told in EXPECTED.items() if told["rows_usable"]]


def read(name: str) -> LogReading:
    return read_temperature_log((LOGS / name).read_bytes(), name)


@pytest.mark.parametrize("name", WITH_ROWS)
def test_an_example_log_gives_the_rows_peak_and_span_it_holds(name: str) -> None:
    reading, told = read(name), EXPECTED[name]
    assert reading.rows_kept == told["rows_usable"]
    assert reading.peak_c == pytest.approx(told["peak_c"], abs=0.06)
    assert reading.duration_h == pytest.approx(told["duration_h"], abs=0.005)
    if "start_utc" in told:
        start = reading.start
        assert start is not None
        if start.tzinfo is None:
            start = start.replace(tzinfo=ZoneInfo("Europe/Berlin"))
        assert start == datetime.fromisoformat(told["start_utc"])


@pytest.mark.parametrize("name", WITH_ROWS)
def test_an_example_log_reports_the_cone_it_reached(name: str) -> None:
    report = describe_curve_file(LOGS / name)
    assert report["cone"] == pytest.approx(EXPECTED[name]["cone_ordinal"], abs=0.1)
    assert report["cone_low"] <= report["cone"] <= report["cone_high"]
    json.dumps(report, allow_nan=False)


def test_a_log_with_a_header_only_is_reported_and_refused() -> None:
    report = describe_curve_file(LOGS / "20_header_only.csv")
    assert report["rows_kept"] == 0
    assert report["notes"]
    with pytest.raises(LogUnreadable, match=r"20_header_only\.csv"):
        read("20_header_only.csv")


def test_set_point_and_duty_are_told_from_the_measured_column() -> None:
    german = read("01_bom_semicolon_comma.csv")
    assert {c.name: c.role for c in german.channels} == {
        "Soll °C": "setpoint",
        "Ist °C": "measured",
    }
    assert {c.name: c.taken_as for c in german.columns}["Bemerkung"] == "ignored"
    footed = read("11_preamble_setpoint_footer.csv")
    assert {c.name: c.role for c in footed.channels} == {
        "SP": "setpoint",
        "PV": "measured",
        "Out %": "duty",
    }


def test_disorder_and_duplicates_are_mended_and_told() -> None:
    reading = read("04_epoch_ms_disorder_duplicates.csv")
    assert {note.kind for note in reading.notes} >= {"out_of_order", "duplicate", "same_stamp"}
    assert (reading.rows_repaired, reading.rows_dropped) == (1, 2)
    at = 1748957700 - 1748931300
    kept = reading.primary.temperature_c[reading.primary.elapsed_s == at]
    assert kept.tolist() == [980.1]


def test_a_restart_is_joined_and_its_time_off_asked() -> None:
    reading = read("07_logger_restart.csv")
    asked = reading.question("restart_gap_s")
    assert asked is not None
    assert asked.proposed == "300"


def test_missing_readings_are_counted_and_make_gaps_not_zeros() -> None:
    reading = read("08_missing_values.csv")
    assert reading.rows_dropped == 27
    assert reading.primary.temperature_c.min() == 20.0
    assert reading.start is not None
    assert reading.start.utcoffset() == timedelta(hours=2)


def test_three_channels_in_one_column_are_three_curves() -> None:
    reading = read("10_long_three_channels.csv")
    assert reading.primary.name == "middle"
    peaks = {channel.name: channel.peak_c for channel in reading.channels}
    assert peaks == {"top": 1227.8, "middle": 1221.8, "bottom": 1203.8}
    assert reading.question("primary_channel") is not None


@pytest.mark.parametrize("name", ["curve_H01.csv", "curve_R02.csv", "curve_G01.csv"])
def test_a_clean_curve_loses_nothing(name: str) -> None:
    reading = read(name)
    assert reading.rows_dropped == 0
    assert reading.rows_kept == len((LOGS / name).read_text().splitlines()) - 1


def test_the_same_bytes_are_known_again() -> None:
    name = "01_bom_semicolon_comma.csv"
    data = (LOGS / name).read_bytes()
    assert read_temperature_log(data, "copy.csv").sha256 == read(name).sha256
