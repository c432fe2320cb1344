"""Programs: planned firings that can be used again."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import parse_cone
from studiolog.journal.letters import reads_as
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.firings import Firing
from studiolog.records.loads import KilnLoad
from studiolog.records.plans import TestPlan
from studiolog.records.programs import Program, ProgramSegment


@dataclass(frozen=True)
class SegmentDraft:
    """Rate, target and hold. No rate: as fast as the kiln goes, or left to cool."""

    rate_c_per_h: float | None
    target_c: float
    hold_min: float = 0.0


@dataclass(frozen=True, kw_only=True)
class ProgramDraft:
    """A program as it is entered; ``cone`` is the label aimed at."""

    name: str
    kind: str = "glaze"
    cone: str | None = None
    segments: tuple[SegmentDraft, ...] = ()
    notes: str = ""


@dataclass(frozen=True)
class ProgramLine:
    """A program in a list or a picker."""

    program_id: int
    version: int
    name: str
    kind: str
    cone: str | None
    segments: tuple[SegmentDraft, ...]
    archived: bool
    firings: int


def check_segments(segments: Sequence[SegmentDraft]) -> None:
    """Raise `UserProblem` naming the first segment that can't be, and why."""
    for number, segment in enumerate(segments, start=1):
        if segment.rate_c_per_h is not None and not 0 < segment.rate_c_per_h <= 2000:
            raise UserProblem(
                f"Segment {number}: a rate is more than 0 and at most 2000 °C an hour; "
                "leave it empty for as fast as the kiln goes.",
                {f"rate {number}": "between 0 and 2000 °C/h"},
            )
        if not 0 <= segment.target_c <= 1450:
            raise UserProblem(
                f"Segment {number}: a target lies between 0 and 1450 °C.",
                {f"target {number}": "between 0 and 1450 °C"},
            )
        if segment.hold_min < 0:
            raise UserProblem(
                f"Segment {number}: a hold can't be negative.",
                {f"hold {number}": "0 or more minutes"},
            )


def add_program(session: Session, draft: ProgramDraft) -> int:
    """Enter a program with its segments; returns its id."""
    name = clean_name(draft.name, noun="name of the program")
    _refuse_taken_name(session, name)
    program_id = add(
        session,
        Program(
            name=name,
            kind=draft.kind,
            cone=parse_cone(draft.cone) if draft.cone else None,
            notes=draft.notes,
        ),
    )
    set_program_segments(session, program_id, draft.segments)
    return program_id


def set_program_segments(
    session: Session, program_id: int, segments: Sequence[SegmentDraft]
) -> None:
    """Write the segments of a program; firings done with it keep theirs."""
    check_segments(segments)
    remove_all(session, ProgramSegment, ProgramSegment.program_id == program_id)
    for position, segment in enumerate(segments, start=1):
        add(
            session,
            ProgramSegment(
                program_id=program_id,
                position=position,
                rate_c_per_h=segment.rate_c_per_h,
                target_c=segment.target_c,
                hold_min=segment.hold_min,
            ),
        )


def change_program(
    session: Session, program_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a program (its segments: see `set_program_segments`)."""
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the program")
        _refuse_taken_name(session, fields["name"], but=program_id)
    if fields.get("cone"):
        fields["cone"] = parse_cone(fields["cone"])
    change(session, Program, program_id, version, **fields)


def _refuse_taken_name(session: Session, name: str, but: int | None = None) -> None:
    taken = session.scalar(
        select(Program.id).where(reads_as(Program.name, name), Program.id != (but or 0))
    )
    if taken is not None:
        sentence = f"There is a program named {name} already."
        raise UserProblem(sentence, {"name": sentence})


def delete_program(session: Session, program_id: int) -> None:
    """Delete a program that no firing used. Raises `StillUsed` otherwise."""
    program = get(session, Program, program_id)
    fired = count(session, Firing, Firing.program_id == program_id)
    plans = count(session, TestPlan, TestPlan.program_id == program_id)
    loads = count(session, KilnLoad, KilnLoad.program_id == program_id)
    if fired or plans or loads:
        tests = f", {plans} test plans ask for it" if plans else ""
        tests += f", {loads} loads are planned with it" if loads else ""
        raise StillUsed(
            f"{program.name} can't be deleted: {fired} firings used it{tests}. "
            "Archive it to hide it from the pickers."
        )
    remove_all(session, ProgramSegment, ProgramSegment.program_id == program_id)
    remove(session, program)


def list_programs(session: Session, *, archived: bool = False) -> list[ProgramLine]:
    """Programs in order of entry, with their segments."""
    fired = (
        select(Firing.program_id, func.count().label("firings"))
        .group_by(Firing.program_id)
        .subquery()
    )
    query = (
        select(Program, func.coalesce(fired.c.firings, 0))
        .outerjoin(fired, fired.c.program_id == Program.id)
        .order_by(Program.archived, Program.id)
    )
    if not archived:
        query = query.where(Program.archived.is_(False))
    segments: dict[int, list[SegmentDraft]] = {}
    for row in session.scalars(select(ProgramSegment).order_by(ProgramSegment.position)):
        segments.setdefault(row.program_id, []).append(
            SegmentDraft(row.rate_c_per_h, row.target_c, row.hold_min)
        )
    return [
        ProgramLine(
            program.id,
            program.version,
            program.name,
            program.kind,
            program.cone,
            tuple(segments.get(program.id, ())),
            program.archived,
            firings,
        )
        for program, firings in session.execute(query)
    ]
