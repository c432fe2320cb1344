"""What a thermocouple's letter tells: what it may be off when new, its voltage, cautions."""

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.firing.thermocouple import (
    MADE_OF,
    METER_CARE,
    letter_of,
    say_tolerance,
    say_voltage,
)
from studiolog.journal.calibrations import Change
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.text import Caption, Text

_USUAL_TOP_C = 1200.0
UNKNOWN = "Give the letter of the thermocouple (K, N, S or R) for what it may be off when new."


class SensorLines(QWidget):
    """Lines under the fields of the thermocouple."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tolerance = Text("", "secondary", tone="ink2", wrap=True)
        self.voltage = Text("", "secondary", tone="ink2", wrap=True)
        self.care = CautionLine()
        self.counts = Caption("", "ink2", wrap=True)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(6)
        for widget in (self.counts, self.tolerance, self.voltage, self.care):
            rows.addWidget(widget)

    def show_sensor(self, typed: str, top_c: float | None, unit: str) -> None:
        """Tell of a thermocouple at the top that the kiln usually reaches."""
        letter, top = letter_of(typed), round((top_c or _USUAL_TOP_C) / 10) * 10.0
        told = ""
        if letter is not None:
            try:
                told = say_voltage(letter, top, 25.0, unit)
            except UserProblem as problem:
                told = problem.sentence
        self.tolerance.setText(say_tolerance(letter, top, unit) if letter else UNKNOWN)
        self.tolerance.setToolTip(f"{MADE_OF[letter]}".capitalize() if letter else "")
        self.voltage.setText(told)
        self.voltage.setVisible(bool(told))
        self.care.say(METER_CARE if told else "")

    def show_since(self, changes: Sequence[Change]) -> None:
        """Say from when readings count, whatever started it."""
        words = ""
        if changes:
            newest = changes[-1]
            why = f", {newest.words}" if newest.task else ", as set here"
            words = f"As it stands, readings count from {write_day(newest.on)}{why}."
        self.counts.setText(words)
        self.counts.setVisible(bool(words))
