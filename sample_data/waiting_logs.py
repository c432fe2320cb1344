"""Two logs that came in after the demo's last firing, and wait to be described."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from studiolog.journal.log_intake import incoming_log
from studiolog.journal.waiting import keep_waiting
from studiolog.transfer.temperature_log import read_temperature_log

from .kiln_curves import BIG_KILN, GLAZE_6_SLOW_COOL, TEST_KILN, log_csv_bytes, simulate_firing

_GLAZE_FROM = datetime(2026, 11, 12, 7, 10)
_TEST_FROM = datetime(2026, 11, 13, 9, 40)


def let_logs_wait(session: Session) -> None:
    """The big kiln's log tells all but what was fired; the test kiln's names no date."""
    glaze = simulate_firing(GLAZE_6_SLOW_COOL, 95, kiln=BIG_KILN, sampling_s=120.0)
    test = simulate_firing(GLAZE_6_SLOW_COOL[:4], 96, kiln=TEST_KILN, sampling_s=60.0)
    for fired, start, style, folder, name in (
        (glaze, _GLAZE_FROM, "clock", "big kiln", "BK_2026-11-12.csv"),
        (test, _TEST_FROM, "minutes", "test kiln", "LOG00017.csv"),
    ):
        content = log_csv_bytes(fired, start, style, 95)
        written_at = start + timedelta(seconds=float(fired.elapsed_s[-1]))
        log = incoming_log(
            read_temperature_log(content, name),
            content,
            came_from=folder,
            written_at=written_at.replace(microsecond=0),
        )
        keep_waiting(session, [log], written_at + timedelta(minutes=5))
