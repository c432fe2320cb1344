"""Zones that a log names in words behind its stamps: "CEST", "Europe/Berlin"."""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

# Hours ahead of UTC. Names that mean two zones (IST) are left out; CST is the American one.
_ZONES_BY_NAME = {
    "WET": 0.0, "WEST": 1.0, "BST": 1.0, "CET": 1.0, "MEZ": 1.0, "CEST": 2.0, "MESZ": 2.0,
    "EET": 2.0, "EEST": 3.0, "EST": -5.0, "EDT": -4.0, "CST": -6.0, "CDT": -5.0, "MST": -7.0,
    "MDT": -6.0, "PST": -8.0, "PDT": -7.0, "AKST": -9.0, "AKDT": -8.0, "HST": -10.0,
    "JST": 9.0, "AWST": 8.0, "AEST": 10.0, "AEDT": 11.0, "NZST": 12.0, "NZDT": 13.0,
}  # fmt: skip
_ZONE_NAME = re.compile(
    r"^(?P<stamp>.*\d[Z]?)\s*(?:\[?(?P<zone>[A-Z][A-Za-z_]+/[A-Za-z_/]+)\]?"
    r"|\s(?P<abbreviation>[A-Z]{3,4}|Uhr))$"
)


def part_zone_name(cell: str) -> tuple[str, str]:
    """A stamp without the name of its zone, and that name; empty where it names none.

    "Uhr", as German clocks say, is taken off as well and names no zone.
    """
    if not cell[-1:].isalpha() and cell[-1:] != "]":
        return cell, ""
    named = _ZONE_NAME.match(cell)
    if named is None:
        return cell, ""
    return named["stamp"], named["zone"] or named["abbreviation"]


def in_named_zone(wall_s: float, zone: str) -> tuple[float, float | None]:
    """A wall clock's seconds as those of UTC, with the zone's offset in seconds.

    None for a name that is no zone: the studio's own clock, as without one.
    """
    offset_h = _ZONES_BY_NAME.get(zone.upper())
    if offset_h is not None:
        return wall_s - offset_h * 3600.0, offset_h * 3600.0
    if "/" not in zone:
        return wall_s, None
    try:
        ahead = ZoneInfo(zone).utcoffset(datetime(1970, 1, 1) + timedelta(seconds=wall_s))
    except (ZoneInfoNotFoundError, ValueError, OverflowError):
        return wall_s, None
    ahead_s = ahead.total_seconds() if ahead is not None else 0.0
    return wall_s - ahead_s, ahead_s
