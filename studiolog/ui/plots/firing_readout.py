"""What the cursor of a firing plot reads, in words and in a box."""

from dataclasses import dataclass
from datetime import datetime

from studiolog.craft.units import THIN, show_number, show_rate, show_temperature
from studiolog.ui.plots.plot_ticks import (
    Unit,
    shown_rate,
    shown_temperature,
    write_clock,
    write_elapsed,
    write_signed,
)


@dataclass(frozen=True)
class Readout:
    """One reading under the cursor. °C and °C/h; None where there is nothing to tell."""

    at_s: float
    started_at: datetime | None
    logged_c: float | None
    program_c: float | None
    rate_c_per_h: float | None
    program_rate_c_per_h: float | None

    def heading(self) -> str:
        """Time since the start, then the clock."""
        return f"{write_elapsed(self.at_s)}  {write_clock(self.started_at, self.at_s)}".strip()

    def difference(self, unit: Unit) -> str:
        """Logged less program, of the figures as they are shown, so that the sum is right."""
        if self.logged_c is None or self.program_c is None:
            return ""
        logged = round(shown_temperature(self.logged_c, unit))
        program = round(shown_temperature(self.program_c, unit))
        return write_signed(logged - program)

    def rows(self, unit: Unit) -> list[tuple[str, str, str]]:
        """Name, value, remark of each row."""
        found: list[tuple[str, str, str]] = []
        if self.logged_c is not None:
            found.append(("logged", show_temperature(self.logged_c, unit), ""))
        if self.program_c is not None:
            program = show_temperature(self.program_c, unit)
            found.append(("program", program, self.difference(unit)))
        planned = self.program_rate_c_per_h
        asked = "" if planned is None else f"of {show_number(shown_rate(planned, unit))}"
        if self.rate_c_per_h is not None:
            found.append(("rate", show_rate(self.rate_c_per_h, unit), asked))
        elif planned is not None and self.logged_c is None:
            found.append(("rate", show_rate(planned, unit), ""))
        return found

    def sentence(self, unit: Unit) -> str:
        """The same as one sentence, for a reader of the screen and for the clipboard."""
        clock = write_clock(self.started_at, self.at_s)
        parts = [write_elapsed(self.at_s) + (f", {clock}" if clock else "")]
        parts += [" ".join(filter(None, row)) for row in self.rows(unit)]
        return ("; ".join(parts) + ".").replace(THIN, " ")
