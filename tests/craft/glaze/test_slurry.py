"""Slurry: what is refused, the density of a recipe, and the thickness of a fired coat.

The printed cases of Brongniart's formula are in ``tests/outside/test_brongniart.py``.
"""

from collections.abc import Callable

import pytest

from studiolog.craft.glaze import slurry
from studiolog.problems import UserProblem


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: slurry.dry_mass_g(1000, 0.99), "more than 1, that of water"),
        (lambda: slurry.dry_mass_g(1000, 0.9), "more than 1, that of water"),
        (lambda: slurry.dry_mass_g(1000, 2.6), "less than 2.60, that of the dry material"),
        (lambda: slurry.dry_mass_g(-5, 1.4), "0 ml or more"),
        (lambda: slurry.dry_mass_g(float("nan"), 1.4), "0 ml or more"),
        (lambda: slurry.dry_mass_g(1000, 1.4, 1.0), "denser than water"),
        (lambda: slurry.slurry_of(0, 1.4), "how much slurry"),
        (lambda: slurry.specific_gravity_of(0, 0), "neither dry glaze nor water"),
        (lambda: slurry.specific_gravity_of(-1, 10), "dry glaze must be 0 g or more"),
        (lambda: slurry.volume_with_dry(100, 0.5), "more than 1"),
        (lambda: slurry.water_to_reach(5000, 1.45, 1.55), "Water makes it thinner"),
        (lambda: slurry.water_to_reach(5000, 1.45, 1.0), "The target must be more than 1"),
        (lambda: slurry.dry_to_reach(5000, 1.55, 1.45), "Dry glaze makes it thicker"),
        (lambda: slurry.dry_to_reach(5000, 1.55, 2.7), "The target must be less than 2.60"),
        (lambda: slurry.water_to_draw_off(5000, 1.55, 1.45), "makes it thicker"),
        (lambda: slurry.weighed_gravity(95, 100), "no heavier than water"),
        (lambda: slurry.weighed_gravity(445, 100), "Was the jug taken off"),
        (lambda: slurry.weighed_gravity(145, 0), "volume that was weighed"),
        (lambda: slurry.solid_density_of(20, 100, 1.45), "can't come from"),
        (lambda: slurry.solid_density_of(150, 100, 1.45), "can't come from"),
        (lambda: slurry.fired_thickness_um(900, 100), "leaves no layer"),
        (lambda: slurry.fired_thickness_um(900, 10, 0), "density of the fired glaze"),
    ],
)
def test_what_no_slurry_can_be_is_said(ask: Callable[[], object], words: str) -> None:
    with pytest.raises(UserProblem) as told:
        ask()
    assert words in told.value.sentence.replace("\u202f", " ")


def test_a_hundred_millilitres_weighed_tell_the_specific_gravity() -> None:
    assert slurry.weighed_gravity(145, 100) == pytest.approx(1.45)
    assert slurry.weighed_gravity(362.5, 250) == pytest.approx(1.45)


def test_a_sample_dried_out_tells_the_density_of_what_is_in_it() -> None:
    # 100 ml at 1.45 left 73.1 g: 71.9 g of water, so 28.1 ml of solids, 2.60 g/ml.
    assert slurry.solid_density_of(73.1, 100, 1.45) == pytest.approx(2.601, abs=0.001)


def test_what_is_in_a_bucket_is_told_at_once() -> None:
    found = slurry.slurry_of(8000, 1.5)
    assert found.dry_g == pytest.approx(6500)  # 812.5 a litre
    assert found.water_g == pytest.approx(5500)
    assert found.dry_g_per_l == pytest.approx(812.5)
    assert found.mass_g == pytest.approx(12_000)
    assert found.water_percent_of_dry == pytest.approx(84.615, abs=0.001)
    made = slurry.slurry_with_dry(6500, 1.5)
    assert made.volume_ml == pytest.approx(8000)


def test_the_density_of_a_recipe_is_its_mass_over_its_volume() -> None:
    # 100 g take 50/2.5 + 50/5 = 30 ml.
    found = slurry.recipe_density({"a": 50, "b": 50}, {"a": 2.5, "b": 5.0})
    assert found.g_per_ml == pytest.approx(100 / 30)
    assert found.words.replace("\u202f", " ") == "3.33 g/ml, of the materials in the recipe"
    partly = slurry.recipe_density({"a": 50, "mystery": 50}, {"a": 2.5})
    assert partly.g_per_ml == pytest.approx(100 / (20 + 50 / 2.6))
    assert "mystery taken at the usual density" in partly.words
    studio = slurry.recipe_density({"a": 50, "mystery": 50}, {"a": 2.5}, usual=2.8)
    assert studio.g_per_ml == pytest.approx(100 / (50 / 2.5 + 50 / 2.8))
    none = slurry.recipe_density({"mystery": 100}, {})
    assert (none.g_per_ml, none.basis) == (2.6, "usual")
    assert slurry.recipe_density({}, {}).basis == "usual"
    assert slurry.recipe_density({"sawdust": 100}, {"sawdust": 0.4}).basis == "usual"


def test_a_coat_of_a_known_weight_has_about_a_known_thickness() -> None:
    # 1000 g on a square metre, a tenth of it lost in the fire, at 2.45 g/ml: 367 µm.
    assert slurry.fired_thickness_um(1000, 10) == pytest.approx(367.35, abs=0.01)
    assert slurry.fired_thickness_um(1000, -3.45) > slurry.fired_thickness_um(1000, 0)


def test_plain_water_holds_nothing_dry() -> None:
    assert slurry.dry_mass_g(1000, 1.0) == 0.0
    assert slurry.slurry_of(1000, 1.0).water_g == 1000.0
    # "1" is what is typed on the way to 1.45.
    for ask in (
        lambda: slurry.slurry_of(1000, 1.0).water_percent_of_dry,
        lambda: slurry.volume_with_dry(100, 1.0),
        lambda: slurry.water_for(100, 1.0),
        lambda: slurry.slurry_with_dry(100, 1.0),
    ):
        with pytest.raises(UserProblem, match="more than 1"):
            ask()
