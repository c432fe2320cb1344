"""Materials a potter must not breathe or swallow bring a caution; harmless ones bring none.

Which materials are hazardous is *common practice* of the trade and of workplace safety (crystalline
silica is in group 1 of the IARC, Monographs volume 100C, 2012).
"""

import pytest

from studiolog.craft.glaze.cautions import HANDLING, LOCAL_RULES, NO_PROOF, find_cautions


@pytest.mark.parametrize(
    ("material", "word"),
    [
        ("Silica", "lungs"),
        ("Potash feldspar", "lungs"),
        ("Ball clay", "lungs"),
        ("Barium carbonate", "poisonous"),
        ("manganese dioxide", "nerves"),
        ("Chrome oxide", "cancer"),
        ("Chromium oxide", "cancer"),
        ("Lead bisilicate frit", "best not use it"),
        ("Cobalt carbonate", "poisonous dust"),
        ("Lithium carbonate", "swallowed"),
        ("Gerstley-type borax", "dissolves"),
    ],
)
def test_a_hazardous_material_brings_its_caution(material: str, word: str) -> None:
    cautions = find_cautions([material])
    assert any(word in one.caution for one in cautions)
    assert all(one.materials == (material,) for one in cautions)
    assert all(one.when in HANDLING for one in cautions)


@pytest.mark.parametrize(
    "material",
    ["Whiting", "Leadless frit", "Lead-free frit", "Cool white stain", "Tin oxide", "", "  "],
)
def test_a_name_that_only_looks_like_one_brings_none(material: str) -> None:
    assert find_cautions([material]) == ()


def test_materials_that_share_a_caution_are_named_together_once() -> None:
    (dust,) = find_cautions(["Silica", "Kaolin", "Silica"])
    assert dust.materials == ("Silica", "Kaolin")
    (typed_small,) = find_cautions(["silica"])
    assert typed_small.sentence.startswith("Silica: the dust can hold crystalline silica")
    assert typed_small.sentence.endswith("spraying.")


def test_the_standing_sentences_defer() -> None:
    assert "local rules" in LOCAL_RULES
    assert "leach test of this glaze on this clay from this firing" in NO_PROOF
