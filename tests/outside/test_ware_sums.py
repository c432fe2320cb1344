"""Sums of ware against closed forms, SciPy, shapely and plain counting.

Each rule is worked anew here: L. Kish, *Survey Sampling*, 1965 (design effect); Pearson's
chi-square; the negative binomial and the normal of SciPy; a calendar gone through day by day.
"""

import math
from datetime import date, timedelta
from decimal import Decimal
from random import Random

import numpy as np
import pytest
from scipy import stats
from shapely import affinity
from shapely.geometry import Polygon as Referee

from studiolog.craft.evidence.medians import add_medians, compare_medians
from studiolog.craft.ware.cost import Spent, Worked, cost_form
from studiolog.craft.ware.loss import LossRate, learn_loss, stated_loss
from studiolog.craft.ware.polygons import centre_of
from studiolog.craft.ware.promise import (
    KilnPlan,
    Line,
    LineForecast,
    Lot,
    Minutes,
    PromiseProblem,
    WorkDays,
    simulate,
)
from studiolog.craft.ware.promise_words import read_promise
from studiolog.craft.ware.studio_days import StudioDays
from studiolog.craft.ware.throws import how_many_to_throw
from studiolog.craft.ware.tiles import Laying, Tile, rectangle
from studiolog.craft.ware.tiling import lay_tiles
from studiolog.craft.ware.usual_time import UsualTime, learn_time, stated_time
from studiolog.problems import UserProblem

SATURDAY = date(2026, 11, 14)
AT_ONCE = UsualTime(math.log(0.001), 1e-6, 1e9)
TEN_DAYS = UsualTime(math.log(240.0), 1e-6, 1e9)
NO_LOSS = (LossRate(0.0, 1.0, 0.001),) * 6
KILN = KilnPlan(UsualTime(math.log(1e6), 1e-6, 1e9), AT_ONCE, 1e9, 1e-3, 24.0, 0.001)
EVERY_DAY = WorkDays(1440.0, "1234567", (), 0.0)


def told(problem: PromiseProblem) -> LineForecast:
    forecast = simulate(problem)
    assert forecast is not None
    return forecast.lines[0]


# Losses, throws and times


def test_pieces_of_one_run_count_for_less_by_the_design_effect() -> None:
    """Ten of one run, alike by 0.1, are worth 10 / (1 + 9 x 0.1) = 5.26; one of a run is one."""
    learnt = learn_loss(stated_loss(0.1, 40.0, 0.1), [(10, 2)])
    assert learnt.lost_like == pytest.approx(4 + 2 / 1.9)
    assert learnt.kept_like == pytest.approx(36 + 8 / 1.9)
    single = learn_loss(stated_loss(0.1, 40.0, 0.1), [(1, 1)])
    assert (single.lost_like, single.kept_like) == (pytest.approx(5), pytest.approx(36))


def test_how_alike_runs_are_is_held_near_what_is_stated_while_they_are_few() -> None:
    runs, stated, worth = [(10, 2), (20, 0), (1, 1)], 0.1, 10.0
    share = 3 / 31
    chi = sum((lost - n * share) ** 2 / (n * share * (1 - share)) for n, lost in runs)
    seen = (chi / 2 - 1) / (31 / 3 - 1)
    # Of two runs one can be alike within; the third is a single piece.
    expected = (worth * stated + 2 * seen) / (worth + 2)
    learnt = learn_loss(stated_loss(0.1, 40.0, stated), runs, runs_worth=worth)
    assert learnt.alike == pytest.approx(expected)


def test_thousands_that_are_lost_are_counted_to_the_last() -> None:
    for good, loss in ((3000, 0.7), (40, 0.995)):
        thrown = good + int(stats.nbinom.ppf(0.9, good, 1 - loss))
        assert how_many_to_throw(good, 0.9, loss) == thrown


def test_the_next_time_is_less_sure_than_the_middle_of_times() -> None:
    stated = stated_time(48.0, 2.0, 3.0)
    spread = math.log(2.0) / stats.norm.ppf(0.9)
    reach = stats.norm.ppf(0.9) * spread * math.sqrt(1 + 1 / 3)
    assert stated.high_h == pytest.approx(48 * math.exp(reach))
    assert stated.low_h == pytest.approx(48 * math.exp(-reach))
    assert stated.chance_within(30) == pytest.approx(
        stats.norm.cdf(math.log(30 / 48) / (spread * math.sqrt(4 / 3)))
    )


def test_times_nobody_looked_after_count_as_a_quarter_of_an_hour_and_200_days() -> None:
    before = stated_time(48.0, 2.0, 3.0)
    for odd, taken in ((1e7, 4800.0), (0.001, 0.25)):
        assert learn_time(before, [odd]) == learn_time(before, [taken])
    assert learn_time(before, [0.0, -3.0, math.nan]) == before


# Days


def by_days(at: float, days: float, counted: list[bool]) -> float:
    """When so many of the counted days have passed, gone through one day after the other."""
    while at < len(counted):
        ends = math.floor(at) + 1.0
        if counted[int(at)]:
            if days < ends - at:
                return at + days
            days -= ends - at
        at = ends
    return math.inf


def test_a_calendar_counts_as_one_that_is_gone_through_day_by_day() -> None:
    luck = Random(5)
    for _ in range(40):
        today = date(2028, 2, 20) + timedelta(days=luck.randrange(12))  # over a leap day
        away = []
        for _ in range(luck.randrange(4)):
            first = today + timedelta(days=luck.randrange(-9, 50))
            away.append((first, first + timedelta(days=luck.randrange(6))))
        week = "".join(luck.sample("1234567", luck.randrange(1, 8)))
        days = StudioDays(today, 60, WorkDays(300.0, week, tuple(away)))
        there, worked = [], []
        for place in range(60):
            day = today + timedelta(days=place)
            there.append(not any(first <= day <= last for first, last in away))
            worked.append(there[-1] and str(day.isoweekday()) in week)
        at = np.array([luck.randrange(64 * 58) / 64 + 1 / 128 for _ in range(30)], np.float32)
        take = np.array([luck.randrange(1, 64 * 9) / 64 for _ in range(30)], np.float32)
        for found, counted in (
            (days.after_work(at, take * 300), worked),
            (days.after_stay(at, take), there),
        ):
            plain = [by_days(float(a), float(t), counted) for a, t in zip(at, take, strict=True)]
            # Past the end of the calendar any day is never.
            theirs = np.minimum(plain, 60)
            assert np.minimum(found, 60) == pytest.approx(theirs, abs=1e-3), (today, week, away)
        assert (days.after_work(at, take * 0) == at).all()


def test_by_christmas_said_on_christmas_eve_is_today() -> None:
    for given_on, last in (
        (date(2026, 12, 24), date(2026, 12, 24)),
        (date(2026, 12, 25), date(2027, 12, 24)),
    ):
        read = read_promise("by Christmas", given_on)
        assert read is not None
        assert read.last == last


# Futures that can be solved by hand


def one_that_fails(share: float) -> PromiseProblem:
    """One piece, ten days from fired to finished, of which this share is set aside then. What is
    missing is thrown one by one: one is enough for a confidence of what is kept."""
    losses = (*NO_LOSS[:5], stated_loss(share, 1e9, 0.0))
    line = Line(1, 1, (Lot(1, "fired", 1),), Minutes(0.0), (*(AT_ONCE,) * 3, TEN_DAYS), losses)
    sure = 1 - share - 0.01
    hourly = KilnPlan(UsualTime(0.0, 1e-6, 1e9), AT_ONCE, 1e9, 1e-3, 24.0, 0.001)
    return PromiseProblem(
        SATURDAY, (line,), hourly, hourly, EVERY_DAY, 0.0, 20_000, 1, 200, confidence=sure
    )


@pytest.mark.parametrize("share", [0.5, 0.8])
def test_what_fails_five_times_running_is_never_ready_and_in_no_mean(share: float) -> None:
    line = told(one_that_fails(share))
    tries = np.arange(5)
    ready = (1 - share) * share**tries
    assert line.by_day[-1] == pytest.approx(1 - share**5, abs=0.012)
    assert line.chance_by(15) == pytest.approx(ready[0], abs=0.012)
    assert line.chance_by(25) == pytest.approx(ready[:2].sum(), abs=0.012)
    assert line.lead_days == pytest.approx((10 * (tries + 1) * ready).sum() / ready.sum(), rel=0.02)
    assert line.again_chance == pytest.approx(share, abs=0.012)


def test_one_more_bisque_is_lit_on_its_day_and_moves_no_other() -> None:
    gap = UsualTime(math.log(24.0 * 100), 1e-6, 1e9)
    rare = KilnPlan(gap, AT_ONCE, 1e9, 1e9, 0.0, 1.0)
    lots = (Lot(1, "bone_dry", 1),)
    line = Line(1, 1, lots, Minutes(0.0), (AT_ONCE,) * 4, NO_LOSS)
    late = Line(2, 1, (Lot(2, "wet", 1),), Minutes(0.0), (TEN_DAYS, *(AT_ONCE,) * 3), NO_LOSS)
    problem = PromiseProblem(SATURDAY, (line, late), rare, KILN, EVERY_DAY, 0.0, 200)
    before, after = simulate(problem), simulate(problem.with_bisque_on(5.3))
    assert before is not None
    assert after is not None
    assert [one.day_at(0.5) for one in before.lines] == [100, 100]
    assert [one.day_at(0.5) for one in after.lines] == [5, 100]


# Costs and medians


def test_ware_that_earns_just_what_an_hour_is_to_earn_pays() -> None:
    spent, work = [Spent("clay", Decimal(4))], [Worked("thrown", "wet", 30.0)]
    for price, pays in (("16", True), ("15.99", False), ("16.01", True)):
        cost = cost_form(spent, work, {}, Decimal(24), Decimal(price))
        assert cost.pays is pays
    assert cost_form(spent, work, {}, Decimal(24)).pays is None


def test_an_interval_of_medians_leaves_out_half_of_the_rest_at_either_end() -> None:
    # Three samples: the median drawn anew is the least with 7/27 = 0.26, the most as often.
    wide, narrow = (add_medians([[1.0, 2.0, 3.0]], sure) for sure in (0.6, 0.4))
    assert (wide.low, wide.value, wide.high) == (1, 2, 3)
    assert (narrow.low, narrow.high) == (2, 2)


def test_two_ways_are_known_as_well_as_the_one_less_timed() -> None:
    apart = compare_medians([[1.0, 2.0, 3.0]], [[7.0, 8.0, 9.0], [5.0]])
    assert (apart.value, apart.fewest) == (11, 1)
    assert compare_medians([[5.0]], [[1.0, 2.0]]).fewest == 1


# Tiles


def test_rows_by_a_third_begin_at_three_places() -> None:
    for bond, places in (("third", {0.0, 30.0, 60.0}), ("half", {0.0, 45.0})):
        laying = Laying(bond, 0, "corner")  # type: ignore[arg-type]
        laid = lay_tiles(Tile("rectangle", 90, 30), laying, rectangle(900, 300))
        begins = {
            round(min(x for x, _ in one.outline) % 90, 3) for one in laid.pieces if not one.cut
        }
        assert begins == places


def test_four_tiles_meet_in_the_middle_where_a_joint_is_asked_for_there() -> None:
    laid = lay_tiles(Tile("square", 96), Laying("straight", 4, "joint"), rectangle(1000, 1000))
    assert (laid.whole, laid.cut) == (100, 0)
    near = [one for one in laid.pieces if math.dist(centre_of(one.outline), (500, 500)) < 75]
    assert len(near) == 4


def test_a_cut_is_narrow_under_a_third_of_a_tile() -> None:
    for wide, narrow in ((132, 1), (134, 0)):
        laid = lay_tiles(Tile("square", 100), Laying("straight", 0, "corner"), rectangle(wide, 100))
        assert (laid.cut, laid.narrow) == (1, narrow)


@pytest.mark.parametrize(
    "tile",
    [Tile("hexagon", 90), Tile("square", 90), Tile("rectangle", 90, 60), Tile("rectangle", 90, 90)],
)
def test_a_tile_turned_lies_as_before_just_by_the_angles_named(tile: Tile) -> None:
    bond = "points up" if tile.kind == "hexagon" else "straight"
    outline = Referee(tile.outline(bond))  # type: ignore[arg-type]
    alike = [
        degrees
        for degrees in range(0, 360, 15)
        if outline.symmetric_difference(affinity.rotate(outline, degrees, (0, 0))).area < 1e-6
    ]
    assert tuple(alike) == tile.turns


def test_the_centre_of_a_shape_is_its_centre_of_gravity() -> None:
    shape = ((0.0, 0.0), (60.0, 5.0), (55.0, 40.0), (20.0, 15.0), (5.0, 50.0))
    middle = Referee(shape).centroid
    assert centre_of(shape) == pytest.approx((middle.x, middle.y))
    assert centre_of(shape[::-1]) == pytest.approx((middle.x, middle.y))


def test_an_area_of_next_to_nothing_is_told_so() -> None:
    with pytest.raises(UserProblem, match="next to no size"):
        lay_tiles(Tile("square", 100), Laying("straight"), rectangle(0.4, 0.4))
