"""Making room for one piece more: ware on a shelf is pushed together until nothing overlaps.

Every overlap is a spring (Σ depth², as in the quasi-physical methods for packing circles); its
rest is looked for with L-BFGS. What overlaps still is set somewhere else and tried again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from studiolog.craft.ware.free_places import Floats, Inside, Shape, Stand, meeting
from studiolog.craft.ware.shelf import Outline, Point
from studiolog.craft.ware.shelf_filling import Filling, Wanted

_MARGIN_MM: Final = 0.02  # pushed apart by so much more than asked, so that rounding never overlaps
_MOST_STEPS: Final = 250
_SAMPLES: Final = 400


@dataclass
class _Pairs:
    """Pairs of the same two cores: their meeting, the rims, and which they are (-1 - n: fixed)."""

    corners: Floats
    rims: Floats
    first: np.ndarray
    second: np.ndarray
    at: Floats
    """Where the second stands if it is fixed (n, 2), else empty."""


class Springs:
    """The overlaps of movable shapes on a shelf, as an energy of their middles (n, 2)."""

    def __init__(
        self, outline: Outline, edge_gap_mm: float, shapes: Sequence[Shape], fixed: Sequence[Stand]
    ) -> None:
        self.shapes = shapes
        self.pairs = self._group(shapes, fixed)
        margin = edge_gap_mm + _MARGIN_MM
        insides = {shape: Inside(outline, shape, margin) for shape in set(shapes)}
        self.normals = np.array(outline.edges, dtype=np.float64).reshape(-1, 3)[:, :2]
        self.reaches = np.array([insides[shape].reaches for shape in shapes])
        self.rounds: list[tuple[np.ndarray, Floats, Floats]] = []
        if outline.radius_mm is not None:
            owner, offset, radius = [], [], []
            for index, shape in enumerate(shapes):
                for centre in insides[shape].centres:
                    owner.append(index)
                    offset.append(centre)
                    radius.append(insides[shape].radius)
            self.rounds = [(np.array(owner), np.array(offset), np.array(radius))]

    def _group(self, shapes: Sequence[Shape], fixed: Sequence[Stand]) -> list[_Pairs]:
        groups: dict[
            tuple[tuple[Point, ...], tuple[Point, ...], bool],
            list[tuple[int, int, float, Point]],
        ] = {}

        def rim(one: Shape, other: Shape) -> float:
            gap = max(one.gap_mm, other.gap_mm)
            return one.radius_mm + other.radius_mm + gap + _MARGIN_MM

        for j, shape in enumerate(shapes):
            for i in range(j):
                key = (shape.core, shapes[i].core, False)
                groups.setdefault(key, []).append((i, j, rim(shapes[i], shape), (0.0, 0.0)))
        for i, shape in enumerate(shapes):
            for stand in fixed:
                key = (stand.shape.core, shape.core, True)
                at = (stand.x_mm, stand.y_mm)
                groups.setdefault(key, []).append((i, -1, rim(shape, stand.shape), at))
        return [
            _Pairs(
                meeting(standing, moving),
                np.array([entry[2] for entry in entries]),
                np.array([entry[0] for entry in entries]),
                np.array([entry[1] for entry in entries]),
                np.array([entry[3] for entry in entries]) if is_fixed else np.empty((0, 2)),
            )
            for (standing, moving, is_fixed), entries in groups.items()
        ]

    def energy(self, flat: Floats) -> tuple[float, Floats]:
        """Σ depth² of all overlaps, and its gradient."""
        points = flat.reshape(-1, 2)
        total = 0.0
        slope = np.zeros_like(points)
        for group in self.pairs:
            other = group.at if len(group.at) else points[group.second]
            depth, normal = _depth(points[group.first] - other, group.corners, group.rims)
            hit = depth > 0.0
            if not hit.any():
                continue
            total += float((depth[hit] ** 2).sum())
            push = -2.0 * depth[hit, None] * normal[hit]
            np.add.at(slope, group.first[hit], push)
            if not len(group.at):
                np.add.at(slope, group.second[hit], -push)
        if len(self.normals):
            over = np.maximum(points @ self.normals.T - self.reaches, 0.0)
            total += float((over**2).sum())
            slope += 2.0 * over @ self.normals
        for owner, centre, radius in self.rounds:
            apart = points[owner] - centre
            far = np.hypot(apart[:, 0], apart[:, 1])
            beyond = np.maximum(far - radius, 0.0)
            total += float((beyond**2).sum())
            safe = np.maximum(far, 1e-9)
            np.add.at(slope, owner, 2.0 * (beyond / safe)[:, None] * apart)
        return total, slope.ravel()

    def pain(self, flat: Floats) -> Floats:
        """How much each one takes part in overlaps."""
        _, slope = self.energy(flat)
        parts = slope.reshape(-1, 2)
        found: Floats = np.hypot(parts[:, 0], parts[:, 1])
        return found


def _depth(apart: Floats, corners: Floats, rims: Floats) -> tuple[Floats, Floats]:
    """How deep points (n, 2) lie in a rimmed region, and the way out (n, 2)."""
    if len(corners) == 1:
        away = apart - corners[0]
        far = np.hypot(away[:, 0], away[:, 1])
        safe = np.maximum(far, 1e-9)
        return rims - far, away / safe[:, None]
    sides = np.roll(corners, -1, axis=0) - corners
    long = np.hypot(sides[:, 0], sides[:, 1])
    unit = sides / long[:, None]
    outward = np.column_stack((unit[:, 1], -unit[:, 0]))
    dx = apart[:, None, 0] - corners[None, :, 0]
    dy = apart[:, None, 1] - corners[None, :, 1]
    beyond = dx * outward[:, 0] + dy * outward[:, 1]
    side = beyond.argmax(axis=1)
    rows = np.arange(len(apart))
    inner = beyond[rows, side]
    along = np.clip(dx * unit[:, 0] + dy * unit[:, 1], 0.0, long)
    ox, oy = dx - along * unit[:, 0], dy - along * unit[:, 1]
    away = np.hypot(ox, oy)
    near = away.argmin(axis=1)
    far = away[rows, near]
    outside = inner > 0.0
    distance = np.where(outside, far, inner)
    safe = np.maximum(far, 1e-9)
    normal = np.where(
        outside[:, None],
        np.column_stack((ox[rows, near] / safe, oy[rows, near] / safe)),
        outward[side],
    )
    return rims - distance, normal


def squeeze_in(
    filling: Filling, wanted: Wanted, rng: np.random.Generator, tries: int
) -> Filling | None:
    """The shelf with one thing more, everything else pushed aside; None if it can't be made to fit.

    What stands on the shelf keeps its turning; the new one is tried in each of its own.
    """
    from scipy.optimize import minimize

    old = filling.set
    for attempt in range(tries):
        degrees, shape = wanted.turned[attempt % len(wanted.turned)]
        shapes = [one.shape for one in old] + [shape]
        springs = Springs(filling.outline, filling.edge_gap_mm, shapes, filling.fixed)
        points = np.array([(one.x_mm, one.y_mm) for one in old] + [(0.0, 0.0)])
        if attempt // len(wanted.turned) % 2 and len(old) > 1:
            # Shake all a little: the same start would end in the same jam.
            points[:-1] += rng.normal(0.0, 0.15 * shape.reach_mm, (len(old), 2))
        points[-1] = _emptiest(springs, filling.outline, points, rng)
        for _ in range(3):
            found = minimize(
                springs.energy,
                points.ravel(),
                jac=True,
                method="L-BFGS-B",
                options={"maxiter": _MOST_STEPS, "ftol": 1e-14, "gtol": 1e-9},
            )
            # Each depth is at most the root of their sum of squares.
            if float(found.fun) ** 0.5 <= _MARGIN_MM:
                return _moved(filling, wanted, degrees, shape, found.x.reshape(-1, 2))
            points = found.x.reshape(-1, 2).copy()
            worst = int(springs.pain(found.x).argmax())
            points[worst] = _emptiest(springs, filling.outline, points, rng, worst)
    return None


def _emptiest(
    springs: Springs,
    outline: Outline,
    points: Floats,
    rng: np.random.Generator,
    moving: int = -1,
) -> Floats:
    """Of places drawn on the shelf, one with the most room around its middle."""
    half = np.array([outline.across_mm / 2.0, outline.deep_mm / 2.0])
    drawn = rng.uniform(-1.0, 1.0, (_SAMPLES, 2)) * half
    shape = springs.shapes[moving]
    others = np.delete(points, moving if moving >= 0 else len(points) - 1, axis=0)
    room = Inside(outline, shape, 0.0).room(drawn) + shape.reach_mm
    if len(others):
        apart = drawn[:, None, :] - others[None, :, :]
        reach = np.array(
            [
                one.reach_mm
                for index, one in enumerate(springs.shapes)
                if index != (moving if moving >= 0 else len(points) - 1)
            ]
        )
        room = np.minimum(room, (np.hypot(apart[..., 0], apart[..., 1]) - reach).min(axis=1))
    best = np.argsort(-room)[:4]
    chosen: Floats = drawn[int(rng.choice(best))]
    return chosen


def _moved(
    filling: Filling, wanted: Wanted, degrees: float, shape: Shape, points: Floats
) -> Filling:
    moved = Filling.of(filling)
    for one, (x, y) in zip(filling.set, points[:-1], strict=True):
        moved.put(one.wanted, float(x), float(y), one.turned_deg, one.shape)
    moved.put(wanted, float(points[-1, 0]), float(points[-1, 1]), degrees, shape)
    return moved
