"""The firings a piece went through, and how hot it got at its own level."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.calibration import LevelOffset
from studiolog.craft.firing.cones import ordinal_of
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.journal.calibrations import Calibrations, read_calibrations, read_offsets_before
from studiolog.journal.level_heat import WHOLE_KILN, CurveCone, LevelCone
from studiolog.journal.limits import read_limits
from studiolog.records.facts import level_heat
from studiolog.records.firings import Curve, Firing, FiringSegment
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.pieces import Placement


@dataclass(frozen=True)
class PieceFiring:
    """One firing of a piece. Cones stand on the ordinal scale (02 = −1, 01 = 0, 1 = 1).

    ``aimed`` is what was aimed at; ``read`` the witness cones at the piece's level; ``computed``
    the heat-work of the curve, corrected by what this level has read before. ``best`` is the best
    of the three with its basis, as the searchable facts have it.
    """

    placement_id: int
    version: int
    firing_id: int
    number: int
    title: str
    kind: str
    kiln_id: int
    kiln_name: str
    started_at: datetime
    atmosphere: str
    level_id: int | None
    level_name: str
    position: str
    aimed_label: str | None
    aimed: float | None
    read: LevelCone | None
    computed: LevelCone | None
    best: LevelCone | None
    peak_c: float | None
    has_log: bool
    level_usually_c: float | None
    """What the level's witness cones have read against the sensor before, in °C; None unknown."""


@dataclass(frozen=True)
class SmallCurveData:
    """A firing's curve for a small drawing: seconds and °C, the program beside it."""

    curve_s: tuple[float, ...] = ()
    curve_c: tuple[float, ...] = ()
    program_s: tuple[float, ...] = ()
    program_c: tuple[float, ...] = ()
    gaps: tuple[tuple[float, float], ...] = ()
    peak_c: float | None = None
    hold_min: float | None = None
    hold_band: tuple[float, float] | None = None
    above_1100_s: float | None = None
    quartz_down_c_per_h: float | None = None


def read_piece_firings(session: Session, piece_id: int) -> tuple[PieceFiring, ...]:
    """The firings of a piece, first to last."""
    rows = session.execute(
        select(Placement, Firing, Kiln, KilnLevel)
        .join(Firing, Firing.id == Placement.firing_id)
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .outerjoin(KilnLevel, KilnLevel.id == Placement.level_id)
        .where(Placement.piece_id == piece_id)
        .order_by(Firing.started_at, Firing.id)
    ).all()
    if not rows:
        return ()
    ids = [firing.id for _, firing, _, _ in rows]
    heat = _stored_heat(session, ids)
    curves = _curve_cones(session, ids)
    peaks = {
        row[0]: row[1]
        for row in session.execute(
            select(Curve.firing_id, Curve.peak_c).where(
                Curve.firing_id.in_(ids), Curve.main, Curve.role == "measured"
            )
        )
    }
    kilns = {kiln.id for _, _, kiln, _ in rows}
    calibrations = read_calibrations(session.connection(), kilns)
    levels = _level_ids(session, kilns)
    limits = read_limits(session)
    found = []
    for placement, firing, kiln, level in rows:
        level_id = placement.level_id or WHOLE_KILN
        best = heat.get((firing.id, level_id)) or heat.get((firing.id, WHOLE_KILN))
        read = best if best is not None and best.basis == "read" else None
        offset = _offset_before(
            session, limits, calibrations[kiln.id], levels[kiln.id], firing, placement.level_id
        )
        curve = curves.get(firing.id)
        if best is not None and best.basis == "computed":
            computed: LevelCone | None = best
        elif curve is not None and offset is not None:
            computed = curve.at_level(offset)
        else:
            computed = curve.at_sensor(limits) if curve is not None else None
        found.append(
            PieceFiring(
                placement_id=placement.id,
                version=placement.version,
                firing_id=firing.id,
                number=firing.number,
                title=firing.title,
                kind=firing.kind,
                kiln_id=kiln.id,
                kiln_name=kiln.name,
                started_at=firing.started_at,
                atmosphere=firing.atmosphere,
                level_id=placement.level_id,
                level_name=level.name if level is not None else "",
                position=placement.position,
                aimed_label=firing.cone,
                aimed=ordinal_of(firing.cone) if firing.cone else None,
                read=read,
                computed=computed,
                best=best,
                peak_c=peaks.get(firing.id),
                has_log=firing.id in peaks,
                level_usually_c=(
                    offset.offset_c if offset is not None and offset.readings else None
                ),
            )
        )
    return tuple(found)


def _stored_heat(session: Session, ids: Sequence[int]) -> dict[tuple[int, int], LevelCone]:
    return {
        (row.firing_id, row.level_id): LevelCone(row.cone, row.cone_low, row.cone_high, row.basis)
        for row in session.execute(select(level_heat).where(level_heat.c.firing_id.in_(ids)))
    }


def _curve_cones(session: Session, ids: Sequence[int]) -> dict[int, CurveCone]:
    rows = session.execute(
        select(Curve.firing_id, Curve.cone, Curve.cone_low, Curve.cone_high, Curve.flags).where(
            Curve.firing_id.in_(ids), Curve.main, Curve.cone.is_not(None)
        )
    )
    return {row.firing_id: CurveCone.of(row) for row in rows}


def _offset_before(
    session: Session,
    limits: Limits,
    calibrations: Calibrations,
    level_ids: Sequence[int],
    firing: Firing,
    level_id: int | None,
) -> LevelOffset | None:
    """The level's offset as it was known when this firing started; None without a level."""
    if level_id is None or level_id not in level_ids:
        return None
    at = (firing.started_at, firing.id)
    offsets = read_offsets_before(
        session.connection(), firing.kiln_id, level_ids, limits, calibrations, at
    )
    return offsets[level_id]


def _level_ids(session: Session, kiln_ids: Iterable[int]) -> dict[int, list[int]]:
    levels: dict[int, list[int]] = defaultdict(list)
    for kiln_id, level_id in session.execute(
        select(KilnLevel.kiln_id, KilnLevel.id)
        .where(KilnLevel.kiln_id.in_(list(kiln_ids)))
        .order_by(KilnLevel.position)
    ):
        levels[kiln_id].append(level_id)
    return levels


def read_small_curve(session: Session, firing_id: int) -> SmallCurveData:
    """Unpack the main curve of a firing for a small drawing, with its few figures.

    Apart from the page, because unpacking is the one slow part of it. A curve that can't be
    unpacked is left out; the firing page says why.
    """
    packed = session.scalar(
        select(Curve.packed)
        .where(Curve.firing_id == firing_id, Curve.main, Curve.role == "measured")
        .limit(1)
    )
    segments = session.execute(
        select(FiringSegment.rate_c_per_h, FiringSegment.target_c, FiringSegment.hold_min)
        .where(FiringSegment.firing_id == firing_id)
        .order_by(FiringSegment.position)
    ).all()
    legs = [(row[0], row[1], row[2]) for row in segments]
    return small_curve(packed, legs, read_limits(session))


def small_curve(
    packed: bytes | None,
    segments: Iterable[tuple[float | None, float, float]],
    limits: Limits = SHIPPED,
) -> SmallCurveData:
    """The values of a small curve from what is stored: pure, and fit for a worker thread."""
    from studiolog.craft.firing.program import Segment, planned_points

    legs = [Segment(rate, target, hold) for rate, target, hold in segments]
    program_s: tuple[float, ...] = ()
    program_c: tuple[float, ...] = ()
    if legs:
        at_s, at_c = planned_points(legs)
        program_s, program_c = tuple(at_s.tolist()), tuple(at_c.tolist())
    if packed is None:
        return SmallCurveData(program_s=program_s, program_c=program_c)
    return _with_log(packed, program_s, program_c, limits)


def _with_log(
    packed: bytes,
    program_s: tuple[float, ...],
    program_c: tuple[float, ...],
    limits: Limits,
) -> SmallCurveData:
    import numpy as np

    from studiolog.craft.firing.cleaning import clean_curve
    from studiolog.craft.firing.curve import summarize, time_above_s
    from studiolog.problems import UserProblem
    from studiolog.transfer.curve_blob import unpack_readings

    try:
        curve = clean_curve(*unpack_readings(packed))
        summary = summarize(curve, limits=limits)
    except (ValueError, UserProblem):
        return SmallCurveData(program_s=program_s, program_c=program_c)
    at_s, at_c = np.asarray(curve.elapsed_s), np.asarray(curve.temperature_c)
    near = at_s[at_c >= summary.peak_c - limits["near_peak_c"]]
    band = (float(near[0]), float(near[-1])) if near.size > 1 else None
    down = summary.quartz_down
    step = max(1, at_s.size // 1200)
    return SmallCurveData(
        curve_s=tuple(at_s[::step].tolist()),
        curve_c=tuple(at_c[::step].tolist()),
        program_s=program_s,
        program_c=program_c,
        gaps=tuple((gap.start_s, gap.end_s) for gap in summary.gaps),
        peak_c=summary.peak_c,
        hold_min=summary.hold_min,
        hold_band=band,
        above_1100_s=time_above_s(at_s, at_c, 1100.0),
        quartz_down_c_per_h=abs(down.rate_c_per_h) if down and down.rate_c_per_h else None,
    )
