"""Energy and cost against an example worked by hand.

The kiln, its readings and its prices are invented; the arithmetic is written out beside each
figure. The shares of full power over a firing with no log (0.5 bisque, 0.65 glaze, a quarter
either way) are *common practice*; a kWh being a kilowatt for an hour is the definition of the unit
(BIPM, The International System of Units, 9th edition, table 8: 1 h = 3600 s).

    A kiln of 8 kW and 200 l. Starts Friday 13 November 2026 at 20:00.
    Nights (22:00 to 6:00, every day) 0.20 a kWh; otherwise 0.34.
    Weekends from 6:00 to 22:00 0.28.

    Duty by the log, on the way up and in the hold:
        20:00–22:00   2 h at 30 %   0.6 h of full power
        22:00–02:00   4 h at 50 %   2.0 h
        02:00–06:00   4 h at 80 %   3.2 h
        06:00–08:00   2 h at 90 %   1.8 h      (Saturday: the weekend's price)
                                    7.6 h × 8 kW = 60.8 kWh

    Day      0.6 h × 8 kW =  4.8 kWh × 0.34 = 1.632
    Night    5.2 h × 8 kW = 41.6 kWh × 0.20 = 8.320
    Weekend  1.8 h × 8 kW = 14.4 kWh × 0.28 = 4.032
                            60.8 kWh         13.984
    A litre: 13.984 / 200 = 0.06992. A piece, of 64: 13.984 / 64 = 0.2185.
"""

from datetime import datetime
from decimal import Decimal

import numpy as np
import pytest

from studiolog.craft.firing.cleaning import clean_curve
from studiolog.craft.firing.curve_work import tell_curve_work
from studiolog.craft.firing.energy import (
    EnergyFacts,
    spread_by_quarter,
    spread_evenly,
    tell_energy,
)
from studiolog.craft.firing.tariff import (
    PricedPart,
    TariffBand,
    cost_energy,
    find_cheapest_start,
)

STARTS = datetime(2026, 11, 13, 20, 0)
POWER_KW, VOLUME_L, PIECES = 8.0, 200.0, 64
DAY = Decimal("0.34")
BANDS = (
    TariffBand(Decimal("0.20"), "every", 22 * 60, 6 * 60),
    TariffBand(Decimal("0.28"), "weekends", 6 * 60, 22 * 60),
)
# The end of each stretch, hours after the start, and its duty in per cent.
STRETCHES = ((2.0, 30.0), (6.0, 50.0), (10.0, 80.0), (12.0, 90.0))


def log_of_the_example() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Seconds, °C and per cent, every 10 s: heating for twelve hours, then cooling for ten."""
    t = np.arange(0.0, 22 * 3600 + 1, 10.0)
    heat = np.interp(t, np.array([0.0, 11.5, 12.0, 22.0]) * 3600, [20.0, 1200.0, 1200.0, 100.0])
    duty = np.zeros(t.size)
    for ends_h, percent in reversed(STRETCHES):
        duty[t < ends_h * 3600] = percent
    return t, heat, duty


def test_energy_and_cost_are_those_worked_by_hand() -> None:
    t, heat, duty = log_of_the_example()
    work = tell_curve_work(clean_curve(t, heat), [(t, duty)], STARTS)
    assert work is not None
    assert work.duty_h == pytest.approx(7.6, abs=0.002)
    energy = tell_energy(EnergyFacts(power_kw=POWER_KW, duty_h=work.duty_h))
    assert energy is not None
    assert (energy.basis, energy.kwh) == ("duty log", pytest.approx(60.8, abs=0.02))

    spread = spread_by_quarter(work.by_quarter, STARTS)
    assert spread is not None
    told = cost_energy(60.8, spread, STARTS, BANDS, DAY)
    assert told.cost == pytest.approx(Decimal("13.984"), abs=Decimal("0.01"))
    assert [(round(p.kwh, 1), p.per_kwh) for p in told.parts] == [
        (41.6, Decimal("0.20")),
        (14.4, Decimal("0.28")),
        (4.8, Decimal("0.34")),
    ]
    assert told.cost is not None
    assert float(told.cost) / VOLUME_L == pytest.approx(0.06992, abs=1e-4)
    assert float(told.cost) / PIECES == pytest.approx(0.2185, abs=1e-4)


def test_without_a_log_of_the_duty_the_power_is_taken_as_even() -> None:
    # 8 kW × 12 h × 0.65 = 62.4 kWh, a quarter either way: 46.8 to 78.0.
    energy = tell_energy(EnergyFacts(power_kw=POWER_KW, heating_h=12.0))
    assert energy is not None
    assert (energy.basis, energy.kwh, energy.low, energy.high) == (
        "estimate",
        pytest.approx(62.4),
        pytest.approx(46.8),
        pytest.approx(78.0),
    )
    # 2 of 12 hours by day, 8 at night, 2 on the weekend: 10.4, 41.6 and 10.4 kWh.
    # 10.4 × 0.34 + 41.6 × 0.20 + 10.4 × 0.28 = 3.536 + 8.32 + 2.912 = 14.768
    spread = spread_evenly(0.0, 12.0)
    assert spread is not None
    told = cost_energy(62.4, spread, STARTS, BANDS, DAY)
    assert told.cost == Decimal("14.768")
    assert told.parts == (
        PricedPart(pytest.approx(41.6), Decimal("0.20")),
        PricedPart(pytest.approx(10.4), Decimal("0.28")),
        PricedPart(pytest.approx(10.4), Decimal("0.34")),
    )


def test_the_cheapest_start_is_the_one_found_by_hand() -> None:
    # Wednesday noon, 8 hours of even power, 52 kWh: a night band of 8 hours takes it whole if it
    # starts at 22:00. At noon: 8 h by day, 52 × 0.34 = 17.68; at 22:00: 52 × 0.20 = 10.40.
    spread = spread_evenly(0.0, 8.0)
    assert spread is not None
    noon = datetime(2026, 11, 11, 12, 0)
    best = find_cheapest_start(52.0, spread, BANDS, DAY, noon)
    assert best is not None
    assert best.starts_at == datetime(2026, 11, 11, 22, 0)
    assert (best.cost, best.saving) == (Decimal("10.40"), Decimal("7.28"))


def test_where_the_clocks_change_an_hour_may_be_priced_as_its_neighbour() -> None:
    """Central Europe, 29 March 2026: at 2:00 (UTC+1) the clocks are set to 3:00 (UTC+2).

    Night from 22:00 to 6:00 is 21:00 to 4:00 UTC, 7 hours. A firing of even power from 20:00
    (19:00 UTC) for 12 hours ends at 7:00 UTC, which the clock calls 9:00. So 2 h by day (19–21
    UTC), 7 h at night (21–4 UTC), 3 h by day (4–7 UTC). Counted on from the start without the
    change it is 2, 8 and 2 hours: one hour of power is priced as night that was day.
    """
    spread = spread_evenly(0.0, 12.0)
    assert spread is not None
    night = (TariffBand(Decimal("0.20"), "every", 22 * 60, 6 * 60),)
    told = cost_energy(48.0, spread, datetime(2026, 3, 28, 20, 0), night, DAY)
    # 4 kWh an hour: 32 at night and 16 by day; by the changed clock 28 and 20.
    assert told.cost == 32 * Decimal("0.20") + 16 * DAY
    by_the_changed_clock = 28 * Decimal("0.20") + 20 * DAY
    assert told.cost is not None
    assert by_the_changed_clock - told.cost == 4 * (DAY - Decimal("0.20"))


def test_a_meter_goes_before_a_log_and_a_log_before_an_estimate() -> None:
    everything = EnergyFacts(
        before_kwh=12345.6, after_kwh=12401.8, power_kw=POWER_KW, duty_h=7.6, heating_h=12.0
    )
    metered = tell_energy(everything)
    assert metered is not None
    # 12401.8 − 12345.6 = 56.2
    assert (metered.basis, metered.low) == ("meter", pytest.approx(56.2))
    assert metered.kwh == metered.high == metered.low
