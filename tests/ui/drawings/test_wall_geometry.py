"""The cut wall: layers in order, never crossing, each keeping 60 % of the ripple below it."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.ui.parts.wall_clay import radii_at
from studiolog.ui.parts.wall_geometry import (
    PLAIN_CUP,
    RIPPLE_KEPT,
    WallProfile,
    ZoneLayer,
    cut_wall,
    radius_at,
    spread_labels,
)

RIPPLED = WallProfile(
    outside=tuple(
        (36 + 4 * h / 100 + (0.9 * math.sin(h / 9 * 2 * math.pi) if 12 < h < 88 else 0), float(h))
        for h in range(101)
    ),
    inside=((0.0, 6.0), (30.0, 6.0), *((32 + 4 * h / 100, float(h)) for h in range(10, 101, 5))),
)
BOWL = WallProfile(
    outside=((30, 0), (32, 6), (38, 8), (60, 30), (74, 55), (78, 70)),
    inside=((0, 7), (30, 8), (54, 28), (70, 55), (75, 70)),
)


def gaps(inner, outer):
    return [o[0] - i[0] for i, o in zip(inner, outer, strict=True)]


def test_layers_of_a_dipped_tumbler_lie_over_each_other_in_order() -> None:
    cut = cut_wall(
        RIPPLED,
        [
            ZoneLayer("outside, upper", 1, "Kelp"),
            ZoneLayer("outside, lower", 1, "Kelp"),
            ZoneLayer("outside, upper", 2, "Chalk"),
            ZoneLayer("rim", 3, "Rust Shore"),
            ZoneLayer("inside", 1, "Oat"),
        ],
    )
    kelp, chalk = (next(b for b in cut.bands if index in b.layers) for index in (0, 2))
    # One dip over two zones is one layer, drawn without a seam.
    assert kelp.layers == (0, 1)
    over = {round(y, 2): x for x, y in kelp.outer}
    for x, y in chalk.inner:
        assert x >= over[round(y, 2)] + 0.5
    assert min(gaps(kelp.inner, kelp.outer)) > 10
    assert cut.bands[-1].side == "rim"
    assert [z.zone for z in cut.zones] == [
        "rim",
        "outside, upper",
        "outside, lower",
        "foot",
        "inside",
    ]
    foot = cut.zones[3]
    assert foot.layers == ()  # bare clay is named, not left out
    assert foot.low_mm == 0


def test_each_layer_keeps_sixty_per_cent_of_the_ripple_below() -> None:
    layers = [ZoneLayer("outside", n, f"Glaze {n}") for n in (1, 2, 3)]
    cut = cut_wall(RIPPLED, layers, outside_room_px=200)

    def ripple(line) -> float:
        """Depth of the waves in px, the lean of the wall taken out by second differences."""
        xs = [x for x, y in line if 100 < y < 360]
        return max(abs(xs[i - 9] - 2 * xs[i] + xs[i + 9]) for i in range(9, len(xs) - 9))

    clay = ripple(cut.bands[0].inner)
    assert clay > 3
    for depth, band in enumerate(cut.bands, start=1):
        assert ripple(band.outer) == pytest.approx(clay * RIPPLE_KEPT**depth, rel=0.06)


ZONES = st.sampled_from(
    ["outside", "inside", "rim", "foot", "outside, upper", "outside, lower", "panel", "handle"]
)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(ZONES, st.integers(1, 4), st.sampled_from("ABCD")), max_size=10),
    st.sampled_from([RIPPLED, BOWL, PLAIN_CUP]),
)
def test_no_two_glazes_ever_cross(picked, profile) -> None:
    layers = [ZoneLayer(zone, position, glaze) for zone, position, glaze in picked]
    cut = cut_wall(profile, layers)
    sides = [b for b in cut.bands if b.side == "outside"]
    for band in sides:
        assert min(gaps(band.inner, band.outer)) > 0
    for below, above in itertools.combinations(sides, 2):
        outer = {round(y, 3): x for x, y in below.outer}
        for x, y in above.inner:
            if round(y, 3) in outer:
                assert x > outer[round(y, 3)] - 1e-6
    for zone in cut.zones:
        for index in zone.layers:
            assert (zone.zone, index) in cut.anchors


def test_fourteen_zones_of_the_potters_own_still_draw() -> None:
    zones = ["outside", "inside", "rim", "foot"] + [f"panel {n}" for n in range(10)]
    cut = cut_wall(BOWL, [ZoneLayer(zone, 1, zone) for zone in zones], 400)
    assert {z.zone for z in cut.zones} >= set(zones)
    assert len(cut.anchors) == 14
    panels = [z for z in cut.zones if z.zone.startswith("panel")]
    for upper, lower in itertools.pairwise(panels):
        assert upper.low_mm == pytest.approx(lower.high_mm)
    left, top, right, bottom = cut.bounds()
    assert right - left < 260
    assert bottom - top < 480


@pytest.mark.parametrize(
    "profile",
    [
        WallProfile((), ()),
        WallProfile(((30, 0),), ()),
        WallProfile(((30, 5), (40, 5)), ((0, 5), (20, 5))),
        WallProfile(((math.nan, 0), (30, 100)), ()),
        WallProfile(((30, 0), (34, 90)), ((50, 0), (60, 90))),  # inside lies outside
        WallProfile(((30, 0), (34, 90)), ()),
        WallProfile(((30, 90), (25, 40), (33, 0)), ((20, 90), (0, 5))),  # from the rim down
        WallProfile(((-5, -10), (0, 200)), ((0, 0), (0, 0))),
    ],
)
def test_a_profile_that_is_no_wall_still_gives_a_drawing(profile) -> None:
    cut = cut_wall(profile, [ZoneLayer("outside", 1, "Kelp"), ZoneLayer("inside", 1, "Oat")])
    assert all(math.isfinite(v) for v in cut.bounds())
    outside = next(b for b in cut.bands if b.side == "outside")
    assert min(gaps(outside.inner, outside.outer)) > 0


def test_a_glaze_on_the_whole_outside_belongs_to_both_parts() -> None:
    cut = cut_wall(
        None, [ZoneLayer("outside", 1, "Oat"), ZoneLayer("outside, upper", 2, "Deep Tide")]
    )
    by_name = {z.zone: z.layers for z in cut.zones}
    assert by_name["outside, upper"] == (1, 0)  # outermost first
    assert by_name["outside, lower"] == (0,)


def test_radius_takes_the_widest_place_and_ends_hold() -> None:
    assert radius_at(((10, 0), (20, 10)), 5) == pytest.approx(15)
    assert radius_at(((10, 0), (20, 10), (14, 10), (14, 2)), 5) == pytest.approx(15)
    assert radius_at(((10, 2), (20, 10)), 40) == 20


@given(
    st.lists(st.tuples(st.floats(-50, 500), st.floats(10, 60)), min_size=1, max_size=14),
)
def test_labels_never_overlap(wanted) -> None:
    wanted = sorted(wanted)
    tops = spread_labels(wanted, 0, 400, 8)
    assert tops[0] >= 0
    for (top, (_, height)), below in zip(zip(tops, wanted, strict=True), tops[1:], strict=False):
        assert below >= top + height + 8 - 1e-6


def test_a_label_with_room_stands_where_it_wants() -> None:
    assert spread_labels([(40, 30), (200, 30)], 0, 400) == [40, 200]


@given(
    # A micron is the finest a profile says; below it, two points are one.
    st.lists(
        st.tuples(
            st.floats(0, 80).map(lambda mm: round(mm, 3)),
            st.floats(0, 120).map(lambda mm: round(mm, 3)),
        ),
        min_size=2,
        max_size=12,
    ),
    st.lists(st.floats(-10, 130).map(lambda mm: round(mm, 3)), min_size=1, max_size=20),
)
def test_many_radii_at_once_are_those_found_one_by_one(points, heights) -> None:
    heights = sorted(heights)
    one_by_one = [radius_at(points, height) for height in heights]
    assert radii_at(points, heights) == pytest.approx(one_by_one, rel=1e-6, abs=1e-6)


def test_the_same_wall_is_cut_once() -> None:
    layers = [ZoneLayer("outside", 1, "Oat")]
    assert cut_wall(None, layers, 333.0) is cut_wall(None, list(layers), 333.0)
