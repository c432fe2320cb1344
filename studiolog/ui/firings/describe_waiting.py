"""A waiting log made into a firing: the sheet for a new firing, filled with what the log tells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.units import show_duration
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_list import propose_firing
from studiolog.journal.firing_log import log_from_reading, wall_clock
from studiolog.journal.firings import FiringDraft
from studiolog.journal.kilns import list_kilns
from studiolog.journal.limits import read_limits
from studiolog.journal.waiting import WaitingPage, describe_waiting, give_to_firing
from studiolog.journal.waiting_guess import (
    EmptyFiring,
    ProgramGuess,
    find_empty_firings,
    find_firing_gone_on,
    guess_programs,
)
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import LogReading
from studiolog.ui.firings.firing_sheet import FiringSheet, SheetValues
from studiolog.ui.firings.log_import import LogImport
from studiolog.ui.firings.waiting_section import guess_start, say_heat
from studiolog.ui.firings.written import write_heat, write_stamp
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plots.plotted_firing import PlotFiring
from studiolog.ui.plots.small_curve import SmallCurve

_MOST_OFFERED = 2


def kiln_of_folder(desk: Desk, came_from: str) -> int | None:
    """The kiln whose logger writes to a folder, as this desk's settings have it."""
    for kiln_id, folder in desk.settings.logger_folders(desk.journal.where).items():
        if kiln_id and came_from and Path(came_from).is_relative_to(folder):
            return kiln_id
    return None


class WaitingLogImport(LogImport):
    """The sheet of a log file, for one that waits: its questions are answered, nothing is kept yet.

    ``settled`` carries the reading, its questions answered.
    """

    settled = Signal(object)

    def __init__(self, desk: Desk, page: WaitingPage, parent: QWidget | None = None) -> None:
        start = guess_start(page.line) or page.line.came_at
        super().__init__(desk, (0, 0, start, "oxidation"), parent)
        self.keep_button.setText("Go on")
        self.keep_button.setAccessibleName("Go on to the firing")
        self.other.hide()
        self.setAcceptDrops(False)
        self.read_content(page.line.name, page.content)

    def _head_of(self, name: str) -> str:
        return f"{name}: a log that waits"

    def _why_known(self) -> str:
        return ""

    def _settle(self) -> None:
        super()._settle()
        self.when.hide()  # the start is asked for with the firing

    def paste(self) -> None:
        """The file is given: nothing else is pasted over it."""

    def keep(self) -> None:
        """Go on with the log as it is read now."""
        if self._reading is not None and self.keep_button.isEnabled():
            reading = self._reading
            self.accept()
            self.settled.emit(reading)


class DescribeWaiting(FiringSheet):
    """Kiln, program and start as the log and its folder propose them, each with its evidence.

    ``look_asked`` says that the log itself is to be looked at.
    """

    look_asked = Signal()

    def __init__(
        self,
        desk: Desk,
        page: WaitingPage,
        reading: LogReading,
        parent: QWidget | None = None,
        now: Callable[[], datetime] = datetime.now,
    ) -> None:
        self._waiting, self._reading = page, reading
        self._started = wall_clock(reading.start) or guess_start(page.line)
        main = reading.primary
        self._guesses: tuple[ProgramGuess, ...] = desk.read(
            partial(guess_programs, elapsed_s=main.elapsed_s, temperature_c=main.temperature_c)
        )
        self._kiln = kiln_of_folder(desk, page.line.came_from)
        self._offered: tuple[EmptyFiring, ...] = desk.read(
            partial(find_empty_firings, starts_at=self._started, kiln_id=self._kiln)
        )
        gone_on = desk.read(
            partial(
                find_firing_gone_on,
                elapsed_s=main.elapsed_s,
                temperature_c=main.temperature_c,
                starts_at=self._started,
            )
        )
        if gone_on is not None:
            self._offered = (gone_on, *self._offered)
        super().__init__(desk, None, parent, now)
        self.heading.setText(f"Describe {page.line.name}")
        self.setWindowTitle(self.heading.text())
        self.body.insertLayout(0, self._build_log(desk))
        self.hint.hide()
        page_high = self.body.sizeHint().height() * 100 // theme.current().text_scale
        self.take_size(608, page_high + 150)
        if self.kiln.chosen() is None:
            self.kiln.setFocus()

    def _build_log(self, desk: Desk) -> QHBoxLayout:
        unit = desk.settings.temperature_unit
        line, main = self._waiting.line, self._reading.primary
        curve = SmallCurve()
        curve.show_firing(
            PlotFiring(curve_s=main.elapsed_s.tolist(), curve_c=main.temperature_c.tolist())
        )
        curve.set_unit(unit)
        curve.setFixedWidth(theme.current().px(176))
        said = (
            f"{self._reading.rows_kept} readings over "
            f"{show_duration(self._reading.duration_h * 3600)}, "
            f"peak {write_heat(self._reading.peak_c, unit)}"
        )
        if line.cone:
            said += f", {say_heat(line)}"
        words = QVBoxLayout()
        words.setSpacing(4)
        words.addWidget(Text(said + ".", weight=600, wrap=True))
        for sentence in self._say_proposals(desk):
            words.addWidget(Caption(sentence, "ink2", wrap=True))
        self.look = link_button("Look at the log")
        self.look.setAutoDefault(False)
        self.look.clicked.connect(self._look)
        words.addWidget(self.look, 0, Qt.AlignmentFlag.AlignLeft)
        self.offers: list[QWidget] = []
        for firing in self._offered[:_MOST_OFFERED]:
            offer = link_button(
                f"Put it to firing {firing.number}, {write_stamp(firing.started_at)}"
            )
            offer.setToolTip(_why_offered(firing))
            offer.setAutoDefault(False)
            offer.clicked.connect(partial(self.give, firing))
            words.addWidget(offer, 0, Qt.AlignmentFlag.AlignLeft)
            self.offers.append(offer)
        words.addStretch(1)
        row = QHBoxLayout()
        row.setSpacing(16)
        row.addWidget(curve, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(words, 1)
        return row

    def _say_proposals(self, desk: Desk) -> list[str]:
        """What was filled in, and on what evidence."""
        told: list[str] = []
        if self._guesses:
            best = self._guesses[0]
            words = f"Like “{best.name}”. {best.evidence(desk.settings.temperature_unit)}"
            if len(self._guesses) > 1:
                others = ", ".join(f"“{guess.name}”" for guess in self._guesses[1:3])
                words += f" Nearly as like: {others}."
            told.append(words)
        else:
            told.append("No program in use is like this curve: choose one, or none.")
        if self._kiln is not None:
            told.append("The kiln is that whose logger writes to the folder it came from.")
        if self._reading.start is None:
            told.append(
                "The file names no date. The start is told from when the file was written."
                if self._started is not None
                else "The file names no date: say when it started."
            )
        for firing in self._offered[:_MOST_OFFERED]:
            told.append(_why_offered(firing))
        return told

    def _first_values(self, now: datetime) -> SheetValues:
        new = self._desk.read(propose_firing)
        kilns = self._desk.read(list_kilns)
        kiln_id = self._kiln or (kilns[0].kiln_id if len(kilns) == 1 else None)
        start = self._started or now
        values = SheetValues(
            new.number, kiln_id, None, "", new.kind, None, new.atmosphere, start,
            start + timedelta(seconds=self._waiting.line.duration_s),
        )  # fmt: skip
        if not self._guesses:
            return values
        best = self._guesses[0]
        return replace(values, program_id=best.program_id, kind=best.kind, cone=best.cone)

    def _look(self) -> None:
        self.reject()
        self.look_asked.emit()

    def give(self, firing: EmptyFiring) -> None:
        """Put the log to a firing that is in the journal, instead of logging a new one."""
        log = log_from_reading(
            self._reading,
            self._waiting.content,
            reduction=firing.atmosphere == "reduction",
            limits=self._desk.read(read_limits),
        )
        try:
            self._desk.edits.run(
                f"Put {self._waiting.line.name} to firing {firing.number}",
                partial(
                    give_to_firing,
                    waiting_id=self._waiting.line.waiting_id,
                    firing_id=firing.firing_id,
                    log=log,
                ),
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.accept()
        self.logged.emit(firing.firing_id)

    def keep(self) -> None:
        """Log the firing with its log; a problem stands beside its field."""
        try:
            fields = self._read()
            log = log_from_reading(
                self._reading,
                self._waiting.content,
                reduction=fields["atmosphere"] == "reduction",
                limits=self._desk.read(read_limits),
            )
            firing_id = self._desk.edits.run(
                f"Log firing {fields['number']} from {self._waiting.line.name}",
                partial(
                    describe_waiting,
                    waiting_id=self._waiting.line.waiting_id,
                    draft=FiringDraft(log=log, **fields),
                ),
            )
        except UserProblem as problem:
            self._tell(problem)
            return
        self.accept()
        self.logged.emit(firing_id)


def _why_offered(firing: EmptyFiring) -> str:
    if firing.goes_on:
        return (
            f"It goes on where the log of firing {firing.number} in {firing.kiln} ends: that was "
            "taken in while the logger still wrote."
        )
    return f"Firing {firing.number} in {firing.kiln} started near it and has no log."
