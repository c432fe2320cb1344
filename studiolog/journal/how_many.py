"""How many of a form can be begun at once before leather-hard clay is too stiff."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.drying import DryingTimes, say_basis, say_cover
from studiolog.craft.clay.working_time import BatchSize, WorkStep, how_many_at_once
from studiolog.craft.limits import Limits
from studiolog.craft.ware.usual_time import UsualTime
from studiolog.craft.words import COVERS, DRYING_WEATHERS
from studiolog.journal.drying import read_bench_hours, read_drying, read_form_work
from studiolog.journal.limits import read_limits
from studiolog.journal.stage_times import StageTimes
from studiolog.problems import UserProblem
from studiolog.records.forms import Form

USUAL_COVER = "loose"
"""How leather-hard ware stands that waits for its turn: common practice."""


@dataclass(frozen=True)
class Asked:
    """What is asked of a form: None for hands or hours takes those of the studio."""

    cover: str = USUAL_COVER
    weather: str = "usual"
    hands: int | None = None
    hours_a_day: float | None = None


@dataclass(frozen=True)
class Changed:
    """How many it would be if one thing were otherwise."""

    words: str
    pieces: int


@dataclass(frozen=True)
class WorkingTime:
    """How many of some forms can be begun at once; of several forms, of each.

    ``size`` is None where it can't be told: then ``problem`` says why. ``by_cover`` has the number
    for every cover, ``changes`` what would change it most.
    """

    form_ids: tuple[int, ...]
    names: tuple[str, ...]
    asked: Asked
    hands: int
    hours_a_day: float
    steps: tuple[WorkStep, ...]
    size: BatchSize | None
    problem: str
    basis: str
    by_cover: tuple[Changed, ...]
    changes: tuple[Changed, ...]
    runs: int


def read_working_time(
    session: Session, form_id: int, asked: Asked = Asked(), times: StageTimes | None = None
) -> WorkingTime:
    """How many of a form can be begun at once, with the sum. Raises `UserProblem` if it is gone."""
    return read_how_many(session, (form_id,), asked, times)


def read_how_many(
    session: Session,
    form_ids: Sequence[int],
    asked: Asked = Asked(),
    times: StageTimes | None = None,
) -> WorkingTime:
    """How many of several forms can be begun at once, as many of each.

    Raises `UserProblem` where no form is named, or one is gone.
    """
    limits = read_limits(session)
    found = {form.id: form for form in session.scalars(select(Form).where(Form.id.in_(form_ids)))}
    if not form_ids or any(form_id not in found for form_id in form_ids):
        raise UserProblem("Name a form: what is to be made?" if not form_ids else _GONE)
    forms = [found[form_id] for form_id in form_ids]
    work = read_form_work(session, form_ids)
    steps = tuple(
        WorkStep(
            f"{form.name}: {step.name}" if len(forms) > 1 else step.name,
            step.minutes,
            step.stage,
            step.persons,
        )
        for form in forms
        for step in work[form.id].steps
    )
    bench = read_bench_hours(session, limits)
    hands = int(limits["bench_hands"]) if asked.hands is None else asked.hands
    hours = bench.hours_a_day if asked.hours_a_day is None else asked.hours_a_day
    drying = read_drying(session, times, limits)
    sum_up = _Sum(steps, drying, [(form.id, form.workable_h) for form in forms], limits)
    runs = sum_up.hours(asked.cover, asked.weather).runs
    page = WorkingTime(
        tuple(form_ids),
        tuple(form.name for form in forms),
        asked,
        hands,
        hours,
        steps,
        None,
        "",
        sum_up.basis(asked.cover, asked.weather),
        (),
        (),
        runs,
    )
    try:
        size = sum_up.size(asked.cover, asked.weather, hands, hours)
    except UserProblem as problem:
        return replace(page, problem=problem.sentence)
    return replace(
        page,
        size=size,
        by_cover=tuple(
            Changed(COVERS[cover], sum_up.size(cover, asked.weather, hands, hours).pieces)
            for cover in COVERS
        ),
        changes=tuple(_changes(sum_up, asked, hands, hours, size)),
    )


_GONE = "This form is no longer in the journal: it was deleted or undone."


@dataclass(frozen=True)
class _Sum:
    steps: tuple[WorkStep, ...]
    drying: DryingTimes
    forms: Sequence[tuple[int, float | None]]
    limits: Limits

    def hours(self, cover: str, weather: str) -> UsualTime:
        """Of several forms the one that stiffens first sets the hours."""
        return min(
            (
                self.drying.hours("workable", cover, weather, form_id, set_h)
                for form_id, set_h in self.forms
            ),
            key=lambda hours: hours.centre,
        )

    def basis(self, cover: str, weather: str) -> str:
        return say_basis(self.hours(cover, weather), cover)

    def size(
        self,
        cover: str,
        weather: str,
        hands: int,
        hours_a_day: float,
        steps: tuple[WorkStep, ...] | None = None,
    ) -> BatchSize:
        return how_many_at_once(
            self.steps if steps is None else steps,
            self.hours(cover, weather),
            hands=hands,
            hours_a_day=hours_a_day,
            open_hours=self.hours("open", weather) if cover != "open" else None,
            of=say_cover(cover, weather),
            basis=self.basis(cover, weather),
            limits=self.limits,
        )


def _changes(
    sum_up: _Sum, asked: Asked, hands: int, hours: float, size: BatchSize
) -> list[Changed]:
    """What one thing but the cover would make of it; what changes nothing is left out."""
    cover, weather = asked.cover, asked.weather
    tried: list[Changed] = []
    for other, words in DRYING_WEATHERS.items():
        if other != weather:
            pieces = sum_up.size(cover, other, hands, hours).pieces
            tried.append(Changed(f"in {words} weather", pieces))
    more = sum_up.size(cover, weather, hands + 1, hours).pieces
    tried.append(Changed("with one more at the bench", more))
    if hours + 2 <= 24:
        longer = sum_up.size(cover, weather, hands, hours + 2).pieces
        tried.append(Changed("with two hours more a day", longer))
    if size.binding_step:
        half = tuple(
            replace(step, minutes=step.minutes / 2)
            if step.name == size.binding_step and step.minutes
            else step
            for step in sum_up.steps
        )
        pieces = sum_up.size(cover, weather, hands, hours, half).pieces
        tried.append(Changed(f"with “{size.binding_step}” in half the time", pieces))
    return [one for one in tried if one.pieces != size.pieces]
