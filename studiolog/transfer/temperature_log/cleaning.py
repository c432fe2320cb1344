"""Which readings are no temperatures: out of range, open circuit, spikes. Nothing is removed,
each is marked with its reason.

Range −40 to 1450 °C, and a local robust test over about seven minutes (engineering judgement,
after Hampel 1974): a spike stands outside everything its neighbours foretell from either side, so
a steep ramp, a sharp peak and the start of cooling stay.
"""

from itertools import pairwise

import numpy as np

from studiolog.transfer.temperature_log.values import Floats, Reason, Reasons, Unit

LOWEST_C, HIGHEST_C = -40.0, 1450.0
# What converters show for a broken thermocouple: zero, ends of the type tables, full scale.
_OPEN_CODES = (
    0.0, 999.0, 999.9, 1370.0, 1371.0, 1372.0, 1372.1, 1600.0, 1760.0,
    1768.0, 1800.0, 1820.0, 2000.0, 2300.0, 2500.0, 2501.0, 2501.6, 2502.0, 3000.0, 3276.7, 6553.5,
    -200.0, -210.0, -270.0, -328.0, -454.0, 32.0,
)  # fmt: skip
_SPIKE_FLOOR_C = 15.0


def mark_unbelievable(
    elapsed_s: Floats, temperature_c: Floats, raw: Floats, reason: Reasons
) -> None:
    """Mark in ``reason`` what is no temperature; readings already marked are passed over.

    ``temperature_c`` in °C, ``raw`` the same in the file's unit (open-circuit codes are looked
    for there). The readings are in order of time.
    """
    with np.errstate(invalid="ignore"):
        outside = (temperature_c < LOWEST_C) | (temperature_c > HIGHEST_C)
    reason[(reason == 0) & outside] = Reason.OUT_OF_RANGE
    _mark_open_circuit(temperature_c, raw, reason)
    _mark_bursts(elapsed_s, temperature_c, reason)
    for _ in range(12):
        if not _mark_worst_spikes(elapsed_s, temperature_c, reason):
            break


def _mark_open_circuit(temperature_c: Floats, raw: Floats, reason: Reasons) -> None:
    """Codes that jump in and out: a run of one code between readings it does not join."""
    code = np.isin(np.round(raw, 1), _OPEN_CODES) & (reason == 0)
    if not code.any():
        return
    good = np.flatnonzero((reason == 0) & ~code)
    if good.size < 3:
        return
    at = np.flatnonzero(code)
    places = np.searchsorted(good, at)
    left = good[np.clip(places - 1, 0, good.size - 1)]
    right = good[np.clip(places, 0, good.size - 1)]
    low = np.minimum(temperature_c[left], temperature_c[right])
    high = np.maximum(temperature_c[left], temperature_c[right])
    reach = np.where((places == 0) | (places == good.size), 60.0, 25.0)
    jumps = (temperature_c[at] > high + reach) | (temperature_c[at] < low - reach)
    reason[at[jumps]] = Reason.OPEN_CIRCUIT


def _mark_bursts(elapsed_s: Floats, temperature_c: Floats, reason: Reasons) -> None:
    """Two to ten readings that leap away and back faster than a sheathed thermocouple can."""
    good = np.flatnonzero(reason == 0)
    if good.size < 8:
        return
    values, times = temperature_c[good], elapsed_s[good]
    steps, waits = np.diff(values), np.diff(times)
    leaps = np.flatnonzero(np.abs(steps) > np.maximum(60.0, 20.0 * waits))
    used = -1
    for first, second in pairwise(leaps):
        if first <= used or second - first > 10 or times[second] - times[first] > 420:
            continue
        if steps[first] * steps[second] < 0 and abs(values[second + 1] - values[first]) < 0.5 * min(
            abs(steps[first]), abs(steps[second])
        ):
            reason[good[first + 1 : second + 1]] = Reason.SPIKE
            used = int(second)


def _mark_worst_spikes(elapsed_s: Floats, temperature_c: Floats, reason: Reasons) -> int:
    """One round: of each group of neighbours that fail the test, mark the worst one."""
    good = np.flatnonzero(reason == 0)
    if good.size < 4:
        return 0
    excess = _excess(elapsed_s[good], temperature_c[good])
    suspects = np.flatnonzero(excess > 0)
    if not suspects.size:
        return 0
    padded = np.pad(excess, 3, constant_values=-1.0)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 7)
    worst = suspects[excess[suspects] >= windows[suspects].max(axis=1)]
    reason[good[worst]] = Reason.SPIKE
    return int(worst.size)


def _excess(times: Floats, values: Floats) -> Floats:
    """How far each reading lies beyond all that its neighbours foretell, less what noise allows."""
    count = values.size
    low = np.full(count, np.inf)
    high = np.full(count, -np.inf)
    noise = np.zeros(count)
    for way in (-1, 1):
        near = [_shifted(values, way * step) for step in (1, 2, 3)]
        when = [_shifted(times, way * step) for step in (1, 2, 3)]
        with np.errstate(invalid="ignore", divide="ignore"):
            slope = (near[0] - near[1]) / (when[0] - when[1])
            long_slope = (near[0] - near[2]) / (when[0] - when[2])
            ahead = times - when[0]
            guesses = [near[0], near[0] + slope * ahead, near[0] + long_slope * ahead]
            # The scatter of a straight line through the three neighbours.
            bend = np.abs(near[1] - near[0] - long_slope * (when[1] - when[0]))
        noise = np.fmax(noise, np.nan_to_num(bend))
        for guess in guesses:
            low, high = np.fmin(low, guess), np.fmax(high, guess)
    beyond = np.fmax(values - high, low - values)
    allowed = np.maximum(_SPIKE_FLOOR_C, np.minimum(4 * noise, 60.0))
    # At either end only one side foretells.
    allowed[[0, -1]] = 60.0
    return np.asarray(beyond - allowed)


def _shifted(values: Floats, step: int) -> Floats:
    """The value ``step`` places on, NaN past either end."""
    moved = np.full(values.size, np.nan)
    if step > 0:
        moved[:-step] = values[step:]
    else:
        moved[-step:] = values[:step]
    return moved


def celsius_from(values: Floats, unit: Unit) -> Floats:
    """°C of values in °C, °F or K."""
    if unit == "F":
        return np.asarray((values - 32.0) / 1.8)
    if unit == "K":
        return np.asarray(values - 273.15)
    return values


def find_robust_peak(values: Floats) -> float:
    """The highest reading that is no spike, no code, in the file's own unit; NaN if none."""
    finite = values[np.isfinite(values) & (np.abs(values) < 3200)]
    if not finite.size:
        return float("nan")
    reason = np.zeros(finite.size, dtype=np.int8)
    _mark_open_circuit(finite, finite, reason)
    steps = np.arange(finite.size, dtype=np.float64) * 60.0
    for _ in range(12):
        if not _mark_worst_spikes(steps, finite, reason):
            break
    left = finite[reason == 0]
    return float(left.max()) if left.size else float("nan")
