"""What was done to the kilns of Tern Yard over the year, and what is still to do."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from sqlalchemy.orm import Session

from studiolog.journal.kiln_tasks import KilnTaskDraft, add_task, finish_task, read_tasks

from .firing_year import ELEMENTS_NEW
from .studio_setup import BIG, SMALL


def enter_upkeep(session: Session, kilns: Mapping[str, int]) -> None:
    """Tasks done and to do, each noted on the day it would have been."""
    big, small = kilns[BIG], kilns[SMALL]
    wash = KilnTaskDraft(
        task="shelf_wash", done_on=date(2026, 2, 12), repeat_firings=20,
        note="All six shelves, two thin coats. Edges left bare.",
    )  # fmt: skip
    add_task(session, big, wash, date(2026, 2, 12))
    changed = KilnTaskDraft(
        task="elements", done_on=ELEMENTS_NEW,
        note="Six new ones, put in by the electrician. The old had 14 % more resistance.",
    )  # fmt: skip
    add_task(session, big, changed, ELEMENTS_NEW)
    again = next(one for one in read_tasks(session, big, date(2026, 8, 24)).to_do)
    finish_task(session, again.task_id, None, date(2026, 8, 24))
    measure = KilnTaskDraft(
        task="other", due_on=date(2026, 12, 18), note="Have the elements measured before Christmas."
    )
    add_task(session, big, measure, date(2026, 8, 8))
    vent = KilnTaskDraft(task="vent", due_on=date(2026, 11, 1), repeat_days=365)
    add_task(session, big, vent, date(2026, 5, 4))
    sensor = KilnTaskDraft(task="thermocouple", done_on=date(2025, 12, 29), note="Type K, 3 mm.")
    add_task(session, small, sensor, date(2025, 12, 29))
