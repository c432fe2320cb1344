"""Forms: designs that can be made again."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.money import MOST
from studiolog.craft.words import join_words
from studiolog.journal.form_steps import StepGiven, set_steps, set_zones
from studiolog.journal.letters import reads_as
from studiolog.journal.profiles import Profile, profile_from_text, profile_to_text
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.forms import Form, FormDecision, FormStep, FormZone, Way
from studiolog.records.ideas import Idea
from studiolog.records.orders import OrderLine, SetPart
from studiolog.records.pieces import Piece, Run
from studiolog.records.plans import TestPlan

_FIGURES = {
    "clay_g": "The clay for one",
    "fired_height_mm": "The fired height",
    "fired_across_mm": "The fired width",
    "fired_deep_mm": "The fired depth",
    "stack_mm": "What a nested piece adds",
    "workable_h": "The time it stays workable",
}
_MOST = 1_000_000


@dataclass(frozen=True, kw_only=True)
class FormDraft:
    """A form as it is entered. ``steps`` are `MakingStep`s, or names with minutes for one piece."""

    name: str
    shape: str = "thrown"
    clay_g: float | None = None
    fired_height_mm: float | None = None
    fired_across_mm: float | None = None
    profile: Profile | None = None
    price: Decimal | None = None
    notes: str = ""
    steps: tuple[StepGiven, ...] = ()
    zones: tuple[str, ...] = ()
    standing: str = "go"
    fired_deep_mm: float | None = None
    stack_mm: float | None = None
    workable_h: float | None = None
    parent_id: int | None = None


@dataclass(frozen=True)
class FormLine:
    """A form in a list or a picker."""

    form_id: int
    version: int
    name: str
    shape: str
    clay_g: float | None
    fired_height_mm: float | None
    fired_across_mm: float | None
    profile: Profile | None
    archived: bool
    pieces: int
    standing: str = "go"
    parent_id: int | None = None


def add_form(session: Session, draft: FormDraft) -> int:
    """Enter a form; returns its id."""
    name = clean_name(draft.name, noun="name of the form")
    _refuse_taken_name(session, name)
    _check_figures(vars(draft))
    form_id = add(
        session,
        Form(
            name=name,
            shape=draft.shape,
            clay_g=draft.clay_g,
            fired_height_mm=draft.fired_height_mm,
            fired_across_mm=draft.fired_across_mm,
            profile=profile_to_text(draft.profile),
            price=draft.price,
            notes=draft.notes,
            standing=draft.standing,
            fired_deep_mm=draft.fired_deep_mm,
            stack_mm=draft.stack_mm,
            workable_h=draft.workable_h,
            parent_id=draft.parent_id,
        ),
    )
    set_steps(session, form_id, draft.steps)
    set_zones(session, form_id, draft.zones)
    return form_id


def change_form(session: Session, form_id: int, version: int | None = None, **fields: Any) -> None:
    """Change fields of a form; ``profile`` is given as a `Profile`."""
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the form")
        _refuse_taken_name(session, fields["name"], but=form_id)
    if "profile" in fields:
        fields["profile"] = profile_to_text(fields["profile"])
    _check_figures(fields)
    change(session, Form, form_id, version, **fields)


def _check_figures(fields: Mapping[str, Any]) -> None:
    """Raise `UserProblem` for a weight, a size, hours or a price no form can have."""
    for key, words in _FIGURES.items():
        value = fields.get(key)
        if value is not None and value >= _MOST:
            told = f"{words} is less than {_MOST}: look at the number again."
            raise UserProblem(told, {key: told})
        if value is not None and not value > 0:
            told = f"{words} is more than 0, and a number: {value:g} is not."
            raise UserProblem(told, {key: told})
    price = fields.get("price")
    if price is not None and not (price.is_finite() and 0 <= price < MOST):
        told = "The price of a form is 0 or more."
        raise UserProblem(told, {"price": told})


def _refuse_taken_name(session: Session, name: str, but: int | None = None) -> None:
    taken = session.scalar(select(Form.id).where(reads_as(Form.name, name), Form.id != (but or 0)))
    if taken is not None:
        sentence = f"There is a form named {name} already."
        raise UserProblem(sentence, {"name": sentence})


def delete_form(session: Session, form_id: int) -> None:
    """Delete a form nothing was made to, with its steps, zones, ways and decisions.

    An idea that became this form is open again. Raises `StillUsed` naming what uses the form.
    """
    form = get(session, Form, form_id)
    used = [
        _say_count(count(session, kind, column == form_id), one, several)
        for kind, column, one, several in (
            (Piece, Piece.form_id, "piece", "pieces"),
            (Run, Run.form_id, "run", "runs"),
            (OrderLine, OrderLine.form_id, "order line", "order lines"),
            (SetPart, SetPart.form_id, "part of a set", "parts of sets"),
            (TestPlan, TestPlan.form_id, "test plan", "test plans"),
            (Form, Form.parent_id, "version of it", "versions of it"),
        )
    ]
    used = [words for words in used if words]
    if used:
        raise StillUsed(
            f"{form.name} can't be deleted while there is something of it: {join_words(used)}. "
            "Archive it to hide it from the pickers."
        )
    for idea in session.scalars(select(Idea).where(Idea.form_id == form_id)).all():
        change(session, Idea, idea.id, form_id=None, state="open", settled_on=None)
    for kind in (FormStep, FormZone, FormDecision, Way):
        remove_all(session, kind, kind.form_id == form_id)
    remove(session, form)


def _say_count(how_many: int, one: str, several: str) -> str:
    return "" if not how_many else f"1 {one}" if how_many == 1 else f"{how_many} {several}"


def list_forms(session: Session, *, archived: bool = False) -> list[FormLine]:
    """Forms in order of entry; archived ones only if asked for."""
    made = select(Piece.form_id, func.count().label("pieces")).group_by(Piece.form_id).subquery()
    query = (
        select(Form, func.coalesce(made.c.pieces, 0))
        .outerjoin(made, made.c.form_id == Form.id)
        .order_by(Form.archived, Form.id)
    )
    if not archived:
        query = query.where(Form.archived.is_(False))
    return [
        FormLine(
            form.id,
            form.version,
            form.name,
            form.shape,
            form.clay_g,
            form.fired_height_mm,
            form.fired_across_mm,
            profile_from_text(form.profile),
            form.archived,
            pieces,
            form.standing,
            form.parent_id,
        )
        for form, pieces in session.execute(query)
    ]
