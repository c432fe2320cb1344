"""What a curve says of its kiln's work: known by how the curve was drawn."""

from datetime import datetime
from typing import Any

import numpy as np
import pytest

from studiolog.craft.firing.cleaning import CleanCurve, clean_curve
from studiolog.craft.firing.curve_work import CurveWork, tell_curve_work

Points = list[tuple[float, float]]

# To 1000 in 8 h, 1000 to 1150 in 1.5 h, to 1200 in half an hour, held 30 min, down in 10 h.
GLAZE: Points = [(0, 20), (8, 1000), (9.5, 1150), (10, 1200), (10.5, 1200), (20.5, 100)]


def log(points: Points, step_s: float = 60.0) -> tuple[Any, Any]:
    hours, temps = zip(*points, strict=True)
    t = np.arange(0.0, hours[-1] * 3600 + 1, step_s)
    return t, np.interp(t, np.asarray(hours) * 3600, temps)


def tell(
    points: Points, duty: Points | None = None, step_s: float = 60.0, at: datetime | None = None
) -> CurveWork:
    duties = [log(duty, step_s)] if duty else []
    work = tell_curve_work(clean_curve(*log(points, step_s)), duties, at)
    assert work is not None
    return work


def typed(hours: list[float], temps: list[float]) -> CleanCurve:
    t, c = np.array(hours) * 3600, np.array(temps)
    return CleanCurve(t, c, t, c, np.ones(t.size, dtype=bool), ("",) * t.size)


def test_the_climb_and_the_heating_are_as_the_kiln_went() -> None:
    work = tell(GLAZE)
    assert work.climb_min == pytest.approx(90, abs=0.1)
    # The top is left when the curve is 5 °C under it: 5 of 1100 degrees of a ten-hour cooling.
    assert work.heating_h == pytest.approx(10.5 + 10 * 5 / 1100, abs=0.04)
    assert (work.duty_h, work.hold_duty, work.climb_demand, work.by_quarter) == (
        None, None, None, ()
    )  # fmt: skip


def test_a_thin_log_says_the_same_as_a_dense_one() -> None:
    dense, thin = tell(GLAZE), tell(GLAZE, step_s=600)
    assert thin.climb_min == pytest.approx(dense.climb_min, abs=0.1)
    assert thin.heating_h == pytest.approx(dense.heating_h, abs=0.02)


def test_a_silence_on_the_way_up_hides_the_climb_and_one_elsewhere_does_not() -> None:
    t, c = log(GLAZE)

    def without(from_h: float, to_h: float) -> float | None:
        kept = (t < from_h * 3600) | (t > to_h * 3600)
        work = tell_curve_work(clean_curve(t[kept], c[kept]))
        return work.climb_min if work is not None else None

    assert without(8.5, 9) is None
    assert without(7.9, 8.2) is None, "the passing of 1000 itself was not seen"
    assert without(4, 5) == pytest.approx(90, abs=0.1)


def test_a_firing_that_never_came_to_1150_has_no_climb() -> None:
    assert tell([(0, 20), (9, 1060), (9.2, 1060), (20, 100)]).climb_min is None


def test_a_delayed_start_is_no_heating() -> None:
    late = tell([(0, 20), *((hours + 6, temp) for hours, temp in GLAZE)])
    assert late.begins_h == pytest.approx(6, abs=0.05)
    assert late.heating_h == pytest.approx(tell(GLAZE).heating_h, abs=0.05)


def test_heating_counts_from_the_start_where_the_first_reading_by_hand_came_later() -> None:
    work = tell_curve_work(typed([1, 3, 6, 8, 9.5, 10], [110, 350, 750, 1000, 1150, 1200]))
    assert work is not None
    assert (work.begins_h, work.heating_h) == (0, pytest.approx(10))


def test_full_power_hours_are_the_area_under_the_duty() -> None:
    # Half power for 8 h, full for 2.5 h, then a cooling under a tenth of the power for 4 h.
    duty: Points = [(0, 50), (8, 50), (8.001, 100), (10.5, 100), (10.501, 10), (14.5, 10),
                    (14.501, 0), (20.5, 0)]  # fmt: skip
    work = tell(GLAZE, duty)
    assert work.duty_h == pytest.approx(8 * 0.5 + 2.5 + 4 * 0.1, rel=0.003)
    assert work.climb_demand == pytest.approx(1.0, abs=0.02)
    assert work.hold_duty == pytest.approx(0.95, abs=0.06)
    assert work.cooling_h == pytest.approx(4, abs=0.1)
    assert work.duty_gap_h == 0
    assert sum(work.by_quarter) == pytest.approx(work.duty_h * 3600, abs=2)


def test_a_share_says_what_a_percentage_says() -> None:
    percent: Points = [(0, 40), (10.5, 80), (10.6, 0), (20.5, 0)]
    share = [(hours, value / 100) for hours, value in percent]
    one, other = tell(GLAZE, percent), tell(GLAZE, share)
    assert one.duty_h == pytest.approx(other.duty_h)
    assert one.by_quarter == other.by_quarter


def test_watts_are_no_share_of_full_power() -> None:
    assert tell(GLAZE, [(0, 4000), (10.5, 8000), (20.5, 0)]).duty_h is None


def test_a_duty_log_that_begins_late_says_nothing_of_the_whole() -> None:
    t, c = log(GLAZE)
    late = t >= 4 * 3600
    work = tell_curve_work(clean_curve(t, c), [(t[late], np.full(int(late.sum()), 60.0))])
    assert work is not None
    assert work.duty_h is None


def test_quarters_are_those_of_the_wall_clock() -> None:
    full: Points = [(0, 100), (10.5, 100), (10.501, 0), (20.5, 0)]
    work = tell(GLAZE, full, at=datetime(2026, 3, 4, 7, 10))
    # From 7:10 only five minutes of the first quarter are left.
    assert work.by_quarter[:3] == (300, 900, 900)


def test_three_readings_are_told_and_two_are_not() -> None:
    assert tell_curve_work(typed([0, 1, 2], [20, 400, 800])) is not None
    assert tell_curve_work(typed([0, 1], [20, 400])) is None
