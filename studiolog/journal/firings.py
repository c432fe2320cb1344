"""Firings: logging them, their curves and their witness cones."""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import name_cone, parse_cone
from studiolog.journal.loads import forget_firing
from studiolog.journal.programs import SegmentDraft, check_segments
from studiolog.journal.writing import add, change, count, get, next_number, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.firings import (
    ConePack,
    ConeReading,
    Curve,
    Firing,
    FiringSegment,
    LogFile,
)
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.photos import Picture
from studiolog.records.pieces import Placement
from studiolog.records.programs import Program, ProgramSegment

_FIRST_YEAR, _LAST_YEAR = 1900, 2100


@dataclass(frozen=True, kw_only=True)
class CurveDraft:
    """One channel of a log as it is to be kept; ``packed`` by ``transfer.curve_blob``.

    ``left_out`` are the readings set aside, by ``transfer.left_out``; None if there were none.
    """

    channel: str
    packed: bytes
    readings: int
    duration_s: float
    role: str = "measured"
    main: bool = True
    readings_dropped: int = 0
    peak_c: float | None = None
    cone: float | None = None
    cone_low: float | None = None
    cone_high: float | None = None
    flags: str = ""
    reading_notes: str = ""
    left_out: bytes | None = None


@dataclass(frozen=True, kw_only=True)
class LogDraft:
    """A temperature log read from a file, ready to be kept with its original bytes."""

    sha256: str
    name: str
    content: bytes
    curves: tuple[CurveDraft, ...]
    started_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class ConeDraft:
    """The bend read from one witness cone, as an interval in degrees, and as it was said."""

    cone: str
    bend_low_deg: float
    bend_high_deg: float
    said: str = ""


@dataclass(frozen=True, kw_only=True)
class PackDraft:
    """Witness cones set together at one level."""

    level_id: int
    cones: tuple[ConeDraft, ...]
    place: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class FiringDraft:
    """A firing as it is logged. ``segments`` None takes those of the program."""

    kiln_id: int
    started_at: datetime
    number: int | None = None
    program_id: int | None = None
    title: str = ""
    kind: str = "glaze"
    cone: str | None = None
    atmosphere: str = "oxidation"
    ended_at: datetime | None = None
    segments: tuple[SegmentDraft, ...] | None = None
    log: LogDraft | None = None
    packs: tuple[PackDraft, ...] = ()
    kwh: float | None = None
    meter_before_kwh: float | None = None
    meter_after_kwh: float | None = None
    notes: str = ""
    lesson: str = ""
    next_time: str = ""


def _check_span(started: datetime, ended: datetime | None) -> None:
    """A year that no kiln of today knew is a slip: it would end the year its use is told for."""
    for name, moment in (("started_at", started), ("ended_at", ended)):
        if moment is not None and not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
            sentence = (
                f"The year {moment.year} can't be meant: it lies between {_FIRST_YEAR} and "
                f"{_LAST_YEAR}."
            )
            raise UserProblem(sentence, {name: sentence})
    if ended is not None and ended < started:
        sentence = "The firing ends before it starts."
        raise UserProblem(sentence, {"ended_at": sentence})


def log_firing(session: Session, draft: FiringDraft) -> int:
    """Log a firing with everything known of it; returns its id.

    Raises `UserProblem` for a number that is taken, a year that can't be, or an end before the
    start.
    """
    get(session, Kiln, draft.kiln_id)
    number = draft.number or next_number(session, Firing.number)
    if count(session, Firing, Firing.number == number):
        sentence = f"There is a firing {number} already."
        raise UserProblem(sentence, {"number": sentence})
    _check_span(draft.started_at, draft.ended_at)
    cone, segments = draft.cone, draft.segments
    if draft.program_id is not None:
        program = get(session, Program, draft.program_id)
        cone = cone or program.cone
        if segments is None:
            segments = _program_segments(session, draft.program_id)
    firing_id = add(
        session,
        Firing(
            number=number,
            kiln_id=draft.kiln_id,
            started_at=draft.started_at,
            program_id=draft.program_id,
            title=draft.title.strip(),
            kind=draft.kind,
            cone=parse_cone(cone) if cone else None,
            atmosphere=draft.atmosphere,
            ended_at=draft.ended_at,
            kwh=draft.kwh,
            meter_before_kwh=draft.meter_before_kwh,
            meter_after_kwh=draft.meter_after_kwh,
            notes=draft.notes,
            lesson=draft.lesson,
            next_time=draft.next_time,
        ),
    )
    set_firing_segments(session, firing_id, segments or ())
    if draft.log is not None:
        keep_log(session, firing_id, draft.log)
    for pack in draft.packs:
        set_pack(session, firing_id, pack)
    return firing_id


def _program_segments(session: Session, program_id: int) -> tuple[SegmentDraft, ...]:
    rows = session.scalars(
        select(ProgramSegment)
        .where(ProgramSegment.program_id == program_id)
        .order_by(ProgramSegment.position)
    )
    return tuple(SegmentDraft(row.rate_c_per_h, row.target_c, row.hold_min) for row in rows)


def change_firing(
    session: Session, firing_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a firing. Changing the kiln is refused once something stood on a level."""
    firing = get(session, Firing, firing_id, version)
    if fields.get("cone"):
        fields["cone"] = parse_cone(fields["cone"])
    number = fields.get("number", firing.number)
    if number != firing.number and count(session, Firing, Firing.number == number):
        sentence = f"There is a firing {number} already."
        raise UserProblem(sentence, {"number": sentence})
    if fields.get("kiln_id", firing.kiln_id) != firing.kiln_id:
        stood = count(
            session, Placement, Placement.firing_id == firing_id, Placement.level_id.is_not(None)
        )
        read = count(session, ConePack, ConePack.firing_id == firing_id)
        if stood or read:
            raise StillUsed(
                f"Firing {firing.number} has {stood} pieces and {read} cone packs on levels of its "
                "kiln. Take them off before moving it to another kiln."
            )
    started = fields.get("started_at", firing.started_at)
    ended = fields.get("ended_at", firing.ended_at)
    _check_span(started, ended)
    change(session, Firing, firing_id, None, **fields)


def set_firing_segments(session: Session, firing_id: int, segments: Sequence[SegmentDraft]) -> None:
    """Write the program as it was set for this firing; the program itself stays as it is."""
    check_segments(segments)
    remove_all(session, FiringSegment, FiringSegment.firing_id == firing_id)
    for position, segment in enumerate(segments, start=1):
        add(
            session,
            FiringSegment(
                firing_id=firing_id,
                position=position,
                rate_c_per_h=segment.rate_c_per_h,
                target_c=segment.target_c,
                hold_min=segment.hold_min,
            ),
        )


def keep_log(session: Session, firing_id: int, log: LogDraft) -> None:
    """Keep a temperature log with a firing, in place of the one it had.

    The original bytes are kept compressed, once per file. Raises `UserProblem` if the same file
    is already the curve of another firing.
    """
    get(session, Firing, firing_id)
    file_id = session.scalar(select(LogFile.id).where(LogFile.sha256 == log.sha256))
    if file_id is None:
        file_id = add(
            session,
            LogFile(sha256=log.sha256, name=log.name, content=zlib.compress(log.content, 9)),
        )
    else:
        other = session.execute(
            select(Firing.number)
            .join(Curve, Curve.firing_id == Firing.id)
            .where(Curve.log_file_id == file_id, Firing.id != firing_id)
            .limit(1)
        ).scalar_one_or_none()
        if other is not None:
            raise UserProblem(f"{log.name} is already the log of firing {other}.")
    remove_all(session, Curve, Curve.firing_id == firing_id)
    for curve in log.curves:
        add(
            session,
            Curve(
                firing_id=firing_id,
                log_file_id=file_id,
                channel=curve.channel,
                packed=curve.packed,
                readings=curve.readings,
                duration_s=curve.duration_s,
                role=curve.role,
                main=curve.main,
                readings_dropped=curve.readings_dropped,
                peak_c=curve.peak_c,
                cone=curve.cone,
                cone_low=curve.cone_low,
                cone_high=curve.cone_high,
                flags=curve.flags,
                reading_notes=curve.reading_notes,
                left_out=curve.left_out,
            ),
        )


def remove_log(session: Session, firing_id: int) -> None:
    """Take the curve off a firing; the original file stays in the journal."""
    remove_all(session, Curve, Curve.firing_id == firing_id)


def set_pack(session: Session, firing_id: int, draft: PackDraft) -> int | None:
    """Write the cone pack of a level, in place of the one it had; no cones takes it away.

    Returns the pack's id, or None if it was taken away. Raises `UserProblem` for a level of another
    kiln.
    """
    firing = get(session, Firing, firing_id)
    level = get(session, KilnLevel, draft.level_id)
    if level.kiln_id != firing.kiln_id:
        raise UserProblem(
            f"The level “{level.name}” belongs to another kiln than firing {firing.number}."
        )
    for pack in session.scalars(
        select(ConePack).where(ConePack.firing_id == firing_id, ConePack.level_id == draft.level_id)
    ).all():
        remove_all(session, ConeReading, ConeReading.pack_id == pack.id)
        remove(session, pack)
    if not draft.cones:
        return None
    pack_id = add(
        session,
        ConePack(firing_id=firing_id, level_id=draft.level_id, place=draft.place, note=draft.note),
    )
    for cone in draft.cones:
        if not 0 <= cone.bend_low_deg <= cone.bend_high_deg <= 180:
            raise UserProblem(
                f"Cone {cone.cone}: a bend lies between 0° (standing) and 180°.",
                {f"cone {cone.cone}": "0° to 180°"},
            )
        add(
            session,
            ConeReading(
                pack_id=pack_id,
                cone=name_cone(cone.cone),
                bend_low_deg=cone.bend_low_deg,
                bend_high_deg=cone.bend_high_deg,
                said=cone.said,
            ),
        )
    return pack_id


def delete_firing(session: Session, firing_id: int) -> None:
    """Delete a firing with its curve, cones and pictures.

    Raises `StillUsed` if pieces stood in it.
    """
    firing = get(session, Firing, firing_id)
    stood = count(session, Placement, Placement.firing_id == firing_id)
    if stood:
        raise StillUsed(
            f"Firing {firing.number} can't be deleted: {stood} pieces stood in it. "
            "Take them out of its load first."
        )
    for pack in session.scalars(select(ConePack).where(ConePack.firing_id == firing_id)).all():
        remove_all(session, ConeReading, ConeReading.pack_id == pack.id)
        remove(session, pack)
    remove_all(session, Curve, Curve.firing_id == firing_id)
    remove_all(session, FiringSegment, FiringSegment.firing_id == firing_id)
    remove_all(session, Picture, Picture.firing_id == firing_id)
    forget_firing(session, firing_id)
    remove(session, firing)
