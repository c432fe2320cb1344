"""The page of one firing: what was planned, logged and read, and what stood where."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.bend import ConeInterval, read_pack
from studiolog.craft.firing.calibration import LevelOffset, offset_of_pack
from studiolog.craft.firing.cleaning import longest_wait_s
from studiolog.craft.firing.cones import label_reached, label_reached_between
from studiolog.craft.firing.program import Segment
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.words import CONE_BASES
from studiolog.journal.bends import bend_as_said
from studiolog.journal.calibrations import read_calibrations, read_offsets_before
from studiolog.journal.curve_facts import CurveFacts, facts_of_curve
from studiolog.journal.curve_steps import CurveSteps, lay_program
from studiolog.journal.firing_energy import FiringEnergy, read_firing_energy
from studiolog.journal.firing_list import FiringList, FiringRow, LevelLabel, list_firings
from studiolog.journal.firing_load import LoadPiece, read_load
from studiolog.journal.firing_log import TYPED
from studiolog.journal.limits import read_limits
from studiolog.journal.photos import PictureLine, read_pictures
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.raw_log import read_left_out
from studiolog.journal.writing import get
from studiolog.problems import UserProblem
from studiolog.records.facts import level_heat
from studiolog.records.firings import (
    ConePack,
    ConeReading,
    Curve,
    Firing,
    FiringSegment,
    LogFile,
)
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.loads import KilnLoad
from studiolog.records.programs import Program
from studiolog.transfer.curve_blob import unpack_readings
from studiolog.transfer.left_out import LeftOut

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = [
    "ConeRead",
    "CurveFacts",
    "EarlierCurve",
    "EarlierFiring",
    "FiringList",
    "FiringPage",
    "FiringRow",
    "LevelHeat",
    "LevelLabel",
    "LevelPage",
    "LoadPiece",
    "LoggedCurve",
    "facts_of_curve",
    "list_firings",
    "read_earlier_curves",
    "read_firing_page",
]

_EARLIER = 5


@dataclass(frozen=True, eq=False)
class LoggedCurve:
    """One stored channel: seconds since the log's start, and °C (plain values for duty)."""

    channel: str
    role: str
    main: bool
    elapsed_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    readings_dropped: int
    log_name: str
    notes: tuple[str, ...]
    left_out: LeftOut | None = None
    """What the log reader set aside; None also where only the original file has it."""
    limits: Limits = SHIPPED

    @property
    def left_out_in_file(self) -> bool:
        """Whether readings were set aside that only the original file still has."""
        return self.left_out is None and self.readings_dropped > 0

    @property
    def gaps(self) -> tuple[tuple[float, float], ...]:
        """Silences of the log, by ``limits``.

        Readings typed by hand have none: straight lines between them are what is meant.
        """
        import numpy as np

        if self.elapsed_s.size < 2 or self.channel == TYPED:
            return ()
        longest_s = longest_wait_s(self.elapsed_s, self.limits)
        return tuple(
            (float(self.elapsed_s[at]), float(self.elapsed_s[at + 1]))
            for at in np.flatnonzero(np.diff(self.elapsed_s) > longest_s)
        )


@dataclass(frozen=True)
class ConeRead:
    """A witness cone as it was read: the bend's interval in degrees and what was said."""

    cone: str
    low_deg: float
    high_deg: float
    said: str

    @property
    def middle_deg(self) -> float:
        """What was said, or the middle of the interval."""
        return bend_as_said(self.low_deg, self.high_deg, self.said).middle_deg


@dataclass(frozen=True)
class LevelHeat:
    """The cone a level got, on the ordinal scale, with its interval and how it is known."""

    cone: float
    low: float
    high: float
    basis: str

    @property
    def label(self) -> str:
        """ "6 +0.2"."""
        return label_reached(self.cone)

    @property
    def interval_label(self) -> str:
        """ "6 −0.1 to 6 +0.4"."""
        return label_reached_between(self.low, self.high)

    @property
    def basis_words(self) -> str:
        """What the value rests on, in words."""
        return CONE_BASES[self.basis]


@dataclass(frozen=True)
class LevelPage:
    """One level: its cones, what they say, its heat, and what stood there.

    ``offset_c`` is this firing's reading over the sensor's curve, ``history`` what this level
    has read in the other firings of the kiln.
    """

    level_id: int
    name: str
    cones: tuple[ConeRead, ...]
    note: str
    interval: ConeInterval | None
    problem: str
    heat: LevelHeat | None
    offset_c: float | None
    history: LevelOffset
    pieces: tuple[LoadPiece, ...]


@dataclass(frozen=True)
class EarlierFiring:
    """A firing of the same program before this one."""

    firing_id: int
    number: int


@dataclass(frozen=True, eq=False)
class EarlierCurve:
    """The curve of an earlier firing, and the figures this one is compared with."""

    firing_id: int
    number: int
    elapsed_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    above_1100_s: float
    to_100_s: float | None


@dataclass(frozen=True, eq=False)
class FiringPage:
    """Everything the page of a firing shows, but the curves of earlier firings."""

    firing_id: int
    version: int
    number: int
    title: str
    kind: str
    cone: str | None
    atmosphere: str
    started_at: datetime
    ended_at: datetime | None
    kwh: float | None
    energy: FiringEnergy
    notes: str
    lesson: str
    next_time: str
    kiln_id: int
    kiln_name: str
    shelf_across_mm: float | None
    shelf_deep_mm: float | None
    shelf_shape: str
    """Of a firing that was planned on the kiln's shelves; "" where ware was put in by level."""
    program_id: int | None
    program_name: str
    segments: tuple[SegmentDraft, ...]
    curves: tuple[LoggedCurve, ...]
    facts: CurveFacts | None
    curve_problem: str
    levels: tuple[LevelPage, ...]
    unlevelled: tuple[LoadPiece, ...]
    earlier: tuple[EarlierFiring, ...]
    pictures: tuple[PictureLine, ...]
    previous: EarlierFiring | None
    following: EarlierFiring | None
    steps: CurveSteps | None = None
    read_every_min: int | None = None

    @property
    def main_curve(self) -> LoggedCurve | None:
        """The curve that counts, if a log is kept."""
        return next((curve for curve in self.curves if curve.main), None)

    @property
    def pieces(self) -> tuple[LoadPiece, ...]:
        """The whole load."""
        return tuple(p for level in self.levels for p in level.pieces) + self.unlevelled

    @property
    def runs(self) -> tuple[tuple[int, int], ...]:
        """(id, number) of the runs that pieces of the load came from."""
        found = {p.run_id: p.run_number for p in self.pieces if p.run_id and p.run_number}
        return tuple(sorted(((i, n) for i, n in found.items()), key=lambda pair: pair[1]))

    @property
    def heading(self) -> str:
        """The title; else the program, or the kind and the cone."""
        if self.title or self.program_name:
            return self.title or self.program_name
        kind = self.kind.capitalize()
        return f"{kind}, cone {self.cone.replace('.5', '½')}" if self.cone else f"{kind} firing"


def _was_planned(session: Session, firing_id: int) -> bool:
    return session.scalar(select(KilnLoad.id).where(KilnLoad.firing_id == firing_id)) is not None


def read_firing_page(session: Session, firing_id: int) -> FiringPage:
    """Read the page of a firing. Raises UserProblem if there is none of that id."""
    firing = get(session, Firing, firing_id)
    kiln = get(session, Kiln, firing.kiln_id)
    program = session.get(Program, firing.program_id) if firing.program_id else None
    limits = read_limits(session)
    curves = _curves(session, firing_id, limits)
    facts: CurveFacts | None = None
    problem = ""
    main = next((curve for curve in curves if curve.main), None)
    if main is not None:
        try:
            facts = facts_of_curve(
                main.elapsed_s,
                main.temperature_c,
                reduction=firing.atmosphere == "reduction",
                typed=main.channel == TYPED,
                limits=limits,
            )
        except UserProblem as caught:
            problem = caught.sentence
    load = read_load(session, firing_id)
    segments = tuple(
        SegmentDraft(row.rate_c_per_h, row.target_c, row.hold_min)
        for row in session.scalars(
            select(FiringSegment)
            .where(FiringSegment.firing_id == firing_id)
            .order_by(FiringSegment.position)
        )
    )
    plan = tuple(Segment(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments)
    return FiringPage(
        firing_id=firing.id,
        version=firing.version,
        number=firing.number,
        title=firing.title,
        kind=firing.kind,
        cone=firing.cone,
        atmosphere=firing.atmosphere,
        started_at=firing.started_at,
        ended_at=firing.ended_at,
        kwh=firing.kwh,
        read_every_min=firing.read_every_min,
        energy=read_firing_energy(session, firing_id),
        notes=firing.notes,
        lesson=firing.lesson,
        next_time=firing.next_time,
        kiln_id=kiln.id,
        kiln_name=kiln.name,
        shelf_across_mm=kiln.shelf_across_mm,
        shelf_deep_mm=kiln.shelf_deep_mm,
        shelf_shape=kiln.shelf_shape if _was_planned(session, firing.id) else "",
        program_id=firing.program_id,
        program_name=program.name if program is not None else "",
        segments=segments,
        curves=curves,
        facts=facts,
        curve_problem=problem,
        levels=_levels(session, firing, kiln, facts, load, limits),
        unlevelled=load.get(None, ()),
        earlier=_earlier(session, firing),
        pictures=tuple(read_pictures(session, firing_ids=[firing_id]).get(firing_id, ())),
        previous=_neighbour(session, firing.number, before=True),
        following=_neighbour(session, firing.number, before=False),
        steps=lay_program(curves, plan, limits),
    )


def read_earlier_curves(session: Session, firing_ids: Sequence[int]) -> tuple[EarlierCurve, ...]:
    """The main curves of earlier firings, newest first, with the figures to compare."""
    found: list[EarlierCurve] = []
    for row in session.execute(
        select(Firing.id, Firing.number, Curve.packed)
        .join(Curve, Curve.firing_id == Firing.id)
        .where(Firing.id.in_(list(firing_ids)), Curve.main)
        .order_by(Firing.started_at.desc(), Firing.id.desc())
    ):
        try:
            elapsed_s, temperature_c = unpack_readings(row.packed)
            summary = _compare(elapsed_s, temperature_c)
        except (ValueError, UserProblem):
            continue  # its own page says what is wrong with it
        found.append(EarlierCurve(row.id, row.number, elapsed_s, temperature_c, *summary))
    return tuple(found)


def _compare(
    elapsed_s: NDArray[np.float64], temperature_c: NDArray[np.float64]
) -> tuple[float, float | None]:
    """Seconds above 1100 °C, and until 100 °C, of a stored curve (cleaned when it was kept)."""
    import numpy as np

    from studiolog.craft.firing.curve import time_above_s
    from studiolog.journal.curve_facts import ABOVE_C, COOL_C

    peak_at = int(np.argmax(temperature_c))
    cool = np.flatnonzero(temperature_c[peak_at:] <= COOL_C)
    to_100 = float(elapsed_s[peak_at + int(cool[0])] - elapsed_s[0]) if cool.size else None
    return time_above_s(elapsed_s, temperature_c, ABOVE_C), to_100


def _curves(session: Session, firing_id: int, limits: Limits) -> tuple[LoggedCurve, ...]:
    found: list[LoggedCurve] = []
    for curve, name in session.execute(
        select(Curve, LogFile.name)
        .outerjoin(LogFile, LogFile.id == Curve.log_file_id)
        .where(Curve.firing_id == firing_id)
        .order_by(Curve.main.desc(), Curve.id)
    ):
        elapsed_s, temperature_c = unpack_readings(curve.packed)
        found.append(
            LoggedCurve(
                curve.channel,
                curve.role,
                curve.main,
                elapsed_s,
                temperature_c,
                curve.readings_dropped,
                name or ("Read by hand" if curve.channel == TYPED else ""),
                tuple(filter(None, curve.reading_notes.split("\n"))),
                read_left_out(curve.left_out),
                limits,
            )
        )
    return tuple(found)


def _levels(
    session: Session,
    firing: Firing,
    kiln: Kiln,
    facts: CurveFacts | None,
    load: dict[int | None, tuple[LoadPiece, ...]],
    limits: Limits,
) -> tuple[LevelPage, ...]:
    heats = {
        row.level_id: LevelHeat(row.cone, row.cone_low, row.cone_high, row.basis)
        for row in session.execute(select(level_heat).where(level_heat.c.firing_id == firing.id))
    }
    cones: dict[int, list[ConeRead]] = defaultdict(list)
    notes: dict[int, str] = {}
    for pack, reading in session.execute(
        select(ConePack, ConeReading)
        .join(ConeReading, ConeReading.pack_id == ConePack.id)
        .where(ConePack.firing_id == firing.id)
        .order_by(ConeReading.id)
    ):
        cones[pack.level_id].append(
            ConeRead(reading.cone, reading.bend_low_deg, reading.bend_high_deg, reading.said)
        )
        notes[pack.level_id] = pack.note
    levels = list(
        session.scalars(
            select(KilnLevel).where(KilnLevel.kiln_id == kiln.id).order_by(KilnLevel.position)
        )
    )
    histories = _histories(session, firing, kiln, [level.id for level in levels], limits)
    pages: list[LevelPage] = []
    for level in levels:
        read = tuple(cones.get(level.id, ()))
        interval, problem = say_pack(read)
        offset = None
        estimate = facts.estimate if facts is not None else None
        if interval is not None and estimate is not None:
            offset = offset_of_pack(interval, estimate.number)
        pages.append(
            LevelPage(
                level.id,
                level.name,
                read,
                notes.get(level.id, ""),
                interval,
                problem,
                heats.get(level.id),
                offset,
                replace(histories[level.id], level=level.name),
                load.get(level.id, ()),
            )
        )
    return tuple(pages)


def say_pack(read: Sequence[ConeRead]) -> tuple[ConeInterval | None, str]:
    """What a pack says together, or the sentence why it says nothing; both empty without cones."""
    if not read:
        return None, ""
    pairs = [(cone.cone, bend_as_said(cone.low_deg, cone.high_deg, cone.said)) for cone in read]
    try:
        return read_pack(pairs), ""
    except UserProblem as problem:
        return None, problem.sentence


def _histories(
    session: Session, firing: Firing, kiln: Kiln, level_ids: Sequence[int], limits: Limits
) -> dict[int, LevelOffset]:
    """What each level has read against the sensor before this firing, in its calibration."""
    connection = session.connection()
    return read_offsets_before(
        connection,
        kiln.id,
        level_ids,
        limits,
        read_calibrations(connection, [kiln.id])[kiln.id],
        (firing.started_at, firing.id),
    )


def _earlier(session: Session, firing: Firing) -> tuple[EarlierFiring, ...]:
    if firing.program_id is None:
        return ()
    rows = session.execute(
        select(Firing.id, Firing.number)
        .where(
            Firing.program_id == firing.program_id,
            Firing.kiln_id == firing.kiln_id,
            Firing.started_at < firing.started_at,
            select(Curve.id).where(Curve.firing_id == Firing.id, Curve.main).exists(),
        )
        .order_by(Firing.started_at.desc(), Firing.id.desc())
        .limit(_EARLIER)
    )
    return tuple(EarlierFiring(row.id, row.number) for row in rows)


def _neighbour(session: Session, number: int, *, before: bool) -> EarlierFiring | None:
    query = select(Firing.id, Firing.number)
    if before:
        query = query.where(Firing.number < number).order_by(Firing.number.desc())
    else:
        query = query.where(Firing.number > number).order_by(Firing.number)
    row = session.execute(query.limit(1)).first()
    return EarlierFiring(row.id, row.number) if row is not None else None
