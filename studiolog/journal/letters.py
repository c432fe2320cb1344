"""Comparing texts in the database whatever their case, in any script.

SQLite's own ``lower`` and LIKE know the case of A to Z only: for a text with other letters each of
its usual spellings is compared. A shared studio's PostgreSQL knows all of them.
"""

from typing import Any

from sqlalchemy import ColumnElement, false, func, or_

from studiolog.records.values import storable

# No name is as long as this, and SQLite refuses patterns of more than 50,000.
_LONGEST = 1000


def spellings(text: str) -> tuple[str, ...]:
    """The usual ways to write a text: as it is, small, capital, first letters capital."""
    if text.isascii():
        return (text.lower(),)
    lower = text.lower()
    return tuple(dict.fromkeys((text, lower, text.upper(), lower.capitalize(), lower.title())))


def contains(column: Any, text: str) -> ColumnElement[bool]:
    """Whether a column holds ``text`` anywhere, taken as it is: ``%`` and ``_`` mean themselves."""
    if len(text) > _LONGEST:
        return false()
    return or_(*(column.icontains(one, autoescape=True) for one in spellings(storable(text))))


def reads_as(column: Any, text: str) -> ColumnElement[bool]:
    """Whether a column holds just ``text``."""
    folded = func.lower(column)
    if text.isascii():
        return folded == text.lower()
    return or_(*(folded == func.lower(one) for one in spellings(storable(text))))
