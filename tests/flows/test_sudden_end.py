"""The program ends without warning in the middle of its work. Nothing that was saved is lost.

``STUDIOLOG_KILLS`` says how often it is ended, ``STUDIOLOG_SEED`` which moments are drawn
(`make torture`: many, and anew each time).
"""

import os
import random
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from studiolog.journal.opening import open_journal
from tests.flows.sudden_ends import (
    Expected,
    Moment,
    WarmProgram,
    be_newer,
    draw_moment,
    find_wrong,
    look_at_backups,
    plant_migration,
    read_lines,
)
from tests.journal.conftest import Snapshot, enter_studio, snapshot

KILLS = int(os.environ.get("STUDIOLOG_KILLS", "20"))
# The same moments at every `make test`; others each time for the many ends of `make torture`.
SEED = int(os.environ.get("STUDIOLOG_SEED") or (6 if KILLS <= 20 else random.randrange(10**6)))
WORKS = ("pieces", "photos", "curves", "undo")

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="programs are forked to be killed")


@pytest.fixture(scope="module")
def program() -> Iterator[WarmProgram]:
    with WarmProgram() as warm:
        yield warm


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> "Ready":
    """A journal with a small studio in it, to be copied."""
    folder = tmp_path_factory.mktemp("sudden end") / "studio"
    journal = open_journal(folder)
    entered = enter_studio(journal)
    journal.close()
    ids = {"firing": entered.firing, "clay": entered.buff, "glaze": entered.kelp}
    return Ready(folder, ids)


@dataclass(frozen=True)
class Ready:
    folder: Path
    ids: dict[str, int]

    def copy(self, to: Path) -> Path:
        return Path(shutil.copytree(self.folder, to))


def _draw(kind: str) -> random.Random:
    sys.stdout.write(f"{kind}: STUDIOLOG_SEED={SEED}\n")
    return random.Random(f"{SEED} {kind}")


# A sixth of all ends is for each kind of work, the rest for the making and the upgrade.
TURNS = KILLS // 6
OPENINGS = (KILLS - len(WORKS) * TURNS + 1) // 2


@pytest.mark.parametrize("work", WORKS)
def test_work_that_ends_suddenly_loses_nothing_it_saved(
    work: str, program: WarmProgram, studio: Ready, tmp_path: Path
) -> None:
    chance = _draw(work)
    folder, expected = Path(), Expected()
    for turn in range(TURNS):
        if turn % 12 == 0:
            folder = studio.copy(tmp_path / f"journal {turn}")
            expected = Expected([("Set up the studio", "done")])
        moment = draw_moment(chance, most_calls=20_000, longest_s=0.06, words=6)
        said = program.end_suddenly(moment, folder, work, turn + 1, ids=studio.ids)
        journal = open_journal(folder)
        try:
            about = f"{work}, seed {SEED}, turn {turn}, {moment}"
            assert find_wrong(journal) == [], about
            assert expected.look(journal, work, turn + 1, said) == [], about
        finally:
            journal.close()


def test_a_new_journal_whose_making_ended_suddenly_can_be_opened(
    program: WarmProgram, tmp_path: Path
) -> None:
    chance = _draw("new")
    for turn in range(OPENINGS):
        folder = tmp_path / f"journal {turn}"
        moment = draw_moment(chance, most_calls=40_000, longest_s=0.15, words=1)
        program.end_suddenly(moment, folder, "new", turn)
        journal = open_journal(folder)
        try:
            enter_studio(journal)
            assert find_wrong(journal) == [], f"seed {SEED}, turn {turn}, {moment}"
            assert read_lines(journal) == [("Set up the studio", "done")]
        finally:
            journal.close()


def test_an_upgrade_that_ends_suddenly_is_made_whole_at_the_next_start(
    program: WarmProgram, studio: Ready, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = _draw("upgrade")
    old = studio.copy(tmp_path / "old")
    program.end_suddenly(Moment(after=6), old, "photos", 1, ids=studio.ids)
    journal = open_journal(old)
    before = snapshot(journal, with_history=True)
    journal.close()
    scripts = plant_migration(tmp_path / "migrations")
    for turn in range(OPENINGS):
        folder = Path(shutil.copytree(old, tmp_path / f"journal {turn}"))
        moment = draw_moment(chance, most_calls=40_000, longest_s=0.15, words=1)
        program.end_suddenly(moment, folder, "upgrade", turn, scripts=str(scripts))
        with monkeypatch.context() as newer:
            be_newer(newer, scripts)
            assert _after_upgrade(folder) == before, f"seed {SEED}, turn {turn}, {moment}"
        assert look_at_backups(folder) == []


def _after_upgrade(folder: Path) -> Snapshot:
    journal = open_journal(folder)
    try:
        assert find_wrong(journal) == []
        with journal.engine.connect() as connection:
            planted = connection.exec_driver_sql("SELECT count(planted) FROM piece").scalar()
        found = snapshot(journal, with_history=True)
        assert planted == len(found["piece"]) > 0
        return found
    finally:
        journal.close()


@pytest.mark.parametrize("keeping", [True, False])
def test_the_same_end_with_the_database_own_journal_off_does_lose(
    keeping: bool, program: WarmProgram, studio: Ready, tmp_path: Path
) -> None:
    """The control: if this lost nothing, the tests above would prove nothing."""
    folder = studio.copy(tmp_path / "journal")
    never = Moment(calls=10**9)
    program.end_suddenly(never, folder, "long edit", 1, ids=studio.ids, keeping=keeping)
    journal = open_journal(folder)
    try:
        wrong = find_wrong(journal)
        if keeping:
            assert wrong == []
            assert read_lines(journal) == [("Set up the studio", "done")]
        else:
            assert wrong
    finally:
        journal.close()
