"""Forms as pickers name them: those not to be made in number stand last, and say so."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from studiolog.records.forms import Form

STANDING_NOTES: Final = {"trial": "on trial", "go": "", "no_go": "no-go"}
"""What a picker adds to the name of a form."""


@dataclass(frozen=True)
class FormName:
    """A form to choose; ``note`` is what its standing adds to the name, "" for one made freely."""

    form_id: int
    name: str
    note: str = ""


def no_go_last() -> ColumnElement[bool]:
    """Orders forms: those not to be made in number after the others."""
    return Form.standing.expression == "no_go"


def list_form_names(
    session: Session, kept: Iterable[int] = (), *, by_name: bool = True
) -> tuple[FormName, ...]:
    """Forms that are not archived, and those ``kept`` names all the same; no-go forms last.

    By name, else in order of entry.
    """
    rows = session.execute(
        select(Form.id, Form.name, Form.standing)
        .where(or_(~Form.archived, Form.id.in_(list(kept))))
        .order_by(no_go_last(), Form.name if by_name else Form.id)
    )
    return tuple(FormName(row.id, row.name, STANDING_NOTES[row.standing]) for row in rows)


def read_form_price(session: Session, form_id: int) -> Decimal | None:
    """What one of a form is sold for, as its page says; None where nothing is said."""
    return session.scalar(select(Form.price).where(Form.id == form_id))
