"""Which pieces of a run stand in a load that is planned and not lit yet."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.loads import title_of
from studiolog.records.kilns import Kiln
from studiolog.records.loads import KilnLoad, LoadPlace
from studiolog.records.pieces import Piece


@dataclass(frozen=True)
class PlannedIn:
    """So many pieces at a stage are to go into a load; ``counted`` of them have no number."""

    load_id: int
    title: str
    planned_on: date | None
    stage: str
    pieces: int
    counted: int


def read_planned(session: Session, run_ids: Sequence[int]) -> dict[int, tuple[PlannedIn, ...]]:
    """By run what of it is in a load, the soonest planned first; a run with none is not named."""
    rows = session.execute(
        select(
            Piece.run_id, KilnLoad.id, KilnLoad.kind, KilnLoad.cone, Kiln.name,
            KilnLoad.planned_on, Piece.stage, func.count(), func.count(Piece.number),
        )
        .select_from(KilnLoad)
        .join(Kiln, Kiln.id == KilnLoad.kiln_id)
        .join(LoadPlace, LoadPlace.load_id == KilnLoad.id)
        .join(Piece, Piece.id == LoadPlace.piece_id)
        .where(
            KilnLoad.firing_id.is_(None),
            Piece.run_id.in_(run_ids),
            Piece.stage.not_in(("finished", "lost")),
        )
        .group_by(Piece.run_id, KilnLoad.id, Kiln.id, Piece.stage)
        .order_by(func.coalesce(KilnLoad.planned_on, date.max), KilnLoad.id, Piece.stage)
    )  # fmt: skip
    found: dict[int, list[PlannedIn]] = defaultdict(list)
    for run_id, load_id, kind, cone, kiln, planned_on, stage, pieces, numbered in rows:
        if run_id is None:
            continue
        title = title_of(kind, cone, kiln)
        found[run_id].append(
            PlannedIn(load_id, title, planned_on, stage, pieces, pieces - numbered)
        )
    return {run_id: tuple(lots) for run_id, lots in found.items()}
