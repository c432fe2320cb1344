"""Making room for one piece more: ware on a shelf is pushed together until nothing overlaps.

Every overlap is a spring (Σ depth², as in the quasi-physical methods for packing circles); its
rest is looked for with L-BFGS (Liu and Nocedal 1989). What overlaps still is set somewhere else and
tried again.

L-BFGS is written out here, in sums by element: for some dozens of variables SciPy's own starts the
threads of its linear algebra at every step, which took ten times as long on two busy cores.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.ware.free_places import Floats, Inside, Shape, Stand, meeting
from studiolog.craft.ware.shelf import Outline, Point
from studiolog.craft.ware.shelf_filling import Filling, Wanted

Whole = NDArray[np.intp]

_MARGIN_MM: Final = 0.02  # pushed apart by so much more than asked, so that rounding never overlaps
_FIRST_STEPS: Final = 60
_MORE_STEPS: Final = 160
_HOPELESS_MM: Final = 4.0  # overlaps that deep after the first steps are not worth more of them
_REMEMBERED: Final = 6
_SAMPLES: Final = 400


@dataclass
class _Pairs:
    """Pairs of things, both round or at least one with corners, as rows of arrays.

    ``second`` is -1 where the second is fixed and stands ``at``. ``corners`` (pairs, k, 2) are
    those of their meetings, short ones filled up with their last; ``bound`` is how near two have to
    be to be looked at at all.
    """

    first: Whole
    second: Whole
    at: Floats
    rims: Floats
    bound: Floats
    corners: Floats
    along: Floats
    long: Floats

    def apart(self, points: Floats) -> Floats:
        """From the second to the first of each pair."""
        other = np.where(self.second[:, None] >= 0, points[self.second], self.at)
        found: Floats = points[self.first] - other
        return found


class Springs:
    """The overlaps of movable shapes on a shelf, as an energy of their middles (n, 2)."""

    def __init__(
        self, outline: Outline, edge_gap_mm: float, shapes: Sequence[Shape], fixed: Sequence[Stand]
    ) -> None:
        self.shapes = shapes
        self._round, self._cornered = _pairs_of(shapes, fixed)
        margin = edge_gap_mm + _MARGIN_MM
        insides = {shape: Inside(outline, shape, margin) for shape in set(shapes)}
        self.normals = np.array(outline.edges, dtype=np.float64).reshape(-1, 3)[:, :2]
        self.reaches = np.array([insides[shape].reaches for shape in shapes])
        self.rounds: list[tuple[Whole, Floats, Floats]] = []
        if outline.radius_mm is not None:
            owner, offset, radius = [], [], []
            for index, shape in enumerate(shapes):
                for centre in insides[shape].centres:
                    owner.append(index)
                    offset.append(centre)
                    radius.append(insides[shape].radius)
            self.rounds = [(np.array(owner), np.array(offset), np.array(radius))]

    def energy(self, flat: Floats) -> tuple[float, Floats]:
        """Σ depth² of all overlaps, and its gradient."""
        points = flat.reshape(-1, 2)
        total = 0.0
        slope = np.zeros_like(points)
        for pairs, depths in ((self._round, _round_depth), (self._cornered, _cornered_depth)):
            if pairs is None:
                continue
            apart = pairs.apart(points)
            near = np.flatnonzero((apart * apart).sum(axis=1) < pairs.bound)
            if not len(near):
                continue
            depth, normal = depths(pairs, near, apart[near])
            hit = depth > 0.0
            total += float((depth[hit] ** 2).sum())
            push = -2.0 * depth[hit, None] * normal[hit]
            moved = near[hit]
            np.add.at(slope, pairs.first[moved], push)
            both = pairs.second[moved] >= 0
            np.add.at(slope, pairs.second[moved][both], -push[both])
        if len(self.normals):
            x, y = points[:, None, 0], points[:, None, 1]
            along = x * self.normals[:, 0] + y * self.normals[:, 1]
            over = np.maximum(along - self.reaches, 0.0)
            total += float((over**2).sum())
            slope[:, 0] += 2.0 * (over * self.normals[:, 0]).sum(axis=1)
            slope[:, 1] += 2.0 * (over * self.normals[:, 1]).sum(axis=1)
        for owner, centre, radius in self.rounds:
            apart = points[owner] - centre
            far = np.hypot(apart[:, 0], apart[:, 1])
            beyond = np.maximum(far - radius, 0.0)
            total += float((beyond**2).sum())
            safe = np.maximum(far, 1e-9)
            np.add.at(slope, owner, 2.0 * (beyond / safe)[:, None] * apart)
        return total, slope.ravel()

    def pain(self, points: Floats) -> Floats:
        """How much each one takes part in overlaps."""
        _, slope = self.energy(points.ravel())
        parts = slope.reshape(-1, 2)
        found: Floats = np.hypot(parts[:, 0], parts[:, 1])
        return found


def _pairs_of(
    shapes: Sequence[Shape], fixed: Sequence[Stand]
) -> tuple[_Pairs | None, _Pairs | None]:
    """All pairs, the round ones by themselves: their depth is told at once."""
    rows: tuple[list[_Row], list[_Row]] = ([], [])

    def note(i: int, j: int, one: Shape, other: Shape, at: Point) -> None:
        gap = max(one.gap_mm, other.gap_mm)
        rim = one.radius_mm + other.radius_mm + gap + _MARGIN_MM
        bound = (one.reach_mm + other.reach_mm + gap + _MARGIN_MM) ** 2
        corners = meeting(other.core, one.core)
        rows[len(corners) > 1].append((i, j, at, rim, bound, corners))

    for j, shape in enumerate(shapes):
        for i in range(j):
            note(i, j, shapes[i], shape, (0.0, 0.0))
        for stand in fixed:
            note(j, -1, shape, stand.shape, (stand.x_mm, stand.y_mm))
    return _as_arrays(rows[0]), _as_arrays(rows[1])


_Row = tuple[int, int, Point, float, float, Floats]


def _as_arrays(rows: list[_Row]) -> _Pairs | None:
    if not rows:
        return None
    most = max(len(row[5]) for row in rows)
    filled: dict[int, Floats] = {}
    for row in rows:
        corners = row[5]
        if id(corners) not in filled:
            rest = np.repeat(corners[-1:], most - len(corners), axis=0)
            filled[id(corners)] = np.vstack((corners, rest))
    corners = np.array([filled[id(row[5])] for row in rows])
    sides = np.roll(corners, -1, axis=1) - corners
    long = np.hypot(sides[..., 0], sides[..., 1])
    along = sides / np.maximum(long, 1e-9)[..., None]
    return _Pairs(
        np.array([row[0] for row in rows]),
        np.array([row[1] for row in rows]),
        np.array([row[2] for row in rows]),
        np.array([row[3] for row in rows]),
        np.array([row[4] for row in rows]),
        corners,
        along,
        long,
    )


def _round_depth(pairs: _Pairs, rows: Whole, apart: Floats) -> tuple[Floats, Floats]:
    """How deep round things stand in each other, and the way out (n, 2)."""
    away = apart - pairs.corners[rows, 0]
    far = np.hypot(away[:, 0], away[:, 1])
    safe = np.maximum(far, 1e-9)
    return pairs.rims[rows] - far, away / safe[:, None]


def _cornered_depth(pairs: _Pairs, rows: Whole, apart: Floats) -> tuple[Floats, Floats]:
    """How deep the first of each pair lies in the rimmed meeting of both, and the way out."""
    unit, long = pairs.along[rows], pairs.long[rows]
    out_x, out_y = unit[..., 1], -unit[..., 0]
    d = apart[:, None, :] - pairs.corners[rows]
    beyond = d[..., 0] * out_x + d[..., 1] * out_y
    beyond[long < 1e-9] = -np.inf
    every = np.arange(len(rows))
    side = beyond.argmax(axis=1)
    inner = beyond[every, side]
    t = np.clip(d[..., 0] * unit[..., 0] + d[..., 1] * unit[..., 1], 0.0, long)
    ox, oy = d[..., 0] - t * unit[..., 0], d[..., 1] - t * unit[..., 1]
    away = np.hypot(ox, oy)
    near = away.argmin(axis=1)
    far = away[every, near]
    outside = inner > 0.0
    safe = np.maximum(far, 1e-9)
    normal = np.where(
        outside[:, None],
        np.column_stack((ox[every, near] / safe, oy[every, near] / safe)),
        np.column_stack((out_x[every, side], out_y[every, side])),
    )
    return pairs.rims[rows] - np.where(outside, far, inner), normal


@dataclass
class Effort:
    """So many times the energy may still be worked out: the same on a fast and a slow computer."""

    left: int


def squeeze_in(
    filling: Filling, wanted: Wanted, rng: np.random.Generator, tries: int, effort: Effort
) -> Filling | None:
    """The shelf with one thing more, everything else pushed aside; None if it can't be made to fit.

    What stands on the shelf keeps its turning; the new one is tried in each of its own.
    """
    old = filling.set
    for attempt in range(tries):
        if effort.left <= 0:
            break
        degrees, shape = wanted.turned[attempt % len(wanted.turned)]
        shapes = [one.shape for one in old] + [shape]
        springs = Springs(filling.outline, filling.edge_gap_mm, shapes, filling.fixed)
        points = np.array([(one.x_mm, one.y_mm) for one in old] + [(0.0, 0.0)])
        round_of = attempt // len(wanted.turned)
        if round_of and len(old) > 1:
            # Shake all, more each time: the same start would end in the same jam.
            shaken = min(0.1 * round_of, 0.6) * shape.reach_mm
            points[:-1] += rng.normal(0.0, shaken, (len(old), 2))
        points[-1] = _emptiest(springs, filling.outline, points, rng)
        for _ in range(3):
            points, energy = _at_rest(springs, points, _FIRST_STEPS, effort)
            if _MARGIN_MM < energy**0.5 < _HOPELESS_MM:
                points, energy = _at_rest(springs, points, _MORE_STEPS, effort)
            # Each depth is at most the root of their sum of squares.
            if energy**0.5 <= _MARGIN_MM:
                return _moved(filling, wanted, degrees, shape, points)
            worst = int(springs.pain(points).argmax())
            points[worst] = _emptiest(springs, filling.outline, points, rng, worst)
    return None


def _at_rest(springs: Springs, points: Floats, steps: int, effort: Effort) -> tuple[Floats, float]:
    """Where the springs come to rest from some places, and the energy left (L-BFGS)."""
    x = points.ravel().copy()
    energy, slope = springs.energy(x)
    moves: list[tuple[Floats, Floats, float]] = []
    for _ in range(steps):
        if energy**0.5 <= _MARGIN_MM or float(np.abs(slope).max()) < 1e-7:
            break
        way = -_uphill(slope, moves)
        along = float((way * slope).sum())
        if along >= 0.0:
            moves.clear()
            way, along = -slope, -float((slope * slope).sum())
        # The first step undoes half of every overlap: the slope is twice its depth.
        length = 1.0 if moves else 0.25
        for _ in range(12):
            tried = x + length * way
            found, then = springs.energy(tried)
            effort.left -= 1
            if found <= energy + 1e-4 * length * along:
                break
            length *= 0.5
        else:
            break
        step, bent = tried - x, then - slope
        curve = float((step * bent).sum())
        if curve > 1e-12:
            moves = [*moves[-_REMEMBERED + 1 :], (step, bent, 1.0 / curve)]
        gained = energy - found
        x, energy, slope = tried, found, then
        if gained < 1e-7 * energy:
            break
    return x.reshape(-1, 2), energy


def _uphill(slope: Floats, moves: Sequence[tuple[Floats, Floats, float]]) -> Floats:
    """The slope over what is known of the curvature (the two loops of L-BFGS)."""
    way = slope.copy()
    shares: list[float] = []
    for step, bent, inverse in reversed(moves):
        share = inverse * float((step * way).sum())
        shares.append(share)
        way -= share * bent
    if moves:
        step, bent, inverse = moves[-1]
        way *= 1.0 / (inverse * float((bent * bent).sum()))
    for (step, bent, inverse), share in zip(moves, reversed(shares), strict=True):
        way += step * (share - inverse * float((bent * way).sum()))
    return way


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
