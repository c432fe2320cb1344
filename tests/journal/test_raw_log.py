"""What the log reader set aside stays with the firing, and goes out with an export."""

import csv
import io
import zipfile
from pathlib import Path

import numpy as np

from studiolog.journal.curve_facts import facts_of_curve
from studiolog.journal.firing_log import keep_log_file, log_from_reading
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.raw_log import find_left_out, read_stored_log
from studiolog.journal.safekeeping import export
from studiolog.journal.writing import change
from studiolog.records.firings import Curve
from studiolog.transfer.temperature_log import read_temperature_log

LOGS = Path(__file__).parents[1] / "transfer" / "logs"
SPIKY, THREE_COLUMNS = "09_open_thermocouple_spikes.csv", "11_preamble_setpoint_footer.csv"


def keep(studio, name: str):
    content = (LOGS / name).read_bytes()
    reading = read_temperature_log(content, name)
    log = log_from_reading(reading, content)
    studio.journal.edit("Log", lambda s: keep_log_file(s, studio.firing, log))
    return reading


def page_of(studio):
    return studio.journal.read(lambda s: read_firing_page(s, studio.firing))


def test_what_a_broken_thermocouple_said_stays_with_the_firing(studio) -> None:
    reading = keep(studio, SPIKY)
    curve = page_of(studio).main_curve
    assert not curve.left_out_in_file
    assert curve.readings_dropped == len(curve.left_out.elapsed_s) == 15
    assert "an open thermocouple" in curve.left_out.said()
    whole = np.sort(np.concatenate([curve.temperature_c, curve.left_out.values]))
    np.testing.assert_allclose(whole, np.sort(reading.primary.raw_temperature_c))


def test_set_point_and_duty_keep_theirs_too(studio) -> None:
    lines = (LOGS / THREE_COLUMNS).read_text(encoding="utf-8").splitlines()
    at = lines.index("Elapsed;SP;PV;Out %") + 40
    time_of_day, _set_point, measured, _duty = lines[at].split(";")
    lines[at] = f"{time_of_day};;{measured};"
    content = "\n".join(lines).encode()
    reading = read_temperature_log(content, "blanks.csv")
    log = log_from_reading(reading, content)
    studio.journal.edit("Log", lambda s: keep_log_file(s, studio.firing, log))
    for curve, channel in zip(page_of(studio).curves, reading.channels, strict=True):
        aside = 0 if curve.left_out is None else len(curve.left_out.elapsed_s)
        assert len(curve.elapsed_s) + aside == channel.raw_reason.size
    said = {c.role: c.left_out.said() for c in page_of(studio).curves if c.left_out is not None}
    assert said == {"setpoint": ("no reading",), "duty": ("no reading",)}


def test_a_log_kept_before_is_read_again_from_its_file(studio) -> None:
    keep(studio, SPIKY)
    stored = page_of(studio).main_curve.left_out

    def forget(session) -> None:
        for row in session.query(Curve).all():
            change(session, Curve, row.id, left_out=None)

    studio.journal.edit("As it was before", forget)
    curve = page_of(studio).main_curve
    assert curve.left_out_in_file
    log = studio.journal.read(lambda s: read_stored_log(s, studio.firing))
    found = find_left_out(log, curve.elapsed_s, curve.temperature_c)
    np.testing.assert_array_equal(found.values, stored.values)
    np.testing.assert_array_equal(found.reasons, stored.reasons)
    # A curve that the file no longer gives is left as it is: other choices were made then.
    assert find_left_out(log, curve.elapsed_s, curve.temperature_c + 1.0) is None


def test_what_the_sums_set_aside_is_told_apart_and_none_of_it_is_lost() -> None:
    t = np.arange(0, 12 * 3600, 60.0)
    c = np.interp(t, [0, 8 * 3600, 9 * 3600, 12 * 3600], [20, 1222, 1222, 600])
    c[300] += 300.0
    facts = facts_of_curve(t, c)
    assert [(a.elapsed_s, a.temperature_c) for a in facts.set_aside] == [(t[300], c[300])]
    assert "spike" in facts.set_aside[0].why
    assert facts.kept.sum() == t.size - 1
    assert facts.peak_c == 1222.0
    assert np.isclose(facts.along.cone[-1], facts.estimate.number, atol=0.02)


def test_an_export_has_every_reading_of_every_curve_and_the_logs_as_they_came(
    studio, tmp_path
) -> None:
    reading = keep(studio, SPIKY)
    with zipfile.ZipFile(export(studio.journal, tmp_path / "all.zip")) as archive:
        (curve,) = [n for n in archive.namelist() if n.startswith("curves/")]
        rows = list(csv.DictReader(io.StringIO(archive.read(curve).decode())))
        assert (
            archive.read("logs/firing-1-09_open_thermocouple_spikes.csv")
            == (LOGS / SPIKY).read_bytes()
        )
    assert len(rows) == reading.primary.raw_reason.size
    assert sum(row["left_out"] == "" for row in rows) == reading.rows_kept
    assert {row["temperature_c"] for row in rows if row["left_out"]} >= {"32767", "-200"}
    times = [float(row["elapsed_s"]) for row in rows]
    assert times == sorted(times)
