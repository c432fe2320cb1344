"""A test plan followed through the studio: pieces made, glazed, fired, and a glaze kept."""

from collections.abc import Callable, Collection
from datetime import date, datetime, time

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import CORNERS, few_codes, read_options, tile_code
from studiolog.craft.words import STAGES
from studiolog.journal.glazes import change_glaze
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    log_piece,
    log_run,
    move_to_stage,
    place_piece,
    set_layers,
)
from studiolog.journal.plan_mixing import read_plan_mixing
from studiolog.journal.plan_preview import check_gravity
from studiolog.journal.plans import is_own_trial, plan_tiles
from studiolog.journal.stock import take_from_stock
from studiolog.journal.writing import change, count, get
from studiolog.problems import UserProblem
from studiolog.records.firings import Firing
from studiolog.records.glazes import Glaze
from studiolog.records.materials import StockChange
from studiolog.records.pieces import Layer, Piece, Placement, StageChange
from studiolog.records.plans import PlanCorner, PlanLayer, PlanTile, TestPlan

AT_HAND = ("wet", "leather_hard", "bone_dry", "bisque")
"""What state the clay of new test pieces can be in."""

_ORDER = tuple(STAGES)


def make_pieces(session: Session, plan_id: int, made_on: date, stage: str = "bisque") -> int:
    """A numbered piece for each tile that has none, in a run of tests; returns the run's id.

    Its title is the code of its tile. Raises `UserProblem` for a state that is not of raw or
    bisque clay, and once every tile has its piece.
    """
    plan = get(session, TestPlan, plan_id)
    if stage not in AT_HAND:
        known = ", ".join(STAGES[one] for one in AT_HAND)
        raise UserProblem(f"New test pieces are {known}.", {"stage": known})
    without = [tile for tile in plan_tiles(session, plan_id) if tile.piece_id is None]
    if not without:
        raise UserProblem(f"Every tile of the plan “{plan.name}” has its piece already.")
    run_id = plan.run_id
    if run_id is None:
        run_id = log_run(
            session,
            RunDraft(
                made_on=made_on,
                form_id=plan.form_id,
                clay_id=plan.clay_id,
                title=plan.name,
                purpose="test",
                stage=stage,
            ),
        )
        change(session, TestPlan, plan_id, run_id=run_id)
    for tile in without:
        piece_id = log_piece(
            session,
            PieceDraft(
                run_id=run_id,
                form_id=plan.form_id,
                clay_id=plan.clay_id,
                title=tile_code(plan.code, tile.position),
                made_on=made_on,
                stage=stage,
            ),
        )
        change(session, PlanTile, tile.id, piece_id=piece_id)
    return run_id


def glaze_tiles(
    session: Session, plan_id: int, on: date, tile_ids: Collection[int] | None = None
) -> int:
    """Tiles were glazed as planned on a day; returns how many.

    Without ``tile_ids`` it is all that are not glazed yet. A piece that has layers already keeps
    them. Raises `UserProblem` for tiles without pieces, and for one named that is glazed or gone.
    """
    plan = get(session, TestPlan, plan_id)
    options = read_options(plan.options)
    chosen = _pieces_to(session, plan, tile_ids, _is_bare, "glazed")
    ids = [tile.id for tile, _ in chosen]
    layers: dict[int, list[LayerDraft]] = {tile_id: [] for tile_id in ids}
    for row in session.scalars(
        select(PlanLayer).where(PlanLayer.tile_id.in_(ids)).order_by(PlanLayer.position)
    ):
        layers[row.tile_id].append(
            LayerDraft(
                zone=options.zone if row.position == 1 else options.over_zone,
                glaze_id=row.glaze_id,
                method=row.method,
                coats=row.coats,
                seconds=row.seconds,
                thickness_mm=row.thickness_mm,
            )
        )
    for tile, piece in chosen:
        if not count(session, Layer, Layer.piece_id == piece.id):
            set_layers(session, piece.id, layers[tile.id])
        move_to_stage(session, piece.id, "glazed", _after_last(session, piece, on))
    return len(chosen)


def mark_fired(
    session: Session, plan_id: int, on: date, tile_ids: Collection[int] | None = None
) -> int:
    """Glazed tiles came out of the kiln on a day; returns how many.

    Without ``tile_ids`` it is all that stood in a glaze firing and are not fired yet. Raises
    `UserProblem` for tiles that were in none.
    """
    plan = get(session, TestPlan, plan_id)
    fired_ids = set(
        session.scalars(
            select(Placement.piece_id)
            .join(Firing, Firing.id == Placement.firing_id)
            .where(
                Firing.kind != "bisque",
                Placement.piece_id.in_(
                    select(PlanTile.piece_id).where(PlanTile.plan_id == plan_id)
                ),
            )
        )
    )
    chosen = _pieces_to(
        session,
        plan,
        tile_ids,
        lambda piece: piece.stage == "glazed" and piece.id in fired_ids,
        "fired: put them in a firing first",
    )
    for _, piece in chosen:
        move_to_stage(session, piece.id, "fired", _after_last(session, piece, on))
    return len(chosen)


def put_in_firing(
    session: Session,
    plan_id: int,
    firing_id: int,
    level_id: int | None = None,
    tile_ids: Collection[int] | None = None,
) -> int:
    """Put tiles in a firing, on a level if that is known, in the plan's order; returns how many.

    Without ``tile_ids`` it is all that are ready for it: glazed, or raw for a bisque firing.
    Raises `UserProblem` for tiles that are not.
    """
    plan = get(session, TestPlan, plan_id)
    firing = get(session, Firing, firing_id)
    bisque = firing.kind == "bisque"
    inside = set(
        session.scalars(select(Placement.piece_id).where(Placement.firing_id == firing_id))
    )

    def is_ready(piece: Piece) -> bool:
        if tile_ids is None and piece.id in inside:
            return False
        return (_is_bare(piece) and piece.stage != "bisque") if bisque else piece.stage == "glazed"

    wanted = f"put in firing {firing.number}: " + (
        "they were bisque fired already" if bisque else "they are to be glazed first"
    )
    chosen = _pieces_to(session, plan, tile_ids, is_ready, wanted)
    for tile, piece in chosen:
        where = f"row {tile.at_row}, place {tile.at_column}"
        place_piece(
            session,
            piece.id,
            PlacementDraft(firing_id=firing_id, level_id=level_id, position=where),
        )
    return len(chosen)


def take_corners_from_stock(session: Session, plan_id: int, on: date) -> int:
    """Take what the plan's mixing weighs off the shelf; returns how many materials.

    Raises `UserProblem` for a plan that mixes nothing, and if it was done before.
    """
    plan = get(session, TestPlan, plan_id)
    earlier = session.scalar(
        select(func.min(StockChange.changed_on)).where(StockChange.plan_id == plan_id)
    )
    if earlier is not None:
        raise UserProblem(
            f"What the plan “{plan.name}” needs was taken from the stock on {earlier.isoformat()}."
        )
    mixing = read_plan_mixing(session, plan)
    if mixing is None:
        raise UserProblem(
            f"The plan “{plan.name}” is glazed from buckets as they are: there is nothing to weigh."
        )
    taken = take_from_stock(
        session, mixing.materials_g, on, plan_id=plan_id, kind="tests", note=f"plan {plan.code}"
    )
    return len(taken)


def set_corner_gravity(
    session: Session, corner_id: int, version: int | None, specific_gravity: float | None
) -> None:
    """The specific gravity a corner's slurry was found to stand at; the volumes go by it.

    None goes back to the glaze's usual one. Raises `UserProblem` for what no slurry has.
    """
    if specific_gravity is not None:
        check_gravity(specific_gravity)
    change(session, PlanCorner, corner_id, version, specific_gravity=specific_gravity)


def keep_glaze(session: Session, tile_id: int, name: str) -> int:
    """Give the glaze of a tile a name of its own, so that it is listed; returns its id.

    The tile and its piece keep it. Raises `UserProblem` for a tile whose glaze is in the list
    already, and for a name that is taken.
    """
    _, own = _own_glaze(session, tile_id)
    change_glaze(session, own.id, name=name, trial=False)
    return own.id


def keep_as_version(session: Session, tile_id: int) -> int:
    """Make the glaze of a tile the next version of the glaze its plan started from; returns its id.

    For plans of one glaze: a silica by alumina grid, a ladder of additions. The tile and its piece
    keep it. Raises `UserProblem` for a plan of several, and as `keep_glaze` does.
    """
    tile, own = _own_glaze(session, tile_id)
    first = list(
        session.scalars(
            select(PlanCorner)
            .where(PlanCorner.plan_id == tile.plan_id)
            .order_by(PlanCorner.position)
        )
    )
    plan = get(session, TestPlan, tile.plan_id)
    if CORNERS[plan.kind] != (1, 1):
        raise UserProblem(
            "A blend of several glazes is no version of one of them: give it a name of its own."
        )
    base = get(session, Glaze, first[0].glaze_id)
    newest = session.scalar(select(func.max(Glaze.version_number)).where(Glaze.name == base.name))
    change(
        session,
        Glaze,
        own.id,
        name=base.name,
        version_number=int(newest or 1) + 1,
        parent_id=base.id,
        cone_range=base.cone_range,
        specific_gravity=base.specific_gravity,
        trial=False,
    )
    return own.id


def _own_glaze(session: Session, tile_id: int) -> tuple[PlanTile, Glaze]:
    """A tile and the glaze that was made for it alone; refused if it has none."""
    tile = get(session, PlanTile, tile_id)
    own = session.scalars(
        select(Glaze)
        .join(PlanLayer, PlanLayer.glaze_id == Glaze.id)
        .where(PlanLayer.tile_id == tile_id, is_own_trial(tile.plan_id))
    ).first()
    if own is None:
        code = tile_code(get(session, TestPlan, tile.plan_id).code, tile.position)
        raise UserProblem(f"Tile {code} carries no glaze of its own: what is on it is listed.")
    return tile, own


def _is_bare(piece: Piece) -> bool:
    return _ORDER.index(piece.stage) < _ORDER.index("glazed")


def _pieces_to(
    session: Session,
    plan: TestPlan,
    tile_ids: Collection[int] | None,
    is_ready: Callable[[Piece], bool],
    what: str,
) -> list[tuple[PlanTile, Piece]]:
    """The tiles asked for with their pieces; all that are ready, if none are named.

    Raises `UserProblem` naming those that can't be ``what``.
    """
    tiles = plan_tiles(session, plan.id, tile_ids)
    made = {
        piece.id: piece
        for piece in session.scalars(
            select(Piece).where(Piece.id.in_([t.piece_id for t in tiles if t.piece_id]))
        )
    }
    if not made:
        raise UserProblem(
            f"No pieces of the plan “{plan.name}” have been made yet: make them first."
        )
    found, others = [], []
    for tile in tiles:
        piece = made.get(tile.piece_id or 0)
        if piece is not None and is_ready(piece):
            found.append((tile, piece))
        else:
            others.append(tile_code(plan.code, tile.position))
    if (tile_ids is not None and others) or not found:
        raise UserProblem(f"{few_codes(others)} can't be {what}.")
    return found


def _after_last(session: Session, piece: Piece, on: date) -> datetime:
    """Noon of a day, or what was logged last if that was later the same day.

    Raises `UserProblem` for a day before that: the history would run backwards.
    """
    last = session.scalar(select(func.max(StageChange.at)).where(StageChange.piece_id == piece.id))
    noon = datetime.combine(on, time(12))
    if last is None or last <= noon:
        return noon
    if last.date() > on:
        sentence = (
            f"{piece.title} was {STAGES[piece.stage]} on {last.date().isoformat()}: what was done "
            "next was not done before that day."
        )
        raise UserProblem(sentence, {"on": sentence})
    return last
