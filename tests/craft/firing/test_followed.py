"""A log is laid beside its program: what was asked, what the kiln did, and a verdict."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.firing.followed import VERDICTS, analyse_curve, follow_program
from studiolog.craft.firing.program import Segment
from studiolog.craft.limits import Limits
from tests.craft.firing.drawn_firings import AS_MEANT, PLAN, fired
from tests.wandering import WANDERING

EXAMPLES = settings(max_examples=150 if WANDERING else 10, deadline=None)
SLOW_COOL = (Segment(150, 1100), Segment(60, 1222, 10), Segment(80, 1000, 60), Segment(None, 60))


def verdicts(steps: Any) -> list[str]:
    return [s.verdict for s in steps]


def test_a_kiln_that_follows_shows_every_leg_and_the_hold() -> None:
    steps = follow_program(PLAN, *fired(*AS_MEANT))
    assert [(s.number, s.segment, s.kind) for s in steps] == [
        (1, 0, "up"),
        (2, 1, "up"),
        (3, 2, "up"),
        (4, 2, "hold"),
        (5, 3, "down"),
    ]
    assert verdicts(steps) == ["followed"] * 4 + ["as_it_went"]
    assert [s.rate.c_per_h for s in steps[:3]] == pytest.approx([100, 180, 60], rel=0.02)
    assert steps[3].held_min == pytest.approx(30, abs=2)
    assert steps[4].rate.c_per_h == pytest.approx((60 - 1200) / (22 - 53 / 6), rel=0.02)
    assert all(s.reached for s in steps)
    assert max(s.behind_c for s in steps[:3]) < 2
    assert not any(s.troubles for s in steps)


def test_noise_of_a_degree_does_not_end_a_hold() -> None:
    steps = follow_program(PLAN, *fired(*AS_MEANT, noise_c=0.6))
    (hold,) = [s for s in steps if s.kind == "hold"]
    assert hold.held_min == pytest.approx(30, abs=3)
    assert hold.verdict == "followed"


def test_a_hold_of_ten_minutes_is_measured_though_it_makes_no_knot() -> None:
    top = 7.2 + 122 / 60
    t, c = fired(
        (0, 20), (7.2, 1100), (top, 1222), (top + 1 / 6, 1222), (top + 1 / 6 + 2.775, 1000),
        (top + 4, 1000), (top + 18, 60), noise_c=0.8,
    )  # fmt: skip
    held = {s.target_c: s.held_min for s in follow_program(SLOW_COOL, t, c) if s.kind == "hold"}
    assert held[1222] == pytest.approx(10, abs=4)
    assert held[1000] == pytest.approx(63.5, abs=6)


def test_a_worn_kiln_cannot_keep_up_near_the_top() -> None:
    steps = follow_program(
        PLAN, *fired((0, 20), (1, 120), (19 / 3, 1080), (7, 1120), (9.5, 1200), (10, 1200))
    )
    climb = steps[2]
    # From 1120 °C on it makes 32 of the 60 °C/h asked for.
    assert climb.verdict == "behind"
    assert climb.words == "can't keep up"
    (trouble,) = climb.troubles
    assert trouble.start_c == pytest.approx(1120, abs=10)
    assert climb.reached
    assert climb.behind_c == pytest.approx(1200 - 1162.7, abs=4)
    assert steps[4].verdict == "not_logged"


def test_a_kiln_a_little_late_only_lags() -> None:
    # 155 instead of 180 °C/h is over 0.8 of it, but the last of it is more than 10 °C behind.
    t, c = fired((0, 20), (1, 120), (1.8, 244), (2.6, 388))
    plan = (Segment(100, 120), Segment(180, 388), Segment(None, 60))
    leg = follow_program(plan, t, c)[1]
    assert leg.verdict == "lagging"
    assert 10 < leg.behind_c < 25


def test_a_kiln_that_stands_below_its_target_stalled() -> None:
    steps = follow_program(
        PLAN,
        *fired(
            (0, 20), (1, 120), (19 / 3, 1080), (7.4, 1140), (9, 1152), (9.8, 1200), (10.3, 1200),
            (22, 60),
        ),
    )  # fmt: skip
    assert steps[2].verdict == "stalled"
    (stall,) = steps[2].troubles
    assert stall.start_c == pytest.approx(1140, abs=4)
    assert stall.minutes == pytest.approx(96, abs=12)


def test_a_leg_meant_to_creep_does_not_stall_by_creeping() -> None:
    plan = (Segment(100, 1000), Segment(15, 1060, 20))
    steps = follow_program(plan, *fired((0, 20), (9.8, 1000), (13.8, 1060), (14.2, 1060)))
    assert verdicts(steps) == ["followed"] * 3


def test_a_cut_of_power_interrupts_and_what_follows_is_still_matched() -> None:
    steps = follow_program(
        PLAN,
        *fired(
            (0, 20), (1, 120), (4, 660), (5, 450), (7, 810), (8.5, 1080), (10.5, 1200),
            (11, 1200), (24, 60),
        ),
    )  # fmt: skip
    assert verdicts(steps) == ["followed", "interrupted", "followed", "followed", "as_it_went"]
    (cut,) = steps[1].troubles
    assert cut.start_c == pytest.approx(660, abs=5)
    assert cut.most == pytest.approx(210, abs=8)


def test_a_log_that_stops_halfway_leaves_the_rest_unlogged() -> None:
    steps = follow_program(PLAN, *fired((0, 20), (1, 120), (4, 660)))
    assert verdicts(steps) == ["followed", "broken_off", "not_logged", "not_logged", "not_logged"]
    assert not steps[1].reached
    assert steps[1].end_c == pytest.approx(660, abs=1)


def test_a_firing_given_up_never_reached_the_rest() -> None:
    steps = follow_program(PLAN, *fired((0, 20), (1, 120), (4, 660), (15, 60)))
    assert verdicts(steps) == [
        "followed",
        "not_reached",
        "not_reached",
        "not_reached",
        "as_it_went",
    ]


def test_a_kiln_that_never_gets_there_turns_at_its_peak() -> None:
    steps = follow_program(PLAN, *fired((0, 20), (1, 120), (19 / 3, 1080), (9, 1170), (20, 60)))
    climb, hold, fall = steps[2:]
    assert climb.verdict == "not_reached"
    assert climb.troubles[0].kind == "behind"
    assert climb.end_s == pytest.approx(9 * 3600, abs=120)
    assert (hold.verdict, hold.logged) == ("not_reached", False)
    assert fall.start_s == pytest.approx(9 * 3600, abs=120)


def test_a_log_begun_late_says_nothing_of_what_was_before() -> None:
    steps = follow_program(PLAN, *fired((4, 660), *AS_MEANT[2:]))
    assert verdicts(steps) == ["not_logged", "followed", "followed", "followed", "as_it_went"]
    assert steps[1].rate.c_per_h == pytest.approx(180, rel=0.01)


def test_a_kiln_still_warm_or_made_to_wait_follows_all_the_same() -> None:
    warm = follow_program(
        PLAN,
        *fired((0, 85), (0.35, 120), (5.68, 1080), (7.68, 1200), (8.18, 1200), (21, 60)),
    )
    assert verdicts(warm)[:4] == ["followed"] * 4
    waited = follow_program(PLAN, *fired((-3, 21), *AS_MEANT))
    assert verdicts(waited)[:4] == ["followed"] * 4
    assert waited[0].start_s == pytest.approx(0, abs=200)


def test_a_hold_passed_over_or_cut_short_is_told() -> None:
    passed = follow_program(
        PLAN, *fired((0, 20), (1, 120), (19 / 3, 1080), (25 / 3, 1200), (22, 60))
    )
    assert verdicts(passed)[2:4] == ["followed", "skipped"]
    short = follow_program(
        PLAN,
        *fired((0, 20), (1, 120), (19 / 3, 1080), (25 / 3, 1200), (8.6, 1200), (22, 60)),
    )
    assert short[3].verdict == "cut_short"
    assert short[3].held_min == pytest.approx(16, abs=3)


def test_a_gap_within_a_leg_changes_nothing_and_over_the_top_hides_it() -> None:
    t, c = fired(*AS_MEANT)
    within = (t < 3 * 3600) | (t > 5 * 3600)
    steps = follow_program(PLAN, t[within], c[within])
    assert verdicts(steps)[:4] == ["followed"] * 4
    assert steps[1].rate.c_per_h == pytest.approx(180, rel=0.01)
    top = (t < 8.2 * 3600) | (t > 9.5 * 3600)
    steps = follow_program(PLAN, t[top], c[top])
    assert verdicts(steps)[2:] == ["broken_off", "not_logged", "as_it_went"]


def test_cooling_is_judged_by_the_program_too() -> None:
    top = 7.2 + 122 / 60
    steps = follow_program(
        SLOW_COOL,
        *fired((0, 20), (7.2, 1100), (top, 1222), (top + 0.2, 1222), (top + 1.4, 1000), (22, 60)),
    )
    fall = next(s for s in steps if s.kind == "down")
    assert fall.verdict == "fast_cool"
    assert steps[4].verdict == "skipped"
    slow = follow_program(
        (Segment(150, 1000), Segment(200, 300)), *fired((0, 20), (6.53, 1000), (14, 300))
    )
    assert slow[1].verdict == "slow_cool"


def test_a_logged_set_point_is_taken_as_it_is() -> None:
    t, c = fired(*AS_MEANT)
    late = np.interp(t, t + 600, c)  # the kiln ten minutes after its set point
    told = analyse_curve(PLAN, t, late, setpoint=(t, c))
    assert told.setpoint == "logged"
    assert told.steps[1].behind_c == pytest.approx(30, abs=2)
    assert told.steps[1].verdict == "lagging"
    assert analyse_curve(PLAN, t, late).steps[1].verdict == "followed"


def test_readings_typed_by_the_hour_accuse_nobody() -> None:
    hours = np.array([0, 1, 2, 3, 4, 5, 6, 7, 7.5, 8, 8.5, 8.75, 9, 12, 20])
    drawn, heats = zip(*AS_MEANT, strict=True)
    told = analyse_curve(PLAN, hours * 3600, np.interp(hours, drawn, heats), typed=True)
    assert verdicts(told.steps) == ["followed"] * 4 + ["as_it_went"]
    assert told.steps[1].rate is not None
    assert told.steps[1].rate.c_per_h == pytest.approx(180, rel=0.02)


def test_limits_a_potter_set_are_the_ones_judged_by() -> None:
    t, c = fired(*AS_MEANT)
    late = np.interp(t, t + 600, c)
    mine = Limits({"lag_c": 45.0, "behind_c": 60.0})
    steps = analyse_curve(PLAN, t, late, setpoint=(t, c), limits=mine).steps
    assert steps[1].verdict == "followed"


def test_a_lid_opened_hot_is_seen_and_a_kiln_let_go_is_not() -> None:
    t, c = fired(*AS_MEANT[:-1], (16, 300), (18, 210), (18.5, 90), (20, 60))
    (lid,) = analyse_curve(PLAN, t, c).lids
    assert lid.temperature_c == pytest.approx(210, abs=6)
    assert lid.at_s == pytest.approx(18 * 3600, abs=240)
    assert lid.times == pytest.approx(240 / 45, rel=0.2)
    assert analyse_curve(PLAN, *fired(*AS_MEANT, noise_c=0.8)).lids == ()
    held = (Segment(100, 1000), Segment(150, 300, 60), Segment(None, 60))
    t, c = fired((0, 20), (9.8, 1000), (14.5, 300), (15.5, 300), (17, 150), (19, 60))
    assert analyse_curve(held, t, c).lids == ()


def test_whole_figures_come_with_the_target_of_the_program() -> None:
    told = analyse_curve(PLAN, *fired(*AS_MEANT))
    # From 1150 °C up at 60, held half an hour, down at 87 °C/h.
    assert told.summary.near_top_s == pytest.approx((50 + 30 + 34.6) * 60, abs=90)
    assert told.summary.final_rate_c_per_h == pytest.approx(60, abs=0.5)


def test_without_a_program_the_curve_alone_is_told() -> None:
    told = analyse_curve((), *fired(*AS_MEANT))
    assert told.steps == ()
    assert told.setpoint == ""
    assert [s.kind for s in told.found] == ["up", "up", "up", "hold", "down"]


def test_hardly_any_readings_follow_nothing() -> None:
    three = follow_program(PLAN, np.array([0.0, 300, 600]), np.array([20.0, 40, 60]))
    assert three[0].rate is None
    assert set(verdicts(three[1:])) == {"not_logged"}
    assert set(verdicts(follow_program(PLAN, [0.0], [20.0]))) == {"not_logged"}
    assert follow_program(PLAN, [], []) == ()
    level = follow_program(PLAN, *fired((0, 500), (13, 500)))
    assert set(verdicts(level)) == {"not_logged"}
    with pytest.raises(ValueError, match="without a reading"):
        analyse_curve(PLAN, [], [])


def test_a_target_below_the_last_is_a_fall_and_above_it_a_climb_again() -> None:
    plan = (Segment(150, 900), Segment(100, 700, 30), Segment(150, 1000))
    steps = follow_program(
        plan, *fired((0, 20), (5.87, 900), (7.87, 700), (8.37, 700), (10.37, 1000))
    )
    assert [s.kind for s in steps] == ["up", "down", "hold", "up"]
    assert verdicts(steps) == ["followed"] * 4


@EXAMPLES
@given(shift_s=st.floats(-1e6, 1e9), every_s=st.sampled_from([20.0, 60.0, 120.0, 300.0]))
def test_another_clock_or_another_interval_gives_the_same_verdicts(
    shift_s: float, every_s: float
) -> None:
    worn = ((0, 20), (1, 120), (19 / 3, 1080), (7, 1120), (9.5, 1200), (10, 1200), (23, 60))
    usual = follow_program(PLAN, *fired(*worn))
    t, c = fired(*worn, every_s=every_s)
    steps = follow_program(PLAN, t + shift_s, c)
    assert verdicts(steps) == verdicts(usual)
    for one, other in zip(steps, usual, strict=True):
        assert one.start_s - shift_s == pytest.approx(other.start_s, abs=max(150, every_s))


@EXAMPLES
@given(st.lists(st.tuples(st.floats(0.1, 3), st.floats(0, 1300)), min_size=1, max_size=12))
def test_whatever_a_log_holds_its_steps_lie_in_order(legs: list[tuple[float, float]]) -> None:
    hours = np.cumsum([0.0, *(leg[0] for leg in legs)])
    t, c = fired((0, 20), *zip(hours[1:], (leg[1] for leg in legs), strict=True), every_s=180)
    told = analyse_curve(PLAN, t, c)
    here = float(t[0])
    for step in told.steps:
        assert step.verdict in VERDICTS
        if step.start_s is not None and step.end_s is not None:
            assert here <= step.start_s + 1e-6
            assert step.start_s < step.end_s <= t[-1] + 1e-6
            here = step.end_s
