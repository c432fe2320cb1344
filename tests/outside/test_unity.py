"""The unity formula against published recipes with their printed formulas.

Sources stand in ``data/unity.csv``: Binns, *The Potter's Craft*, 1910 (printed); Seger's cones
(printed in many handbooks, batches here from memory and consistent among themselves). Rows marked
regression were computed by ourselves and prove only that nothing changed: one test, named so.
"""

import csv
import json
import re
from pathlib import Path

import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wandering import WANDERING

from studiolog.craft.glaze.oxides import MOLAR_MASSES_G, OXIDES, pretty, read_oxide
from studiolog.craft.glaze.unity import unity_formula
from studiolog.problems import UserProblem
from studiolog.shipped import resource

DATA = Path(__file__).parent / "data" / "unity.csv"
TO_FORMULA = ("recipe->unity", "recipe->unity, ideal feldspar")


def table():
    with DATA.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def is_regression(row):
    return row["independence"].startswith("regression")


def analyses():
    """The materials that ship, theoretical and typical, as they stand in the table."""
    with resource("tables", "materials.csv").open(encoding="utf-8", newline="") as file:
        return {
            row["name"]: {key: float(row[key]) for key in (*OXIDES, "LOI") if row.get(key)}
            for row in csv.DictReader(file)
        }


ANALYSES = analyses()


def formula_of(row):
    return unity_formula(json.loads(row["input"]), ANALYSES)


def tolerances(row):
    given = json.loads(row["tolerance"])
    return given if isinstance(given, dict) else dict.fromkeys(json.loads(row["expected"]), given)


def check_formula(row):
    formula, allowed = formula_of(row), tolerances(row)
    for oxide, moles in json.loads(row["expected"]).items():
        assert formula.oxides[oxide] == pytest.approx(moles, abs=allowed[oxide]), oxide
    assert sum(formula.flux_shares.values()) == pytest.approx(1.0)


@pytest.mark.parametrize(
    "row",
    [row for row in table() if row["kind"] in TO_FORMULA and not is_regression(row)],
    ids=lambda row: row["id"],
)
def test_a_printed_recipe_has_its_printed_formula(row):
    check_formula(row)


def test_the_printed_recipes_are_all_there():
    assert sum(row["kind"] in TO_FORMULA and not is_regression(row) for row in table()) == 15


def test_regression_of_our_own_arithmetic():
    # Not independent: the 4:3:2:1 recipe is common practice, the figures are our own.
    own = {row["id"]: row for row in table() if is_regression(row)}
    check_formula(own["stoneware_4321"])
    row = own["stoneware_4321_wt"]
    formula, expected = formula_of(row), json.loads(row["expected"])
    assert formula.loi_percent == pytest.approx(expected.pop("LOI"), abs=0.01)
    for oxide, percent in expected.items():
        assert formula.weight_percent[oxide] == pytest.approx(percent, abs=0.01), oxide


@pytest.mark.parametrize(
    "row", [row for row in table() if "oxygen ratio" in row["kind"]], ids=lambda row: row["id"]
)
def test_the_oxygen_ratio_is_that_of_binns(row):
    # His two ratios are printed for formulas, so each oxide is weighed in as itself.
    moles = json.loads(row["input"])
    recipe = {oxide: n * MOLAR_MASSES_G[oxide] for oxide, n in moles.items()}
    pure = {oxide: {oxide: 100.0, "LOI": 0.0} for oxide in moles}
    formula = unity_formula(recipe, pure)
    expected = json.loads(row["expected"])["oxygen_ratio"]
    assert formula.oxygen_ratio == pytest.approx(expected, abs=float(row["tolerance"]))
    for oxide, n in moles.items():
        assert formula.oxides[oxide] == pytest.approx(n)


@pytest.mark.parametrize("oxide", OXIDES)
def test_molar_masses_agree_with_an_independent_table(oxide):
    # periodictable has the IUPAC standard atomic weights from its own copy.
    assert MOLAR_MASSES_G[oxide] == pytest.approx(periodictable.formula(oxide).mass, rel=5e-5)


@pytest.mark.parametrize(
    ("other", "usual", "each"),
    [("MnO2", "MnO", 1), ("Mn2O3", "MnO", 2), ("Mn3O4", "MnO", 3), ("Fe3O4", "Fe2O3", 1.5),
     ("Co3O4", "CoO", 3), ("Co2O3", "CoO", 2), ("Cu2O", "CuO", 2), ("Pb3O4", "PbO", 3)],
)  # fmt: skip
def test_what_laboratories_also_write_is_turned_by_its_masses(other, usual, each):
    # One of the other holds so many of the usual; masses by periodictable.
    with pytest.raises(UserProblem) as told:
        read_oxide(other)
    factor = float(re.search(r"× ([\d.]+)", told.value.sentence)[1])
    assert f"give it as {pretty(usual)}" in told.value.sentence
    masses = [periodictable.formula(one).mass for one in (usual, other)]
    assert factor == pytest.approx(each * masses[0] / masses[1], abs=6e-4)


MATERIALS = st.sampled_from(sorted(name for name, analysis in ANALYSES.items() if analysis))
RECIPES = st.dictionaries(MATERIALS, st.floats(0.1, 100.0), min_size=1, max_size=6)
EXAMPLES = settings(max_examples=300 if WANDERING else 40, deadline=None)


@EXAMPLES
@given(RECIPES, st.floats(1e-6, 1e6))
def test_scaling_a_recipe_changes_nothing(recipe, factor):
    one = unity_formula(recipe, ANALYSES)
    other = unity_formula({name: parts * factor for name, parts in recipe.items()}, ANALYSES)
    for key in ("oxides", "mole_percent", "weight_percent", "flux_shares", "moles"):
        assert dict(getattr(other, key)) == pytest.approx(dict(getattr(one, key)), rel=1e-9), key
    for key in ("silica_alumina", "loi_percent", "alkali_share", "oxygen_ratio", "raw_g"):
        had, has = getattr(one, key), getattr(other, key)
        assert has == (had if had is None else pytest.approx(had, rel=1e-9, abs=1e-9)), key


@EXAMPLES
@given(RECIPES, RECIPES, st.floats(0.0, 1.0))
def test_a_mixture_of_two_recipes_lies_between_them(first, second, share):
    mixed = {name: parts * share / sum(first.values()) for name, parts in first.items()}
    for name, parts in second.items():
        mixed[name] = mixed.get(name, 0.0) + parts * (1.0 - share) / sum(second.values())
    ends = (unity_formula(first, ANALYSES), unity_formula(second, ANALYSES))
    between = unity_formula(mixed, ANALYSES)
    for key in ("mole_percent", "weight_percent"):
        for oxide, percent in getattr(between, key).items():
            low, high = sorted(getattr(end, key).get(oxide, 0.0) for end in ends)
            assert low - 1e-9 <= percent <= high + 1e-9, (key, oxide)
    if all(end.is_defined for end in ends):
        for oxide, moles in between.oxides.items():
            low, high = sorted(end.oxides.get(oxide, 0.0) for end in ends)
            assert low * (1 - 1e-9) - 1e-12 <= moles <= high * (1 + 1e-9), oxide
    if all(end.silica_alumina is not None for end in ends):
        low, high = sorted(end.silica_alumina for end in ends)
        assert low * (1 - 1e-9) <= between.silica_alumina <= high * (1 + 1e-9)
    low, high = sorted(end.loi_percent for end in ends)
    assert low - 1e-9 <= between.loi_percent <= high + 1e-9
