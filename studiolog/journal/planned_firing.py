"""A firing as it is planned: what is known of it before the kiln is lit."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.energy import ExpectedUse
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.journal.energy import expect_energy
from studiolog.journal.limits import read_limits
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.studio import read_studio
from studiolog.journal.writing import get
from studiolog.records.firings import Firing, FiringSegment
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.programs import Program, ProgramSegment


@dataclass(frozen=True, kw_only=True)
class PlannedFiring:
    """A program with the kiln it is to be fired in. ``number`` is None before it is logged."""

    studio: str = ""
    kiln: str = ""
    levels: tuple[str, ...] = ()
    heading: str = ""
    number: int | None = None
    kind: str = "glaze"
    cone: str | None = None
    atmosphere: str = "oxidation"
    starts_at: datetime | None = None
    segments: tuple[SegmentDraft, ...] = ()
    notes: str = ""
    next_time: str = ""
    next_time_from: int | None = None
    expected: ExpectedUse | None = None
    cost: tuple[Decimal, Decimal] | None = None
    """The least and the most it costs by the hour it starts; alike where that is known."""
    currency: str = ""
    meter_before_kwh: float | None = None
    limits: Limits = SHIPPED


def read_planned_program(
    session: Session, program_id: int, kiln_id: int | None = None, now: datetime | None = None
) -> PlannedFiring:
    """A program as it would be fired in a kiln at the prices of ``now``, or else of today.

    Raises `UserProblem` if it is gone.
    """
    program = get(session, Program, program_id)
    segments = session.scalars(
        select(ProgramSegment)
        .where(ProgramSegment.program_id == program_id)
        .order_by(ProgramSegment.position)
    )
    words, number = _next_time(session, program_id, kiln_id, before=None)
    kiln = get(session, Kiln, kiln_id) if kiln_id is not None else None
    planned = tuple(SegmentDraft(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments)
    told = None
    if kiln is not None:
        starts_at = now or datetime.now()
        told = expect_energy(session, kiln_id=kiln.id, starts_at=starts_at, program_id=program_id)
    return PlannedFiring(
        studio=read_studio(session).name,
        kiln=kiln.name if kiln is not None else "",
        levels=_levels(session, kiln_id),
        heading=program.name,
        kind=program.kind,
        cone=program.cone,
        segments=planned,
        notes=program.notes,
        next_time=words,
        next_time_from=number,
        expected=told.use if told is not None else None,
        cost=told.span if told is not None else None,
        limits=read_limits(session),
        currency=told.currency if told is not None else "",
    )


def read_planned_firing(session: Session, firing_id: int) -> PlannedFiring:
    """A firing as it was planned. Raises `UserProblem` if it is gone."""
    firing = get(session, Firing, firing_id)
    kiln = get(session, Kiln, firing.kiln_id)
    program = session.get(Program, firing.program_id) if firing.program_id else None
    segments = session.scalars(
        select(FiringSegment)
        .where(FiringSegment.firing_id == firing_id)
        .order_by(FiringSegment.position)
    )
    words, number = _next_time(session, firing.program_id, kiln.id, before=firing)
    planned = tuple(SegmentDraft(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments)
    told = expect_energy(
        session,
        kiln_id=kiln.id,
        starts_at=firing.started_at,
        program_id=firing.program_id,
        segments=planned,
        kind=firing.kind,
        before=firing.started_at,
    )
    cost = told.cost.cost if told.cost is not None else None
    heading = firing.title or (program.name if program is not None else "")
    return PlannedFiring(
        studio=read_studio(session).name,
        kiln=kiln.name,
        levels=_levels(session, kiln.id),
        heading=heading,
        number=firing.number,
        kind=firing.kind,
        cone=firing.cone,
        atmosphere=firing.atmosphere,
        starts_at=firing.started_at,
        segments=planned,
        notes=firing.notes or (program.notes if program is not None else ""),
        next_time=words,
        next_time_from=number,
        expected=told.use,
        cost=(cost, cost) if cost is not None else None,
        limits=read_limits(session),
        currency=told.currency,
        meter_before_kwh=firing.meter_before_kwh,
    )


def _levels(session: Session, kiln_id: int | None) -> tuple[str, ...]:
    if kiln_id is None:
        return ()
    return tuple(
        session.scalars(
            select(KilnLevel.name).where(KilnLevel.kiln_id == kiln_id).order_by(KilnLevel.position)
        )
    )


def _next_time(
    session: Session, program_id: int | None, kiln_id: int | None, before: Firing | None
) -> tuple[str, int | None]:
    """What the last firing of the program said to do next time, and its number."""
    if program_id is None:
        return "", None
    query = select(Firing.next_time, Firing.number).where(
        Firing.program_id == program_id, Firing.next_time != ""
    )
    if kiln_id is not None:
        query = query.where(Firing.kiln_id == kiln_id)
    if before is not None:
        query = query.where(Firing.started_at < before.started_at, Firing.id != before.id)
    row = session.execute(query.order_by(Firing.started_at.desc()).limit(1)).first()
    return (row.next_time, row.number) if row is not None else ("", None)
