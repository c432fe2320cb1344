"""What the whole job comes to, however it was done."""

from functools import partial
from pathlib import Path

from studiolog.desktop.desk import Desk
from studiolog.journal.quick_log import open_sheet
from studiolog.ui.findings.screen import FindingsScreen
from studiolog.ui.findings.words import say_cell, title_of_cell
from studiolog.ui.frame.window import Window

LOG = Path(__file__).parents[1] / "transfer" / "logs" / "01_bom_semicolon_comma.csv"


def assert_the_answer(window: Window, desk: Desk) -> None:
    """Chalk over Kelp on the iron-red clay crazed, on the one piece there is; its cone was read."""
    page = desk.read(partial(open_sheet, number=1))
    assert len(page.pictures) == 2
    assert {(f.fault, f.severity) for f in page.draft.faults} == {("crazing", 1)}
    screen = window.screen_of("findings")
    assert window.stack.currentWidget() is screen
    assert isinstance(screen, FindingsScreen)
    found = screen._page
    assert found is not None
    row, column = screen.matrix.current_cell() or (-1, -1)
    assert title_of_cell(found.matrix, row, column) == "Chalk over Kelp on Iron-red stoneware"
    rate = found.matrix.cell(row, column).rate
    assert (rate.events, rate.trials) == (1, 1)
    assert "1 of 1" in say_cell(found.question, found.matrix.cell(row, column))
    (hit,) = found.answer.hits
    told = screen._read_rows([hit.piece_id])[hit.piece_id]
    assert told.cone_basis == "read"
    assert told.cone is not None
    assert 5 < told.cone < 7
