"""A small studio: two clays, three glazes, a kiln with three levels, one glaze firing."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from studiolog.records import Record
from studiolog.records.history import HISTORY_TABLES

Snapshot = dict[str, list[tuple[object, ...]]]


@dataclass(frozen=True)
class Studio:
    """Ids of what stands ready."""

    journal: Journal
    buff: int
    red: int
    kelp: int
    chalk: int
    oat: int
    tumbler: int
    kiln: int
    top: int
    middle: int
    bottom: int
    firing: int


def enter_studio(journal: Journal) -> Studio:
    def enter(session: Session) -> Studio:
        kiln = add_kiln(session, KilnDraft(name="Big kiln", power_kw=8))
        levels = [level.level_id for level in list_kilns(session)[0].levels]
        firing = log_firing(
            session,
            FiringDraft(
                kiln_id=kiln,
                started_at=datetime(2026, 10, 2, 7, 10),
                cone="6",
                packs=(
                    PackDraft(
                        level_id=levels[2],
                        cones=(
                            ConeDraft(cone="5", bend_low_deg=88, bend_high_deg=96),
                            ConeDraft(cone="6", bend_low_deg=40, bend_high_deg=48),
                        ),
                    ),
                ),
            ),
        )
        return Studio(
            journal,
            add_clay(session, ClayDraft(name="Buff stoneware", colour="#C6A67C")),
            add_clay(session, ClayDraft(name="Iron-red stoneware", colour="#7A3F2E")),
            add_glaze(session, GlazeDraft(name="Kelp", colour="#48654C")),
            add_glaze(session, GlazeDraft(name="Chalk", colour="#F2EEE2")),
            add_glaze(session, GlazeDraft(name="Oat", colour="#DDC491")),
            add_form(session, FormDraft(name="Ripple tumbler", clay_g=420)),
            kiln,
            *levels,
            firing,
        )

    return journal.edit("Set up the studio", enter).value


@pytest.fixture
def studio(journal: Journal) -> Studio:
    return enter_studio(journal)


@pytest.fixture
def log_tumbler(studio: Studio) -> Callable[..., int]:
    """Log a tumbler, Chalk over Kelp outside, with what an inspection found."""

    def log(*faults: FaultDraft, clay: int | None = None, level: int | None = None) -> int:
        draft = PieceDraft(
            clay_id=clay or studio.buff,
            form_id=studio.tumbler,
            made_on=date(2026, 9, 11),
            stage="fired",
            layers=(
                LayerDraft(zone="outside", glaze_id=studio.kelp, method="dip", seconds=4),
                LayerDraft(zone="outside", glaze_id=studio.chalk, method="dip", seconds=3),
                LayerDraft(zone="inside", glaze_id=studio.oat, method="pour", seconds=2),
            ),
            placements=(PlacementDraft(firing_id=studio.firing, level_id=level or studio.bottom),),
            inspections=(
                (InspectionDraft(looked_on=date(2026, 10, 4), faults=faults),) if faults else ()
            ),
        )
        done = studio.journal.edit("Log piece", lambda session: log_piece(session, draft))
        return done.value

    return log


def snapshot(journal: Journal, *, with_history: bool = False) -> Snapshot:
    """Every row of every table, facts included."""
    skipped = () if with_history else HISTORY_TABLES

    def take(session: Session) -> Snapshot:
        return {
            table.name: sorted((tuple(row) for row in session.execute(select(table))), key=repr)
            for table in Record.metadata.sorted_tables
            if table not in skipped
        }

    return journal.read(take)
