"""Many curves as columns of pixels: what the eye sees of them, whatever their number. NumPy only.

A curve in a column of pixels is the span from its lowest to its highest value there. The spans of
all curves are counted at once, so that two hundred curves cost little more than two.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Singles = NDArray[np.float32]

_AT_ONCE = 24
_UP_AND_DOWN = (np.int16(1), np.int16(-1))
_FOLD_FROM = 2.0
"""Steps a column from which readings between its edges could be missed by the eye."""


@dataclass(frozen=True, eq=False)
class Columns:
    """n curves in k columns of pixels: values at the k + 1 edges, NaN where there is no reading.

    ``folded`` has the lowest and highest within each column where readings lie between the edges;
    None: the edges say all.
    """

    edges: Singles
    folded: tuple[Singles, Singles] | None = None

    def spans(self) -> tuple[Singles, Singles]:
        """Lowest and highest of each curve in each column, n x k."""
        if self.folded is not None:
            return self.folded
        first, second = self.edges[:, :-1], self.edges[:, 1:]
        return np.fmin(first, second), np.fmax(first, second)

    def some(self, rows: slice) -> "Columns":
        """A few of the curves."""
        folded = self.folded
        if folded is not None:
            folded = folded[0][rows], folded[1][rows]
        return Columns(self.edges[rows], folded)


def read_columns(
    values: Singles, first_s: float, step_s: float, low_s: float, high_s: float, columns: int
) -> Columns:
    """Read n x m values, one every ``step_s`` from ``first_s``, at the edges of columns of time."""
    curves, steps = values.shape
    place = (np.linspace(low_s, high_s, columns + 1) - first_s) / step_s
    inside = (place >= 0) & (place <= steps - 1)
    at = np.clip(place.astype(np.intp), 0, max(0, steps - 2))
    part = np.clip(place - at, 0.0, 1.0).astype(np.float32)
    if not curves or steps < 2 or columns < 1:
        return Columns(np.full((curves, max(1, columns) + 1), np.nan, dtype=np.float32))
    before, after = values.take(at, axis=1), values.take(at + 1, axis=1)
    edges = after - before
    edges *= part
    edges += before
    unknown = np.isnan(edges)
    if unknown.any():
        # A reading beside a gap still stands where it was taken.
        np.copyto(edges, np.where(part < 0.5, before, after), where=unknown)
    edges[:, ~inside] = np.nan
    found = Columns(edges)
    if (high_s - low_s) / columns <= _FOLD_FROM * step_s:
        return found
    low, high = found.spans()
    _fold_between(values, place, low, high)
    return Columns(edges, (low, high))


def _fold_between(values: Singles, place: Numbers, low: Singles, high: Singles) -> None:
    """Widen the spans by the readings that lie between the edges of a column."""
    steps = values.shape[1]
    first = np.ceil(place).astype(np.intp)
    some = (first[1:] > first[:-1]) & (first[1:] > 0) & (first[:-1] < steps)
    which = np.flatnonzero(some)
    if not which.size:
        return
    start = np.clip(first[:-1][which], 0, steps - 1)
    # Columns follow each other without a break, so each ends where the next begins.
    end = min(int(first[which[-1] + 1]), steps)
    part = values[:, :end]
    low[:, which] = np.fmin(low[:, which], np.fmin.reduceat(part, start, axis=1))
    high[:, which] = np.fmax(high[:, which], np.fmax.reduceat(part, start, axis=1))


def count_cover(columns: Columns, top: float, bottom: float, rows: int) -> NDArray[np.int16]:
    """How many curves cross each pixel: rows x columns, ``top`` and ``bottom`` the values there."""
    curves, wide = len(columns.edges), columns.edges.shape[1] - 1
    if not curves or not rows or top == bottom:
        return np.zeros((rows, wide), dtype=np.int16)
    # Each span adds one where it begins and takes it back after its end; a span that is not to be
    # seen does both in the same place. A few curves at a time: what is at hand stays small.
    marks = np.zeros((rows + 1) * wide, dtype=np.int16)
    column = np.arange(wide)
    for start in range(0, curves, _AT_ONCE):
        part = columns.some(slice(start, start + _AT_ONCE))
        for places, by in zip(_rows_of(part, top, bottom, rows), _UP_AND_DOWN, strict=True):
            places *= wide
            places += column
            np.add.at(marks, places.ravel(), by)
    counts = marks[: rows * wide].reshape(rows, wide)
    above = counts[0]
    for row in counts[1:]:  # row by row is three times as fast as a sum down the columns
        row += above
        above = row
    return counts


def _rows_of(
    columns: Columns, top: float, bottom: float, rows: int
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The first row of each span, and the row after its last; equal where it is not seen."""
    scale = np.float32(rows / (top - bottom))
    base = np.float32(top) * scale
    low, high = columns.spans()
    upper, lower = base - high * scale, base - low * scale
    # One pixel beyond either end is as good as any farther; where nothing is known, above the top.
    np.fmax(upper, -1.0, out=upper)
    np.fmax(lower, -1.0, out=lower)
    np.minimum(upper, rows, out=upper)
    np.minimum(lower, rows - 0.5, out=lower)
    after = lower.astype(np.intp)
    after += lower >= 0.0
    first = upper.astype(np.intp)
    np.maximum(first, 0, out=first)
    np.maximum(after, 0, out=after)
    return first, np.maximum(after, first, out=after)


def pixels_of(
    columns: Columns, top: float, bottom: float, rows: int
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The rows and columns of all pixels that a few curves cross."""
    upper, after = _rows_of(columns, top, bottom, rows)
    column = np.broadcast_to(np.arange(upper.shape[1]), upper.shape).ravel()
    high = np.maximum(after - upper, 0).ravel()
    first = np.repeat(upper.ravel(), high)
    within = np.arange(first.size) - np.repeat(np.cumsum(high) - high, high)
    return first + within, np.repeat(column, high)


def cover_between(
    low: Singles, high: Singles, top: float, bottom: float, rows: int
) -> NDArray[np.bool_]:
    """The pixels between two lines, given in the middle of each column: rows x columns."""
    scale = rows / (top - bottom)
    with np.errstate(invalid="ignore"):
        ends = np.stack([(top - high) * scale, (top - low) * scale])
    ends = np.where(np.isnan(ends), rows, np.clip(np.rint(ends), 0, rows)).astype(np.int16)
    row = np.arange(rows, dtype=np.int16)[:, None]
    return np.asarray((row >= ends[0]) & (row < ends[1]), dtype=np.bool_)


def nearest_curve(
    columns: Columns, x: float, y: float, top: float, bottom: float, rows: float, reach: int = 14
) -> int | None:
    """The curve that passes nearest to a pixel, looking ``reach`` columns to either side."""
    curves, edges = columns.edges.shape
    first, last = max(0, int(x) - reach), min(edges, int(x) + reach + 1)
    if not curves or first >= last:
        return None
    scale = np.float32(rows / (top - bottom))
    away = columns.edges[:, first:last] * -scale
    away += np.float32(top * scale - y)
    away *= away
    away += np.square(np.arange(first, last, dtype=np.float32) - np.float32(x))
    found = np.fmin(away, np.float32(np.inf))
    best = int(np.argmin(found))
    return None if np.isinf(found.flat[best]) else best // found.shape[1]
