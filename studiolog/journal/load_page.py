"""The page of a planned load: what stands where, how full it is, what to look at, what it costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.ware.load_plan import Fill, LoadPlan, load_fill, shelf_fill
from studiolog.craft.words import STAGES
from studiolog.journal.kiln_map import read_kiln_map
from studiolog.journal.kiln_shelves import ShelvesInForce, read_shelves_in_force
from studiolog.journal.limits import read_limits
from studiolog.journal.load_forecast import LoadCost, read_earliest, read_load_cost
from studiolog.journal.load_likings import (
    LevelHeat,
    Liking,
    like_levels,
    pairs_of,
    read_clay_bloats,
    read_level_heats,
    read_looks,
)
from studiolog.journal.load_plan import kiln_inside, plan_of
from studiolog.journal.load_ware import (
    MAY_GO,
    Ware,
    WareGroup,
    group_ware,
    read_cone_of_load,
    read_waiting,
    read_ware,
)
from studiolog.journal.load_warnings import LoadWarning, fits_cone, warn_of_load
from studiolog.journal.loads import title_of
from studiolog.records.firings import Firing
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.loads import KilnLoad, LoadPlace, LoadShelf
from studiolog.records.programs import Program


@dataclass(frozen=True)
class LoadPiece:
    """A piece of the load. ``shelf_id`` None: it has no place yet."""

    ware: Ware
    shelf_id: int | None
    on_tile: bool
    by_hand: bool
    fits: bool
    """Whether it wants the load's cone."""

    @property
    def label(self) -> str:
        return self.ware.label


@dataclass(frozen=True)
class LoadShelfLine:
    """A shelf as it is kept, and how full it is."""

    shelf_id: int
    position: int
    part: str
    clear_mm: float
    level: str
    fill: Fill
    pieces: int


@dataclass(frozen=True)
class LevelLiking:
    """What pieces that are alike like, and why; ``pieces`` are ids."""

    name: str
    glazes: str
    pieces: tuple[int, ...]
    liking: Liking


@dataclass(frozen=True)
class LoadPage:
    """Everything of one load."""

    load_id: int
    version: int
    title: str
    kiln_id: int
    kiln: str
    kind: str
    cone: str
    atmosphere: str
    program_id: int | None
    program: str
    begun_on: date
    planned_on: date | None
    notes: str
    firing: tuple[int, int] | None
    """The firing it became: id and number."""
    inside: ShelvesInForce
    levels: tuple[LevelHeat, ...]
    plan: LoadPlan
    pieces: Mapping[int, LoadPiece]
    shelves: tuple[LoadShelfLine, ...]
    fill: Fill
    worth_percent: float
    fallen: tuple[str, ...]
    """Sentences of pieces that left the stage they had."""
    fallen_ids: tuple[int, ...]
    warnings: tuple[LoadWarning, ...]
    likings: tuple[LevelLiking, ...]
    waiting: tuple[WareGroup, ...]
    cost: LoadCost
    earliest: tuple[date | None, str]
    """The first day it can be lit, and what it waits for."""

    @property
    def unplaced(self) -> tuple[LoadPiece, ...]:
        """Pieces of the load that have no place yet."""
        return tuple(
            piece
            for key, piece in self.pieces.items()
            if piece.shelf_id is None and key not in self.fallen_ids
        )

    @property
    def placed(self) -> int:
        return sum(piece.shelf_id is not None for piece in self.pieces.values())

    def shelf_of(self, position: int) -> LoadShelfLine | None:
        """The shelf at a position."""
        return next((shelf for shelf in self.shelves if shelf.position == position), None)


def read_load_page(session: Session, load_id: int, today: date) -> LoadPage | None:
    """The page of a load as it is on a day; None if it is gone."""
    load = session.get(KilnLoad, load_id)
    if load is None:
        return None
    kiln = session.get(Kiln, load.kiln_id)
    assert kiln is not None
    limits = read_limits(session)
    places = session.scalars(
        select(LoadPlace).where(LoadPlace.load_id == load_id).order_by(LoadPlace.id)
    ).all()
    rows = session.scalars(
        select(LoadShelf).where(LoadShelf.load_id == load_id).order_by(LoadShelf.position)
    ).all()
    wares = read_ware(session, [place.piece_id for place in places])
    cone = read_cone_of_load(load.cone)
    inside = read_shelves_in_force(session, load.kiln_id)
    levels = _level_heats(session, load.kiln_id, cone)
    lit = load.firing_id is not None
    waiting = () if lit else read_waiting(session, load.kind)
    pairs = {pair for ware in wares.values() for pair in pairs_of(ware.layers)}
    looks = read_looks(session, pairs)
    groups = group_ware(wares.values(), load.kind)
    likings = [
        LevelLiking(
            group.name,
            group.first.glaze_words,
            tuple(ware.piece_id for ware in group.pieces),
            like_levels(group.first, levels, looks, limits),
        )
        for group in groups
    ]
    dislikes = {key: one.liking.dislikes for one in likings for key in one.pieces}
    plan = plan_of(load, rows, places, kiln_inside(inside), limits, wares, dislikes)
    fallen = () if lit else _fallen(load.kind, wares, places)
    firing = session.get(Firing, load.firing_id) if load.firing_id is not None else None
    program = session.get(Program, load.program_id) if load.program_id is not None else None
    bloats = read_clay_bloats(session, {w.clay_id for w in wares.values() if w.clay_id})
    return LoadPage(
        load.id,
        load.version,
        title_of(load.kind, load.cone, kiln.name),
        kiln.id,
        kiln.name,
        load.kind,
        load.cone,
        load.atmosphere,
        load.program_id,
        program.name if program is not None else "",
        load.begun_on,
        load.planned_on,
        load.notes,
        (firing.id, firing.number) if firing is not None else None,
        inside,
        levels,
        plan,
        {
            place.piece_id: LoadPiece(
                wares[place.piece_id],
                place.shelf_id,
                place.on_tile,
                place.by_hand,
                fits_cone(wares[place.piece_id], cone),
            )
            for place in places
            if place.piece_id in wares
        },
        _shelf_lines(rows, plan),
        load_fill(plan),
        inside.worth_percent,
        tuple(words for _, words in fallen),
        tuple(key for key, _ in fallen),
        () if lit else warn_of_load(load.kind, cone, wares, plan, levels, looks, bloats, limits),
        tuple(one for one in likings if one.liking.why),
        waiting,
        read_load_cost(session, load, plan, wares, today),
        read_earliest(session, load, list(wares.values()), today),
    )


def _level_heats(session: Session, kiln_id: int, cone: float | None) -> tuple[LevelHeat, ...]:
    levels = session.execute(
        select(KilnLevel.id, KilnLevel.name)
        .where(KilnLevel.kiln_id == kiln_id)
        .order_by(KilnLevel.position)
    ).all()
    return read_level_heats(
        read_kiln_map(session, kiln_id, [(ident, name) for ident, name in levels]), cone
    )


def _shelf_lines(rows: Sequence[LoadShelf], plan: LoadPlan) -> tuple[LoadShelfLine, ...]:
    return tuple(
        LoadShelfLine(
            row.id,
            row.position,
            row.part,
            shelf.clear_mm,
            plan.kiln.level_name(shelf.level_id),
            shelf_fill(plan, shelf),
            len(shelf.places),
        )
        for row, shelf in zip(rows, plan.shelves, strict=True)
    )


def _fallen(
    kind: str, wares: Mapping[int, Ware], places: Sequence[LoadPlace]
) -> list[tuple[int, str]]:
    """Pieces that are at no stage for this load any more, with a sentence each."""
    found = []
    for place in places:
        ware = wares.get(place.piece_id)
        if ware is None or ware.stage in MAY_GO[kind]:
            continue
        now = "was lost" if ware.stage == "lost" else f"is {STAGES[ware.stage]} by now"
        found.append((ware.piece_id, f"{_capital(ware.label)} {now}: it will not go in."))
    return found


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
