"""Packing against what is known outside: shapely as the referee of every plan, and circle packings.

Sources: the densest packings of equal circles in a circle, as ratios of the radii, by S. Kravitz
(1967), U. Pirl (1969), H. Melissen (1994) and F. Fodor (1999, 2000, 2003), with those not proven in
R. L. Graham, B. D. Lubachevsky, K. J. Nurmela and P. R. J. Östergård, "Dense packings of congruent
circles in a circle", Discrete Mathematics 181 (1998); in a square by J. Schaer (1965) and
J. Schaer and A. Meir (1965). Where a ratio has a closed form it is written as one; the decimals
are from memory of the published tables.
"""

import math
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from studiolog.craft.ware.free_places import shape_of
from studiolog.craft.ware.load_plan import (
    KilnInside,
    LoadPlan,
    Place,
    PlannedShelf,
    ShelfRow,
    Ware,
    keep_clear,
    rules_by,
    stand_shelves,
)
from studiolog.craft.ware.packing import QUICK, fill_in, pack
from studiolog.craft.ware.plan_check import check_plan, nearest_free, put
from studiolog.craft.ware.shelf import Footprint, Outline, clear_heights, shelf_outline
from studiolog.craft.ware.shelf_filling import RULES, Filling, Wanted, fill
from studiolog.craft.ware.squeezing import Effort, squeeze_in
from tests.wandering import WANDERING

IN_A_CIRCLE = {
    **{n: 1 + 1 / math.sin(math.pi / n) for n in (2, 3, 4, 5, 6)},
    7: 3.0,
    **{n: 1 + 1 / math.sin(math.pi / (n - 1)) for n in (8, 9)},
    10: 3.813,
    11: 1 + 1 / math.sin(math.pi / 9),
    12: 4.0296,
    13: 2 + math.sqrt(5),
    14: 4.3284,
    15: 1 + math.sqrt(6 + 2 / math.sqrt(5) + 4 * math.sqrt(1 + 2 / math.sqrt(5))),
    16: 4.6154,
    17: 4.7920,
    18: 1 + math.sqrt(2) + math.sqrt(6),
    19: 1 + math.sqrt(2) + math.sqrt(6),
    20: 5.1223,
}
"""The least radius of a circle that holds n of radius 1. Proven up to 13 and for 19."""
PROVEN = (*range(2, 14), 19)
IN_A_SQUARE = {
    2: 2 + math.sqrt(2),
    3: 2 + (math.sqrt(2) + math.sqrt(6)) / 2,
    4: 4.0,
    5: 2 + 2 * math.sqrt(2),
    7: 4 + math.sqrt(3),
    8: 2 + math.sqrt(2) + math.sqrt(6),
    9: 6.0,
}
"""The least side of a square that holds n circles of radius 1."""

RULES_IN_FORCE = rules_by()
POSTS = (50.0, 75.0, 100.0, 125.0, 150.0)
LEVELS = ((1, "bottom", 0.0), (2, "middle", 220.0), (3, "top", 440.0))


# ---- shapely's own picture of a footprint and of a shelf


def drawn(footprint: Footprint, x: float, y: float, turned_deg: float = 0.0) -> BaseGeometry:
    """A footprint by shapely's own means, from its sizes alone."""
    if footprint.shape == "circle":
        return Point(x, y).buffer(footprint.across_mm / 2, quad_segs=90)
    if footprint.shape == "rectangle":
        half, other = footprint.across_mm / 2, footprint.other_mm / 2
        shape: BaseGeometry = box(-half, -other, half, other)
    else:
        reach = footprint.across_mm / math.sqrt(3)
        angles = [math.radians(30 + 60 * n) for n in range(6)]
        shape = Polygon([(reach * math.cos(a), reach * math.sin(a)) for a in angles])
    turned = affinity.rotate(shape, turned_deg, origin=(0, 0))
    return affinity.translate(turned, x, y)


@lru_cache(maxsize=64)
def drawn_shelf(kiln: KilnInside, part: str) -> BaseGeometry:
    """A shelf of a kiln by shapely's own means."""
    half = kiln.across_mm / 2
    if kiln.shape == "round":
        whole: BaseGeometry = Point(0, 0).buffer(half, quad_segs=720)
    elif kiln.shape == "rectangle":
        whole = box(-half, -kiln.deep_mm / 2, half, kiln.deep_mm / 2)
    else:
        sides = 6 if kiln.shape == "hexagon" else 8
        reach = half / math.cos(math.pi / sides)
        angles = [math.pi / sides * (2 * n + 1) for n in range(sides)]
        whole = Polygon([(reach * math.cos(a), reach * math.sin(a)) for a in angles])
    if part == "full":
        return whole
    side = box(-5000, -5000, 0, 5000) if part == "left" else box(0, -5000, 5000, 5000)
    return whole.intersection(side)


def faults_of(plan: LoadPlan) -> list[str]:
    """What the referee has against a plan; nothing here uses the packing's own geometry."""
    found: list[str] = []
    rules = plan.rules
    for shelf in plan.shelves:
        inside = drawn_shelf(plan.kiln, shelf.part).buffer(-rules.edge_gap_mm + 0.05)
        standing: list[tuple[Place, BaseGeometry]] = []
        for place in (one for one in shelf.places if one.on_key is None):
            ware = plan.wares[place.key]
            shape = drawn(ware.stands_on(rules), place.x_mm, place.y_mm, place.turned_deg)
            if not inside.contains(shape):
                found.append(f"{place.key} over the edge of {shelf.position}")
            for kept in shelf.kept:
                there = drawn(kept.footprint, kept.x_mm, kept.y_mm, kept.turned_deg)
                if there.distance(shape) < max(kept.gap_mm, ware.gap_mm(rules)) - 0.05:
                    found.append(f"{place.key} in the way of {kept.what}")
                if kept.gap_mm == 0 == ware.gap_mm(rules) and overlap(there, shape):
                    found.append(f"{place.key} on {kept.what}")
            for other, shape_there in standing:
                gap = max(ware.gap_mm(rules), plan.wares[other.key].gap_mm(rules))
                if shape_there.distance(shape) < gap - 0.05 or overlap(shape_there, shape):
                    found.append(f"{other.key} and {place.key} on {shelf.position}")
            standing.append((place, shape))
        top = max((high_of(plan, shelf, place) for place in shelf.places), default=0.0)
        if top + rules.above_mm > shelf.clear_mm + 0.05:
            found.append(f"{shelf.position} too low: {top} in {shelf.clear_mm}")
    return found


def overlap(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether two drawings share ground; circles are drawn with corners, hence a hair."""
    return bool(one.intersection(other).area > 0.5)


def high_of(plan: LoadPlan, shelf: PlannedShelf, place: Place) -> float:
    """How high a piece reaches: each stacked one adds what its form says."""
    ware = plan.wares[place.key]
    if place.on_key is None:
        return ware.high_mm(plan.rules)
    below = next(one for one in shelf.places if one.key == place.on_key)
    return max(high_of(plan, shelf, below) + (ware.stack_mm or 0.0), ware.height_mm)


# ---- generated loads


@some.composite
def kilns(draw: some.DrawFn) -> KilnInside:
    """Kilns of every shape, small enough that not everything goes in."""
    across = draw(some.sampled_from((300.0, 420.0)))
    probe = draw(some.sampled_from((None, (0.0, -across * 0.4), (across * 0.2, 0.0))))
    return KilnInside(
        shape=draw(some.sampled_from(("round", "hexagon", "octagon", "rectangle"))),
        across_mm=across,
        deep_mm=draw(some.sampled_from((300.0, 380.0))),
        thick_mm=18.0,
        chamber_mm=draw(some.sampled_from((400.0, 660.0))),
        posts_mm=draw(some.sampled_from((POSTS, (110.0,)))),
        shelves=draw(some.integers(0, 4)),
        half_shelves=draw(some.integers(1, 4)),
        probe_mm=probe,
        probe_clear_mm=35.0,
        levels=draw(some.sampled_from(((), LEVELS))),
    )


@some.composite
def loads(draw: some.DrawFn) -> tuple[Ware, ...]:
    """A dozen pieces or fewer of a few forms, glazed or for the bisque, some on catch tiles."""
    glazed = draw(some.booleans())
    wares = []
    for key in range(draw(some.integers(1, 12))):
        form = draw(some.integers(0, 4))
        shape, across, deep, high = (
            ("circle", 84.0, None, 110.0),
            ("circle", 151.3, None, 75.0),
            ("rectangle", 120.0, 70.0, 90.0),
            ("hexagon", 100.0, None, 12.0),
            ("circle", 260.0, None, 240.0),
        )[form]
        wares.append(
            Ware(
                key + 1,
                f"piece {key + 1}",
                Footprint(shape, across, deep),
                high,
                glazed=glazed,
                stack_mm=None if glazed else 22.0,
                stack_with=form,
                on_tile=glazed and draw(some.booleans()),
                due=float(draw(some.integers(0, 40))),
                dislikes={1: 0.8} if form == 0 else {},
                barred={3: "It ran on the top level."} if form == 1 else {},
            )
        )
    return tuple(wares)


@settings(max_examples=200 if WANDERING else 20, deadline=None)
@given(kiln=kilns(), wares=loads())
def test_no_plan_has_ware_overlapping_hanging_over_or_in_the_way(
    kiln: KilnInside, wares: tuple[Ware, ...]
) -> None:
    plan = pack(wares, kiln, RULES_IN_FORCE, effort=QUICK)

    assert faults_of(plan) == []
    assert check_plan(plan) == ()
    placed = [place.key for shelf in plan.shelves for place in shelf.places]
    left = [one.key for one in plan.left_out]
    assert sorted(placed + left) == [ware.key for ware in wares]
    assert all(one.words.startswith("Piece ") and one.words.endswith(".") for one in plan.left_out)
    for shelf in plan.shelves:
        assert all(shelf.level_id not in plan.wares[place.key].barred for place in shelf.places)
    upright = [shelf for shelf in plan.shelves if shelf.part == "full"]
    assert len(upright) <= kiln.shelves
    assert len(plan.shelves) - len(upright) <= kiln.half_shelves
    assert all(shelf.floor_mm + shelf.clear_mm <= kiln.chamber_mm + 0.01 for shelf in plan.shelves)


@settings(max_examples=100 if WANDERING else 15, deadline=None)
@given(wares=loads(), x=some.floats(-200, 200), y=some.floats(-200, 200), turn=some.floats(0, 180))
def test_a_piece_moved_by_hand_is_told_of_if_and_only_if_the_referee_sees_it(
    wares: tuple[Ware, ...], x: float, y: float, turn: float
) -> None:
    kiln = KilnInside("round", 460, 460, 18, 600, POSTS, 3, 0, (0.0, -190.0), 35.0, LEVELS)
    plan = pack(wares, kiln, RULES_IN_FORCE, effort=QUICK)
    stands = [
        (shelf, place) for shelf in plan.shelves for place in shelf.places if place.on_key is None
    ]
    if not stands:
        return
    shelf, place = stands[0]

    moved = put(plan, shelf.position, Place(place.key, x, y, turn))
    told = [fault for fault in check_plan(moved) if fault.kind != "level"]
    seen = faults_of(moved)
    if not near_the_line(moved, shelf.position, place.key):
        assert bool(told) == bool(seen), (told, seen)

    free = nearest_free(plan, shelf.position, place.key, x, y, turn)
    if free is not None:
        assert faults_of(put(plan, shelf.position, free)) == []


def near_the_line(plan: LoadPlan, position: int, key: int) -> bool:
    """Whether a hair more or less would change the verdict: no two measures agree on that."""
    rules = plan.rules
    shelf = plan.shelf(position)
    place = next(one for one in shelf.places if one.key == key)
    ware = plan.wares[key]
    own = drawn(ware.stands_on(rules), place.x_mm, place.y_mm, place.turned_deg)
    away = [
        drawn_shelf(plan.kiln, shelf.part).exterior.distance(own) - rules.edge_gap_mm,
    ]
    for kept in shelf.kept:
        there = drawn(kept.footprint, kept.x_mm, kept.y_mm, kept.turned_deg)
        away.append(there.distance(own) - max(kept.gap_mm, ware.gap_mm(rules)))
    for other in shelf.places:
        if other.key != key and other.on_key is None:
            one = plan.wares[other.key]
            there = drawn(one.stands_on(rules), other.x_mm, other.y_mm, other.turned_deg)
            away.append(there.distance(own) - max(one.gap_mm(rules), ware.gap_mm(rules)))
    return any(abs(gap) < 0.15 for gap in away)


# ---- known packings


def wanted(number: int, footprint: Footprint) -> Wanted:
    """Something with no gap around it."""
    turned = tuple((turn, shape_of(footprint, turn, 0.0)) for turn in footprint.turns_deg)
    ground = footprint.ground_mm2(0.0)
    return Wanted(number, turned, ground, footprint.narrowest_mm, footprint, footprint)


def most_on(outline: Outline, footprint: Footprint, many: int, pushed: int = 4000) -> Filling:
    """As many as go on a bare shelf, up to so many."""
    fillings = []
    for rule in RULES:
        filling = Filling(outline, (), 0.0)
        fill(filling, [wanted(number, footprint) for number in range(many)], rule)
        fillings.append(filling)
    best = max(fillings, key=lambda filling: len(filling.set))
    rng, effort = np.random.default_rng(1), Effort(pushed)
    while len(best.set) < many:
        more = squeeze_in(best, wanted(len(best.set), footprint), rng, 12, effort)
        if more is None:
            break
        best = more
    return best


def sound(filling: Filling, outline: BaseGeometry) -> bool:
    """Whether nothing set overlaps or hangs over, as shapely sees it."""
    shapes = [
        drawn(one.wanted.footprint, one.x_mm, one.y_mm, one.turned_deg) for one in filling.set
    ]
    apart = all(
        one.intersection(other).area < 0.5
        for number, one in enumerate(shapes)
        for other in shapes[:number]
    )
    return apart and all(outline.buffer(0.05).contains(shape) for shape in shapes)


@pytest.mark.parametrize("many", IN_A_CIRCLE)
def test_equal_pots_on_a_round_shelf_come_near_the_densest_known(many: int) -> None:
    across = 100.0
    # One part in a hundred wider than the least that is known to hold them.
    least = across * IN_A_CIRCLE[many]
    filling = most_on(shelf_outline("round", 1.01 * least), Footprint("circle", across), many)

    assert len(filling.set) >= (many if many in PROVEN else many - 1)
    assert len(filling.set) / many >= 0.8  # the area used of the best known
    assert sound(filling, Point(0, 0).buffer(1.01 * least / 2, quad_segs=720))


@pytest.mark.parametrize("many", PROVEN)
def test_no_shelf_holds_more_than_has_been_proven(many: int) -> None:
    outline = shelf_outline("round", 0.998 * 100.0 * IN_A_CIRCLE[many])
    assert len(most_on(outline, Footprint("circle", 100.0), many, pushed=500).set) < many


@pytest.mark.parametrize("many", IN_A_SQUARE)
def test_equal_pots_on_a_square_shelf_come_near_the_densest_known(many: int) -> None:
    side = 1.02 * 50.0 * IN_A_SQUARE[many]
    outline = shelf_outline("rectangle", side, side)
    filling = most_on(outline, Footprint("circle", 100.0), many)

    assert len(filling.set) >= many - 1
    assert len(filling.set) == many or many in (5, 7, 8)
    assert sound(filling, box(-side / 2, -side / 2, side / 2, side / 2))
    tight = shelf_outline("rectangle", 0.998 * side / 1.02, 0.998 * side / 1.02)
    assert len(most_on(tight, Footprint("circle", 100.0), many, pushed=300).set) < many


@pytest.mark.parametrize(
    ("shelf", "tile", "many"),
    [((450, 300), (75, 75), 24), ((480, 320), (120, 80), 16), ((300, 300), (200, 100), 4)],
    ids=["squares", "two to three", "around a hole or in rows"],
)
def test_boxes_that_tile_a_shelf_all_go_on_it(
    shelf: tuple[int, int], tile: tuple[int, int], many: int
) -> None:
    outline = shelf_outline("rectangle", *map(float, shelf))
    footprint = Footprint("rectangle", *map(float, tile))
    filling = most_on(outline, footprint, many + 3, pushed=0)
    assert len(filling.set) == many
    half, other = shelf[0] / 2, shelf[1] / 2
    assert sound(filling, box(-half, -other, half, other))


def test_hexagons_stand_as_close_as_they_tile() -> None:
    # Two rings around one: nineteen tiles fill the hexagon whose corners the outer ones make.
    tile = Footprint("hexagon", 100.0)
    outline = shelf_outline("round", 520.0)  # 2 × (2 × 100 + 100/√3) = 515.5 mm holds them all
    assert len(most_on(outline, tile, 30, pushed=0).set) >= 19


# ---- shelves and heights


@pytest.mark.parametrize("shape", ["round", "hexagon", "octagon", "rectangle"])
@pytest.mark.parametrize("part", ["full", "left", "right"])
def test_a_shelf_is_as_large_as_shapely_says_and_what_is_kept_clear_lies_on_it(
    shape: str, part: str
) -> None:
    kiln = KilnInside(shape, 560, 460, 20, 690, POSTS, 4, 4)
    outline, seen = kiln.outline(part), drawn_shelf(kiln, part)
    assert outline.area_mm2 == pytest.approx(seen.area, rel=1e-4)
    assert Polygon(outline.points()).symmetric_difference(seen).area < 1e-3 * seen.area
    assert outline.room_mm2(10.0) == pytest.approx(seen.buffer(-10).area, rel=1e-3)
    rows = [ShelfRow(part, 150.0), ShelfRow(part, 150.0)]
    lower, upper = stand_shelves(kiln, RULES_IN_FORCE, rows)
    for kept in lower.kept:
        assert seen.buffer(0.05).contains(drawn(kept.footprint, kept.x_mm, kept.y_mm))
    assert [kept.what for kept in lower.kept].count("a post") == 3
    assert not any(kept.what == "a post" for kept in upper.kept)
    for above in ((part,), ("left", "right") if part == "full" else (part,)):
        kept_here = keep_clear(kiln, RULES_IN_FORCE, outline, above, None)
        shapes = [drawn(kept.footprint, kept.x_mm, kept.y_mm) for kept in kept_here]
        if kept_here[-1].what == "the cone pack":
            assert not any(overlap(shapes[-1], shape) for shape in shapes[:-1])
    feet = Polygon([(k.x_mm, k.y_mm) for k in lower.kept if k.what == "a post"])
    assert feet.contains(Point(outline.middle)), "the shelf above would tip"


def test_heights_are_what_the_posts_make_added_up() -> None:
    assert clear_heights((50.0, 75.0), 2) == (50.0, 75.0, 100.0, 125.0, 150.0)
    kiln = KilnInside("round", 560, 560, 20, 690, (50.0, 75.0), 6)
    cups = [Ware(n, f"cup {n}", Footprint("circle", 80), 95.0) for n in range(60)]
    plan = pack(cups, kiln, RULES_IN_FORCE, effort=QUICK)
    # 95 mm and 12 of air want 125 of posts; 25 of feet and 20 of shelf below each.
    assert [(shelf.floor_mm, shelf.clear_mm) for shelf in plan.shelves][:2] == [
        (45.0, 125.0),
        (190.0, 125.0),
    ]
    assert faults_of(plan) == []


def test_a_load_needs_no_fewer_shelves_than_its_area_and_few_more() -> None:
    kiln = KilnInside("round", 560, 560, 20, 1600, POSTS, 9)
    cups = [Ware(n, f"cup {n}", Footprint("circle", 85), 110.0) for n in range(90)]
    plan = pack(cups, kiln, RULES_IN_FORCE, effort=QUICK)
    ground = len(cups) * Point(0, 0).buffer(42.5).area / Point(0, 0).buffer(280).area
    assert plan.placed == 90
    assert ground <= plan.least_shelves <= len(plan.shelves)
    assert len(plan.shelves) <= plan.least_shelves + 2


def test_what_fills_the_room_left_moves_nothing_that_stands() -> None:
    kiln = KilnInside("hexagon", 520, 520, 20, 690, POSTS, 4, 2, None, 0.0, LEVELS)
    cups = [Ware(n, f"cup {n}", Footprint("circle", 85), 110.0) for n in range(12)]
    boxes = [Ware(90 + n, f"box {n}", Footprint("rectangle", 110, 70), 60.0) for n in range(9)]
    plan = pack(cups, kiln, RULES_IN_FORCE, effort=QUICK)
    wares = {ware.key: ware for ware in (*cups, *boxes)}
    wider = LoadPlan(kiln, plan.rules, wares, plan.shelves)

    filled = fill_in(wider, list(wares))

    before = {place for shelf in plan.shelves for place in shelf.places}
    after = {place for shelf in filled.shelves for place in shelf.places}
    assert before < after
    assert faults_of(filled) == []
    assert len(after) + len(filled.left_out) == len(wares)
