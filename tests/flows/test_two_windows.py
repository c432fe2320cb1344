"""One journal in two windows, or at two desks at once."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import select

from studiolog.journal.clays import change_clay, list_clays
from studiolog.journal.opening import Journal, open_journal
from studiolog.problems import EditConflict, JournalUnreadable, UserProblem
from studiolog.records import engine
from studiolog.records.clays import Clay
from studiolog.records.pieces import Piece
from tests.flows.ground import fingerprint
from tests.flows.sudden_ends import (
    ROOT,
    be_newer,
    find_wrong,
    look_at_backups,
    plant_migration,
    read_lines,
)
from tests.journal.conftest import Studio, enter_studio, snapshot

EDITS = 15


@pytest.fixture
def studio(journal: Journal) -> Studio:
    return enter_studio(journal)


# One of two programs: it opens the journal, says so, waits for the word, and works.
WINDOW = """
import sys
from pathlib import Path
from studiolog.journal.opening import open_journal
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.records import upgrade

folder, desk, edits, scripts = sys.argv[1:]
if scripts:
    upgrade._SCRIPTS, upgrade.NEWEST = Path(scripts), "planted"
print("ready", flush=True)
sys.stdin.readline()
journal = open_journal(folder)
journal.desk = desk
for at in range(int(edits)):
    journal.edit(f"{desk} {at}", lambda s: log_piece(s, PieceDraft(title=f"{desk} {at}")))
journal.undo()
journal.close()
"""


def _run_two(folder: Path, edits: int, scripts: str = "") -> None:
    paths = os.pathsep.join((str(ROOT), str(ROOT / "tests")))
    windows = [
        subprocess.Popen(
            [sys.executable, "-c", WINDOW, str(folder), desk, str(edits), scripts],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": paths},
        )
        for desk in ("left", "right")
    ]
    for window in windows:
        assert window.stdout is not None
        assert window.stdout.readline() == "ready\n"
    for window in windows:
        assert window.stdin is not None
        window.stdin.write("go\n")
        window.stdin.flush()
    for window in windows:
        _, errors = window.communicate()
        assert window.returncode == 0, errors


def test_two_programs_that_write_at_once_both_keep_everything(studio: Studio) -> None:
    journal = studio.journal
    _run_two(Path(journal.where), EDITS)
    numbers = journal.read(lambda s: list(s.scalars(select(Piece.number).order_by(Piece.id))))
    assert len(numbers) == len(set(numbers)) == 2 * (EDITS - 1)
    # In between, each took the next number at its turn; only a last piece was undone.
    states = read_lines(journal)[1:]
    for desk in ("left", "right"):
        own = [(label, state) for label, state in states if label.startswith(desk)]
        assert own == [
            (f"{desk} {at}", "done" if at < EDITS - 1 else "undone") for at in range(EDITS)
        ]
    assert find_wrong(journal) == []


def test_two_programs_that_open_an_older_journal_at_once_upgrade_it_once(
    studio: Studio, tmp_path: Path
) -> None:
    before = snapshot(studio.journal, with_history=True)
    studio.journal.close()
    folder = Path(studio.journal.where)
    _run_two(folder, 0, str(plant_migration(tmp_path / "migrations")))
    assert look_at_backups(folder) == []
    # The backup is of the journal as it was, not of one that was upgraded just before.
    (backup,) = (folder / "backups").iterdir()
    kept = tmp_path / "kept"
    kept.mkdir()
    shutil.copy(backup, kept / "journal.sqlite")
    older = open_journal(kept)
    assert snapshot(older, with_history=True) == before
    older.close()


def test_a_change_made_in_another_window_is_not_overwritten_unseen(studio: Studio) -> None:
    other = open_journal(studio.journal.where)
    seen = other.read(list_clays)[0]
    studio.journal.edit("Note", lambda s: change_clay(s, seen.clay_id, seen.version, notes="dry"))
    with pytest.raises(EditConflict, match="changed somewhere else in the meantime"):
        other.edit("Note", lambda s: change_clay(s, seen.clay_id, seen.version, notes="wet"))
    assert other.read(lambda s: s.get_one(Clay, seen.clay_id).notes) == "dry"
    other.close()


def test_a_journal_that_is_busy_elsewhere_is_told_and_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "_BUSY_MS", 20)
    first = open_journal(tmp_path / "journal")
    enter_studio(first)
    second = open_journal(tmp_path / "journal")
    with first.engine.execution_options(writing=True).connect() as working, working.begin():
        before = fingerprint(tmp_path / "journal")
        with pytest.raises(UserProblem, match=r"busy in another program\. Try again"):
            second.edit("Note", lambda s: change_clay(s, 1, notes="x"))
        with pytest.raises(UserProblem, match="busy in another program"):
            second.undo()
        # To look at it is always possible.
        assert len(second.read(list_clays)) == 2
        assert fingerprint(tmp_path / "journal") == before
    second.edit("Note", lambda s: change_clay(s, 1, notes="x"))
    second.close()
    first.close()


def test_an_older_journal_that_is_busy_elsewhere_is_not_upgraded(
    journal: Journal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "_BUSY_MS", 20)
    be_newer(monkeypatch, plant_migration(tmp_path / "migrations"))
    with journal.engine.execution_options(writing=True).connect() as working, working.begin():
        before = fingerprint(Path(journal.where))
        with pytest.raises(JournalUnreadable, match="busy in another program"):
            open_journal(journal.where)
        assert fingerprint(Path(journal.where)) == before
