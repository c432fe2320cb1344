"""A planned load is lit: it becomes a firing, with everything where it stood."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.ware.load_plan import LoadPlan
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.kiln_shelves import read_shelves_in_force
from studiolog.journal.load_plan import read_plan
from studiolog.journal.load_ware import MAY_GO
from studiolog.journal.loads import open_load, remove_places
from studiolog.journal.pieces import PlacementDraft, place_piece
from studiolog.journal.writing import change
from studiolog.problems import UserProblem
from studiolog.records.loads import KilnLoad, LoadPlace
from studiolog.records.pieces import Piece


@dataclass(frozen=True, kw_only=True)
class LightDraft:
    """A load is lit: when, and what the firing is called and numbered."""

    started_at: datetime
    title: str = ""
    number: int | None = None


def light_load(session: Session, load_id: int, draft: LightDraft) -> int:
    """Make the firing of a load, everything placed as planned; returns the firing's id.

    Pieces without a place, and those that have left their stage meanwhile, do not go in: they
    leave the load. Raises `UserProblem` for a load on whose shelves nothing stands.
    """
    load = open_load(session, load_id)
    plan = read_plan(session, load_id)
    stage = dict(
        session.execute(
            select(Piece.id, Piece.stage)
            .join(LoadPlace, LoadPlace.piece_id == Piece.id)
            .where(LoadPlace.load_id == load_id)
        ).all()
    )
    fit = {piece_id for piece_id, name in stage.items() if name in MAY_GO[load.kind]}
    stands = [
        (shelf, place) for shelf in plan.shelves for place in shelf.places if place.key in fit
    ]
    if not stands:
        raise UserProblem(
            "Nothing stands in this load yet: put pieces in and let them be packed first."
        )
    firing_id = log_firing(
        session,
        FiringDraft(
            kiln_id=load.kiln_id,
            started_at=draft.started_at,
            number=draft.number,
            program_id=load.program_id,
            title=draft.title,
            kind=load.kind,
            cone=load.cone or None,
            atmosphere=load.atmosphere,
        ),
    )
    kiln = read_shelves_in_force(session, load.kiln_id)
    several = _levels_with_several(plan)
    for shelf, place in stands:
        place_piece(
            session,
            place.key,
            PlacementDraft(
                firing_id=firing_id,
                level_id=shelf.level_id,
                position=f"shelf {shelf.position}" if shelf.level_id in several else "",
                shelf_x=_share(place.x_mm, kiln.across_mm),
                shelf_y=_share(place.y_mm, kiln.deep_mm),
            ),
        )
    gone = set(stage) - {place.key for _, place in stands}
    if gone:
        remove_places(session, LoadPlace.load_id == load_id, LoadPlace.piece_id.in_(gone))
    change(session, KilnLoad, load_id, None, firing_id=firing_id)
    return firing_id


def _levels_with_several(plan: LoadPlan) -> set[int | None]:
    """Levels in which more than one shelf stands: their pieces name the shelf too."""
    levels = [shelf.level_id for shelf in plan.shelves]
    return {level for level in levels if levels.count(level) > 1}


def _share(mm: float, whole_mm: float) -> float:
    """A place in mm from the middle, as a share of the way across: 0 left or back, 1 right or
    door."""
    return round(min(1.0, max(0.0, mm / whole_mm + 0.5)), 4)
