"""Setting pieces aside for a line of an order or a part of a set, and taking them back.

Which piece counts where is told in `held_pieces`. A piece belongs to one line, or one part, at
most: what is set aside elsewhere, lost, gone with a shipment, or a tool, is refused.
"""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from studiolog.craft.days import write_day
from studiolog.craft.words import STAGES, join_words
from studiolog.journal.held_pieces import counting_for
from studiolog.journal.stock_pieces import is_stock, matches
from studiolog.journal.writing import get
from studiolog.problems import UserProblem
from studiolog.records.orders import Order, OrderLine, SetPart, Shipment, WareSet
from studiolog.records.pieces import Piece, Run

_MOST_NAMED = 6


@dataclass(frozen=True)
class ForLine:
    """A line of an order, as what pieces are set aside for."""

    line_id: int


@dataclass(frozen=True)
class ForPart:
    """A part of a set, as what pieces are set aside for."""

    part_id: int


Holder = ForLine | ForPart


def allocate_of_run(
    session: Session, holder: Holder, run_id: int, stage: str, how_many: int
) -> tuple[int, ...]:
    """Set aside so many pieces of a run at a stage, counted ones first; returns their ids.

    Pieces of a run made for another line may be taken; those set aside may not. Raises
    `UserProblem` if there are fewer.
    """
    check_open(session, holder)
    run = get(session, Run, run_id)
    if stage not in STAGES or stage == "lost":
        raise UserProblem(f"“{stage}” is not a stage that pieces are set aside at.")
    free = (
        Piece.run_id == run_id,
        Piece.stage == stage,
        Piece.kind == "ware",
        Piece.order_line_id.is_(None),
        Piece.set_part_id.is_(None),
        Piece.shipment_id.is_(None),
    )
    return _take(
        session, holder, free, how_many, f"of run {run.number} that are {STAGES[stage]} and free"
    )


def allocate_from_stock(
    session: Session, holder: Holder, how_many: int, piece_ids: Collection[int] = ()
) -> tuple[int, ...]:
    """Set aside so many finished pieces of stock, of the form, clay and glaze asked for.

    ``piece_ids`` narrows it to these, one lot of an offer. Raises `UserProblem` if there are
    fewer, or if what is asked for is only words.
    """
    check_open(session, holder)
    asked = what_is_asked(session, holder)
    if asked.form_id is None:
        raise UserProblem(
            "What is asked for has no form, so no stock answers it: name the pieces by number."
        )
    where = [is_stock(), matches(asked.form_id, asked.clay_id, asked.glaze_id)]
    if piece_ids:
        where.append(Piece.id.in_(piece_ids))
    return _take(session, holder, where, how_many, "of this in stock")


def allocate_pieces(session: Session, holder: Holder, piece_ids: Sequence[int]) -> tuple[int, ...]:
    """Set aside these very pieces; returns their ids.

    Raises `UserProblem`, naming the piece, for one that can't be.
    """
    check_open(session, holder)
    pieces = [get(session, Piece, piece_id) for piece_id in dict.fromkeys(piece_ids)]
    if not pieces:
        raise UserProblem("Say which pieces: 412, 413.", {"pieces": "Say which pieces: 412, 413."})
    for piece in pieces:
        _refuse_unfree(session, holder, piece)
        _hold(holder, piece)
    session.flush()
    return tuple(piece.id for piece in pieces)


def allocate_numbered(session: Session, holder: Holder, numbers: str) -> tuple[int, ...]:
    """Set aside pieces by their numbers as typed: "412, 413 420-422"; returns their ids.

    Raises `UserProblem` for what is no number, and for a number no piece has.
    """
    wanted = read_numbers(numbers)
    ids = {
        row.number: row.id
        for row in session.execute(select(Piece.id, Piece.number).where(Piece.number.in_(wanted)))
    }
    missing = [str(number) for number in wanted if number not in ids]
    if missing:
        few = ", ".join(missing[:_MOST_NAMED])
        sentence = f"There is no piece {few}: look at the foot of the pot again."
        raise UserProblem(sentence, {"pieces": sentence})
    return allocate_pieces(session, holder, [ids[number] for number in wanted])


def read_numbers(text: str) -> list[int]:
    """Numbers as typed, with spans: "412, 413 420-422". Raises `UserProblem`."""
    wanted: list[int] = []
    for word in re.split(r"[,;\s]+", re.sub(r"\s*[-–−]\s*", "-", text.strip())):
        found = re.fullmatch(r"(\d{1,9})(?:-(\d{1,9}))?", word)
        span = (int(found[1]), int(found[2] or found[1])) if found else (0, 0)
        if span[0] < 1 or not span[0] <= span[1] < span[0] + 1000:
            sentence = (
                f"“{word}” is not the number of a piece: write them like 412, 413 or 412-420."
                if word
                else "Say which pieces: 412, 413."
            )
            raise UserProblem(sentence, {"pieces": sentence})
        wanted += range(span[0], span[1] + 1)
    return list(dict.fromkeys(wanted))


def take_back(session: Session, holder: Holder, piece_ids: Sequence[int]) -> None:
    """Pieces are set aside for it no more. Raises `UserProblem` for one that has left."""
    for piece_id in piece_ids:
        piece = get(session, Piece, piece_id)
        if not _is_held_by(holder, piece):
            raise UserProblem(f"{_name(session, piece)} is not set aside for this.")
        if piece.shipment_id is not None:
            raise UserProblem(_say_gone(session, piece))
        _let_go(holder, piece)
    session.flush()


def take_back_some(
    session: Session, holder: Holder, run_id: int | None, stage: str, how_many: int
) -> tuple[int, ...]:
    """So many pieces of a run at a stage are set aside no more, counted ones first."""
    held = Piece.order_line_id if isinstance(holder, ForLine) else Piece.set_part_id
    ident = holder.line_id if isinstance(holder, ForLine) else holder.part_id
    chosen = session.scalars(
        select(Piece.id)
        .where(
            held == ident,
            Piece.run_id == run_id if run_id is not None else Piece.run_id.is_(None),
            Piece.stage == stage,
            Piece.shipment_id.is_(None),
        )
        .order_by(Piece.number.is_not(None), Piece.id.desc())
        .limit(max(how_many, 0))
    ).all()
    if how_many < 1 or len(chosen) < how_many:
        sentence = f"{len(chosen)} are set aside here: take back 1 to {len(chosen)}."
        raise UserProblem(sentence, {"how_many": sentence})
    take_back(session, holder, chosen)
    return tuple(chosen)


def let_go_of_line(session: Session, line_id: int) -> None:
    """Nothing is set aside for a line any more: it is to be taken away."""
    for piece in session.scalars(select(Piece).where(Piece.order_line_id == line_id)):
        piece.order_line_id = None
    session.flush()


def let_go_of_part(session: Session, part_id: int) -> None:
    """Nothing is set aside for a part any more: it is to be taken away."""
    for piece in session.scalars(select(Piece).where(Piece.set_part_id == part_id)):
        piece.set_part_id = None
    session.flush()


@dataclass(frozen=True)
class Asked:
    """What a line or a part asks for."""

    form_id: int | None
    clay_id: int | None
    glaze_id: int | None


def what_is_asked(session: Session, holder: Holder) -> Asked:
    """The form, clay and glaze a line or a part asks for. Raises `UserProblem` if it is gone."""
    wants = _record(session, holder)
    return Asked(wants.form_id, wants.clay_id, wants.glaze_id)


def _record(session: Session, holder: Holder) -> OrderLine | SetPart:
    if isinstance(holder, ForLine):
        return get(session, OrderLine, holder.line_id)
    return get(session, SetPart, holder.part_id)


def check_open(session: Session, holder: Holder) -> None:
    """Refuse to set aside for an order that is closed, or for a line that asks for a set."""
    if isinstance(holder, ForPart):
        get(session, SetPart, holder.part_id)
        return
    line = get(session, OrderLine, holder.line_id)
    order = get(session, Order, line.order_id)
    if order.state != "open":
        raise UserProblem(
            f"Order {order.number} is {order.state}: open it again to set pieces aside for it."
        )
    if line.set_id is not None:
        ware = get(session, WareSet, line.set_id)
        raise UserProblem(
            f"This line asks for the set “{ware.name}”: set pieces aside for its parts, "
            "on the page of the set."
        )


def _take(
    session: Session, holder: Holder, where: Sequence[Any], how_many: int, what: str
) -> tuple[int, ...]:
    if how_many < 1:
        raise UserProblem("Set aside one piece or more.", {"how_many": "1 or more"})
    chosen = session.scalars(
        select(Piece).where(*where).order_by(Piece.number.is_not(None), Piece.id).limit(how_many)
    ).all()
    if len(chosen) < how_many:
        there = f"There are only {len(chosen)}" if chosen else "There is none"
        sentence = f"{there} {what}: {how_many} can't be set aside."
        raise UserProblem(sentence, {"how_many": sentence})
    for piece in chosen:
        _hold(holder, piece)
    session.flush()
    return tuple(piece.id for piece in chosen)


def _hold(holder: Holder, piece: Piece) -> None:
    # What an order that is closed had kept is free, and is told so no more.
    if isinstance(holder, ForLine):
        piece.order_line_id, piece.set_part_id = holder.line_id, None
    else:
        piece.order_line_id, piece.set_part_id = None, holder.part_id


def _let_go(holder: Holder, piece: Piece) -> None:
    if isinstance(holder, ForLine):
        piece.order_line_id = None
    else:
        piece.set_part_id = None


def _is_held_by(holder: Holder, piece: Piece) -> bool:
    if isinstance(holder, ForLine):
        return piece.order_line_id == holder.line_id
    return piece.set_part_id == holder.part_id


def _refuse_unfree(session: Session, holder: Holder, piece: Piece) -> None:
    name = _name(session, piece)
    if piece.kind != "ware":
        raise UserProblem(f"{name} is a tool of the studio: it is not set aside for anybody.")
    if piece.shipment_id is not None:
        raise UserProblem(_say_gone(session, piece))
    if piece.stage == "lost":
        why = f": {piece.lost_why}" if piece.lost_why else ""
        raise UserProblem(f"{name} is lost{why}. Set aside another.")
    if _is_held_by(holder, piece):
        raise UserProblem(f"{name} is set aside for this already.")
    refuse_if_taken(session, piece)


def refuse_if_taken(session: Session, piece: Piece) -> None:
    """Refuse what is to be done to a piece that is set aside, or left with an order.

    Raises `UserProblem` saying for what.
    """
    name = _name(session, piece)
    if piece.shipment_id is not None:
        raise UserProblem(_say_gone(session, piece))
    if piece.order_line_id is not None:
        order = get(session, Order, get(session, OrderLine, piece.order_line_id).order_id)
        if order.state == "open":
            raise UserProblem(
                f"{name} is set aside for order {order.number}: take it back there first."
            )
    if piece.set_part_id is not None:
        ware = get(session, WareSet, get(session, SetPart, piece.set_part_id).set_id)
        raise UserProblem(f"{name} belongs to the set “{ware.name}”: take it back there first.")


def _name(session: Session, piece: Piece) -> str:
    if piece.number is not None:
        return f"Piece {piece.number}"
    run = session.get(Run, piece.run_id) if piece.run_id is not None else None
    return f"A piece of run {run.number}" if run is not None else "A piece"


def _say_gone(session: Session, piece: Piece) -> str:
    shipment = get(session, Shipment, piece.shipment_id or 0)
    order = get(session, Order, shipment.order_id)
    return (
        f"{_name(session, piece)} left with order {order.number} on "
        f"{write_day(shipment.shipped_on)}: take that shipment back first."
    )


def held_piece_ids(
    session: Session, line_id: int, stage: str | None = None, *, shipped: bool | None = False
) -> tuple[int, ...]:
    """The pieces that count for a line, by the rule of `held_pieces`: those set aside first."""
    where = [counting_for([line_id])]
    if stage is not None:
        where.append(Piece.stage == stage)
    if shipped is not None:
        where.append(Piece.shipment_id.is_not(None) if shipped else Piece.shipment_id.is_(None))
    query = (
        select(Piece.id)
        .where(and_(*where))
        .order_by(Piece.order_line_id.is_(None), Piece.number.is_(None), Piece.id)
    )
    return tuple(session.scalars(query))


def say_where(names: Sequence[str]) -> str:
    """Names in a row, the last of many left out: "412, 413, 420 and 5 more"."""
    if len(names) <= _MOST_NAMED:
        return join_words(names)
    return f"{', '.join(names[:_MOST_NAMED])} and {len(names) - _MOST_NAMED} more"
