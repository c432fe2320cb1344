"""A recipe from a formula: what can't be met and why, what is held, rounding, and replacing."""

import pytest

from studiolog.craft.glaze.materials import shipped_materials
from studiolog.craft.glaze.substitution import replace_material
from studiolog.craft.glaze.substitution_on_top import judge_on_top, replace_on_top, round_on_top
from studiolog.craft.glaze.target import (
    Bound,
    Wishes,
    judge_recipe,
    recipe_for_formula,
    round_parts,
)
from studiolog.craft.glaze.target_problem import is_clay
from studiolog.craft.glaze.target_words import read_formula_words, write_formula_words
from studiolog.craft.glaze.unity import UnityRules, unity_formula
from studiolog.problems import UserProblem

SHIPPED = {one.name: one.analysis.percents for one in shipped_materials()}
SHORT = {
    "feldspar": "Potash feldspar (orthoclase/microcline)",
    "soda spar": "Soda feldspar (albite)",
    "silica": "Silica (quartz/flint)",
    "whiting": "Whiting (calcite)",
    "kaolin": "Kaolin (kaolinite)",
    "dolomite": "Dolomite",
    "talc": "Talc",
    "wollastonite": "Wollastonite",
    "nepheline": "Nepheline syenite, typical",
    "ball clay": "Ball clay, typical",
}
CELADON = {"K2O": 0.26, "CaO": 0.74, "Al2O3": 0.41, "SiO2": 3.7}


def shelf(*names: str) -> dict[str, dict[str, float]]:
    return {name: SHIPPED[SHORT[name]] for name in names}


def test_an_oxide_no_material_brings_is_named_with_what_would_bring_it() -> None:
    found = recipe_for_formula(
        {"Li2O": 0.2, "K2O": 0.1, "CaO": 0.7, "Al2O3": 0.2, "SiO2": 2.0},
        shelf("feldspar", "silica", "whiting", "kaolin"),
    )
    assert not found.reached
    assert found.reasons[0] == (
        "No material chosen brings Li₂O: lithium carbonate, spodumene or petalite would."
    )
    assert "CaO makes up for the missing Li₂O" in found.reasons[1]
    lithia = next(one for one in found.residual if one.oxide == "Li2O")
    assert (lithia.wanted, lithia.got, lithia.share) == (0.2, 0.0, -1.0)
    assert lithia.words == "0.20 short (100\u202f%)"


def test_a_source_that_brings_too_much_else_is_named_with_what_it_brings() -> None:
    found = recipe_for_formula(
        {"K2O": 0.2, "MgO": 0.5, "CaO": 0.3, "Al2O3": 0.2, "SiO2": 1.5},
        shelf("talc", "feldspar", "whiting"),
    )
    told = " ".join(found.reasons)
    assert "too much SiO₂ comes with feldspar, the only source of K₂O" in told
    assert "talc, the only source of MgO" in told
    assert "the only source of it, brings too much SiO₂ with it" in told


def test_no_poison_is_suggested_for_a_missing_flux() -> None:
    found = recipe_for_formula(
        {"PbO": 0.5, "CaO": 0.5, "SiO2": 2.0}, shelf("silica", "whiting", "kaolin")
    )
    assert "No material chosen brings PbO." in found.reasons


def test_what_is_held_is_kept_and_blamed() -> None:
    names = shelf("feldspar", "silica", "whiting", "kaolin")
    capped = recipe_for_formula(CELADON, names, bounds={"whiting": Bound(0.0, 8.0)})
    assert capped.parts["whiting"] == pytest.approx(8.0)
    assert any(
        "CaO" in one and "whiting is held at the most you allow" in one for one in capped.reasons
    )
    pinned = recipe_for_formula(CELADON, names, bounds={"kaolin": Bound(30.0, 30.0)})
    assert pinned.parts["kaolin"] == pytest.approx(30.0)
    assert any("Al₂O₃ comes with kaolin, held by you" in one for one in pinned.reasons)
    clay = recipe_for_formula(CELADON, names, wishes=Wishes(clay_parts=30.0))
    assert clay.parts["kaolin"] == pytest.approx(30.0)
    assert any("so much clay was asked for" in one for one in clay.reasons)
    # What is held of a clay is part of the clay that is asked for, not on top of it.
    both = recipe_for_formula(
        CELADON, names, bounds={"kaolin": Bound(10.0, 100.0)}, wishes=Wishes(clay_parts=30.0)
    )
    assert dict(both.parts) == pytest.approx(dict(clay.parts), abs=1e-4)


def test_where_several_recipes_would_do_it_says_so_and_leaves_the_choice() -> None:
    target = {"K2O": 0.2, "MgO": 0.2, "CaO": 0.6, "Al2O3": 0.35, "SiO2": 3.4}
    names = shelf("feldspar", "silica", "whiting", "kaolin", "dolomite", "talc", "wollastonite")
    found = recipe_for_formula(target, names)
    assert found.reached
    assert not found.unique
    assert set(found.could_join) | set(found.parts) == set(names)
    for one in found.alternatives:
        assert all(left.within for left in judge_recipe(one.parts, target, names))
        assert set(one.leaves).isdisjoint(one.parts)
        assert set(one.brings) <= set(one.parts)
    few = recipe_for_formula(target, names, wishes=Wishes(fewest=True))
    assert few.reached
    assert len(few.parts) <= min(len(one.parts) for one in found.alternatives)
    narrow = recipe_for_formula(target, shelf("feldspar", "silica", "whiting", "kaolin", "talc"))
    assert narrow.unique
    assert narrow.could_join == ()


def test_a_formula_not_at_unity_is_brought_there_and_iron_counted_by_rule() -> None:
    names = shelf("feldspar", "silica", "whiting", "kaolin") | {
        "red iron": SHIPPED["Red iron oxide (hematite)"]
    }
    doubled = {oxide: 2.0 * moles for oxide, moles in CELADON.items()} | {"Fe2O3": 0.1}
    found = recipe_for_formula(doubled, names)
    assert found.reached
    assert found.target["K2O"] == pytest.approx(0.26)
    as_flux = recipe_for_formula(doubled, names, rules=UnityRules(iron_with_alumina=False))
    assert as_flux.reached
    assert "Fe2O3" not in as_flux.target
    assert as_flux.parts == pytest.approx(dict(found.parts), rel=1e-6)


@pytest.mark.parametrize(
    ("target", "names", "kept", "told"),
    [
        ({"SiO2": 3.0, "Al2O3": 0.4}, ("feldspar", "silica"), {}, "has no flux yet"),
        ({"CaO": float("nan"), "SiO2": 3.0}, ("whiting",), {}, "no number"),
        ({"CaO": float("inf"), "SiO2": 3.0}, ("whiting",), {}, "no number"),
        ({"CaO": -1.0, "SiO2": 3.0}, ("whiting",), {}, "less than 0 moles"),
        ({"CaO": 1e-320, "SiO2": 3.0}, ("whiting",), {}, "too little flux"),
        ({"CaO": 1.0, "Xy2O": 3.0}, ("whiting",), {}, "not among the oxides"),
        ({"CaO": 1.0, "LOI": 3.0}, ("whiting",), {}, "leave LOI out"),
        (CELADON, (), {}, "Choose the materials"),
        (CELADON, ("silica", "kaolin"), {}, "brings a flux"),
        (CELADON, ("feldspar", "whiting"), {"feldspar": Bound(70, 80), "whiting": Bound(60, 70)},
         "comes to 130.0 parts"),
        (CELADON, ("feldspar", "whiting"), {"feldspar": Bound(0, 30), "whiting": Bound(0, 30)},
         "together is 60.0 parts"),
        (CELADON, ("feldspar", "whiting"), {"feldspar": Bound(30, 20)}, "least parts are more"),
        (CELADON, ("feldspar", "whiting"), {"feldspar": Bound(-5, 20)}, "between 0 and 100"),
        (CELADON, ("feldspar", "whiting"), {"talc": Bound(5, 20)}, "not among the materials"),
    ],
)  # fmt: skip
def test_what_has_no_answer_is_told_in_a_sentence(
    target: dict[str, float], names: tuple[str, ...], kept: dict[str, Bound], told: str
) -> None:
    with pytest.raises(UserProblem, match=told):
        recipe_for_formula(target, shelf(*names), bounds=kept)


def test_a_wish_for_clay_without_clay_is_told() -> None:
    with pytest.raises(UserProblem, match="No clay is among"):
        recipe_for_formula(
            CELADON, shelf("feldspar", "whiting", "silica"), wishes=Wishes(clay_parts=10.0)
        )


def test_clay_is_told_by_its_name_or_by_what_it_is_made_of() -> None:
    clays = {one.name for one in shipped_materials() if is_clay(one.name, one.analysis.percents)}
    assert {"Kaolin (kaolinite)", "Ball clay, typical", "Bentonite, typical"} <= clays
    assert is_clay("a white one from the valley", SHIPPED["Kaolin (kaolinite)"])
    for other in ("Calcined kaolin (metakaolin)", "Talc", "Nepheline syenite, typical"):
        assert other not in clays


def test_rounding_keeps_a_hundred_and_hurts_the_formula_least() -> None:
    names = shelf("feldspar", "silica", "whiting", "kaolin", "dolomite")
    target = {"K2O": 0.23, "MgO": 0.11, "CaO": 0.66, "Al2O3": 0.37, "SiO2": 3.33}
    found = recipe_for_formula(target, names)

    def worst(parts: dict[str, float]) -> float:
        return max(abs(one.share or 0.0) for one in judge_recipe(parts, target, names))

    for step in (1.0, 0.5, 0.1):
        plain = round_parts(found.parts, step)
        well = round_parts(found.parts, step, target, names)
        for rounded in (plain, well):
            assert sum(rounded.values()) == pytest.approx(100.0)
            assert all(
                abs(rounded.get(name, 0.0) - parts) < step for name, parts in found.parts.items()
            )
            assert all(abs(n / step - round(n / step)) < 1e-6 for n in rounded.values())
        assert worst(well) <= worst(plain) + 1e-9
    for step in (0.0, -1.0, 0.3, float("nan"), float("inf")):
        with pytest.raises(UserProblem, match="can't be rounded"):
            round_parts(found.parts, step)


def test_a_feldspar_that_is_gone_gives_way_to_another_and_the_swap_is_told() -> None:
    recipe = {"feldspar": 40.0, "silica": 30.0, "whiting": 20.0, "kaolin": 10.0}
    stock = shelf("soda spar", "silica", "whiting", "kaolin")
    analyses = shelf("feldspar", *stock)
    apart = replace_material(recipe, "feldspar", analyses, stock)
    assert not apart.found.reached
    assert "No material chosen brings K₂O" in " ".join(apart.found.reasons)
    one = replace_material(recipe, "feldspar", analyses, stock, alkalis_together=True)
    assert one.found.reached
    assert sum(one.parts.values()) == pytest.approx(100.0)
    before, after = one.before.oxides, one.after.oxides
    assert after["Na2O"] == pytest.approx(before["K2O"], abs=1e-5)
    assert after["SiO2"] == pytest.approx(before["SiO2"], abs=1e-5)
    assert one.swaps == ("0.264 mol of K₂O became Na₂O: K₂O 0.264 to 0.000, Na₂O 0.000 to 0.264.",)
    # A base of 80 parts stays one, or what is added on top would change its share.
    small = {name: 0.8 * parts for name, parts in recipe.items()}
    other = replace_material(small, "feldspar", analyses, stock, alkalis_together=True)
    assert sum(other.parts.values()) == pytest.approx(80.0)
    assert other.parts["kaolin"] == pytest.approx(0.8 * one.parts["kaolin"])


def test_a_material_made_up_from_others_keeps_the_formula() -> None:
    recipe = {"feldspar": 40.0, "silica": 25.0, "wollastonite": 25.0, "kaolin": 10.0}
    stock = shelf("feldspar", "silica", "whiting", "kaolin", "wollastonite")
    one = replace_material(recipe, "wollastonite", shelf(*recipe), stock)
    assert one.found.reached
    assert "wollastonite" not in one.parts
    formula = unity_formula(one.parts, stock).oxides
    assert dict(formula) == pytest.approx(dict(one.before.oxides), abs=1e-6)
    with pytest.raises(UserProblem, match="not in the recipe"):
        replace_material(recipe, "talc", shelf(*recipe), stock)
    with pytest.raises(UserProblem, match="what may take the place"):
        replace_material(recipe, "wollastonite", shelf(*recipe), shelf("wollastonite"))
    with pytest.raises(UserProblem, match="no flux"):
        replace_material({"kaolin": 50.0, "silica": 50.0}, "kaolin", stock, stock)


@pytest.mark.parametrize(
    "typed",
    [
        "0.3 K2O 0.7 CaO 0.4 Al2O3 3.5 SiO2",
        "K2O 0.3  CaO 0.7\nAl2O3 0,4\nSiO2 3,5",
        "K₂O: .3 · CaO: .7 | Al₂O₃: 0.4 | SiO₂: 3.5",
        "0.1k2o, 0.2 k2o, 0.7 cao; 0.4 al2o3; 3.5 mol sio2.",
    ],
)
def test_a_formula_is_read_as_people_write_it(typed: str) -> None:
    read = read_formula_words(typed)
    assert read == pytest.approx({"K2O": 0.3, "CaO": 0.7, "Al2O3": 0.4, "SiO2": 3.5})
    assert read_formula_words(write_formula_words(read)) == pytest.approx(read)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", "Give the formula like"),
        ("0.3 K2O 0.7", "Numbers and oxides|one number for each"),
        ("0.3 K2O CaO 0.7", "in turn"),
        ("0.3 0.7 CaO", "in turn"),
        ("0.3 Wood", "not among the oxides"),
        ("0.3 MnO2", "give it as MnO"),
        ("0.3 K2O 5 LOI", "leave LOI out"),
        ("-0.3 K2O", "less than 0"),
        ("0.3 K2O / 0.7 CaO", "neither a number nor an oxide"),
        ("0.3 K2O " * 400, "letters long"),
        ("\x00\x07 ’’’", "neither a number nor an oxide"),
    ],
)
def test_what_is_no_formula_is_told(typed: str, told: str) -> None:
    with pytest.raises(UserProblem, match=told):
        read_formula_words(typed)


@pytest.mark.parametrize("rules", [UnityRules(), UnityRules(iron_with_alumina=False)])
def test_what_is_told_of_each_oxide_is_what_the_parts_give(rules: UnityRules) -> None:
    names = shelf("feldspar", "silica", "whiting", "ball clay", "talc", "nepheline")
    for wishes in (Wishes(), Wishes(together=("K2O", "Na2O")), Wishes(fewest=True)):
        found = recipe_for_formula(CELADON, names, wishes=wishes, rules=rules)
        again = unity_formula(found.parts, names, rules).oxides
        assert {one.oxide: one.got for one in found.residual if one.got} == pytest.approx(
            dict(again)
        )
        told = judge_recipe(found.parts, CELADON, names, together=wishes.together, rules=rules)
        assert [one.within for one in told] == [one.within for one in found.residual]


def test_what_is_on_top_gives_way_to_another_that_brings_its_oxide() -> None:
    """Malachite CuCO₃·Cu(OH)₂ is 221.11 g/mol, of which 2 CuO are 159.09: 2 parts bring 1.439."""
    carbonate = SHIPPED["Copper carbonate (basic, malachite)"]
    black = {"black": SHIPPED["Copper oxide, black"]}
    one = replace_on_top("carbonate", 2.0, carbonate, black)
    assert one.oxide == "CuO"
    assert one.parts == pytest.approx({"black": 2.0 * 159.09 / 221.11}, rel=1e-3)
    assert one.sentences[1] == "What else changes: loss on ignition 0.56 less."
    ideal, iron = SHIPPED["Titanium dioxide"], SHIPPED["Red iron oxide (hematite)"]
    rutile = SHIPPED["Rutile, ceramic grade typical"]
    both = replace_on_top("rutile", 4.0, rutile, {"titania": ideal, "iron": iron})
    assert both.parts == pytest.approx({"titania": 4 * 0.93, "iron": 4 * 0.03}, rel=1e-4)
    held = replace_on_top(
        "rutile", 4.0, rutile, {"titania": ideal}, bounds={"titania": Bound(0.0, 3.0)}
    )
    assert not held.met
    assert held.sentences[0].startswith("TiO₂ becomes 3.00 on a hundred of base")
    rough = judge_on_top("carbonate", 2.0, carbonate, round_on_top(one.parts, 0.1), black)
    assert (dict(rough.parts), rough.met) == ({"black": 1.4}, False)
    tin, zircon = {"tin": SHIPPED["Tin oxide"]}, SHIPPED["Zircon (zirconium silicate)"]
    with pytest.raises(UserProblem, match="brings ZrO₂, which zircon is there for"):
        replace_on_top("zircon", 8.0, zircon, tin)
    with pytest.raises(UserProblem, match="No analysis of dust"):
        replace_on_top("dust", 1.0, {}, black)
