"""What firings used and cost, each with its basis, and what is missing to tell it.

The figures are those of ``craft.firing.energy`` and ``craft.firing.tariff``; what stands here
gathers what they need, a few queries for any number of firings.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from statistics import median
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.energy import (
    EnergyFacts,
    EnergyUsed,
    MeterWords,
    PowerSpread,
    planned_heating_h,
    say_missing_energy,
    spread_by_quarter,
    spread_evenly,
    tell_energy,
)
from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.tariff import EnergyCost, TariffBand, cost_energy, price_stretches
from studiolog.craft.limits import Limits
from studiolog.craft.money import exact, share_of
from studiolog.craft.units import show_quantity
from studiolog.journal.firings import change_firing
from studiolog.journal.limits import read_limits
from studiolog.journal.studio import read_currency
from studiolog.journal.tables import in_chunks
from studiolog.journal.tariffs import read_bands
from studiolog.journal.writing import get
from studiolog.problems import UserProblem
from studiolog.records.facts import curve_fact
from studiolog.records.firings import Curve, Firing, FiringSegment
from studiolog.records.kilns import Kiln
from studiolog.records.pieces import Piece, Placement

_EARLIER = 5
# An offset of the meter or a rounded power is no reason to doubt a reading.
_DOUBT_ABOVE = 1.1
_A_MOMENT_H = 0.02
_LONGER = 1.05
NO_PRICE = (
    "No price of a kWh is given: add it on the kiln's page, under What a kWh costs. The energy is "
    "told without it."
)


@dataclass(frozen=True)
class FiringEnergy:
    """What one firing used and cost, with what is missing for the rest, in sentences.

    ``pieces`` stood in it, of which ``lost`` did not come through. ``hours_known`` is False where
    neither log nor program nor end says when the power was used. ``usual_kwh`` is the median of
    earlier firings of its program by the meter.
    """

    firing_id: int
    facts: EnergyFacts
    used: EnergyUsed | None
    cost: EnergyCost | None
    volume_l: float | None
    pieces: int
    lost: int
    missing: tuple[str, ...] = ()
    doubt: str = ""
    usual_kwh: float | None = None
    currency: str = ""

    @property
    def cost_value(self) -> Decimal | None:
        """What it cost; None where that can't be said."""
        return self.cost.cost if self.cost is not None else None

    @property
    def cost_between(self) -> tuple[Decimal, Decimal] | None:
        """The interval of the cost, from that of the energy; None where a meter says it."""
        cost, used = self.cost_value, self.used
        if cost is None or used is None or used.low == used.high or used.kwh <= 0.0:
            return None
        return cost * exact(used.low / used.kwh), cost * exact(used.high / used.kwh)

    @property
    def cost_per_l(self) -> Decimal | None:
        """Cost of a litre of the kiln."""
        return share_of(self.cost_value, self.volume_l)

    @property
    def cost_per_piece(self) -> Decimal | None:
        """Cost of each piece that stood in it."""
        return share_of(self.cost_value, self.pieces)

    @property
    def cost_per_good(self) -> Decimal | None:
        """Cost of each piece that came through; None where none was lost."""
        return share_of(self.cost_value, self.pieces - self.lost) if self.lost else None


def read_firing_energy(session: Session, firing_id: int) -> FiringEnergy:
    """What one firing used and cost. Raises `UserProblem` if it is gone."""
    get(session, Firing, firing_id)
    return read_energy_of(session, [firing_id], usual=True)[firing_id]


def read_energy_of(
    session: Session, firing_ids: Sequence[int], *, usual: bool = False
) -> dict[int, FiringEnergy]:
    """What some firings used and cost, by firing; those that are gone have no entry."""
    found: dict[int, FiringEnergy] = {}
    limits, currency = read_limits(session), read_currency(session)
    for some in in_chunks(firing_ids):
        rows = _firing_rows(session, some)
        bands = read_bands(session, {row.kiln_id for row in rows})
        loads = _loads(session, some)
        unlogged = [row.id for row in rows if row.heating_h is None or _ends_hot(row)]
        planned = _planned_hours(session, unlogged)
        for row in rows:
            energy = _tell(
                row,
                bands.get(row.kiln_id, ()),
                loads.get(row.id, (0, 0)),
                planned.get(row.id),
                limits,
                _usual(session, row) if usual else None,
            )
            found[row.id] = replace(energy, currency=currency)
    return found


def set_energy(session: Session, firing_id: int, words: MeterWords) -> None:
    """Keep what a meter said of a firing: kWh used, or its stand before and after, or nothing.

    Where only the stand before was kept, a lone number that is no less is the stand after.
    """
    firing = get(session, Firing, firing_id)
    before = firing.meter_before_kwh
    kwh = words.kwh
    waits = before is not None and firing.kwh is None and firing.meter_after_kwh is None
    if waits and before is not None and kwh is not None and kwh >= before:
        words = MeterWords(before_kwh=before, after_kwh=kwh)
    change_firing(
        session,
        firing_id,
        kwh=words.kwh,
        meter_before_kwh=words.before_kwh,
        meter_after_kwh=words.after_kwh,
    )


def _firing_rows(session: Session, firing_ids: Sequence[int]) -> Sequence[Any]:
    return session.execute(
        select(
            Firing.id,
            Firing.kiln_id,
            Firing.program_id,
            Firing.kind,
            Firing.started_at,
            Firing.ended_at,
            Firing.kwh,
            Firing.meter_before_kwh,
            Firing.meter_after_kwh,
            Kiln.power_kw,
            Kiln.volume_l,
            Kiln.tariff_per_kwh,
            curve_fact.c.begins_h,
            curve_fact.c.heating_h,
            curve_fact.c.duty_h,
            curve_fact.c.duty_gap_h,
            curve_fact.c.by_quarter,
            Curve.duration_s,
        )
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .outerjoin(curve_fact, curve_fact.c.firing_id == Firing.id)
        .outerjoin(Curve, (Curve.firing_id == Firing.id) & Curve.main)
        .where(Firing.id.in_(firing_ids))
    ).all()


def _ends_hot(row: Any) -> bool:
    """Whether the log ends before the top was left: the firing may still be going on."""
    if row.heating_h is None or row.duration_s is None:
        return False
    return bool(row.begins_h + row.heating_h >= row.duration_s / 3600.0 - _A_MOMENT_H)


def _loads(session: Session, firing_ids: Sequence[int]) -> dict[int, tuple[int, int]]:
    """Pieces that stood in each firing, and how many of them are lost."""
    counts: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    for firing_id, stage, pieces in session.execute(
        select(Placement.firing_id, Piece.stage, func.count())
        .join(Piece, Piece.id == Placement.piece_id)
        .where(Placement.firing_id.in_(firing_ids))
        .group_by(Placement.firing_id, Piece.stage)
    ):
        counts[firing_id][0] += pieces
        counts[firing_id][1] += pieces if stage == "lost" else 0
    return {firing_id: (all_, lost) for firing_id, (all_, lost) in counts.items()}


def _planned_hours(session: Session, firing_ids: Sequence[int]) -> dict[int, float]:
    """Heating hours of firings without a curve, by the program they were set to."""
    if not firing_ids:
        return {}
    segments: dict[int, list[FiringSegment]] = defaultdict(list)
    for segment in session.scalars(
        select(FiringSegment)
        .where(FiringSegment.firing_id.in_(firing_ids))
        .order_by(FiringSegment.firing_id, FiringSegment.position)
    ):
        segments[segment.firing_id].append(segment)
    hours = {firing_id: hours_of(rows) for firing_id, rows in segments.items()}
    return {firing_id: value for firing_id, value in hours.items() if value is not None}


def hours_of(segments: Iterable[Any]) -> float | None:
    """Heating hours of a program's segments; None for a program that can't be fired."""
    plan = [Segment(row.rate_c_per_h, row.target_c, row.hold_min) for row in segments]
    try:
        return planned_heating_h(plan) or None
    except UserProblem:
        return None  # the program's own page says what is wrong with it


def _tell(
    row: Any,
    bands: Sequence[TariffBand],
    load: tuple[int, int],
    planned_h: float | None,
    limits: Limits,
    usual_kwh: float | None,
) -> FiringEnergy:
    # A log that ends at its top may be one that is still being written: the program knows better.
    going_on = (
        planned_h is not None and row.heating_h is not None and planned_h > row.heating_h * _LONGER
    )
    facts = EnergyFacts(
        kind=row.kind,
        kwh=row.kwh,
        before_kwh=row.meter_before_kwh,
        after_kwh=row.meter_after_kwh,
        power_kw=row.power_kw,
        duty_h=row.duty_h,
        duty_gap_h=row.duty_gap_h,
        heating_h=None if going_on else row.heating_h,
        planned_h=planned_h,
    )
    used = tell_energy(facts, limits)
    pieces, lost = load
    if used is None:
        sentence = say_missing_energy(facts)
        return FiringEnergy(
            row.id, facts, None, None, row.volume_l, pieces, lost, (sentence,), "", usual_kwh
        )
    cost, missing = _cost(row, used, bands, planned_h)
    lacks = [missing] if missing else []
    if going_on and used.basis == "duty log":
        lacks.append("The log ends before the top was left: what came after it is not counted.")
    if cost is not None and cost.cost is not None:
        if row.volume_l is None:
            lacks.append("The cost of a litre needs the kiln's volume, on its page.")
        if not pieces:
            lacks.append("The cost of a piece needs the load: no piece is noted in this firing.")
    return FiringEnergy(
        row.id,
        facts,
        used,
        cost,
        row.volume_l,
        pieces,
        lost,
        tuple(lacks),
        _doubt(facts, used),
        usual_kwh,
    )


def _cost(
    row: Any, used: EnergyUsed, bands: Sequence[TariffBand], planned_h: float | None
) -> tuple[EnergyCost | None, str]:
    """What the energy cost, or the sentence that says why that is not known."""
    base = row.tariff_per_kwh
    if base is None and not bands:
        return None, NO_PRICE
    spread = _spread(row, planned_h)
    if spread is None:
        # Nobody said when it heated: where all hours of that day cost the same, that is no matter.
        day = timedelta(days=1)
        if len(price_stretches(bands, base, row.started_at, row.started_at + day)) > 1:
            return None, (
                "Which hours the power was used in is not known, and prices differ by the hour: "
                "add the log, the program or the end of the firing."
            )
        spread = spread_evenly(0.0, 1.0)
        assert spread is not None
    cost = cost_energy(used.kwh, spread, row.started_at, bands, base)
    return cost, say_unpriced(cost)


def _spread(row: Any, planned_h: float | None) -> PowerSpread | None:
    """When the power was used, by the best that is known of it."""
    if row.by_quarter:
        quarters = [int(value) for value in row.by_quarter.split(",")]
        return spread_by_quarter(quarters, row.started_at)
    begins_h, heating_h = row.begins_h or 0.0, row.heating_h or 0.0
    if planned_h is not None and planned_h > heating_h:
        return spread_evenly(begins_h, planned_h)
    if heating_h:
        return spread_evenly(begins_h, heating_h)
    if row.ended_at is not None:
        return spread_evenly(0.0, (row.ended_at - row.started_at).total_seconds() / 3600.0)
    return None


def say_unpriced(cost: EnergyCost) -> str:
    """That some of its hours have no price, and what to do; empty if all have one."""
    if cost.unpriced_kwh <= 0.0:
        return ""
    return (
        f"{show_quantity(cost.unpriced_kwh, 'kWh', 1)} fall in hours without a price: add one on "
        "the kiln's page, under What a kWh costs."
    )


def _doubt(facts: EnergyFacts, used: EnergyUsed) -> str:
    """A sentence if the meter says more than the kiln could draw in its time."""
    if used.basis != "meter" or facts.power_kw is None or facts.heating_h is None:
        return ""
    most = facts.power_kw * facts.heating_h
    if used.kwh <= most * _DOUBT_ABOVE:
        return ""
    return (
        f"That is more than {show_quantity(facts.power_kw, 'kW', 1)} can draw in "
        f"{show_quantity(facts.heating_h, 'h', 1)} of heating ({show_quantity(most, 'kWh')}): does "
        "the meter count other things too, or is the power of the kiln another?"
    )


def _usual(session: Session, row: Any) -> float | None:
    """The median of the last firings of its program before it, by the meter."""
    if row.program_id is None:
        return None
    before = metered_before(session, row.program_id, row.kiln_id, row.started_at)[:_EARLIER]
    return median(before) if before else None


def metered_before(
    session: Session, program_id: int, kiln_id: int, before: datetime | None = None
) -> list[float]:
    """kWh by the meter of a program's firings in a kiln, before a moment or all, newest first."""
    query = select(Firing.kwh, Firing.meter_before_kwh, Firing.meter_after_kwh).where(
        Firing.program_id == program_id,
        Firing.kiln_id == kiln_id,
        Firing.kwh.is_not(None) | Firing.meter_after_kwh.is_not(None),
    )
    if before is not None:
        query = query.where(Firing.started_at < before)
    found = []
    for row in session.execute(
        query.order_by(Firing.started_at.desc(), Firing.id.desc()).limit(60)
    ):
        facts = EnergyFacts(
            kwh=row.kwh, before_kwh=row.meter_before_kwh, after_kwh=row.meter_after_kwh
        )
        if facts.metered_kwh is not None:
            found.append(facts.metered_kwh)
    return found
