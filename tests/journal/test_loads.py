"""The next kiln: loads are planned, changed by hand, refused where they can't be, and lit."""

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select

from studiolog.craft.ware.plan_check import check_plan, nearest_free
from studiolog.journal.firing_load import read_load
from studiolog.journal.firings import delete_firing
from studiolog.journal.kilns import KilnDraft, add_kiln, delete_kiln, list_kilns
from studiolog.journal.load_lighting import LightDraft, light_load
from studiolog.journal.load_list import read_load_list
from studiolog.journal.load_pieces import (
    add_of_order,
    add_pieces,
    add_to_load,
    add_typed,
    take_out,
)
from studiolog.journal.load_places import (
    keep_plan,
    move_piece,
    set_by_hand,
    set_catch_tile,
    stack_piece,
    turn_piece,
)
from studiolog.journal.load_shelves import (
    add_shelf,
    change_shelf,
    remove_shelf,
    set_cone_pack,
    set_cone_packs,
)
from studiolog.journal.load_ware import read_waiting
from studiolog.journal.loads import (
    LoadDraft,
    begin_load,
    change_load,
    delete_load,
    open_loads,
)
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import delete_piece, move_to_stage, single_out
from studiolog.journal.programs import delete_program
from studiolog.journal.session import Session
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.loads import KilnLoad, LoadPlace, LoadShelf
from studiolog.records.pieces import Piece, Placement
from tests.planned_loads import (
    TODAY,
    PlannedLoads,
    fill_loads,
    give_shelves,
    pack_now,
    page_of,
    plan_loads,
)
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


@pytest.fixture
def loads(journal: Journal) -> PlannedLoads:
    return fill_loads(journal)[1]


@pytest.fixture
def yard(journal: Journal) -> tuple[SmallStudio, PlannedLoads]:
    return fill_loads(journal)


def of_run(session: Session, run_id: int) -> list[int]:
    return list(session.scalars(select(Piece.id).where(Piece.run_id == run_id).order_by(Piece.id)))


def test_what_waits_is_told_with_its_size_its_cone_and_whom_it_is_for(
    journal: Journal, studio: SmallStudio
) -> None:
    def enter(session: Session) -> None:
        made = plan_loads(session, studio, packed=False)
        for load in (made.bisque, made.glaze):
            delete_load(session, load)

    journal.edit("Wait", enter)
    (group,) = journal.read(lambda session: read_waiting(session, "glaze"))
    tumbler = group.first
    assert (len(group.pieces), tumbler.name) == (8, "Ripple tumbler")
    assert tumbler.glaze_words == "Kelp; Chalk over Kelp"
    # Fired 80 mm across in a clay that shrinks 12.5 %: dry it is √(1/0.875) as large.
    assert tumbler.across_mm == pytest.approx(80 / 0.875**0.5, abs=0.1)
    assert tumbler.height_mm == pytest.approx(95 / 0.875**0.5, abs=0.1)
    assert tumbler.cones is not None
    assert tumbler.cones.words == "6"
    assert tumbler.cone_basis == "by its glazes: Kelp 5 to 7, Chalk 6"
    assert tumbler.promised_on == TODAY + timedelta(days=20)
    (bowls,) = journal.read(lambda session: read_waiting(session, "bisque"))
    assert (len(bowls.pieces), bowls.first.cones) == (6, None)
    assert "as high as wide" in bowls.first.size_basis


def test_a_piece_in_an_open_load_is_not_offered_twice(
    journal: Journal, loads: PlannedLoads
) -> None:
    found = journal.read(read_load_list)
    assert (found.bisque, found.glaze) == (0, 0)
    assert [line.pieces for line in found.loads] == [8, 6]
    pieces = journal.read(lambda session: of_run(session, loads.tumblers))
    other = journal.edit(
        "Begin",
        lambda session: begin_load(session, LoadDraft(kiln_id=1, kind="glaze", cone="6"), TODAY),
    ).value
    with pytest.raises(UserProblem, match="is in the load Glaze 6, Big kiln already"):
        journal.edit("Put in", lambda session: add_pieces(session, other, pieces[:1]))
    with pytest.raises(UserProblem, match=r"has 0 pieces glazed in no load yet, not 1"):
        journal.edit("Put in", lambda session: add_to_load(session, other, loads.tumblers, None, 1))
    journal.edit("Take out", lambda session: take_out(session, loads.glaze, pieces[:3]))
    journal.edit("Put in", lambda session: add_of_order(session, other, loads.order))
    assert [one.pieces for one in journal.read(open_loads)] == [5, 6, 3]


def test_pieces_go_in_by_number_and_by_run_and_only_at_their_stage(
    journal: Journal, studio: SmallStudio
) -> None:
    made = journal.edit("Plan", lambda session: plan_loads(session, studio, packed=False)).value
    raw = journal.read(lambda session: of_run(session, made.bowls))
    journal.edit("Take out", lambda session: take_out(session, made.bisque, raw))
    number = journal.edit("Single out", lambda session: single_out(session, raw[0])).value
    journal.edit("Put in", lambda session: add_typed(session, made.bisque, f"{number}"))
    run = journal.read(lambda s: page_of(s, made.bisque).waiting[0].first.run_number)
    journal.edit("Put in", lambda session: add_typed(session, made.bisque, f"run {run}"))
    assert len(journal.read(lambda session: page_of(session, made.bisque)).pieces) == 6
    for typed, told in (
        ("9999", "no piece 9999: check the number"),
        (f"run {run}", "bone dry and in no load yet"),
        ("hearth", "“hearth” is no piece number"),
    ):
        with pytest.raises(UserProblem, match=told):
            journal.edit("Put in", lambda s, typed=typed: add_typed(s, made.bisque, typed))
    fired = studio.pieces[0]
    with pytest.raises(UserProblem, match="is fired: a bisque firing takes ware that is wet"):
        journal.edit("Put in", lambda session: add_pieces(session, made.bisque, [fired]))


def test_a_load_can_not_be_planned_for_a_day_that_is_over_nor_to_a_cone_there_is_not(
    journal: Journal, studio: SmallStudio
) -> None:
    for wrong, told in (
        (
            {"planned_on": date(2026, 11, 11)},
            "11 Nov 2026 is over: a load is planned for today or later",
        ),
        ({"cone": "hot"}, "hot"),
        ({"kind": "soup"}, "A firing is bisque, glaze"),
        ({"atmosphere": "smoke"}, "The air is oxidation"),
    ):
        draft = LoadDraft(kiln_id=studio.kiln, **wrong)  # type: ignore[arg-type]
        with pytest.raises(UserProblem, match=told):
            journal.edit("Begin", lambda session, draft=draft: begin_load(session, draft, TODAY))
    assert journal.read(open_loads) == ()


def test_a_program_brings_its_kind_and_cone_and_a_wrong_kind_is_refused(
    journal: Journal, yard: tuple[SmallStudio, PlannedLoads]
) -> None:
    studio, loads = yard
    page = journal.read(lambda session: page_of(session, loads.glaze))
    assert (page.kind, page.cone, page.title) == ("glaze", "6", "Glaze 6, Big kiln")
    with pytest.raises(UserProblem, match="8 pieces of this load are not for a bisque firing"):
        journal.edit(
            "Change",
            lambda session: change_load(session, loads.glaze, TODAY, program_id=studio.bisque),
        )
    journal.edit("Change", lambda session: change_load(session, loads.glaze, TODAY, cone="Cone 5½"))
    assert journal.read(lambda session: page_of(session, loads.glaze)).cone == "5.5"


def test_a_packed_load_stands_and_every_move_by_hand_keeps_it_so(
    journal: Journal, loads: PlannedLoads
) -> None:
    page = journal.read(lambda session: page_of(session, loads.glaze))
    assert (page.placed, page.unplaced, check_plan(page.plan)) == (8, (), ())
    shelf = page.plan.shelves[0]
    one, other = shelf.places[:2]
    with pytest.raises(UserProblem):
        journal.edit(
            "Move",
            lambda session: move_piece(
                session, loads.glaze, one.key, page.shelves[0].shelf_id, other.x_mm, other.y_mm
            ),
        )
    with pytest.raises(UserProblem):
        journal.edit(
            "Move",
            lambda session: move_piece(
                session, loads.glaze, one.key, page.shelves[0].shelf_id, 900, 0
            ),
        )
    assert journal.read(lambda session: page_of(session, loads.glaze)).plan == page.plan
    free = nearest_free(page.plan, 1, one.key, one.x_mm + 2, one.y_mm + 2)
    assert free is not None
    journal.edit(
        "Move",
        lambda session: move_piece(
            session, loads.glaze, one.key, page.shelves[0].shelf_id, free.x_mm, free.y_mm
        ),
    )
    after = journal.read(lambda session: page_of(session, loads.glaze))
    assert after.pieces[one.key].by_hand
    assert check_plan(after.plan) == ()
    journal.undo()
    assert journal.read(lambda session: page_of(session, loads.glaze)).plan == page.plan


def test_what_was_set_by_hand_stays_so_when_a_proposal_is_kept(
    journal: Journal, loads: PlannedLoads
) -> None:
    page = journal.read(lambda session: page_of(session, loads.glaze))
    key = page.plan.shelves[0].places[0].key
    journal.edit("Pin", lambda session: set_by_hand(session, loads.glaze, [key], True))
    journal.edit("Keep", lambda session: keep_plan(session, loads.glaze, page.plan.shelves))
    after = journal.read(lambda session: page_of(session, loads.glaze))
    assert [k for k, piece in after.pieces.items() if piece.by_hand] == [key]
    journal.edit("Let go", lambda session: set_by_hand(session, loads.glaze, [key], False))
    journal.edit("Turn", lambda session: turn_piece(session, loads.glaze, key, 30))
    assert journal.read(lambda s: page_of(s, loads.glaze)).pieces[key].by_hand


def test_a_piece_with_no_room_for_its_catch_tile_is_to_be_placed_anew(
    journal: Journal, loads: PlannedLoads
) -> None:
    page = journal.read(lambda session: page_of(session, loads.glaze))
    every = list(page.pieces)
    journal.edit("Tiles", lambda session: set_catch_tile(session, loads.glaze, every, True))
    after = journal.read(lambda session: page_of(session, loads.glaze))
    assert all(piece.on_tile for piece in after.pieces.values())
    assert check_plan(after.plan) == ()
    journal.edit("Pack", lambda session: pack_now(session, loads.glaze))
    again = journal.read(lambda session: page_of(session, loads.glaze))
    assert again.placed == 8
    assert again.fill.by_area > page.fill.by_area


def test_raw_bowls_are_nested_where_their_form_allows_it(
    journal: Journal, yard: tuple[SmallStudio, PlannedLoads]
) -> None:
    studio, loads = yard
    from studiolog.journal.forms import change_form

    journal.edit(
        "Stack",
        lambda session: change_form(
            session, studio.bowl, stack_mm=22.0, fired_across_mm=150.0, fired_height_mm=60.0
        ),
    )
    journal.edit("Pack", lambda session: pack_now(session, loads.bisque))
    page = journal.read(lambda session: page_of(session, loads.bisque))
    places = [place for shelf in page.plan.shelves for place in shelf.places]
    assert len(places) == 6
    assert any(place.on_key is not None for place in places)
    assert check_plan(page.plan) == ()
    under = next(place for place in places if place.on_key is not None)
    (lone,) = [
        place.key
        for place in places
        if place.on_key is None and place.key not in {one.on_key for one in places}
    ]
    with pytest.raises(UserProblem, match="Something stands on it already"):
        journal.edit(
            "Stack", lambda session: stack_piece(session, loads.bisque, lone, under.on_key or 0)
        )
    journal.edit("Take out", lambda session: take_out(session, loads.bisque, [under.on_key or 0]))
    after = journal.read(lambda session: page_of(session, loads.bisque))
    assert under.key in {piece.ware.piece_id for piece in after.unplaced}
    glazed = journal.read(lambda session: of_run(session, loads.tumblers))
    with pytest.raises(UserProblem):
        journal.edit(
            "Stack", lambda session: stack_piece(session, loads.glaze, glazed[0], glazed[1])
        )


def test_shelves_are_set_by_hand_and_refused_where_they_can_not_stand(
    journal: Journal, loads: PlannedLoads
) -> None:
    first = journal.edit("Shelf", lambda session: add_shelf(session, loads.bisque, 150)).value
    journal.edit("Shelf", lambda session: add_shelf(session, loads.bisque, 100))
    rows = journal.read(lambda session: page_of(session, loads.bisque)).shelves
    assert [(row.position, row.level) for row in rows] == [(1, "bottom"), (2, "middle")]
    for wrong in (
        lambda session: change_shelf(session, first, clear_mm=0),
        lambda session: change_shelf(session, first, clear_mm=800),
        lambda session: change_shelf(session, first, clear_mm=137),  # no posts make it
    ):
        with pytest.raises(UserProblem):
            journal.edit("Change", wrong)
    journal.edit("Remove", lambda session: remove_shelf(session, first))
    (left,) = journal.read(lambda session: page_of(session, loads.bisque)).shelves
    assert (left.position, left.level) == (1, "bottom")


def test_cone_packs_are_set_where_they_find_room(journal: Journal, loads: PlannedLoads) -> None:
    def bare(session: Session) -> None:
        for row in session.scalars(select(LoadShelf).where(LoadShelf.load_id == loads.glaze)):
            set_cone_pack(session, row.id, None)

    journal.edit("No cones", bare)
    page = journal.read(lambda session: page_of(session, loads.glaze))
    (told,) = [one for one in page.warnings if one.key == "no cones"]
    assert told.cure == "pack"
    journal.edit("Set cones", lambda session: set_cone_packs(session, loads.glaze))
    after = journal.read(lambda session: page_of(session, loads.glaze))
    assert "no cones" not in {one.key for one in after.warnings}
    assert check_plan(after.plan) == ()


def test_lighting_a_load_places_every_piece_where_it_stood(
    journal: Journal, loads: PlannedLoads
) -> None:
    page = journal.read(lambda session: page_of(session, loads.glaze))
    at = datetime(2026, 11, 15, 7, 30)
    firing = journal.edit(
        "Light it",
        lambda session: light_load(session, loads.glaze, LightDraft(started_at=at, title="Big")),
    ).value
    stood = journal.read(lambda session: read_load(session, firing))
    assert sum(len(pieces) for pieces in stood.values()) == 8
    where = {
        piece.piece_id: (level, piece.shelf_x, piece.shelf_y)
        for level, pieces in stood.items()
        for piece in pieces
    }
    for shelf in page.plan.shelves:
        for place in shelf.places:
            level, x, y = where[place.key]
            assert level == shelf.level_id
            assert x == pytest.approx(place.x_mm / 450 + 0.5, abs=1e-3)
            assert y == pytest.approx(place.y_mm / 450 + 0.5, abs=1e-3)
    lit = journal.read(lambda session: page_of(session, loads.glaze))
    assert lit.firing is not None
    assert lit.firing[0] == firing
    assert (lit.warnings, lit.waiting) == ((), ())
    assert journal.read(lambda session: read_waiting(session, "glaze")) == ()
    for edit in (
        lambda session: delete_load(session, loads.glaze),
        lambda session: take_out(session, loads.glaze, list(where)),
        lambda session: light_load(session, loads.glaze, LightDraft(started_at=at)),
    ):
        with pytest.raises(UserProblem, match="This load was lit"):
            journal.edit("Change", edit)
    journal.undo()
    assert journal.read(lambda session: session.get(KilnLoad, loads.glaze).firing_id) is None  # type: ignore[union-attr]
    assert (
        journal.read(
            lambda s: s.scalars(select(Placement).where(Placement.firing_id == firing)).all()
        )
        == []
    )


def test_what_left_its_stage_falls_out_with_a_sentence(
    journal: Journal, loads: PlannedLoads
) -> None:
    pieces = journal.read(lambda session: of_run(session, loads.tumblers))
    at = datetime(2026, 11, 12, 9)
    journal.edit("Lose", lambda session: move_to_stage(session, pieces[0], "lost", at, "dropped"))
    page = journal.read(lambda session: page_of(session, loads.glaze))
    (told,) = page.fallen
    assert told.endswith("was lost: it will not go in.")
    firing = journal.edit(
        "Light it",
        lambda session: light_load(session, loads.glaze, LightDraft(started_at=at)),
    ).value
    stood = journal.read(lambda session: read_load(session, firing))
    assert pieces[0] not in {p.piece_id for some in stood.values() for p in some}
    assert len(journal.read(lambda session: page_of(session, loads.glaze)).pieces) == 7


def test_an_empty_load_can_not_be_lit(journal: Journal, loads: PlannedLoads) -> None:
    with pytest.raises(UserProblem, match="Nothing stands in this load yet"):
        journal.edit(
            "Light it",
            lambda session: light_load(
                session, loads.bisque, LightDraft(started_at=datetime(2026, 11, 12, 7))
            ),
        )


def test_what_a_load_names_goes_in_a_sentence_or_takes_it_along(
    journal: Journal, yard: tuple[SmallStudio, PlannedLoads]
) -> None:
    studio, loads = yard
    spare = journal.edit("Kiln", lambda s: add_kiln(s, KilnDraft(name="Raku bin"))).value
    journal.edit("Plan", lambda s: begin_load(s, LoadDraft(kiln_id=spare, kind="bisque"), TODAY))
    with pytest.raises(StillUsed, match="Raku bin can't be deleted: a load is planned for it"):
        journal.edit("Delete", lambda session: delete_kiln(session, spare))
    with pytest.raises(StillUsed, match="loads are planned with it"):
        journal.edit("Delete", lambda session: delete_program(session, studio.glaze_six))
    pieces = journal.read(lambda session: of_run(session, loads.tumblers))
    journal.edit("Delete", lambda session: delete_piece(session, pieces[0]))
    assert len(journal.read(lambda session: page_of(session, loads.glaze)).pieces) == 7
    firing = journal.edit(
        "Light it",
        lambda s: light_load(s, loads.glaze, LightDraft(started_at=datetime(2026, 11, 15, 7))),
    ).value
    with pytest.raises(StillUsed, match="7 pieces stood in it"):
        journal.edit("Delete", lambda session: delete_firing(session, firing))

    def empty(session: Session) -> None:
        for place in session.scalars(select(Placement).where(Placement.firing_id == firing)).all():
            session.delete(place)
        session.flush()
        other = begin_load(session, LoadDraft(kiln_id=studio.kiln, cone="6"), TODAY)
        add_pieces(session, other, pieces[1:3])
        delete_firing(session, firing)

    journal.edit("Delete", empty)
    planned = journal.read(lambda session: page_of(session, loads.glaze))
    assert planned.firing is None
    assert set(planned.pieces) == set(pieces[3:])  # two are in another load by now
    journal.edit("Delete", lambda session: delete_load(session, loads.glaze))
    assert (
        journal.read(
            lambda s: s.scalars(select(LoadPlace).where(LoadPlace.load_id == loads.glaze)).all()
        )
        == []
    )


def test_another_kiln_takes_the_load_off_its_shelves_but_keeps_the_pieces(
    journal: Journal, loads: PlannedLoads
) -> None:
    small = journal.edit("Kiln", lambda s: add_kiln(s, KilnDraft(name="Test kiln"))).value
    journal.edit("Move", lambda s: change_load(s, loads.glaze, TODAY, kiln_id=small))
    page = journal.read(lambda session: page_of(session, loads.glaze))
    assert (page.placed, len(page.unplaced), page.shelves) == (0, 8, ())
    assert any("how wide the shelves are" in said for said in page.inside.assumed)
    assert {line.name for line in journal.read(list_kilns)} == {"Big kiln", "Test kiln"}


def test_shelves_of_a_kiln_are_refused_where_they_can_not_be(
    journal: Journal, studio: SmallStudio
) -> None:
    from studiolog.journal.kiln_shelves import read_posts, set_level_height
    from studiolog.journal.kilns import change_kiln

    journal.edit("Shelves", lambda session: give_shelves(session, studio))
    for wrong, told in (
        ({"chamber_height_mm": 0}, "height of the chamber must be more than 0"),
        ({"posts_mm": "50 tall"}, "“tall” is no height of a post"),
        ({"shelves": 2.5}, "whole shelves are a whole number"),
        ({"shelf_shape": "heart"}, "A shelf is round, hexagonal, eight-sided or rectangular"),
        ({"worth_percent": 140}, "Worth firing from must be"),
        ({"probe_x": 1.4}, "thermocouple's place"),
    ):
        with pytest.raises(UserProblem, match=told):
            journal.edit("Change", lambda s, wrong=wrong: change_kiln(s, studio.kiln, **wrong))
    with pytest.raises(UserProblem, match="stands above “middle”, which begins at 200 mm"):
        journal.edit("Change", lambda s: set_level_height(s, studio.levels[0], 150))
    assert read_posts("100, 50 and 75 mm") == (50, 75, 100)
