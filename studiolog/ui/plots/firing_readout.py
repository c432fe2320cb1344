"""What the cursor of a firing plot reads, in words and in a box."""

from dataclasses import dataclass
from datetime import datetime

from studiolog.craft.firing.cones import label_reached
from studiolog.craft.units import THIN, show_number, show_rate, show_temperature
from studiolog.ui.plots.plot_ticks import (
    Unit,
    shown_rate,
    shown_temperature,
    write_clock,
    write_elapsed,
    write_signed,
)

_MOST_TOLD = 2
_ABSURD_C = 1e6


def write_raw(temperature_c: float, unit: Unit) -> str:
    """A temperature as it was logged, believable or not: "32767 °C", "over a million °C"."""
    if not abs(temperature_c) < _ABSURD_C:  # infinities too
        return f"{'under minus' if temperature_c < 0 else 'over'} a million{THIN}°{unit}"
    return show_temperature(temperature_c, unit)


@dataclass(frozen=True)
class Readout:
    """One reading under the cursor. °C and °C/h; None where there is nothing to tell."""

    at_s: float
    started_at: datetime | None
    logged_c: float | None
    program_c: float | None
    rate_c_per_h: float | None
    program_rate_c_per_h: float | None
    as_logged: bool = False
    """Whether the log is read as it came, with what was set aside."""
    why: str = ""
    """Why the reading under the cursor was set aside; empty if it was kept."""
    left_out: tuple[tuple[float | None, str], ...] = ()
    """Readings set aside that stand nearest to this one: °C or None, and why."""
    cone: float | None = None
    """The cone so far, on the ordinal scale."""

    def heading(self) -> str:
        """Time since the start, then the clock."""
        return f"{write_elapsed(self.at_s)}  {write_clock(self.started_at, self.at_s)}".strip()

    def difference(self, unit: Unit) -> str:
        """Logged less program, of the figures as they are shown, so that the sum is right.

        Nothing for a reading that was left out: it is no distance from anything.
        """
        if self.logged_c is None or self.program_c is None or self.why:
            return ""
        logged = round(shown_temperature(self.logged_c, unit))
        program = round(shown_temperature(self.program_c, unit))
        return write_signed(logged - program)

    def rows(self, unit: Unit) -> list[tuple[str, str, str]]:
        """Name, value, remark of each row."""
        found: list[tuple[str, str, str]] = []
        name = "as logged" if self.as_logged else "logged"
        if self.logged_c is not None:
            found.append((name, write_raw(self.logged_c, unit), ""))
        elif self.as_logged:
            found.append((name, "–", ""))
        if self.program_c is not None:
            program = show_temperature(self.program_c, unit)
            found.append(("program", program, self.difference(unit)))
        planned = self.program_rate_c_per_h
        asked = "" if planned is None else f"of {show_number(shown_rate(planned, unit))}"
        if self.rate_c_per_h is not None:
            found.append(("rate", show_rate(self.rate_c_per_h, unit), asked))
        elif planned is not None and self.logged_c is None:
            found.append(("rate", show_rate(planned, unit), ""))
        if self.cone is not None:
            found.append(("heat-work", f"cone {label_reached(self.cone)}", ""))
        return found

    def remarks(self, unit: Unit) -> list[str]:
        """What was set aside here, and why; each a line of its own."""
        if self.why:
            return [f"left out: {self.why}"]
        told = [
            f"left out beside it: {why}"
            if value is None
            else f"left out beside it: {write_raw(value, unit)}, {why}"
            for value, why in self.left_out[:_MOST_TOLD]
        ]
        more = len(self.left_out) - _MOST_TOLD
        return [*told, f"and {more} more"] if more > 0 else told

    def sentence(self, unit: Unit) -> str:
        """The same as one sentence, for a reader of the screen and for the clipboard."""
        clock = write_clock(self.started_at, self.at_s)
        parts = [write_elapsed(self.at_s) + (f", {clock}" if clock else "")]
        parts += [" ".join(filter(None, row)) for row in self.rows(unit)]
        parts += self.remarks(unit)
        return ("; ".join(parts) + ".").replace(THIN, " ")
