"""The test plans a glaze stands in: as one they start from, or as the glaze of a tile."""

from collections import defaultdict
from dataclasses import dataclass

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import tile_code
from studiolog.journal.plan_page import read_plan_lines
from studiolog.records.plans import PlanCorner, PlanLayer, PlanTile, TestPlan


@dataclass(frozen=True)
class GlazePlan:
    """A plan with how far it has come. ``tiles`` are codes of the tiles that carry the glaze,
    ``starts`` whether the plan starts from it."""

    plan_id: int
    code: str
    name: str
    progress: str
    tiles: tuple[str, ...]
    starts: bool

    @property
    def words(self) -> str:
        """``tile A5, 9 of 9 fired``; the tiles are named where the glaze was made for them."""
        if self.starts or not self.tiles:
            return self.progress
        few = ", ".join(self.tiles[:4]) + (" …" if len(self.tiles) > 4 else "")
        return f"{'tile' if len(self.tiles) == 1 else 'tiles'} {few}, {self.progress}"


def read_glaze_plans(session: Session, glaze_id: int) -> tuple[GlazePlan, ...]:
    """The plans made with a glaze, the newest first, archived ones too."""
    starts = set(session.scalars(select(PlanCorner.plan_id).where(PlanCorner.glaze_id == glaze_id)))
    positions: dict[int, dict[int, None]] = defaultdict(dict)
    for row in session.execute(
        select(PlanTile.plan_id, PlanTile.position)
        .join(PlanLayer, PlanLayer.tile_id == PlanTile.id)
        .where(PlanLayer.glaze_id == glaze_id)
        .order_by(PlanTile.position)
    ):
        positions[row.plan_id][row.position] = None
    plans = session.scalars(
        select(TestPlan)
        .where(or_(TestPlan.id.in_(starts), TestPlan.id.in_(positions)))
        .order_by(TestPlan.made_on.desc(), TestPlan.id.desc())
    ).all()
    return tuple(
        GlazePlan(
            line.plan_id,
            line.code,
            line.name,
            line.progress,
            tuple(tile_code(line.code, position) for position in positions[line.plan_id]),
            line.plan_id in starts,
        )
        for line in read_plan_lines(session, plans)
    )
