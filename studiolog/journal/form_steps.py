"""How a form is made: its steps in order, and the parts of it that are glazed by themselves."""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import STAGES
from studiolog.journal.writing import add_all, clean_name, get, remove_all
from studiolog.problems import UserProblem
from studiolog.records.forms import Form, FormStep, FormZone

MOST_PERSONS = 20


class MakingStep(NamedTuple):
    """One step: minutes of work for one piece, and how many persons it takes at once.

    ``stage`` is the state of the clay it is done in; None where nobody said.
    """

    name: str
    minutes: float | None = None
    stage: str | None = None
    persons: int = 1


StepGiven = MakingStep | tuple[str, float | None]
"""A step as it is entered; name and minutes alone will do."""


def set_steps(session: Session, form_id: int, steps: Sequence[StepGiven]) -> None:
    """Write the steps of a form, in order, in place of those it had.

    Raises `UserProblem` naming the step for a stage that is none, for minutes below zero and for
    a count of persons nobody has.
    """
    get(session, Form, form_id)
    fresh: list[FormStep] = []
    for position, given in enumerate(steps, start=1):
        step = MakingStep(*given)
        name = clean_name(step.name, noun="name of the step")
        if step.stage is not None and step.stage not in STAGES:
            raise UserProblem(
                f"Step {position}, {name}: “{step.stage}” is not a stage: "
                f"{', '.join(STAGES.values())}."
            )
        if step.stage == "lost":
            raise UserProblem(f"Step {position}, {name}: nothing is done to what is lost.")
        if step.minutes is not None and step.minutes < 0:
            raise UserProblem(f"Step {position}, {name}: the minutes are 0 or more.")
        if not 1 <= step.persons <= MOST_PERSONS:
            raise UserProblem(
                f"Step {position}, {name}: it takes between 1 and {MOST_PERSONS} persons."
            )
        fresh.append(
            FormStep(
                form_id=form_id,
                position=position,
                name=name,
                minutes=step.minutes,
                stage=step.stage,
                persons=step.persons,
            )
        )
    remove_all(session, FormStep, FormStep.form_id == form_id)
    add_all(session, fresh)


def read_steps(session: Session, form_id: int) -> tuple[MakingStep, ...]:
    """The steps of a form, in order."""
    rows = session.execute(
        select(FormStep.name, FormStep.minutes, FormStep.stage, FormStep.persons)
        .where(FormStep.form_id == form_id)
        .order_by(FormStep.position)
    )
    return tuple(MakingStep(*row) for row in rows)


def set_zones(session: Session, form_id: int, names: Sequence[str]) -> None:
    """Write the zones of a form that are glazed one by one; none: the whole at once.

    Raises `UserProblem` for a zone named twice.
    """
    get(session, Form, form_id)
    clean = [clean_name(name, noun="name of the zone") for name in names]
    for place, name in enumerate(clean):
        if name.casefold() in [other.casefold() for other in clean[:place]]:
            raise UserProblem(f"The zone {name} is named twice.")
    remove_all(session, FormZone, FormZone.form_id == form_id)
    add_all(
        session,
        [
            FormZone(form_id=form_id, position=position, name=name)
            for position, name in enumerate(clean, start=1)
        ],
    )


def read_zones(session: Session, form_id: int) -> tuple[str, ...]:
    """The zones of a form, in order."""
    return tuple(
        session.scalars(
            select(FormZone.name).where(FormZone.form_id == form_id).order_by(FormZone.position)
        )
    )
