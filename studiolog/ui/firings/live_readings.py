"""Reading by hand while a firing runs: one line to type a reading in, and when to read again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import TypeVar

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QCheckBox, QGridLayout, QPushButton, QWidget

from studiolog.craft.firing.program import Segment
from studiolog.craft.units import show_duration, show_temperature
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.hand_readings import (
    add_reading,
    ask_program,
    end_firing,
    runs_now,
    say_against,
    set_reminder,
)
from studiolog.journal.limits import read_limits
from studiolog.journal.reading_words import (
    HandReading,
    clean_note,
    join_notes,
    read_heat,
    read_moment,
)
from studiolog.problems import UserProblem
from studiolog.ui.firings.plot_of_page import plan_of
from studiolog.ui.parts.fields import LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text
from studiolog.ui.plots.plot_ticks import Unit

_T = TypeVar("_T")
_LOOK_AGAIN_MS = 20_000
_LAST_SHOWN = 3


class LiveReadings(Section):
    """Shown while a firing runs and has no log from a file. ``now`` is its clock.

    ``all_asked`` wants the list of all readings, where a wrong one is corrected.
    """

    all_asked = Signal()

    def __init__(
        self,
        desk: Desk,
        now: Callable[[], datetime] = datetime.now,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("Reading by hand", link="All readings", parent=parent)
        self.now = now
        self._desk = desk
        self._page: FiringPage | None = None
        self._unit: Unit = "C"
        self._plan: tuple[Segment, ...] = ()
        self._readings: tuple[HandReading, ...] = ()
        self._build()
        self._tick = QTimer(self)
        self._tick.setInterval(_LOOK_AGAIN_MS)
        self._tick.timeout.connect(self.tell)
        self.link_opened.connect(self.all_asked)
        self.hide()

    def _build(self) -> None:
        self.when = LineField("Read at", hint="now, 14:20, −5 min")
        self.heat = LineField("Pyrometer, °C", hint="820")
        self.note = LineField("What you did", hint="switches high, lid shut")
        self.keep_button = QPushButton("Keep reading")
        self.keep_button.setAccessibleName("Keep reading")
        for field in (self.when, self.heat, self.note):
            field.line.returnPressed.connect(self.keep)
        self.keep_button.clicked.connect(self.keep)
        self.why_not = ProblemLine()
        self.told = Text("", tone="ink", wrap=True)
        self.last = Text("", "secondary", tone="ink2", wrap=True)
        remind = Text("Remind me to read every", tone="ink2")
        self.every = NumberField("", "min", decimals=0, lowest=1, highest=1440, hint="30")
        self.every.line.setAccessibleName("Remind me to read every, min")
        remind.setBuddy(self.every.line)
        self.every.value_changed.connect(self._ask_reminder)
        self.beep = QCheckBox("with a beep")
        self.beep.setAccessibleName("Remind with a beep")
        self.beep.setChecked(self._desk.settings.reminder_beeps)
        self.beep.toggled.connect(self._set_beep)
        self.end_button = QPushButton("Firing ended")
        self.end_button.setAccessibleName("Firing ended")
        self.end_button.setToolTip("It ended now; the end can be changed with More, Change.")
        self.end_button.clicked.connect(self.end)
        line = QGridLayout()
        line.setHorizontalSpacing(12)
        line.setVerticalSpacing(0)
        for column, (field, stretch) in enumerate(((self.when, 3), (self.heat, 2), (self.note, 5))):
            line.addWidget(field, 0, column)
            line.setColumnStretch(column, stretch)
        foot = FlowLayout(spacing=16, line_spacing=8)
        for widget in (self.keep_button, self.end_button, remind, self.every, self.beep):
            foot.addWidget(widget)
        for part in (self.told, line, self.why_not, foot, self.last):
            self.add(part)

    @property
    def runs(self) -> bool:
        """Whether the firing shown runs and is read by hand."""
        return not self.isHidden()

    def show_page(self, page: FiringPage, unit: Unit) -> None:
        """Show the section if the firing runs, with what was read last."""
        same = self._page is not None and self._page.firing_id == page.firing_id
        self._page, self._unit = page, unit
        runs = self._runs(page)
        self.setVisible(runs)
        if not same:
            for field in (self.when, self.heat, self.note):
                field.set_text("")
            self.why_not.say("")
        if not runs:
            return
        curve = page.main_curve
        self._readings = ()
        if curve is not None:
            pairs = zip(curve.elapsed_s.tolist(), curve.temperature_c.tolist(), strict=True)
            self._readings = join_notes(pairs, curve.notes)
        self._plan = plan_of(page)
        self.heat.label.setText(f"Pyrometer, °{unit}")
        self.heat.line.setAccessibleName(f"Pyrometer, °{unit}")
        self.heat.line.setPlaceholderText("820" if unit == "C" else "1508")
        self.every.set_value(page.read_every_min)
        self.set_link("All readings" if self._readings else "")
        self.tell()

    def _runs(self, page: FiringPage) -> bool:
        if page.ended_at is not None:
            return False
        curve = page.main_curve
        last_s = float(curve.elapsed_s[-1]) if curve is not None and curve.elapsed_s.size else None
        channels = [one.channel for one in page.curves]
        limits = self._desk.read(read_limits)
        return runs_now(page.started_at, page.ended_at, channels, last_s, self.now(), limits)

    def tell(self) -> None:
        """Tell what the program asks now, and how the last readings stand against it."""
        page = self._page
        if page is None or self.isHidden():
            return
        now, unit = self.now(), self._unit
        self.set_quiet(f"lit {show_duration((now - page.started_at).total_seconds())} ago")
        asked = ask_program(self._plan, page.started_at, now)
        words: list[str] = []
        if asked is not None:
            words.append(f"The program asks {show_temperature(asked.temperature_c, unit)} now.")
        elif self._plan:
            words.append("The program has come to its end.")
        if self._readings:
            words.append(f"Last read: {self._say(self._readings[-1])}.")
        else:
            words.append("Not read yet.")
        self.told.setText(" ".join(words))
        before = self._readings[-_LAST_SHOWN - 1 : -1]
        self.last.setText("Before: " + "; ".join(self._say(one) for one in reversed(before)))
        self.last.setVisible(bool(before))

    def _say(self, reading: HandReading) -> str:
        assert self._page is not None
        at = self._page.started_at + timedelta(seconds=reading.at_s)
        words = [f"{show_temperature(reading.temperature_c, self._unit)} at {at:%H:%M}"]
        asked = ask_program(self._plan, self._page.started_at, at)
        words.append(say_against(reading.temperature_c, asked, self._unit))
        words.append(reading.note)
        return ", ".join(filter(None, words))

    def stand_in(self) -> None:
        """Stand where the next reading is typed."""
        if self.runs:
            self.heat.setFocus()

    # What is done

    def keep(self) -> None:
        """Keep the reading that is typed; a problem stands beside its field."""
        page = self._page
        if page is None:
            return
        at = self._read(self.when, lambda text: read_moment(text, self.now(), page.started_at))
        heat_c = self._read(self.heat, lambda text: read_heat(text, self._unit))
        note = self._read(self.note, clean_note)
        if at is None or heat_c is None or note is None:
            return
        heat = show_temperature(heat_c, self._unit)
        try:
            self._desk.edits.run(
                f"Reading of firing {page.number}: {heat} at {at:%H:%M}",
                partial(
                    add_reading,
                    firing_id=page.firing_id,
                    at=at,
                    temperature_c=heat_c,
                    note=note,
                    unit=self._unit,
                ),
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.why_not.say("")
        for field in (self.when, self.heat, self.note):
            field.set_text("")
        self.heat.setFocus()

    def _read(self, field: LineField, read: Callable[[str], _T]) -> _T | None:
        """What a field says; None, and the problem beneath it, if it can't be read."""
        try:
            value = read(field.text())
        except UserProblem as problem:
            field.set_problem(problem.sentence)
            field.setFocus()
            return None
        field.set_problem("")
        return value

    def end(self) -> None:
        """The firing ended now; undo takes it back."""
        page = self._page
        if page is None:
            return
        at = self.now().replace(second=0, microsecond=0)
        try:
            self._desk.edits.run(
                f"End firing {page.number}",
                partial(end_firing, firing_id=page.firing_id, at=max(at, page.started_at)),
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self._desk.notices.say(
            f"Firing {page.number} ended at {at:%H:%M}.", "Undo", self._desk.edits.undo
        )

    def _ask_reminder(self, every_min: object) -> None:
        page = self._page
        if page is None:
            return
        every = float(str(every_min)) if every_min is not None else None
        label = "no reminder" if every is None else f"a reminder every {every:g} min"
        try:
            self._desk.edits.run(
                f"Firing {page.number}: {label}",
                partial(set_reminder, firing_id=page.firing_id, every_min=every),
            )
        except UserProblem as problem:
            self.every.set_problem(problem.sentence)

    def _set_beep(self, beeps: bool) -> None:
        self._desk.settings.reminder_beeps = beeps

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._tick.start()
        self.tell()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._tick.stop()
