"""The names of cones, their order, and how they are shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.firing import cones
from studiolog.problems import UserProblem


@pytest.mark.parametrize(
    ("typed", "name", "ordinal"),
    [
        ("04", "04", -3),
        ("01", "01", 0),
        ("1", "1", 1),
        ("022", "022", -21),
        (" Cone 6 ", "6", 6),
        ("c6", "6", 6),
        ("05½", "05.5", -4.5),
        ("05 1/2", "05.5", -4.5),
        ("5,5", "5.5", 5.5),
        ("5 ½", "5.5", 5.5),
        ("6 −0.3", "6 −0.3", 5.7),
        ("6 -0.5", "5.5", 5.5),
        ("04 +0.2", "04 +0.2", -2.8),
    ],
)
def test_a_potter_writes_cones_in_many_ways(typed, name, ordinal):
    assert cones.parse_cone(typed) == name
    assert cones.ordinal_of(typed) == pytest.approx(ordinal)


@pytest.mark.parametrize(
    "typed", ["0", "00", "15", "023", "banana", "", "-3", "6 +2", "1e1", "006"]
)
def test_names_no_cone_has_are_refused_with_those_it_can_be(typed):
    with pytest.raises(UserProblem, match="022 to 01 and from 1 to 14"):
        cones.parse_cone(typed)
    with pytest.raises(UserProblem):
        cones.end_point(typed, 60)


def test_only_whole_and_half_cones_are_set_in_a_pack() -> None:
    assert [cones.name_cone(typed) for typed in ("6", "05½", "Cone 5.5")] == ["6", "05.5", "5.5"]
    with pytest.raises(UserProblem, match=r"No cone is made for “5.25”: set 5½"):
        cones.name_cone("5.25")


def test_a_name_that_reads_two_ways_is_asked_back():
    with pytest.raises(UserProblem, match="two ways"):
        cones.parse_cone("04.3")


@pytest.mark.parametrize(
    ("number", "label"),
    [
        (6.0, "6"),
        (5.7, "6 −0.3"),
        (-2.8, "04 +0.2"),
        (-3.04, "04"),
        (5.468, "5 +0.5"),
        (0.0, "01"),
        (0.4, "01 +0.4"),
        (0.6, "1 −0.4"),
        (99.0, "14"),
        (-99.0, "022"),
    ],
)
def test_tenths_are_told_against_the_nearest_cone(number, label):
    assert cones.label_of(number) == label


def test_a_heat_below_the_coolest_cone_is_not_told_as_that_cone() -> None:
    assert cones.label_reached(-22.0) == "below 022"
    assert cones.label_reached(-21.0) == "022"
    assert cones.label_reached_between(-22.0, -22.0) == "below 022"
    assert cones.label_reached_between(-21.4, -20.0) == "below 022 to 021"


def test_a_label_of_nothing_is_a_bug():
    with pytest.raises(ValueError, match="finite"):
        cones.label_of(float("nan"))


@given(st.floats(-21, 14))
def test_a_label_read_back_is_within_a_twentieth_of_a_cone(number):
    assert cones.ordinal_of(cones.label_of(number)) == pytest.approx(number, abs=0.051)


@given(st.sampled_from(cones.charted_cones()))
def test_every_name_is_read_back_as_itself(cone):
    assert cones.cone_at(cones.ordinal_of(cone)) == cone
    assert cones.parse_cone(cones.show_cone(cone)) == cone


@given(st.floats(600, 1360), st.floats(15, 150))
def test_the_scale_turns_back_into_degrees(temperature_c, rate):
    number = cones.number_of(temperature_c, rate)
    assert cones.temperature_of(number, rate) == pytest.approx(temperature_c, abs=1e-6)


def test_a_hotter_cone_never_goes_down_sooner():
    for rate in (15, 60, 100, 150):
        ends = [cones.end_point(cone, rate) for cone in cones.whole_cones()]
        assert ends == sorted(ends)


def test_quarters_lie_between_their_neighbours():
    assert cones.end_point("6.5", 60) == pytest.approx((1222 + 1239) / 2)
    # 5½ is on the chart, so 5.75 lies between it and 6.
    assert cones.end_point("5.75", 60) == pytest.approx((1203 + 1222) / 2)


def test_what_a_figure_rests_on_is_told():
    assert cones.read_end_point("6", 60).basis == "chart"
    assert cones.read_end_point("6", 100).basis == "between"
    assert cones.read_end_point("6", 200).basis == "outside"
    assert cones.read_end_point("04", 60, "large iron-free").from_memory


@pytest.mark.parametrize("rate", [0, -60, float("nan"), float("inf")])
def test_a_rate_must_be_above_zero(rate):
    with pytest.raises(UserProblem, match="above zero"):
        cones.end_point("6", rate)


def test_iron_free_cones_end_at_3():
    with pytest.raises(UserProblem, match="no cone 6"):
        cones.read_end_point("6", 60, "self-supporting iron-free")


def test_no_end_point_is_made_up_where_the_chart_has_a_hole():
    # The chart of iron-free cones goes from 1 to 3.
    names = cones.charted_cones("self-supporting iron-free")
    assert names[-2:] == ("1", "3")
    with pytest.raises(UserProblem, match="no cone 2"):
        cones.read_end_point("2", 60, "self-supporting iron-free")


def test_a_figure_of_the_old_chart_is_known_to_half_a_degree():
    assert cones.recognise_old_chart("6", 1222.4)
    assert not cones.recognise_old_chart("6", 1223)


def test_kinds_are_named_in_more_than_one_way():
    for kind in ("iron-free", "self_supporting_iron_free", "Self-supporting iron-free"):
        assert cones.end_point("010", 60, kind) == 886
    assert cones.end_point("6", 60, "Large") == 1220


def test_an_unknown_kind_names_those_there_are():
    with pytest.raises(UserProblem, match="self-supporting"):
        cones.end_point("6", 60, "square")


@pytest.mark.parametrize(
    ("cone10", "edges", "said"),
    [
        (59, (5.5, 6.0), "cone 5½ to 6"),
        (60, (6.0, 6.5), "cone 6 to 6½"),
        (-35, (-3.5, -3.0), "cone 04½ to 04"),
        (-1, (-0.5, 0.0), "cone 01½ to 01"),
    ],
)
def test_a_half_cone_band_holds_its_cooler_edge(cone10, edges, said):
    assert cones.band_edges(cones.band_of(cone10)) == edges
    assert cones.say_band(cones.band_of(cone10)) == said
