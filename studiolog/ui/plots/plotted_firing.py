"""What a firing plot is given: plain frozen values, independent of where they were read.

Times are seconds since the start of the firing, temperatures °C, rates °C/h, whatever unit the
potter reads; the plot turns them into °F when it writes them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numeric: TypeAlias = Sequence[float] | NDArray[np.float64]
    """Plain numbers, or an array of them: long logs come as arrays."""

Span = tuple[float, float]
"""Start and end, in seconds since the start of the firing."""


@dataclass(frozen=True)
class PlottedCurve:
    """One curve: equally long sequences of seconds and °C, seconds rising."""

    name: str
    at_s: Numeric
    temperature_c: Numeric


@dataclass(frozen=True, eq=False)
class LeftOutReadings:
    """Readings no figure is told from: seconds, °C (NaN where there was none), and why of each."""

    at_s: Numeric
    temperature_c: Numeric
    why: Sequence[str]


@dataclass(frozen=True, eq=False)
class HeatSoFar:
    """The cone so far (ordinal scale, NaN below the chart) at rising seconds."""

    at_s: Numeric
    cone: Numeric


@dataclass(frozen=True)
class SteadyRise:
    """The steady ramp that does the work of the whole curve by the same peak."""

    rate_c_per_h: float
    end_s: float
    peak_c: float


@dataclass(frozen=True)
class PlottedSegment:
    """One step of the program, where the log says it happened.

    Rates are written in the unit the potter reads. A text goes before its rate and may stand
    alone ("hold 15 min", "left to cool").
    """

    number: int
    start_s: float
    end_s: float
    planned_rate_c_per_h: float | None = None
    logged_rate_c_per_h: float | None = None
    planned_text: str = ""
    logged_text: str = ""


@dataclass(frozen=True)
class ConePassing:
    """The heat-work of the curve passed a cone's end point."""

    label: str
    at_s: float
    temperature_c: float


@dataclass(frozen=True)
class QuartzCrossing:
    """The curve crossed 573 °C, at a rate: positive going up."""

    at_s: float
    rate_c_per_h: float


@dataclass(frozen=True)
class PlotFiring:
    """Everything one firing plot draws. Empty sequences are fine."""

    curve_s: Numeric = ()
    curve_c: Numeric = ()
    extra_channels: tuple[PlottedCurve, ...] = ()
    program_s: Numeric = ()
    program_c: Numeric = ()
    started_at: datetime | None = None
    segments: tuple[PlottedSegment, ...] = ()
    cone_passings: tuple[ConePassing, ...] = ()
    aimed_cone: str = ""
    hold_band: Span | None = None
    slow_cool_band: Span | None = None
    gaps: tuple[Span, ...] = ()
    earlier: tuple[PlottedCurve, ...] = ()
    quartz_crossings: tuple[QuartzCrossing, ...] = ()
    by_hand: bool = False
    """Whether the curve was read by hand: each reading is a dot, a single one too."""
    dropped_count: int = 0
    left_out: LeftOutReadings | None = None
    """The readings set aside; None where only their count is known, or where there are none."""
    left_out_words: str = ""
    """Where the readings set aside are, if they can't be shown."""
    heat_so_far: HeatSoFar | None = None
    steady_rise: SteadyRise | None = None
    number: str = ""
    """The firing's number, for the key."""
    where: str = ""
    """Where the probe is: "probe at the middle shelf"."""
    no_log_words: str = "No log yet: drop a file or type readings"
    """Said in the plot while there is no log; empty for a program by itself."""
    rate_note: tuple[str, str] = ("", "")
    """A warning to read beside the rate, and what to do about it."""
