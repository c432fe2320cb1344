"""How the ware of the year stood while it dried: wrapped, under a cloth, and at last open."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from studiolog.journal.bench import read_bench
from studiolog.journal.covers import cover_run

from .work_year import TODAY, RunPlan

_KEPT_MOIST = {"Lantern house": 6, "Lidded jar": 5, "Panel mug": 5}
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
    begun = {run.number: min(piece.made_at for piece in run.pieces) for run in runs}
    for row in read_bench(session, every_run=True).rows:
        if row.purpose == "test" or row.form is None:
            continue
        if row.number in _IN_HAND:
            for at, cover, weather, note in _IN_HAND[row.number]:
                cover_run(session, row.run_id, cover, at, weather, note)
            continue
        noon = datetime(row.made_on.year, row.made_on.month, row.made_on.day, 12)
        first = begun.get(row.number, noon) + timedelta(hours=2)
        days = _KEPT_MOIST.get(row.form.name, 4)
        for at, cover in (
            (first, "loose"),
            (first + timedelta(days=days), "cloth"),
            (first + timedelta(days=days + 2), "open"),
        ):
            if at <= TODAY:
                cover_run(session, row.run_id, cover, at.replace(second=0, microsecond=0))
