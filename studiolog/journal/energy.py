"""What a program will use and cost in a kiln, ahead of its firing, and when it costs least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.energy import (
    EnergyFacts,
    ExpectedUse,
    PowerSpread,
    expect_use,
    spread_by_quarter,
    spread_evenly,
)
from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.tariff import (
    CheapestStart,
    EnergyCost,
    cost_energy,
    cost_span,
    find_cheapest_start,
)
from studiolog.craft.money import show_money
from studiolog.journal.firing_energy import NO_PRICE, hours_of, metered_before, say_unpriced
from studiolog.journal.limits import read_limits
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.studio import read_currency
from studiolog.journal.tariffs import read_bands
from studiolog.journal.writing import get
from studiolog.records.facts import curve_fact
from studiolog.records.firings import Firing
from studiolog.records.kilns import Kiln
from studiolog.records.programs import Program, ProgramSegment

_ALIKE = 0.15


@dataclass(frozen=True)
class ExpectedEnergy:
    """What a program will use and cost in a kiln if it starts at a moment.

    ``cheapest`` is the start within the next 24 hours that costs least, None where waiting saves
    nothing. ``missing`` says in sentences what can't be told, and why.
    """

    use: ExpectedUse | None
    cost: EnergyCost | None
    starts_at: datetime
    heating_h: float | None
    cheapest: CheapestStart | None = None
    missing: tuple[str, ...] = ()
    span: tuple[Decimal, Decimal] | None = None
    """The least and the most that it costs, by the hour it starts."""
    currency: str = ""

    @property
    def cheapest_words(self) -> str:
        """ "Start at 21:30: 4.10 less."; empty where waiting saves nothing worth telling."""
        best = self.cheapest
        if best is None or round(best.saving, 2) < 0.01:
            return ""
        day = "" if best.starts_at.date() == self.starts_at.date() else " tomorrow"
        saved = show_money(best.saving, self.currency)
        return f"Start{day} at {best.starts_at:%H:%M}: {saved} less."


def expect_energy(
    session: Session,
    *,
    kiln_id: int,
    starts_at: datetime,
    program_id: int | None = None,
    segments: Sequence[SegmentDraft | Segment] | None = None,
    kind: str | None = None,
    before: datetime | None = None,
) -> ExpectedEnergy:
    """What a program will use and cost in a kiln. ``segments`` stand for those of the program.

    Its earlier firings there by the meter tell the energy, from three on, those that started before
    ``before`` if that is given; else it is estimated.
    Raises `UserProblem` if the kiln or the program is gone.
    """
    kiln = get(session, Kiln, kiln_id)
    program = get(session, Program, program_id) if program_id is not None else None
    limits = read_limits(session)
    stored = select(ProgramSegment).where(ProgramSegment.program_id == program_id)
    hours = hours_of(
        session.scalars(stored.order_by(ProgramSegment.position)) if segments is None else segments
    )
    kind = kind or (program.kind if program is not None else "glaze")
    metered = metered_before(session, program_id, kiln_id, before) if program_id is not None else []
    use = expect_use(metered, kiln.power_kw, hours, kind, limits)
    if use is None:
        facts = EnergyFacts(kind=kind, power_kw=kiln.power_kw, planned_h=hours)
        return ExpectedEnergy(None, None, starts_at, hours, missing=(_say_unexpected(facts),))
    spread = _expected_spread(session, program_id, kiln_id, hours)
    bands = read_bands(session, [kiln_id]).get(kiln_id, ())
    base = kiln.tariff_per_kwh
    if spread is None or (base is None and not bands):
        missing = () if spread is None else (NO_PRICE,)
        return ExpectedEnergy(use, None, starts_at, hours, missing=missing)
    cost = cost_energy(use.energy.kwh, spread, starts_at, bands, base)
    return ExpectedEnergy(
        use,
        cost,
        starts_at,
        hours,
        find_cheapest_start(use.energy.kwh, spread, bands, base, starts_at) if bands else None,
        tuple(filter(None, (say_unpriced(cost),))),
        cost_span(use.energy.kwh, spread, bands, base, starts_at.date()),
        read_currency(session),
    )


def _expected_spread(
    session: Session, program_id: int | None, kiln_id: int, hours: float | None
) -> PowerSpread | None:
    """As the duty of the program's newest firing was logged there, else even over the heating."""
    if program_id is not None:
        row = session.execute(
            select(curve_fact.c.by_quarter, curve_fact.c.heating_h, Firing.started_at)
            .join(Firing, Firing.id == curve_fact.c.firing_id)
            .where(
                Firing.program_id == program_id,
                Firing.kiln_id == kiln_id,
                curve_fact.c.by_quarter.is_not(None),
            )
            .order_by(Firing.started_at.desc(), Firing.id.desc())
            .limit(1)
        ).first()
        # A program that was changed since then takes another time.
        if row is not None and (
            hours is None or abs(row.heating_h - hours) <= _ALIKE * row.heating_h
        ):
            quarters = [int(value) for value in row.by_quarter.split(",")]
            return spread_by_quarter(quarters, row.started_at)
    return spread_evenly(0.0, hours) if hours is not None else None


def _say_unexpected(facts: EnergyFacts) -> str:
    if facts.power_kw is None:
        return (
            "The energy to expect needs the kiln's power, on its page, or three firings of this "
            "program by the meter. Times and temperatures are told without it."
        )
    return "The energy to expect needs a program that can be fired: see what is said of it."
