"""Where the camera stands, and what of a form it sees: the geometry of a demo picture.

The camera is far away (parallel projection), tilted down. X runs right, Y away from the camera,
Z up; the middle of the foot stands on the origin. A point is seen at

    column = foot_x + X · px_per_mm
    row    = foot_y − (Z · cos tilt + Y · sin tilt) · px_per_mm

so level lengths are true to ``px_per_mm`` and upright ones are shortened by cos tilt.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from .profiles import FormShape

Floats = np.ndarray


class Camera(NamedTuple):
    """A picture of ``width`` × ``height`` pixels; tilt in degrees below level."""

    width: int
    height: int
    px_per_mm: float
    foot_x: float
    foot_y: float
    tilt_deg: float

    @property
    def cos_sin(self) -> tuple[float, float]:
        tilt = np.radians(self.tilt_deg)
        return float(np.cos(tilt)), float(np.sin(tilt))


@dataclass(frozen=True, eq=False)
class SeenSurface:
    """What each covered pixel shows: flat arrays, one entry a pixel. Lengths are *fired* mm."""

    pixel: np.ndarray  # index into the flattened picture
    height_mm: Floats  # above the foot
    around_mm: Floats  # along the surface, level
    cloth_u_mm: Floats  # two coordinates that stretch nowhere, for even textures
    cloth_v_mm: Floats
    normal: Floats  # 3 × n, unit
    relief: Floats  # −1 in a hollow, 0 on a plain wall, 1 on a ridge, a lip or an edge
    from_rim_mm: Floats  # along the wall, 0 on the top of the rim
    side: np.ndarray  # 0 outside, 1 inside, 2 lid or roof
    bare: np.ndarray  # never glazed: standing faces, cut edges below the foot line
    open_light: Floats  # 1 in the open, less deep inside or in a corner
    edges: np.ndarray  # picture pixels where one surface stops and another begins
    upright: bool  # glaze runs down it
    view_cos_sin: tuple[float, float]  # of the camera's tilt


def _profile(shape: FormShape, step_mm: float) -> dict[str, Floats]:
    """The wall, foot to rim and down inside to the floor, in even steps along the clay."""
    outer = np.asarray(shape.outside, dtype=float)
    if shape.lid:
        line = np.vstack([outer, np.asarray(shape.lid, dtype=float)])
        outside_points = len(line)
        lid_from = len(outer)
    else:
        line = np.vstack([outer, np.asarray(shape.inside, dtype=float)[1:]])
        outside_points = lid_from = len(outer)
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    even = np.arange(0, along[-1], step_mm)
    r = np.interp(even, along, line[:, 0])
    h = np.interp(even, along, line[:, 1])
    # Light rounding of the corners between the drawn points, so that shading is not faceted.
    tangent = np.column_stack([np.gradient(r), np.gradient(h)])
    window = max(3, round(1.2 / step_mm) | 1)
    kernel = np.hanning(window + 2)[1:-1]
    kernel /= kernel.sum()
    padded = np.pad(tangent, ((window // 2, window // 2), (0, 0)), mode="edge")
    tangent = np.column_stack([np.convolve(padded[:, i], kernel, "valid") for i in (0, 1)])
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    # Walking up the outside, out is to the right of the way one goes.
    normal_r, normal_z = tangent[:, 1], -tangent[:, 0]
    wide = max(3, round(11 / step_mm) | 1)
    box = np.hanning(wide + 2)[1:-1]
    box /= box.sum()
    smooth_r = np.convolve(np.pad(r, wide // 2, mode="reflect", reflect_type="odd"), box, "valid")
    smooth_h = np.convolve(np.pad(h, wide // 2, mode="reflect", reflect_type="odd"), box, "valid")
    relief = ((r - smooth_r) * normal_r + (h - smooth_h) * normal_z) / 0.68
    rim_along = float(along[outside_points - 1])
    side = np.zeros(len(even), dtype=np.uint8)
    side[even > along[outside_points - 1]] = 1
    if shape.lid:
        side[even >= along[lid_from]] = 2
        rim_along = float(along[lid_from - 1])
    return {
        "r": r,
        "h": h,
        "normal_r": normal_r,
        "normal_z": normal_z,
        "relief": np.clip(relief, -1, 1),
        "from_rim": np.abs(even - rim_along),
        "side": side,
    }


@lru_cache(maxsize=4)
def see_thrown(shape: FormShape, camera: Camera, size_factor: float) -> SeenSurface:
    """What the camera sees of a lathe form grown by ``size_factor`` over its fired size.

    Column by column: the wall is walked from the near foot over the rim, down the inside and up
    the far side; a point shows where it rises above all that was walked before it.
    """
    scale = camera.px_per_mm * size_factor
    wall = _profile(shape, 0.7 / scale)
    cos, sin = camera.cos_sin
    r, h = wall["r"] * scale, wall["h"] * scale
    count = len(r)
    outer_count = int(np.count_nonzero(wall["side"] != 1))
    columns = np.arange(camera.width) + 0.5 - camera.foot_x
    near = np.abs(columns) < r.max()
    columns_seen = np.nonzero(near)[0]
    unique_x, which = np.unique(np.round(np.abs(columns[near]), 3), return_inverse=True)
    rows_up = camera.foot_y - (np.arange(camera.height)[::-1] + 0.5)
    top = float((h * cos + r * sin).max()) + 1
    bottom = float((h * cos - r * sin).min()) - 1
    rows_seen = np.nonzero((rows_up > bottom) & (rows_up < top))[0]
    levels = rows_up[rows_seen]
    found = np.full((len(unique_x), len(levels)), -1.0, dtype=np.float32)
    r2, base = r * r, h * cos
    for i, x in enumerate(unique_x):
        there = r >= x
        depth = np.sqrt(np.maximum(r2 - x * x, 0)) * sin
        front = np.where(there, base - depth, -np.inf)
        outer = np.where(there[:outer_count], front[:outer_count], np.inf)
        clear = np.minimum.accumulate(outer[::-1])[::-1]
        front[:outer_count] = np.where(outer <= clear, front[:outer_count], -np.inf)
        back = np.where(there, base + depth, -np.inf)[::-1]
        seen = np.concatenate([front, back])
        highest = np.maximum.accumulate(seen)
        keep = np.nonzero(np.concatenate([[np.isfinite(seen[0])], seen[1:] > highest[:-1]]))[0]
        if len(keep) < 2:
            continue
        ys = seen[keep]
        after = np.clip(np.searchsorted(ys, levels), 1, len(keep) - 1)
        y1, y0 = ys[after], ys[after - 1]
        i1, i0 = keep[after], keep[after - 1]
        part = (levels - y0) / np.maximum(y1 - y0, 1e-9)
        smooth = i1 - i0 <= 4
        # Where the wall turns out of sight the near and the far side meet: no gap there.
        meets = np.abs(np.minimum(i0, 2 * count - 1 - i0) - np.minimum(i1, 2 * count - 1 - i1)) <= 4
        at = np.where(smooth, i0 + part * (i1 - i0), np.where(part < 0.5, i0, i1))
        inside = (levels >= ys[0]) & (levels <= ys[-1]) & (smooth | meets | (y1 - y0 < 4))
        column = np.where(inside, at, -1)
        if shape.lid and not inside.all():
            _fill_behind(column, levels, ys, back, count)
        found[i] = column
    grid = found[which].T  # rows (bottom up) × columns
    covered = grid >= 0
    row_index, column_index = np.nonzero(covered)
    at = grid[covered]
    # Bottom-up rows to picture rows, in picture order so that look-ups walk memory forwards.
    picture_row = camera.height - 1 - rows_seen[row_index]
    pixel = picture_row * camera.width + columns_seen[column_index]
    order = np.argsort(pixel, kind="stable")
    pixel, at = pixel[order], at[order]
    x = columns[pixel % camera.width].astype(np.float32)
    in_front = at < count - 0.5
    place = np.where(in_front, at, 2 * count - 1 - at)
    low = np.clip(place.astype(np.int32), 0, count - 2)
    part = (place - low).astype(np.float32)

    def along_wall(name: str) -> Floats:
        values = wall[name].astype(np.float32)
        return values[low] + part * (values[low + 1] - values[low])

    radius = np.maximum(along_wall("r") * scale, np.abs(x) + 1e-3)
    y = np.sqrt(radius * radius - x * x)
    y = np.where(in_front, -y, y)
    normal_r = along_wall("normal_r")
    normal = np.stack([normal_r * x / radius, normal_r * y / radius, along_wall("normal_z")])
    side = wall["side"][low]
    height = along_wall("h")
    angle = np.arctan2(x, -y)
    widest = float(wall["r"].max())
    around = (angle * widest).astype(np.float32)
    # Floors, lids and wide bowls are covered from above; walls are unrolled.
    wide = shape.width_mm > 1.6 * shape.height_mm
    from_above = (side == 2) | ((side == 1) & wide)
    true = np.float32(1 / scale)
    cloth_u = np.where(from_above, x * true + 300, around)
    cloth_v = np.where(from_above, y * true + height + 300, height)
    light = _light_inside(wall, shape, low, side, angle)
    region = np.zeros(camera.width * camera.height, dtype=np.uint8)
    region[pixel] = 1 + side + 4 * in_front
    lid_step = np.zeros_like(region)
    lid_step[pixel] = np.clip(height / 2.0, 0, 255).astype(np.uint8) if shape.lid else 0
    return SeenSurface(
        pixel=pixel.astype(np.int32),
        height_mm=height,
        around_mm=around,
        cloth_u_mm=cloth_u,
        cloth_v_mm=cloth_v,
        normal=normal.astype(np.float32),
        relief=along_wall("relief"),
        from_rim_mm=along_wall("from_rim"),
        side=side,
        bare=(height < 0.6) & (side == 0),
        open_light=light,
        edges=find_edges(region, lid_step, camera),
        upright=True,
        view_cos_sin=camera.cos_sin,
    )


def _fill_behind(
    column: Floats, levels: Floats, front_ys: Floats, back: Floats, count: int
) -> None:
    """Between lid and knob one looks past the neck at the far side of the lid."""
    gaps = np.nonzero(np.diff(front_ys) >= 4)[0]
    for gap in gaps:
        y0, y1 = front_ys[gap], front_ys[gap + 1]
        inside = np.nonzero((back > y0) & (back < y1))[0]
        wanted = np.nonzero((levels > y0) & (levels < y1) & (column < 0))[0]
        if len(inside) < 2 or len(wanted) == 0:
            continue
        by_height = inside[np.argsort(back[inside], kind="stable")]
        spot = np.searchsorted(back[by_height], levels[wanted])
        reached = spot < len(by_height)
        column[wanted[reached]] = count + by_height[spot[reached]]


def _light_inside(
    wall: dict[str, Floats], shape: FormShape, low: np.ndarray, side: np.ndarray, angle: Floats
) -> Floats:
    """How much of the sky a point sees: less the deeper inside, less under an overhang."""
    h, r = wall["h"], wall["r"]
    rim_r = float(r[wall["side"] == 0][-1])
    depth = np.maximum(h[wall["side"] == 0].max() - h, 0)
    openness = np.where(wall["side"] == 1, 0.30 + 0.70 / (1 + (depth / (0.95 * rim_r)) ** 2), 1.0)
    foot = np.clip(h / 16, 0, 1)
    openness = np.where(wall["side"] == 0, openness * (0.62 + 0.38 * foot**0.7), openness)
    if shape.lid:
        # The gap under the lid and the neck of the knob are dark.
        body_top = max(height for _, height in shape.outside)
        gap = np.exp(-(((h - body_top - 1.2) / 1.6) ** 2)) * 0.62
        neck = np.exp(-(((h - 131.5) / 2.6) ** 2)) * 0.3
        openness = openness * (1 - gap) * (1 - neck)
    light = openness.astype(np.float32)[low]
    # Inside, the lip throws its shadow on the side the window is on (left).
    inside = side == 1
    deep = np.clip(depth.astype(np.float32)[low] / (0.55 * rim_r), 0, 1)
    shaded = 0.5 - 0.5 * np.sin(angle + 0.5)
    return np.where(inside, light * (1 - 0.42 * deep * shaded), light).astype(np.float32)


def find_edges(region: np.ndarray, step: np.ndarray, camera: Camera) -> np.ndarray:
    """Pixels beside a border between two regions (or a jump in ``step``), for smoothing."""
    grid = region.reshape(camera.height, camera.width)
    steps = step.reshape(camera.height, camera.width).astype(np.int16)
    border = np.zeros(grid.shape, dtype=bool)
    across = (grid[:, 1:] != grid[:, :-1]) | (np.abs(steps[:, 1:] - steps[:, :-1]) > 1)
    down = (grid[1:] != grid[:-1]) | (np.abs(steps[1:] - steps[:-1]) > 1)
    border[:, 1:] |= across
    border[:, :-1] |= across
    border[1:] |= down
    border[:-1] |= down
    border[0] = border[-1] = False
    border[:, 0] = border[:, -1] = False
    return np.nonzero(border.ravel())[0].astype(np.int32)
