"""Test plans: made in one edit with the glazes of their tiles; changed, archived, deleted."""

import json
from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import ColumnElement, and_, exists, not_, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import tile_code, trial_name, write_options
from studiolog.journal.analyses import lot_in_force
from studiolog.journal.letters import reads_as
from studiolog.journal.plan_preview import (
    CornerDraft,
    PlanDraft,
    PlanPreview,
    PreviewCorner,
    PreviewLayer,
    PreviewTile,
    WorkedPlan,
    check_code,
    check_tile_dry_g,
    clean_cone,
    corner_places,
    next_code,
    preview_plan,
    work_out,
)
from studiolog.journal.plan_recipes import TileFormula, TileGlaze
from studiolog.journal.writing import (
    add,
    add_all,
    change,
    clean_name,
    count,
    get,
    remove,
    remove_all,
)
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.glazes import Bucket, Glaze, RecipeLine
from studiolog.records.materials import StockChange
from studiolog.records.pieces import Layer
from studiolog.records.plans import PlanCorner, PlanLayer, PlanTile, TestPlan

__all__ = [
    "BASE",
    "CornerDraft",
    "PlanDraft",
    "PlanPreview",
    "PreviewCorner",
    "PreviewLayer",
    "PreviewTile",
    "TileFormula",
    "add_plan",
    "archive_plan",
    "change_plan",
    "delete_plan",
    "next_code",
    "plan_tiles",
    "preview_plan",
    "read_shares",
]

BASE = 0
"""The position of a glaze that corners were computed from; corners themselves count from 1."""


def add_plan(session: Session, draft: PlanDraft) -> int:
    """Make a plan with its corners, tiles and the glazes of its blends; returns its id.

    Raises as `preview_plan` does, with nothing written.
    """
    worked = work_out(session, draft)
    plan_id = add(
        session,
        TestPlan(
            name=worked.name,
            code=worked.code,
            kind=draft.kind,
            made_on=draft.made_on,
            clay_id=draft.clay_id,
            form_id=draft.form_id,
            program_id=draft.program_id,
            cone=clean_cone(draft.cone),
            tile_dry_g=worked.tile_dry_g if worked.mixing is not None else None,
            tile_columns=worked.layout.columns,
            options=write_options(worked.options),
            question=draft.question.strip(),
        ),
    )
    _Writer(session, plan_id, worked).write()
    return plan_id


class _Writer:
    """Writes a plan's rows, each kind in one go: a plan may have a hundred tiles."""

    def __init__(self, session: Session, plan_id: int, worked: WorkedPlan):
        self.session = session
        self.plan_id = plan_id
        self.worked = worked
        self.lots = self._lots()

    def write(self) -> None:
        worked = self.worked
        corner_ids = [corner.glaze_id for corner in worked.corners]
        own: dict[int, TileGlaze] = {}
        if worked.base is not None:
            for place, corner in zip(corner_places(worked.layout), worked.corners, strict=True):
                looks = (corner.recipe, corner.analyses, corner.colour, corner.pattern)
                own[place] = TileGlaze(None, *looks)
        own |= {
            place: glaze
            for place, glaze in enumerate(worked.glazes)
            if glaze is not None and glaze.corner is None
        }
        trial_ids = self._write_trials(own)
        if worked.base is not None:
            corner_ids = [trial_ids[place] for place in corner_places(worked.layout)]
        known = [one for one in corner_ids if one is not None]
        assert len(known) == len(worked.corners)
        self._write_corners(known)
        self._write_tiles(known, trial_ids)

    def _lots(self) -> dict[str, int | None]:
        """The lots in force of what the plan brings in beside its glazes' own materials."""
        worked, options = self.worked, self.worked.options
        fresh = {*options.shelf, *(one.material for one in options.ladders)}
        fresh -= {part.material for part in (worked.base or worked.corners[0]).recipe}
        used = {part.material for one in worked.glazes if one is not None for part in one.recipe}
        return {one: lot_in_force(self.session, one) for one in sorted(fresh & used)}

    def _write_trials(self, own: dict[int, TileGlaze]) -> dict[int, int]:
        """The glazes of single tiles; returns their ids by the tile's place, counted from 0."""
        rows = {place: self._trial(place, glaze) for place, glaze in sorted(own.items())}
        add_all(self.session, list(rows.values()))
        add_all(
            self.session,
            [
                RecipeLine(
                    glaze_id=rows[place].id,
                    position=position,
                    material=part.material,
                    parts=round(part.parts, 4),
                    addition=part.addition,
                    lot_id=part.lot_id if part.lot_id is not None else self.lots.get(part.material),
                )
                for place in rows
                for position, part in enumerate(own[place].recipe, start=1)
                if round(part.parts, 4) > 0
            ],
        )
        return {place: row.id for place, row in rows.items()}

    def _trial(self, place: int, glaze: TileGlaze) -> Glaze:
        worked = self.worked
        tile = worked.layout.tiles[place]
        words = tile.words
        if worked.base is not None and place in corner_places(worked.layout):
            words += f" (computed from {worked.base.label})"
        return Glaze(
            name=trial_name(worked.code, tile.position),
            kind=(worked.base or worked.corners[0]).kind,
            colour=glaze.colour,
            pattern=glaze.pattern,
            notes=f"{_tile_words(worked.code, tile.position)} “{worked.name}”: {words}.",
            trial=True,
        )

    def _write_corners(self, corner_ids: Sequence[int]) -> None:
        rows = list(enumerate(zip(self.worked.corners, corner_ids, strict=True), start=1))
        if (base := self.worked.base) is not None:
            assert base.glaze_id is not None
            rows.insert(0, (BASE, (base, base.glaze_id)))
        add_all(
            self.session,
            [
                PlanCorner(
                    plan_id=self.plan_id,
                    position=position,
                    glaze_id=glaze_id,
                    label=corner.label,
                    specific_gravity=corner.specific_gravity,
                )
                for position, (corner, glaze_id) in rows
            ],
        )

    def _write_tiles(self, corner_ids: Sequence[int], trial_ids: dict[int, int]) -> None:
        tiles = self.worked.layout.tiles
        rows = [
            PlanTile(
                plan_id=self.plan_id,
                position=tile.position,
                at_row=tile.row,
                at_column=tile.column,
                shares=json.dumps([round(share, 9) for share in tile.shares])
                if tile.shares
                else "",
                words=tile.words,
            )
            for tile in tiles
        ]
        add_all(self.session, rows)
        layers = []
        for place, (tile, row) in enumerate(zip(tiles, rows, strict=True)):
            glaze = self.worked.glazes[place]
            for position, layer in enumerate(tile.layers, start=1):
                corner = layer.corner
                if corner is None and glaze is not None:
                    corner = glaze.corner
                laid = trial_ids[place] if corner is None else corner_ids[corner]
                layers.append(
                    PlanLayer(
                        tile_id=row.id,
                        position=position,
                        glaze_id=laid,
                        method=layer.method,
                        coats=layer.coats,
                        seconds=layer.seconds,
                    )
                )
        add_all(self.session, layers)


def change_plan(session: Session, plan_id: int, version: int | None = None, **fields: Any) -> None:
    """Change fields of a plan: name, code, cone, program, clay, form, ``tile_dry_g``, its words.

    A new code goes to its tiles and to the glazes that are only theirs, not to pieces that were
    made: those carry what was written on them, so the code is refused once there are any.
    """
    plan = get(session, TestPlan, plan_id, version)
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the plan")
    if "cone" in fields:
        fields["cone"] = clean_cone(fields["cone"])
    if fields.get("tile_dry_g") is not None:
        check_tile_dry_g(fields["tile_dry_g"])
    if "code" in fields:
        code = check_code(session, fields["code"], but=plan_id)
        if code != plan.code:
            _refuse_made(session, plan, "The code can't be changed")
            _rename_trials(session, plan, code)
        fields["code"] = code
    change(session, TestPlan, plan_id, version, **fields)


def _refuse_made(session: Session, plan: TestPlan, what: str) -> None:
    made = count(session, PlanTile, PlanTile.plan_id == plan.id, PlanTile.piece_id.is_not(None))
    if made:
        pieces = "1 piece was" if made == 1 else f"{made} pieces were"
        raise StillUsed(f"{what}: {pieces} made for the plan “{plan.name}” already.")


def _rename_trials(session: Session, plan: TestPlan, code: str) -> None:
    for position, glaze_id in _trials(session, plan.id):
        glaze = get(session, Glaze, glaze_id)
        if glaze.name != trial_name(plan.code, position):
            continue  # named by hand meanwhile
        name = trial_name(code, position)
        if count(session, Glaze, reads_as(Glaze.name, name), Glaze.id != glaze_id):
            sentence = f"There is a glaze named {name} already: give the plan another code."
            raise UserProblem(sentence, {"code": sentence})
        told, tells = _tile_words(plan.code, position), _tile_words(code, position)
        change(session, Glaze, glaze_id, name=name, notes=glaze.notes.replace(told, tells, 1))


def _tile_words(code: str, position: int) -> str:
    return f"Tile {tile_code(code, position)} of the plan"


def _trials(session: Session, plan_id: int) -> list[tuple[int, int]]:
    """Tile position and glaze of each glaze that was made for this plan and is still a trial."""
    rows = session.execute(
        select(PlanTile.position, Glaze.id)
        .join(PlanLayer, PlanLayer.tile_id == PlanTile.id)
        .join(Glaze, Glaze.id == PlanLayer.glaze_id)
        .where(PlanTile.plan_id == plan_id, is_own_trial(plan_id))
        .order_by(PlanTile.position)
    )
    first: dict[int, int] = {}
    for position, glaze_id in rows:
        first.setdefault(glaze_id, position)
    return [(position, glaze_id) for glaze_id, position in first.items()]


def is_own_trial(plan_id: int) -> ColumnElement[bool]:
    """Whether a glaze on a plan's tiles was made for it: none of those that it starts from.

    A plan may start from a tile of another plan, which is a trial too. Where corners were computed,
    it starts from the base alone.
    """
    corner, base = PlanCorner.__table__.alias(), PlanCorner.__table__.alias()
    computed = exists().where(base.c.plan_id == plan_id, base.c.position == BASE)
    starts = select(corner.c.glaze_id).where(
        corner.c.plan_id == plan_id, or_(corner.c.position == BASE, not_(computed))
    )
    return and_(Glaze.trial, Glaze.id.not_in(starts))


def archive_plan(session: Session, plan_id: int, archived: bool = True) -> None:
    """Put a plan away, or take it out again; tiles, pieces and glazes stay as they are."""
    change(session, TestPlan, plan_id, archived=archived)


def delete_plan(session: Session, plan_id: int) -> None:
    """Delete a plan with its tiles and the glazes made for it alone.

    Raises `StillUsed` once pieces were made for it: then it is evidence, and is archived. Material
    weighed for it stays off the shelf, for it was used.
    """
    plan = get(session, TestPlan, plan_id)
    _refuse_made(session, plan, "It can't be deleted, but archived")
    trials = [glaze_id for _, glaze_id in _trials(session, plan_id)]
    tile_ids = list(session.scalars(select(PlanTile.id).where(PlanTile.plan_id == plan_id)))
    remove_all(session, PlanLayer, PlanLayer.tile_id.in_(tile_ids))
    remove_all(session, PlanTile, PlanTile.plan_id == plan_id)
    remove_all(session, PlanCorner, PlanCorner.plan_id == plan_id)
    for row in session.scalars(select(StockChange).where(StockChange.plan_id == plan_id)).all():
        change(session, StockChange, row.id, plan_id=None)
    for glaze_id in trials:
        if not _is_used(session, glaze_id):
            remove_all(session, RecipeLine, RecipeLine.glaze_id == glaze_id)
            remove(session, get(session, Glaze, glaze_id))
    remove(session, plan)


def _is_used(session: Session, glaze_id: int) -> bool:
    """Whether something besides its own plan holds on to a trial glaze."""
    return bool(
        count(session, Layer, Layer.glaze_id == glaze_id)
        or count(session, Bucket, Bucket.glaze_id == glaze_id)
        or count(session, Glaze, Glaze.parent_id == glaze_id)
        or count(session, PlanLayer, PlanLayer.glaze_id == glaze_id)
        or count(session, PlanCorner, PlanCorner.glaze_id == glaze_id)
    )


def read_shares(text: str) -> tuple[float, ...]:
    """The shares of a tile as they are kept; nothing for a tile that is no blend."""
    return tuple(float(one) for one in json.loads(text)) if text else ()


def plan_tiles(
    session: Session, plan_id: int, ids: Collection[int] | None = None
) -> list[PlanTile]:
    """The tiles of a plan in order; only those named, if any are.

    Raises `UserProblem` for one that is not of this plan.
    """
    rows = list(
        session.scalars(
            select(PlanTile).where(PlanTile.plan_id == plan_id).order_by(PlanTile.position)
        )
    )
    if ids is None:
        return rows
    chosen = [row for row in rows if row.id in set(ids)]
    if len(chosen) != len(set(ids)):
        raise UserProblem("A tile is no longer in this plan: it was deleted or undone.")
    return chosen
