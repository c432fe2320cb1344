"""Readings that were noted by hand, typed as times and temperatures, become the curve."""

from __future__ import annotations

import re
from datetime import datetime
from functools import partial

from PySide6.QtWidgets import QHBoxLayout, QPlainTextEdit, QWidget

from studiolog.craft.units import parse_duration, parse_temperature, show_temperature
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_log import TYPED, keep_log_file, log_from_typed
from studiolog.journal.firing_page import FiringPage, LoggedCurve
from studiolog.problems import UserProblem
from studiolog.ui.firings.dialog import FiringDialog
from studiolog.ui.parts.text import Caption
from studiolog.ui.plots.log_preview import LogPreviewPlot, PlotLog
from studiolog.ui.plots.plot_ticks import Unit, shown_temperature
from studiolog.ui.plots.plotted_firing import PlottedCurve

_LINE = re.compile(
    r"^\s*(?P<time>\S+(?:\s*(?:h|min|m)\b(?:\s*\d+\s*(?:min|m)?\b)?)?)[\s,;]+(?P<heat>\S.*)$"
)


def read_typed(text: str, started_at: datetime, unit: Unit) -> list[tuple[float, float]]:
    """(seconds, °C) of lines like "1:30 420" or "08:40 420 °C", one reading a line.

    Times count from the start; once a line names a time of day as "@08:40" it is taken from the
    clock, the day going on past midnight. Raises UserProblem naming the line.
    """
    found: list[tuple[float, float]] = []
    day_s = 0.0
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        match = _LINE.match(line)
        if match is None:
            raise UserProblem(
                f"Line {number} is not a reading: “{line.strip()}”. Write time and temperature, "
                "like 1:30 420."
            )
        try:
            said = match["time"]
            if said.startswith("@"):
                at_s = parse_duration(said[1:]) - (
                    started_at.hour * 3600 + started_at.minute * 60 + started_at.second
                )
                while found and at_s + day_s < found[-1][0]:
                    day_s += 86400.0
                if not found and at_s < 0:
                    day_s = 86400.0
                at_s += day_s
            else:
                at_s = parse_duration(said)
            heat_c = parse_temperature(match["heat"], unit)
        except UserProblem as problem:
            raise UserProblem(f"Line {number}: {problem.sentence}") from problem
        if not -40 <= heat_c <= 1450:
            raise UserProblem(
                f"Line {number}: {show_temperature(heat_c, unit)} is no kiln's temperature."
            )
        found.append((at_s, heat_c))
    return found


class TypedReadings(FiringDialog):
    """Lines of time and temperature at the left, the curve they make at the right."""

    def __init__(self, desk: Desk, page: FiringPage, parent: QWidget | None = None) -> None:
        super().__init__(f"Readings of firing {page.number}", "Save", parent)
        self._desk, self._page = desk, page
        self._unit: Unit = desk.settings.temperature_unit
        self.resize(820, 520)
        self.lines = QPlainTextEdit()
        self.lines.setAccessibleName("Readings, a line each: time and temperature")
        self.lines.setPlaceholderText(f"0:00 20\n1:30 420\n@10:45 980\n(in °{self._unit})")
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
                f"temperature in °{self._unit}. Put @ before a time of day.",
                wrap=True,
            )
        )
        self.body.addLayout(row, 1)
        curve = page.main_curve
        if curve is not None and curve.channel == TYPED:
            self.lines.setPlainText(_write_lines(curve, self._unit))
        self.lines.textChanged.connect(self._draw)
        self._draw()
        self.lines.setFocus()

    def readings(self) -> list[tuple[float, float]]:
        """What is typed, in order of time. Raises UserProblem naming a line."""
        return sorted(read_typed(self.lines.toPlainText(), self._page.started_at, self._unit))

    def keep(self) -> None:
        """Keep the readings as the firing's curve."""
        try:
            log = log_from_typed(self.readings(), reduction=self._page.atmosphere == "reduction")
            self._desk.edits.run(
                f"Type readings of firing {self._page.number}",
                partial(keep_log_file, firing_id=self._page.firing_id, log=log),
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
        times = [at_s for at_s, _ in readings]
        heats = [heat_c for _, heat_c in readings]
        curves = (PlottedCurve(TYPED, times, heats),) if readings else ()
        self.plot.show_log(PlotLog(curves, started_at=self._page.started_at))


def _write_lines(curve: LoggedCurve, unit: Unit) -> str:
    lines = []
    for at_s, heat_c in zip(curve.elapsed_s.tolist(), curve.temperature_c.tolist(), strict=True):
        minutes = round(at_s / 60)
        heat = f"{shown_temperature(heat_c, unit):.1f}".removesuffix(".0")
        lines.append(f"{minutes // 60}:{minutes % 60:02d} {heat}")
    return "\n".join(lines)
