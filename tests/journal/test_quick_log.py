"""The sheet behind the quick log: opened by number first, kept in one edit, nothing else lost."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import partial

import pytest
from sqlalchemy import select

from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.glazes import change_glaze
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.layer_words import WordedLayer, read_layers
from studiolog.journal.photos import PictureDraft, read_pictures
from studiolog.journal.pieces import (
    PlacementDraft,
    RunDraft,
    SizeDraft,
    log_run,
    place_piece,
    set_size,
)
from studiolog.journal.quick_log import open_sheet, preview_answer, save_sheet
from studiolog.journal.sheet_page import propose_picture_moment, propose_stage
from studiolog.problems import UserProblem
from studiolog.records.inspections import FaultReading, Inspection
from studiolog.records.pieces import Layer, Measurement, Piece, Placement, StageChange

NOW = datetime(2026, 11, 12, 14, 6)


def picture(sha: str, taken_at: datetime | None = None, moment: str = "fired") -> PictureDraft:
    return PictureDraft(
        sha256=sha * 64,
        suffix=".jpg",
        name=f"{sha}.jpg",
        width=4,
        height=3,
        byte_count=9,
        taken_at=taken_at,
        moment=moment,
    )


def open_(studio, number=None, like=None):
    return studio.journal.read(partial(open_sheet, number=number, like=like, now=NOW))


def save(studio, draft, opened=None):
    edit = partial(save_sheet, draft=draft, opened=opened, now=NOW)
    return studio.journal.edit("Log piece", edit).value


def rows(studio, record, *where):
    return studio.journal.read(lambda s: list(s.scalars(select(record).where(*where))))


def test_the_first_sheet_of_a_new_journal_has_nothing_to_offer(journal):
    page = journal.read(partial(open_sheet, now=NOW))

    assert page.is_new
    assert page.number == 1
    assert page.offer.clay_id is None
    assert (page.clays, page.glazes, page.firings, page.runs) == ((), (), (), ())


def test_a_new_sheet_proposes_the_next_number_and_offers_what_was_used_last(studio, log_tumbler):
    log_tumbler()

    page = open_(studio)

    assert (page.is_new, page.number, page.draft.number) == (True, 2, 2)
    assert page.draft.clay_id is None, "what is offered is not filled in"
    assert (page.offer.from_number, page.offer.clay_id, page.offer.form_id) == (
        1,
        studio.buff,
        studio.tumbler,
    )
    assert (page.offer.firing_id, page.offer.level_id) == (studio.firing, studio.bottom)
    (firing,) = page.firings
    bottom = firing.levels[2]
    assert (bottom.name, bottom.basis) == ("bottom", "read")
    assert bottom.cone == pytest.approx(5.5, abs=0.6)


def test_a_sheet_full_of_facts_is_kept_as_one_edit_and_undone_as_one(studio):
    glazes = open_(studio).glaze_names()
    draft = replace(
        open_(studio).draft,
        clay_id=studio.red,
        form_id=studio.tumbler,
        height_mm=96.0,
        mass_g=312.0,
        layers=read_layers("kelp 4s, chalk 3s upper, oat in pour 2s", glazes).layers,
        firing_id=studio.firing,
        level_id=studio.middle,
        faults=(FaultDraft("crazing", 0), FaultDraft("running", 1, "outside, lower")),
        surfaces=(SurfaceDraft("glossy"), SurfaceDraft("satin", "inside")),
        pictures=(picture("a", moment="glazed"), picture("b")),
        next_time="Dip Chalk 2 s.",
    )

    piece_id = save(studio, draft)

    back = open_(studio, number=draft.number)
    assert back.piece_id == piece_id
    assert back.stage == "fired"
    assert back.stages == ((datetime(2026, 10, 2, 7, 10), "fired"),)
    shown = back.draft
    same = ("number", "clay_id", "form_id", "height_mm", "mass_g", "layers", "firing_id")
    for name in (*same, "level_id", "faults", "surfaces", "next_time"):
        assert getattr(shown, name) == getattr(draft, name), name
    assert [line.moment for line in back.pictures] == ["glazed", "fired"]

    studio.journal.undo()
    assert rows(studio, Piece) == []
    assert rows(studio, Layer) == []


def test_words_for_the_surface_can_be_all_that_a_sheet_adds(studio, log_tumbler):
    piece_id = log_tumbler(FaultDraft("crazing", 2))
    opened = open_(studio, number=1)
    satin = (SurfaceDraft("satin", "outside"),)
    save(studio, replace(opened.draft, surfaces=satin), opened.draft)
    again = open_(studio, number=1)
    assert (again.piece_id, again.draft.surfaces, again.draft.faults) == (piece_id, satin, ())
    assert open_(studio, like=piece_id).draft.surfaces == (), "nobody has looked at the next cup"
    save(studio, replace(again.draft, surfaces=()), again.draft)
    assert open_(studio, number=1).draft.surfaces == ()


def test_only_what_was_changed_on_the_sheet_of_a_piece_is_written(studio, log_tumbler):
    piece_id = log_tumbler(FaultDraft("crazing", 2))
    studio.journal.edit(
        "Measure", lambda s: set_size(s, piece_id, SizeDraft(stage="fired", wall_mm=4.5))
    )
    opened = open_(studio, number=1)
    assert opened.draft.faults == (), "what was seen on another day is not today's look"
    assert [(e.fault, e.severity) for e in opened.earlier] == [("crazing", 2)]

    draft = replace(
        opened.draft,
        next_time="Thinner Chalk.",
        height_mm=97.0,
        faults=(FaultDraft("crazing", 3, "inside"),),
        pictures=(picture("c"),),
    )
    assert save(studio, draft, opened.draft) == piece_id

    looks = rows(studio, Inspection)
    assert [look.looked_on for look in looks] == [date(2026, 10, 4), NOW.date()]
    assert [(r.severity, r.zone) for r in rows(studio, FaultReading)] == [(2, ""), (3, "inside")]
    (size,) = rows(studio, Measurement)
    assert (size.height_mm, size.wall_mm) == (97.0, 4.5)
    assert len(rows(studio, Layer)) == 3
    assert len(rows(studio, StageChange)) == 1
    pictures = studio.journal.read(lambda s: read_pictures(s, piece_ids=[piece_id]))
    assert len(pictures[piece_id]) == 1


def test_a_sheet_kept_unchanged_changes_nothing(studio, log_tumbler):
    log_tumbler(FaultDraft("running", 1))
    opened = open_(studio, number=1)

    done = studio.journal.edit("Log piece", partial(save_sheet, draft=opened.draft, now=NOW))

    assert not done.touched.rows


def test_looking_again_on_the_same_day_carries_that_inspection_on(studio, log_tumbler):
    piece_id = log_tumbler()
    today = InspectionDraft(looked_on=NOW.date(), faults=(FaultDraft("crazing", 0, note="dry"),))
    studio.journal.edit("Look", lambda s: log_inspection(s, piece_id, today))
    opened = open_(studio, number=1)

    draft = replace(opened.draft, faults=(*opened.draft.faults, FaultDraft("pinhole", 1)))
    save(studio, draft, opened.draft)

    assert len(rows(studio, Inspection)) == 1
    assert [(r.fault, r.note) for r in rows(studio, FaultReading)] == [
        ("crazing", "dry"),
        ("pinhole", ""),
    ]


def test_a_layer_typed_anew_keeps_its_note_where_glaze_and_zone_stay(studio, log_tumbler):
    log_tumbler()

    def note(session):
        session.scalars(select(Layer).order_by(Layer.id)).first().note = "second bucket"

    studio.journal.edit("Note", note)
    opened = open_(studio, number=1)
    glazes = opened.glaze_names()
    layers = read_layers("kelp 6s, oat in pour 2s", glazes).layers

    save(studio, replace(opened.draft, layers=layers), opened.draft)

    kept = rows(studio, Layer)
    assert [(row.seconds, row.zone, row.note) for row in kept] == [
        (6.0, "outside", "second bucket"),
        (2.0, "inside", ""),
    ]


def test_another_firing_on_the_sheet_takes_the_place_of_the_one_it_showed(studio, log_tumbler):
    log_tumbler()
    again = studio.journal.edit(
        "Fire again",
        lambda s: log_firing(
            s, FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 11, 9, 8), cone="6")
        ),
    ).value
    opened = open_(studio, number=1)

    save(studio, replace(opened.draft, firing_id=again, level_id=studio.top), opened.draft)

    (place,) = rows(studio, Placement)
    assert (place.firing_id, place.level_id) == (again, studio.top)


def test_another_like_this_keeps_all_but_number_photos_and_what_was_seen(studio, log_tumbler):
    piece_id = log_tumbler(FaultDraft("crazing", 2), FaultDraft("speck", 0))

    page = open_(studio, like=piece_id)

    first = open_(studio, number=1).draft
    assert (page.is_new, page.number, page.like_number) == (True, 2, 1)
    kept = ("clay_id", "form_id", "layers", "firing_id", "level_id", "next_time")
    for name in kept:
        assert getattr(page.draft, name) == getattr(first, name), name
    assert page.draft.faults == ()
    assert page.draft.pictures == page.pictures == ()
    assert page.draft.looked_on == NOW.date()
    assert {fault for fault, _ in page.fault_rows} == {"crazing", "speck"}
    assert page.earlier == ()

    save(studio, page.draft)
    assert len(rows(studio, Piece)) == 2
    assert len(rows(studio, Inspection)) == 1


def test_a_number_of_a_run_is_one_of_its_counted_pieces(studio):
    run = RunDraft(made_on=date(2026, 10, 30), form_id=studio.tumbler, clay_id=studio.red)
    run_id = studio.journal.edit(
        "Log run", lambda s: log_run(s, replace(run, how_many=2, stage="bisque"))
    ).value
    (choice,) = open_(studio).runs
    assert (choice.pieces, choice.unnumbered) == (2, 2)

    for _ in range(3):
        save(studio, replace(open_(studio).draft, run_id=run_id, next_time="taller"))

    pieces = rows(studio, Piece)
    assert [piece.number for piece in pieces] == [1, 2, 3]
    assert pieces[0].clay_id == studio.red
    assert pieces[0].stage == "bisque"


def test_singling_out_keeps_what_the_run_went_through(studio):
    def fire_the_run(session):
        run_id = log_run(session, RunDraft(made_on=date(2026, 9, 20), how_many=3, stage="bisque"))
        bisque = FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 9, 25), kind="bisque")
        bisque_id = log_firing(session, bisque)
        ids = list(session.scalars(select(Piece.id)))
        for piece_id in ids:
            place_piece(session, piece_id, PlacementDraft(firing_id=bisque_id))
        last = PlacementDraft(firing_id=studio.firing, level_id=studio.top)
        place_piece(session, ids[2], last)
        set_size(session, ids[0], SizeDraft(stage="bisque", height_mm=101.0))
        return run_id, bisque_id, ids

    run_id, bisque, ids = studio.journal.edit("Fire", fire_the_run).value
    empty = replace(open_(studio).draft, run_id=run_id)

    from_the_firing = save(studio, replace(empty, firing_id=studio.firing))
    assert from_the_firing == ids[2]
    first = save(studio, replace(open_(studio).draft, run_id=run_id))
    assert first == ids[0]
    refired = replace(open_(studio).draft, run_id=run_id, firing_id=studio.firing)
    assert save(studio, refired) == ids[1]

    stood = {(place.piece_id, place.firing_id, place.level_id) for place in rows(studio, Placement)}
    assert stood == {
        (ids[0], bisque, None),
        (ids[1], bisque, None),
        (ids[2], bisque, None),
        (ids[2], studio.firing, studio.top),
        (ids[1], studio.firing, None),
    }
    assert [size.height_mm for size in rows(studio, Measurement)] == [101.0]


def test_a_number_taken_in_the_meantime_is_refused_at_its_field(studio, log_tumbler):
    draft = open_(studio).draft
    log_tumbler()

    with pytest.raises(UserProblem) as told:
        save(studio, draft)

    assert "number" in told.value.fields


def test_archived_glazes_are_offered_only_to_a_piece_that_carries_them(studio, log_tumbler):
    log_tumbler()
    studio.journal.edit("Archive", lambda s: change_glaze(s, studio.oat, archived=True))

    assert studio.oat not in [glaze.glaze_id for glaze in open_(studio).glazes]
    assert studio.oat in [glaze.glaze_id for glaze in open_(studio, number=1).glazes]


def test_the_cell_a_piece_answers_counts_it_once(studio, log_tumbler):
    for _ in range(3):
        log_tumbler()
    two = (WordedLayer(studio.kelp), WordedLayer(studio.chalk))
    draft = replace(open_(studio).draft, clay_id=studio.buff, layers=two)

    answer = studio.journal.read(lambda s: preview_answer(s, draft))
    assert (answer.over_id, answer.under_id) == (studio.chalk, studio.kelp)
    assert (answer.before, answer.after) == (3, 4)

    there = replace(draft, piece_id=open_(studio, number=1).piece_id)
    answer = studio.journal.read(lambda s: preview_answer(s, there))
    assert (answer.before, answer.after) == (3, 3)

    alone = replace(draft, layers=two[:1])
    answer = studio.journal.read(lambda s: preview_answer(s, alone))
    assert (answer.under_id, answer.before, answer.after) == (None, 0, 1)
    assert studio.journal.read(lambda s: preview_answer(s, replace(draft, layers=()))) is None


def test_stage_and_moments_follow_from_the_firing(studio):
    page = open_(studio)
    raw = page.draft
    glazed = replace(raw, layers=(WordedLayer(studio.kelp),))
    fired = replace(glazed, firing_id=studio.firing)
    start = page.firings[0].started_at

    assert propose_stage(raw, page) == "wet"
    assert propose_stage(glazed, page) == "glazed"
    assert propose_stage(fired, page) == "fired"
    moments = [
        propose_picture_moment(start + timedelta(days=days), fired, page)
        for days in (-20, -1, 2, 30)
    ]
    assert moments == ["making", "glazed", "fired", "later"]


def test_a_firing_still_burning_makes_nothing_fired(studio):
    burning = studio.journal.edit(
        "Light the kiln",
        lambda s: log_firing(
            s, FiringDraft(kiln_id=studio.kiln, started_at=NOW - timedelta(hours=3), cone="6")
        ),
    ).value

    page = open_(studio)
    draft = replace(page.draft, layers=(WordedLayer(studio.kelp),), firing_id=burning)
    save(studio, draft)

    assert page.firing(burning).over_at is None
    assert [piece.stage for piece in rows(studio, Piece)] == ["glazed"]
