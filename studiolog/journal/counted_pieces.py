"""Pieces of a run that are counted and not numbered: choosing so many of them."""

from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import STAGES
from studiolog.journal.writing import get
from studiolog.problems import UserProblem
from studiolog.records.pieces import Piece, Run


def choose_pieces(
    session: Session,
    run_id: int,
    stage: str,
    how_many: int,
    first: Collection[int] = (),
    *,
    newest: bool = False,
    unlike: Sequence[Any] = (),
    without: Any = None,
) -> list[Piece]:
    """So many counted pieces of a run at a stage, those named in ``first`` before others.

    ``unlike`` are orders that go before the order they were made in, ``without`` is what none of
    them may be. What left with an order comes last: nobody works on it any more. Raises
    `UserProblem` if there are fewer, for no stage, and for no piece.
    """
    run = get(session, Run, run_id)
    if stage not in STAGES:
        raise UserProblem(f"“{stage}” is not a stage: {', '.join(STAGES.values())}.")
    if how_many < 1:
        raise UserProblem("Move one piece or more.", {"how_many": "1 or more"})
    asked = select(Piece).where(
        Piece.run_id == run_id, Piece.stage == stage, Piece.number.is_(None)
    )
    if without is not None:
        asked = asked.where(~without)
    by_age = Piece.id.desc() if newest else Piece.id
    orders: list[Any] = [*unlike, Piece.shipment_id.is_not(None), by_age]
    if first:
        orders.insert(0, Piece.id.not_in(first))
    chosen = list(session.scalars(asked.order_by(*orders).limit(how_many)))
    if len(chosen) < how_many:
        have = f"only {len(chosen)}" if chosen else "no"
        noun = "piece" if len(chosen) == 1 else "pieces"
        sentence = (
            f"Run {run.number} has {have} counted {noun} {STAGES[stage]}. "
            "Pieces with a number of their own are moved on their own page."
        )
        raise UserProblem(sentence, {"how_many": sentence})
    return chosen
