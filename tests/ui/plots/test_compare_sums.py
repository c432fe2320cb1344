"""Two hundred curves as pixels: counted at once, they are what drawing each would give."""

import numpy as np
import pytest

from studiolog.ui.plots.compare_sums import (
    count_cover,
    cover_between,
    nearest_curve,
    pixels_of,
    read_columns,
)

ROWS, WIDE = 40, 60


def curves() -> np.ndarray:  # type: ignore[type-arg]
    """Nine wandering curves, one with a gap, one that leaves the frame at both ends."""
    chance = np.random.default_rng(4)
    found = 50 + np.cumsum(chance.normal(0, 3, (9, 200)), axis=1)
    found[3, 60:90] = np.nan
    found[5] = np.linspace(-60, 160, 200)
    found[6] = 400.0
    return found.astype(np.float32)


def test_the_pixels_counted_are_those_each_curve_crosses() -> None:
    columns = read_columns(curves(), 0.0, 60.0, 0.0, 199 * 60.0, WIDE)
    counted = count_cover(columns, 100.0, 0.0, ROWS)
    drawn = np.zeros((ROWS, WIDE), dtype=int)
    for low, high in zip(*columns.spans(), strict=True):
        for column in range(WIDE):
            if np.isnan(low[column]):
                continue
            top = (100 - high[column]) * ROWS / 100
            bottom = (100 - low[column]) * ROWS / 100
            if bottom < 0 or top >= ROWS:
                continue
            drawn[max(0, int(top)) : min(ROWS - 1, int(bottom)) + 1, column] += 1
    np.testing.assert_array_equal(counted, drawn)
    rows, places = pixels_of(columns, 100.0, 0.0, ROWS)
    several = np.zeros_like(drawn)
    np.add.at(several, (rows, places), 1)
    np.testing.assert_array_equal(several, drawn)


def test_no_reading_between_two_columns_is_lost_from_sight() -> None:
    flat = np.full((2, 600), 50.0, dtype=np.float32)
    flat[0, 301] = 90.0
    columns = read_columns(flat, 0.0, 60.0, 0.0, 599 * 60.0, 50)
    low, high = columns.spans()
    assert high[0].max() == 90.0
    assert (high[1] == 50.0).all()
    assert (low == 50.0).all()


def test_a_gap_stays_a_gap_and_nothing_is_seen_outside_the_log() -> None:
    columns = read_columns(curves(), 0.0, 60.0, -3600.0, 240 * 60.0, 300)
    seconds = np.linspace(-3600.0, 240 * 60.0, 301)
    assert np.isnan(columns.edges[:, seconds < 0]).all()
    assert np.isnan(columns.edges[:, seconds > 199 * 60]).all()
    inside = (seconds > 61 * 60) & (seconds < 89 * 60)
    assert np.isnan(columns.edges[3, inside]).all()
    assert not np.isnan(columns.edges[2, (seconds >= 0) & (seconds <= 199 * 60)]).any()
    nothing = read_columns(np.empty((0, 0), dtype=np.float32), 0.0, 60.0, 0.0, 600.0, 10)
    assert count_cover(nothing, 100.0, 0.0, ROWS).sum() == 0


def test_the_band_is_filled_between_its_edges() -> None:
    low = np.array([20, 20, np.nan, 90], dtype=np.float32)
    high = np.array([40, 200, np.nan, 95], dtype=np.float32)
    filled = cover_between(low, high, 100.0, 0.0, 10)
    assert filled.sum(axis=0).tolist() == [2, 8, 0, 1]
    assert filled[6:8, 0].all()


def test_the_nearest_curve_is_found_where_it_is_steep_too() -> None:
    steep = np.vstack([np.linspace(0, 100, 50), np.linspace(100, 0, 50), np.full(50, 10.0)])
    columns = read_columns(steep.astype(np.float32), 0.0, 60.0, 0.0, 49 * 60.0, 100)
    assert nearest_curve(columns, 20, 90, 100.0, 0.0, 100.0) == 2
    assert nearest_curve(columns, 78, 24, 100.0, 0.0, 100.0) == 0
    assert nearest_curve(columns, 20, 22, 100.0, 0.0, 100.0) == 1
    empty = read_columns(np.full((1, 50), np.nan, dtype=np.float32), 0.0, 60.0, 0.0, 2940.0, 100)
    assert nearest_curve(empty, 20, 22, 100.0, 0.0, 100.0) is None


@pytest.mark.parametrize("columns", [1, 7, 333])
def test_curves_of_any_width_are_read(columns: int) -> None:
    found = read_columns(curves(), 0.0, 60.0, 600.0, 9000.0, columns)
    low, high = found.spans()
    assert low.shape == (9, columns)
    known = ~np.isnan(low)
    assert (low[known] <= high[known]).all()
