"""Sets of ware: a table for ten, twelve lamps on one string, tiles for a wall.

A set has parts: so many of a form, in a clay and a glaze, in one set. Pieces are set aside for a
part as for a line of an order (`allocation`), and what counts for it is told in `held_pieces`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.allocation import let_go_of_part
from studiolog.journal.letters import reads_as
from studiolog.journal.writing import add, change, clean_name, count, get, remove
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.orders import Order, OrderLine, SetPart, WareSet
from studiolog.records.pieces import Piece

MOST_EACH = 10_000
"""Pieces of one part in one set, and sets of one kind; more is a slip of the finger."""


@dataclass(frozen=True, kw_only=True)
class SetPartDraft:
    """``each`` pieces of a form, or of what ``what`` says, in one set."""

    each: int
    form_id: int | None = None
    clay_id: int | None = None
    glaze_id: int | None = None
    what: str = ""
    part_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class SetDraft:
    """A set as it is entered: ``wanted`` is how many such sets are to be made."""

    name: str
    wanted: int = 1
    due_on: date | None = None
    notes: str = ""
    parts: tuple[SetPartDraft, ...] = ()


def add_set(session: Session, draft: SetDraft) -> int:
    """Enter a set with its parts; returns its id. Raises `UserProblem` for a name that is taken."""
    name = clean_name(draft.name, noun="name of the set")
    _refuse_taken_name(session, name)
    _check_wanted(draft.wanted)
    set_id = add(
        session, WareSet(name=name, wanted=draft.wanted, due_on=draft.due_on, notes=draft.notes)
    )
    set_set_parts(session, set_id, draft.parts)
    return set_id


def change_set(session: Session, set_id: int, version: int | None = None, **fields: Any) -> None:
    """Change fields of a set (its parts: see `set_set_parts`)."""
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the set")
        _refuse_taken_name(session, fields["name"], but=set_id)
    if "wanted" in fields:
        _check_wanted(fields["wanted"])
    change(session, WareSet, set_id, version, **fields)


def copy_set(session: Session, set_id: int) -> int:
    """Another set of the same parts, with no pieces yet; returns its id."""
    ware = get(session, WareSet, set_id)
    parts = session.scalars(
        select(SetPart).where(SetPart.set_id == set_id).order_by(SetPart.position, SetPart.id)
    ).all()
    drafts = tuple(
        SetPartDraft(
            each=part.each,
            form_id=part.form_id,
            clay_id=part.clay_id,
            glaze_id=part.glaze_id,
            what=part.what,
        )
        for part in parts
    )
    name = _free_name(session, ware.name)
    draft = SetDraft(name=name, wanted=ware.wanted, notes=ware.notes, parts=drafts)
    return add_set(session, draft)


def _free_name(session: Session, name: str) -> str:
    for place in range(2, 1000):
        free = f"{name}, {place}"
        if session.scalar(select(WareSet.id).where(reads_as(WareSet.name, free))) is None:
            return free
    raise UserProblem(f"There are a thousand copies of “{name}”: give one of them another name.")


def set_set_parts(session: Session, set_id: int, parts: Sequence[SetPartDraft]) -> list[int]:
    """Write the parts of a set in place of those it had; returns their ids in order.

    A draft keeps the part it names by ``part_id``. What was set aside for a part that goes is free
    again. Raises `UserProblem` for a part of nothing, or where an order asks for the set and it
    would have no parts; `StillUsed` for a part of which pieces have left.
    """
    ware = get(session, WareSet, set_id)
    stored = {
        part.id: part for part in session.scalars(select(SetPart).where(SetPart.set_id == set_id))
    }
    named = [part.part_id for part in parts if part.part_id is not None]
    if len(set(named)) != len(named) or not set(named) <= set(stored):
        raise UserProblem("These parts changed in the meantime: look at the set again.")
    for draft in parts:
        _check_part(session, draft)
    if not parts and (number := _asked_for_by(session, set_id)) is not None:
        raise UserProblem(
            f"Order {number} asks for the set “{ware.name}”: a set with no parts is nothing. "
            "Take the line of the order away first."
        )
    for part_id, old in stored.items():
        if part_id not in named:
            _refuse_shipped(session, part_id)
            let_go_of_part(session, part_id)
            remove(session, old)
    ids: list[int] = []
    for position, draft in enumerate(parts, start=1):
        fields: dict[str, Any] = {
            "position": position,
            "each": draft.each,
            "form_id": draft.form_id,
            "clay_id": draft.clay_id,
            "glaze_id": draft.glaze_id,
            "what": draft.what.strip(),
        }
        if draft.part_id is None:
            ids.append(add(session, SetPart(set_id=set_id, **fields)))
        else:
            change(session, SetPart, draft.part_id, None, **fields)
            ids.append(draft.part_id)
    return ids


def delete_set(session: Session, set_id: int) -> None:
    """Delete a set no order asks for; what was set aside for it is free again.

    Raises `StillUsed` naming the order, or if pieces of it have left.
    """
    ware = get(session, WareSet, set_id)
    number = _asked_for_by(session, set_id)
    if number is not None:
        raise StillUsed(
            f"“{ware.name}” can't be deleted: order {number} asks for it. "
            "Archive it to hide it from the pickers."
        )
    set_set_parts(session, set_id, ())
    remove(session, ware)


def _refuse_taken_name(session: Session, name: str, but: int = 0) -> None:
    taken = session.scalar(
        select(WareSet.id).where(reads_as(WareSet.name, name), WareSet.id != but)
    )
    if taken is not None:
        sentence = f"There is a set named {name} already."
        raise UserProblem(sentence, {"name": sentence})


def _check_wanted(wanted: int) -> None:
    if not 1 <= wanted <= MOST_EACH:
        sentence = f"Between 1 and {MOST_EACH} such sets can be wanted."
        raise UserProblem(sentence, {"wanted": sentence})


def _check_part(session: Session, part: SetPartDraft) -> None:
    if not 1 <= part.each <= MOST_EACH:
        sentence = f"A set has between 1 and {MOST_EACH} of each part."
        raise UserProblem(sentence, {"each": sentence})
    if part.form_id is None and not part.what.strip():
        raise UserProblem("Say what the part is.", {"what": "a form, or words"})
    for kind, row_id in ((Form, part.form_id), (Clay, part.clay_id), (Glaze, part.glaze_id)):
        if row_id is not None:
            get(session, kind, row_id)


def _asked_for_by(session: Session, set_id: int) -> int | None:
    return session.scalar(
        select(Order.number)
        .join(OrderLine, OrderLine.order_id == Order.id)
        .where(OrderLine.set_id == set_id)
    )


def _refuse_shipped(session: Session, part_id: int) -> None:
    gone = count(session, Piece, Piece.set_part_id == part_id, Piece.shipment_id.is_not(None))
    if gone:
        have = "has" if gone == 1 else "have"
        raise StillUsed(
            f"{gone} of this part {have} left with a shipment: that is a record of what was sold."
        )


@dataclass(frozen=True)
class SetLine:
    """A set in a list or a picker: ``pieces`` are those in one set."""

    set_id: int
    name: str
    wanted: int
    due_on: date | None
    archived: bool
    parts: int
    pieces: int
    order_number: int | None


def list_sets(session: Session, *, archived: bool = False) -> list[SetLine]:
    """Sets by the day they are due, those without one last; archived ones only if asked for."""
    parts = (
        select(SetPart.set_id, func.count().label("parts"), func.sum(SetPart.each).label("pieces"))
        .group_by(SetPart.set_id)
        .subquery()
    )
    query = (
        select(WareSet, parts.c.parts, parts.c.pieces)
        .outerjoin(parts, parts.c.set_id == WareSet.id)
        .order_by(WareSet.archived, WareSet.due_on.is_(None), WareSet.due_on, WareSet.id)
    )
    if not archived:
        query = query.where(WareSet.archived.is_(False))
    asked = _orders_asking(session)
    return [
        SetLine(
            ware.id,
            ware.name,
            ware.wanted,
            ware.due_on,
            ware.archived,
            count_ or 0,
            pieces or 0,
            asked.get(ware.id),
        )
        for ware, count_, pieces in session.execute(query)
    ]


def _orders_asking(session: Session) -> Mapping[int, int]:
    rows = session.execute(
        select(OrderLine.set_id, Order.number)
        .join(Order, Order.id == OrderLine.order_id)
        .where(OrderLine.set_id.is_not(None))
    )
    return {set_id: number for set_id, number in rows if set_id is not None}
