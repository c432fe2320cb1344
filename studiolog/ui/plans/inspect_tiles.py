"""Looking at the fired tiles one after the other: faults and surface words, typed as one walks.

*Save and next* keeps what was said of a tile and goes on to the next; each tile is a step that
undo takes back.
"""

from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QWidget

from studiolog.craft.words import FAULTS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.inspections import FaultDraft, InspectionDraft, log_inspection
from studiolog.journal.plan_page import PlanTileLine
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import DayField, LineField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Section, link_button, primary_button
from studiolog.ui.parts.severity import SeverityPicker
from studiolog.ui.parts.surface_words import SurfaceWords
from studiolog.ui.parts.text import Caption, Text


class _FaultRow(QWidget):
    """One fault: its sign, its name and how much was seen of it."""

    def __init__(self, fault: str) -> None:
        super().__init__()
        words = FAULTS[fault].capitalize()
        self.fault = fault
        self.picker = SeverityPicker(words)
        name = Text(words, "secondary", 500)
        name.setMinimumWidth(theme.current().px(116))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        row.addWidget(IconLabel(fault, "ink", 16))
        row.addWidget(name)
        row.addWidget(self.picker)


class InspectTiles(Section):
    """``saved`` tells that a tile was looked at: show the next. ``ended`` that it is over."""

    saved = Signal()
    ended = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Inspect", parent=parent)
        self._desk = desk
        self._tile: PlanTileLine | None = None
        self.day = DayField("Looked on")
        self.stress = QCheckBox("Stress tested")
        self.stress.setToolTip("Hot and cold water, freezer or oven: crazing was provoked")
        self.rows = [_FaultRow(fault) for fault in FAULTS]
        self.surface = SurfaceWords(compact=True)
        self.note = LineField("Note", hint="drips stop 3 mm above the foot")
        self.all_none = link_button("Looked for all, none seen")
        self.all_none.setToolTip("Ctrl D")
        self.problem = ProblemLine()
        self.save_button = primary_button("Save and next tile")
        self.save_button.setToolTip("Ctrl Enter")
        self.skip_button = QPushButton("Next tile")
        self.skip_button.setAccessibleName("Next tile without saving")
        self.end_button = QPushButton("End")
        self.end_button.setAccessibleName("End inspecting")
        top = FlowLayout(spacing=16, line_spacing=8)
        top.addWidget(self.day)
        top.addWidget(self.stress)
        top.addWidget(self.all_none)
        faults = FlowLayout(spacing=20, line_spacing=0)
        for row in self.rows:
            faults.addWidget(row)
        foot = FlowLayout(spacing=8, line_spacing=8)
        for button in (self.save_button, self.skip_button, self.end_button):
            foot.addWidget(button)
        self.add(top)
        self.add(Caption("0 none seen to 3 severe, − not looked", wrap=True))
        self.add(faults)
        self.add(self.surface)
        self.add(self.note)
        self.add(self.problem)
        self.add(foot)
        self.all_none.clicked.connect(self.look_for_all)
        self.save_button.clicked.connect(self.keep)
        self.skip_button.clicked.connect(self.saved)
        self.end_button.clicked.connect(self.ended)

    def begin(self) -> None:
        """Start on a day: today."""
        self.day.set_day(date.today())
        self.stress.setChecked(False)
        self.problem.say("")
        self.show()

    def show_tile(self, tile: PlanTileLine, place: int, count: int) -> None:
        """Ask about a tile, the ``place``-th of ``count`` that are fired."""
        if self._tile is not None and self._tile.tile_id == tile.tile_id:
            self._tile = tile
            return
        self._tile = tile
        self.set_title(f"Inspect {tile.code}")
        self.set_quiet(f"{place} of {count} fired")
        self.problem.say("")
        self.note.set_text("")
        self.surface.show_words(())
        for row in self.rows:
            row.picker.set_severity(None)
        self.rows[0].picker.setFocus(Qt.FocusReason.OtherFocusReason)

    def look_for_all(self) -> None:
        """Every fault not said yet: looked for, none seen."""
        for row in self.rows:
            if row.picker.severity() is None:
                row.picker.set_severity(0)

    def draft(self) -> InspectionDraft:
        """What was said of the tile. Raises UserProblem."""
        day = self.day.day()
        if day is None or day > date.today():
            sentence = "Say on which day you looked: today or a day before."
            self.day.set_problem(sentence)
            raise UserProblem(sentence)
        faults = [
            FaultDraft(row.fault, severity)
            for row in self.rows
            if (severity := row.picker.severity()) is not None
        ]
        draft = InspectionDraft(
            looked_on=day, faults=tuple(faults), surfaces=self.surface.words(),
            stress_tested=self.stress.isChecked(), note=self.note.text(),
        )  # fmt: skip
        if not (draft.faults or draft.surfaces or draft.note):
            raise UserProblem("Say what you saw: a fault looked for, a word for the surface, or "
                              "a note.")  # fmt: skip
        return draft

    def keep(self) -> None:
        """Write the inspection and go on; what is wrong is said beneath."""
        tile = self._tile
        if tile is None or tile.piece_id is None:
            return
        try:
            draft = self.draft()
            self._desk.edits.run(
                f"Inspect {tile.code}",
                partial(log_inspection, piece_id=tile.piece_id, draft=draft),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        self.problem.say("")
        self.saved.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if control and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.keep()
        elif control and event.key() == Qt.Key.Key_D:
            self.look_for_all()
        elif event.key() == Qt.Key.Key_Escape:
            self.ended.emit()
        else:
            super().keyPressEvent(event)
