"""Pieces and runs: logging them, and moving them through the stages."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, time
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.layering import number_layers
from studiolog.craft.words import METHODS, STAGES
from studiolog.journal.absorption import part_from_piece
from studiolog.journal.held_pieces import refuse_if_shipped, refuse_line_of_a_set
from studiolog.journal.inspections import InspectionDraft, delete_inspection, log_inspection
from studiolog.journal.loads import forget_piece
from studiolog.journal.photos import PictureDraft, add_picture
from studiolog.journal.writing import (
    add,
    add_all,
    change,
    clean_name,
    count,
    get,
    next_number,
    remove,
    remove_all,
)
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.firings import Firing
from studiolog.records.glazes import Glaze
from studiolog.records.inspections import Inspection
from studiolog.records.kilns import KilnLevel
from studiolog.records.orders import SetPart
from studiolog.records.photos import Picture
from studiolog.records.pieces import (
    Layer,
    Measurement,
    Piece,
    Placement,
    Run,
    RunSource,
    StageChange,
    Step,
    ToolUse,
)
from studiolog.records.plans import PlanTile

MOST_PIECES = 1000
"""Counted under one run; more is a slip of the finger."""


@dataclass(frozen=True, kw_only=True)
class LayerDraft:
    """One glaze on one zone. The order of the drafts is the order they went on, zone by zone."""

    zone: str
    glaze_id: int
    method: str | None = None
    coats: int | None = None
    seconds: float | None = None
    bucket_id: int | None = None
    thickness_mm: float | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class SizeDraft:
    """Size and weight at one stage; what was not measured is left out.

    ``mark_mm`` is the distance of two marks pressed into the wet clay.
    """

    stage: str
    height_mm: float | None = None
    across_mm: float | None = None
    wall_mm: float | None = None
    mass_g: float | None = None
    mark_mm: float | None = None

    def measured(self) -> dict[str, float | None]:
        """All five values, by name, if any of them was measured; else nothing."""
        values = {
            "height_mm": self.height_mm,
            "across_mm": self.across_mm,
            "wall_mm": self.wall_mm,
            "mass_g": self.mass_g,
            "mark_mm": self.mark_mm,
        }
        return values if any(value is not None for value in values.values()) else {}


@dataclass(frozen=True, kw_only=True)
class PlacementDraft:
    """Where a piece stood in a firing. ``shelf_x``/``shelf_y`` run 0–1, door at the bottom."""

    firing_id: int
    level_id: int | None = None
    position: str = ""
    shelf_x: float | None = None
    shelf_y: float | None = None


@dataclass(frozen=True, kw_only=True)
class PieceDraft:
    """A piece as it is logged. ``number`` None takes the next free one when numbered is True."""

    number: int | None = None
    numbered: bool = True
    run_id: int | None = None
    form_id: int | None = None
    clay_id: int | None = None
    came_from_id: int | None = None
    title: str = ""
    made_on: date | None = None
    stage: str = "wet"
    stages: tuple[tuple[str, datetime], ...] = ()
    sizes: tuple[SizeDraft, ...] = ()
    layers: tuple[LayerDraft, ...] = ()
    placements: tuple[PlacementDraft, ...] = ()
    inspections: tuple[InspectionDraft, ...] = ()
    pictures: tuple[PictureDraft, ...] = ()
    kept_where: str = ""
    set_part_id: int | None = None
    lost_why: str = ""
    notes: str = ""
    lesson: str = ""
    next_time: str = ""


@dataclass(frozen=True, kw_only=True)
class RunDraft:
    """Pieces of one form made together; ``how_many`` unnumbered pieces are counted under it.

    Those of a run for an order's line count for it (see `held_pieces`); those of a run for a part
    of a set are set aside for it one by one.
    """

    made_on: date
    form_id: int | None = None
    clay_id: int | None = None
    how_many: int = 0
    number: int | None = None
    title: str = ""
    purpose: str = "stock"
    stage: str = "wet"
    order_line_id: int | None = None
    set_part_id: int | None = None
    came_from_ids: tuple[int, ...] = ()
    notes: str = ""
    next_time: str = ""


def log_piece(session: Session, draft: PieceDraft) -> int:
    """Log a new piece with everything known of it; returns its id.

    Raises `UserProblem` for a number that is taken, and for what no piece can be.
    """
    number = draft.number
    if number is None and draft.numbered:
        number = next_number(session, Piece.number)
    if number is None and draft.run_id is None:
        raise UserProblem("A piece without a number is counted under its run: name the run.")
    if number is not None and number <= 0:
        raise UserProblem("A piece number is 1 or more.", {"number": "1 or more"})
    if number is not None and count(session, Piece, Piece.number == number):
        sentence = f"There is a piece {number} already."
        raise UserProblem(sentence, {"number": sentence})
    _check_stage(draft.stage)
    piece_id = add(
        session,
        Piece(
            number=number,
            run_id=draft.run_id,
            form_id=draft.form_id,
            clay_id=draft.clay_id,
            came_from_id=draft.came_from_id,
            title=draft.title.strip(),
            made_on=draft.made_on,
            stage=draft.stage,
            lost_why=draft.lost_why,
            lost_at=_stage_before_loss(draft),
            kept_where=draft.kept_where,
            set_part_id=draft.set_part_id,
            notes=draft.notes,
            lesson=draft.lesson,
            next_time=draft.next_time,
        ),
    )
    stages = draft.stages or _first_stage(draft)
    for stage, _ in stages:
        _check_stage(stage)
    add_all(session, [StageChange(piece_id=piece_id, stage=stage, at=at) for stage, at in stages])
    for size in draft.sizes:
        _check_size(size)
    measured = [size for size in draft.sizes if size.measured()]
    add_all(session, [Measurement(piece_id=piece_id, **asdict(size)) for size in measured])
    add_all(session, _new_layers(session, piece_id, draft.layers))
    for placement in draft.placements:
        place_piece(session, piece_id, placement)
    for inspection in draft.inspections:
        log_inspection(session, piece_id, inspection)
    for picture in draft.pictures:
        add_picture(session, picture, piece_id=piece_id)
    return piece_id


def _stage_before_loss(draft: PieceDraft) -> str | None:
    if draft.stage != "lost":
        return None
    return next((stage for stage, _ in reversed(draft.stages) if stage != "lost"), None)


def _first_stage(draft: PieceDraft) -> tuple[tuple[str, datetime], ...]:
    at = datetime.combine(draft.made_on, time(12)) if draft.made_on else datetime.now()
    return ((draft.stage, at.replace(microsecond=0)),)


def _check_stage(stage: str) -> None:
    if stage not in STAGES:
        raise UserProblem(f"“{stage}” is not a stage: {', '.join(STAGES.values())}.")


def change_piece(
    session: Session, piece_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a piece (its stage: see `move_to_stage`).

    Raises `UserProblem` for a number that is taken.
    """
    number = fields.get("number")
    if number is not None and count(session, Piece, Piece.number == number, Piece.id != piece_id):
        sentence = f"There is a piece {number} already."
        raise UserProblem(sentence, {"number": sentence})
    change(session, Piece, piece_id, version, **fields)


def move_to_stage(
    session: Session, piece_id: int, stage: str, at: datetime, note: str = ""
) -> None:
    """A piece reached a stage; losing it needs no stage of its own but says why in ``note``.

    Where it was lost is the stage it had.
    """
    _check_stage(stage)
    piece = get(session, Piece, piece_id)
    add(session, StageChange(piece_id=piece_id, stage=stage, at=at, note=note))
    if stage != "lost":
        piece.lost_at, piece.lost_why = None, ""
    else:
        piece.lost_at = piece.lost_at if piece.stage == "lost" else piece.stage
        piece.lost_why = note
    piece.stage = stage
    session.flush()


def log_step(
    session: Session,
    piece_id: int,
    name: str,
    done_on: date,
    minutes: float | None = None,
    note: str = "",
    zone: str = "",
    rework: bool = False,
) -> int:
    """Work done to a piece, whatever its state; returns the step's id.

    ``zone`` is the part it was done to, "" the whole; ``rework`` is work done over again. Raises
    `UserProblem` for a step without a name or of less than no time.
    """
    if minutes is not None and minutes < 0:
        raise UserProblem("A step takes 0 minutes or more.", {"minutes": "0 or more"})
    get(session, Piece, piece_id)
    return add(
        session,
        Step(
            piece_id=piece_id,
            name=clean_name(name, noun="step"),
            done_on=done_on,
            minutes=minutes,
            note=note,
            zone=" ".join(zone.split()),
            rework=rework,
        ),
    )


def set_size(session: Session, piece_id: int, draft: SizeDraft) -> None:
    """Write size and weight at one stage; with nothing measured the line goes."""
    _check_size(draft)
    stored = session.scalar(
        select(Measurement).where(
            Measurement.piece_id == piece_id, Measurement.stage == draft.stage
        )
    )
    if not draft.measured():
        if stored is not None:
            remove(session, stored)
    elif stored is None:
        add(session, Measurement(piece_id=piece_id, **asdict(draft)))
    else:
        change(session, Measurement, stored.id, None, **draft.measured())


def _check_size(draft: SizeDraft) -> None:
    _check_stage(draft.stage)
    for name, value in draft.measured().items():
        if value is not None and value <= 0:
            raise UserProblem(f"The {name.split('_')[0]} must be more than 0.", {name: "above 0"})


def set_layers(session: Session, piece_id: int, layers: Sequence[LayerDraft]) -> None:
    """Write the layers of a piece, in the order they went on, in place of those it had."""
    fresh = _new_layers(session, piece_id, layers)
    remove_all(session, Layer, Layer.piece_id == piece_id)
    add_all(session, fresh)


def _new_layers(session: Session, piece_id: int, layers: Sequence[LayerDraft]) -> list[Layer]:
    for layer in layers:
        if not layer.zone.strip():
            raise UserProblem("Every layer lies on a zone: say where.", {"zone": "say where"})
        if layer.method is not None and layer.method not in METHODS:
            raise UserProblem(f"“{layer.method}” is not a method: {', '.join(METHODS.values())}.")
    named = {layer.glaze_id for layer in layers}
    known = set(session.scalars(select(Glaze.id).where(Glaze.id.in_(named)))) if named else set()
    if named - known:
        raise UserProblem("This glaze is no longer in the journal: it was deleted or undone.")
    records = []
    zones = [" ".join(layer.zone.split()) for layer in layers]
    for layer, zone, position in zip(layers, zones, number_layers(zones), strict=True):
        records.append(
            Layer(
                piece_id=piece_id,
                zone=zone,
                position=position,
                glaze_id=layer.glaze_id,
                method=layer.method,
                coats=layer.coats,
                seconds=layer.seconds,
                bucket_id=layer.bucket_id,
                thickness_mm=layer.thickness_mm,
                note=layer.note,
            )
        )
    return records


def place_piece(session: Session, piece_id: int, draft: PlacementDraft) -> int:
    """Say where a piece stood in a firing, in place of what was said before.

    Raises `UserProblem` for a level of another kiln.
    """
    get(session, Piece, piece_id)
    firing = get(session, Firing, draft.firing_id)
    if draft.level_id is not None:
        level = get(session, KilnLevel, draft.level_id)
        if level.kiln_id != firing.kiln_id:
            raise UserProblem(
                f"The level “{level.name}” belongs to another kiln than firing {firing.number}."
            )
    remove_all(
        session, Placement, Placement.piece_id == piece_id, Placement.firing_id == draft.firing_id
    )
    return add(
        session,
        Placement(
            piece_id=piece_id,
            firing_id=draft.firing_id,
            level_id=draft.level_id,
            position=draft.position,
            shelf_x=draft.shelf_x,
            shelf_y=draft.shelf_y,
        ),
    )


def unplace_piece(session: Session, piece_id: int, firing_id: int) -> None:
    """A piece was not in that firing after all."""
    remove_all(session, Placement, Placement.piece_id == piece_id, Placement.firing_id == firing_id)


def delete_piece(session: Session, piece_id: int) -> None:
    """Delete a piece with all that was logged of it; its original photos stay in the folder.

    Raises `StillUsed` if other pieces or runs came from it, or were made with it, and if it left
    with an order.
    """
    piece = get(session, Piece, piece_id)
    refuse_if_shipped(session, piece)
    uses = count(session, ToolUse, ToolUse.tool_id == piece_id)
    if uses:
        things = "one run or piece" if uses == 1 else f"{uses} runs or pieces"
        raise StillUsed(
            f"Tool {piece.number} can't be deleted: it was used on {things}. "
            "If it broke or is lost, say so instead: what was made with it still tells."
        )
    came = count(session, Piece, Piece.came_from_id == piece_id)
    runs = count(session, RunSource, RunSource.piece_id == piece_id)
    if came or runs:
        raise StillUsed(
            f"Piece {piece.number} can't be deleted: {came} pieces and {runs} runs came from it."
        )
    for inspection_id in session.scalars(
        select(Inspection.id).where(Inspection.piece_id == piece_id)
    ).all():
        delete_inspection(session, inspection_id)
    remove_all(session, ToolUse, ToolUse.piece_id == piece_id)
    remove_all(session, Picture, Picture.piece_id == piece_id)
    forget_piece(session, piece_id)
    remove_all(session, Placement, Placement.piece_id == piece_id)
    remove_all(session, Layer, Layer.piece_id == piece_id)
    remove_all(session, Measurement, Measurement.piece_id == piece_id)
    remove_all(session, Step, Step.piece_id == piece_id)
    remove_all(session, StageChange, StageChange.piece_id == piece_id)
    part_from_piece(session, piece_id)
    # A tile of a test plan is then to be made again.
    for tile in session.scalars(select(PlanTile).where(PlanTile.piece_id == piece_id)).all():
        change(session, PlanTile, tile.id, piece_id=None)
    remove(session, piece)


def log_run(session: Session, draft: RunDraft) -> int:
    """Log a run with its counted pieces; returns the run's id.

    Raises `UserProblem` for a number that is taken, or too many pieces.
    """
    number = draft.number or next_number(session, Run.number)
    if count(session, Run, Run.number == number):
        sentence = f"There is a run {number} already."
        raise UserProblem(sentence, {"number": sentence})
    if not 0 <= draft.how_many <= MOST_PIECES:
        told = f"A run has between 0 and {MOST_PIECES} pieces."
        raise UserProblem(told, {"how_many": f"0 to {MOST_PIECES}"})
    if draft.order_line_id is not None:
        refuse_line_of_a_set(session, draft.order_line_id)
    if draft.set_part_id is not None:
        get(session, SetPart, draft.set_part_id)
        if draft.order_line_id is not None:
            raise UserProblem("A run is made for a line of an order or for a part of a set.")
    run_id = add(
        session,
        Run(
            number=number,
            made_on=draft.made_on,
            form_id=draft.form_id,
            clay_id=draft.clay_id,
            order_line_id=draft.order_line_id,
            title=draft.title.strip(),
            purpose=draft.purpose,
            notes=draft.notes,
            next_time=draft.next_time,
        ),
    )
    for piece_id in draft.came_from_ids:
        add(session, RunSource(run_id=run_id, piece_id=piece_id))
    for _ in range(draft.how_many):
        log_piece(
            session,
            PieceDraft(
                numbered=False,
                run_id=run_id,
                form_id=draft.form_id,
                clay_id=draft.clay_id,
                made_on=draft.made_on,
                stage=draft.stage,
                set_part_id=draft.set_part_id,
            ),
        )
    return run_id


def change_run(session: Session, run_id: int, version: int | None = None, **fields: Any) -> None:
    """Change fields of a run as they are; `runs.change_run_facts` checks them first."""
    change(session, Run, run_id, version, **fields)


def single_out(session: Session, piece_id: int, number: int | None = None) -> int:
    """Give a counted piece of a run a number of its own; returns the number."""
    piece = get(session, Piece, piece_id)
    if piece.number is not None:
        return piece.number
    chosen = number or next_number(session, Piece.number)
    change_piece(session, piece_id, number=chosen)
    return chosen
