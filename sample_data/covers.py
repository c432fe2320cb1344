"""How the ware of the year stood while it dried: wrapped, under a cloth, and at last open."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from studiolog.journal.bench import read_bench
from studiolog.journal.covers import cover_run

from .work_year import TODAY, RunPlan

_KEPT_MOIST = {"lantern_house": 6, "lidded_jar": 5, "panel_mug": 5}
"""Days in plastic before a cloth is enough; of all else four."""

_IN_HAND: dict[int, tuple[tuple[datetime, str, str, str], ...]] = {
    63: (
        (datetime(2026, 11, 4, 10, 40), "loose", "usual", ""),
        (datetime(2026, 11, 12, 9, 40), "cloth", "usual", "Unwrapped to be trimmed."),
    ),
    64: (
        (datetime(2026, 11, 10, 12, 30), "loose", "usual", ""),
        (datetime(2026, 11, 11, 17, 10), "damp_box", "usual", "Walls wait for their roofs."),
    ),
    61: (
        (datetime(2026, 10, 5, 12), "loose", "usual", ""),
        (datetime(2026, 10, 9, 9), "cloth", "damp", "Between boards, turned every day."),
    ),
}


def note_covers(session: Session, runs: list[RunPlan]) -> None:
    """Say of every run of ware how it stood, those in hand by what is known of them."""
    ids = {row.number: row.run_id for row in read_bench(session, every_run=True).rows}
    for run in runs:
        if run.purpose == "test" or run.number not in ids:
            continue
        if run.number in _IN_HAND:
            for at, cover, weather, note in _IN_HAND[run.number]:
                cover_run(session, ids[run.number], cover, at, weather, note)
            continue
        begun = min(piece.made_at for piece in run.pieces) + timedelta(hours=2)
        days = _KEPT_MOIST.get(run.form, 4)
        for at, cover in (
            (begun, "loose"),
            (begun + timedelta(days=days), "cloth"),
            (begun + timedelta(days=days + 2), "open"),
        ):
            if at <= TODAY:
                cover_run(session, ids[run.number], cover, at.replace(second=0, microsecond=0))
