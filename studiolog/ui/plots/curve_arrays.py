"""The arrays of one firing, cut, joined and smoothed once, for everything that paints it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from studiolog.ui.plots.curve_sums import (
    Numbers,
    as_numbers,
    cut_at_gaps,
    join_with_breaks,
    program_rate,
    program_rate_at,
    smooth_rate,
    value_at,
)
from studiolog.ui.plots.firing_readout import Readout
from studiolog.ui.plots.plotted_firing import PlotFiring
from studiolog.ui.plots.raw_arrays import RawArrays, arrange_raw


@dataclass(frozen=True)
class CurveArrays:
    """The arrays a picture is made of, prepared once per firing; rates in °C/h."""

    log_s: Numbers
    log_c: Numbers
    joined_s: Numbers
    joined_c: Numbers
    program_s: Numbers
    program_c: Numbers
    earlier_s: Numbers
    earlier_c: Numbers
    rate_s: Numbers
    rate: Numbers
    program_rate_s: Numbers
    program_rate: Numbers
    raw: RawArrays
    cone_s: Numbers
    cone: Numbers

    def any_curve(self, as_logged: bool = False) -> tuple[Numbers, Numbers]:
        """The log, or the program where nothing is logged yet; ``as_logged`` with all readings."""
        if as_logged and len(self.raw.at_s):
            return self.raw.at_s, self.raw.value
        if len(self.log_s):
            return self.log_s, self.log_c
        return self.program_s, self.program_c

    def read_at(self, index: int, firing: PlotFiring, as_logged: bool = False) -> Readout:
        """What stands at one reading of the log, or at one point of the program without a log."""
        logged = len(self.log_s) > 0
        times, values = self.any_curve(as_logged)
        at_s = float(times[index])
        value = float(values[index])
        return Readout(
            at_s=at_s,
            started_at=firing.started_at,
            logged_c=value if logged and not np.isnan(value) else None,
            as_logged=as_logged and logged,
            why=self.raw.why_of(index) if as_logged and logged else "",
            left_out=() if as_logged else self.raw.beside(self.log_s, index),
            cone=value_at(self.cone_s, self.cone, at_s) if logged else None,
            program_c=value_at(self.program_s, self.program_c, at_s),
            rate_c_per_h=self._rate_at(at_s) if logged else None,
            program_rate_c_per_h=program_rate_at(self.program_rate_s, self.program_rate, at_s),
        )

    def _rate_at(self, at_s: float) -> float | None:
        """The smoothed rate of the minute a time lies in; None beside a gap."""
        if not len(self.rate_s):
            return None
        near = nearest(self.rate_s, at_s)
        if abs(float(self.rate_s[near]) - at_s) > 60 or np.isnan(self.rate[near]):
            return None
        return float(self.rate[near])


def nearest(times: Numbers, when_s: float) -> int:
    """The place in rising times that is nearest to one."""
    after = int(np.searchsorted(times, when_s))
    if after == 0:
        return 0
    if after == len(times):
        return after - 1
    return after if times[after] - when_s < when_s - times[after - 1] else after - 1


def arrange_curves(firing: PlotFiring) -> CurveArrays:
    """Make the arrays of a firing; raises ValueError where times and temperatures differ."""
    log_s, log_c = as_numbers(firing.curve_s), as_numbers(firing.curve_c)
    program_s, program_c = as_numbers(firing.program_s), as_numbers(firing.program_c)
    if len(log_s) != len(log_c) or len(program_s) != len(program_c):
        raise ValueError("a curve needs as many temperatures as times")
    pieces = cut_at_gaps(log_s, log_c, firing.gaps)
    joined_s, joined_c = join_with_breaks(pieces)
    earlier = [(as_numbers(c.at_s), as_numbers(c.temperature_c)) for c in firing.earlier]
    earlier_s, earlier_c = join_with_breaks(earlier)
    rate_s, rate = join_with_breaks([smooth_rate(s, c) for s, c in pieces])
    program_rate_s, rates = program_rate(program_s, program_c)
    so_far = firing.heat_so_far
    return CurveArrays(
        log_s,
        log_c,
        joined_s,
        joined_c,
        program_s,
        program_c,
        earlier_s,
        earlier_c,
        rate_s,
        rate,
        program_rate_s,
        rates,
        arrange_raw(log_s, log_c, firing),
        as_numbers(so_far.at_s) if so_far is not None else np.empty(0),
        as_numbers(so_far.cone) if so_far is not None else np.empty(0),
    )


def span_of(curves: Sequence[Numbers], default: tuple[float, float]) -> tuple[float, float]:
    """Lowest and highest number of several arrays, NaN apart."""
    found = [c[~np.isnan(c)] for c in curves]
    found = [c for c in found if len(c)]
    if not found:
        return default
    return min(float(c.min()) for c in found), max(float(c.max()) for c in found)
