"""A planned load as the packing sums take it: its kiln, its ware, and where everything stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.craft.ware.load_plan import (
    KilnInside,
    LoadPlan,
    PackingRules,
    Place,
    ShelfRow,
    rules_by,
    stand_shelves,
)
from studiolog.craft.ware.load_plan import Ware as PackedWare
from studiolog.craft.ware.shelf import Footprint
from studiolog.journal.kiln_shelves import ShelvesInForce, read_shelves_in_force
from studiolog.journal.limits import read_limits
from studiolog.journal.load_ware import Ware, read_ware
from studiolog.journal.writing import get
from studiolog.records.loads import KilnLoad, LoadPlace, LoadShelf

Dislikes = Mapping[int, Mapping[int, float]]
"""By piece id: how badly each level suits it, from 0 to 1, by level id."""


def kiln_inside(shelves: ShelvesInForce) -> KilnInside:
    """The shelves in force as the packing sums take them."""
    return KilnInside(
        shelves.shape,
        shelves.across_mm,
        shelves.deep_mm,
        shelves.thick_mm,
        shelves.chamber_mm,
        shelves.posts_mm,
        shelves.shelves,
        shelves.half_shelves,
        shelves.probe_mm,
        shelves.probe_clear_mm if shelves.probe_mm is not None else 0.0,
        shelves.levels,
    )


def packed_ware(
    ware: Ware, kind: str, on_tile: bool = False, dislikes: Mapping[int, float] | None = None
) -> PackedWare:
    """A piece as the packing sums take it. In a bisque, alike forms may be stacked or nested."""
    raw = kind == "bisque"
    due = ware.promised_on or date.max
    name = ware.name if ware.number is None else f"{ware.name} {ware.number}"
    return PackedWare(
        ware.piece_id,
        name,
        Footprint(ware.shape, ware.across_mm, ware.deep_mm if ware.shape == "rectangle" else None),
        ware.height_mm,
        glazed=not raw,
        stack_mm=ware.stack_mm if raw else None,
        stack_with=ware.form_id if raw else None,
        on_tile=on_tile,
        due=float(due.toordinal()),
        dislikes=dict(dislikes or {}),
    )


def read_plan(
    session: Session,
    load_id: int,
    wares: Mapping[int, Ware] | None = None,
    dislikes: Dislikes | None = None,
) -> LoadPlan:
    """A load as it stands. ``wares`` and ``dislikes`` save reading them again.

    Pieces that went from their stage are in it too: whoever asks leaves them out.
    """
    load = get(session, KilnLoad, load_id)
    places = session.scalars(select(LoadPlace).where(LoadPlace.load_id == load_id)).all()
    rows = session.scalars(
        select(LoadShelf).where(LoadShelf.load_id == load_id).order_by(LoadShelf.position)
    ).all()
    if wares is None:
        wares = read_ware(session, [place.piece_id for place in places])
    limits = read_limits(session)
    return plan_of(
        load,
        rows,
        places,
        kiln_inside(read_shelves_in_force(session, load.kiln_id)),
        limits,
        wares,
        dislikes or {},
    )


def plan_of(
    load: KilnLoad,
    rows: Sequence[LoadShelf],
    places: Sequence[LoadPlace],
    kiln: KilnInside,
    limits: Limits,
    wares: Mapping[int, Ware],
    dislikes: Dislikes,
) -> LoadPlan:
    """The plan of what was read; a cone pack stands only where it was set."""
    rules = rules_by(limits, packs=())
    piece_of = {place.id: place.piece_id for place in places}
    on_shelf: dict[int, list[Place]] = {row.id: [] for row in rows}
    for place in places:
        if place.shelf_id is None or place.x_mm is None or place.y_mm is None:
            continue
        if place.piece_id not in wares:
            continue
        under = piece_of.get(place.on_place_id) if place.on_place_id is not None else None
        on_shelf[place.shelf_id].append(
            Place(place.piece_id, place.x_mm, place.y_mm, place.turned_deg, under)
        )
    stored = [
        ShelfRow(
            row.part,
            row.clear_mm,
            None if row.pack_x is None or row.pack_y is None else (row.pack_x, row.pack_y),
            tuple(on_shelf[row.id]),
        )
        for row in rows
    ]
    packed = {
        place.piece_id: packed_ware(
            wares[place.piece_id], load.kind, place.on_tile, dislikes.get(place.piece_id)
        )
        for place in places
        if place.piece_id in wares
    }
    return LoadPlan(kiln, rules, packed, stand_shelves(kiln, rules, stored))


def packing_rules(session: Session) -> PackingRules:
    """The rules a load is packed by anew: a cone pack on every shelf."""
    return rules_by(read_limits(session))
