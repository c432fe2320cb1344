"""What a planned load is expected to cost, and the first day it can be lit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.money import share_of
from studiolog.craft.ware.load_plan import LoadPlan
from studiolog.journal.energy import expect_energy
from studiolog.journal.limits import read_limits
from studiolog.journal.load_days import first_day, in_kiln_h, read_taken
from studiolog.journal.load_ware import Ware
from studiolog.journal.stage_times import StageTimes, read_stage_times
from studiolog.journal.studio import read_currency
from studiolog.journal.studio_days import read_studio_times
from studiolog.records.firings import Firing
from studiolog.records.loads import KilnLoad
from studiolog.records.pieces import StageChange


@dataclass(frozen=True)
class LoadCost:
    """What the firing is expected to cost. ``by_area`` shares it by the ground a piece takes.

    Money is in ``currency``; None where it can't be told, ``missing`` then says why.
    """

    kwh: float | None
    cost: Decimal | None
    per_piece: Decimal | None
    by_form: tuple[tuple[str, int, Decimal], ...]
    currency: str
    cheapest: str
    missing: tuple[str, ...]


def read_load_cost(
    session: Session,
    load: KilnLoad,
    plan: LoadPlan,
    wares: Mapping[int, Ware],
    today: date,
) -> LoadCost:
    currency = read_currency(session)
    day = load.planned_on or today
    expected = expect_energy(
        session,
        kiln_id=load.kiln_id,
        starts_at=datetime.combine(day, datetime.min.time()) + timedelta(hours=8),
        program_id=load.program_id,
        segments=None if load.program_id is not None else (),
        kind=load.kind,
    )
    kwh = expected.use.energy.kwh if expected.use is not None else None
    cost = expected.cost.cost if expected.cost is not None else None
    placed = [place for shelf in plan.shelves for place in shelf.places]
    missing = list(expected.missing)
    if load.program_id is None:
        missing = ["Choose a program: the energy of a firing goes by it."]
    areas: dict[str, float] = {}
    counts: dict[str, int] = {}
    for place in placed:
        ware = plan.wares[place.key]
        name = wares[place.key].form
        # What is stacked takes no ground of its own: it shares that of what it stands on.
        areas[name] = areas.get(name, 0.0) + ware.stands_on(plan.rules).ground_mm2(
            ware.gap_mm(plan.rules)
        )
        counts[name] = counts.get(name, 0) + 1
    whole = sum(areas.values())
    by_form: list[tuple[str, int, Decimal]] = []
    if cost is not None and whole:
        for name, area in sorted(areas.items(), key=lambda one: -one[1] / counts[one[0]]):
            each = share_of(cost * Decimal(f"{area / whole:.9f}"), counts[name])
            if each is not None:
                by_form.append((name, counts[name], each))
    return LoadCost(
        kwh,
        cost,
        share_of(cost, len(placed)) if placed else None,
        tuple(by_form),
        currency,
        expected.cheapest_words,
        tuple(missing),
    )


def read_earliest(
    session: Session, load: KilnLoad, wares: Sequence[Ware], today: date
) -> tuple[date | None, str]:
    """The first day it can be lit, None for none within a year, and what it waits for.

    The kiln is cold again, what goes in is dry, somebody is there, and no other load is planned
    for it then.
    """
    if load.firing_id is not None:
        return today, ""
    times = read_stage_times(session)
    free, why = _kiln_free(session, load.kiln_id, times, today)
    damp = [ware for ware in wares if ware.stage in ("wet", "leather_hard")]
    dry, dry_why = _dry_by(session, damp, times, today)
    if dry > free:
        free, why = dry, dry_why
    studio = read_studio_times(session, today, read_limits(session))
    taken = read_taken(session, load, times, today)
    day, hindered = first_day(free, in_kiln_h(times, load.kind), studio, taken)
    return day, hindered or why


def _kiln_free(session: Session, kiln_id: int, times: StageTimes, today: date) -> tuple[date, str]:
    last = session.execute(
        select(Firing.number, Firing.kind, Firing.started_at, Firing.ended_at)
        .where(Firing.kiln_id == kiln_id)
        .order_by(Firing.started_at.desc(), Firing.id.desc())
        .limit(1)
    ).first()
    if last is None:
        return today, "The kiln is free."
    hours = in_kiln_h(times, last.kind)
    cold = last.started_at + timedelta(hours=hours)
    if cold.date() <= today:
        return today, "The kiln is free."
    return (
        cold.date(),
        f"Firing {last.number} is usually out of the kiln {round(hours)} h after it is lit.",
    )


def _dry_by(
    session: Session, damp: Sequence[Ware], times: StageTimes, today: date
) -> tuple[date, str]:
    if not damp:
        return today, ""
    changes = session.execute(
        select(StageChange.piece_id, StageChange.at)
        .where(StageChange.piece_id.in_([ware.piece_id for ware in damp]))
        .order_by(StageChange.at)
    )
    since = {change.piece_id: change.at for change in changes}
    latest, which = today, damp[0]
    for ware in damp:
        left = ("wet", "leather_hard") if ware.stage == "wet" else ("leather_hard",)
        hours = sum(times.usual(stage, ware.form_id, ware.clay_id).median_h for stage in left)
        begun = since.get(ware.piece_id, datetime.combine(today, datetime.min.time()))
        day = (begun + timedelta(hours=hours)).date()
        if day > latest:
            latest, which = day, ware
    if latest == today:
        return today, "What is damp is usually dry by now: feel it."
    return latest, f"{_capital(which.name)} is usually bone dry by then."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
