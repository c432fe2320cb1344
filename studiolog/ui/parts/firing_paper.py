"""The firing sheet of a program or of a firing, looked at before it is printed."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.planned_firing import (
    PlannedFiring,
    read_planned_firing,
    read_planned_program,
)
from studiolog.journal.program_kilns import list_kilns_of_program
from studiolog.paper.firing_sheet import lay_out_firing_sheet
from studiolog.paper.page import Page, PageSize
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.paper_sheet import PaperSheet

_NO_KILN = 0
_TITLE = "Firing sheet"


def open_sheet_of_firing(desk: Desk, firing_id: int, parent: QWidget) -> PaperSheet:
    """Show the sheet of a firing that is logged, before it is fired or while it is."""

    def make(size: PageSize) -> Page:
        planned = desk.read(partial(read_planned_firing, firing_id=firing_id))
        return lay_out_firing_sheet(planned, size, desk.settings.temperature_unit)

    return _open(PaperSheet(desk, _TITLE, make, parent=parent))


def open_sheet_of_program(desk: Desk, program_id: int, parent: QWidget) -> PaperSheet:
    """Show the sheet of a program, for the kiln that is chosen: at first that it was fired in."""
    kilns = desk.read(partial(list_kilns_of_program, program_id=program_id))
    choices = [Choice(ident, name) for ident, name in kilns]
    kiln = PickOne("Kiln", [*choices, Choice(_NO_KILN, "No kiln")])
    kiln.setMinimumContentsLength(14)
    kiln.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    kiln.choose(kilns[0][0] if kilns else _NO_KILN)

    def read() -> PlannedFiring:
        chosen = kiln.chosen()
        kiln_id = chosen if isinstance(chosen, int) and chosen != _NO_KILN else None
        return desk.read(partial(read_planned_program, program_id=program_id, kiln_id=kiln_id))

    def make(size: PageSize) -> Page:
        return lay_out_firing_sheet(read(), size, desk.settings.temperature_unit)

    sheet = PaperSheet(desk, _TITLE, make, (kiln,), parent)
    kiln.picked.connect(lambda _kiln: sheet.refresh())
    return _open(sheet)


def on_print(page: QWidget, act: Callable[[], object]) -> None:
    """Let the usual keys for printing do it, wherever the keyboard is on a page."""
    shortcut = QShortcut(QKeySequence(QKeySequence.StandardKey.Print), page)
    shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    shortcut.activated.connect(act)


def _open(sheet: PaperSheet) -> PaperSheet:
    sheet.finished.connect(sheet.deleteLater)
    sheet.open()
    return sheet
