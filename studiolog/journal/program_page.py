"""The page of a program: its segments, and the firings done with it."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.journal.limits import read_limits
from studiolog.journal.program_kilns import ProgramKiln, read_program_kilns
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.uses import PAGE, FiringUses, read_firing_uses
from studiolog.records.facts import piece_fact
from studiolog.records.firings import Curve, Firing
from studiolog.records.programs import Program, ProgramSegment


@dataclass(frozen=True)
class PeakSpan:
    """The peaks the firings of a program reached: the lowest, the mean and the highest."""

    logged: int
    lowest_c: float
    mean_c: float
    highest_c: float


@dataclass(frozen=True)
class ProgramPage:
    """Everything of one program."""

    program_id: int
    version: int
    name: str
    kind: str
    cone: str | None
    notes: str
    archived: bool
    segments: tuple[SegmentDraft, ...]
    uses: FiringUses
    peaks: PeakSpan | None
    rates: RateGroup
    kilns: tuple[ProgramKiln, ...]
    limits: Limits


def read_program_page(
    session: Session, program_id: int, start: int = 0, limit: int = PAGE
) -> ProgramPage | None:
    """The page of a program with one page of its firings; None if it is gone."""
    program = session.get(Program, program_id)
    if program is None:
        return None
    segments = session.scalars(
        select(ProgramSegment)
        .where(ProgramSegment.program_id == program_id)
        .order_by(ProgramSegment.position)
    )
    logged, lowest, mean, highest = session.execute(
        select(
            func.count(Curve.peak_c),
            func.min(Curve.peak_c),
            func.avg(Curve.peak_c),
            func.max(Curve.peak_c),
        )
        .join(Firing, Firing.id == Curve.firing_id)
        .where(Firing.program_id == program_id, Curve.main, Curve.role == "measured")
    ).one()
    looks = session.execute(
        select(piece_fact.c.piece_id, piece_fact.c.looked_mask, piece_fact.c.seen_mask)
        .join(Firing, Firing.id == piece_fact.c.firing_id)
        .where(Firing.program_id == program_id)
    )
    limits = read_limits(session)
    return ProgramPage(
        program.id,
        program.version,
        program.name,
        program.kind,
        program.cone,
        program.notes,
        program.archived,
        tuple(SegmentDraft(one.rate_c_per_h, one.target_c, one.hold_min) for one in segments),
        read_firing_uses(session, Firing.program_id == program_id, start, limit),
        PeakSpan(logged, lowest, mean, highest) if logged else None,
        group_rates((row.piece_id, row.looked_mask, row.seen_mask) for row in looks),
        read_program_kilns(session, program_id, limits),
        limits,
    )
