"""What the front doors refuse, in one sentence, leaving every file as it was."""

import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from studiolog.__main__ import main
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.safekeeping import back_up, check_journal, export
from studiolog.problems import UserProblem
from studiolog.transfer.curve_report import describe_curve_file


@pytest.mark.parametrize(
    "address",
    [
        "nothing://x",
        "://",
        "http://[bad",
        "postgresql://host:port/x",
        "postgresql://a@127.0.0.1:1/x",
    ],
)
def test_an_address_that_leads_nowhere_is_told(
    address: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--journal", address, "--photos", str(tmp_path / "photos"), "rates"]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "postgresql://" in told or "network" in told
    assert "backups folder" not in told


def test_an_export_never_lands_on_the_journal_itself(journal: Journal) -> None:
    file = Path(journal.where) / "journal.sqlite"
    before = file.read_bytes()
    with pytest.raises(UserProblem, match="belongs to the journal"):
        export(journal, file)
    assert file.read_bytes() == before


def test_an_export_leaves_what_is_no_archive(journal: Journal, tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Ann")
    with pytest.raises(UserProblem, match="left as it is"):
        export(journal, letter)
    assert letter.read_text() == "Dear Ann"
    with pytest.raises(UserProblem, match="name another file"):
        export(journal, Path(""))
    archive = export(journal, tmp_path / "journal.zip")
    assert export(journal, archive) == archive, "an older archive may be written anew"


def test_a_backup_is_not_put_among_the_photos(journal: Journal) -> None:
    with pytest.raises(UserProblem, match="keeps its photos"):
        back_up(journal, journal.photo_folder / "mine")
    assert not any(journal.photo_folder.iterdir())


def test_a_backup_cut_short_leaves_nothing_that_looks_whole(
    journal: Journal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fill(_source: Path, target: Path) -> None:
        target.write_bytes(b"half")
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("studiolog.journal.safekeeping.back_up_file", fill)
    with pytest.raises(UserProblem, match="disk is full"):
        back_up(journal, tmp_path / "stick")
    assert not any((tmp_path / "stick").iterdir())


def test_a_database_that_rots_is_told_and_left(journal: Journal) -> None:
    where, file = Path(journal.where), Path(journal.where) / "journal.sqlite"
    journal.close()
    sound = file.read_bytes()
    # The first page with the schema stays; what the tables hold is gone.
    rotten = sound[:4096] + b"\xa5" * (len(sound) - 4096)
    file.write_bytes(rotten)
    told = ""
    try:
        again = open_journal(where, create=False)
    except UserProblem as problem:
        told = problem.sentence
    else:
        told = " ".join(check_journal(again).problems)
        again.close()
    assert "copy the folder somewhere safe" in told
    assert file.read_bytes() == rotten


def test_words_a_terminal_cannot_write_do_not_stop_the_work(tmp_path: Path) -> None:
    log = tmp_path / "ofen.csv"
    log.write_text("time,temp °C\n" + "".join(f"{60 * i},{20 + 2 * i}\n" for i in range(300)))
    for words in ([], ["--json"]):
        done = subprocess.run(
            [sys.executable, "-m", "studiolog", "curve", str(log), *words],
            capture_output=True,
            check=False,
            env={**os.environ, "PYTHONIOENCODING": "ascii"},
        )
        assert b"Traceback" not in done.stderr
        assert done.returncode in (0, 1)
        assert b"rows_kept" in done.stdout
        if words:
            assert "°" in json.dumps(json.loads(done.stdout), ensure_ascii=False)


def test_a_demo_that_has_no_place_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("STUDIOLOG_HOME", str(tmp_path / "file" / "home"))
    assert main(["--demo", "rates"]) == 2
    assert "STUDIOLOG_HOME" in capsys.readouterr().err


@pytest.mark.parametrize(
    "stamp",
    [
        "9999-12-31T{:02}:{:02}:00-12:00",
        "0001-01-01T{:02}:{:02}:00+14:00",
        "2024-02-20T{:02}:{:02}:00+99:99",
    ],
)
def test_stamps_at_the_calendars_end_do_not_stop_the_reader(stamp: str, tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    rows = (f"{stamp.format(18 + i // 60, i % 60)},{20 + 2 * i}\n" for i in range(240))
    log.write_text("time,temp\n" + "".join(rows))
    report = describe_curve_file(log)
    assert report["rows_kept"] > 0 or report["notes"] or report["questions"]


def test_a_pipe_and_an_endless_line_are_refused_at_once(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    with pytest.raises(UserProblem, match="not an ordinary file"):
        describe_curve_file(pipe)
    log = tmp_path / "line.csv"
    log.write_text("time,temp\n0,20\n" + "1," * 200_000)
    with pytest.raises(UserProblem, match="line 3 has"):
        describe_curve_file(log)


def test_a_number_past_all_counting_is_told_and_changes_nothing(journal: Journal) -> None:
    for number in (2**63, 10**20, -(10**20)):
        with pytest.raises(UserProblem):
            journal.edit("Log", lambda session, n=number: log_piece(session, PieceDraft(number=n)))
    assert check_journal(journal).problems == ()
    assert journal.undo_line() is None


def test_a_disk_that_fails_in_an_edit_is_told(journal: Journal) -> None:
    def fail(session: object) -> None:
        raise OperationalError("INSERT", {}, sqlite3.OperationalError("database or disk is full"))

    with pytest.raises(UserProblem, match="free some space"):
        journal.edit("Log", fail)
