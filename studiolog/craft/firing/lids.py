"""A kiln that suddenly cools faster than it did: a lid, door or damper was opened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing.segments import Blocks
from studiolog.craft.limits import SHIPPED, Limits

if TYPE_CHECKING:
    from studiolog.craft.firing.segments import Floats

# What noise of a degree and the last warmth of a kiln can't make (judgement).
_LEAST_CHANGE_C_PER_H: Final = 25.0


@dataclass(frozen=True, slots=True)
class LidOpening:
    """When and at what heat the fall became sudden; °C/h before and after it, both negative."""

    at_s: float
    temperature_c: float
    before_c_per_h: float
    after_c_per_h: float

    @property
    def times(self) -> float:
        """How many times as fast as just before."""
        return self.after_c_per_h / self.before_c_per_h


def find_lid_openings(
    blocks: Blocks, limits: Limits = SHIPPED, released_s: Sequence[float] = ()
) -> tuple[LidOpening, ...]:
    """Sudden falls of a curve on its way down, in order of time.

    A quarter of an hour before and after is compared (more in a thinner log). ``released_s`` are
    the moments at which a hold or a programmed fall ended: a kiln let go then was not opened.
    """
    import numpy as np

    t, c = blocks.at_s, blocks.temperature_c
    if t.size < 3:
        return ()
    window_s = limits["rate_window_min"] * 60.0
    peak_at = int(np.argmax(c))
    place = np.arange(t.size)
    back = np.searchsorted(t, t - window_s + 1e-6, side="right") - 1
    ahead = np.searchsorted(t, t + window_s - 1e-6, side="left")
    tried = place[
        (place > peak_at) & (c < limits["lid_below_c"]) & (back >= peak_at) & (ahead < t.size)
    ]
    same = (blocks.piece[back[tried]] == blocks.piece[tried]) & (
        blocks.piece[np.minimum(ahead[tried], t.size - 1)] == blocks.piece[tried]
    )
    tried = tried[same]
    before = _slope(t, c, back[tried], tried)
    after = _slope(t, c, tried, ahead[tried])
    sudden = (
        (before < -limits["hold_c_per_h"])
        & (after < before * limits["lid_times"])
        & (after < before - _LEAST_CHANGE_C_PER_H)
    )
    for moment in released_s:
        sudden &= np.abs(t[tried] - moment) > window_s
    found: list[LidOpening] = []
    places = np.flatnonzero(sudden)
    while places.size:
        run = places[t[tried[places]] <= t[tried[places[0]]] + 2.0 * window_s]
        best = int(run[int(np.argmin(after[run] - before[run]))])
        at = int(tried[best])
        found.append(
            LidOpening(float(t[at]), float(c[at]), float(before[best]), float(after[best]))
        )
        places = places[run.size :]
    return tuple(found)


def _slope(t: Floats, c: Floats, first: Any, last: Any) -> Any:
    return (c[last] - c[first]) / (t[last] - t[first]) * 3600.0
