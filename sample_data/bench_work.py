"""What was done by hand to the runs in hand, with its minutes: thrown, trimmed, glazed by parts.

The rest of the year has the steps of its numbered pieces only. Here every piece of a run has them,
so that the bench can say how far each is: seven bowls still to be trimmed, the outsides of four
jars still to be glazed.
"""

from __future__ import annotations

from datetime import date, datetime

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.bench import read_bench
from studiolog.journal.bench_words import read_bench_line
from studiolog.journal.bench_work import read_work, words_of
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import log_step
from studiolog.journal.runs import do_bench_line
from studiolog.records.pieces import Piece, Run

_STAGES = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired")
# By run: a step as it is logged, the stage from which on every piece has had it, the day, and the
# minutes of one piece.
_DONE: dict[int, tuple[tuple[str, str, date, float], ...]] = {
    60: (
        ("thrown", "wet", date(2026, 10, 22), 18.0),
        ("trimmed", "bone_dry", date(2026, 10, 24), 13.0),
    ),
    61: (("turned", "bone_dry", date(2026, 10, 12), 1.0),),
    62: (
        ("thrown", "wet", date(2026, 10, 7), 6.0),
        ("trimmed", "bone_dry", date(2026, 10, 9), 4.0),
    ),
    63: (
        ("thrown", "wet", date(2026, 11, 4), 8.0),
        ("trimmed", "bone_dry", date(2026, 11, 6), 7.0),
    ),
}
_SPREAD = 0.15  # of the minutes from piece to piece

_TYPED: tuple[tuple[str, datetime], ...] = (
    ("60 lids glazed 4 in 12 min, insides glazed 4 in 10 min", datetime(2026, 11, 12, 9, 20)),
    ("63: 5 trimmed in 36 min", datetime(2026, 11, 12, 10, 40)),
    ("62 ground and checked 4 in 9 min", datetime(2026, 11, 12, 11, 10)),
    ("63 mended 1 foot", datetime(2026, 11, 12, 11, 20)),
)
"""As it was said at the bench on the last day."""


def work_at_the_bench(journal: Journal) -> None:
    """Log the steps of the runs in hand, then what was typed on the last morning."""
    journal.edit("Note the work on the runs in hand", _log_what_was_done)
    for line, at in _TYPED:
        rows = journal.read(read_bench).rows
        known = journal.read(
            lambda session, rows=rows: read_work(session, [r.run_id for r in rows])
        )
        reading = read_bench_line(line, words_of(rows, known))
        if not reading.ready:
            raise ValueError(f"{line}: {reading.problems or reading.unread}")
        journal.edit(
            reading.label,
            lambda session, reading=reading, at=at: do_bench_line(session, reading, at),
        )


def _log_what_was_done(session: Session) -> None:
    random = np.random.default_rng(20261112)
    for number, steps in _DONE.items():
        pieces = session.execute(
            select(Piece.id, Piece.stage, Piece.lost_at)
            .join(Run, Run.id == Piece.run_id)
            .where(Run.number == number, Piece.number.is_(None))
            .order_by(Piece.id)
        ).all()
        for name, since, day, minutes in steps:
            for piece_id, stage, lost_at in pieces:
                reached = lost_at or stage if stage == "lost" else stage
                if reached in _STAGES and _STAGES.index(reached) < _STAGES.index(since):
                    continue
                took = float(np.round(max(0.5, minutes * random.normal(1, _SPREAD)), 1))
                log_step(session, piece_id, name, day, took)
