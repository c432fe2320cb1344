"""A kiln ages: what its firings say of elements and thermocouple, and when they say nothing.

The kilns here are made up; the limits are judgements (firing_limits.csv), the +10 % of resistance
is published by makers of elements.
"""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from studiolog.craft.firing.kiln_wear import (
    FiringWork,
    KilnWear,
    judge_wear,
    planned_climb_min,
    say_climb,
    say_missing,
    say_series,
    say_trend,
)
from studiolog.craft.firing.sensor_drift import OffsetOfFiring, judge_drift, say_drift
from studiolog.craft.limits import Limits
from studiolog.craft.units import THIN

NEW = date(2026, 1, 10)


def plain(words: str) -> str:
    return words.replace(THIN, " ")


def firings(minutes: list[float], **known: object) -> list[FiringWork]:
    """A firing every third day from the day of the new elements on."""
    return [
        FiringWork(
            firing_id=place,
            number=place,
            started_at=datetime(2026, 1, 10, 8) + timedelta(days=3 * (place - 1)),
            climb_min=value,
            **{"climb_demand": 1.0, "program": "six", "program_words": "Glaze 6", **known},  # type: ignore[arg-type]
        )
        for place, value in enumerate(minutes, start=1)
    ]


def ageing(to: float, n: int = 40, noise: float = 0.5) -> KilnWear:
    """48 min when new, rising evenly to ``to`` times that."""
    random = np.random.default_rng(5)
    minutes = 48 * np.linspace(1.0, to, n) + random.normal(0, noise, n)
    return judge_wear(firings(minutes.tolist()), NEW)


def test_half_as_long_again_is_time_to_change() -> None:
    """The sentence of a worked example: 71 min where it was 48, so 1.48; a warning below 1.5."""
    minutes = [48.0] * 5 + [55, 60, 64, 68] + [71.0] * 3
    climb = judge_wear(firings(minutes), NEW).climb
    assert (climb.baseline, climb.now) == (48, 71)
    assert climb.state == "warn"
    assert plain(say_climb(climb)) == (
        "From 1000 to 1150 °C now takes 71 min, 48 min when the elements were new: half as long "
        "again. Elements +10 % in resistance is the usual point to change them (published); have "
        "them measured by a qualified person."
    )
    assert plain(say_climb(climb, "F")).startswith("From 1832 to 2102 °F now takes 71 min")
    changed = judge_wear(firings([*minutes, 73, 73, 73]), NEW).climb
    assert changed.state == "change"
    assert "Time to change them." in say_climb(changed)


def test_an_ageing_kiln_is_told_with_its_interval_and_its_trend() -> None:
    climb = ageing(1.4).climb
    assert climb.state == "warn"
    assert climb.ratio is not None
    assert climb.ratio_low is not None
    assert climb.ratio_high is not None
    assert climb.ratio_low < 1.37 < climb.ratio_high
    assert climb.ratio == pytest.approx(1.37, abs=0.03)
    # 40 % of 48 min over 39 firings.
    assert climb.per_ten == pytest.approx(48 * 0.4 / 39 * 10, abs=0.15)
    assert climb.sure
    assert "more than chance, over 40 firings" in say_trend(climb)


def test_a_kiln_that_does_not_age_is_left_in_peace() -> None:
    climb = ageing(1.0, noise=1.5).climb
    assert climb.state == "steady"
    assert not climb.sure
    assert "about the same" in say_climb(climb)
    assert "no more than chance" in say_trend(climb)


def test_seven_firings_are_too_few() -> None:
    climb = judge_wear(firings([48.0] * 7), NEW).climb
    assert climb.state == "unknown"
    assert say_missing(climb) == "not known yet: 7 of 8 firings that can be compared"
    assert climb.ratio is None
    assert judge_wear(firings([48.0] * 8), NEW).climb.state == "steady"
    asked_more = judge_wear(firings([48.0] * 8), NEW, Limits({"trend_firings": 12})).climb
    assert (asked_more.state, asked_more.needed) == ("unknown", 12)


def test_the_baseline_is_that_of_the_new_elements() -> None:
    old = [
        FiringWork(900 + n, 900 + n, datetime(2025, 11, 1) + timedelta(days=n), climb_min=80.0,
                   climb_demand=1.0)
        for n in range(10)
    ]  # fmt: skip
    wear = judge_wear([*old, *firings([48.0] * 9)], NEW)
    assert wear.firings == 9
    assert wear.climb.baseline == 48
    assert len(wear.climb.earlier) == 10
    assert [point.since_change for point in wear.climb.points] == list(range(1, 10))
    assert judge_wear([*old, *firings([48.0] * 9)]).climb.baseline == 80


def test_a_controlled_ramp_is_not_taken_for_wear() -> None:
    """60 °C/h takes 150 min however strong the elements are."""
    assert planned_climb_min([(150, 900, 0), (60, 1222, 10)]) == 150
    climb = judge_wear(firings([150.5] * 12, climb_demand=None, planned_min=150.0), NEW).climb
    assert climb.state == "controlled"
    assert "keeps to it" in say_climb(climb)
    behind = judge_wear(
        firings([150.0] * 6 + [170.0, 190, 200, 200, 200], climb_demand=0.8, planned_min=150.0), NEW
    ).climb
    assert behind.state == "warn"
    assert "have lost more than that" in say_climb(behind)


def test_only_like_is_compared_with_like() -> None:
    """Two programs in turn: the one with more firings is told, and the other left out."""
    slow = firings([150.0] * 9, climb_demand=None, planned_min=150.0)
    quick = firings([100.0] * 11, climb_demand=None, planned_min=99.6)
    both = sorted([*slow, *quick], key=lambda firing: firing.started_at)
    climb = judge_wear(both, NEW).climb
    assert climb.group == "where the program asks for 100 min"
    assert len(climb.points) == 11
    assert climb.baseline == 100


def test_what_a_program_asks_for_between() -> None:
    assert planned_climb_min([(100, 600, 0), (160, 1100, 0), (60, 1205, 15), (None, 1000, 0)]) == (
        100 / 160 * 60 + 50 / 60 * 60
    )
    assert planned_climb_min([(120, 1050, 30), (60, 1200, 0)]) == 25 + 30 + 100
    assert planned_climb_min([(100, 600, 0), (None, 1205, 0)]) is None, "as fast as it goes"
    assert planned_climb_min([(100, 1060, 0)]) is None, "a bisque never gets there"
    assert planned_climb_min([]) is None


def test_energy_and_the_power_of_a_hold_are_told_likewise() -> None:
    work = [
        FiringWork(n, n, datetime(2026, 1, 10) + timedelta(days=n), "six", "Glaze 6",
                   hold_duty=0.60 + 0.01 * n, kwh=60.0 + n)
        for n in range(11)
    ]  # fmt: skip
    wear = judge_wear(work, NEW)
    assert plain(say_series(wear.energy)) == (
        "A firing of Glaze 6 now takes 69 kWh, 62 kWh with new elements: 11 % more."
    )
    assert plain(say_series(wear.hold)) == (
        "In the hold of Glaze 6 the elements are now on 69 % of the time, 62 % when new: 11 % more."
    )
    assert say_missing(wear.climb).startswith("not known yet: 0 of 8")


def test_thousands_of_firings_are_gathered_before_they_are_compared() -> None:
    climb = ageing(1.3, n=3000).climb
    assert climb.per_ten == pytest.approx(48 * 0.3 / 2999 * 10, rel=0.05)


# The sensor against the cones.


def read_by_cones(per_firing_c: float, n: int = 24) -> list[OffsetOfFiring]:
    random = np.random.default_rng(8)
    found = []
    for place in range(1, n + 1):
        shift = per_firing_c * place + random.normal(0, 1.0)
        # The bottom, 12 °C behind, is read only now and then.
        levels = [(1, 6 + shift), (2, 0 + shift), (3, -12 + shift)][: 3 if place % 3 == 0 else 2]
        found.append(OffsetOfFiring(place, tuple(levels)))
    return found


def test_a_sensor_that_reads_lower_and_lower_is_told() -> None:
    drift = judge_drift(read_by_cones(0.5))
    assert drift.per_ten_c == pytest.approx(5.0, abs=0.6)
    assert drift.sure
    told = say_drift(drift, "K")
    assert "fires hotter than it says" in told
    assert "Type K usually drifts this way" in told
    assert "Type K" not in say_drift(drift, "S")
    assert "°F every ten firings" in say_drift(drift, "S", "F")


def test_a_level_read_now_and_then_is_no_drift() -> None:
    drift = judge_drift(read_by_cones(0.0))
    assert not drift.sure
    assert "by more than chance" in say_drift(drift)
    assert "5 of 8 firings" in say_drift(judge_drift(read_by_cones(0.0, 5)))
