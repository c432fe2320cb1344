"""Many waiting logs described in one go: "these 40: Big kiln, program Glaze 6"."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QProgressBar, QWidget

from studiolog.craft.limits import Limits
from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.journal.firing_list import propose_firing
from studiolog.journal.firing_log import log_from_reading, wall_clock
from studiolog.journal.firings import FiringDraft
from studiolog.journal.kilns import list_kilns
from studiolog.journal.limits import read_limits
from studiolog.journal.programs import list_programs
from studiolog.journal.waiting import (
    WaitingLine,
    WaitingPage,
    describe_together,
    list_waiting,
    next_firing_number,
    read_waiting,
    read_waiting_curve,
)
from studiolog.journal.waiting_guess import guess_programs
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import read_temperature_log
from studiolog.ui.firings.describe_waiting import kiln_of_folder
from studiolog.ui.firings.dialog import FiringDialog, labelled
from studiolog.ui.firings.written import write_stamp
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.text import Caption, Text

_KEY = "describe logs"
_MOST = 300
"""So many are read and kept in one edit; more are described in a second go."""
_MOST_GUESSED = 12
_NONE = 0


class DescribeTogether(FiringDialog):
    """One kiln and program for many logs; those with open questions are left to wait.

    ``logged`` carries the ids of the firings made, in the order of their starts.
    """

    scrolls = True

    logged = Signal(object)

    def __init__(
        self, desk: Desk, waiting_ids: Sequence[int], parent: QWidget | None = None
    ) -> None:
        self._desk = desk
        lines = desk.read(partial(list_waiting, ids=list(waiting_ids)))
        ready = [line for line in lines if line.starts_at is not None and not line.questions]
        self._lines = ready[:_MOST]
        self._asking = sum(1 for line in lines if line.questions)
        self._dateless = len(lines) - len(ready) - self._asking
        self._beyond = len(ready) - len(self._lines)
        count = len(self._lines)
        super().__init__(f"Describe {count} logs together", f"Log {count} firings", parent)
        self._build()
        self._propose()
        self.take_size(608, 520)
        desk.jobs.progressed.connect(self._show_progress)
        self.finished.connect(lambda _result: desk.jobs.cancel(_KEY))
        if not count:
            self.keep_button.setEnabled(False)
        # Enter keeps what is proposed; where the kiln is not clear it is asked for first.
        (self.kiln if self.kiln.chosen() is None else self.keep_button).setFocus()

    def _build(self) -> None:
        kilns = self._desk.read(list_kilns)
        self._programs = self._desk.read(list_programs)
        self.said = Text(self._say_span(), wrap=True)
        self.left = Caption(self._say_left(), "rust", wrap=True)
        self.left.setVisible(bool(self.left.text()))
        self.kiln = PickOne("Kiln", [Choice(k.kiln_id, k.name) for k in kilns])
        self.program = PickOne(
            "Program",
            [
                Choice(_NONE, "No program"),
                *(Choice(p.program_id, p.name) for p in self._programs),
            ],
        )
        self.kind = SegmentedChoice("Kind", [Choice(k, w) for k, w in FIRING_KINDS.items()])
        self.atmosphere = SegmentedChoice(
            "Atmosphere", [Choice(k, w) for k, w in ATMOSPHERES.items()], keys="onr"
        )
        self.cone = LineField("Cone aimed at", hint="6, 04, 5½")
        self.evidence = Caption("", "ink2", wrap=True)
        for pick in (self.kiln, self.program):
            pick.setMinimumContentsLength(8)
            pick.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(12)
        grid.addLayout(labelled("Kiln", self.kiln), 0, 0)
        grid.addLayout(labelled("Program", self.program), 0, 1)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setFixedHeight(4)
        self.progress.setAccessibleName("Reading the logs")
        self.progress.hide()
        self.body.addWidget(self.said)
        self.body.addWidget(self.left)
        self.body.addLayout(grid)
        self.body.addWidget(self.evidence)
        self.body.addLayout(labelled("Kind", self.kind))
        self.body.addLayout(labelled("Atmosphere", self.atmosphere))
        self.body.addWidget(self.cone)
        self.body.addWidget(self.progress)
        self.body.addStretch(1)
        self.program.picked.connect(self._take_program)
        for row in (self.kind, self.atmosphere):
            row.setMinimumWidth(120)  # long words are cut with dots where there is no room

    def _say_span(self) -> str:
        if not self._lines:
            return "None of these can be described together: describe each by itself."
        number = self._desk.read(next_firing_number)
        first, last = self._lines[0].starts_at, self._lines[-1].starts_at
        assert first is not None
        assert last is not None
        numbers = (
            f"{number}" if len(self._lines) == 1 else f"{number} to {number + len(self._lines) - 1}"
        )
        return (
            f"Firings {numbers} in the order of their starts, from {write_stamp(first)} to "
            f"{write_stamp(last)}."
        )

    def _say_left(self) -> str:
        left = {
            "with a question open": self._asking,
            "without a date": self._dateless,
            f"beyond the {_MOST} of one go": self._beyond,
        }
        told = [f"{count} {why}" for why, count in left.items() if count]
        return f"Left to wait: {', '.join(told)}." if told else ""

    def _propose(self) -> None:
        new = self._desk.read(propose_firing)
        self.kind.choose(new.kind)
        self.atmosphere.choose(new.atmosphere)
        kilns = self._desk.read(list_kilns)
        folders = {line.came_from for line in self._lines}
        of_folder = {kiln_of_folder(self._desk, folder) for folder in folders}
        told: list[str] = []
        if len(kilns) == 1:
            self.kiln.choose(kilns[0].kiln_id)
        elif len(of_folder) == 1 and (kiln_id := next(iter(of_folder))) is not None:
            self.kiln.choose(kiln_id)
            told.append("The kiln is that whose logger writes to the folder they came from.")
        told.append(self._propose_program(self._lines[:_MOST_GUESSED]))
        self.evidence.setText(" ".join(told))

    def _propose_program(self, lines: Sequence[WaitingLine]) -> str:
        best: set[int] = set()
        for line in lines:
            at_s, celsius = self._desk.read(partial(read_waiting_curve, waiting_id=line.waiting_id))
            guesses = self._desk.read(
                partial(guess_programs, elapsed_s=at_s, temperature_c=celsius)
            )
            best.add(guesses[0].program_id if guesses else _NONE)
        if len(best) != 1:
            return "They are not all like one program: choose one, or none." if best else ""
        program_id = best.pop()
        self.program.choose(program_id)
        self._take_program(program_id)
        if program_id == _NONE:
            return "No program in use is like these curves: choose one, or none."
        name = next(p.name for p in self._programs if p.program_id == program_id)
        which = "All" if len(lines) == len(self._lines) else f"The first {len(lines)}"
        return f"{which} are like “{name}” in peak and in how they climb."

    def _take_program(self, program_id: object) -> None:
        chosen = next((p for p in self._programs if p.program_id == program_id), None)
        if chosen is not None:
            self.kind.choose(chosen.kind)
            if chosen.cone:
                self.cone.set_text(chosen.cone.replace(".5", "½"))

    def _show_progress(self, key: str, done: int, total: int, _what: str) -> None:
        if key == _KEY:
            self.progress.setRange(0, total)
            self.progress.setValue(done)

    def keep(self) -> None:
        """Read the logs off the window's thread, then log all the firings in one edit."""
        kiln_id = self.kiln.chosen()
        if not isinstance(kiln_id, int):
            self.why_not.say("Choose the kiln.")
            self.kiln.setFocus()
            return
        program = self.program.chosen()
        fields = {
            "kiln_id": kiln_id,
            "program_id": program or None,
            "kind": str(self.kind.chosen() or "glaze"),
            "atmosphere": str(self.atmosphere.chosen() or "oxidation"),
            "cone": self.cone.text().replace("cone", "").strip() or None,
        }
        pages = [
            self._desk.read(partial(read_waiting, waiting_id=line.waiting_id))
            for line in self._lines
        ]
        self.why_not.say("")
        self.progress.show()
        self.keep_button.setEnabled(False)
        work = partial(_read_all, pages, fields, self._desk.read(read_limits))
        self._desk.jobs.start(_KEY, work, self._log, self._fail)

    def _log(self, drafts: list[tuple[int, FiringDraft]]) -> None:
        self.progress.hide()
        self.keep_button.setEnabled(True)
        try:
            ids = self._desk.edits.run(
                f"Describe {len(drafts)} logs", partial(describe_together, drafts=drafts)
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.accept()
        self.logged.emit(ids)

    def _fail(self, problem: Exception) -> None:
        self.progress.hide()
        self.keep_button.setEnabled(True)
        if not isinstance(problem, UserProblem):
            raise problem
        self.why_not.say(problem.sentence)


def _read_all(
    pages: Sequence[WaitingPage], fields: dict[str, object], limits: Limits, progress: Progress
) -> list[tuple[int, FiringDraft]]:
    drafts: list[tuple[int, FiringDraft]] = []
    for at, page in enumerate(pages):
        if progress.cancelled():
            break
        progress.step(at, len(pages), page.line.name)
        reading = read_temperature_log(page.content, page.line.name)
        reduction = fields["atmosphere"] == "reduction"
        log = log_from_reading(reading, page.content, reduction=reduction, limits=limits)
        start = wall_clock(reading.start) or page.line.starts_at
        assert start is not None  # only logs with a start are described together
        draft = FiringDraft(started_at=start, log=log, **fields)  # type: ignore[arg-type]
        drafts.append((page.line.waiting_id, draft))
    return drafts
