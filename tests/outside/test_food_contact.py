"""The limits that standards print, as the shipped table has them.

* Council Directive 84/500/EEC, article 2, paragraph 4: categories 1 to 3 (text seen).
* US FDA, Compliance Policy Guides 545.450 (lead; figures seen in a copy of Food Code 4-101.13) and
  545.400 (cadmium, seen).
* ISO 6486-2:1999 (flat, small and large from a comparison table seen; the rest from memory).
* California: consent judgment of 1993 and safe harbour levels (seen on two secondary pages).
* Council of Europe, *Metals and alloys used in food contact materials*, release limits in mg/kg of
  food (Cr, Mn, Zr, Tl seen on a news page; the rest from memory): no rule for ceramics.

Figures are typed here from those texts and not read from the table.
"""

import pytest

from studiolog.craft.glaze.food_contact import food_contact_limits

PRINTED = [
    ("EU 84/500", "flat", "Pb", 0.8, "mg/dm²"),
    ("EU 84/500", "flat", "Cd", 0.07, "mg/dm²"),
    ("EU 84/500", "cup", "Pb", 4.0, "mg/L"),
    ("EU 84/500", "cup", "Cd", 0.3, "mg/L"),
    ("EU 84/500", "pitcher", "Cd", 0.3, "mg/L"),
    ("EU 84/500", "cooking", "Pb", 1.5, "mg/L"),
    ("EU 84/500", "storage", "Pb", 1.5, "mg/L"),
    ("EU 84/500", "cooking", "Cd", 0.1, "mg/L"),
    ("EU 84/500", "storage", "Cd", 0.1, "mg/L"),
    ("US FDA CPG 545.450", "flat", "Pb", 3.0, "mg/L"),
    ("US FDA CPG 545.450", "small", "Pb", 2.0, "mg/L"),
    ("US FDA CPG 545.450", "large", "Pb", 1.0, "mg/L"),
    ("US FDA CPG 545.450", "cup", "Pb", 0.5, "mg/L"),
    ("US FDA CPG 545.450", "pitcher", "Pb", 0.5, "mg/L"),
    ("US FDA CPG 545.400", "flat", "Cd", 0.5, "mg/L"),
    ("US FDA CPG 545.400", "small", "Cd", 0.5, "mg/L"),
    ("US FDA CPG 545.400", "large", "Cd", 0.25, "mg/L"),
    ("ISO 6486-2", "flat", "Pb", 0.8, "mg/dm²"),
    ("ISO 6486-2", "flat", "Cd", 0.07, "mg/dm²"),
    ("ISO 6486-2", "small", "Pb", 2.0, "mg/L"),
    ("ISO 6486-2", "small", "Cd", 0.5, "mg/L"),
    ("ISO 6486-2", "large", "Pb", 1.0, "mg/L"),
    ("ISO 6486-2", "large", "Cd", 0.25, "mg/L"),
    ("ISO 6486-2", "storage", "Pb", 0.5, "mg/L"),
    ("ISO 6486-2", "storage", "Cd", 0.25, "mg/L"),
    ("ISO 6486-2", "cup", "Pb", 0.5, "mg/L"),
    ("ISO 6486-2", "cup", "Cd", 0.25, "mg/L"),
    ("ISO 6486-2", "cooking", "Pb", 0.5, "mg/L"),
    ("ISO 6486-2", "cooking", "Cd", 0.05, "mg/L"),
    ("California Proposition 65, judg", "flat", "Pb", 0.226, "mg/L"),
    ("California Proposition 65, judg", "cup", "Pb", 0.1, "mg/L"),
]


@pytest.mark.parametrize(("rule", "article", "metal", "limit", "unit"), PRINTED)
def test_a_limit_is_as_printed(
    rule: str, article: str, metal: str, limit: float, unit: str
) -> None:
    (found,) = (
        one
        for one in food_contact_limits()
        if one.rule.startswith(rule) and article in one.articles and one.metal == metal
    )
    assert (float(found.limit), found.unit) == (limit, unit)


COMPARED = {
    "Cr": 1.0, "Mn": 0.55, "Zr": 2.0, "Tl": 0.001, "Cu": 4, "Co": 0.02, "Ni": 0.14, "V": 0.01,
    "Ba": 1.2, "Li": 0.048, "Zn": 5, "Al": 5, "Sb": 0.04, "Pb": 0.01, "Cd": 0.005,
}  # fmt: skip
SEEN = {"Cr", "Mn", "Zr", "Tl"}


def test_figures_that_are_no_rule_for_ceramics_are_as_given_and_say_so() -> None:
    compared = [one for one in food_contact_limits() if one.kind == "comparator"]
    assert {one.metal: float(one.limit) for one in compared} == COMPARED
    assert {one.unit for one in compared} == {"mg/kg"}
    from_memory = {one.metal for one in compared if "from memory" in one.confidence}
    assert from_memory == set(COMPARED) - SEEN
    daily = [one for one in food_contact_limits() if one.unit == "µg a day"]
    assert {one.metal: float(one.limit) for one in daily} == {"Pb": 0.5, "Cd": 4.1}
    not_law = [one for one in food_contact_limits() if one.kind == "proposal"]
    assert {one.metal: float(one.limit) for one in not_law} == {"Pb": 0.010, "Cd": 0.005}


def test_what_was_not_seen_of_the_iso_standard_is_told_as_from_memory() -> None:
    for one in food_contact_limits():
        if one.rule.startswith("ISO 6486-2"):
            unseen = {"storage", "cup", "cooking"} & set(one.articles)
            assert ("from memory" in one.confidence) == bool(unseen), one.article
