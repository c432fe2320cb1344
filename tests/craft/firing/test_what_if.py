"""What if the top is changed, and which top gives a wanted cone."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.firing.calibration import LevelOffset
from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.what_if import (
    Handle,
    OutOfReach,
    cone_if,
    find_top,
    reach_of,
    solve,
    with_handle,
    with_hold,
    with_last_rate,
    with_peak,
)
from studiolog.craft.limits import Limits
from studiolog.problems import UserProblem

GLAZE = (Segment(100, 600), Segment(150, 1100), Segment(80, 1222, 15), Segment(60, 780, 30))


def test_the_top_is_the_hottest_segment_with_its_climb_and_all_of_its_hold() -> None:
    top = find_top((*GLAZE[:3], Segment(None, 1222, 10), GLAZE[3]))
    assert (top.segment, top.last, top.hold_min) == (2, 3, 25)
    assert (top.from_c, top.floor_c, top.rate_c_per_h) == (1100, 1100, 80)


def test_turning_one_handle_leaves_the_rest_of_the_program_as_it_was() -> None:
    assert with_peak(GLAZE, 1230) == (*GLAZE[:2], Segment(80, 1230, 15), GLAZE[3])
    assert with_hold(GLAZE, 40) == (*GLAZE[:2], Segment(80, 1222, 40), GLAZE[3])
    assert with_last_rate(GLAZE, None) == (*GLAZE[:2], Segment(None, 1222, 15), GLAZE[3])
    twice = (*GLAZE[:3], Segment(None, 1222, 10), GLAZE[3])
    assert with_hold(twice, 20) == (*GLAZE[:2], Segment(80, 1222, 20), GLAZE[3])
    assert with_hold(twice, 25) == twice, "the hold it has is no change"


@pytest.mark.parametrize("handle", ["peak", "hold", "rate"])
def test_the_question_of_a_potter_is_answered_in_whole_figures(handle: Handle) -> None:
    # Cone 6 with a 20-minute hold at 80 °C/h: which top temperature?
    asked = [Segment(150, 1100), Segment(80, 1222, 20)]
    answer = solve(asked, "6" if handle == "peak" else "7", handle)
    assert answer.value == round(answer.value)
    assert answer.estimate.number == pytest.approx(answer.wanted, abs=0.06)
    assert cone_if(answer.segments) == answer.estimate
    if handle == "peak":
        assert 1195 < answer.value < 1222, "a hold needs less heat than no hold"


@given(
    st.floats(900, 1280), st.floats(0, 90), st.floats(20, 250), st.floats(1, 60),
)  # fmt: skip
@settings(max_examples=12)
def test_more_heat_is_never_a_lower_cone(
    peak: float, hold: float, rate: float, more: float
) -> None:
    program = (Segment(150, 800), Segment(rate, peak, hold))
    before = cone_if(program).number
    assert cone_if(with_handle(program, "peak", peak + more)).number >= before
    assert cone_if(with_handle(program, "hold", hold + more)).number >= before - 1e-9
    assert cone_if(with_handle(program, "rate", rate + more)).number <= before + 1e-9


@given(st.floats(-9, 12), st.floats(0, 60), st.floats(30, 200))
@settings(max_examples=10)
def test_what_is_solved_for_comes_back(wanted: float, hold: float, rate: float) -> None:
    answer = solve([Segment(150, 500), Segment(rate, 900, hold)], wanted, "peak")
    # A whole degree is at most a tenth of a cone or so.
    assert answer.estimate.number == pytest.approx(wanted, abs=0.12)


@pytest.mark.parametrize(
    ("cone", "handle", "words"),
    [
        ("1", "hold", "No hold makes this cool enough for cone 1"),
        ("14", "hold", "Even 4\u202fh of hold do not bring this to cone 14"),
        ("14", "rate", "No rate down to 10\u202f°C/h is slow enough"),
        ("1", "rate", "No rate up to 300\u202f°C/h is fast enough"),
        ("010", "peak", "No top temperature above 1100\u202f°C"),
    ],
)
def test_out_of_reach_says_why_and_what_is_nearest(cone: str, handle: Handle, words: str) -> None:
    with pytest.raises(OutOfReach, match=words) as refused:
        solve(GLAZE, cone, handle)
    nearest = refused.value.nearest
    assert nearest.value in reach_of(find_top(GLAZE), handle)
    assert f"cone {nearest.estimate.label}" in refused.value.sentence


def test_it_is_told_in_the_unit_the_potter_reads() -> None:
    with pytest.raises(OutOfReach, match="above 2012\u202f°F"):
        solve(GLAZE, "010", "peak", scale="F")


def test_a_kiln_whose_ware_runs_hotter_than_its_sensor_wants_a_lower_top() -> None:
    hotter = LevelOffset("middle", 8.0, 5, 3.0, None)
    by_itself = solve(GLAZE, "6", "peak")
    in_kiln = solve(GLAZE, "6", "peak", hotter)
    assert 5 <= by_itself.value - in_kiln.value <= 11
    assert in_kiln.estimate.calibrated


def test_a_program_without_a_top_says_so() -> None:
    with pytest.raises(UserProblem, match="needs at least one segment"):
        find_top(())
    with pytest.raises(UserProblem, match="nowhere climbs"):
        find_top((Segment(100, 10),))


def test_a_plan_is_never_cleaned_like_a_log() -> None:
    # Up and down within the hour: a log that did this would be taken for a spike.
    steep = (Segment(1999, 1250), Segment(1999, 100), Segment(20, 140, 60))
    assert cone_if(steep).number > 0
    assert "gap" not in cone_if(steep, limits=Limits({"gap_min": 2.0})).flags


def test_an_answer_that_misses_is_none() -> None:
    # Beyond cone 14 there is no scale to correct a kiln on: just below it lies no answer.
    cooler = LevelOffset("middle", -13.4, 5, 3.0, None)
    with pytest.raises(OutOfReach, match="The nearest to cone 14") as refused:
        solve((Segment(150, 800), Segment(60, 1000)), 13.93, "peak", cooler)
    assert refused.value.nearest.estimate.number < 13.8


def test_a_program_beyond_the_scale_already_is_not_solved_for_its_end() -> None:
    # Cone 14 and hotter read alike: with no hold at all this is there.
    beyond = (Segment(5, 1390), Segment(5, 1399))
    assert solve(beyond, "14", "hold").value == 0.0
    assert solve(GLAZE, "14", "peak").estimate.number == pytest.approx(14.0, abs=0.1)


def test_the_interval_is_as_wide_as_the_potter_set_it() -> None:
    narrow = cone_if(GLAZE, limits=Limits({"sigma_bare_c": 3.0}))
    usual = cone_if(GLAZE)
    assert narrow.number == usual.number
    assert narrow.high - narrow.low < (usual.high - usual.low) / 2
