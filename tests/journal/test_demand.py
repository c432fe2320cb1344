"""What is owed: open lines with the pieces there are for them, the soonest promise first."""

from datetime import date, datetime

from sqlalchemy.orm import Session

from studiolog.journal.demand import Demand, read_demand
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, read_order_page
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.runs import move_pieces
from tests.journal.conftest import Studio

TODAY = date(2026, 11, 12)


def owed(studio: Studio) -> tuple[Demand, ...]:
    return studio.journal.read(lambda session: read_demand(session, TODAY))


def enter_two_orders(studio: Studio) -> int:
    """Twelve for the harbour by the 27th, six for a café that waits since the 10th; a run of 14
    serves the harbour. Returns the run."""

    def enter(session: Session) -> int:
        lines = (OrderLineDraft(form_id=studio.tumbler, wanted=12),)
        harbour = add_order(
            session, OrderDraft(whom="Harbour", promised_on=date(2026, 11, 27), lines=lines)
        )
        lines = (OrderLineDraft(form_id=studio.tumbler, wanted=6),)
        add_order(session, OrderDraft(whom="Café", promised_on=date(2026, 11, 10), lines=lines))
        page = read_order_page(session, harbour)
        assert page is not None
        run = RunDraft(
            made_on=date(2026, 11, 2),
            form_id=studio.tumbler,
            how_many=14,
            order_line_id=page.lines[0].line_id,
        )
        run_id = log_run(session, run)
        at = datetime(2026, 11, 5, 9)
        move_pieces(session, run_id, "wet", "bisque", 9, at)
        move_pieces(session, run_id, "wet", "lost", 1, at, "rim split")
        return run_id

    return studio.journal.edit("Two orders", enter).value


def test_the_soonest_promise_comes_first_with_its_pieces_by_stage(studio: Studio) -> None:
    run = enter_two_orders(studio)
    cafe, harbour = owed(studio)
    assert (cafe.for_whom, cafe.overdue, cafe.to_start) == ("order 2, Café", True, 6)
    assert (harbour.title, harbour.wanted, harbour.overdue) == ("Ripple tumbler", 12, False)
    assert harbour.by_stage == {"bisque": 9, "wet": 4}
    assert harbour.progress.by_run == {run: {"bisque": 9, "wet": 4}}
    # Thirteen of fourteen are left for the dozen.
    assert (harbour.progress.lost, harbour.to_start, harbour.progress.spare) == (1, 0, 1)
