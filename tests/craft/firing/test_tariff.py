"""Prices by the hour of the week: no hour without one, none twice; costs that add up."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.firing.energy import PowerSpread, spread_evenly
from studiolog.craft.firing.tariff import (
    TariffBand,
    cost_energy,
    find_cheapest_start,
    price_stretches,
    prices_of_week,
)
from studiolog.craft.firing.tariff_words import read_days, read_hours, write_days, write_hours
from studiolog.craft.money import add_up
from studiolog.craft.words import TARIFF_DAYS
from studiolog.problems import UserProblem
from tests.wandering import WANDERING

few = settings(max_examples=400 if WANDERING else 25, deadline=None)

USUAL = Decimal("0.3")
NIGHT = TariffBand(Decimal("0.20"), "every", 21 * 60 + 30, 6 * 60)
MONDAY = datetime(2026, 11, 9)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment of the week from Monday 9 November on."""
    return MONDAY + timedelta(days=day, hours=hour, minutes=minute)


def price_at(tariff: list[TariffBand], base: Decimal | None, when: datetime) -> Decimal | None:
    """What a kWh costs in a minute."""
    (only,) = price_stretches(tariff, base, when, when + timedelta(minutes=1))
    return only.per_kwh


bands = st.builds(
    TariffBand,
    per_kwh=st.integers(0, 60).map(lambda cents: Decimal(cents) / 100),
    days=st.sampled_from(["every", "workdays", "weekends"]),
    starts_min=st.integers(0, 1439),
    ends_min=st.integers(1, 1440),
    valid_from=st.sampled_from([None, date(2026, 11, 9), date(2026, 11, 12)]),
)
tariffs = st.lists(bands, max_size=4).map(tuple)
moments = st.integers(0, 14 * 1440).map(lambda minute: MONDAY + timedelta(minutes=minute))


def plain_price(
    tariff: tuple[TariffBand, ...], base: Decimal | None, when: datetime
) -> Decimal | None:
    """The rule once more, minute by minute: the newest set, in it the fewest hours, the last."""
    starts = [b.valid_from or date.min for b in tariff if (b.valid_from or date.min) <= when.date()]
    best: tuple[int, Decimal] | None = None
    for band in tariff:
        if not starts or (band.valid_from or date.min) != max(starts):
            continue
        length = band.ends_min - band.starts_min
        length = length if length > 0 else length + 1440
        days = {"every": range(7), "workdays": range(5), "weekends": range(5, 7)}[band.days]
        for back in (0, 1):  # a band of yesterday may reach into today
            day = when.date() - timedelta(days=back)
            begins = datetime.combine(day, datetime.min.time()) + timedelta(minutes=band.starts_min)
            inside = begins <= when < begins + timedelta(minutes=length)
            if inside and day.weekday() in days:
                weight = length * len(days)
                if best is None or weight <= best[0]:
                    best = (weight, band.per_kwh)
    return base if best is None else best[1]


@few
@given(tariffs, moments)
def test_the_price_of_a_minute_is_as_the_rule_says(
    tariff: tuple[TariffBand, ...], when: datetime
) -> None:
    assert price_at(tariff, USUAL, when) == plain_price(tariff, USUAL, when)


@few
@given(tariffs)
def test_the_week_is_parted_without_hole_or_overlap(tariff: tuple[TariffBand, ...]) -> None:
    stretches = price_stretches(tariff, None, MONDAY, MONDAY + timedelta(days=7))
    assert stretches[0].starts_at == MONDAY
    assert stretches[-1].ends_at == MONDAY + timedelta(days=7)
    for one, following in pairwise(stretches):
        assert one.ends_at == following.starts_at
        assert one.per_kwh != following.per_kwh
    for one in stretches:
        for when in (one.starts_at, one.ends_at - timedelta(minutes=1)):
            assert one.per_kwh == plain_price(tariff, None, when)


spreads = st.tuples(
    st.integers(0, 600), st.lists(st.integers(0, 900), min_size=1, max_size=30)
).map(
    lambda drawn: PowerSpread(
        tuple(float(drawn[0] + 900 * place) for place in range(len(drawn[1]) + 1)),
        tuple((value + 1) / (sum(drawn[1]) + len(drawn[1])) for value in drawn[1]),
        True,
    )
)


@few
@given(tariffs, spreads, moments, st.floats(0, 500), st.floats(0, 500))
def test_more_kwh_never_cost_less(
    tariff: tuple[TariffBand, ...], spread: PowerSpread, start: datetime, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    less, more = (cost_energy(kwh, spread, start, tariff, USUAL).cost for kwh in (low, high))
    assert less is not None
    assert more is not None
    assert less <= more


@few
@given(tariffs, moments, st.floats(0.5, 30), st.floats(0.05, 0.95))
def test_the_costs_of_a_split_firing_add_up(
    tariff: tuple[TariffBand, ...], start: datetime, hours: float, where: float
) -> None:
    whole = spread_evenly(0.0, hours)
    first = spread_evenly(0.0, hours * where)
    second = spread_evenly(hours * where, hours * (1 - where))
    assert whole is not None
    assert first is not None
    assert second is not None
    told = cost_energy(100.0, whole, start, tariff, USUAL)
    parts = [
        cost_energy(100.0 * where, first, start, tariff, USUAL),
        cost_energy(100.0 * (1 - where), second, start, tariff, USUAL),
    ]
    assert told.cost == pytest.approx(
        add_up(part.cost or Decimal(0) for part in parts), abs=Decimal("0.001")
    )
    assert sum(part.kwh for part in told.parts) == pytest.approx(100.0)


@few
@given(tariffs, spreads, moments)
def test_no_start_within_a_day_is_cheaper_than_the_cheapest(
    tariff: tuple[TariffBand, ...], spread: PowerSpread, start: datetime
) -> None:
    best = find_cheapest_start(50.0, spread, tariff, USUAL, start)
    costs = [
        cost_energy(50.0, spread, start + timedelta(hours=h), tariff, USUAL).cost or Decimal(0)
        for h in range(0, 24, 5)
    ]
    least = best.cost if best is not None else costs[0]
    if start.minute % 15 == 0:
        assert least <= min(costs) + Decimal("0.00001")
    if best is not None:
        assert best.saving > 0
        assert start <= best.starts_at <= start + timedelta(hours=24)


def test_a_night_that_begins_on_friday_ends_on_saturday() -> None:
    workdays = TariffBand(Decimal("0.2"), "workdays", 22 * 60, 6 * 60)
    assert price_at([workdays], USUAL, at(5, 5)) == Decimal("0.2"), "Saturday, five in the morning"
    assert price_at([workdays], USUAL, at(5, 23)) == USUAL
    assert price_at([workdays], USUAL, at(7, 5)) == USUAL, "Sunday's night is none of the workdays'"


def test_the_band_with_the_fewest_hours_counts() -> None:
    weekend = TariffBand(Decimal("0.25"), "weekends")
    peak = TariffBand(Decimal("0.5"), "workdays", 17 * 60, 20 * 60)
    tariff = (NIGHT, weekend, peak, TariffBand(Decimal("0.33")))
    assert [price_at(tariff, None, at(day, hour)) for day, hour in ((0, 12), (0, 18), (0, 23))] == [
        Decimal("0.33"), Decimal("0.5"), Decimal("0.2"),
    ]  # fmt: skip
    assert price_at(tariff, None, at(6, 18)) == Decimal("0.25")


def test_old_firings_keep_the_price_of_their_day() -> None:
    since_may = TariffBand(Decimal("0.40"), valid_from=date(2026, 5, 1))
    tariff = (NIGHT, since_may)
    assert price_at(tariff, USUAL, datetime(2026, 4, 30, 23, 0)) == Decimal("0.2")
    assert price_at(tariff, USUAL, datetime(2026, 5, 1, 0, 0)) == Decimal("0.4"), (
        "the new set has no night"
    )
    # A firing over the midnight of the change pays both.
    spread = spread_evenly(0.0, 4.0)
    assert spread is not None
    told = cost_energy(40.0, spread, datetime(2026, 4, 30, 22, 0), tariff, USUAL)
    assert told.cost == 20 * Decimal("0.2") + 20 * Decimal("0.4")


def test_hours_without_a_price_are_counted_and_give_no_cost() -> None:
    spread = spread_evenly(0.0, 10.0)
    assert spread is not None
    told = cost_energy(50.0, spread, at(0, 20), [NIGHT], None)
    assert told.cost is None
    assert told.unpriced_kwh == pytest.approx(7.5), "an hour and a half of ten before 21:30"
    assert [part.kwh for part in told.parts] == [pytest.approx(42.5)]
    assert find_cheapest_start(50.0, spread, [NIGHT], None, at(0, 20)) is None


def test_one_price_all_day_has_no_cheapest_start() -> None:
    spread = spread_evenly(0.0, 10.0)
    assert spread is not None
    assert find_cheapest_start(50.0, spread, [], USUAL, at(0, 7)) is None


def test_days_with_the_same_prices_stand_together() -> None:
    weekend = TariffBand(Decimal("0.25"), "weekends", 6 * 60, 21 * 60 + 30)
    later = TariffBand(Decimal("0.9"), valid_from=date(2027, 1, 1))
    week = prices_of_week((NIGHT, weekend, later), Decimal("0.34"), date(2026, 11, 9))
    assert [one.days for one in week] == [(0, 1, 2, 3, 4), (5, 6)]
    assert week[0].stretches == (
        (0, 360, Decimal("0.2")),
        (360, 1290, Decimal("0.34")),
        (1290, 1440, Decimal("0.2")),
    )
    assert week[1].stretches[1] == (360, 1290, Decimal("0.25"))
    assert prices_of_week((later,), None, date(2026, 11, 9))[0].stretches == ((0, 1440, None),)
    assert len(prices_of_week((NIGHT, later), USUAL, date(2027, 2, 1))) == 1


@pytest.mark.parametrize(
    ("typed", "minutes", "shown"),
    [
        ("21:30 to 6:00", (1290, 360), "21:30 to 6:00"),
        ("9.30pm-6am", (1290, 360), "21:30 to 6:00"),
        ("from 22 until 6", (1320, 360), "22:00 to 6:00"),
        ("17–20", (1020, 1200), "17:00 to 20:00"),
        ("22 to midnight", (1320, 1440), "22:00 to 24:00"),
        ("24:00 to 6", (0, 360), "0:00 to 6:00"),
        ("noon to 12am", (720, 1440), "12:00 to 24:00"),
        ("", (0, 1440), "all day"),
        ("6 to 6", (0, 1440), "all day"),
    ],
)
def test_hours_are_typed_as_on_the_bill(typed: str, minutes: tuple[int, int], shown: str) -> None:
    assert read_hours(typed) == minutes
    assert write_hours(*minutes) == shown
    assert read_hours(shown) == minutes


@pytest.mark.parametrize(
    "typed", ["25 to 6", "night", "6", "13pm to 2", "24:30 to 6", "6 to 8 to 9"]
)
def test_what_is_no_stretch_of_hours_is_refused(typed: str) -> None:
    with pytest.raises(UserProblem, match="is no stretch of hours"):
        read_hours(typed)


def test_days_are_typed_as_on_the_bill() -> None:
    said = ("", "Every day", "Mon–Fri", "weekdays", "Sat & Sun", "Weekend", "Monday to Friday")
    assert [read_days(text) for text in said] == [
        "every", "every", "workdays", "workdays", "weekends", "weekends", "workdays",
    ]  # fmt: skip
    assert all(read_days(write_days(key)) == key for key in TARIFF_DAYS)
    with pytest.raises(UserProblem, match="“Tuesdays” is not known as days"):
        read_days("Tuesdays")
