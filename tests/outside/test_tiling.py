"""Tiles over an area, held to elementary geometry and to shapely as an independent referee.

A regular hexagon of side s: area 3√3/2 s², flat to flat √3 s, rows 3/2 s apart; rings of n
hexagons round one hold 1, 7, 19, 37 (centred hexagonal numbers).
"""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import STRtree, unary_union
from shapely.geometry import Polygon as Referee

from studiolog.craft.limits import SHIPPED
from studiolog.craft.ware.offcuts import say_cut, share_tiles
from studiolog.craft.ware.polygons import Polygon, area_of, clip, inset, narrowest, turn
from studiolog.craft.ware.tiles import (
    BONDS,
    STARTS,
    Bond,
    Laying,
    Tile,
    corner_area,
    polygon_area,
    rectangle,
)
from studiolog.craft.ware.tiling import Layout, lay_tiles
from studiolog.problems import UserProblem
from tests.wandering import WANDERING

HEX, SQUARE, BRICK = Tile("hexagon", 100), Tile("square", 98), Tile("rectangle", 150, 73)
EVERY_WAY = [
    (tile, bond) for tile in (HEX, SQUARE, BRICK) for bond in BONDS[tile.kind]
]  # fmt: skip
TOO_NARROW = SHIPPED["tile_least_cut_mm"]
SLANTED = polygon_area([(0, 0), (1000, 100), (900, 900), (500, 500), (0, 700)])
AREAS = [rectangle(1203, 807), corner_area(1200, 800, 400, 300), SLANTED]


def check_by_referee(layout: Layout) -> None:
    """No two pieces overlap, all lie inside, and with their joints they cover the floor."""
    floor = Referee(layout.floor)
    pieces = [Referee(piece.outline) for piece in layout.pieces]
    assert all(piece.is_valid for piece in pieces)
    tree = STRtree(pieces)
    for place, piece in enumerate(pieces):
        for other in tree.query(piece):
            if other > place:
                assert piece.intersection(pieces[other]).area < 1e-4
    laid = unary_union(pieces)
    assert laid.difference(floor.buffer(1e-6)).area < 1e-2  # a tile so near whole is whole
    assert laid.area == pytest.approx(layout.tiles_mm2, rel=1e-9)
    # What is left is within a joint of a tile, but for gaps too narrow to cut a tile for.
    wide = layout.laying.joint_mm * 1.01 + 0.01
    bare = floor.difference(laid.buffer(wide, join_style="mitre", mitre_limit=10))
    assert bare.area <= layout.to_the_joint * TOO_NARROW * 2 * layout.tile.side_mm + 0.1


@pytest.mark.parametrize(("tile", "bond"), EVERY_WAY)
def test_pieces_do_not_overlap_and_with_their_joints_they_cover_the_area(
    tile: Tile, bond: Bond
) -> None:
    for area in AREAS:
        check_by_referee(lay_tiles(tile, Laying(bond, 3, "joint", edge_mm=5), area))


@pytest.mark.parametrize(("tile", "bond"), EVERY_WAY)
def test_tiles_without_a_joint_make_up_the_area_exactly(tile: Tile, bond: Bond) -> None:
    for area in AREAS:
        layout = lay_tiles(tile, Laying(bond, 0, "tile"), area)
        gap = layout.area_mm2 - layout.tiles_mm2
        most = layout.to_the_joint * TOO_NARROW * 2 * tile.side_mm
        assert -1e-3 < gap <= most + 1e-3


@pytest.mark.parametrize(("tile", "bond"), EVERY_WAY)
def test_a_large_floor_has_the_share_of_tile_that_one_cell_has(tile: Tile, bond: Bond) -> None:
    """One tile to each cell of the lattice: (side + joint)², or √3/2 (flat to flat + joint)²."""
    joint = 4.0
    layout = lay_tiles(tile, Laying(bond, joint, "corner"), rectangle(4000, 3600))
    wide, deep = (side + joint for side in tile.size)
    cell = math.sqrt(3) / 2 * wide**2 if tile.kind == "hexagon" else wide * deep
    assert layout.tiles_mm2 / layout.area_mm2 == pytest.approx(tile.area_mm2 / cell, rel=0.01)


def test_a_hexagon_has_the_figures_of_the_handbooks() -> None:
    tile = Tile("hexagon", math.sqrt(3))
    assert tile.side_mm == pytest.approx(1)
    assert tile.area_mm2 == pytest.approx(3 * math.sqrt(3) / 2)
    corners = tile.outline("points up")
    assert area_of(corners) == pytest.approx(tile.area_mm2)
    assert narrowest(corners) == pytest.approx(math.sqrt(3))
    assert max(y for _, y in corners) - min(y for _, y in corners) == pytest.approx(2)


@pytest.mark.parametrize(("rings", "tiles"), [(0, 1), (1, 7), (2, 19), (3, 37)])
def test_rings_of_hexagons_are_counted_by_the_centred_hexagonal_numbers(
    rings: int, tiles: int
) -> None:
    """The floor is the outline of the rings themselves: many corners, none of them cut."""
    flower = lay_tiles(Tile("hexagon", 50), Laying("points up", 0, "tile"), rectangle(900, 900))
    near = 50.0 * rings + 1.0
    middle = (450.0, 450.0)
    ring = []
    for piece in flower.pieces:
        x = sum(p[0] for p in piece.outline) / 6 - middle[0]
        y = sum(p[1] for p in piece.outline) / 6 - middle[1]
        steps = max(abs(x) + abs(y) / math.sqrt(3), 2 * abs(y) / math.sqrt(3))
        if piece.cut == 0 and steps <= near:
            ring.append(Referee(piece.outline).buffer(1e-6, join_style="mitre"))
    outline = unary_union(ring).simplify(1e-4)
    area = polygon_area(list(outline.exterior.coords)[:-1])
    layout = lay_tiles(Tile("hexagon", 50), Laying("points up", 0, "tile"), area)
    assert (layout.whole, layout.cut) == (tiles, 0)


def test_rows_of_hexagons_stand_three_halves_of_a_side_apart() -> None:
    """Five rows in s (1.5 x 5 + 0.5) of height: rows of four, and of three and two halves."""
    side = 100 / math.sqrt(3)
    area = rectangle(400, side * 8 + 1e-3)
    layout = lay_tiles(HEX, Laying("points up", 0, "corner"), area)
    assert layout.whole == 3 * 4 + 2 * 3
    halves = [cut for cut in layout.cuts if abs(cut.share - 0.5) < 1e-3]
    assert sum(cut.count for cut in halves) == 4
    assert "half a tile" in say_cut(halves[0], HEX)
    # A half hexagon is 4 corners, half a flat to flat wide and a point to point high.
    assert halves[0].size == pytest.approx((50, 2 * side), abs=0.01)


def test_the_saw_keeps_two_halves_from_coming_out_of_one_hexagon() -> None:
    """The four halves lie in four tiles, and the triangles between points fit beside them; with a
    saw that took nothing two halves would come from one."""
    area = rectangle(400, 100 / math.sqrt(3) * 8 + 1e-3)
    layout = lay_tiles(HEX, Laying("points up", 0, "corner"), area)
    assert layout.cut == 4 + 5 + 5
    halves = [piece for piece in layout.pieces if piece.cut and area_of(piece.outline) > 4000]
    only = replace(layout, pieces=tuple(halves))
    assert share_tiles(only) == 4
    assert share_tiles(replace(only, saw_mm=0.0)) == 2
    assert layout.needed - layout.needed_with_offcuts == layout.cut - share_tiles(layout) > 0


def test_squares_over_a_square_metre_are_counted_as_everybody_counts_them() -> None:
    """10 x 10 of 97 mm with joints of 3 mm and half a joint all round: a metre square."""
    metre = lay_tiles(Tile("square", 97), Laying("straight", 3, "tile"), rectangle(1000, 1000))
    centred = lay_tiles(Tile("square", 97), Laying("straight", 3), rectangle(1000, 1000))
    assert centred.whole == 100
    assert centred.cut == 0
    assert metre.whole == 81  # a tile in the middle: half tiles all round
    assert metre.cut == 40
    strips = {say_cut(cut, metre.tile): cut.count for cut in metre.cuts}
    assert sum(strips.values()) == 40
    assert centred.joints_mm2 == pytest.approx(1e6 - 100 * 97**2)


def test_strips_of_a_third_come_three_ways_from_offcuts() -> None:
    """A floor 4 1/3 tiles wide: strips of 30 of 100 mm along one side, two of them from a tile."""
    layout = lay_tiles(Tile("square", 100), Laying("straight", 0, "corner"), rectangle(430, 400))
    assert (layout.whole, layout.cut) == (16, 4)
    assert [cut.size for cut in layout.cuts] == [pytest.approx((30, 100))]
    assert layout.needed == 20
    assert layout.needed_with_offcuts == 18


def test_an_even_start_has_no_more_narrow_cuts_than_any_that_can_be_named() -> None:
    layout = lay_tiles(HEX, Laying("points up", 3), SLANTED)
    check_by_referee(layout)
    named = [lay_tiles(HEX, Laying("points up", 3, start), SLANTED) for start in STARTS]
    assert layout.narrow == min(one.narrow for one in named)


def test_whole_tiles_only_leave_the_rest_free() -> None:
    layout = lay_tiles(SQUARE, Laying("straight", 2, "corner", "whole"), rectangle(450, 350))
    assert (layout.whole, layout.cut) == (12, 0)
    assert layout.joints_mm2 == pytest.approx(450 * 350 - 12 * 98**2)


def test_a_tile_larger_than_the_area_is_one_cut_tile() -> None:
    layout = lay_tiles(Tile("square", 400), Laying("straight"), rectangle(120, 90))
    assert layout.tile_is_larger
    assert (layout.whole, layout.cut) == (0, 1)


@pytest.mark.parametrize(
    ("lay", "told"),
    [
        (lambda: lay_tiles(Tile("square", 8), Laying("straight"), rectangle(90_000, 90_000)),
         "126.6 million tiles"),
        (lambda: lay_tiles(Tile("square", 1), Laying("straight"), AREAS[0]), "A tile is 5 mm"),
        (lambda: lay_tiles(Tile("square", math.nan), Laying("straight"), AREAS[0]), "A tile is"),
        (lambda: lay_tiles(HEX, Laying("straight"), AREAS[0]), "Hexagons are laid"),
        (lambda: lay_tiles(HEX, Laying("points up", -1), AREAS[0]), "A joint is 0 mm"),
        (lambda: lay_tiles(HEX, Laying("points up", 3, edge_mm=500), AREAS[0]), "free edge"),
        (lambda: lay_tiles(HEX, Laying("points up", 3, edge_mm=-1), AREAS[0]), "0 mm or more"),
        (lambda: rectangle(0, 5), "more than 0 mm"),
        (lambda: rectangle(5, 1e9), "100 m at most"),
        (lambda: corner_area(100, 100, 100, 20), "smaller than the area"),
        (lambda: polygon_area([(0, 0), (1, 0)]), "three corners"),
        (lambda: polygon_area([(0, 0), (50, 50), (100, 100)]), "three corners"),
        (lambda: polygon_area([(0, 0), (100, 100), (100, 0), (0, 100)]), "cross"),
        (lambda: polygon_area([(0, 0), (math.inf, 0), (0, 9)]), "two numbers"),
    ],
)  # fmt: skip
def test_what_can_not_be_laid_is_told_in_a_sentence(lay: object, told: str) -> None:
    with pytest.raises(UserProblem) as problem:
        lay()  # type: ignore[operator]
    assert told in problem.value.sentence


@st.composite
def stars(draw: st.DrawFn) -> Polygon:
    """A simple polygon round (300, 300), mostly not convex."""
    count = draw(st.integers(3, 9))
    places = st.lists(st.integers(0, 23), min_size=count, max_size=count, unique=True)
    turns = [15 * place for place in sorted(draw(places))]
    reach = draw(st.lists(st.integers(40, 400), min_size=count, max_size=count))
    points = [
        (300 + r * math.cos(math.radians(a)), 300 + r * math.sin(math.radians(a)))
        for a, r in zip(turns, reach, strict=True)
    ]
    assume(Referee(points).is_valid and Referee(points).area > 2000)
    return polygon_area(points)


@given(stars(), st.sampled_from(EVERY_WAY), st.sampled_from([0.0, 2.0, 10.0]))
@settings(max_examples=200 if WANDERING else 12, deadline=None)
def test_any_area_is_covered_once(area: Polygon, way: tuple[Tile, Bond], joint: float) -> None:
    check_by_referee(lay_tiles(way[0], Laying(way[1], joint, "tile"), area))


@given(stars(), st.floats(0, 360), st.integers(0, 600), st.integers(0, 600))
@settings(max_examples=400 if WANDERING else 40, deadline=None)
def test_clipping_agrees_with_the_referee(area: Polygon, angle: float, x: int, y: int) -> None:
    shape = tuple((px + x, py + y) for px, py in turn(HEX.outline("points up"), angle))
    ours = clip(area, shape)
    referee = Referee(area).intersection(Referee(shape))
    assert sum(area_of(part) for part in ours) == pytest.approx(referee.area, abs=1e-3)
    parts = [one for one in getattr(referee, "geoms", [referee]) if one.area > 1e-3]
    assert len([part for part in ours if area_of(part) > 1e-3]) == len(parts)


@given(stars(), st.floats(0.5, 20))
@settings(max_examples=200 if WANDERING else 25, deadline=None)
def test_an_inset_agrees_with_the_referee(area: Polygon, by_mm: float) -> None:
    ours = inset(area, by_mm)
    if ours is None:
        return  # a side vanished: refused in a sentence, never drawn wrong
    referee = Referee(area).buffer(-by_mm, join_style="mitre", mitre_limit=1e6)
    assert area_of(ours) == pytest.approx(referee.area, rel=1e-6)
