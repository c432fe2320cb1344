"""The disk fills up while one works: told in a sentence, nothing lost, nothing half-written."""

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from photo_files import phone_jpeg
from sqlalchemy import event, select

from studiolog.journal.opening import FILE, Journal, open_journal
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.safekeeping import back_up, export
from studiolog.photos import PhotoStore, store, take_in
from studiolog.problems import JournalUnreadable, UserProblem
from studiolog.records import upgrade
from studiolog.records.pieces import Piece
from tests.flows.ground import fingerprint
from tests.flows.sudden_ends import ROOT, be_newer, find_wrong, plant_migration
from tests.journal.conftest import enter_studio, snapshot


@pytest.mark.skipif(
    not sys.platform.startswith("linux") or os.geteuid() != 0 or not shutil.which("unshare"),
    reason="only root can make small disks; the simulated ones below run everywhere",
)
def test_disks_that_really_are_full(tmp_path: Path) -> None:
    # Mounts of its own name space: they go with the process, whatever happens.
    probe = ["unshare", "--mount", "mount", "-t", "tmpfs", "none", str(tmp_path)]
    if subprocess.run(probe, capture_output=True, check=False).returncode != 0:
        pytest.skip("mounting is not allowed here")
    paths = os.pathsep.join((str(ROOT), str(ROOT / "tests")))
    done = subprocess.run(
        ["unshare", "--mount", sys.executable, "-m", "tests.flows.small_disks", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": paths},
    )
    assert done.returncode == 0, done.stderr


def _leave_no_room(journal: Journal) -> None:
    """SQLite's own limit on the pages of a file; what exceeds it is a full disk to SQLite."""
    journal.engine.dispose()

    @event.listens_for(journal.engine, "connect")
    def _limit(connection: sqlite3.Connection, _record: object) -> None:
        connection.execute("PRAGMA max_page_count=1")  # as many as there are


def test_an_edit_on_a_full_disk_is_told_and_changes_nothing(journal: Journal) -> None:
    enter_studio(journal)
    before = snapshot(journal, with_history=True)
    _leave_no_room(journal)
    draft = PieceDraft(number=1, notes="A long look at it. " * 5000)
    with pytest.raises(UserProblem, match=r"disk is full.*nothing was changed.*free some space"):
        journal.edit("Log", lambda session: log_piece(session, draft))
    assert snapshot(journal, with_history=True) == before
    assert find_wrong(journal) == []


def test_pictures_on_a_full_disk_are_told_by_name_and_leave_nothing(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fill(where: Path, data: bytes) -> None:
        where.write_bytes(data[: len(data) // 2])
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr(store, "_write_through", fill)
        result = take_in([("cup.jpg", phone_jpeg())], PhotoStore(journal.photo_folder))
    assert result.kept == ()
    assert "cup.jpg" in result.refused[0].sentence
    assert "is full" in result.refused[0].sentence
    assert fingerprint(journal.photo_folder) == {}


@pytest.mark.parametrize("keep", ["backup", "archive"])
def test_a_backup_on_a_full_disk_is_taken_away_again(
    keep: str, journal: Journal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take_in([("cup.jpg", phone_jpeg())], PhotoStore(journal.photo_folder))
    before = fingerprint(Path(journal.where))
    stick = tmp_path / "stick"
    full = OSError(errno.ENOSPC, "No space left on device")

    def fill(*_paths: object) -> None:
        raise full

    monkeypatch.setattr("shutil.copy2", fill)
    monkeypatch.setattr("zipfile.ZipFile.write", fill)
    with pytest.raises(UserProblem, match=r"No space left on device.*ree some space"):
        _ = back_up(journal, stick) if keep == "backup" else export(journal, stick / "all.zip")
    assert list(stick.iterdir()) == []
    assert fingerprint(Path(journal.where)) == before


@pytest.mark.parametrize("step", ["backup", "migration"])
def test_an_upgrade_on_a_full_disk_leaves_the_older_journal(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "journal"
    journal = open_journal(folder)
    enter_studio(journal)
    for number in range(1, 21):
        journal.edit("Log", lambda s, n=number: log_piece(s, PieceDraft(number=n)))
    everything = snapshot(journal, with_history=True)
    journal.close()
    before = fingerprint(folder)
    with monkeypatch.context() as newer:
        be_newer(newer, plant_migration(tmp_path / "migrations"))
        if step == "backup":
            full = sqlite3.OperationalError("database or disk is full")

            def fill(_source: object, target: Path) -> None:
                raise full

            newer.setattr(upgrade, "back_up_file", fill)
        else:
            _limit_every_engine(newer)
        with pytest.raises(JournalUnreadable, match="disk is full, so free some space"):
            open_journal(folder)
    left = fingerprint(folder)
    assert {name: left[name] for name in before} == before
    again = open_journal(folder)
    assert snapshot(again, with_history=True) == everything
    assert again.read(lambda session: len(session.scalars(select(Piece.id)).all())) == 20
    again.close()


def _limit_every_engine(patch: pytest.MonkeyPatch) -> None:
    from studiolog.journal import opening

    make = opening.open_engine

    def small(url: str) -> object:
        engine = make(url)

        @event.listens_for(engine, "connect")
        def _limit(connection: sqlite3.Connection, _record: object) -> None:
            connection.execute("PRAGMA max_page_count=1")

        return engine

    patch.setattr(opening, "open_engine", small)


def test_a_backup_that_was_ended_is_cleared_away_by_the_next(
    journal: Journal, tmp_path: Path
) -> None:
    half = tmp_path / "studiolog-2026-10-04-093000.half"
    half.mkdir()
    (half / FILE).write_bytes(b"half of it")
    long_ago = 1_700_000_000
    os.utime(half, (long_ago, long_ago))
    busy = tmp_path / "studiolog-2026-10-04-100000.half"
    busy.mkdir()
    made = back_up(journal, tmp_path)
    assert sorted(tmp_path.glob("studiolog-*")) == [busy, made]
