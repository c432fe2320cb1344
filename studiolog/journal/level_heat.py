"""The cone each level of a firing really got, best basis first.

The witness cones read at the level; else the heat-work of the curve, corrected by what this
kiln's level has read against its sensor before; else the cone aimed at.
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
    correct_cone,
    estimate_offsets,
    offset_of_reading,
)
from studiolog.craft.firing.cones import label_of, ordinal_of
from studiolog.craft.firing.heatwork import SIGMA_UNCALIBRATED_C, ConeEstimate
from studiolog.journal.bends import bend_as_said
from studiolog.journal.tables import table
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
    """What the sensor's curve amounts to, as it is stored beside the curve."""

    cone: float
    low: float
    high: float
    flags: tuple[str, ...]

    def at_level(self, offset: LevelOffset) -> LevelCone:
        """The cone at a level whose witness cones have read ``offset`` against the sensor."""
        estimate = ConeEstimate(
            number=self.cone,
            label=label_of(self.cone),
            low=self.low,
            high=self.high,
            flags=self.flags,
            equivalent_rate_c_per_h=float("nan"),
            peak_c=float("nan"),
            peak_elapsed_s=float("nan"),
            sigma_c=SIGMA_UNCALIBRATED_C,
            calibrated=False,
            kept=0,
            dropped=0,
            gaps=(),
        )
        moved = correct_cone(estimate, offset)
        return LevelCone(moved.number, moved.low, moved.high, "computed")


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


def refresh_level_heat(connection: Connection, kiln_id: int) -> set[int]:
    """Derive the heat of every level of every firing of a kiln; returns the firings that differ.

    A reading changes what later firings without readings are corrected by, so the kiln is the
    unit.
    """
    wanted = _derive(connection, kiln_id)
    firing = table("firing")
    ids = select(firing.c.id).where(firing.c.kiln_id == kiln_id)
    stored: dict[int, dict[int, LevelCone]] = defaultdict(dict)
    for row in connection.execute(select(level_heat).where(level_heat.c.firing_id.in_(ids))):
        stored[row.firing_id][row.level_id] = LevelCone(
            row.cone, row.cone_low, row.cone_high, row.basis
        )
    differing = {
        firing_id for firing_id, levels in wanted.items() if levels != stored.get(firing_id, {})
    }
    gone = set(stored) - set(wanted)
    for firing_id in sorted(differing | gone):
        connection.execute(delete(level_heat).where(level_heat.c.firing_id == firing_id))
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
    # A firing that was deleted takes its heat with it, whatever kiln it stood in.
    connection.execute(delete(level_heat).where(level_heat.c.firing_id.not_in(select(firing.c.id))))
    return differing | gone


def read_offsets(connection: Connection, kiln_id: int) -> dict[int, LevelOffset]:
    """What each level of a kiln has read against its sensor, by level id, as it stands today."""
    _, offsets = _derive_all(connection, kiln_id)
    return {int(level): offset for level, offset in estimate_offsets(offsets).items()}


def _derive(connection: Connection, kiln_id: int) -> dict[int, dict[int, LevelCone]]:
    return _derive_all(connection, kiln_id)[0]


def _derive_all(
    connection: Connection, kiln_id: int
) -> tuple[dict[int, dict[int, LevelCone]], dict[str, list[float]]]:
    firing, level, kiln = table("firing"), table("kiln_level"), table("kiln")
    calibrated_from = connection.execute(
        select(kiln.c.calibrated_from).where(kiln.c.id == kiln_id)
    ).scalar_one_or_none()
    levels = list(
        connection.execute(
            select(level.c.id).where(level.c.kiln_id == kiln_id).order_by(level.c.position)
        ).scalars()
    )
    firings = connection.execute(
        select(firing.c.id, firing.c.cone, firing.c.started_at)
        .where(firing.c.kiln_id == kiln_id)
        .order_by(firing.c.started_at, firing.c.id)
    ).all()
    curves = _curve_cones(connection, kiln_id)
    readings = _pack_readings(connection, kiln_id)
    offsets: dict[str, list[float]] = {str(level_id): [] for level_id in levels}
    heats: dict[int, dict[int, LevelCone]] = {}
    for row in firings:
        curve = curves.get(row.id)
        read = {level_id: _witness(cones) for level_id, cones in readings.get(row.id, {}).items()}
        heats[row.id] = _one_firing(row.cone, curve, read, levels, offsets)
        fresh = calibrated_from is None or row.started_at.date() >= calibrated_from
        if curve is not None and fresh:
            for level_id, witness in read.items():
                if witness is not None:
                    offsets[str(level_id)].append(offset_of_reading(witness.cone, curve.cone))
    return heats, offsets


def _one_firing(
    aimed: str | None,
    curve: CurveCone | None,
    read: Mapping[int, LevelCone | None],
    levels: Sequence[int],
    offsets: Mapping[str, Sequence[float]],
) -> dict[int, LevelCone]:
    cones: dict[int, LevelCone] = {}
    corrections = estimate_offsets(offsets) if curve is not None else {}
    for level_id in levels:
        computed = curve.at_level(corrections[str(level_id)]) if curve is not None else None
        best = read.get(level_id) or computed or _aimed(aimed)
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
        cones[WHOLE_KILN] = LevelCone(curve.cone, curve.low, curve.high, "computed")
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


def _curve_cones(connection: Connection, kiln_id: int) -> dict[int, CurveCone]:
    firing, curve = table("firing"), table("curve")
    rows: Iterable[Any] = connection.execute(
        select(curve.c.firing_id, curve.c.cone, curve.c.cone_low, curve.c.cone_high, curve.c.flags)
        .join(firing, firing.c.id == curve.c.firing_id)
        .where(firing.c.kiln_id == kiln_id, curve.c.main, curve.c.cone.is_not(None))
    )
    return {
        row.firing_id: CurveCone(
            row.cone, row.cone_low, row.cone_high, tuple(filter(None, row.flags.split(",")))
        )
        for row in rows
    }


def _pack_readings(
    connection: Connection, kiln_id: int
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
        .where(firing.c.kiln_id == kiln_id)
        .order_by(reading.c.id)
    ):
        found[row.firing_id][row.level_id].append(
            (
                row.cone,
                bend_as_said(row.bend_low_deg, row.bend_high_deg, row.said),
            )
        )
    return found
