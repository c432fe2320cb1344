"""Finished ware nobody waits for, and what may be set aside for a line or a part.

*Stock* is finished, still here and free. Free is what is not set aside for an open order or a set,
and is of no run made for an open order. What an order had over when it was closed is free again:
of a dropped one everything, of a delivered one what its shipments left behind. A delivered order
without shipments says nothing of what left with it, so nothing of it is offered.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, and_, exists, func, or_, select
from sqlalchemy.orm import Session

from studiolog.records.clays import Clay
from studiolog.records.orders import Order, OrderLine, Shipment
from studiolog.records.pieces import Layer, Piece, Run


@dataclass(frozen=True)
class Offer:
    """So many pieces at a stage, kept in one place, that may be set aside.

    Stock stands together, whichever of ``runs`` (id and number) it is of; other work run by run.
    ``for_order`` is the open order the run is made for, None if it is for none. ``numbers`` are
    those of the numbered pieces among them; in ``piece_ids`` the counted ones come first.
    """

    stage: str
    clay: str
    kept_where: str
    for_order: int | None
    runs: tuple[tuple[int, int], ...]
    pieces: int
    numbers: tuple[int, ...]
    piece_ids: tuple[int, ...]

    @property
    def is_stock(self) -> bool:
        return self.stage == "finished" and self.for_order is None


def matches(
    form_id: int | None, clay_id: int | None = None, glaze_id: int | None = None
) -> ColumnElement[bool]:
    """A condition on pieces: of this form and, where they are given, this clay and this glaze.

    A glaze is looked for in any zone. A piece with no glaze yet may still get it.
    """
    wanted: list[ColumnElement[bool]] = [Piece.form_id == form_id, Piece.kind == "ware"]
    if clay_id is not None:
        wanted.append(Piece.clay_id == clay_id)
    if glaze_id is not None:
        any_layer = exists().where(Layer.piece_id == Piece.id)
        this = exists().where(Layer.piece_id == Piece.id, Layer.glaze_id == glaze_id)
        unglazed = Piece.stage.in_(("wet", "leather_hard", "bone_dry", "bisque"))
        wanted.append(or_(this, and_(unglazed, ~any_layer)))
    return and_(*wanted)


def is_free() -> ColumnElement[bool]:
    """A condition on pieces: nobody waits for it, and it is still here."""
    closed_lines = _closed_lines()
    # Either no line, or one whose order has let go of it.
    own = or_(Piece.order_line_id.is_(None), Piece.order_line_id.in_(closed_lines))
    taken_runs = (
        select(Run.id)
        .where(Run.order_line_id.is_not(None), Run.order_line_id.not_in(closed_lines))
        .scalar_subquery()
    )
    by_run = or_(
        Piece.order_line_id.is_not(None), Piece.run_id.is_(None), Piece.run_id.not_in(taken_runs)
    )
    return and_(
        Piece.shipment_id.is_(None), Piece.set_part_id.is_(None), Piece.stage != "lost", own, by_run
    )


def _closed_lines() -> Any:
    """Lines of orders that let go of what they did not take."""
    shipped = exists().where(Shipment.order_id == Order.id)
    return (
        select(OrderLine.id)
        .join(Order, Order.id == OrderLine.order_id)
        .where(or_(Order.state == "dropped", and_(Order.state == "delivered", shipped)))
        .scalar_subquery()
    )


def is_stock() -> ColumnElement[bool]:
    """A condition on pieces: finished, still here and free."""
    return and_(Piece.stage == "finished", is_free())


def read_offers(
    session: Session,
    form_id: int | None,
    clay_id: int | None = None,
    glaze_id: int | None = None,
    *,
    but_lines: Sequence[int] = (),
    limit: int = 2000,
) -> tuple[Offer, ...]:
    """What may be set aside: stock first, then free work from the latest stage to the earliest,
    then what is made for other open orders. Pieces counting for ``but_lines`` are left out.
    """
    if form_id is None:
        return ()
    line = select(Run.id).where(Run.order_line_id.in_(but_lines or [0])).scalar_subquery()
    free = is_free()
    # The run of another order: offered last, for who would borrow from it.
    lent = and_(
        Piece.shipment_id.is_(None), Piece.set_part_id.is_(None), Piece.stage != "lost",
        Piece.order_line_id.is_(None), or_(Piece.run_id.is_(None), Piece.run_id.not_in(line)),
    )  # fmt: skip
    rows = session.execute(
        select(
            Piece.id, Piece.number, Piece.run_id, Run.number.label("run_number"), Piece.stage,
            Piece.kept_where, Clay.name.label("clay"), Order.number.label("order_number"),
            free.label("free"),
        )
        .outerjoin(Run, Run.id == Piece.run_id)
        .outerjoin(Clay, Clay.id == Piece.clay_id)
        .outerjoin(OrderLine, OrderLine.id == Run.order_line_id)
        .outerjoin(Order, and_(Order.id == OrderLine.order_id, Order.state == "open"))
        .where(matches(form_id, clay_id, glaze_id), or_(free, lent))
        .order_by(Piece.number.is_not(None), Piece.id)
        .limit(limit)
    ).all()  # fmt: skip
    lots: dict[tuple[Any, ...], list[Any]] = {}
    for row in rows:
        if not row.free and row.order_number is None:
            continue  # of a delivered order: nobody knows whether it is still here
        held = None if row.free else row.order_number
        stock = row.free and row.stage == "finished"
        key = (row.stage, row.clay or "", row.kept_where, held, None if stock else row.run_id)
        lots.setdefault(key, []).append(row)
    offers = [
        Offer(
            stage, clay, kept_where, for_order,
            tuple(sorted({(row.run_id, row.run_number) for row in found if row.run_id})),
            len(found),
            tuple(row.number for row in found if row.number is not None),
            tuple(row.id for row in found),
        )
        for (stage, clay, kept_where, for_order, _), found in lots.items()
    ]  # fmt: skip
    return tuple(sorted(offers, key=_nearest_first))


_LATEST_FIRST = ("finished", "fired", "glazed", "bisque", "bone_dry", "leather_hard", "wet")


def _nearest_first(offer: Offer) -> tuple[bool, int, int]:
    return (
        offer.for_order is not None, _LATEST_FIRST.index(offer.stage), -offer.pieces
    )  # fmt: skip


def count_stock(session: Session) -> dict[int, int]:
    """Finished pieces nobody waits for, by form."""
    rows = session.execute(
        select(Piece.form_id, func.count())
        .where(is_stock(), Piece.kind == "ware", Piece.form_id.is_not(None))
        .group_by(Piece.form_id)
    )
    return {row[0]: row[1] for row in rows if row[0] is not None}
