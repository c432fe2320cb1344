"""A logged curve is taken apart into ramps, holds and falls, whatever logger wrote it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.firing.segments import (
    find_segments,
    join_slowing,
    merge_lines,
    segments_of_blocks,
    take_blocks,
)
from tests.craft.firing.drawn_firings import AS_MEANT, fired
from tests.wandering import WANDERING

EXAMPLES = settings(max_examples=200 if WANDERING else 12, deadline=None)


def test_a_firing_is_found_as_it_was_drawn() -> None:
    found = find_segments(*fired(*AS_MEANT, noise_c=0.8))
    assert [s.kind for s in found] == ["up", "up", "up", "hold", "down"]
    rates = [s.rate.c_per_h for s in found if s.rate]
    assert rates[:3] == pytest.approx([100, 180, 60], abs=1.5)
    for segment, hours in zip(found[1:], [1, 19 / 3, 25 / 3, 53 / 6], strict=True):
        assert segment.start_s == pytest.approx(hours * 3600, abs=180)
    for segment in found[:3]:
        assert segment.rate is not None
        assert segment.rate.low is not None
        assert segment.rate.high is not None
        assert segment.rate.low <= segment.rate.c_per_h <= segment.rate.high


def test_a_gap_of_the_log_is_never_bridged() -> None:
    t, c = fired(*AS_MEANT)
    awake = (t < 3 * 3600) | (t > 5 * 3600)
    found = find_segments(t[awake], c[awake])
    assert not any(s.start_s < 4 * 3600 < s.end_s for s in found)
    after = next(s for s in found if s.after_gap)
    assert after.start_s == pytest.approx(5 * 3600, abs=61)


def test_no_rate_is_told_from_under_a_quarter_of_an_hour() -> None:
    t, c = fired((0, 20), (0.2, 60))
    assert [s.rate for s in find_segments(t, c)] == [None]
    t, c = fired((0, 20), (0.3, 80))
    (longer,) = find_segments(t, c)
    assert longer.rate is not None
    assert longer.rate.c_per_h == pytest.approx(200)
    # Of a thin log the readings themselves count: six, 130 s apart, are not eleven minutes more.
    t = np.arange(7) * 130.0
    assert [s.rate for s in find_segments(t, 20 + t / 18)] == [None]
    t = np.arange(8) * 130.0
    assert [s.rate is not None for s in find_segments(t, 20 + t / 18)] == [True]


def test_readings_typed_every_hour_have_no_gaps_between_them() -> None:
    t, c = fired((0, 20), (5, 600), (6, 610), (9, 1000), every_s=3600)
    typed = find_segments(t, c, typed=True)
    assert typed[0].start_s == 0
    assert typed[-1].end_s == 9 * 3600
    assert not any(s.after_gap for s in typed)


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_hardly_any_readings_are_no_trouble(count: int) -> None:
    t = np.arange(count) * 600.0
    found = find_segments(t, 20.0 + t / 10)
    assert len(found) == (1 if count > 1 else 0)


def test_a_kiln_that_never_moved_is_one_level_stretch() -> None:
    (level,) = find_segments(*fired((0, 500), (13, 500)))
    assert level.kind == "hold"
    assert level.rate is not None
    assert level.rate.c_per_h == 0


def test_three_million_readings_are_tasted_not_swallowed() -> None:
    t = np.linspace(0, 22 * 3600, 3_000_000)
    hours, heats = zip(*AS_MEANT, strict=True)
    c = np.interp(t, np.array(hours) * 3600, heats)
    blocks = take_blocks(t, c)
    assert blocks.at_s.size <= 22 * 30 + 1
    assert [s.kind for s in segments_of_blocks(blocks)] == ["up", "up", "up", "hold", "down"]


def test_readings_at_odd_times_are_taken_as_they_come() -> None:
    times = np.sort(np.random.default_rng(2).uniform(0, 22 * 3600, 1500))
    hours, heats = zip(*AS_MEANT, strict=True)
    found = find_segments(times, np.interp(times, np.array(hours) * 3600, heats))
    assert [s.kind for s in found] == ["up", "up", "up", "hold", "down"]
    assert found[1].rate is not None
    assert found[1].rate.c_per_h == pytest.approx(180, abs=1)


@EXAMPLES
@given(shift_s=st.floats(-1e6, 1e9), every_s=st.sampled_from([10.0, 30.0, 60.0, 120.0, 300.0]))
def test_another_clock_or_another_interval_changes_nothing_that_matters(
    shift_s: float, every_s: float
) -> None:
    usual = find_segments(*fired(*AS_MEANT))
    t, c = fired(*AS_MEANT, every_s=every_s)
    found = find_segments(t + shift_s, c)
    assert [s.kind for s in found] == [s.kind for s in usual]
    for one, other in zip(found, usual, strict=True):
        assert one.start_s - shift_s == pytest.approx(other.start_s, abs=max(60, every_s))
        assert one.rate is not None
        assert other.rate is not None
        assert one.rate.c_per_h == pytest.approx(other.rate.c_per_h, abs=1.5)


def test_a_log_in_fahrenheit_is_taken_apart_at_the_same_moments() -> None:
    """What a logger in °F rounds to whole degrees is within a few minutes of the rest."""
    t, c = fired(*AS_MEANT, noise_c=0.5)
    rounded = (np.round(c * 1.8 + 32) - 32) / 1.8
    for one, other in zip(find_segments(t, c), find_segments(t, rounded), strict=True):
        assert one.kind == other.kind
        assert one.start_s == pytest.approx(other.start_s, abs=240)


def test_a_kiln_cooling_by_itself_is_told_as_one_fall() -> None:
    hours = np.arange(0, 24, 1 / 30)
    cooling = 20 + 1180 * np.exp(-0.22 * np.maximum(hours - 8, 0))
    c = np.where(hours < 8, 20 + 1180 / 8 * hours, cooling)
    found = find_segments(hours * 3600, c)
    assert len(found) > 5
    assert [s.kind for s in join_slowing(found)] == ["up", "slowing"]
    # A programmed fall and what follows it stay what they are.
    drawn = find_segments(*fired(*AS_MEANT))
    assert join_slowing(drawn) == drawn


def test_merging_never_loses_or_doubles_a_point() -> None:
    c = np.cumsum(np.random.default_rng(8).normal(0, 4, 301))
    bounds = merge_lines(np.arange(301) * 120.0, c)
    assert bounds[0] == 0
    assert bounds[-1] == 301
    assert bounds == sorted(set(bounds))
