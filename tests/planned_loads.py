"""A kiln with shelves of its own, ware that waits for it, and two loads, for the tests of loads."""

import sqlite3
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.ware.packing import QUICK, pack
from studiolog.journal.kiln_shelves import set_level_height
from studiolog.journal.kilns import change_kiln
from studiolog.journal.load_page import LoadPage, read_load_page
from studiolog.journal.load_pieces import add_to_load
from studiolog.journal.load_places import keep_plan
from studiolog.journal.load_plan import packing_rules
from studiolog.journal.loads import LoadDraft, begin_load
from studiolog.journal.opening import Journal
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.pieces import LayerDraft, RunDraft, log_run, set_layers
from studiolog.records.orders import OrderLine
from studiolog.records.pieces import Piece
from tests.small_studio import SmallStudio, fill_studio

TODAY = date(2026, 11, 12)


@dataclass(frozen=True)
class PlannedLoads:
    """Ids: runs of raw bowls and of glazed tumblers, the order of the tumblers, two loads."""

    bowls: int
    tumblers: int
    order: int
    bisque: int
    glaze: int


def give_shelves(session: Session, studio: SmallStudio) -> None:
    """Round shelves of 450 mm in a chamber of 600 mm, posts, and a thermocouple at the back."""
    change_kiln(
        session,
        studio.kiln,
        shelf_shape="round",
        shelf_across_mm=450,
        shelf_thick_mm=18,
        chamber_height_mm=600,
        posts_mm="50, 100 and 150 mm",
        shelves=4,
        probe_x=0.5,
        probe_y=0.0,
        probe_clear_mm=40,
    )
    for level_id, height in zip(studio.levels, (400, 200, 0), strict=True):
        set_level_height(session, level_id, height)


def plan_loads(
    session: Session, studio: SmallStudio, *, packed: bool = True, today: date = TODAY
) -> PlannedLoads:
    """Six raw bowls and eight glazed tumblers, each in a load of its own; that of glaze packed."""
    give_shelves(session, studio)
    order = add_order(
        session,
        OrderDraft(
            whom="Quay café",
            promised_on=today + timedelta(days=20),
            lines=(OrderLineDraft(form_id=studio.tumbler, wanted=8),),
        ),
    )
    line = session.scalar(select(OrderLine.id).where(OrderLine.order_id == order))
    bowls = log_run(
        session,
        RunDraft(
            made_on=today - timedelta(days=12), form_id=studio.bowl, clay_id=studio.buff,
            how_many=6, stage="bone_dry",
        ),
    )  # fmt: skip
    tumblers = log_run(
        session,
        RunDraft(
            made_on=today - timedelta(days=20), form_id=studio.tumbler, clay_id=studio.buff,
            how_many=8, stage="glazed", order_line_id=line,
        ),
    )  # fmt: skip
    for piece_id in session.scalars(select(Piece.id).where(Piece.run_id == tumblers)).all():
        set_layers(
            session,
            piece_id,
            (
                LayerDraft(zone="outside", glaze_id=studio.kelp, method="dip"),
                LayerDraft(zone="outside", glaze_id=studio.chalk, method="dip"),
            ),
        )
    bisque = begin_load(session, LoadDraft(kiln_id=studio.kiln, kind="bisque", cone="04"), today)
    glaze = begin_load(
        session,
        LoadDraft(
            kiln_id=studio.kiln, program_id=studio.glaze_six, planned_on=today + timedelta(days=3)
        ),
        today,
    )
    add_to_load(session, bisque, bowls, None, 6)
    add_to_load(session, glaze, tumblers, "glazed", 8)
    if packed:
        pack_now(session, glaze, today)
    return PlannedLoads(bowls, tumblers, order, bisque, glaze)


def pack_now(session: Session, load_id: int, today: date = TODAY) -> None:
    """Pack a load as the first answer has it, and keep it."""
    page = read_load_page(session, load_id, today)
    assert page is not None
    wares = tuple(page.plan.wares.values())
    plan = pack(wares, page.plan.kiln, packing_rules(session), effort=QUICK)
    keep_plan(session, load_id, plan.shelves)


def page_of(session: Session, load_id: int, today: date = TODAY) -> LoadPage:
    """The page of a load that is there."""
    page = read_load_page(session, load_id, today)
    assert page is not None
    return page


_filled: list[tuple[sqlite3.Connection, SmallStudio, PlannedLoads]] = []


def fill_loads(journal: Journal) -> tuple[SmallStudio, PlannedLoads]:
    """The small studio with its loads. They are packed once; later tests get a copy."""
    if not _filled:
        studio = fill_studio(journal)
        made = journal.edit("Plan loads", lambda session: plan_loads(session, studio)).value
        kept = sqlite3.connect(":memory:", check_same_thread=False)
        with closing(journal.engine.raw_connection()) as pooled:
            stored = pooled.driver_connection
            assert isinstance(stored, sqlite3.Connection)
            stored.backup(kept)
        _filled.append((kept, studio, made))
        return studio, made
    kept, studio, made = _filled[0]
    with closing(journal.engine.raw_connection()) as pooled:
        stored = pooled.driver_connection
        assert isinstance(stored, sqlite3.Connection)
        kept.backup(stored)
    return replace(studio, journal=journal), made


def crowd_loads(session: Session, kiln: int, form: int, clay: int, glaze: int) -> int:
    """A load with more than it needs: ware on shelves, ware without a place, ware that waits."""
    change_kiln(
        session,
        kiln,
        shelf_shape="octagon",
        shelf_across_mm=520,
        chamber_height_mm=690,
        posts_mm="50 75 100 125 150 200",
        shelves=3,
    )
    run = log_run(
        session,
        RunDraft(made_on=TODAY, form_id=form, clay_id=clay, how_many=30, stage="glazed"),
    )
    for piece_id in session.scalars(select(Piece.id).where(Piece.run_id == run)).all():
        set_layers(session, piece_id, (LayerDraft(zone="outside", glaze_id=glaze, method="dip"),))
    load = begin_load(
        session,
        LoadDraft(kiln_id=kiln, kind="glaze", cone="8", planned_on=TODAY, notes="Prop it. " * 20),
        TODAY,
    )
    add_to_load(session, load, run, "glazed", 14)
    pack_now(session, load)
    add_to_load(session, load, run, "glazed", 6)
    return load
