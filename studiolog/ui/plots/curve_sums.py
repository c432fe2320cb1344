"""Sums a plot needs of a curve: breaks at gaps, smoothed rates, values at a time. NumPy only."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

RATE_WINDOW_S = 900.0
"""No rate is told from less than a quarter of an hour of readings."""
_GRID_S = 60.0


def as_numbers(values: Sequence[float] | Numbers) -> Numbers:
    """A float array of any sequence of numbers; an array of floats is taken as it is."""
    return np.asarray(values, dtype=np.float64)


def cut_at_gaps(
    at_s: Numbers, values: Numbers, gaps: Sequence[tuple[float, float]]
) -> list[tuple[Numbers, Numbers]]:
    """The unbroken pieces of a curve: no piece has readings on both sides of a gap."""
    if not len(at_s):
        return []
    cuts: list[int] = []
    for start, end in sorted(gaps):
        cut = int(np.searchsorted(at_s, (start + end) / 2))
        if 0 < cut < len(at_s):
            cuts.append(cut)
    return list(zip(np.split(at_s, cuts), np.split(values, cuts), strict=True))


def join_with_breaks(pieces: Sequence[tuple[Numbers, Numbers]]) -> tuple[Numbers, Numbers]:
    """Pieces as one array pair with a NaN between them, so that no line joins them."""
    times: list[Numbers] = []
    values: list[Numbers] = []
    for at_s, piece in pieces:
        if not len(at_s):
            continue
        if times:
            times.append(at_s[:1])
            values.append(np.array([np.nan]))
        times.append(at_s)
        values.append(piece)
    if not times:
        return np.empty(0), np.empty(0)
    return np.concatenate(times), np.concatenate(values)


def smooth_rate(at_s: Numbers, temperature_c: Numbers) -> tuple[Numbers, Numbers]:
    """Rate in °C/h each minute of one unbroken piece: slope over, then median of, 15 minutes.

    A piece shorter than the window gives nothing: no rate is told from so little.
    """
    if len(at_s) < 2 or at_s[-1] - at_s[0] < RATE_WINDOW_S:
        return np.empty(0), np.empty(0)
    grid = np.arange(at_s[0], at_s[-1] + _GRID_S / 2, _GRID_S)
    half = RATE_WINDOW_S / 2
    low = np.clip(grid - half, at_s[0], at_s[-1])
    high = np.clip(grid + half, at_s[0], at_s[-1])
    rise = np.interp(high, at_s, temperature_c) - np.interp(low, at_s, temperature_c)
    slope = rise / (high - low) * 3600.0
    width = int(RATE_WINDOW_S / _GRID_S)
    padded = np.pad(slope, width // 2, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, width)
    return grid, np.asarray(np.median(windows, axis=1)[: len(grid)], dtype=np.float64)


def program_rate(at_s: Numbers, temperature_c: Numbers) -> tuple[Numbers, Numbers]:
    """The program's rate as steps: two points for each of its lines, °C/h."""
    if len(at_s) < 2:
        return np.empty(0), np.empty(0)
    span = np.diff(at_s)
    keep = span > 0
    slope = np.diff(temperature_c)[keep] / span[keep] * 3600.0
    edges = np.column_stack([at_s[:-1][keep], at_s[1:][keep]])
    return edges.ravel(), np.repeat(slope, 2)


def program_rate_at(times: Numbers, rates: Numbers, when_s: float) -> float | None:
    """The rate at a time, of the steps of `program_rate`, °C/h; None outside the program."""
    if not len(times) or not times[0] <= when_s <= times[-1]:
        return None
    line = min(int(np.searchsorted(times[1::2], when_s, side="right")), len(times) // 2 - 1)
    return float(rates[2 * line])


def value_at(at_s: Numbers, values: Numbers, when_s: float) -> float | None:
    """The value at a time, straight between neighbours; None outside, or where it is broken."""
    if not len(at_s) or not at_s[0] <= when_s <= at_s[-1]:
        return None
    found = float(np.interp(when_s, at_s, values))
    return None if np.isnan(found) else found


def thin_to_columns(at_s: Numbers, values: Numbers, columns: int) -> tuple[Numbers, Numbers]:
    """Lowest and highest of each column, in order: what the eye sees of a long curve."""
    bins = len(at_s) // max(1, columns)
    if bins < 4:
        return at_s, values
    whole = len(at_s) // bins * bins
    block = values[:whole].reshape(-1, bins)
    first = np.arange(0, whole, bins)
    pick = np.sort(np.column_stack([first + block.argmin(1), first + block.argmax(1)]), axis=1)
    keep = np.unique(np.concatenate([[0], pick.ravel(), [len(at_s) - 1]]))
    return at_s[keep], values[keep]


def thin_between(
    at_s: Numbers, values: Numbers, start_s: float, end_s: float, columns: int
) -> tuple[Numbers, Numbers]:
    """`thin_to_columns` of what is seen from one time to another, a reading more at each side."""
    if len(at_s) <= 4 * max(1, columns):
        return at_s, values
    first = max(0, int(np.searchsorted(at_s, start_s)) - 1)
    last = int(np.searchsorted(at_s, end_s, side="right")) + 1
    return thin_to_columns(at_s[first:last], values[first:last], columns)
