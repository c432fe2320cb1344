"""The map of a kiln: which levels run hot or cool against the sensor, and how that moved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy.orm import Session

from studiolog.craft.firing.calibration import (
    LevelOffset,
    cones_from_degrees,
    describe_spread,
    readings_that_count,
)
from studiolog.journal.calibrations import (
    Calibrations,
    Change,
    PastReading,
    estimate_by_id,
    group_by_calibration,
    read_calibrations,
    read_past,
)
from studiolog.journal.limits import read_limits

MOST_READINGS = 200
"""So many of a level's last readings are drawn."""


@dataclass(frozen=True)
class MapLevel:
    """One level: its offset today (None where no reading counts), and its readings over time.

    ``readings`` hold all calibrations, oldest first; ``calibration_of`` say which, from 0.
    """

    level_id: int
    name: str
    offset: LevelOffset | None
    readings: tuple[PastReading, ...]
    calibration_of: tuple[int, ...]

    @property
    def in_cones(self) -> str:
        """How hot the level runs, in words: "about half a cone hotter"."""
        if self.offset is None:
            return "not read yet"
        return say_in_cones(self.offset.offset_c)


@dataclass(frozen=True)
class KilnMap:
    """A kiln's levels from the top down. ``spread`` tells how even it is, "" with one level read.

    ``since`` is the day from which readings count, None since ever.
    """

    levels: tuple[MapLevel, ...]
    changes: tuple[Change, ...]
    since: date | None
    spread: str

    @property
    def is_empty(self) -> bool:
        """Whether no level was ever read against a curve."""
        return not any(level.readings for level in self.levels)


def read_kiln_map(session: Session, kiln_id: int, levels: Sequence[tuple[int, str]]) -> KilnMap:
    """The map of a kiln; ``levels`` are its (id, name) from the top down."""
    connection = session.connection()
    limits = read_limits(session)
    calibrations = read_calibrations(connection, [kiln_id])[kiln_id]
    ids = [level_id for level_id, _ in levels]
    past = read_past(connection, kiln_id, ids, last=max(MOST_READINGS, readings_that_count(limits)))
    newest = len(calibrations.starts)
    current = {
        level_id: group_by_calibration(readings, calibrations).get(newest, [])
        for level_id, readings in past.items()
    }
    offsets = estimate_by_id(current, limits)
    found = tuple(
        MapLevel(
            level_id,
            name,
            replace(offsets[level_id], level=name) if offsets[level_id].readings else None,
            tuple(past[level_id]),
            tuple(calibrations.number_of(one.started_at.date()) for one in past[level_id]),
        )
        for level_id, name in levels
    )
    read = [(level.name, level.offset.offset_c) for level in found if level.offset is not None]
    spread = ""
    if len(read) > 1:
        top, bottom = cones_from_degrees(read[0][1]), cones_from_degrees(read[-1][1])
        spread = (
            f"From {read[0][0]} to {read[-1][0]} {abs(top - bottom):.1f} cones: "
            f"{describe_spread(top, bottom, limits)}."
        )
    return KilnMap(found, calibrations.changes, _since(calibrations), spread)


def say_in_cones(offset_c: float) -> str:
    """An offset as potters say it, in quarter cones near cone 6: "about half a cone hotter"."""
    quarters = round(abs(cones_from_degrees(offset_c)) * 4)
    if quarters == 0:
        return "as the sensor says"
    way = "hotter" if offset_c > 0 else "cooler"
    whole, part = divmod(quarters, 4)
    if whole == 0:
        part_words = {1: "a quarter cone", 2: "half a cone", 3: "three quarters of a cone"}
        return f"about {part_words[part]} {way}"
    count = "a cone" if whole == 1 else f"{whole} cones"
    if part:
        count = f"{whole} {'¼' if part == 1 else '½' if part == 2 else '¾'} cones".replace(
            " ", "", 1
        )
    return f"about {count} {way}"


def _since(calibrations: Calibrations) -> date | None:
    return calibrations.starts[-1] if calibrations.starts else None
