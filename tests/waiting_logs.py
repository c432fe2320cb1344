"""Logs that wait to be described, for the tests of the window: some tell all, one asks."""

from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy.orm import Session

from studiolog.journal.log_intake import incoming_log
from studiolog.journal.waiting import keep_waiting
from studiolog.transfer.temperature_log import read_temperature_log
from tests.journal.test_waiting import csv_of

FIRST = datetime(2026, 11, 20, 7)
_ASKS = Path(__file__).parent / "transfer" / "logs" / "02_fahrenheit_unlabelled.csv"


def let_logs_wait(session: Session, name: str = "kiln log") -> tuple[int, ...]:
    """Two logs with a date and one that asks for it and its unit; returns their ids."""
    contents = [csv_of(FIRST + timedelta(days=7 * week), rows=150) for week in range(2)]
    logs = [
        incoming_log(
            read_temperature_log(content, f"{name} {number}.csv"),
            content,
            came_from="/logs",
            written_at=FIRST + timedelta(days=40),
        )
        for number, content in enumerate([*contents, _ASKS.read_bytes()])
    ]
    kept = keep_waiting(session, logs, FIRST)
    return tuple(one.waiting_id for one in kept if one.waiting_id is not None)
