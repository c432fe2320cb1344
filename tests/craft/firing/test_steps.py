"""A log is laid beside its program: what was asked, and what the kiln did."""

import numpy as np
import pytest

from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.steps import find_shortfall_c, follow_program

PLAN = (Segment(100, 120), Segment(180, 1080), Segment(60, 1200, 30), Segment(None, 60))


def fired(*corners: tuple[float, float], every_s: float = 60.0):
    """A curve through (hours, °C) corners."""
    hours, heats = zip(*corners, strict=True)
    t = np.arange(hours[0] * 3600, hours[-1] * 3600 + 1, every_s)
    return t, np.interp(t, np.array(hours) * 3600, heats)


def test_a_kiln_that_follows_shows_every_leg_and_the_hold() -> None:
    t, c = fired((0, 20), (1, 120), (1 + 16 / 3, 1080), (8.333, 1200), (8.833, 1200), (22, 60))
    steps = follow_program(PLAN, t, c)
    assert [(s.segment, s.hold) for s in steps] == [
        (0, False),
        (1, False),
        (2, False),
        (2, True),
        (3, False),
    ]
    assert [s.rate_c_per_h for s in steps[:3]] == pytest.approx([100, 180, 60], rel=0.02)
    assert steps[3].held_min == pytest.approx(30, abs=2)
    assert steps[4].rate_c_per_h == pytest.approx((60 - 1200) / (22 - 8.833), rel=0.02)
    assert find_shortfall_c(PLAN, t, c) is None


def test_noise_of_a_degree_does_not_end_a_hold() -> None:
    t, c = fired((0, 20), (1, 120), (1 + 16 / 3, 1080), (8.333, 1200), (8.833, 1200), (22, 60))
    noisy = c + np.random.default_rng(4).normal(0, 0.6, c.size)
    (hold,) = [s for s in follow_program(PLAN, t, noisy) if s.hold]
    assert hold.held_min == pytest.approx(30, abs=3)


def test_a_worn_kiln_is_short_of_its_program_near_the_top() -> None:
    t, c = fired((0, 20), (1, 120), (6.33, 1080), (7, 1120), (9.5, 1200), (10, 1200))
    # From 1120 °C on it makes 32 of the 60 °C/h asked for.
    assert find_shortfall_c(PLAN, t, c) == pytest.approx(1120, abs=10)


def test_a_log_that_stops_halfway_leaves_the_rest_out() -> None:
    t, c = fired((0, 20), (1, 120), (4, 660))
    steps = follow_program(PLAN, t, c)
    assert [s.segment for s in steps] == [0, 1]
    assert not steps[-1].reached


def test_a_kiln_that_never_gets_there_turns_at_its_peak() -> None:
    t, c = fired((0, 20), (1, 120), (6.33, 1080), (9, 1170), (20, 60))
    steps = follow_program(PLAN, t, c)
    climb = next(s for s in steps if s.segment == 2)
    assert not climb.reached
    assert climb.end_s == pytest.approx(9 * 3600, abs=120)
    assert not any(s.hold for s in steps)
    assert steps[-1].segment == 3
