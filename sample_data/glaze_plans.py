"""Three test plans of Tern Yard: one that is finished, one half way, one only thought of.

Chalk crazes on the iron-red clay, so the finished one asks how much silica would stop it. What came
out of the kiln is invented, as all of the demo: it follows the ratio and the silica of each tile.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial

from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import Ladder, PlanOptions
from studiolog.journal.inspections import FaultDraft, InspectionDraft, SurfaceDraft, log_inspection
from studiolog.journal.opening import Journal
from studiolog.journal.photos import add_picture
from studiolog.journal.pieces import change_piece
from studiolog.journal.plan_page import PlanTileLine, read_plan_page
from studiolog.journal.plan_work import (
    glaze_tiles,
    make_pieces,
    mark_fired,
    put_in_firing,
    take_corners_from_stock,
)
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan, change_plan
from studiolog.photos.intake import PhotoFacts

from .demo_pictures import PicturePlan
from .demo_writer import picture_draft
from .firing_year import FiringOutcome
from .picture_spec import PictureFault, PictureLayer, PictureSpec
from .piece_story import unloaded_at
from .studio_setup import BUFF, CHALK, CLEAR, KELP, RED, SHRINKAGE, SMALL, SetUp

FIRING = 92
"""The test firing the finished plan stood in, on its upper level."""
FIRST_PIECE = 440
"""The number the first tile gets: one past the last piece of the year."""

TILE_PX = (540, 648)
_GRID = PlanOptions(
    silica=(2.6, 3.8), alumina=(0.42, 0.58), rows=3, columns=3, method="dip", seconds=3.0
)
_LINE = PlanOptions(along=6, method="dip", seconds=3.0)
_LADDER = PlanOptions(
    ladders=(Ladder("Cobalt carbonate", (0, 0.25, 0.5, 1)), Ladder("Rutile", (0, 3))),
    method="dip", seconds=3.0, blend_by="weight",
)  # fmt: skip


@dataclass(frozen=True)
class Came:
    """How a tile came out: severity of crazing, words for its surface, and which look it has."""

    crazing: int
    surface: tuple[str, ...]
    look: str
    note: str = ""


_MATT, _BRIGHT = f"{CHALK} matt", f"{CHALK} bright"
# Row by row from the top: alumina falls downward, silica grows to the right.
_CAME = (
    Came(2, ("matt", "opaque", "smooth"), _MATT, "Drags the spoon."),
    Came(0, ("satin", "opaque", "even"), CHALK),
    Came(0, ("satin", "opaque", "stiff"), CHALK, "Edges stayed where they were."),
    Came(2, ("satin", "opaque"), CHALK),
    Came(1, ("satin", "opaque", "even", "smooth"), CHALK, "The one to put on a cup."),
    Came(0, ("glossy", "opaque"), _BRIGHT),
    Came(3, ("satin", "translucent", "breaking"), CHALK, "Pinging before it was out of the kiln."),
    Came(1, ("glossy", "translucent", "smooth"), _BRIGHT),
    Came(0, ("glossy", "translucent", "fluid"), _BRIGHT, "Pooled at the foot."),
)


def plan_tile_pictures(
    outcomes: Mapping[int, FiringOutcome], share: float = 1.0
) -> dict[int, list[PicturePlan]]:
    """A picture of each fired tile, by the number of its piece."""
    if share <= 0:
        return {}
    out = unloaded_at(outcomes[FIRING])
    pictures = {}
    for place, came in enumerate(_CAME):
        number = FIRST_PIECE + place
        taken_at = out + timedelta(minutes=20 + place)
        spec = PictureSpec(
            form="test_tile", clay=RED, moment="fired", taken_at=taken_at, seed=92_000 + place,
            layers=(PictureLayer(came.look, "outside", "dip", 1.0),),
            faults=(PictureFault("crazing", came.crazing),) if came.crazing else (),
            shrinkage=SHRINKAGE[RED], width_px=TILE_PX[0], height_px=TILE_PX[1],
        )  # fmt: skip
        name = f"{number:03d}-{taken_at:%Y%m%d-%H%M%S}.jpg"
        pictures[number] = [PicturePlan(name, spec, "fired")]
    return pictures


def write_test_plans(
    journal: Journal,
    set_up: SetUp,
    firing_ids: Mapping[int, int],
    outcomes: Mapping[int, FiringOutcome],
) -> dict[int, int]:
    """Write the three plans; returns the pieces of the finished one by number."""
    grid = journal.edit("Plan tests “Silica for Chalk”", partial(_plan_grid, set_up=set_up)).value
    journal.edit("Make 9 pieces for plan A", partial(_make, plan_id=grid, on=date(2026, 10, 21)))
    weigh = partial(take_corners_from_stock, plan_id=grid, on=date(2026, 10, 28))
    journal.edit("Take what plan A weighs from the stock", weigh)
    fire = partial(
        _fire, plan_id=grid, set_up=set_up, firing_id=firing_ids[FIRING],
        out=unloaded_at(outcomes[FIRING]),
    )  # fmt: skip
    pieces = journal.edit("Glaze and fire plan A", fire).value
    line = journal.edit("Plan tests “Kelp towards Chalk”", partial(_plan_line, set_up=set_up)).value
    journal.edit("Make 6 pieces for plan B", partial(_make, plan_id=line, on=date(2026, 11, 9)))
    journal.edit("Glaze 4 tiles of plan B", partial(_glaze_some, plan_id=line))
    journal.edit("Plan tests “Cobalt in Clear 4”", partial(_plan_ladder, set_up=set_up))
    return pieces


def add_tile_pictures(
    journal: Journal,
    pieces: Mapping[int, int],
    photos: Mapping[int, list[tuple[PicturePlan, PhotoFacts]]],
) -> None:
    """Tie the pictures to the tiles, in one edit."""
    taken = {piece_id: photos[number] for number, piece_id in pieces.items() if number in photos}
    if taken:
        label = f"Add {len(taken)} pictures to plan A"
        journal.edit(label, partial(_add_pictures, taken=taken))


def _add_pictures(
    session: Session, taken: Mapping[int, list[tuple[PicturePlan, PhotoFacts]]]
) -> None:
    for piece_id, some in taken.items():
        for plan, facts in some:
            # No picture before the firing to lay it over: it needs no scale.
            draft = replace(picture_draft(plan, facts), px_per_mm=None, foot_x=None, foot_y=None)
            add_picture(session, draft, piece_id=piece_id)


def _plan_grid(session: Session, set_up: SetUp) -> int:
    return add_plan(
        session,
        PlanDraft(
            name="Silica for Chalk", kind="silica_alumina", made_on=date(2026, 10, 20),
            corners=(CornerDraft(glaze_id=set_up.glazes[CHALK]),), options=_GRID,
            clay_id=set_up.clays[RED], form_id=set_up.forms["test_tile"],
            program_id=set_up.programs["test"], cone="6", tile_dry_g=40.0,
            question="How much silica does Chalk need before it stops crazing on the red clay, "
            "and is it still Chalk then?",
        ),
    )  # fmt: skip


def _plan_line(session: Session, set_up: SetUp) -> int:
    return add_plan(
        session,
        PlanDraft(
            name="Kelp towards Chalk", kind="line", made_on=date(2026, 11, 8),
            corners=(CornerDraft(glaze_id=set_up.glazes[KELP]),
                     CornerDraft(glaze_id=set_up.glazes[CHALK])),
            options=_LINE, clay_id=set_up.clays[BUFF], form_id=set_up.forms["test_tile"],
            program_id=set_up.programs["six"], cone="6", tile_dry_g=40.0,
            question="Is there a green between the two that breaks white?",
        ),
    )  # fmt: skip


def _plan_ladder(session: Session, set_up: SetUp) -> int:
    return add_plan(
        session,
        PlanDraft(
            name="Cobalt in Clear 4", kind="additions", made_on=date(2026, 11, 11),
            corners=(CornerDraft(glaze_id=set_up.glazes[CLEAR]),), options=_LADDER,
            clay_id=set_up.clays[BUFF], form_id=set_up.forms["test_tile"], cone="6",
            tile_dry_g=100.0, question="A blue for insides, quieter than Deep Tide.",
        ),
    )  # fmt: skip


def _make(session: Session, plan_id: int, on: date) -> int:
    return make_pieces(session, plan_id, on)


def _fire(
    session: Session, plan_id: int, set_up: SetUp, firing_id: int, out: datetime
) -> dict[int, int]:
    glaze_tiles(session, plan_id, date(2026, 10, 29))
    put_in_firing(session, plan_id, firing_id, set_up.levels[SMALL, "upper"])
    mark_fired(session, plan_id, out.date())
    pieces = {}
    for tile, came in zip(_tiles(session, plan_id), _CAME, strict=True):
        assert tile.piece_id is not None
        assert tile.piece_number is not None
        pieces[tile.piece_number] = tile.piece_id
        change_piece(session, tile.piece_id, kept_where="test shelf")
        _look(session, tile.piece_id, came, out.date())
    assert min(pieces) == FIRST_PIECE
    change_plan(
        session, plan_id,
        lesson="From 3.2 silica on hardly a line, from 3.8 none. More alumina keeps it satin up "
        "there; without it Chalk turns glossy and thin.",
        next_time="The middle tile and the one above it on cups, three of each.",
    )  # fmt: skip
    return pieces


def _tiles(session: Session, plan_id: int) -> tuple[PlanTileLine, ...]:
    page = read_plan_page(session, plan_id)
    assert page is not None
    return page.tiles


def _look(session: Session, piece_id: int, came: Came, on: date) -> None:
    """Out of the kiln, and again after a week and a boiling: crazing takes its time."""
    log_inspection(
        session, piece_id,
        InspectionDraft(
            looked_on=on,
            faults=(FaultDraft("crazing", max(0, came.crazing - 1)), FaultDraft("crawling", 0),
                    FaultDraft("pinhole", 0)),
            surfaces=tuple(SurfaceDraft(word) for word in came.surface), note=came.note,
        ),
    )  # fmt: skip
    log_inspection(
        session, piece_id,
        InspectionDraft(
            looked_on=on + timedelta(days=8), faults=(FaultDraft("crazing", came.crazing),),
            stress_tested=True,
        ),
    )  # fmt: skip


def _glaze_some(session: Session, plan_id: int) -> int:
    chosen = [tile.tile_id for tile in _tiles(session, plan_id)[:4]]
    return glaze_tiles(session, plan_id, date(2026, 11, 12), chosen)
