"""Looking at a planned load as it stands, and moving a piece in it by hand.

What is wrong is told in sentences, and nothing is put right by itself: the potter may know better.
Where a piece is dragged, the nearest place with room for it is found, so that it slides along what
it touches.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from studiolog.craft.units import show_quantity
from studiolog.craft.ware.load_plan import (
    LoadPlan,
    Place,
    PlannedShelf,
    Ware,
    standing_mm,
)
from studiolog.craft.ware.shelf import Point, clear_heights
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from studiolog.craft.ware.free_places import Room

_TOLERANCE_MM: Final = 0.05
"""Nearer than the gap by less than this is not told: nobody sets ware so exactly."""


@dataclass(frozen=True, slots=True)
class PlanFault:
    """Something that can't stand as planned.

    ``position`` is its shelf (0: the load as a whole), ``keys`` the pieces meant. ``kind`` is
    "overlap", "gap", "edge", "kept", "tall", "level", "stack", "twice", "posts", "chamber" or
    "shelves".
    """

    position: int
    kind: str
    keys: tuple[int, ...]
    words: str


def check_plan(plan: LoadPlan) -> tuple[PlanFault, ...]:
    """All that is wrong with a plan, from the lowest shelf up; () for one that stands."""
    found = [*_check_shelves(plan), *_check_twice(plan)]
    for shelf in plan.shelves:
        found += check_shelf(plan, shelf)
    return tuple(found)


def check_shelf(plan: LoadPlan, shelf: PlannedShelf) -> tuple[PlanFault, ...]:
    """All that is wrong with one shelf; `check_plan` asks for each."""
    found: list[PlanFault] = []
    standing = [place for place in shelf.places if place.on_key is None]
    for number, place in enumerate(standing):
        found += _check_alone(plan, shelf, place)
        for other in standing[:number]:
            found += _check_pair(plan, shelf, other, place)
    found += _check_heights(plan, shelf)
    for place in shelf.places:
        if place.on_key is not None:
            told = stacking_problem(plan, shelf.position, place.key, place.on_key)
            if told:
                keys = (place.key, place.on_key)
                found.append(PlanFault(shelf.position, "stack", keys, told))
        reason = plan.wares[place.key].barred.get(shelf.level_id or 0)
        if reason:
            told = f"{_begun(plan, place.key)} should not stand here: {reason}"
            found.append(PlanFault(shelf.position, "level", (place.key,), told))
    return tuple(found)


def _begun(plan: LoadPlan, key: int) -> str:
    name = plan.wares[key].name
    return name[:1].upper() + name[1:]


def _check_alone(plan: LoadPlan, shelf: PlannedShelf, place: Place) -> Iterable[PlanFault]:
    rules, ware = plan.rules, plan.wares[place.key]
    footprint = ware.stands_on(rules)
    inside = shelf.outline.inside_by_mm(footprint, place.x_mm, place.y_mm, place.turned_deg)
    name = _begun(plan, place.key)
    if inside < -_TOLERANCE_MM:
        by = _mm(-inside)
        told = f"{name} hangs over the edge of shelf {shelf.position} by {by}."
        yield PlanFault(shelf.position, "edge", (place.key,), told)
    elif inside < rules.edge_gap_mm - _TOLERANCE_MM:
        told = (
            f"{name} is {_mm(inside)} from the edge of shelf {shelf.position}: "
            f"{_mm(rules.edge_gap_mm)} is asked for."
        )
        yield PlanFault(shelf.position, "edge", (place.key,), told)
    for kept in shelf.kept:
        gap = max(kept.gap_mm, ware.gap_mm(rules))
        if _may_touch(
            footprint.reach_mm + kept.footprint.reach_mm + gap,
            (place.x_mm, place.y_mm),
            (kept.x_mm, kept.y_mm),
        ):
            away = _apart(
                (footprint.core(place.turned_deg), footprint.radius_mm, place.x_mm, place.y_mm),
                (
                    kept.footprint.core(kept.turned_deg),
                    kept.footprint.radius_mm,
                    kept.x_mm,
                    kept.y_mm,
                ),
            )
            if away < gap - _TOLERANCE_MM:
                told = f"{name} stands in the place kept clear for {kept.what}."
                yield PlanFault(shelf.position, "kept", (place.key,), told)


def _check_pair(
    plan: LoadPlan, shelf: PlannedShelf, one: Place, other: Place
) -> Iterable[PlanFault]:
    rules = plan.rules
    a, b = plan.wares[one.key], plan.wares[other.key]
    gap = max(a.gap_mm(rules), b.gap_mm(rules))
    first, second = a.stands_on(rules), b.stands_on(rules)
    spots = (one.x_mm, one.y_mm), (other.x_mm, other.y_mm)
    if not _may_touch(first.reach_mm + second.reach_mm + gap, *spots):
        return
    away = _apart(
        (first.core(one.turned_deg), first.radius_mm, *spots[0]),
        (second.core(other.turned_deg), second.radius_mm, *spots[1]),
    )
    keys = (one.key, other.key)
    where = f"on shelf {shelf.position}"
    if away < -_TOLERANCE_MM:
        told = f"{_begun(plan, one.key)} and {b.name} stand in each other {where}."
        yield PlanFault(shelf.position, "overlap", keys, told)
    elif away < gap - _TOLERANCE_MM:
        near = "touch" if away < 0.5 else f"are {_mm(away)} apart"
        told = f"{_begun(plan, one.key)} and {b.name} {near} {where}: {_mm(gap)} is asked for."
        yield PlanFault(shelf.position, "gap", keys, told)


def _may_touch(reach: float, one: Point, other: Point) -> bool:
    return math.hypot(one[0] - other[0], one[1] - other[1]) < reach


Standing = tuple[tuple[Point, ...], float, float, float]
"""A core, its rim, and where its middle is (x, y)."""


def _apart(one: Standing, other: Standing) -> float:
    """How far apart two footprints are; less than 0 by how deep they stand in each other.

    Without NumPy and without the region `free_places` works with: sides that part them first
    (the separating axis), then the nearest corners and sides.
    """
    a = [(x + one[2], y + one[3]) for x, y in one[0]]
    b = [(x + other[2], y + other[3]) for x, y in other[0]]
    rims = one[1] + other[1]
    deepest = -math.inf
    for sides, points in ((a, b), (b, a)):
        if len(sides) < 2:
            continue
        for n, (x, y) in enumerate(sides):
            u, v = sides[n - 1]
            long = math.hypot(x - u, y - v)
            nx, ny = (y - v) / long, (u - x) / long
            deepest = max(deepest, min(nx * (p - x) + ny * (q - y) for p, q in points))
    if (len(a) > 1 or len(b) > 1) and deepest <= 0.0:
        return deepest - rims
    nearest = min(
        min((_to_side(point, sides) for point in points), default=math.inf)
        for sides, points in ((a, b), (b, a))
    )
    return nearest - rims


def _to_side(point: Point, corners: list[Point]) -> float:
    """From a point to the nearest side (or the one corner) of a core."""
    x, y = point
    if len(corners) == 1:
        return math.hypot(x - corners[0][0], y - corners[0][1])
    least = math.inf
    for n, (u, v) in enumerate(corners):
        p, q = corners[n - 1]
        dx, dy = u - p, v - q
        t = max(0.0, min(1.0, ((x - p) * dx + (y - q) * dy) / (dx * dx + dy * dy)))
        least = min(least, math.hypot(x - p - t * dx, y - q - t * dy))
    return least


def _check_heights(plan: LoadPlan, shelf: PlannedShelf) -> Iterable[PlanFault]:
    above = plan.rules.above_mm
    for key, (base, own) in standing_mm(plan, shelf).items():
        top = base + own
        if top > shelf.clear_mm + _TOLERANCE_MM:
            told = (
                f"{_begun(plan, key)} reaches {_mm(top)} above shelf {shelf.position}, which has "
                f"{_mm(shelf.clear_mm)} of room."
            )
        elif top > shelf.clear_mm - above + _TOLERANCE_MM:
            told = (
                f"{_begun(plan, key)} has {_mm(shelf.clear_mm - top)} above it on shelf "
                f"{shelf.position}: {_mm(above)} is asked for."
            )
        else:
            continue
        yield PlanFault(shelf.position, "tall", (key,), told)


def _check_shelves(plan: LoadPlan) -> Iterable[PlanFault]:
    kiln = plan.kiln
    for part, had, words in (
        ("full", kiln.shelves, "whole shelves"),
        ("half", kiln.half_shelves, "half shelves"),
    ):
        used = sum((shelf.part == "full") == (part == "full") for shelf in plan.shelves)
        if used > had:
            told = f"This load has {used} {words}; the kiln has {had}."
            yield PlanFault(0, "shelves", (), told)
    heights = clear_heights(kiln.posts_mm, plan.rules.posts_stacked) if kiln.posts_mm else ()
    for index, shelf in enumerate(plan.shelves):
        sides = {shelf.part} if shelf.part != "full" else {"left", "right", "full"}
        carries = any(one.part in sides or one.part == "full" for one in plan.shelves[index + 1 :])
        top = shelf.floor_mm + (shelf.clear_mm if carries else 0.0)
        if top > kiln.chamber_mm + _TOLERANCE_MM:
            told = (
                f"Shelf {shelf.position} does not fit under the lid: the chamber is "
                f"{_mm(kiln.chamber_mm)} high."
            )
            yield PlanFault(shelf.position, "chamber", (), told)
        if carries and heights and min(abs(one - shelf.clear_mm) for one in heights) > 0.5:
            nearest = min(heights, key=lambda one: abs(one - shelf.clear_mm))
            told = (
                f"No posts at hand make {_mm(shelf.clear_mm)} above shelf {shelf.position}; "
                f"the nearest they make is {_mm(nearest)}."
            )
            yield PlanFault(shelf.position, "posts", (), told)


def _check_twice(plan: LoadPlan) -> Iterable[PlanFault]:
    seen: dict[int, int] = {}
    for shelf in plan.shelves:
        for place in shelf.places:
            if place.key in seen:
                told = (
                    f"{_begun(plan, place.key)} stands on shelf {seen[place.key]} and on shelf "
                    f"{shelf.position}: it can stand only once."
                )
                yield PlanFault(shelf.position, "twice", (place.key,), told)
            seen.setdefault(place.key, shelf.position)


def _mm(value: float) -> str:
    return show_quantity(value, "mm", 0 if value >= 9.95 or value == round(value) else 1)


def stacking_problem(plan: LoadPlan, position: int, key: int, on_key: int) -> str:
    """Why a piece can't be stacked on another there, in a sentence; "" if it can."""
    shelf = plan.shelf(position)
    places = {place.key: place for place in shelf.places}
    ware, below = plan.wares[key], plan.wares.get(on_key)
    name = _begun(plan, key)
    if below is None or on_key not in places or on_key == key:
        return f"{name} is to stand on a piece that is not on shelf {position}."
    if ware.glazed or below.glazed:
        return f"{name} can't stand on {below.name}: glazed ware is never stacked."
    if not ware.stacks_on(below):
        return f"{name} can't stand on {below.name}: their form is not stacked or nested."
    stack = [on_key]
    while (lower := places[stack[-1]].on_key) in places and len(stack) <= len(places):
        stack.append(lower or 0)
    if key in stack:
        return f"{name} can't stand on what stands on it."
    count = len(stack) + 1 + len(_riders(shelf, key))
    if count > plan.rules.stack_pieces:
        return f"{name} would be number {count} of a stack: {plan.rules.stack_pieces} is the most."
    return ""


def _riders(shelf: PlannedShelf, key: int) -> tuple[Place, ...]:
    """What is stacked on a piece, from the lowest up."""
    found: list[Place] = []
    under = {key}
    while True:
        more = [p for p in shelf.places if p.on_key in under and p not in found]
        if not more:
            return tuple(found)
        found += more
        under = {place.key for place in more}


def nearest_free(
    plan: LoadPlan, position: int, key: int, x: float, y: float, turned_deg: float | None = None
) -> Place | None:
    """The place nearest to a point on a shelf where a piece has room; None if there is none.

    The piece itself and what is stacked on it are taken to be lifted. ``turned_deg`` None: as it
    is turned now. Whether there is height enough is for `check_plan` to tell.
    """
    turned = _turned(plan, key) if turned_deg is None else turned_deg
    found = _room(plan, plan.shelf(position), key, turned).nearest(x, y)
    return None if found is None else Place(key, found[0], found[1], turned)


def nudge(plan: LoadPlan, position: int, key: int, dx: float, dy: float) -> Place:
    """A piece moved by so much, or as far as there is room in that direction.

    One that stands where it can't is moved all the way: that is how it is got out.
    """
    shelf = plan.shelf(position)
    place = next((one for one in shelf.places if one.key == key), None)
    if place is None:
        raise UserProblem(f"{_begun(plan, key)} is not on shelf {position} any more.")
    import numpy as np

    room = _room(plan, shelf, key, place.turned_deg)
    far = math.hypot(dx, dy)
    start = np.array([[place.x_mm, place.y_mm]])
    if far == 0.0 or not room.fits(start)[0]:
        return replace(place, x_mm=place.x_mm + dx, y_mm=place.y_mm + dy, on_key=None)
    ways = np.linspace(0.0, 1.0, max(2, math.ceil(far / 0.5) + 1))
    points = start + ways[:, None] * np.array([[dx, dy]])
    free = room.fits(points)
    blocked = np.flatnonzero(~free)
    best = len(ways) - 1 if not len(blocked) else int(blocked[0]) - 1
    x, y = points[best]
    return replace(place, x_mm=float(x), y_mm=float(y), on_key=None)


def _turned(plan: LoadPlan, key: int) -> float:
    for shelf in plan.shelves:
        for place in shelf.places:
            if place.key == key:
                return place.turned_deg
    return 0.0


def _room(plan: LoadPlan, shelf: PlannedShelf, key: int, turned_deg: float) -> "Room":
    from studiolog.craft.ware.free_places import Room, Stand, shape_of, stand_of

    rules = plan.rules
    ware = plan.wares[key]
    shape = shape_of(ware.stands_on(rules), turned_deg, ware.gap_mm(rules))
    room = Room(shelf.outline, shape, rules.edge_gap_mm)
    lifted = {key} | {place.key for place in _riders(shelf, key)}
    stands = [stand_of(kept) for kept in shelf.kept]
    for place in shelf.places:
        if place.key in lifted or place.on_key is not None:
            continue
        other = plan.wares[place.key]
        taken = shape_of(other.stands_on(rules), place.turned_deg, other.gap_mm(rules))
        stands.append(Stand(taken, place.x_mm, place.y_mm))
    room.add(stands)
    return room


def put(plan: LoadPlan, position: int, place: Place) -> LoadPlan:
    """The plan with a piece set somewhere, what is stacked on it taken along.

    It may come from another shelf, or from what is not in the plan yet.
    """
    riders: tuple[Place, ...] = ()
    for shelf in plan.shelves:
        if any(one.key == place.key for one in shelf.places):
            riders = _riders(shelf, place.key)
    moved = tuple(
        replace(rider, x_mm=place.x_mm, y_mm=place.y_mm, turned_deg=place.turned_deg)
        for rider in riders
    )
    lifted = {place.key} | {rider.key for rider in riders}
    found = _without(plan, lifted)
    shelf = found.shelf(position)
    left_out = tuple(one for one in found.left_out if one.key not in lifted)
    changed = replace(shelf, places=(*shelf.places, place, *moved))
    return replace(found.with_shelf(changed), left_out=left_out)


def take_out(plan: LoadPlan, key: int) -> LoadPlan:
    """The plan without a piece; what was stacked on it comes to stand on what it stood on."""
    shelves = []
    for shelf in plan.shelves:
        gone = next((one for one in shelf.places if one.key == key), None)
        places = tuple(
            replace(one, on_key=gone.on_key) if gone is not None and one.on_key == key else one
            for one in shelf.places
            if one.key != key
        )
        shelves.append(replace(shelf, places=places))
    return replace(plan, shelves=tuple(shelves))


def _without(plan: LoadPlan, keys: set[int]) -> LoadPlan:
    shelves = tuple(
        replace(shelf, places=tuple(one for one in shelf.places if one.key not in keys))
        for shelf in plan.shelves
    )
    return replace(plan, shelves=shelves)


def wares_by_key(wares: Iterable[Ware]) -> Mapping[int, Ware]:
    """Pieces by key, as a plan holds them."""
    return {ware.key: ware for ware in wares}
