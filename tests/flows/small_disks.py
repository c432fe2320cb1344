"""Run by `test_full_disk` in a mount name space of its own: real disks, too small for the work.

Every function is one story; what it asserts must hold on a disk that truly is full.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from pathlib import Path

import pytest
from photo_files import phone_jpeg
from sqlalchemy import select

from studiolog.journal.opening import FILE, Journal, open_journal
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.safekeeping import back_up, check_journal, export
from studiolog.photos import PhotoStore, take_in
from studiolog.problems import UserProblem
from studiolog.records.pieces import Piece
from tests.flows.ground import fingerprint
from tests.flows.sudden_ends import WAS, be_newer, find_wrong, plant_migration
from tests.journal.conftest import enter_studio, snapshot


@contextmanager
def disk(at: Path, kilobytes: int) -> Iterator[Path]:
    at.mkdir()
    size = f"size={kilobytes}k"
    subprocess.run(["mount", "-t", "tmpfs", "-o", size, "small", str(at)], check=True)
    yield at
    subprocess.run(["umount", str(at)], check=True)


def sentence_of(act: object) -> str:
    try:
        act()  # type: ignore[operator]
    except UserProblem as problem:
        return problem.sentence
    return ""


def log(journal: Journal, number: int) -> None:
    draft = PieceDraft(number=number, notes="A long look at it. " * 200)
    journal.edit(f"Log {number}", lambda session: log_piece(session, draft))


def numbers(journal: Journal) -> list[int | None]:
    return journal.read(lambda s: list(s.scalars(select(Piece.number).order_by(Piece.number))))


def editing(base: Path) -> None:
    with disk(base / "editing", 2500) as small:
        filler = small / "something else"
        filler.write_bytes(bytes(300_000))
        journal = open_journal(small / "journal")
        enter_studio(journal)
        saved, told = 0, ""
        while not told:
            told = sentence_of(partial(log, journal, saved + 1))
            saved += not told
        assert "free some space" in told, told
        assert saved > 5
        shot = phone_jpeg(900, 900, datetime(2026, 10, 4, 9, 30))
        store = PhotoStore(journal.photo_folder)
        (refused,) = take_in([("cup.jpg", shot)], store).refused
        assert "is full" in refused.sentence, refused
        assert fingerprint(journal.photo_folder) == {}
        assert numbers(journal) == list(range(1, saved + 1))
        for keep in (
            lambda: back_up(journal, small / "stick"),
            lambda: export(journal, small / "a.zip"),
        ):
            assert "ree some space" in sentence_of(keep), sentence_of(keep)
        assert sorted(path.name for path in small.rglob("*studiolog*")) == []
        assert not (small / "a.zip").exists()
        assert not (small / "a.zip.half").exists()
        filler.unlink()
        log(journal, saved + 1)
        wrong = find_wrong(journal)
        assert wrong == [], wrong
        journal.close()
        again = open_journal(small / "journal")
        assert numbers(again) == list(range(1, saved + 2))
        again.close()


def backing_up(base: Path, sound: Path) -> None:
    journal = open_journal(sound)
    PhotoStore(journal.photo_folder).keep(os.urandom(300_000), ".jpg")
    before = fingerprint(sound)
    with disk(base / "stick", 250) as small:
        told = sentence_of(lambda: back_up(journal, small))
        assert "Free some space" in told, told
        told = sentence_of(lambda: export(journal, small / "journal.zip"))
        assert "ree some space" in told, told
        assert list(small.iterdir()) == []
    assert fingerprint(sound) == before
    journal.close()


def migrating(base: Path, sound: Path) -> None:
    old = (sound / FILE).stat().st_size // 1024
    everything = snapshot_of(sound)
    scripts = plant_migration(base / "migrations")
    told = []
    # From no room for the backup, over room for it alone, to room for all.
    while not told or told[-1]:
        room = 100 + old + len(told) * 100
        with disk(base / f"upgrade {len(told)}", room) as small:
            folder = Path(shutil.copytree(sound, small / "journal"))
            before = fingerprint(folder)
            with pytest.MonkeyPatch.context() as newer:
                be_newer(newer, scripts)
                told.append(sentence_of(lambda at=folder: open_journal(at).close()))
            if told[-1]:
                assert "free some space" in told[-1], told
                left = fingerprint(folder)
                # The backup made before the upgrade is whole, and may stay.
                extra = {name for name in left if name not in before}
                assert all(name.endswith((f"-planted-was-{WAS}.sqlite", "-wal")) for name in extra)
                assert {name: left[name] for name in before} == before
                assert snapshot_of(folder) == everything
        assert len(told) < 100
    assert len(told) > 2, told


def snapshot_of(folder: Path) -> object:
    journal = open_journal(folder)
    try:
        return snapshot(journal, with_history=True)
    finally:
        journal.close()


def opening(base: Path, sound: Path) -> None:
    """A disk with no room even to open: told as full, not as damaged."""
    with disk(base / "opening", 1500) as small:
        folder = Path(shutil.copytree(sound, small / "journal"))
        before = fingerprint(folder)
        with (small / "filler").open("wb", buffering=0) as filler:
            try:
                while filler.write(bytes(4096)):
                    pass
            except OSError:
                pass
        told = sentence_of(lambda: open_journal(folder))
        assert "is full" in told, told
        assert "free some space" in told, told
        assert {name: fingerprint(folder)[name] for name in before} == before


def only_read(base: Path, sound: Path) -> None:
    """A disk that is mounted read-only, which binds also root."""
    with disk(base / "read only", 3000) as small:
        folder = Path(shutil.copytree(sound, small / "journal"))
        before = fingerprint(folder)
        subprocess.run(["mount", "-o", "remount,ro", str(small)], check=True)
        journal = open_journal(folder)
        assert "may only be read" in journal.only_read
        assert numbers(journal) == [1]
        assert check_journal(journal).problems == ()
        assert "may only be read" in sentence_of(lambda: log(journal, 2))
        journal.close()
        assert fingerprint(folder) == before
        new = sentence_of(lambda: open_journal(small / "new"))
        assert "Read-only" in new, new


def main(base: Path) -> None:
    sound = base / "sound"
    journal = open_journal(sound)
    enter_studio(journal)
    log(journal, 1)
    journal.close()
    editing(base)
    migrating(base, sound)
    opening(base, sound)
    only_read(base, sound)
    backing_up(base, sound)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
