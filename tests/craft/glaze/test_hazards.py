"""What a recipe calls for, by names and by chemistry, and how a laboratory is asked.

That lead, barium, manganese and the like are poisonous, and which materials dissolve or give off
fumes, is *common practice* of the trade; the table says of each row how well it is known.
"""

import pytest

from studiolog.craft.glaze.cautions import caution_rows, find_cautions
from studiolog.craft.glaze.food_contact import (
    ARTICLES,
    KINDS,
    LaboratoryRequest,
    food_contact_limits,
    limits_for,
)
from studiolog.craft.glaze.hazards import METALS, WHENS, Seen, find_hazards, metals_to_test
from studiolog.craft.glaze.materials import shipped_materials
from studiolog.craft.glaze.oxides import OXIDES
from studiolog.problems import UserProblem

SHIPPED = {one.name: one.analysis.percents for one in shipped_materials()}
FELDSPAR, SILICA = "Potash feldspar (orthoclase/microcline)", "Silica (quartz/flint)"
WHITING, KAOLIN = "Whiting (calcite)", "Kaolin (kaolinite)"
CELADON = {FELDSPAR: 40.0, SILICA: 30.0, WHITING: 20.0, KAOLIN: 10.0}


def told(
    parts: dict[str, float],
    extra: dict[str, dict[str, float]] | None = None,
    seen: Seen | None = None,
) -> list[tuple[str, str]]:
    found = find_hazards(parts, SHIPPED | (extra or {}), seen or Seen())
    return [(one.when, one.sentence) for one in found]


def test_a_plain_glaze_calls_for_a_respirator_and_nothing_else() -> None:
    ((when, sentence),) = told(CELADON)
    assert when == "weigh"
    assert "crystalline silica" in sentence
    assert "respirator when weighing and spraying" in sentence


def test_every_dry_powder_is_dust() -> None:
    ((when, sentence),) = told({WHITING: 100.0})
    assert when == "weigh"
    assert sentence.startswith("Every dry powder is dust")
    assert told({}) == []


def test_lead_hidden_in_a_frit_is_found_by_its_analysis() -> None:
    frit = {"Old frit 7": {"PbO": 64.0, "SiO2": 36.0, "LOI": 0.0}}
    found = told({"Old frit 7": 80.0, KAOLIN: 20.0}, frit)
    assert ("food", "PbO 56 % of the fired glaze: keep it off any food surface.") not in found
    assert any(when == "weigh" and "Old frit 7: poisonous" in words for when, words in found)
    assert any(when == "kiln" and "lead fume" in words for when, words in found)
    (food,) = (words for when, words in found if when == "food")
    assert food.startswith("PbO 5")
    assert "of the fired glaze: keep it off any food surface" in food
    assert "lead" in metals_to_test({"Old frit 7": 80.0}, frit)


def test_a_name_speaks_where_there_is_no_analysis_and_that_is_said() -> None:
    found = told(CELADON | {"Cadmium red stain": 6.0})
    food = [words for when, words in found if when == "food"]
    assert any("Cadmium red stain: on food surfaces only as the maker states" in w for w in food)
    assert any("judged by the name alone: ask the supplier" in words for words in food)
    assert "cadmium" in metals_to_test(CELADON | {"Cadmium red stain": 6.0}, SHIPPED)


def test_a_little_lithium_in_a_stone_is_no_matter_but_much_is() -> None:
    assert not any(when == "food" for when, _ in told(CELADON | {"Petalite": 4.0}))
    assert any(
        when == "food" and "Li₂O" in words and "underfired" in words
        for when, words in told(CELADON | {"Petalite": 60.0})
    )


def test_copper_is_told_from_two_per_cent_with_what_makes_it_worse() -> None:
    black = "Copper oxide, black"
    assert not any("CuO" in words for when, words in told(CELADON | {black: 1.0}) if when == "food")
    (bright,) = (w for when, w in told(CELADON | {black: 4.0}) if when == "food")
    assert bright.startswith("CuO 4")
    assert "matt at" not in bright
    matt = {FELDSPAR: 50.0, WHITING: 25.0, KAOLIN: 25.0, black: 4.0}
    (weak,) = (words for when, words in told(matt) if when == "food")
    assert "often matt at a SiO₂:Al₂O₃ of" in weak
    # With its figure: the caution itself speaks of glazes "low in silica or alumina".
    assert "low in silica, SiO₂ 2.16" in weak
    assert "low in alumina, Al₂O₃" not in weak
    runny = {"Litharge": 50.0, SILICA: 40.0, "Colemanite": 10.0, black: 4.0}
    (worst,) = (w for when, w in told(runny) if when == "food" and w.startswith("CuO"))
    assert "low in alumina, Al₂O₃ 0.00; with boron; with lead" in worst
    assert "with boron" not in bright
    assert "with lead" not in bright


def test_a_line_of_no_parts_calls_for_nothing() -> None:
    left_out = CELADON | {"Barium something": 0.0, "Red lead": 0.0}
    assert told(left_out) == told(CELADON)
    assert metals_to_test(left_out, SHIPPED) == metals_to_test(CELADON, SHIPPED)
    assert "barium" in metals_to_test(CELADON | {"Barium something": 1.0}, SHIPPED)


def test_fumes_and_what_dissolves_are_told_apart() -> None:
    found = told(CELADON | {"Manganese dioxide": 4.0, "Borax (decahydrate)": 5.0, "Fluorspar": 2.0})
    kiln = " ".join(words for when, words in found if when == "kiln")
    assert "Manganese dioxide: gives off fume that harms the nerves" in kiln
    assert "Fluorspar: gives off hydrogen fluoride" in kiln
    water = " ".join(words for when, words in found if when == "water")
    assert "Borax (decahydrate): dissolves in the glaze water" in water
    assert [when for when, _ in found] == sorted((when for when, _ in found), key=list(WHENS).index)


def test_what_was_seen_on_pieces_is_told_with_how_many() -> None:
    found = told(CELADON, seen=Seen(9, 3, 9, 1))
    food = [words for when, words in found if when == "food"]
    assert food[0].startswith("3 pieces were seen crazed, of 9 looked at for it: on food ware")
    assert food[1].startswith("1 piece was seen dry or underfired, of 9 looked at for it")
    assert not any(when == "food" for when, _ in told(CELADON, seen=Seen(9, 0, 9, 0)))
    (kiln,) = (w for when, w in told(CELADON, seen=Seen(reduction_firings=2)) if when == "kiln")
    assert kiln.startswith("Fired in reduction 2 times: the kiln gives off carbon monoxide")


def test_nothing_known_at_all_still_gives_names_a_hearing() -> None:
    found = find_hazards({"Witherite": 10.0, "something": 5.0}, {})
    assert any(one.when == "weigh" and "poisonous when swallowed" in one.caution for one in found)
    assert any("Witherite, something" in one.subject for one in found if one.when == "food")


def test_the_table_names_its_basis_and_oxides_that_there_are() -> None:
    for row in caution_rows():
        assert row.when in (*WHENS, "powder", "crazed", "underfired", "reduction")
        assert row.caution
        assert row.source
        assert row.confidence
        assert set(row.oxides) <= set(OXIDES)
    assert set(METALS) <= set(OXIDES)
    handling = find_cautions(["Lead bisilicate frit"])
    assert {one.when for one in handling} == {"weigh", "kiln"}


def test_each_figure_says_what_it_is_where_it_is_from_and_when_it_was_read() -> None:
    for one in food_contact_limits():
        assert one.kind in KINDS
        assert set(one.articles) <= set(ARTICLES)
        assert one.source
        assert one.confidence
        assert float(one.limit) > 0.0
        assert one.metal_word
        assert one.read_on.year >= 2026
    assert all(
        one.kind == "comparator"
        for one in food_contact_limits()
        if one.rule.startswith("Council of Europe")
    )


def test_only_what_speaks_of_the_article_and_its_metals_is_listed() -> None:
    cup = limits_for("cup", ("lead", "cobalt"))
    assert {one.metal for one in cup} == {"Pb", "Co"}
    assert not any("flat" in one.articles for one in cup)
    assert {one.rule.split(" ")[0] for one in cup if one.kind == "limit"} == {"EU", "US", "ISO"}
    for article in ARTICLES:
        assert any(one.kind == "limit" for one in limits_for(article, ("lead", "cadmium")))
    with pytest.raises(KeyError):
        limits_for("vase", ("lead",))


def test_the_request_names_pieces_method_and_metals() -> None:
    request = LaboratoryRequest(
        "Kelp, version 2", "Buff stoneware", "fired to cone 6 in oxidation (firing 41)", "cup",
        ("lead", "cadmium", "cobalt", "copper"), "EN 1388-1",
    )  # fmt: skip
    words = request.words
    assert "by EN 1388-1" in words
    assert "lead and cadmium, and in the same extract cobalt and copper" in words
    assert "Kelp, version 2, on Buff stoneware, fired to cone 6 in oxidation (firing 41)." in words
    assert "cup or mug" in words
    assert "in mg/L" in words
    assert {one.metal for one in request.limits} == {"Pb", "Cd", "Co", "Cu"}
    plain = LaboratoryRequest("Kelp", "Buff", "cone 6", "flat", ("lead", "cadmium")).words
    assert "mg/dm²" in plain
    assert "extract" not in plain
    with pytest.raises(UserProblem, match="Say which clay"):
        _ = LaboratoryRequest("Kelp", " ", "cone 6", "flat", ()).words
