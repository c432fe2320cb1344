"""What a bowl costs, worked by hand: the lost ones are paid for by those that come through."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.ware.cost import PATH, Spent, Worked, cost_form
from tests.wandering import WANDERING

few = settings(max_examples=300 if WANDERING else 20, deadline=None)

# A soup bowl: of ten thrown, one splits leather-hard, and of those one in nine dunts once fired.
BOWL = (
    Spent("clay", Decimal("0.90")),
    Spent("bisque", Decimal("0.40")),
    Spent("glaze", Decimal("1.20")),
    Spent("firing", Decimal("0.80")),
)
STEPS = (
    Worked("throw", "wet", 9.0),
    Worked("trim", "leather_hard", 6.0),
    Worked("glaze", "bisque", 3.0),
)
LOSSES = {"leather_hard": 1 / 10, "fired": 1 / 9}


def test_a_bowl_costs_what_it_takes_to_have_a_good_one() -> None:
    """By hand: of 10 begun 9 reach the kilns and 8 are good. Clay 10/8, the rest 9/8; throwing and
    trimming were done to 10, glazing to 9."""
    told = cost_form(BOWL, STEPS, LOSSES, Decimal(20), Decimal(34))
    clay, *others = told.lines
    assert clay.good == Decimal("0.90") * Decimal("1.25")
    assert [line.good for line in others] == [
        Decimal("0.45"), Decimal("1.35"), Decimal("0.90"),
    ]  # fmt: skip
    assert told.things == Decimal("3.825")
    assert told.minutes == pytest.approx(15 * 10 / 8 + 3 * 9 / 8)  # 22.125
    assert told.work_cost == Decimal("7.375")
    assert told.cost == Decimal("11.2")
    assert told.margin == Decimal("22.8")
    # Without a loss it would be 3.30 of things and 18 minutes, 6.00.
    assert told.for_losses == Decimal("11.2") - Decimal("9.3")
    assert told.earns_an_hour is not None
    assert round(told.earns_an_hour, 2) == Decimal("81.83")  # 30.175 × 60 / 22.125
    assert told.pays
    assert told.lost_share == pytest.approx(0.2)


def test_what_nobody_knows_is_named_and_never_taken_for_nothing() -> None:
    told = cost_form(
        (Spent("clay", None), Spent("glaze", Decimal(1))),
        (Worked("throw", "wet", None), Worked("trim", "leather_hard", 5.0)),
        {},
    )
    assert told.missing == ("clay",)
    assert told.untimed == ("throw",)
    assert told.cost == 1
    assert told.margin is None
    assert told.pays is None
    assert not cost_form((Spent("clay", None),), (), {}).known


def test_a_form_that_is_always_lost_has_no_cost() -> None:
    with pytest.raises(ValueError, match="below 1"):
        cost_form(BOWL, STEPS, {"bone_dry": 1.0})
    with pytest.raises(ValueError, match="no stage"):
        cost_form(BOWL, STEPS, {"raku": 0.1})


@few
@given(st.dictionaries(st.sampled_from(PATH), st.floats(0, 0.9)), st.sampled_from(PATH))
def test_more_losses_never_make_a_good_piece_cheaper(losses: dict[str, float], stage: str) -> None:
    told = cost_form(BOWL, STEPS, losses, Decimal(20))
    worse = cost_form(BOWL, STEPS, {**losses, stage: (losses.get(stage, 0.0) + 1) / 2}, Decimal(20))
    assert worse.cost >= told.cost
    assert told.for_losses >= 0
    # All that was spent on a thousand begun is borne by the good ones, no more and no less.
    left, spent = 1000.0, 0.0
    for here in PATH:
        spent += left * sum(
            float(one.each or 0)
            for one in BOWL
            if here
            == {"clay": "wet", "bisque": "bone_dry", "glaze": "bisque", "firing": "glazed"}[
                one.part
            ]
        )
        left *= 1 - losses.get(here, 0.0)
    assert float(told.things) == pytest.approx(spent / left, rel=1e-4)
