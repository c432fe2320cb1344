"""Forgetting who ordered: nothing of the person is left, and the record of the work stays true."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from studiolog.__main__ import COULD_NOT, DONE, LOOK, main
from studiolog.journal.history import read_history
from studiolog.journal.opening import BACKUPS, FILE, Journal, open_journal
from studiolog.journal.order_lines import OrderLineDraft
from studiolog.journal.order_page import read_order_page
from studiolog.journal.orders import OrderDraft, add_order, change_order, delete_order
from studiolog.journal.pieces import PieceDraft, change_piece, log_piece
from studiolog.journal.safekeeping import check_journal
from studiolog.journal.shipments import ToShip, change_shipment, ship
from studiolog.journal.wiping import read_wiping, wipe
from studiolog.problems import UserProblem
from studiolog.records import Record, scouring
from tests.journal.conftest import Studio
from tests.journal.order_story import TODAY, do, line_of, make_run, page_of, take_order

LABEL = "Familie Jürgens"
PERSONAL = ("Jürgens", "jürgens@inbox.example", "rings twice", "left with the neighbour")


def take_personal_order(studio: Studio) -> int:
    """An order with all that is personal, changed a few times, part of it shipped."""
    order = studio.journal.edit(
        f"Take an order for {LABEL}",
        lambda session: _enter(session, studio),
    ).value
    do(studio, change_order, order, notes="rings twice, no bell")
    make_run(studio, 4, order_line_id=line_of(studio, order), purpose="order")
    do(studio, ship, order, TODAY, [ToShip(line_of(studio, order), 2)], "left with the neighbour")
    sent = page_of(studio, order).shipments[0].shipment_id
    do(studio, change_shipment, sent, note="left with the neighbour, paid")
    return order


def _enter(session: Any, studio: Studio) -> int:
    draft = OrderDraft(
        whom=LABEL,
        number=31,
        contact="jürgens@inbox.example",
        ordered_on=date(2026, 11, 2),
        promise_words="six to eight weeks",
        lines=(OrderLineDraft(form_id=studio.tumbler, wanted=4),),
    )
    return add_order(session, draft, TODAY)


def bytes_of(journal: Journal) -> bytes:
    """Every byte of the journal's file and of what SQLite keeps beside it."""
    folder = Path(journal.where)
    return b"".join(path.read_bytes() for path in sorted(folder.glob(FILE + "*")))


def every_word(journal: Journal) -> str:
    """Every value of every table, the history included."""

    def read(session: Any) -> str:
        return json.dumps(
            [
                [str(value) for value in row]
                for table in Record.metadata.sorted_tables
                for row in session.execute(text(f'SELECT * FROM "{table.name}"'))
            ],
            ensure_ascii=False,
        )

    return journal.read(read)


def test_nothing_of_the_person_is_left_in_the_tables_nor_in_the_bytes(studio: Studio) -> None:
    order = take_personal_order(studio)
    for personal in PERSONAL:
        assert personal.encode() in bytes_of(studio.journal)
    done = wipe(studio.journal, "familie  jürgens")
    assert (done.orders, done.mentions, done.remains) == ((31,), (), "")
    assert done.outcome == ("The customer of order 31 is wiped.",)
    for personal in PERSONAL:
        assert personal not in every_word(studio.journal)
        assert personal.encode() not in bytes_of(studio.journal)

    page = page_of(studio, order)
    assert (page.whom, page.contact, page.notes, page.shipments[0].note) == (
        "customer of order 31",
        "",
        "",
        "",
    )
    # What was made, sold and promised stays.
    assert (page.shipped, page.wanted, page.promise_words) == (2, 4, "six to eight weeks")
    assert page.shipments[0].shipped_on == TODAY
    labels = [line.label for line in studio.journal.read(read_history)]
    assert labels[0] == "Wipe the customer of order 31"
    assert "Take an order for customer of order 31" in labels
    assert check_journal(studio.journal).problems == ()


def test_undo_of_earlier_edits_still_works_and_brings_nobody_back(studio: Studio) -> None:
    order = take_personal_order(studio)
    wipe(studio.journal, LABEL)
    # The note of the shipment, the shipment, its run, the note of the order: back to the start.
    for _ in range(4):
        assert studio.journal.undo() is not None
    page = page_of(studio, order)
    assert (page.whom, page.notes, page.shipped) == ("customer of order 31", "", 0)
    assert studio.journal.undo() is not None
    assert studio.journal.read(lambda session: read_order_page(session, order)) is None
    for _ in range(5):
        assert studio.journal.redo() is not None
    assert page_of(studio, order).shipped == 2
    for personal in PERSONAL:
        assert personal not in every_word(studio.journal)


def test_one_who_ordered_and_was_deleted_is_wiped_from_the_history(studio: Studio) -> None:
    order = take_order(studio, LABEL)
    do(studio, delete_order, order)
    other = take_order(studio, "Familie Jurgens")
    do(studio, change_order, other, whom=LABEL)
    do(studio, change_order, other, whom="Quay café", notes="by the door")
    done = wipe(studio.journal, LABEL)
    assert done.orders == ()
    assert "No order is for “Familie Jürgens” any more" in done.outcome[0]
    assert LABEL not in every_word(studio.journal)
    # The other's label and note are its own.
    page = page_of(studio, other)
    assert (page.whom, page.notes) == ("Quay café", "by the door")
    assert studio.journal.undo() is not None
    assert page_of(studio, other).whom == "customer of order 1"


def test_own_words_elsewhere_are_listed_and_left_to_the_potter(studio: Studio) -> None:
    take_personal_order(studio)
    draft = PieceDraft(number=412, notes="Like the one Familie Jürgens has")
    piece = do(studio, log_piece, draft)
    found = read_wiping(studio.journal, LABEL)
    assert [one.what for one in found.mentions] == ["the notes of piece 412"]
    assert "can't be undone" in found.warning

    done = wipe(studio.journal, LABEL)
    assert "the notes of piece 412: change these by hand" in done.outcome[1]
    assert "Familie Jürgens has" in every_word(studio.journal)
    # Changed by hand, they are still in the history; wiping again clears that, and undo holds.
    do(studio, change_piece, piece, notes="Like the one by the door")
    assert wipe(studio.journal, LABEL).is_clear
    assert "Jürgens" not in every_word(studio.journal)
    assert studio.journal.undo() is not None
    assert "Like the one a customer has" in every_word(studio.journal)


def test_a_label_that_is_a_word_of_the_trade_leaves_the_trade_alone(studio: Studio) -> None:
    """A customer called “stock” does not change what a run was made for."""
    take_order(studio, "stock")
    run = make_run(studio, 2)
    wipe(studio.journal, "stock")
    assert studio.journal.undo() is not None
    assert studio.journal.redo() is not None
    assert check_journal(studio.journal).problems == ()
    assert run


@pytest.mark.parametrize(
    ("label", "told"),
    [
        ("  ", "Say whom to wipe"),
        ("Nobody", "No order is for “Nobody”"),
        ("customer of order 31", "it is done"),
    ],
)
def test_who_cannot_be_wiped_is_told(studio: Studio, label: str, told: str) -> None:
    take_order(studio, LABEL)
    with pytest.raises(UserProblem, match=told):
        wipe(studio.journal, label)
    assert studio.journal.undo_line() is not None


def test_one_command_wipes_and_names_the_backups(
    studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    take_personal_order(studio)
    where = studio.journal.where
    (Path(where) / BACKUPS / "studiolog-2026-11-01-120000").mkdir()
    assert main(["--journal", where, "wipe", LABEL, "--look"]) == DONE
    assert "This wipes the customer of order 31" in capsys.readouterr().out
    assert page_of(studio, 1).whom == LABEL
    assert main(["--journal", where, "wipe", LABEL]) == LOOK
    told = capsys.readouterr().out
    assert "The customer of order 31 is wiped." in told
    assert "studiolog-2026-11-01-120000" in told
    assert main(["--journal", where, "wipe", "Nobody"]) == COULD_NOT
    assert "No order is for “Nobody”" in capsys.readouterr().err


def test_another_window_that_reads_just_then_is_told_of(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scouring, "WAIT_MS", 20)
    take_personal_order(studio)
    other = open_journal(studio.journal.where)
    with other.engine.connect() as reading:
        reading.execute(text("SELECT count(*) FROM orders")).scalar()
        done = wipe(studio.journal, LABEL)
    other.close()
    assert not done.is_clear
    assert "close other windows" in done.outcome[1]
    assert "Jürgens" not in every_word(studio.journal)
    assert "Jürgens".encode() in bytes_of(studio.journal)
    # The same words again clear the file, though the journal knows nobody of that name any more.
    assert wipe(studio.journal, LABEL).remains == ""
    assert "Jürgens".encode() not in bytes_of(studio.journal)
