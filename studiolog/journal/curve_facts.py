"""What a curve says at a glance, for the firing page: figures, heat-work, and what to beware of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from studiolog.craft.firing.cleaning import mark_of_curve, thin_curve, trust_curve
from studiolog.craft.firing.cones import ordinal_of, whole_cones
from studiolog.craft.firing.curve import (
    WHY,
    CleanCurve,
    Crossing,
    Gap,
    clean_curve,
    summarize,
    time_above_s,
)
from studiolog.craft.firing.heat_along import HALVES, along_curve, passings_of
from studiolog.craft.firing.heatwork import (
    ConeEstimate,
    Passing,
    WorkShares,
    estimate_cone,
    share_work,
)
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

ABOVE_C = 1100.0
COOL_C = 100.0
_MOST = 60_000
_LONG = 100_000


@dataclass(frozen=True)
class SetAside:
    """A reading that no figure is told from: seconds, °C, and why, for a reader."""

    elapsed_s: float
    temperature_c: float
    why: str


@dataclass(frozen=True, eq=False)
class Along:
    """The cone so far (ordinal scale, NaN below the chart) at moments along a curve."""

    elapsed_s: NDArray[np.float64]
    cone: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CurveFacts:
    """Figures of one curve, in seconds since its start, °C and °C/h; None where not logged.

    ``estimate`` is the heat-work at the sensor with its interval; ``passings`` when each whole
    cone, 05½ and 5½ up to the one reached would have gone down; ``shares`` when the work was done;
    ``along`` the cone so far. ``set_aside`` are stored readings that were left out of all this,
    ``kept`` a mask over all of them.
    """

    peak_c: float
    duration_s: float
    above_1100_s: float
    to_100_s: float | None
    hold_min: float
    final_rate_c_per_h: float | None
    quartz_up: Crossing | None
    quartz_down: Crossing | None
    cooling_c_per_h: tuple[tuple[str, float | None], ...]
    gaps: tuple[Gap, ...]
    readings: int
    ends_at_peak: bool
    estimate: ConeEstimate | None
    passings: tuple[Passing, ...]
    shares: WorkShares | None = None
    along: Along | None = None
    set_aside: tuple[SetAside, ...] = ()
    kept: NDArray[np.bool_] | None = None


_KNOWN: dict[tuple[bytes, bool, bool, Limits], CurveFacts] = {}
"""The facts of the last long curve."""


def facts_of_curve(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    reduction: bool = False,
    typed: bool = False,
    limits: Limits = SHIPPED,
) -> CurveFacts:
    """The facts of one curve (seconds, °C). ``typed`` readings are taken as they stand.

    Raises UserProblem if nothing in it can be a kiln's temperature.
    """
    import numpy as np

    times = np.asarray(elapsed_s, dtype=np.float64)
    heats = np.asarray(temperature_c, dtype=np.float64)
    if times.size <= _LONG:
        return _facts_of(times, heats, reduction, typed, limits)
    # A page is read anew at every edit, and its long log is the same.
    asked = (mark_of_curve(times, heats), reduction, typed, limits)
    known = _KNOWN.get(asked)
    if known is None:
        known = _facts_of(times, heats, reduction, typed, limits)
        _KNOWN.clear()
        _KNOWN[asked] = known
    return known


def _facts_of(
    elapsed_s: NDArray[np.float64],
    temperature_c: NDArray[np.float64],
    reduction: bool,
    typed: bool,
    limits: Limits,
) -> CurveFacts:
    import numpy as np

    clean = trust_curve if typed else clean_curve
    curve = clean(elapsed_s, temperature_c)
    t, c = curve.elapsed_s, curve.temperature_c
    # What is told at a glance needs no more readings than a screen has columns, many times over.
    glance = trust_curve(*thin_curve(t, c, _MOST)) if t.size > _MOST else curve
    summary = summarize(glance, typed=typed, limits=limits)
    estimate: ConeEstimate | None = None
    passings: tuple[Passing, ...] = ()
    shares: WorkShares | None = None
    along: Along | None = None
    if t.size >= 2:
        estimate = estimate_cone(curve, reduction=reduction, limits=limits)
        passings = tuple(passings_of(curve, sorted((*whole_cones(), *HALVES), key=ordinal_of)))
        shares = share_work(curve, estimate.number, limits)
        # A thin log is joined by straight lines, and the work along them is not one.
        dense = np.union1d(t, np.arange(float(t[0]), float(t[-1]), 300.0)) if typed else t
        along = Along(dense, along_curve(trust_curve(dense, np.interp(dense, t, c))))
    peak_at = int(np.argmax(c))
    cool = np.flatnonzero(c[peak_at:] <= COOL_C)
    to_100_s = (
        float(t[peak_at + int(cool[0])] - t[0]) if cool.size and c[peak_at] > COOL_C else None
    )
    return CurveFacts(
        peak_c=float(c.max()),
        duration_s=summary.duration_s,
        above_1100_s=time_above_s(t, c, ABOVE_C),
        to_100_s=to_100_s,
        hold_min=summary.hold_min,
        final_rate_c_per_h=summary.final_rate_c_per_h,
        quartz_up=summary.quartz_up,
        quartz_down=summary.quartz_down,
        cooling_c_per_h=summary.cooling_c_per_h,
        gaps=summary.gaps,
        readings=int(t.size),
        ends_at_peak=summary.ends_at_peak,
        estimate=estimate,
        passings=passings,
        shares=shares,
        along=along,
        set_aside=_set_aside(curve),
        kept=curve.kept,
    )


def _set_aside(curve: CleanCurve) -> tuple[SetAside, ...]:
    import numpy as np

    return tuple(
        SetAside(
            float(curve.raw_elapsed_s[at]),
            float(curve.raw_temperature_c[at]),
            WHY.get(curve.why[at], "set aside"),
        )
        for at in np.flatnonzero(~curve.kept)
    )
