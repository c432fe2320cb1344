"""What an analysis says of itself, and how one is typed or pasted. Nothing is mended in silence."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.glaze.analysis_text import (
    read_analysis_text,
    say_left_out,
)
from studiolog.craft.glaze.materials import (
    Analysis,
    check_analysis,
    find_mistakes,
    find_shipped,
    say_difference,
    shipped_materials,
)
from studiolog.craft.glaze.oxides import OXIDES
from studiolog.craft.glaze.unity import unity_formula
from studiolog.craft.limits import Limits
from studiolog.problems import UserProblem
from tests.wandering import WANDERING

BAG = Analysis(
    "Potash feldspar", "analysis", {"SiO2": 66.0, "Al2O3": 18.4, "K2O": 11.6, "Na2O": 2.9}, 0.5
)


def test_a_material_is_found_by_any_of_its_names_whatever_their_case() -> None:
    for name in ("Kaolin", "CHINA CLAY", "china  clay (kaolin), typical"):
        shipped = find_shipped(name)
        assert shipped is not None
        assert shipped.basis == "typical"
    assert find_shipped("Kaolinite") is not None
    assert find_shipped("Somebody's frit") is None


def test_no_other_name_means_two_materials() -> None:
    names = [name.casefold() for one in shipped_materials() for name in (one.name, *one.also)]
    twice = {name for name in names if names.count(name) > 1}
    assert twice == set(), twice


def test_a_sum_that_is_off_is_told_by_how_much_and_not_scaled() -> None:
    (told,) = check_analysis(BAG)
    assert "come to 99.4\u202f%, 0.6\u202f% short" in told
    assert "not scaled" in told
    assert BAG.percents["SiO2"] == 66.0
    over = Analysis("x", "analysis", {"SiO2": 80.0, "Al2O3": 21.0}, 0.0)
    assert "1\u202f% over" in check_analysis(over)[0]
    assert check_analysis(BAG, Limits({"analysis_sum_off": 1.0})) == (), "the potter's own limit"


def test_a_missing_loss_on_ignition_is_told_and_not_filled_in() -> None:
    without = Analysis("Clay", "analysis", {"SiO2": 60.0, "Al2O3": 30.0})
    (told,) = check_analysis(without)
    assert "by difference it would be 10\u202f%" in told
    assert without.loi_percent is None
    assert "LOI" not in without.percents
    none_left = Analysis("Sand", "analysis", {"SiO2": 100.0})
    assert "leaves none" in check_analysis(none_left)[0]
    assert "No analysis is given" in check_analysis(Analysis("?", "analysis"))[0]


def test_fluorine_is_summed_less_the_oxygen_it_stands_for() -> None:
    # CaF2 by its formula: CaO 71.83 and F 48.67 are 120.50, less 16.00/38.00 of the F is 100.
    fluorspar = Analysis("Fluorspar", "analysis", {"CaO": 71.83, "F": 48.67}, 0.0)
    assert fluorspar.sum_percent == pytest.approx(100.0, abs=0.02)
    assert check_analysis(fluorspar) == ()
    # What the unity formula takes as its loss is what is told.
    without = Analysis("Lepidolite", "analysis", {"SiO2": 60.0, "Al2O3": 33.0, "F": 5.0})
    taken = unity_formula({"Lepidolite": 1.0}, {"Lepidolite": without.percents}).loi_percent
    assert 100.0 - without.sum_percent == pytest.approx(taken)
    assert "by difference it would be 4.11\u202f%" in check_analysis(without)[0]


def test_what_cannot_be_is_told_by_its_oxide() -> None:
    wrong = Analysis("x", "analysis", {"SiO2": -1.0, "K2O": 101.0, "Xy2O": 1.0}, 100.5)
    told = find_mistakes(wrong)
    assert len(told) == 4
    assert "SiO₂ is −1\u202f%; it can't be less than 0." in told
    assert any("Xy2O" in one and "Known are" in one and "SiO₂" in one for one in told)
    # Magnetite gains weight: 103.455 % of fired Fe2O3 with a loss of −3.455 % is right.
    magnetite = find_shipped("Magnetite")
    assert magnetite is not None
    assert check_analysis(magnetite.analysis) == ()


def test_nothing_that_ships_needs_an_excuse() -> None:
    for shipped in shipped_materials():
        assert find_mistakes(shipped.analysis) == (), shipped.name
    told = {one.name for one in shipped_materials() if check_analysis(one.analysis)}
    # Fluorides are given no analysis, ash and rutile are typical ones that do not add up.
    assert {"Cryolite", "Fluorspar"} <= told
    assert len(told) < 8, told


def test_two_analyses_are_told_apart_oxide_by_oxide() -> None:
    newer = Analysis("x", "analysis", {"SiO2": 66.6, "Al2O3": 18.4, "K2O": 10.7, "CaO": 0.31})
    assert say_difference(newer, BAG) == (
        "Na₂O −2.9, K₂O −0.9, CaO +0.31, SiO₂ +0.6, LOI no longer given"
    )
    assert say_difference(BAG, BAG) == ""


@pytest.mark.parametrize(
    "text",
    [
        "SiO2 67.5, Al2O3 18 K2O=10.5; LOI 0.6",
        "SiO₂ 67,5 %\nAl₂O₃ 18,0 %\nK₂O: 10,5\nLoss on ignition 0,6\nTotal 96,6",
        "sio2,67.5\nal2o3,18\nk2o,10.5\nL.O.I.,0.6",
        "SiO2;Al2O3;K2O;B2O3;LOI;Source\n67,5;18;10,5;;0,6;supplier",
        "SiO2\tAl2O3\tK2O\tLOI\n67.5\t18\t10.5\t0.6",
    ],
)
def test_an_analysis_is_read_however_it_was_written(text: str) -> None:
    read = read_analysis_text(text)
    assert dict(read.oxides) == {"SiO2": 67.5, "Al2O3": 18.0, "K2O": 10.5}
    assert (read.loi_percent, read.left_out) == (0.6, ())


def test_traces_are_left_out_and_named() -> None:
    read = read_analysis_text("SiO2 60, TiO2 tr, Fe2O3 <0.05, MgO n.d.")
    assert dict(read.oxides) == {"SiO2": 60.0}
    assert say_left_out(read.left_out).endswith("left out: TiO₂, Fe₂O₃, MgO.")
    assert read.loi_percent is None, "not given is not 0"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "No oxide was found"),
        ("see the data sheet", "is not among the oxides|has no value"),
        ("SiO2 60, Foo 3", "“Foo” is not among the oxides"),
        ("MnO2 3", "give it as MnO"),
        ("SiO2 60 18", "“18” stands without the name"),
        ("SiO2 Al2O3 18", "SiO2 has no value"),
        ("SiO2 60 SiO2 61", "SiO₂ is given twice"),
        ("SiO2,Al2O3\n67,5,18,2", "separate them by semicolons"),
        ("SiO2;Al2O3\n67;18\n66;19", "2 rows of values"),
        ("SiO2;Xy2O\n67;18", "“Xy2O” is not among"),
    ],
)
def test_what_cannot_be_read_is_told_with_what_to_write(text: str, told: str) -> None:
    with pytest.raises(UserProblem, match=told):
        read_analysis_text(text)


@settings(max_examples=500 if WANDERING else 25)
@given(
    st.dictionaries(st.sampled_from(OXIDES), st.integers(1, 99_999).map(lambda n: n / 1000)),
    st.none() | st.integers(-9_999, 99_999).map(lambda n: n / 1000),
)
def test_what_is_written_reads_back(oxides: dict[str, float], loss: float | None) -> None:
    if not oxides and loss is None:
        return
    given = {**oxides, **({} if loss is None else {"LOI": loss})}
    read = read_analysis_text(", ".join(f"{one} {value}" for one, value in given.items()))
    assert (dict(read.oxides), read.loi_percent) == (oxides, loss)
