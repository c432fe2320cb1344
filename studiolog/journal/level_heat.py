"""The cone each level of a firing really got, best basis first.

The witness cones read at the level; else the heat-work of the curve, corrected by what this
kiln's level has read against its sensor before, in the same calibration; else the cone aimed at.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from studiolog.craft.firing.bend import BendReading, read_pack
from studiolog.craft.firing.calibration import (
    LevelOffset,
    correct_number,
    estimate_offsets,
    offset_of_reading,
    readings_that_count,
)
from studiolog.craft.firing.cones import ordinal_of
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.journal.bends import bend_as_said
from studiolog.journal.calibrations import Calibrations, read_calibrations, read_past
from studiolog.journal.heat_reach import Within, reach_of
from studiolog.journal.limits import limits_in_force
from studiolog.journal.tables import in_chunks, table
from studiolog.problems import UserProblem
from studiolog.records.facts import level_heat

WHOLE_KILN = 0
"""The level id that stands for the kiln as a whole, where no level is known."""

_AIMED_HALF_WIDTH = 0.5


@dataclass(frozen=True)
class LevelCone:
    """A cone on the ordinal scale with its interval, and how it is known."""

    cone: float
    low: float
    high: float
    basis: str


@dataclass(frozen=True)
class CurveCone:
    """What the sensor's curve amounts to, as it is stored beside the curve.

    ``low`` to ``high`` are kept by the sigma of a bare thermocouple as shipped, whatever the
    studio's limit was then: what is shown is told from them by the limit that holds now.
    """

    cone: float
    low: float
    high: float
    flags: tuple[str, ...]

    @classmethod
    def of(cls, row: Any) -> "CurveCone":
        """That of a row with ``cone``, ``cone_low``, ``cone_high`` and ``flags`` of a curve."""
        flags = tuple(filter(None, row.flags.split(",")))
        return cls(row.cone, row.cone_low, row.cone_high, flags)

    def at_level(self, offset: LevelOffset) -> LevelCone:
        """The cone at a level whose witness cones have read ``offset`` against the sensor."""
        if "below_chart" in self.flags or "above_chart" in self.flags:
            return LevelCone(self.cone, self.low, self.high, "computed")
        sigma_c = SHIPPED["sigma_bare_c"]
        moved = correct_number(self.cone, self.low, self.high, sigma_c, offset)
        return LevelCone(moved.number, moved.low, moved.high, "computed")

    def at_sensor(self, limits: Limits) -> LevelCone:
        """The cone by the sensor alone, for a place of which no cone was read."""
        if limits["sigma_bare_c"] == SHIPPED["sigma_bare_c"]:
            return LevelCone(self.cone, self.low, self.high, "computed")
        return self.at_level(LevelOffset("", 0.0, 0, None, None, limits))


@dataclass(frozen=True)
class FiringLine:
    """What the facts of a piece need of a firing."""

    kind: str
    atmosphere: str
    started_at: datetime


@dataclass(frozen=True)
class KilnHeat:
    """The heat of some firings, level by level."""

    firings: Mapping[int, FiringLine]
    cones: Mapping[tuple[int, int], LevelCone]

    @classmethod
    def read(cls, connection: Connection, firing_ids: Iterable[int]) -> "KilnHeat":
        """Read what is stored of these firings."""
        ids = sorted(set(firing_ids))
        firing = table("firing")
        lines = {
            row.id: FiringLine(row.kind, row.atmosphere, row.started_at)
            for row in connection.execute(
                select(firing.c.id, firing.c.kind, firing.c.atmosphere, firing.c.started_at).where(
                    firing.c.id.in_(ids)
                )
            )
        }
        cones = {
            (row.firing_id, row.level_id): LevelCone(
                row.cone, row.cone_low, row.cone_high, row.basis
            )
            for row in connection.execute(select(level_heat).where(level_heat.c.firing_id.in_(ids)))
        }
        return cls(lines, cones)

    def at(self, firing_id: int, level_id: int | None) -> LevelCone | None:
        """The cone at a level; of the kiln as a whole if the level is not known."""
        return self.cones.get((firing_id, level_id or WHOLE_KILN)) or self.cones.get(
            (firing_id, WHOLE_KILN)
        )


def refresh_level_heat(
    connection: Connection, kiln_id: int, span: tuple[datetime, datetime] | None = None
) -> set[int]:
    """Derive the heat of every level of a kiln's firings; returns the firings that differ.

    ``span`` are the first and the last moment at which something changed; None derives all. A
    reading changes what later firings without readings are corrected by, until so many have come
    after it that it no longer counts, or a new calibration begins: no firing beyond can differ.
    """
    limits = limits_in_force(connection)
    calibrations = read_calibrations(connection, [kiln_id])[kiln_id]
    levels = _levels(connection, kiln_id)
    within = Within(kiln_id)
    if span is not None:
        last = reach_of(connection, kiln_id, levels, limits, calibrations, span)
        within = Within(kiln_id, span[0], last)
    wanted = _derive(connection, within, levels, limits, calibrations)
    stored = _stored(connection, within)
    differing = {
        firing_id for firing_id, levels in wanted.items() if levels != stored.get(firing_id, {})
    }
    gone = set(stored) - set(wanted)
    for some in in_chunks(sorted(differing | gone)):
        connection.execute(delete(level_heat).where(level_heat.c.firing_id.in_(some)))
    rows = [
        {
            "firing_id": firing_id,
            "level_id": level_id,
            "cone": cone.cone,
            "cone_low": cone.low,
            "cone_high": cone.high,
            "basis": cone.basis,
        }
        for firing_id in sorted(differing)
        for level_id, cone in wanted[firing_id].items()
    ]
    if rows:
        connection.execute(insert(level_heat), rows)
    return differing | gone


def _levels(connection: Connection, kiln_id: int) -> list[int]:
    level = table("kiln_level")
    asked = select(level.c.id).where(level.c.kiln_id == kiln_id).order_by(level.c.position)
    return list(connection.execute(asked).scalars())


def _stored(connection: Connection, within: Within) -> dict[int, dict[int, LevelCone]]:
    firing = table("firing")
    stored: dict[int, dict[int, LevelCone]] = defaultdict(dict)
    for row in connection.execute(
        select(level_heat)
        .join(firing, firing.c.id == level_heat.c.firing_id)
        .where(*within.where())
    ):
        stored[row.firing_id][row.level_id] = LevelCone(
            row.cone, row.cone_low, row.cone_high, row.basis
        )
    return stored


class _Corrections:
    """What each level's readings amount to, within one calibration; told anew after each."""

    def __init__(self, levels: Sequence[int], limits: Limits, calibrations: Calibrations) -> None:
        self._levels, self._limits = levels, limits
        self._number = -1
        self._calibrations = calibrations
        self._readings: dict[str, list[float]] = {}
        self._told: dict[str, LevelOffset] | None = None

    def begin(self, started_at: datetime) -> None:
        """Start afresh if a firing belongs to another calibration than the one before."""
        number = self._calibrations.number_of(started_at.date())
        if number != self._number:
            self._number = number
            self._readings = {str(level_id): [] for level_id in self._levels}
            self._told = None

    def add(self, level_id: int, offset_c: float) -> None:
        """One more reading."""
        self._readings[str(level_id)].append(offset_c)
        self._told = None

    @property
    def limits(self) -> Limits:
        """The limits they are told by."""
        return self._limits

    def offsets(self) -> dict[str, LevelOffset]:
        """The offset of each level by its id as a word."""
        if self._told is None:
            self._told = estimate_offsets(self._readings, self._limits)
        return self._told


def _derive(
    connection: Connection,
    within: Within,
    levels: Sequence[int],
    limits: Limits,
    calibrations: Calibrations,
) -> dict[int, dict[int, LevelCone]]:
    firing = table("firing")
    corrections = _Corrections(levels, limits, calibrations)
    since = within.since
    if since is not None:
        corrections.begin(since)
        past = read_past(
            connection,
            within.kiln_id,
            levels,
            last=readings_that_count(limits),
            before=(since, 0),
            since=calibrations.start_of(since.date()),
        )
        for level_id, readings in past.items():
            for one in readings:
                corrections.add(level_id, one.offset_c)
    asked = (
        select(firing.c.id, firing.c.cone, firing.c.started_at)
        .where(*within.where())
        .order_by(firing.c.started_at, firing.c.id)
    )
    curves = _curve_cones(connection, within)
    packs = _pack_readings(connection, within)
    heats: dict[int, dict[int, LevelCone]] = {}
    for row in connection.execute(asked):
        corrections.begin(row.started_at)
        curve = curves.get(row.id)
        read = {level_id: _witness(cones) for level_id, cones in packs.get(row.id, {}).items()}
        heats[row.id] = _one_firing(row.cone, curve, read, levels, corrections)
        if curve is not None:
            for level_id, witness in read.items():
                if witness is not None:
                    corrections.add(level_id, offset_of_reading(witness.cone, curve.cone))
    return heats


def _one_firing(
    aimed: str | None,
    curve: CurveCone | None,
    read: Mapping[int, LevelCone | None],
    levels: Sequence[int],
    corrections: _Corrections,
) -> dict[int, LevelCone]:
    cones: dict[int, LevelCone] = {}
    for level_id in levels:
        best = read.get(level_id)
        if best is None and curve is not None:
            best = curve.at_level(corrections.offsets()[str(level_id)])
        best = best or _aimed(aimed)
        if best is not None:
            cones[level_id] = best
    # Where the level is not known, any of them may be meant: the span of what they got.
    if cones:
        mean = sum(cone.cone for cone in cones.values()) / len(cones)
        bases = {cone.basis for cone in cones.values()}
        basis = next(basis for basis in ("aimed", "computed", "read") if basis in bases)
        cones[WHOLE_KILN] = LevelCone(
            mean,
            min(cone.low for cone in cones.values()),
            max(cone.high for cone in cones.values()),
            basis,
        )
    elif curve is not None:
        cones[WHOLE_KILN] = curve.at_sensor(corrections.limits)
    elif (whole := _aimed(aimed)) is not None:
        cones[WHOLE_KILN] = whole
    return cones


def _aimed(cone: str | None) -> LevelCone | None:
    if not cone:
        return None
    number = ordinal_of(cone)
    return LevelCone(number, number - _AIMED_HALF_WIDTH, number + _AIMED_HALF_WIDTH, "aimed")


def _witness(cones: Sequence[tuple[str, BendReading]]) -> LevelCone | None:
    try:
        pack = read_pack(cones)
    except UserProblem:
        # Cones that can't be placed on the scale say nothing here; the firing page says why.
        return None
    return LevelCone(pack.number, pack.low, pack.high, "read")


def _curve_cones(connection: Connection, within: Within) -> dict[int, CurveCone]:
    firing, curve = table("firing"), table("curve")
    rows: Iterable[Any] = connection.execute(
        select(curve.c.firing_id, curve.c.cone, curve.c.cone_low, curve.c.cone_high, curve.c.flags)
        .join(firing, firing.c.id == curve.c.firing_id)
        .where(*within.where(), curve.c.main, curve.c.cone.is_not(None))
    )
    return {row.firing_id: CurveCone.of(row) for row in rows}


def _pack_readings(
    connection: Connection, within: Within
) -> dict[int, dict[int, list[tuple[str, BendReading]]]]:
    firing, pack, reading = table("firing"), table("cone_pack"), table("cone_reading")
    found: dict[int, dict[int, list[tuple[str, BendReading]]]] = defaultdict(
        lambda: defaultdict(list)
    )
    for row in connection.execute(
        select(
            pack.c.firing_id,
            pack.c.level_id,
            reading.c.cone,
            reading.c.bend_low_deg,
            reading.c.bend_high_deg,
            reading.c.said,
        )
        .join(pack, pack.c.id == reading.c.pack_id)
        .join(firing, firing.c.id == pack.c.firing_id)
        .where(*within.where())
        .order_by(reading.c.id)
    ):
        found[row.firing_id][row.level_id].append(
            (
                row.cone,
                bend_as_said(row.bend_low_deg, row.bend_high_deg, row.said),
            )
        )
    return found
