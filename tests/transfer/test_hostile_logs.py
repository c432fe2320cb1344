# ruff: noqa: E501  (the rows of a file are easier to compare on one line each)
"""One invented firing, written as other loggers would write it: it must come back the same."""

import csv
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from studiolog.problems import LogUnreadable
from studiolog.transfer.temperature_log import Choices, LogReading, read_temperature_log

LOGS = Path(__file__).parent / "logs"
START = datetime(2025, 6, 3, 8, 15)


def _true_firing() -> tuple[list[float], list[float]]:
    text = (LOGS / "01_bom_semicolon_comma.csv").read_text("utf-8-sig")
    rows = list(csv.reader(text.splitlines(), delimiter=";"))[1:]
    return [300.0 * at for at in range(len(rows))], [float(r[2].replace(",", ".")) for r in rows]


SECONDS, CELSIUS = _true_firing()
COUNT = len(SECONDS)
AT = [START + timedelta(seconds=s) for s in SECONDS]


def write(header: str, row: Callable[[int], str], end: str = "\n", count: int = COUNT) -> bytes:
    lines = ([header] if header else []) + [row(at) for at in range(count)]
    return (end.join(lines) + end).encode()


def comma(value: float) -> str:
    return f"{value:.1f}".replace(".", ",")


def hms(seconds: float) -> str:
    whole = int(seconds)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def f(celsius: float) -> float:
    return celsius * 1.8 + 32


def assert_same_firing(reading: LogReading, tolerance_c: float = 0.06) -> None:
    """The file held the whole of the true firing: every reading, at its time, as hot."""
    assert reading.rows_kept == COUNT
    np.testing.assert_allclose(reading.primary.elapsed_s, SECONDS, atol=0.5)
    np.testing.assert_allclose(reading.primary.temperature_c, CELSIUS, atol=tolerance_c)


def german(at: int) -> str:
    return f"{AT[at]:%d.%m.%Y %H:%M:%S};{comma(CELSIUS[at])}"


SAME = {
    "german tab": write("Zeitpunkt\tSollwert\tIsttemperatur", lambda i: f"{AT[i]:%d.%m.%Y %H:%M}\t{comma(CELSIUS[i] + 3)}\t{comma(CELSIUS[i])}"),
    "tab, minutes and decimal commas": write("minutes\ttemp °C", lambda i: f"{i * 5:.4f}\t{comma(CELSIUS[i])}0".replace(".", ",")),
    "a status in every row": write("time,temp,status", lambda i: f"{i * 300},{CELSIUS[i]},{'HEAT' if i % 2 else 'IDLE'}"),
    "one channel after the other": write("", lambda i: f"middle,{AT[i].isoformat()},{CELSIUS[i]}") + write("", lambda i: f"top,{AT[i].isoformat()},{CELSIUS[i] + 6:.1f}"),
    "commas between and within": write("min,temp", lambda i: f"{i * 5},{comma(CELSIUS[i])}"),
    "french": write("Temps (min);Température (°C);Consigne (°C);Puissance (%)", lambda i: f"{i * 5};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 4)};50"),
    "french hours": write("Heure;Mesure;Consigne", lambda i: f"{AT[i]:%d/%m/%Y %H:%M:%S};{comma(CELSIUS[i])};{i * 8}"),
    "spanish": write("Fecha,Hora,Temperatura,Consigna", lambda i: f"{AT[i]:%d/%m/%Y},{AT[i]:%H:%M:%S},{CELSIUS[i]},{CELSIUS[i] + 2:.0f}"),
    "italian": write("Data;Ora;Temperatura forno;Setpoint;Potenza", lambda i: f"{AT[i]:%d/%m/%Y};{AT[i]:%H.%M.%S};{comma(CELSIUS[i])};{comma(CELSIUS[i])};80".replace(".", ":")),
    "dutch": write("Tijdstip|Gemeten|Ingesteld|Vermogen", lambda i: f"{AT[i]:%Y-%m-%d %H:%M}|{CELSIUS[i]}|{CELSIUS[i] + 1:.1f}|20"),
    "japanese": write("日時,温度(℃),設定温度(℃),出力(%)", lambda i: f"{AT[i]:%Y/%m/%d %H:%M:%S},{CELSIUS[i]},{CELSIUS[i] + 5:.1f},40"),
    "japanese shift-jis": write("経過時間,炉内温度,設定", lambda i: f"{hms(SECONDS[i])},{CELSIUS[i]},{CELSIUS[i]:.0f}").decode().encode("cp932"),
    "latin-1": write("Zeit;Ist °C", german).decode().encode("cp1252"),
    "utf-16 le bom": b"\xff\xfe" + write("Zeit;Ist °C", german).decode().encode("utf-16-le"),
    "utf-16 be bom": b"\xfe\xff" + write("Zeit;Ist °C", german).decode().encode("utf-16-be"),
    "utf-16 le": write("Zeit;Ist °C", german).decode().encode("utf-16-le"),
    "utf-16 be": write("Zeit;Ist °C", german).decode().encode("utf-16-be"),
    "month first": write("Date,PV (°F)", lambda i: f"{AT[i]:%m/%d/%Y %I:%M:%S %p},{f(CELSIUS[i]):.2f}"),
    "degF cells": write("time,temp", lambda i: f"{i * 300},{f(CELSIUS[i]):.1f} °F"),
    "kelvin": write("t [s],T [K]", lambda i: f"{i * 300},{CELSIUS[i] + 273.15:.2f}"),
    "cells with unit": write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]} °C"),
    "units row": write("Zeit;Temperatur\n[min];[°C]", lambda i: f"{i * 5};{comma(CELSIUS[i])}"),
    "days and hours": write("Elapsed,PV", lambda i: f"{int(SECONDS[i] + 50000) // 86400}d {hms((SECONDS[i] + 50000) % 86400)},{CELSIUS[i]}"),
    "past 24 h": write("Time,PV", lambda i: f"{hms(SECONDS[i] + 50000)},{CELSIUS[i]}"),
    "epoch s": write("timestamp,temp", lambda i: f"{1748931300 + i * 300},{CELSIUS[i]}"),
    "epoch float": write("timestamp,temp", lambda i: f"{1748931300.25 + i * 300:.2f},{CELSIUS[i]}"),
    "epoch comma": write("timestamp;temp", lambda i: f"{1748931300 + i * 300},5;{comma(CELSIUS[i])}"),
    "serial days": write("Date;Temp", lambda i: f"{45811.34375 + i * 300 / 86400:.6f};{CELSIUS[i]}"),
    "no header": write("", lambda i: f"{i * 300},{CELSIUS[i]}"),
    "no header stamps": write("", lambda i: f"{AT[i].isoformat()};{CELSIUS[i]}"),
    "hours decimal": write("hours,temp", lambda i: f"{i / 12:.5f},{CELSIUS[i]}"),
    "unnamed hours": write("x,y", lambda i: f"{i / 12:.5f},{CELSIUS[i]}"),
    "iso basic": write("time,temp", lambda i: f"{AT[i]:%Y%m%dT%H%M%SZ},{CELSIUS[i]}"),
    "iso fraction comma": write("time;temp", lambda i: f"{AT[i].isoformat()},500+02:00;{CELSIUS[i]}"),
    "iso short offset": write("time;temp", lambda i: f"{AT[i].isoformat()}+02;{CELSIUS[i]}"),
    "fourteen digits": write("time;temp", lambda i: f"{AT[i]:%Y%m%d%H%M%S};{CELSIUS[i]}"),
    "two-digit years": write("time;temp", lambda i: f"{AT[i]:%d.%m.%y %H:%M};{comma(CELSIUS[i])}"),
    "month names": write("time,temp", lambda i: f"{AT[i]:%d-%b-%Y %H:%M:%S},{CELSIUS[i]}"),
    "thousands": write("time;temp", lambda i: f"{i * 300};{CELSIUS[i]:,.1f}".replace(",", "'")),
    "thousands dot": write("Zeit (s);Temp", lambda i: f"{i * 300};" + f"{CELSIUS[i]:,.1f}".replace(",", "x").replace(".", ",").replace("x", ".")),
    "thousands quoted": write("time,temp", lambda i: f'{i * 300},"{CELSIUS[i]:,.1f}"'),
    "comma decimals quoted": write("time,temp,note", lambda i: f'{i * 300},"{comma(CELSIUS[i])}","lid, shut"'),
    "all quoted": write('"time";"temp"', lambda i: f'"{AT[i].isoformat()}";"{CELSIUS[i]}"'),
    "newest first": write("time,temp", lambda i: f"{AT[-1 - i].isoformat()},{CELSIUS[-1 - i]}"),
    "spaces": write("time   temp", lambda i: f"{i * 300:>8}   {CELSIUS[i]:>8}"),
    "date and time by space": write("Date Time Temp", lambda i: f"{AT[i]:%Y-%m-%d} {AT[i]:%H:%M:%S} {CELSIUS[i]}"),
    "mac line ends": write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]}", end="\r"),
    "index first": write("No.,Time,Temp,Ambient", lambda i: f"{i + 1},{AT[i].isoformat()},{CELSIUS[i]},{21 + i % 3}"),
    "trailing separator": write("time;temp;", lambda i: f"{i * 300};{CELSIUS[i]};"),
    "wide": write("time,TC1 top,TC2 middle,TC3 bottom,cold junction", lambda i: f"{i * 300},{CELSIUS[i] + 6:.1f},{CELSIUS[i]},{CELSIUS[i] - 18:.1f},24"),
    "long with numbers": write("time,channel,value", lambda i: f"{AT[i].isoformat()},1,{CELSIUS[i]}\n{AT[i].isoformat()},2,{CELSIUS[i] - 30:.1f}"),
    "long with set point": write("time,tag,value", lambda i: f"{AT[i].isoformat()},PV,{CELSIUS[i]}\n{AT[i].isoformat()},SP,{CELSIUS[i] - 3:.1f}"),
    "repeated header": write("time,temp", lambda i: (f"time,temp\n{i * 300}" if i % 50 == 49 else f"{i * 300}") + f",{CELSIUS[i]}"),
    "elapsed wraps at a day": write("Elapsed,PV", lambda i: f"{hms((SECONDS[i] + 60000) % 86400)},{CELSIUS[i]}"),
    "preamble": b"Kiln report;;\nDate: 03.06.2025;;\nFiring no. 12;;\n\n" + write("Zeit;Ist;Soll", lambda i: f"{hms(SECONDS[i])};{comma(CELSIUS[i])};{comma(CELSIUS[i])}"),
    "repeated blocks of stamps": write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]}" + (f"\n{i * 300},{CELSIUS[i]}" if i % 7 == 0 else "")),
    "clock passes midnight": write("Uhrzeit;Ist", lambda i: f"{AT[i] + timedelta(hours=10):%H:%M};{comma(CELSIUS[i])}"),
    "twelve hours, no half": write("Time,PV", lambda i: f"{(AT[i]):%I:%M},{CELSIUS[i]}"),
    "autumn clock": write("time,temp", lambda i: f"{(datetime(2025, 10, 25, 20, tzinfo=UTC) + timedelta(seconds=SECONDS[i])).astimezone(timezone(timedelta(hours=2 if SECONDS[i] < 5 * 3600 else 1))):%Y-%m-%d %H:%M:%S},{CELSIUS[i]}"),
    "spring clock": write("time,temp", lambda i: f"{(datetime(2025, 3, 29, 20, tzinfo=UTC) + timedelta(seconds=SECONDS[i])).astimezone(timezone(timedelta(hours=1 if SECONDS[i] < 5 * 3600 else 2))):%Y-%m-%d %H:%M:%S},{CELSIUS[i]}"),
    "logger forgot the date": write("time,temp", lambda i: f"{(AT[i] if i < 60 else datetime(2000, 1, 1) + timedelta(seconds=SECONDS[i] - SECONDS[60])).isoformat()},{CELSIUS[i]}"),
    "ms": write("millis,temp", lambda i: f"{i * 300000},{CELSIUS[i]}"),
    "summary lines": write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]}") + b"\nAverage,700.1\nPeak temperature,1221.8\nDuration,13:05:00\n",
}  # fmt: skip


@pytest.mark.parametrize("name", SAME)
def test_the_same_firing_comes_back_from_another_loggers_file(name: str) -> None:
    assert_same_firing(read_temperature_log(SAME[name], f"{name}.csv"))


def test_a_date_that_reads_two_ways_is_asked_about() -> None:
    data = write(
        "time,temp", lambda i: f"{START + timedelta(seconds=60 * i):%d/%m/%Y %H:%M},{CELSIUS[i]}"
    )
    reading = read_temperature_log(data, "log.csv")
    asked = reading.question("date_order")
    assert asked is not None
    assert set(asked.options) == {"day first", "month first"}
    swapped = read_temperature_log(data, "log.csv", Choices(date_order="month first"))
    assert swapped.start == datetime(2025, 3, 6, 8, 15)
    assert swapped.question("date_order") is None


def test_a_firing_through_midnight_settles_the_order_of_its_dates() -> None:
    shift = timedelta(hours=10)
    data = write("time,temp", lambda i: f"{AT[i] + shift:%m/%d/%Y %H:%M},{CELSIUS[i]}")
    reading = read_temperature_log(data, "log.csv")
    assert reading.question("date_order") is None
    assert reading.start == START + shift


def test_a_peak_too_hot_for_celsius_is_asked_about_and_shown_as_fahrenheit() -> None:
    reading = read_temperature_log((LOGS / "02_fahrenheit_unlabelled.csv").read_bytes(), "a.csv")
    asked = reading.question("unit")
    assert asked is not None
    assert asked.proposed == "F"
    labelled = write("time,temp °C", lambda i: f"{i * 300},{f(CELSIUS[i]):.1f}")
    assert read_temperature_log(labelled, "b.csv").question("unit") is not None
    settled = read_temperature_log(labelled, "b.csv", Choices(unit="F"))
    assert settled.question("unit") is None
    assert_same_firing(settled)


def test_unlabelled_kelvin_is_proposed_as_kelvin() -> None:
    data = write("time,temp", lambda i: f"{i * 300},{CELSIUS[i] + 273.15:.2f}")
    reading = read_temperature_log(data, "k.csv")
    assert reading.unit == "K"
    assert reading.question("unit") is not None
    assert_same_firing(reading)


def test_a_column_of_temperatures_alone_asks_how_far_its_rows_lie_apart() -> None:
    data = write("temp", lambda i: f"{CELSIUS[i]}")
    reading = read_temperature_log(data, "one.csv")
    assert reading.question("sampling_s") is not None
    assert reading.rows_kept == COUNT
    assert_same_firing(read_temperature_log(data, "one.csv", Choices(sampling_s=300)))


@pytest.mark.parametrize(
    "word",
    ["", "NaN", "--", "n/a", "ERR", "OPEN", "###", "-999", "9999", "null", "  ", "-", "----"],
)
def test_a_missing_reading_is_a_gap_in_any_spelling(word: str) -> None:
    data = write("time,temp", lambda i: f"{i * 300},{word if i % 10 == 5 else CELSIUS[i]}")
    reading = read_temperature_log(data, "gaps.csv")
    kept = [i for i in range(COUNT) if i % 10 != 5]
    assert reading.rows_kept == len(kept)
    assert reading.rows_dropped == COUNT - len(kept)
    np.testing.assert_allclose(reading.primary.temperature_c, [CELSIUS[i] for i in kept])
    # The raw readings keep a place for each.
    assert reading.primary.raw_elapsed_s.size == COUNT


def test_a_restarts_time_off_is_asked_and_can_be_told() -> None:
    data = (LOGS / "07_logger_restart.csv").read_bytes()
    asked = read_temperature_log(data, "r.csv")
    assert asked.question("restart_gap_s") is not None
    told = read_temperature_log(data, "r.csv", Choices(restart_gap_s=900))
    assert told.question("restart_gap_s") is None
    assert told.duration_h == pytest.approx(asked.duration_h + 600 / 3600)


def test_an_hour_of_open_thermocouple_is_left_out() -> None:
    data = write("time,temp", lambda i: f"{i * 300},{1372.0 if 60 <= i < 72 else CELSIUS[i]}")
    reading = read_temperature_log(data, "open.csv")
    assert reading.rows_kept == COUNT - 12
    assert reading.peak_c == pytest.approx(1221.8)
    assert reading.gaps == ((59 * 300.0, 72 * 300.0),)


def test_a_sharp_peak_and_a_steep_fall_are_kept() -> None:
    rise = [20 + 20 * i for i in range(60)]
    fall = [1200 - 80 * i for i in range(1, 14)]
    data = "min,temp\n" + "".join(f"{i},{t}\n" for i, t in enumerate(rise + fall))
    reading = read_temperature_log(data.encode(), "raku.csv")
    assert reading.rows_kept == 73
    assert reading.peak_c == 1200


def test_rows_that_share_a_minute_are_spread_over_it() -> None:
    times = [START + timedelta(seconds=15 * i) for i in range(2000)]
    data = "time,temp\n" + "".join(
        f"{t:%Y-%m-%d %H:%M},{20 + 0.5 * i:.1f}\n" for i, t in enumerate(times)
    )
    reading = read_temperature_log(data.encode(), "coarse.csv")
    assert reading.rows_kept == 2000
    np.testing.assert_allclose(reading.primary.elapsed_s, 15 * np.arange(2000), atol=1)


def test_a_number_cut_through_at_the_end_is_left_out() -> None:
    whole = write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]}").rstrip(b"\n")
    reading = read_temperature_log(whole[:-3], "cut.csv")
    assert reading.rows_kept == COUNT - 1
    assert any(note.kind == "cut_off" for note in reading.notes)


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"", "empty"),
        (b"\x00" * 4000, "empty"),
        (b"\n\n  \n", "empty"),
        (b"PK\x03\x04" + bytes(range(256)) * 4, "workbook"),
        (bytes(range(256)) * 40, "text"),
        (b"time,temp\n", "no readings"),
        (b"Dear Ana,\nthe kiln is fixed.\nBest, M.\n", "no readings"),
    ],
)
def test_a_file_that_is_no_log_is_refused_by_name(data: bytes, word: str) -> None:
    with pytest.raises(LogUnreadable, match=word) as refused:
        read_temperature_log(data, "strange.csv")
    assert "strange.csv" in refused.value.sentence


def test_a_date_in_the_files_name_is_proposed_as_the_start() -> None:
    data = (LOGS / "14_ampm_no_date.csv").read_bytes()
    reading = read_temperature_log(data, "glaze_2025-06-03.csv")
    assert reading.start == datetime(2025, 6, 3, 21, 30)
    assert reading.question("start") is not None
    told = read_temperature_log(data, "x.csv", Choices(start=datetime(2025, 6, 4, 21, 30)))
    assert told.question("start") is None


def test_the_potter_can_say_which_column_is_which() -> None:
    data = write("s,a,b", lambda i: f"{i * 300},{CELSIUS[i] + 40:.1f},{CELSIUS[i]}")
    reading = read_temperature_log(
        data, "ab.csv", Choices(columns={"a": "setpoint", "b": "measured"})
    )
    assert_same_firing(reading)
    assert [c.role for c in reading.channels] == ["setpoint", "measured"]
    assert_same_firing(read_temperature_log(data, "ab.csv", Choices(columns={"a": "ignored"})))


def test_a_hundred_thousand_rows_are_read_while_one_waits() -> None:
    import time

    t = np.arange(100_000)
    heat = 20 + 1200 * np.sin(np.pi * t / t.size)
    data = ("s;temp\n" + "".join(f"{a};{b:.1f}\n" for a, b in zip(t, heat, strict=True))).encode()
    began = time.process_time()
    reading = read_temperature_log(data, "long.csv")
    assert reading.rows_kept == 100_000
    assert time.process_time() - began < 6  # about 0.6 s where it was measured


@pytest.mark.parametrize("year", ["0001", "9999"])
def test_a_clock_of_an_impossible_year_is_blamed_and_not_the_thermocouple(year: str) -> None:
    rows = [f"{year}-01-01 {at // 60:02d}:{at % 60:02d},{20 + at}" for at in range(300)]
    with pytest.raises(LogUnreadable, match=r"no readable time in any row.*logger's clock"):
        read_temperature_log("\n".join(["time,temp", *rows]).encode(), "slow clock.csv")
