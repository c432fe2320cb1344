"""Filling the room that is left in a load around what stands already, which is not moved."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from studiolog.craft.ware.free_places import Stand, shape_of
from studiolog.craft.ware.load_building import may_stand, sift, why_left
from studiolog.craft.ware.load_plan import (
    LoadPlan,
    Place,
    PlannedShelf,
    ShelfRow,
    Ware,
    stand_shelves,
    standing_mm,
    tallest_mm,
)
from studiolog.craft.ware.load_search import Layer, Search, make_lots, rows_of, swap_for_levels
from studiolog.craft.ware.plan_check import check_plan, stacking_problem
from studiolog.craft.ware.shelf import lowest_clear
from studiolog.craft.ware.shelf_filling import Filling, fill


def fill_plan(plan: LoadPlan, keys: Sequence[int], stop: Callable[[], bool] | None) -> LoadPlan:
    """See `packing.fill_in`."""
    search = Search(plan.kiln, plan.rules)
    standing = {place.key for shelf in plan.shelves for place in shelf.places}
    wares = [plan.wares[key] for key in dict.fromkeys(keys) if key not in standing]
    able, left_out = sift(wares, search)
    gone = {ware.key for ware in wares}
    left_out = [*(one for one in plan.left_out if one.key not in gone), *left_out]
    plan = replace(plan, left_out=tuple(left_out))
    best = _filled(search, plan, able)
    if best.placed < len(standing) + len(able):
        for wider in _with_more_shelves(search, plan, able):
            if stop is not None and stop():
                break
            tried = _without_empty_top(_filled(search, wider, able))
            if tried.placed > best.placed:
                best = tried
    return best


def _with_more_shelves(search: Search, plan: LoadPlan, wares: Sequence[Ware]) -> Iterator[LoadPlan]:
    """The load with shelves set on top of it, as many as there are, as high as the ware wants."""
    kiln, rules = plan.kiln, plan.rules
    used = [shelf.part for shelf in plan.shelves]
    whole = kiln.shelves - used.count("full") if set(used) <= {"full"} else 0
    halves = kiln.half_shelves - sum(part != "full" for part in used)
    parts = [*["full"] * max(0, whole), *["left", "right"] * max(0, halves // 2)]
    lowest = min((ware.high_mm(rules) for ware in wares), default=0.0) + rules.above_mm
    wanted = {lowest_clear(search.heights, ware.high_mm(rules) + rules.above_mm) for ware in wares}
    before = {(fault.position, fault.keys) for fault in check_plan(plan)}
    for clear in sorted((height for height in wanted if height is not None), reverse=True):
        rows = [_row_of(search, plan, shelf, clear) for shelf in plan.shelves]
        for part in parts:
            rows.append(ShelfRow(part, clear))
            shelves = stand_shelves(kiln, rules, rows)
            if shelves[-1].floor_mm + lowest > kiln.chamber_mm + 1e-6:
                break
            wider = replace(plan, shelves=shelves)
            if {(fault.position, fault.keys) for fault in check_plan(wider)} <= before:
                yield wider


def _row_of(search: Search, plan: LoadPlan, shelf: PlannedShelf, clear_mm: float) -> ShelfRow:
    """A shelf as it is; a topmost one, up to the lid until now, gets posts of a height."""
    own = shelf.clear_mm
    if shelf.floor_mm + own >= plan.kiln.chamber_mm - 0.5:
        needed = max(tallest_mm(plan, shelf) + plan.rules.above_mm, clear_mm)
        own = lowest_clear(search.heights, needed) or own
    return ShelfRow(shelf.part, own, shelf.pack_mm, shelf.places)


def _without_empty_top(plan: LoadPlan) -> LoadPlan:
    """The load without shelves on top on which nothing stands."""
    shelves = list(plan.shelves)
    while shelves and not shelves[-1].places:
        shelves.pop()
    if len(shelves) == len(plan.shelves):
        return plan
    rows = [ShelfRow(one.part, one.clear_mm, one.pack_mm, one.places) for one in shelves]
    return replace(plan, shelves=stand_shelves(plan.kiln, plan.rules, rows))


def _filled(search: Search, plan: LoadPlan, able: Sequence[Ware]) -> LoadPlan:
    """The load with what there is room for on the shelves as they stand."""
    plan, rest = _stacked_on(plan, able)
    lots = {lot.ident: lot for lot in make_lots(rest, plan.rules, plan.rules.stack_pieces, 1e9)}
    layers: list[Layer] = []
    for shelf in plan.shelves:
        filling = Filling(shelf.outline, shelf.kept, plan.rules.edge_gap_mm)
        for place in shelf.places:
            if place.on_key is None:
                ware = plan.wares[place.key]
                footprint, gap = ware.stands_on(plan.rules), ware.gap_mm(plan.rules)
                shape = shape_of(footprint, place.turned_deg, gap)
                filling.fixed.append(Stand(shape, place.x_mm, place.y_mm))
        filling = Filling.of(filling)
        layer = Layer(shelf.part, shelf.clear_mm, shelf.floor_mm, shelf.level_id, filling)
        layers.append(layer)
        fitting = [lot for lot in lots.values() if may_stand(search, lot, layer)]
        order = [(lot.due, lot.dislike(shelf.level_id), lot.ident) for lot in fitting]
        fill(filling, [lots[ident].wanted for _, _, ident in sorted(order)], "edge")
        for one in filling.set:
            layer.lots[one.wanted.ident] = lots.pop(one.wanted.ident)
    swap_for_levels(search, layers)
    shelves: list[PlannedShelf] = []
    for shelf, row in zip(plan.shelves, rows_of(layers), strict=True):
        shelves.append(replace(shelf, places=(*shelf.places, *row.places)))
    here = {place.key for shelf in shelves for place in shelf.places}
    left = why_left([ware for ware in able if ware.key not in here], search, layers)
    return replace(plan, shelves=tuple(shelves), left_out=(*plan.left_out, *left))


def _stacked_on(plan: LoadPlan, wares: Sequence[Ware]) -> tuple[LoadPlan, list[Ware]]:
    """Unglazed ware stacked on its like that stands already; the rest is given back."""
    rest: list[Ware] = []
    for ware in sorted(wares, key=lambda one: (one.due, one.key)):
        if ware.glazed or ware.stack_mm is None:
            rest.append(ware)
            continue
        for shelf in plan.shelves:
            under = next((p for p in shelf.places if _bears(plan, shelf, p, ware)), None)
            if under is not None:
                place = Place(ware.key, under.x_mm, under.y_mm, under.turned_deg, under.key)
                plan = plan.with_shelf(replace(shelf, places=(*shelf.places, place)))
                break
        else:
            rest.append(ware)
    return plan, rest


def _bears(plan: LoadPlan, shelf: PlannedShelf, under: Place, ware: Ware) -> bool:
    """Whether a piece may be stacked on one that stands there and bears nothing yet."""
    below = plan.wares[under.key]
    if not ware.stacks_on(below) or shelf.level_id in ware.barred:
        return False
    if ware.footprint.area_mm2 > 1.0001 * below.footprint.area_mm2:
        return False
    if any(place.on_key == under.key for place in shelf.places):
        return False
    if stacking_problem(plan, shelf.position, ware.key, under.key):
        return False
    base, own = standing_mm(plan, shelf)[under.key]
    top = base + own + (ware.stack_mm or 0.0)
    room = min(shelf.clear_mm - plan.rules.above_mm, plan.rules.stack_high_mm)
    return top <= room + 1e-6
