"""The page of a kiln: its levels with what they read against the sensor, and its firings."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.journal.kiln_energy import KilnEnergy, read_kiln_energy
from studiolog.journal.kiln_map import KilnMap, read_kiln_map
from studiolog.journal.kiln_shelves import (
    KilnShelves,
    ShelvesInForce,
    read_shelves,
    shelves_in_force,
)
from studiolog.journal.kiln_tasks import KilnTasks, read_tasks
from studiolog.journal.kiln_wear import KilnWearPage, read_kiln_wear
from studiolog.journal.limits import read_limits
from studiolog.journal.tariffs import TariffLine, list_tariffs
from studiolog.journal.uses import PAGE, FiringUses, read_firing_uses
from studiolog.records.facts import piece_fact
from studiolog.records.firings import ConePack, Curve, Firing
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.pieces import Placement


@dataclass(frozen=True)
class KilnLevelLine:
    """A level: pieces that stood there, cone packs read there, its offset, its fault rates.

    ``offset_c`` is the heat by its cones over that by the sensor, °C on the 60 °C/h scale;
    None where no reading can be set against a curve.
    """

    level_id: int
    name: str
    pieces: int
    packs: int
    offset_c: float | None
    readings: int
    scatter_c: float | None
    calibrated: bool
    group: RateGroup


@dataclass(frozen=True)
class KilnPage:
    """Everything of one kiln; levels from the top down. ``top_c`` is the hottest peak of late."""

    kiln_id: int
    version: int
    name: str
    power_kw: float | None
    volume_l: float | None
    shelf_across_mm: float | None
    thermocouple_type: str
    thermocouple_offset_c: float
    calibrated_from: date | None
    tariff_per_kwh: Decimal | None
    notes: str
    archived: bool
    levels: tuple[KilnLevelLine, ...]
    tariffs: tuple[TariffLine, ...]
    energy: KilnEnergy
    heat_map: KilnMap
    wear: KilnWearPage
    tasks: KilnTasks
    top_c: float | None
    uses: FiringUses
    rates: RateGroup
    shelves: KilnShelves
    shelves_in_force: ShelvesInForce


def read_kiln_page(
    session: Session,
    kiln_id: int,
    start: int = 0,
    limit: int = PAGE,
    today: date | None = None,
) -> KilnPage | None:
    """The page of a kiln with one page of its firings; None if it is gone.

    ``today`` is the day by which its upkeep is judged; the day of the clock, if it is not given.
    """
    kiln = session.get(Kiln, kiln_id)
    if kiln is None:
        return None
    looks = _looks_by_level(session, kiln_id)
    levels = session.scalars(
        select(KilnLevel).where(KilnLevel.kiln_id == kiln_id).order_by(KilnLevel.position)
    ).all()
    heat_map = read_kiln_map(session, kiln_id, [(level.id, level.name) for level in levels])
    shelves = read_shelves(session, kiln_id)
    assert shelves is not None
    return KilnPage(
        kiln.id,
        kiln.version,
        kiln.name,
        kiln.power_kw,
        kiln.volume_l,
        kiln.shelf_across_mm,
        kiln.thermocouple_type,
        kiln.thermocouple_offset_c,
        kiln.calibrated_from,
        kiln.tariff_per_kwh,
        kiln.notes,
        kiln.archived,
        _levels(session, heat_map, looks),
        list_tariffs(session, kiln_id),
        read_kiln_energy(session, kiln_id),
        heat_map,
        read_kiln_wear(session, kiln_id),
        read_tasks(session, kiln_id, today or date.today()),
        _top_c(session, kiln_id),
        read_firing_uses(session, Firing.kiln_id == kiln_id, start, limit),
        group_rates(look for some in looks.values() for look in some),
        shelves,
        shelves_in_force(shelves, read_limits(session)),
    )


def _looks_by_level(session: Session, kiln_id: int) -> dict[int | None, list[tuple[int, int, int]]]:
    """Faults of the pieces whose glaze firing was in this kiln, by the level they stood at."""
    looks: dict[int | None, list[tuple[int, int, int]]] = defaultdict(list)
    for row in session.execute(
        select(
            piece_fact.c.piece_id,
            piece_fact.c.level_id,
            piece_fact.c.looked_mask,
            piece_fact.c.seen_mask,
        )
        .join(Firing, Firing.id == piece_fact.c.firing_id)
        .where(Firing.kiln_id == kiln_id)
    ):
        looks[row.level_id].append((row.piece_id, row.looked_mask, row.seen_mask))
    return looks


def _levels(
    session: Session,
    heat_map: KilnMap,
    looks: dict[int | None, list[tuple[int, int, int]]],
) -> tuple[KilnLevelLine, ...]:
    ids = [level.level_id for level in heat_map.levels]
    stood = dict(
        session.execute(
            select(Placement.level_id, func.count())
            .where(Placement.level_id.in_(ids))
            .group_by(Placement.level_id)
        ).all()
    )
    packs = dict(
        session.execute(
            select(ConePack.level_id, func.count())
            .where(ConePack.level_id.in_(ids))
            .group_by(ConePack.level_id)
        ).all()
    )
    lines = []
    for level in heat_map.levels:
        offset = level.offset
        lines.append(
            KilnLevelLine(
                level.level_id,
                level.name,
                stood.get(level.level_id, 0),
                packs.get(level.level_id, 0),
                offset.offset_c if offset is not None else None,
                offset.readings if offset is not None else 0,
                offset.scatter_c if offset is not None else None,
                offset.calibrated if offset is not None else False,
                group_rates(looks.get(level.level_id, ())),
            )
        )
    return tuple(lines)


def _top_c(session: Session, kiln_id: int) -> float | None:
    """The hottest peak of the last ten logged firings."""
    lately = (
        select(Curve.peak_c)
        .join(Firing, Firing.id == Curve.firing_id)
        .where(Firing.kiln_id == kiln_id, Curve.main, Curve.peak_c.is_not(None))
        .order_by(Firing.started_at.desc())
        .limit(10)
        .subquery()
    )
    hottest: float | None = session.scalar(select(func.max(lately.c.peak_c)))
    return hottest
