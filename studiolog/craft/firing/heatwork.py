"""Heat-work: the cone a temperature curve amounts to.

The *equivalent ramp*. For each cone, the work its softening did over the whole curve, cooling
included, is set against that of a steady ramp to the same peak; the rate of the ramp that does
the same work tells, from the chart, where the cone would have gone down. The answer is where the
peak equals that end point. At the chart's own rates it returns the chart.

Makers say that one to two hours of soak bring the next cone down; this model is about twice as
fast, so holds are treated with humility by the interval.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from studiolog.craft.firing import cones as chart
from studiolog.craft.firing.cleaning import HOTTEST_C, CleanCurve, Gap, clean_curve, find_gaps
from studiolog.craft.firing.softening import KELVIN, ramp_share
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

# One sigma, judgement: a bare thermocouple, and one that witness cones have calibrated.
SIGMA_UNCALIBRATED_C: Final = 12.0
SIGMA_CALIBRATED_C: Final = 5.0

SLOWEST_C_PER_H: Final = 10.0
FASTEST_C_PER_H: Final = 300.0

FLAGS: Final[Mapping[str, str]] = {
    "gap": (
        "The log has a gap of more than ten minutes near its peak, so only an interval can be "
        "given: read the witness cones."
    ),
    "slow": (
        "The last stretch amounts to less than 10 °C/h, beyond what the chart covers: "
        "take the number with care."
    ),
    "fast": (
        "The last stretch amounts to more than 300 °C/h, beyond what the chart covers: "
        "take the number with care."
    ),
    "interrupted": (
        "The firing was interrupted after the cone had begun to soften; cones that cool and are "
        "heated again bend differently, so read the witness cones with care."
    ),
    "reduction": (
        "Reduction changes how iron-bearing cones bend: use iron-free cones where the chart has "
        "them, and trust the witness cones over this number."
    ),
    "below_chart": "The curve stayed below cone 022, the coolest on the chart.",
    "above_chart": "The curve went beyond cone 14, the hottest on the chart.",
}

_BELOW: Final = chart.LOWEST - 1.0
# A gap matters if it could move the number by this much.
_GAP_MATTERS: Final = 0.05
# 20 °C before its end point a cone begins to lean (the bend table).
_SOFTENS_BEFORE_C: Final = 20.0
_DIP_C: Final = 25.0
_REACH_C: Final = 250.0
_ROUNDING_C: Final = 0.01
_ROOM_C: Final = 20.0
_GAP_POINTS: Final = 60
# Cooling is quickest at first, and its start is what a gap hides.
_STEEPER_COOLING: Final = 1.5


@dataclass(frozen=True, slots=True)
class ConeEstimate:
    """What a curve amounts to.

    ``number`` is an ordinal (02 is −1, 01 is 0, 1 is 1), ``low`` to ``high`` one sigma around it
    (wider if a gap hides the peak), ``label`` the number for a reader, or the interval where a
    number would claim too much. ``flags`` are keys of :data:`FLAGS`; ``sentences`` says them.
    """

    number: float
    label: str
    low: float
    high: float
    flags: tuple[str, ...]
    equivalent_rate_c_per_h: float
    peak_c: float
    peak_elapsed_s: float
    sigma_c: float
    calibrated: bool
    kept: int
    dropped: int
    gaps: tuple[Gap, ...]

    @property
    def sentences(self) -> Mapping[str, str]:
        """The flags as sentences for the potter."""
        return {flag: FLAGS[flag] for flag in self.flags}

    @property
    def interval_label(self) -> str:
        """The interval for a reader: "6 −0.5 to 6 +0.4"."""
        return chart.label_between(self.low, self.high)

    @property
    def basis(self) -> str:
        """What the interval rests on, in words."""
        if self.calibrated:
            return f"corrected by this kiln's witness cones, ±{self.sigma_c:g} °C"
        return f"thermocouple not calibrated, ±{self.sigma_c:g} °C"


class Passing(NamedTuple):
    """When and where along a curve a cone would have gone down."""

    cone: str
    elapsed_s: float
    temperature_c: float


def equivalent_cone(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    calibrated: bool = False,
    sigma_c: float | None = None,
    offset_c: float = 0.0,
    reduction: bool = False,
) -> ConeEstimate:
    """The cone that a curve amounts to, with an interval and what to beware of.

    Seconds from any start and °C, one reading each, in any sampling. ``calibrated`` says that
    three or more witness readings stand behind ``offset_c``, the kiln level's offset in °C that
    is added to the curve's answer; ``sigma_c`` overrides the ±12 °C (or ±5 °C calibrated).

    Raises UserProblem for a curve with fewer than two readings; ValueError for sequences of
    different length. A curve too cool for any cone is an estimate flagged "below_chart".
    """
    curve = clean_curve(elapsed_s, temperature_c)
    return estimate_cone(
        curve, calibrated=calibrated, sigma_c=sigma_c, offset_c=offset_c, reduction=reduction
    )


def estimate_cone(
    curve: CleanCurve,
    *,
    calibrated: bool = False,
    sigma_c: float | None = None,
    offset_c: float = 0.0,
    reduction: bool = False,
) -> ConeEstimate:
    """:func:`equivalent_cone` of a curve that is already cleaned; raises `UserProblem` as it."""
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    if t.size < 2:
        raise UserProblem(
            "A single reading makes no curve: log at least two readings to get a cone from it."
        )
    usual = SIGMA_CALIBRATED_C if calibrated else SIGMA_UNCALIBRATED_C
    sigma = usual if sigma_c is None else sigma_c
    peak_at = int(np.argmax(c))
    peak = float(c[peak_at])

    excess, rates = _excess(t, c)
    gaps = find_gaps(t, c)
    hottest, hidden = excess, False
    if gaps:
        filled_t, filled_c = _fill_gaps(t, c, gaps)
        hottest, hottest_rates = _excess(filled_t, filled_c)
        could_move = _crossing(hottest, offset_c) - _crossing(excess, offset_c)
        near_c = peak - _SOFTENS_BEFORE_C
        hidden = could_move > _GAP_MATTERS or any(
            max(gap.start_c, gap.end_c) > near_c for gap in gaps
        )
        if hidden:
            rates = np.sqrt(rates * hottest_rates)
        else:
            hottest = excess
    number = (_crossing(excess, offset_c) + _crossing(hottest, offset_c)) / 2.0
    low = _crossing(excess, offset_c - sigma)
    high = _crossing(hottest, offset_c + sigma)
    rate = float(np.exp(np.interp(number, _model().ordinals, np.log(rates))))

    flags: list[str] = []
    if number < chart.LOWEST:
        flags.append("below_chart")
    elif float(excess[-1]) + offset_c > 0.0:
        flags.append("above_chart")
    if hidden:
        flags.append("gap")
    if "below_chart" not in flags:
        if rate < SLOWEST_C_PER_H:
            flags.append("slow")
        elif rate > FASTEST_C_PER_H:
            flags.append("fast")
        if _interrupted(t, c, number):
            flags.append("interrupted")
        if reduction:
            flags.append("reduction")

    if "below_chart" in flags:
        label = "below 022"
    elif "above_chart" in flags:
        label = "above 14"
    elif hidden:
        label = chart.label_between(low, high)
    else:
        label = chart.label_of(number)
    return ConeEstimate(
        number=number,
        label=label,
        low=low,
        high=high,
        flags=tuple(flags),
        equivalent_rate_c_per_h=rate,
        peak_c=peak,
        peak_elapsed_s=float(t[peak_at]),
        sigma_c=sigma,
        calibrated=calibrated,
        kept=int(t.size),
        dropped=int(curve.kept.size - t.size),
        gaps=gaps,
    )


def cone_passings(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    cones: Sequence[str] | None = None,
) -> list[Passing]:
    """When each cone would have gone down along a curve, by the heat-work so far.

    In order of time; cones that the curve never brings down are left out. Without ``cones``
    the whole cones of the chart are tried; half cones may be named ("5.5").
    """
    import numpy as np

    curve = clean_curve(elapsed_s, temperature_c)
    t, c = curve.elapsed_s, curve.temperature_c
    names = list(chart.whole_cones() if cones is None else cones)
    if t.size < 2 or not names:
        return []
    t, c = _densify(t, c)
    model = _fit_model(tuple(chart.parse_cone(name) for name in names))
    kelvin = c + KELVIN
    so_far_c = np.maximum.accumulate(c)
    peak = float(kelvin.max())
    passings: list[Passing] = []
    for row, name in enumerate(model.names):
        activation = float(model.activations[row])
        if so_far_c[-1] < model.lowest_c[row]:
            continue
        work = np.cumsum(_work(t, kelvin, np.array([[activation]]), peak)[0])
        so_far = so_far_c[1:] + KELVIN
        ramp = so_far * ramp_share(activation / so_far)
        # The ramp's work is scaled to the running peak, the sum to the highest one.
        scale = np.exp(np.clip(-activation * (1.0 / so_far - 1.0 / peak), -700.0, 0.0))
        rates = np.maximum(ramp * scale / np.maximum(work, 1e-300) * 3600.0, 1e-6)
        excess = so_far_c[1:] - model.end_points(np.log(rates), row)
        # A ramp that stops at the end point is down: no rounding may leave it standing.
        reached = np.flatnonzero(excess >= -_ROUNDING_C)
        if reached.size == 0:
            continue
        at = int(reached[0])
        share = 1.0
        if at > 0:
            share = min(1.0, float(-excess[at - 1] / (excess[at] - excess[at - 1])))
        passings.append(
            Passing(
                name,
                float(t[at] + share * (t[at + 1] - t[at])),
                float(c[at] + share * (c[at + 1] - c[at])),
            )
        )
    return sorted(passings, key=lambda passing: passing.elapsed_s)


# Inside --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Model:
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
        """End points in °C at ln(rate °C/h): a rate each for all rows, or many for one row."""
        import numpy as np

        at = slice(None) if rows is None else rows
        knots, ends = self.log_rates[at].T, self.ends_c[at].T
        slow, mid, fast = knots[0], knots[1], knots[2]
        lower = ends[0] + (log_rates - slow) * (ends[1] - ends[0]) / (mid - slow)
        upper = ends[1] + (log_rates - mid) * (ends[2] - ends[1]) / (fast - mid)
        inside = np.where(log_rates < mid, lower, upper)
        below = ends[0] + (log_rates - slow) * self.slow_widths[at]
        above = ends[2] + (log_rates - fast) * self.fast_widths[at]
        return np.where(log_rates < slow, below, np.where(log_rates > fast, above, inside))


@lru_cache(maxsize=64)
def _fit_model(names: tuple[str, ...]) -> _Model:
    import numpy as np

    # 15, 60 and 150 °C/h are the chart's rates; where it has no 15 the continuation gives it.
    rates = (15.0, 60.0, 150.0)
    ends = np.array([[chart.end_point(name, rate) for rate in rates] for name in names])
    return _Model(
        names=names,
        ordinals=np.array([chart.ordinal_of(name) for name in names]),
        activations=np.array([chart.activation_k(name) for name in names]),
        log_rates=np.tile(np.log(rates), (len(names), 1)),
        ends_c=ends,
        slow_widths=np.array(
            [chart.end_point(n, 15.0) - chart.end_point(n, 15.0 / np.e) for n in names]
        ),
        fast_widths=np.array(
            [chart.end_point(n, 150.0 * np.e) - chart.end_point(n, 150.0) for n in names]
        ),
        lowest_c=ends[:, 0] - 250.0,
    )


def _model() -> _Model:
    return _fit_model(chart.whole_cones())


def stretch_work_s(
    elapsed_s: ArrayLike, temperature_c: ArrayLike, activation: float, reference_k: float
) -> NDArray[np.float64]:
    """Seconds at ``reference_k`` that each stretch between two readings is worth to one cone.

    ``activation`` is the cone's E/R in kelvin (`cones.activation_k`); one value less than readings.
    """
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    kelvin = np.asarray(temperature_c, dtype=np.float64) + KELVIN
    work: NDArray[np.float64] = _work(t, kelvin, np.array([[activation]]), reference_k)[0]
    return work


def _work(t: Any, kelvin: Any, activations: Any, reference: float) -> Any:
    """Seconds at ``reference`` K that each stretch between readings is worth, a row per cone.

    Between two readings the temperature is a straight line and the rate all but exponential in
    it, so the stretch is worth the logarithmic mean of its ends: exact enough that sampling
    every minute or every ten gives the same cone.
    """
    import numpy as np

    power = np.maximum(-activations * (1.0 / kelvin - 1.0 / reference)[None, :], -700.0)
    rate = np.exp(power)
    rise = np.diff(power, axis=1)
    small = np.abs(rise) < 1e-4
    mean = np.where(
        small,
        (rate[:, 1:] + rate[:, :-1]) / 2.0,
        np.diff(rate, axis=1) / np.where(small, 1.0, rise),
    )
    return mean * np.diff(t)[None, :]


def _excess(t: Any, c: Any) -> tuple[Any, Any]:
    """For each whole cone: °C by which the peak passes its end point, and the equivalent rate."""
    import numpy as np

    model = _model()
    peak_c = float(c.max())
    peak = peak_c + KELVIN
    # Cones far from the peak are down, or standing, at any rate a kiln can have: they get the
    # chart's 60 °C/h, and only those within reach are summed up.
    excess = peak_c - model.ends_c[:, 1]
    rates = np.full(excess.size, 60.0)
    near = np.flatnonzero(np.abs(excess) < _REACH_C)
    if near.size:
        activations = model.activations[near]
        # What is far below the peak does no work worth counting: under a millionth, by any cone.
        widest = peak * peak / float(activations.min())
        hot = np.flatnonzero(c > peak_c - 14.0 * widest)
        first, last = max(int(hot[0]) - 1, 0), min(int(hot[-1]) + 2, t.size)
        kelvin = c[first:last] + KELVIN
        worth = _work(t[first:last], kelvin, activations[:, None], peak).sum(axis=1)
        ramp = peak * ramp_share(activations / peak)
        rates[near] = ramp / np.maximum(worth, 1e-9) * 3600.0
        excess[near] = peak_c - model.end_points(np.log(rates[near]), near)
    # Neighbouring cones cross at very slow rates on the chart; a cooler cone cannot be standing
    # while a hotter one is down.
    falling = np.minimum.accumulate(excess)
    rising = np.maximum.accumulate(excess[::-1])[::-1]
    return (falling + rising) / 2.0, rates


def _crossing(excess: Any, offset_c: float) -> float:
    """The ordinal at which the excess passes through zero; 022 − 1 if even 022 stands."""
    import numpy as np

    ordinals = _model().ordinals
    shifted = excess + offset_c
    if shifted[0] < 0.0:
        return max(_BELOW, float(ordinals[0] + shifted[0] / max(shifted[0] - shifted[1], 1.0)))
    if shifted[-1] >= 0.0:
        return float(ordinals[-1])
    at = int(np.flatnonzero(shifted >= 0.0)[-1])
    return float(ordinals[at] + shifted[at] / (shifted[at] - shifted[at + 1]))


def _fill_gaps(t: Any, c: Any, gaps: Sequence[Gap]) -> tuple[Any, Any]:
    """The curve with the hottest course each gap could plausibly hide put into it.

    On from before the gap at the rate it had, back from after it along the cooling found there,
    to where the two meet. A kiln left to itself cools by a share of its excess over the room, so
    cooling was quicker the further back, and half as much again is allowed for.
    """
    import numpy as np

    times, temps = [t], [c]
    for gap in gaps:
        span = gap.end_s - gap.start_s
        into = np.linspace(0.0, span, _GAP_POINTS + 2)[1:-1]
        up = gap.start_c + max(_rate_near(t, c, gap.start_s, -1), 0.0) * into
        after = _rate_near(t, c, gap.end_s, +1)
        if after < 0.0:
            excess = max(gap.end_c - _ROOM_C, 1.0)
            share = -after * _STEEPER_COOLING / excess
            back = _ROOM_C + excess * np.exp(np.minimum(share * (span - into), 20.0))
        else:
            back = gap.end_c - after * (span - into)
        chord = gap.start_c + (gap.end_c - gap.start_c) * into / span
        course = np.maximum(np.minimum(up, back), chord)
        if bool((course > chord + _ROUNDING_C).any()):
            times.append(gap.start_s + into)
            temps.append(np.minimum(course, HOTTEST_C))
    if len(times) == 1:
        return t, c
    all_t = np.concatenate(times)
    order = np.argsort(all_t, kind="stable")
    return all_t[order], np.concatenate(temps)[order]


def _rate_near(t: Any, c: Any, at_s: float, side: int) -> float:
    """°C per second over the quarter of an hour before (−1) or after (+1) a reading."""
    import numpy as np

    reach = 900.0
    if side < 0:
        near = np.flatnonzero((t <= at_s) & (t >= at_s - reach))
        near = near if near.size > 1 else np.flatnonzero(t <= at_s)[-2:]
    else:
        near = np.flatnonzero((t >= at_s) & (t <= at_s + reach))
        near = near if near.size > 1 else np.flatnonzero(t >= at_s)[:2]
    if near.size < 2:
        return 0.0
    slopes = np.diff(c[near]) / np.diff(t[near])
    return float(np.median(slopes))


def _interrupted(t: Any, c: Any, number: float) -> bool:
    """True if the heat dropped and came back after the cone had begun to lean."""
    import numpy as np

    peak_c = float(c.max())
    before = np.maximum.accumulate(c)
    after = np.maximum.accumulate(c[::-1])[::-1]
    dips = np.flatnonzero(np.minimum(before, after) - c > _DIP_C)
    if dips.size == 0:
        return False
    activation = float(np.interp(number, _model().ordinals, _model().activations))
    peak = peak_c + KELVIN
    work = np.cumsum(_work(t, c + KELVIN, np.array([[activation]]), peak)[0])
    share = work[np.maximum(dips - 1, 0)] / work[-1]
    leaning = float(np.exp(-_SOFTENS_BEFORE_C * activation / (peak * peak)))
    # Work done while cooling for good counts for nothing here: the dip must be left again for a
    # heat that still bends the cone.
    return bool(((share > leaning) & (after[dips] > peak_c - 4.0 * _SOFTENS_BEFORE_C)).any())


def _densify(t: Any, c: Any) -> tuple[Any, Any]:
    """Points on the straight lines between readings, 5 °C apart or closer, for a fine passing."""
    import numpy as np

    counts = np.clip(np.ceil(np.abs(np.diff(c)) / 5.0), 1, 200).astype(int)
    if int(counts.max()) == 1:
        return t, c
    starts = np.concatenate(([0], np.cumsum(counts)))
    places = np.interp(np.arange(starts[-1] + 1), starts, np.arange(t.size))
    index = np.arange(t.size)
    return np.interp(places, index, t), np.interp(places, index, c)
