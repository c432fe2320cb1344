"""Brongniart's formula against printed answers.

* Norsker & Danisch, *Forming Techniques for the Self-Reliant Potter* (GTZ 1991): the printed
  example of a slip of 1.700 kg/l (seen).
* *Handbook for Australian Potters*: the printed table of dry grams in a litre at a solid density
  of 2.6, W = G(L − 1000)/(G − 1) (seen).

Both are in ``data/brongniart.csv`` with their tolerances: half of the last place printed, a little
more where the book cut a figure off. Water to thin from 1.55 to 1.45 is our own arithmetic from the
same balance; it is worked out below.
"""

import csv
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.glaze import slurry
from tests.wandering import WANDERING

with (Path(__file__).parent / "data" / "brongniart.csv").open(encoding="utf-8") as file:
    PRINTED = list(csv.DictReader(file))


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row["id"])
def test_dry_glaze_in_a_litre_is_as_printed(row: dict[str, str]) -> None:
    given_, printed = json.loads(row["input"]), json.loads(row["expected"])
    off = json.loads(row["tolerance"]) if row["tolerance"].startswith("{") else None
    dry = slurry.dry_g_per_litre(given_["SG"], given_["G"])
    assert dry == pytest.approx(printed["dry"], abs=off["dry"] if off else float(row["tolerance"]))
    if "V" in given_:
        litres = given_["V"]
        whole = slurry.dry_mass_g(1000 * litres, given_["SG"], given_["G"]) / 1000
        assert off is not None
        assert whole == pytest.approx(printed["dry30kg"], abs=off["dry30kg"])
        assert 0.05 * whole == pytest.approx(printed["ox"], abs=off["ox"])


def test_the_table_is_as_long_as_it_was_printed_for_us() -> None:
    assert len(PRINTED) == 13


def test_a_litre_at_1_45_is_731_25_dry_and_718_75_water() -> None:
    # 1000 · 0.45 · 2.6 / 1.6 = 731.25; 1450 − 731.25 = 718.75.
    assert slurry.dry_mass_g(1000, 1.45) == pytest.approx(731.25, abs=1e-9)
    assert slurry.slurry_of(1000, 1.45).water_g == pytest.approx(718.75, abs=1e-9)


def test_five_litres_from_1_55_to_1_45_take_1111_g_of_water() -> None:
    # (5000 · 1.55 + w) / (5000 + w) = 1.45 gives w = 5000 · 0.10 / 0.45 = 1111.1.
    added = slurry.water_to_reach(5000, 1.55, 1.45)
    assert added == pytest.approx(1111.1, abs=0.05)
    dry, water = slurry.dry_mass_g(5000, 1.55), slurry.slurry_of(5000, 1.55).water_g
    assert slurry.specific_gravity_of(dry, water + added) == pytest.approx(1.45, abs=1e-12)


gravities = st.floats(1.02, 1.95)
densities = st.floats(2.2, 4.5)
volumes = st.floats(50, 60_000)


@settings(max_examples=300 if WANDERING else 30)
@given(volumes, gravities, densities)
def test_it_is_true_both_ways(volume: float, gravity: float, density: float) -> None:
    dry = slurry.dry_mass_g(volume, gravity, density)
    water = slurry.slurry_of(volume, gravity, density).water_g
    assert dry > 0
    assert water > 0
    assert dry + water == pytest.approx(volume * gravity)
    assert dry / density + water == pytest.approx(volume)
    assert slurry.specific_gravity_of(dry, water, density) == pytest.approx(gravity)
    assert slurry.volume_of(dry, water, density) == pytest.approx(volume)
    assert slurry.volume_with_dry(dry, gravity, density) == pytest.approx(volume)
    assert slurry.water_for(dry, gravity, density) == pytest.approx(water, rel=1e-6)
    assert slurry.solid_density_of(dry, volume, gravity) == pytest.approx(density, rel=1e-6)


@settings(max_examples=300 if WANDERING else 30)
@given(volumes, gravities, gravities, densities)
def test_what_is_added_brings_it_to_the_target(
    volume: float, one: float, other: float, density: float
) -> None:
    thin, thick = sorted((one, other))
    dry, water = (
        slurry.dry_mass_g(volume, thick, density),
        slurry.slurry_of(volume, thick, density).water_g,
    )
    added = slurry.water_to_reach(volume, thick, thin)
    assert slurry.specific_gravity_of(dry, water + added, density) == pytest.approx(thin)
    dry, water = (
        slurry.dry_mass_g(volume, thin, density),
        slurry.slurry_of(volume, thin, density).water_g,
    )
    more = slurry.dry_to_reach(volume, thin, thick, density)
    assert slurry.specific_gravity_of(dry + more, water, density) == pytest.approx(thick)
    drawn = slurry.water_to_draw_off(volume, thin, thick)
    assert slurry.specific_gravity_of(dry, water - drawn, density) == pytest.approx(thick)
