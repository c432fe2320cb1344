"""Reading witness cones."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.firing import bend, cones
from studiolog.problems import UserProblem


def pack(**said):
    return bend.read_pack(
        {name[1:].replace("h", ".5"): bend.parse_bend(text) for name, text in said.items()}
    )


@pytest.mark.parametrize(
    ("said", "middle"),
    [
        ("45", 45),
        ("45°", 45),
        ("40–50°", 45),
        ("0", 0),
        ("180", 180),
        ("12 o'clock", 0),
        ("3 o'clock", 90),
        ("9 o'clock", 90),
        ("2:30", 75),
        ("1½ o'clock", 45),
        ("5 o’clock", 150),
        ("10:30", 45),
        ("standing", 5),
        ("Half-down", 45),
        ("tip touching", 90),
        ("touching", 90),
        ("flat", 120),
    ],
)
def test_degrees_clock_and_words_are_one_reading(said, middle):
    reading = bend.parse_bend(said)
    assert reading.middle_deg == middle
    assert 0 <= reading.low_deg <= middle <= reading.high_deg <= 180
    assert reading.said


@pytest.mark.parametrize("said", ["", "sideways", "200", "-5", "13:00", "40–300"])
def test_what_no_cone_can_do_is_said(said):
    with pytest.raises(UserProblem):
        bend.parse_bend(said)


def test_the_bend_is_slow_at_first_then_quick():
    """The table fitted to makers' descriptions (judgement)."""
    table = {0: -20, 10: -15, 20: -10, 30: -6, 40: -4, 48: -3, 60: -2, 75: -1, 90: 0}
    for degrees, before_end_c in table.items():
        assert bend.temperature_before_end_c(degrees) == before_end_c
        assert bend.bend_at(before_end_c) == degrees
    assert bend.temperature_before_end_c(15) == -12.5


@given(st.floats(0, 90))
def test_a_bend_and_its_heat_turn_into_each_other(degrees):
    assert bend.bend_at(bend.temperature_before_end_c(degrees)) == pytest.approx(degrees, abs=1e-6)


def test_5_down_with_6_untouched_lies_between_them():
    """About 4.9 to 5.8 (judgement)."""
    found = pack(c5="down", c6="standing")
    assert found.low == pytest.approx(4.9, abs=0.06)
    assert found.high == pytest.approx(5.8, abs=0.06)
    assert found.contradictions == ()


def test_a_perfect_pack_is_its_firing_cone():
    found = pack(c5="flat", c6="3 o'clock", c7="standing")
    assert found.label == "6"
    assert found.high - found.low < 0.4
    assert bend.temperature_equivalent_c(found) == pytest.approx(1222, abs=2)


def test_a_half_bent_cone_says_more_than_one_that_stands():
    found = pack(c5="flat", c6="half down", c7="standing")
    assert 5.8 < found.low < found.high < 6.0


def test_half_cones_are_read_too():
    assert pack(c5h="tip touching").number == pytest.approx(5.47, abs=0.05)


def test_one_sided_packs_go_one_cone_further():
    assert pack(c6="flat").high - pack(c6="flat").low == pytest.approx(1.0)
    down, standing = pack(c05="flat", c04="flat"), pack(c04="standing", c03="standing")
    assert down.low == pytest.approx(-3, abs=0.1)
    assert standing.high == pytest.approx(-3, abs=0.4)
    assert standing.high < down.low
    assert standing.high - standing.low == pytest.approx(1.0)


def test_a_cooler_cone_standing_while_a_hotter_one_is_down_is_said():
    found = pack(c5="standing", c6="flat")
    assert len(found.contradictions) == 1
    assert "Cone 5 is standing while the hotter cone 6 is down" in found.contradictions[0]
    assert found.low < 5
    assert found.high > 5.9


def test_two_cones_that_cannot_both_be_right_are_said():
    found = pack(c5="45", c6="40")
    assert "5 and 6 do not agree" in found.contradictions[0]


def test_one_cone_read_twice_and_differently_is_said():
    found = bend.read_pack([("6", bend.parse_bend("10")), ("6", bend.parse_bend("80"))])
    assert "read twice" in found.contradictions[0]


def test_no_cones_no_pack():
    with pytest.raises(UserProblem, match="at least one"):
        bend.read_pack({})
    with pytest.raises(UserProblem, match="no cone"):
        bend.read_pack({"99": bend.parse_bend("flat")})


@given(st.floats(-10, 13))
def test_the_truth_lies_in_what_its_cones_say(number):
    """Cones bent by the table for a known heat are read back to an interval that holds it."""
    here_c = cones.temperature_of(number)
    readings = {}
    for cone in cones.whole_cones():
        if abs(cones.ordinal_of(cone) - number) < 1.6:
            before = here_c - cones.end_point(cone, 60)
            degrees = bend.bend_at(before) if before < 0 else 150.0
            readings[cone] = bend.read_degrees(round(degrees, 1))
    found = bend.read_pack(readings)
    assert found.low - 0.01 <= number <= found.high + 0.01
    # Cones 1 to 3 lie 5 to 10 °C apart: several bend at once and still agree.
    assert found.contradictions == ()


def test_a_cone_resting_on_the_shelf_agrees_with_a_hotter_one_that_bends():
    """Common practice: once the tip lies on the shelf the guide cone tells nothing more."""
    found = bend.read_pack({"5": bend.read_degrees(92), "6": bend.read_degrees(44)})
    assert found.contradictions == ()
    assert found.label == "6 −0.1"
