"""Heat-work: the cone a temperature curve amounts to.

By the *equivalent ramp* (:mod:`.equivalent_ramp`): the answer is where the peak equals the end
point that the chart gives at the rate of the ramp that does the same work. What happened when
along the curve is in :mod:`.heat_along`.

Makers say that one to two hours of soak bring the next cone down; this model is about twice as
fast, so holds are treated with humility by the interval, and in words by `say_humbly`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from studiolog.craft.firing import cones as chart
from studiolog.craft.firing.cleaning import CleanCurve, Gap, clean_curve, find_gaps
from studiolog.craft.firing.equivalent_ramp import (
    REGULAR,
    crossing,
    excess_of,
    stretch_work_s,
    whole_model,
)
from studiolog.craft.firing.heat_along import (
    Passing,
    WorkShares,
    cone_along,
    cone_passings,
    say_shares,
    share_work,
)
from studiolog.craft.firing.hidden_heat import SOFTENS_BEFORE_C, fill_gaps, was_interrupted
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_degrees, show_quantity, show_rate
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "FLAGS",
    "ConeEstimate",
    "Passing",
    "WorkShares",
    "cone_along",
    "cone_passings",
    "equivalent_cone",
    "estimate_cone",
    "say_flags",
    "say_humbly",
    "say_shares",
    "share_work",
    "stretch_work_s",
]

FLAGS: Final[Mapping[str, str]] = {
    "gap": (
        "The log has a gap of more than {gap} near its peak, so only an interval can be "
        "given: read the witness cones."
    ),
    "slow": (
        "The last stretch amounts to less than {slow}, beyond what the chart covers: "
        "take the number with care."
    ),
    "fast": (
        "The last stretch amounts to more than {fast}, beyond what the chart covers: "
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
    "below_chart": "The curve stayed below cone {coolest}, the coolest on the chart.",
    "above_chart": "The curve went beyond cone {hottest}, the hottest on the chart.",
}
"""What to beware of, by key; the limits in braces are put in by `say_flags`."""

# A gap matters if it could move the number by this much.
_GAP_MATTERS: Final = 0.05


def say_flags(
    flags: Iterable[str], limits: Limits = SHIPPED, scale: str = "C", kind: str = REGULAR
) -> dict[str, str]:
    """Flags as sentences by key, with the limits in force and in the scale the potter reads.

    A key that is not of :data:`FLAGS` is passed over: it may come from a newer program's journal.
    """
    told = {
        "gap": show_quantity(limits["gap_min"], "minutes"),
        "slow": show_rate(limits["slow_c_per_h"], scale),
        "fast": show_rate(limits["fast_c_per_h"], scale),
        "coolest": whole_model(kind).names[0],
        "hottest": whole_model(kind).names[-1],
    }
    return {flag: FLAGS[flag].format(**told) for flag in flags if flag in FLAGS}


def say_humbly(held_min: float, limits: Limits = SHIPPED) -> str:
    """What to think of a hold's part in the number; empty for a short hold.

    Makers' rule of thumb (published): one to two hours of soak bring the next cone down.
    """
    if held_min < limits["humble_hold_min"]:
        return ""
    return (
        "Makers say that one to two hours of soak bring the next cone down; this reckoning is "
        "about twice as fast, so take what the hold adds with humility."
    )


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
    limits: Limits = field(default=SHIPPED, repr=False)
    kind: str = REGULAR

    @property
    def sentences(self) -> Mapping[str, str]:
        """The flags as sentences for the potter."""
        return say_flags(self.flags, self.limits, kind=self.kind)

    @property
    def interval_label(self) -> str:
        """The interval for a reader: "6 −0.5 to 6 +0.4"."""
        return chart.label_between(self.low, self.high)

    @property
    def basis(self) -> str:
        """What the interval rests on, in words."""
        return self.say_basis()

    def say_basis(self, scale: str = "C") -> str:
        """What the interval rests on, in words, in the scale the potter reads."""
        width = f"±{show_degrees(self.sigma_c, scale)}"
        if self.calibrated:
            return f"corrected by this kiln's witness cones, {width}"
        return f"thermocouple not calibrated, {width}"


def equivalent_cone(
    elapsed_s: ArrayLike,
    temperature_c: ArrayLike,
    *,
    calibrated: bool = False,
    sigma_c: float | None = None,
    offset_c: float = 0.0,
    reduction: bool = False,
    limits: Limits = SHIPPED,
    kind: str = REGULAR,
) -> ConeEstimate:
    """The cone that a curve amounts to, with an interval and what to beware of.

    Seconds from any start and °C, one reading each, in any sampling. ``calibrated`` says that
    enough witness readings stand behind ``offset_c``, the kiln level's offset in °C that is added
    to the curve's answer; ``sigma_c`` overrides the limits' ±12 °C (or ±5 °C calibrated). ``kind``
    tells the answer on the chart of other cones (`cones.KINDS`): never mix them on one scale.

    Raises UserProblem for fewer than two readings, or no kind of cone; ValueError for sequences of
    different length. A curve too cool for any cone is an estimate flagged "below_chart".
    """
    return estimate_cone(
        clean_curve(elapsed_s, temperature_c),
        calibrated=calibrated,
        sigma_c=sigma_c,
        offset_c=offset_c,
        reduction=reduction,
        limits=limits,
        kind=kind,
    )


def estimate_cone(
    curve: CleanCurve,
    *,
    calibrated: bool = False,
    sigma_c: float | None = None,
    offset_c: float = 0.0,
    reduction: bool = False,
    limits: Limits = SHIPPED,
    kind: str = REGULAR,
) -> ConeEstimate:
    """:func:`equivalent_cone` of a curve that is already cleaned; raises `UserProblem` as it."""
    import numpy as np

    t, c = curve.elapsed_s, curve.temperature_c
    if t.size < 2:
        raise UserProblem(
            "A single reading makes no curve: log at least two readings to get a cone from it."
        )
    usual = limits["sigma_checked_c" if calibrated else "sigma_bare_c"]
    sigma = usual if sigma_c is None else sigma_c
    peak_at = int(np.argmax(c))
    peak = float(c[peak_at])

    model = whole_model(kind)
    excess, rates = excess_of(t, c, model)
    gaps = find_gaps(t, c, limits)
    hottest, hidden = excess, False
    if gaps:
        hottest, hottest_rates = excess_of(*fill_gaps(t, c, gaps), model)
        could_move = crossing(hottest, model, offset_c) - crossing(excess, model, offset_c)
        near_c = peak - SOFTENS_BEFORE_C
        hidden = could_move > _GAP_MATTERS or any(
            max(gap.start_c, gap.end_c) > near_c for gap in gaps
        )
        if hidden:
            rates = np.sqrt(rates * hottest_rates)
        else:
            hottest = excess
    number = (crossing(excess, model, offset_c) + crossing(hottest, model, offset_c)) / 2.0
    low = crossing(excess, model, offset_c - sigma)
    high = crossing(hottest, model, offset_c + sigma)
    rate = float(np.exp(np.interp(number, model.ordinals, np.log(rates))))

    flags: list[str] = []
    if number < model.ordinals[0]:
        flags.append("below_chart")
    elif float(excess[-1]) + offset_c > 0.0:
        flags.append("above_chart")
    if hidden:
        flags.append("gap")
    if "below_chart" not in flags:
        if rate < limits["slow_c_per_h"]:
            flags.append("slow")
        elif rate > limits["fast_c_per_h"]:
            flags.append("fast")
        if was_interrupted(t, c, number, limits):
            flags.append("interrupted")
        if reduction:
            flags.append("reduction")

    if "below_chart" in flags:
        label = f"below {model.names[0]}"
    elif "above_chart" in flags:
        label = f"above {model.names[-1]}"
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
        limits=limits,
        kind=kind,
    )
