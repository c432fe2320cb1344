"""A planned load as plain values: the kiln's inside, the ware, and where everything stands.

Lengths are in mm. On a shelf x runs to the right and y towards the door from the middle of the
whole shelf; heights are above the floor of the chamber. A shelf's ``clear_mm`` is the room above
it, up to the underside of the next shelf or, on the topmost, up to the lid.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.ware.shelf import (
    Footprint,
    Kept,
    Outline,
    Point,
    check_size,
    clear_heights,
    pack_place,
    post_places,
    shelf_outline,
)
from studiolog.problems import UserProblem

PROBE: Final = "the thermocouple"
POST: Final = "a post"
PACK: Final = "the cone pack"


@dataclass(frozen=True, slots=True)
class KilnInside:
    """The shelves a kiln has and the room they stand in.

    ``posts_mm`` are the heights of posts at hand, each as often as needed. ``levels`` are (id,
    name, begins at mm above the floor). Raises `UserProblem` for sizes that can't be.
    """

    shape: str
    across_mm: float
    deep_mm: float
    thick_mm: float
    chamber_mm: float
    posts_mm: tuple[float, ...]
    shelves: int
    half_shelves: int = 0
    probe_mm: Point | None = None
    probe_clear_mm: float = 0.0
    levels: tuple[tuple[int, str, float], ...] = ()

    def __post_init__(self) -> None:
        shelf_outline(self.shape, self.across_mm, self.deep_mm)
        check_size(self.chamber_mm, "The height of the chamber")
        check_size(self.thick_mm, "The shelf's thickness")
        clear_heights(self.posts_mm, 1)
        if self.shelves < 0 or self.half_shelves < 0:
            raise UserProblem("A kiln has no fewer than 0 shelves.")

    def outline(self, part: str = "full") -> Outline:
        """The outline of one of its shelves."""
        return shelf_outline(self.shape, self.across_mm, self.deep_mm, part)

    def level_at(self, floor_mm: float) -> int | None:
        """The level in which a shelf at a height stands; None if the kiln has no levels."""
        upward = sorted(self.levels, key=lambda level: level[2])
        begun = [ident for ident, _, begins in upward if begins <= floor_mm + 0.5]
        return begun[-1] if begun else upward[0][0] if upward else None

    def level_name(self, level_id: int | None) -> str:
        """A level's name, "" where there is none."""
        return next((name for ident, name, _ in self.levels if ident == level_id), "")


@dataclass(frozen=True, slots=True)
class PackingRules:
    """Gaps and rules a load is packed by; `rules_by` reads them from the limits in force.

    ``half_worth_days``: a piece wanted so much later counts half where not all goes in. ``packs``
    are the levels on which a cone pack stands; None: on every shelf (one of two halves
    at a height).
    """

    glazed_gap_mm: float
    bisque_gap_mm: float
    edge_gap_mm: float
    above_mm: float
    posts: int
    post_mm: float
    posts_stacked: int
    kept_gap_mm: float
    pack_across_mm: float
    pack_deep_mm: float
    tile_beyond_mm: float
    tile_thick_mm: float
    stack_pieces: int
    stack_high_mm: float
    foot_mm: float
    half_worth_days: float
    packs: frozenset[int] | None = None

    @property
    def pack(self) -> Footprint | None:
        """The ground a cone pack takes; None if no place is kept for one."""
        if self.pack_across_mm <= 0.0:
            return None
        return Footprint("rectangle", self.pack_across_mm, self.pack_deep_mm)


def rules_by(limits: Limits = SHIPPED, packs: Iterable[int] | None = None) -> PackingRules:
    """The rules by the limits in force."""
    return PackingRules(
        glazed_gap_mm=limits["packing_glazed_gap_mm"],
        bisque_gap_mm=limits["packing_bisque_gap_mm"],
        edge_gap_mm=limits["packing_edge_gap_mm"],
        above_mm=limits["packing_above_mm"],
        posts=round(limits["packing_posts"]),
        post_mm=limits["packing_post_mm"],
        posts_stacked=round(limits["packing_posts_stacked"]),
        kept_gap_mm=limits["packing_kept_gap_mm"],
        pack_across_mm=limits["packing_pack_across_mm"],
        pack_deep_mm=limits["packing_pack_deep_mm"],
        tile_beyond_mm=limits["packing_tile_beyond_mm"],
        tile_thick_mm=limits["packing_tile_thick_mm"],
        stack_pieces=round(limits["packing_stack_pieces"]),
        stack_high_mm=limits["packing_stack_high_mm"],
        foot_mm=limits["shelf_foot_mm"],
        half_worth_days=limits["packing_half_worth_days"],
        packs=None if packs is None else frozenset(packs),
    )


@dataclass(frozen=True, slots=True)
class Ware:
    """A piece that waits for the kiln.

    ``footprint`` and ``height_mm`` are its widest and highest as it goes in. ``stack_mm`` is what
    each further one of ``stack_with`` (the same form, say) adds when unglazed ones are stacked or
    nested. ``on_tile``: it stands on a catch tile. ``due``: the lower, the sooner it is wanted
    (the day's ordinal, say). ``dislikes`` tells by level how badly it suits the piece, from 0 (as
    well as any) to 1; ``barred`` levels it must not stand on, each with the reason as a sentence.
    Raises `UserProblem` naming the piece for sizes that can't be.
    """

    key: int
    name: str
    footprint: Footprint
    height_mm: float
    glazed: bool = True
    stack_mm: float | None = None
    stack_with: int | None = None
    on_tile: bool = False
    due: float = 0.0
    dislikes: Mapping[int, float] = field(default_factory=dict)
    barred: Mapping[int, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        check_size(self.height_mm, f"The height of {self.name}")
        if self.stack_mm is not None:
            check_size(self.stack_mm, f"What each further one of {self.name} adds in a stack")

    def stands_on(self, rules: PackingRules) -> Footprint:
        """What it takes of the shelf: its footprint, or that of the tile under it."""
        return self.footprint.widened(rules.tile_beyond_mm) if self.on_tile else self.footprint

    def high_mm(self, rules: PackingRules) -> float:
        """From the shelf to its top, the tile under it included."""
        return self.height_mm + (rules.tile_thick_mm if self.on_tile else 0.0)

    def gap_mm(self, rules: PackingRules) -> float:
        """The room it wants beside it."""
        return rules.glazed_gap_mm if self.glazed else rules.bisque_gap_mm

    def stacks_on(self, other: "Ware") -> bool:
        """Whether it may be stacked on, or nested in, another."""
        return (
            not (self.glazed or other.glazed or self.on_tile or other.on_tile)
            and self.stack_mm is not None
            and self.stack_with is not None
            and self.stack_with == other.stack_with
        )


@dataclass(frozen=True, slots=True)
class Place:
    """Where a piece stands: its middle on the shelf, and the piece it is stacked on, if any."""

    key: int
    x_mm: float
    y_mm: float
    turned_deg: float = 0.0
    on_key: int | None = None


@dataclass(frozen=True, slots=True)
class PlannedShelf:
    """A shelf with what stands on it. ``position`` counts from the floor up, from 1.

    ``floor_mm`` is its upper face above the floor of the chamber, ``kept`` what is kept clear.
    """

    position: int
    part: str
    clear_mm: float
    floor_mm: float
    level_id: int | None
    outline: Outline
    kept: tuple[Kept, ...]
    places: tuple[Place, ...] = ()

    @property
    def pack_mm(self) -> Point | None:
        """Where its cone pack stands; None if there is none."""
        return next(((one.x_mm, one.y_mm) for one in self.kept if one.what == PACK), None)


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """A shelf of a load as it is kept: `stand_shelves` works the rest out."""

    part: str
    clear_mm: float
    pack_mm: Point | None = None
    places: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A piece that is not in the plan. ``why`` is "tall", "wide", "level", "shelves" or "room"."""

    key: int
    why: str
    words: str


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """A load: shelves from the floor up, what is left out and why.

    ``wares`` has every piece by key. ``least_shelves`` is how many whole shelves would be needed
    if ware could be poured: no packing needs fewer.
    """

    kiln: KilnInside
    rules: PackingRules
    wares: Mapping[int, Ware]
    shelves: tuple[PlannedShelf, ...]
    left_out: tuple[LeftOut, ...] = ()
    least_shelves: int = 0

    @property
    def placed(self) -> int:
        """How many pieces stand in it."""
        return sum(len(shelf.places) for shelf in self.shelves)

    @property
    def dislike(self) -> float:
        """How badly the levels suit the pieces, summed: 0 is as well as can be."""
        return sum(
            self.wares[place.key].dislikes.get(shelf.level_id, 0.0)
            for shelf in self.shelves
            if shelf.level_id is not None
            for place in shelf.places
        )

    def shelf(self, position: int) -> PlannedShelf:
        """The shelf at a position. Raises `UserProblem` if there is none."""
        for shelf in self.shelves:
            if shelf.position == position:
                return shelf
        raise UserProblem(f"This load has no shelf {position} any more: look at it again.")

    def with_shelf(self, shelf: PlannedShelf) -> "LoadPlan":
        """The plan with one shelf as it is now."""
        changed = (shelf if one.position == shelf.position else one for one in self.shelves)
        return replace(self, shelves=tuple(changed))


def stand_shelves(
    kiln: KilnInside, rules: PackingRules, rows: Sequence[ShelfRow]
) -> tuple[PlannedShelf, ...]:
    """Shelves as they stand on each other, from the floor up in the order given.

    A half stands on what is below it on its side, a whole shelf on the higher of both sides. Posts
    are kept clear where another shelf stands above. The topmost on each side has the room up to
    the lid above it, whatever was said.
    """
    tops = {"left": rules.foot_mm, "right": rules.foot_mm}
    stood: list[tuple[ShelfRow, float]] = []
    for row in rows:
        check_size(row.clear_mm, "The room above a shelf")
        sides = _sides(row.part)
        floor = max(tops[side] for side in sides) + kiln.thick_mm
        stood.append((row, floor))
        for side in sides:
            tops[side] = floor + row.clear_mm
    shelves: list[PlannedShelf] = []
    for index, (row, floor) in enumerate(stood):
        above = _above([one for one, _ in stood[index + 1 :]], row.part)
        clear = row.clear_mm if above else max(1.0, kiln.chamber_mm - floor)
        level = kiln.level_at(floor)
        outline = kiln.outline(row.part)
        kept = keep_clear(kiln, rules, outline, above, level, row.pack_mm)
        shelves.append(
            PlannedShelf(index + 1, row.part, clear, floor, level, outline, kept, row.places)
        )
    return tuple(shelves)


def _sides(part: str) -> tuple[str, ...]:
    return ("left", "right") if part == "full" else (part,)


def _above(rows: Sequence[ShelfRow], part: str) -> tuple[str, ...]:
    """The parts that stand directly on a shelf: the first above it on each of its sides."""
    found: list[str] = []
    for side in _sides(part):
        on = next((row.part for row in rows if side in _sides(row.part)), None)
        if on is not None and on not in found:
            found.append(on)
    return tuple(found)


def keep_clear(
    kiln: KilnInside,
    rules: PackingRules,
    outline: Outline,
    above: Sequence[str],
    level_id: int | None,
    pack_mm: Point | None = None,
) -> tuple[Kept, ...]:
    """What is kept clear on a shelf: thermocouple, the posts of what stands above, the cone pack.

    ``above`` are the parts that stand on it, () on the topmost. Places on the other half are left
    out.
    """
    kept: list[Kept] = []
    if kiln.probe_mm is not None and kiln.probe_clear_mm > 0.0:
        kept.append(Kept(PROBE, Footprint("circle", 2.0 * kiln.probe_clear_mm), *kiln.probe_mm))
    post = Footprint("circle", rules.post_mm)
    for part in above:
        for x, y in post_places(kiln.outline(part), rules.posts, rules.post_mm):
            kept.append(Kept(POST, post, x, y, rules.kept_gap_mm))
    kept = [
        one
        for one in kept
        if outline.inside_by_mm(Footprint("circle", 0.1), one.x_mm, one.y_mm, 0.0)
        > -one.footprint.reach_mm - one.gap_mm
    ]
    wanted = rules.packs is None or level_id in rules.packs
    if rules.pack is not None and (pack_mm is not None or (wanted and outline.part != "right")):
        x, y = pack_mm or pack_place(outline, rules.pack, rules.edge_gap_mm, tuple(kept))
        kept.append(Kept(PACK, rules.pack, x, y, rules.kept_gap_mm))
    return tuple(kept)


@dataclass(frozen=True, slots=True)
class Fill:
    """How full a shelf or a load is, from 0 to 1.

    ``by_area``: the ground ware takes with its gaps (a circle the hexagon around it) of the ground
    there is for it: 1 is the densest there is, about 0.85 is as full as a shelf of round ware gets.
    ``by_volume``: the room ware takes, each piece as high and wide as it is, of the room above the
    shelf, and of the whole chamber for a load.
    """

    by_area: float
    by_volume: float


def shelf_fill(plan: LoadPlan, shelf: PlannedShelf) -> Fill:
    """How full one shelf is."""
    room = shelf.outline.area_mm2 * shelf.clear_mm
    ground = _ground_mm2(plan, shelf) / max(usable_mm2(plan.rules, shelf), 1.0)
    return Fill(min(1.0, ground), _volume_mm3(plan, shelf) / room)


def load_fill(plan: LoadPlan) -> Fill:
    """How full the kiln is: the room left above the topmost ware counts as empty.

    By area, a kiln with shelves to spare counts the ground of those that the room left would take,
    as high as the shelves in use are on the average.
    """
    whole_mm2 = plan.kiln.outline().area_mm2
    volume = sum(_volume_mm3(plan, shelf) for shelf in plan.shelves)
    by_volume = volume / (whole_mm2 * plan.kiln.chamber_mm)
    ground = room = 0.0
    for shelf in plan.shelves:
        usable = usable_mm2(plan.rules, shelf)
        room += usable
        ground += min(usable, _ground_mm2(plan, shelf))
    if not room:
        return Fill(0.0, 0.0)
    return Fill(ground / (room + _spare_mm2(plan)), by_volume)


def _spare_mm2(plan: LoadPlan) -> float:
    """The ground of further shelves that would stand in the room left above the ware."""
    kiln = plan.kiln
    used = sum(1.0 if shelf.part == "full" else 0.5 for shelf in plan.shelves)
    had = kiln.shelves + kiln.half_shelves / 2.0
    needed: dict[str, float] = {}
    for shelf in plan.shelves:
        needed[shelf.part] = shelf.floor_mm + tallest_mm(plan, shelf) + plan.rules.above_mm
    top = max(needed.values())
    each = (top - plan.rules.foot_mm) / max(1.0, used)
    more = min(had - used, float(int((kiln.chamber_mm - top) / each)) if each > 0.0 else 0.0)
    area = kiln.outline().room_mm2(plan.rules.edge_gap_mm - plan.rules.glazed_gap_mm / 2.0)
    return max(0.0, more) * area


def tallest_mm(plan: LoadPlan, shelf: PlannedShelf) -> float:
    """How high the tallest ware on a shelf reaches above it; 0 on an empty one."""
    return max((base + own for base, own in standing_mm(plan, shelf).values()), default=0.0)


def standing_mm(plan: LoadPlan, shelf: PlannedShelf) -> dict[int, tuple[float, float]]:
    """By key: how high above the shelf a piece begins, and its own height (a tile included).

    A stacked piece begins as much higher than the one under it as a stack grows by it, less what
    its own height is more.
    """
    places = {place.key: place for place in shelf.places}
    found: dict[int, tuple[float, float]] = {}
    for place in shelf.places:
        chain = [place]
        while chain[-1].on_key in places and len(chain) <= len(places):
            chain.append(places[chain[-1].on_key or 0])
        base, own = 0.0, 0.0
        for below in reversed(chain):
            ware = plan.wares[below.key]
            high = ware.high_mm(plan.rules)
            if below is not chain[-1]:
                base = max(base, base + own + (ware.stack_mm or high) - high)
            own = high
        found[place.key] = (base, own)
    return found


def usable_mm2(rules: PackingRules, shelf: PlannedShelf) -> float:
    """The ground of a shelf there is for ware and its gaps."""
    room = shelf.outline.room_mm2(rules.edge_gap_mm - rules.glazed_gap_mm / 2.0)
    return max(1.0, room - sum(kept.footprint.area_mm2 for kept in shelf.kept))


def _ground_mm2(plan: LoadPlan, shelf: PlannedShelf) -> float:
    wares = (plan.wares[place.key] for place in shelf.places if place.on_key is None)
    return sum(ware.stands_on(plan.rules).ground_mm2(ware.gap_mm(plan.rules)) for ware in wares)


def _volume_mm3(plan: LoadPlan, shelf: PlannedShelf) -> float:
    """Prisms around what stands on a shelf; of a stacked piece only what it adds in height."""
    total = 0.0
    stood = standing_mm(plan, shelf)
    for place in shelf.places:
        ware = plan.wares[place.key]
        base, own = stood[place.key]
        below = stood.get(place.on_key, (0.0, 0.0)) if place.on_key is not None else (0.0, 0.0)
        adds = own if place.on_key is None else base + own - sum(below)
        total += ware.footprint.area_mm2 * max(0.0, adds)
    return total
