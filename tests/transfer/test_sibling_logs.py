# ruff: noqa: E501  (the rows of a file are easier to compare on one line each)
"""More loggers' ways with one invented firing: siblings of the example logs, each mended once."""

from datetime import UTC, datetime, timedelta

import pytest

from studiolog.transfer.curve_report import describe_reading
from studiolog.transfer.temperature_log import read_temperature_log
from tests.transfer.test_hostile_logs import (
    AT,
    CELSIUS,
    COUNT,
    SECONDS,
    assert_same_firing,
    comma,
    f,
    german,
    hms,
    write,
)

EPOCH = 1748931300

SAME = {
    "french, elapsed": write("Temps écoulé (s);Temp. four;Consigne", lambda i: f"{i * 300};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 5)}"),
    "french, time and target": write("Minutes écoulées;Mesure °C;Température cible", lambda i: f"{i * 5};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 5)}"),
    "spanish, programmed": write("Tiempo (min);Temperatura real;Temperatura programada", lambda i: f"{i * 5};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 5)}"),
    "portuguese": write("Data;Hora;Temperatura atual;Temperatura desejada", lambda i: f"{AT[i]:%d/%m/%Y};{AT[i]:%H:%M};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 5)}"),
    "polish, set point first": write("Data;Godzina;Temperatura zadana;Temperatura zmierzona", lambda i: f"{AT[i]:%Y-%m-%d};{AT[i]:%H:%M};{comma(CELSIUS[i] + 5)};{comma(CELSIUS[i])}"),
    "swedish": write("Tid;Ärvärde;Börvärde", lambda i: f"{AT[i]:%Y-%m-%d %H:%M};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 5)}"),
    "danish": write("Tidspunkt;Målt temperatur;Ønsket temperatur", lambda i: f"{AT[i]:%d-%m-%Y %H:%M};{comma(CELSIUS[i])};{comma(CELSIUS[i] + 5)}"),
    "a spreadsheet's fractions of a day": write("Time,Temp", lambda i: f"{i * 300 / 86400:.7f},{CELSIUS[i]}"),
    "a spreadsheet's time of day": write("Time,Temp", lambda i: f"{((i * 300 + 72000) % 86400) / 86400:.7f},{CELSIUS[i]}"),
    "every row twice": write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]}\n{i * 300},{CELSIUS[i]}"),
    "the file appended to itself": write("time,temp", lambda i: f"{AT[i].isoformat()},{CELSIUS[i]}") + write("", lambda i: f"{AT[i].isoformat()},{CELSIUS[i]}"),
    "rows in no order": write("ts,v", lambda i: f"{(EPOCH + i * 37 % COUNT * 300) * 1000},{CELSIUS[i * 37 % COUNT]}"),
    "a footer of another width": write("Temps;Mesure", lambda i: f"{hms(SECONDS[i])};{comma(CELSIUS[i])}") + "Maximum : 1221,8\nDurée totale : 13:05\nFin\n".encode(),
    "an interval above the table": b"Interval: 300 s\nStart: 2025-06-03 08:15\nTemp\n" + write("", lambda i: f"{CELSIUS[i]}"),
    "tabs and semicolons by turns": write("time;temp", lambda i: f"{i * 300}{';' if i % 2 else chr(9)}{CELSIUS[i]}"),
    "a header parted otherwise": b"time\ttemp\n" + write("", lambda i: f"{i * 300},{CELSIUS[i]}"),
    "another separator half way": write("time,temp", lambda i: f"{i * 300}{',' if i < 80 else ';'}{CELSIUS[i]}"),
    "as the C library writes stamps": write("time,temp", lambda i: f"{AT[i]:%a %b %d %H:%M:%S %Y},{CELSIUS[i]}"),
    "a date and a time in bare digits": write("date,time,temp", lambda i: f"{AT[i]:%Y%m%d},{AT[i]:%H%M%S},{CELSIUS[i]}"),
    "hours and minutes apart": write("hours,minutes,temp", lambda i: f"{i * 5 // 60},{i * 5 % 60},{CELSIUS[i]}"),
    "a column for each part of a date": write("year,month,day,hour,minute,temp", lambda i: f"{AT[i].year},{AT[i].month},{AT[i].day},{AT[i].hour},{AT[i].minute},{CELSIUS[i]}"),
    "Uhr behind the time": write("Zeit;Temp", lambda i: f"{AT[i]:%d.%m.%Y, %H:%M} Uhr;{comma(CELSIUS[i])}"),
    "long, german": write("time;sensor;temp", lambda i: f"{AT[i]:%Y-%m-%d %H:%M:%S};oben;{comma(CELSIUS[i] + 6)}\n{AT[i]:%Y-%m-%d %H:%M:%S};mitte;{comma(CELSIUS[i])}"),
    "°C and °F side by side": write("time,temp C,temp F", lambda i: f"{i * 300},{CELSIUS[i]},{f(CELSIUS[i]):.1f}"),
    "a unit grown onto the name": write("time,TempF,SetF", lambda i: f"{i * 300},{f(CELSIUS[i]):.1f},{f(CELSIUS[i] + 3):.1f}"),
    "a preamble as wide as the table": b"Firing report,,,\nKiln,Big kiln,,\nStart,2025-06-03 08:15:00,,\n,,,\n" + write("Time (min),Temp,Setpoint,Output (%)", lambda i: f"{i * 5},{CELSIUS[i]},{CELSIUS[i] + 3:.1f},{40 + i % 50}"),
    "spaces and decimal commas": write("time temp", lambda i: f"{AT[i]:%d.%m.%Y %H:%M:%S} {comma(CELSIUS[i])}"),
    "three decimals": write("t;T", lambda i: f"{i * 300};{CELSIUS[i]:.3f}"),
    "three decimals, comma": write("t;T", lambda i: f"{i * 300};{CELSIUS[i]:.3f}".replace(".", ",")),
    "scientific notation": write("t;T", lambda i: f"{i * 300:.6E};{CELSIUS[i]:.4E}".replace(".", ",")),
    "UTF-16 with a mark": write("Zeit;Ist °C", german).decode().encode("utf-16"),
    "NUL bytes behind": write("time,temp", lambda i: f"{i * 300},{CELSIUS[i]}") + b"\0" * 4096,
    "a marker between two columns of power": write("time;volts;amps;temp;kWh", lambda i: f"{i * 300};230;{12 if i % 2 else 0};{CELSIUS[i]};{i * 0.4:.2f}"),
}  # fmt: skip


@pytest.mark.parametrize("name", SAME)
def test_the_same_firing_comes_back(name: str) -> None:
    reading = read_temperature_log(SAME[name], "log.csv")
    assert_same_firing(reading)
    asked = {question.key for question in reading.questions} - {"start", "date_order"}
    assert asked <= ({"primary_channel"} if name == "long, german" else set())


def test_whole_degrees_with_points_between_thousands() -> None:
    data = write("min;temp", lambda i: f"{i * 5};" + f"{round(CELSIUS[i]):,}".replace(",", "."))
    assert_same_firing(read_temperature_log(data, "log.csv"), tolerance_c=0.51)


@pytest.mark.parametrize(
    ("header", "behind", "hours"),
    [
        ("time (UTC)", "", 0),
        ("time (UTC+2)", "", 2),
        ("time", " CEST", 2),
        ("time", " MESZ", 2),
        ("time", " Europe/Berlin", 2),
        ("time", "+02:00[Europe/Berlin]", 2),
        ("time", " EST", -5),
    ],
)
def test_a_zone_is_honoured_wherever_it_is_named(header: str, behind: str, hours: int) -> None:
    data = write(f"{header};temp", lambda i: f"{AT[i]:%Y-%m-%d %H:%M:%S}{behind};{CELSIUS[i]}")
    start = read_temperature_log(data, "log.csv").start
    assert start is not None
    assert start.tzinfo is not None
    assert start.astimezone(UTC).replace(tzinfo=None) == AT[0] - timedelta(hours=hours)


@pytest.mark.parametrize(
    "row",
    [
        lambda i: f"{(AT[i] if i < 70 else datetime(1970, 1, 1) + timedelta(seconds=SECONDS[i - 70])):%Y-%m-%d %H:%M:%S},{CELSIUS[i]}",
        lambda i: f"{hms(SECONDS[i] if i < 90 else SECONDS[i - 90])},{CELSIUS[i]}",
        lambda i: f"{i * 5 if i < 100 else (i - 100) * 5},{CELSIUS[i]}",
        lambda i: f"{i * 300 if i < 60 else (i - 60) * 300 if i < 110 else (i - 110) * 300},{CELSIUS[i]}",
        lambda i: ("--- logger start ---\n" if i in (0, 80) else "") + f"{i % 80 * 300},{CELSIUS[i]}",
    ],
)  # fmt: skip
def test_a_reset_clock_is_joined_in_the_files_order_and_asked_about(row: object) -> None:
    assert callable(row)
    data = write("time,temp", lambda i: row(i), count=158)
    reading = read_temperature_log(data, "log.csv")
    assert reading.rows_kept == 158
    assert reading.primary.temperature_c.tolist() == CELSIUS
    asked = reading.question("restart_gap_s")
    assert asked is not None
    assert asked.proposed == "300"


def test_lines_parted_otherwise_are_told() -> None:
    reading = read_temperature_log(SAME["another separator half way"], "log.csv")
    assert reading.rows_repaired == COUNT - 80
    assert "mixed_separators" in {note.kind for note in reading.notes}


def test_three_readings_make_a_thin_log_with_a_wide_cone() -> None:
    report = describe_reading(
        read_temperature_log(b"time,temp\n0,20\n3600,600\n7200,1100\n", "x.csv")
    )
    assert (report["rows_kept"], report["peak_c"]) == (3, 1100.0)
    assert report["cone_low"] < report["cone"] < report["cone_high"]
    assert any(note["kind"] == "thin" for note in report["notes"])


def test_a_column_that_never_measured_is_told_and_gives_no_firing() -> None:
    from studiolog.problems import LogUnreadable

    with pytest.raises(LogUnreadable, match="every cell of “temp”"):
        read_temperature_log(b"time,temp\n0,----\n60,----\n120,----\n", "x.csv")
