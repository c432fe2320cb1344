"""Firings side by side: a stalled kiln is told where it stalled, and a shift moves nothing."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from studiolog.craft.firing.compare import (
    ALIGNMENTS,
    TakenCurve,
    find_moment,
    lay_together,
    middle_of,
    take_curve,
    usual_figures,
)
from studiolog.craft.firing.differences import Difference, find_differences, tell_difference
from studiolog.craft.units import THIN
from tests.wandering import WANDERING

Floats = NDArray[np.float64]
EXAMPLES = 200 if WANDERING else 12


def firing(
    stall_min: float = 0.0,
    stall_c: float = 1080.0,
    hold_min: float = 15.0,
    peak_c: float = 1222.0,
    noise: int | None = None,
    every_s: float = 90.0,
) -> tuple[Floats, Floats]:
    """A cone 6 firing: 100 °C/h to 120, 180 to 1000, 100 to 1222, held, cooled in a day."""
    steps = [(0.0, 20.0), (1.0, 120.0), (880 / 180, 1000.0)]
    steps += [((stall_c - 1000) / 100, stall_c), (stall_min / 60, stall_c + 0.01)]
    steps += [((peak_c - stall_c) / 100, peak_c), (hold_min / 60, peak_c)]
    steps += [(1.5, 1000.0), (3.0, 760.0), (4.0, 573.0), (7.0, 300.0), (9.0, 90.0)]
    hours, heats = np.cumsum([s[0] for s in steps]), [s[1] for s in steps]
    at_s = np.arange(0.0, hours[-1] * 3600, every_s)
    at_c = np.interp(at_s, hours * 3600, heats)
    if noise is not None:
        at_c = at_c + np.random.default_rng(noise).normal(0, 0.6, at_s.size)
    return at_s, at_c


def taken(key: int = 1, **how: float) -> TakenCurve:
    return take_curve(key, *firing(**how))  # type: ignore[arg-type]


def test_a_kiln_that_stalled_is_told_where_it_stalled() -> None:
    fine = [taken(key, noise=key) for key in range(60, 70)]
    stalled = taken(70, noise=70, stall_min=22)
    told = tell_difference(70, find_differences(stalled, [*fine, stalled]), "the median of 11")
    assert told == (
        f"Firing 70 was 22{THIN}min longer between 1000 and 1150{THIN}°C than the median of 11, "
        f"most of it between 1070 and 1100{THIN}°C."
    )
    assert "between 1832 and 2102" in tell_difference(
        70, find_differences(stalled, fine), "firing 69", "F"
    )


def test_two_firings_of_a_program_are_compared_with_each_other() -> None:
    fine, stalled = taken(1), taken(2, stall_min=40)
    (first, *rest) = find_differences(stalled, [fine])
    assert (first.kind, first.from_c, first.to_c) == ("up", 1000, 1150)
    assert first.amount == pytest.approx(40 * 60, abs=60)
    assert not rest


def test_a_firing_of_one_reading_is_compared_by_its_peak_alone() -> None:
    lit = take_curve(8, np.array([0.0]), np.array([20.0]))
    group = [taken(key) for key in range(4)]
    assert {one.kind for one in find_differences(lit, [*group, lit])} <= {"peak", "hold"}
    assert find_differences(group[0], [*group, lit]) == ()


def test_firings_that_go_alike_differ_nowhere() -> None:
    group = [taken(key, noise=key) for key in range(5)]
    assert find_differences(group[0], group) == ()
    assert "no more than they do among themselves" in tell_difference(9, (), "the median of 5")
    assert "alike" in tell_difference(9, (), "firing 8", of_several=False)


def test_a_gap_of_the_log_does_not_hide_that_the_kiln_was_slow() -> None:
    at_s, at_c = firing(stall_min=30, stall_c=900)
    gap = (at_c > 780) & (at_c < 860) & (at_s < 10 * 3600)
    slow = take_curve(9, at_s[~gap], at_c[~gap])
    (first, *_rest) = find_differences(slow, [taken(key) for key in range(4)])
    assert (first.from_c, first.to_c) == (573, 1000)
    assert first.amount == pytest.approx(30 * 60, abs=120)


def test_a_higher_peak_and_a_longer_hold_are_told_in_the_unit_that_is_read() -> None:
    group = [taken(key) for key in range(3)]
    kinds = {d.kind: d for d in find_differences(taken(9, peak_c=1234, hold_min=35), group)}
    assert kinds["peak"].say() == f"peaked 12{THIN}°C higher"
    assert kinds["peak"].say("F") == f"peaked 22{THIN}°F higher"
    assert kinds["hold"].say() == f"held its top 20{THIN}min longer"


def test_a_wait_at_an_edge_is_not_counted_now_here_and_now_there() -> None:
    # A program that holds at 1000 °C: noise alone decides when 1000 is first passed.
    group = [taken(key, stall_min=40, stall_c=1000.0, noise=key) for key in range(6)]
    for one in group:
        assert [d for d in find_differences(one, group) if d.kind == "up"] == []


def test_a_gap_is_never_bridged() -> None:
    at_s, at_c = firing()
    keep = (at_s < 4 * 3600) | (at_s > 5 * 3600)
    gappy = take_curve(2, at_s[keep], at_c[keep])
    laid = lay_together([take_curve(1, at_s, at_c), gappy])
    missing = laid.clock_s[np.isnan(laid.temperature_c[1]) & ~np.isnan(laid.temperature_c[0])]
    assert missing.min() >= 4 * 3600 - 90
    assert missing.max() <= 5 * 3600 + 90
    assert missing.size > 55
    whole = take_curve(1, at_s, at_c)
    lost = np.isnan(gappy.up_s) & ~np.isnan(whole.up_s)
    assert ((whole.up_s[lost] > 4 * 3600 - 90) & (whole.up_s[lost] < 5 * 3600 + 90)).all()
    assert lost.sum() > 10


def test_typed_readings_an_hour_apart_are_joined_by_lines() -> None:
    typed = take_curve(1, [0, 3600, 7200, 10800], [20, 300, 600, 900], typed=True)
    laid = lay_together([typed])
    assert not np.isnan(laid.temperature_c).any()
    assert find_moment(typed, "passing", 450) == pytest.approx(5400)


def test_a_firing_that_never_had_the_moment_is_left_out_with_why() -> None:
    bisque = taken(4, peak_c=1150)
    laid = lay_together([taken(3), bisque], "passing", 1200)
    assert laid.keys == (3,)
    assert laid.left_out == ((4, "it never came to that temperature"),)
    late_s, late_c = firing()
    late = take_curve(5, late_s[80:], late_c[80:])
    assert lay_together([late], "passing", 60).left_out == (
        (5, "its log starts above that temperature"),
    )
    with pytest.raises(ValueError, match="aligned"):
        find_moment(bisque, "passing")


def test_two_curves_make_no_band_three_make_a_range_ten_the_middle() -> None:
    curves = [taken(key, hold_min=15 + key) for key in range(10)]
    heats = lay_together(curves, "peak").temperature_c
    two, three, ten = (middle_of(heats[:count]) for count in (2, 3, 10))
    assert (two.share, three.words, ten.words) == (0.0, "whole range", "middle 80 %")
    assert np.isnan(two.low_c).all()
    some = ~np.isnan(three.low_c)
    assert (three.low_c[some] <= three.median_c[some]).all()
    np.testing.assert_allclose(
        ten.low_c[500], np.quantile(heats[:, 500].astype(float), 0.1), atol=1e-3
    )


def test_the_median_is_told_where_three_of_four_were_logged() -> None:
    heats = np.array([[1, 2, np.nan], [3, np.nan, np.nan], [5, 8, 4], [9, 5, 1]], dtype=np.float32)
    np.testing.assert_allclose(middle_of(heats).median_c, [4, 5, np.nan])


def test_usual_figures_pass_over_what_was_not_logged() -> None:
    whole = taken(1).figures
    at_s, at_c = firing()
    hot = at_c > 200
    short = take_curve(2, at_s[hot], at_c[hot]).figures
    assert short.top_to_100_s is None
    assert usual_figures([whole, short]).top_to_100_s == whole.top_to_100_s
    with pytest.raises(ValueError, match="no firing"):
        usual_figures([])


@settings(max_examples=EXAMPLES)
@given(shift=st.floats(-90_000, 90_000), by=st.sampled_from(sorted(ALIGNMENTS)))
def test_when_a_log_starts_to_count_changes_nothing(shift: float, by: str) -> None:
    at_s, at_c = firing(stall_min=12, noise=3)
    plain, moved = take_curve(1, at_s, at_c), take_curve(2, at_s + shift, at_c)
    level = 900.0 if by == "passing" else None
    laid = lay_together([plain, moved], by, level)
    np.testing.assert_allclose(laid.temperature_c[0], laid.temperature_c[1], atol=0.01)
    assert find_differences(moved, [plain]) == ()


@settings(max_examples=EXAMPLES)
@given(count=st.integers(3, 14), by=st.sampled_from(sorted(ALIGNMENTS)))
def test_equal_curves_have_a_band_of_no_width_and_differ_nowhere(count: int, by: str) -> None:
    at_s, at_c = firing(noise=5)
    curves = [take_curve(key, at_s, at_c) for key in range(count)]
    laid = lay_together(curves, by, 1000.0 if by == "passing" else None)
    middle = middle_of(laid.temperature_c)
    assert middle.share > 0
    np.testing.assert_allclose(middle.high_c, middle.low_c, atol=1e-3)
    np.testing.assert_allclose(middle.median_c, laid.temperature_c[0], atol=1e-3)


@settings(max_examples=EXAMPLES)
@given(stall=st.floats(8, 90), where=st.sampled_from([450.0, 700.0, 900.0, 1080.0]))
def test_a_stall_is_found_whatever_its_length_and_heat(stall: float, where: float) -> None:
    steps = [(0.0, 20.0), (1.0, 120.0), ((where - 120) / 150, where), (stall / 60, where + 0.01)]
    steps += [((1220 - where) / 150, 1220.0), (0.25, 1220.0), (8.0, 300.0)]

    def curve(with_stall: bool) -> TakenCurve:
        used = steps if with_stall else [*steps[:3], *steps[4:]]
        hours, heats = np.cumsum([s[0] for s in used]), [s[1] for s in used]
        at_s = np.arange(0.0, hours[-1] * 3600, 60.0)
        return take_curve(1, at_s, np.interp(at_s, hours * 3600, heats))

    found: Difference = find_differences(curve(True), [curve(False)])[0]
    assert found.kind == "up"
    assert found.from_c is not None
    assert found.from_c <= where <= (found.to_c or 1220)
    assert found.amount / 60 == pytest.approx(stall, abs=2.5)
