"""The kilns' own shelves, and the two loads that stand planned: one bisque, one glaze to cone 7.

The glaze load is planned too hot for some of it, so that there is something to look at before it
is lit: Rust Shore over Kelp ran at the lower shelf above 6½ (see `fault_odds`), and the iron-red
tiles would come near the heat at which their clay bloats.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from studiolog.craft.ware.packing import QUICK, pack
from studiolog.journal.kiln_shelves import set_level_height
from studiolog.journal.kilns import change_kiln
from studiolog.journal.load_page import read_load_page
from studiolog.journal.load_pieces import add_pieces
from studiolog.journal.load_places import keep_plan
from studiolog.journal.load_plan import packing_rules
from studiolog.journal.load_ware import read_waiting
from studiolog.journal.loads import LoadDraft, begin_load
from studiolog.journal.pieces import LayerDraft, PieceDraft, RunDraft, log_piece, log_run

from .studio_setup import BIG, BUFF, KELP, OAT, RUST, SMALL, SetUp

TODAY = date(2026, 11, 12)
_TUMBLERS = 16
_BIG_LEVELS = (("top", 450.0), ("middle", 230.0), ("bottom", 0.0))
_SMALL_LEVELS = (("upper", 170.0), ("lower", 0.0))


def plan_next_kiln(session: Session, set_up: SetUp) -> None:
    """Tell the shelves of both kilns, glaze sixteen tumblers, and plan the two loads."""
    _enter_shelves(session, set_up)
    _glaze_tumblers(session, set_up)
    bisque = begin_load(
        session,
        LoadDraft(
            kiln_id=set_up.kilns[BIG],
            program_id=set_up.programs["bisque"],
            planned_on=TODAY + timedelta(days=3),
            notes="Not before the soup bowls are dry: there is room for all of them.",
        ),
        TODAY,
    )
    raw = read_waiting(session, "bisque")
    _fill(session, bisque, [ware.piece_id for group in raw for ware in group.pieces])
    glaze = begin_load(
        session,
        LoadDraft(
            kiln_id=set_up.kilns[BIG],
            program_id=set_up.programs["seven"],
            planned_on=TODAY + timedelta(days=6),
            notes="For the satin Oat. The jars wait for a cone 6.",
        ),
        TODAY,
    )
    glazed = read_waiting(session, "glaze")
    _fill(
        session,
        glaze,
        [
            ware.piece_id
            for group in glazed
            for ware in group.pieces
            if "jar" not in group.name.casefold()
        ],
    )


def _enter_shelves(session: Session, set_up: SetUp) -> None:
    change_kiln(
        session,
        set_up.kilns[BIG],
        shelf_shape="rectangle",
        shelf_deep_mm=520,
        shelf_thick_mm=20,
        chamber_height_mm=660,
        posts_mm="50 75 100 125 150",
        shelves=5,
        half_shelves=2,
        probe_x=0.5,
        probe_y=0.0,
        probe_clear_mm=45,
        worth_percent=80,
    )
    change_kiln(
        session,
        set_up.kilns[SMALL],
        shelf_shape="rectangle",
        shelf_deep_mm=250,
        shelf_thick_mm=15,
        chamber_height_mm=350,
        posts_mm="50 100 125",
        shelves=2,
        probe_x=0.0,
        probe_y=0.5,
        probe_clear_mm=30,
        worth_percent=60,
    )
    for kiln, levels in ((BIG, _BIG_LEVELS), (SMALL, _SMALL_LEVELS)):
        for name, height in levels:
            set_level_height(session, set_up.levels[kiln, name], height)


def _glaze_tumblers(session: Session, set_up: SetUp) -> None:
    """Run 66: tumblers for the shelf, Rust Shore over Kelp below, Oat inside, glazed yesterday."""
    form, clay = set_up.forms["ripple_tumbler"], set_up.clays[BUFF]
    made_on = date(2026, 10, 14)
    run = log_run(
        session,
        RunDraft(
            made_on=made_on,
            form_id=form,
            clay_id=clay,
            title="Tumblers, rust over kelp",
            purpose="stock",
            notes="As dark as the first ones, if they do not run.",
        ),
    )
    layers = (
        LayerDraft(zone="outside", glaze_id=set_up.glazes[KELP], method="dip", seconds=4),
        LayerDraft(zone="outside", glaze_id=set_up.glazes[RUST], method="dip", seconds=3),
        LayerDraft(zone="inside", glaze_id=set_up.glazes[OAT], method="pour", seconds=2),
    )
    stages = (
        ("wet", datetime(2026, 10, 14, 11)),
        ("leather_hard", datetime(2026, 10, 15, 9)),
        ("bone_dry", datetime(2026, 10, 21, 9)),
        ("bisque", datetime(2026, 11, 6, 16)),
        ("glazed", datetime(2026, 11, 11, 15)),
    )
    for _ in range(_TUMBLERS):
        log_piece(
            session,
            PieceDraft(
                numbered=False,
                run_id=run,
                form_id=form,
                clay_id=clay,
                made_on=made_on,
                stage="glazed",
                stages=stages,
                layers=layers,
            ),
        )


def _fill(session: Session, load_id: int, piece_ids: list[int]) -> None:
    """Put pieces into a load and keep the packer's first answer."""
    add_pieces(session, load_id, piece_ids)
    page = read_load_page(session, load_id, TODAY)
    assert page is not None
    wares = tuple(page.plan.wares.values())
    plan = pack(wares, page.plan.kiln, packing_rules(session), effort=QUICK)
    keep_plan(session, load_id, plan.shelves)
