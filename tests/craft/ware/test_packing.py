"""Packing a kiln as a potter means it: what goes in first, on which level, in which stack."""

import math

import pytest

from studiolog.craft.units import THIN
from studiolog.craft.ware.load_plan import (
    KilnInside,
    LoadPlan,
    Place,
    ShelfRow,
    Ware,
    load_fill,
    rules_by,
    shelf_fill,
    stand_shelves,
    standing_mm,
    tallest_mm,
)
from studiolog.craft.ware.packing import QUICK, fill_in, pack
from studiolog.craft.ware.plan_check import (
    check_plan,
    nearest_free,
    nudge,
    put,
    stacking_problem,
    take_out,
)
from studiolog.craft.ware.shelf import Footprint
from studiolog.problems import UserProblem

RULES = rules_by()
POSTS = (50.0, 75.0, 100.0, 150.0)
LEVELS = ((1, "bottom", 0.0), (2, "top", 300.0))


def kiln(**changed: object) -> KilnInside:
    """A round kiln of four shelves and two halves, its thermocouple at the back."""
    usual: dict[str, object] = {
        "shape": "round",
        "across_mm": 400.0,
        "deep_mm": 400.0,
        "thick_mm": 20.0,
        "chamber_mm": 600.0,
        "posts_mm": POSTS,
        "shelves": 4,
        "levels": LEVELS,
    }
    return KilnInside(**{**usual, **changed})  # type: ignore[arg-type]


def bowl(key: int, **changed: object) -> Ware:
    """A soup bowl, glazed."""
    usual: dict[str, object] = {"footprint": Footprint("circle", 150.0), "height_mm": 75.0}
    return Ware(key, f"soup bowl {key}", **{**usual, **changed})  # type: ignore[arg-type]


def raw_bowl(key: int, **changed: object) -> Ware:
    """A soup bowl for the bisque: each further one of a stack adds 25 mm."""
    return bowl(key, **{"glazed": False, "stack_mm": 25.0, "stack_with": 7, **changed})


def plain(words: str) -> str:
    """Words with ordinary blanks between number and unit."""
    return words.replace(THIN, " ")


def keys_on(plan: LoadPlan, level: int) -> set[int]:
    """What stands on a level."""
    return {
        place.key for shelf in plan.shelves if shelf.level_id == level for place in shelf.places
    }


def test_what_can_never_stand_in_this_kiln_is_left_out_with_its_reason() -> None:
    platter = Ware(1, "platter 1", Footprint("circle", 420.0), 40.0)
    vase = Ware(2, "vase 2", Footprint("circle", 90.0), 560.0)
    tray = Ware(3, "tray 3", Footprint("rectangle", 500.0, 90.0), 20.0)
    runny = bowl(4, barred={1: "It ran at the bottom.", 2: "It ran on top too."})
    plan = pack([platter, vase, tray, runny, bowl(5)], kiln(), RULES, effort=QUICK)
    assert plan.placed == 1
    assert {one.key: (one.why, plain(one.words)) for one in plan.left_out} == {
        1: ("wide", "Platter 1 is wider than any shelf of this kiln."),
        2: ("tall", "Vase 2 is too tall for this kiln: 543 mm is the most on one shelf."),
        3: ("wide", "Tray 3 is wider than any shelf of this kiln."),
        4: (
            "level",
            "Soup bowl 4 should stand on no level of this kiln: It ran at the bottom.",
        ),
    }


@pytest.mark.parametrize("size", [0.0, -80.0, math.nan, math.inf, 1e9])
def test_sizes_that_cannot_be_are_refused_in_a_sentence(size: float) -> None:
    with pytest.raises(UserProblem, match="must be more than 0 and at most 5000"):
        Footprint("circle", size)
    with pytest.raises(UserProblem, match="The height of soup bowl 1"):
        bowl(1, height_mm=size)
    with pytest.raises(UserProblem, match="The shelf's width"):
        kiln(across_mm=size)


def test_a_kiln_without_shelves_and_a_piece_given_twice_are_refused() -> None:
    with pytest.raises(UserProblem, match="no shelves"):
        pack([bowl(1)], kiln(shelves=0), RULES)
    with pytest.raises(UserProblem, match="twice"):
        pack([bowl(1), bowl(1)], kiln(), RULES)
    assert pack([], kiln(), RULES).shelves == ()


def test_where_not_all_goes_in_what_is_promised_soonest_does() -> None:
    small = kiln(shelves=1)
    later = [bowl(key, due=90.0) for key in range(1, 13)]
    sooner = [bowl(key, due=3.0) for key in range(13, 16)]
    plan = pack([*later, *sooner], small, RULES, effort=QUICK)
    placed = {place.key for shelf in plan.shelves for place in shelf.places}
    assert placed >= {13, 14, 15}
    assert len(plan.left_out) == 15 - len(placed) > 0
    assert {one.why for one in plan.left_out} == {"shelves"}


def test_glazes_go_to_the_levels_they_like_and_never_where_they_must_not() -> None:
    cool = [bowl(key, dislikes={1: 0.9}) for key in range(1, 6)]
    hot = [bowl(key, dislikes={2: 0.9}) for key in range(6, 11)]
    tall = kiln(levels=((1, "bottom", 0.0), (2, "top", 250.0)))
    plan = pack([*cool, *hot], tall, RULES, effort=5)
    assert plan.placed == 10
    assert plan.dislike <= 0.9
    barred = [bowl(key, barred={1: "It ran there."}) for key in range(1, 6)]
    plan = pack([*barred, *hot], tall, RULES, effort=5)
    assert not keys_on(plan, 1) & {1, 2, 3, 4, 5}
    assert plan.placed == 10


def test_ware_for_the_bisque_is_stacked_and_glazed_ware_never_is() -> None:
    raw = pack([raw_bowl(key) for key in range(1, 11)], kiln(), RULES, effort=QUICK)
    (shelf,) = raw.shelves
    on = [place for place in shelf.places if place.on_key is not None]
    assert len(on) == 8  # two stacks of five
    assert tallest_mm(raw, shelf) == 75.0 + 4 * 25.0
    assert {high for _, high in standing_mm(raw, shelf).values()} == {75.0}
    glazed = pack([bowl(key) for key in range(1, 11)], kiln(), RULES, effort=QUICK)
    assert all(place.on_key is None for shelf in glazed.shelves for place in shelf.places)
    assert check_plan(raw) == check_plan(glazed) == ()


def test_a_catch_tile_takes_more_of_the_shelf_and_of_the_height() -> None:
    runner = bowl(1, on_tile=True)
    assert runner.stands_on(RULES).across_mm == 174.0
    assert runner.high_mm(RULES) == 85.0
    wide = Ware(2, "bowl 2", Footprint("circle", 380.0), 60.0)
    wide_runner = Ware(3, "bowl 3", Footprint("circle", 380.0), 60.0, on_tile=True)
    bare = rules_by(packs=())
    plan = pack([wide], kiln(), bare, effort=QUICK)
    assert plan.placed == 1
    (left,) = pack([wide_runner], kiln(), bare, effort=QUICK).left_out
    assert left.words == "Bowl 3 is wider on its catch tile than any shelf of this kiln."


def test_what_has_no_room_between_posts_goes_on_the_topmost_shelf() -> None:
    platter = Ware(50, "platter 50", Footprint("circle", 360.0), 40.0, due=9.0)
    cups = [Ware(key, f"cup {key}", Footprint("circle", 80.0), 95.0) for key in range(1, 25)]
    plan = pack([*cups, platter], kiln(), rules_by(packs=()), effort=QUICK)
    assert [place.key for place in plan.shelves[-1].places] == [50]
    assert check_plan(plan) == ()
    lone = kiln(shelves=1)
    tall = Ware(51, "lamp 51", Footprint("circle", 120.0), 480.0)  # no posts are so high
    assert pack([tall], lone, RULES, effort=QUICK).placed == 1


def test_two_halves_beside_each_other_have_their_own_heights() -> None:
    halves = kiln(shelves=1, half_shelves=4, levels=())
    jars = [Ware(key, f"jar {key}", Footprint("circle", 110.0), 180.0) for key in range(1, 4)]
    dishes = [Ware(key, f"dish {key}", Footprint("circle", 130.0), 30.0) for key in range(4, 16)]
    plan = pack([*jars, *dishes], halves, RULES, effort=3)
    assert check_plan(plan) == ()
    assert {shelf.part for shelf in plan.shelves} >= {"left", "right"}
    assert all(
        place.x_mm < 0 if shelf.part == "left" else place.x_mm > 0
        for shelf in plan.shelves
        if shelf.part != "full"
        for place in shelf.places
    )


def test_the_same_ware_gives_the_same_plan_and_stopping_gives_the_best_so_far() -> None:
    wares = [bowl(key, due=float(key % 5)) for key in range(1, 15)]
    heard: list[tuple[int, int]] = []
    first = pack(wares, kiln(), RULES, effort=2, tell=lambda done, of: heard.append((done, of)))
    again = pack(list(reversed(wares)), kiln(), RULES, effort=2)
    assert first.shelves == again.shelves
    assert heard[-1][0] == heard[-1][1]
    stopped = pack(wares, kiln(), RULES, effort=2, stop=lambda: len(heard) > 0)
    assert stopped.placed == 0
    assert len(stopped.left_out) == len(wares)


def hand_made(*places: Place, clear_mm: float = 100.0) -> LoadPlan:
    """A load of two shelves set by hand."""
    rows = [ShelfRow("full", clear_mm, None, places), ShelfRow("full", 100.0)]
    wares = {key: bowl(key) for key in range(1, 4)} | {key: raw_bowl(key) for key in range(4, 12)}
    inside = kiln(probe_mm=(0.0, -150.0), probe_clear_mm=40.0)
    return LoadPlan(inside, RULES, wares, stand_shelves(inside, RULES, rows))


@pytest.mark.parametrize(
    ("places", "told"),
    [
        ((Place(1, 0, 0), Place(2, 149, 0)), "Soup bowl 1 and soup bowl 2 stand in each other"),
        ((Place(1, -60, 0), Place(2, 92, 0)), "Soup bowl 1 and soup bowl 2 are 2 mm apart"),
        ((Place(1, 130, 0),), "Soup bowl 1 hangs over the edge of shelf 1 by 5 mm."),
        ((Place(1, 122, 0),), "Soup bowl 1 is 3 mm from the edge of shelf 1: 5 mm is asked"),
        ((Place(1, 0, -50),), "Soup bowl 1 stands in the place kept clear for the thermocouple."),
        ((Place(4, 0, 0), Place(5, 0, 0, 0, 4)), ""),
        ((Place(4, 0, 0), Place(1, 0, 0, 0, 4)), "Soup bowl 1 can't stand on soup bowl 4: glazed"),
    ],
)
def test_what_is_wrong_with_a_plan_is_told_in_a_sentence(
    places: tuple[Place, ...], told: str
) -> None:
    tall = hand_made(*places, clear_mm=150.0)
    words = [plain(fault.words) for fault in check_plan(tall)]
    assert any(word.startswith(told) for word in words) if told else words == [], words


def test_heights_that_posts_do_not_make_and_ware_too_tall_are_told() -> None:
    plan = hand_made(Place(1, 0, 20), clear_mm=83.0)
    told = {fault.kind: plain(fault.words) for fault in check_plan(plan)}
    assert told["posts"].startswith("No posts at hand make 83")
    assert told["tall"] == "Soup bowl 1 has 8 mm above it on shelf 1: 12 mm is asked for."
    rows = [ShelfRow("full", 300.0), ShelfRow("full", 300.0), ShelfRow("full", 50.0)]
    high = LoadPlan(plan.kiln, RULES, {}, stand_shelves(plan.kiln, RULES, rows))
    assert any(fault.kind == "chamber" for fault in check_plan(high))


def test_a_dragged_bowl_slides_along_what_it_touches_and_takes_its_stack_along() -> None:
    plan = hand_made(Place(4, -80, 0), Place(5, -80, 0, 0, 4), Place(1, 90, 0), clear_mm=150.0)
    found = nearest_free(plan, 1, 1, -60.0, 40.0)
    assert found is not None
    assert math.hypot(found.x_mm + 80, found.y_mm) == pytest.approx(156.0, abs=0.01)
    pushed = nudge(plan, 1, 1, -100.0, 0.0)
    assert pushed.x_mm == pytest.approx(76.0, abs=0.6)  # 150 of bowl and 6 of gap from the stack
    moved = put(plan, 2, Place(4, 0.0, 0.0))
    assert [place.key for place in moved.shelf(2).places] == [4, 5]
    assert [(place.x_mm, place.on_key) for place in moved.shelf(2).places] == [
        (0.0, None),
        (0.0, 4),
    ]
    lifted = take_out(plan, 4)
    assert [place.on_key for place in lifted.shelf(1).places if place.key == 5] == [None]
    platter = Ware(99, "platter 99", Footprint("circle", 395.0), 30.0)
    full = LoadPlan(plan.kiln, RULES, {**plan.wares, 99: platter}, plan.shelves)
    assert nearest_free(full, 2, 99, 0.0, 0.0) is None
    with pytest.raises(UserProblem, match="no shelf 9"):
        nearest_free(plan, 9, 1, 0.0, 0.0)


def test_a_stack_grows_no_higher_than_the_rules_say() -> None:
    stack = [Place(4, 0, 20), *(Place(key, 0, 20, 0, key - 1) for key in range(5, 9))]
    plan = hand_made(*stack, clear_mm=300.0)
    assert check_plan(plan) == ()
    told = stacking_problem(plan, 1, 9, 8)
    assert told == "Soup bowl 9 would be number 6 of a stack: 5 is the most."
    assert stacking_problem(plan, 1, 4, 8) == "Soup bowl 4 can't stand on what stands on it."
    filled = fill_in(plan, [9, 10, 1])
    assert check_plan(filled) == ()
    assert filled.placed + len(filled.left_out) == 8


def test_filling_in_sets_further_shelves_but_moves_nothing_that_was_set_by_hand() -> None:
    inside = kiln(half_shelves=2)
    cups = {key: Ware(key, f"cup {key}", Footprint("circle", 80.0), 95.0) for key in range(1, 31)}
    by_hand = Place(1, 12.0, 34.0)
    shelves = stand_shelves(inside, RULES, [ShelfRow("full", 200.0, None, (by_hand,))])
    plan = fill_in(LoadPlan(inside, RULES, cups, shelves), list(cups))
    assert plan.shelves[0].places[0] == by_hand
    assert plan.placed == 30
    assert len(plan.shelves) > 1
    assert plan.left_out == check_plan(plan) == ()
    # Where the posts of a further shelf would stand is taken: none is set.
    in_the_way = Place(1, 0.0, -150.0)
    shelves = stand_shelves(inside, RULES, [ShelfRow("full", 200.0, None, (in_the_way,))])
    plan = fill_in(LoadPlan(inside, RULES, cups, shelves), list(cups))
    assert {shelf.part for shelf in plan.shelves[1:]} <= {"left", "right"}
    assert plan.placed + len(plan.left_out) == 30
    assert check_plan(plan) == ()
    assert len(fill_in(LoadPlan(inside, RULES, cups, ()), list(cups)).shelves) > 1


def test_how_full_tells_a_full_shelf_from_a_lone_bowl_and_counts_shelves_to_spare() -> None:
    lone = pack([bowl(1)], kiln(), RULES, effort=QUICK)
    many = pack([bowl(key) for key in range(1, 60)], kiln(), RULES, effort=QUICK)
    assert shelf_fill(lone, lone.shelves[0]).by_area < 0.3
    assert load_fill(lone).by_area < 0.15  # three more shelves would still go in
    assert 0.5 < load_fill(many).by_area <= 1.0
    assert load_fill(lone).by_volume < load_fill(many).by_volume < 1.0
    assert load_fill(pack([], kiln(), RULES)).by_area == 0.0
