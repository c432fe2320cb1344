"""What a plot of compared firings is given, and the words that stand in it."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from studiolog.craft.units import show_temperature, show_temperature_step
from studiolog.ui.plots.compare_sums import Numbers, Singles
from studiolog.ui.plots.plot_ticks import Unit, shown_temperature, stored_rate, write_elapsed

_NOTHING = np.empty(0)


@dataclass(frozen=True)
class ComparedLine:
    """One firing in the plot: its id, its number and what else names it."""

    firing_id: int
    number: int
    words: str = ""


@dataclass(frozen=True, eq=False)
class ComparedLines:
    """Curves on one clock: a line each, and n x m °C with NaN where there is no reading.

    ``usual_c`` is what they are told against (empty: nothing), drawn dashed if ``usual_drawn``;
    ``low_c`` and ``high_c`` the band's edges (empty: no band). ``moment`` names what the clock
    counts from: "start", "1000 °C".
    """

    clock_s: Numbers = field(default_factory=lambda: _NOTHING)
    lines: tuple[ComparedLine, ...] = ()
    temperature_c: Singles = field(default_factory=lambda: np.empty((0, 0), dtype=np.float32))
    chosen: int | None = None
    usual_c: Numbers = field(default_factory=lambda: _NOTHING)
    usual_drawn: bool = True
    usual_words: str = "median"
    low_c: Numbers = field(default_factory=lambda: _NOTHING)
    high_c: Numbers = field(default_factory=lambda: _NOTHING)
    band_words: str = ""
    moment: str = "start"
    remark: str = ""
    """Said in the lower plot where there is nothing to tell against."""

    @property
    def step_s(self) -> float:
        """Seconds between two steps of the clock."""
        return float(self.clock_s[1] - self.clock_s[0]) if len(self.clock_s) > 1 else 60.0

    @property
    def has_usual(self) -> bool:
        """Whether there is something to tell against."""
        return len(self.usual_c) > 0

    @property
    def has_band(self) -> bool:
        """Whether there is a band."""
        return len(self.low_c) > 0

    @cached_property
    def difference_c(self) -> Singles:
        """Each curve less what is usual, n x m."""
        if not self.has_usual:
            return np.full_like(self.temperature_c, np.nan)
        return np.asarray(self.temperature_c - self.usual_c.astype(np.float32), dtype=np.float32)

    @cached_property
    def _places(self) -> dict[int, int]:
        return {one.firing_id: place for place, one in enumerate(self.lines)}

    def row_of(self, firing_id: int | None) -> int | None:
        """Where a firing stands among the lines."""
        return self._places.get(firing_id) if firing_id is not None else None

    def value(self, row: int, at_s: float) -> float | None:
        """°C of a line at a time of the clock; None where it has no reading."""
        return _value(self.clock_s, self.temperature_c[row], at_s)

    def usual_at(self, at_s: float) -> float | None:
        """What is usual at a time, °C."""
        return _value(self.clock_s, self.usual_c, at_s) if self.has_usual else None

    def write_time(self, at_s: float) -> str:
        """ "4 h 12 from the start", "0 h 30 before the peak"."""
        how = "from" if self.moment == "start" else "after" if at_s >= 0 else "before"
        the = "" if self.moment[0].isdigit() else "the "
        return f"{write_elapsed(abs(at_s))} {how} {the}{self.moment}"


def _value(clock_s: Numbers, values: Numbers | Singles, at_s: float) -> float | None:
    if not len(clock_s):
        return None
    step = clock_s[1] - clock_s[0] if len(clock_s) > 1 else 60.0
    place = (at_s - clock_s[0]) / step
    at = int(place)
    if place < 0 or at >= len(clock_s):
        return None
    after = min(at + 1, len(clock_s) - 1)
    found = float(values[at] + (values[after] - values[at]) * (place - at))
    return None if np.isnan(found) else found


@dataclass(frozen=True)
class ComparedReading:
    """What the cursor reads: a line at a time, and the chosen line beside it if it is another."""

    line: ComparedLine
    at_s: float
    time: str
    value_c: float
    usual_c: float | None
    usual_words: str
    chosen: ComparedLine | None = None
    chosen_c: float | None = None

    def rows(self, unit: Unit) -> list[str]:
        """The lines of the box."""
        found = [self.heading, self._told(self.value_c, unit)]
        if self.chosen is not None and self.chosen_c is not None:
            found.append(f"firing {self.chosen.number}  {self._told(self.chosen_c, unit)}")
        return [*found, self.time]

    @property
    def heading(self) -> str:
        """ "Firing 70, 2 Oct 2026"."""
        more = f", {self.line.words}" if self.line.words else ""
        return f"Firing {self.line.number}{more}"

    def _told(self, value_c: float, unit: Unit) -> str:
        text = show_temperature(value_c, unit)
        if self.usual_c is None:
            return text
        # Of the figures as they are shown, so that the sum is right.
        own, usual = (round(shown_temperature(one, unit)) for one in (value_c, self.usual_c))
        step = show_temperature_step(stored_rate(own - usual, unit), unit)
        return f"{text}, {step} against {self.usual_words}"

    def sentence(self, unit: Unit) -> str:
        """The same for a reader of the screen."""
        return "; ".join(self.rows(unit)) + "."
