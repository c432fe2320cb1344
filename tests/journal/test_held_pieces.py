"""The one rule of which piece counts where, against the rule said piece by piece in plain words."""

import random
from collections import Counter
from datetime import date

import pytest
from sqlalchemy import select

from studiolog.journal.held_pieces import Progress, count_for_lines, count_for_parts, counting_for
from studiolog.journal.order_lines import OrderLineDraft
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.session import Session
from studiolog.journal.sets import SetDraft, SetPartDraft, add_set
from studiolog.records.orders import OrderLine, SetPart, Shipment
from studiolog.records.pieces import Piece, Run
from tests.journal.conftest import Studio
from tests.journal.order_story import do, page_of, take_order

STAGES = ("wet", "bisque", "fired", "finished", "lost")


def scatter(studio: Studio, seed: int) -> list[int]:
    """Three lines, one of them for a set, and sixty pieces set aside, shipped and lost at random.

    Returns the lines.
    """
    drawn = random.Random(seed)
    parts = tuple(SetPartDraft(each=n, what=f"part {n}") for n in (1, 2))
    ware = do(studio, add_set, SetDraft(name="Two and one", parts=parts))
    lines = (
        OrderLineDraft(what="cup", wanted=9),
        OrderLineDraft(what="jug", wanted=4),
        OrderLineDraft(wanted=2, set_id=ware),
    )
    order = take_order(studio, lines=lines)
    ids = [line.line_id for line in page_of(studio, order).lines]

    def edit(session: Session) -> None:
        shipment = Shipment(order_id=order, shipped_on=date(2026, 11, 9))
        session.add(shipment)
        session.flush()
        part_ids = session.scalars(select(SetPart.id).order_by(SetPart.id)).all()
        for serves in (ids[0], ids[1], None):
            run = log_run(
                session,
                RunDraft(made_on=date(2026, 10, 1), how_many=20, order_line_id=serves),
            )
            for piece in session.scalars(select(Piece).where(Piece.run_id == run)).all():
                piece.stage = drawn.choice(STAGES)
                match drawn.randrange(4):
                    case 0:
                        piece.order_line_id = drawn.choice(ids[:2])
                    case 1:
                        piece.set_part_id = drawn.choice(part_ids)
                if piece.order_line_id and drawn.random() < 0.4:
                    piece.shipment_id = shipment.id

    do(studio, edit)
    return ids


def line_of_piece(piece: Piece, runs: dict[int, int | None], asked: dict[int, int]) -> int | None:
    """Where a piece counts, as `held_pieces` says it in words."""
    if piece.order_line_id is not None:
        return piece.order_line_id
    if piece.set_part_id is not None:
        return asked.get(piece.set_part_id)
    return runs.get(piece.run_id or 0)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_counts_and_conditions_say_the_same_as_the_rule(studio: Studio, seed: int) -> None:
    ids = scatter(studio, seed)

    def check(session: Session) -> None:
        runs = dict(session.execute(select(Run.id, Run.order_line_id)).all())  # type: ignore[arg-type]
        sets = {line.set_id: line.id for line in session.scalars(select(OrderLine)) if line.set_id}
        parts = {part.id: sets[part.set_id] for part in session.scalars(select(SetPart))}
        expected: dict[int, Counter[tuple[str, bool]]] = {line_id: Counter() for line_id in ids}
        members: dict[int, set[int]] = {line_id: set() for line_id in ids}
        pieces = session.scalars(select(Piece).where(Piece.run_id.is_not(None))).all()
        for piece in pieces:
            line_id = line_of_piece(piece, runs, parts)
            if line_id is not None:
                expected[line_id][piece.stage, piece.shipment_id is not None] += 1
                members[line_id].add(piece.id)
        held = count_for_lines(session, ids)
        for line_id in ids:
            found: Counter[tuple[str, bool]] = Counter()
            for lot in held.get(line_id, ()):
                found[lot.stage, lot.shipped] += lot.pieces
            assert found == expected[line_id]
            named = session.scalars(select(Piece.id).where(counting_for([line_id]))).all()
            assert sorted(named) == sorted(members[line_id])
        # No piece counts twice, and the parts of the set are what its line has.
        assert sum(map(len, members.values())) == len(set().union(*members.values()))
        in_parts = count_for_parts(session, list(parts))
        assert sum(lot.pieces for lots in in_parts.values() for lot in lots) == len(members[ids[2]])

    studio.journal.read(check)


def test_what_is_left_to_start_and_to_spare_add_up(studio: Studio) -> None:
    ids = scatter(studio, 4)
    held = studio.journal.read(lambda session: count_for_lines(session, ids))
    for line_id in ids:
        for wanted in (1, 8, 40):
            progress = Progress(wanted, held[line_id])
            here = sum(progress.at_hand.values())
            assert progress.made == here + progress.lost + progress.shipped
            assert progress.shipped + here + progress.to_start - progress.spare == wanted
            assert progress.left == max(0, wanted - progress.shipped)
            assert progress.finished == progress.shipped + progress.at_hand.get("finished", 0)
