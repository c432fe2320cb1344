"""What the plot of a firing draws of its heat-work, and of the readings set aside."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from studiolog.craft.firing.cones import HIGHEST, LOWEST, cone_at, ordinal_of, show_cone
from studiolog.journal.firing_page import FiringPage, LoggedCurve
from studiolog.journal.raw_log import IN_THE_FILE
from studiolog.ui.plots.plotted_firing import (
    ConePassing,
    HeatSoFar,
    LeftOutReadings,
    PlotFiring,
    SteadyRise,
)

_HIDE = {"below_chart", "gap"}
"""What makes a steady ramp claim too much."""


def with_heat(plot: PlotFiring, page: FiringPage) -> PlotFiring:
    """A firing's plot with its cones, the cone so far and what was set aside; needs a log."""
    curve, facts = page.main_curve, page.facts
    if curve is None:
        return plot
    kept = facts.kept if facts is not None else None
    cleaned = kept is not None and not bool(kept.all())
    so_far = steady = None
    estimate = facts.estimate if facts is not None else None
    if facts is not None and facts.along is not None and np.isfinite(facts.along.cone).any():
        so_far = HeatSoFar(facts.along.elapsed_s, facts.along.cone)
    shares = facts.shares if facts is not None else None
    if estimate is not None and shares is not None and not _HIDE & set(estimate.flags):
        steady = SteadyRise(estimate.equivalent_rate_c_per_h, shares.peak_end_s, estimate.peak_c)
    return replace(
        plot,
        curve_s=curve.elapsed_s[kept] if cleaned else curve.elapsed_s,
        curve_c=curve.temperature_c[kept] if cleaned else curve.temperature_c,
        cone_passings=choose_passings(page),
        left_out=_left_out(page, curve),
        left_out_words=IN_THE_FILE if curve.left_out_in_file else "",
        heat_so_far=so_far,
        steady_rise=steady,
    )


def choose_passings(page: FiringPage) -> tuple[ConePassing, ...]:
    """The cones worth marking: those about the aim, the hottest passed, and 04 where bisque ends.

    Without an aim those about the hottest one.
    """
    facts = page.facts
    if facts is None or not facts.passings:
        return ()
    passed = [passing.cone for passing in facts.passings]
    hottest = max(passed, key=ordinal_of)
    aim = ordinal_of(page.cone) if page.cone else ordinal_of(hottest)
    whole = math.floor(aim)
    near = [aim, whole + 1, whole, whole - 1, whole - 2, whole - 5]
    wanted = {cone_at(number) for number in near if LOWEST <= number <= HIGHEST}
    wanted.add(hottest)
    if aim > 2:
        wanted.add("04")
    return tuple(
        ConePassing(show_cone(passing.cone), passing.elapsed_s, passing.temperature_c)
        for passing in facts.passings
        if passing.cone in wanted
    )


def _left_out(page: FiringPage, curve: LoggedCurve) -> LeftOutReadings | None:
    """What the log reader set aside, and what was set aside after it before any sum."""
    aside = page.facts.set_aside if page.facts is not None else ()
    read = curve.left_out
    if read is None and not aside:
        return None
    times = [np.array([reading.elapsed_s for reading in aside], dtype=np.float64)]
    values = [np.array([reading.temperature_c for reading in aside], dtype=np.float64)]
    why = [reading.why for reading in aside]
    if read is not None:
        times.append(read.elapsed_s)
        values.append(read.values)
        why += read.said()
    return LeftOutReadings(np.concatenate(times), np.concatenate(values), why)
