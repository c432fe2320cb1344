"""Shrinkage told from the journal's own sizes; test bars typed in a row each."""

from collections.abc import Callable
from datetime import date, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import band_of
from studiolog.journal.bars import TITLE, BarDraft, read_bars, set_bars
from studiolog.journal.clays import change_clay
from studiolog.journal.pieces import (
    PieceDraft,
    PlacementDraft,
    SizeDraft,
    log_piece,
)
from studiolog.journal.sizes import ClayShrinkage, read_shrinkage
from studiolog.problems import EditConflict, UserProblem
from studiolog.records.pieces import Measurement, Piece
from tests.journal.conftest import Studio

NOW = datetime(2026, 10, 20, 15, 30)
LogBar = Callable[..., int]


@pytest.fixture
def log_bar(studio: Studio) -> LogBar:
    """Log a piece of the buff clay with its marks (or another size) by stage."""

    def log(by: str = "mark_mm", fired_in: int | None = None, **sizes: float) -> int:
        placements = () if fired_in is None else (
            PlacementDraft(firing_id=fired_in, level_id=studio.bottom),
        )  # fmt: skip
        draft = PieceDraft(
            clay_id=studio.buff,
            made_on=date(2026, 9, 1),
            stage="fired",
            sizes=tuple(
                SizeDraft(**{"stage": stage, by: size})  # type: ignore[arg-type]
                for stage, size in sizes.items()
            ),
            placements=placements,
        )
        return studio.journal.edit("Log bar", lambda session: log_piece(session, draft)).value

    return log


def read(studio: Studio) -> ClayShrinkage:
    return studio.journal.read(lambda session: read_shrinkage(session, studio.buff))


def test_a_bar_tells_drying_firing_and_total(studio: Studio, log_bar: LogBar) -> None:
    log_bar(wet=100, bone_dry=94, bisque=93.5, fired=88)
    clay = read(studio)
    told = {stage.key: stage.pieces[0].shrinkage for stage in clay.stages}
    assert told["drying"] == pytest.approx(0.06)
    assert told["firing"] == pytest.approx((94 - 88) / 94)
    assert told["total"] == pytest.approx(0.12)
    assert told["bisque"] == pytest.approx(0.065)
    assert clay.known().basis == "few measured"


def test_marks_are_taken_before_the_rim_and_the_rim_before_the_height(
    studio: Studio, log_bar: LogBar
) -> None:
    log_bar(by="height_mm", wet=120, fired=100)
    log_bar(by="across_mm", wet=100, fired=87)
    log_bar(wet=100, fired=88)
    total = read(studio).stage("total")
    assert {one.by: round(one.shrinkage, 3) for one in total.pieces} == {
        "mark_mm": 0.12, "across_mm": 0.13, "height_mm": 0.167,
    }  # fmt: skip
    assert list(total.by) == ["mark_mm", "across_mm", "height_mm"]


def test_enough_bars_speak_alone_and_the_heights_stand_beside_them(
    studio: Studio, log_bar: LogBar
) -> None:
    for fired in (88.0, 88.2, 87.9, 88.1, 87.8):
        log_bar(wet=100, fired=fired)
    log_bar(by="height_mm", wet=120, fired=100)
    clay = read(studio)
    assert len(clay.telling("total")) == 5
    known = clay.known()
    assert (known.basis, known.n, known.mean) == ("measured", 5, pytest.approx(0.12))


def test_with_nothing_measured_what_is_stated_holds_and_else_common_practice(
    studio: Studio,
) -> None:
    assert read(studio).known().basis == "common practice"
    studio.journal.edit(
        "State it", lambda session: change_clay(session, studio.buff, shrinkage_percent=13.5)
    )
    known = read(studio).known()
    assert (known.basis, known.mean) == ("stated", pytest.approx(0.135))


def test_the_cone_at_the_piece_parts_the_bands_with_its_basis(
    studio: Studio, log_bar: LogBar
) -> None:
    log_bar(wet=100, fired=88, fired_in=studio.firing)
    log_bar(wet=100, fired=89)
    bands = read(studio).bands
    assert [one.band is None for one in bands] == [False, True]
    (piece,) = [one for one in read(studio).stage("total").pieces if one.cone10 is not None]
    assert piece.cone10 is not None
    assert bands[0].band == band_of(piece.cone10)
    assert dict(bands[0].bases) == {"read": 1}
    assert not read(studio).band_speaks(bands[0].band)


def test_a_slip_is_told_and_counted_and_what_can_not_be_is_left_out(
    studio: Studio, log_bar: LogBar
) -> None:
    for fired in (88.0, 88.2, 87.9, 88.1, 87.8, 81.0):
        log_bar(wet=100, fired=fired)
    log_bar(wet=100, fired=108)
    log_bar(wet=100, fired=8.8)
    total = read(studio).stage("total")
    assert [one.after_mm for one in total.pieces if one.far] == [81.0]
    assert len(total.pieces) == 6
    without = total.without_far("mark_mm")
    assert without is not None
    assert (without.n, round(without.mean, 3)) == (5, 0.12)
    assert sorted(left.after_mm for left in total.left_out) == [8.8, 108]
    assert any("grown" in left.why for left in total.left_out)


def bars(studio: Studio, *drafts: BarDraft, seen: object = None) -> None:
    stood = studio.journal.read(lambda session: read_bars(session, studio.buff))
    studio.journal.edit(
        "Measure test bars",
        lambda session: set_bars(
            session, studio.buff, stood if seen is None else seen, drafts, NOW  # type: ignore[arg-type]
        ),
    )  # fmt: skip


def lines(studio: Studio) -> tuple[BarDraft, ...]:
    return tuple(
        bar.draft for bar in studio.journal.read(lambda session: read_bars(session, studio.buff))
    )


def test_a_row_makes_a_numbered_bar_and_later_rows_measure_it(studio: Studio) -> None:
    bars(studio, BarDraft(None, (100, None, None, None)))
    (first,) = lines(studio)
    assert first.number is not None
    bars(studio, BarDraft(first.number, (100, 94, None, 88), 1))
    piece = studio.journal.read(
        lambda session: session.scalars(select(Piece).where(Piece.title == TITLE)).one()
    )
    assert (piece.stage, piece.clay_id) == ("fired", studio.buff)
    assert lines(studio) == (BarDraft(first.number, (100, 94, None, 88), 1),)
    assert read(studio).stage("total").pieces[0].cone10 is not None


def test_a_row_taken_out_takes_the_bar_with_it_and_undo_brings_it_back(studio: Studio) -> None:
    bars(studio, BarDraft(None, (100, 94, None, 88)), BarDraft(None, (100, None, None, None)))
    kept = lines(studio)
    bars(studio, kept[0])
    assert lines(studio) == kept[:1]
    assert studio.journal.read(lambda session: len(session.scalars(select(Piece)).all())) == 1
    studio.journal.undo()
    assert lines(studio) == kept


def test_a_pot_named_by_its_number_keeps_its_other_sizes_and_its_stage(
    studio: Studio, log_tumbler: Callable[..., int]
) -> None:
    piece_id = log_tumbler()

    def number(session: Session) -> int:
        session.add(Measurement(piece_id=piece_id, stage="wet", height_mm=110.0))
        return session.get_one(Piece, piece_id).number or 0

    at = studio.journal.edit("Measure", number).value
    bars(studio, BarDraft(at, (100, None, None, 88)))
    wet = studio.journal.read(
        lambda session: session.scalars(
            select(Measurement).where(
                Measurement.piece_id == piece_id, Measurement.stage == "wet"
            )
        ).one()
    )  # fmt: skip
    assert (wet.height_mm, wet.mark_mm) == (110, 100)
    bars(studio)
    assert lines(studio) == ()
    piece = studio.journal.read(lambda session: session.get_one(Piece, piece_id))
    assert piece.number == at, "a pot stays when its marks go"


@pytest.mark.parametrize(
    ("draft", "told"),
    [
        (BarDraft(None, (100, 104, None, None)), "clay shrinks"),
        (BarDraft(None, (100, None, None, 88), 999), "no firing 999"),
        (BarDraft(None, (-1, None, None, None)), "more than 0 mm"),
    ],
)
def test_what_no_bar_can_be_is_refused_and_nothing_is_written(
    studio: Studio, draft: BarDraft, told: str
) -> None:
    with pytest.raises(UserProblem, match=told):
        bars(studio, BarDraft(None, (100, None, None, None)), draft)
    assert lines(studio) == ()


def test_two_rows_of_one_piece_and_a_piece_of_another_clay_are_refused(
    studio: Studio, log_tumbler: Callable[..., int]
) -> None:
    log_tumbler(clay=studio.red)
    with pytest.raises(UserProblem, match="Iron-red stoneware"):
        bars(studio, BarDraft(1, (100, None, None, None)))
    with pytest.raises(UserProblem, match="two rows"):
        bars(studio, BarDraft(7, (100, None, None, None)), BarDraft(7, (99, None, None, None)))


def test_a_bar_measured_at_another_desk_meanwhile_is_a_conflict(studio: Studio) -> None:
    bars(studio, BarDraft(None, (100, None, None, None)))
    stood = studio.journal.read(lambda session: read_bars(session, studio.buff))
    bars(studio, BarDraft(stood[0].number, (99, None, None, None)))
    with pytest.raises(EditConflict):
        bars(studio, BarDraft(stood[0].number, (98, None, None, None)), seen=stood)
