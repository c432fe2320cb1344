"""The sheet on which a firing is logged, and its facts are changed later."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time
from functools import partial
from itertools import pairwise
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_list import propose_firing
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.hand_readings import change_watched_firing
from studiolog.journal.kilns import KilnLine, list_kilns
from studiolog.journal.programs import ProgramLine, list_programs
from studiolog.problems import UserProblem
from studiolog.ui.firings.dialog import FiringDialog, labelled
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.fields import DayField, LineField, NumberField, ProblemLine
from studiolog.ui.parts.text import Caption

_NONE = 0


@dataclass(frozen=True)
class SheetValues:
    """What the sheet shows at first."""

    number: int
    kiln_id: int | None
    program_id: int | None
    title: str
    kind: str
    cone: str | None
    atmosphere: str
    started_at: datetime
    ended_at: datetime | None = None
    kwh: float | None = None


class FiringSheet(FiringDialog):
    """Kiln, program, kind, cone, atmosphere and start; Enter keeps.

    ``logged`` carries the id of a firing that was logged.
    """

    scrolls = True

    logged = Signal(int)
    enter_keeps = True

    def __init__(
        self,
        desk: Desk,
        page: FiringPage | None = None,
        parent: QWidget | None = None,
        now: Callable[[], datetime] = datetime.now,
    ) -> None:
        heading = "Log a firing" if page is None else f"Change firing {page.number}"
        super().__init__(heading, "Log it" if page is None else "Save", parent)
        self._desk = desk
        self._page = page
        self._kilns: list[KilnLine] = desk.read(partial(list_kilns, archived=page is not None))
        self._programs: list[ProgramLine] = desk.read(
            partial(list_programs, archived=page is not None)
        )
        self._build()
        self._fill(self._first_values(now()))
        page_high = self.body.sizeHint().height() * 100 // theme.current().text_scale
        self.take_size(608, page_high + 130)
        # The first thing that is not known yet: a program brings its cone.
        (self.program if self._programs or page is not None else self.cone).setFocus()

    def _build(self) -> None:
        px = theme.current().px
        self.number = NumberField("Number", decimals=0, lowest=1)
        self.kiln = PickOne("Kiln", [Choice(k.kiln_id, k.name) for k in self._kilns])
        self.program = PickOne(
            "Program",
            [
                Choice(_NONE, "No program"),
                *(Choice(p.program_id, p.name) for p in self._programs),
            ],
        )
        self.title = LineField("Title", hint="left empty, the program's name stands here")
        self.kind = SegmentedChoice("Kind", [Choice(k, w) for k, w in FIRING_KINDS.items()])
        self.cone = LineField("Cone aimed at", hint="6, 04, 5½")
        self.cone.line.setFixedWidth(px(112))
        self.atmosphere = SegmentedChoice(
            "Atmosphere", [Choice(k, w) for k, w in ATMOSPHERES.items()], keys="onr"
        )
        self.start_day = DayField("Started")
        self.start_time = LineField("at", hint="07:10")
        self.end_day = DayField("Ended")
        self.end_time = LineField("at", hint="06:41")
        self.kwh = NumberField("Energy", "kWh", decimals=1, lowest=0)
        for line in (self.start_time.line, self.end_time.line):
            line.setFixedWidth(px(84))
        self.kiln_problem = ProblemLine()
        self.hint = Caption(
            "Enter keeps, Esc leaves. Started now, it can be read by hand as it goes; a log "
            "and the cones come after.",
            wrap=True,
        )
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(12)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        kiln_box = labelled("Kiln", self.kiln)
        kiln_box.addWidget(self.kiln_problem)
        grid.addLayout(labelled("Program", self.program), 0, 0)
        grid.addLayout(kiln_box, 0, 1)
        grid.addLayout(labelled("Kind", self.kind), 1, 0, 1, 2)
        grid.addLayout(labelled("Atmosphere", self.atmosphere), 2, 0, 1, 2)
        grid.addLayout(_side_by_side(self.cone, self.number), 3, 0)
        grid.addLayout(_side_by_side(self.start_day, self.start_time), 3, 1)
        grid.addWidget(self.title, 4, 0, 1, 2)
        later = QWidget()
        after = QGridLayout(later)
        after.setContentsMargins(0, 0, 0, 0)
        after.setHorizontalSpacing(16)
        after.setColumnStretch(0, 1)
        after.setColumnStretch(1, 1)
        after.addWidget(self.kwh, 0, 0)
        after.addLayout(_side_by_side(self.end_day, self.end_time), 0, 1)
        grid.addWidget(later, 5, 0, 1, 2)
        self.body.addLayout(grid)
        for pick in (self.kiln, self.program):
            pick.setMinimumContentsLength(8)
            pick.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        for row in (self.kind, self.atmosphere):
            row.setMinimumWidth(px(320))  # long words are cut with dots where there is no room
        self.body.addWidget(self.hint)
        self.body.addStretch(1)
        self.program.picked.connect(self._take_program)
        order = (
            self.program, self.kiln, self.kind, self.atmosphere, self.cone.line, self.number.line,
            self.start_day.line, self.start_time.line, self.title.line, self.kwh.line,
            self.end_day.line, self.end_time.line, self.keep_button, self.leave_button,
        )  # fmt: skip
        for before, following in pairwise(order):
            QWidget.setTabOrder(before, following)

    def _first_values(self, now: datetime) -> SheetValues:
        page = self._page
        if page is not None:
            return SheetValues(
                page.number, page.kiln_id, page.program_id, page.title, page.kind, page.cone,
                page.atmosphere, page.started_at, page.ended_at, page.kwh,
            )  # fmt: skip
        new = self._desk.read(propose_firing)
        return SheetValues(
            new.number, new.kiln_id, new.program_id, "", new.kind, new.cone, new.atmosphere, now
        )

    def _fill(self, values: SheetValues) -> None:
        self.number.set_value(values.number)
        self.kiln.choose(values.kiln_id)
        self.program.choose(values.program_id or _NONE)
        self.title.set_text(values.title)
        self.kind.choose(values.kind)
        self.cone.set_text((values.cone or "").replace(".5", "½"))
        self.atmosphere.choose(values.atmosphere)
        self.start_day.set_day(values.started_at.date())
        self.start_time.set_text(f"{values.started_at:%H:%M}")
        if values.ended_at is not None:
            self.end_day.set_day(values.ended_at.date())
            self.end_time.set_text(f"{values.ended_at:%H:%M}")
        self.kwh.set_value(values.kwh)
        if not self._kilns:
            self.kiln_problem.say("No kiln is entered yet: enter one under Glazes and clays.")

    def take_program(self, program_id: int) -> None:
        """Fire this program, with its kind and its cone; an archived one is left out."""
        if any(one.program_id == program_id for one in self._programs):
            self.program.choose(program_id)
            self._take_program(program_id)
            self.keep_button.setFocus()

    def _take_program(self, program_id: object) -> None:
        """A program brings its kind and its cone."""
        chosen = next((p for p in self._programs if p.program_id == program_id), None)
        if chosen is not None:
            self.kind.choose(chosen.kind)
            if chosen.cone:
                self.cone.set_text(chosen.cone.replace(".5", "½"))

    def keep(self) -> None:
        """Log the firing, or change it; a problem stands beside its field."""
        try:
            fields = self._read()
            page = self._page
            if page is None:
                firing_id = self._desk.edits.run(
                    f"Log firing {fields['number']}",
                    partial(log_firing, draft=FiringDraft(**fields)),
                )
                self.accept()
                self.logged.emit(firing_id)
                return
            self._desk.edits.run(
                f"Change firing {page.number}",
                partial(
                    change_watched_firing, firing_id=page.firing_id, version=page.version, **fields
                ),
            )
        except UserProblem as problem:
            self._tell(problem)
            return
        self.accept()

    def _read(self) -> dict[str, Any]:
        """The fields as they are typed. Raises UserProblem with the field it speaks of."""
        kiln_id = self.kiln.chosen()
        if not isinstance(kiln_id, int):
            raise UserProblem("Choose the kiln.", {"kiln_id": "Choose the kiln."})
        number = self.number.value()
        program = self.program.chosen()
        day = self.start_day.day()
        if day is None:
            sentence = "Say on which day it started."
            raise UserProblem(sentence, {"started_at": sentence})
        started = datetime.combine(day, _clock(self.start_time, "started_at") or time(0))
        ended: datetime | None = None
        end_day, end_clock = self.end_day.day(), _clock(self.end_time, "ended_at")
        if end_day is not None or end_clock is not None:
            ended = datetime.combine(end_day or day, end_clock or time(0))
        return {
            "number": int(number) if number else None,
            "kiln_id": kiln_id,
            "program_id": program or None,
            "title": self.title.text(),
            "kind": str(self.kind.chosen() or "glaze"),
            "cone": self.cone.text().replace("cone", "").strip() or None,
            "atmosphere": str(self.atmosphere.chosen() or "oxidation"),
            "started_at": started,
            "ended_at": ended,
            "kwh": self.kwh.value(),
        }

    def _tell(self, problem: UserProblem) -> None:
        fields = {
            "number": self.number,
            "started_at": self.start_time,
            "ended_at": self.end_time,
        }
        told = False
        for name, sentence in problem.fields.items():
            if name in fields:
                fields[name].set_problem(sentence)
                fields[name].line.setFocus()
                told = True
            elif name == "kiln_id":
                self.kiln_problem.say(sentence)
                told = True
        own = (self.number, self.start_day, self.end_day, self.kwh)
        if "cone" in problem.sentence.lower() and not told:
            self.cone.set_problem(problem.sentence)
            told = True
        self.why_not.say("" if told or any(f.problem() for f in own) else problem.sentence)


def _clock(field: LineField, name: str) -> time | None:
    text = field.text().replace(".", ":").replace("h", ":")
    if not text:
        return None
    hour, _, minute = text.partition(":")
    try:
        return time(int(hour), int(minute or 0))
    except ValueError:
        sentence = f"“{field.text()}” is not a time of day: write it like 07:10."
        raise UserProblem(sentence, {name: sentence}) from None


def _side_by_side(*fields: QWidget) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(12)
    for field in fields:
        row.addWidget(field, 0, Qt.AlignmentFlag.AlignTop)
    row.addStretch(1)
    return row
