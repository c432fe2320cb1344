"""What stands in a window before its journal is open is what the bench then says."""

import sqlite3
from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from studiolog.journal import first_look
from studiolog.journal.bench import read_bench
from studiolog.journal.first_look import read_first_look
from studiolog.journal.forms import change_form
from studiolog.journal.opening import FILE, Journal
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.profiles import Profile
from studiolog.journal.runs import lose_pieces, move_pieces, place_pieces, single_out_one
from studiolog.journal.studio import name_studio
from studiolog.records import upgrade
from tests.crowded_studio import crowd_studio
from tests.journal.conftest import Studio
from tests.small_studio import fill_studio

NOON = datetime(2026, 11, 12, 12, 0)


def file_of(journal: Journal) -> Path:
    return Path(journal.where) / FILE


def assert_the_same(journal: Journal) -> None:
    first = read_first_look(file_of(journal))
    assert first is not None
    assert first.rows == journal.read(read_bench).rows


def test_an_empty_bench_is_empty_at_once(journal: Journal) -> None:
    first = read_first_look(file_of(journal))
    assert first == first_look.FirstLook("", (), whole=True)


def test_every_lot_of_a_run_is_there_at_once(studio: Studio) -> None:
    def work(session: Session) -> None:
        name_studio(session, "Tern Yard")
        wall = Profile(((0.0, 0.0), (30.0, 0.0), (40.5, 95.0)), ((25.0, 6.0), (36.0, 95.0)))
        change_form(session, studio.tumbler, profile=wall, fired_height_mm=95.0)
        orders = [
            add_order(
                session,
                OrderDraft(
                    whom=whom,
                    promised_on=day,
                    lines=(OrderLineDraft(form_id=studio.tumbler, wanted=12),),
                ),
            )
            for whom, day in (("Quay café", date(2026, 12, 4)), ("Harbour kitchen", None))
        ]
        for place in range(5):
            page = read_order_page(session, orders[place % 2])
            assert page is not None
            run = log_run(
                session,
                RunDraft(
                    made_on=date(2026, 11, 2 + place),
                    form_id=studio.tumbler if place else None,
                    clay_id=studio.buff if place != 1 else None,
                    order_line_id=page.lines[0].line_id if place < 4 else None,
                    title="Seconds" if place == 3 else "",
                    how_many=14,
                ),
            )
            move_pieces(session, run, "wet", "bone_dry", 6 + place, NOON)
            lose_pieces(session, run, "wet", 2, "rim split", NOON)
            lose_pieces(session, run, "bone_dry", 1, "dropped", NOON)
            single_out_one(session, run, "bone_dry")
            move_pieces(session, run, "bone_dry", "glazed", 2, NOON)
            place_pieces(session, run, "glazed", 2, studio.firing)

    studio.journal.edit("A month at the bench", work)
    assert_the_same(studio.journal)
    first = read_first_look(file_of(studio.journal))
    assert first is not None
    assert first.studio == "Tern Yard"
    assert any(row.packed for row in first.rows)
    assert any(row.lost == (("rim split", 2), ("dropped", 1)) for row in first.rows)
    few = read_first_look(file_of(studio.journal), limit=2)
    assert few is not None
    assert few.rows == first.rows[:2]
    assert first.whole
    assert not few.whole


@pytest.mark.parametrize("fill", [fill_studio, crowd_studio])
def test_a_whole_studio_is_read_alike(journal: Journal, fill: object) -> None:
    assert callable(fill)
    fill(journal)
    assert_the_same(journal)


def test_what_cannot_be_read_is_left_to_the_opening(journal: Journal, tmp_path: Path) -> None:
    file = file_of(journal)
    assert read_first_look(tmp_path / "nowhere" / FILE) is None
    assert not (tmp_path / "nowhere").exists()
    journal.close()
    with sqlite3.connect(file) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    assert read_first_look(file) is None
    file.write_bytes(b"SQLite format 3\x00" + b"clay dust" * 500)
    assert read_first_look(file) is None


def test_it_reads_the_tables_that_the_program_writes() -> None:
    assert first_look.READS == upgrade.NEWEST
    assert first_look.FILE == FILE
