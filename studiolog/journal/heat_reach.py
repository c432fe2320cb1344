"""How far a change reaches: the firings whose heat may differ, and no more.

A reading counts until so many have come after it, or a new calibration begins.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time

from sqlalchemy import Connection, select
from sqlalchemy.sql import ColumnElement

from studiolog.craft.firing.calibration import readings_that_count
from studiolog.craft.limits import Limits
from studiolog.journal.calibrations import Calibrations
from studiolog.journal.tables import table
from studiolog.records.facts import level_heat


@dataclass(frozen=True)
class Within:
    """The firings of a kiln that are derived: those from ``since`` to ``last``, both included."""

    kiln_id: int
    since: datetime | None = None
    last: datetime | None = None

    def where(self) -> list[ColumnElement[bool]]:
        """As conditions on the table of firings."""
        firing = table("firing")
        found: list[ColumnElement[bool]] = [firing.c.kiln_id == self.kiln_id]
        if self.since is not None:
            found.append(firing.c.started_at >= self.since)
        if self.last is not None:
            found.append(firing.c.started_at <= self.last)
        return found


def reach_of(
    connection: Connection,
    kiln_id: int,
    levels: Sequence[int],
    limits: Limits,
    calibrations: Calibrations,
    span: tuple[datetime, datetime],
) -> datetime | None:
    """The last firing that what changed in a span can reach; None where that is the newest.

    Each level that has a say must have had as many readings since as count. Readings after the
    change stand in the facts as they were.
    """
    firing, curve = table("firing"), table("curve")
    changed_at = span[1]
    ends = calibrations.end_of(changed_at.date())
    latest = datetime.combine(ends, time.min) if ends is not None else None
    reached = changed_at
    for level_id in levels:
        if not _has_a_say(connection, level_id, span):
            continue
        asked = (
            select(firing.c.started_at)
            .select_from(firing)
            .join(level_heat, level_heat.c.firing_id == firing.c.id)
            .join(curve, curve.c.firing_id == firing.c.id)
            .where(
                firing.c.kiln_id == kiln_id,
                firing.c.started_at > changed_at,
                level_heat.c.level_id == level_id,
                level_heat.c.basis == "read",
                curve.c.main,
                curve.c.cone.is_not(None),
            )
            .order_by(firing.c.started_at)
            .offset(readings_that_count(limits) - 1)
            .limit(1)
        )
        at = connection.execute(asked).scalar()
        if at is None:
            return latest
        reached = max(reached, at)
    return reached if latest is None else min(reached, latest)


def _has_a_say(connection: Connection, level_id: int, span: tuple[datetime, datetime]) -> bool:
    """Whether a level has readings against a curve, or had one that may just have been taken away:
    the facts still are as they were before the change."""
    firing, curve, pack = table("firing"), table("curve"), table("cone_pack")
    has = (
        select(pack.c.id)
        .join(curve, curve.c.firing_id == pack.c.firing_id)
        .where(pack.c.level_id == level_id, curve.c.main, curve.c.cone.is_not(None))
    )
    had = (
        select(level_heat.c.firing_id)
        .outerjoin(firing, firing.c.id == level_heat.c.firing_id)
        .where(
            level_heat.c.level_id == level_id,
            level_heat.c.basis == "read",
            firing.c.id.is_(None) | firing.c.started_at.between(*span),
        )
    )
    return any(connection.execute(one.limit(1)).first() is not None for one in (has, had))
