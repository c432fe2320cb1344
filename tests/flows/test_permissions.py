"""Folders that may only be read, and permission that is lost while one works."""

import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import pytest
from photo_files import phone_jpeg
from sqlalchemy import select

from studiolog.journal.clays import change_clay, list_clays
from studiolog.journal.opening import BACKUPS, Journal, open_journal
from studiolog.journal.photos import PictureDraft
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.safekeeping import back_up, check_journal, export, mend_facts
from studiolog.photos import PhotoStore, take_in
from studiolog.problems import JournalUnreadable, UserProblem
from studiolog.records.pieces import Piece
from tests.flows.ground import (
    fingerprint,
    ordinary_user,
    place_of_an_ordinary_user,
    set_permissions,
)
from tests.journal.conftest import enter_studio

pytestmark = pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions as POSIX has them")

SHOT = phone_jpeg(60, 40, datetime(2026, 10, 4, 9, 30))


@pytest.fixture
def place() -> Iterator[Path]:
    with place_of_an_ordinary_user() as folder:
        yield folder


def _log(journal: Journal, number: int, shot: bytes = SHOT) -> int:
    (facts,) = take_in([("cup.jpg", shot)], PhotoStore(journal.photo_folder)).kept
    picture = PictureDraft(
        sha256=facts.sha256,
        suffix=facts.suffix,
        name=facts.name,
        width=facts.width,
        height=facts.height,
        byte_count=facts.byte_count,
        taken_at=None,
        moment="fired",
    )
    draft = PieceDraft(number=number, pictures=(picture,))
    return journal.edit("Log", lambda session: log_piece(session, draft)).value


def _numbers(journal: Journal) -> list[int | None]:
    return journal.read(lambda session: list(session.scalars(select(Piece.number))))


def _in_use(place: Path, *leave_out: str) -> Path:
    """A journal as a program leaves it that was ended while it was at work."""
    journal = open_journal(place / "open")
    enter_studio(journal)
    _log(journal, 1)
    ended = Path(shutil.copytree(place / "open", place / "journal"))
    journal.close()
    for end in leave_out:
        (ended / f"journal.sqlite{end}").unlink()
    assert (ended / "journal.sqlite-wal").stat().st_size
    return ended


def _at_rest(place: Path) -> Path:
    journal = open_journal(place / "journal")
    enter_studio(journal)
    _log(journal, 1)
    # What these need is loaded before the test becomes somebody who may not read it.
    check_journal(journal)
    back_up(journal, place / "warm")
    export(journal, place / "warm.zip")
    journal.close()
    assert not (place / "journal" / "journal.sqlite-wal").exists()
    return place / "journal"


@pytest.mark.parametrize("make", [_at_rest, _in_use])
def test_a_journal_that_may_only_be_read_is_opened_to_look(make, place: Path) -> None:
    _at_rest(place / "first")
    folder = make(place)
    set_permissions(folder, writable=False)
    before = fingerprint(folder)
    with ordinary_user(place):
        journal = open_journal(folder, create=False)
        try:
            assert "may only be read" in journal.only_read
            assert _numbers(journal) == [1]
            assert check_journal(journal).problems == ()
            clay = journal.read(list_clays)[0]
            for change in (
                lambda: journal.edit("Note", lambda s: change_clay(s, clay.clay_id, notes="x")),
                journal.undo,
                journal.redo,
                lambda: mend_facts(journal),
                lambda: back_up(journal, folder / BACKUPS),
                lambda: export(journal, folder / "all.zip"),
            ):
                with pytest.raises(UserProblem) as told:
                    change()
                assert "permission" in told.value.sentence.lower()
            assert journal.undo_line() is not None
            refused = take_in(
                [("cup.jpg", phone_jpeg(61, 40))], PhotoStore(journal.photo_folder)
            ).refused
            assert "permission" in refused[0].sentence
            copied = open_journal(back_up(journal, place / "stick"))
            assert _numbers(copied) == [1]
            copied.close()
        finally:
            journal.close()
    assert fingerprint(folder) == before


def test_what_lies_beside_a_read_only_journal_and_cannot_be_read_is_told(place: Path) -> None:
    _at_rest(place / "first")
    folder = _in_use(place, "-shm")
    set_permissions(folder, writable=False)
    before = fingerprint(folder)
    with (
        ordinary_user(place),
        pytest.raises(JournalUnreadable, match=r"what was written last .* copy the folder"),
    ):
        open_journal(folder, create=False)
    assert fingerprint(folder) == before


def test_a_folder_that_may_not_be_entered_is_told(place: Path) -> None:
    folder = _at_rest(place)
    before = fingerprint(folder)
    folder.chmod(0)
    with ordinary_user(place), pytest.raises(JournalUnreadable, match="Permission denied"):
        open_journal(folder, create=False)
    folder.chmod(0o755)
    assert fingerprint(folder) == before


def test_a_new_journal_where_nothing_may_be_made_is_told(place: Path) -> None:
    _at_rest(place / "first")
    shut = place / "shut"
    shut.mkdir()
    shut.chmod(0o555)
    with ordinary_user(place):
        for folder in (shut, shut / "journal"):
            with pytest.raises(JournalUnreadable, match="permission"):
                open_journal(folder)
    assert list(shut.iterdir()) == []


def test_permission_lost_while_open_loses_nothing_and_is_told(place: Path) -> None:
    folder = _at_rest(place)
    with ordinary_user(place):
        journal = open_journal(folder)
        _log(journal, 2)
        set_permissions(folder, writable=False)
        before = fingerprint(folder / "photos")
        try:
            kept = {1, 2}
            # A file that is open stays open: an edit is kept for good, or refused in a sentence.
            with suppress(UserProblem):
                journal.edit("Log", lambda session: log_piece(session, PieceDraft(number=3)))
                kept |= {3}
            refused = take_in(
                [("new.jpg", phone_jpeg(62, 40))], PhotoStore(journal.photo_folder)
            ).refused
            assert "give yourself permission" in refused[0].sentence
            for to in (folder / BACKUPS, folder / "elsewhere"):
                with pytest.raises(UserProblem, match="Permission denied"):
                    back_up(journal, to)
            assert set(_numbers(journal)) == kept
        finally:
            journal.close()
            assert fingerprint(folder / "photos") == before
            set_permissions(folder, writable=True)
        again = open_journal(folder)
        assert set(_numbers(again)) == kept
        assert check_journal(again).problems == ()
        again.close()
