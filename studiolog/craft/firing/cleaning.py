"""What a temperature log is cleaned of before anything is computed from it.

A reading is set aside when it is missing, outside what a kiln can be (−40 to 1450 °C), a spike
against its neighbours (a Hampel test about a local robust line, over about seven minutes), or part
of a short island that the curve jumps to and back from (an open thermocouple). Nothing is
altered: the raw readings stay, and each one set aside says why.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats: TypeAlias = NDArray[np.float64]
    Bools: TypeAlias = NDArray[np.bool_]

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 1450.0
WINDOW_S: Final = 420.0

WHY: Final[Mapping[str, str]] = {
    "missing": "no reading",
    "out_of_range": "no kiln is so hot or cold",
    "repeated": "a second reading at the same time",
    "spike": "a spike against the readings around it",
    "island": "a short jump away and back, as from an open thermocouple",
}

# A clock that is a little off must not turn a wait of ten minutes into a gap.
CLOCK_SLACK_S: Final = 30.0
_THIN_LOG: Final = 1.5
# Below this a deviation is noise, not a spike; well inside any thermocouple's own error.
_SMALLEST_SPIKE_C: Final = 10.0
_ISLAND_STEP_C: Final = 100.0
_ISLAND_S: Final = 3600.0
_TAPS: Final = 4
# A log of more readings is looked over in blocks before any reading is tried by itself.
_DENSE: Final = 50_000
_KNOWN: Final[dict[bytes, CleanCurve]] = {}
# A log that is rough all over must not lose half its readings.
_NOISE_TIMES: Final = 8.0
_COLDEST_ROOM_C: Final = 5.0


@dataclass(frozen=True, slots=True)
class Gap:
    """A wait longer than the limit (ten minutes) between two readings that were kept."""

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
    if raw_t.size <= _DENSE:
        return _clean(raw_t, raw_c)
    # One page asks for the same long log several times over.
    mark = mark_of_curve(raw_t, raw_c)
    known = _KNOWN.get(mark)
    if known is None:
        known = _clean(raw_t, raw_c)
        for part in (known.elapsed_s, known.temperature_c, known.kept):
            part.setflags(write=False)
        _KNOWN.clear()
        _KNOWN[mark] = known
    return replace(known, raw_elapsed_s=raw_t, raw_temperature_c=raw_c)


def mark_of_curve(elapsed_s: Floats, temperature_c: Floats) -> bytes:
    """What tells one curve from all others, quickly: a digest of its numbers."""
    import numpy as np

    digest = hashlib.blake2b(np.ascontiguousarray(elapsed_s).data, digest_size=16)
    digest.update(np.ascontiguousarray(temperature_c).data)
    return digest.digest()


def _clean(raw_t: Floats, raw_c: Floats) -> CleanCurve:
    import numpy as np

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

    for reason, find in (
        ("spike", _spikes),
        ("spike", _spikes),  # what stood between two spikes stands alone now
        ("island", _islands),
    ):
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
    why = [""] * raw_t.size
    for place, reason in reasons.items():
        why[place] = reason
    return CleanCurve(t, c, raw_t, raw_c, kept, tuple(why))


def trust_curve(elapsed_s: ArrayLike, temperature_c: ArrayLike) -> CleanCurve:
    """A curve (seconds rising, °C) of which nothing is set aside: typed, planned, or clean."""
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    return CleanCurve(t, c, t, c, np.ones(t.size, dtype=np.bool_), ("",) * t.size)


def longest_wait_s(elapsed_s: Floats, limits: Limits = SHIPPED) -> float:
    """The wait in seconds beyond which a log was silent: the limit ``gap_min``, ten minutes, or
    one and a half steps of a log that is thinner."""
    import numpy as np

    usual = float(np.median(np.diff(elapsed_s))) if elapsed_s.size > 1 else 0.0
    return max(limits["gap_min"] * 60.0 + CLOCK_SLACK_S, _THIN_LOG * usual)


def find_gaps(
    elapsed_s: ArrayLike, temperature_c: ArrayLike, limits: Limits = SHIPPED
) -> tuple[Gap, ...]:
    """The waits between readings that are longer than the limit ``gap_min``, in order.

    A log as thin as that is all gaps: what heat-work each of them may hide is asked here, where
    :func:`longest_wait_s` asks when a logger fell silent.
    """
    import numpy as np

    t = np.asarray(elapsed_s, dtype=np.float64)
    c = np.asarray(temperature_c, dtype=np.float64)
    at = np.flatnonzero(np.diff(t) > limits["gap_min"] * 60.0 + CLOCK_SLACK_S)
    return tuple(Gap(float(t[i]), float(t[i + 1]), float(c[i]), float(c[i + 1])) for i in at)


def _spikes(t: Floats, c: Floats) -> Bools | None:
    """Readings that fit neither the line before them, nor the line after, nor the chord between.

    A corner of the curve, the top above all, fits one of the three (the chord is for the middle
    of a short hold in a thin log); a spike fits none.
    """
    import numpy as np

    if t.size < 3:
        return None
    jumps = np.flatnonzero(np.abs(np.diff(c)) > _SMALLEST_SPIKE_C)
    if jumps.size == 0:
        return None  # nothing jumps, so nothing can stand out
    # Dense logs are tasted, not swallowed: the taps spread over the seven minutes.
    typical = float(np.median(np.diff(t)))
    spread = max(1, round(WINDOW_S / (2 * _TAPS * max(typical, 1e-9))))
    reach = _TAPS * spread
    # Only readings about a jump need trying.
    mark = np.zeros(t.size + 1)
    np.add.at(mark, np.maximum(jumps - reach, 0), 1.0)
    np.add.at(mark, np.minimum(jumps + reach + 2, t.size), -1.0)
    tried = np.flatnonzero(np.cumsum(mark[:-1]) > 0.0)
    chord = c[:-2] + (c[2:] - c[:-2]) * (t[1:-1] - t[:-2]) / (t[2:] - t[:-2])
    off_chord = np.abs(c[1:-1] - chord)
    noise = float(np.median(off_chord))
    limit = max(_SMALLEST_SPIKE_C, _NOISE_TIMES * noise)
    if t.size > _DENSE:
        tried = tried[_off_middles(t, c, typical)[tried] > limit / 2.0]
    off = np.full(t.size, np.inf)
    offsets = np.arange(1, _TAPS + 1) * spread
    later = tried[tried >= reach]
    if later.size:
        off[later] = _off_lines(t, c, later, later[:, None] - offsets)
    earlier = tried[tried < t.size - reach]
    if earlier.size:
        beyond = _off_lines(t, c, earlier, earlier[:, None] + offsets)
        off[earlier] = np.minimum(off[earlier], beyond)
    off[1:-1] = np.minimum(off[1:-1], off_chord)
    suspect: Bools = np.zeros(t.size, dtype=np.bool_)
    suspect[tried] = off[tried] > limit
    if not bool(suspect.any()):
        return None
    # A good reading between spikes is suspected with them: try each again among the trusted.
    bad = suspect.copy()
    trusted = np.flatnonzero(~suspect)
    for at in np.flatnonzero(suspect):
        place = int(np.searchsorted(trusted, at))
        before = trusted[max(0, place - reach) : place][::-1][::spread][:_TAPS]
        after = trusted[place : place + reach][::spread][:_TAPS]
        here = (float(t[at]), float(c[at]))
        by_before, by_after = _off_line(t, c, before, here), _off_line(t, c, after, here)
        # Beside a trusted reading of the same heat it is the end of a hold, not a spike.
        beside = [abs(here[1] - float(c[near[0]])) for near in (before, after) if near.size]
        between = min(beside, default=np.inf)
        if between > limit and len(beside) == 2:
            ends = [int(before[0]), int(after[0])]
            between = here[1] - float(np.interp(here[0], t[ends], c[ends]))
        if min(abs(by_before), abs(by_after), abs(between)) <= limit:
            bad[at] = False
        elif not after.size and by_before < 0.0 and here[1] > _COLDEST_ROOM_C:
            # The end of a log that drops away (opened hot, drawn out) has nothing after it to
            # come back to; only upwards would be unbelievable.
            bad[at] = False
    return bad


def _off_middles(t: Floats, c: Floats, typical: float) -> Floats:
    """How far readings of a dense log are from the line through the medians of its blocks.

    Half a window a block: what lies on that line need not be tried against its neighbours.
    """
    import numpy as np

    block = max(2, round(WINDOW_S / (2.0 * max(typical, 1e-9))))
    whole = t.size // block * block
    if whole < 3 * block:
        return np.full(t.size, np.inf)
    middles = np.median(c[:whole].reshape(-1, block), axis=1)
    line: Floats = np.interp(t, np.median(t[:whole].reshape(-1, block), axis=1), middles)
    return np.abs(c - line)


def thin_curve(t: Floats, c: Floats, most: int) -> tuple[Floats, Floats]:
    """A very long cleaned log by the means of equal handfuls of readings, its ends as they are.

    At most about ``most`` readings; a wait between readings keeps its ends, for no handful reaches
    over one. A log that is short enough is given back as it is.
    """
    import numpy as np

    handful = -(-t.size // most)
    if handful < 2:
        return t, c
    starts = np.arange(0, t.size, handful)
    steps = np.diff(t)
    waits = np.flatnonzero(steps > handful * max(float(np.median(steps)), 1e-9)) + 1
    starts = np.union1d(starts, waits)
    counts = np.diff(np.append(starts, t.size))
    thin_t = np.add.reduceat(t - t[0], starts) / counts + t[0]
    thin_c = np.add.reduceat(c, starts) / counts
    between = (thin_t > t[0]) & (thin_t < t[-1])
    return (
        np.concatenate((t[:1], thin_t[between], t[-1:])),
        np.concatenate((c[:1], thin_c[between], c[-1:])),
    )


def _off_lines(t: Floats, c: Floats, at: Any, near: Any) -> Any:
    """How far readings are from robust lines (Theil–Sen) through their taps, in °C."""
    import numpy as np

    times, temps = t[near] - t[at][:, None], c[near]
    first, second = np.triu_indices(near.shape[1], 1)
    rises, runs = temps[:, second] - temps[:, first], times[:, second] - times[:, first]
    slopes = _middle(np.sort(rises / runs, axis=1))
    levels = _middle(np.sort(temps - slopes[:, None] * times, axis=1))
    return np.abs(c[at] - levels)


def _off_line(t: Floats, c: Floats, near: Any, here: tuple[float, float]) -> float:
    """How far one reading lies above (+) or below (−) the robust line through a few others."""
    import numpy as np

    if near.size == 0:
        return float("inf")
    times, temps = t[near] - here[0], c[near]
    if near.size == 1:
        return here[1] - float(temps[0])
    first, second = np.triu_indices(near.size, 1)
    slope = float(np.median((temps[second] - temps[first]) / (times[second] - times[first])))
    return here[1] - float(np.median(temps - slope * times))


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
