"""Heat-work in time: when each cone would have gone down, and when the work was done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from studiolog.craft.firing import cones as chart
from studiolog.craft.firing.cleaning import CleanCurve, clean_curve, thin_curve
from studiolog.craft.firing.equivalent_ramp import (
    crossings_along,
    excess_along,
    fit_model,
    whole_model,
    work_s,
)
from studiolog.craft.firing.softening import KELVIN, ramp_share
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

HALVES: Final = ("05.5", "5.5")
"""The half cones that the chart has."""

_ROUNDING_C: Final = 0.01
# A thermometer at rest trembles by about this: the top ends with the last reading so near it.
_TREMBLE_C: Final = 1.0
# More readings than any screen has pixels add nothing to what is told along the curve.
_MOST: Final = 12000
_COOL_C: Final = 250.0
_LEAST: Final = 0.025

_PARTS: Final = (
    (0.05, "a twentieth"),
    (0.1, "a tenth"),
    (1 / 6, "a sixth"),
    (0.2, "a fifth"),
    (0.25, "a quarter"),
    (1 / 3, "a third"),
    (0.4, "two fifths"),
    (0.5, "half"),
    (0.6, "three fifths"),
    (2 / 3, "two thirds"),
    (0.75, "three quarters"),
    (0.8, "four fifths"),
    (0.9, "nine tenths"),
)


class Passing(NamedTuple):
    """When and where along a curve a cone would have gone down."""

    cone: str
    elapsed_s: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class WorkShares:
    """When the work of the cone reached was done, as shares of the whole that add up to 1.

    ``rising`` until the curve was first near its peak, ``at_peak`` from there until it left the
    top, ``after_peak`` while cooling. The moments are in the curve's own seconds.
    """

    rising: float
    at_peak: float
    after_peak: float
    near_from_s: float
    peak_end_s: float

    @property
    def held_min(self) -> float:
        """Minutes from first near the peak until the top was left."""
        return (self.peak_end_s - self.near_from_s) / 60.0


def cone_passings(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    cones: Sequence[str] | None = None,
) -> list[Passing]:
    """When each cone would have gone down along a curve, by the heat-work so far.

    In order of time; cones that the curve never brings down are left out. Without ``cones``
    the whole cones of the chart are tried; half cones may be named ("5.5").
    """
    return passings_of(clean_curve(elapsed_s, temperature_c), cones)


def passings_of(curve: CleanCurve, cones: Sequence[str] | None = None) -> list[Passing]:
    """:func:`cone_passings` of a curve that is already cleaned."""
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    names = list(chart.whole_cones() if cones is None else cones)
    if t.size < 2 or not names:
        return []
    t, c = _densify(*thin_curve(t, c, _MOST))
    model = fit_model(tuple(chart.parse_cone(name) for name in names))
    kelvin = c + KELVIN
    so_far_c = np.maximum.accumulate(c)
    peak = float(kelvin.max())
    passings: list[Passing] = []
    for row, name in enumerate(model.names):
        activation = float(model.activations[row])
        if so_far_c[-1] < model.lowest_c[row]:
            continue
        work = np.cumsum(work_s(t, kelvin, np.array([[activation]]), peak)[0])
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


def cone_along(elapsed_s: ArrayLike, temperature_c: ArrayLike) -> NDArray[np.float64]:
    """The cone so far at each reading given (seconds, °C), on the ordinal scale.

    NaN until cone 022 would have gone down, and where a reading was set aside. It never falls, and
    ends at the number of :func:`.heatwork.equivalent_cone` where no gap hides heat.
    """
    import numpy as np

    curve = clean_curve(elapsed_s, temperature_c)
    along = np.full(curve.kept.size, np.nan)
    places = np.flatnonzero(curve.kept)
    # Cleaned readings are in order of time, those given may not be.
    along[places[np.argsort(curve.raw_elapsed_s[places], kind="stable")]] = along_curve(curve)
    return along


def along_curve(curve: CleanCurve) -> NDArray[np.float64]:
    """:func:`cone_along` of a curve that is already cleaned: a value for each reading kept."""
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    along = np.full(t.size, np.nan)
    thin_t, thin_c = thin_curve(t, c, _MOST)
    warm = np.flatnonzero(thin_c >= _COOL_C)
    if t.size < 2 or not warm.size:
        return along
    first = max(int(warm[0]) - 1, 0)
    thin_t, thin_c = thin_t[first:], thin_c[first:]
    if thin_t.size < 2:
        return along
    numbers = np.fmax.accumulate(crossings_along(excess_along(thin_t, thin_c)))
    told = np.flatnonzero(np.isfinite(numbers))
    if told.size:
        late = t >= thin_t[told[0]]
        along[late] = np.interp(t[late], thin_t[told], numbers[told])
    return along


def share_work(curve: CleanCurve, number: float, limits: Limits = SHIPPED) -> WorkShares | None:
    """When the work on the cone ``number`` (ordinal) was done along a cleaned curve.

    None where there is no work to share: fewer than two readings, or a kiln that stayed cold.
    """
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    if t.size < 2 or float(c.max()) < _COOL_C:
        return None
    peak = float(c.max())
    activation = whole_model().activation_at(number)
    work = work_s(t, c + KELVIN, np.array([[activation]]), peak + KELVIN)[0]
    done = np.concatenate(([0.0], np.cumsum(work)))
    if not done[-1] > 0.0:
        return None
    near = int(np.flatnonzero(c >= peak - limits["near_peak_c"])[0])
    near_s = float(t[near])
    if near > 0:
        low, high = float(c[near - 1]), float(c[near])
        part = (peak - limits["near_peak_c"] - low) / (high - low)
        near_s = float(t[near - 1] + part * (t[near] - t[near - 1]))
    end = int(np.flatnonzero(c >= peak - _TREMBLE_C)[-1])
    end_s = float(t[end])
    rising, risen = np.interp([near_s, end_s], t, done / done[-1])
    return WorkShares(
        float(rising), float(risen - rising), float(1.0 - risen), near_s, max(end_s, near_s)
    )


def say_share(share: float) -> str:
    """A share in words: "a fifth"; "hardly any" and "all but all" at the ends."""
    if share < _LEAST:
        return "hardly any"
    if share > 0.95:
        return "all but all"
    return min(_PARTS, key=lambda part: abs(part[0] - share))[1]


def say_shares(shares: WorkShares) -> str:
    """When the work was done, as a sentence: "About a fifth of the work was done after …"."""
    after = say_share(shares.after_peak)
    first = f"{after[0].upper()}{after[1:]}" if shares.after_peak < _LEAST else f"About {after}"
    return (
        f"{first} of the work was done after the peak, "
        f"{say_share(shares.at_peak)} of it at the peak, {say_share(shares.rising)} on the way up."
    )


# Inside --------------------------------------------------------------------------------------


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
