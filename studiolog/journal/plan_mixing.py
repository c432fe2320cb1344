"""The mixing of a plan that was made, from its corners and tiles as they are kept."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import Layout, LayoutTile, PlanOptions, lay_out_plan, read_options
from studiolog.craft.glaze.weighings import PlanMixing, mix_plan
from studiolog.craft.limits import Limits
from studiolog.journal.limits import read_limits
from studiolog.journal.plan_preview import MIXED_KINDS
from studiolog.journal.plan_recipes import PlanGlaze, read_plan_glazes
from studiolog.journal.plans import BASE, plan_tiles, read_shares
from studiolog.records.plans import PlanCorner, TestPlan


def read_plan_mixing(session: Session, plan: TestPlan) -> PlanMixing | None:
    """How a plan is mixed, with the gravities its slurries stand at; None if it needs no mixing.

    Raises `UserProblem` for a corner that can't be mixed any more.
    """
    if plan.kind not in MIXED_KINDS:
        return None
    limits = read_limits(session)
    options = read_options(plan.options)
    return mix_plan(
        read_layout(session, plan, options),
        [corner.as_mixed() for corner in read_plan_corners(session, plan.id, limits)],
        code=plan.code,
        tile_dry_g=plan.tile_dry_g or limits["plan_tile_dry_g"],
        blend_by=options.blend_by,
        limits=limits,
    )


def read_plan_corners(session: Session, plan_id: int, limits: Limits) -> tuple[PlanGlaze, ...]:
    """The corners of a plan, without the glaze they were computed from."""
    rows = session.scalars(
        select(PlanCorner)
        .where(PlanCorner.plan_id == plan_id, PlanCorner.position > BASE)
        .order_by(PlanCorner.position)
    )
    return read_plan_glazes(
        session, [(row.glaze_id, row.label, row.specific_gravity) for row in rows], limits
    )


def read_layout(session: Session, plan: TestPlan, options: PlanOptions) -> Layout:
    """The tiles of a plan with the shares they were made with."""
    rows = plan_tiles(session, plan.id)
    additions = {}
    if plan.kind == "additions":
        # What is added is not kept with a tile: the options say it.
        laid = lay_out_plan(plan.kind, [""], options, limits=_ANY_SIZE)
        additions = {tile.position: tile.additions for tile in laid.tiles}
    tiles = tuple(
        LayoutTile(
            row.position,
            row.at_row,
            row.at_column,
            row.words,
            read_shares(row.shares),
            additions.get(row.position, ()),
        )
        for row in rows
    )
    return Layout(plan.kind, max((row.at_row for row in rows), default=1), plan.tile_columns, tiles)


# A plan that was made stays whole when the limit is set lower afterwards.
_ANY_SIZE = Limits({"plan_most_tiles": 1e9})
