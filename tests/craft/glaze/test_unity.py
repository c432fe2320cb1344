"""The rules of a unity formula, and recipes and analyses that can't be computed."""

import math

import pytest

from studiolog.craft.glaze.expansion import linear_expansion, out_of_range, without_factor
from studiolog.craft.glaze.oxides import MOLAR_MASSES_G, pretty, read_oxide
from studiolog.craft.glaze.unity import UnityRules, place_of, rules_from, say_rules, unity_formula
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.problems import UserProblem

# Round figures of an invented shelf; sums are 100 with the loss unless a test says otherwise.
SHELF = {
    "Feldspar": {"SiO2": 65.0, "Al2O3": 18.0, "K2O": 17.0, "LOI": 0.0},
    "Whiting": {"CaO": 56.0, "LOI": 44.0},
    "Silica": {"SiO2": 100.0},
    "Kaolin": {"SiO2": 46.5, "Al2O3": 39.5, "LOI": 14.0},
    "Borate": {"B2O3": 50.0, "CaO": 27.0, "LOI": 23.0},
    "Iron oxide": {"Fe2O3": 100.0, "LOI": 0.0},
    "Magnetite": {"Fe2O3": 103.5, "LOI": -3.5},
    "Cobalt oxide": {"CoO": 93.4, "LOI": 6.6},
    "Fluorspar": {"CaO": 71.83, "F": 48.67},
}
BASE = {"Feldspar": 40, "Whiting": 20, "Silica": 30, "Kaolin": 10}


def test_iron_among_the_fluxes_is_two_feo_for_each_fe2o3():
    recipe = {**BASE, "Iron oxide": 8}
    with_alumina = unity_formula(recipe, SHELF)
    as_flux = unity_formula(recipe, SHELF, UnityRules(iron_with_alumina=False))
    iron = with_alumina.moles["Fe2O3"]
    assert as_flux.flux_moles == pytest.approx(with_alumina.flux_moles + 2 * iron)
    assert as_flux.oxides["FeO"] == pytest.approx(2 * iron / as_flux.flux_moles)
    assert "Fe2O3" not in as_flux.oxides
    assert sum(as_flux.flux_shares.values()) == pytest.approx(1.0)
    # What the glaze is made of does not depend on how it is counted.
    assert dict(as_flux.mole_percent) == dict(with_alumina.mole_percent)


def test_colouring_oxides_stand_outside_until_the_rule_counts_them():
    recipe = {**BASE, "Cobalt oxide": 2}
    outside = unity_formula(recipe, SHELF)
    inside = unity_formula(recipe, SHELF, UnityRules(colourants_as_flux=True))
    assert place_of("CoO") == "outside"
    assert "CoO" not in outside.flux_shares
    assert inside.flux_shares["CoO"] > 0.0
    assert inside.oxides["SiO2"] < outside.oxides["SiO2"]
    assert outside.alkali_share == pytest.approx(inside.alkali_share)


def test_boron_moves_to_alumina_and_takes_its_oxygen_along():
    recipe = {**BASE, "Borate": 20}
    own = unity_formula(recipe, SHELF)
    moved = unity_formula(recipe, SHELF, UnityRules(boron_with_alumina=True))
    assert set(own.in_place("boron")) == {"B2O3"}
    assert set(moved.in_place("amphoteric")) == {"Al2O3", "B2O3"}
    assert moved.oxygen_ratio < own.oxygen_ratio
    assert moved.silica_alumina == own.silica_alumina


def test_each_oxide_stands_where_the_trade_writes_it():
    # As handbooks lay the formula out (common practice; of boron books differ).
    laid_out = {
        "flux": "Li2O Na2O K2O MgO CaO SrO BaO ZnO PbO",
        "amphoteric": "Al2O3 Fe2O3 Cr2O3",
        "boron": "B2O3",
        "former": "SiO2 TiO2 ZrO2 SnO2",
        "phosphorus": "P2O5",
        "outside": "CoO NiO CuO MnO FeO F",
    }
    for place, oxides in laid_out.items():
        assert {place_of(oxide) for oxide in oxides.split()} == {place}


def test_phosphorus_and_vanadium_are_acids_in_the_oxygen_ratio():
    # Each oxide weighed in as itself, so by hand: (3 x 2 + 0.1 x 5 + 0.1 x 5) / (1 + 0.4 x 3).
    moles = {"CaO": 1.0, "Al2O3": 0.4, "SiO2": 3.0, "P2O5": 0.1, "V2O5": 0.1}
    recipe = {oxide: n * MOLAR_MASSES_G[oxide] for oxide, n in moles.items()}
    formula = unity_formula(recipe, {oxide: {oxide: 100.0, "LOI": 0.0} for oxide in moles})
    assert formula.oxygen_ratio == pytest.approx(7.0 / 2.2)


def test_raw_and_calcined_weights_are_those_of_a_mole_of_flux():
    # 60 feldspar, 40 whiting: K2O 10.2 / 94.195 and CaO 22.4 / 56.077 moles; a loss of 17.6.
    flux = 0.6 * 17.0 / MOLAR_MASSES_G["K2O"] + 0.4 * 56.0 / MOLAR_MASSES_G["CaO"]
    formula = unity_formula({"Feldspar": 60, "Whiting": 40}, SHELF)
    assert formula.raw_g == pytest.approx(100.0 / flux)
    assert formula.calcined_formula_g == pytest.approx((100.0 - 17.6) / flux)
    assert formula.raw_g == pytest.approx(196.95, abs=0.01)
    # What an analysis leaves out is still there after firing: by the loss, not by the oxides.
    short = {"Ash": {"CaO": 40.0, "SiO2": 30.0, "LOI": 20.0}}
    ash = unity_formula({"Ash": 1.0}, short)
    assert ash.calcined_formula_g == pytest.approx(80.0 / (40.0 / MOLAR_MASSES_G["CaO"]))


def test_the_rules_come_from_the_limits_of_the_studio():
    assert rules_from(SHIPPED) == UnityRules()
    changed = Limits({"boron_with_alumina": 1.0, "iron_with_alumina": 0.0})
    assert rules_from(changed) == UnityRules(True, False, False)
    assert say_rules(rules_from(changed))[1].startswith("Iron counts among the fluxes as FeO")


def test_without_flux_the_percentages_are_still_there():
    slip = unity_formula({"Kaolin": 60, "Silica": 40}, SHELF)
    assert not slip.is_defined
    assert not slip.oxides
    assert slip.raw_g is None
    assert slip.alkali_share is None
    assert sum(slip.mole_percent.values()) == pytest.approx(100.0)
    assert slip.silica_alumina == pytest.approx(
        slip.mole_percent["SiO2"] / slip.mole_percent["Al2O3"]
    )
    assert unity_formula({"Silica": 1}, SHELF).silica_alumina is None


def test_a_loss_may_be_a_gain_and_may_be_missing():
    assert unity_formula({"Magnetite": 1, "Kaolin": 1}, SHELF).loi_percent == pytest.approx(5.25)
    bare = {"Whiting": {"CaO": 56.0}, "Kaolin": SHELF["Kaolin"]}
    formula = unity_formula({"Whiting": 50, "Kaolin": 50}, bare)
    assert formula.loi_percent == pytest.approx(29.0)
    assert formula.loi_by_difference == ("Whiting",)


def test_cells_left_empty_in_a_table_are_as_if_they_were_not_there():
    table = {
        "Feldspar": {"SiO2": 65.0, "Al2O3": 18.0, "K2O": 17.0, "Na2O": None, "LOI": 0.0},
        "Silica": {"SiO2": 100.0, "Al2O3": None, "LOI": None},
        "Cryolite": {"Na2O": None, "F": None, "LOI": None},
    }
    recipe = {"Feldspar": 60, "Silica": 40}
    assert unity_formula(recipe, table) == unity_formula(recipe, SHELF)
    with pytest.raises(UserProblem, match="No analysis of Cryolite is known"):
        unity_formula({**recipe, "Cryolite": 5}, table)


def test_a_sum_that_is_off_is_not_scaled():
    short = {"Clay": {"SiO2": 60.0, "Al2O3": 20.0, "K2O": 3.0, "LOI": 10.0}}
    formula = unity_formula({"Clay": 100}, short)
    assert formula.moles["SiO2"] == pytest.approx(60.0 / MOLAR_MASSES_G["SiO2"])
    assert formula.calcined_g == pytest.approx(90.0)
    assert formula.oxides_g == pytest.approx(83.0)


def test_fluorine_is_weighed_with_the_oxygen_it_stands_for():
    # CaF2: CaO 71.83 % and F 48.67 % add up to 120.5; less the oxygen of 2 F it is 100.
    formula = unity_formula({"Fluorspar": 100}, SHELF)
    assert formula.loi_percent == pytest.approx(0.0, abs=0.02)
    assert formula.oxides["F"] == pytest.approx(2.0, abs=0.001)
    assert dict(formula.mole_percent) == pytest.approx({"CaO": 100.0})


@pytest.mark.parametrize(
    ("recipe", "sentence"),
    [
        ({}, "no parts yet"),
        ({"Silica": 0.0}, "no parts yet"),
        ({"Silica": -1.0, "Feldspar": 50.0}, "Silica: parts can't be less than 0"),
        ({"Silica": math.nan}, "Silica: the parts are no number"),
        ({"Silica": math.inf}, "Silica: the parts are no number"),
        ({"Moon dust": 5.0}, "No analysis of Moon dust is known: add one in Materials"),
    ],
)
def test_a_recipe_that_can_not_be_is_told(recipe, sentence):
    with pytest.raises(UserProblem, match=sentence):
        unity_formula(recipe, SHELF)


@pytest.mark.parametrize(
    ("analysis", "sentence"),
    [
        ({"SiO2": math.nan}, "Analysis of Ash: SiO₂ is no number"),
        ({"SiO2": -2.0, "LOI": 3.0}, "Analysis of Ash: SiO₂ can't be less than 0"),
        ({"SiO3": 50.0}, "Analysis of Ash: “SiO3” is not among the oxides"),
        ({"MnO2": 1.0}, "Analysis of Ash: MnO₂ is not among the oxides: give it as MnO"),
        ({}, "No analysis of Ash is known"),
        ({"LOI": 100.0}, "no oxide that is left after firing"),
    ],
)
def test_an_analysis_that_can_not_be_is_told(analysis, sentence):
    with pytest.raises(UserProblem, match=sentence):
        unity_formula({"Ash": 100.0}, {"Ash": analysis})


def test_parts_of_any_size_are_only_proportions():
    huge = unity_formula({"Feldspar": 1e308, "Whiting": 1e308}, SHELF)
    usual = unity_formula({"Feldspar": 1, "Whiting": 1}, SHELF)
    assert dict(huge.oxides) == pytest.approx(dict(usual.oxides))


def test_oxides_are_read_as_people_write_them():
    assert read_oxide(" al₂o₃ ") == "Al2O3"
    assert read_oxide("loi") == "LOI"
    assert pretty("Al2O3") == "Al₂O₃"
    assert pretty("LOI") == "LOI"
    with pytest.raises(UserProblem, match="count it as LOI"):
        read_oxide("CO2")
    typed = {"sio2": 71.0, "Na₂O": 4.0, "NA2O": 10.0, "CaO": 13.0, "Cr₂O₃": 2.0}
    stored = {"SiO2": 71.0, "Na2O": 14.0, "CaO": 13.0, "Cr2O3": 2.0}
    assert linear_expansion(typed) == pytest.approx(linear_expansion(stored))
    assert without_factor(typed) == without_factor(stored) == ("Cr2O3",)
    assert out_of_range(typed) == out_of_range(stored)


def test_an_oxide_without_a_factor_is_told_and_left_out_of_the_sum():
    glass = {"SiO2": 70.0, "Na2O": 14.0, "CaO": 14.0, "Cr2O3": 2.0}
    assert without_factor(glass) == ("Cr2O3",)
    told = out_of_range(glass)
    assert len(told) == 1
    assert "no factor for Cr₂O₃" in told[0]
    # By hand (Appen): 70 x 35 + 14 x 395 + 14 x 130 = 9800e-9 over 98 of 100 parts.
    assert linear_expansion(glass) == pytest.approx(9.8 / 0.98)


def test_what_lies_outside_the_glazes_it_was_tried_on_is_told():
    told = out_of_range({"SiO2": 55.0, "Li2O": 3.0, "Na2O": 18.0, "CaO": 20.0, "PbO": 4.0})
    assert [sentence.split()[0] for sentence in told] == ["Li₂O", "R₂O", "It", "Fluxes"]
    assert "under 10" in out_of_range({"SiO2": 95.0, "CaO": 5.0})[0]
    wide = Limits({"lithia_most_percent": 5.0})
    assert out_of_range({"SiO2": 77.0, "Li2O": 3.0, "CaO": 20.0}, limits=wide) == ()


@pytest.mark.parametrize(
    ("glass", "sentence"),
    [
        ({"SiO2": 0.7, "CaO": 0.3}, "add up to 1.0, not to 100"),
        ({"SiO2": 120.0, "CaO": -20.0}, "CaO: mole per cent must be a number, 0 or more"),
        ({"SiO2": 90.0, "XO": 10.0}, "“XO” is not among the oxides"),
        ({"Cr2O3": 100.0}, "Appen has no factor for any oxide"),
    ],
)
def test_a_composition_that_can_not_be_is_told(glass, sentence):
    with pytest.raises(UserProblem, match=sentence):
        linear_expansion(glass)


def test_a_set_that_is_not_there_is_told():
    with pytest.raises(UserProblem, match="there are appen, english_turner"):
        linear_expansion({"SiO2": 100.0}, "somebody")
