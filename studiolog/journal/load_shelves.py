"""The shelves of a planned load, and the cone packs on them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.ware.load_plan import PACK, LoadPlan, PlannedShelf, Ware
from studiolog.craft.ware.plan_check import check_plan, nearest_free
from studiolog.craft.ware.shelf import Footprint, pack_place
from studiolog.journal.load_places import refuse_wrong
from studiolog.journal.load_plan import read_plan
from studiolog.journal.loads import open_load, unplace
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.loads import KilnLoad, LoadPlace, LoadShelf

_PACK_KEY: Final = -1
_PACK_HIGH_MM: Final = 65.0  # large cones in their pack; lower than any shelf worth its posts


def add_shelf(session: Session, load_id: int, clear_mm: float, part: str = "full") -> int:
    """Set a shelf on top of the others, with so much room above it; returns its id.

    Raises `UserProblem` if it does not fit, or the kiln has no more.
    """
    load = open_load(session, load_id)
    _check_clear(clear_mm)
    last = session.scalar(select(func.max(LoadShelf.position)).where(LoadShelf.load_id == load_id))
    shelf_id = add(
        session,
        LoadShelf(load_id=load_id, position=(last or 0) + 1, clear_mm=clear_mm, part=part),
    )
    _refuse_wrong_shelves(session, load)
    return shelf_id


def _check_clear(clear_mm: float) -> None:
    if not clear_mm > 0:
        told = "The room above a shelf must be more than 0 mm."
        raise UserProblem(told, {"clear_mm": told})


def change_shelf(session: Session, shelf_id: int, **fields: Any) -> None:
    """Change the room above a shelf, or its part. Raises `UserProblem` where it can't stand."""
    shelf = get(session, LoadShelf, shelf_id)
    load = open_load(session, shelf.load_id)
    if "clear_mm" in fields:
        _check_clear(fields["clear_mm"])
    change(session, LoadShelf, shelf_id, None, **fields)
    _refuse_wrong_shelves(session, load)


def remove_shelf(session: Session, shelf_id: int) -> None:
    """Take a shelf out; what stood on it stays in the load without a place."""
    shelf = get(session, LoadShelf, shelf_id)
    load = open_load(session, shelf.load_id)
    for place in session.scalars(select(LoadPlace).where(LoadPlace.shelf_id == shelf_id)):
        unplace(place)
    session.flush()
    position = shelf.position
    remove(session, shelf)
    above = session.scalars(
        select(LoadShelf)
        .where(LoadShelf.load_id == load.id, LoadShelf.position > position)
        .order_by(LoadShelf.position)
    )
    for other in above.all():
        other.position -= 1
        session.flush()
    _write_levels(session, load)


def set_cone_pack(session: Session, shelf_id: int, at: tuple[float, float] | None) -> None:
    """Set a cone pack on a shelf, its middle in mm from the shelf's; None takes it away."""
    shelf = get(session, LoadShelf, shelf_id)
    load = open_load(session, shelf.load_id)
    x, y = at if at is not None else (None, None)
    change(session, LoadShelf, shelf_id, None, pack_x=x, pack_y=y)
    if at is not None:
        refuse_wrong(session, load, shelf.position, ("kept", "edge"))


def _refuse_wrong_shelves(session: Session, load: KilnLoad) -> None:
    _write_levels(session, load)
    faults = check_plan(read_plan(session, load.id))
    wrong = [fault for fault in faults if fault.kind in ("chamber", "posts", "shelves", "tall")]
    if wrong:
        raise UserProblem(wrong[0].words)


def _write_levels(session: Session, load: KilnLoad) -> None:
    """The level each shelf stands in by its height."""
    plan = read_plan(session, load.id)
    by_position = {shelf.position: shelf.level_id for shelf in plan.shelves}
    for row in session.scalars(select(LoadShelf).where(LoadShelf.load_id == load.id)):
        row.level_id = by_position.get(row.position, row.level_id)
    session.flush()


def set_cone_packs(session: Session, load_id: int) -> None:
    """Set a cone pack at every level that has ware and none yet, where it finds room.

    Raises `UserProblem` naming a level on which no shelf has the room.
    """
    open_load(session, load_id)
    plan = read_plan(session, load_id)
    pack = plan.rules.pack
    if pack is None:
        raise UserProblem("No place is kept for cone packs: see how wide one is under Limits.")
    rows = {
        row.position: row
        for row in session.scalars(select(LoadShelf).where(LoadShelf.load_id == load_id))
    }
    have = {shelf.level_id for shelf in plan.shelves if shelf.pack_mm is not None}
    wanting: dict[int | None, list[PlannedShelf]] = {}
    for shelf in plan.shelves:
        if shelf.places and shelf.level_id not in have:
            wanting.setdefault(shelf.level_id, []).append(shelf)
    for level_id, shelves in wanting.items():
        for shelf in shelves:
            at = _room_for_pack(plan, shelf, pack)
            if at is not None:
                row = rows[shelf.position]
                change(session, LoadShelf, row.id, None, pack_x=at[0], pack_y=at[1])
                break
        else:
            level = plan.kiln.level_name(level_id)
            raise UserProblem(
                f"No shelf at {level} has room for a cone pack: take a piece away first."
            )


def set_cone_pack_on(session: Session, shelf_id: int) -> None:
    """Set a cone pack on one shelf, where it finds room nearest the door.

    Raises `UserProblem` if there is none.
    """
    row = get(session, LoadShelf, shelf_id)
    open_load(session, row.load_id)
    plan = read_plan(session, row.load_id)
    pack = plan.rules.pack
    at = None if pack is None else _room_for_pack(plan, plan.shelf(row.position), pack)
    if at is None:
        raise UserProblem(
            f"Shelf {row.position} has no room for a cone pack: take a piece away first."
        )
    change(session, LoadShelf, shelf_id, None, pack_x=at[0], pack_y=at[1])


def _room_for_pack(
    plan: LoadPlan, shelf: PlannedShelf, pack: Footprint
) -> tuple[float, float] | None:
    """Where a cone pack finds room on a shelf, as near the door as may be; None if nowhere."""
    as_ware = Ware(_PACK_KEY, "The cone pack", pack, _PACK_HIGH_MM, glazed=False)
    with_pack = replace(plan, wares={**plan.wares, _PACK_KEY: as_ware})
    others = tuple(kept for kept in shelf.kept if kept.what != PACK)
    x, y = pack_place(shelf.outline, pack, plan.rules.edge_gap_mm, others)
    free = nearest_free(with_pack, shelf.position, _PACK_KEY, x, y, 0.0)
    return None if free is None else (free.x_mm, free.y_mm)
