"""A small studio with a pattern to find: Kelp over Chalk runs, Chalk over Kelp hardly."""

from dataclasses import dataclass
from datetime import date, datetime

import pytest

from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from studiolog.journal.session import Session


@dataclass(frozen=True)
class Studio:
    buff: int
    red: int
    kelp: int
    chalk: int
    firing: int
    level: int


@pytest.fixture
def studio(journal: Journal) -> Studio:
    def enter(session: Session) -> Studio:
        add_kiln(session, KilnDraft(name="Big kiln"))
        level = list_kilns(session)[0].levels[2].level_id
        cones = (
            ConeDraft(cone="6", bend_low_deg=88, bend_high_deg=92),
            ConeDraft(cone="7", bend_low_deg=0, bend_high_deg=4),
        )
        return Studio(
            add_clay(session, ClayDraft(name="Buff stoneware", colour="#C6A67C")),
            add_clay(session, ClayDraft(name="Iron-red stoneware", colour="#7A3F2E")),
            add_glaze(session, GlazeDraft(name="Kelp", colour="#48654C")),
            add_glaze(session, GlazeDraft(name="Chalk", colour="#F2EEE2")),
            log_firing(
                session,
                FiringDraft(
                    kiln_id=1,
                    started_at=datetime(2026, 9, 1, 7),
                    cone="6",
                    packs=(PackDraft(level_id=level, cones=cones),),
                ),
            ),
            level,
        )

    return journal.edit("Set up", enter).value


def log_tumblers(
    journal: Journal, studio: Studio, laid: tuple[int, ...], clay: int, *severities: int | None
) -> list[int]:
    """One tumbler for each severity of running; None was not looked at."""

    def enter(session: Session) -> list[int]:
        return [
            log_piece(
                session,
                PieceDraft(
                    clay_id=clay,
                    stage="fired",
                    layers=tuple(
                        LayerDraft(zone="outside", glaze_id=glaze, method="dip", seconds=3)
                        for glaze in laid
                    ),
                    placements=(PlacementDraft(firing_id=studio.firing, level_id=studio.level),),
                    inspections=(
                        InspectionDraft(
                            looked_on=date(2026, 9, 3), faults=(FaultDraft("running", severity),)
                        ),
                    )
                    if severity is not None
                    else (),
                ),
            )
            for severity in severities
        ]

    return journal.edit("Log tumblers", enter).value


@pytest.fixture
def worked(journal: Journal, studio: Studio) -> Studio:
    """The studio after a season."""
    kelp_on_top, chalk_on_top = (studio.chalk, studio.kelp), (studio.kelp, studio.chalk)
    log_tumblers(journal, studio, kelp_on_top, studio.buff, 3, 2, 2, 1, 1, 1, 0, None)
    log_tumblers(journal, studio, chalk_on_top, studio.buff, 1, 0, 0, 0, 0, 0, 0, 0)
    log_tumblers(journal, studio, chalk_on_top, studio.red, 0, 0)
    log_tumblers(journal, studio, (studio.kelp,), studio.red, None)
    return studio
