"""The limits by which firings and glazes are judged: their standings, and the potter's to change.

``firing_limits.csv``, ``glaze_limits.csv`` and ``ware_limits.csv`` in ``resources/tables`` have the
values as shipped; a journal keeps only those that were changed (``journal.limits``). A sum takes a
:class:`Limits`; without one it uses the shipped.
"""

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from studiolog.problems import UserProblem
from studiolog.shipped import resource

GROUPS: Final[Mapping[str, str]] = {
    "curve": "Reading a curve",
    "cones": "Cones and calibration",
    "wear": "Wear of a kiln",
    "energy": "Energy",
    "program": "Cautions of a program",
    "formula": "Formula of a glaze",
    "fit": "Fit of glaze and clay",
    "mixing": "Mixing and buckets",
    "plans": "Test plans",
    "clay": "Shrinkage and absorption",
    "working": "Working time and drying",
    "promise": "Promises",
    "packing": "The next kiln",
    "cost": "What it costs",
}

_TABLES: Final = ("firing_limits.csv", "glaze_limits.csv", "ware_limits.csv")


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit as shipped. ``unit`` "°C step" is a difference, "share" a part of one."""

    key: str
    group: str
    value: float
    unit: str
    least: float
    most: float
    standing: str
    words: str
    source: str


@lru_cache(maxsize=1)
def shipped_limits() -> Mapping[str, Limit]:
    """All limits by key, in the order of the table."""
    limits: dict[str, Limit] = {}
    for name in _TABLES:
        with resource("tables", name).open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                limits[row["key"]] = Limit(
                    row["key"],
                    row["group"],
                    float(row["value"]),
                    row["unit"],
                    float(row["least"]),
                    float(row["most"]),
                    row["standing"],
                    row["words"],
                    row["source"],
                )
    return MappingProxyType(limits)


class Limits:
    """The limits in force: the shipped ones, but for those a potter changed.

    ``limits["lag_c"]`` is a value in the unit of its table row. Raises KeyError for a key the
    table does not have; a changed key it no longer has is passed over.
    """

    __slots__ = ("_changed",)

    def __init__(self, changed: Mapping[str, float] | None = None) -> None:
        self._changed = dict(changed or {})

    def __getitem__(self, key: str) -> float:
        row = shipped_limits()[key]
        return self._changed.get(key, row.value)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Limits):
            return NotImplemented
        return all(self[key] == other[key] for key in shipped_limits())

    def __hash__(self) -> int:
        return hash(tuple(self[key] for key in shipped_limits()))

    def is_changed(self, key: str) -> bool:
        """Whether the potter set this limit."""
        return self[key] != shipped_limits()[key].value


SHIPPED: Final = Limits()


def check_limit(key: str, value: float) -> None:
    """Raise `UserProblem` for a limit that can't be, with what it may be."""
    row = shipped_limits()[key]
    if not (math.isfinite(value) and row.least <= value <= row.most):
        told = f"“{row.words}” lies between {row.least:g} and {row.most:g}; {value:g} does not."
        raise UserProblem(told, {key: told})
