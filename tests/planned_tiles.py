"""A line of five between two glazes, taken as far through the studio as a test needs it."""

from datetime import date

from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import PlanOptions
from studiolog.journal.glazes import RecipePart, change_glaze, set_recipe
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.plan_page import PlanPage, read_plan_page
from studiolog.journal.plan_work import glaze_tiles, make_pieces, mark_fired, put_in_firing
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan
from tests.small_studio import SmallStudio

CHALK = (
    RecipePart("Nepheline syenite", 45),
    RecipePart("Silica", 25),
    RecipePart("Whiting", 15),
    RecipePart("Kaolin", 15),
)
DAY = date(2026, 10, 12)
WAY = ("planned", "made", "glazed", "fired", "looked")
"""How far a plan may be taken."""


def give_recipe(session: Session, studio: SmallStudio) -> None:
    """Kelp has a recipe; Chalk gets one, and a specific gravity to be poured by."""
    set_recipe(session, studio.chalk, CHALK)
    change_glaze(session, studio.chalk, specific_gravity=1.48)


def plan_line(session: Session, studio: SmallStudio, far: str = "planned") -> int:
    """Kelp to Chalk in five tiles; ``far`` is one of `WAY`. Returns the plan's id."""
    give_recipe(session, studio)
    plan_id = add_plan(
        session,
        PlanDraft(
            name="Kelp to Chalk",
            kind="line",
            corners=(CornerDraft(glaze_id=studio.kelp), CornerDraft(glaze_id=studio.chalk)),
            made_on=DAY,
            options=PlanOptions(along=5),
            clay_id=studio.buff,
            cone="6",
            question="Where does it turn matt?",
        ),
    )
    steps = WAY.index(far)
    if steps >= 1:
        make_pieces(session, plan_id, DAY)
    if steps >= 2:
        glaze_tiles(session, plan_id, DAY)
    if steps >= 3:
        put_in_firing(session, plan_id, studio.firings[-1])
        mark_fired(session, plan_id, DAY)
    if steps >= 4:
        for number, tile in enumerate(page_of(session, plan_id).tiles):
            assert tile.piece_id is not None
            draft = InspectionDraft(
                looked_on=DAY,
                faults=(FaultDraft("crazing", 2 if number == 3 else 0),),
                surfaces=(SurfaceDraft("glossy" if number < 2 else "matt"),),
            )
            log_inspection(session, tile.piece_id, draft)
    return plan_id


def page_of(session: Session, plan_id: int) -> PlanPage:
    """The page of a plan that is there."""
    page = read_plan_page(session, plan_id)
    assert page is not None
    return page
