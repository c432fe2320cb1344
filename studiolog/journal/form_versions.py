"""Versions of a form: a deeper rim, a wider foot; each is a form of its own that knows its parent.

A family is the first form and all that came from it.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.form_decisions import decide_form
from studiolog.journal.form_outcome import NOTHING, FormOutcome, read_outcomes
from studiolog.journal.form_steps import MakingStep, read_steps, read_zones
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.letters import reads_as
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.journal.writing import change, get
from studiolog.problems import UserProblem
from studiolog.records.forms import Form


@dataclass(frozen=True)
class FormVersion:
    """One member of a family. ``depth`` counts from the first, which has 0."""

    form_id: int
    name: str
    parent_id: int | None
    depth: int
    standing: str
    archived: bool
    shape: str
    clay_g: float | None
    fired_height_mm: float | None
    fired_across_mm: float | None
    fired_deep_mm: float | None
    stack_mm: float | None
    workable_h: float | None
    price: Decimal | None
    profile: Profile | None
    steps: tuple[MakingStep, ...]
    zones: tuple[str, ...]
    outcome: FormOutcome

    @property
    def minutes(self) -> float:
        """Work in one piece, as far as the steps say."""
        return sum((step.minutes or 0.0) * step.persons for step in self.steps)


def propose_name(session: Session, form_id: int, changed: str = "") -> str:
    """A free name for a version: "Soup bowl, deeper rim" with words of what changes, else
    "Soup bowl 2"."""
    name = get(session, Form, form_id).name
    said = " ".join(changed.split())
    if said:
        name = f"{name}, {said}"
        if not _taken(session, name):
            return name
    head, _, last = name.rpartition(" ")
    stem, nth = (head, int(last) + 1) if head and last.isdecimal() else (name, 2)
    while _taken(session, f"{stem} {nth}"):
        nth += 1
    return f"{stem} {nth}"


def add_form_version(
    session: Session, form_id: int, on: date, changed: str = "", name: str = ""
) -> int:
    """Begin a version of a form, on trial, with all its parent had; returns its id.

    ``changed`` says what is to be other, and names it unless ``name`` does. Raises `UserProblem`
    for a name that is taken.
    """
    parent = get(session, Form, form_id)
    version_id = add_form(
        session,
        FormDraft(
            name=name or propose_name(session, form_id, changed),
            shape=parent.shape,
            clay_g=parent.clay_g,
            fired_height_mm=parent.fired_height_mm,
            fired_across_mm=parent.fired_across_mm,
            fired_deep_mm=parent.fired_deep_mm,
            stack_mm=parent.stack_mm,
            workable_h=parent.workable_h,
            profile=profile_from_text(parent.profile),
            price=parent.price,
            steps=read_steps(session, form_id),
            zones=read_zones(session, form_id),
            standing="trial",
            parent_id=form_id,
        ),
    )
    said = " ".join(changed.split())
    reasons = f"A version of {parent.name}" + (f": {said}." if said else ".")
    decide_form(session, version_id, "trial", on, reasons)
    return version_id


def set_parent(session: Session, form_id: int, parent_id: int | None) -> None:
    """Say from which form this one came; None: from none.

    Raises `UserProblem` for a form that would be a version of itself, by however many steps.
    """
    form = get(session, Form, form_id)
    above = parent_id
    while above is not None:
        ancestor = get(session, Form, above)
        if above == form_id:
            parent = get(session, Form, parent_id or 0)
            raise UserProblem(
                f"{form.name} can't be a version of itself."
                if parent_id == form_id
                else f"{parent.name} came from {form.name}: it can't be what it came from as well."
            )
        above = ancestor.parent_id
    change(session, Form, form_id, parent_id=parent_id)


def read_family(session: Session, form_id: int) -> tuple[FormVersion, ...]:
    """The family a form belongs to, parents before what came from them; archived ones too.

    A form without versions is a family of one.
    """
    rows = {
        row.id: row
        for row in session.execute(select(Form.id, Form.parent_id).order_by(Form.id)).all()
    }
    if form_id not in rows:
        return ()
    first = form_id
    while rows[first].parent_id in rows:
        first = rows[first].parent_id
    depth = {first: 0}
    waiting = [first]
    order: list[int] = []
    while waiting:
        here = waiting.pop(0)
        order.append(here)
        children = [one for one, row in rows.items() if row.parent_id == here]
        depth.update(dict.fromkeys(children, depth[here] + 1))
        waiting = children + waiting
    outcomes = read_outcomes(session, order)
    forms = {form.id: form for form in session.scalars(select(Form).where(Form.id.in_(order)))}
    return tuple(
        _version(session, forms[one], depth[one], outcomes.get(one, NOTHING)) for one in order
    )


def _version(session: Session, form: Form, depth: int, outcome: FormOutcome) -> FormVersion:
    return FormVersion(
        form.id,
        form.name,
        form.parent_id,
        depth,
        form.standing,
        form.archived,
        form.shape,
        form.clay_g,
        form.fired_height_mm,
        form.fired_across_mm,
        form.fired_deep_mm,
        form.stack_mm,
        form.workable_h,
        form.price,
        profile_from_text(form.profile),
        read_steps(session, form.id),
        read_zones(session, form.id),
        outcome,
    )


def _taken(session: Session, name: str) -> bool:
    return session.scalar(select(Form.id).where(reads_as(Form.name, name))) is not None
