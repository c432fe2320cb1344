"""The limits that standards print, as the shipped table has them.

* Council Directive 84/500/EEC, article 2, paragraph 4: categories 1 to 3 (text seen).
* US FDA, Compliance Policy Guides 545.450 (lead; figures seen in a copy of Food Code 4-101.13) and
  545.400 (cadmium, seen).
* ISO 6486-2:1999 (flat, small and large from a comparison table seen; the rest from memory).
* California: consent judgment of 1993 (seen on two secondary pages).

Figures are typed here from those texts and not read from the table.
"""

import pytest

from studiolog.craft.glaze.food_contact import food_contact_limits

PRINTED = [
    ("EU 84/500", "flat", "Pb", 0.8, "mg/dm²"),
    ("EU 84/500", "flat", "Cd", 0.07, "mg/dm²"),
    ("EU 84/500", "cup", "Pb", 4.0, "mg/L"),
    ("EU 84/500", "cup", "Cd", 0.3, "mg/L"),
    ("EU 84/500", "cooking", "Pb", 1.5, "mg/L"),
    ("EU 84/500", "storage", "Cd", 0.1, "mg/L"),
    ("US FDA CPG 545.450", "flat", "Pb", 3.0, "mg/L"),
    ("US FDA CPG 545.450", "small", "Pb", 2.0, "mg/L"),
    ("US FDA CPG 545.450", "large", "Pb", 1.0, "mg/L"),
    ("US FDA CPG 545.450", "cup", "Pb", 0.5, "mg/L"),
    ("US FDA CPG 545.450", "pitcher", "Pb", 0.5, "mg/L"),
    ("US FDA CPG 545.400", "flat", "Cd", 0.5, "mg/L"),
    ("US FDA CPG 545.400", "large", "Cd", 0.25, "mg/L"),
    ("ISO 6486-2", "flat", "Pb", 0.8, "mg/dm²"),
    ("ISO 6486-2", "small", "Cd", 0.5, "mg/L"),
    ("ISO 6486-2", "large", "Pb", 1.0, "mg/L"),
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
