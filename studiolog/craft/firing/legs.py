"""One leg of a program on the log: its rate, how far behind it ran, and what went otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from studiolog.craft.firing.curve import rates_along
from studiolog.craft.firing.matching import Place, Step
from studiolog.craft.firing.segments import Blocks, Rate, best_line, rate_of
from studiolog.craft.limits import Limits

if TYPE_CHECKING:
    from studiolog.craft.firing.segments import Floats

# Slower than this it trembles rather than grows (judgement).
_GROWS_C_PER_H: Final = 2.0
_BEGINS_WITHIN_C: Final = 20.0


@dataclass(frozen=True, slots=True)
class Trouble:
    """What went otherwise than planned in a step: which, when and where.

    ``kind`` is a verdict's key. ``most`` is how far behind at worst in °C (over the set point on
    the way down), or for an interruption how far the kiln fell.
    """

    kind: str
    start_s: float
    end_s: float
    start_c: float
    end_c: float
    most: float

    @property
    def minutes(self) -> float:
        """How long it lasted."""
        return (self.end_s - self.start_s) / 60.0


class Leg:
    """A leg up or down where it lies on the blocks of a log.

    ``behind`` is the set point less the kiln on the way up, the kiln less the set point on the way
    down, per block in °C; None where no rate was asked and none was logged.
    """

    def __init__(
        self, step: Step, place: Place, blocks: Blocks, asked: Floats | None, limits: Limits
    ) -> None:
        self.step, self.place, self.limits = step, place, limits
        part = slice(place.first, place.last)
        self.t, self.c = blocks.at_s[part], blocks.temperature_c[part]
        self._pieces = blocks.piece[part]
        self._step_s, self._width_s = blocks.step_s, blocks.width_s
        self._sign = 1.0 if step.kind == "up" else -1.0
        # The knot a leg begins at lies between two blocks; the line there is a hold's or its own.
        self.start_c, self.end_c = float(self.c[0]), float(self.c[-1])
        self._asked = self._set_point(asked[part] if asked is not None else None)
        self.behind: Floats | None = None
        if self._asked is not None:
            self.behind = self._sign * (self._asked - self.c)

    def rate(self) -> Rate | None:
        """Its rate, from the longest stretch of it without a gap; None under 15 minutes."""
        import numpy as np

        numbers = np.unique(self._pieces)
        stretches = [np.flatnonzero(self._pieces == number) for number in numbers]
        best = max(stretches, key=lambda at: float(self.t[at[-1]] - self.t[at[0]]))
        return rate_of(self.t[best], self.c[best], self._width_s, self.limits)

    def moves_on(self) -> bool:
        """Whether the kiln is still on its way where the leg ends."""
        if self.t.size < 2:
            return False
        window_s = self.limits["rate_window_min"] * 60.0
        near = self.t >= self.t[-1] - window_s
        if int(near.sum()) < 2:
            near[-2:] = True
        t, c = self.t[near], self.c[near]
        slope = float(c[-1] - c[0]) / float(t[-1] - t[0]) * 3600.0 * self._sign
        return slope > self.limits["hold_c_per_h"]

    def troubles(self) -> tuple[Trouble, ...]:
        """What went otherwise than planned, in order of time; of what overlaps the worst."""
        if self.t.size < 3:
            return ()
        found = self._climb_troubles() if self.step.kind == "up" else self._fall_troubles()
        kept: list[Trouble] = []
        for trouble in found:  # the worst come first
            if all(trouble.end_s <= o.start_s or trouble.start_s >= o.end_s for o in kept):
                kept.append(trouble)
        return tuple(sorted(kept, key=lambda trouble: trouble.start_s))

    def _set_point(self, logged: Floats | None) -> Floats | None:
        """The set point at every block: as logged, or the programmed rate from where it began."""
        import numpy as np

        if self.step.rate_c_per_h is None:
            return None
        if logged is not None and bool(np.isfinite(logged).all()):
            return logged
        hours = (self.t - self.place.start_s) / 3600.0
        begun_c = self._begun_c()
        planned = begun_c + self._sign * self.step.rate_c_per_h * hours
        target = self.step.target_c
        clipped: Floats = (
            np.minimum(planned, target) if self._sign > 0 else np.maximum(planned, target)
        )
        return clipped

    def _begun_c(self) -> float:
        """The heat at the moment a leg begins, carried back from its first block."""
        near = slice(0, min(4, self.t.size))
        t, c = self.t[near] - self.place.start_s, self.c[near]
        if t.size < 2:
            return self.start_c
        level_c, _slope = best_line(t, c)
        # A leg may begin anywhere between two readings of a thin log.
        spare_c = 1.5 * (self.step.rate_c_per_h or 0.0) * self._step_s / 3600.0
        off_c = abs(level_c - self.start_c)
        return level_c if off_c < max(_BEGINS_WITHIN_C, spare_c) else self.start_c

    def _climb_troubles(self) -> list[Trouble]:
        import numpy as np

        limits, planned = self.limits, self.step.rate_c_per_h
        rates, inside = self._rates()
        below = self.c < self.step.target_c - limits["near_peak_c"]
        slowest = limits["stall_c_per_h"]
        if planned is not None:
            # A leg that was meant to creep does not stall by creeping.
            slowest = min(slowest, limits["short_of_rate"] * planned)
        stalled = inside & below & (rates < slowest)
        found = self._fell() + self._runs("stalled", stalled, limits["stall_min"])
        if planned is not None:
            short = inside & below & (rates < limits["short_of_rate"] * planned)
            if self.behind is not None:
                growing = rates_along(self.t, self.behind, self._window_s) > _GROWS_C_PER_H
                short |= (self.behind > limits["behind_c"]) & growing & below
            found += self._runs("behind", short, limits["short_min"])
        if self.behind is not None and self._asked is not None:
            rising = np.gradient(self._asked, self.t) > 0.0
            late = (self.behind > limits["lag_c"]) & rising
            found += self._runs("lagging", late, limits["lag_min"])
        return found

    def _fall_troubles(self) -> list[Trouble]:
        limits = self.limits
        if self.behind is None or self.step.rate_c_per_h is None:
            return []
        return [
            *self._runs("slow_cool", self.behind > limits["behind_c"], limits["short_min"]),
            *self._runs("fast_cool", self.behind < -limits["behind_c"], limits["short_min"]),
        ]

    @property
    def _window_s(self) -> float:
        return self.limits["rate_window_min"] * 60.0

    def _rates(self) -> tuple[Any, Any]:
        """°C/h about every block, and where the window lies inside the leg and its stretch."""
        import numpy as np

        rates = np.full(self.t.size, np.nan)
        inside = np.zeros(self.t.size, dtype=np.bool_)
        half = self._window_s / 2.0
        for number in np.unique(self._pieces):
            at = np.flatnonzero(self._pieces == number)
            t = self.t[at]
            if t.size < 2 or t[-1] - t[0] < self._window_s:
                continue
            # Two steps of a thin log are its least window.
            window_s = max(self._window_s, 2.2 * float(np.median(np.diff(t))))
            rates[at] = rates_along(t, self.c[at], window_s)
            inside[at] = (t >= t[0] + half) & (t <= t[-1] - half)
        return rates, inside & np.isfinite(rates)

    def _runs(self, kind: str, so: Any, least_min: float) -> list[Trouble]:
        """The stretches, without a gap, over which something is so for long enough."""
        import numpy as np

        if not bool(so.any()):
            return []
        new = np.concatenate(([True], (np.diff(so) != 0) | (np.diff(self._pieces) != 0)))
        starts = np.flatnonzero(new)
        ends = np.concatenate((starts[1:], [self.t.size]))
        found: list[Trouble] = []
        for a, b in zip(starts, ends, strict=True):
            if so[a] and self.t[b - 1] - self.t[a] >= least_min * 60.0:
                most = 0.0
                if self.behind is not None:
                    run = self.behind[a:b]
                    most = float(run[int(np.argmax(np.abs(run)))])
                found.append(self._trouble(kind, int(a), int(b) - 1, most))
        return found

    def _fell(self) -> list[Trouble]:
        """Where the kiln fell back on its way up, until it had made it good again."""
        import numpy as np

        highest = np.maximum.accumulate(self.c)
        fallen = highest - self.c
        found: list[Trouble] = []
        at = 0
        deep = np.flatnonzero(fallen > self.limits["fall_c"])
        while at < deep.size:
            start = int(np.flatnonzero(self.c[: deep[at] + 1] == highest[deep[at]])[-1])
            good = np.flatnonzero(fallen[deep[at] :] <= 0.0)
            end = int(deep[at] + good[0]) if good.size else self.t.size - 1
            found.append(
                self._trouble("interrupted", start, end, float(fallen[start : end + 1].max()))
            )
            at = int(np.searchsorted(deep, end, side="right"))
        return found

    def _trouble(self, kind: str, a: int, b: int, most: float) -> Trouble:
        return Trouble(
            kind,
            float(self.t[a]),
            float(self.t[b]),
            float(self.c[a]),
            float(self.c[b]),
            most,
        )
