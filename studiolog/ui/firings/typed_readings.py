"""Readings that were noted by hand, typed as times and temperatures, become the curve."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QHBoxLayout, QPlainTextEdit, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.firing_log import TYPED
from studiolog.journal.firing_page import FiringPage
from studiolog.journal.hand_readings import set_hand_readings
from studiolog.journal.reading_words import HandReading, join_notes, read_lines, write_lines
from studiolog.problems import UserProblem
from studiolog.ui.firings.dialog import FiringDialog
from studiolog.ui.parts.text import Caption
from studiolog.ui.plots.log_preview import LogPreviewPlot, PlotLog
from studiolog.ui.plots.plot_ticks import Unit
from studiolog.ui.plots.plotted_firing import PlottedCurve


class TypedReadings(FiringDialog):
    """Lines of time and temperature at the left, the curve they make at the right."""

    def __init__(
        self, desk: Desk, page: FiringPage, parent: QWidget | None = None, *, running: bool = False
    ) -> None:
        super().__init__(f"Readings of firing {page.number}", "Save", parent)
        self._desk, self._page, self._running = desk, page, running
        self._unit: Unit = desk.settings.temperature_unit
        self.resize(820, 520)
        self.lines = QPlainTextEdit()
        self.lines.setAccessibleName("Readings, a line each: time and temperature")
        self.lines.setPlaceholderText(
            f"0:00 20\n1:30 420 switches high\n@10:45 980\n(in °{self._unit})"
        )
        self.lines.setTabChangesFocus(True)
        self.lines.setFixedWidth(220)
        self.plot = LogPreviewPlot()
        self.plot.set_unit(self._unit)
        row = QHBoxLayout()
        row.setSpacing(20)
        row.addWidget(self.lines)
        row.addWidget(self.plot, 1)
        self.body.addWidget(
            Caption(
                "A line for each reading: hours and minutes since the start, then the "
                f"temperature in °{self._unit}; what you did may follow. "
                "Put @ before a time of day.",
                wrap=True,
            )
        )
        self.body.addLayout(row, 1)
        curve = page.main_curve
        if curve is not None and curve.channel == TYPED:
            pairs = zip(curve.elapsed_s.tolist(), curve.temperature_c.tolist(), strict=True)
            self.lines.setPlainText(write_lines(join_notes(pairs, curve.notes), self._unit))
        self.lines.textChanged.connect(self._draw)
        self._draw()
        self.lines.setFocus()

    def readings(self) -> list[HandReading]:
        """What is typed, in order of time. Raises UserProblem naming a line."""
        lines = read_lines(self.lines.toPlainText(), self._page.started_at, self._unit)
        return sorted(lines, key=lambda one: one.at_s)

    def keep(self) -> None:
        """Keep the readings as the firing's curve; none at all takes it away."""
        page = self._page
        try:
            readings = self.readings()
            curve = page.main_curve
            if not readings and (curve is None or curve.channel != TYPED):
                raise UserProblem("Type a time and a temperature, like 1:30 420.")
            self._desk.edits.run(
                f"Type readings of firing {page.number}",
                partial(
                    set_hand_readings,
                    firing_id=page.firing_id,
                    readings=readings,
                    replace_log=True,
                    running=self._running,
                ),
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.accept()

    def _draw(self) -> None:
        try:
            readings = self.readings()
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.why_not.say("")
        times = [one.at_s for one in readings]
        heats = [one.temperature_c for one in readings]
        curves = (PlottedCurve(TYPED, times, heats),) if readings else ()
        self.plot.show_log(PlotLog(curves, started_at=self._page.started_at))
