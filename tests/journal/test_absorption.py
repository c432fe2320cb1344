"""Absorption tests: entered, changed, taken out; told by cone; kept when a piece goes."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy.orm import Session

from studiolog.journal.absorption import (
    AbsorptionDraft,
    ClayAbsorption,
    add_absorption,
    change_absorption,
    delete_absorption,
    read_absorption,
    set_absorptions,
)
from studiolog.journal.clays import delete_clay
from studiolog.journal.pieces import delete_piece
from studiolog.problems import EditConflict, UserProblem
from studiolog.records.pieces import Piece
from tests.journal.conftest import Studio

TODAY = date(2026, 10, 20)
TEST = AbsorptionDraft(
    tested_on=date(2026, 10, 18), dry_g=200, saturated_g=206, suspended_g=118, cone="6"
)


def read(studio: Studio) -> ClayAbsorption:
    return studio.journal.read(lambda session: read_absorption(session, studio.buff))


def add(studio: Studio, draft: AbsorptionDraft = TEST) -> int:
    return studio.journal.edit(
        "Test", lambda session: add_absorption(session, studio.buff, draft, TODAY)
    ).value


def write(studio: Studio, drafts: Sequence[AbsorptionDraft]) -> None:
    seen = [(line.test_id, line.version) for line in read(studio).lines]
    studio.journal.edit(
        "Tests", lambda session: set_absorptions(session, studio.buff, seen, drafts, TODAY)
    )


def test_a_test_tells_absorption_porosity_and_density_at_its_cone(studio: Studio) -> None:
    add(studio)
    (line,) = read(studio).lines
    assert (line.cone10, round(line.told.absorption_percent, 2)) == (60, 3.0)
    (band,) = read(studio).bands
    assert (band.spread.n, round(band.spread.mean, 2)) == (1, 3.0)


def test_a_piece_of_the_journal_brings_its_own_cone(
    studio: Studio, log_tumbler: Callable[..., int]
) -> None:
    piece_id = log_tumbler()
    add(studio, replace(TEST, piece_number=1, cone=""))
    (line,) = read(studio).lines
    assert line.piece_id == piece_id
    assert line.cone_basis == "read"
    assert line.cone10 is not None
    # The piece goes; the test was made all the same, and keeps its cone.
    studio.journal.edit("Delete", lambda session: delete_piece(session, piece_id))
    (kept,) = read(studio).lines
    assert (kept.piece_id, kept.cone10) == (None, line.cone10)


def test_a_test_is_changed_and_taken_out_and_undone(studio: Studio) -> None:
    test_id = add(studio)
    (line,) = read(studio).lines

    def wetter(session: Session) -> None:
        change_absorption(session, test_id, line.version, replace(TEST, saturated_g=210), TODAY)

    studio.journal.edit("Change", wetter)
    assert read(studio).lines[0].told.absorption_percent == pytest.approx(5)
    with pytest.raises(EditConflict):
        studio.journal.edit("Change", wetter)
    studio.journal.edit("Delete", lambda session: delete_absorption(session, test_id))
    assert read(studio).lines == ()
    studio.journal.undo()
    assert len(read(studio).lines) == 1


def test_rows_of_the_table_are_added_changed_and_taken_out(studio: Studio) -> None:
    older = replace(TEST, tested_on=date(2026, 9, 1), note="a shard")
    write(studio, [TEST, older])
    first = read(studio).lines
    assert [line.tested_on.month for line in first] == [10, 9]
    write(studio, [TEST, replace(older, saturated_g=204)])
    again = read(studio).lines
    assert [line.test_id for line in again] == [line.test_id for line in first]
    assert again[0].version == first[0].version, "a row left as it was is not written"
    assert again[1].told.absorption_percent == pytest.approx(2)
    write(studio, [replace(older, saturated_g=204)])
    assert [line.note for line in read(studio).lines] == ["a shard"]


def test_a_row_taken_out_and_another_added_at_once_leave_the_rest_alone(studio: Studio) -> None:
    days = [replace(TEST, tested_on=date(2026, month, 1)) for month in (10, 9, 8, 7)]
    write(studio, days[:2])
    write(studio, days[1:3])
    assert [line.tested_on.month for line in read(studio).lines] == [9, 8]
    kept = read(studio).lines[0]
    write(studio, [days[1], replace(days[2], note="a shard"), days[3]])
    lines = read(studio).lines
    assert [(line.tested_on.month, line.note) for line in lines] == [
        (9, ""),
        (8, "a shard"),
        (7, ""),
    ]
    assert (lines[0].test_id, lines[0].version) == (kept.test_id, kept.version)


@pytest.mark.parametrize(
    ("draft", "told"),
    [
        (replace(TEST, saturated_g=190), "takes up water"),
        (replace(TEST, suspended_g=203), "weighs less"),
        (replace(TEST, tested_on=date(2027, 1, 1)), "today or before"),
        (replace(TEST, piece_number=999), "no piece 999"),
        (replace(TEST, cone="ninety"), "cone"),
    ],
)
def test_what_can_not_be_is_refused(studio: Studio, draft: AbsorptionDraft, told: str) -> None:
    with pytest.raises(UserProblem, match=told):
        add(studio, draft)
    with pytest.raises(UserProblem, match="Test 2: "):
        write(studio, [TEST, draft])
    assert read(studio).lines == ()


def test_a_piece_of_another_clay_is_refused(
    studio: Studio, log_tumbler: Callable[..., int]
) -> None:
    piece_id = log_tumbler(clay=studio.red)
    number = studio.journal.read(lambda session: session.get_one(Piece, piece_id).number)
    with pytest.raises(UserProblem, match="another clay"):
        add(studio, replace(TEST, piece_number=number))


def test_a_clay_nothing_was_made_of_goes_with_its_tests(studio: Studio) -> None:
    add(studio)
    studio.journal.edit("Delete", lambda session: delete_clay(session, studio.buff))
    studio.journal.undo()
    assert len(read(studio).lines) == 1
