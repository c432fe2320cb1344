"""The next kiln: loads that are planned, and what becomes of them when other things go."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.craft.firing.cones import parse_cone, show_cone
from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS, join_words
from studiolog.journal.load_ware import MAY_GO
from studiolog.journal.writing import add, change, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.kilns import Kiln
from studiolog.records.loads import KilnLoad, LoadPlace, LoadShelf
from studiolog.records.pieces import Piece
from studiolog.records.programs import Program


@dataclass(frozen=True, kw_only=True)
class LoadDraft:
    """A load as it is begun. Cone and kind are those of the program where nothing is said."""

    kiln_id: int
    kind: str = ""
    cone: str = ""
    atmosphere: str = "oxidation"
    program_id: int | None = None
    planned_on: date | None = None
    notes: str = ""


@dataclass(frozen=True)
class OpenLoad:
    """A load that was not lit yet, as a picker names it."""

    load_id: int
    title: str
    kiln: str
    kind: str
    cone: str
    planned_on: date | None
    pieces: int
    takes: tuple[str, ...]
    """The stages that may go into it."""


def begin_load(session: Session, draft: LoadDraft, today: date) -> int:
    """Begin a load of a kiln; returns its id.

    Raises `UserProblem` for a cone there is not, or a day before today.
    """
    get(session, Kiln, draft.kiln_id)
    kind, cone = draft.kind, draft.cone
    if draft.program_id is not None:
        program = get(session, Program, draft.program_id)
        kind, cone = kind or program.kind, cone or program.cone or ""
    kind = kind or "glaze"
    _check_words(kind, draft.atmosphere)
    _check_day(draft.planned_on, today)
    return add(
        session,
        KilnLoad(
            kiln_id=draft.kiln_id,
            begun_on=today,
            kind=kind,
            cone=parse_cone(cone) if cone else "",
            atmosphere=draft.atmosphere,
            program_id=draft.program_id,
            planned_on=draft.planned_on,
            notes=draft.notes,
        ),
    )


def change_load(
    session: Session, load_id: int, today: date, version: int | None = None, **fields: Any
) -> None:
    """Change what a load is planned as; a program brings its kind and its cone along.

    Changing the kiln takes everything off its shelves: the pieces stay in the load. Raises
    `UserProblem` for a cone there is not, a day before today, and for a load that was lit.
    """
    load = open_load(session, load_id, version)
    if fields.get("cone"):
        fields["cone"] = parse_cone(fields["cone"])
    elif "cone" in fields:
        fields["cone"] = ""
    if fields.get("program_id") is not None:
        program = get(session, Program, fields["program_id"])
        fields.setdefault("kind", program.kind)
        if program.cone:
            fields.setdefault("cone", program.cone)
    _check_words(fields.get("kind", load.kind), fields.get("atmosphere", load.atmosphere))
    if "planned_on" in fields:
        _check_day(fields["planned_on"], today)
    kind = fields.get("kind", load.kind)
    if kind != load.kind:
        _refuse_other_stages(session, load_id, kind)
    if fields.get("kiln_id", load.kiln_id) != load.kiln_id:
        get(session, Kiln, fields["kiln_id"])
        clear_shelves(session, load_id)
    change(session, KilnLoad, load_id, None, **fields)


def _check_words(kind: str, atmosphere: str) -> None:
    if kind not in FIRING_KINDS:
        raise UserProblem(f"A firing is {join_words(tuple(FIRING_KINDS.values()), 'or')}.")
    if atmosphere not in ATMOSPHERES:
        raise UserProblem(f"The air is {join_words(tuple(ATMOSPHERES.values()), 'or')}.")


def _check_day(planned_on: date | None, today: date) -> None:
    if planned_on is not None and planned_on < today:
        told = f"{write_day(planned_on)} is over: a load is planned for today or later."
        raise UserProblem(told, {"planned_on": told})


def open_load(session: Session, load_id: int, version: int | None = None) -> KilnLoad:
    load = get(session, KilnLoad, load_id, version)
    if load.firing_id is not None:
        raise UserProblem("This load was lit: what stood where is on the page of its firing.")
    return load


def _refuse_other_stages(session: Session, load_id: int, kind: str) -> None:
    takes = MAY_GO[kind]
    wrong = session.scalar(
        select(func.count())
        .select_from(LoadPlace)
        .join(Piece, Piece.id == LoadPlace.piece_id)
        .where(LoadPlace.load_id == load_id, Piece.stage.not_in(takes))
    )
    if wrong:
        told = (
            f"{so_many(wrong)} of this load {are(wrong)} not for a {FIRING_KINDS[kind]} firing: "
            "take them out first, or begin another load."
        )
        raise UserProblem(told, {"kind": told})


def delete_load(session: Session, load_id: int) -> None:
    """Delete a planned load; its pieces wait again. Raises `StillUsed` for one that was lit."""
    load = get(session, KilnLoad, load_id)
    if load.firing_id is not None:
        raise StillUsed("This load was lit: it is the plan of its firing, and stays with it.")
    remove_load(session, load_id)


def remove_load(session: Session, load_id: int) -> None:
    """Remove a load with its shelves and places, lit or not."""
    remove_places(session, LoadPlace.load_id == load_id)
    remove_all(session, LoadShelf, LoadShelf.load_id == load_id)
    remove(session, get(session, KilnLoad, load_id))


def remove_places(session: Session, *where: Any) -> int:
    """Remove places; what stood on one of them then stands nowhere and is to be placed anew."""
    found = list(session.scalars(select(LoadPlace).where(*where)))
    ids = [place.id for place in found]
    for rider in session.scalars(
        select(LoadPlace).where(LoadPlace.on_place_id.in_(ids), LoadPlace.id.not_in(ids))
    ).all():
        unplace(rider)
    for place in found:
        place.on_place_id = None
    session.flush()
    for place in found:
        session.delete(place)
    session.flush()
    return len(found)


def unplace(place: LoadPlace) -> None:
    place.shelf_id = place.x_mm = place.y_mm = place.on_place_id = None
    place.turned_deg, place.by_hand = 0.0, False


def open_loads(session: Session) -> tuple[OpenLoad, ...]:
    """Loads that were not lit yet, the next planned first."""
    inside = (
        select(func.count())
        .select_from(LoadPlace)
        .where(LoadPlace.load_id == KilnLoad.id)
        .correlate(KilnLoad)
        .scalar_subquery()
    )
    rows = session.execute(
        select(KilnLoad, Kiln.name, inside)
        .join(Kiln, Kiln.id == KilnLoad.kiln_id)
        .where(KilnLoad.firing_id.is_(None))
        .order_by(func.coalesce(KilnLoad.planned_on, date.max), KilnLoad.id)
    )
    return tuple(
        OpenLoad(
            load.id,
            title_of(load.kind, load.cone, kiln),
            kiln,
            load.kind,
            load.cone,
            load.planned_on,
            pieces,
            MAY_GO[load.kind],
        )
        for load, kiln, pieces in rows
    )


def title_of(kind: str, cone: str, kiln: str) -> str:
    """What a load is called: "Glaze 6, Big kiln"."""
    cone_words = f" {show_cone(cone)}" if cone else ""
    return f"{FIRING_KINDS[kind].capitalize()}{cone_words}, {kiln}"


def clear_shelves(session: Session, load_id: int) -> None:
    """Take the shelves out of a load; its pieces stay in it without a place."""
    open_load(session, load_id)
    for place in session.scalars(select(LoadPlace).where(LoadPlace.load_id == load_id)):
        unplace(place)
    session.flush()
    remove_all(session, LoadShelf, LoadShelf.load_id == load_id)


# What other nouns ask ------------------------------------------------------------------------


def forget_piece(session: Session, piece_id: int) -> None:
    """Take a piece that is being deleted out of every load."""
    remove_places(session, LoadPlace.piece_id == piece_id)


def forget_level(session: Session, level_id: int) -> None:
    """A level is dropped: shelves that stood in it stand in none."""
    for shelf in session.scalars(select(LoadShelf).where(LoadShelf.level_id == level_id)).all():
        change(session, LoadShelf, shelf.id, None, level_id=None)


def forget_firing(session: Session, firing_id: int) -> None:
    """A firing is being deleted: the load that became it is planned again.

    Without what was put into another load meanwhile: a piece stands in one at most.
    """
    elsewhere = (
        select(LoadPlace.piece_id)
        .join(KilnLoad, KilnLoad.id == LoadPlace.load_id)
        .where(KilnLoad.firing_id.is_(None))
    )
    for load in session.scalars(select(KilnLoad).where(KilnLoad.firing_id == firing_id)).all():
        moved = session.scalars(elsewhere).all()
        remove_places(session, LoadPlace.load_id == load.id, LoadPlace.piece_id.in_(moved))
        change(session, KilnLoad, load.id, None, firing_id=None)


def so_many(pieces: int) -> str:
    return "1 piece" if pieces == 1 else f"{pieces} pieces"


def are(pieces: int) -> str:
    return "is" if pieces == 1 else "are"
