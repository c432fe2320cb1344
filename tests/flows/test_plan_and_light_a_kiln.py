"""From ware that waits to a lit kiln: planned, packed, lit, and found on the page of the firing."""

from collections.abc import Iterator
from datetime import date, timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.load_page import LoadPage
from studiolog.journal.loads import delete_load
from studiolog.journal.session import Session
from studiolog.ui.firings.screen import FiringsScreen
from studiolog.ui.frame.window import Window
from studiolog.ui.loads.begin_sheet import BeginSheet
from studiolog.ui.loads.light_sheet import LightSheet
from studiolog.ui.loads.screen import LoadsScreen
from tests.planned_loads import page_of, plan_loads
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def window(desk: Desk, qtbot: QtBot) -> Iterator[Window]:
    made = Window(desk)
    qtbot.addWidget(made)
    made.resize(1440, 900)
    made.show()
    yield made
    desk.jobs.wait()


def let_ware_wait(desk: Desk) -> SmallStudio:
    """Six raw bowls and eight glazed tumblers, in no load."""
    studio = fill_studio(desk.journal)

    def enter(session: Session) -> None:
        made = plan_loads(session, studio, packed=False, today=date.today() - timedelta(days=1))
        delete_load(session, made.bisque)
        delete_load(session, made.glaze)

    desk.edits.run("Enter", enter)
    return studio


def test_ware_that_waits_becomes_a_firing_that_knows_what_stood_where(
    window: Window, desk: Desk, qtbot: QtBot
) -> None:
    studio = let_ware_wait(desk)
    desk.show("firings")
    firings = window.screen_of("firings")
    screen = window.screen_of("loads")
    assert isinstance(screen, LoadsScreen)
    assert isinstance(firings, FiringsScreen)
    qtbot.keyClick(firings.table.table, Qt.Key.Key_2)
    assert window.stack.currentWidget() is screen
    desk.show("loads", 0, ("new", studio.kiln))
    begin = next(one for one in window.findChildren(QDialog) if isinstance(one, BeginSheet))
    begin.program.choose(studio.glaze_six)
    begin.cone.set_text("6")
    begin.keep()
    view = screen.view
    qtbot.waitUntil(lambda: view.page is not None)
    assert view.page is not None
    load_id = view.page.load_id
    (group,) = view.page.waiting
    view.waiting.put_in.emit(tuple(ware.piece_id for ware in group.pieces), group.name)
    qtbot.waitUntil(lambda: not view.packing.is_packing(), timeout=60_000)
    page = plan_of(desk, load_id)
    assert (page.placed, page.unplaced) == (8, ())
    assert page.waiting == ()
    screen.light()
    light = next(one for one in window.findChildren(QDialog) if isinstance(one, LightSheet))
    light.title_field.set_text("For the Quay café")
    light.keep()
    page = plan_of(desk, load_id)
    assert page.firing is not None
    # The firing's page stands there, with every piece on its shelf.
    firings = window.screen_of("firings")
    assert isinstance(firings, FiringsScreen)
    found = desk.read(lambda session: read_firing_page(session, page.firing[0]))
    assert found is not None
    assert (found.title, found.cone, found.program_id) == (
        "For the Quay café", "6", studio.glaze_six,
    )  # fmt: skip
    stood = {piece.piece_id: level.level_id for level in found.levels for piece in level.pieces}
    planned = {place.key: shelf.level_id for shelf in page.plan.shelves for place in shelf.places}
    assert stood == planned
    told = " ".join(shelf.sentence() for shelf in firings.view.load._shelves.values())
    assert "drawn over each other" not in told
    assert "without a recorded place" not in told
    # Undone, they wait in the load again; taken back once more, the load is not packed.
    desk.edits.undo()
    again = plan_of(desk, load_id)
    assert again.firing is None
    assert again.placed == 8


def plan_of(desk: Desk, load_id: int) -> LoadPage:
    return desk.read(lambda session: page_of(session, load_id, date.today()))
