"""Test plans as they are laid out and mixed, before any journal."""

from dataclasses import replace

import pytest

from studiolog.craft.glaze.blend import BlendPart, add_to_recipe, mix_colours, share_words
from studiolog.craft.glaze.plans import (
    CORNERS,
    Ladder,
    PlanOptions,
    count_tiles,
    lay_out_plan,
    read_options,
    tile_spot,
    write_options,
)
from studiolog.craft.glaze.slurry import dry_mass_g
from studiolog.craft.glaze.weighings import MixCorner, mix_plan
from studiolog.craft.limits import Limits
from studiolog.craft.words import PLAN_KINDS
from studiolog.problems import UserProblem

KELP = (BlendPart("Feldspar", 60.0), BlendPart("Silica", 40.0), BlendPart("Rutile", 2.0, True))
CHALK = (BlendPart("Feldspar", 50.0), BlendPart("Whiting", 50.0))
OPTIONS = {
    "line": PlanOptions(along=5),
    "triaxial": PlanOptions(along=4),
    "grid": PlanOptions(rows=2, columns=3),
    "pyramid": PlanOptions(along=4),
    "silica_alumina": PlanOptions(rows=3, columns=4, silica=(2.5, 4.0), alumina=(0.3, 0.6)),
    "additions": PlanOptions(ladders=(Ladder("Rutile", (0, 2, 4)), Ladder("Iron", (0, 1)))),
    "over_under": PlanOptions(method="dip", seconds=3.0),
    "thickness": PlanOptions(amounts=(1, 2, 3)),
}


@pytest.mark.parametrize("kind", PLAN_KINDS)
def test_every_kind_is_laid_out_without_two_tiles_in_a_place(kind: str) -> None:
    options = OPTIONS[kind]
    labels = ["Kelp", "Chalk", "Oat", "Rust Shore"][: CORNERS[kind][0]]
    layout = lay_out_plan(kind, labels, options)
    assert len(layout.tiles) == count_tiles(kind, len(labels), options)
    assert [tile.position for tile in layout.tiles] == list(range(1, len(layout.tiles) + 1))
    assert len({(tile.row, tile.column) for tile in layout.tiles}) == len(layout.tiles)
    assert len({tile.words for tile in layout.tiles}) == len(layout.tiles)
    assert max(tile.row for tile in layout.tiles) == layout.rows
    assert max(tile.column for tile in layout.tiles) == layout.columns
    assert all(tile.layers for tile in layout.tiles)
    assert read_options(write_options(options)) == options


def test_a_silica_alumina_grid_is_weighed_by_flux_unless_equal_weights_are_asked_for() -> None:
    asked = PlanOptions(rows=2, columns=3, silica=(2.0, 4.0), alumina=(0.3, 0.6))
    grams = (300.0, 420.0, 280.0, 400.0)  # of each corner, for a mole of flux
    layout = lay_out_plan("silica_alumina", ["Kelp"], asked, flux_grams=grams)
    # Silica grows to the right, alumina upward, as on the map.
    aims = [tile.aim for tile in layout.tiles if tile.aim is not None]
    assert aims[:3] == [pytest.approx((silica, 0.6)) for silica in (2.0, 3.0, 4.0)]
    assert aims[3:] == [pytest.approx((silica, 0.3)) for silica in (2.0, 3.0, 4.0)]
    # Half the flux of each of two corners is 300 to 420 by dry weight, not half and half.
    assert layout.tiles[1].shares == pytest.approx((300 / 720, 420 / 720, 0, 0))
    assert [tile.only_corner for tile in layout.tiles] == [0, None, 1, 2, None, 3]
    equal = lay_out_plan(
        "silica_alumina", ["Kelp"], replace(asked, equal_weight=True), flux_grams=grams
    )
    assert equal.tiles[1].shares == pytest.approx((0.5, 0.5, 0, 0))


def test_a_triangle_stands_with_its_first_glaze_on_top() -> None:
    layout = lay_out_plan("triaxial", ["Kelp", "Chalk", "Oat"], PlanOptions(along=3))
    spots = {tile.words: tile_spot("triaxial", tile.row, tile.column, 3) for tile in layout.tiles}
    assert spots["Kelp alone"] == (1.5, 0.5)
    assert spots["Chalk alone"] == (0.5, 2.5)
    assert spots["Oat alone"] == (2.5, 2.5)
    assert spots["50 Chalk, 50 Oat"] == (1.5, 2.5)


def test_a_pyramid_lies_slice_by_slice_under_its_first_glaze() -> None:
    """Tiles of a pyramid are counted by the tetrahedral numbers: 4, 10, 20, 35."""
    labels = ["Kelp", "Chalk", "Oat", "Rust"]
    counts = [count_tiles("pyramid", 4, PlanOptions(along=along)) for along in (2, 3, 4, 5)]
    assert counts == [4, 10, 20, 35]
    layout = lay_out_plan("pyramid", labels, PlanOptions(along=3))
    spots = {
        tile.words: tile_spot("pyramid", tile.row, tile.column, layout.rows)
        for tile in layout.tiles
    }
    assert spots["Kelp alone"] == (1.5, 0.5)
    # The second slice is half Kelp: 50 of each other under it, a little apart.
    assert spots["50 Kelp, 50 Chalk"] == pytest.approx((1.5, 1.65))
    assert spots["50 Kelp, 50 Oat"] == pytest.approx((1.0, 2.65))
    assert spots["50 Kelp, 50 Rust"] == pytest.approx((2.0, 2.65))
    # The last has none, and is the triangle of the other three.
    assert spots["Chalk alone"] == pytest.approx((1.5, 3.8))
    assert spots["Oat alone"] == pytest.approx((0.5, 5.8))
    assert spots["Rust alone"] == pytest.approx((2.5, 5.8))
    assert spots["50 Oat, 50 Rust"] == pytest.approx((1.5, 5.8))
    middle = [
        tile
        for tile in lay_out_plan("pyramid", labels, PlanOptions(along=5)).tiles
        if len(set(tile.shares)) == 1
    ]
    assert [tile.shares for tile in middle] == [(0.25, 0.25, 0.25, 0.25)]


def test_over_and_under_has_each_pair_each_way_up_and_singles_between() -> None:
    layout = lay_out_plan("over_under", ["Kelp", "Chalk"], PlanOptions(method="dip"))
    told = {tile.words: [layer.corner for layer in tile.layers] for tile in layout.tiles}
    assert told == {
        "Kelp alone": [0],
        "Chalk over Kelp": [0, 1],
        "Kelp over Chalk": [1, 0],
        "Chalk alone": [1],
    }


def test_thickness_goes_by_coats_of_the_brush_or_seconds_in_the_bucket() -> None:
    brushed = lay_out_plan("thickness", ["Oat"], PlanOptions(amounts=(1, 3)))
    assert [tile.words for tile in brushed.tiles] == ["1 coat", "3 coats"]
    assert [(t.layers[0].method, t.layers[0].coats) for t in brushed.tiles] == [
        ("brush", 1),
        ("brush", 3),
    ]
    dipped = lay_out_plan("thickness", ["Oat"], PlanOptions(measure="seconds", amounts=(1.5, 3)))
    assert [(t.layers[0].method, t.layers[0].seconds) for t in dipped.tiles] == [
        ("dip", 1.5),
        ("dip", 3),
    ]


@pytest.mark.parametrize(
    ("kind", "labels", "options", "told"),
    [
        ("line", ["Kelp"], PlanOptions(), "Line blend: choose 2 glazes, not 1"),
        ("triaxial", ["Kelp", "Chalk"], PlanOptions(), "choose 3 glazes, not 2"),
        ("over_under", ["Kelp"], PlanOptions(), "Over and under: choose 2 to 12 glazes, not 1"),
        ("line", ["Kelp", "Chalk"], PlanOptions(along=1), "at least two tiles along each side"),
        ("grid", ["a", "b", "c", "d"], PlanOptions(rows=1), "1 is too few"),
        ("triaxial", ["a", "b", "c"], PlanOptions(along=60), "1830 tiles; a plan has at most 144"),
        ("silica_alumina", ["Kelp"], PlanOptions(), "Say from how much SiO₂"),
        ("silica_alumina", ["Kelp"], PlanOptions(silica=(4, 2), alumina=(0.3, 0.6)),
         "SiO₂ goes from less to more"),
        ("additions", ["Kelp"], PlanOptions(), "Name one addition in steps"),
        ("additions", ["Kelp"], PlanOptions(ladders=(Ladder("Rutile", (2,)),)),
         "needs at least two amounts"),
        ("additions", ["Kelp"], PlanOptions(ladders=(Ladder("Rutile", (0, -2)),)),
         "0 to 100 parts"),
        ("thickness", ["Kelp"], PlanOptions(amounts=(1,)), "at least two of them"),
        ("thickness", ["Kelp"], PlanOptions(amounts=(1, 1.5)), "Coats are counted"),
        ("thickness", ["Kelp"], PlanOptions(amounts=(0, 1)), "more than 0 and at most 50 coats"),
    ],
)  # fmt: skip
def test_a_plan_that_can_not_be_is_told_in_a_sentence(
    kind: str, labels: list[str], options: PlanOptions, told: str
) -> None:
    with pytest.raises(UserProblem, match=told) as problem:
        lay_out_plan(kind, labels, options)
    assert problem.value.fields


def test_a_line_is_poured_from_two_slurries_corrected_for_their_gravity() -> None:
    layout = lay_out_plan("line", ["Kelp", "Chalk"], PlanOptions(along=5))
    corners = (MixCorner("Kelp", KELP, 1.50), MixCorner("Chalk", CHALK, 1.40))
    mixing = mix_plan(layout, corners, code="B", tile_dry_g=40.0)
    assert mixing is not None
    dry = (dry_mass_g(1.0, 1.50), dry_mass_g(1.0, 1.40))
    for tile, pour in zip(layout.tiles, mixing.tiles, strict=True):
        for share, wanted, amount, each in zip(
            tile.shares, pour.wanted, pour.amounts, dry, strict=True
        ):
            assert wanted * each == pytest.approx(40.0 * share)
            assert amount == pytest.approx(wanted, abs=0.1)
    # Feldspar, silica, rutile; feldspar, whiting: five weighings, and each tile's own recipe.
    assert mixing.weighings == 5
    assert mixing.pours == 1 + 2 + 2 + 2 + 1
    assert mixing.weighings_each == 3 + 4 + 4 + 4 + 2
    assert "Poured half and half, Kelp and Chalk would be 55.6 to 44.4" in mixing.conditions[0]
    for place, mix in enumerate(mixing.corners):
        assert mix.volume_ml is not None
        assert sum(pour.wanted[place] for pour in mixing.tiles) < mix.volume_ml
        assert sum(line.grams for line in mix.lines) == pytest.approx(mix.dry_g)
    assert mixing.materials_g["Feldspar"] == pytest.approx(
        sum(line.grams for mix in mixing.corners for line in mix.lines[:1])
    )


def test_what_a_base_has_on_top_already_grows_by_the_step_of_a_ladder() -> None:
    grown = add_to_recipe(KELP, (("rutile", 3.0), ("Tin oxide", 4.0), ("Iron", 0.0)), {})
    assert [(part.material, part.parts) for part in grown if part.addition] == [
        ("Rutile", 5.0),
        ("Tin oxide", 4.0),
    ]
    assert grown[:2] == KELP[:2]


def test_a_heavier_dry_glaze_is_poured_by_its_own_density() -> None:
    # Both stand at 1.45; 1 ml holds 0.45 G / (G - 1): 0.731 g at 2.6 and 0.643 g at 3.333 g/ml.
    corners = (MixCorner("Kelp", KELP, 1.45, 2.6), MixCorner("Lead", CHALK, 1.45, 10 / 3))
    layout = lay_out_plan("line", ["Kelp", "Lead"], PlanOptions(along=3))
    mixing = mix_plan(layout, corners, code="B", tile_dry_g=40.0)
    assert mixing is not None
    assert mixing.tiles[1].wanted == pytest.approx((20 / 0.73125, 20 / 0.642857), rel=1e-5)
    assert any("differ in density" in one for one in mixing.conditions)


def test_dry_corners_need_no_gravity_but_more_weighings() -> None:
    layout = lay_out_plan("line", ["Kelp", "Chalk"], PlanOptions(along=5))
    corners = (MixCorner("Kelp", KELP), MixCorner("Chalk", CHALK))
    mixing = mix_plan(layout, corners, code="B", tile_dry_g=40.0, blend_by="weight")
    assert mixing is not None
    assert (mixing.unit, mixing.pours, mixing.weighings) == ("g", 0, 5 + 8)
    assert [pour.amounts for pour in mixing.tiles][1] == (30.0, 10.0)
    assert mixing.tiles[1].water_g is None
    known = (MixCorner("Kelp", KELP, 1.45), MixCorner("Chalk", CHALK, 1.45))
    told = mix_plan(layout, known, code="B", tile_dry_g=73.125, blend_by="weight")
    assert told is not None
    # 731.25 g dry and 718.75 g water make a litre of 1.45 (Brongniart, dry glaze 2.6 g/ml).
    assert [pour.water_g for pour in told.tiles] == pytest.approx([71.875] * 5)
    assert any("respirator" in told for told in mixing.conditions)
    with pytest.raises(UserProblem, match="Kelp has no specific gravity") as problem:
        mix_plan(layout, corners, code="B", tile_dry_g=40.0)
    assert "specific_gravity" in problem.value.fields


def test_too_little_to_pour_is_said_with_what_would_do() -> None:
    layout = lay_out_plan("line", ["Kelp", "Chalk"], PlanOptions(along=11))
    corners = (MixCorner("Kelp", KELP, 1.45), MixCorner("Chalk", CHALK, 1.45))
    limits = Limits({"pour_step_ml": 0.5})
    small = mix_plan(layout, corners, code="B", tile_dry_g=10.0, limits=limits)
    assert small is not None
    assert small.tiles[1].too_small.startswith("B2: 1.4")
    needed = 10.0 * 0.25 / 0.05 / small.tiles[1].wanted[1]
    enough = mix_plan(layout, corners, code="B", tile_dry_g=needed + 0.01, limits=limits)
    assert enough is not None
    assert not any(tile.too_small for tile in enough.tiles)
    assert "even" in enough.conditions[0]


def test_an_addition_too_small_for_the_scale_is_said_with_the_batch_it_needs() -> None:
    """0.25 parts within 5 % on a scale of 0.1 g: 400 g of a base without additions of its own."""
    options = PlanOptions(ladders=(Ladder("Cobalt carbonate", (0, 0.25, 1)),))
    layout = lay_out_plan("additions", ["Chalk"], options)
    chalk = (MixCorner("Chalk", CHALK, 1.45),)
    mixing = mix_plan(layout, chalk, code="C", tile_dry_g=100.0)
    assert mixing is not None
    assert [tile.too_small != "" for tile in mixing.tiles] == [False, True, False]
    assert mixing.tiles[1].too_small.endswith("It needs 400\u202fg of the base.")
    assert mixing.tiles[2].additions[0].grams == 1.0
    assert (mixing.weighings, mixing.pours, mixing.weighings_each) == (2 + 2, 3, 2 + 3 + 3)
    enough = mix_plan(layout, chalk, code="C", tile_dry_g=400.0)
    assert enough is not None
    assert enough.remarks == ()


def test_shares_in_words_come_to_a_hundred() -> None:
    assert share_words((1 / 3, 1 / 3, 1 / 3), "ABC") == "33.4 A, 33.3 B, 33.3 C"
    assert share_words((0.7, 0.3), ("Kelp", "Chalk")) == "70 Kelp, 30 Chalk"
    assert share_words((0.0, 1.0), ("Kelp", "Chalk, version 2")) == "Chalk, version 2 alone"


def test_a_mixed_colour_lies_between_and_a_corner_keeps_its_own() -> None:
    assert mix_colours(("#48654C", "#F2EEE2"), (1.0, 0.0)) == "#48654C"
    # Half of black and white in linear light is 188 of 255 (IEC 61966-2-1), not 128.
    assert mix_colours(("#000000", "#FFFFFF"), (0.5, 0.5)) == "#BCBCBC"
