"""The kilns a program may be fired in, with what their cones have said against their sensors."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.calibration import LevelOffset
from studiolog.craft.limits import Limits
from studiolog.journal.calibrations import read_calibrations, read_offsets
from studiolog.journal.level_heat import WHOLE_KILN
from studiolog.records.firings import Firing
from studiolog.records.kilns import Kiln, KilnLevel


@dataclass(frozen=True)
class KilnSpot:
    """A level of a kiln, or with ``level_id`` 0 the kiln as a whole, and its offset."""

    level_id: int
    name: str
    offset: LevelOffset


@dataclass(frozen=True)
class ProgramKiln:
    """A kiln in use. ``spots`` is empty where no cone was read against a curve yet; else the
    kiln as a whole comes first: the mean of its levels, as well known as the least known."""

    kiln_id: int
    name: str
    spots: tuple[KilnSpot, ...]


def read_program_kilns(
    session: Session, program_id: int, limits: Limits
) -> tuple[ProgramKiln, ...]:
    """The kilns in use, the one this program was fired in last first."""
    kilns = list_kilns_of_program(session, program_id)
    ids = [kiln_id for kiln_id, _ in kilns]
    calibrations = read_calibrations(session.connection(), ids)
    levels: dict[int, list[tuple[int, str]]] = {kiln_id: [] for kiln_id in ids}
    for row in session.scalars(
        select(KilnLevel)
        .where(KilnLevel.kiln_id.in_(ids))
        .order_by(KilnLevel.kiln_id, KilnLevel.position)
    ):
        levels[row.kiln_id].append((row.id, row.name))
    found = []
    for kiln_id, name in kilns:
        offsets = read_offsets(
            session.connection(),
            kiln_id,
            [level_id for level_id, _ in levels[kiln_id]],
            limits,
            calibrations[kiln_id],
        )
        spots = [
            KilnSpot(level_id, level, offsets[level_id])
            for level_id, level in levels[kiln_id]
            if level_id in offsets
        ]
        if not any(spot.offset.readings for spot in spots):
            spots = []
        if spots:
            spots.insert(0, KilnSpot(WHOLE_KILN, "all levels", _mean([s.offset for s in spots])))
        found.append(ProgramKiln(kiln_id, name, tuple(spots)))
    return tuple(found)


def list_kilns_of_program(session: Session, program_id: int) -> tuple[tuple[int, str], ...]:
    """(id, name) of the kilns in use, the one it was fired in last first, the others as entered."""
    fired = (
        select(Firing.kiln_id, func.max(Firing.started_at).label("last"))
        .where(Firing.program_id == program_id)
        .group_by(Firing.kiln_id)
        .subquery()
    )
    rows = session.execute(
        select(Kiln.id, Kiln.name)
        .outerjoin(fired, fired.c.kiln_id == Kiln.id)
        .where(Kiln.archived.is_(False))
        .order_by(fired.c.last.is_(None), fired.c.last.desc(), Kiln.id)
    )
    return tuple((row.id, row.name) for row in rows)


def _mean(offsets: list[LevelOffset]) -> LevelOffset:
    return LevelOffset(
        "",
        sum(offset.offset_c for offset in offsets) / len(offsets),
        min(offset.readings for offset in offsets),
        None,
        None,
        offsets[0].limits,
    )
