"""Changes made on the page of a piece, each guarded by what the page had seen.

A page may have stood open while another desk worked. A change of rows that are written as a whole
(layers, the readings of an inspection) names the versions it was made upon.
"""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.inspections import (
    InspectionDraft,
    change_inspection,
    set_fault_readings,
    set_surface_readings,
)
from studiolog.journal.photos import PictureDraft, add_picture
from studiolog.journal.pieces import (
    LayerDraft,
    PlacementDraft,
    SizeDraft,
    change_piece,
    place_piece,
    set_layers,
    set_size,
    unplace_piece,
)
from studiolog.journal.stage_history import settle_stage
from studiolog.journal.writing import change, clean_name, get, remove
from studiolog.problems import EditConflict, UserProblem
from studiolog.records.inspections import FaultReading, Inspection, SurfaceReading
from studiolog.records.pieces import Layer, Measurement, Piece, Placement, StageChange, Step


def _same(now: Sequence[int], seen: Sequence[int], what: str) -> None:
    if list(now) != list(seen):
        raise EditConflict(
            f"The {what} were changed somewhere else in the meantime. "
            "Look at them as they are now, then make the change again."
        )


def relay_layers(
    session: Session, piece_id: int, seen: Sequence[int], layers: Sequence[LayerDraft]
) -> None:
    """Write the layers anew. ``seen`` are the versions of the layers the page showed.

    Raises `EditConflict` if they are others by now, `UserProblem` for what no layer can be.
    """
    now = session.scalars(
        select(Layer.version).where(Layer.piece_id == piece_id).order_by(Layer.id)
    ).all()
    _same(now, seen, "layers")
    for layer in layers:
        if layer.coats is not None and layer.coats < 1:
            raise UserProblem("Coats are 1 or more.", {"coats": "1 or more"})
        if layer.seconds is not None and layer.seconds <= 0:
            raise UserProblem("A dip takes more than 0 seconds.", {"seconds": "above 0"})
        if layer.thickness_mm is not None and layer.thickness_mm <= 0:
            raise UserProblem("A glaze is thicker than 0 mm.", {"thickness_mm": "above 0"})
    set_layers(session, piece_id, layers)


def measure(
    session: Session, piece_id: int, stage: str, seen: int | None, name: str, value: float | None
) -> None:
    """Write one size or weight of a stage. ``seen`` is the line's version, None if there was none.

    ``name`` is height_mm, across_mm, wall_mm, mass_g or mark_mm. Raises `EditConflict` if it is
    another by now, AttributeError for any other name.
    """
    row = session.scalar(
        select(Measurement).where(Measurement.piece_id == piece_id, Measurement.stage == stage)
    )
    if (row.version if row is not None else None) != seen:
        raise EditConflict(
            "These sizes were changed somewhere else in the meantime. "
            "Look at them as they are now, then make the change again."
        )
    values = {
        field: getattr(row, field) if row is not None else None
        for field in ("height_mm", "across_mm", "wall_mm", "mass_g", "mark_mm")
    }
    if name not in values:
        raise AttributeError(f"a measurement has no {name}")
    values[name] = value
    set_size(session, piece_id, SizeDraft(stage=stage, **values))


def rewrite_inspection(
    session: Session,
    inspection_id: int,
    version: int,
    seen: Sequence[int],
    draft: InspectionDraft,
) -> None:
    """Change an inspection as a whole: day, note, stress test, what was looked for, the surface.

    ``seen`` are the versions of its readings as they were read, faults before surface words.
    """
    get(session, Inspection, inspection_id, version)
    now = [
        *session.scalars(
            select(FaultReading.version)
            .where(FaultReading.inspection_id == inspection_id)
            .order_by(FaultReading.id)
        ),
        *session.scalars(
            select(SurfaceReading.version)
            .where(SurfaceReading.inspection_id == inspection_id)
            .order_by(SurfaceReading.id)
        ),
    ]
    _same(now, seen, "readings of this inspection")
    change_inspection(
        session,
        inspection_id,
        version,
        looked_on=draft.looked_on,
        stress_tested=draft.stress_tested,
        note=draft.note,
    )
    set_fault_readings(session, inspection_id, draft.faults)
    set_surface_readings(session, inspection_id, draft.surfaces)


def move_placement(
    session: Session, piece_id: int, placement_id: int, version: int, draft: PlacementDraft
) -> None:
    """Change the firing, level or position of a placement."""
    placement = get(session, Placement, placement_id, version)
    if placement.firing_id != draft.firing_id:
        unplace_piece(session, piece_id, placement.firing_id)
    elif placement.level_id == draft.level_id:
        draft = PlacementDraft(
            firing_id=draft.firing_id,
            level_id=draft.level_id,
            position=draft.position,
            shelf_x=placement.shelf_x,
            shelf_y=placement.shelf_y,
        )
    place_piece(session, piece_id, draft)


def come_from(session: Session, piece_id: int, version: int | None, parent_id: int | None) -> None:
    """Say which piece led to this one. A piece can't come from itself or from its own offspring.

    Raises `UserProblem` then.
    """
    at = parent_id
    met: set[int] = set()
    while at is not None and at not in met:
        if at == piece_id:
            sentence = "A piece can't come from itself, nor from one that came from it."
            raise UserProblem(sentence, {"came_from": sentence})
        met.add(at)
        parent = session.get(Piece, at)
        at = parent.came_from_id if parent is not None else None
    change_piece(session, piece_id, version, came_from_id=parent_id)


def change_step(
    session: Session,
    step_id: int,
    version: int | None,
    name: str,
    done_on: date,
    minutes: float | None = None,
    note: str = "",
) -> None:
    """Change a step.

    Raises `UserProblem` for a step without a name or of less than no time.
    """
    if minutes is not None and minutes < 0:
        raise UserProblem("A step takes 0 minutes or more.", {"minutes": "0 or more"})
    words = clean_name(name, noun="step")
    change(session, Step, step_id, version, name=words, done_on=done_on, minutes=minutes, note=note)


def delete_step(session: Session, step_id: int) -> None:
    """Take a step off a piece."""
    remove(session, get(session, Step, step_id))


def change_stage_line(
    session: Session, change_id: int, version: int | None, at: datetime, note: str
) -> None:
    """Change when a stage was reached, or its note; the piece has the stage reached last."""
    line = change(session, StageChange, change_id, version, at=at, note=note)
    settle_stage(session, line.piece_id)


def add_pictures(session: Session, piece_id: int, drafts: Sequence[PictureDraft]) -> int:
    """Tie several photos to a piece; returns how many it has gained."""
    get(session, Piece, piece_id)
    for draft in drafts:
        add_picture(session, draft, piece_id=piece_id)
    return len(drafts)
