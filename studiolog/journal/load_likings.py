"""Which levels of a kiln ware likes: from the kiln's map, and from what its glazes did before.

A level's heat is the cone of the load moved by what the level reads against the sensor. Each pair
of glazes of a piece is looked up in the facts: how often a fault that heat decides was seen on
pieces that came to about that heat. The worst pair and fault tell how badly a level suits.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy import or_, select, tuple_
from sqlalchemy.orm import Session

from studiolog.craft.firing.calibration import cones_from_degrees
from studiolog.craft.firing.cone_range import ConeSpan
from studiolog.craft.firing.cones import label_between, label_of
from studiolog.craft.limits import Limits
from studiolog.craft.words import FAULTS, fault_bit
from studiolog.journal.kiln_map import KilnMap, say_in_cones
from studiolog.journal.load_ware import Ware, WareLayer
from studiolog.records.facts import NO_CONE, pair_fact, piece_fact
from studiolog.records.firings import Firing
from studiolog.records.pieces import Piece

HEAT_FAULTS: Final = ("running", "blister", "dry", "crawling", "pinhole")
"""Faults that a level's heat decides."""
COOL_FAULTS: Final = frozenset({"dry"})
"""Of those, what comes of too little heat."""
ANYWHERE: Final = frozenset({"crawling", "pinhole"})
"""Of those, what may come of either."""
Pair = tuple[int, int]
"""A glaze over another, 0 for the clay itself."""


@dataclass(frozen=True)
class LevelHeat:
    """A level of the kiln and the heat to expect there; ``cone`` None while the load has none.

    ``calibrated``: whether enough cone packs were read there. ``words`` tell how it runs.
    """

    level_id: int
    name: str
    cone: float | None
    calibrated: bool
    words: str


@dataclass(frozen=True, slots=True)
class Look:
    """A piece with a pair of glazes, as it came out."""

    piece_id: int
    number: int | None
    level_id: int | None
    kiln_id: int
    firing_id: int
    firing: int
    started: float
    cone10: int
    looked: int
    seen: int

    def was_looked_for(self, fault: str) -> bool:
        return bool(self.looked & fault_bit(fault))

    def had(self, fault: str) -> bool:
        return bool(self.seen & self.looked & fault_bit(fault))


@dataclass(frozen=True, slots=True)
class Seen:
    """A fault was seen on so many of so many, between two heats (ordinals)."""

    pair: str
    fault: str
    seen: int
    looked: int
    low: float
    high: float

    @property
    def words(self) -> str:
        """ "Rust Shore over Kelp ran on 5 of 8 at 6 to 6 +0.5"."""
        did = {
            "running": "ran",
            "blister": "blistered",
            "dry": "stayed dry",
            "crawling": "crawled",
            "pinhole": "pinholed",
            "bloating": "bloated",
        }.get(self.fault, f"had {FAULTS[self.fault]}")
        return (
            f"{self.pair} {did} on {self.seen} of {self.looked} at cone "
            f"{label_between(self.low, self.high)}"
        )


@dataclass(frozen=True)
class Liking:
    """How one kind of ware suits the levels. ``dislikes`` by level id, 0 the best there is.

    ``best`` and ``worst`` are names of levels, "" where they do not differ; ``why`` is a sentence.
    """

    dislikes: Mapping[int, float]
    best: str
    worst: str
    why: str
    evidence: tuple[Look, ...] = ()


def read_level_heats(kiln_map: KilnMap, cone: float | None) -> tuple[LevelHeat, ...]:
    """The levels from the top down, with the heat to expect at each."""
    found = []
    for level in kiln_map.levels:
        offset = level.offset
        trusted = offset is not None and offset.calibrated
        moved = cones_from_degrees(offset.offset_c) if offset is not None and trusted else 0.0
        words = (
            say_in_cones(offset.offset_c)
            if offset is not None and trusted
            else "not read often enough to tell"
        )
        found.append(
            LevelHeat(
                level.level_id, level.name, None if cone is None else cone + moved, trusted, words
            )
        )
    return tuple(found)


def pairs_of(layers: Iterable[WareLayer]) -> dict[Pair, str]:
    """The pairs of glazes on a piece, with their words.

    A glaze under another is told by that pair: on the bare clay counts what lies there alone.
    """
    layers = tuple(layers)
    covered = {layer.zone for layer in layers if layer.under_id}
    return {
        (layer.glaze_id, layer.under_id): layer.words
        for layer in layers
        if layer.under_id or layer.zone not in covered
    }


def read_looks(session: Session, pairs: Iterable[Pair]) -> dict[Pair, tuple[Look, ...]]:
    """Every fired piece with a pair that somebody looked at, the newest firing first."""
    wanted = sorted(set(pairs))
    if not wanted:
        return {}
    found: dict[Pair, dict[int, Look]] = defaultdict(dict)
    rows = session.execute(
        select(
            pair_fact.c.over_id,
            pair_fact.c.under_id,
            pair_fact.c.piece_id,
            Piece.number,
            piece_fact.c.level_id,
            Firing.kiln_id,
            Firing.id.label("firing_id"),
            Firing.number.label("firing"),
            Firing.started_at,
            pair_fact.c.cone10,
            pair_fact.c.looked_mask,
            pair_fact.c.seen_mask,
        )
        .join(piece_fact, piece_fact.c.piece_id == pair_fact.c.piece_id)
        .join(Firing, Firing.id == piece_fact.c.firing_id)
        .join(Piece, Piece.id == pair_fact.c.piece_id)
        .where(
            tuple_(pair_fact.c.over_id, pair_fact.c.under_id).in_(wanted),
            pair_fact.c.looked_mask != 0,
            or_(pair_fact.c.under_id != 0, pair_fact.c.alone == 1),
            pair_fact.c.cone10 != NO_CONE,
        )
        .order_by(Firing.started_at.desc(), pair_fact.c.piece_id)
    )
    for row in rows:
        pair = (row.over_id, row.under_id)
        before = found[pair].get(row.piece_id)
        # A piece with the pair on several zones counts once.
        looked = row.looked_mask | (before.looked if before else 0)
        seen = row.seen_mask | (before.seen if before else 0)
        found[pair][row.piece_id] = Look(
            row.piece_id,
            row.number,
            row.level_id,
            row.kiln_id,
            row.firing_id,
            row.firing,
            row.started_at.timestamp(),
            row.cone10,
            looked,
            seen,
        )
    return {pair: tuple(some.values()) for pair, some in found.items()}


def count_fault(looks: Iterable[Look], fault: str, pair: str, low: float, high: float) -> Seen:
    """How often a fault was seen between two heats, both counted in."""
    first, last = round(low * 10), round(high * 10)
    inside = [look for look in looks if first <= look.cone10 <= last and look.was_looked_for(fault)]
    cones = [look.cone10 / 10 for look in inside]
    return Seen(
        pair,
        fault,
        sum(look.had(fault) for look in inside),
        len(inside),
        min(cones, default=low),
        max(cones, default=high),
    )


def like_levels(
    ware: Ware,
    levels: Sequence[LevelHeat],
    looks: Mapping[Pair, Sequence[Look]],
    limits: Limits,
) -> Liking:
    """How a piece suits each level, and why."""
    if not levels or levels[0].cone is None:
        return Liking({}, "", "", "")
    bad: dict[int, float] = {}
    told: dict[int, Seen | str] = {}
    cones = ware.cones if ware.layers else None
    for level in levels:
        bad[level.level_id], told[level.level_id] = _beyond(cones, level.cone or 0.0, limits)
    for pair, words in pairs_of(ware.layers).items():
        for fault in HEAT_FAULTS:
            for level_id, (share, seen) in _risks(
                levels, looks.get(pair, ()), fault, words, limits
            ).items():
                if share > bad[level_id]:
                    bad[level_id], told[level_id] = share, seen
    least = min(bad.values())
    dislikes = {ident: round(min(1.0, value - least), 3) for ident, value in bad.items()}
    most = max(dislikes.values())
    if most < limits["liking_matters"]:
        return Liking(dislikes, "", "", "")
    names = {level.level_id: level for level in levels}
    worst_id = max(dislikes, key=lambda ident: dislikes[ident])
    best_id = min(dislikes, key=lambda ident: (dislikes[ident], -(names[ident].cone or 0)))
    reason = told[worst_id]
    heat = label_of(names[worst_id].cone or 0.0)
    why_words = reason if isinstance(reason, str) else f"{reason.words}"
    sentence = (
        f"Better {names[best_id].name} than {names[worst_id].name}, which comes to about cone "
        f"{heat}: {why_words}."
    )
    evidence: tuple[Look, ...] = ()
    if isinstance(reason, Seen):
        evidence = tuple(
            look
            for pair, words in pairs_of(ware.layers).items()
            if words == reason.pair
            for look in looks.get(pair, ())
            if look.had(reason.fault) and reason.low <= look.cone10 / 10 <= reason.high
        )
    return Liking(dislikes, names[best_id].name, names[worst_id].name, sentence, evidence)


def _risks(
    levels: Sequence[LevelHeat],
    looks: Sequence[Look],
    fault: str,
    words: str,
    limits: Limits,
) -> dict[int, tuple[float, Seen]]:
    """By level: the share with a fault near its heat, and what tells it.

    What more heat makes worse is at a hotter level at least as likely as at a cooler one, where
    few pieces ever came so hot; what stays dry for want of heat, the other way round.
    """
    near = limits["liking_near_cones"]
    order = sorted(levels, key=lambda level: level.cone or 0.0, reverse=fault in COOL_FAULTS)
    found: dict[int, tuple[float, Seen]] = {}
    before: tuple[float, Seen] | None = None
    for level in order:
        cone = level.cone or 0.0
        here = count_fault(looks, fault, words, cone - near, cone + near)
        risk = (_shrunk(here, looks, fault, limits), here) if here.looked else None
        if before is not None and fault not in ANYWHERE and (risk is None or before[0] > risk[0]):
            risk = before
        if risk is not None:
            found[level.level_id] = before = risk
    return found


def _shrunk(here: Seen, every: Sequence[Look], fault: str, limits: Limits) -> float:
    """The share seen near a heat, moved towards the pair's share at all heats: few prove little."""
    looked = [look for look in every if look.was_looked_for(fault)]
    overall = sum(look.had(fault) for look in looked) / max(1, len(looked))
    worth = limits["liking_worth"]
    return (here.seen + worth * overall) / (here.looked + worth)


def _beyond(cones: ConeSpan | None, cone: float, limits: Limits) -> tuple[float, str]:
    """How far a heat lies beyond the cones its glazes are for."""
    if cones is None:
        return 0.0, ""
    over, under = cone - cones.high, cones.low - cone
    away = max(over, under)
    if away <= 0.1:
        return 0.0, ""
    return min(1.0, away * limits["liking_a_cone_off"]), f"its glazes are for cone {cones.words}"


def looks_of_fault(looks: Iterable[Look], fault: str) -> tuple[Look, ...]:
    """Those on which a fault was seen, the newest firing first."""
    return tuple(look for look in looks if look.had(fault))


def read_clay_bloats(
    session: Session, clay_ids: Iterable[int], fault: str = "bloating"
) -> dict[int, list[tuple[int, bool]]]:
    """By clay: tenths of a cone of each fired piece looked at for bloating, and whether it was."""
    bit = fault_bit(fault)
    found: dict[int, list[tuple[int, bool]]] = defaultdict(list)
    wanted = list(clay_ids)
    if not wanted:
        return found
    for clay_id, cone10, looked, seen in session.execute(
        select(
            piece_fact.c.clay_id,
            piece_fact.c.cone10,
            piece_fact.c.looked_mask,
            piece_fact.c.seen_mask,
        ).where(
            piece_fact.c.clay_id.in_(wanted),
            piece_fact.c.cone10.is_not(None),
        )
    ):
        if looked & bit:
            found[clay_id].append((cone10, bool(seen & bit)))
    return found
