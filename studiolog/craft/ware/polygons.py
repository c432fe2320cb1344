"""Plain polygons in mm: area, clipping by a straight line and by a convex shape, insets.

A polygon is a tuple of (x, y), its last side going back to the first point. Areas count positive
where the points run counter-clockwise with y upward.
"""

import math
from collections.abc import Sequence
from typing import Final

Point = tuple[float, float]
Polygon = tuple[Point, ...]

EPS: Final = 1e-7  # mm; nearer than that is the same place


def signed_area(points: Sequence[Point]) -> float:
    """Area in mm²; negative where the points run clockwise."""
    total = 0.0
    for (x1, y1), (x2, y2) in _sides(points):
        total += x1 * y2 - x2 * y1
    return total / 2.0


def area_of(points: Sequence[Point]) -> float:
    """Area in mm², whichever way the points run."""
    return abs(signed_area(points))


def counter_clockwise(points: Sequence[Point]) -> Polygon:
    """The same polygon, its points counter-clockwise."""
    return tuple(points) if signed_area(points) >= 0 else tuple(reversed(points))


def centre_of(points: Sequence[Point]) -> Point:
    """The centre of gravity of what a polygon encloses; of one that encloses nothing, a corner."""
    twice = 2.0 * signed_area(points)
    if twice == 0.0:
        return points[0]
    x = y = 0.0
    for (x1, y1), (x2, y2) in _sides(points):
        cross = x1 * y2 - x2 * y1
        x += (x1 + x2) * cross
        y += (y1 + y2) * cross
    return x / (3.0 * twice), y / (3.0 * twice)


def bounds(points: Sequence[Point]) -> tuple[float, float, float, float]:
    """Left, lower, right, upper."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def move(points: Sequence[Point], dx: float, dy: float) -> Polygon:
    """The polygon elsewhere."""
    return tuple((x + dx, y + dy) for x, y in points)


def turn(points: Sequence[Point], degrees: float) -> Polygon:
    """The polygon turned about (0, 0), counter-clockwise."""
    angle = math.radians(degrees)
    c, s = math.cos(angle), math.sin(angle)
    return tuple((x * c - y * s, x * s + y * c) for x, y in points)


def tidy(points: Sequence[Point]) -> Polygon:
    """Without points that repeat, or that lie on the straight way between their neighbours."""
    kept = [p for i, p in enumerate(points) if math.dist(p, points[i - 1]) > 10 * EPS]
    if len(kept) < 3:
        return ()
    found = []
    for i, (x, y) in enumerate(kept):
        (x0, y0), (x1, y1) = kept[i - 1], kept[(i + 1) % len(kept)]
        cross = (x - x0) * (y1 - y) - (y - y0) * (x1 - x)
        reach = math.dist((x0, y0), (x1, y1))
        if abs(cross) > 10 * EPS * max(reach, 1.0):
            found.append((x, y))
    return tuple(found) if len(found) >= 3 else ()


def crosses_itself(points: Sequence[Point]) -> bool:
    """Whether two sides meet anywhere but at the corner they share."""
    sides = _sides(points)
    count = len(sides)
    for i in range(count):
        for j in range(i + 1, count):
            if j in (i + 1, i - 1 + count):
                if _folds_back(sides[i], sides[j]):
                    return True
                continue
            if _meet(sides[i], sides[j]):
                return True
    return False


def contains(points: Sequence[Point], x: float, y: float) -> bool:
    """Whether a point lies inside; on the edge either answer may come."""
    inside = False
    for (x1, y1), (x2, y2) in _sides(points):
        if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
            inside = not inside
    return inside


def cut_off(points: Polygon, through: Point, along: Point) -> list[Polygon]:
    """What of a simple polygon lies left of a line through a point, as separate polygons.

    The polygon need not be convex: what is left of it may be several parts. Corners on the line
    count as left of it, so that touching makes no parts of no size.
    """
    (px, py), (dx, dy) = through, along
    length = math.hypot(dx, dy)
    dx, dy = dx / length, dy / length
    sides = []
    for x, y in points:
        distance = dx * (y - py) - dy * (x - px)
        sides.append(EPS if abs(distance) <= EPS else distance)
    if all(side > 0 for side in sides):
        return [points]
    if all(side < 0 for side in sides):
        return []
    chains, ends = _chains(points, sides, (px, py), (dx, dy))
    return _join(chains, ends)


def _chains(
    points: Polygon, sides: Sequence[float], through: Point, along: Point
) -> tuple[list[list[Point]], list[tuple[float, float]]]:
    """The runs of corners left of the line, each with where along it the run enters and leaves."""
    count = len(points)
    first = next(i for i in range(count) if sides[i] > 0 and sides[i - 1] < 0)
    chains: list[list[Point]] = []
    ends: list[tuple[float, float]] = []
    entered = 0.0
    for step in range(count):
        i = (first + step) % count
        before, here = sides[i - 1], sides[i]
        if before < 0 < here:
            at, entered = _crossing(points[i - 1], points[i], before, here, through, along)
            chains.append([at])
        elif here < 0 < before:
            at, left = _crossing(points[i - 1], points[i], before, here, through, along)
            chains[-1].append(at)
            ends.append((entered, left))
        if here > 0:
            chains[-1].append(points[i])
    return chains, ends


def _crossing(
    one: Point, two: Point, before: float, here: float, through: Point, along: Point
) -> tuple[Point, float]:
    share = before / (before - here)
    x, y = one[0] + (two[0] - one[0]) * share, one[1] + (two[1] - one[1]) * share
    return (x, y), along[0] * (x - through[0]) + along[1] * (y - through[1])


def _join(chains: list[list[Point]], ends: list[tuple[float, float]]) -> list[Polygon]:
    """Close runs along the line: crossings in order along it are inside the polygon in pairs."""
    crossings = sorted(
        [(start, 0, run) for run, (start, _) in enumerate(ends)]
        + [(end, 1, run) for run, (_, end) in enumerate(ends)]
    )
    partner: dict[tuple[int, int], tuple[int, int]] = {}
    for k in range(0, len(crossings) - 1, 2):
        one, two = crossings[k][1:], crossings[k + 1][1:]
        partner[one], partner[two] = two, one
    found: list[Polygon] = []
    done: set[int] = set()
    for run in range(len(chains)):
        if run in done:
            continue
        ring: list[Point] = []
        here = run
        while here not in done:
            done.add(here)
            ring += chains[here]
            kind, here = partner[(1, here)]
            if kind != 0:  # two leavings beside each other: a polygon that crosses itself
                break
        cleaned = tidy(ring)
        if cleaned:
            found.append(cleaned)
    return found


def clip(points: Polygon, shape: Sequence[Point], least_mm2: float = 1e-4) -> list[Polygon]:
    """What of a simple polygon lies in a convex counter-clockwise shape, as separate polygons.

    Parts smaller than ``least_mm2`` are left out: they are rounding, not clay.
    """
    parts = [points]
    for (x1, y1), (x2, y2) in _sides(shape):
        parts = [
            left for part in parts for left in cut_off(part, (x1, y1), (x2 - x1, y2 - y1))
        ]  # fmt: skip
    return [part for part in parts if area_of(part) >= least_mm2]


def inset(points: Polygon, by_mm: float) -> Polygon | None:
    """A counter-clockwise polygon with every side moved inwards, corners kept sharp.

    None where a side would vanish: then the inset is no longer the same shape.
    """
    if by_mm == 0.0:
        return points
    count = len(points)
    moved = []
    for (x1, y1), (x2, y2) in _sides(points):
        length = math.dist((x1, y1), (x2, y2))
        dx, dy = (x2 - x1) / length, (y2 - y1) / length
        moved.append(((x1 - dy * by_mm, y1 + dx * by_mm), (dx, dy)))
    corners: list[Point] = []
    for i in range(count):
        (ax, ay), (adx, ady) = moved[i - 1]
        (bx, by), (bdx, bdy) = moved[i]
        cross = adx * bdy - ady * bdx
        if abs(cross) < 1e-12:
            return None
        t = ((bx - ax) * bdy - (by - ay) * bdx) / cross
        corners.append((ax + adx * t, ay + ady * t))
    for i in range(count):
        (x1, y1), (x2, y2) = corners[i], corners[(i + 1) % count]
        dx, dy = moved[i][1]
        if (x2 - x1) * dx + (y2 - y1) * dy <= EPS:
            return None
    made = tuple(corners)
    return None if crosses_itself(made) else made


def hull(points: Sequence[Point]) -> Polygon:
    """The convex hull, counter-clockwise (A. M. Andrew, 1979)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def half(some: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for p in some:
            while len(chain) > 1 and _turn_of(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return tuple(half(ordered) + half(ordered[::-1]))


def narrowest(points: Sequence[Point]) -> float:
    """The least width of a polygon: the narrowest gap it could be pushed through, mm."""
    around = hull(points)
    if len(around) < 3:
        return 0.0
    widths = []
    for (x1, y1), (x2, y2) in _sides(around):
        length = math.dist((x1, y1), (x2, y2))
        widths.append(
            max(abs((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)) / length for x, y in around)
        )
    return min(widths)


def apart(one: Sequence[Point], two: Sequence[Point]) -> float:
    """How wide a straight saw cut between two convex polygons may be, mm; below 0: none.

    It runs along a side of one of them.
    """
    best = -math.inf
    for ours, others in ((one, two), (two, one)):
        for (x1, y1), (x2, y2) in _sides(ours):
            length = math.dist((x1, y1), (x2, y2))
            if length <= EPS:
                continue
            nx, ny = (y2 - y1) / length, (x1 - x2) / length  # outward, counter-clockwise
            gap = min(nx * (x - x1) + ny * (y - y1) for x, y in others)
            best = max(best, gap)
    return best


def _sides(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    return [(points[i], points[(i + 1) % len(points)]) for i in range(len(points))]


def _turn_of(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _on(a: Point, b: Point, p: Point) -> bool:
    near = abs(_turn_of(a, b, p)) <= EPS * max(math.dist(a, b), 1.0)
    return (
        near
        and min(a[0], b[0]) - EPS <= p[0] <= max(a[0], b[0]) + EPS
        and min(a[1], b[1]) - EPS <= p[1] <= max(a[1], b[1]) + EPS
    )


def _meet(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = one, two
    if any((_on(a, b, c), _on(a, b, d), _on(c, d, a), _on(c, d, b))):
        return True
    return (_turn_of(a, b, c) > 0) != (_turn_of(a, b, d) > 0) and (_turn_of(c, d, a) > 0) != (
        _turn_of(c, d, b) > 0
    )


def _folds_back(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Whether two sides at a corner lie on each other."""
    (a, b), (c, d) = one, two
    corner, p, q = (b, a, d) if b == c else (a, b, c)
    (ux, uy), (vx, vy) = (
        (p[0] - corner[0], p[1] - corner[1]),
        (q[0] - corner[0], q[1] - corner[1]),
    )
    cross, dot = ux * vy - uy * vx, ux * vx + uy * vy
    return abs(cross) <= EPS * max(math.hypot(ux, uy) * math.hypot(vx, vy), 1.0) and dot > 0
