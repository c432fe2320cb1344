"""Which things of a journal show most: for pictures of the screens."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.records.clays import Clay
from studiolog.records.firings import ConePack, Curve, Firing
from studiolog.records.forms import Form, FormDecision, Way
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.ideas import Idea, IdeaPicture
from studiolog.records.inspections import Inspection
from studiolog.records.kilns import Kiln
from studiolog.records.loads import KilnLoad
from studiolog.records.materials import MaterialLot
from studiolog.records.orders import Order, SetPart, Shipment
from studiolog.records.photos import Picture
from studiolog.records.pieces import Layer, Piece, Placement, Run, ToolUse
from studiolog.records.plans import PlanTile, TestPlan
from studiolog.records.programs import Program


@dataclass(frozen=True)
class Showcase:
    """The fullest page of each noun, as noun -> id; a noun with no records is not named."""

    ids: dict[str, int]
    piece_number: int | None = None


def choose_showcase(session: Session) -> Showcase:
    """The piece with most inspections, photos and layers; the firing with curve, cones and load."""
    inspected = _tally(session, Inspection.piece_id)
    pictured = _tally(session, Picture.piece_id)
    layered = _tally(session, Layer.piece_id)
    pieces = session.scalars(select(Piece.id).where(Piece.number.is_not(None))).all()
    best = {
        "piece": max(
            pieces,
            key=lambda p: (
                min(inspected.get(p, 0), 3) + min(pictured.get(p, 0), 6) + layered.get(p, 0),
                p,
            ),
            default=None,
        )
    }
    curved = set(session.scalars(select(Curve.firing_id)))
    packed = _tally(session, ConePack.firing_id)
    loaded = _tally(session, Placement.firing_id)
    firings = session.scalars(select(Firing.id).where(Firing.kind == "glaze")).all()
    best["firing"] = max(
        firings,
        key=lambda f: (f in curved, packed.get(f, 0), loaded.get(f, 0)),
        default=session.scalar(select(func.max(Firing.id))),
    )
    recipes = _tally(session, RecipeLine.glaze_id)
    used = _tally(session, Layer.glaze_id)
    glazes = session.scalars(select(Glaze.id)).all()
    best["glaze"] = max(glazes, key=lambda g: (recipes.get(g, 0) > 0, used.get(g, 0)), default=None)
    lots = _tally(session, MaterialLot.material_id)
    best["material"] = max(lots, key=lambda m: (lots[m], -m), default=None)
    looked_at = select(PlanTile.plan_id, func.count()).join(
        Inspection, Inspection.piece_id == PlanTile.piece_id
    )
    results = {row[0]: row[1] for row in session.execute(looked_at.group_by(PlanTile.plan_id))}
    plans = session.scalars(select(TestPlan.id)).all()
    best["plan"] = max(plans, key=lambda p: (results.get(p, 0), -p), default=None)
    for noun, record in (("clay", Clay), ("form", Form), ("kiln", Kiln), ("program", Program)):
        best[noun] = session.scalar(select(func.min(record.id)))
    # The form that was thought about most: by its ways, its versions and what was decided of it.
    ways, decided = _tally(session, Way.form_id), _tally(session, FormDecision.form_id)
    versions = _tally(session, Form.parent_id)
    forms = session.scalars(select(Form.id)).all()
    best["form"] = max(
        forms,
        key=lambda f: (2 * ways.get(f, 0) + decided.get(f, 0) + versions.get(f, 0), -f),
        default=None,
    )
    sketched = _tally(session, IdeaPicture.idea_id)
    ideas = session.execute(select(Idea.id, Idea.form_id)).all()
    best["idea"] = max(
        (row.id for row in ideas if row.form_id is not None or sketched.get(row.id)),
        key=lambda i: (sketched.get(i, 0), -i),
        default=ideas[0].id if ideas else None,
    )
    used_on = _tally(session, ToolUse.tool_id)
    best["tool"] = max(used_on, key=lambda t: (used_on[t], -t), default=None)
    sent = _tally(session, Shipment.order_id)
    open_ = session.scalars(select(Order.id).where(Order.state == "open")).all()
    best["order"] = max(open_, key=lambda o: (sent.get(o, 0), -o), default=None)
    parts = _tally(session, SetPart.set_id)
    best["set"] = max(parts, key=lambda s: (parts[s], -s), default=None)
    best["load"] = session.scalar(select(func.max(KilnLoad.id)).where(KilnLoad.firing_id.is_(None)))
    best["run"] = session.scalar(select(func.max(Run.id)))
    number = session.scalar(select(Piece.number).where(Piece.id == best["piece"]))
    return Showcase({noun: row_id for noun, row_id in best.items() if row_id is not None}, number)


def _tally(session: Session, column: object) -> dict[int, int]:
    counted = select(column, func.count()).where(column.is_not(None)).group_by(column)  # type: ignore[attr-defined, call-overload]
    return {row[0]: row[1] for row in session.execute(counted)}
