"""A material that goes by another name goes by it in the plans that add it, too."""

from dataclasses import replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.materials import fold_name
from studiolog.craft.glaze.plans import PlanOptions, lay_out_plan, read_options, write_options
from studiolog.craft.limits import Limits
from studiolog.journal.writing import change
from studiolog.records.plans import PlanTile, TestPlan

_ANY_SIZE = Limits({"plan_most_tiles": 1e9})


def rename_in_plans(session: Session, old: str, new: str) -> None:
    """What a plan adds is named in its options alone, and is weighed by that name.

    The words of its tiles follow; what somebody wrote in other words stays.
    """
    for plan in session.scalars(select(TestPlan).where(TestPlan.kind == "additions")).all():
        options = read_options(plan.options)
        ladders = tuple(
            replace(one, material=new) if fold_name(one.material) == fold_name(old) else one
            for one in options.ladders
        )
        if ladders == options.ladders:
            continue
        renamed = replace(options, ladders=ladders)
        before, after = _words(options), _words(renamed)
        for tile in session.scalars(select(PlanTile).where(PlanTile.plan_id == plan.id)).all():
            if tile.words == before.get(tile.position):
                change(session, PlanTile, tile.id, words=after[tile.position])
        change(session, TestPlan, plan.id, options=write_options(renamed))


def _words(options: PlanOptions) -> dict[int, str]:
    """The words of each tile of a plan of additions by its position."""
    laid = lay_out_plan("additions", [""], options, limits=_ANY_SIZE)
    return {tile.position: tile.words for tile in laid.tiles}
