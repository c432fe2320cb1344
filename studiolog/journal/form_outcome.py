"""What came of a form: how many were made, lost, sold, and what was seen on those looked at."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import Rate, rate_of
from studiolog.craft.words import STAGES
from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.records.facts import piece_fact
from studiolog.records.pieces import Piece, Run

_ORDER = tuple(STAGES)
_DONE = _ORDER[_ORDER.index("fired") : _ORDER.index("lost")]


@dataclass(frozen=True)
class FormOutcome:
    """What came of one form. ``lost`` is of the pieces that are through: fired, or lost."""

    runs: int
    pieces: int
    in_work: int
    lost: Rate
    sold: int
    rates: RateGroup

    @property
    def seen_most(self) -> str | None:
        """The fault seen on most of those looked at; None if none was seen."""
        seen = [rate for rate in self.rates.rates if rate.seen]
        return max(seen, key=lambda rate: rate.seen).fault if seen else None


NOTHING = FormOutcome(0, 0, 0, rate_of(0, 0), 0, group_rates(()))
"""Of a form nothing was made to."""


def read_outcomes(session: Session, form_ids: Collection[int]) -> dict[int, FormOutcome]:
    """What came of each of these forms; tools made to a form are not ware and do not count."""
    counted = session.execute(
        select(
            Piece.form_id,
            Piece.stage,
            func.count().label("pieces"),
            func.count(Piece.shipment_id).label("sold"),
        )
        .where(Piece.form_id.in_(form_ids), Piece.kind == "ware")
        .group_by(Piece.form_id, Piece.stage)
    ).all()
    runs = {
        row.form_id: row.runs
        for row in session.execute(
            select(Run.form_id, func.count().label("runs"))
            .where(Run.form_id.in_(form_ids))
            .group_by(Run.form_id)
        )
    }
    looks: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
    for row in session.execute(
        select(
            piece_fact.c.form_id,
            piece_fact.c.piece_id,
            piece_fact.c.looked_mask,
            piece_fact.c.seen_mask,
        )
        .join(Piece, Piece.id == piece_fact.c.piece_id)
        .where(piece_fact.c.form_id.in_(form_ids), Piece.kind == "ware")
    ):
        looks[row.form_id].append((row.piece_id, row.looked_mask, row.seen_mask))
    found: dict[int, FormOutcome] = {}
    for form_id in form_ids:
        rows = [row for row in counted if row.form_id == form_id]
        pieces = sum(row.pieces for row in rows)
        lost = sum(row.pieces for row in rows if row.stage == "lost")
        done = sum(row.pieces for row in rows if row.stage in _DONE)
        found[form_id] = FormOutcome(
            runs.get(form_id, 0),
            pieces,
            pieces - lost - done,
            rate_of(lost, lost + done),
            # What broke on the way is lost, and not sold.
            sum(row.sold for row in rows if row.stage != "lost"),
            group_rates(looks[form_id]),
        )
    return found
