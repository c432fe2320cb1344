"""What a change of records means for the heat of firings: which kilns, and from when on.

Few edits change any heat: a firing's notes, the price of its power or the name of its kiln cost
nothing here.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, time
from typing import Any, Final

from sqlalchemy import Connection, select

from studiolog.craft.limits import shipped_limits
from studiolog.journal.calibrations import RECALIBRATING
from studiolog.journal.tables import in_chunks, table
from studiolog.records.change_recorder import RowChange

Span = tuple[datetime, datetime]
"""The first and the last moment at which something changed."""

EVER: Final[Span] = (datetime.min, datetime.max)
"""Where every firing of a kiln may differ."""

_HEAT_OF_FIRING: Final = ("kiln_id", "started_at", "cone")
_PIECES_OF_FIRING: Final = ("kind", "atmosphere")


def heat_changes(
    connection: Connection, changes: Sequence[RowChange]
) -> tuple[set[int], dict[int, Span]]:
    """Firings whose pieces' facts may differ, and the kilns to derive anew, each with its span."""
    firings: set[int] = set()
    kilns: dict[int, Span] = {}

    def touch(kiln_id: int, span: Span | None) -> None:
        if span is not None:
            known = kilns.get(kiln_id, span)
            kilns[kiln_id] = min(known[0], span[0]), max(known[1], span[1])

    logged: set[int] = set()
    packs: set[int] = set()
    for change in changes:
        name = change.table_name
        if name == "firing":
            if _differs(change, *_HEAT_OF_FIRING, *_PIECES_OF_FIRING):
                firings.add(change.row_id)
            if _differs(change, *_HEAT_OF_FIRING):
                for image in _images(change):
                    touch(image["kiln_id"], (image["started_at"], image["started_at"]))
        elif name == "kiln":
            if _differs(change, "calibrated_from"):
                touch(change.row_id, _span_of_days(change, "calibrated_from"))
        elif name == "kiln_level":
            if _differs(change, "kiln_id"):
                for image in _images(change):
                    touch(image["kiln_id"], EVER)
        elif name == "kiln_task":
            if _differs(change, "done_on", "task", "kiln_id") and any(
                image["task"] in RECALIBRATING for image in _images(change)
            ):
                for image in _images(change):
                    touch(image["kiln_id"], _span_of_days(change, "done_on"))
        elif name == "limit_changed":
            if any(_is_of_cones(image["key"]) for image in _images(change)):
                for kiln_id in connection.execute(select(table("kiln").c.id)).scalars():
                    touch(kiln_id, EVER)
        elif name in ("curve", "cone_pack"):
            logged.update(image["firing_id"] for image in _images(change))
        elif name == "cone_reading":
            packs.update(image["pack_id"] for image in _images(change))
    for some in in_chunks(sorted(packs)):
        pack = table("cone_pack")
        found = select(pack.c.firing_id).where(pack.c.id.in_(some))
        logged.update(connection.execute(found).scalars())
    for some in in_chunks(sorted(logged)):
        firing = table("firing")
        for row in connection.execute(
            select(firing.c.kiln_id, firing.c.started_at).where(firing.c.id.in_(some))
        ):
            touch(row.kiln_id, (row.started_at, row.started_at))
    return firings, kilns


def _images(change: RowChange) -> Iterable[Mapping[str, Any]]:
    return (image for image in (change.before, change.after) if image is not None)


def _differs(change: RowChange, *fields: str) -> bool:
    """Whether one of the fields changed; a row that came or went differs in all."""
    before, after = change.before, change.after
    if before is None or after is None:
        return True
    return any(before[field] != after[field] for field in fields)


def _span_of_days(change: RowChange, field: str) -> Span | None:
    """The midnights of the days a change had and has; None where it has none.

    A day taken away leaves the firings after it to the calibration before.
    """
    days = [image[field] for image in _images(change) if image[field] is not None]
    if not days:
        return None
    return datetime.combine(min(days), time.min), datetime.combine(max(days), time.min)


def _is_of_cones(key: str) -> bool:
    known = shipped_limits().get(key)
    return known is not None and known.group == "cones"
