"""The equivalent ramp: what a curve's work amounts to as a steady rise to the same peak.

For each cone, the work its softening did over the whole curve, cooling included, is set against
that of a steady ramp to the same peak; the rate of the ramp that does the same work tells, from
the chart, where the cone would have gone down. At the chart's own rates it returns the chart.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing import cones as chart
from studiolog.craft.firing.softening import KELVIN, ramp_share

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

REGULAR: Final = "self-supporting"

# Cones farther from the peak are down, or standing, at any rate a kiln can have.
REACH_C: Final = 250.0
_LEAST_WORK_S: Final = 1e-9
# Long logs are summed piece by piece: what fits a processor's cache is quickest.
_PIECE: Final = 8192


@dataclass(frozen=True, slots=True, eq=False)
class ChartModel:
    """Chart and softening of some cones as arrays: one row a cone."""

    names: tuple[str, ...]
    ordinals: Any
    activations: Any
    log_rates: Any
    ends_c: Any
    slow_widths: Any
    fast_widths: Any
    lowest_c: Any

    def end_points(self, log_rates: Any, rows: Any = None) -> Any:
        """End points in °C at ln(rate °C/h).

        A rate each for all rows; many for one row; or, without rows, a row of rates for each.
        """
        import numpy as np

        at = slice(None) if rows is None else rows
        if np.ndim(log_rates) == 2:
            at = (at, None)
        slow, mid, fast = (self.log_rates[:, place][at] for place in range(3))
        ends = [self.ends_c[:, place][at] for place in range(3)]
        lower = ends[0] + (log_rates - slow) * (ends[1] - ends[0]) / (mid - slow)
        upper = ends[1] + (log_rates - mid) * (ends[2] - ends[1]) / (fast - mid)
        inside = np.where(log_rates < mid, lower, upper)
        below = ends[0] + (log_rates - slow) * self.slow_widths[at]
        above = ends[2] + (log_rates - fast) * self.fast_widths[at]
        return np.where(log_rates < slow, below, np.where(log_rates > fast, above, inside))

    def activation_at(self, number: float) -> float:
        """E/R in kelvin at a place between cones, on the ordinal scale."""
        import numpy as np

        return float(np.interp(number, self.ordinals, self.activations))


@lru_cache(maxsize=64)
def fit_model(names: tuple[str, ...], kind: str = REGULAR) -> ChartModel:
    """The model of the cones named, of one kind. Raises `UserProblem` where its chart has none."""
    import numpy as np

    # 15, 60 and 150 °C/h are the chart's rates; where it has no 15 the continuation gives it.
    rates = (15.0, 60.0, 150.0)

    def ends_at(rate: float) -> Any:
        return np.array([chart.end_point(name, rate, kind) for name in names])

    ends = np.stack([ends_at(rate) for rate in rates], axis=1)
    return ChartModel(
        names=names,
        ordinals=np.array([chart.ordinal_of(name) for name in names]),
        activations=np.array([chart.activation_k(name, kind) for name in names]),
        log_rates=np.tile(np.log(rates), (len(names), 1)),
        ends_c=ends,
        slow_widths=ends[:, 0] - ends_at(15.0 / float(np.e)),
        fast_widths=ends_at(150.0 * float(np.e)) - ends[:, 2],
        lowest_c=ends[:, 0] - REACH_C,
    )


def whole_model(kind: str = REGULAR) -> ChartModel:
    """The model of a kind's whole cones: the scale that a number is told on, from 022 to 14.

    Other kinds than the regular ones have a part of it. Raises `UserProblem` for no kind of cone.
    """
    if kind == REGULAR:
        return fit_model(chart.whole_cones())
    charted = chart.charted_cones(kind, from_memory=False)
    return fit_model(tuple(n for n in charted if chart.ordinal_of(n) % 1.0 == 0.0), kind)


def stretch_work_s(
    elapsed_s: ArrayLike, temperature_c: ArrayLike, activation: float, reference_k: float
) -> NDArray[Any]:
    """Seconds at ``reference_k`` that each stretch between two readings is worth to one cone.

    ``activation`` is the cone's E/R in kelvin (`cones.activation_k`); one value less than readings.
    """
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    kelvin = np.asarray(temperature_c, dtype=np.float64) + KELVIN
    work: NDArray[Any] = work_s(t, kelvin, np.array([[activation]]), reference_k)[0]
    return work


def work_s(t: Any, kelvin: Any, activations: Any, reference_k: float) -> Any:
    """As :func:`stretch_work_s`, of readings in kelvin, for a column of cones: a row a cone.

    Between two readings the temperature is a straight line and the rate all but exponential in
    it, so the stretch is worth the logarithmic mean of its ends: exact enough that sampling
    every minute or every ten gives the same cone.
    """
    import numpy as np

    power = np.maximum(-activations * (1.0 / kelvin - 1.0 / reference_k)[None, :], -700.0)
    rate = np.exp(power)
    rise = np.diff(power, axis=1)
    small = np.abs(rise) < 1e-4
    mean = np.where(
        small,
        (rate[:, 1:] + rate[:, :-1]) / 2.0,
        np.diff(rate, axis=1) / np.where(small, 1.0, rise),
    )
    return mean * np.diff(t)[None, :]


def excess_of(t: Any, c: Any, model: ChartModel) -> tuple[Any, Any]:
    """For each cone of a model: °C by which the peak passes its end point, and the equivalent rate.

    Of cleaned readings (seconds, °C). The excess never rises from a cone to a hotter one.
    """
    import numpy as np

    peak_c = float(c.max())
    peak = peak_c + KELVIN
    # Cones far from the peak get the chart's 60 °C/h, and only those within reach are summed up.
    excess = peak_c - model.ends_c[:, 1]
    rates = np.full(excess.size, 60.0)
    near = np.flatnonzero(np.abs(excess) < REACH_C)
    if near.size:
        activations = model.activations[near]
        # What is far below the peak does no work worth counting: under a millionth, by any cone.
        widest = peak * peak / float(activations.min())
        hot = np.flatnonzero(c > peak_c - 14.0 * widest)
        first, last = max(int(hot[0]) - 1, 0), min(int(hot[-1]) + 2, t.size)
        worth = np.zeros(near.size)
        for begin in range(first, max(last - 1, first + 1), _PIECE):
            piece = slice(begin, min(begin + _PIECE + 1, last))
            worth += work_s(t[piece], c[piece] + KELVIN, activations[:, None], peak).sum(axis=1)
        ramp = peak * ramp_share(activations / peak)
        rates[near] = ramp / np.maximum(worth, _LEAST_WORK_S) * 3600.0
        excess[near] = peak_c - model.end_points(np.log(rates[near]), near)
    return in_order(excess), rates


def excess_along(t: Any, c: Any) -> Any:
    """As :func:`excess_of`, by the heat-work so far: a row a whole cone, a column a reading."""
    import numpy as np

    model = whole_model()
    activations = model.activations[:, None]
    peaks_c = np.maximum.accumulate(c)
    peaks, highest = peaks_c + KELVIN, float(peaks_c[-1]) + KELVIN
    excess = peaks_c[None, :] - model.ends_c[:, 1][:, None]
    sums = np.cumsum(work_s(t, c + KELVIN, activations, highest), axis=1)
    so_far = np.concatenate((np.zeros((activations.size, 1)), sums), axis=1)
    near = np.abs(excess) < REACH_C
    # The sum is told at the highest peak, each ramp at the peak so far.
    scale = np.exp(np.maximum(-activations * (1.0 / peaks - 1.0 / highest), -700.0))
    worth = np.maximum(np.where(near, so_far / scale, 1.0), _LEAST_WORK_S)
    rates = peaks * ramp_share(activations / peaks) / worth * 3600.0
    reached = peaks_c[None, :] - model.end_points(np.log(rates))
    return in_order(np.where(near, reached, excess))


def in_order(excess: Any) -> Any:
    """The excess of cones, coolest first, so that a hotter one is never down before a cooler.

    Neighbouring cones cross at very slow rates on the chart.
    """
    import numpy as np

    falling = np.minimum.accumulate(excess, axis=0)
    rising = np.maximum.accumulate(excess[::-1], axis=0)[::-1]
    return (falling + rising) / 2.0


def crossing(excess: Any, model: ChartModel, offset_c: float = 0.0) -> float:
    """The ordinal at which the excess passes through zero.

    Up to one below the coolest cone if even that one stands.
    """
    import numpy as np

    ordinals = model.ordinals
    shifted = excess + offset_c
    if shifted[0] < 0.0:
        part = float(shifted[0] / max(shifted[0] - shifted[1], 1.0))
        return float(ordinals[0]) + max(-1.0, part)
    if shifted[-1] >= 0.0:
        return float(ordinals[-1])
    at = int(np.flatnonzero(shifted >= 0.0)[-1])
    return float(ordinals[at] + shifted[at] / (shifted[at] - shifted[at + 1]))


def crossings_along(excess: Any) -> Any:
    """The ordinal of :func:`crossing` for each column; NaN where even 022 stands."""
    import numpy as np

    ordinals = whole_model().ordinals
    columns = np.arange(excess.shape[1])
    down = (excess >= 0.0).sum(axis=0)
    at = np.clip(down - 1, 0, ordinals.size - 2)
    upper, lower = excess[at, columns], excess[at + 1, columns]
    steps = np.where(upper > lower, upper - lower, 1.0)
    numbers = ordinals[at] + np.clip(upper / steps, 0.0, 1.0)
    return np.where(down == 0, np.nan, np.where(down == ordinals.size, ordinals[-1], numbers))
