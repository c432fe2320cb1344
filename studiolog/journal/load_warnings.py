"""What to look at before a planned load is lit, each with its evidence."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from studiolog.craft.evidence.rates import wilson
from studiolog.craft.firing.cones import cone_at, label_of, show_cone
from studiolog.craft.limits import Limits
from studiolog.craft.ware.load_plan import LoadPlan, PlannedShelf, standing_mm
from studiolog.craft.words import STAGES, join_words
from studiolog.journal.load_likings import (
    LevelHeat,
    Look,
    Pair,
    Seen,
    count_fault,
    looks_of_fault,
    pairs_of,
)
from studiolog.journal.load_ware import READY, Ware

_MOST_MARKS: Final = 8
URGENT: Final = "urgent"
CARE: Final = "care"
FUMES: Final = (
    "Fumes: vent the kiln to the outside and keep out of the room while it fires. Bisque gives off "
    "the most. Local rules go first."
)


@dataclass(frozen=True)
class Evidence:
    """A mark to follow: a piece or a firing by its number; ``kind`` is "piece" or "firing"."""

    kind: str
    ident: int
    number: int


@dataclass(frozen=True)
class LoadWarning:
    """One thing to look at. ``pieces`` are those meant, ``evidence`` what it rests on.

    ``key`` says what kind it is; ``cure`` what one press does about it: "tile" sets catch tiles,
    "pack" a cone pack, "out" takes the pieces out; "" where only hands help.
    """

    key: str
    weight: str
    words: str
    pieces: tuple[int, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    cure: str = ""


def warn_of_load(
    kind: str,
    cone: float | None,
    wares: Mapping[int, Ware],
    plan: LoadPlan,
    levels: Sequence[LevelHeat],
    looks: Mapping[Pair, Sequence[Look]],
    bloats: Mapping[int, Sequence[tuple[int, bool]]],
    limits: Limits,
) -> tuple[LoadWarning, ...]:
    """Everything to look at, what can spoil ware or shelves first."""
    stands = {place.key: shelf for shelf in plan.shelves for place in shelf.places}
    inside = [wares[key] for key in plan.wares if key in wares]
    there = tuple(_ran_there(inside, stands, levels, looks, plan))
    told = {key for warning in there for key in warning.pieces}
    others = [ware for ware in inside if ware.piece_id not in told]
    found = [
        *_wet(kind, inside),
        *_mixed_stages(kind, inside),
        *there,
        *_runs(cone, others, plan, levels, stands, looks, limits),
        *_bloats(cone, inside, levels, stands, bloats),
        *_mixed_cones(cone, inside),
        *_air(inside),
        *_tall(plan, wares, limits),
        *_without_pack(plan, levels),
    ]
    if inside:
        found.append(LoadWarning("fumes", CARE, FUMES))
    said = (replace(one, words=one.words[:1].upper() + one.words[1:]) for one in found)
    return tuple(sorted(said, key=lambda one: one.weight != URGENT))


# Raw ware ------------------------------------------------------------------------------------


def _wet(kind: str, wares: Sequence[Ware]) -> Iterable[LoadWarning]:
    damp = [ware for ware in wares if ware.stage in ("wet", "leather_hard")]
    if damp:
        stages = join_words(sorted({STAGES[ware.stage] for ware in damp}))
        yield LoadWarning(
            "wet",
            URGENT,
            f"{_many(damp)} {_are(damp)} still {stages}: steam bursts ware. Let it dry, or candle "
            "well below 100 °C until no moisture shows on a cold mirror at the vent.",
            _ids(damp),
            cure="out",
        )
    elif kind == "bisque" and wares:
        yield LoadWarning(
            "candle",
            CARE,
            "Bone dry is as dry as the room: hold below 100 °C first, longer for thick ware.",
        )


def _mixed_stages(kind: str, wares: Sequence[Ware]) -> Iterable[LoadWarning]:
    if kind == "bisque":
        return
    raw = [ware for ware in wares if ware.stage in ("wet", "leather_hard", "bone_dry")]
    bare = [ware for ware in wares if ware.stage == "bisque"]
    if raw:
        yield LoadWarning(
            "raw beside glazed",
            URGENT,
            f"{_many(raw)} {_are(raw)} not bisque-fired yet: beside glazed ware its steam and "
            "gases pit glazes, and it gets no slow bisque.",
            _ids(raw),
            cure="out",
        )
    if bare:
        yield LoadWarning(
            "bare beside glazed",
            CARE,
            f"{_many(bare)} {_are(bare)} bisque without a glaze logged: glaze them first, or let "
            "them stand bare knowingly.",
            _ids(bare),
        )
    ready = READY.get(kind)
    early = [
        ware
        for ware in wares
        if ware.stage not in ("wet", "leather_hard", "bone_dry", "bisque", ready)
    ]
    if early:
        yield LoadWarning(
            "refired",
            CARE,
            f"{_many(early)} {_are(early)} {STAGES[early[0].stage]} already: fired anew, glaze "
            "moves again and clay may slump.",
            _ids(early),
        )


# Glazes --------------------------------------------------------------------------------------


def _ran_there(
    wares: Sequence[Ware],
    stands: Mapping[int, PlannedShelf],
    levels: Sequence[LevelHeat],
    looks: Mapping[Pair, Sequence[Look]],
    plan: LoadPlan,
) -> Iterable[LoadWarning]:
    """Layers that ran at this very level the last time they stood there."""
    names = {level.level_id: level.name for level in levels}
    found: dict[tuple[Pair, str, int], list[Ware]] = defaultdict(list)
    for ware in wares:
        shelf = stands.get(ware.piece_id)
        if shelf is None or shelf.level_id is None:
            continue
        for pair, words in pairs_of(ware.layers).items():
            found[pair, words, shelf.level_id].append(ware)
    for (pair, words, level_id), some in found.items():
        there = [
            look
            for look in looks.get(pair, ())
            if look.level_id == level_id and look.was_looked_for("running")
        ]
        if not there:
            continue
        last = [look for look in there if look.firing_id == there[0].firing_id]
        ran = looks_of_fault(last, "running")
        if not ran:
            continue
        bare = [ware for ware in some if not plan.wares[ware.piece_id].on_tile]
        heat = label_of(max(look.cone10 for look in ran) / 10)
        on_tiles = "" if bare else " Catch tiles are under them."
        yield LoadWarning(
            "ran there",
            URGENT if bare else CARE,
            f"{words} ran at the {names.get(level_id, '')} level last time, on {len(ran)} of "
            f"{len(last)} in firing {ran[0].firing}, at cone {heat}: {_many(some)} of this load "
            f"{_stand(some)} there again.{on_tiles}",
            _ids(some),
            _marks(ran),
            "tile" if bare else "",
        )


def _runs(
    cone: float | None,
    wares: Sequence[Ware],
    plan: LoadPlan,
    levels: Sequence[LevelHeat],
    stands: Mapping[int, PlannedShelf],
    looks: Mapping[Pair, Sequence[Look]],
    limits: Limits,
) -> Iterable[LoadWarning]:
    """Layers that ran at about this heat: those not on a catch tile yet."""
    if cone is None:
        return
    heats = {level.level_id: level.cone for level in levels}
    found: dict[str, tuple[Seen, list[Ware], list[Look]]] = {}
    for ware in wares:
        if plan.wares[ware.piece_id].on_tile:
            continue
        shelf = stands.get(ware.piece_id)
        here = heats.get(shelf.level_id) if shelf is not None and shelf.level_id else None
        heat = cone if here is None else here
        seen = ran_before(ware, heat, looks, limits)
        if seen is None:
            continue
        before = found.get(seen.pair)
        some = [*(before[1] if before is not None else ()), ware]
        if before is not None and _surer(before[0], seen):
            found[seen.pair] = (before[0], some, before[2])
            continue
        ran = [
            look
            for pair, words in pairs_of(ware.layers).items()
            if words == seen.pair
            for look in looks_of_fault(looks.get(pair, ()), "running")
            if seen.low <= look.cone10 / 10 <= seen.high
        ]
        found[seen.pair] = (seen, some, ran)
    for seen, some, ran in found.values():
        yield LoadWarning(
            "runs",
            URGENT,
            f"{seen.words}: set {_many(some)} of this load on catch tiles, or at a cooler level.",
            _ids(some),
            _marks(ran),
            "tile",
        )


def ran_before(
    ware: Ware, heat: float, looks: Mapping[Pair, Sequence[Look]], limits: Limits
) -> Seen | None:
    """The pair of a piece that ran most at about a heat, if it did so often enough to tell."""
    near = limits["liking_near_cones"]
    worst: Seen | None = None
    for pair, words in pairs_of(ware.layers).items():
        seen = count_fault(looks.get(pair, ()), "running", words, heat - near, heat + near)
        if not seen.seen or seen.seen / seen.looked < limits["catch_tile_share"]:
            continue
        if worst is None or not _surer(worst, seen):
            worst = seen
    return worst


def _surer(one: Seen, other: Seen) -> bool:
    """Whether the first tells of no less running, of that which is sure."""
    return wilson(one.seen, one.looked)[0] >= wilson(other.seen, other.looked)[0]


# Clays and cones -----------------------------------------------------------------------------


def _bloats(
    cone: float | None,
    wares: Sequence[Ware],
    levels: Sequence[LevelHeat],
    stands: Mapping[int, PlannedShelf],
    bloats: Mapping[int, Sequence[tuple[int, bool]]],
) -> Iterable[LoadWarning]:
    if cone is None:
        return
    heats = {level.level_id: level for level in levels}
    by_clay: dict[int, list[tuple[Ware, float]]] = defaultdict(list)
    for ware in wares:
        shelf = stands.get(ware.piece_id)
        level = heats.get(shelf.level_id) if shelf is not None and shelf.level_id else None
        heat = level.cone if level is not None and level.cone is not None else cone
        top = ware.clay_cones.high if ware.clay_cones is not None else None
        if ware.clay_id is not None and top is not None and heat > top + 0.2:
            by_clay[ware.clay_id].append((ware, heat))
    for clay_id, some in by_clay.items():
        first = some[0][0]
        heat = max(heat for _, heat in some)
        hot = [had for cone10, had in bloats.get(clay_id, ()) if cone10 / 10 >= heat - 0.4]
        told = (
            f" Bloating was seen on {sum(hot)} of {len(hot)} that came so hot."
            if hot
            else " Nobody looked for bloating on a piece of it that came so hot."
        )
        span = first.clay_cones.words if first.clay_cones is not None else ""
        pieces = [ware for ware, _ in some]
        yield LoadWarning(
            "bloats",
            URGENT if any(hot) else CARE,
            f"{first.clay} is for cone {span}; {_many(pieces)} of it would come to about cone "
            f"{label_of(heat)}: clay above its range bloats and slumps.{told}",
            _ids(pieces),
        )


def _mixed_cones(cone: float | None, wares: Sequence[Ware]) -> Iterable[LoadWarning]:
    if cone is None:
        return
    off: dict[str, list[Ware]] = defaultdict(list)
    for ware in wares:
        if not fits_cone(ware, cone):
            assert ware.cones is not None
            off[ware.cones.words].append(ware)
    for words, some in off.items():
        yield LoadWarning(
            "cone",
            URGENT,
            f"{_many(some)} {_want(some)} cone {words} ({some[0].cone_basis}); this load goes to "
            f"{show_cone(cone_at(cone))}.",
            _ids(some),
            cure="out",
        )


def fits_cone(ware: Ware, cone: float | None) -> bool:
    """Whether a load's cone is one the piece wants; where nothing tells it, any cone is."""
    return cone is None or ware.cones is None or ware.cones.holds(cone, 0.25)


def _air(wares: Sequence[Ware]) -> Iterable[LoadWarning]:
    by_air: dict[str, list[Ware]] = defaultdict(list)
    for ware in wares:
        by_air[ware.atmosphere].append(ware)
    if len(by_air) > 1:
        counts = join_words([f"{len(some)} in {air}" for air, some in by_air.items()])
        yield LoadWarning(
            "air",
            CARE,
            f"Pieces like these were fired in different atmospheres before: {counts}.",
        )


# Shelves -------------------------------------------------------------------------------------


def _tall(plan: LoadPlan, wares: Mapping[int, Ware], limits: Limits) -> Iterable[LoadWarning]:
    """What stands close under the lid, where heat and lid touch it first."""
    close = limits["tall_near_lid_mm"]
    near = []
    for shelf in plan.shelves:
        for key, (base, own) in standing_mm(plan, shelf).items():
            left = plan.kiln.chamber_mm - shelf.floor_mm - base - own
            if left < close and key in wares:
                near.append(wares[key])
    if near:
        yield LoadWarning(
            "near the lid",
            CARE,
            f"{_many(near)} {_come(near)} within {close:g} mm of the lid: see that it closes "
            "without touching, and that nothing falls from it.",
            _ids(near),
        )


def _without_pack(plan: LoadPlan, levels: Sequence[LevelHeat]) -> Iterable[LoadWarning]:
    with_ware = {shelf.level_id for shelf in plan.shelves if shelf.places}
    with_pack = {shelf.level_id for shelf in plan.shelves if shelf.pack_mm is not None}
    names = [
        level.name
        for level in levels
        if level.level_id in with_ware and level.level_id not in with_pack
    ]
    if names:
        stand = "stands" if len(names) == 1 else "stand"
        yield LoadWarning(
            "no cones",
            CARE,
            f"No cone pack {stand} at {join_words(names)}: what it came to there will only be "
            "computed.",
            cure="pack",
        )


def _marks(looks: Sequence[Look]) -> tuple[Evidence, ...]:
    marks: list[Evidence] = []
    for look in looks:
        if look.number is not None:
            marks.append(Evidence("piece", look.piece_id, look.number))
    firings = dict.fromkeys((look.firing_id, look.firing) for look in looks)
    shown = marks[:_MOST_MARKS]
    return (*shown, *(Evidence("firing", ident, number) for ident, number in list(firings)[:4]))


def _ids(wares: Iterable[Ware]) -> tuple[int, ...]:
    return tuple(ware.piece_id for ware in wares)


def _many(wares: Sequence[Ware]) -> str:
    if len(wares) == 1:
        return wares[0].label
    return f"{len(wares)} pieces"


def _are(wares: Sequence[Ware]) -> str:
    return "is" if len(wares) == 1 else "are"


def _want(wares: Sequence[Ware]) -> str:
    return "wants" if len(wares) == 1 else "want"


def _stand(wares: Sequence[Ware]) -> str:
    return "stands" if len(wares) == 1 else "stand"


def _come(wares: Sequence[Ware]) -> str:
    return "comes" if len(wares) == 1 else "come"
