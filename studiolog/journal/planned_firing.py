"""A firing as it is planned: what is known of it before the kiln is lit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.energy import ExpectedUse, expect_use, planned_heating_h
from studiolog.craft.firing.limits import SHIPPED, Limits
from studiolog.craft.firing.program import Segment, find_problems
from studiolog.journal.limits import read_limits
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.studio import read_studio
from studiolog.journal.writing import get
from studiolog.records.firings import Firing, FiringSegment
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.programs import Program, ProgramSegment

_LAST = 12
"""So many firings back tell what a program uses."""


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
    tariff_per_kwh: float | None = None
    meter_before_kwh: float | None = None
    limits: Limits = SHIPPED


def list_kilns_of_program(session: Session, program_id: int) -> tuple[tuple[int, str], ...]:
    """(id, name) of the kilns in use, those the program was fired in last first."""
    fired = dict(
        session.execute(
            select(Firing.kiln_id, Firing.started_at)
            .where(Firing.program_id == program_id)
            .order_by(Firing.started_at)
        )
        .tuples()
        .all()
    )
    kilns = session.execute(
        select(Kiln.id, Kiln.name).where(Kiln.archived.is_(False)).order_by(Kiln.id)
    ).tuples()
    long_ago = datetime.min
    return tuple(sorted(kilns, key=lambda kiln: fired.get(kiln[0], long_ago), reverse=True))


def read_planned_program(
    session: Session, program_id: int, kiln_id: int | None = None
) -> PlannedFiring:
    """A program as it would be fired in a kiln. Raises `UserProblem` if it is gone."""
    program = get(session, Program, program_id)
    segments = session.scalars(
        select(ProgramSegment)
        .where(ProgramSegment.program_id == program_id)
        .order_by(ProgramSegment.position)
    )
    words, number = _next_time(session, program_id, kiln_id, before=None)
    kiln = get(session, Kiln, kiln_id) if kiln_id is not None else None
    limits = read_limits(session)
    planned = tuple(SegmentDraft(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments)
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
        expected=_expect(session, kiln, program_id, planned, program.kind, limits, but=None),
        limits=limits,
        tariff_per_kwh=kiln.tariff_per_kwh if kiln is not None else None,
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
    limits = read_limits(session)
    planned = tuple(SegmentDraft(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments)
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
        expected=_expect(
            session, kiln, firing.program_id, planned, firing.kind, limits, but=firing.id
        ),
        limits=limits,
        tariff_per_kwh=kiln.tariff_per_kwh,
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


def _expect(
    session: Session,
    kiln: Kiln | None,
    program_id: int | None,
    segments: Sequence[SegmentDraft],
    kind: str,
    limits: Limits,
    but: int | None,
) -> ExpectedUse | None:
    """What the firing will probably use: as metered before, else estimated by the kiln's power."""
    if kiln is None:
        return None
    metered: list[float] = []
    rows = session.execute(
        select(Firing.kwh, Firing.meter_before_kwh, Firing.meter_after_kwh)
        .where(Firing.program_id == program_id, Firing.kiln_id == kiln.id, Firing.id != (but or 0))
        .order_by(Firing.started_at.desc())
        .limit(_LAST)
    )
    for row in rows if program_id is not None else ():
        if row.kwh is not None:
            metered.append(row.kwh)
        elif row.meter_before_kwh is not None and row.meter_after_kwh is not None:
            metered.append(row.meter_after_kwh - row.meter_before_kwh)
    steps = [Segment(one.rate_c_per_h, one.target_c, one.hold_min) for one in segments]
    heating_h = planned_heating_h(steps) if steps and not find_problems(steps) else None
    return expect_use(metered, kiln.power_kw, heating_h, kind, limits)


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
