"""Where pieces stand in a planned load: set by hand, or as the packer proposes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.ware.load_plan import Place, PlannedShelf
from studiolog.craft.ware.plan_check import check_plan, stacking_problem
from studiolog.journal.load_plan import read_plan
from studiolog.journal.loads import open_load, unplace
from studiolog.journal.writing import add, change, get
from studiolog.problems import UserProblem
from studiolog.records.loads import KilnLoad, LoadPlace, LoadShelf


def move_piece(
    session: Session,
    load_id: int,
    piece_id: int,
    shelf_id: int,
    x_mm: float,
    y_mm: float,
    turned_deg: float | None = None,
) -> None:
    """Set a piece somewhere by hand, with what stands on it; it is then left there by the packer.

    Raises `UserProblem` saying what is in the way.
    """
    load = open_load(session, load_id)
    shelf = get(session, LoadShelf, shelf_id)
    place = _place(session, load_id, piece_id)
    _move(session, place, shelf_id, x_mm, y_mm)
    place.on_place_id = None
    if turned_deg is not None:
        place.turned_deg = turned_deg % 360.0
    place.by_hand = True
    session.flush()
    refuse_wrong(session, load, shelf.position)


def _move(session: Session, place: LoadPlace, shelf_id: int, x_mm: float, y_mm: float) -> None:
    place.shelf_id, place.x_mm, place.y_mm = shelf_id, x_mm, y_mm
    for rider in session.scalars(select(LoadPlace).where(LoadPlace.on_place_id == place.id)).all():
        _move(session, rider, shelf_id, x_mm, y_mm)


def turn_piece(session: Session, load_id: int, piece_id: int, by_deg: float) -> None:
    """Turn a piece where it stands. Raises `UserProblem` saying what is in the way."""
    load = open_load(session, load_id)
    place = _place(session, load_id, piece_id)
    if place.shelf_id is None:
        raise UserProblem("It has no place yet: put it on a shelf first.")
    place.turned_deg = (place.turned_deg + by_deg) % 360.0
    place.by_hand = True
    session.flush()
    refuse_wrong(session, load, get(session, LoadShelf, place.shelf_id).position)


def stack_piece(session: Session, load_id: int, piece_id: int, on_piece_id: int) -> None:
    """Set a piece on another, or into it. Raises `UserProblem` saying why it may not be."""
    load = open_load(session, load_id)
    place, under = _place(session, load_id, piece_id), _place(session, load_id, on_piece_id)
    if under.shelf_id is None or under.x_mm is None or under.y_mm is None:
        raise UserProblem("What it would stand on has no place yet.")
    above = session.scalar(
        select(LoadPlace.id).where(LoadPlace.on_place_id == under.id, LoadPlace.id != place.id)
    )
    if above is not None:
        raise UserProblem("Something stands on it already: stack it on the topmost.")
    shelf = get(session, LoadShelf, under.shelf_id)
    plan = read_plan(session, load_id)
    told = stacking_problem(plan, shelf.position, piece_id, on_piece_id)
    if told:
        raise UserProblem(told)
    _move(session, place, under.shelf_id, under.x_mm, under.y_mm)
    place.on_place_id, place.by_hand = under.id, True
    session.flush()
    refuse_wrong(session, load, shelf.position)


def set_catch_tile(session: Session, load_id: int, piece_ids: Iterable[int], on: bool) -> None:
    """Set pieces on catch tiles, or take the tiles away.

    One that has no room for its tile where it stands is to be placed anew. Raises `UserProblem`
    for a piece that is not in the load.
    """
    load = open_load(session, load_id)
    for piece_id in piece_ids:
        _place(session, load_id, piece_id).on_tile = on
    session.flush()
    if on:
        _unplace_wrong(session, load)


def set_by_hand(session: Session, load_id: int, piece_ids: Iterable[int], on: bool) -> None:
    """Leave pieces where they stand when the load is packed anew, or let them be moved again."""
    open_load(session, load_id)
    for piece_id in piece_ids:
        _place(session, load_id, piece_id).by_hand = on
    session.flush()


def _place(session: Session, load_id: int, piece_id: int) -> LoadPlace:
    place = session.scalar(
        select(LoadPlace).where(LoadPlace.load_id == load_id, LoadPlace.piece_id == piece_id)
    )
    if place is None:
        raise UserProblem("This piece is not in this load any more: it was taken out or undone.")
    return place


def refuse_wrong(
    session: Session, load: KilnLoad, position: int, kinds: Sequence[str] | None = None
) -> None:
    """Raise what is wrong on a shelf, if anything is."""
    for fault in check_plan(read_plan(session, load.id)):
        if fault.position == position and (kinds is None or fault.kind in kinds):
            raise UserProblem(fault.words)


def _unplace_wrong(session: Session, load: KilnLoad) -> None:
    """Take what no longer fits off its shelf."""
    wrong = {
        key
        for fault in check_plan(read_plan(session, load.id))
        if fault.kind in ("overlap", "edge", "kept", "tall", "stack")
        for key in fault.keys
    }
    tiled = session.scalars(
        select(LoadPlace).where(
            LoadPlace.load_id == load.id, LoadPlace.piece_id.in_(wrong), LoadPlace.on_tile
        )
    ).all()
    for place in tiled:
        for rider in session.scalars(
            select(LoadPlace).where(LoadPlace.on_place_id == place.id)
        ).all():
            unplace(rider)
        unplace(place)
    session.flush()


def keep_plan(session: Session, load_id: int, shelves: Sequence[PlannedShelf]) -> None:
    """Keep what the packer proposes: its shelves and places in place of those there were.

    What is by hand stays so. Pieces the proposal has no place for stay in the load without one;
    pieces that left the load meanwhile are passed over.
    """
    open_load(session, load_id)
    places = {
        place.piece_id: place
        for place in session.scalars(select(LoadPlace).where(LoadPlace.load_id == load_id))
    }
    by_hand = {piece_id for piece_id, place in places.items() if place.by_hand}
    for place in places.values():
        unplace(place)
    session.flush()
    old = {
        row.position: row
        for row in session.scalars(select(LoadShelf).where(LoadShelf.load_id == load_id))
    }
    for shelf in shelves:
        pack = shelf.pack_mm or (None, None)
        fields: Mapping[str, Any] = {
            "clear_mm": shelf.clear_mm,
            "level_id": shelf.level_id,
            "part": shelf.part,
            "pack_x": pack[0],
            "pack_y": pack[1],
        }
        row = old.pop(shelf.position, None)
        if row is None:
            shelf_id = add(session, LoadShelf(load_id=load_id, position=shelf.position, **fields))
        else:
            shelf_id = change(session, LoadShelf, row.id, None, **fields).id
        _set_places(places, shelf_id, shelf.places, by_hand)
    session.flush()
    for row in old.values():
        session.delete(row)
    session.flush()


def _set_places(
    places: Mapping[int, LoadPlace], shelf_id: int, stands: Sequence[Place], by_hand: set[int]
) -> None:
    for stand in stands:
        place = places.get(stand.key)
        if place is None:
            continue
        place.shelf_id, place.x_mm, place.y_mm = shelf_id, stand.x_mm, stand.y_mm
        place.turned_deg = stand.turned_deg
        place.by_hand = stand.key in by_hand
        under = places.get(stand.on_key) if stand.on_key is not None else None
        place.on_place_id = under.id if under is not None else None
