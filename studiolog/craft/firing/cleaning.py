"""What a temperature log is cleaned of before anything is computed from it.

A reading is set aside when it is missing, outside what a kiln can be (−40 to 1450 °C), a spike
against its neighbours (a Hampel test about a local robust line, over about seven minutes), or part
of a short island that the curve jumps to and back from (an open thermocouple). Nothing is
altered: the raw readings stay, and each one set aside says why.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats: TypeAlias = NDArray[np.float64]
    Bools: TypeAlias = NDArray[np.bool_]

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 1450.0
WINDOW_S: Final = 420.0
GAP_S: Final = 600.0

WHY: Final[Mapping[str, str]] = {
    "missing": "no reading",
    "out_of_range": "outside −40 to 1450 °C",
    "repeated": "a second reading at the same time",
    "spike": "a spike against the readings around it",
    "island": "a short jump away and back, as from an open thermocouple",
}

# A clock that is a little off must not turn a wait of ten minutes into a gap.
_CLOCK_SLACK_S: Final = 30.0
# Below this a deviation is noise, not a spike; well inside any thermocouple's own error.
_SMALLEST_SPIKE_C: Final = 10.0
_ISLAND_STEP_C: Final = 100.0
_ISLAND_S: Final = 3600.0
_TAPS: Final = 7


@dataclass(frozen=True, slots=True)
class Gap:
    """A wait longer than ten minutes between two readings that were kept."""

    start_s: float
    end_s: float
    start_c: float
    end_c: float

    @property
    def minutes(self) -> float:
        """How long the gap is."""
        return (self.end_s - self.start_s) / 60.0


@dataclass(frozen=True, slots=True, eq=False)
class CleanCurve:
    """A curve in order of time, without the readings that were set aside.

    ``elapsed_s`` and ``temperature_c`` are what was kept. ``kept`` is a mask over the raw
    readings as they were given, ``why`` holds a key of :data:`WHY` for each ("" where kept).
    """

    elapsed_s: Floats
    temperature_c: Floats
    raw_elapsed_s: Floats
    raw_temperature_c: Floats
    kept: Bools
    why: tuple[str, ...]

    @property
    def dropped(self) -> Mapping[str, int]:
        """How many readings were set aside, by reason."""
        return Counter(reason for reason in self.why if reason)


def clean_curve(elapsed_s: ArrayLike, temperature_c: ArrayLike) -> CleanCurve:
    """Set aside what cannot be a kiln's temperature; see the module's text.

    Two sequences of one length: seconds from any start, and °C (NaN where there is no reading).
    Raises ValueError if they are not of one length, UserProblem if nothing is left.
    """
    import numpy as np

    raw_t = np.asarray(elapsed_s, dtype=np.float64)
    raw_c = np.asarray(temperature_c, dtype=np.float64)
    if raw_t.shape != raw_c.shape or raw_t.ndim != 1:
        raise ValueError("A curve needs as many times as temperatures, each a plain sequence.")
    if raw_t.size == 0:
        raise UserProblem("The curve is empty: log or import at least two readings.")

    finite = np.isfinite(raw_t) & np.isfinite(raw_c)
    in_range = finite.copy()
    in_range[finite] = (raw_c[finite] >= COLDEST_C) & (raw_c[finite] <= HOTTEST_C)
    index = np.flatnonzero(in_range)
    reasons: dict[int, str] = {}
    if index.size < raw_t.size:
        for at in np.flatnonzero(~in_range):
            reasons[int(at)] = "out_of_range" if finite[at] else "missing"

    t = raw_t[index]
    if t.size > 1 and not bool(np.all(t[1:] > t[:-1])):
        order = np.argsort(t, kind="stable")
        index, t = index[order], t[order]
        first = np.concatenate(([True], t[1:] > t[:-1]))
        reasons.update((int(at), "repeated") for at in index[~first])
        index, t = index[first], t[first]
    c = raw_c[index]

    for reason, find in (("spike", _spikes), ("island", _islands)):
        bad = find(t, c)
        if bad is not None and bool(bad.any()):
            reasons.update((int(at), reason) for at in index[bad])
            index, t, c = index[~bad], t[~bad], c[~bad]
    if t.size == 0:
        raise UserProblem(
            "The curve holds no reading between −40 and 1450 °C: check the unit and the column."
        )
    kept = np.zeros(raw_t.size, dtype=np.bool_)
    kept[index] = True
    if reasons:
        why = tuple(reasons.get(at, "") for at in range(raw_t.size))
    else:
        why = ("",) * raw_t.size
    return CleanCurve(t, c, raw_t, raw_c, kept, why)


def find_gaps(
    elapsed_s: ArrayLike, temperature_c: ArrayLike, longer_than_s: float = GAP_S
) -> tuple[Gap, ...]:
    """The waits between readings that are longer than ten minutes, in order."""
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    at = np.flatnonzero(np.diff(t) > longer_than_s + _CLOCK_SLACK_S)
    return tuple(Gap(float(t[i]), float(t[i + 1]), float(c[i]), float(c[i + 1])) for i in at)


def _spikes(t: Floats, c: Floats) -> Bools | None:
    import numpy as np

    if t.size < 5:
        return None
    steps = np.diff(t)
    if not bool((np.abs(np.diff(c)) > _SMALLEST_SPIKE_C).any()):
        return None  # nothing jumps, so nothing can stand out
    typical = float(np.median(steps))
    wide = round(WINDOW_S / max(typical, 1e-9))
    # Dense logs are tasted, not swallowed: seven taps spread over the seven minutes.
    spread = max(1, wide // _TAPS)
    half = 2 if wide < _TAPS or t.size < _TAPS * spread else _TAPS // 2
    if t.size < (2 * half) * spread + 1:
        spread = 1
    offsets = np.arange(-half, half + 1) * spread
    reach = half * spread
    # At either end the window stays inside and the reading sits off its middle.
    middle = np.clip(np.arange(t.size), reach, t.size - 1 - reach)
    near = middle[:, None] + offsets[None, :]
    times, temps = t[near] - t[:, None], c[near]
    slopes = np.sort(np.diff(temps, axis=1) / np.diff(times, axis=1), axis=1)
    levels = temps - _middle(slopes)[:, None] * times
    line = _middle(np.sort(levels, axis=1))
    scatter = _middle(np.sort(np.abs(levels - line[:, None]), axis=1)) * 1.4826
    bad: Bools = np.abs(c - line) > np.maximum(3.0 * scatter, _SMALLEST_SPIKE_C)
    # The end of a log that drops away (the plug pulled, the door opened) is no spike: there is
    # nothing after it to come back to. Only a jump upwards is unbelievable there.
    bad[-1] = bad[-1] and c[-1] > line[-1]
    return bad


def _islands(t: Floats, c: Floats) -> Bools | None:
    import numpy as np

    jumps = np.flatnonzero(np.abs(np.diff(c)) > _ISLAND_STEP_C)
    if jumps.size < 2:
        return None
    bad = np.zeros(t.size, dtype=np.bool_)
    at = 0
    while at < jumps.size - 1:
        out = int(jumps[at])
        step = float(c[out + 1] - c[out])
        for later in range(at + 1, jumps.size):
            back = int(jumps[later])
            if t[back + 1] - t[out] > _ISLAND_S:
                break
            returned = float(c[back + 1] - c[back])
            if step * returned < 0 and abs(float(c[back + 1] - c[out])) < abs(step) / 2:
                bad[out + 1 : back + 1] = True
                at = later
                break
        at += 1
    return bad


def _middle(ordered: Any) -> Any:
    """The median of rows already sorted."""
    width = ordered.shape[1]
    return (ordered[:, (width - 1) // 2] + ordered[:, width // 2]) / 2.0
