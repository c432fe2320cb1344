"""Clay bodies: what a potter does with them."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import func, literal, select
from sqlalchemy.orm import Session

from studiolog.craft.money import MOST
from studiolog.journal.asked_for import say_asked_for
from studiolog.journal.letters import reads_as
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.clays import AbsorptionTest, Clay
from studiolog.records.pieces import Piece, Run
from studiolog.records.plans import TestPlan

# Offered in turn until the potter picks the clay's own colour.
NEW_COLOURS = ("#C6A67C", "#A65F43", "#E4DCCB", "#7A6352", "#B9AFA0")


@dataclass(frozen=True, kw_only=True)
class ClayDraft:
    """A clay as it is entered. Percentages as a potter says them: 12.5 is 12.5 %."""

    name: str
    colour: str = ""
    specks: str = "none"
    shrinkage_percent: float | None = None
    absorption_percent: float | None = None
    expansion_ppm_k: float | None = None
    cone_range: str = ""
    notes: str = ""
    price_per_kg: Decimal | None = None


@dataclass(frozen=True)
class ClayLine:
    """A clay in a list or a picker."""

    clay_id: int
    version: int
    name: str
    colour: str
    specks: str
    cone_range: str
    archived: bool
    pieces: int


def add_clay(session: Session, draft: ClayDraft) -> int:
    """Enter a clay; returns its id."""
    fields = asdict(draft)
    fields["name"] = clean_name(draft.name, noun="name of the clay")
    _refuse_taken_name(session, fields["name"])
    _check_figures(fields)
    fields["colour"] = draft.colour or NEW_COLOURS[count(session, Clay) % len(NEW_COLOURS)]
    return add(session, Clay(**fields))


def change_clay(session: Session, clay_id: int, version: int | None = None, **fields: Any) -> None:
    """Change fields of a clay."""
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the clay")
        _refuse_taken_name(session, fields["name"], but=clay_id)
    _check_figures(fields)
    change(session, Clay, clay_id, version, **fields)


def _check_figures(fields: Mapping[str, Any]) -> None:
    """Raise `UserProblem` for a shrinkage, an absorption or a price no clay can have."""
    for key, words, least, below in (
        ("shrinkage_percent", "The shrinkage of a clay", 0, 60),
        ("absorption_percent", "The absorption of a clay", 0, 100),
    ):
        value = fields.get(key)
        if value is not None and not least <= value < below:
            told = f"{words} lies from {least} to under {below} %; {value:g} % does not."
            raise UserProblem(told, {key: told})
    price = fields.get("price_per_kg")
    if price is not None and not (price.is_finite() and 0 <= price < MOST):
        told = "The price of a kilogram is 0 or more."
        raise UserProblem(told, {"price_per_kg": told})


def _refuse_taken_name(session: Session, name: str, but: int | None = None) -> None:
    taken = session.scalar(select(Clay.id).where(reads_as(Clay.name, name), Clay.id != (but or 0)))
    if taken is not None:
        sentence = f"There is a clay named {name} already."
        raise UserProblem(sentence, {"name": sentence})


def delete_clay(session: Session, clay_id: int) -> None:
    """Delete a clay nothing was made of, with its absorption tests.

    Raises `StillUsed` naming what was made of it.
    """
    clay = get(session, Clay, clay_id)
    pieces = count(session, Piece, Piece.clay_id == clay_id)
    runs = count(session, Run, Run.clay_id == clay_id)
    plans = count(session, TestPlan, TestPlan.clay_id == clay_id)
    asked = say_asked_for(session, clay_id=clay_id)
    if pieces or runs or plans or asked:
        tests = f", {plans} test plans ask for it" if plans else ""
        ordered = f", {asked}" if asked else ""
        raise StillUsed(
            f"{clay.name} can't be deleted: {pieces} pieces and {runs} runs were made of it"
            f"{tests}{ordered}. Archive it to hide it from the pickers."
        )
    remove_all(session, AbsorptionTest, AbsorptionTest.clay_id == clay_id)
    remove(session, clay)


def list_clays(session: Session, *, archived: bool = False, counted: bool = True) -> list[ClayLine]:
    """Clays by age of entry; archived ones only if asked for.

    ``counted`` False leaves the pieces of each at 0: counting them looks at every piece there is.
    """
    made = select(Piece.clay_id, func.count().label("pieces")).group_by(Piece.clay_id).subquery()
    query = (
        select(Clay, func.coalesce(made.c.pieces, 0)).outerjoin(made, made.c.clay_id == Clay.id)
        if counted
        else select(Clay, literal(0))
    ).order_by(Clay.archived, Clay.id)
    if not archived:
        query = query.where(Clay.archived.is_(False))
    return [
        ClayLine(
            clay.id,
            clay.version,
            clay.name,
            clay.colour,
            clay.specks,
            clay.cone_range,
            clay.archived,
            pieces,
        )
        for clay, pieces in session.execute(query)
    ]
