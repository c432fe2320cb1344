"""From a kiln that cools to a firing in the journal: log file, cones, load, and what follows."""

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QSettings
from sqlalchemy import select

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import Settings
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import open_journal
from studiolog.journal.pieces import PieceDraft, log_piece
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.records.facts import piece_fact
from studiolog.transfer.temperature_log import read_temperature_log
from studiolog.ui.firings.firing_sheet import FiringSheet
from studiolog.ui.firings.log_import import LogImport
from studiolog.ui.firings.screen import FiringsScreen

LOG = Path(__file__).parents[1] / "transfer" / "logs" / "01_bom_semicolon_comma.csv"


@pytest.fixture
def desk(tmp_path: Path, qtbot: Any) -> Iterator[Desk]:
    journal = open_journal(tmp_path / "journal")

    def enter(session: Any) -> None:
        add_kiln(session, KilnDraft(name="Big kiln"))
        add_program(
            session,
            ProgramDraft(
                name="Glaze 6",
                cone="6",
                segments=(SegmentDraft(120, 1100), SegmentDraft(60, 1222, 10)),
            ),
        )
        form = add_form(session, FormDraft(name="Ripple tumbler"))
        for number in (411, 412):
            log_piece(
                session,
                PieceDraft(number=number, form_id=form, made_on=date(2025, 5, 1), stage="glazed"),
            )

    journal.edit("Set up", enter)
    store = QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat)
    made = Desk(journal, Settings(store), theme.current(), tmp_path / "state")
    yield made
    made.close()


def cone_of(desk: Desk, piece_id: int) -> tuple[float, float, str]:
    row = desk.read(
        lambda session: session.execute(
            select(piece_fact.c.cone_low, piece_fact.c.cone_high, piece_fact.c.cone_basis).where(
                piece_fact.c.piece_id == piece_id
            )
        ).one()
    )
    return row.cone_low, row.cone_high, row.cone_basis


def test_a_firing_from_the_sheet_to_the_cone_at_a_piece(desk: Desk, qtbot: Any) -> None:
    screen = FiringsScreen(desk)
    qtbot.addWidget(screen)
    screen.resize(1440, 816)
    screen.show()
    assert screen.table.empty.isVisible()

    # The firing is logged while the kiln still cools.
    screen.log_firing()
    (sheet,) = [d for d in screen.findChildren(FiringSheet) if d.isVisible()]
    sheet.program.choose(1)
    sheet.cone.set_text("6")
    sheet.start_day.set_text("2025-06-03")
    sheet.start_time.set_text("08:00")
    sheet.keep()
    page = screen.page
    assert page is not None
    assert (page.number, page.program_name) == (1, "Glaze 6")

    # Two pieces stood at the bottom: all that is known is the aim.
    bottom = desk.read(list_kilns)[0].levels[2].level_id
    load = screen.view.load
    load.level.choose(bottom)
    load.numbers.line.setText("411-412")
    load.put_in.click()
    assert cone_of(desk, 1) == (5.5, 6.5, "aimed")

    # The log comes in: the curve on the page is that of the file, and tells a cone.
    screen.add_log(LOG)
    (dialog,) = [d for d in screen.findChildren(LogImport) if d.isVisible()]
    qtbot.waitUntil(lambda: not desk.jobs.is_running("read a log"), timeout=8000)
    dialog.start_choice.pick("log")
    dialog.keep()
    content = LOG.read_bytes()
    reading = read_temperature_log(content, LOG.name)
    np.testing.assert_allclose(
        screen.view.plot.firing.curve_c, reading.primary.temperature_c, atol=1e-9
    )
    assert screen.page is not None
    assert screen.page.started_at == datetime(2025, 6, 3, 8, 15)
    low, high, basis = cone_of(desk, 1)
    assert basis == "computed"
    # The file comes with its cone: 6.78 on the ordinal scale (expected.json).
    assert low < 6.78 < high

    # The cones are unpacked: what they say goes before what was computed.
    row = screen.view.cones.row(bottom)
    row.say("5", "flat")
    row.say("6", "2 o'clock")
    row.say("7", "standing")
    low, high, basis = cone_of(desk, 1)
    assert basis == "read"
    assert 5.4 < low < high < 6.2
    # Read anew as hotter, the heat of the pieces follows.
    row.say("6", "tip touching")
    hotter_low, _high, _basis = cone_of(desk, 2)
    assert hotter_low > low

    # And all of it can be taken back, step by step.
    while desk.edits.undo_label() != "Set up":
        desk.edits.undo()
    assert screen.page is None
    screen.show_thing(0)
    assert screen.table.empty.isVisible()
    assert cone_of(desk, 1)[2] is None
