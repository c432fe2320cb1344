"""Recipes found for a formula, against printed batches and against another solver.

``data/targets.csv`` has the examples with their sources and tolerances:

* C. F. Binns, *The Potter's Craft* (1910): the batch printed for a bright lead glaze (seen).
* Seger's cones 1 to 20: formula and batch as handbooks reprint them (from memory, consistent among
  themselves with the molar masses 557, 100, 60, 160 and 259 that were used then).
* Rows marked *regression* are our own arithmetic and prove nothing; they are kept apart.

The method is that of Lawson and Hanson, *Solving Least Squares Problems* (1974), chapter 23: the
conditions of Karush, Kuhn and Tucker that tell a least from any other point are checked on every
answer, and SciPy solves the same equations, set up here anew, beside it.
"""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear, nnls

from studiolog.craft.glaze.materials import shipped_materials
from studiolog.craft.glaze.oxides import FLUXES, MOLAR_MASSES_G
from studiolog.craft.glaze.target import Bound, Wishes, recipe_for_formula
from studiolog.craft.limits import SHIPPED, Limits
from tests.wandering import WANDERING

with (Path(__file__).parent / "data" / "targets.csv").open(encoding="utf-8") as file:
    ROWS = {row["id"]: row for row in csv.DictReader(file)}
ANALYSES = {one.name: one.analysis.percents for one in shipped_materials()}
FELDSPAR, SILICA = "Potash feldspar (orthoclase/microcline)", "Silica (quartz/flint)"
WHITING, KAOLIN = "Whiting (calcite)", "Kaolin (kaolinite)"
SEGER = [row for name, row in ROWS.items() if name.startswith("seger")]
SHELF = (FELDSPAR, SILICA, WHITING, KAOLIN, "Dolomite", "Talc", "Soda feldspar (albite)")


def _shelf(*names: str) -> dict[str, dict[str, float]]:
    return {name: ANALYSES[name] for name in names}


def test_the_batch_that_binns_printed() -> None:
    row = ROWS["binns1910_bright_batch"]
    printed, off = json.loads(row["expected"]), json.loads(row["tolerance"])
    letters = {
        "WL": "White lead (2PbCO3.Pb(OH)2)",
        "W": WHITING,
        "F": FELDSPAR,
        "K": KAOLIN,
        "S": SILICA,
    }
    found = recipe_for_formula(json.loads(row["input"]), _shelf(*letters.values()))
    assert found.reached
    assert found.formula.raw_g == pytest.approx(printed["total"], abs=off["total"])
    for letter, name in letters.items():
        grams = found.parts[name] * found.formula.raw_g / 100.0
        assert grams == pytest.approx(printed[letter], abs=off[letter]), name


@pytest.mark.parametrize("row", SEGER, ids=lambda row: row["id"])
def test_segers_cones_come_back_from_their_formulas(row: dict[str, str]) -> None:
    batch = json.loads(row["input"])
    total = sum(batch.values())
    found = recipe_for_formula(json.loads(row["expected"]), _shelf(*batch))
    assert found.reached
    assert found.unique
    for name, grams in batch.items():
        # Their molar masses were rounded: kaolin 259 for 258.2, quartz 60 for 60.08.
        assert found.parts[name] == pytest.approx(100.0 * grams / total, rel=0.006), name


def test_a_stoneware_glaze_comes_back_among_seven_materials() -> None:
    """4:3:2:1, widely printed since the middle of the 20th century (common practice)."""
    formula = _moles({FELDSPAR: 40.0, SILICA: 30.0, WHITING: 20.0, KAOLIN: 10.0})
    found = recipe_for_formula(formula, _shelf(*SHELF))
    expected = {FELDSPAR: 40.0, SILICA: 30.0, WHITING: 20.0, KAOLIN: 10.0}
    assert dict(found.parts) == pytest.approx(expected, abs=1e-6)
    assert set(found.parts) == set(expected)


def test_regression_our_own_arithmetic_of_stulls_series() -> None:
    row = ROWS["stull_member"]
    letters = {"F": FELDSPAR, "W": WHITING, "K": KAOLIN, "S": SILICA}
    found = recipe_for_formula(json.loads(row["input"]), _shelf(*letters.values()))
    for letter, grams in json.loads(row["expected"]).items():
        made = found.parts[letters[letter]] * found.formula.raw_g / 100.0
        assert made == pytest.approx(grams, abs=float(row["tolerance"]))


def _moles(recipe: dict[str, float]) -> dict[str, float]:
    """Moles by oxide, straight from the percentages."""
    found: dict[str, float] = {}
    for name, parts in recipe.items():
        for oxide, percent in ANALYSES[name].items():
            if oxide not in ("LOI", "F"):
                grams = parts * percent / 100.0
                found[oxide] = found.get(oxide, 0.0) + grams / MOLAR_MASSES_G[oxide]
    return found


def _equations(target: dict[str, float], names: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Moles in 100 g with the weights of the documented method, set up without its code."""
    flux = sum(target.get(oxide, 0.0) for oxide in FLUXES)
    columns = [_moles({name: 100.0}) for name in names]
    oxides = sorted({oxide for one in (target, *columns) for oxide in one})
    rows, wanted, heavy = [], [], 0.0
    for oxide in oxides:
        want = target.get(oxide, 0.0) / flux
        weight = 1.0 / max(want, SHIPPED["target_floor_mol"])
        heavy = max(heavy, SHIPPED["target_flux_weight"] * weight)
        rows.append([weight * one.get(oxide, 0.0) for one in columns])
        wanted.append(weight * want)
    rows.append([heavy * sum(one.get(oxide, 0.0) for oxide in FLUXES) for one in columns])
    wanted.append(heavy)
    return np.array(rows), np.array(wanted)


_AMOUNT = st.floats(0.02, 1.0)
_TARGETS = st.fixed_dictionaries(
    {"K2O": _AMOUNT, "CaO": _AMOUNT, "Al2O3": _AMOUNT, "SiO2": st.floats(0.5, 8.0)},
    optional={"Na2O": _AMOUNT, "MgO": _AMOUNT, "Li2O": _AMOUNT, "B2O3": _AMOUNT},
)


@settings(max_examples=300 if WANDERING else 25, deadline=None)
@given(target=_TARGETS)
def test_scipy_finds_the_same_and_nothing_better_is_near(target: dict[str, float]) -> None:
    names = (FELDSPAR, SILICA, WHITING, KAOLIN, "Talc", "Soda feldspar (albite)")
    columns, wanted = _equations(target, names)
    theirs, _ = nnls(columns, wanted)
    found = recipe_for_formula(target, _shelf(*names))
    total = sum(theirs)
    assert dict(found.parts) == pytest.approx(
        {n: 100.0 * x / total for n, x in zip(names, theirs, strict=True) if x > 1e-9 * total},
        abs=1e-5,
    )
    ours = np.array([found.parts.get(name, 0.0) for name in names])
    ours *= theirs.sum() / ours.sum()
    slope = columns.T @ (wanted - columns @ ours)
    assert (slope <= 1e-6).all(), "more of a material would still help"
    assert np.abs(slope[ours > 1e-6]).max() <= 1e-6, "less of one in use would help"


@settings(max_examples=300 if WANDERING else 15, deadline=None)
@given(
    target=_TARGETS,
    most=st.floats(1.0, 40.0),
    least=st.floats(0.0, 25.0),
    clay=st.sampled_from([0.0, 0.0, 12.0, 30.0]),
)
def test_held_parts_are_kept_and_nothing_better_is_allowed(
    target: dict[str, float], most: float, least: float, clay: float
) -> None:
    """At the total that was found, and a little over and under it, SciPy finds nothing better."""
    bounds = {WHITING: Bound(0.0, most), "Talc": Bound(min(least, 8.0), 8.0)}
    found = recipe_for_formula(
        target, _shelf(*SHELF), bounds=bounds, wishes=Wishes(clay_parts=clay)
    )
    parts = np.array([found.parts.get(name, 0.0) for name in SHELF])
    assert parts.sum() == pytest.approx(100.0)
    assert found.parts.get(WHITING, 0.0) <= most + 1e-6
    assert min(least, 8.0) - 1e-6 <= found.parts.get("Talc", 0.0) <= 8.0 + 1e-6
    assert found.parts.get(KAOLIN, 0.0) >= clay - 1e-6
    # By moles alone, whatever the search made of its flux row.
    flux = sum(n for oxide, n in _moles(dict(found.parts)).items() if oxide in FLUXES)
    assert found.formula.raw_g == pytest.approx(100.0 / flux)
    columns, wanted = _equations(target, SHELF)
    # What total suits these parts best; the search has found it too.
    made = columns @ parts
    total = 100.0 * float(made @ wanted) / float(made @ made)
    ours = float(np.sum((columns @ (parts * total / 100.0) - wanted) ** 2))
    for factor in (0.999, 1.0, 1.001):
        low, high = np.zeros(len(SHELF)), np.full(len(SHELF), 1.0)
        low[SHELF.index(KAOLIN)] = clay / 100.0
        low[SHELF.index("Talc")], high[SHELF.index("Talc")] = min(least, 8.0) / 100.0, 0.08 + 1e-9
        high[SHELF.index(WHITING)] = most / 100.0
        # So heavy that the total is held whatever is missed, the flux sum most of all.
        heavy = 1e5 * np.ones(len(SHELF))
        theirs = lsq_linear(
            np.vstack([columns, heavy]),
            np.append(wanted, 1e5 * total * factor),
            (low * total * factor, high * total * factor + 1e-12),
            method="bvls",
        )
        missed = float(np.sum((columns @ theirs.x - wanted) ** 2))
        assert ours <= missed + 1e-6 * (1.0 + missed)


def test_without_the_heavy_row_silica_goes_astray() -> None:
    """Why there is one: nothing brings the Li₂O, and the other fluxes must stand in for it."""
    target = {"K2O": 0.2, "CaO": 0.4, "Li2O": 0.4, "Al2O3": 0.4, "SiO2": 3.5}
    shelf = _shelf(FELDSPAR, SILICA, WHITING, KAOLIN)
    held = recipe_for_formula(target, shelf)
    loose = recipe_for_formula(target, shelf, limits=Limits({"target_flux_weight": 1e-6}))
    assert abs(held.off("SiO2")) < 0.1
    assert abs(loose.off("SiO2")) > 0.3


def test_the_flux_sum_holds_against_an_oxide_that_nobody_asked_for() -> None:
    """1 Li₂O to 4 SiO₂ is spodumene's own proportion, and petalite has twice the silica: either
    brings 1 mol of Al₂O₃ too much for a mole of flux, so spodumene is the nearer by hand."""
    found = recipe_for_formula({"Li2O": 1.0, "SiO2": 4.0}, _shelf("Spodumene", "Petalite"))
    assert found.parts["Spodumene"] > 95.0
    assert abs(found.off("SiO2")) < 0.1
    assert not found.reached
    # Only a flux nobody asked for: the silica still goes by one mole of it.
    other = recipe_for_formula({"K2O": 1.0, "SiO2": 3.0}, _shelf(WHITING, SILICA))
    assert abs(other.off("SiO2")) < 0.1
