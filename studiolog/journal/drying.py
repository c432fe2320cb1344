"""How fast this studio's clay stiffens, when it is at the bench, and how its forms are made."""

from collections.abc import Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.bench_hours import BenchHours
from studiolog.craft.clay.drying import DriedRun, DryingTimes, Stood
from studiolog.craft.limits import Limits
from studiolog.journal.limits import read_limits
from studiolog.journal.stage_times import StageTimes, read_stage_times
from studiolog.journal.waiting_for import FormWork, plan_steps
from studiolog.records.forms import Form, FormStep
from studiolog.records.studio import Away, Studio


def read_drying(
    session: Session, times: StageTimes | None = None, limits: Limits | None = None
) -> DryingTimes:
    """How fast this studio's clay stiffens, learned from the stage times of its runs.

    Nobody notes when a pot is too stiff; of the hours from leather-hard to bone dry a stated part
    counts as workable (limit ``workable_share``).
    """
    limits = read_limits(session) if limits is None else limits
    times = read_stage_times(session, limits) if times is None else times
    share = limits["workable_share"]
    stretches: dict[str, list[DriedRun]] = {"wet": [], "leather_hard": []}
    for time in times.times:
        if time.stage in stretches:
            hours = time.hours * (1.0 if time.stage == "wet" else share)
            stood = Stood(hours, time.cover, time.weather or "usual")
            stretches[time.stage].append(DriedRun((stood,), time.form_id))
    return DryingTimes(stretches["wet"], stretches["leather_hard"], limits)


def read_bench_hours(session: Session, limits: Limits | None = None) -> BenchHours:
    """When the potter is at the bench, as the studio has said or as the limits have it."""
    limits = read_limits(session) if limits is None else limits
    said = session.execute(
        select(Studio.work_days, Studio.hours_a_day).order_by(Studio.id).limit(1)
    ).first()
    away = session.execute(select(Away.first_on, Away.last_on)).all()
    days, hours = said if said is not None else ("", None)
    return BenchHours(
        limits["bench_starts_h"],
        hours or limits["bench_hours_a_day"],
        days or "1234567",
        tuple((first, last) for first, last in away),
    )


def read_form_work(session: Session, form_ids: Sequence[int]) -> Mapping[int, FormWork]:
    """How forms are made, with the stage of every step: as said, else as its name tells."""
    shapes = {
        row.id: row.shape
        for row in session.execute(select(Form.id, Form.shape).where(Form.id.in_(form_ids)))
    }
    rows: dict[int, list[tuple[str, str | None, float | None, int]]] = {}
    for row in session.execute(
        select(FormStep.form_id, FormStep.name, FormStep.stage, FormStep.minutes, FormStep.persons)
        .where(FormStep.form_id.in_(form_ids))
        .order_by(FormStep.position)
    ):
        step = (row.name, row.stage, row.minutes, row.persons)
        rows.setdefault(row.form_id, []).append(step)
    return {
        form_id: FormWork(shape, plan_steps(rows.get(form_id, ())))
        for form_id, shape in shapes.items()
    }
