"""When the studio works, the days it does not, and an order promised as the forecast allows."""

from __future__ import annotations

from datetime import date

from sqlalchemy.orm import Session

from studiolog.journal.order_lines import OrderLineDraft
from studiolog.journal.orders import OrderDraft, add_order
from studiolog.journal.studio import set_terms
from studiolog.journal.studio_days import add_away

from .demo_writer import Writer
from .studio_setup import BUFF, SetUp
from .work_year import TODAY

WORK_DAYS, HOURS_A_DAY = "123456", 5.5
_AWAY = (
    (date(2026, 3, 30), date(2026, 4, 6), "a week by another sea"),
    (date(2026, 12, 5), date(2026, 12, 6), "at the winter market"),
    (date(2026, 12, 24), date(2027, 1, 3), "the house is full"),
)


def write_promises(writer: Writer) -> None:
    """The usual week, the days away, and a restock that leaves itself time."""
    edit = writer.journal.edit
    edit("Set when the studio works",
         lambda s: set_terms(s, work_days=WORK_DAYS, hours_a_day=HOURS_A_DAY))  # fmt: skip
    for first_on, last_on, why in _AWAY:
        edit("Note days away", lambda s, f=first_on, to=last_on, w=why: add_away(s, f, to, w))
    edit("Take an order for Ferry stairs", lambda s: _restock(s, writer.set_up))


def _restock(session: Session, set_up: SetUp) -> None:
    line = OrderLineDraft(
        wanted=8, form_id=set_up.forms["ripple_tumbler"], clay_id=set_up.clays[BUFF]
    )
    draft = OrderDraft(
        whom="Ferry stairs", number=38, kind="restock", lines=(line,), ordered_on=TODAY.date(),
        promise_words="twelve to fourteen weeks", notes="For the season; no hurry.",
    )  # fmt: skip
    add_order(session, draft, TODAY.date())
