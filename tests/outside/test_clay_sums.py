"""Sums of clay against closed forms, SciPy and drawing: what the printed cases leave open.

Propagation of errors as in JCGM 100:2008 (GUM), 5.1; the t-distribution is SciPy's.
"""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from studiolog.craft.clay.drying import UNSAID, DriedRun, Stood, stated_hours
from studiolog.craft.clay.shrinkage import (
    KnownShrinkage,
    by_stage,
    compose,
    drying_part,
    know,
    linear,
    make_size,
    read_error_of,
)
from studiolog.craft.clay.sizes import (
    SizeForecast,
    forecast,
    lid_and_gallery,
    size_to_pass,
    stamp_to_make,
)
from studiolog.craft.limits import SHIPPED, Limits

LITTLE = KnownShrinkage(0.12, 0.004, 0.25, 40.0, 0, "stated")
"""A mean known as well as a quarter of a piece would tell it: what is shared is most of it."""
EXACT = Limits({"clay_forming_mm": 0.0, "clay_measuring_mm": 0.0})


def test_stages_are_shares_of_the_length_before_them() -> None:
    """ASTM C326, worked anew: 127.0 mm wet, 119.4 dry, 111.3 fired."""
    found = by_stage(127.0, 119.4, 111.3)
    assert found.drying == pytest.approx(7.6 / 127.0)
    assert found.firing == pytest.approx(8.1 / 119.4)
    assert found.total == pytest.approx(15.7 / 127.0)
    assert compose(found.drying, found.firing) == pytest.approx(found.total)
    assert linear(50, 50) == 0
    assert make_size(111.3, found.total) == pytest.approx(127.0)


def test_half_of_a_shrinkage_comes_in_drying_and_the_halves_compose() -> None:
    dry = drying_part(0.12)
    assert (1 - dry) ** 2 == pytest.approx(0.88)
    quarter = drying_part(0.12, Limits({"clay_drying_share": 0.25}))
    assert (1 - quarter) ** 4 == pytest.approx(0.88)
    assert know([], None, SHIPPED, dry).mean == pytest.approx(dry)


def test_a_ruler_makes_a_shrinkage_as_uncertain_as_drawn_readings_do() -> None:
    rng, error = np.random.default_rng(3), SHIPPED["clay_measuring_mm"]
    before, after = (rng.normal(mm, error, 200_000) for mm in (100.0, 70.0))
    assert read_error_of(100.0, 0.3) == pytest.approx(np.std(1 - after / before), rel=0.01)


def test_bars_that_read_alike_still_differ_by_what_a_ruler_can_not_see() -> None:
    known = know([0.12] * 6)
    assert known.piece_sd == pytest.approx(0.1 * SHIPPED["clay_piece_spread"] / 100)
    low, high = known.interval(0.95)
    assert low < 0.12 < high


def test_the_density_that_is_drawn_is_that_of_the_t_distribution() -> None:
    coming = SizeForecast(270.0, 1.7, 6.5)
    for size in (264.0, 269.0, 270.0, 273.5):
        assert coming.density(size) == pytest.approx(stats.t.pdf(size, 6.5, 270.0, 1.7))
    assert coming.interval(0.9) == pytest.approx(stats.t.interval(0.9, 6.5, 270.0, 1.7))


def test_a_ruler_counts_only_where_a_piece_is_judged_by_it() -> None:
    known = KnownShrinkage(0.12, 0.004, 8.0, 7.0, 8, "measured")
    judged, free = (forecast(300, known, judged_by_ruler=ruler) for ruler in (True, False))
    ruler = SHIPPED["clay_measuring_mm"]
    assert judged.scale_mm**2 - free.scale_mm**2 == pytest.approx(ruler**2)
    assert (judged.ruler_mm, free.ruler_mm) == (ruler, 0.0)
    hand = SHIPPED["clay_forming_mm"] * 0.88
    assert free.scale_mm == pytest.approx(math.hypot(300 * known.scale, hand))


def drawn(many: int = 200_000) -> tuple[np.random.Generator, np.ndarray, np.ndarray]:
    """What is known of the clay, drawn: how pieces differ, and the mean they share."""
    rng = np.random.default_rng(8)
    sd = LITTLE.piece_sd * np.sqrt(LITTLE.df / rng.chisquare(LITTLE.df, many))
    return rng, sd, LITTLE.mean + rng.normal(0, 1, many) * sd / math.sqrt(LITTLE.weight)


def test_a_lid_and_its_gallery_err_together_and_the_gap_by_their_difference_alone() -> None:
    fit = lid_and_gallery(100, 1, 21, LITTLE, EXACT)
    rng, sd, mean = drawn()
    lid, gallery = (
        made * (1 - mean - rng.normal(0, 1, sd.size) * sd)
        for made in (fit.lid_make_mm, fit.gallery_make_mm)
    )
    assert fit.gap.clay_mm == pytest.approx(np.std(gallery - lid) / math.sqrt(40 / 38), rel=0.01)


def test_a_stamp_of_the_clay_of_the_ware_errs_twice_the_same_way() -> None:
    one = stamp_to_make(30, LITTLE, LITTLE, 29.5, 30.5, EXACT, one_clay=True)
    two = stamp_to_make(30, LITTLE, LITTLE, 29.5, 30.5, EXACT)
    rng, sd, mean = drawn()
    mark = np.full(sd.size, one.make_mm)
    for _ in range(2):
        mark = mark * (1 - mean - rng.normal(0, 1, sd.size) * sd)
    assert one.miss.either == pytest.approx(((mark < 29.5) | (mark > 30.5)).mean(), abs=0.005)
    assert one.make_mm == two.make_mm
    assert one.miss.either > two.miss.either + 0.05


def test_a_t_and_a_normal_added_are_as_drawn_however_few_bars_were_measured() -> None:
    """The chance to miss of a clay nobody measured: its t has four degrees of freedom only."""
    known, many = know([], 0.12), 400_000
    assert known.df == 4
    rng = np.random.default_rng(21)
    sd = known.piece_sd * np.sqrt(known.df / rng.chisquare(known.df, many))
    mean = known.mean + rng.normal(0, 1, many) * sd / math.sqrt(known.weight)

    def gone(made_mm: float) -> np.ndarray:
        formed = made_mm + rng.normal(0, SHIPPED["clay_forming_mm"], many)
        return formed * (1 - mean - rng.normal(0, 1, many) * sd)

    fit = lid_and_gallery(100, 1, 4, known)
    gap = gone(fit.gallery_make_mm) - gone(fit.lid_make_mm)
    assert fit.miss.too_small == pytest.approx((gap < 1).mean(), abs=0.002)
    hole = size_to_pass(27, 1, known, 0.05)
    fired = gone(hole.make_mm) + rng.normal(0, SHIPPED["clay_measuring_mm"], many)
    assert (fired < 28).mean() == pytest.approx(0.05, abs=0.002)
    low, high = hole.fired.interval(0.9)
    assert ((low < fired) & (fired < high)).mean() == pytest.approx(0.9, abs=0.003)
    sizes = np.linspace(low, high, 201)
    drawn_mm = np.trapezoid([hole.fired.density(size) for size in sizes], sizes)
    assert drawn_mm == pytest.approx(0.9, abs=1e-4)


@pytest.mark.parametrize(("clay", "df"), [(1.0, 4.0), (0.3, 2.0), (2.0, 40.0), (0.001, 7.0)])
def test_the_sum_is_the_convolution_of_both(clay: float, df: float) -> None:
    coming = SizeForecast(0.0, math.hypot(clay, 0.7), df, clay, 0.7)
    for size in (-4.0, -1.0, 0.3):
        exact, _ = integrate.quad(
            lambda x, size=size: stats.norm.pdf(x, 0, 0.7) * stats.t.cdf(size - x, df, 0, clay),
            -6, 6, limit=400, points=[size],
        )  # fmt: skip
        assert coming.chance_below(size) == pytest.approx(exact, abs=1e-6)
    known = SizeForecast(0.0, 0.7, 1e6, 0.0, 0.7)
    assert known.chance_below(-1.0) == pytest.approx(stats.norm.cdf(-1 / 0.7))


@pytest.mark.parametrize("chance", [0.02, 0.5, 0.8])
def test_a_hole_is_the_smallest_that_is_too_small_no_oftener_than_said(chance: float) -> None:
    hole = size_to_pass(27, 1, LITTLE, chance)
    assert hole.miss.too_small == pytest.approx(chance, abs=0.003)
    smaller = forecast(hole.make_mm - 0.02, LITTLE)
    assert smaller.chance_below(28) > chance


def test_hours_under_a_cover_nobody_named_are_less_sure() -> None:
    """A stated time is longer in one case of ten than its middle by the factor; with no word of
    the cover, by that to the power of one and a half."""
    factor = SHIPPED["drying_time_factor"]
    for cover, power in (("loose", 1.0), (UNSAID, 1.5)):
        hours = stated_hours("workable", cover)
        spread = math.log(factor) * power / stats.norm.ppf(0.9)
        assert hours.spread == pytest.approx(spread)
        assert hours.median_h == pytest.approx(6 * SHIPPED["dries_slower_loose"])


def test_a_run_is_told_by_the_cover_it_stood_under_longest_in_all() -> None:
    stood = (Stood(5, "open"), Stood(8, "sealed"), Stood(4, "open"))
    assert DriedRun(stood).cover == "open"
    assert DriedRun(()).cover == UNSAID
