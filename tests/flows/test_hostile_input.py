"""What nobody would type or drop on purpose, and somebody will: told, or kept as what it is."""

import io
import zlib
from datetime import datetime
from pathlib import Path

import pytest
from photo_files import phone_jpeg, png_claiming
from sqlalchemy import select

from studiolog.journal.clays import ClayDraft, add_clay, list_clays
from studiolog.journal.find import find_anything
from studiolog.journal.history import read_history
from studiolog.journal.opening import Journal
from studiolog.journal.orders import OrderDraft, add_order
from studiolog.journal.piece_list import list_pieces
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.safekeeping import check_journal
from studiolog.photos import PhotoStore, take_in
from studiolog.problems import UserProblem
from studiolog.records.clays import Clay
from studiolog.records.pieces import Piece
from studiolog.transfer.curve_report import describe_curve_file
from tests.flows.ground import fingerprint
from tests.journal.conftest import snapshot

# Written from memory by script: Latin with marks, Greek, Cyrillic, Hebrew and Arabic (from right
# to left), Devanagari, Thai, Chinese, Japanese, Korean, Ethiopic, and signs beyond the first
# plane of Unicode with joiners.
NAMES = (
    "Grünspan Ø",
    "Πηλός",
    "Глина",
    "חימר אדום",
    "طين أحمر",
    "मिट्टी",
    "ดินเผา",
    "陶土",
    "つち",
    "흙",
    "ሸክላ",
    "🏺👩🏽‍🎨 4",
    "می‌خواهم",
    "100 %_\\ '\" ; -- |>",
)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_in_any_script_is_kept_found_and_exported_as_it_is(
    name: str, journal: Journal
) -> None:
    journal.edit(f"Add {name}", lambda s: add_clay(s, ClayDraft(name=name)))
    journal.edit("Log", lambda s: log_piece(s, PieceDraft(title=name, notes=name)))
    assert [clay.name for clay in journal.read(list_clays)] == [name]
    for part in (name, name[:3]):
        found = journal.read(lambda session, text=part: find_anything(session, text))
        assert {(one.kind, one.title) for one in found} == {("clay", name), ("piece", name)}
    assert journal.read(lambda s: list_pieces(s, name)).total == 1
    assert journal.read(read_history)[-1].label == f"Add {name}"
    for _ in range(2):
        journal.undo()
    for _ in range(2):
        journal.redo()
    assert [clay.name for clay in journal.read(list_clays)] == [name]
    assert check_journal(journal).problems == ()


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Kelp\0 dark", "Kelp dark"),
        ("\ud800Kelp", "Kelp"),
        ("Kelp\x07", "Kelp"),
        ("\u202eKelp\u202c", "Kelp"),
        ("Ke\u0301lp", "Kélp"),
        ("Kelp\n\tdark", "Kelp dark"),
    ],
)
def test_signs_that_no_name_has_are_left_out(typed: str, kept: str, journal: Journal) -> None:
    journal.edit(f"Add {typed}", lambda s: add_clay(s, ClayDraft(name=typed, notes=typed)))
    assert journal.read(lambda s: s.scalars(select(Clay.name)).one()) == kept
    found = journal.read(lambda s: find_anything(s, typed.replace("\n\t", " ")))
    assert [one.title for one in found] in ([kept], [])
    assert check_journal(journal).problems == ()
    journal.undo()


@pytest.mark.parametrize("nothing", ["", " ", "\0", "\0\0", "\u200b", "\ufeff", "\u202e", "\x07\n"])
def test_a_name_of_nothing_is_refused_and_finds_nothing(nothing: str, journal: Journal) -> None:
    journal.edit("Add", lambda s: add_clay(s, ClayDraft(name="Buff")))
    before = snapshot(journal, with_history=True)
    with pytest.raises(UserProblem, match="Give the name"):
        journal.edit("Add", lambda s: add_clay(s, ClayDraft(name=nothing)))
    assert journal.read(lambda s: find_anything(s, nothing)) == []
    assert snapshot(journal, with_history=True) == before


def test_what_is_longer_than_any_name_is_told_or_found_nowhere(journal: Journal) -> None:
    endless = "A" * 100_000
    with pytest.raises(UserProblem, match="200 at most"):
        journal.edit("Add", lambda s: add_clay(s, ClayDraft(name=endless)))
    assert journal.read(lambda s: find_anything(s, endless)) == []
    assert journal.read(lambda s: list_pieces(s, endless)).total == 0
    journal.edit("Log", lambda s: log_piece(s, PieceDraft(notes=endless)))
    assert journal.read(lambda s: s.scalars(select(Piece.notes)).one()) == endless


@pytest.mark.parametrize("number", [2**31, 2**40, 2**63, 10**30])
def test_a_number_too_large_is_refused_alike_by_every_database(
    number: int, journal: Journal
) -> None:
    before = snapshot(journal, with_history=True)
    with pytest.raises(UserProblem, match="Use a smaller number"):
        journal.edit("Log", lambda s: log_piece(s, PieceDraft(number=number)))
    with pytest.raises(UserProblem, match="Use a smaller number"):
        journal.edit("Order", lambda s: add_order(s, OrderDraft(number=number, whom="Ann")))
    assert snapshot(journal, with_history=True) == before


def test_a_telephone_number_for_a_piece_does_not_end_the_counting(journal: Journal) -> None:
    for number in (412, 2**31 - 1):
        journal.edit("Log", lambda s, n=number: log_piece(s, PieceDraft(number=n)))
    journal.edit("Log", lambda s: log_piece(s, PieceDraft()))
    numbers = journal.read(lambda s: list(s.scalars(select(Piece.number).order_by(Piece.id))))
    assert numbers == [412, 2**31 - 1, 413]


def test_bad_pictures_are_refused_by_name_and_leave_nothing(journal: Journal) -> None:
    good = phone_jpeg(60, 40, datetime(2026, 10, 4, 9, 30))
    bomb = io.BytesIO()
    bomb.write(png_claiming(60_000, 60_000))
    drop = [
        ("zero.jpg", b""),
        ("cut.jpg", good[: len(good) // 2]),
        ("head only.jpg", good[:20]),
        ("bomb.png", bomb.getvalue()),
        ("wrong.png", good),
        ("page.jpg", b"<html>" * 100),
        ("zeros.jpg", bytes(5000)),
        ("packed.jpg", zlib.compress(bytes(10_000_000))),
        ("رمل 🏺\u202e.jpg", b"GIF89a" + bytes(100)),
        ("good 🏺.jpg", good),
    ]
    result = take_in(drop, PhotoStore(journal.photo_folder))
    assert [facts.name for facts in result.kept] == ["good 🏺.jpg"]
    assert {refusal.name for refusal in result.refused} == {name for name, _ in drop[:-1]}
    assert all(refusal.name in refusal.sentence for refusal in result.refused)
    originals = [name for name in fingerprint(journal.photo_folder) if ".thumbnails" not in name]
    assert [Path(name).stem for name in originals] == [result.kept[0].sha256]


def test_a_log_of_a_million_rows_is_read(tmp_path: Path) -> None:
    log = tmp_path / "long.csv"
    rows = (f"{at},{20 + at * 1180 // 1_000_000}\n" for at in range(1_000_000))
    log.write_text("elapsed s,temp C\n" + "".join(rows), encoding="utf-8")
    report = describe_curve_file(log)
    assert report["rows_kept"] == 1_000_000
    assert report["peak_c"] == pytest.approx(1199, abs=1)
    assert report["duration_h"] == pytest.approx(277.8, abs=0.1)


@pytest.mark.parametrize(
    "content",
    [b"", bytes(4096), b"\xff" * 3000, b"time,temp\n" + b"0,\x00\n" * 500, b"\xef\xbb\xbf" * 9],
)
def test_a_log_of_nothing_gets_a_sentence(content: bytes, tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_bytes(content)
    try:
        report = describe_curve_file(log)
    except UserProblem as problem:
        said = problem.sentence
    else:
        said = f"{report['notes']}{report['questions']}"
        assert report["rows_kept"] == 0
    assert len(said) > 10
