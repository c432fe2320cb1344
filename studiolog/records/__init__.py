"""How the journal is stored: one file per noun. Importing this package maps every record."""

from studiolog.records import (  # noqa: F401 - mapping is the point
    clays,
    facts,
    firings,
    forms,
    glazes,
    history,
    ideas,
    inspections,
    kilns,
    loads,
    materials,
    orders,
    photos,
    pieces,
    plans,
    programs,
    studio,
    values,
)
from studiolog.records.base import Record

__all__ = ["Record"]
