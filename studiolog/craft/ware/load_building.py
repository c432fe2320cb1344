"""From ware that waits to a plan: the loads that are tried, and why something is left out."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import accumulate
from math import ceil
from statistics import median
from typing import Final

import numpy as np

from studiolog.craft.units import show_quantity
from studiolog.craft.ware.free_places import shape_of
from studiolog.craft.ware.load_plan import (
    KilnInside,
    LeftOut,
    LoadPlan,
    PackingRules,
    ShelfRow,
    Ware,
    stand_shelves,
)
from studiolog.craft.ware.load_search import (
    Layer,
    Lot,
    Search,
    Way,
    make_lots,
    put_in_order,
    rows_of,
    score,
    swap_for_levels,
)
from studiolog.craft.ware.shelf import Footprint
from studiolog.craft.ware.shelf_filling import RULES, Filling, Wanted, fill
from studiolog.craft.ware.squeezing import Effort, squeeze_in

_CONSIDERED: Final = 1.25  # of the ground there is, so much is tried: circles never take it all
_SHARES: Final = (0.86, 0.8, 0.92, 0.75, 0.98)  # of the ground, what a load is tried with
_FIRST_RULES: Final = {True: ("edge", "rows"), False: ("back", "rows")}
_LEAST_WORTH: Final = 0.02  # of what is wanted soonest, for what may wait longest
_MOST_MOVED: Final = 8  # from a shelf that is to be done without
_TRIES: Final = 4
_PUSHES: Final = 12_000
_DENSEST: Final = 0.97  # of the ground of a shelf; nothing is pushed together closer


def find_load(
    wares: Sequence[Ware],
    kiln: KilnInside,
    rules: PackingRules,
    effort: int,
    seed: int,
    tell: Callable[[int, int], None] | None,
    stop: Callable[[], bool] | None,
) -> LoadPlan:
    """See `packing.pack`."""
    search = Search(kiln, rules)
    by_key = {ware.key: ware for ware in wares}
    able, left_out = sift(wares, search)
    lots = _lots_in_reach(able, search)
    least = least_shelves(able, search)
    best: list[Layer] = []
    total = max(1, effort) + (1 if effort > 1 else 0)
    for number in range(max(1, effort)):
        if stop is not None and stop():
            break
        layers = _attempt(search, lots, number, seed)
        if not best or score(layers) > score(best):
            best = layers
        if tell is not None:
            tell(number + 1, total)
        if len(_placed(best)) == len(lots) and score(best)[1] >= -max(least, 1) - 1e-9:
            break
    if effort > 1 and best and not (stop is not None and stop()):
        best = _push_together(search, lots, best, seed, stop)
    if tell is not None:
        tell(total, total)
    shelves = stand_shelves(kiln, rules, rows_of(best))
    standing = {place.key for shelf in shelves for place in shelf.places}
    rest = [ware for ware in able if ware.key not in standing]
    left_out += why_left(rest, search, best)
    return LoadPlan(kiln, rules, by_key, shelves, tuple(left_out), least)


def _attempt(search: Search, lots: Sequence[Lot], number: int, seed: int) -> list[Layer]:
    """One load: built from the floor up, put in the order the levels want, then topped up."""
    rules = _FIRST_RULES[_mostly_round(lots)] if number == 0 else RULES
    drawn = None if number < 2 else 1000 * seed + number
    kiln = search.kiln
    whole = kiln.shelves if number % 3 != 2 else max(0, kiln.shelves - 1 - number % 2)
    if not kiln.half_shelves:
        whole = kiln.shelves
    ground = _ground_of_kiln(search, lots)
    sums = list(accumulate(lot.wanted.ground_mm2 for lot in lots))
    if not lots or sums[-1] <= _SHARES[1] * ground:
        first = len(lots)
    else:
        share = _SHARES[number % len(_SHARES)]
        first = max(1, sum(1 for value in sums if value <= share * ground))
    way = Way(whole, rules, drawn, wait=number % 2 == 1)
    layers = put_in_order(search, search.build(lots[:first], way))
    swap_for_levels(search, layers)
    return _topped_up(search, lots, layers)


def _mostly_round(lots: Sequence[Lot]) -> bool:
    """Whether most of what is to be placed is round ware."""
    return 2 * sum(lot.wanted.footprint.shape == "circle" for lot in lots) >= len(lots)


def _topped_up(search: Search, lots: Sequence[Lot], layers: list[Layer]) -> list[Layer]:
    """Layers as they truly stand (the topmost without posts), with what else there is room for."""
    rows = [ShelfRow(layer.part, layer.clear_mm) for layer in layers]
    finished: list[Layer] = []
    placed: set[int] = set()
    for layer, shelf in zip(layers, stand_shelves(search.kiln, search.rules, rows), strict=True):
        filling = Filling(shelf.outline, shelf.kept, search.rules.edge_gap_mm)
        kept: dict[int, Lot] = {}
        checked = Filling(shelf.outline, shelf.kept, search.rules.edge_gap_mm)
        for one in layer.filling.set:
            spot = np.array([[one.x_mm, one.y_mm]])
            if checked.room(one.shape).fits(spot)[0]:
                filling.put(one.wanted, one.x_mm, one.y_mm, one.turned_deg, one.shape)
                kept[one.wanted.ident] = layer.lots[one.wanted.ident]
        placed |= set(kept)
        finished.append(
            replace(
                layer,
                floor_mm=shelf.floor_mm,
                clear_mm=shelf.clear_mm,
                level_id=shelf.level_id,
                filling=filling,
                lots=kept,
            )
        )
    rest = {lot.ident: lot for lot in lots if lot.ident not in placed}
    for layer in finished:
        fitting = [lot for lot in rest.values() if may_stand(search, lot, layer)]
        before = len(layer.filling.set)
        fill(layer.filling, [lot.wanted for lot in fitting], "edge")
        for one in layer.filling.set[before:]:
            layer.lots[one.wanted.ident] = rest.pop(one.wanted.ident)
    return [layer for layer in finished if layer.lots] if _tail_empty(finished) else finished


def _tail_empty(layers: Sequence[Layer]) -> bool:
    """Whether only topmost shelves are empty: they are then not set at all."""
    empty = [not layer.lots for layer in layers]
    return any(empty) and all(empty[empty.index(True) :])


def may_stand(search: Search, lot: Lot, layer: Layer) -> bool:
    """Whether a shelf is high enough for a lot, and on a level it may stand on."""
    return (
        lot.high_mm + search.rules.above_mm <= layer.clear_mm + 1e-6
        and layer.level_id not in lot.barred
    )


def _push_together(
    search: Search,
    lots: Sequence[Lot],
    layers: list[Layer],
    seed: int,
    stop: Callable[[], bool] | None,
) -> list[Layer]:
    """Make room for what is left out, or for what stands alone on the last shelf."""
    pusher = _Pusher(search, np.random.default_rng(seed), Effort(_PUSHES), stop)
    rest = [lot for lot in lots if lot.ident not in _placed(layers)]
    if not rest:
        return _one_fewer(search, lots, layers, pusher)
    for lot in rest:
        pusher.squeeze_somewhere(lot, layers)
    return layers


def _one_fewer(
    search: Search, lots: Sequence[Lot], layers: list[Layer], pusher: "_Pusher"
) -> list[Layer]:
    """One shelf fewer, if all that is on the topmost finds room on the others; else as they are."""
    last = layers[-1]
    if len(layers) < 2 or len(last.lots) > _MOST_MOVED:
        return layers
    trial = [replace(layer, lots=dict(layer.lots)) for layer in layers[:-1]]
    moving = sorted(last.lots.values(), key=lambda lot: -lot.wanted.footprint.area_mm2)
    if all(pusher.squeeze_somewhere(lot, trial) for lot in moving):
        return _topped_up(search, lots, trial)
    return layers


class _Pusher:
    """Squeezes lots into layers, as long as the effort lasts."""

    def __init__(
        self,
        search: Search,
        rng: np.random.Generator,
        effort: Effort,
        stop: Callable[[], bool] | None,
    ) -> None:
        self.search, self.rng, self.effort = search, rng, effort
        self._stop = stop
        self._refused: dict[int, list[Wanted]] = {}

    def squeeze_somewhere(self, lot: Lot, layers: Sequence[Layer]) -> bool:
        """Put a lot on the first of the layers, the emptiest first, that can be made to take it."""
        wanted = lot.wanted
        order = sorted(
            range(len(layers)),
            key=lambda n: sum(one.wanted.ground_mm2 for one in layers[n].filling.set),
        )
        for number in order:
            layer = layers[number]
            if self.effort.left <= 0 or (self._stop is not None and self._stop()):
                return False
            refused = self._refused.setdefault(number, [])
            if not may_stand(self.search, lot, layer) or any(
                _is_no_smaller(wanted, other) for other in refused
            ):
                continue
            inset = self.search.rules.edge_gap_mm - lot_gap(lot) / 2.0
            taken = sum(one.wanted.ground_mm2 for one in layer.filling.set) + wanted.ground_mm2
            if taken > _DENSEST * layer.filling.outline.room_mm2(inset):
                continue
            filling = squeeze_in(layer.filling, wanted, self.rng, _TRIES, self.effort)
            if filling is None:
                refused.append(wanted)
                continue
            layer.filling = filling
            layer.lots[lot.ident] = lot
            return True
        return False


def _is_no_smaller(wanted: Wanted, other: Wanted) -> bool:
    """Whether something takes at least the room of another."""
    if wanted.turned[0][1].gap_mm < other.turned[0][1].gap_mm:
        return False
    if other.footprint.shape == "circle":
        return wanted.narrowest_mm >= other.narrowest_mm
    return wanted.alike == other.alike


def lot_gap(lot: Lot) -> float:
    """The gap it wants, mm."""
    return lot.wanted.turned[0][1].gap_mm


def _placed(layers: Sequence[Layer]) -> set[int]:
    return {ident for layer in layers for ident in layer.lots}


def _lots_in_reach(wares: Sequence[Ware], search: Search) -> list[Lot]:
    """What could at the most be in this load, soonest wanted first, with what each is worth."""
    rules = search.rules
    if not wares:
        return []
    first = min(ware.due for ware in wares)
    most = max(1, rules.stack_pieces)
    tallest = max(ware.high_mm(rules) for ware in wares)
    heights = [height - rules.above_mm for height in search.heights]
    roof = max([height for height in heights if height <= search.tallest_mm] or [tallest])
    # Ware is cut off by its own ground first: ten thousand pieces are not all made into stacks.
    ground = search.kiln.outline().area_mm2 * (search.kiln.shelves + search.kiln.half_shelves / 2.0)
    ordered = sorted(wares, key=lambda ware: (ware.due, ware.key))
    chosen: list[Ware] = []
    taken = 0.0
    for ware in ordered:
        if taken > 2.0 * ground:
            break
        chosen.append(ware)
        share = 1.0 / most if ware.stack_mm is not None and not ware.glazed else 1.0
        taken += ware.stands_on(rules).area_mm2 * share
    lots = make_lots(chosen, rules, most, max(roof, tallest))
    ground = _ground_of_kiln(search, lots)
    kept: list[Lot] = []
    taken = 0.0
    for lot in lots:
        if taken > _CONSIDERED * ground:
            break
        worth = sum(_worth(ware.due - first, rules) for ware in lot.wares)
        kept.append(replace(lot, value=worth * lot.wanted.ground_mm2 / 1e6))
        taken += lot.wanted.ground_mm2
    return kept


def _worth(later_days: float, rules: PackingRules) -> float:
    share: float = 0.5 ** (later_days / rules.half_worth_days)
    return max(_LEAST_WORTH, share)


def _ground_of_kiln(search: Search, lots: Sequence[Lot]) -> float:
    """The ground of all the shelves the chamber holds, if ware is as high as the middle one."""
    kiln, rules = search.kiln, search.rules
    had = kiln.shelves + kiln.half_shelves / 2.0
    if not lots:
        return 0.0
    usual = median(search.needs_mm(lot) or lot.high_mm + rules.above_mm for lot in lots)
    high = (kiln.chamber_mm - rules.foot_mm) / (usual + kiln.thick_mm)
    outline = kiln.outline()
    return min(had, max(1.0, float(int(high)))) * outline.room_mm2(rules.edge_gap_mm)


def least_shelves(wares: Sequence[Ware], search: Search) -> int:
    """So many whole shelves at least: the area of the ware with half its gap all round.

    What may be stacked counts for as little as it would in the fullest stacks.
    """
    rules = search.rules
    widest = max((ware.gap_mm(rules) for ware in wares), default=0.0)
    room = search.kiln.outline().room_mm2(rules.edge_gap_mm - widest / 2.0)
    area = 0.0
    for ware in wares:
        own = ware.stands_on(rules).rounded_area_mm2(ware.gap_mm(rules) / 2.0)
        stacked = ware.stack_mm is not None and not ware.glazed and not ware.on_tile
        area += own / max(1, rules.stack_pieces) if stacked else own
    return ceil(area / room - 1e-9) if room > 0.0 else 0


def sift(wares: Sequence[Ware], search: Search) -> tuple[list[Ware], list[LeftOut]]:
    """What could stand in this kiln at all, and why the rest could not."""
    able: list[Ware] = []
    left_out: list[LeftOut] = []
    wide: dict[tuple[Footprint, float], bool] = {}
    levels = {ident for ident, _, _ in search.kiln.levels}
    for ware in wares:
        footprint, gap = ware.stands_on(search.rules), ware.gap_mm(search.rules)
        high = ware.high_mm(search.rules)
        key = (footprint, gap)
        if key not in wide:
            wide[key] = _fits_alone(search, footprint, gap)
        if not wide[key]:
            left_out.append(LeftOut(ware.key, "wide", _too_wide(ware, search)))
        elif high > search.tallest_mm + 1e-6:
            most = show_quantity(max(0.0, search.tallest_mm), "mm")
            told = f"{_begun(ware)} is too tall for this kiln: {most} is the most on one shelf."
            left_out.append(LeftOut(ware.key, "tall", told))
        elif levels and levels <= set(ware.barred):
            reason = next(iter(ware.barred.values()))
            told = f"{_begun(ware)} should stand on no level of this kiln: {reason}"
            left_out.append(LeftOut(ware.key, "level", told))
        else:
            able.append(ware)
    return able, left_out


def _fits_alone(search: Search, footprint: Footprint, gap_mm: float) -> bool:
    """Whether there is room for it on an empty shelf of this kiln."""
    parts = ["full"] if search.kiln.shelves else []
    parts += ["left", "right"] if search.kiln.half_shelves else []
    level = search.kiln.level_at(search.rules.foot_mm + search.kiln.thick_mm)
    return any(
        len(search.blank(part, (), level).room(shape_of(footprint, turn, gap_mm)).places)
        for part in parts
        for turn in footprint.turns_deg
    )


def _too_wide(ware: Ware, search: Search) -> str:
    outline = search.kiln.outline("full" if search.kiln.shelves else "left")
    footprint = ware.stands_on(search.rules)
    at_all = any(
        outline.inside_by_mm(footprint, *outline.middle, turn) >= search.rules.edge_gap_mm
        for turn in footprint.turns_deg
    )
    if at_all:
        return f"{_begun(ware)} is too wide beside what is kept clear on every shelf of this kiln."
    on = " on its catch tile" if ware.on_tile else ""
    return f"{_begun(ware)} is wider{on} than any shelf of this kiln."


def _begun(ware: Ware) -> str:
    """Its name at the beginning of a sentence."""
    return ware.name[:1].upper() + ware.name[1:]


def why_left(rest: Sequence[Ware], search: Search, layers: Sequence[Layer]) -> list[LeftOut]:
    """Why what could have stood in this load does not, each in a sentence."""
    found: list[LeftOut] = []
    kiln, rules = search.kiln, search.rules
    used = sum(layer.worth for layer in layers)
    spare = kiln.shelves + kiln.half_shelves / 2.0 - used
    clear = max((layer.clear_mm for layer in layers), default=0.0) - rules.above_mm
    levels = {layer.level_id for layer in layers}
    lowest = search.heights[0] if search.heights else kiln.chamber_mm
    top = max((layer.floor_mm for layer in layers), default=rules.foot_mm)
    top += lowest + kiln.thick_mm  # a shelf on the lowest posts above the topmost
    for ware in rest:
        name = _begun(ware)
        barred = [reason for level, reason in ware.barred.items() if level in levels]
        high = show_quantity(ware.high_mm(rules), "mm")
        if barred:
            told = f"{name} found no room on a level that suits it. {barred[0]}"
            found.append(LeftOut(ware.key, "level", told))
        elif ware.high_mm(rules) > clear + 1e-6:
            told = f"{name} is {high} tall: no shelf of this load has so much room above it."
            found.append(LeftOut(ware.key, "tall", told))
        elif spare < 0.5:
            told = f"{name} found no room: all shelves of this kiln are in use."
            found.append(LeftOut(ware.key, "shelves", told))
        elif top + ware.high_mm(rules) + rules.above_mm <= kiln.chamber_mm:
            told = f"{name} found no room on the shelves as they are set."
            found.append(LeftOut(ware.key, "room", told))
        else:
            told = f"{name} found no room: no further shelf fits under the lid."
            found.append(LeftOut(ware.key, "room", told))
    return found
