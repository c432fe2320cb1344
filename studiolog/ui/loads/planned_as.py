"""What a load is planned as: kiln, kind, program, cone, atmosphere, day; and its shelves."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.journal.kilns import list_kilns
from studiolog.journal.load_page import LoadPage
from studiolog.journal.programs import list_programs
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import DayField, LineField
from studiolog.ui.parts.keep_sheet import labelled

_NONE = 0


class PlannedAs(QWidget):
    """``changed`` carries the field of the load and its new value."""

    changed = Signal(str, object)

    def __init__(self, desk: Desk, today: Callable[[], date]) -> None:
        super().__init__()
        self._desk = desk
        self.kiln = PickOne("Kiln of the load")
        self.kind = PickOne("Kind of the load's firing")
        self.program = PickOne("Program of the load", hint="None yet")
        self.air = PickOne("Atmosphere of the load")
        self.cone = LineField("Cone", hint="6, 04")
        self.cone.line.setAccessibleName("Cone of the load")
        self.day = DayField("Planned for", None, "future", today)
        self.day.line.setAccessibleName("Day the load is planned for")
        self.kind.set_choices([Choice(key, word) for key, word in FIRING_KINDS.items()])
        self.air.set_choices([Choice(key, word) for key, word in ATMOSPHERES.items()])
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(12)
        grid.addLayout(labelled("Kiln", self.kiln), 0, 0)
        grid.addLayout(labelled("Kind of firing", self.kind), 0, 1)
        grid.addLayout(labelled("Program", self.program), 1, 0)
        grid.addWidget(self.cone, 1, 1)
        grid.addLayout(labelled("Atmosphere", self.air), 2, 0)
        grid.addWidget(self.day, 2, 1)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        self.kiln.picked.connect(lambda ident: self.changed.emit("kiln_id", ident))
        self.kind.picked.connect(lambda key: self.changed.emit("kind", key))
        self.air.picked.connect(lambda key: self.changed.emit("atmosphere", key))
        self.program.picked.connect(
            lambda ident: self.changed.emit("program_id", ident if ident != _NONE else None)
        )
        self.cone.edited.connect(lambda text: self.changed.emit("cone", text))
        self.day.day_changed.connect(lambda day: self.changed.emit("planned_on", day))

    def show_page(self, page: LoadPage) -> None:
        """Show what the load is planned as."""
        kilns = self._desk.read(list_kilns)
        choices = [Choice(line.kiln_id, line.name) for line in kilns]
        if page.kiln_id not in {line.kiln_id for line in kilns}:
            choices.append(Choice(page.kiln_id, page.kiln))
        self.kiln.set_choices(choices)
        programs = [line for line in self._desk.read(list_programs) if line.kind == page.kind]
        offered = [Choice(_NONE, "None yet")]
        offered += [Choice(line.program_id, line.name) for line in programs]
        if page.program_id and page.program_id not in {line.program_id for line in programs}:
            offered.append(Choice(page.program_id, page.program))
        self.program.set_choices(offered)
        self.kiln.choose(page.kiln_id)
        self.kind.choose(page.kind)
        self.program.choose(page.program_id or _NONE)
        self.air.choose(page.atmosphere)
        if not (self.cone.line.hasFocus() and self.cone.line.isModified()):
            self.cone.set_text(show_cone(page.cone) if page.cone else "")
        if not (self.day.line.hasFocus() and self.day.line.isModified()):
            self.day.set_day(page.planned_on)

    def set_problem(self, key: str, sentence: str) -> bool:
        """Say a problem at its field; False if it has none."""
        field = {"cone": self.cone, "planned_on": self.day}.get(key)
        if field is None:
            return False
        field.set_problem(sentence)
        return True
