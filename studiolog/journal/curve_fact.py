"""What the main curve of each firing says of its kiln, kept beside the firing.

Derived from the records alone: the main curve as it is stored, the duty logged with it, and the
hour at which the firing started. Wear and energy are told from it without unpacking a curve.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, delete, insert, select

from studiolog.journal.tables import in_chunks, table
from studiolog.problems import UserProblem
from studiolog.records.change_recorder import RowChange
from studiolog.records.facts import curve_fact

if TYPE_CHECKING:
    from studiolog.craft.firing.curve_work import CurveWork


def refresh_curve_facts(connection: Connection, changes: Sequence[RowChange]) -> None:
    """Derive the facts of the curves that ``changes`` touched, and of firings that moved in time.

    An edit of anything else (a note, a cone, a figure of the meter) costs nothing.
    """
    touched: set[int] = set()
    for change in changes:
        if change.table_name == "firing" and _moved(change):
            touched.add(change.row_id)
        elif change.table_name == "curve":
            images = (change.before, change.after)
            touched.update(image["firing_id"] for image in images if image is not None)
    if touched:
        _derive(connection, sorted(touched))


def rebuild_curve_facts(connection: Connection) -> None:
    """Derive the facts of every curve anew."""
    connection.execute(delete(curve_fact))
    curve = table("curve")
    logged = select(curve.c.firing_id).distinct().order_by(curve.c.firing_id)
    _derive(connection, connection.execute(logged).scalars().all())


def _moved(change: RowChange) -> bool:
    before, after = change.before, change.after
    if before is None or after is None:
        return True
    return bool(before["started_at"] != after["started_at"])


def _derive(connection: Connection, firing_ids: Sequence[int]) -> None:
    firing, curve = table("firing"), table("curve")
    for some in in_chunks(firing_ids):
        connection.execute(delete(curve_fact).where(curve_fact.c.firing_id.in_(some)))
        logs: dict[int, list[Any]] = defaultdict(list)
        for row in connection.execute(
            select(
                curve.c.firing_id,
                curve.c.channel,
                curve.c.role,
                curve.c.main,
                curve.c.packed,
                firing.c.started_at,
            )
            .join(firing, firing.c.id == curve.c.firing_id)
            .where(curve.c.firing_id.in_(some), curve.c.main | (curve.c.role == "duty"))
            .order_by(curve.c.firing_id, curve.c.id)
        ):
            logs[row.firing_id].append(row)
        facts = [
            {"firing_id": firing_id, **_columns(work)}
            for firing_id, rows in logs.items()
            if (work := _tell(rows, rows[0].started_at)) is not None
        ]
        if facts:
            connection.execute(insert(curve_fact), facts)


def _columns(work: CurveWork) -> dict[str, float | str | None]:
    return {
        "begins_h": work.begins_h,
        "heating_h": work.heating_h,
        "cooling_h": work.cooling_h,
        "climb_min": work.climb_min,
        "climb_demand": work.climb_demand,
        "hold_duty": work.hold_duty,
        "duty_h": work.duty_h,
        "duty_gap_h": work.duty_gap_h,
        "by_quarter": ",".join(map(str, work.by_quarter)) or None,
        "above_100_h": work.above_100_h,
        "above_1000_h": work.above_1000_h,
    }


def _tell(rows: Iterable[Any], started_at: datetime) -> CurveWork | None:
    """The work told by the rows of one firing; None for curves that hold nothing to read."""
    from studiolog.craft.firing.cleaning import clean_curve, trust_curve
    from studiolog.craft.firing.curve_work import tell_curve_work
    from studiolog.journal.firing_log import TYPED
    from studiolog.transfer.curve_blob import unpack_readings

    main, duties = None, []
    for row in rows:
        try:
            readings = unpack_readings(row.packed)
        except ValueError:
            continue  # the firing's own page says what is wrong with it
        if row.main and row.role == "measured":
            main = (row.channel, *readings)
        elif row.role == "duty":
            duties.append(readings)
    if main is None:
        return None
    channel, elapsed_s, temperature_c = main
    try:
        clean = trust_curve if channel == TYPED else clean_curve
        curve = clean(elapsed_s, temperature_c)
    except UserProblem:
        return None
    return tell_curve_work(curve, duties, started_at)
