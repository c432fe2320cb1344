"""A desk over a small studio: two tumblers, a firing, a few glazes, and the pieces' screen."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.notices import Notice
from studiolog.desktop.settings import Settings
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import GlazeDraft, add_bucket, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import Journal
from studiolog.journal.piece_page import PiecePage, read_piece_page
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    SizeDraft,
    log_piece,
)
from studiolog.journal.profiles import Profile
from studiolog.journal.session import Session
from studiolog.ui.pieces.screen import PiecesScreen


@dataclass
class PieceStudio:
    """Ids of what stands ready, what the desk has said, and what it was asked to show."""

    journal: Journal
    desk: Desk
    ids: dict[str, int]
    said: list[Notice]
    asked: list[tuple[str, int, object]]

    def page(self, name: str = "cup") -> PiecePage:
        piece_id = self.ids[name]
        return self.journal.read(lambda session: read_piece_page(session, piece_id))


def enter(session: Session) -> dict[str, int]:
    ids = {
        "buff": add_clay(session, ClayDraft(name="Buff stoneware", shrinkage_percent=12.5)),
        "red": add_clay(session, ClayDraft(name="Iron-red stoneware", colour="#7A3F2E")),
        "kelp": add_glaze(session, GlazeDraft(name="Kelp", colour="#48654C")),
        "chalk": add_glaze(session, GlazeDraft(name="Chalk", colour="#F2EEE2")),
        "oat": add_glaze(session, GlazeDraft(name="Oat", colour="#DDC491")),
    }
    ids["bucket"] = add_bucket(session, ids["oat"], date(2026, 9, 1), specific_gravity=1.44)
    wall = Profile(
        ((28.0, 0.0), (31.0, 8.0), (35.0, 50.0), (41.0, 103.0)),
        ((0.0, 7.0), (27.0, 7.0), (31.2, 50.0), (37.0, 103.0)),
    )
    ids["form"] = add_form(
        session, FormDraft(name="Ripple tumbler", fired_height_mm=103, profile=wall)
    )
    kiln = add_kiln(session, KilnDraft(name="Big kiln"))
    levels = [level.level_id for level in list_kilns(session)[0].levels]
    ids["top"], ids["middle"], ids["bottom"] = levels
    cones = (ConeDraft(cone="6", bend_low_deg=64, bend_high_deg=72),)
    ids["firing"] = log_firing(
        session,
        FiringDraft(
            kiln_id=kiln,
            started_at=datetime(2026, 10, 2, 7),
            number=87,
            cone="6",
            packs=(PackDraft(level_id=ids["bottom"], cones=cones),),
        ),
    )
    ids["cup"] = log_piece(
        session,
        PieceDraft(
            number=412,
            form_id=ids["form"],
            clay_id=ids["buff"],
            made_on=date(2026, 9, 11),
            stage="fired",
            stages=(("wet", datetime(2026, 9, 11, 10)), ("fired", datetime(2026, 10, 4, 9))),
            sizes=(
                SizeDraft(stage="wet", height_mm=118, across_mm=94),
                SizeDraft(stage="fired", height_mm=103, across_mm=82),
            ),
            layers=(
                LayerDraft(zone="outside", glaze_id=ids["kelp"], method="dip", seconds=4),
                LayerDraft(zone="outside", glaze_id=ids["chalk"], method="dip", seconds=3),
            ),
            placements=(PlacementDraft(firing_id=ids["firing"], level_id=ids["bottom"]),),
            inspections=(
                InspectionDraft(
                    looked_on=date(2026, 10, 4),
                    faults=(FaultDraft("crazing", 0), FaultDraft("running", 1, "foot")),
                ),
            ),
        ),
    )
    ids["bare"] = log_piece(session, PieceDraft(number=414))
    ids["red cup"] = log_piece(
        session, PieceDraft(number=413, form_id=ids["form"], clay_id=ids["red"], stage="bisque")
    )
    return ids


@pytest.fixture(scope="session")
def dressed(qapp: QApplication) -> theme.Theme:
    """The theme, put on once: dressing takes longer than most of these tests."""
    theme.current().apply(qapp)
    return theme.current()


@pytest.fixture
def studio(journal: Journal, dressed: theme.Theme, tmp_path: Path) -> Iterator[PieceStudio]:
    settings = Settings(QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat))
    desk = Desk(journal, settings, dressed, tmp_path / "state")
    said: list[Notice] = []
    asked: list[tuple[str, int, object]] = []
    desk.notices.said.connect(said.append)
    desk.asked_for.connect(lambda kind, row_id, more: asked.append((kind, row_id, more)))
    yield PieceStudio(journal, desk, journal.edit("Enter", enter).value, said, asked)
    desk.jobs.wait()


@pytest.fixture
def screen(studio: PieceStudio, qtbot) -> PiecesScreen:
    made = PiecesScreen(studio.desk)
    qtbot.addWidget(made)
    made.resize(1440, 816)
    made.show()
    qtbot.waitExposed(made)
    made.show_thing(studio.ids["cup"])
    return made
