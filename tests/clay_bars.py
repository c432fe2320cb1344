"""Test bars and boiled specimens of a clay: good ones, one far from the others, one slip."""

from datetime import date, datetime

from sqlalchemy.orm import Session

from studiolog.journal.absorption import AbsorptionDraft, add_absorption
from studiolog.journal.bars import BarDraft, set_bars

FIRED = (88.0, 88.2, 87.9, 88.1, 87.8, 88.3, 81.0, 107.0)


def measure_clay(session: Session, clay_id: int, firing: int | None = None) -> None:
    """Eight bars (in the firing of a number) and two specimens, one hung in water."""
    good = [
        BarDraft(None, (100.0, 94.0, 93.6, fired if fired < 100 else None), firing)
        for fired in FIRED
    ]
    set_bars(session, clay_id, (), good, datetime(2026, 10, 20, 9))
    day = date(2026, 10, 21)
    for dry, boiled, in_water, cone in ((200.0, 206.0, 118.0, "6"), (61.25, 62.4, None, "5.5")):
        draft = AbsorptionDraft(
            tested_on=day, dry_g=dry, saturated_g=boiled, suspended_g=in_water, cone=cone
        )
        add_absorption(session, clay_id, draft, day)
