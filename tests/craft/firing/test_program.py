"""Planning a firing."""

import numpy as np
import pytest

from studiolog.craft.firing.program import (
    Segment,
    duration_s,
    find_problems,
    peak_c,
    planned_cone,
    planned_points,
)
from studiolog.craft.units import THIN
from studiolog.problems import UserProblem

GLAZE = (Segment(150, 1100), Segment(60, 1222, 10), Segment(None, 700))


def test_a_ramp_and_a_hold_take_the_time_they_say():
    t, c = planned_points([Segment(100, 220, 30), Segment(50, 270)])
    assert t.tolist() == [0, 7200, 9000, 12600]
    assert c.tolist() == [20, 220, 220, 270]
    assert duration_s([Segment(100, 220, 30)]) == 9000


def test_a_cooling_ramp_goes_down_at_its_rate():
    t, c = planned_points([Segment(200, 1020), Segment(50, 970)])
    assert t[-1] - t[-2] == 3600
    assert c[-1] == 970


def test_a_kiln_left_alone_cools_ever_more_slowly():
    t, c = planned_points([Segment(None, 1220), Segment(None, 60)])
    rates = -np.diff(c[1:]) / np.diff(t[1:]) * 3600
    assert np.all(np.diff(rates) < 0)
    # "Needs about a day to cool": common practice.
    assert 10 < (t[-1] - t[1]) / 3600 < 30


def test_a_program_amounts_to_a_cone():
    assert planned_cone([Segment(60, 1222)]).number == pytest.approx(6.0, abs=0.01)
    assert planned_cone(GLAZE).label == "7 −0.2"
    assert planned_cone(GLAZE).flags == ()
    assert peak_c(GLAZE) == 1222


@pytest.mark.parametrize(
    ("segment", "field"),
    [
        (Segment(0, 600), "rate_c_per_h"),
        (Segment(-60, 600), "rate_c_per_h"),
        (Segment(float("nan"), 600), "rate_c_per_h"),
        (Segment(9000, 600), "rate_c_per_h"),
        (Segment(60, 2232), "target_c"),
        (Segment(60, float("nan")), "target_c"),
        (Segment(60, -5), "target_c"),
        (Segment(60, 20), "target_c"),
        (Segment(60, 600, -1), "hold_min"),
        (Segment(60, 600, 999999), "hold_min"),
    ],
)
def test_each_problem_is_told_at_its_field(segment, field):
    problems = find_problems([segment])
    assert list(problems) == [f"segments.0.{field}"]
    assert problems[f"segments.0.{field}"].startswith("Segment 1:")
    with pytest.raises(UserProblem) as told:
        planned_points([segment])
    assert told.value.fields == problems


def test_a_hold_of_a_week_is_a_plan_a_minute_more_is_asked_about():
    assert find_problems([Segment(60, 600, 7 * 24 * 60)]) == {}
    assert list(find_problems([Segment(60, 600, 7 * 24 * 60 + 1)])) == ["segments.0.hold_min"]


def test_a_kiln_left_alone_ends_at_the_room_not_below_it():
    assert find_problems([Segment(150, 1000), Segment(None, 20)]) == {}
    assert list(find_problems([Segment(150, 1000), Segment(None, 10)])) == ["segments.1.target_c"]


def test_a_program_without_segments_is_none():
    assert list(find_problems([])) == ["segments"]
    assert find_problems(GLAZE) == {}


def test_what_is_wrong_is_told_in_the_unit_the_potter_reads() -> None:
    wrong = [Segment(60, 600), Segment(60, 600), Segment(3000, 1500), Segment(60, -5)]
    in_c, in_f = (" ".join(find_problems(wrong, scale=unit).values()) for unit in "CF")
    assert f"1500{THIN}°C is beyond 1400{THIN}°C; is it meant in °F?" in in_c
    assert f"starts at 1112{THIN}°F already" in in_f
    assert "°C" not in in_f
