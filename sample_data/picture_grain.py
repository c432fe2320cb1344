"""Seamless tiles of noise and cracks that every demo picture is textured with.

Made once a process, from fixed seeds; a picture looks them up at its own offset.
"""

from __future__ import annotations

from functools import cache

import numpy as np

Floats = np.ndarray
SIZE = 512


@cache
def tile(name: str) -> Floats:
    """A ``SIZE`` × ``SIZE`` tile, mean 0 and deviation 1 (cracks and dots: 0…1).

    cloud    soft patches of every size
    swell    soft patches of one size, with smooth borders
    grain    chalky tooth, as lit from the upper left
    fine     single-texel noise
    streak   upright streaks, a few texels wide
    bristle  level streaks, as a brush leaves
    cracks   (3 layers) distance to a crack of the coarse and the fine net, and the cell's number
    dots     (2 layers) distance to the nearest dot, and that dot's number
    """
    random = np.random.default_rng(sum(map(ord, name)) * 7919)
    fy = np.fft.fftfreq(SIZE)[:, None] * SIZE
    fx = np.fft.rfftfreq(SIZE)[None, :] * SIZE
    if name in ("cracks", "dots"):
        return _cells(random, name)

    def shaped(spectrum: Floats) -> Floats:
        white = np.fft.rfft2(random.standard_normal((SIZE, SIZE)))
        made = np.fft.irfft2(white * spectrum, s=(SIZE, SIZE))
        made -= made.mean()
        return (made / made.std()).astype(np.float32)

    radius = np.hypot(fy, fx)
    if name == "cloud":
        return shaped(1 / (1 + (radius / 5) ** 2) ** 0.85)
    if name == "swell":
        return shaped(np.exp(-((radius / 14) ** 2)))
    if name == "grain":
        rough = shaped(np.exp(-((radius / 70) ** 2)) * (radius > 3)) + 0.5 * shaped(
            np.exp(-((radius / 150) ** 2))
        )
        lit = (rough - np.roll(rough, (2, 2), (0, 1))) + 0.35 * rough
        return ((lit - lit.mean()) / lit.std()).astype(np.float32)
    if name == "fine":
        return shaped(np.ones_like(radius))
    if name == "streak":
        wide = shaped(np.exp(-((fx / 40) ** 2) - (fy / 2.2) ** 2))
        thin = shaped(np.exp(-((fx / 130) ** 2) - (fy / 5.0) ** 2) * (fx > 12))
        mixed = wide + 0.7 * thin
        return (mixed / mixed.std()).astype(np.float32)
    if name == "bristle":
        return shaped(np.exp(-((fy / 90) ** 2) - (fx / 3.0) ** 2) * (np.abs(fy) > 6))
    raise KeyError(name)


def _cells(random: np.random.Generator, name: str) -> Floats:
    """Distances in a jittered grid of cells (Voronoi), wrapped round so that the tile repeats."""

    def nearest_two(cells: int, warp: float) -> tuple[Floats, Floats, Floats]:
        points = random.uniform(0.08, 0.92, (cells, cells, 2))
        number = random.random((cells, cells)).astype(np.float32)
        y, x = np.meshgrid(*[np.arange(SIZE) * cells / SIZE] * 2, indexing="ij")
        if warp:
            y = y + warp * tile("swell")
            x = x + warp * np.roll(tile("swell"), (97, 211), (0, 1))
        row, column = np.floor(y).astype(int), np.floor(x).astype(int)
        first = np.full(x.shape, 9.0)
        second = np.full(x.shape, 9.0)
        owner = np.zeros(x.shape, dtype=np.float32)
        for dr in (-1, 0, 1):
            for dc in (-1, 0, 1):
                r, c = (row + dr) % cells, (column + dc) % cells
                gap = np.hypot(y - row - dr - points[r, c, 0], x - column - dc - points[r, c, 1])
                closer = gap < first
                second = np.where(closer, first, np.minimum(second, gap))
                owner = np.where(closer, number[r, c], owner)
                first = np.where(closer, gap, first)
        return first.astype(np.float32), (second - first).astype(np.float32), owner

    if name == "dots":
        first, _, owner = nearest_two(24, 0.0)
        return np.stack([first / 24, owner])  # in tile widths
    _, coarse, owner = nearest_two(7, 0.045)
    _, fine, _ = nearest_two(17, 0.09)
    return np.stack([coarse / 7, fine / 17, owner])


def look_up(
    name: str, u_mm: Floats, v_mm: Floats, texels_per_mm: float, seed: int, layer: int = 0
) -> Floats:
    """The tile's value at each place, nearest texel, shifted by the seed."""
    whole = tile(name)
    flat = (whole[layer] if whole.ndim == 3 else whole).ravel()
    across, down = (seed * 193) % SIZE, (seed * 71) % SIZE
    column = (u_mm * np.float32(texels_per_mm)).astype(np.int32)
    row = (v_mm * np.float32(texels_per_mm)).astype(np.int32)
    column += across + 1024 * SIZE
    row += down + 1024 * SIZE
    column &= SIZE - 1
    row &= SIZE - 1
    row *= SIZE
    row += column
    return flat.take(row)


def look_up_softly(
    name: str, u_mm: Floats, v_mm: Floats, texels_per_mm: float, seed: int, layer: int = 0
) -> Floats:
    """As ``look_up``, but smooth between texels: for close pictures."""
    whole = tile(name)
    flat = (whole[layer] if whole.ndim == 3 else whole).ravel()
    x = u_mm * np.float32(texels_per_mm) + np.float32((seed * 193) % SIZE + 64 * SIZE)
    y = v_mm * np.float32(texels_per_mm) + np.float32((seed * 71) % SIZE + 64 * SIZE)
    column, row = x.astype(np.int32), y.astype(np.int32)
    fx, fy = x - column, y - row
    c0, c1 = column & (SIZE - 1), (column + 1) & (SIZE - 1)
    r0, r1 = (row & (SIZE - 1)) * SIZE, ((row + 1) & (SIZE - 1)) * SIZE
    top = flat.take(r0 + c0) * (1 - fx) + flat.take(r0 + c1) * fx
    low = flat.take(r1 + c0) * (1 - fx) + flat.take(r1 + c1) * fx
    return top * (1 - fy) + low * fy
