"""The search for a good load: which ware shares a shelf, how high it is, and on which level.

A load is built from the floor up. What needs the same posts belongs together (a height class), so
each shelf begins with the tallest class that is left and takes lower ware where there is room. The
search builds many loads, each by a slightly different order, and keeps the best: what is wanted
soonest counts most, then fewer shelves, then levels that suit the ware.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from itertools import permutations
from typing import Final

import numpy as np

from studiolog.craft.ware.free_places import shape_of
from studiolog.craft.ware.load_plan import (
    KilnInside,
    PackingRules,
    Place,
    ShelfRow,
    Ware,
    keep_clear,
    stand_shelves,
)
from studiolog.craft.ware.shelf import Footprint, Kept, clear_heights, lowest_clear
from studiolog.craft.ware.shelf_filling import RULES, Filling, Wanted, fill

_MOST_SIZES: Final = 12  # different footprints of one load that are told apart to the last hair
_MOST_ORDERED: Final = 6  # so many shelves are tried in every order
_DISLIKE_IN_SHELVES: Final = 0.25  # a piece on the worst level counts as so much of a shelf more


@dataclass(frozen=True, slots=True)
class Lot:
    """What stands on one footprint: a piece, or a stack of them (the lowest first)."""

    ident: int
    wares: tuple[Ware, ...]
    wanted: Wanted
    high_mm: float
    due: float
    barred: frozenset[int]
    value: float = 0.0

    def dislike(self, level_id: int | None) -> float:
        """How badly a level suits it, summed over its pieces."""
        if level_id is None:
            return 0.0
        return sum(ware.dislikes.get(level_id, 0.0) for ware in self.wares)


def make_lots(
    wares: Sequence[Ware], rules: PackingRules, most_stacked: int, tallest_mm: float
) -> list[Lot]:
    """Ware as it will stand, soonest wanted first: what may be stacked in stacks.

    ``most_stacked`` pieces at most, none higher than the rules say or than ``tallest_mm``.
    """
    ordered = sorted(wares, key=lambda ware: (ware.due, ware.key))
    stacks: list[list[Ware]] = []
    open_stacks: dict[Hashable, list[Ware]] = {}
    for ware in ordered:
        stack = open_stacks.get(ware.stack_with) if ware.stack_with is not None else None
        if (
            stack is not None
            and len(stack) < most_stacked
            and ware.stacks_on(stack[0])
            and set(ware.barred) == set(stack[0].barred)
            and _stack_high([*stack, ware], rules) <= min(rules.stack_high_mm, tallest_mm)
        ):
            stack.append(ware)
            continue
        stack = [ware]
        stacks.append(stack)
        if ware.stack_mm is not None and not ware.glazed:
            open_stacks[ware.stack_with] = stack
    # Ware measured one by one: sizes a hair apart are taken as one, rounded up, as each of its own
    # has to have its free places worked out anew.
    many = len({ware.footprint for ware in wares}) > _MOST_SIZES
    return [_lot(ident, stack, rules, many) for ident, stack in enumerate(stacks)]


def _in_order(stack: Sequence[Ware]) -> list[Ware]:
    """The widest lowest."""
    return sorted(stack, key=lambda ware: (-ware.footprint.area_mm2, ware.due, ware.key))


def _stack_high(stack: Sequence[Ware], rules: PackingRules) -> float:
    top = 0.0
    for ware in _in_order(stack):
        high = ware.high_mm(rules)
        top = max(high, top + (ware.stack_mm or high)) if top else high
    return top


def _lot(ident: int, stack: Sequence[Ware], rules: PackingRules, rounded: bool) -> Lot:
    wares = tuple(_in_order(stack))
    footprint = wares[0].stands_on(rules)
    if rounded:
        deep = None if footprint.deep_mm is None else float(math.ceil(footprint.deep_mm - 1e-6))
        across = float(math.ceil(footprint.across_mm - 1e-6))
        footprint = Footprint(footprint.shape, across, deep)
    gap = max(ware.gap_mm(rules) for ware in wares)
    wanted = Wanted(
        ident,
        tuple((turn, shape_of(footprint, turn, gap)) for turn in footprint.turns_deg),
        footprint.ground_mm2(gap),
        footprint.narrowest_mm,
        (footprint, gap),
        footprint,
    )
    barred = frozenset(level for ware in wares for level in ware.barred)
    due = min(ware.due for ware in wares)
    return Lot(ident, wares, wanted, _stack_high(wares, rules), due, barred)


@dataclass
class Layer:
    """A shelf while the load is built. ``lots`` are by the ident of what was set."""

    part: str
    clear_mm: float
    floor_mm: float
    level_id: int | None
    filling: Filling
    lots: dict[int, Lot] = field(default_factory=dict)
    fixed: bool = False
    """Nothing but the lid is high enough above it."""

    @property
    def tallest_mm(self) -> float:
        """How high its ware reaches."""
        return max((lot.high_mm for lot in self.lots.values()), default=0.0)

    @property
    def worth(self) -> float:
        """How much of a shelf it is."""
        return 1.0 if self.part == "full" else 0.5


@dataclass(frozen=True, slots=True)
class Way:
    """One way of building: how many whole shelves before halves, the rules tried, and chance.

    ``wait``: ware that would like a later level better is left for it.
    """

    whole: int
    rules: tuple[str, ...]
    seed: int | None
    wait: bool = False


class Search:
    """Builds loads of one kiln."""

    def __init__(self, kiln: KilnInside, rules: PackingRules) -> None:
        self.kiln = kiln
        self.rules = rules
        self.heights = clear_heights(kiln.posts_mm, rules.posts_stacked) if kiln.posts_mm else ()
        self._blank: dict[tuple[str, tuple[str, ...], int | None], tuple[Kept, ...]] = {}
        self._narrow: dict[Hashable, bool] = {}

    @property
    def tallest_mm(self) -> float:
        """The tallest ware there is room for: on one shelf alone under the lid."""
        rules = self.rules
        return self.kiln.chamber_mm - rules.foot_mm - self.kiln.thick_mm - rules.above_mm

    def needs_mm(self, lot: Lot) -> float | None:
        """The lowest height of posts that is enough; None if it can only stand topmost.

        That is where no posts are so high, or where there is no room for it between them.
        """
        if not self._between_posts(lot.wanted):
            return None
        return lowest_clear(self.heights, lot.high_mm + self.rules.above_mm)

    def _between_posts(self, wanted: Wanted) -> bool:
        known = self._narrow.get(wanted.alike)
        if known is None:
            parts = ("full",) if self.kiln.shelves else ("left", "right")
            level = self.kiln.level_at(self.rules.foot_mm + self.kiln.thick_mm)
            known = any(
                len(self.blank(part, (part,), level).room(shape).places)
                for part in parts
                for _, shape in wanted.turned
            )
            self._narrow[wanted.alike] = known
        return known

    def kept(self, part: str, above: tuple[str, ...], level: int | None) -> tuple[Kept, ...]:
        """What is kept clear on such a shelf."""
        key = (part, above, level)
        if key not in self._blank:
            outline = self.kiln.outline(part)
            self._blank[key] = keep_clear(self.kiln, self.rules, outline, above, level)
        return self._blank[key]

    def blank(self, part: str, above: tuple[str, ...], level: int | None) -> Filling:
        """Such a shelf with nothing on it."""
        kept = self.kept(part, above, level)
        return Filling(self.kiln.outline(part), kept, self.rules.edge_gap_mm)

    def build(self, lots: Sequence[Lot], way: Way) -> list[Layer]:
        """A load of as many of the lots as there is room for, from the floor up."""
        rng = None if way.seed is None else np.random.default_rng(way.seed)
        rest = {lot.ident: lot for lot in lots}
        tops = {"left": self.rules.foot_mm, "right": self.rules.foot_mm}
        whole, halves = min(way.whole, self.kiln.shelves), self.kiln.half_shelves
        layers: list[Layer] = []
        closed: set[str] = set()
        while rest:
            part = self._next_part(whole, halves, tops, closed)
            if part is None:
                break
            sides = ("left", "right") if part == "full" else (part,)
            floor = max(tops[side] for side in sides) + self.kiln.thick_mm
            is_last = whole + halves == 1
            layer = self._layer(part, floor, list(rest.values()), way, rng, is_last)
            if layer is None:
                if part == "full":
                    whole = 0
                else:
                    closed.add(part)
                continue
            layers.append(layer)
            for ident in layer.lots:
                del rest[ident]
            for side in sides:
                tops[side] = floor + layer.clear_mm
            if layer.fixed:
                closed.update(sides)
            whole, halves = (whole - 1, halves) if part == "full" else (whole, halves - 1)
        return layers

    def _next_part(
        self, whole: int, halves: int, tops: dict[str, float], closed: set[str]
    ) -> str | None:
        if whole > 0 and not closed:
            return "full"
        if halves > 0:
            sides = [side for side in ("left", "right") if side not in closed]
            return min(sides, key=lambda side: tops[side]) if sides else None
        return None

    def _layer(
        self,
        part: str,
        floor: float,
        rest: list[Lot],
        way: Way,
        rng: np.random.Generator | None,
        is_last: bool,
    ) -> Layer | None:
        """A shelf at a height, filled with what suits it best; None if nothing goes there."""
        room = self.kiln.chamber_mm - floor
        level = self.kiln.level_at(floor)
        above = self.rules.above_mm
        able = [
            lot for lot in rest if lot.high_mm + above <= room + 1e-6 and level not in lot.barred
        ]
        if not able:
            return None
        liked = {lot.ident: self._regret(lot, level, floor) for lot in able}
        if way.wait and any(regret <= 0.0 for regret in liked.values()):
            able = [lot for lot in able if liked[lot.ident] <= 0.0]
        posted = [lot for lot in able if self.needs_mm(lot) is not None]
        lid_only = [lot for lot in able if self.needs_mm(lot) is None]
        first = min(
            posted,
            key=lambda lot: (
                liked[lot.ident] > 0.05,
                -(self.needs_mm(lot) or 0.0) * _shaken(rng, 0.0 if rng is None else 0.35),
            ),
            default=None,
        )
        clear = self.needs_mm(first) if first is not None else None
        tallest = max((lot.high_mm for lot in lid_only), default=0.0)
        under_lid = clear is None or (
            bool(lid_only)
            and (
                is_last
                or floor + clear + self.kiln.thick_mm + tallest + above > self.kiln.chamber_mm
            )
        )
        under_lid = under_lid or (clear is not None and clear > room)
        if under_lid or clear is None:
            clear = room
        chosen = [lot for lot in able if lot.high_mm + above <= clear + 1e-6]
        chosen.sort(key=lambda lot: self._order(lot, liked[lot.ident], rng))
        best: Filling | None = None
        worth = -1.0
        by_ident = {lot.ident: lot for lot in chosen}
        for rule in way.rules if rng is None else (str(rng.choice(RULES)), str(rng.choice(RULES))):
            filling = self.blank(part, () if under_lid else (part,), level)
            fill(filling, [lot.wanted for lot in chosen], rule, rng)
            value = sum(
                one.wanted.ground_mm2 * by_ident[one.wanted.ident].high_mm for one in filling.set
            )
            if value > worth + 1e-9:
                best, worth = filling, value
        if best is None or not best.set:
            return None
        lots = {one.wanted.ident: by_ident[one.wanted.ident] for one in best.set}
        return Layer(part, clear, floor, level, best, lots, fixed=clear == room)

    def _regret(self, lot: Lot, level: int | None, floor: float) -> float:
        """How much better than this level the best of those farther up suits it."""
        own = lot.dislike(level)
        upward = [
            lot.dislike(ident)
            for ident, _, begins in self.kiln.levels
            if begins > floor and ident not in lot.barred
        ]
        return own - min([own, *upward])

    def _order(self, lot: Lot, regret: float, rng: np.random.Generator | None) -> tuple[float, ...]:
        needed = self.needs_mm(lot)
        area = lot.wanted.footprint.area_mm2 * _shaken(rng, 0.15)
        return (
            0.0 if regret <= 0.05 else 1.0,
            -(needed if needed is not None else math.inf),
            -area,
            lot.due,
            lot.ident,
        )


def _shaken(rng: np.random.Generator | None, by: float) -> float:
    return 1.0 if rng is None else float(rng.uniform(1.0 - by, 1.0 + by))


def put_in_order(search: Search, layers: list[Layer]) -> list[Layer]:
    """Whole shelves in the order that suits the ware's levels best; the rest stay as they are."""
    whole = [layer for layer in layers if layer.part == "full" and not layer.fixed]
    others = [layer for layer in layers if layer.part != "full" or layer.fixed]
    if len(whole) < 2 or not search.kiln.levels:
        return layers
    tries = permutations(whole) if len(whole) <= _MOST_ORDERED else iter([tuple(whole)])
    best, least = layers, dislike_of(layers)
    for tried in tries:
        if least <= 1e-9:
            break
        stood = _stood(search, [*tried, *others])
        if stood is None:
            continue
        dislike = dislike_of(stood)
        if dislike < least - 1e-9:
            best, least = stood, dislike
    return best


def _stood(search: Search, layers: Sequence[Layer]) -> list[Layer] | None:
    """Layers at the heights their order gives; None if that can't be."""
    rows = [ShelfRow(layer.part, layer.clear_mm) for layer in layers]
    found: list[Layer] = []
    for layer, shelf in zip(layers, stand_shelves(search.kiln, search.rules, rows), strict=True):
        if any(shelf.level_id in lot.barred for lot in layer.lots.values()):
            return None
        fixed = search.kept(layer.part, (layer.part,), shelf.level_id)
        if fixed != search.kept(layer.part, (layer.part,), layer.level_id):
            return None
        if layer.tallest_mm + search.rules.above_mm > search.kiln.chamber_mm - shelf.floor_mm:
            return None
        found.append(replace(layer, floor_mm=shelf.floor_mm, level_id=shelf.level_id))
    return found


def swap_for_levels(search: Search, layers: list[Layer]) -> None:
    """Exchange ware that takes the same ground between shelves whose levels suit it better."""
    above = search.rules.above_mm
    for _ in range(8):
        changed = False
        for number, one in enumerate(layers):
            for other in layers[number + 1 :]:
                if one.level_id != other.level_id:
                    changed |= _swap_between(one, other, above)
        if not changed:
            return


def _swap_between(one: Layer, other: Layer, above_mm: float) -> bool:
    changed = False
    for a in list(one.lots.values()):
        gains: list[tuple[float, int]] = []
        for b in other.lots.values():
            if a.wanted.alike != b.wanted.alike or other.level_id in a.barred:
                continue
            if one.level_id in b.barred:
                continue
            if a.high_mm + above_mm > other.clear_mm or b.high_mm + above_mm > one.clear_mm:
                continue
            now = a.dislike(one.level_id) + b.dislike(other.level_id)
            then = a.dislike(other.level_id) + b.dislike(one.level_id)
            if now - then > 1e-9:
                gains.append((then - now, b.ident))
        if gains:
            b = other.lots[min(gains)[1]]
            _exchange(one, a, b)
            _exchange(other, b, a)
            changed = True
    return changed


def _exchange(layer: Layer, gone: Lot, come: Lot) -> None:
    del layer.lots[gone.ident]
    layer.lots[come.ident] = come
    done = layer.filling.set
    for index, one in enumerate(done):
        if one.wanted.ident == gone.ident:
            done[index] = replace(one, wanted=come.wanted)
            return


def dislike_of(layers: Sequence[Layer]) -> float:
    """How badly the levels suit what stands on them."""
    return sum(lot.dislike(layer.level_id) for layer in layers for lot in layer.lots.values())


def score(layers: Sequence[Layer]) -> tuple[float, float]:
    """The higher the better: what is wanted and placed, then few shelves on levels that suit."""
    value = sum(lot.value for layer in layers for lot in layer.lots.values())
    shelves = sum(layer.worth for layer in layers)
    return round(value, 6), -(shelves + _DISLIKE_IN_SHELVES * dislike_of(layers))


def rows_of(layers: Sequence[Layer]) -> list[ShelfRow]:
    """The layers as rows of a plan, stacks taken apart into their pieces."""
    rows = []
    for layer in layers:
        places: list[Place] = []
        for one in layer.filling.set:
            below: int | None = None
            for ware in layer.lots[one.wanted.ident].wares:
                places.append(Place(ware.key, one.x_mm, one.y_mm, one.turned_deg, below))
                below = ware.key
        rows.append(ShelfRow(layer.part, layer.clear_mm, None, tuple(places)))
    return rows
