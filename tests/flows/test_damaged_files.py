"""Files that rotted, were cut short, emptied or are gone: told, and left as they were."""

import random
import re
import shutil
import sqlite3
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path

import pytest
from photo_files import phone_jpeg

from studiolog.__main__ import main
from studiolog.journal.find import find_anything
from studiolog.journal.firing_list import list_firings
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.first_look import read_first_look
from studiolog.journal.history import read_history
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.opening import BACKUPS, FILE, Journal, open_journal
from studiolog.journal.piece_list import list_pieces
from studiolog.journal.piece_page import read_piece_page
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from studiolog.journal.rates_words import read_rates_for
from studiolog.journal.safekeeping import back_up, check_journal, export, mend_facts
from studiolog.photos import PhotoStore
from studiolog.problems import JournalUnreadable, UserProblem
from tests.flows.ground import fingerprint
from tests.journal.conftest import enter_studio

PAGE = 4096
SAFE = re.compile("copy the folder somewhere safe", re.IGNORECASE)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A journal with enough in it that damage meets something. To be copied."""
    folder = tmp_path_factory.mktemp("damage") / "sound"
    journal = open_journal(folder)
    studio = enter_studio(journal)
    draft = PieceDraft(
        clay_id=studio.buff,
        form_id=studio.tumbler,
        made_on=date(2026, 9, 11),
        notes="Chalk came out thin over Kelp. " * 8,
        layers=(LayerDraft(zone="outside", glaze_id=studio.kelp),),
        placements=(PlacementDraft(firing_id=studio.firing),),
        inspections=(
            InspectionDraft(looked_on=date(2026, 10, 4), faults=(FaultDraft("crazing", 1),)),
        ),
    )

    def log_many(session: object) -> None:
        for _ in range(60):
            log_piece(session, draft)  # type: ignore[arg-type]

    journal.edit("Log", log_many)
    journal.close()
    return folder


QUESTIONS: tuple[Callable[..., object], ...] = (
    list_pieces,
    list_firings,
    read_history,
    partial(find_anything, text="tumbler"),
    partial(read_rates_for, text=""),
    partial(read_piece_page, piece_id=1),
    partial(read_piece_page, piece_id=40),
    partial(read_firing_page, firing_id=1),
)


def _spoil(data: bytes, chance: random.Random) -> bytes:
    spoilt, pages = bytearray(data), len(data) // PAGE
    how = chance.choice(("garbage", "nothing", "cut", "bytes", "swapped"))
    if how == "cut":
        return data[: chance.randrange(1, len(data))]
    if how == "bytes":
        for _ in range(chance.choice((3, 30, 300))):
            spoilt[chance.randrange(100, len(data))] = chance.randrange(256)
    for _ in range(chance.randint(1, 6)):
        a, b = (slice(at * PAGE, (at + 1) * PAGE) for at in chance.sample(range(pages), 2))
        if how == "swapped":
            spoilt[a], spoilt[b] = spoilt[b], spoilt[a]
        elif how != "bytes":
            spoilt[a] = chance.randbytes(PAGE) if how == "garbage" else bytes(PAGE)
    return bytes(spoilt)


def test_whatever_page_is_damaged_each_question_gives_an_answer_or_a_sentence(
    sound: Path, tmp_path: Path
) -> None:
    data = (sound / FILE).read_bytes()
    found = 0
    for seed in range(18):
        folder = tmp_path / str(seed)
        folder.mkdir()
        (folder / FILE).write_bytes(_spoil(data, random.Random(seed)))
        before = fingerprint(folder)
        read_first_look(folder / FILE)
        opened: list[Journal] = []
        refused = _sentence(lambda at=folder, to=opened: to.append(open_journal(at, create=False)))
        if refused:
            assert SAFE.search(refused) or "newer version" in refused, seed
            assert fingerprint(folder) == before, seed
        else:
            problems = _ask_all(opened[0], tmp_path / "stick")
            left = fingerprint(folder)
            assert {name: left[name] for name in before} == before, seed
            _sentence(partial(opened[0].edit, "Log", partial(log_piece, draft=PieceDraft())))
            _sentence(opened[0].undo)
            opened[0].close()
        found += bool(refused or problems)
    assert found > 12


def _ask_all(journal: Journal, stick: Path) -> tuple[str, ...]:
    told = [_sentence(partial(journal.read, question)) for question in QUESTIONS]
    assert all(SAFE.search(sentence) for sentence in told if sentence)
    problems = check_journal(journal).problems
    assert problems or not any(told), "check sees less than the pages do"
    copied = _sentence(partial(back_up, journal, stick / Path(journal.where).name))
    assert copied == "" or "damaged" in copied or SAFE.search(copied)
    return problems


def _sentence(act: Callable[[], object]) -> str:
    try:
        act()
    except UserProblem as problem:
        return problem.sentence
    return ""


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b"SQLite format 3\x00", "not a database"),
        (b"Dear Ann, the kiln is cold." * 400, "not a database"),
        (bytes(8192), "not a database"),
    ],
)
def test_a_file_that_is_no_database_any_more_is_told_and_left(
    content: bytes, word: str, sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = Path(shutil.copytree(sound, tmp_path / "journal"))
    (folder / FILE).write_bytes(content)
    (folder / BACKUPS / "kept").mkdir()
    before = fingerprint(folder)
    for create in (False, True):
        with pytest.raises(JournalUnreadable, match=word) as told:
            open_journal(folder, create=create)
        assert SAFE.search(told.value.sentence)
    assert main(["--journal", str(folder), "check"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert fingerprint(folder) == before


def test_a_file_of_no_bytes_alone_may_become_a_new_journal_but_only_if_that_is_wanted(
    tmp_path: Path,
) -> None:
    (tmp_path / FILE).write_bytes(b"")
    with pytest.raises(JournalUnreadable, match="empty"):
        open_journal(tmp_path, create=False)
    open_journal(tmp_path).close()
    open_journal(tmp_path, create=False).close()


def test_a_damaged_journal_is_backed_up_and_told(sound: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(sound, tmp_path / "journal"))
    data = bytearray((folder / FILE).read_bytes())
    with sqlite3.connect(folder / FILE) as connection:
        (root,) = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'piece'")
    connection.close()
    data[(root[0] - 1) * PAGE : root[0] * PAGE] = b"\xa5" * PAGE
    (folder / FILE).write_bytes(data)
    journal = open_journal(folder, create=False)
    with pytest.raises(UserProblem, match=r"is damaged .* keep every older backup"):
        back_up(journal, tmp_path / "stick")
    (made,) = (tmp_path / "stick").iterdir()
    assert (made / FILE).is_file()
    with pytest.raises(UserProblem, match=SAFE):
        mend_facts(journal)
    with pytest.raises(UserProblem, match=SAFE):
        export(journal, tmp_path / "out" / "all.zip")
    assert list((tmp_path / "out").iterdir()) == []
    journal.close()


def test_a_photo_gone_from_disk_is_told_where_it_is_shown_and_by_check(journal: Journal) -> None:
    store = PhotoStore(journal.photo_folder)
    sha256 = store.keep(phone_jpeg(), ".jpg")
    where = store.find(sha256)
    assert where is not None
    where.unlink()
    before = fingerprint(Path(journal.where))
    with pytest.raises(UserProblem, match="bring it back from a backup"):
        store.read(sha256)
    assert store.missing([sha256]) == (sha256,)
    assert fingerprint(Path(journal.where)) == before
