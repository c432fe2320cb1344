"""One shelf being filled: things are set where they touch others, largest first or in rows.

No one rule is best for every load, so a shelf is filled by several and the fullest is kept: from
the edge inward (round ware on a round shelf stands in rings), from the back or from one side (boxes
and tiles stand in rows), or with rows as close as they go laid over the shelf first.
"""

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from studiolog.craft.ware.free_places import Floats, Room, Shape, Stand, stand_of
from studiolog.craft.ware.shelf import Footprint, Kept, Outline

RULES: Final = ("edge", "rows", "back", "side", "door")
"""How a shelf is filled, the usually best first."""
_ROW_SHIFTS: Final = 6  # so many shifts each way by which rows are laid over a shelf
_ROW_TURNS: Final = 5  # and so many turnings of the rows of round ware
_FEWEST_IN_ROWS: Final = 5


@dataclass(frozen=True, slots=True)
class Wanted:
    """Something to be set on a shelf: its footprint by the ways it may be turned.

    ``turned`` are (degrees, shape); ``alike`` is equal for what takes the same ground.
    """

    ident: int
    turned: tuple[tuple[float, Shape], ...]
    ground_mm2: float
    narrowest_mm: float
    alike: Hashable
    footprint: Footprint


@dataclass(frozen=True, slots=True)
class Set:
    """Something set on the shelf."""

    wanted: Wanted
    x_mm: float
    y_mm: float
    turned_deg: float
    shape: Shape

    @property
    def stand(self) -> Stand:
        """As the free places see it."""
        return Stand(self.shape, self.x_mm, self.y_mm)


class Filling:
    """A shelf with what is kept clear and what was set on it."""

    def __init__(self, outline: Outline, kept: Sequence[Kept], edge_gap_mm: float) -> None:
        self.outline = outline
        self.edge_gap_mm = edge_gap_mm
        self.fixed = [stand_of(one) for one in kept]
        self.set: list[Set] = []
        self._stands: list[Stand] = list(self.fixed)
        self._rooms: dict[Shape, tuple[Room, int]] = {}
        self._full_for: set[Hashable] = set()
        self._too_wide: dict[float, float] = {}  # by gap, the narrowest round ware refused

    @classmethod
    def of(cls, other: "Filling") -> "Filling":
        """The same shelf with nothing set on it."""
        empty = cls(other.outline, (), other.edge_gap_mm)
        empty.fixed = list(other.fixed)
        empty._stands = list(other.fixed)
        return empty

    def room(self, shape: Shape) -> Room:
        """The free places for a shape, brought up to date."""
        room, seen = self._rooms.get(shape, (None, 0))
        if room is None:
            room = Room(self.outline, shape, self.edge_gap_mm)
        if seen < len(self._stands):
            room.add(self._stands[seen:])
        self._rooms[shape] = room, len(self._stands)
        return room

    def put(self, wanted: Wanted, x: float, y: float, turned_deg: float, shape: Shape) -> None:
        """Set something there; it is for the caller to know that there is room."""
        done = Set(wanted, x, y, turned_deg, shape)
        self.set.append(done)
        self._stands.append(done.stand)

    def is_full_for(self, wanted: Wanted) -> bool:
        """Whether it is known already that there is no room: nothing smaller went in."""
        gap = wanted.turned[0][1].gap_mm
        return wanted.alike in self._full_for or any(
            gap >= known and wanted.narrowest_mm >= least for known, least in self._too_wide.items()
        )

    def note_full(self, wanted: Wanted) -> None:
        """There was no room for it, and none comes."""
        self._full_for.add(wanted.alike)
        if wanted.footprint.shape == "circle":
            gap = wanted.turned[0][1].gap_mm
            least = self._too_wide.get(gap, math.inf)
            self._too_wide[gap] = min(least, wanted.narrowest_mm)

    def try_to_put(self, wanted: Wanted, prefer: Callable[[Room, Floats], Floats]) -> bool:
        """Set it at the place preferred most (the lowest figure), if there is one at all."""
        if self.is_full_for(wanted):
            return False
        best: tuple[float, float, float, float, Shape] | None = None
        for degrees, shape in wanted.turned:
            room = self.room(shape)
            if not len(room.places):
                continue
            figures = prefer(room, room.places)
            first = int(figures.argmin())
            if best is None or figures[first] < best[0] - 1e-9:
                x, y = room.places[first]
                best = float(figures[first]), float(x), float(y), degrees, shape
        if best is None:
            self.note_full(wanted)
            return False
        self.put(wanted, *best[1:])
        return True


def fill(
    filling: Filling,
    queue: Sequence[Wanted],
    rule: str,
    rng: np.random.Generator | None = None,
) -> list[Wanted]:
    """Set what there is room for, in the order of the queue; what is left over is given back.

    ``rule`` is one of `RULES`; ``rng`` shakes the choice among nearly equal places.
    """
    rest = list(queue)
    if rule == "rows":
        rest = _lay_rows(filling, rest, rng)
        rule = "edge"
    prefer = _preference(filling, rule, rng)
    return [wanted for wanted in rest if not filling.try_to_put(wanted, prefer)]


def _preference(
    filling: Filling, rule: str, rng: np.random.Generator | None
) -> Callable[[Room, Floats], Floats]:
    turn = 0.0 if rng is None else float(rng.uniform(0.0, 2.0 * math.pi))
    shake = 0.0 if rng is None else float(rng.choice((0.0, 0.0, 3.0, 10.0)))

    def prefer(room: Room, places: Floats) -> Floats:
        x, y = places[:, 0], places[:, 1]
        if rule == "edge":
            # From the edge inward; round the shelf among those equally near it.
            around = (np.arctan2(y, x) - turn) % (2.0 * math.pi)
            figures = np.round(room.inside.room(places), 2) + 1e-4 * around
            figures = figures - room.shape.reach_mm * 1e-3
        elif rule == "back":
            figures = np.round(y - room.shape.reach_mm * 0.02, 2) + 1e-5 * x
        elif rule == "door":
            figures = np.round(-y, 2) + 1e-5 * x
        else:
            figures = np.round(x, 2) + 1e-5 * y
        if rng is not None and shake:
            figures = figures + rng.uniform(0.0, shake, len(figures))
        result: Floats = figures
        return result

    return prefer


def _lay_rows(
    filling: Filling, queue: list[Wanted], rng: np.random.Generator | None
) -> list[Wanted]:
    """Lay rows of the first of the queue that come in number; the rest is given back."""
    counted: dict[Hashable, int] = {}
    for wanted in queue:
        counted[wanted.alike] = counted.get(wanted.alike, 0) + 1
    first = next((one for one in queue if counted[one.alike] >= _FEWEST_IN_ROWS), None)
    if first is None:
        return queue
    alike = [one for one in queue if one.alike == first.alike]
    best: Floats | None = None
    chosen: tuple[float, Shape] = first.turned[0]
    for degrees, shape in first.turned:
        room = filling.room(shape)
        for grid in _grids(first, degrees, shape, filling.outline, rng):
            held = grid[room.fits(grid)]
            if best is None or len(held) > len(best):
                best, chosen = held, (degrees, shape)
    if best is None:
        return queue
    # The outermost first: what is left free is then together in the middle.
    order = np.argsort(-np.hypot(best[:, 0], best[:, 1]), kind="stable")
    for wanted, (x, y) in zip(alike, best[order], strict=False):
        filling.put(wanted, float(x), float(y), *chosen)
    done = {id(one) for one in alike[: len(best)]}
    return [one for one in queue if id(one) not in done]


def _grids(
    wanted: Wanted,
    degrees: float,
    shape: Shape,
    outline: Outline,
    rng: np.random.Generator | None,
) -> list[Floats]:
    """Rows as close as they go, shifted (and for round ware turned) in all ways worth trying."""
    gap = shape.gap_mm
    footprint = wanted.footprint
    if footprint.shape == "rectangle":
        wide, deep = footprint.across_mm + gap, footprint.other_mm + gap
        if degrees:
            wide, deep = deep, wide
        steps, turns = ((wide, 0.0), (0.0, deep)), [0.0]
    else:
        step = footprint.across_mm + gap
        steps = ((step, 0.0), (step / 2.0, step * math.sqrt(3.0) / 2.0))
        turns = [math.radians(degrees)]
        if footprint.shape == "circle":
            turns = [math.pi / 3.0 * n / _ROW_TURNS for n in range(_ROW_TURNS)]
            if rng is not None:
                turns = [float(rng.uniform(0.0, math.pi / 3.0))]
    span = math.hypot(outline.across_mm, outline.deep_mm) / 2.0
    many = int(span / min(steps[0][0], steps[1][1])) + 2
    a, b = np.meshgrid(np.arange(-2 * many, 2 * many + 1), np.arange(-many, many + 1))
    base = np.column_stack(
        (
            (a * steps[0][0] + b * steps[1][0]).ravel(),
            (a * steps[0][1] + b * steps[1][1]).ravel(),
        )
    )
    base = base[np.hypot(base[:, 0], base[:, 1]) <= span + 2.0 * max(steps[0][0], steps[1][1])]
    found = []
    for turn in turns:
        cos, sin = math.cos(turn), math.sin(turn)
        for i in range(_ROW_SHIFTS):
            for j in range(_ROW_SHIFTS):
                u, v = i / _ROW_SHIFTS, j / _ROW_SHIFTS
                x = base[:, 0] + u * steps[0][0] + v * steps[1][0]
                y = base[:, 1] + u * steps[0][1] + v * steps[1][1]
                found.append(np.column_stack((x * cos - y * sin, x * sin + y * cos)))
    return found


def filled_mm2(filling: Filling) -> float:
    """The ground taken by what was set."""
    return sum(one.wanted.ground_mm2 for one in filling.set)
