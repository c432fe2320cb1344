"""The limits by which firings are judged, as this studio has set them."""

from sqlalchemy import Connection, select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits, check_limit, shipped_limits
from studiolog.journal.writing import add, change, remove
from studiolog.records.studio import Limit


def read_limits(session: Session) -> Limits:
    """The limits in force."""
    return limits_in_force(session.connection())


def limits_in_force(connection: Connection) -> Limits:
    """As `read_limits`, for facts, which are derived without a session."""
    rows = connection.execute(select(Limit.key, Limit.value)).all()
    return Limits({row.key: row.value for row in rows if row.key in shipped_limits()})


def set_limit(session: Session, key: str, value: float) -> None:
    """Set a limit; set to the shipped value it is as shipped again.

    Raises `UserProblem` for a value that can't be.
    """
    check_limit(key, value)
    stored = session.scalar(select(Limit).where(Limit.key == key))
    if value == shipped_limits()[key].value:
        if stored is not None:
            remove(session, stored)
    elif stored is None:
        add(session, Limit(key=key, value=value))
    else:
        change(session, Limit, stored.id, value=value)
