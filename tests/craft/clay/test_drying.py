"""What is learned of drying from a studio's own runs, and hours of work laid over nights."""

from datetime import date, datetime

import pytest

from studiolog.craft.clay.bench_hours import BenchHours, wall_hours, work_within
from studiolog.craft.clay.drying import DriedRun, DryingTimes, Stood, say_basis, stated_hours
from studiolog.problems import UserProblem


def runs(count: int, hours: float, cover: str = "loose", form: int | None = None) -> list[DriedRun]:
    return [DriedRun((Stood(hours, cover),), form) for _ in range(count)]


def test_without_history_common_practice_is_said_to_be_that() -> None:
    hours = DryingTimes().hours("workable", "loose")
    assert hours.median_h == pytest.approx(30)  # 6 h in the open, five times as slowly
    assert say_basis(hours, "loose") == "common practice, no run of yours yet"
    assert stated_hours("workable", "open", "damp").median_h == pytest.approx(6 * 1.7)


def test_own_runs_move_the_hours_the_further_the_more_there_are() -> None:
    two = DryingTimes(workable=runs(2, 60)).hours("workable", "loose")
    many = DryingTimes(workable=runs(40, 60)).hours("workable", "loose")
    assert 30 < two.median_h < many.median_h < 60
    assert many.median_h == pytest.approx(60, rel=0.02)
    assert say_basis(two, "loose") == "from 2 runs loosely in plastic"


def test_what_stands_under_one_cover_tells_a_little_of_another() -> None:
    drying = DryingTimes(workable=runs(6, 60))
    open_air = drying.hours("workable", "open")
    assert 6 < open_air.median_h < 12
    assert "moved by 6 runs under others" in say_basis(open_air, "open")


def test_a_form_that_stiffens_sooner_is_told_apart() -> None:
    drying = DryingTimes(workable=[*runs(8, 30, form=1), *runs(8, 10, form=2)])
    thin = drying.hours("workable", "loose", form_id=2)
    assert thin.median_h < drying.hours("workable", "loose", form_id=1).median_h
    assert say_basis(thin, "loose") == "from 8 runs of this form loosely in plastic"


def test_hours_set_for_a_form_hold_whatever_was_learned() -> None:
    drying = DryingTimes(workable=runs(8, 30))
    said = drying.hours("workable", "loose", form_id=1, set_h=12)
    assert said.median_h == pytest.approx(12)
    assert drying.hours("workable", "open", set_h=12).median_h == pytest.approx(12 / 5)
    assert say_basis(said, "loose") == "as set for this form, loosely in plastic"


def test_work_stops_at_night_and_on_days_off() -> None:
    bench = BenchHours(9, 6, "12345", ((date(2026, 11, 16), date(2026, 11, 17)),))
    friday = datetime(2026, 11, 13, 14)
    # One hour is left on Friday; Monday and Tuesday are days away; one more is Wednesday, 10.
    assert bench.done_at(friday, 60) == datetime(2026, 11, 13, 15)
    assert bench.done_at(friday, 120) == datetime(2026, 11, 18, 10)
    assert bench.next_at_bench(datetime(2026, 11, 12, 3)) == datetime(2026, 11, 12, 9)
    assert bench.next_day(friday) == datetime(2026, 11, 18, 9)
    assert not bench.at_bench(datetime(2026, 11, 14, 10))
    with pytest.raises(UserProblem, match="more than 0"):
        BenchHours(9, 0)


def test_hours_by_the_clock_and_hours_at_the_bench() -> None:
    assert wall_hours(360, 6) == 6
    assert wall_hours(361, 6) == pytest.approx(24 + 1 / 60)
    assert work_within(24 + 2, 6) == 8
    assert work_within(20, 6) == 6
