"""Blends against what holds of them by identity, and against figures worked out apart.

Counts of tiles are triangular and tetrahedral numbers. The molar masses here are typed from the
IUPAC atomic weights, not taken from the program. Where two sums must agree, one goes by recipes and
analyses, the other by moles alone.
"""

from itertools import product
from math import comb

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.glaze.batch import least_batch_g
from studiolog.craft.glaze.blend import (
    BlendPart,
    blend_recipe,
    blended_moles,
    dry_shares,
    grid_shares,
    pour_shares,
    simplex_shares,
    weight_shares,
)
from studiolog.craft.glaze.slurry import dry_mass_g
from studiolog.craft.glaze.unity import unity_formula
from tests.wandering import WANDERING

FEW = settings(max_examples=200 if WANDERING else 25)

# IUPAC standard atomic weights, abridged: K 39.098, Ca 40.078, Al 26.982, Si 28.085, O 15.999.
K2O, CAO, AL2O3, SIO2 = 94.195, 56.077, 101.961, 60.083


@pytest.mark.parametrize("along", [2, 3, 6, 11])
def test_as_many_tiles_as_the_figurate_numbers(along: int) -> None:
    assert len(simplex_shares(2, along)) == along
    # With n steps between corners: (n+1)(n+2)/2 and (n+1)(n+2)(n+3)/6.
    steps = along - 1
    assert len(simplex_shares(3, along)) == (steps + 1) * (steps + 2) // 2 == comb(along + 1, 2)
    pyramid = (steps + 1) * (steps + 2) * (steps + 3) // 6
    assert len(simplex_shares(4, along)) == pyramid == comb(along + 2, 3)
    assert sum(len(row) for row in grid_shares(along, 4)) == along * 4


@pytest.mark.parametrize(
    ("corners", "tiles"),
    [(2, simplex_shares(2, 7)), (3, simplex_shares(3, 5)), (4, simplex_shares(4, 4)),
     (4, tuple(tile for row in grid_shares(4, 6) for tile in row))],
)  # fmt: skip
def test_shares_sum_to_one_and_each_corner_is_there_once(corners: int, tiles: tuple) -> None:
    assert len(set(tiles)) == len(tiles)
    for tile in tiles:
        assert len(tile) == corners
        assert sum(tile) == pytest.approx(1.0, abs=1e-12)
        assert all(0.0 <= share <= 1.0 for share in tile)
    for place in range(corners):
        alone = tuple(float(other == place) for other in range(corners))
        assert tiles.count(alone) == 1


LINES = st.lists(
    st.tuples(
        st.sampled_from(["Silica", "Whiting", "Kaolin", "Talc", "Rutile"]),
        st.floats(0.1, 100.0),
        st.booleans(),
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda line: (line[0], line[2]),
)
RECIPES = LINES.map(
    lambda lines: (BlendPart("Feldspar", 30.0), *(BlendPart(*line) for line in lines))
)


@FEW
@given(st.lists(RECIPES, min_size=2, max_size=4), st.data())
def test_a_tile_holds_its_shares_of_each_material_and_a_corner_is_itself(
    corners: list[tuple[BlendPart, ...]], data: st.DataObject
) -> None:
    raw = data.draw(st.lists(st.integers(0, 9), min_size=len(corners), max_size=len(corners)))
    weights = [one + (place == 0) for place, one in enumerate(raw)]
    shares = [one / sum(weights) for one in weights]
    tile = blend_recipe(corners, shares)
    assert sum(part.parts for part in tile if not part.addition) == pytest.approx(100.0)
    whole = sum(part.parts for part in tile)
    for material, addition in {(p.material, p.addition) for one in corners for p in one}:
        wanted = sum(
            share * part.parts / sum(p.parts for p in corner)
            for share, corner in zip(shares, corners, strict=True)
            for part in corner
            if (part.material, part.addition) == (material, addition)
        )
        got = sum(p.parts for p in tile if (p.material, p.addition) == (material, addition))
        assert got / whole == pytest.approx(wanted, abs=1e-12)
    for place, corner in enumerate(corners):
        alone = blend_recipe(corners, [float(other == place) for other in range(len(corners))])
        base = sum(part.parts for part in corner if not part.addition)
        scaled = {(p.material, p.addition): p.parts * 100.0 / base for p in corner}
        assert {(p.material, p.addition): p.parts for p in alone} == pytest.approx(scaled)


def test_halves_by_volume_of_slurries_at_1_50_and_1_40() -> None:
    """Brongniart's dry weight in a millilitre is as SG − 1: 0.50 to 0.40, so 5/9 to 4/9."""
    dry = [dry_mass_g(1.0, 1.50), dry_mass_g(1.0, 1.40)]
    assert dry_shares((1.0, 1.0), dry) == pytest.approx((5 / 9, 4 / 9))
    assert [round(100 * share, 1) for share in dry_shares((1.0, 1.0), dry)] == [55.6, 44.4]
    assert pour_shares((0.5, 0.5), dry) == pytest.approx((4 / 9, 5 / 9))
    even = [dry_mass_g(1.0, 1.45)] * 3
    assert pour_shares((0.2, 0.3, 0.5), even) == pytest.approx((0.2, 0.3, 0.5))


@FEW
@given(st.lists(st.floats(0.01, 1.0), min_size=2, max_size=4), st.data())
def test_pouring_by_volume_gives_back_the_shares_by_weight(
    weights: list[float], data: st.DataObject
) -> None:
    shares = [one / sum(weights) for one in weights]
    many = len(shares)
    gravities = data.draw(st.lists(st.floats(1.2, 1.8), min_size=many, max_size=many))
    densities = data.draw(st.lists(st.floats(2.2, 3.2), min_size=many, max_size=many))
    dry = [dry_mass_g(1.0, sg, g) for sg, g in zip(gravities, densities, strict=True)]
    assert dry_shares(pour_shares(shares, dry), dry) == pytest.approx(tuple(shares))


def _grams_for_a_mole_of_flux(silica: float, alumina: float) -> float:
    """Of a fired glaze of Stull's fluxes, 0.3 K₂O and 0.7 CaO (R. T. Stull, 1912)."""
    return 0.3 * K2O + 0.7 * CAO + alumina * AL2O3 + silica * SIO2


@pytest.mark.parametrize("along", [3, 5])
def test_equal_dry_weights_are_off_the_silica_alumina_grid_and_weights_by_flux_are_on_it(
    along: int,
) -> None:
    """Corners of 2.5 and 5 SiO₂ by 0.3 and 0.6 Al₂O₃, blended by equal dry weight: 0.29 mol off."""
    aims = [(2.5, 0.6), (5.0, 0.6), (2.5, 0.3), (5.0, 0.3)]
    grams = [_grams_for_a_mole_of_flux(*aim) for aim in aims]
    silica, alumina = zip(*aims, strict=True)
    off_equal, off_exact = [], []
    for shares in (tile for row in grid_shares(along, along) for tile in row):
        wanted = sum(share * one for share, one in zip(shares, silica, strict=True))
        off_equal.append(abs(blended_moles(shares, silica, grams) - wanted))
        exact = weight_shares(shares, grams)
        assert sum(exact) == pytest.approx(1.0)
        off_exact.append(abs(blended_moles(exact, silica, grams) - wanted))
        clay = sum(share * one for share, one in zip(shares, alumina, strict=True))
        assert blended_moles(exact, alumina, grams) == pytest.approx(clay)
    assert max(off_equal) == pytest.approx(0.29, abs=0.005)
    assert max(off_exact) < 1e-12


ANALYSES = {
    "Orthoclase": {"K2O": 16.92, "Al2O3": 18.32, "SiO2": 64.76, "LOI": 0.0},
    "Calcite": {"CaO": 56.03, "LOI": 43.97},
    "Kaolinite": {"Al2O3": 39.50, "SiO2": 46.55, "LOI": 13.96},
    "Quartz": {"SiO2": 100.0, "LOI": 0.0},
}
"""Theoretical, from the minerals' formulas."""


def test_a_whole_grid_by_recipes_lies_evenly_between_its_corners() -> None:
    corners = [
        (BlendPart("Orthoclase", 60), BlendPart("Calcite", 25), BlendPart("Kaolinite", kaolin),
         BlendPart("Quartz", quartz))
        for kaolin, quartz in ((30.0, 2.0), (30.0, 60.0), (5.0, 10.0), (5.0, 75.0))
    ]  # fmt: skip
    formulas = [
        unity_formula({part.material: part.parts for part in corner}, ANALYSES)
        for corner in corners
    ]
    flux_grams = [formula.raw_g or 0.0 for formula in formulas]
    for shares in (tile for row in grid_shares(3, 4) for tile in row):
        tile = blend_recipe(corners, weight_shares(shares, flux_grams))
        got = unity_formula({part.material: part.parts for part in tile}, ANALYSES)
        for oxide in ("SiO2", "Al2O3", "K2O", "CaO"):
            between = sum(
                share * formula.oxides[oxide]
                for share, formula in zip(shares, formulas, strict=True)
            )
            assert got.oxides[oxide] == pytest.approx(between)


def test_a_quarter_per_cent_needs_400_g_on_a_scale_of_a_tenth() -> None:
    # 0.25 % of 400 g is 1 g; half a step of 0.1 g is then 5 % of it.
    assert least_batch_g(0.0025, 0.1, 0.05) == pytest.approx(400.0)


@FEW
@given(st.integers(2, 7), st.integers(2, 7))
def test_the_middle_of_a_grid_is_even_and_its_edges_are_lines(rows: int, columns: int) -> None:
    grid = grid_shares(rows, columns)
    for row, column in product(range(rows), range(columns)):
        mirrored = grid[rows - 1 - row][columns - 1 - column]
        assert grid[row][column] == pytest.approx(mirrored[::-1])
    top = [tile[:2] for tile in grid[0]]
    assert [share for tile in top for share in tile] == pytest.approx(
        [share for tile in simplex_shares(2, columns) for share in tile]
    )
