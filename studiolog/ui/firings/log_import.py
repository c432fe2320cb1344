"""A log file before it is kept: what was understood, what is asked, and a plot of it."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from pathlib import Path

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QBoxLayout,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.firing.heatwork import say_flags
from studiolog.craft.limits import Limits
from studiolog.craft.units import show_duration, show_temperature
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.handed_over import local_paths
from studiolog.journal.curve_facts import CurveFacts
from studiolog.journal.firing_log import find_log, keep_log_file, log_from_reading, wall_clock
from studiolog.journal.limits import read_limits
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import (
    Choices,
    LogReading,
    Note,
    Question,
)
from studiolog.ui.firings.dialog import FiringDialog
from studiolog.ui.firings.log_choices import UNITS, ChoicesForm, QuestionBox, answer
from studiolog.ui.firings.log_file import ReadFile, read_log_content, read_log_path
from studiolog.ui.firings.written import write_stamp
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plots.log_preview import LogPreviewPlot, PlotLog
from studiolog.ui.plots.plotted_firing import PlottedCurve

_KEY = "read a log"
_SHOWN_DROPPED = 400
_UNDER = 860
"""Narrower than this, at text of 100 per cent, plot and words stand under each other."""


class LogImport(FiringDialog):
    """Reads a file off the window's thread, and keeps nothing until *Save*.

    ``firing`` is the id, the number, the start and the atmosphere of the firing it belongs to.
    """

    def __init__(
        self,
        desk: Desk,
        firing: tuple[int, int, datetime, str],
        parent: QWidget | None = None,
    ) -> None:
        self._firing_id, self._number, self._started_at, self._atmosphere = firing
        super().__init__(f"Log of firing {self._number}", "Save", parent)
        self._desk = desk
        self._name = ""
        self._content = b""
        self._reading: LogReading | None = None
        self._choices = Choices()
        self._questions: dict[str, QuestionBox] = {}
        self._answers: dict[str, str] = {}
        self.setAcceptDrops(True)
        self._build()
        self.take_size(1120, 720)
        self.other = QPushButton("Another file…")
        self.other.setAccessibleName("Pick another file")
        self.other.setAutoDefault(False)
        self.other.clicked.connect(self.pick_file)
        self.feet.insertWidget(2, self.other)
        desk.jobs.progressed.connect(self._show_progress)
        self.finished.connect(lambda _result: desk.jobs.cancel(_KEY))

    def _build(self) -> None:
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setFixedHeight(4)
        self.progress.setAccessibleName("Reading the file")
        self.stop = QPushButton("Stop reading")
        self.stop.setAutoDefault(False)
        self.stop.clicked.connect(self.cancel_reading)
        self.waiting = QWidget()
        waiting = QHBoxLayout(self.waiting)
        waiting.setContentsMargins(0, 0, 0, 0)
        waiting.addWidget(self.progress, 1)
        waiting.addWidget(self.stop)
        self.trouble = ProblemLine()
        self.said = Text("", weight=600, wrap=True)
        self.plot = LogPreviewPlot()
        self.plot.set_unit(self._desk.settings.temperature_unit)
        self.cone = Text("", "secondary", tone="ink2", wrap=True)
        self.notes = Text("", "secondary", tone="ink2", wrap=True)
        self.understood = Section("What was understood")
        self.lines = QGridLayout()
        self.lines.setHorizontalSpacing(12)
        self.lines.setVerticalSpacing(2)
        self.lines.setColumnStretch(2, 1)
        self.understood.add(self.lines)
        self.asked = Section("To be answered first")
        self.correct = Section("Correct it")
        self.form = ChoicesForm()
        self.form.changed.connect(self._overrule)
        self.correct.add(self.form)
        self.start_choice = SegmentedChoice("Start of the firing")
        self.start_words = Caption("", "ink2", wrap=True)
        self.when = Section("Start of the firing")
        self.when.add(self.start_choice)
        self.when.add(self.start_words)
        left = QVBoxLayout()
        left.setSpacing(8)
        left.addWidget(self.said)
        left.addWidget(self.plot, 1)
        left.addWidget(self.cone)
        left.addWidget(self.notes)
        side = QWidget()
        right = QVBoxLayout(side)
        right.setContentsMargins(0, 0, 12, 0)
        right.setSpacing(12)
        for part in (self.asked, self.when, self.understood, self.correct):
            right.addWidget(part)
        right.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(side)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setMinimumWidth(theme.current().px(400))
        # The dialog's own ground shows through.
        scroll.viewport().setAutoFillBackground(False)
        side.setAutoFillBackground(False)
        columns = self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        columns.setSpacing(24)
        columns.addLayout(left, 5)
        columns.addWidget(scroll, 4)
        self.body.addWidget(self.waiting)
        self.body.addWidget(self.trouble)
        self.body.addLayout(columns, 1)
        self.asked.hide()
        self._settle()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: the plot beside what was understood, or over it."""
        super().resizeEvent(event)
        under = self.width() < theme.current().px(_UNDER)
        way = QBoxLayout.Direction.TopToBottom if under else QBoxLayout.Direction.LeftToRight
        self.columns.setDirection(way)
        self.columns.setSpacing(12 if under else 24)

    # Reading

    def read_file(self, path: str | Path) -> None:
        """Read a file from its place."""
        self._begin(Path(path).name)
        self._start(partial(read_log_path, Path(path), self._choices, self._limits()))

    def read_content(self, name: str, content: bytes) -> None:
        """Read a file that was pasted or handed over."""
        self._begin(name)
        self._start(partial(read_log_content, name, content, self._choices, self._limits()))

    def pick_file(self) -> None:
        """Let a file be picked."""
        path, _kind = QFileDialog.getOpenFileName(self, "Pick a temperature log")
        if path:
            self.read_file(path)

    def paste(self) -> None:
        """Read a file, or the lines of one, from the clipboard."""
        held = QGuiApplication.clipboard().mimeData()
        paths = local_paths(held)
        if paths:
            self.read_file(paths[0])
        elif held.text().strip():
            self.read_content("pasted lines", held.text().encode())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Paste):
            self.paste()
            return
        super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = local_paths(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.read_file(paths[0])

    def cancel_reading(self) -> None:
        """Stop; what was read before stays shown."""
        self._desk.jobs.cancel(_KEY)
        self._settle()

    def _begin(self, name: str) -> None:
        self._name, self._reading = name, None
        self._choices, self._answers = Choices(), {}
        for box in self._questions.values():
            box.hide()
            box.deleteLater()
        self._questions = {}
        self.heading.setText(self._head_of(name))

    def _head_of(self, name: str) -> str:
        return f"{name}: log of firing {self._number}"

    def _limits(self) -> Limits:
        return self._desk.read(read_limits)

    def _start(self, work: object) -> None:
        assert callable(work)
        self.trouble.say("")
        self._desk.jobs.start(_KEY, work, self._arrive, self._fail)
        self._settle()

    def _arrive(self, read: ReadFile) -> None:
        first = self._reading is None
        self._content, self._reading, facts = read.content, read.reading, read.facts
        if self._reading is None:
            self.trouble.say(read.problem)
            self.form.show_nothing(self._choices)
            self._settle()
            return
        for question in self._reading.questions:
            self._ask(question)
        self._show_reading(self._reading, facts)
        self._settle()
        if first:
            boxes = list(self._questions.values())
            (boxes[0].picker if boxes else self.keep_button).setFocus()

    def _fail(self, problem: Exception) -> None:
        self._settle()
        if not isinstance(problem, UserProblem):
            raise problem
        self.trouble.say(problem.sentence)
        self._settle()

    def _show_progress(self, key: str, done: int, total: int, _what: str) -> None:
        if key == _KEY:
            self.progress.setRange(0, total)
            self.progress.setValue(done)

    # Questions and corrections

    def _ask(self, question: Question) -> None:
        """The start is asked for by its own section: the firing has one already."""
        if question.key == "start" or question.key in self._questions or not question.options:
            return
        box = QuestionBox(question)
        box.answered.connect(self._answer)
        self._questions[question.key] = box
        self.asked.add(box)

    def question(self, key: str) -> QuestionBox:
        """The box of a question that was asked."""
        return self._questions[key]

    def open_questions(self) -> list[str]:
        """Keys of the questions nobody has answered yet."""
        return [key for key in self._questions if key not in self._answers]

    def _answer(self, key: str, option: str) -> None:
        self._answers[key] = option
        self._overrule(answer(self._choices, key, option))

    def _overrule(self, choices: Choices) -> None:
        for key in self._questions:
            # A guess that was overruled in its own field needs no other answer.
            value = getattr(choices, key)
            if value is None:
                self._answers.pop(key, None)
                self._questions[key].picker.choose(None)
            elif key not in self._answers:
                said = "yes" if value is True else "no" if value is False else str(value)
                self._answers[key] = said
                self._questions[key].picker.choose(said)
        self._choices = choices
        self._start(partial(read_log_content, self._name, self._content, choices, self._limits()))

    # Showing

    def _show_reading(self, reading: LogReading, facts: CurveFacts | None) -> None:
        unit = self._desk.settings.temperature_unit
        main = reading.primary
        left_out = reading.rows_dropped
        words = f"{reading.rows_kept} readings over {show_duration(reading.duration_h * 3600)}"
        words += f", peak {show_temperature(reading.peak_c, unit)}"
        if reading.rows_repaired:
            words += f"; {reading.rows_repaired} put back in order"
        if left_out:
            words += f"; {left_out} left out"
        self.said.setText(words + ".")
        kept = np.asarray(main.raw_reason) == 0
        dropped = [
            (float(at_s), float(value))
            for at_s, value in zip(
                main.raw_elapsed_s[~kept], main.raw_temperature_c[~kept], strict=True
            )
            if np.isfinite(value)
        ][:_SHOWN_DROPPED]
        heat = [c for c in reading.channels if c.role in ("measured", "setpoint")]
        ordered = sorted(heat, key=lambda c: c is not main)
        self.plot.show_log(
            PlotLog(
                tuple(
                    PlottedCurve(c.name, c.elapsed_s.tolist(), c.temperature_c.tolist())
                    for c in ordered
                ),
                dropped,
                reading.gaps,
                wall_clock(reading.start) or self._started_at,
            )
        )
        self._show_cone(facts)
        notes = [self._say_note(note) for note in reading.notes]
        self.notes.setText("\n".join(notes))
        self.notes.setVisible(bool(notes))
        self._show_understood(reading)
        self._show_start(reading)
        self.form.show_reading(reading, self._choices)

    def _say_note(self, note: Note) -> str:
        """A note with its line; one that could not be read is quoted."""
        if note.line is None:
            return note.sentence
        if note.kind != "broken_line" or self._reading is None:
            return f"{note.sentence} (line {note.line})"
        lines = self._content.decode(self._reading.encoding, errors="replace").splitlines()
        quoted = lines[note.line - 1].strip() if note.line <= len(lines) else ""
        return f"{note.sentence} Line {note.line} is not a reading: “{quoted[:60]}”."

    def _show_cone(self, facts: CurveFacts | None) -> None:
        estimate = facts.estimate if facts else None
        if estimate is None:
            self.cone.setText("Too few readings for a cone.")
            return
        told = f"Heat-work: cone {estimate.label}"
        if estimate.interval_label != estimate.label and "above" not in estimate.label:
            told += f", from {estimate.interval_label}"
        told += "."
        unit = self._desk.settings.temperature_unit
        flags = say_flags(estimate.flags, estimate.limits, unit).values()
        self.cone.setText(" ".join((told, *flags)))

    def _show_understood(self, reading: LogReading) -> None:
        while (item := self.lines.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        rows = [(line.what, line.how, line.evidence) for line in reading.understood]
        for column in reading.columns:
            unit = UNITS.get(column.unit, column.unit)
            taken = column.taken_as + (f", {unit}" if unit else "")
            rows.append((f"“{column.name}”", taken, column.evidence))
        for place, (what, how, evidence) in enumerate(rows):
            for at, cell in enumerate(
                (
                    Text(what, "secondary", tone="ink2", wrap=at_most_wide(what)),
                    Text(how, "secondary", 600, wrap=True),
                    Caption(evidence, "ink3", wrap=True),
                )
            ):
                self.lines.addWidget(cell, place, at, Qt.AlignmentFlag.AlignTop)

    def _show_start(self, reading: LogReading) -> None:
        start = wall_clock(reading.start)
        keep = Choice("keep", f"Keep {write_stamp(self._started_at)}")
        chosen = self.start_choice.chosen()
        if start is None:
            self.start_choice.set_choices([keep])
            self.start_choice.choose("keep")
            self.start_words.setText("The file names no date: its readings count from the start.")
            return
        self.start_choice.set_choices([keep, Choice("log", f"Take {write_stamp(start)}")])
        same = start == self._started_at
        asked = reading.question("start")
        self.start_choice.choose(chosen or ("keep" if asked or same else "log"))
        guess = asked.sentence if asked is not None else "The log's own start is at the right."
        guess += " Kept, the readings count from the start of the firing."
        self.start_words.setText("Both are the same." if same else guess)

    def _settle(self) -> None:
        """Say whether it can be saved, and why not."""
        busy = self._desk.jobs.is_running(_KEY)
        self.waiting.setVisible(busy)
        if busy and self.progress.value() == 0:
            self.progress.setRange(0, 0)
        open_keys = self.open_questions()
        self.asked.setVisible(bool(self._questions))
        for part in (self.when, self.understood):
            part.setVisible(self._reading is not None)
        self.asked.set_quiet(
            f"{len(open_keys)} open" if open_keys else "all answered",
            "rust" if open_keys else "celadon",
        )
        why = ""
        if busy:
            why = "The file is still being read."
        elif self.trouble.sentence():
            why = "Nothing to save: see above."
        elif self._reading is None:
            why = "Pick, drop or paste a log file."
        elif open_keys:
            asked = self._questions[open_keys[0]].question.sentence.split(". ")[-1]
            why = f"To save, answer at the right: {asked}"
        else:
            why = self._why_known()
        self.why_not.say(why if not busy else "")
        self.keep_button.setEnabled(not why)
        self.keep_button.setToolTip(why)

    def _why_known(self) -> str:
        """Why a file that was read well can't be kept all the same; empty if it can."""
        other = self._desk.read(lambda session: find_log(session, self.sha256()))
        if other is None or (other == self._number and self._choices != Choices()):
            return ""  # read otherwise than before it may replace what was kept
        if other == self._number:
            return f"This very file is the log of firing {other} already."
        return f"{self._name} is already the log of firing {other}."

    def sha256(self) -> str:
        """The hash of the file that is shown."""
        return self._reading.sha256 if self._reading is not None else ""

    # Out

    def keep(self) -> None:
        """Keep the log with the firing, in one edit."""
        if self._reading is None or not self.keep_button.isEnabled():
            return
        log = log_from_reading(
            self._reading,
            self._content,
            reduction=self._atmosphere == "reduction",
            limits=self._limits(),
        )
        set_start = self.start_choice.chosen() == "log"
        try:
            self._desk.edits.run(
                f"Add the log of firing {self._number}",
                partial(keep_log_file, firing_id=self._firing_id, log=log, set_start=set_start),
            )
        except UserProblem as problem:
            self.trouble.say(problem.sentence)
            return
        self.accept()


def at_most_wide(text: str) -> bool:
    """Whether a label is long enough to be broken."""
    return len(text) > 18
