"""What power costs by the hour of the week, and what a firing cost that ran through those hours.

Times are the studio's wall clock. A firing is counted on from its start: where the clocks change
while it runs, the hours after the change are priced as if they had not. At the most one hour's
power is then priced as its neighbour's.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Final

from studiolog.craft.firing.energy import PowerSpread
from studiolog.craft.money import add_up, exact

DAY_MIN: Final = 1440
WEEK_MIN: Final = 7 * DAY_MIN
_DAYS: Final = {"every": range(7), "workdays": range(5), "weekends": range(5, 7)}
_STEP_MIN: Final = 15
_NOTHING: Final = Decimal("0.00001")


@dataclass(frozen=True, slots=True)
class TariffBand:
    """A price of a kWh in some hours of some days, from a day on (None: since ever).

    Minutes from midnight; an end at or before the start is on the next day, and the band belongs
    to the day it begins on: "workdays, 22 to 6" ends on Saturday morning. ``days`` is a key of
    ``craft.words.TARIFF_DAYS``.
    """

    per_kwh: Decimal
    days: str = "every"
    starts_min: int = 0
    ends_min: int = DAY_MIN
    valid_from: date | None = None

    @property
    def length_min(self) -> int:
        """How long it is on one day."""
        return (self.ends_min - self.starts_min - 1) % DAY_MIN + 1

    @property
    def week_min(self) -> int:
        """Minutes of the week that it covers: the fewer, the more it counts."""
        return self.length_min * len(_DAYS[self.days])

    def covers(self, minute_of_week: int) -> bool:
        """Whether it holds in a minute counted from Monday, 0:00."""
        return any(
            (minute_of_week - day * DAY_MIN - self.starts_min) % WEEK_MIN < self.length_min
            for day in _DAYS[self.days]
        )


@dataclass(frozen=True, slots=True)
class PriceStretch:
    """A stretch of time with one price; ``per_kwh`` None where no price is known."""

    starts_at: datetime
    ends_at: datetime
    per_kwh: Decimal | None


@dataclass(frozen=True, slots=True)
class DayPrices:
    """Days of the week with the same prices: Monday is 0. Stretches of minutes with their price."""

    days: tuple[int, ...]
    stretches: tuple[tuple[int, int, Decimal | None], ...]


@dataclass(frozen=True, slots=True)
class PricedPart:
    """How many kWh went at which price."""

    kwh: float
    per_kwh: Decimal

    @property
    def cost(self) -> Decimal:
        """What they cost; the kWh taken to a millionth."""
        return exact(self.kwh) * self.per_kwh


@dataclass(frozen=True, slots=True)
class EnergyCost:
    """What the kWh of a firing cost: the cheapest first, and the kWh that have no price."""

    parts: tuple[PricedPart, ...]
    unpriced_kwh: float
    logged: bool

    @property
    def cost(self) -> Decimal | None:
        """The whole cost; None where a part has no price."""
        return None if self.unpriced_kwh > 0.0 else add_up(part.cost for part in self.parts)


def price_stretches(
    bands: Sequence[TariffBand], base: Decimal | None, starts_at: datetime, ends_at: datetime
) -> tuple[PriceStretch, ...]:
    """The time from one moment to another cut where the price changes, without hole or overlap.

    A kWh costs ``base`` where no band covers it, None without one. Of the bands that begin on the
    latest day not after it, the one with the fewest hours of the week counts; of two alike, the
    one given last.
    """
    found: list[PriceStretch] = []
    bands, here = tuple(bands), starts_at
    while here < ends_at:
        midnight = datetime.combine(here.date(), time())
        valid = _set_on(bands, here.date())
        for _, ends_min, price in _prices_of_day(valid, base, here.weekday()):
            border = min(midnight + timedelta(minutes=ends_min), ends_at)
            if border <= here:
                continue
            if found and found[-1].per_kwh == price:
                found[-1] = PriceStretch(found[-1].starts_at, border, price)
            else:
                found.append(PriceStretch(here, border, price))
            here = border
    return tuple(found)


def prices_of_week(
    bands: Sequence[TariffBand], base: Decimal | None, on: date
) -> tuple[DayPrices, ...]:
    """The prices that hold on a day, for the whole week: days that are alike stand together."""
    held = _set_on(tuple(bands), on)
    found: dict[tuple[tuple[int, int, Decimal | None], ...], list[int]] = {}
    for day in range(7):
        found.setdefault(_prices_of_day(held, base, day), []).append(day)
    return tuple(DayPrices(tuple(days), stretches) for stretches, days in found.items())


def cost_energy(
    kwh: float,
    spread: PowerSpread,
    starts_at: datetime,
    bands: Sequence[TariffBand],
    base: Decimal | None,
) -> EnergyCost:
    """What kWh cost that were used as ``spread`` says, in a firing that started at a moment."""
    begins = starts_at + timedelta(seconds=spread.edges_s[0])
    ends = starts_at + timedelta(seconds=spread.edges_s[-1])
    by_price: dict[Decimal | None, float] = defaultdict(float)
    for stretch in price_stretches(bands, base, begins, ends):
        first = spread.until((stretch.starts_at - starts_at).total_seconds())
        last = spread.until((stretch.ends_at - starts_at).total_seconds())
        by_price[stretch.per_kwh] += kwh * (last - first)
    return EnergyCost(
        tuple(
            PricedPart(used, price)
            for price, used in sorted(
                (price, used) for price, used in by_price.items() if price is not None
            )
            if used > 0.0
        ),
        by_price.get(None, 0.0),
        spread.logged,
    )


@dataclass(frozen=True, slots=True)
class CheapestStart:
    """When a firing costs least, what it costs then, and how much less that is."""

    starts_at: datetime
    cost: Decimal
    saving: Decimal


def find_cheapest_start(
    kwh: float,
    spread: PowerSpread,
    bands: Sequence[TariffBand],
    base: Decimal | None,
    from_at: datetime,
    within_h: float = 24.0,
) -> CheapestStart | None:
    """The cheapest start on a quarter hour within some hours, against starting at ``from_at``.

    The earliest of those that cost the same. None where a price is missing, or where no later
    start is cheaper.
    """
    now = cost_energy(kwh, spread, from_at, bands, base).cost
    if now is None:
        return None
    best: CheapestStart | None = None
    wait = (-from_at.minute) % _STEP_MIN
    start = from_at.replace(second=0, microsecond=0) + timedelta(minutes=wait)
    while start <= from_at + timedelta(hours=within_h):
        cost = cost_energy(kwh, spread, start, bands, base).cost
        if cost is None:
            return None
        least = now if best is None else best.cost
        if start >= from_at and cost < least - _NOTHING:
            best = CheapestStart(start, cost, now - cost)
        start += timedelta(minutes=_STEP_MIN)
    return best


def cost_span(
    kwh: float,
    spread: PowerSpread,
    bands: Sequence[TariffBand],
    base: Decimal | None,
    day: date,
) -> tuple[Decimal, Decimal] | None:
    """The least and the most that kWh cost by the quarter hour of a day they start at.

    Both are alike where the price is at all hours. None where an hour has no price.
    """
    midnight = datetime.combine(day, time())
    starts = (midnight + timedelta(minutes=minute) for minute in range(0, DAY_MIN, _STEP_MIN))
    costs = [cost_energy(kwh, spread, start, bands, base).cost for start in starts]
    known = [cost for cost in costs if cost is not None]
    return (min(known), max(known)) if len(known) == len(costs) else None


def say_minute(minute: int) -> str:
    """Minutes from midnight as the clock shows them: "21:30"; the end of the day is "24:00"."""
    return f"{minute // 60}:{minute % 60:02d}"


@lru_cache(maxsize=512)
def _set_on(bands: tuple[TariffBand, ...], day: date) -> tuple[TariffBand, ...]:
    """The bands that hold on a day: those that begin together, on the latest day not after it."""
    begun = [band for band in bands if band.valid_from is None or band.valid_from <= day]
    if not begun:
        return ()
    latest = max((band.valid_from or date.min) for band in begun)
    return tuple(band for band in begun if (band.valid_from or date.min) == latest)


@lru_cache(maxsize=128)
def _prices_of_day(
    valid: tuple[TariffBand, ...], base: Decimal | None, weekday: int
) -> tuple[tuple[int, int, Decimal | None], ...]:
    """The stretches of one day of the week, in minutes, with their prices; Monday is 0."""
    borders = sorted({DAY_MIN, *(b.starts_min for b in valid), *(b.ends_min for b in valid)} - {0})
    found: list[tuple[int, int, Decimal | None]] = []
    start = 0
    for border in borders:
        price = _price(valid, base, weekday * DAY_MIN + start)
        if found and found[-1][2] == price:
            found[-1] = (found[-1][0], border, price)
        else:
            found.append((start, border, price))
        start = border
    return tuple(found)


def _price(valid: Sequence[TariffBand], base: Decimal | None, minute: int) -> Decimal | None:
    least: TariffBand | None = None
    for band in valid:
        if band.covers(minute) and (least is None or band.week_min <= least.week_min):
            least = band
    return base if least is None else least.per_kwh
