"""How many to throw, and when a line is ready, against SciPy and against futures drawn plainly.

The negative binomial and the beta negative binomial are `scipy.stats.nbinom`, `betabinom`
(Johnson, Kemp, Kotz, *Univariate Discrete Distributions*, 3rd ed. 2005). Cases of the simulation
that can be solved by hand are compared with `scipy.stats`; the whole of it with
`tests/plain_promise.py`, which follows each pot in plain Python.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from statistics import NormalDist
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from scipy import stats

from studiolog.craft.ware.loss import LossRate, learn_loss, stated_loss
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
from studiolog.craft.ware.throws import chance_of, how_many_to_throw, tell_throws
from studiolog.craft.ware.usual_time import UsualTime, learn_time, stated_time
from tests.plain_promise import draw_plainly

TODAY = date(2026, 11, 14)
AT_ONCE = UsualTime(math.log(0.001), 1e-6, 1e9)
NO_LOSS = (LossRate(0.0, 1.0, 0.001),) * 6
NO_WORK = Minutes(0.0)
EVERY_DAY = WorkDays(1440.0, "1234567", (), 0.0)
HUGE = 1e9


def kiln() -> KilnPlan:
    """A kiln that is lit as soon as anything waits, and cools at once."""
    return KilnPlan(UsualTime(math.log(1e6), 1e-6, HUGE), AT_ONCE, HUGE, 1e-3, 24.0, 0.001)


def a_line(
    key: int,
    wanted: int,
    lots: Sequence[Lot],
    stays: Sequence[UsualTime] = (AT_ONCE,) * 4,
    losses: Sequence[LossRate] = NO_LOSS,
    minutes: Minutes = NO_WORK,
) -> Line:
    return Line(key, wanted, tuple(lots), minutes, tuple(stays), tuple(losses))


def told(problem: PromiseProblem) -> tuple[LineForecast, ...]:
    forecast = simulate(problem)
    assert forecast is not None
    return forecast.lines


def furthest(line: LineForecast, chance_by: Sequence[float]) -> float:
    """The largest difference of two distributions over the days."""
    return max(abs(line.by_day[day] - chance) for day, chance in enumerate(chance_by))


@pytest.mark.parametrize("good", [1, 7, 10, 60])
@pytest.mark.parametrize("loss", [0.01, 0.08, 0.3, 0.85])
def test_how_many_to_throw_is_the_negative_binomial(good: int, loss: float) -> None:
    for row in tell_throws(good, loss):
        assert row.throw is not None
        assert stats.binom.sf(good - 1, row.throw, 1 - loss) >= row.chance * (1 - 1e-9)
        if row.throw > good:
            assert stats.binom.sf(good - 1, row.throw - 1, 1 - loss) < row.chance
        # The same number from the side of those that are lost before the last good one.
        assert stats.nbinom.cdf(row.throw - good, good, 1 - loss) >= row.chance * (1 - 1e-9)
        assert chance_of(good, row.throw, loss) == pytest.approx(
            stats.nbinom.cdf(row.throw - good, good, 1 - loss), abs=1e-10
        )


def test_ten_good_ones_with_ninety_per_cent_where_one_in_ten_is_lost() -> None:
    # By hand: 12 thrown, P(at most 2 lost) = 0.9^12 + 12·0.1·0.9^11 + 66·0.01·0.9^10 = 0.889.
    assert chance_of(10, 12, 0.1) == pytest.approx(0.88913, abs=5e-6)
    assert how_many_to_throw(10, 0.9, 0.1) == 13
    assert how_many_to_throw(10, 0.889, 0.1) == 12


@pytest.mark.parametrize(("lost", "kept"), [(2.0, 38.0), (0.7, 3.0), (30.0, 5.0)])
def test_a_loss_known_from_few_is_the_beta_negative_binomial(lost: float, kept: float) -> None:
    known = LossRate(lost, kept, 0.05)
    for good in (1, 10, 40):
        for thrown in (good, good + 1, good + 9, 5 * good):
            expected = stats.betabinom.sf(good - 1, thrown, kept, lost)
            assert chance_of(good, thrown, known) == pytest.approx(expected, abs=1e-9)


def test_pieces_of_one_run_spread_as_a_beta_binomial_with_both_variances() -> None:
    known = stated_loss(0.1, 60.0, 0.2)
    one_run = known.of_one_run
    # The variance of the share of the next run: of the mean, and of the runs about it.
    mean = 0.1
    of_mean = mean * (1 - mean) / (known.worth + 1)
    about = 0.2 * (mean * (1 - mean) - of_mean)
    spread = stats.beta.var(one_run.lost_like, one_run.kept_like)
    assert spread == pytest.approx(of_mean + about, rel=1e-9)
    assert one_run.mean == pytest.approx(mean)


def test_how_alike_runs_are_is_found_again() -> None:
    luck = np.random.default_rng(4)
    runs = [(20, int(stats.betabinom.rvs(20, 2.0, 18.0, random_state=luck))) for _ in range(600)]
    learnt = learn_loss(stated_loss(0.3, 10.0, 0.5), runs)
    assert learnt.mean == pytest.approx(0.1, abs=0.015)
    # Beta(2, 18): alike = 1 / (2 + 18 + 1).
    assert learnt.alike == pytest.approx(1 / 21, abs=0.02)


def test_times_are_learnt_as_a_normal_sample_with_its_conjugate_prior() -> None:
    hours = [20.0, 26.0, 31.0, 24.0]
    logs = np.log(hours)
    before = stated_time(48.0, 2.0, 3.0)
    learnt = learn_time(before, hours)
    # Gelman et al., Bayesian Data Analysis, 3rd ed., eq. 3.3 with nu_0 = kappa_0.
    centre = (3 * before.centre + 4 * logs.mean()) / 7
    squares = 3 * before.spread**2 + ((logs - logs.mean()) ** 2).sum()
    squares += 3 * 4 / 7 * (logs.mean() - before.centre) ** 2
    assert learnt.centre == pytest.approx(centre)
    assert learnt.spread == pytest.approx(math.sqrt(squares / 7))
    assert learnt.chance_within(learnt.high_h) == pytest.approx(0.9)
    assert before.chance_within(96.0) < 0.9 < before.chance_within(110.0)


def test_one_stay_is_log_normal_and_the_last_of_twelve_its_twelfth_power() -> None:
    stay = UsualTime(math.log(240.0), 0.5, HUGE)
    at_once = (AT_ONCE, AT_ONCE, AT_ONCE, stay)
    one = a_line(1, 1, [Lot(1, "fired", 1)], at_once)
    twelve = a_line(2, 12, [Lot(10 + at, "fired", 1) for at in range(12)], at_once)
    problem = PromiseProblem(TODAY, (one, twelve), kiln(), kiln(), EVERY_DAY, 0.0, 20_000)
    first, last = told(problem)
    days = np.arange(1, 90)
    by_day = stats.lognorm.cdf(days, 0.5, scale=10.0)
    assert furthest(first, by_day) < 1.63 / math.sqrt(20_000)
    assert furthest(last, by_day**12) < 1.63 / math.sqrt(20_000)


def test_a_stay_that_has_begun_is_longer_than_it_has_lasted() -> None:
    stay = UsualTime(math.log(240.0), 0.5, HUGE)
    lot = Lot(1, "fired", 1, hours=240.0)
    line = a_line(1, 1, [lot], (AT_ONCE, AT_ONCE, AT_ONCE, stay))
    (told_of,) = told(PromiseProblem(TODAY, (line,), kiln(), kiln(), EVERY_DAY, 0.0, 20_000))
    whole = stats.lognorm(0.5, scale=10.0)
    days = np.arange(1, 60)
    by_day = (whole.cdf(10.0 + days) - whole.cdf(10.0)) / whole.sf(10.0)
    assert furthest(told_of, by_day) < 1.63 / math.sqrt(20_000)


def test_the_way_from_wet_to_fired_is_the_sum_of_its_parts() -> None:
    # Times with a small spread add up to what is nearly normal: means and variances add.
    spread = 0.05
    stays = tuple(UsualTime(math.log(hours), spread, HUGE) for hours in (240, 480, 360, 480))
    line = a_line(1, 1, [Lot(1, "wet", 1)], stays)
    (told_of,) = told(PromiseProblem(TODAY, (line,), kiln(), kiln(), EVERY_DAY, 0.0, 20_000))
    means = np.array([10, 20, 15, 20]) * math.exp(spread**2 / 2)
    total = stats.norm(means.sum(), math.sqrt(((means * spread) ** 2).sum()))
    by_day = total.cdf(np.arange(1, 80) + 0.0)
    assert furthest(told_of, by_day) < 0.03
    assert told_of.lead_days == pytest.approx(means.sum(), abs=0.2)


def test_a_kiln_never_seen_lit_is_somewhere_within_its_gap() -> None:
    gap = UsualTime(math.log(240.0), 1e-6, HUGE)
    rhythm = KilnPlan(gap, AT_ONCE, HUGE, HUGE, None, 1.0)
    line = a_line(1, 1, [Lot(1, "glazed", 1)])
    (told_of,) = told(PromiseProblem(TODAY, (line,), kiln(), rhythm, EVERY_DAY, 0.0, 20_000))
    by_day = stats.uniform(0, 10).cdf(np.arange(1, 12))
    assert furthest(told_of, by_day) < 1.63 / math.sqrt(20_000)


def test_a_full_kiln_takes_the_soonest_promise_first() -> None:
    gap = UsualTime(math.log(24.0 * 7 + 1), 1e-6, HUGE)
    weekly = KilnPlan(gap, AT_ONCE, 10.0, HUGE, 0.0, 1.0)
    lines = tuple(a_line(key, 10, [Lot(key, "glazed", 10)]) for key in (1, 2, 3))
    days = [
        line.day_at(0.5)
        for line in told(PromiseProblem(TODAY, lines, kiln(), weekly, EVERY_DAY, 0.0, 500))
    ]
    assert days == [7, 14, 21]


def test_all_good_at_once_is_as_likely_as_the_beta_binomial_says() -> None:
    rate = stated_loss(0.06, 50.0, 0.1)
    losses = (*NO_LOSS[:5], rate)
    line = a_line(1, 12, [Lot(1, "fired", 14)], losses=losses)
    (told_of,) = told(PromiseProblem(TODAY, (line,), kiln(), kiln(), futures=20_000))
    one_run = rate.of_one_run
    short = stats.betabinom.sf(2, 14, one_run.lost_like, one_run.kept_like)
    assert told_of.again_chance == pytest.approx(short, abs=3 * math.sqrt(short / 20_000))


def test_work_fills_the_days_that_are_worked() -> None:
    # 2 400 minutes at 480 a day from a Saturday on: Monday to Friday, done on the sixth day.
    line = a_line(1, 40, [Lot(1, "to_throw", 40)], minutes=Minutes(60.0))
    work = WorkDays(480.0, "12345", (), 0.0)
    saturday = date(2026, 11, 14)
    (told_of,) = told(PromiseProblem(saturday, (line,), kiln(), kiln(), work, 0.0, futures=200))
    assert told_of.date_at(0.5) in (date(2026, 11, 20), date(2026, 11, 21), date(2026, 11, 23))
    away = replace(work, away=((date(2026, 11, 16), date(2026, 11, 22)),))
    (later,) = told(PromiseProblem(saturday, (line,), kiln(), kiln(), away, 0.0, futures=200))
    assert later.day_at(0.5) == (told_of.day_at(0.5) or 0) + 7


def test_where_nothing_is_to_be_done_nobody_waits_for_a_working_day() -> None:
    # Out of the kiln on Saturday at 12 and ground by nobody: ready the same day, not on Monday.
    work = WorkDays(480.0, "12345", (), 0.0)
    saturday = date(2026, 11, 14)
    plain = a_line(1, 1, [Lot(1, "fired", 1)])
    ground = a_line(2, 1, [Lot(2, "fired", 1)], minutes=Minutes(0.0, finishing=48.0))
    problem = PromiseProblem(saturday, (plain, ground), kiln(), kiln(), work, 12.0, futures=200)
    assert [line.day_at(0.5) for line in told(problem)] == [0, 2]


def crowded(away: bool = False) -> PromiseProblem:
    """A bench of nine lines at every stage, with losses, two kilns and hands that are short."""
    stays = tuple(stated_time(hours, 1.8, 12.0) for hours in (20.0, 110.0, 90.0, 60.0))
    losses = tuple(stated_loss(share, 200.0, 0.1) for share in (0.01, 0.04, 0.03, 0.01, 0.01, 0.05))
    stages = ("to_throw", "wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired")
    lines = []
    for key in range(9):
        first, second = stages[key % 7], stages[(key * 3 + 1) % 7]
        lots = (
            Lot(10 * key, first, 6 + key, 20.0 if key % 2 else 0.0),
            Lot(10 * key + 1, second, 5, 0.0, 20.0 if second in ("bone_dry", "glazed") else None),
            Lot(10 * key + 2, "finished", key % 3),
        )
        wanted = 10 + key + key % 3 - (1 if key % 4 == 0 else 0)
        lines.append(
            Line(key, wanted, lots, Minutes(25, 20, 15, 8), stays, losses, 40, 1.0 + key / 10)
        )
    inside = stated_time(44.0, 1.3, 10.0)
    work = WorkDays(
        300.0, "1246", ((TODAY + timedelta(20), TODAY + timedelta(29)),) if away else ()
    )
    return PromiseProblem(
        TODAY,
        tuple(lines),
        KilnPlan(stated_time(24.0 * 14, 1.6, 10.0), inside, 40.0, 32.0, 24.0 * 9),
        KilnPlan(stated_time(24.0 * 9, 1.6, 10.0), inside, 26.0, 20.0, None),
        work,
    )


@pytest.mark.parametrize("away", [False, True])
def test_the_whole_is_as_futures_drawn_plainly(away: bool) -> None:
    problem, few = crowded(away), 500
    lines = told(problem)
    plain = np.array(draw_plainly(problem, few))
    # Kolmogorov and Smirnov, two samples, one chance in a thousand for each of the nine lines.
    most = math.sqrt(-math.log(0.001 / 2) / 2) * math.sqrt(1 / few + 1 / problem.futures)
    for place, line in enumerate(lines):
        ready = np.floor(plain[:, place])
        by_day = [(ready <= day).mean() for day in range(200)]
        assert furthest(line, by_day) < most, f"line {place}"


def test_a_promise_of_eight_weeks_ends_on_the_same_day_though_clocks_change() -> None:
    # Clocks go forward on 29 March 2026 and back on 25 October 2026 (EU directive 2000/84/EC: the
    # last Sundays of March and October).
    place = ZoneInfo("Europe/Berlin")
    for given in (date(2026, 10, 2), date(2026, 3, 6)):
        promised = given + timedelta(weeks=8)
        before = datetime.combine(given, datetime.min.time(), place).utcoffset()
        after = datetime.combine(promised, datetime.min.time(), place).utcoffset()
        assert before != after, "the clocks change within these eight weeks"
        line = a_line(1, 1, [Lot(1, "fired", 1)], (AT_ONCE, AT_ONCE, AT_ONCE, days_of(55.9)))
        at = PromiseProblem(given, (line,), kiln(), kiln(), EVERY_DAY, 0.0, 200)
        (told_of,) = told(at)
        assert told_of.date_at(0.9) == promised - timedelta(days=1)
        assert promised.isoweekday() == given.isoweekday()
        assert told_of.chance_on(promised) == 1.0


def days_of(days: float) -> UsualTime:
    return UsualTime(math.log(days * 24), 1e-6, HUGE)


def test_the_span_of_a_stated_time_is_that_of_the_normal() -> None:
    stated = stated_time(100.0, 2.0, 5.0)
    assert NormalDist(stated.centre, stated.spread).cdf(math.log(200.0)) == pytest.approx(0.9)
