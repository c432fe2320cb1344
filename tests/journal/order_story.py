"""An order of a dozen tumblers and the pieces made for it, for the tests of what follows."""

from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any, TypeVar

from studiolog.journal.order_page import OrderPage, read_order_page
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.pieces import PieceDraft, RunDraft, log_piece, log_run
from studiolog.journal.runs import move_pieces
from studiolog.journal.session import Session
from tests.journal.conftest import Studio

TODAY = date(2026, 11, 12)
NOON = datetime(2026, 11, 12, 12)
T = TypeVar("T")


def do(studio: Studio, edit: Callable[..., T], *given: Any, **more: Any) -> T:
    """Run one edit."""
    return studio.journal.edit("Do", lambda session: edit(session, *given, **more)).value


def take_order(studio: Studio, whom: str = "Quay café", wanted: int = 12, **more: Any) -> int:
    """An order of tumblers; ``more`` are fields of the order."""
    lines = more.pop("lines", (OrderLineDraft(form_id=studio.tumbler, wanted=wanted),))
    return do(studio, add_order, OrderDraft(whom=whom, lines=lines, **more), today=TODAY)


def page_of(studio: Studio, order_id: int) -> OrderPage:
    """The page of an order that is there."""
    page = studio.journal.read(lambda session: read_order_page(session, order_id))
    assert page is not None
    return page


def line_of(studio: Studio, order_id: int) -> int:
    """The id of its first line."""
    return page_of(studio, order_id).lines[0].line_id


def make_run(studio: Studio, how_many: int, stage: str = "finished", **more: Any) -> int:
    """A run of tumblers, all at one stage."""

    def edit(session: Session) -> int:
        draft = RunDraft(
            made_on=date(2026, 10, 12), form_id=studio.tumbler, how_many=how_many, **more
        )
        run_id = log_run(session, draft)
        if stage != "wet":
            move_pieces(session, run_id, "wet", stage, how_many, datetime(2026, 11, 2, 9), "split")
        return run_id

    return do(studio, edit)


def log_numbered(studio: Studio, numbers: Sequence[int], stage: str = "finished") -> list[int]:
    """Pieces with numbers of their own, of no run."""

    def edit(session: Session) -> list[int]:
        return [
            log_piece(session, PieceDraft(number=number, form_id=studio.tumbler, stage=stage))
            for number in numbers
        ]

    return do(studio, edit)
