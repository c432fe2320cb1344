"""A potter opens the page of a tumbler, and looks for others in the list."""

from collections.abc import Callable
from datetime import date, datetime

import pytest
from sqlalchemy import event

from studiolog.journal.clays import change_clay
from studiolog.journal.firings import (
    ConeDraft,
    CurveDraft,
    FiringDraft,
    LogDraft,
    PackDraft,
    log_firing,
)
from studiolog.journal.inspections import FaultDraft, InspectionDraft, log_inspection
from studiolog.journal.photos import PictureDraft, add_picture
from studiolog.journal.piece_changes import (
    change_stage_line,
    change_step,
    come_from,
    delete_step,
    measure,
    move_placement,
    relay_layers,
    rewrite_inspection,
)
from studiolog.journal.piece_choices import find_piece_numbered
from studiolog.journal.piece_list import (
    PieceFilter,
    find_piece_ids,
    list_pieces,
    read_piece_rows,
)
from studiolog.journal.piece_page import PiecePage, read_piece_page, read_small_curve
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    SizeDraft,
    log_piece,
    log_run,
    log_step,
    move_to_stage,
    set_size,
)
from studiolog.journal.stage_history import delete_stage_change
from studiolog.problems import EditConflict, UserProblem
from studiolog.records.pieces import Piece
from studiolog.transfer.curve_blob import pack_readings

LogTumbler = Callable[..., int]


def page_of(studio, piece_id: int) -> PiecePage:
    return studio.journal.read(lambda session: read_piece_page(session, piece_id))


def edit(studio, fn):
    return studio.journal.edit("Try", fn).value


def picture(moment: str, letter: str, **more: object) -> PictureDraft:
    return PictureDraft(
        sha256=letter * 64,
        suffix=".jpg",
        name=f"{letter}.jpg",
        width=400,
        height=300,
        byte_count=1000,
        taken_at=datetime(2026, 10, 4, 9),
        moment=moment,
        **more,  # type: ignore[arg-type]
    )


def test_the_page_tells_clay_layers_and_where_it_stood(studio, log_tumbler: LogTumbler) -> None:
    page = page_of(studio, log_tumbler(FaultDraft("crazing", 1, "inside")))
    assert page.number == 1
    assert page.name == "Ripple tumbler"
    assert page.clay is not None
    assert page.clay.name == "Buff stoneware"
    told = [(layer.zone, layer.position, layer.glaze_name, layer.method) for layer in page.layers]
    assert told == [
        ("outside", 1, "Kelp", "dip"),
        ("outside", 2, "Chalk", "dip"),
        ("inside", 1, "Oat", "pour"),
    ]
    (firing,) = page.firings
    assert (firing.level_name, firing.aimed_label, firing.aimed) == ("bottom", "6", 6.0)
    assert firing.read is not None
    assert firing.read.low <= firing.read.cone <= firing.read.high
    assert firing.best == firing.read
    assert firing.computed is None  # nothing was logged
    assert page.worst_fault == ("crazing", 1, 2)


def test_a_piece_of_which_nothing_is_known_still_has_a_page(studio) -> None:
    piece = edit(studio, lambda s: log_piece(s, PieceDraft()))
    page = page_of(studio, piece)
    assert page.name == "Piece"
    assert (page.clay, page.form, page.run, page.before, page.after) == (None,) * 5
    assert page.layers == page.firings == page.inspections == page.sizes == ()
    assert page.shrinkage is None
    assert page.worst_fault is None


def test_a_deleted_piece_is_told_in_a_sentence(studio) -> None:
    with pytest.raises(UserProblem, match="no longer in the journal"):
        page_of(studio, 999)


def test_shrinkage_is_counted_from_the_wet_size_and_stands_beside_the_usual(
    studio, log_tumbler: LogTumbler
) -> None:
    piece = log_tumbler()

    def measured(session) -> None:
        set_size(session, piece, SizeDraft(stage="wet", height_mm=118, across_mm=94, mass_g=412))
        set_size(session, piece, SizeDraft(stage="fired", height_mm=103, across_mm=82, wall_mm=4.1))
        change_clay(session, studio.buff, shrinkage_percent=12.5)

    edit(studio, measured)
    page = page_of(studio, piece)
    # Linear drying and firing shrinkage on the wet size, as in ASTM C326: (118 − 103) / 118.
    assert page.shrinkages["height_mm"] == pytest.approx(15 / 118)
    assert page.shrinkages["across_mm"] == pytest.approx(12 / 94)
    assert page.wall_mm == 4.1
    assert page.clay is not None
    assert (page.clay.usual_shrinkage, page.clay.usual_basis) == (0.125, "stated")
    edit(studio, lambda s: change_clay(s, studio.buff, shrinkage_percent=None))
    clay = page_of(studio, piece).clay
    assert clay is not None
    assert clay.usual_shrinkage == pytest.approx(15 / 118)
    assert clay.usual_basis == "1 piece"


def test_none_seen_is_never_told_like_not_looked(studio, log_tumbler: LogTumbler) -> None:
    piece = log_tumbler(FaultDraft("crazing", 0), FaultDraft("running", 1, "outside, lower"))

    def again(session) -> None:
        later = InspectionDraft(
            looked_on=date(2026, 10, 25),
            faults=(FaultDraft("crazing", 2, "inside"), FaultDraft("crazing", 0, "outside")),
        )
        log_inspection(session, piece, later)

    edit(studio, again)
    rows = {row.fault: row for row in page_of(studio, piece).fault_rows}
    assert rows["crazing"].severities == (0, 2)
    assert rows["running"].severities == (1, None)
    assert rows["crazing"].where == "inside"
    assert "pinhole" not in rows
    assert [line.days_after_firing for line in page_of(studio, piece).inspections] == [2, 23]


def test_before_is_the_raw_glaze_and_after_the_fired_picture(
    studio, log_tumbler: LogTumbler
) -> None:
    piece = log_tumbler()

    def shoot(session) -> None:
        add_picture(session, picture("bisque", "a"), piece_id=piece)
        add_picture(session, picture("glazed", "b"), piece_id=piece)
        add_picture(session, picture("fired", "c"), piece_id=piece)
        add_picture(session, picture("fired", "d", px_per_mm=4.0), piece_id=piece)
        add_picture(session, picture("later", "e"), piece_id=piece)

    edit(studio, shoot)
    page = page_of(studio, piece)
    assert page.before is not None
    assert page.after is not None
    assert page.before.sha256[0] == "b"
    assert page.after.sha256[0] == "d"  # the one whose scale is known
    assert len(page.pictures) == 5


def hot_log(peak_c: float, cone: float, name: str) -> LogDraft:
    at_s = [float(minute * 60) for minute in range(0, 900, 5)]
    rise = [20 + (peak_c - 20) * min(1.0, s / 28800) for s in at_s]
    curve = [
        c if s < 30000 else max(100.0, peak_c - (s - 30000) / 30)
        for s, c in zip(at_s, rise, strict=True)
    ]
    packed = pack_readings(at_s, curve)
    return LogDraft(
        sha256=(name[0] * 64),
        name=name,
        content=name.encode(),
        curves=(
            CurveDraft(
                channel="probe",
                packed=packed,
                readings=len(at_s),
                duration_s=at_s[-1],
                peak_c=peak_c,
                cone=cone,
                cone_low=cone - 0.8,
                cone_high=cone + 0.8,
            ),
        ),
    )


def test_the_computed_cone_is_corrected_by_what_the_level_read_before(
    studio, log_tumbler: LogTumbler
) -> None:
    def fire(session) -> list[int]:
        return [
            log_firing(
                session,
                FiringDraft(
                    kiln_id=studio.kiln,
                    started_at=datetime(2026, 10, 5 + day, 7),
                    cone="6",
                    log=hot_log(1220, 6.5, f"{day}.csv"),
                    packs=(
                        (
                            PackDraft(
                                level_id=studio.bottom,
                                cones=(ConeDraft(cone="6", bend_low_deg=45, bend_high_deg=55),),
                            ),
                        )
                    ),
                ),
            )
            for day in range(5)
        ]

    firings = edit(studio, fire)
    piece = log_tumbler()

    def place(session) -> None:
        from studiolog.journal.pieces import place_piece, unplace_piece

        unplace_piece(session, piece, studio.firing)
        place_piece(session, piece, PlacementDraft(firing_id=firings[-1], level_id=studio.bottom))

    edit(studio, place)
    (firing,) = page_of(studio, piece).firings
    assert firing.read is not None
    assert firing.computed is not None
    assert firing.level_usually_c is not None
    # The bottom has read cooler than the sensor; the curve at this level is corrected that way.
    assert firing.level_usually_c < 0
    assert firing.computed.cone == pytest.approx(firing.read.cone, abs=0.05)
    assert firing.computed.low < firing.computed.cone < firing.computed.high < 6.8
    assert firing.best == firing.read


def test_the_small_curve_has_its_few_figures(studio) -> None:
    firing = edit(
        studio,
        lambda s: log_firing(
            s,
            FiringDraft(
                kiln_id=studio.kiln,
                started_at=datetime(2026, 11, 1, 7),
                log=hot_log(1209, 6.0, "small.csv"),
            ),
        ),
    )
    small = studio.journal.read(lambda s: read_small_curve(s, firing))
    assert small.peak_c == pytest.approx(1209, abs=1)
    assert small.above_1100_s is not None
    assert 3600 < small.above_1100_s < 5 * 3600
    assert small.quartz_down_c_per_h == pytest.approx(120, rel=0.1)
    bare = studio.journal.read(lambda s: read_small_curve(s, studio.firing))
    assert bare.curve_s == ()
    assert bare.peak_c is None


def test_what_led_here_and_what_came_of_it(studio, log_tumbler: LogTumbler) -> None:
    first, second, third = (log_tumbler() for _ in range(3))

    def link(session) -> None:
        come_from(session, second, None, first)
        come_from(session, third, None, second)
        log_run(
            session,
            RunDraft(
                made_on=date(2026, 11, 2),
                form_id=studio.tumbler,
                how_many=36,
                came_from_ids=(second,),
            ),
        )

    edit(studio, link)
    page = page_of(studio, second)
    assert [link.piece_id for link in page.came_from] == [first]
    assert [link.piece_id for link in page.became_pieces] == [third]
    assert [(run.number, run.pieces) for run in page.became_runs] == [(1, 36)]
    assert [link.number for link in page_of(studio, third).came_from] == [1, 2]
    with pytest.raises(UserProblem, match="can't come from itself"):
        edit(studio, lambda s: come_from(s, first, None, third))


def test_the_page_is_read_in_a_few_queries(studio, log_tumbler: LogTumbler) -> None:
    pieces = [log_tumbler(FaultDraft("crazing", 1)) for _ in range(6)]

    def link_all(session) -> None:
        for child, parent in zip(pieces[1:], pieces[:-1], strict=True):
            come_from(session, child, None, parent)

    edit(studio, link_all)
    asked: list[str] = []

    def count(_conn, _cursor, statement, *_rest) -> None:
        asked.append(statement)

    event.listen(studio.journal.engine, "before_cursor_execute", count)
    try:
        page_of(studio, pieces[0])
        few = len(asked)
        studio.journal.read(lambda s: list_pieces(s))
    finally:
        event.remove(studio.journal.engine, "before_cursor_execute", count)
    assert few <= 30
    assert len(asked) - few <= 6


def test_two_desks_cannot_overwrite_each_other_unseen(studio, log_tumbler: LogTumbler) -> None:
    piece = log_tumbler(FaultDraft("crazing", 1))
    seen = page_of(studio, piece)
    versions = [layer.version for layer in seen.layers]
    new = (LayerDraft(zone="outside", glaze_id=studio.oat, method="brush", coats=2),)
    edit(studio, lambda s: relay_layers(s, piece, versions, new))
    with pytest.raises(EditConflict):
        edit(studio, lambda s: relay_layers(s, piece, versions, ()))
    edit(studio, lambda s: measure(s, piece, "wet", None, "height_mm", 118.0))
    with pytest.raises(EditConflict):
        edit(studio, lambda s: measure(s, piece, "wet", None, "height_mm", 120.0))
    line = seen.inspections[0]
    draft = InspectionDraft(looked_on=line.looked_on, faults=(FaultDraft("crazing", 2),))
    edit(
        studio,
        lambda s: rewrite_inspection(
            s, line.inspection_id, line.version, line.reading_versions, draft
        ),
    )
    with pytest.raises(EditConflict):
        edit(
            studio,
            lambda s: rewrite_inspection(
                s, line.inspection_id, line.version, line.reading_versions, draft
            ),
        )
    page = page_of(studio, piece)
    assert [layer.glaze_name for layer in page.layers] == ["Oat"]
    assert page.inspections[0].faults[0].severity == 2


def test_a_stage_taken_back_leaves_the_one_before_it_and_no_reason_for_a_loss(
    studio, log_tumbler: LogTumbler
) -> None:
    piece = log_tumbler()
    for stage, day, note in (("finished", 9, ""), ("lost", 12, "handle knocked off")):
        at = datetime(2026, 10, day, 9)
        edit(studio, lambda s, st=stage, at=at, n=note: move_to_stage(s, piece, st, at, n))

    def stands() -> tuple[str, str]:
        record = studio.journal.read(lambda s: s.get_one(Piece, piece))
        return record.stage, record.lost_why

    assert stands() == ("lost", "handle knocked off")
    lost = page_of(studio, piece).stages[-1]
    edit(studio, lambda s: delete_stage_change(s, lost.change_id))
    assert stands() == ("finished", "")
    studio.journal.undo()
    assert stands() == ("lost", "handle knocked off")


def test_steps_stages_and_places_are_put_right(studio, log_tumbler: LogTumbler) -> None:
    piece = log_tumbler()
    step = edit(studio, lambda s: log_step(s, piece, "trimmed", date(2026, 9, 12), 3))
    edit(studio, lambda s: change_step(s, step, None, "trimmed thin", date(2026, 9, 13), 4))
    assert page_of(studio, piece).steps[0].name == "trimmed thin"
    edit(studio, lambda s: delete_step(s, step))
    assert page_of(studio, piece).steps == ()
    edit(studio, lambda s: move_to_stage(s, piece, "finished", datetime(2026, 10, 9), "ground"))
    last = page_of(studio, piece).stages[-1]
    assert (last.stage, last.note) == ("finished", "ground")
    # Put before the others, it is no longer the stage the piece has.
    edit(
        studio,
        lambda s: change_stage_line(s, last.change_id, last.version, datetime(2026, 9, 1), ""),
    )
    assert page_of(studio, piece).stage == "fired"
    place = page_of(studio, piece).firings[0]
    moved = PlacementDraft(firing_id=studio.firing, level_id=studio.top, position="front left")
    edit(studio, lambda s: move_placement(s, piece, place.placement_id, place.version, moved))
    after = page_of(studio, piece).firings[0]
    assert (after.level_name, after.position) == ("top", "front left")


# The list


def test_the_list_finds_by_number_form_glaze_and_note(studio, log_tumbler: LogTumbler) -> None:
    first, second = log_tumbler(), log_tumbler(clay=studio.red)
    noted = edit(
        studio,
        lambda s: log_piece(s, PieceDraft(title="Test tile", notes="50% water_glass")),
    )

    def found(text: str, **more: object) -> list[int]:
        wanted = PieceFilter(text=text, **more)  # type: ignore[arg-type]
        return list(studio.journal.read(lambda s: find_piece_ids(s, wanted)))

    assert found("") == [noted, second, first]
    assert found("2") == [second]
    assert found("ripple") == [second, first]
    assert found("chalk ripple") == [second, first]
    assert found("chalk tile") == []
    assert found("50%") == [noted]
    # A percent sign or underscore is itself, not "anything".
    assert found("5%0") == []
    assert found("water_glass") == [noted]
    assert found("water.glass") == []
    assert found("red ripple") == [second]
    assert found("", clay_id=studio.red) == [second]
    assert found("", glaze_id=studio.oat) == [second, first]
    assert found("", stage="wet") == [noted]
    assert studio.journal.read(lambda s: find_piece_numbered(s, 3)) == noted


def test_the_list_comes_in_pages_with_its_total(studio) -> None:
    def many(session) -> None:
        for _ in range(25):
            log_piece(session, PieceDraft(form_id=studio.tumbler))

    edit(studio, many)
    numbers: list[int | None] = []
    after = None
    while True:
        page = studio.journal.read(lambda s, after=after: list_pieces(s, after=after, limit=10))
        assert page.total == 25
        numbers += [row.number for row in page.rows]
        after = page.after
        if after is None:
            break
    assert numbers == list(range(25, 0, -1))


def test_counted_pieces_are_listed_with_their_run_only(studio) -> None:
    run = edit(
        studio,
        lambda s: log_run(s, RunDraft(made_on=date(2026, 9, 11), how_many=4, form_id=1)),
    )
    assert studio.journal.read(lambda s: list_pieces(s)).total == 0
    page = studio.journal.read(lambda s: list_pieces(s, run_id=run))
    assert page.total == 4
    assert {row.number for row in page.rows} == {None}
    assert page.rows[0].run_number == 1


def test_a_row_tells_combination_cone_and_worst_fault(studio, log_tumbler: LogTumbler) -> None:
    piece = log_tumbler(FaultDraft("crazing", 1), FaultDraft("running", 3))
    edit(studio, lambda s: add_picture(s, picture("glazed", "f"), piece_id=piece))
    edit(studio, lambda s: add_picture(s, picture("fired", "9"), piece_id=piece))
    (row,) = studio.journal.read(lambda s: read_piece_rows(s, [piece]))
    assert [part.name for part in row.layers] == ["Kelp", "Chalk"]
    assert (row.zone, row.other_zones) == ("outside", 1)
    assert (row.worst_fault, row.worst_severity) == ("running", 3)
    assert row.cone_basis == "read"
    assert row.sha256 == "9" * 64
