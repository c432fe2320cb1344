"""A load is begun: for which kiln, what kind of firing, with which program, to which cone."""

from __future__ import annotations

from datetime import date
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from studiolog.craft.firing.cones import show_cone
from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.journal.kilns import list_kilns
from studiolog.journal.loads import LoadDraft, begin_load
from studiolog.journal.programs import list_programs
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import DayField, LineField
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.text import Caption


class BeginSheet(KeepSheet):
    """``begun`` carries the id of the new load."""

    begun = Signal(int)

    def __init__(
        self,
        desk: Desk,
        today: date,
        kiln_id: int = 0,
        kind: str = "glaze",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("Plan a load", "Begin it", parent)
        self._desk, self._today = desk, today
        kilns = desk.read(list_kilns)
        self._programs = {line.program_id: line for line in desk.read(list_programs)}
        self.kiln = PickOne("Kiln", [Choice(line.kiln_id, line.name) for line in kilns])
        self.kind = PickOne(
            "Kind of firing", [Choice(key, word) for key, word in FIRING_KINDS.items()]
        )
        self.program = PickOne("Program", hint="None yet")
        self.cone = LineField("Cone", hint="6, 04")
        self.air = PickOne("Atmosphere", [Choice(key, word) for key, word in ATMOSPHERES.items()])
        self.day = DayField("Planned for", None, "future", lambda: today)
        self.kiln.choose(kiln_id or (kilns[0].kiln_id if kilns else None))
        self.kind.choose(kind)
        self.air.choose("oxidation")
        grid = QGridLayout()
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
        self.body.addLayout(grid)
        self.body.addWidget(
            Caption("All of it can be changed while the load is planned.", wrap=True)
        )
        self.body.addStretch(1)
        self.kind.picked.connect(lambda _kind: self._offer_programs())
        self.program.picked.connect(self._take_program)
        self._offer_programs()
        self.take_size(560, 360)
        self.kind.setFocus()

    def _offer_programs(self) -> None:
        kind = self.kind.chosen()
        fitting = [line for line in self._programs.values() if line.kind == kind]
        self.program.set_choices([Choice(line.program_id, line.name) for line in fitting])

    def _take_program(self, program_id: object) -> None:
        line = self._programs.get(program_id) if isinstance(program_id, int) else None
        if line is not None and line.cone:
            self.cone.set_text(show_cone(line.cone))

    def keep(self) -> None:
        """Begin the load."""
        kiln, program = self.kiln.chosen(), self.program.chosen()
        try:
            if not isinstance(kiln, int):
                raise UserProblem("Choose the kiln it is for; a kiln is entered on its own page.")
            draft = LoadDraft(
                kiln_id=kiln,
                kind=str(self.kind.chosen() or "glaze"),
                cone=self.cone.text(),
                atmosphere=str(self.air.chosen() or "oxidation"),
                program_id=program if isinstance(program, int) else None,
                planned_on=self.day.day(),
            )
            load_id = self._desk.edits.run(
                f"Plan a load for {self.kiln.currentText()}", partial(_begin, draft, self._today)
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.accept()
        self.begun.emit(load_id)


def _begin(draft: LoadDraft, today: date, session: Session) -> int:
    return begin_load(session, draft, today)
