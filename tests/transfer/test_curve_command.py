"""The command ``curve FILE --json``: every statement of the example logs, and folders."""

import json
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from studiolog.__main__ import main

LOGS = Path(__file__).parent / "logs"
TOLD: dict[str, Any] = json.loads((LOGS / "expected.json").read_text())["files"]
KEYS = {
    "rows_kept", "rows_repaired", "rows_dropped", "unit", "start", "duration_h", "peak_c", "cone",
    "cone_low", "cone_high", "channels", "notes", "questions",
}  # fmt: skip


def curve(path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, Any]:
    code = main(["curve", str(path), "--json"])
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return code, json.loads(out) if out else err


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[int, Any]]:
    """The command once over every example."""
    import contextlib
    import io

    read: dict[str, tuple[int, Any]] = {}
    for name in TOLD:
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            code = main(["curve", str(LOGS / name), "--json"])
        read[name] = code, json.loads(out.getvalue())
    return read


@pytest.mark.parametrize("name", TOLD)
def test_the_command_says_of_an_example_what_it_holds(
    name: str, reports: dict[str, tuple[int, Any]]
) -> None:
    code, report = reports[name]
    told = TOLD[name]
    assert report.keys() >= KEYS
    assert report["rows_kept"] == told["rows_usable"]
    assert code == (1 if report["questions"] or not report["rows_kept"] else 0)
    if not told["rows_usable"]:
        assert report["cone"] is None
        assert report["notes"][0]["sentence"]
        return
    assert report["peak_c"] == pytest.approx(told["peak_c"], abs=0.06)
    assert report["duration_h"] == pytest.approx(told["duration_h"], abs=0.005)
    assert report["cone"] == pytest.approx(told["cone_ordinal"], abs=0.1)
    assert report["cone_low"] < report["cone"] < report["cone_high"]
    if "start_utc" in told:
        start = datetime.fromisoformat(report["start"])
        if start.tzinfo is None:
            start = start.replace(tzinfo=ZoneInfo("Europe/Berlin"))
        assert start == datetime.fromisoformat(told["start_utc"])


def test_the_command_does_what_each_example_demands(reports: dict[str, tuple[int, Any]]) -> None:
    report = {name[:2]: told for name, (_, told) in reports.items()}
    roles = {n: {c["name"]: c["role"] for c in told["channels"]} for n, told in report.items()}
    kinds = {n: {note["kind"] for note in told["notes"]} for n, told in report.items()}
    asked = {n: {q["key"]: q for q in told["questions"]} for n, told in report.items()}
    assert roles["01"] == {"Soll °C": "setpoint", "Ist °C": "measured"}
    assert (asked["02"]["unit"]["proposed"], report["02"]["unit"]) == ("F", "F")
    assert "2231" in asked["02"]["unit"]["sentence"], "both readings are shown"
    assert kinds["04"] >= {"out_of_order", "duplicate", "same_stamp"}
    assert (report["04"]["rows_repaired"], report["04"]["rows_dropped"]) == (1, 2)
    assert asked["07"]["restart_gap_s"]["proposed"] == "300"
    assert report["08"]["rows_dropped"] == 27
    assert report["08"]["start"].endswith("+02:00")
    assert kinds["09"] >= {"open_circuit", "out_of_range"}
    assert report["09"]["rows_dropped"] == 158 - 143
    peaks = {c["name"]: c["peak_c"] for c in report["10"]["channels"]}
    assert peaks == {"top": 1227.8, "middle": 1221.8, "bottom": 1203.8}
    assert report["10"]["primary"] == "middle"
    assert roles["11"] == {"SP": "setpoint", "PV": "measured", "Out %": "duty"}
    assert "midnight" in kinds["14"]
    assert asked["14"]["start"]["proposed"] == ""
    assert "damaged" in kinds["16"]
    assert report["16"]["rows_dropped"] == 1


def test_a_folder_gives_a_report_for_every_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("01_bom_semicolon_comma.csv", "20_header_only.csv"):
        shutil.copy(LOGS / name, tmp_path / name)
    (tmp_path / "kiln.jpg").write_bytes(b"\xff\xd8\xff\xe0")
    (tmp_path / "letter.txt").write_text("Dear Ana,\n\nthe 3 bowls came out well.\n")
    code, told = curve(tmp_path, capsys)
    assert code == 1
    assert [report["file"] for report in told] == [
        "01_bom_semicolon_comma.csv", "20_header_only.csv", "kiln.jpg", "letter.txt",
    ]  # fmt: skip
    assert told[0]["problem"] is None
    assert told[0]["rows_kept"] == 158
    assert all(report["rows_kept"] == 0 and report["notes"] for report in told[1:])
    assert "picture" in told[2]["problem"]


def test_numbers_that_are_no_firing_are_read_and_doubted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [f"2026-09-01 08:{at:02d},{20 + at % 3}" for at in range(60)]
    (tmp_path / "room.csv").write_text("\n".join(["time,temp (°C)", *rows, ""]))
    code, report = curve(tmp_path / "room.csv", capsys)
    assert code == 1
    assert report["rows_kept"] == 60
    assert "never passes" in report["notes"][-1]["sentence"]


def test_an_empty_folder_is_told_in_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "empty").mkdir()
    assert main(["curve", str(tmp_path / "empty")]) == 2
    assert "no file in this folder" in capsys.readouterr().err


def test_a_file_that_is_no_text_is_refused_in_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "log.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
    assert main(["curve", str(tmp_path / "log.csv"), "--json"]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert err.count("\n") == 1
    assert "picture" in err
